//! Saving with something going wrong at every operation: the old or the new project is there, whole, the state
//! before it too, the message says what to do, and the next save leaves no litter.
//!
//! `KEEPSIDE_CUTS=100000` asks for more random power cuts than the usual ones.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;
use std::time::{Duration, SystemTime};

use keepside_model::Project;

use super::cut::{Draw, Tree, left, put, tree};
use super::{Change, Fault, Faulty};
use crate::disk::{Disk, Real};
use crate::error::SaveError;
use crate::file::{Care, backup_path, load, save_on};
use crate::read::read_text;
use crate::recovery::{About, RecoveryFile, left_behind};
use crate::write::write_text;
use crate::{MAX_EARLIER, Stamp, earlier_states};

/// EACCES, EROFS, ENOENT, EIO, ENXIO, ENODEV, ENOSPC and, by Linux's numbers, ESTALE, EDQUOT and ETIMEDOUT.
const ERRORS: [i32; 10] = [13, 30, 2, 5, 6, 19, 28, 116, 122, 110];

fn named(number: usize) -> Project {
    // Of different lengths, so that a mixture of two would show.
    Project { name: format!("{number}"), notes: "note\n".repeat(number * 10), ..Project::blank() }
}

/// The states as files, by their numbers. That each opens is seen by the first test.
static TEXTS: LazyLock<Vec<String>> =
    LazyLock::new(|| (0..=LATER).map(|number| write_text(&named(number))).collect());

/// A project saved eight times, so that backup and all earlier states are there.
struct Bench {
    root: tempfile::TempDir,
    before: Tree,
}

/// The state before the last one that was saved, the last one, and the one that is being saved.
const BEFORE: usize = 7;
const OLD: usize = 8;
const NEW: usize = 9;
/// What is saved after that.
const LATER: usize = 10;

impl Bench {
    /// Nothing there yet.
    fn empty() -> Self {
        let root = tempfile::tempdir().unwrap();
        let bench = Self { root, before: Tree::new() };
        fs::create_dir(bench.shelf()).unwrap();
        Self { before: tree(bench.root.path()), ..bench }
    }

    fn new() -> Self {
        let bench = Self::empty();
        (1..=OLD).for_each(|number| bench.save(&Real, number).map(drop).unwrap());
        assert_eq!(earlier_states(&bench.state(), &bench.path()).len(), MAX_EARLIER);
        Self { before: tree(bench.root.path()), ..bench }
    }

    fn shelf(&self) -> PathBuf {
        self.root.path().join("shelf")
    }

    fn path(&self) -> PathBuf {
        self.shelf().join("a.keepside")
    }

    fn state(&self) -> PathBuf {
        self.root.path().join("state")
    }

    fn reset(&self) {
        put(self.root.path(), &self.before);
    }

    fn save(&self, disk: &dyn Disk, number: usize) -> Result<Stamp, SaveError> {
        let state = self.state();
        save_on(disk, &self.path(), &named(number), Care { state: Some(&state), ..Care::default() })
    }

    /// Which state is in the file, which in its backup, and which are kept as earlier ones. Each that is there
    /// must be whole.
    #[track_caller]
    fn states(&self, what: &str) -> (usize, usize, Vec<usize>) {
        let number = |path: &Path| {
            let bytes = fs::read(path).unwrap_or_else(|error| panic!("{what}: {}: {error}", path.display()));
            let number = TEXTS.iter().position(|text| text.as_bytes() == bytes);
            number.unwrap_or_else(|| panic!("{what}: {} is no state, or half of one", path.display()))
        };
        let earlier = earlier_states(&self.state(), &self.path());
        let earlier = earlier.iter().map(|one| number(&one.file)).collect();
        (number(&self.path()), number(&backup_path(&self.path())), earlier)
    }

    /// After a save of [`NEW`] that ended in whatever way, nothing is lost.
    #[track_caller]
    fn assert_nothing_lost(&self, what: &str) -> usize {
        let (file, backup, earlier) = self.states(what);
        assert!([OLD, NEW].contains(&file), "{what}: state {file} is in the file");
        assert!([BEFORE, OLD].contains(&backup), "{what}: state {backup} is the backup");
        assert!(file == OLD || backup == OLD || earlier.contains(&OLD), "{what}: the state before is lost");
        assert!(backup == BEFORE || earlier.contains(&BEFORE), "{what}: the state before that is lost");
        file
    }

    /// The next save goes well, an hour later, and clears up.
    #[track_caller]
    fn assert_next_save_clears_up(&self, what: &str) {
        let hour_ago = SystemTime::now() - Duration::from_secs(3600);
        for (path, bytes) in tree(self.root.path()) {
            if bytes.is_some() && path.extension().is_some_and(|ending| ending == "tmp") {
                fs::File::options().write(true).open(path).unwrap().set_modified(hour_ago).unwrap();
            }
        }
        self.save(&Faulty::new(Fault::None), LATER).unwrap_or_else(|error| panic!("{what}: {error}"));
        assert_eq!(self.states(what).0, LATER, "{what}");
        let litter: Vec<PathBuf> = tree(self.root.path())
            .into_keys()
            .filter(|path| path.extension().is_some_and(|e| e == "tmp"))
            .collect();
        assert!(litter.is_empty(), "{what}: {litter:?} is left lying");
    }
}

/// The operations of a save, by a save that goes well.
fn operations(bench: &Bench) -> (usize, Vec<String>) {
    bench.reset();
    let disk = Faulty::new(Fault::None);
    bench.save(&disk, NEW).unwrap();
    (disk.count(), disk.named.take())
}

#[test]
fn whatever_operation_fails_nothing_is_lost_and_the_message_says_what_to_do() {
    let bench = Bench::new();
    assert_eq!(load(&bench.path()).unwrap(), named(OLD));
    assert!(TEXTS.iter().enumerate().all(|(number, text)| read_text(text).unwrap() == named(number)));
    let (count, names) = operations(&bench);
    let (mut refused, mut saved) = (0, 0);
    for (at, name) in names.iter().enumerate() {
        for (error, stays) in ERRORS.into_iter().flat_map(|error| [(error, false), (error, true)]) {
            bench.reset();
            let disk = Faulty::new(if stays { Fault::From(at, error) } else { Fault::Once(at, error) });
            let what = format!("error {error} from operation {at} of {count}, {name}, again: {stays}");
            let result = bench.save(&disk, NEW);
            let file = bench.assert_nothing_lost(&what);
            match result {
                Ok(_) => {
                    assert_eq!(file, NEW, "{what}");
                    saved += 1;
                }
                Err(told) => {
                    assert_eq!(file, OLD, "{what}: {told}");
                    let words = told.to_string();
                    let has_way_out = ["save elsewhere", "changed by somebody else"];
                    assert!(has_way_out.iter().any(|way| words.contains(way)), "{what}: {words}");
                    assert!(words.contains("a.keepside") || words.ends_with("shelf"), "{what}: {words}");
                    refused += 1;
                }
            }
            bench.assert_next_save_clears_up(&what);
        }
    }
    // Keeping an earlier state, sweeping and syncing a folder may fail and the project is saved all the same.
    assert!(refused > 100 && saved > 100, "{refused} refused, {saved} saved");
}

#[test]
fn a_disk_that_takes_one_byte_at_a_time_is_written_to_the_end() {
    let bench = Bench::new();
    for at in [0, 15] {
        bench.reset();
        let disk = Faulty::new(Fault::Slowly(at));
        bench.save(&disk, NEW).unwrap();
        assert!(disk.count() > 100);
        assert_eq!(bench.assert_nothing_lost("slowly"), NEW);
    }
}

#[test]
fn a_process_stopped_after_any_operation_has_lost_nothing() {
    let bench = Bench::new();
    let (count, names) = operations(&bench);
    let mut seen = [0, 0];
    for (at, name) in names.iter().enumerate() {
        for share in [0, 1, 100, 254, 255] {
            bench.reset();
            let what = format!("stopped after operation {at} of {count}, {name}, {share}");
            drop(bench.save(&Faulty::new(Fault::Cut(at, share)), NEW));
            seen[bench.assert_nothing_lost(&what) - OLD] += 1;
            bench.assert_next_save_clears_up(&what);
        }
    }
    assert!(seen.iter().all(|count| *count > 0), "{seen:?}");
}

/// Cuts the power at random moments of a save; how often it was the old and how often the new state that was
/// left, or what is wrong.
fn cut_power(
    bench: &Bench,
    cuts: u64,
    change: impl Fn(Vec<Change>) -> Vec<Change>,
) -> Result<[u64; 2], String> {
    let (count, _) = operations(bench);
    let mut seen = [0, 0];
    for seed in 0..cuts {
        let mut draw = Draw(seed);
        bench.reset();
        // Sometimes only after all has been done: then the new state must be there.
        let at = draw.below(count + 3);
        let disk = Faulty::new(Fault::Cut(at, draw.below(256) as u8));
        let is_saved = disk.saw(&bench.save(&disk, NEW));
        let after = left(bench.root.path(), &bench.before, &change(disk.log.take()), &mut draw);
        put(bench.root.path(), &after);
        let what = format!("power cut {seed}, operation {at} of {count}");
        let found =
            std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| bench.assert_nothing_lost(&what)));
        let Ok(file) = found else { return Err(format!("{what}: lost")) };
        if is_saved && file == OLD {
            return Err(format!("{what}: what was said to be saved is not there"));
        }
        seen[file - OLD] += 1;
        bench.assert_next_save_clears_up(&what);
    }
    Ok(seen)
}

#[test]
fn a_power_cut_at_any_moment_leaves_the_old_or_the_new_state_and_what_is_saved_stays() {
    let cuts = std::env::var("KEEPSIDE_CUTS").ok().and_then(|cuts| cuts.parse().ok()).unwrap_or(1500);
    let seen = cut_power(&Bench::new(), cuts, |changes| changes).unwrap();
    println!("{cuts} power cuts: {} left the old state, {} the new", seen[0], seen[1]);
    assert!(seen.iter().all(|count| *count > cuts / 20), "{seen:?}");
}

/// The model sees what it should: without the one or the other sync something is lost.
#[test]
fn a_disk_that_only_says_it_has_synced_is_found_out() {
    let bench = Bench::new();
    let without = |lies: fn(&Change) -> bool| {
        move |changes: Vec<Change>| changes.into_iter().filter(|change| !lies(change)).collect()
    };
    let of_files = cut_power(&bench, 1500, without(|change| matches!(change, Change::Synced(_))));
    assert!(of_files.is_err());
    let of_folders = cut_power(&bench, 1500, without(|change| matches!(change, Change::SyncedFolder(_))));
    assert!(of_folders.is_err());
}

/// Every file that takes a name: written, then synced, then renamed, then its folder synced.
fn assert_order(log: &[Change]) {
    let renames = log.iter().enumerate().filter_map(|(at, change)| match change {
        Change::Renamed(_, to, file) => Some((at, to, file)),
        _ => None,
    });
    let mut count = 0;
    for (at, to, file) in renames {
        let last = |is: &dyn Fn(&Change) -> bool| log.iter().rposition(is).unwrap();
        let written = last(&|change| matches!(change, Change::Wrote(one, _) if one == file));
        let synced = last(&|change| change == &Change::Synced(*file));
        assert!(written < synced && synced < at, "{}: {written}, {synced}, {at}", to.display());
        let folder = Change::SyncedFolder(to.parent().unwrap().to_owned());
        assert!(log[at..].contains(&folder), "{}: its folder is not synced", to.display());
        count += 1;
    }
    assert!(count > 0);
}

#[test]
fn every_file_is_written_synced_renamed_and_its_folder_synced_in_this_order() {
    let bench = Bench::new();
    bench.reset();
    let disk = Faulty::new(Fault::None);
    bench.save(&disk, NEW).unwrap();
    let log = disk.log.take();
    assert_order(&log);
    // The backup is in place, and its name on the disk, before the file is replaced.
    let place = |change: &dyn Fn(&Change) -> bool| log.iter().position(change).unwrap();
    let to =
        |path: PathBuf| move |change: &Change| matches!(change, Change::Renamed(_, to, _) if *to == path);
    let (backup, file) = (place(&to(backup_path(&bench.path()))), place(&to(bench.path())));
    assert!(log[backup..file].contains(&Change::SyncedFolder(bench.shelf())));
}

#[test]
fn the_first_save_leaves_nothing_or_the_project() {
    let bench = Bench::empty();
    let first = Faulty::new(Fault::None);
    bench.save(&first, NEW).unwrap();
    assert_order(&first.log.take());
    for seed in 0..300 {
        let mut draw = Draw(seed);
        bench.reset();
        let disk = Faulty::new(Fault::Cut(draw.below(first.count() + 3), draw.below(256) as u8));
        let is_saved = disk.saw(&bench.save(&disk, NEW));
        let after = left(bench.root.path(), &bench.before, &disk.log.take(), &mut draw);
        put(bench.root.path(), &after);
        match fs::read(bench.path()) {
            Ok(bytes) => assert!(bytes == TEXTS[NEW].as_bytes(), "power cut {seed}"),
            Err(error) => assert!(!is_saved && !bench.path().exists(), "power cut {seed}: {error}"),
        }
    }
}

/// A recovery file, and with it the settings and lists, which are written by the same function.
#[test]
fn a_recovery_file_is_the_old_or_the_new_one_whatever_fails() {
    let root = tempfile::tempdir().unwrap();
    let about = |number: usize| About {
        title: number.to_string(),
        path: None,
        written_unix_s: 1,
        is_unsaved: true,
        stamp: None,
    };
    let own = RecoveryFile::claim(root.path()).unwrap();
    own.write(&about(OLD), &named(OLD)).unwrap();
    let path = own.path().to_owned();
    drop(own);
    let before = tree(root.path());
    // The window as it was, without its sign of life, so that what it left is looked at.
    let window = || RecoveryFile::of(path.clone());
    let good = Faulty::new(Fault::None);
    window().write_on(&good, &about(NEW), &named(NEW)).unwrap();
    assert_order(&good.log.take());
    let check = |what: &str, is_kept: bool| {
        let left = left_behind(root.path());
        assert!(left.damaged.is_empty() && left.recovered.len() == 1, "{what}: {left:?}");
        let number = if left.recovered[0].project == named(NEW) { NEW } else { OLD };
        assert_eq!(
            (&left.recovered[0].about, &left.recovered[0].project),
            (&about(number), &named(number)),
            "{what}"
        );
        assert!(number == NEW || !is_kept, "{what}: it was said to be kept");
    };
    for at in 0..good.count() {
        for fault in ERRORS.into_iter().flat_map(|error| [Fault::Once(at, error), Fault::From(at, error)]) {
            put(root.path(), &before);
            let result = window().write_on(&Faulty::new(fault), &about(NEW), &named(NEW));
            check(&format!("{fault:?}"), result.is_ok());
        }
    }
    for seed in 0..500 {
        let mut draw = Draw(seed);
        put(root.path(), &before);
        let disk = Faulty::new(Fault::Cut(draw.below(good.count() + 3), draw.below(256) as u8));
        let result = window().write_on(&disk, &about(NEW), &named(NEW));
        put(root.path(), &left(root.path(), &before, &disk.log.take(), &mut draw));
        check(&format!("power cut {seed}"), disk.saw(&result));
    }
}

#[test]
fn what_a_killed_window_left_half_written_is_cleared_away_by_a_later_start() {
    let state = tempfile::tempdir().unwrap();
    let folder = state.path().join("recovery");
    fs::create_dir(&folder).unwrap();
    let leave = |name: &str, age_s: u64| {
        let file = fs::File::create(folder.join(name)).unwrap();
        file.set_modified(SystemTime::now() - Duration::from_secs(age_s)).unwrap();
    };
    leave(".window-7-1.recovery.ab12cd.tmp", 3600);
    leave(".window-8-1.recovery.ab12cd.tmp", 1);
    assert!(left_behind(state.path()).is_empty());
    let names: Vec<PathBuf> = tree(&folder).into_keys().collect();
    assert_eq!(names, [folder.join(".window-8-1.recovery.ab12cd.tmp")], "the young one may be being written");
}
