//! What the store asks of a disk, one operation at a time, so that a test can let each of them fail.

use std::ffi::OsString;
use std::fs::{self, File, Metadata, OpenOptions, Permissions};
use std::io;
use std::path::{Path, PathBuf};

/// Everything that a save, a recovery file or a list of ours does to a disk.
pub(crate) trait Disk {
    /// What is known about a file or folder; links are followed.
    fn about(&self, path: &Path) -> io::Result<Metadata> {
        fs::metadata(path)
    }

    /// Where a symbolic link leads; `None` if it is none, or nothing.
    fn link(&self, path: &Path) -> io::Result<Option<PathBuf>> {
        match fs::symlink_metadata(path) {
            Ok(about) if about.is_symlink() => fs::read_link(path).map(Some),
            _ => Ok(None),
        }
    }

    /// All that a file holds.
    fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        fs::read(path)
    }

    /// The names in a folder.
    fn names(&self, folder: &Path) -> io::Result<Vec<OsString>> {
        Ok(fs::read_dir(folder)?.flatten().map(|entry| entry.file_name()).collect())
    }

    /// Makes a folder in one that is there.
    fn make_folder(&self, folder: &Path) -> io::Result<()> {
        fs::create_dir(folder)
    }

    /// Makes a file that was not there, with the permissions of any new file. It is locked, which tells
    /// others that it is being written; a drive without locks does without.
    fn create(&self, path: &Path) -> io::Result<File> {
        let file = OpenOptions::new().write(true).create_new(true).open(path)?;
        file.try_lock().ok();
        Ok(file)
    }

    /// Writes some of these bytes, and tells how many.
    fn write(&self, file: &mut File, bytes: &[u8]) -> io::Result<usize> {
        io::Write::write(file, bytes)
    }

    /// Sets the permissions of a file.
    fn permit(&self, file: &File, permissions: Permissions) -> io::Result<()> {
        file.set_permissions(permissions)
    }

    /// Returns once what was written is on the disk.
    fn sync(&self, file: &File) -> io::Result<()> {
        file.sync_all()
    }

    /// Puts a file in the place of another, in one stroke.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    /// Takes a file away.
    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    /// Returns once the names in a folder are on the disk. Some systems cannot.
    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        File::open(folder)?.sync_all()
    }
}

/// The disks of this machine.
pub(crate) struct Real;

impl Disk for Real {}
