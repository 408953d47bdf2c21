//! Files as the window's threads read and write them.

use std::fmt::Debug;
use std::io;
use std::path::Path;

use keepside_model::Project;
use keepside_store::{About, Care, LoadError, RecoveryFile, SaveError, Stamp};

/// Reads and writes files; a trait so that a test can put a slow or failing disk there. It is asked on
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

    /// What tells whether a project file has changed; `None` if there is none.
    ///
    /// # Errors
    ///
    /// See [`Stamp::of_file`].
    fn look(&self, path: &Path) -> io::Result<Option<Stamp>> {
        Stamp::of_file(path)
    }

    /// Whether there is a file at a path.
    fn is_there(&self, path: &Path) -> bool {
        path.is_file()
    }

    /// Keeps unsaved work in the recovery file `own` of this window, which is claimed if need be; `instead_of`
    /// is then deleted.
    ///
    /// # Errors
    ///
    /// What the system said; what was kept before is still there.
    fn keep(
        &self,
        about: &About,
        project: &Project,
        instead_of: Option<&Path>,
        state: &Path,
        own: &mut Option<RecoveryFile>,
    ) -> io::Result<()> {
        let kept = match own {
            Some(own) => own,
            None => own.insert(RecoveryFile::claim(state)?),
        };
        if let Err(error) = kept.write(about, project) {
            if !matches!(error.kind(), io::ErrorKind::NotFound | io::ErrorKind::StaleNetworkFileHandle) {
                return Err(error);
            }
            // The folder was taken away; it may be made again, or be another now.
            own.insert(RecoveryFile::claim(state)?).write(about, project)?;
        }
        instead_of.map_or(Ok(()), keepside_store::discard)
    }

    /// Writes a small file in one stroke.
    ///
    /// # Errors
    ///
    /// See [`keepside_store::write_whole`].
    fn write(&self, path: &Path, text: &str) -> io::Result<()> {
        keepside_store::write_whole(path, text)
    }
}

/// The disks of this machine.
#[derive(Debug)]
pub(crate) struct RealDisk;

impl Disk for RealDisk {}
