//! What a power cut leaves: what was not synced may be there, or not, or half.
//!
//! The model is harsher than the file systems in use: of the names changed in a folder since it was synced any
//! may survive, in any combination, and of a file's bytes since it was synced any part, or noughts in their
//! place. Source: what POSIX promises of `fsync` and `rename` (IEEE Std 1003.1), and no more.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use crate::faults::Change;

/// Draws numbers from a seed (`SplitMix64`).
pub(crate) struct Draw(pub(crate) u64);

impl Draw {
    pub(crate) fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % count.max(1) as u64) as usize
    }
}

/// Everything below a folder: files with their bytes, folders with nothing.
pub(crate) type Tree = BTreeMap<PathBuf, Option<Vec<u8>>>;

/// What is below a folder now.
pub(crate) fn tree(root: &Path) -> Tree {
    let mut tree = Tree::new();
    let mut folders = vec![root.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path.clone());
                tree.insert(path, None);
            } else {
                tree.insert(path.clone(), Some(fs::read(&path).unwrap()));
            }
        }
    }
    tree
}

/// Makes a folder hold this and nothing else.
pub(crate) fn put(root: &Path, tree: &Tree) {
    for entry in fs::read_dir(root).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { fs::remove_dir_all(path).unwrap() } else { fs::remove_file(path).unwrap() }
    }
    for (path, bytes) in tree {
        match bytes {
            None => fs::create_dir(path).unwrap(),
            Some(bytes) => fs::write(path, bytes).unwrap(),
        }
    }
}

/// What is left below `root` of `before`, which was on the disk, once power is cut after these changes.
pub(crate) fn left(root: &Path, before: &Tree, changes: &[Change], draw: &mut Draw) -> Tree {
    let mut names = before.clone();
    // The bytes of each file written, and how many of them are on the disk.
    let mut files: BTreeMap<usize, (Vec<u8>, usize)> = BTreeMap::new();
    // What names stand for files whose bytes are still to be chosen.
    let mut written: BTreeMap<PathBuf, usize> = BTreeMap::new();
    let mut pending: Vec<&Change> = Vec::new();
    for change in changes {
        match change {
            Change::Wrote(file, bytes) => files.entry(*file).or_default().0.extend(bytes),
            Change::Synced(file) => {
                let file = files.entry(*file).or_default();
                file.1 = file.0.len();
            }
            Change::SyncedFolder(folder) => {
                let (safe, rest) = pending.into_iter().partition(|change| folder_of(change) == folder);
                pending = rest;
                let safe: Vec<&Change> = safe;
                safe.into_iter().for_each(|change| apply(change, &mut names, &mut written));
            }
            named => pending.push(named),
        }
    }
    let (how, until) = (draw.below(4), draw.below(pending.len() + 1));
    for (index, change) in pending.into_iter().enumerate() {
        let survives = match how {
            0 => false,
            1 => true,
            2 => index < until,
            _ => draw.below(2) == 0,
        };
        if survives {
            apply(change, &mut names, &mut written);
        }
    }
    for (path, file) in written {
        let (bytes, safe) = files.get(&file).cloned().unwrap_or_default();
        names.insert(path, Some(torn(bytes, safe, draw)));
    }
    let is_whole = |path: &Path| {
        path.ancestors().skip(1).take_while(|above| *above != root).all(|above| names.contains_key(above))
    };
    let lost: Vec<PathBuf> = names.keys().filter(|path| !is_whole(path)).cloned().collect();
    lost.iter().for_each(|path| drop(names.remove(path)));
    names
}

/// The folder whose names a change changes.
fn folder_of(change: &Change) -> &Path {
    let (Change::Folder(path)
    | Change::Created(path, _)
    | Change::Removed(path)
    | Change::Renamed(_, path, _)) = change
    else {
        unreachable!("no name is changed by {change:?}")
    };
    path.parent().unwrap()
}

fn apply(change: &Change, names: &mut Tree, written: &mut BTreeMap<PathBuf, usize>) {
    match change {
        Change::Folder(path) => drop(names.insert(path.clone(), None)),
        Change::Created(path, file) => drop(written.insert(path.clone(), *file)),
        Change::Removed(path) => {
            names.remove(path);
            written.remove(path);
        }
        Change::Renamed(from, to, file) => {
            written.remove(from);
            names.remove(to);
            written.insert(to.clone(), *file);
        }
        Change::Wrote(..) | Change::Synced(_) | Change::SyncedFolder(_) => {}
    }
}

/// The bytes of a file of which only the first `safe` are on the disk.
fn torn(mut bytes: Vec<u8>, safe: usize, draw: &mut Draw) -> Vec<u8> {
    let unsafe_from = safe + draw.below(bytes.len() - safe + 1);
    match draw.below(3) {
        0 => bytes.truncate(safe),
        1 => bytes.truncate(unsafe_from),
        _ => bytes[unsafe_from..].fill(0),
    }
    bytes
}
