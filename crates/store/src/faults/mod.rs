//! A disk that fails or loses its power on demand, and what a power cut leaves of what was written. For tests.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

mod cut;
mod tests;

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs::{File, Metadata, Permissions};
use std::io;
use std::os::unix::fs::MetadataExt as _;
use std::path::{Path, PathBuf};

use crate::disk::{Disk, Real};

/// What goes wrong, and at which operation, counted from 0.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Fault {
    /// Nothing.
    None,
    /// One operation fails with this error number.
    Once(usize, i32),
    /// It fails, and all after it.
    From(usize, i32),
    /// Writing takes one byte at a time from this operation on, and is interrupted in between.
    Slowly(usize),
    /// The process is stopped after it; of what it wrote this share is written, in 256ths.
    Cut(usize, u8),
}

/// What a disk was told to do, as far as a power cut is concerned. Files are named by a number.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Change {
    Folder(PathBuf),
    Created(PathBuf, usize),
    Wrote(usize, Vec<u8>),
    Synced(usize),
    Renamed(PathBuf, PathBuf, usize),
    Removed(PathBuf),
    SyncedFolder(PathBuf),
}

/// The real disk, with a fault.
pub(crate) struct Faulty {
    fault: Fault,
    done: Cell<usize>,
    is_off: Cell<bool>,
    /// Names of the operations done, for messages.
    pub(crate) named: RefCell<Vec<String>>,
    /// What has been done.
    pub(crate) log: RefCell<Vec<Change>>,
    /// The number of a file by its node, and by its path.
    nodes: RefCell<BTreeMap<u64, usize>>,
    paths: RefCell<BTreeMap<PathBuf, usize>>,
}

/// What becomes of an operation.
enum Fate {
    Done,
    Slow,
    /// Done as far as this share, in 256ths, and then the process is no more.
    Last(u8),
}

impl Faulty {
    pub(crate) fn new(fault: Fault) -> Self {
        Self {
            fault,
            done: Cell::new(0),
            is_off: Cell::new(false),
            named: RefCell::default(),
            log: RefCell::default(),
            nodes: RefCell::default(),
            paths: RefCell::default(),
        }
    }

    /// Whether something ended well while the process was there to see it.
    pub(crate) fn saw<T, E>(&self, result: &Result<T, E>) -> bool {
        result.is_ok() && !self.is_off.get()
    }

    /// How many operations there were.
    pub(crate) fn count(&self) -> usize {
        self.done.get()
    }

    fn next(&self, name: &str, path: &Path) -> io::Result<Fate> {
        if self.is_off.get() {
            return Err(io::Error::from_raw_os_error(5));
        }
        let number = self.done.replace(self.done.get() + 1);
        let file = path.file_name().unwrap_or_default().to_string_lossy();
        self.named.borrow_mut().push(format!("{name} {file}"));
        match self.fault {
            Fault::Once(at, error) if at == number => Err(io::Error::from_raw_os_error(error)),
            Fault::From(at, error) if at <= number => Err(io::Error::from_raw_os_error(error)),
            Fault::Slowly(at) if at <= number => Ok(Fate::Slow),
            Fault::Cut(at, share) if at == number => {
                self.is_off.set(true);
                Ok(Fate::Last(share))
            }
            _ => Ok(Fate::Done),
        }
    }

    fn note(&self, change: Change) {
        self.log.borrow_mut().push(change);
    }

    fn number_of(&self, file: &File) -> usize {
        self.nodes.borrow()[&file.metadata().unwrap().ino()]
    }
}

impl Disk for Faulty {
    fn about(&self, path: &Path) -> io::Result<Metadata> {
        self.next("look at", path)?;
        Real.about(path)
    }

    fn link(&self, path: &Path) -> io::Result<Option<PathBuf>> {
        self.next("follow", path)?;
        Real.link(path)
    }

    fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        self.next("read", path)?;
        Real.read(path)
    }

    fn names(&self, folder: &Path) -> io::Result<Vec<OsString>> {
        self.next("list", folder)?;
        Real.names(folder)
    }

    fn make_folder(&self, folder: &Path) -> io::Result<()> {
        self.next("make folder", folder)?;
        Real.make_folder(folder)?;
        self.note(Change::Folder(folder.to_owned()));
        Ok(())
    }

    fn create(&self, path: &Path) -> io::Result<File> {
        self.next("create", path)?;
        let file = Real.create(path)?;
        let number = self.log.borrow().len();
        self.nodes.borrow_mut().insert(file.metadata()?.ino(), number);
        self.paths.borrow_mut().insert(path.to_owned(), number);
        self.note(Change::Created(path.to_owned(), number));
        Ok(file)
    }

    fn write(&self, file: &mut File, bytes: &[u8]) -> io::Result<usize> {
        let number = self.number_of(file);
        let fate = self.next("write", Path::new(""));
        let part = match &fate {
            Ok(Fate::Done) => bytes,
            // Every other time it is interrupted.
            Ok(Fate::Slow) if self.count().is_multiple_of(2) => return Err(io::ErrorKind::Interrupted.into()),
            // One byte, or many at last, so that the test ends.
            Ok(Fate::Slow) => &bytes[..if self.count() < 200 { 1 } else { bytes.len().div_ceil(2) }],
            Ok(Fate::Last(share)) => &bytes[..bytes.len() * usize::from(*share) / 255],
            // A disk that fails has taken something before.
            Err(_) => &bytes[..bytes.len() / 2],
        };
        if !self.is_off.get() || matches!(fate, Ok(Fate::Last(_))) {
            io::Write::write_all(file, part)?;
            self.note(Change::Wrote(number, part.to_owned()));
        }
        fate.map(|_| part.len())
    }

    fn permit(&self, file: &File, permissions: Permissions) -> io::Result<()> {
        self.next("permit", Path::new(""))?;
        Real.permit(file, permissions)
    }

    fn sync(&self, file: &File) -> io::Result<()> {
        self.next("sync", Path::new(""))?;
        self.note(Change::Synced(self.number_of(file)));
        Ok(())
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.next("rename to", to)?;
        Real.rename(from, to)?;
        let number = self.paths.borrow_mut().remove(from).unwrap();
        self.paths.borrow_mut().insert(to.to_owned(), number);
        self.note(Change::Renamed(from.to_owned(), to.to_owned(), number));
        Ok(())
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        self.next("remove", path)?;
        Real.remove(path)?;
        self.note(Change::Removed(path.to_owned()));
        Ok(())
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        self.next("sync folder", folder)?;
        self.note(Change::SyncedFolder(folder.to_owned()));
        Ok(())
    }
}
