//! The editor in a harness, on a project of the test's own.

use std::path::{Path, PathBuf};
use std::sync::{Condvar, Mutex};
use std::time::{Duration, Instant};

use egui::accesskit::Role;
use egui::{Event, Key, Modifiers, PointerButton, Pos2, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use glam::DVec2;
use keepside_app::{App, Dialogs, Disk, Purpose, Start};
use keepside_model::{
    Edit, FeatureKind, Finish, Half, HoleUse, Id, Item, KeyingFeature, PlateHole, Project, Sprue, ThreadSize,
    Vent,
};
use keepside_store::{Care, LoadError, SaveError, Stamp};

/// The editor under test.
pub(crate) type Gui = Harness<'static, App>;

/// Answers for the user where the system's file dialog would ask.
#[derive(Default)]
pub(crate) struct FakeDialogs {
    /// What is chosen; `None` as on a machine without file dialogs.
    pub(crate) chosen: Option<PathBuf>,
}

impl Dialogs for FakeDialogs {
    fn browse(&self, _: Purpose, _: &Path) -> Box<dyn FnOnce() -> Option<PathBuf> + Send> {
        let chosen = self.chosen.clone();
        Box::new(move || chosen)
    }
}

/// A disk that lets everybody wait while it is held.
#[derive(Debug, Default)]
pub(crate) struct SlowDisk {
    held: Mutex<bool>,
    freed: Condvar,
}

impl SlowDisk {
    pub(crate) fn hold(&self) {
        *self.held.lock().unwrap() = true;
    }

    pub(crate) fn let_go(&self) {
        *self.held.lock().unwrap() = false;
        self.freed.notify_all();
    }

    fn wait(&self) {
        // Not for ever: a test that fails must end.
        let held = self.held.lock().unwrap();
        drop(self.freed.wait_timeout_while(held, Duration::from_secs(30), |held| *held).unwrap());
    }
}

impl Disk for SlowDisk {
    fn load(&self, path: &Path) -> Result<(Project, Stamp), LoadError> {
        self.wait();
        keepside_store::load_stamped(path)
    }

    fn save(&self, path: &Path, project: &Project, care: Care<'_>) -> Result<Stamp, SaveError> {
        self.wait();
        keepside_store::save_with_care(path, project, care)
    }
}

/// A straight marker, 120 mm long at y = 60: sprues S2 and S3 at x = 65 and 135, vent V4 at the right
/// end, set screws K5 and K6 at x = 80 and 120 in the moving half, bolt H7.
pub(crate) fn marker() -> Project {
    let mut project = Project::blank();
    let name = String::new;
    let sprue = |x| {
        let at = DVec2::new(x, 60.0);
        let (diameter_mm, length_mm, draft_deg) = (3.0, 12.0, 1.0);
        let finish = Finish::AsTurned;
        Item::Sprue(Sprue {
            name: name(),
            at,
            half: Half::Fixed,
            diameter_mm,
            length_mm,
            draft_deg,
            finish,
            measured: None,
        })
    };
    let pin = |x| {
        let kind = FeatureKind::set_screw(ThreadSize::M3);
        let at = DVec2::new(x, 60.0);
        Item::Feature(KeyingFeature::new(at, Half::Moving, kind, 1.8))
    };
    let at = DVec2::new(163.0, 60.0);
    let (width_mm, depth_mm, length_mm) = (4.0, 0.02, 20.0);
    let vent =
        Item::Vent(Vent { name: name(), at, half: Half::Fixed, width_mm, depth_mm, length_mm, relief: None });
    let at = DVec2::new(15.0, 15.0);
    let bolt = Item::Hole(PlateHole { name: name(), purpose: HoleUse::Bolt, at, diameter_mm: 8.4 });
    let items = [(2, sprue(65.0)), (3, sprue(135.0)), (4, vent), (5, pin(80.0)), (6, pin(120.0)), (7, bolt)];
    for (id, item) in items {
        project.apply(&Edit::Add(Id(id), item)).unwrap();
    }
    project
}

/// A second run that leaves the first in its middle: arm R8, 40 mm long.
pub(crate) fn branched() -> Project {
    let mut project = marker();
    let arm = keepside_model::Run::straight("", DVec2::new(100.0, 60.0), DVec2::new(100.0, 100.0), 6.0, 3.0);
    project.apply(&Edit::Add(Id(8), Item::Run(arm))).unwrap();
    project
}

/// The editor on `project`, saved nowhere; its opening is still being computed.
pub(crate) fn on(project: Project) -> Gui {
    with(project, FakeDialogs::default())
}

/// The editor on `project` with everything computed.
pub(crate) fn computed(project: Project) -> Gui {
    let mut gui = on(project);
    settle(&mut gui);
    gui
}

/// The editor on `project` with other file dialogs.
pub(crate) fn with(project: Project, dialogs: FakeDialogs) -> Gui {
    let mut gui = start(Start::default(), dialogs);
    gui.state_mut().session.replace(project, None);
    gui.state_mut().view.camera = None;
    gui.run();
    gui
}

/// The editor as it starts.
pub(crate) fn start(start: Start, dialogs: FakeDialogs) -> Gui {
    let mut gui = start_at(60.0, start, dialogs);
    opened(&mut gui);
    gui
}

/// The editor as it starts, with so many frames in a second of its time.
pub(crate) fn start_at(frames_per_s: f32, start: Start, dialogs: FakeDialogs) -> Gui {
    let mut gui = Harness::builder()
        .with_size(Vec2::new(1400.0, 900.0))
        .with_max_steps(64)
        .with_step_dt(1.0 / frames_per_s)
        .build_eframe(move |cc| App::new(&cc.egui_ctx, start, Box::new(dialogs)).unwrap());
    gui.run();
    gui
}

/// Runs until everything is computed and shown.
pub(crate) fn settle(gui: &mut Gui) {
    let deadline = Instant::now() + Duration::from_secs(120);
    loop {
        gui.run();
        if gui.state().is_settled() {
            break;
        }
        assert!(Instant::now() < deadline, "nothing settles: {:?}", gui.state().session.progress());
        std::thread::sleep(Duration::from_millis(5));
    }
    gui.run();
}

/// Runs until `done`.
pub(crate) fn wait_for(gui: &mut Gui, what: &str, done: impl Fn(&Gui) -> bool) {
    let deadline = Instant::now() + Duration::from_secs(60);
    while !done(gui) {
        assert!(Instant::now() < deadline, "waited for {what}");
        std::thread::sleep(Duration::from_millis(5));
        gui.run();
    }
}

/// Runs until what is being read is read.
pub(crate) fn opened(gui: &mut Gui) {
    wait_for(gui, "reading", |gui| !gui.state().is_reading());
    gui.run();
}

/// Runs until what is being saved is saved, or not.
pub(crate) fn saved(gui: &mut Gui) {
    wait_for(gui, "saving", |gui| !gui.state().is_saving());
    gui.run();
}

/// Clicks the button, item or text with this name.
pub(crate) fn click(gui: &mut Gui, name: &str) {
    gui.get_by_label(name).click();
    gui.run();
}

/// Opens a menu and clicks an entry. An entry's name ends with its keys.
pub(crate) fn menu(gui: &mut Gui, menu: &str, entry: &str) {
    click(gui, menu);
    gui.get_by(|node| node.role() == Role::Button && node.label().is_some_and(|l| l.starts_with(entry)))
        .click();
    gui.run();
}

/// Presses, moves in small steps, lets go: the first steps are below the threshold between click and
/// drag.
pub(crate) fn drag(gui: &mut Gui, from: Pos2, to: Pos2) {
    gui.hover_at(from);
    gui.drag_at(from);
    for step in 1..=20_u8 {
        gui.hover_at(from + (to - from) * (f32::from(step) / 20.0));
    }
    gui.drop_at(to);
    gui.run();
}

/// A click of the mouse at a place.
pub(crate) fn click_at(gui: &mut Gui, at: Pos2, modifiers: Modifiers) {
    for pressed in [true, false] {
        gui.hover_at(at);
        gui.event(Event::PointerButton { pos: at, button: PointerButton::Primary, pressed, modifiers });
    }
    gui.run();
}

/// Presses a key with modifiers.
pub(crate) fn press(gui: &mut Gui, modifiers: Modifiers, key: Key) {
    gui.key_press_modifiers(modifiers, key);
    gui.run();
}

/// All names and texts on the screen.
pub(crate) fn texts(gui: &Gui) -> Vec<String> {
    let text = |node: egui_kittest::Node<'_>| {
        let node = node.accesskit_node();
        node.label().or(node.value())
    };
    gui.get_all_by(|_| true).filter_map(text).collect()
}

/// Middle of what has this name on the screen.
pub(crate) fn place_of(gui: &Gui, name: &str) -> Pos2 {
    gui.get_by_label(name).rect().center()
}

/// Where an item lies in the plan, mm.
pub(crate) fn at(gui: &Gui, id: u32) -> DVec2 {
    gui.state().session.document().place(Id(id)).unwrap()
}

/// Screen points of a length in the plan.
pub(crate) fn px(gui: &Gui, length_mm: f64) -> f32 {
    gui.state().view.camera.unwrap().px(length_mm)
}

/// Place on the screen of a point of the plan.
pub(crate) fn to_screen(gui: &Gui, x: f64, y: f64) -> Pos2 {
    let view = &gui.state().view;
    view.camera.unwrap().to_screen(view.plan_rect.unwrap(), DVec2::new(x, y))
}

/// The selected ids.
pub(crate) fn selected(gui: &Gui) -> Vec<u32> {
    gui.state().session.selection().iter().map(|id| id.0).collect()
}

/// Number of undo steps.
pub(crate) fn steps(gui: &Gui) -> usize {
    gui.state().session.undo_len()
}

/// Types a number or text into a field, in place of what was there.
pub(crate) fn type_into(gui: &mut Gui, role: Role, name: &str, text: &str) {
    let field = gui.get_by_role_and_label(role, name);
    field.focus();
    gui.run();
    gui.key_press_modifiers(Modifiers::COMMAND, Key::A);
    gui.run();
    gui.event(Event::Text(text.to_owned()));
    gui.run();
    gui.key_press(Key::Enter);
    gui.run();
}
