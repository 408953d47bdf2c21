//! Which windows are alive: each holds the operating system's lock on a small file of its own.
//!
//! The system lets go of a lock when its process ends, however it ends, so that nothing stale is ever
//! believed and no process number is mistaken for that of another program. On a system or a drive
//! without such locks no window counts as alive: warnings are missed then, work is not.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};

use crate::disk::Real;
use crate::replace::make_folders;

/// Windows of one process that are told apart at most.
const MAX_WINDOWS: u32 = 1000;

/// The sign of life of one window, until dropped.
#[derive(Debug)]
pub(crate) struct Presence {
    path: PathBuf,
    // Locked as long as it is open.
    _file: File,
}

/// Another window that is alive.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Holder {
    /// Number of its process, where it can be read.
    pub pid: Option<u32>,
    /// Name of the computer it runs on, where that can be read.
    pub host: Option<String>,
}

impl Presence {
    /// Gives a sign of life under `stem` in a folder, which is made if need be. Names that are not free
    /// are passed over: process numbers are used again.
    ///
    /// # Errors
    ///
    /// The folder cannot be made or written to.
    pub(crate) fn claim(folder: &Path, stem: &str, is_free: impl Fn(&Path) -> bool) -> io::Result<Self> {
        make_folders(&Real, folder)?;
        let pid = std::process::id();
        for number in 1..=MAX_WINDOWS {
            let path = folder.join(format!("{stem}-{pid}-{number}.lock"));
            if !is_free(&path) {
                continue;
            }
            let mut file =
                OpenOptions::new().read(true).write(true).create(true).truncate(false).open(&path)?;
            if matches!(file.try_lock(), Err(TryLockError::WouldBlock)) {
                continue;
            }
            // Somebody may have cleared it away between opening and locking.
            if path.exists() {
                file.set_len(0)?;
                file.write_all(format!("{pid}\n{}\n", host().unwrap_or_default()).as_bytes())?;
                return Ok(Self { path, _file: file });
            }
        }
        Err(io::Error::other("too many windows are open"))
    }

    /// The file.
    pub(crate) fn path(&self) -> &Path {
        &self.path
    }
}

impl Drop for Presence {
    fn drop(&mut self) {
        // Left lying it is stale, and cleared away by the next window.
        fs::remove_file(&self.path).ok();
    }
}

/// The other windows that are alive under `stem`; what dead ones left is cleared away.
pub(crate) fn others(folder: &Path, stem: &str, own: Option<&Presence>) -> Vec<Holder> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let prefix = format!("{stem}-");
    let mut paths: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    paths.sort();
    paths.retain(|path| {
        let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
        name.starts_with(&prefix) && name.ends_with(".lock") && own.is_none_or(|own| own.path != *path)
    });
    let (alive, dead): (Vec<_>, Vec<_>) = paths.into_iter().partition(|path| is_held(path));
    for path in dead {
        fs::remove_file(path).ok();
    }
    alive.iter().map(|path| holder(path)).collect()
}

/// Whether a living window holds this file.
pub(crate) fn is_held(path: &Path) -> bool {
    File::open(path).is_ok_and(|file| matches!(file.try_lock(), Err(TryLockError::WouldBlock)))
}

fn holder(path: &Path) -> Holder {
    let mut text = String::new();
    if let Ok(file) = File::open(path) {
        // Some systems do not let others read a locked file.
        file.take(1000).read_to_string(&mut text).ok();
    }
    let mut lines = text.lines();
    let pid = lines.next().and_then(|line| line.parse().ok());
    Holder { pid, host: lines.next().filter(|host| !host.is_empty()).map(str::to_owned) }
}

/// The name of this computer, where it can be known without asking the network.
fn host() -> Option<String> {
    let kernel = fs::read_to_string("/proc/sys/kernel/hostname").ok();
    let name =
        kernel.or_else(|| std::env::var("COMPUTERNAME").ok()).or_else(|| std::env::var("HOSTNAME").ok())?;
    Some(name.trim().to_owned()).filter(|name| !name.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn windows_see_each_other_and_not_themselves() {
        let folder = tempfile::tempdir().unwrap();
        let first = Presence::claim(folder.path(), "a", |_| true).unwrap();
        assert_eq!(others(folder.path(), "a", Some(&first)), []);
        let second = Presence::claim(folder.path(), "a", |_| true).unwrap();
        let seen = others(folder.path(), "a", Some(&first));
        assert_eq!(seen.len(), 1);
        assert_eq!(seen[0].pid, Some(std::process::id()));
        assert_eq!(others(folder.path(), "b", None), []);
        drop(second);
        assert_eq!(others(folder.path(), "a", Some(&first)), []);
    }

    #[test]
    fn what_a_dead_window_left_is_cleared_away() {
        let folder = tempfile::tempdir().unwrap();
        let stale = folder.path().join("a-1-1.lock");
        fs::write(&stale, "1\nbench\n").unwrap();
        assert_eq!(others(folder.path(), "a", None), []);
        assert!(!stale.exists());
    }
}
