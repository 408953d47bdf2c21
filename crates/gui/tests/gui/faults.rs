//! Drives that fill up, are write-protected, break, are pulled out or do not answer: the window says so, keeps the
//! work, goes on keeping it against a crash, and saves elsewhere.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

use egui::accesskit::Role;
use egui::{Event, Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use keepside_app::{Disk, Start};
use keepside_model::{Id, Project};
use keepside_store::{About, Care, LoadError, RecoveryFile, SaveError, Stamp, left_behind};

use crate::harness::{
    FakeDialogs, Gui, at, click, marker, opened, press, saved, start_at, type_into, wait_for,
};

/// Few, so that a minute is soon over.
const FRAMES_PER_S: f32 = 5.0;

/// What is the matter with a drive.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
enum Trouble {
    #[default]
    None,
    /// Everything fails with this error number.
    Fails(i32),
    /// Nothing answers.
    Hangs,
}

/// The real disks, but for a drive with a project on it, and for the state folder.
#[derive(Debug, Default)]
struct Troubled {
    drive: Mutex<Trouble>,
    state: Mutex<Trouble>,
    changed: Condvar,
}

impl Troubled {
    fn drive(&self, trouble: Trouble) {
        *self.drive.lock().unwrap() = trouble;
        self.changed.notify_all();
    }

    fn state(&self, trouble: Trouble) {
        *self.state.lock().unwrap() = trouble;
        self.changed.notify_all();
    }

    fn meet(&self, with: &Mutex<Trouble>) -> io::Result<()> {
        let trouble = with.lock().unwrap();
        // Not for ever: a test that fails must end.
        let patience = Duration::from_secs(30);
        let hangs = |trouble: &mut Trouble| *trouble == Trouble::Hangs;
        match *self.changed.wait_timeout_while(trouble, patience, hangs).unwrap().0 {
            Trouble::Fails(number) => Err(io::Error::from_raw_os_error(number)),
            _ => Ok(()),
        }
    }

    fn use_drive(&self, path: &Path) -> io::Result<()> {
        if path.iter().any(|part| part == "drive") { self.meet(&self.drive) } else { Ok(()) }
    }
}

impl Disk for Troubled {
    fn load(&self, path: &Path) -> Result<(Project, Stamp), LoadError> {
        self.use_drive(path).map_err(|source| LoadError::Io { path: path.to_owned(), source })?;
        keepside_store::load_stamped(path)
    }

    fn save(&self, path: &Path, project: &Project, care: Care<'_>) -> Result<Stamp, SaveError> {
        self.use_drive(path).map_err(|source| SaveError::Io { path: path.to_owned(), source })?;
        keepside_store::save_with_care(path, project, care)
    }

    fn look(&self, path: &Path) -> io::Result<Option<Stamp>> {
        self.use_drive(path)?;
        Stamp::of_file(path)
    }

    fn is_there(&self, path: &Path) -> bool {
        self.use_drive(path).is_ok() && path.is_file()
    }

    fn keep(
        &self,
        about: &About,
        project: &Project,
        instead_of: Option<&Path>,
        state: &Path,
        own: &mut Option<RecoveryFile>,
    ) -> io::Result<()> {
        self.meet(&self.state)?;
        Real.keep(about, project, instead_of, state, own)
    }
}

/// The disks as they are.
#[derive(Debug)]
struct Real;

impl Disk for Real {}

/// A project on a drive, a state folder and a desk on others.
struct Bench {
    folder: tempfile::TempDir,
    disk: Arc<Troubled>,
}

impl Bench {
    fn new() -> Self {
        let bench = Self { folder: tempfile::tempdir().unwrap(), disk: Arc::default() };
        for name in ["drive", "desk"] {
            fs::create_dir(bench.at(name)).unwrap();
        }
        keepside_store::save(&bench.path(), &marker()).unwrap();
        bench
    }

    fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn path(&self) -> PathBuf {
        self.at("drive/marker.keepside")
    }

    fn elsewhere(&self) -> PathBuf {
        self.at("desk/marker.keepside")
    }

    /// A window on the project with K5 moved from x = 80 to 81.
    fn window(&self) -> Gui {
        let (project, state) = (Some(self.path()), Some(self.at("state")));
        let disk: Option<Arc<dyn Disk>> = Some(self.disk.clone());
        let start = Start { project, state, disk, ..Start::default() };
        let mut gui = start_at(FRAMES_PER_S, start, FakeDialogs::default());
        opened(&mut gui);
        click(&mut gui, "Keying pin K5");
        press(&mut gui, Modifiers::NONE, Key::ArrowRight);
        gui
    }

    /// What is kept against a crash: K5's x, looked at as if the window had died.
    fn kept(&self) -> Option<f64> {
        let copy = tempfile::tempdir().unwrap();
        fs::create_dir(copy.path().join("recovery")).unwrap();
        for entry in fs::read_dir(self.at("state/recovery")).ok()?.flatten() {
            if entry.path().extension().is_some_and(|ending| ending == "recovery") {
                fs::copy(entry.path(), copy.path().join("recovery").join(entry.file_name())).unwrap();
            }
        }
        Some(left_behind(copy.path()).recovered.first()?.project.place(Id(5)).unwrap().x)
    }
}

fn x_in(path: &Path) -> f64 {
    keepside_store::load(path).unwrap().place(Id(5)).unwrap().x
}

fn shows(gui: &Gui, words: &str) -> bool {
    gui.query_all_by_label_contains(words).next().is_some()
}

/// Lets so much time pass in the window, s.
fn pass(gui: &mut Gui, time_s: f32) {
    gui.run_steps((time_s * FRAMES_PER_S) as usize);
}

/// Saves elsewhere by the menu's key, and that is where the work is then.
#[track_caller]
fn save_elsewhere(gui: &mut Gui, bench: &Bench, x: f64) {
    type_into(gui, Role::TextInput, "File", bench.elsewhere().to_str().unwrap());
    saved(gui);
    assert_eq!(x_in(&bench.elsewhere()), x);
    assert_eq!(gui.state().session.path(), Some(bench.elsewhere().as_path()));
    assert!(!gui.state().session.is_dirty() && shows(gui, "marker.keepside (saved)"));
}

/// ENOSPC, EIO, ENOENT and ESTALE by Linux's numbers, with what is said at once and
/// what stays in the title.
#[cfg(target_os = "linux")]
#[test]
fn a_drive_that_fails_is_told_in_plain_words_and_the_work_goes_elsewhere() {
    for (number, words, title) in [
        (28, "the disk is full", "not saved: disk full"),
        (5, "the disk reports a fault", "not saved: disk error"),
        (2, "the folder is gone", "not saved: no such folder"),
        (116, "the network drive does not answer", "not saved: disk error"),
    ] {
        let bench = Bench::new();
        let mut gui = bench.window();
        bench.disk.drive(Trouble::Fails(number));
        press(&mut gui, Modifiers::COMMAND, Key::S);
        saved(&mut gui);
        assert!(shows(&gui, words), "{number}: {words}");
        assert!(shows(&gui, "what stood in the file is untouched"), "{number}");
        assert!(shows(&gui, "or save elsewhere") && shows(&gui, bench.path().to_str().unwrap()), "{number}");
        assert!(shows(&gui, title), "{number}: {title}");
        // In memory, and kept against a crash.
        assert_eq!((at(&gui, 5).x, gui.state().session.is_dirty()), (81.0, true));
        pass(&mut gui, 4.0);
        wait_for(&mut gui, "the recovery file", |_| bench.kept() == Some(81.0));
        press(&mut gui, Modifiers::COMMAND | Modifiers::SHIFT, Key::S);
        save_elsewhere(&mut gui, &bench, 81.0);
        bench.disk.drive(Trouble::None);
        assert_eq!(x_in(&bench.path()), 80.0, "{number}: the old file is untouched");
    }
}

/// EACCES and EROFS: no use in trying again, so another name is offered.
#[test]
fn where_nothing_may_be_written_another_place_is_offered() {
    for (number, words) in [(13, "it is not permitted"), (30, "the disk is write-protected")] {
        let bench = Bench::new();
        let mut gui = bench.window();
        bench.disk.drive(Trouble::Fails(number));
        press(&mut gui, Modifiers::COMMAND, Key::S);
        saved(&mut gui);
        assert!(shows(&gui, "This file cannot be written") && shows(&gui, words), "{number}");
        pass(&mut gui, 4.0);
        wait_for(&mut gui, "the recovery file", |_| bench.kept() == Some(81.0));
        click(&mut gui, "Save as…");
        save_elsewhere(&mut gui, &bench, 81.0);
    }
}

#[test]
fn a_drive_pulled_out_under_an_open_project_costs_nothing() {
    let bench = Bench::new();
    let mut gui = bench.window();
    // Really gone, not only said to be.
    fs::rename(bench.at("drive"), bench.at("pocket")).unwrap();
    press(&mut gui, Modifiers::COMMAND, Key::S);
    saved(&mut gui);
    assert!(shows(
        &gui,
        "Not saved, as the folder does not exist; make it or plug the drive in, or save elsewhere"
    ));
    press(&mut gui, Modifiers::NONE, Key::ArrowRight);
    pass(&mut gui, 4.0);
    wait_for(&mut gui, "the recovery file", |_| bench.kept() == Some(82.0));
    // Coming back to the window tells as well.
    gui.input_mut().focused = false;
    gui.run();
    gui.input_mut().focused = true;
    gui.run();
    wait_for(&mut gui, "the message", |gui| shows(gui, "is no longer there"));
    press(&mut gui, Modifiers::COMMAND | Modifiers::SHIFT, Key::S);
    save_elsewhere(&mut gui, &bench, 82.0);
    assert_eq!(x_in(&bench.at("pocket/marker.keepside")), 80.0);
}

#[test]
fn a_drive_that_does_not_answer_is_told_and_the_work_goes_elsewhere_meanwhile() {
    let bench = Bench::new();
    let mut gui = bench.window();
    bench.disk.drive(Trouble::Hangs);
    press(&mut gui, Modifiers::COMMAND, Key::S);
    pass(&mut gui, 1.0);
    assert!(gui.state().is_saving() && !shows(&gui, "the disk does not answer yet"));
    // Looking at the file when the window comes back does not wait either.
    gui.input_mut().focused = false;
    gui.run();
    gui.input_mut().focused = true;
    press(&mut gui, Modifiers::NONE, Key::ArrowRight);
    pass(&mut gui, 5.0);
    assert!(shows(&gui, "Saving marker.keepside: the disk does not answer yet"));
    wait_for(&mut gui, "the recovery file", |_| bench.kept() == Some(82.0));

    click(&mut gui, "Save elsewhere…");
    assert!(shows(&gui, "not saved: the disk does not answer"));
    let proposed = gui.get_by_role_and_label(Role::TextInput, "File").value().unwrap();
    assert!(proposed.ends_with("marker.keepside") && !Path::new(&proposed).starts_with(bench.at("drive")));
    // Nobody waits for the drive who types its path over the proposal.
    let began = Instant::now();
    gui.event(Event::Text(bench.path().to_str().unwrap().to_owned()));
    gui.run_steps(3);
    assert_eq!(gui.get_by_role_and_label(Role::TextInput, "File").value().as_deref(), bench.path().to_str());
    assert!(began.elapsed() < Duration::from_secs(10), "the window waits for the drive");
    save_elsewhere(&mut gui, &bench, 82.0);
    // What hung so long is not put in place behind the user's back.
    bench.disk.drive(Trouble::None);
    std::thread::sleep(Duration::from_millis(200));
    pass(&mut gui, 0.5);
    assert_eq!((x_in(&bench.path()), x_in(&bench.elsewhere())), (80.0, 82.0));
    assert!(shows(&gui, "marker.keepside (saved)"));
}

#[test]
fn a_window_that_is_to_close_while_a_drive_does_not_answer_can_save_elsewhere_and_close() {
    let bench = Bench::new();
    let mut gui = bench.window();
    bench.disk.drive(Trouble::Hangs);
    press(&mut gui, Modifiers::COMMAND, Key::S);
    press(&mut gui, Modifiers::COMMAND, Key::N);
    pass(&mut gui, 1.0);
    assert!(shows(&gui, "This goes on as soon as the project is saved"));
    click(&mut gui, "Save elsewhere…");
    type_into(&mut gui, Role::TextInput, "File", bench.elsewhere().to_str().unwrap());
    saved(&mut gui);
    assert_eq!(x_in(&bench.elsewhere()), 81.0);
    assert_eq!(**gui.state().session.document(), Project::blank(), "and goes on with what was wanted");
    bench.disk.drive(Trouble::None);
}

#[test]
fn if_work_cannot_be_kept_against_a_crash_that_is_told_once_and_tried_again() {
    let bench = Bench::new();
    let mut gui = bench.window();
    bench.disk.state(Trouble::Fails(28));
    let told = "Unsaved work cannot be kept against a crash for now, so save often: the disk is full";
    wait_for(&mut gui, "the message", |gui| shows(gui, told));
    assert!(shows(&gui, bench.at("state").to_str().unwrap()));
    assert_eq!(bench.kept(), None);
    bench.disk.state(Trouble::None);
    pass(&mut gui, 31.0);
    wait_for(&mut gui, "the recovery file", |_| bench.kept() == Some(81.0));
    wait_for(&mut gui, "the good news", |gui| shows(gui, "Unsaved work is kept against a crash again"));
    // The project itself can be saved all the time.
    press(&mut gui, Modifiers::COMMAND, Key::S);
    saved(&mut gui);
    assert_eq!(x_in(&bench.path()), 81.0);
}

#[test]
fn a_home_that_does_not_answer_is_told_and_keeps_nobody_from_saving() {
    let bench = Bench::new();
    let mut gui = bench.window();
    bench.disk.state(Trouble::Hangs);
    pass(&mut gui, 26.0);
    assert!(shows(&gui, "so save often: the disk does not answer"));
    bench.disk.state(Trouble::None);
    wait_for(&mut gui, "the recovery file", |_| bench.kept() == Some(81.0));
    press(&mut gui, Modifiers::COMMAND, Key::S);
    saved(&mut gui);
    assert_eq!(x_in(&bench.path()), 81.0);
}

#[test]
fn a_state_folder_that_is_taken_away_is_made_again() {
    let bench = Bench::new();
    let mut gui = bench.window();
    pass(&mut gui, 4.0);
    wait_for(&mut gui, "the recovery file", |_| bench.kept() == Some(81.0));
    fs::remove_dir_all(bench.at("state")).unwrap();
    press(&mut gui, Modifiers::NONE, Key::ArrowRight);
    pass(&mut gui, 4.0);
    wait_for(&mut gui, "the recovery file", |_| bench.kept() == Some(82.0));
}
