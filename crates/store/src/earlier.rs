//! Earlier states of a project file: a few of those that were saved over, kept in the state folder.
//!
//! The backup beside a file holds the state before the last save only. Whoever saves twice after a
//! mistake has lost what was right; these states reach further back.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use crate::disk::Disk;
use crate::replace::{make_folders, replace, sweep_all};
use crate::stamp::fnv;

/// States kept of one file.
pub const MAX_EARLIER: usize = 5;

/// A state that was saved over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Earlier {
    /// Where it is kept: an ordinary project file.
    pub file: PathBuf,
    /// When it had been saved, ms since 1970 in UTC.
    pub saved_unix_ms: u64,
}

/// The earlier states of the project file at `path`, newest first.
pub fn earlier_states(state: &Path, path: &Path) -> Vec<Earlier> {
    let Ok(entries) = folder(state, path).and_then(fs::read_dir) else { return Vec::new() };
    let time_of = |file: &Path| -> Option<u64> {
        let name = file.file_name()?.to_str()?;
        name.strip_suffix(crate::EXTENSION)?.strip_suffix('.')?.parse().ok()
    };
    let mut states: Vec<Earlier> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter_map(|file| Some(Earlier { saved_unix_ms: time_of(&file)?, file }))
        .collect();
    states.sort_by_key(|state| std::cmp::Reverse(state.saved_unix_ms));
    states
}

/// Keeps a state that is being saved over. Beyond [`MAX_EARLIER`] one is dropped, so that the ages of
/// those that stay grow from one to the next: minutes, then hours, then days.
pub(crate) fn keep(
    disk: &dyn Disk,
    state: &Path,
    path: &Path,
    bytes: &[u8],
    saved: SystemTime,
) -> io::Result<()> {
    let folder = folder(state, path)?;
    make_folders(disk, &folder)?;
    // No file here is ever written twice, so none is swept by writing it again.
    sweep_all(disk, &folder);
    let states = earlier_states(state, path);
    let newest = states.first();
    if newest.is_some_and(|newest| fs::read(&newest.file).is_ok_and(|kept| kept == bytes)) {
        return Ok(());
    }
    let since_1970 = saved.duration_since(UNIX_EPOCH).unwrap_or_default();
    let saved_unix_ms = u64::try_from(since_1970.as_millis()).unwrap_or(u64::MAX - 1);
    // In the order in which they came, even if a clock was set back.
    let after = newest.map_or(0, |newest| newest.saved_unix_ms.saturating_add(1));
    let saved_unix_ms = saved_unix_ms.max(after);
    let file = folder.join(format!("{saved_unix_ms}.{}", crate::EXTENSION));
    replace(disk, &file, bytes)?;
    let mut times: Vec<u64> = states.iter().map(|state| state.saved_unix_ms).collect();
    times.insert(0, saved_unix_ms);
    while let Some(index) = surplus(&times) {
        disk.remove(&folder.join(format!("{}.{}", times.remove(index), crate::EXTENSION)))?;
    }
    Ok(())
}

/// Which of these times, newest first, is dropped: the one without which the gap is smallest for its
/// age. The newest and the oldest stay.
fn surplus(times_ms: &[u64]) -> Option<usize> {
    if times_ms.len() <= MAX_EARLIER {
        return None;
    }
    let newest_ms = times_ms[0];
    let looseness = |index: usize| {
        let gap_ms = times_ms[index - 1].saturating_sub(times_ms[index + 1]);
        gap_ms as f64 / (newest_ms.saturating_sub(times_ms[index]) as f64 + 1.0)
    };
    (1..times_ms.len() - 1).min_by(|a, b| looseness(*a).total_cmp(&looseness(*b)))
}

/// The folder for the states of one file, the same whichever folder the program runs in.
fn folder(state: &Path, path: &Path) -> io::Result<PathBuf> {
    Ok(state.join("earlier").join(key(path)?))
}

/// A name for a path that is itself a file name.
pub(crate) fn key(path: &Path) -> io::Result<String> {
    let path = fs::canonicalize(path).or_else(|_| std::path::absolute(path))?;
    Ok(format!("{:016x}", fnv(path.as_os_str().as_encoded_bytes())))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    const MINUTE_MS: u64 = 60_000;

    #[test]
    fn saved_every_minute_for_a_day_states_reach_from_minutes_to_hours() {
        let mut times: Vec<u64> = Vec::new();
        for minute in 0..24 * 60 {
            times.insert(0, minute * MINUTE_MS);
            if let Some(index) = surplus(&times) {
                times.remove(index);
            }
        }
        let ages_min: Vec<u64> = times.iter().map(|time| (times[0] - time) / MINUTE_MS).collect();
        assert_eq!((ages_min.len(), ages_min[0], ages_min[4]), (MAX_EARLIER, 0, 24 * 60 - 1));
        assert!((1..=15).contains(&ages_min[1]), "{ages_min:?}");
        assert!(ages_min.windows(2).all(|pair| pair[1] >= 2 * pair[0]), "{ages_min:?}");
    }

    #[test]
    fn states_are_kept_in_order_and_never_twice_in_a_row() {
        let folder = tempfile::tempdir().unwrap();
        let (state, path) = (folder.path().join("state"), folder.path().join("a.keepside"));
        assert_eq!(earlier_states(&state, &path), []);
        let at = |s| UNIX_EPOCH + Duration::from_secs(s);
        for (text, time) in [("1", at(100)), ("2", at(200)), ("2", at(300)), ("3", at(50))] {
            keep(&crate::disk::Real, &state, &path, text.as_bytes(), time).unwrap();
        }
        let kept: Vec<String> =
            earlier_states(&state, &path).iter().map(|one| fs::read_to_string(&one.file).unwrap()).collect();
        assert_eq!(kept, ["3", "2", "1"]);
        assert_eq!(earlier_states(&state, &folder.path().join("b.keepside")), []);
        (10..40).for_each(|i| {
            keep(&crate::disk::Real, &state, &path, i.to_string().as_bytes(), at(1000 + i)).unwrap();
        });
        assert_eq!(earlier_states(&state, &path).len(), MAX_EARLIER);
    }
}
