//! The list of recently used project files.

use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::file;

/// How many files are remembered.
pub const MAX_FILES: usize = 10;

/// The recently used files, newest first, as absolute paths.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecentFiles {
    files: Vec<PathBuf>,
}

/// A file of the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecentFile {
    /// Absolute path.
    pub path: PathBuf,
    /// Whether there is no file under that path now: deleted, renamed, or on a drive that is away.
    pub is_missing: bool,
}

impl RecentFiles {
    /// Reads the list kept in the file `from`. No file, or one that cannot be understood, is an empty
    /// list: losing it must never keep anybody from working.
    pub fn load(from: &Path) -> Self {
        let read = || ron::from_str(&file::read_limited(from).ok()?).ok();
        let mut list: Self = read().unwrap_or_default();
        list.files.retain(|path| path.is_absolute());
        list.files.truncate(MAX_FILES);
        list
    }

    /// Puts a file first; it is in the list once.
    pub fn add(&mut self, path: &Path) {
        // Fails on an empty path only, or where the current folder has been deleted.
        let Ok(path) = std::path::absolute(path) else { return };
        self.files.retain(|known| *known != path);
        self.files.insert(0, path);
        self.files.truncate(MAX_FILES);
    }

    /// Takes a file off the list.
    pub fn remove(&mut self, path: &Path) {
        self.files.retain(|known| known != path);
    }

    /// The paths, newest first.
    pub fn paths(&self) -> &[PathBuf] {
        &self.files
    }

    /// The files, newest first, each with whether it is missing. Looks at the disk: not for every frame.
    pub fn list(&self) -> Vec<RecentFile> {
        let look = |path: &PathBuf| RecentFile { path: path.clone(), is_missing: !path.is_file() };
        self.files.iter().map(look).collect()
    }

    /// Keeps the list in the file `to`, making its folder if need be. Paths that are not UTF-8 are left
    /// out.
    ///
    /// # Errors
    ///
    /// What the system said.
    pub fn save(&self, to: &Path) -> io::Result<()> {
        crate::write_whole(to, self.text())
    }

    /// The list as it is kept. Paths that are not UTF-8 are left out.
    pub fn text(&self) -> String {
        let files = self.files.iter().filter(|path| path.to_str().is_some()).cloned().collect();
        let pretty = ron::ser::PrettyConfig::new().new_line("\n");
        // Writing to a string cannot run out of room, and paths that are text can be written.
        ron::ser::to_string_pretty(&Self { files }, pretty).expect("texts can always be written")
    }
}
