//! Project files: what is saved is what is opened, and saving never loses what was there.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use keepside_model::{
    Calibration, Datum, DrillCycles, Edit, GeneralTolerance, Grooves, HoldInputs, Id, Limits, Lock, Material,
    MaterialValue, Moulding, Paper, Press, Project, Projection, Scatter, SheetChoices, Trial, Variant,
};
use keepside_store::recent::MAX_FILES;
use keepside_store::{
    About, Care, Experience, RecentFiles, RecoveryFile, Shelf, Stamp, backup_path, earlier_states,
    left_behind, load, read_text, save, write_text,
};
use keepside_tests::projects::{demo, demo_path, random_project};
use proptest::collection::vec;
use proptest::prelude::*;

const DEMOS: [&str; 3] = ["row-marker", "drip-peg", "two-sprues-no-keys"];

/// A demo project as it was before vents were relieved, and before it had one in its middle.
fn before_reliefs(name: &str) -> Project {
    let mut project = demo(name);
    project.vents.retain(|_, vent| vent.name != "middle");
    project.vents.values_mut().for_each(|vent| vent.relief = None);
    project
}

fn named(name: &str) -> Project {
    Project { name: name.to_owned(), ..demo("row-marker") }
}

/// The names in a folder, sorted.
fn names_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

proptest! {
    /// Compared as text of every number's bits, so that not even the sign of a nought is lost.
    #[test]
    fn a_project_is_read_back_to_the_last_bit(
        words in vec(any::<u64>(), 1..50),
        names in vec(any::<String>(), 1..5),
    ) {
        let project = random_project(&words, &names);
        prop_assert_eq!(project.check(), Ok(()));
        let text = write_text(&project);
        let again = read_text(&text).map_err(|error| TestCaseError::fail(format!("{error}\n{text}")))?;
        prop_assert_eq!(&again, &project);
        // Debug prints the shortest digits that tell a number from its neighbours, and the sign of 0.
        prop_assert_eq!(format!("{again:?}"), format!("{project:?}"));
        prop_assert_eq!(write_text(&again), text);
    }

    /// Numbers of one sign are ordered as their bit patterns are: this draws them all, tiny ones too.
    #[test]
    fn any_permitted_number_is_read_back_to_the_last_bit(
        magnitude in 0..=5000.0_f64.to_bits(),
        is_negative in any::<bool>(),
    ) {
        let number = f64::from_bits(magnitude) * if is_negative { -1.0 } else { 1.0 };
        let mut project = Project::blank();
        project.part.runs.values_mut().next().unwrap().points[0].at.x = number;
        let again = read_text(&write_text(&project)).unwrap();
        prop_assert_eq!(again.part.runs.values().next().unwrap().points[0].at.x.to_bits(), number.to_bits());
    }
}

#[test]
fn the_same_project_gives_the_same_bytes_on_every_system() {
    let project = demo("row-marker");
    let mut other_way_round = project.clone();
    other_way_round.features.clear();
    for (id, feature) in project.features.iter().rev() {
        other_way_round.features.insert(*id, feature.clone());
    }
    let text = write_text(&project);
    assert_eq!(write_text(&other_way_round), text);
    assert!(!text.contains('\r') && text.ends_with(")\n"));
    let header = concat!(
        "(\n    format: 1,\n    written_by: \"Keepside ",
        env!("CARGO_PKG_VERSION"),
        "\",\n    project: (\n"
    );
    assert!(text.starts_with(header), "{}", &text[..100]);
}

#[test]
fn the_demo_projects_are_kept_as_the_program_writes_them() {
    for name in DEMOS {
        let text = fs::read_to_string(demo_path(name)).unwrap();
        assert_eq!(write_text(&read_text(&text).unwrap()), text, "{name}");
    }
}

/// A file of the format's first form, from before edges, a rib, ejector pins and measured curves could be
/// given: what it does not say takes its default.
#[test]
fn a_file_from_before_ejectors_opens_with_defaults_for_what_it_does_not_say() {
    let text = include_str!("../oracle/old-files/before-ejectors.keepside");
    for word in ["ejectors", "measured", "edge_moving_mm", "rib", "vacuum_mpa", "tack_curve"] {
        assert!(!text.contains(word), "{word}");
    }
    let project = read_text(text).unwrap();
    assert_eq!(project.ejectors.len(), 0);
    assert_eq!((project.part.edge_moving_mm, project.part.edge_fixed_mm, project.part.rib), (0.0, 0.0, None));
    assert!(project.sprues.values().all(|sprue| sprue.measured.is_none()));
    assert!(project.features.values().all(|feature| feature.measured.is_none()));
    assert_eq!(project.material.restrained_shrinkage, 0.0);
    let (holds, usual) = (&project.holds, HoldInputs::default());
    assert_eq!((holds.vacuum_mpa, holds.air_gap_mm), (usual.vacuum_mpa, usual.air_gap_mm));
    assert_eq!((&holds.tack_curve, &holds.wall_curve, &holds.edge_curve), (&None, &None, &None));
    // The same project with every field written out.
    let anew = include_str!("../oracle/old-files/before-ejectors-written-anew.keepside");
    assert_eq!(project, read_text(anew).unwrap());
}

/// A file from before a set screw had an end, an ejector grooves, or limits for threads and drills.
#[test]
fn a_file_from_before_screw_ends_opens_with_the_socket_up_and_the_usual_limits() {
    let text = include_str!("../oracle/old-files/before-screw-ends.keepside");
    for word in ["end: Socket", "grooves", "lock", "gate_gap_mm", "engagement_diameters", "drawer"] {
        assert!(!text.contains(word), "{word}");
    }
    let project = read_text(text).unwrap();
    assert!(project.drawer.is_empty());
    assert_eq!(project.limits.engagement_diameters, Limits::default().engagement_diameters);
    assert!(!project.features.is_empty() && !project.ejectors.is_empty());
    assert!(project.features.values().all(|feature| feature.lock == Lock::Usual));
    assert!(project.ejectors.values().all(|ejector| ejector.grooves == Grooves::default()));
    // The same project with every field written out.
    assert_eq!(project, before_reliefs("drip-peg"));
}

/// A file from before notes, locks and variants.
#[test]
fn a_file_from_before_notes_opens_with_none() {
    let text = include_str!("../oracle/old-files/before-notes.keepside");
    for word in ["remarks", "locked", "variants"] {
        assert!(!text.contains(word), "{word}");
    }
    let project = read_text(text).unwrap();
    assert!(project.remarks.is_empty() && project.locked.is_empty() && project.variants.is_empty());
    assert_eq!(project, before_reliefs("row-marker"));
}

/// A file from before anything could be chosen about the sheets.
#[test]
fn a_file_from_before_sheet_choices_opens_with_the_usual_ones() {
    let text = include_str!("../oracle/old-files/before-sheet-choices.keepside");
    assert!(!text.contains("sheet:"));
    let project = read_text(text).unwrap();
    assert_eq!(project.sheet, SheetChoices::default());
    assert_eq!(project, before_reliefs("drip-peg"));
}

/// A file from before holes could be drilled by numbers.
#[test]
fn a_file_from_before_drill_cycles_opens_with_them_off() {
    let text = include_str!("../oracle/old-files/before-drill-cycles.keepside");
    assert!(!text.contains("drill_cycles"));
    let project = read_text(text).unwrap();
    assert_eq!(project.sheet.drill_cycles, DrillCycles::default());
    assert!(!project.sheet.drill_cycles.wanted);
    assert_eq!(project, before_reliefs("row-marker"));
}

/// A file from before spreads and a trial log were kept.
#[test]
fn a_file_from_before_trials_opens_with_an_empty_log_and_the_usual_spreads() {
    let text = include_str!("../oracle/old-files/before-trials.keepside");
    assert!(!text.contains("scatter:") && !text.contains("trials:"));
    let project = read_text(text).unwrap();
    assert!(project.trials.is_empty());
    assert_eq!(project.scatter, Scatter::default());
    assert_eq!(project, before_reliefs("row-marker"));
}

/// A file from before it said which program wrote it; what another version says of itself is no matter.
#[test]
fn a_file_from_before_the_writers_version_opens_and_is_saved_with_this_one() {
    let text = include_str!("../oracle/old-files/before-written-by.keepside");
    assert!(!text.contains("written_by"));
    let project = read_text(text).unwrap();
    assert_eq!(project, demo("two-sprues-no-keys"));
    let now = write_text(&project);
    let own = concat!("    written_by: \"Keepside ", env!("CARGO_PKG_VERSION"), "\",\n");
    assert_eq!(now.matches(own).count(), 1);
    let of_others = now.replace(own, "    written_by: \"Keepside 0.0.9\",\n");
    assert_eq!(read_text(&of_others).unwrap(), project);
}

#[test]
fn a_trial_out_of_range_is_refused_with_its_number() {
    let mut project = named("log");
    let seen = Trial { shots: 20, bumps_mm: BTreeMap::from([(Id(8), -0.6)]), ..Trial::default() };
    project.apply(&Edit::SetTrials(vec![Trial::default(), seen.clone()])).unwrap();
    let text = write_text(&project);
    assert_eq!(read_text(&text).unwrap(), project);
    let none = text.replace("shots: 20", "shots: 0");
    let refused = read_text(&none).unwrap_err().to_string();
    assert!(refused.contains("the number of shots is 0; it must be from 1 to 100000"), "{refused}");
    let high = Trial { bumps_mm: BTreeMap::from([(Id(8), f64::NAN)]), ..seen };
    let refused = project.apply(&Edit::SetTrials(vec![Trial::default(), high])).unwrap_err().to_string();
    assert!(refused.starts_with("trial 2: the height of a bump"), "{refused}");
}

/// A trial tells of the layout it was shot with, through renaming it and opening another.
#[test]
fn the_trial_log_stays_with_the_project_and_follows_the_names_of_layouts() {
    let mut project = named("log");
    let layout = Arc::new(named("as shot"));
    let named_so = |name: &str| Variant { name: name.to_owned(), layout: Arc::clone(&layout) };
    project.apply(&Edit::SetVariants(vec![named_so("first")])).unwrap();
    let trial = Trial { layout: Some("first".to_owned()), ..Trial::default() };
    project.apply(&Edit::SetTrials(vec![trial])).unwrap();
    project.apply(&Edit::SetVariants(vec![named_so("with four screws")])).unwrap();
    assert_eq!(project.trials[0].layout.as_deref(), Some("with four screws"));
    project.apply(&Edit::SetLayout(Box::new(named("other")))).unwrap();
    assert_eq!((project.name.as_str(), project.trials.len()), ("other", 1));
}

/// A file from before melt, shot settings and the press's limits could be given: the melt is that of the
/// generic plastic of the same name, and numbers that differ from that plastic's are the user's own.
#[test]
fn a_file_from_before_moulding_opens_with_the_usual_melt_and_keeps_its_warm_values() {
    let text = include_str!("../oracle/old-files/before-moulding.keepside");
    for word in ["melt:", "own:", "based_on", "moulding:", "clamp_n"] {
        assert!(!text.contains(word), "{word}");
    }
    let project = read_text(text).unwrap();
    assert_eq!(project, before_reliefs("row-marker"));
    assert_eq!(project.moulding, Moulding::default());
    assert_eq!(project.press, Press { stroke_mm: 130.0, ..Press::default() });
    assert_eq!(project.material.own, BTreeSet::from([MaterialValue::RestrainedShrinkage]));

    let of = |name: &str| {
        let text = text.replace("name: \"PP\"", &format!("name: \"{name}\""));
        read_text(&text).unwrap().material
    };
    assert_eq!(of("pom").melt, Material::generic_named("POM").unwrap().melt);
    assert_eq!((of("pom").modulus_hot_mpa, of("pom").yield_hot_mpa), (800.0, 18.0));
    assert!(of("pom").own.contains(&MaterialValue::ModulusHot));
    assert_eq!(of("the grey stuff").melt, Material::generic_named("PP").unwrap().melt);
    assert_eq!(of("the grey stuff").based_on, "PP");
}

#[test]
fn warm_values_follow_the_temperature_when_pushed_off_unless_they_are_the_users_own() {
    let mut project = demo("row-marker");
    let at = |temperature_c| {
        let own_ejection_temperature_c = Some(temperature_c);
        Edit::SetMoulding(Moulding { own_ejection_temperature_c, ..Moulding::default() })
    };
    project.apply(&at(100.0)).unwrap();
    // 1300·(170 − 100)/(170 − 23) = 619 and 30·70/147 = 14.3, to two figures.
    assert_eq!((project.material.modulus_hot_mpa, project.material.yield_hot_mpa), (620.0, 14.0));
    project.apply(&Edit::SetMaterialValue(MaterialValue::YieldHot, 14.0)).unwrap();
    project.apply(&at(80.0)).unwrap();
    assert_eq!((project.material.modulus_hot_mpa, project.material.yield_hot_mpa), (800.0, 14.0));
    assert_eq!(read_text(&write_text(&project)).unwrap(), project);
    project.apply(&Edit::TakeBackMaterialValue(MaterialValue::YieldHot)).unwrap();
    assert_eq!(project.material, demo("row-marker").material);

    let refused = project.apply(&at(f64::NAN)).unwrap_err().to_string();
    assert_eq!(refused, "a temperature is NaN °C; it must be from -50 to 500 °C");
    let text = write_text(&demo("row-marker")).replace("clamp_n: 50000.0", "clamp_n: -1.0");
    let refused = read_text(&text).unwrap_err().to_string();
    assert!(refused.contains("the clamp force is -1 N; it must be from 10 to 100000000 N"), "{refused}");
}

#[test]
fn choices_for_the_sheets_are_kept_and_held_to_their_range() {
    let mut project = named("label");
    let sheet = SheetChoices {
        paper: Paper::Letter,
        datum: Datum::GuidePin(Id(7)),
        back_views: true,
        drawing_number: "K-0042".to_owned(),
        general_tolerance: GeneralTolerance::Own("±0.1 everywhere".to_owned()),
        position_tolerance_mm: Some(0.05),
        projection: Projection::ThirdAngle,
        drill_cycles: DrillCycles { wanted: true, feed_mm_min: Some(80.0), ..DrillCycles::default() },
        ..SheetChoices::default()
    };
    project.apply(&Edit::SetSheet(Box::new(sheet))).unwrap();
    let text = write_text(&project);
    assert_eq!(read_text(&text).unwrap(), project);
    let out = text.replace("position_tolerance_mm: Some(0.05)", "position_tolerance_mm: Some(-1.0)");
    assert_ne!(out, text);
    let refused = read_text(&out).unwrap_err().to_string();
    assert!(refused.contains("the position tolerance is -1 mm; it must be from 0.001 to 5 mm"), "{refused}");
    let slow = text.replace("feed_mm_min: Some(80.0)", "feed_mm_min: Some(0.0)");
    let refused = read_text(&slow).unwrap_err().to_string();
    assert!(
        refused.contains("the feed of the drill is 0 mm/min; it must be from 1 to 5000 mm/min"),
        "{refused}"
    );
    project.sheet.drill_cycles.retract_mm = -1.0;
    assert!(project.check().is_err());
    project.sheet.drill_cycles.retract_mm = 1.0;
    project.sheet.position_tolerance_mm = Some(f64::NAN);
    assert!(project.check().is_err());
}

#[test]
fn text_from_other_editors_is_read_alike() {
    let text = fs::read_to_string(demo_path("drip-peg")).unwrap();
    let project = read_text(&text).unwrap();
    assert_eq!(read_text(&text.replace('\n', "\r\n")).unwrap(), project);
    assert_eq!(read_text(&format!("\u{feff}{text}")).unwrap(), project);
    assert_eq!(read_text(&text.replace(" 16.0,", " 16, // bright steel")).unwrap(), project);
}

#[test]
fn the_previous_state_is_kept_as_a_backup() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("peg.keepside");
    save(&path, &named("first")).unwrap();
    assert_eq!(names_in(folder.path()), ["peg.keepside"]);
    save(&path, &named("second")).unwrap();
    save(&path, &named("third")).unwrap();
    assert_eq!(load(&path).unwrap(), named("third"));
    assert_eq!(load(&backup_path(&path)).unwrap(), named("second"));
    assert_eq!(names_in(folder.path()), ["peg.keepside", "peg.keepside.bak"]);
    // Saving what is there already does not push the last other state out of the backup.
    save(&path, &named("third")).unwrap();
    assert_eq!(load(&backup_path(&path)).unwrap(), named("second"));
}

#[test]
fn a_file_that_is_no_project_is_kept_too_when_it_is_saved_over() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("notes.keepside");
    fs::write(&path, b"\xff not a project").unwrap();
    save(&path, &named("new")).unwrap();
    assert_eq!(fs::read(backup_path(&path)).unwrap(), b"\xff not a project");
}

#[test]
fn a_reader_sees_the_old_or_the_new_file_and_never_half_of_one() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.keepside");
    let states = [named("odd"), named(&"even ".repeat(20_000))];
    save(&path, &states[0]).unwrap();
    let is_done = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            (1..=60).for_each(|i: usize| save(&path, &states[i % 2]).unwrap());
            is_done.store(true, Ordering::Relaxed);
        });
        let mut reads = 0;
        while !is_done.load(Ordering::Relaxed) || reads == 0 {
            let seen = load(&path).unwrap();
            assert!(states.contains(&seen));
            reads += 1;
        }
    });
}

/// Saving must fail with these words and leave everything in `folder` as it is.
#[track_caller]
fn check_refused(folder: &Path, path: &Path, project: &Project, words: &str) {
    let before = names_in(folder);
    let error = save(path, project).unwrap_err().to_string();
    assert!(error.contains(words), "{error}");
    assert_eq!(names_in(folder), before);
}

#[test]
fn saving_where_it_cannot_be_done_says_why_and_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let project = named("new");
    fs::create_dir(at("drawer.keepside")).unwrap();
    fs::write(at("plain"), "x").unwrap();
    let check = |path: &Path, words: &str| check_refused(folder.path(), path, &project, words);
    check(&at("drawer.keepside"), "this is a folder");
    check(&at("missing/a.keepside"), "the folder does not exist");
    check(&at("plain/a.keepside"), "the folder does not exist");
    check(Path::new(""), "names no file");
    check(&at(".."), "this is a folder");
    check(&at(&"x".repeat(300)), "not saved");
    assert_eq!(fs::read(at("plain")).unwrap(), b"x");
}

#[test]
fn a_project_that_could_not_be_read_back_is_not_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.keepside");
    save(&path, &named("old")).unwrap();
    let mut broken = named("broken");
    broken.sprues.values_mut().next().unwrap().length_mm = f64::NAN;
    check_refused(folder.path(), &path, &broken, "S8: the sprue length is NaN mm");
    assert_eq!(load(&path).unwrap(), named("old"));
}

#[test]
fn if_the_backup_cannot_be_kept_the_old_file_stays() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.keepside");
    save(&path, &named("old")).unwrap();
    fs::create_dir(backup_path(&path)).unwrap();
    check_refused(folder.path(), &path, &named("new"), "a.keepside.bak");
    assert_eq!(load(&path).unwrap(), named("old"));
}

#[cfg(unix)]
mod on_unix {
    use std::os::unix::fs::{PermissionsExt as _, symlink};

    use super::*;

    fn mode(path: &Path) -> u32 {
        fs::metadata(path).unwrap().permissions().mode() & 0o777
    }

    #[test]
    fn permissions_of_a_file_stay_and_hold_for_its_backup() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.keepside");
        save(&path, &named("old")).unwrap();
        let usual = folder.path().join("usual");
        fs::write(&usual, "").unwrap();
        assert_eq!(mode(&path), mode(&usual), "as any new file");

        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
        save(&path, &named("new")).unwrap();
        assert_eq!((mode(&path), mode(&backup_path(&path))), (0o640, 0o640));
    }

    #[test]
    fn a_write_protected_file_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.keepside");
        save(&path, &named("old")).unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
        check_refused(folder.path(), &path, &named("new"), "write-protected");
        assert_eq!(load(&path).unwrap(), named("old"));
    }

    #[test]
    fn a_link_stays_a_link_and_its_target_is_written() {
        let folder = tempfile::tempdir().unwrap();
        let (shelf, bench) = (folder.path().join("shelf"), folder.path().join("bench"));
        fs::create_dir(&shelf).unwrap();
        fs::create_dir(&bench).unwrap();
        let (target, link) = (shelf.join("a.keepside"), bench.join("link.keepside"));
        // The link leads to nothing yet, and is relative to its own folder.
        symlink("../shelf/a.keepside", &link).unwrap();
        save(&link, &named("first")).unwrap();
        save(&link, &named("second")).unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(load(&target).unwrap(), named("second"));
        assert_eq!(names_in(&shelf), ["a.keepside", "a.keepside.bak"]);
        assert_eq!(names_in(&bench), ["link.keepside"]);
    }

    #[test]
    fn links_in_a_circle_and_devices_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let (a, b) = (folder.path().join("a"), folder.path().join("b"));
        symlink(&a, &b).unwrap();
        symlink(&b, &a).unwrap();
        check_refused(folder.path(), &a, &named("new"), "circle");
        let error = save(Path::new("/dev/null"), &named("new")).unwrap_err().to_string();
        assert!(error.contains("not an ordinary file"), "{error}");
        assert!(load(Path::new("/dev/null")).unwrap_err().to_string().contains("not an ordinary file"));
    }
}

#[test]
fn recent_files_come_newest_first_each_once_and_survive() {
    let folder = tempfile::tempdir().unwrap();
    let kept_in = folder.path().join("made/on/demand/recent.ron");
    let mut recent = RecentFiles::load(&kept_in);
    assert_eq!(recent, RecentFiles::default());
    let at = |i: usize| folder.path().join(format!("{i}.keepside"));
    (0..12).for_each(|i| recent.add(&at(i)));
    recent.add(&at(5));
    let expected: Vec<_> = [5, 11, 10, 9, 8, 7, 6, 4, 3, 2].map(at).to_vec();
    assert_eq!((recent.paths(), expected.len()), (expected.as_slice(), MAX_FILES));

    fs::write(at(11), "").unwrap();
    let missing: Vec<bool> = recent.list().iter().map(|file| file.is_missing).collect();
    assert_eq!(missing[..3], [true, false, true]);

    recent.remove(&at(5));
    recent.save(&kept_in).unwrap();
    assert_eq!(RecentFiles::load(&kept_in).paths(), &expected[1..]);

    recent.add(Path::new("here.keepside"));
    assert!(recent.paths()[0].is_absolute());
}

#[test]
fn a_list_of_recent_files_that_cannot_be_understood_is_empty() {
    let folder = tempfile::tempdir().unwrap();
    let kept_in = folder.path().join("recent.ron");
    for text in ["", "(files: [", "(files: [3])", "\u{0}"] {
        fs::write(&kept_in, text).unwrap();
        assert_eq!(RecentFiles::load(&kept_in), RecentFiles::default(), "{text}");
    }
    assert_eq!(RecentFiles::load(folder.path()), RecentFiles::default());
}

/// Where the saving process writes, when this test program is started as one.
const SAVES_TO: &str = "KEEPSIDE_TEST_SAVES_TO";

/// How often a process is killed: `KEEPSIDE_KILLS=1000` asks for more than usual.
fn kills() -> u64 {
    std::env::var("KEEPSIDE_KILLS").ok().and_then(|kills| kills.parse().ok()).unwrap_or(200)
}

/// Two states of different length, so that a mixture of them would show.
fn two_states() -> [Project; 2] {
    let short = named("short");
    let mut long = named("long");
    long.notes = "a line of notes\n".repeat(4000);
    [short, long]
}

/// Starts this very test as another process that writes to `path`, waits until it has begun, and kills it after
/// up to 12 ms.
#[track_caller]
fn kill_while_writing(test: &str, path: &Path, watched: &Path, random: &mut u64) {
    let before = Stamp::of_file(watched).unwrap();
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", test])
        .env(SAVES_TO, path)
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let deadline = Instant::now() + Duration::from_secs(60);
    while Stamp::of_file(watched).unwrap() == before {
        assert!(Instant::now() < deadline, "the other process does not write");
        std::thread::sleep(Duration::from_micros(100));
    }
    // Any moments will do, the same on every run.
    *random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    std::thread::sleep(Duration::from_micros((*random >> 33) % 12_000));
    child.kill().unwrap();
    child.wait().unwrap();
}

/// Is itself the process that saves for ever, when told where to.
#[test]
fn a_process_killed_while_saving_leaves_the_old_or_the_new_file_whole() {
    let states = two_states();
    if let Some(path) = std::env::var_os(SAVES_TO) {
        let path = Path::new(&path);
        let state = path.with_extension("state");
        for project in states.iter().cycle() {
            let care = Care { state: Some(&state), ..Care::default() };
            keepside_store::save_with_care(path, project, care).unwrap();
        }
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.keepside");
    let mut seen = [0, 0];
    let mut half_written = 0;
    let mut random = 1_u64;
    for round in 0..kills() {
        save(&path, &states[0]).unwrap();
        let name = "files::a_process_killed_while_saving_leaves_the_old_or_the_new_file_whole";
        kill_while_writing(name, &path, &path, &mut random);

        let found = load(&path).unwrap_or_else(|error| panic!("round {round}: {error}"));
        let which = states.iter().position(|state| *state == found);
        seen[which.unwrap_or_else(|| panic!("round {round}: neither state"))] += 1;
        let backup = load(&backup_path(&path)).unwrap();
        assert!(states.contains(&backup), "round {round}: the backup");
        for earlier in earlier_states(&path.with_extension("state"), &path) {
            assert!(
                states.contains(&load(&earlier.file).unwrap()),
                "round {round}: {}",
                earlier.file.display()
            );
        }
        half_written += age_litter(folder.path());
    }
    println!(
        "{} kills: {seen:?} left the short and the long state, {half_written} half-written files",
        kills()
    );
    assert!(seen.iter().all(|count| *count > 0), "both states were met: {seen:?}");
    // What was left half written has become old: one more save of each clears it away.
    let state = path.with_extension("state");
    for project in states.iter().rev() {
        let care = Care { state: Some(&state), ..Care::default() };
        keepside_store::save_with_care(&path, project, care).unwrap();
    }
    assert_eq!(litter(folder.path()), Vec::<PathBuf>::new());
}

/// Half-written files below a folder.
fn litter(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let (folders, files): (Vec<PathBuf>, Vec<PathBuf>) = entries.partition(|path| path.is_dir());
    let is_litter = |path: &PathBuf| path.extension().is_some_and(|ending| ending == "tmp");
    files.into_iter().filter(is_litter).chain(folders.iter().flat_map(|folder| litter(folder))).collect()
}

/// Makes half-written files below a folder an hour old; how many there are.
fn age_litter(folder: &Path) -> usize {
    let hour_ago = std::time::SystemTime::now() - Duration::from_secs(3600);
    let age =
        |path: &PathBuf| fs::File::options().write(true).open(path).unwrap().set_modified(hour_ago).unwrap();
    litter(folder).iter().inspect(|path| age(path)).count()
}

/// Is itself the process that writes for ever, when told where to: recovery file, recent files, grades, and what
/// was learned, which are all replaced in the same way.
#[test]
fn a_process_killed_while_keeping_leaves_whole_recovery_files_and_lists() {
    let states = two_states();
    let about = |project: &Project| About {
        title: project.name.clone(),
        path: None,
        written_unix_s: 1,
        is_unsaved: true,
        stamp: None,
    };
    let grade = |project: &Project| Material { based_on: project.notes.clone(), ..project.material.clone() };
    if let Some(folder) = std::env::var_os(SAVES_TO) {
        let folder = Path::new(&folder);
        let own = RecoveryFile::claim(folder).unwrap();
        for (round, project) in states.iter().cycle().enumerate() {
            own.write(&about(project), project).unwrap();
            let mut recent = RecentFiles::default();
            (0..=round % MAX_FILES).for_each(|i| recent.add(&folder.join(i.to_string())));
            recent.save(&folder.join("recent.ron")).unwrap();
            Shelf::keep(folder, grade(project)).unwrap();
            Shelf::keep(folder, Experience::of(Calibration::of(project))).unwrap();
        }
    }
    let folder = tempfile::tempdir().unwrap();
    let (list, mut random) = (folder.path().join("recent.ron"), 7_u64);
    for round in 0..kills() / 4 {
        RecentFiles::default().save(&list).unwrap();
        let name = "files::a_process_killed_while_keeping_leaves_whole_recovery_files_and_lists";
        kill_while_writing(name, folder.path(), &list, &mut random);

        let left = left_behind(folder.path());
        assert!(left.damaged.is_empty() && left.recovered.len() == 1, "round {round}: {left:?}");
        let kept = &left.recovered[0];
        assert!(states.contains(&kept.project), "round {round}");
        assert_eq!(kept.about, about(&kept.project), "round {round}");
        assert!(!RecentFiles::load(&list).paths().is_empty(), "round {round}: an empty list is a lost one");
        let grades = Shelf::<Material>::load(folder.path()).unwrap();
        assert!(grades.kept().iter().all(|kept| states.iter().any(|state| *kept == grade(state))));
        Shelf::<Experience>::load(folder.path()).unwrap();
        keepside_store::discard(&kept.file).unwrap();
        age_litter(folder.path());
    }
    // Looking for what was left, and writing each once more, clears away what was half written.
    left_behind(folder.path());
    RecentFiles::default().save(&list).unwrap();
    Shelf::keep(folder.path(), grade(&states[0])).unwrap();
    Shelf::keep(folder.path(), Experience::of(Calibration::of(&states[0]))).unwrap();
    assert_eq!(litter(folder.path()), Vec::<PathBuf>::new());
}
