//! Which windows have a project open, so that two of them on one project can be warned of.

use std::io;
use std::path::Path;

use crate::earlier::key;
use crate::presence::{Holder, Presence, others};

/// Says to other windows that this one has a project open, until dropped. It is said in the state
/// folder, so that it works for a project in a folder that cannot be written to.
#[derive(Debug)]
pub struct OpenProject {
    _presence: Presence,
}

impl OpenProject {
    /// Says that the project file at `path` is open here, and tells who else has it open.
    ///
    /// # Errors
    ///
    /// The state folder cannot be made or written to.
    pub fn claim(state: &Path, path: &Path) -> io::Result<(Self, Vec<Holder>)> {
        let (folder, stem) = (state.join("open"), key(path)?);
        let presence = Presence::claim(&folder, &stem, |_| true)?;
        let others = others(&folder, &stem, Some(&presence));
        Ok((Self { _presence: presence }, others))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_second_window_on_a_project_learns_of_the_first_by_whatever_name() {
        let folder = tempfile::tempdir().unwrap();
        let (state, path) = (folder.path().join("state"), folder.path().join("a.keepside"));
        std::fs::write(&path, "").unwrap();
        let (first, before) = OpenProject::claim(&state, &path).unwrap();
        assert_eq!(before, []);
        let roundabout = folder.path().join(".").join("a.keepside");
        let (_second, others) = OpenProject::claim(&state, &roundabout).unwrap();
        assert_eq!(others.len(), 1);
        let (_other, others) = OpenProject::claim(&state, &folder.path().join("b.keepside")).unwrap();
        assert_eq!(others, []);
        drop(first);
        assert_eq!(OpenProject::claim(&state, &path).unwrap().1.len(), 1, "the second is still there");
    }
}
