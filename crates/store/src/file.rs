//! Project files on disk: at every moment the old or the new one is there, whole.

use std::ffi::{OsStr, OsString};
use std::fs::{self, File, Metadata};
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::time::Duration;

use keepside_model::Project;

use crate::error::{LoadError, SaveError};
use crate::presence::is_held;
use crate::read::read_text;
use crate::stamp::Stamp;
use crate::write::write_text;

/// Largest file that is read, bytes: thousands of times a real project, and still read at once.
pub const MAX_BYTES: u64 = 64 * 1024 * 1024;

/// Ending of temporary files, and how many random characters stand before it.
const TEMPORARY: &str = ".tmp";
const RANDOM: usize = 6;

/// A temporary file this old is no longer being written.
const STALE: Duration = Duration::from_secs(600);

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

/// Saves a project: writes a temporary file in the same folder, syncs it and renames it into place.
/// What stood in the file before is kept as [`backup_path`], unless it is the same. Permissions of
/// the file stay; a symbolic link is followed and stays a link.
///
/// # Errors
///
/// [`SaveError`]; the file is then as it was.
pub fn save(path: &Path, project: &Project) -> Result<(), SaveError> {
    save_by(path, project, Care::default(), write_all).map(drop)
}

/// What else to take care of when saving.
#[derive(Clone, Copy, Debug, Default)]
pub struct Care<'a> {
    /// What the file should hold until now. If it holds something else, somebody has changed it since
    /// and it is not saved over.
    pub expected: Option<Stamp>,
    /// State folder, to keep what is saved over as an earlier state.
    pub state: Option<&'a Path>,
}

/// Saves as [`save`] does, with care; what tells later whether the file has changed.
///
/// # Errors
///
/// [`SaveError`]; the file is then as it was.
pub fn save_with_care(path: &Path, project: &Project, care: Care<'_>) -> Result<Stamp, SaveError> {
    save_by(path, project, care, write_all)
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

/// Fills the temporary file; a parameter so that a test can let the disk run full.
pub(crate) type Fill = fn(&mut File, &[u8]) -> io::Result<()>;

pub(crate) fn write_all(file: &mut File, bytes: &[u8]) -> io::Result<()> {
    file.write_all(bytes)
}

fn save_by(path: &Path, project: &Project, care: Care<'_>, fill: Fill) -> Result<Stamp, SaveError> {
    project.check().map_err(|source| SaveError::Invalid { source })?;
    let io_error = |source| SaveError::Io { path: path.to_owned(), source };
    let target = follow_links(path).map_err(io_error)?;
    if target.file_name().is_none() {
        return Err(if target.is_dir() {
            SaveError::IsFolder { path: path.to_owned() }
        } else {
            SaveError::NoFileName { path: path.to_owned() }
        });
    }
    let folder = folder_of(&target);
    if !folder.is_dir() {
        return Err(SaveError::NoFolder { folder: folder.to_owned() });
    }
    let previous = previous(path, &target)?;
    let text = write_text(project);
    let stamp = Stamp::of(text.as_bytes());
    if let Some(metadata) = &previous {
        let old = fs::read(&target).map_err(io_error)?;
        if old == text.as_bytes() {
            return Ok(stamp);
        }
        if care.expected.is_some_and(|expected| expected != Stamp::of(&old)) {
            return Err(SaveError::ChangedOnDisk { path: path.to_owned() });
        }
        let backup = backup_path(&target);
        let kept = replace_by(&backup, &old, Some(metadata), fill);
        kept.map_err(|source| SaveError::Backup { backup, source })?;
        if let (Some(state), Ok(modified)) = (care.state, metadata.modified()) {
            // Besides the backup, which is there: no reason not to save.
            crate::earlier::keep(state, &target, &old, modified).ok();
        }
    }
    replace_by(&target, text.as_bytes(), previous.as_ref(), fill).map_err(io_error)?;
    Ok(stamp)
}

/// What is known about the file that will be replaced; `None` if there is none.
fn previous(path: &Path, target: &Path) -> Result<Option<Metadata>, SaveError> {
    let path_of = || path.to_owned();
    match fs::metadata(target) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(source) => Err(SaveError::Io { path: path_of(), source }),
        Ok(metadata) if metadata.is_dir() => Err(SaveError::IsFolder { path: path_of() }),
        Ok(metadata) if !metadata.is_file() => Err(SaveError::NotAFile { path: path_of() }),
        Ok(metadata) if metadata.permissions().readonly() => {
            Err(SaveError::WriteProtected { path: path_of() })
        }
        Ok(metadata) => Ok(Some(metadata)),
    }
}

/// The file that a path means once symbolic links are followed; it need not exist.
fn follow_links(path: &Path) -> io::Result<PathBuf> {
    let mut path = path.to_owned();
    for _ in 0..MAX_LINKS {
        match fs::symlink_metadata(&path) {
            Ok(metadata) if metadata.is_symlink() => path = folder_of(&path).join(fs::read_link(&path)?),
            _ => return Ok(path),
        }
    }
    Err(io::Error::other("the symbolic links go round in a circle"))
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// Replaces the content of a file in one stroke, with the permissions of `like` or those usual for a
/// new file.
pub(crate) fn replace(target: &Path, bytes: &[u8], like: Option<&Metadata>) -> io::Result<()> {
    replace_by(target, bytes, like, write_all)
}

pub(crate) fn replace_by(target: &Path, bytes: &[u8], like: Option<&Metadata>, fill: Fill) -> io::Result<()> {
    let folder = folder_of(target);
    let mut prefix = OsString::from(".");
    prefix.push(target.file_name().unwrap_or_default());
    prefix.push(".");
    sweep(folder, &prefix);
    let mut builder = tempfile::Builder::new();
    builder.prefix(&prefix).suffix(TEMPORARY).rand_bytes(RANDOM);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // As for any new file, less what the user's mask takes away.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    // Deleted again on every early return.
    let mut temporary = builder.tempfile_in(folder)?;
    // Tells others that it is being written; a drive without locks does without.
    temporary.as_file().try_lock().ok();
    fill(temporary.as_file_mut(), bytes)?;
    if let Some(like) = like {
        keep_owner(temporary.as_file(), like);
        temporary.as_file().set_permissions(like.permissions())?;
    }
    temporary.as_file().sync_all()?;
    temporary.persist(target).map_err(|error| error.error)?;
    sync_folder(folder);
    Ok(())
}

/// Clears away temporary files of a save of the same file that was killed: old ones that no living process
/// is writing. Whatever goes wrong, they do no harm.
fn sweep(folder: &Path, prefix: &OsStr) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    let is_ours = |name: &OsStr| {
        let (name, prefix) = (name.as_encoded_bytes(), prefix.as_encoded_bytes());
        name.strip_prefix(prefix).and_then(|rest| rest.strip_suffix(TEMPORARY.as_bytes())).is_some_and(
            // As many characters as the temporary name has, so that `.a.keepside.bak.X.tmp` is not `a.keepside`'s.
            |random| random.len() == RANDOM && random.iter().all(u8::is_ascii_alphanumeric),
        )
    };
    for entry in entries.flatten().filter(|entry| is_ours(&entry.file_name())) {
        let written = entry.metadata().ok().filter(Metadata::is_file).and_then(|about| about.modified().ok());
        let is_old = written.and_then(|at| at.elapsed().ok()).is_some_and(|age| age >= STALE);
        if is_old && !is_held(&entry.path()) {
            fs::remove_file(entry.path()).ok();
        }
    }
}

/// Gives the new file to the owner of the old one. Only an administrator may do so, and for all
/// others it is theirs already: a refusal changes nothing.
#[cfg(unix)]
fn keep_owner(file: &File, like: &Metadata) {
    use std::os::unix::fs::{MetadataExt as _, fchown};
    fchown(file, Some(like.uid()), Some(like.gid())).ok();
}

#[cfg(not(unix))]
fn keep_owner(_file: &File, _like: &Metadata) {}

/// Makes the rename survive a power cut. The file is in place already, and some file systems cannot
/// sync a folder, so a refusal is no failure of saving.
fn sync_folder(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        folder.sync_all().ok();
    }
}

/// Disks that fail, for tests.
#[cfg(test)]
pub(crate) mod faults {
    use super::*;

    /// Writes half and then meets a disk without room.
    pub(crate) fn disk_runs_full(file: &mut File, bytes: &[u8]) -> io::Result<()> {
        file.write_all(&bytes[..bytes.len() / 2])?;
        fs::OpenOptions::new().write(true).open("/dev/full")?.write_all(bytes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use faults::disk_runs_full;

    #[cfg(target_os = "linux")]
    #[test]
    fn a_full_disk_leaves_the_old_file_and_no_rubbish() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.keepside");
        let old = Project::blank();
        save(&path, &old).unwrap();
        let new = Project { name: "New".to_owned(), ..old.clone() };
        let error = save_by(&path, &new, Care::default(), disk_runs_full).unwrap_err();
        assert!(error.to_string().starts_with("not saved"), "{error}");
        assert_eq!(load(&path).unwrap(), old);
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "only the old file is there");

        // The backup is made first: once it is there, the new file may still fail.
        save(&path, &new).unwrap();
        assert_eq!(load(&backup_path(&path)).unwrap(), old);
    }

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
        let with = |expected| Care { expected, state: Some(&state) };
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
        let care = Care { expected: None, state: Some(&state) };
        save_with_care(&path, &Project::blank(), care).unwrap();
        let new = Project { name: "New".to_owned(), ..Project::blank() };
        save_with_care(&path, &new, care).unwrap();
        assert_eq!(load(&path).unwrap(), new);
    }
}
