//! Disks that are slow: the window waits for none, and loses nothing.

use std::sync::Arc;

use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use keepside_app::Start;
use keepside_model::{Id, Project};

use crate::harness::{
    FakeDialogs, Gui, SlowDisk, at, click, marker, opened, press, saved, start, start_at, steps, wait_for,
};

/// A project file on a slow disk.
struct Bench {
    folder: tempfile::TempDir,
    disk: Arc<SlowDisk>,
}

impl Bench {
    fn new() -> Self {
        let bench = Self { folder: tempfile::tempdir().unwrap(), disk: Arc::default() };
        keepside_store::save(&bench.path(), &marker()).unwrap();
        bench
    }

    fn path(&self) -> std::path::PathBuf {
        self.folder.path().join("marker.keepside")
    }

    fn x_in_file(&self) -> f64 {
        keepside_store::load(&self.path()).unwrap().place(Id(5)).unwrap().x
    }

    fn start(&self, project: bool) -> Start {
        let project = project.then(|| self.path());
        Start { project, disk: Some(self.disk.clone()), ..Start::default() }
    }
}

fn shows(gui: &Gui, words: &str) -> bool {
    gui.query_all_by_label_contains(words).next().is_some()
}

/// Lets half a second pass in the window.
fn pass(gui: &mut Gui) {
    gui.run_steps(30);
}

fn ask_to_close(gui: &mut Gui) {
    let viewport = egui::ViewportId::ROOT;
    gui.input_mut().viewports.get_mut(&viewport).unwrap().events.push(egui::ViewportEvent::Close);
    gui.step();
    gui.input_mut().viewports.get_mut(&viewport).unwrap().events.clear();
    gui.run();
}

#[test]
fn during_a_slow_save_drawing_goes_on_and_closing_waits() {
    let bench = Bench::new();
    let mut gui = start(bench.start(true), FakeDialogs::default());
    click(&mut gui, "Keying pin K5");
    press(&mut gui, Modifiers::NONE, Key::ArrowRight);
    bench.disk.hold();
    press(&mut gui, Modifiers::COMMAND, Key::S);
    pass(&mut gui);
    assert!(gui.state().is_saving() && shows(&gui, "marker.keepside (saving…)"));

    // Everything goes on: keys, drags, undo, what follows from it.
    press(&mut gui, Modifiers::NONE, Key::ArrowRight);
    assert_eq!((at(&gui, 5).x, steps(&gui)), (82.0, 2));
    let revision = gui.state().session.revision();
    assert!(gui.state().session.results().findings(revision).iter().any(|(_, fresh)| *fresh));
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    press(&mut gui, Modifiers::COMMAND, Key::Y);
    assert_eq!((at(&gui, 5).x, bench.x_in_file()), (82.0, 80.0));

    ask_to_close(&mut gui);
    pass(&mut gui);
    assert!(gui.state().is_saving() && shows(&gui, "This goes on as soon as the project is saved"));
    bench.disk.let_go();
    saved(&mut gui);
    assert_eq!(bench.x_in_file(), 81.0);
    // What was drawn meanwhile is not lost either.
    assert!(shows(&gui, "The project has unsaved changes"));
    click(&mut gui, "Save");
    saved(&mut gui);
    assert_eq!(bench.x_in_file(), 82.0);
}

#[test]
fn a_window_on_a_slow_disk_opens_without_its_project_and_shows_it_later() {
    let bench = Bench::new();
    bench.disk.hold();
    let mut gui = start_at(60.0, bench.start(true), FakeDialogs::default());
    pass(&mut gui);
    assert!(shows(&gui, "Opening marker.keepside…"));
    assert_ne!(**gui.state().session.document(), marker());
    bench.disk.let_go();
    opened(&mut gui);
    assert_eq!(**gui.state().session.document(), marker());
    assert!(!shows(&gui, "Opening marker.keepside…") && !gui.state().session.is_dirty());
}

#[test]
fn what_is_opened_slowly_can_be_given_up() {
    let bench = Bench::new();
    bench.disk.hold();
    let mut gui = start_at(60.0, bench.start(true), FakeDialogs::default());
    let shown = gui.state().session.document().clone();
    pass(&mut gui);
    click(&mut gui, "Cancel");
    assert!(!gui.state().is_reading());
    bench.disk.let_go();
    pass(&mut gui);
    assert_eq!(gui.state().session.document(), &shown);
}

#[test]
fn what_is_drawn_while_a_project_is_opened_is_asked_about() {
    let bench = Bench::new();
    let mut gui = start(bench.start(false), FakeDialogs::default());
    gui.state_mut().session.replace(marker(), None);
    gui.run();
    bench.disk.hold();
    let mut other: Project = marker();
    other.name = "Other".to_owned();
    keepside_store::save(&bench.path(), &other).unwrap();
    let path = bench.path().to_str().unwrap().to_owned();
    press(&mut gui, Modifiers::COMMAND, Key::O);
    crate::harness::type_into(&mut gui, egui::accesskit::Role::TextInput, "File", &path);
    pass(&mut gui);
    assert!(shows(&gui, "Opening marker.keepside…"));
    click(&mut gui, "Keying pin K5");
    press(&mut gui, Modifiers::NONE, Key::ArrowRight);
    bench.disk.let_go();
    wait_for(&mut gui, "the question", |gui| shows(gui, "The project has unsaved changes"));
    assert_eq!(at(&gui, 5).x, 81.0);
    click(&mut gui, "Discard");
    opened(&mut gui);
    assert_eq!(gui.state().session.document().name, "Other");
}
