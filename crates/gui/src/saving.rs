//! The threads that write: one for project files, one for recovery files and what else is kept for the user. The
//! window never waits for a disk, and a drive that does not answer does not keep unsaved work from being kept.
//!
//! Each does everything in the order in which it was asked for. A recovery file is taken away only after the save
//! that made it unnecessary has reported.

use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, mpsc};
use std::thread::JoinHandle;

use keepside_model::Project;
use keepside_store::{About, Care, RecoveryFile, SaveError, Stamp};

use crate::disk::Disk;

/// Something to do for a thread.
#[derive(Debug)]
pub(crate) enum Work {
    /// Saves a project to its file.
    Save { path: PathBuf, document: Arc<Project>, expected: Option<Stamp> },
    /// Keeps unsaved work in the recovery file of this window; `instead_of` is then deleted.
    Keep { about: About, document: Arc<Project>, instead_of: Option<PathBuf> },
    /// Takes the recovery file of this window away: nothing is unsaved.
    Forget,
    /// Writes a small file, such as the settings. Losing it is no reason to disturb anybody.
    Write { path: PathBuf, text: String },
}

/// What came of it.
#[derive(Debug)]
pub(crate) enum Report {
    Saved {
        path: PathBuf,
        document: Arc<Project>,
        result: Result<Stamp, SaveError>,
    },
    /// Unsaved work was kept, or not.
    Kept(io::Result<()>),
}

/// A thread, seen from the window.
#[derive(Debug)]
struct Worker {
    work: Option<mpsc::Sender<Work>>,
    reports: mpsc::Receiver<Report>,
    thread: Option<JoinHandle<()>>,
    given_up: Arc<AtomicBool>,
}

/// Both threads.
#[derive(Debug)]
pub(crate) struct Saver {
    start: Start,
    saving: Worker,
    keeping: Worker,
}

/// What a thread is started with.
#[derive(Clone)]
struct Start {
    state: Option<PathBuf>,
    disk: Arc<dyn Disk>,
    wake: Arc<dyn Fn() + Send + Sync>,
}

impl std::fmt::Debug for Start {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Start").field("state", &self.state).finish_non_exhaustive()
    }
}

impl Worker {
    fn spawn(name: &str, start: Start) -> io::Result<Self> {
        let (work, queue) = mpsc::channel::<Work>();
        let (results, reports) = mpsc::channel();
        let given_up = Arc::<AtomicBool>::default();
        let theirs = Arc::clone(&given_up);
        let run = move || {
            let mut own = None;
            for work in queue {
                if let Some(report) = done(work, &start, &theirs, &mut own)
                    && results.send(report).is_ok()
                {
                    (start.wake)();
                }
            }
        };
        let thread = std::thread::Builder::new().name(name.to_owned()).spawn(run)?;
        Ok(Self { work: Some(work), reports, thread: Some(thread), given_up })
    }

    /// Lets the thread finish what it was asked for.
    fn close(&mut self) {
        self.work = None;
        if let Some(thread) = self.thread.take()
            && thread.join().is_err()
        {
            log::error!("a thread that writes has failed");
        }
    }
}

impl Saver {
    /// Starts the threads. `wake` is called after each report.
    pub(crate) fn spawn(
        state: Option<PathBuf>,
        disk: Arc<dyn Disk>,
        wake: impl Fn() + Send + Sync + 'static,
    ) -> io::Result<Self> {
        let start = Start { state, disk, wake: Arc::new(wake) };
        let saving = Worker::spawn("saving", start.clone())?;
        let keeping = Worker::spawn("keeping", start.clone())?;
        Ok(Self { start, saving, keeping })
    }

    /// Asks for something.
    pub(crate) fn send(&self, work: Work) {
        let worker = if matches!(work, Work::Save { .. }) { &self.saving } else { &self.keeping };
        if let Some(sender) = &worker.work {
            // The threads end only with this value.
            sender.send(work).ok();
        }
    }

    /// The next report, if one has come.
    pub(crate) fn poll(&self) -> Option<Report> {
        self.saving.reports.try_recv().or_else(|_| self.keeping.reports.try_recv()).ok()
    }

    /// Waits no longer for a save that does not end: another thread saves from now on, and what is still being
    /// written is not put in place.
    pub(crate) fn give_up_saving(&mut self) -> io::Result<()> {
        let new = Worker::spawn("saving", self.start.clone())?;
        let mut old = std::mem::replace(&mut self.saving, new);
        old.given_up.store(true, Ordering::Relaxed);
        // Ends by itself, if ever.
        old.thread = None;
        Ok(())
    }

    /// Lets the threads finish what they were asked for.
    pub(crate) fn close(&mut self) {
        self.saving.close();
        self.keeping.close();
    }
}

impl Drop for Saver {
    fn drop(&mut self) {
        self.close();
    }
}

fn done(work: Work, start: &Start, given_up: &AtomicBool, own: &mut Option<RecoveryFile>) -> Option<Report> {
    let Start { state, disk, .. } = start;
    match work {
        Work::Save { path, document, expected } => {
            let care = Care { expected, state: state.as_deref(), given_up: Some(given_up) };
            let save = || disk.save(&path, &document, care);
            let result = catch_unwind(AssertUnwindSafe(save)).unwrap_or_else(|_| {
                let source = io::Error::other("internal error, please report this");
                Err(SaveError::Io { path: path.clone(), source })
            });
            Some(Report::Saved { path, document, result })
        }
        Work::Keep { about, document, instead_of } => {
            let state = state.as_deref()?;
            let keep = || disk.keep(&about, &document, instead_of.as_deref(), state, own);
            let kept = catch_unwind(AssertUnwindSafe(keep));
            Some(Report::Kept(kept.unwrap_or_else(|_| Err(io::Error::other("internal error")))))
        }
        Work::Forget => {
            if let Some(error) = own.as_ref().and_then(|own| own.remove().err()) {
                log::warn!("the recovery file could not be deleted: {error}");
            }
            None
        }
        Work::Write { path, text } => {
            if let Err(error) = disk.write(&path, &text) {
                log::warn!("not kept: {error}: {}", path.display());
            }
            None
        }
    }
}

/// Why a save was given up, for the title of the window.
pub(crate) const NO_ANSWER: &str = "the disk does not answer";

/// A few words on why something was not saved, for the title of the window.
pub(crate) fn briefly(error: &SaveError) -> &'static str {
    let of_io = |source: &io::Error| match source.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => "disk full",
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => "not permitted",
        io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => "no such folder",
        _ => "disk error",
    };
    match error {
        SaveError::Io { source, .. } | SaveError::Backup { source, .. } => of_io(source),
        SaveError::WriteProtected { .. } => "write-protected",
        SaveError::ChangedOnDisk { .. } => "changed on disk",
        SaveError::GivenUp => NO_ANSWER,
        SaveError::NoFolder { .. } => "no such folder",
        SaveError::Invalid { .. } => "a number is invalid",
        SaveError::TooLarge { .. } => "too large",
        SaveError::NoFileName { .. }
        | SaveError::IsFolder { .. }
        | SaveError::NotAFile { .. }
        | SaveError::NoProjectThere { .. } => "not an ordinary file",
    }
}
