//! Project files as the window's threads read and write them.

use std::fmt::Debug;
use std::path::Path;

use keepside_model::Project;
use keepside_store::{Care, LoadError, SaveError, Stamp};

/// Reads and writes project files; a trait so that a test can put a slow disk there. It is asked on
/// threads other than the window's.
pub trait Disk: Debug + Send + Sync {
    /// Reads a project file, and what tells later whether it has changed.
    ///
    /// # Errors
    ///
    /// See [`keepside_store::load_stamped`].
    fn load(&self, path: &Path) -> Result<(Project, Stamp), LoadError> {
        keepside_store::load_stamped(path)
    }

    /// Saves a project.
    ///
    /// # Errors
    ///
    /// See [`keepside_store::save_with_care`]; the file is then as it was.
    fn save(&self, path: &Path, project: &Project, care: Care<'_>) -> Result<Stamp, SaveError> {
        keepside_store::save_with_care(path, project, care)
    }
}

/// The disks of this machine.
#[derive(Debug)]
pub(crate) struct RealDisk;

impl Disk for RealDisk {}
