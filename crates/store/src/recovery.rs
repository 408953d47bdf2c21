//! Recovery files: the unsaved state of a window, kept beside the user's own files, for after a crash.
//!
//! One file a window, in the folder `recovery` of the state folder. Its first line is the [`Stamp`] of
//! all that follows, the second says what it is of, then comes the project as in a project file. It is
//! replaced in one stroke; should the disk damage it all the same, the stamp tells.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use keepside_model::Project;
use serde::{Deserialize, Serialize};

use crate::disk::{Disk, Real};
use crate::file;
use crate::presence::{Presence, is_held};
use crate::read::read_text;
use crate::replace::{replace, sweep_all};
use crate::stamp::Stamp;
use crate::write::write_text;

/// Ending of recovery files, without the dot.
const RECOVERY: &str = "recovery";

/// What a recovery file says about the project in it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct About {
    /// Title of the project.
    pub title: String,
    /// The project's own file, if it had one whose path is UTF-8.
    pub path: Option<PathBuf>,
    /// When this was written, s since 1970 in UTC.
    pub written_unix_s: u64,
    /// Whether it holds something that the project's own file did not.
    pub is_unsaved: bool,
    /// What the project's own file held when the window last read or wrote it.
    pub stamp: Option<Stamp>,
}

/// The recovery file of this window.
#[derive(Debug)]
pub struct RecoveryFile {
    // Alive as long as this value is.
    _presence: Option<Presence>,
    path: PathBuf,
}

impl RecoveryFile {
    /// Takes a name that no other window has; nothing is written yet but a sign of life.
    ///
    /// # Errors
    ///
    /// The state folder cannot be made or written to.
    pub fn claim(state: &Path) -> io::Result<Self> {
        let kept = |lock: &Path| lock.with_extension(RECOVERY);
        // A dead window of the same number may have left something there.
        let presence = Presence::claim(&folder(state), "window", |lock| !kept(lock).exists())?;
        let path = kept(presence.path());
        Ok(Self { _presence: Some(presence), path })
    }

    /// One at this path without a sign of life, as if its window had died.
    #[cfg(test)]
    pub(crate) fn of(path: PathBuf) -> Self {
        Self { _presence: None, path }
    }

    /// The file; it is there only while something is kept.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Keeps the state of a project, in one stroke.
    ///
    /// # Errors
    ///
    /// What the system said; the state kept before is then still there.
    pub fn write(&self, about: &About, project: &Project) -> io::Result<()> {
        self.write_on(&Real, about, project)
    }

    pub(crate) fn write_on(&self, disk: &dyn Disk, about: &About, project: &Project) -> io::Result<()> {
        let mut about = about.clone();
        about.path = about.path.filter(|path| path.to_str().is_some());
        let about = ron::to_string(&about).map_err(io::Error::other)?;
        let body = format!("{about}\n{}", write_text(project));
        let stamp = ron::to_string(&Stamp::of(body.as_bytes())).map_err(io::Error::other)?;
        replace(disk, &self.path, format!("{stamp}\n{body}").as_bytes())
    }

    /// Takes the file away: there is nothing to recover.
    ///
    /// # Errors
    ///
    /// What the system said; no file is no error.
    pub fn remove(&self) -> io::Result<()> {
        discard(&self.path)
    }
}

/// The state of a project that a window left behind.
#[derive(Clone, Debug, PartialEq)]
pub struct Recovered {
    /// The recovery file.
    pub file: PathBuf,
    /// What it says about the project.
    pub about: About,
    /// The project.
    pub project: Project,
}

/// A recovery file that cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Damaged {
    /// The recovery file.
    pub file: PathBuf,
    /// What is wrong with it.
    pub why: String,
}

/// What windows that are no longer alive left behind.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Left {
    /// What can be recovered, newest first.
    pub recovered: Vec<Recovered>,
    /// What cannot; these files are left where they are.
    pub damaged: Vec<Damaged>,
}

impl Left {
    /// Whether nothing was left.
    pub fn is_empty(&self) -> bool {
        self.recovered.is_empty() && self.damaged.is_empty()
    }
}

/// Looks for what windows that are no longer alive left behind. Deletes nothing that holds work.
pub fn left_behind(state: &Path) -> Left {
    let folder = folder(state);
    let Ok(entries) = fs::read_dir(&folder) else { return Left::default() };
    let mut files: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    files.retain(|path| path.extension().is_some_and(|extension| extension == RECOVERY));
    files.sort();
    let mut left = Left::default();
    for file in files {
        if is_held(&file.with_extension("lock")) {
            continue;
        }
        match read(&file) {
            Ok((about, project)) => left.recovered.push(Recovered { file, about, project }),
            Err(why) => left.damaged.push(Damaged { file, why }),
        }
    }
    left.recovered.sort_by_key(|recovered| std::cmp::Reverse(recovered.about.written_unix_s));
    // The signs of life of dead windows are of no more use, nor is what they left half written.
    crate::presence::others(&folder, "window", None);
    sweep_all(&Real, &folder);
    left
}

/// Deletes a recovery file, because the user said so or because its content is safe elsewhere.
///
/// # Errors
///
/// What the system said; no file is no error.
pub fn discard(file: &Path) -> io::Result<()> {
    match fs::remove_file(file) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

fn folder(state: &Path) -> PathBuf {
    state.join(RECOVERY)
}

fn read(path: &Path) -> Result<(About, Project), String> {
    let text = file::read_limited(path).map_err(|error| error.to_string())?;
    let cut_off = || "the file is cut off".to_owned();
    let (stamp, body) = text.split_once('\n').ok_or_else(cut_off)?;
    let stamp: Stamp = ron::from_str(stamp).map_err(|error| format!("its first line is damaged: {error}"))?;
    if stamp != Stamp::of(body.as_bytes()) {
        return Err("its content is damaged or cut off".to_owned());
    }
    let (about, project) = body.split_once('\n').ok_or_else(cut_off)?;
    let about = ron::from_str(about).map_err(|error| format!("what it says about itself: {error}"))?;
    let project = read_text(project).map_err(|error| error.to_string())?;
    Ok((about, project))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn about(title: &str, written_unix_s: u64) -> About {
        let (path, stamp) = (Some(PathBuf::from("/shelf/a\nb.keepside")), Some(Stamp::of(b"x")));
        About { title: title.to_owned(), path, written_unix_s, is_unsaved: true, stamp }
    }

    fn named(name: &str) -> Project {
        Project { name: name.to_owned(), ..Project::blank() }
    }

    /// Leaves a recovery file as a window does that is killed.
    fn leave(state: &Path, title: &str, written_unix_s: u64) -> PathBuf {
        let own = RecoveryFile::claim(state).unwrap();
        own.write(&about(title, written_unix_s), &named(title)).unwrap();
        own.path().to_owned()
    }

    #[test]
    fn what_a_dead_window_kept_is_found_newest_first_and_whole() {
        let state = tempfile::tempdir().unwrap();
        leave(state.path(), "older \"quoted\"", 10);
        let newer = leave(state.path(), "newer", 20);
        let left = left_behind(state.path());
        assert_eq!(left.damaged, []);
        let titles: Vec<&str> = left.recovered.iter().map(|one| one.about.title.as_str()).collect();
        assert_eq!(titles, ["newer", "older \"quoted\""]);
        let first = &left.recovered[0];
        assert_eq!(
            (&first.file, &first.about, &first.project),
            (&newer, &about("newer", 20), &named("newer"))
        );
        discard(&newer).unwrap();
        discard(&newer).unwrap();
        assert_eq!(left_behind(state.path()).recovered.len(), 1);
    }

    #[test]
    fn what_a_living_window_keeps_is_its_own() {
        let state = tempfile::tempdir().unwrap();
        let (one, two) =
            (RecoveryFile::claim(state.path()).unwrap(), RecoveryFile::claim(state.path()).unwrap());
        assert_ne!(one.path(), two.path());
        one.write(&about("mine", 1), &named("mine")).unwrap();
        assert!(left_behind(state.path()).is_empty());
        let file = one.path().to_owned();
        drop(one);
        assert_eq!(left_behind(state.path()).recovered.len(), 1, "dropped without being removed");
        assert!(file.exists());
        two.remove().unwrap();
    }

    #[test]
    fn damage_at_any_place_is_told_and_the_file_kept() {
        let state = tempfile::tempdir().unwrap();
        let file = leave(state.path(), "mine", 1);
        let whole = fs::read(&file).unwrap();
        for at in (0..whole.len()).step_by(7) {
            let mut bytes = whole.clone();
            bytes[at] ^= 0x04;
            fs::write(&file, &bytes).unwrap();
            let left = left_behind(state.path());
            assert_eq!((left.recovered.len(), left.damaged.len()), (0, 1), "byte {at}");
            fs::write(&file, &whole[..at]).unwrap();
            let left = left_behind(state.path());
            assert_eq!((left.recovered.len(), left.damaged.len()), (0, 1), "cut at {at}");
            assert!(!left.damaged[0].why.is_empty() && file.exists());
        }
        fs::write(&file, &whole).unwrap();
        assert_eq!(left_behind(state.path()).recovered.len(), 1);
    }
}
