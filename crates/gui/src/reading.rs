//! What is read while the window goes on: project files, what was left behind, earlier states. Each
//! reading has a thread of its own, so that one that hangs on a slow disk holds up nothing else, and one
//! that is not wanted any more is simply not listened to.

use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{self, RecvTimeoutError, TryRecvError};
use std::time::Duration;

use egui::Context;
use keepside_model::Project;
use keepside_store::{Holder, OpenProject, Stamp};

use crate::action::Command;
use crate::app::App;
use crate::dialogs::{Dialog, PathDialog};
use crate::disk::Disk;
use crate::files::sentence_of;
use crate::questions::Question;

/// How long a reading may take before something is said about it, s.
const PATIENCE_S: f64 = 0.3;

/// How long the window waits for its first project before it opens without.
const FIRST_PATIENCE: Duration = Duration::from_millis(300);

/// A project file as it was read.
pub(crate) type Loaded = Result<(Project, Stamp), String>;

/// What was found.
#[derive(Debug)]
pub(crate) enum Found {
    /// A project to be shown.
    Opened { path: PathBuf, loaded: Loaded },
    /// What somebody else has saved, to be put in place of what is shown.
    OnDisk { path: PathBuf, loaded: Loaded },
    /// What windows left behind that were not closed; `was_asked` by the user.
    Left { question: Option<Question>, was_asked: bool },
    /// The earlier states of the file.
    Earlier(Question),
    /// What the project's file holds now.
    Looked { path: PathBuf, found: io::Result<Option<Stamp>> },
    /// Whether saving to a path would replace a file.
    Sought { path: PathBuf, is_there: bool },
    /// How the project's file stands, and who else has it open.
    Standing { path: PathBuf, is_protected: bool, claimed: Option<io::Result<(OpenProject, Vec<Holder>)>> },
}

/// Something that is being read.
#[derive(Debug)]
pub(crate) struct Reading {
    answer: mpsc::Receiver<Found>,
    since_s: f64,
    /// What is told to the user if it takes long.
    words: String,
    /// Revision of the project when it began.
    revision: u64,
    /// The dialog that asked for it, shown again if it fails.
    asked_by: Option<PathDialog>,
}

/// Everything that is being read. A newer reading of a kind takes the place of the one before.
#[derive(Debug)]
pub(crate) struct Readings {
    ctx: Context,
    pub(crate) disk: Arc<dyn Disk>,
    opening: Option<Reading>,
    listing: Option<Reading>,
    standing: Option<Reading>,
    looking: Option<Reading>,
    /// With the folder in which it looks.
    seeking: Option<Reading>,
    sought_in: PathBuf,
}

impl Readings {
    pub(crate) fn new(ctx: &Context, disk: Arc<dyn Disk>) -> Self {
        Self {
            ctx: ctx.clone(),
            disk,
            opening: None,
            listing: None,
            standing: None,
            looking: None,
            seeking: None,
            sought_in: PathBuf::new(),
        }
    }

    /// Starts a reading.
    fn begin(&self, words: String, revision: u64, job: impl FnOnce() -> Found + Send + 'static) -> Reading {
        let (sender, answer) = mpsc::channel();
        let ctx = self.ctx.clone();
        let work = move || {
            // After a panic nothing is sent, which tells as well.
            if let Ok(found) = catch_unwind(AssertUnwindSafe(job)) {
                // Nobody listens to what was given up.
                sender.send(found).ok();
            }
            drop(sender);
            ctx.request_repaint();
        };
        if let Err(error) = std::thread::Builder::new().name("reading".to_owned()).spawn(work) {
            log::error!("nothing can be read: {error}");
        }
        Reading { answer, since_s: self.ctx.input(|input| input.time), words, revision, asked_by: None }
    }

    /// Reads the project at `path` in order to show it.
    pub(crate) fn open(&mut self, path: &Path, revision: u64, asked_by: Option<PathDialog>) {
        let (disk, path) = (Arc::clone(&self.disk), path.to_owned());
        let job = {
            let path = path.clone();
            move || Found::Opened { loaded: disk.load(&path).map_err(|error| error.to_string()), path }
        };
        let reading = self.begin(format!("Opening {}…", name_of(&path)), revision, job);
        self.opening = Some(Reading { asked_by, ..reading });
    }

    /// Reads what somebody else has saved.
    pub(crate) fn read_from_disk(&mut self, path: PathBuf, revision: u64) {
        let disk = Arc::clone(&self.disk);
        let words = format!("Reading {}…", name_of(&path));
        let job = move || Found::OnDisk { loaded: disk.load(&path).map_err(|error| error.to_string()), path };
        self.opening = Some(self.begin(words, revision, job));
    }

    /// Reads a list.
    pub(crate) fn list(
        &mut self,
        words: &str,
        revision: u64,
        job: impl FnOnce(&dyn Disk) -> Found + Send + 'static,
    ) {
        let disk = Arc::clone(&self.disk);
        self.listing = Some(self.begin(words.to_owned(), revision, move || job(&*disk)));
    }

    /// Looks how the project's file at `path` stands, and tells other windows that it is open here.
    pub(crate) fn look_up(&mut self, path: &Path, state: Option<PathBuf>) {
        let path = path.to_owned();
        let job = move || {
            let is_protected = path.metadata().is_ok_and(|about| about.permissions().readonly());
            let claimed = state.map(|state| OpenProject::claim(&state, &path));
            Found::Standing { is_protected, claimed, path }
        };
        self.standing = Some(self.begin(String::new(), 0, job));
    }

    /// Looks whether the project's file at `path` still holds what it held. On a drive that does not answer there
    /// is one look at most.
    pub(crate) fn look(&mut self, path: &Path) {
        if self.looking.is_none() {
            let (disk, path) = (Arc::clone(&self.disk), path.to_owned());
            let job = move || Found::Looked { found: disk.look(&path), path };
            self.looking = Some(self.begin(String::new(), 0, job));
        }
    }

    /// Looks whether there is a file at `path`. In a folder that does not answer there is one look at most.
    pub(crate) fn seek(&mut self, path: PathBuf) {
        let folder = path.parent().unwrap_or(&path);
        if self.seeking.is_none() || self.sought_in != folder {
            self.sought_in = folder.to_owned();
            let disk = Arc::clone(&self.disk);
            let job = move || Found::Sought { is_there: disk.is_there(&path), path };
            self.seeking = Some(self.begin(String::new(), 0, job));
        }
    }

    /// Nothing is to be opened any more.
    pub(crate) fn stop_opening(&mut self) {
        self.opening = None;
    }

    /// Waits a moment for the first project: on most disks the window then opens with it.
    pub(crate) fn first(&mut self) -> Option<(PathBuf, Loaded)> {
        let opening = self.opening.take()?;
        match opening.answer.recv_timeout(FIRST_PATIENCE) {
            Ok(Found::Opened { path, loaded }) => return Some((path, loaded)),
            Ok(_) | Err(RecvTimeoutError::Disconnected) => {}
            Err(RecvTimeoutError::Timeout) => self.opening = Some(opening),
        }
        None
    }

    /// What takes long, in words; each with what gives it up.
    pub(crate) fn slow(&mut self) -> Vec<(String, &mut Option<Reading>)> {
        let now_s = self.ctx.input(|input| input.time);
        let mut slow = Vec::new();
        for slot in [&mut self.opening, &mut self.listing] {
            let Some(reading) = slot else { continue };
            let left_s = reading.since_s + PATIENCE_S - now_s;
            if left_s <= 0.0 {
                slow.push((reading.words.clone(), slot));
            } else {
                self.ctx.request_repaint_after_secs(left_s as f32);
            }
        }
        slow
    }
}

/// What a reading found; an error if it failed without a word.
fn poll(slot: &mut Option<Reading>) -> Option<(Reading, Option<Found>)> {
    let found = match slot.as_ref()?.answer.try_recv() {
        Ok(found) => Some(found),
        Err(TryRecvError::Disconnected) => None,
        Err(TryRecvError::Empty) => return None,
    };
    slot.take().map(|reading| (reading, found))
}

/// The name of a file for the user.
fn name_of(path: &Path) -> String {
    path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned()
}

impl App {
    /// Whether something is being read.
    pub fn is_reading(&self) -> bool {
        let Readings { opening, listing, standing, .. } = &self.safety.readings;
        [opening, listing, standing].into_iter().any(Option::is_some)
    }

    /// Takes in what has been read: once a frame.
    pub(crate) fn poll_readings(&mut self, ctx: &Context) {
        // What replaces the project waits for what is being asked, dragged or saved.
        let is_free = self.dialog.is_none() && !self.session.has_gesture() && !self.is_saving();
        let readings = &mut self.safety.readings;
        let opened = if is_free { poll(&mut readings.opening) } else { None };
        let others =
            [&mut readings.listing, &mut readings.standing, &mut readings.looking, &mut readings.seeking];
        let others = others.map(poll);
        for (reading, found) in others.into_iter().flatten().chain(opened) {
            match found {
                Some(found) => self.read(ctx, reading, found),
                None => self.toasts.error("Internal error while reading; please report this"),
            }
        }
    }

    fn read(&mut self, ctx: &Context, reading: Reading, found: Found) {
        match found {
            Found::Opened { path, loaded: Ok((project, stamp)) } => {
                if reading.revision != self.session.revision() && self.session.is_dirty() {
                    // Changed while it was read: that is asked about first.
                    self.unless_unsaved(ctx, Command::OpenPath(path));
                    return;
                }
                self.recent.add(&path, &self.safety.saver);
                self.show_project(project, Some(path), Some(stamp));
            }
            Found::Opened { path, loaded: Err(error) } => match reading.asked_by {
                Some(mut dialog) => {
                    dialog.fail(sentence_of(error));
                    self.dialog = Some(Dialog::Path(dialog));
                }
                None => {
                    self.recent.forget(&path, &self.safety.saver);
                    self.toasts.error(sentence_of(error));
                }
            },
            Found::OnDisk { path, loaded } => self.put_from_disk(path, loaded),
            Found::Left { question: Some(question), .. } => self.safety.questions.push_front(question),
            Found::Left { question: None, was_asked } => {
                if was_asked {
                    self.toasts.good("There is nothing to recover");
                }
            }
            Found::Earlier(question) => {
                // Of another project they are of no use.
                if let Question::Earlier { path, .. } = &question
                    && self.session.path() == Some(path.as_path())
                {
                    self.safety.questions.push_back(question);
                }
            }
            Found::Looked { path, found } => self.looked(&path, found),
            Found::Sought { path, is_there } => {
                if let Some(Dialog::Path(dialog)) = &mut self.dialog {
                    dialog.found = Some((path, is_there));
                }
            }
            Found::Standing { path, is_protected, claimed } => {
                if self.session.path() == Some(path.as_path()) {
                    self.safety.stands(path, is_protected, claimed);
                }
            }
        }
    }
}
