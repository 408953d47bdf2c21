//! Putting a file in the place of another in one stroke: at every moment the old or the new one is there, whole.
//!
//! What is written goes to a temporary file in the same folder, and is on the disk before that takes the name;
//! the name is on the disk before the work is called done. So not even a power cut leaves half a file.

use std::collections::hash_map::RandomState;
use std::ffi::{OsStr, OsString};
use std::fs::{File, Metadata};
use std::hash::{BuildHasher as _, Hasher as _};
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::disk::{Disk, Real};
use crate::presence::is_held;

/// Ending of temporary files, and how many random characters stand before it.
const TEMPORARY: &str = ".tmp";
const RANDOM: usize = 6;

/// Names that are tried before a folder counts as full of them.
const TRIES: usize = 20;

/// A temporary file this old is no longer being written.
const STALE: Duration = Duration::from_secs(600);

/// Writes a file of ours other than a project, such as the settings or a sheet, in one stroke, with the folders
/// above it if need be. Neither a full disk nor a power cut leaves half of it.
///
/// # Errors
///
/// What the system said; the file is then as it was.
pub fn write_whole(path: &Path, bytes: impl AsRef<[u8]>) -> io::Result<()> {
    write_whole_on(&Real, path, bytes.as_ref())
}

pub(crate) fn write_whole_on(disk: &dyn Disk, path: &Path, bytes: &[u8]) -> io::Result<()> {
    make_folders(disk, folder_of(path))?;
    replace(disk, path, bytes)
}

/// Replaces the content of a file in one stroke, with the permissions usual for a new file.
pub(crate) fn replace(disk: &dyn Disk, target: &Path, bytes: &[u8]) -> io::Result<()> {
    Prepared::new(disk, target, bytes, None)?.commit()
}

/// A file that is written and on the disk, under another name yet. Dropped, it is taken away again.
pub(crate) struct Prepared<'a> {
    disk: &'a dyn Disk,
    temporary: PathBuf,
    target: &'a Path,
    is_in_place: bool,
    // Keeps the lock.
    _file: File,
}

impl<'a> Prepared<'a> {
    /// Writes a file beside `target`, with the permissions and the owner of `like`, or those usual for a new
    /// file.
    pub(crate) fn new(
        disk: &'a dyn Disk,
        target: &'a Path,
        bytes: &[u8],
        like: Option<&Metadata>,
    ) -> io::Result<Self> {
        let (folder, prefix) = (folder_of(target), prefix_of(target));
        sweep(disk, folder, |name| random_of(name) == Some(prefix.as_encoded_bytes()));
        let (temporary, file) = create(disk, folder, &prefix)?;
        let mut prepared = Self { disk, temporary, target, is_in_place: false, _file: file };
        prepared.fill(bytes, like)?;
        Ok(prepared)
    }

    fn fill(&mut self, mut bytes: &[u8], like: Option<&Metadata>) -> io::Result<()> {
        while !bytes.is_empty() {
            match self.disk.write(&mut self._file, bytes) {
                Ok(0) => return Err(io::ErrorKind::WriteZero.into()),
                Ok(count) => bytes = bytes.get(count..).unwrap_or_default(),
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        if let Some(like) = like {
            keep_owner(&self._file, like);
            // Not every drive has permissions to be set; most files have the usual ones.
            if self._file.metadata()?.permissions() != like.permissions() {
                self.disk.permit(&self._file, like.permissions())?;
            }
        }
        self.disk.sync(&self._file)
    }

    /// Puts it in its place.
    pub(crate) fn commit(mut self) -> io::Result<()> {
        self.disk.rename(&self.temporary, self.target)?;
        self.is_in_place = true;
        // The file is in place already, and some drives cannot sync a folder: a refusal is no failure.
        self.disk.sync_folder(folder_of(self.target)).ok();
        Ok(())
    }
}

impl Drop for Prepared<'_> {
    fn drop(&mut self) {
        if !self.is_in_place {
            // Left lying it is swept later.
            self.disk.remove(&self.temporary).ok();
        }
    }
}

/// Makes a folder and those above it, so that they outlive a power cut.
pub(crate) fn make_folders(disk: &dyn Disk, folder: &Path) -> io::Result<()> {
    match disk.make_folder(folder) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            let above = folder.parent().filter(|above| !above.as_os_str().is_empty()).ok_or(error)?;
            make_folders(disk, above)?;
            match disk.make_folder(folder) {
                Err(error) if error.kind() != io::ErrorKind::AlreadyExists => return Err(error),
                _ => {}
            }
        }
        Err(error) => return disk.about(folder).ok().filter(Metadata::is_dir).map(drop).ok_or(error),
        Ok(()) => {}
    }
    disk.sync_folder(folder_of(folder)).ok();
    Ok(())
}

/// Clears away what killed programs left half written in a folder that holds nothing but files of ours.
pub(crate) fn sweep_all(disk: &dyn Disk, folder: &Path) {
    sweep(disk, folder, |name| random_of(name).is_some());
}

/// The folder that a file is in.
pub(crate) fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// What the names of temporary files for a file begin with.
fn prefix_of(target: &Path) -> OsString {
    let mut prefix = OsString::from(".");
    prefix.push(target.file_name().unwrap_or_default());
    prefix.push(".");
    prefix
}

/// What stands before the random characters in the name of a temporary file; `None` if it is none. That there
/// are so many of them tells `.a.keepside.bak.X.tmp` from one of `a.keepside`.
fn random_of(name: &OsStr) -> Option<&[u8]> {
    let rest = name.as_encoded_bytes().strip_suffix(TEMPORARY.as_bytes())?;
    let (prefix, random) = rest.split_at_checked(rest.len().checked_sub(RANDOM)?)?;
    let is_ours = prefix.len() > 2 && prefix.starts_with(b".") && prefix.ends_with(b".");
    (is_ours && random.iter().all(u8::is_ascii_alphanumeric)).then_some(prefix)
}

/// A new temporary file.
fn create(disk: &dyn Disk, folder: &Path, prefix: &OsStr) -> io::Result<(PathBuf, File)> {
    for _ in 0..TRIES {
        let mut name = prefix.to_owned();
        name.push(random());
        name.push(TEMPORARY);
        let path = folder.join(name);
        match disk.create(&path) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
            Ok(file) => return Ok((path, file)),
        }
    }
    Err(io::ErrorKind::AlreadyExists.into())
}

/// Characters that are hardly ever the same twice.
fn random() -> String {
    const CHARACTERS: &[u8; 36] = b"abcdefghijklmnopqrstuvwxyz0123456789";
    let mut bits = RandomState::new().build_hasher().finish();
    (0..RANDOM)
        .map(|_| {
            let character = CHARACTERS[(bits % 36) as usize];
            bits /= 36;
            char::from(character)
        })
        .collect()
}

/// Clears away temporary files of a program that was killed: old ones that no living process is writing.
/// Whatever goes wrong, they do no harm.
fn sweep(disk: &dyn Disk, folder: &Path, is_ours: impl Fn(&OsStr) -> bool) {
    for name in disk.names(folder).unwrap_or_default().into_iter().filter(|name| is_ours(name)) {
        let path = folder.join(name);
        let about = disk.about(&path).ok().filter(Metadata::is_file);
        let age = about.and_then(|about| about.modified().ok()?.elapsed().ok());
        if age.is_some_and(|age| age >= STALE) && !is_held(&path) {
            disk.remove(&path).ok();
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
