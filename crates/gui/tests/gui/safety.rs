//! Safety of the work: recovery after a crash, files that somebody else changes, files that cannot be
//! written, two windows, earlier states, and closing while a save is under way.

use std::fs;
use std::path::{Path, PathBuf};

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use keepside_app::Start;
use keepside_model::{Id, Project};
use keepside_store::{About, RecoveryFile, left_behind};

use crate::harness::{
    FakeDialogs, Gui, at, click, marker, menu, opened, press, saved, start, start_at, steps, type_into,
    wait_for,
};

/// A project file, and a state folder that windows share.
struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        let bench = Self { folder: tempfile::tempdir().unwrap() };
        keepside_store::save(&bench.path(), &marker()).unwrap();
        bench
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("marker.keepside")
    }

    fn state(&self) -> PathBuf {
        self.folder.path().join("state")
    }

    /// A window on the project.
    fn window(&self) -> Gui {
        let (project, state) = (Some(self.path()), Some(self.state()));
        start(Start { project, state, ..Start::default() }, FakeDialogs::default())
    }

    /// A window on the demo.
    fn empty_window(&self) -> Gui {
        start(Start { state: Some(self.state()), ..Start::default() }, FakeDialogs::default())
    }

    /// Leaves unsaved work behind as a window does that is killed: K5 at x = `x`.
    fn crash(&self, title: &str, path: Option<PathBuf>, x: f64) -> PathBuf {
        let mut project = Project { name: title.to_owned(), ..marker() };
        project.features.get_mut(&Id(5)).unwrap().at.x = x;
        let file = RecoveryFile::claim(&self.state()).unwrap();
        let about =
            About { title: title.to_owned(), path, written_unix_s: 1_000_000, is_unsaved: true, stamp: None };
        file.write(&about, &project).unwrap();
        file.path().to_owned()
    }

    /// Somebody else saves the project with K5 at x = `x`.
    fn somebody_saves(&self, x: f64) {
        let mut project = marker();
        project.features.get_mut(&Id(5)).unwrap().at.x = x;
        keepside_store::save(&self.path(), &project).unwrap();
    }

    fn x_in_file(&self) -> f64 {
        x_in(&self.path())
    }
}

fn x_in(path: &Path) -> f64 {
    keepside_store::load(path).unwrap().place(Id(5)).unwrap().x
}

fn nudge(gui: &mut Gui) {
    click(gui, "Keying pin K5");
    press(gui, Modifiers::NONE, Key::ArrowRight);
}

fn shows(gui: &Gui, words: &str) -> bool {
    gui.query_all_by_label_contains(words).next().is_some()
}

/// The window goes to the back and comes to the front again.
fn come_back(gui: &mut Gui) {
    gui.input_mut().focused = false;
    gui.run();
    gui.input_mut().focused = true;
    gui.run();
}

/// The window is asked to close, by the user's system.
fn ask_to_close(gui: &mut Gui) {
    let viewport = egui::ViewportId::ROOT;
    gui.input_mut().viewports.get_mut(&viewport).unwrap().events.push(egui::ViewportEvent::Close);
    gui.step();
    gui.input_mut().viewports.get_mut(&viewport).unwrap().events.clear();
}

/// Lets so much time pass in the window, s.
fn pass(gui: &mut Gui, time_s: f32) {
    // The harness runs at 60 frames a second.
    gui.run_steps((time_s * 60.0) as usize);
}

#[test]
fn unsaved_work_is_kept_soon_and_outlives_the_window() {
    let bench = Bench::new();
    let mut gui = bench.window();
    nudge(&mut gui);
    pass(&mut gui, 1.0);
    assert!(!bench.state().join("recovery").exists(), "kept before three quiet seconds");
    pass(&mut gui, 4.0);
    // A window that goes without a word, as after a crash; its thread still ends its work.
    drop(gui);
    let left = left_behind(&bench.state());
    assert_eq!(left.recovered.len(), 1);
    let (about, project) = (&left.recovered[0].about, &left.recovered[0].project);
    assert_eq!((about.path.as_ref(), about.is_unsaved), (Some(&bench.path()), true));
    assert_eq!(project.place(Id(5)).unwrap().x, 81.0);
    assert_eq!(bench.x_in_file(), 80.0, "the user's file is not touched");
}

#[test]
fn under_constant_change_work_is_kept_once_a_minute() {
    let bench = Bench::new();
    let (project, state) = (Some(bench.path()), Some(bench.state()));
    // Few frames in a second, so that a minute is soon over.
    let mut gui = start_at(4.0, Start { project, state, ..Start::default() }, FakeDialogs::default());
    let now_s = |gui: &Gui| gui.ctx.input(|input| input.time);
    click(&mut gui, "Keying pin K5");
    press(&mut gui, Modifiers::NONE, Key::ArrowRight);
    let (start_s, mut key) = (now_s(&gui), Key::ArrowRight);
    let kept = || bench.state().join("recovery").exists();
    while !kept() && now_s(&gui) < start_s + 90.0 {
        // A change every second or two leaves no quiet time.
        press(&mut gui, Modifiers::NONE, key);
        key = if key == Key::ArrowRight { Key::ArrowUp } else { Key::ArrowRight };
        if now_s(&gui) > start_s + 59.0 {
            std::thread::sleep(std::time::Duration::from_millis(100));
        }
    }
    let after_s = now_s(&gui) - start_s;
    assert!((57.0..64.0).contains(&after_s), "kept after {after_s} s");
}

#[test]
fn saving_and_undoing_take_the_recovery_file_away() {
    let bench = Bench::new();
    let files = |bench: &Bench| {
        let ended = |file: &fs::DirEntry| file.path().extension().is_some_and(|ending| ending == "recovery");
        let folder = fs::read_dir(bench.state().join("recovery")).into_iter().flatten().flatten();
        folder.filter(ended).count()
    };
    let mut gui = bench.window();
    nudge(&mut gui);
    pass(&mut gui, 4.0);
    wait_for(&mut gui, "the recovery file", |_| files(&bench) == 1);
    press(&mut gui, Modifiers::COMMAND, Key::S);
    saved(&mut gui);
    wait_for(&mut gui, "its end", |_| files(&bench) == 0);
    nudge(&mut gui);
    pass(&mut gui, 4.0);
    wait_for(&mut gui, "the recovery file", |_| files(&bench) == 1);
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    wait_for(&mut gui, "its end", |_| files(&bench) == 0);
}

#[test]
fn recovered_work_opens_as_unsaved_with_its_path() {
    let bench = Bench::new();
    let file = bench.crash("Bed marker", Some(bench.path()), 90.0);
    let mut gui = bench.empty_window();
    assert!(shows(&gui, "Unsaved work was left behind"));
    assert!(shows(&gui, bench.path().to_str().unwrap()));
    assert!(shows(&gui, "7 items; against its file: 1 changed"));
    click(&mut gui, "Open recovered Bed marker");
    assert_eq!(at(&gui, 5).x, 90.0);
    assert!(gui.state().session.is_dirty());
    assert_eq!(gui.state().session.path(), Some(bench.path().as_path()));
    // It is kept under the name of this window now.
    wait_for(&mut gui, "the old recovery file to go", |_| !file.exists());
    assert!(left_behind(&bench.state()).is_empty(), "a living window's work is not offered");
    press(&mut gui, Modifiers::COMMAND, Key::S);
    saved(&mut gui);
    assert_eq!(bench.x_in_file(), 90.0);
    drop(gui);
    assert!(left_behind(&bench.state()).is_empty());
}

#[test]
fn discarded_work_is_gone_and_work_left_for_later_is_offered_again() {
    let bench = Bench::new();
    let (one, two) = (bench.crash("One", None, 90.0), bench.crash("Two", None, 95.0));
    let mut gui = bench.empty_window();
    assert!(shows(&gui, "Never saved to a file"));
    click(&mut gui, "Discard One");
    assert!(!one.exists() && two.exists());
    click(&mut gui, "Later");
    assert!(!shows(&gui, "Unsaved work was left behind"));
    assert!(two.exists());
    menu(&mut gui, "File", "Recover unsaved work…");
    opened(&mut gui);
    click(&mut gui, "Open recovered Two");
    assert_eq!((at(&gui, 5).x, gui.state().session.path()), (95.0, None));
}

#[test]
fn a_damaged_recovery_file_is_told_and_kept_until_the_user_discards_it() {
    let bench = Bench::new();
    let file = bench.crash("One", None, 90.0);
    let bytes = fs::read(&file).unwrap();
    fs::write(&file, &bytes[..bytes.len() / 2]).unwrap();
    let mut gui = bench.empty_window();
    assert!(shows(&gui, "A recovery file is damaged"));
    click(&mut gui, "Later");
    drop(gui);
    assert!(file.exists());
    let mut gui = bench.empty_window();
    click(&mut gui, &format!("Discard damaged {}", file.file_name().unwrap().to_str().unwrap()));
    assert!(!file.exists());
    assert!(!shows(&gui, "Unsaved work was left behind"));
}

#[test]
fn a_file_changed_by_somebody_else_is_noticed_when_the_window_comes_back() {
    let bench = Bench::new();
    let mut gui = bench.window();
    come_back(&mut gui);
    std::thread::sleep(std::time::Duration::from_millis(50));
    gui.run();
    assert!(!shows(&gui, "changed by somebody else"), "nothing has changed yet");
    nudge(&mut gui);
    bench.somebody_saves(100.0);
    come_back(&mut gui);
    wait_for(&mut gui, "the question", |gui| shows(gui, "The file has been changed by somebody else"));
    click(&mut gui, "Load from disk");
    opened(&mut gui);
    assert_eq!(at(&gui, 5).x, 100.0);
    assert!(!gui.state().session.is_dirty());
    // Nothing is lost: mine is one step back.
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    assert_eq!(at(&gui, 5).x, 81.0);
    assert!(gui.state().session.is_dirty());
}

#[test]
fn keep_mine_asks_once_and_saves_later() {
    let bench = Bench::new();
    let mut gui = bench.window();
    bench.somebody_saves(100.0);
    come_back(&mut gui);
    wait_for(&mut gui, "the question", |gui| shows(gui, "The file has been changed by somebody else"));
    click(&mut gui, "Keep mine");
    assert!(gui.state().session.is_dirty(), "the file does not hold what is shown");
    assert_eq!((at(&gui, 5).x, bench.x_in_file()), (80.0, 100.0));
    press(&mut gui, Modifiers::COMMAND, Key::S);
    saved(&mut gui);
    assert!(!shows(&gui, "changed by somebody else"), "asked twice");
    assert_eq!(bench.x_in_file(), 80.0);
}

#[test]
fn a_file_changed_by_somebody_else_is_not_saved_over_unasked() {
    let bench = Bench::new();
    let mut gui = bench.window();
    nudge(&mut gui);
    bench.somebody_saves(100.0);
    press(&mut gui, Modifiers::COMMAND, Key::S);
    saved(&mut gui);
    assert!(shows(&gui, "The file has been changed by somebody else"));
    assert_eq!(bench.x_in_file(), 100.0);
    click(&mut gui, "Cancel");
    assert!(shows(&gui, "not saved: changed on disk"));
    press(&mut gui, Modifiers::COMMAND, Key::S);
    saved(&mut gui);
    click(&mut gui, "Keep mine");
    saved(&mut gui);
    assert_eq!(bench.x_in_file(), 81.0);
    assert!(shows(&gui, "marker.keepside (saved)"));

    // What somebody else had is an earlier state.
    menu(&mut gui, "File", "Earlier states…");
    opened(&mut gui);
    click(&mut gui, "Return to state 1");
    assert_eq!(at(&gui, 5).x, 100.0);
    assert!(gui.state().session.is_dirty());
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    assert_eq!((at(&gui, 5).x, gui.state().session.is_dirty()), (81.0, false));
}

#[test]
fn a_file_that_has_gone_is_told_and_written_anew() {
    let bench = Bench::new();
    let mut gui = bench.window();
    fs::remove_file(bench.path()).unwrap();
    come_back(&mut gui);
    wait_for(&mut gui, "the message", |gui| shows(gui, "is no longer there"));
    assert!(gui.state().session.is_dirty());
    press(&mut gui, Modifiers::COMMAND, Key::S);
    saved(&mut gui);
    assert_eq!(bench.x_in_file(), 80.0);
}

#[test]
fn a_write_protected_file_offers_another_name_and_nothing_is_lost() {
    let bench = Bench::new();
    let mut permissions = fs::metadata(bench.path()).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(bench.path(), permissions).unwrap();
    let mut gui = bench.window();
    assert!(shows(&gui, "marker.keepside (write-protected)"));
    nudge(&mut gui);
    // Asked for by the question before closing, so that it goes on afterwards.
    press(&mut gui, Modifiers::COMMAND, Key::N);
    click(&mut gui, "Save");
    saved(&mut gui);
    assert!(shows(&gui, "This file cannot be written"));
    assert_eq!((at(&gui, 5).x, bench.x_in_file()), (81.0, 80.0));
    click(&mut gui, "Save as…");
    let other = bench.folder.path().join("other.keepside");
    type_into(&mut gui, Role::TextInput, "File", other.to_str().unwrap());
    saved(&mut gui);
    assert_eq!((x_in(&other), bench.x_in_file()), (81.0, 80.0));
    assert_eq!(**gui.state().session.document(), Project::blank());
}

#[test]
fn the_second_window_on_a_project_is_warned_and_works() {
    let bench = Bench::new();
    let mut first = bench.window();
    assert!(!shows(&first, "open in another window"));
    let mut second = bench.window();
    assert!(shows(&second, "This project is open in another window"));
    assert!(shows(&second, &format!("process {}", std::process::id())));
    click(&mut second, "Go on");
    nudge(&mut second);
    press(&mut second, Modifiers::COMMAND, Key::S);
    saved(&mut second);
    assert_eq!(bench.x_in_file(), 81.0);
    // The first is asked before it saves over that.
    nudge(&mut first);
    nudge(&mut first);
    press(&mut first, Modifiers::COMMAND, Key::S);
    saved(&mut first);
    assert!(shows(&first, "The file has been changed by somebody else"));
    drop((first, second));
    assert!(!shows(&bench.window(), "open in another window"), "closed windows are forgotten");
}

#[test]
fn a_file_opened_again_in_the_same_window_is_no_second_window() {
    let bench = Bench::new();
    let mut gui = bench.window();
    press(&mut gui, Modifiers::COMMAND, Key::O);
    type_into(&mut gui, Role::TextInput, "File", bench.path().to_str().unwrap());
    opened(&mut gui);
    assert!(!shows(&gui, "open in another window"));
    assert_eq!(gui.state().session.path(), Some(bench.path().as_path()));
}

#[test]
fn closing_waits_for_a_save_and_asks_about_what_came_after_it() {
    let bench = Bench::new();
    let mut gui = bench.window();
    nudge(&mut gui);
    gui.key_press_modifiers(Modifiers::COMMAND, Key::S);
    gui.step();
    // Changed again while the save is under way, or just after it where the disk is very quick: what
    // follows must be the same.
    gui.state_mut().session.undo();
    ask_to_close(&mut gui);
    saved(&mut gui);
    assert_eq!(bench.x_in_file(), 81.0);
    assert!(shows(&gui, "The project has unsaved changes"));
    click(&mut gui, "Cancel");
    assert_eq!((at(&gui, 5).x, steps(&gui)), (80.0, 0));
}

#[test]
fn a_project_saved_nowhere_has_no_earlier_states() {
    let bench = Bench::new();
    let mut gui = bench.empty_window();
    menu(&mut gui, "File", "Earlier states…");
    opened(&mut gui);
    assert!(shows(&gui, "once it has been saved twice"));
    let mut gui = bench.window();
    menu(&mut gui, "File", "Earlier states…");
    opened(&mut gui);
    assert!(shows(&gui, "There are none yet"));
}

#[test]
fn a_save_that_fails_says_so_in_words_that_stay() {
    let bench = Bench::new();
    let folder = bench.folder.path().join("stick");
    fs::create_dir(&folder).unwrap();
    let project = Some(folder.join("marker.keepside"));
    keepside_store::save(project.as_ref().unwrap(), &marker()).unwrap();
    let mut gui = start(Start { project, ..Start::default() }, FakeDialogs::default());
    nudge(&mut gui);
    assert!(shows(&gui, "marker.keepside (changed)"));
    // The stick is pulled out.
    let drawer = bench.folder.path().join("drawer");
    fs::rename(&folder, &drawer).unwrap();
    press(&mut gui, Modifiers::COMMAND, Key::S);
    saved(&mut gui);
    assert!(shows(&gui, "Not saved, as the folder does not exist"));
    assert!(shows(&gui, "marker.keepside (not saved: no such folder)"));
    assert_eq!((at(&gui, 5).x, gui.state().session.is_dirty()), (81.0, true));
    fs::rename(&drawer, &folder).unwrap();
    press(&mut gui, Modifiers::COMMAND, Key::S);
    saved(&mut gui);
    assert!(shows(&gui, "marker.keepside (saved)"));
}

#[test]
fn what_was_discarded_before_closing_is_not_offered_again() {
    let bench = Bench::new();
    let mut gui = bench.window();
    nudge(&mut gui);
    pass(&mut gui, 4.0);
    ask_to_close(&mut gui);
    gui.run();
    click(&mut gui, "Discard");
    eframe::App::on_exit(gui.state_mut(), None);
    drop(gui);
    assert!(left_behind(&bench.state()).is_empty());
    let lying = fs::read_dir(bench.state().join("recovery")).unwrap().count();
    assert_eq!(lying, 0, "files are left lying");
}
