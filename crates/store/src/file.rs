//! Project files on disk: at every moment the old or the new one is there, whole.

use std::ffi::OsString;
use std::fs::{self, File, Metadata};
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};

use keepside_model::Project;

use crate::disk::{Disk, Real};
use crate::error::{LoadError, SaveError};
use crate::read::read_text;
use crate::replace::{Prepared, folder_of};
use crate::stamp::Stamp;
use crate::write::write_text;

/// Largest file that is read or written, bytes: a thousand times a real project, and still read at once.
pub const MAX_BYTES: u64 = 16 * 1024 * 1024;

/// Symbolic links that are followed before a chain of them counts as a circle; Linux allows as many.
const MAX_LINKS: usize = 40;

/// Reads a project file.
///
/// # Errors
///
/// [`LoadError`] says what is wrong, where, and what to do.
pub fn load(path: &Path) -> Result<Project, LoadError> {
    load_stamped(path).map(|(project, _)| project)
}

/// Reads a project file, and what tells later whether it has changed.
///
/// # Errors
///
/// [`LoadError`] says what is wrong, where, and what to do.
pub fn load_stamped(path: &Path) -> Result<(Project, Stamp), LoadError> {
    let bytes = read_bytes(path)?;
    let stamp = Stamp::of(&bytes);
    let text = String::from_utf8(bytes).map_err(|error| {
        let good = &error.as_bytes()[..error.utf8_error().valid_up_to()];
        let line = 1 + good.iter().filter(|byte| **byte == b'\n').count();
        LoadError::NotText { path: path.to_owned(), line }
    })?;
    let project = read_text(&text)
        .map_err(|error| LoadError::Read { path: path.to_owned(), source: Box::new(error) })?;
    Ok((project, stamp))
}

/// Saves a project: writes a temporary file in the same folder, syncs it, renames it into place and syncs the
/// folder.
/// What stood in the file before is kept as [`backup_path`], unless it is the same. Permissions of
/// the file stay; a symbolic link is followed and stays a link.
///
/// # Errors
///
/// [`SaveError`]; the file is then as it was.
pub fn save(path: &Path, project: &Project) -> Result<(), SaveError> {
    save_on(&Real, path, project, Care::default()).map(drop)
}

/// What else to take care of when saving.
#[derive(Clone, Copy, Debug, Default)]
pub struct Care<'a> {
    /// What the file should hold until now. If it holds something else, somebody has changed it since
    /// and it is not saved over.
    pub expected: Option<Stamp>,
    /// State folder, to keep what is saved over as an earlier state.
    pub state: Option<&'a Path>,
    /// Set once nobody waits for this save any more, as the disk did not answer. Should it answer yet, nothing
    /// is put in place: the user may have saved something newer since.
    pub given_up: Option<&'a AtomicBool>,
}

impl Care<'_> {
    fn go_on(&self) -> Result<(), SaveError> {
        match self.given_up.is_some_and(|given_up| given_up.load(Ordering::Relaxed)) {
            true => Err(SaveError::GivenUp),
            false => Ok(()),
        }
    }
}

/// Saves as [`save`] does, with care; what tells later whether the file has changed.
///
/// # Errors
///
/// [`SaveError`]; the file is then as it was.
pub fn save_with_care(path: &Path, project: &Project, care: Care<'_>) -> Result<Stamp, SaveError> {
    save_on(&Real, path, project, care)
}

/// Where the previous state of a project file is kept: the same name with `.bak` after it.
pub fn backup_path(path: &Path) -> PathBuf {
    let mut name = OsString::from(path);
    name.push(".bak");
    PathBuf::from(name)
}

pub(crate) fn read_bytes(path: &Path) -> Result<Vec<u8>, LoadError> {
    let path_of = || path.to_owned();
    let io_error = |source: io::Error| match source.kind() {
        io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => LoadError::NotFound { path: path_of() },
        _ => LoadError::Io { path: path_of(), source },
    };
    // Asked before opening: opening a pipe would wait for its other end.
    let metadata = fs::metadata(path).map_err(io_error)?;
    if metadata.is_dir() {
        return Err(LoadError::IsFolder { path: path_of() });
    }
    if !metadata.is_file() {
        return Err(LoadError::NotAFile { path: path_of() });
    }
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(io_error)?;
    if metadata.len() <= MAX_BYTES {
        file.take(MAX_BYTES + 1).read_to_end(&mut bytes).map_err(io_error)?;
    }
    let size_bytes = metadata.len().max(bytes.len() as u64);
    if size_bytes > MAX_BYTES { Err(LoadError::TooLarge { path: path_of(), size_bytes }) } else { Ok(bytes) }
}

/// The text of a small file of ours.
pub(crate) fn read_limited(path: &Path) -> io::Result<String> {
    let bytes = read_bytes(path).map_err(io::Error::other)?;
    String::from_utf8(bytes).map_err(io::Error::other)
}

pub(crate) fn save_on(
    disk: &dyn Disk,
    path: &Path,
    project: &Project,
    care: Care<'_>,
) -> Result<Stamp, SaveError> {
    project.check().map_err(|source| SaveError::Invalid { source })?;
    let io_error = |source| SaveError::Io { path: path.to_owned(), source };
    let target = follow_links(disk, path).map_err(io_error)?;
    if target.file_name().is_none() {
        return Err(if target.is_dir() {
            SaveError::IsFolder { path: path.to_owned() }
        } else {
            SaveError::NoFileName { path: path.to_owned() }
        });
    }
    let folder = folder_of(&target);
    match disk.about(folder) {
        Ok(about) if about.is_dir() => {}
        Err(error) if !is_missing(&error) => return Err(io_error(error)),
        _ => return Err(SaveError::NoFolder { folder: folder.to_owned() }),
    }
    let previous = previous(disk, path, &target)?;
    let text = write_text(project);
    if text.len() as u64 > MAX_BYTES {
        return Err(SaveError::TooLarge { size_bytes: text.len() as u64 });
    }
    let stamp = Stamp::of(text.as_bytes());
    let Some(metadata) = previous else {
        let new = Prepared::new(disk, &target, text.as_bytes(), None).map_err(io_error)?;
        // Looked at again: it may have come meanwhile, or a network drive may not have known of it.
        if disk.about(&target).is_ok() {
            return Err(SaveError::ChangedOnDisk { path: path.to_owned() });
        }
        care.go_on()?;
        new.commit().map_err(io_error)?;
        return Ok(stamp);
    };
    let old = disk.read(&target).map_err(io_error)?;
    if old == text.as_bytes() {
        return Ok(stamp);
    }
    if care.expected.is_some_and(|expected| expected != Stamp::of(&old)) {
        return Err(SaveError::ChangedOnDisk { path: path.to_owned() });
    }
    let backup = backup_path(&target);
    let not_kept = |source| SaveError::Backup { backup: backup.clone(), source };
    // Both are on the disk before either takes its name: what can fail has then gone well.
    let new = Prepared::new(disk, &target, text.as_bytes(), Some(&metadata)).map_err(io_error)?;
    let kept = Prepared::new(disk, &backup, &old, Some(&metadata)).map_err(not_kept)?;
    care.go_on()?;
    if let (Some(state), Ok(modified)) = (care.state, metadata.modified()) {
        // Besides the backup, which is there: no reason not to save.
        crate::earlier::keep(disk, state, &target, &old, modified).ok();
    }
    kept.commit().map_err(not_kept)?;
    care.go_on()?;
    new.commit().map_err(io_error)?;
    Ok(stamp)
}

/// What is known about the file that will be replaced; `None` if there is none.
fn previous(disk: &dyn Disk, path: &Path, target: &Path) -> Result<Option<Metadata>, SaveError> {
    let path_of = || path.to_owned();
    match disk.about(target) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(source) => Err(SaveError::Io { path: path_of(), source }),
        Ok(metadata) if metadata.is_dir() => Err(SaveError::IsFolder { path: path_of() }),
        Ok(metadata) if !metadata.is_file() => Err(SaveError::NotAFile { path: path_of() }),
        Ok(metadata) if metadata.permissions().readonly() => {
            Err(SaveError::WriteProtected { path: path_of() })
        }
        Ok(metadata) if metadata.len() > MAX_BYTES => {
            Err(SaveError::NoProjectThere { path: path_of(), size_bytes: metadata.len() })
        }
        Ok(metadata) => Ok(Some(metadata)),
    }
}

/// The file that a path means once symbolic links are followed; it need not exist.
fn follow_links(disk: &dyn Disk, path: &Path) -> io::Result<PathBuf> {
    let mut path = path.to_owned();
    for _ in 0..MAX_LINKS {
        match disk.link(&path)? {
            Some(to) => path = folder_of(&path).join(to),
            None => return Ok(path),
        }
    }
    Err(io::Error::other("the symbolic links go round in a circle"))
}

/// Whether a folder is not there, as against being out of reach.
fn is_missing(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::NotFound | io::ErrorKind::NotADirectory)
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;

    #[test]
    fn what_a_killed_save_left_is_swept_once_it_is_old_and_nobody_writes_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.keepside");
        let hour = Duration::from_secs(3600);
        let leave = |name: &str, age: Duration| {
            let path = folder.path().join(name);
            let file = File::create(&path).unwrap();
            file.set_modified(std::time::SystemTime::now() - age).unwrap();
            (path, file)
        };
        let (old, file) = leave(".a.keepside.Ab3dE6.tmp", hour);
        drop(file);
        let (young, _) = leave(".a.keepside.Ab3dE7.tmp", Duration::ZERO);
        let (held, writer) = leave(".a.keepside.Ab3dE8.tmp", hour);
        writer.lock().unwrap();
        let others = [".b.keepside.Ab3dE6.tmp", ".a.keepside.my own.tmp", "a.keepside.Ab3dE6.tmp"];
        let others = others.map(|name| leave(name, hour).0);
        save(&path, &Project::blank()).unwrap();
        assert!(!old.exists());
        assert!(young.exists() && held.exists(), "somebody may still be writing");
        assert!(others.iter().all(|path| path.exists()), "not ours to delete");
        drop(writer);
        save(&path, &Project { name: "New".to_owned(), ..Project::blank() }).unwrap();
        assert!(young.exists() && !held.exists());
    }

    #[test]
    fn a_file_that_somebody_changed_is_not_saved_over_unasked() {
        let folder = tempfile::tempdir().unwrap();
        let (path, state) = (folder.path().join("a.keepside"), folder.path().join("state"));
        let named = |name: &str| Project { name: name.to_owned(), ..Project::blank() };
        let with = |expected| Care { expected, state: Some(&state), ..Care::default() };
        let mine = save_with_care(&path, &named("mine"), with(None)).unwrap();
        assert_eq!(load_stamped(&path).unwrap(), (named("mine"), mine));
        save(&path, &named("theirs")).unwrap();
        let error = save_with_care(&path, &named("mine too"), with(Some(mine))).unwrap_err();
        assert!(matches!(error, SaveError::ChangedOnDisk { .. }), "{error}");
        assert_eq!(load(&path).unwrap(), named("theirs"));

        // Once agreed to, what they had is kept.
        let theirs = Stamp::of_file(&path).unwrap();
        save_with_care(&path, &named("mine too"), with(theirs)).unwrap();
        assert_eq!(load(&path).unwrap(), named("mine too"));
        let earlier = crate::earlier_states(&state, &path);
        assert_eq!(load(&earlier[0].file).unwrap(), named("theirs"));

        // A file that is gone is written anew; one that holds the same already is no quarrel.
        fs::remove_file(&path).unwrap();
        save_with_care(&path, &named("mine"), with(Some(mine))).unwrap();
        save_with_care(&path, &named("mine"), with(theirs)).unwrap();
    }

    #[test]
    fn a_state_folder_that_cannot_be_made_does_not_keep_from_saving() {
        let folder = tempfile::tempdir().unwrap();
        let (path, state) = (folder.path().join("a.keepside"), folder.path().join("state"));
        fs::write(&state, "a file in the way").unwrap();
        let care = Care { state: Some(&state), ..Care::default() };
        save_with_care(&path, &Project::blank(), care).unwrap();
        let new = Project { name: "New".to_owned(), ..Project::blank() };
        save_with_care(&path, &new, care).unwrap();
        assert_eq!(load(&path).unwrap(), new);
    }
}
