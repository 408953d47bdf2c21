//! Recent files: kept between one day and the next in the user's settings.

use std::path::{Path, PathBuf};

use keepside_store::RecentFiles;

use crate::saving::{Saver, Work};

/// The files opened or saved last, newest first.
#[derive(Debug, Default)]
pub(crate) struct Recent {
    files: RecentFiles,
    /// Where the list is kept; nothing is kept without.
    kept_in: Option<PathBuf>,
}

impl Recent {
    /// The list kept in the settings folder, or an empty one.
    pub(crate) fn load(config: Option<&Path>) -> Self {
        let kept_in = config.map(|folder| folder.join("recent.ron"));
        let files = kept_in.as_deref().map(RecentFiles::load).unwrap_or_default();
        Self { files, kept_in }
    }

    /// The paths, newest first.
    pub(crate) fn paths(&self) -> &[PathBuf] {
        self.files.paths()
    }

    /// Puts a file first.
    pub(crate) fn add(&mut self, path: &Path, saver: &Saver) {
        self.files.add(path);
        self.keep(saver);
    }

    /// Takes a file off the list.
    pub(crate) fn forget(&mut self, path: &Path, saver: &Saver) {
        self.files.remove(path);
        self.keep(saver);
    }

    fn keep(&self, saver: &Saver) {
        // Losing the list is no reason to disturb anybody.
        if let Some(path) = self.kept_in.clone() {
            saver.send(Work::Write { path, text: self.files.text() });
        }
    }
}
