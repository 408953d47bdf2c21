//! The thread that writes: project files, recovery files. The window never waits for a disk.
//!
//! One thread does everything in the order in which it was asked for, so that a recovery file is not
//! taken away before what it guards is safe.

use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::{Arc, mpsc};
use std::thread::JoinHandle;

use keepside_model::Project;
use keepside_store::{About, Care, RecoveryFile, SaveError, Stamp};

use crate::disk::Disk;

/// Something to do for the thread.
#[derive(Debug)]
pub(crate) enum Work {
    /// Saves a project to its file.
    Save { path: PathBuf, document: Arc<Project>, expected: Option<Stamp> },
    /// Keeps unsaved work in the recovery file of this window; `instead_of` is then deleted.
    Keep { about: About, document: Arc<Project>, instead_of: Option<PathBuf> },
    /// Takes the recovery file of this window away: nothing is unsaved.
    Forget,
    /// Looks whether a project file still holds what it held.
    Look { path: PathBuf },
}

/// What came of it.
#[derive(Debug)]
pub(crate) enum Report {
    Saved {
        path: PathBuf,
        document: Arc<Project>,
        result: Result<Stamp, SaveError>,
    },
    /// Unsaved work could not be kept.
    NotKept(io::Error),
    Looked {
        path: PathBuf,
        found: io::Result<Option<Stamp>>,
    },
}

/// The thread, seen from the window.
#[derive(Debug)]
pub(crate) struct Saver {
    work: Option<mpsc::Sender<Work>>,
    reports: mpsc::Receiver<Report>,
    thread: Option<JoinHandle<()>>,
}

impl Saver {
    /// Starts the thread. `wake` is called after each report.
    pub(crate) fn spawn(
        state: Option<PathBuf>,
        disk: Arc<dyn Disk>,
        wake: impl Fn() + Send + 'static,
    ) -> io::Result<Self> {
        let (work, queue) = mpsc::channel::<Work>();
        let (results, reports) = mpsc::channel();
        let run = move || {
            let mut own = None;
            for work in queue {
                if let Some(report) = done(work, state.as_deref(), &*disk, &mut own)
                    && results.send(report).is_ok()
                {
                    wake();
                }
            }
        };
        let thread = std::thread::Builder::new().name("saving".to_owned()).spawn(run)?;
        Ok(Self { work: Some(work), reports, thread: Some(thread) })
    }

    /// Asks for something.
    pub(crate) fn send(&self, work: Work) {
        if let Some(sender) = &self.work {
            // The thread ends only with this value.
            sender.send(work).ok();
        }
    }

    /// The next report, if one has come.
    pub(crate) fn poll(&self) -> Option<Report> {
        self.reports.try_recv().ok()
    }

    /// Lets the thread finish what it was asked for.
    pub(crate) fn close(&mut self) {
        self.work = None;
        if let Some(thread) = self.thread.take()
            && thread.join().is_err()
        {
            log::error!("the saving thread has failed");
        }
    }
}

impl Drop for Saver {
    fn drop(&mut self) {
        self.close();
    }
}

fn done(work: Work, state: Option<&Path>, disk: &dyn Disk, own: &mut Option<RecoveryFile>) -> Option<Report> {
    match work {
        Work::Save { path, document, expected } => {
            let care = Care { expected, state };
            let save = || disk.save(&path, &document, care);
            let result = catch_unwind(AssertUnwindSafe(save)).unwrap_or_else(|_| {
                let source = io::Error::other("internal error, please report this");
                Err(SaveError::Io { path: path.clone(), source })
            });
            Some(Report::Saved { path, document, result })
        }
        Work::Keep { about, document, instead_of } => {
            let keep = || keep(&about, &document, instead_of.as_deref(), state?, own).err();
            let failed = catch_unwind(AssertUnwindSafe(keep));
            failed.unwrap_or_else(|_| Some(io::Error::other("internal error"))).map(Report::NotKept)
        }
        Work::Forget => {
            if let Some(error) = own.as_ref().and_then(|own| own.remove().err()) {
                log::warn!("the recovery file could not be deleted: {error}");
            }
            None
        }
        Work::Look { path } => {
            let found = Stamp::of_file(&path);
            Some(Report::Looked { path, found })
        }
    }
}

fn keep(
    about: &About,
    document: &Project,
    instead_of: Option<&Path>,
    state: &Path,
    own: &mut Option<RecoveryFile>,
) -> io::Result<()> {
    let own = match own {
        Some(own) => own,
        None => own.insert(RecoveryFile::claim(state)?),
    };
    own.write(about, document)?;
    match instead_of {
        Some(file) => keepside_store::discard(file),
        None => Ok(()),
    }
}

/// A few words on why something was not saved, for the title of the window.
pub(crate) fn briefly(error: &SaveError) -> &'static str {
    let of_io = |source: &io::Error| match source.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => "disk full",
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => "not permitted",
        _ => "disk error",
    };
    match error {
        SaveError::Io { source, .. } | SaveError::Backup { source, .. } => of_io(source),
        SaveError::WriteProtected { .. } => "write-protected",
        SaveError::ChangedOnDisk { .. } => "changed on disk",
        SaveError::NoFolder { .. } => "no such folder",
        SaveError::Invalid { .. } => "a number is invalid",
        SaveError::NoFileName { .. } | SaveError::IsFolder { .. } | SaveError::NotAFile { .. } => {
            "not an ordinary file"
        }
    }
}
