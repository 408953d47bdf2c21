//! The command line, run inside the test: exit codes, JSON, errors with file and line.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs;
use std::path::Path;
use std::sync::Mutex;

use glam::DVec2;
use keepside_cli::{FAULTY, NOT_COMPUTED, SCHEMA, WELL, run};
use keepside_model::{FeatureKind, Id, Project, PullOff, Run};
use keepside_sheet::Output;
use keepside_store::{save, write_text};
use keepside_tests::projects::{demo, demo_path};
use serde_json::Value;

struct Said {
    code: u8,
    out: String,
    err: String,
}

fn cli<const N: usize>(args: [OsString; N]) -> Said {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = run(args, &mut out, &mut err);
    Said { code, out: String::from_utf8(out).unwrap(), err: String::from_utf8(err).unwrap() }
}

fn check(path: &Path) -> Said {
    cli(["check".into(), path.into()])
}

fn check_json(path: &Path) -> (u8, Value) {
    let said = cli(["check".into(), path.into(), "--json".into()]);
    (said.code, serde_json::from_str(&said.out).unwrap())
}

/// Exit code and JSON of a demo project, computed once.
fn demo_json(name: &'static str) -> (u8, String) {
    static TOLD: Mutex<BTreeMap<&str, (u8, String)>> = Mutex::new(BTreeMap::new());
    let tell = || {
        let said = cli(["check".into(), demo_path(name).into(), "--json".into()]);
        (said.code, said.out)
    };
    TOLD.lock().unwrap().entry(name).or_insert_with(tell).clone()
}

/// The project as a file in a folder of its own.
fn saved(project: &Project) -> (tempfile::TempDir, std::path::PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.keepside");
    save(&path, project).unwrap();
    (folder, path)
}

#[test]
fn a_measured_hold_is_marked_in_the_list() {
    let mut project = demo("two-sprues-no-keys");
    let curve = PullOff::new(vec![(0.0, 0.0), (0.05, 30.0), (3.0, 0.0)]).unwrap();
    let (&id, sprue) = project.sprues.iter_mut().next().unwrap();
    sprue.measured = Some(curve);
    project.holds.tack_curve = PullOff::new(vec![(0.0, 0.0), (0.004, 0.09), (0.04, 0.0)]).ok();
    let (_folder, path) = saved(&project);
    let out = check(&path).out;
    let holds = out.split("\nHolds").nth(1).unwrap().split("\n\n").next().unwrap();
    let marked: Vec<&str> = holds.lines().filter(|line| line.ends_with(", measured")).collect();
    assert_eq!(marked.len(), 3, "{out}");
    assert!(marked.iter().filter(|line| line.starts_with("face tack")).count() == 2, "{out}");
    assert!(marked.iter().any(|line| line.starts_with(&format!("sprue S{id}"))), "{out}");
}

#[test]
fn the_exit_code_tells_well_from_faulty_from_not_computed() {
    for (name, code, words) in [
        ("row-marker", WELL, "The part stays whole on the moving half"),
        ("two-sprues-no-keys", FAULTY, "The part stays on the fixed half"),
        ("drip-peg", WELL, "The part stays whole on the moving half"),
    ] {
        let said = check(&demo_path(name));
        assert_eq!(said.code, code, "{name}\n{}{}", said.out, said.err);
        assert!(said.out.contains(words), "{}", said.out);
        assert!(said.err.is_empty(), "{}", said.err);
        assert_eq!(demo_json(name).0, code);
    }
    let mut nothing = Project::blank();
    nothing.part.runs.clear();
    let (_folder, path) = saved(&nothing);
    let said = check(&path);
    assert_eq!(said.code, NOT_COMPUTED, "{}{}", said.out, said.err);
    assert!(said.out.contains("no channel run") && !said.err.is_empty(), "{}{}", said.out, said.err);
}

#[test]
fn the_text_for_people_tells_everything_within_a_hundred_columns() {
    let said = check(&demo_path("row-marker"));
    for words in [
        "Margin ",
        "sprue S8 (fixed half)",
        "turned head K12 (moving half)",
        "turned head K13 (moving half)",
        "plain post K16 (moving half)",
        "face tack of the fixed half lets go",
        "Order of release",
        "Kept at full stroke",
        "mJ to open:",
        "S9 right gate",
        "indings",
    ] {
        assert!(said.out.contains(words), "{words}:\n{}", said.out);
    }
    let long_path = demo_path("row-marker").display().to_string().len();
    let fits = |line: &str| line.chars().count() <= 100 || line.len() <= long_path + 2;
    assert!(said.out.lines().all(fits), "{}", said.out);
}

#[test]
fn json_holds_the_numbers_of_the_opening_run() {
    let project = demo("row-marker");
    let text = demo_json("row-marker").1;
    let json: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(json["schema"], SCHEMA);
    assert_eq!(json["project"], "Row marker");
    assert_eq!(json["not_computed"], Value::Null);
    assert_eq!(json["findings"], Value::from(Vec::<Value>::new()), "the demo project is sound");
    assert_eq!(json["verdict"]["outcome"], "stays-on-moving");
    assert!(json["margin"]["factor"].as_f64().unwrap() > 1.0);

    let opening = keepside_tests::open(&project);
    let holds = json["holds"].as_array().unwrap();
    assert_eq!(holds.len(), opening.holds.len());
    for (told, hold) in holds.iter().zip(&opening.holds) {
        // Full precision, compared as text: the reader of these tests may be off by the last bit.
        for number in [format!("\"peak_n\": {:?}", hold.peak_n), format!("\"work_mj\": {:?}", hold.work_mj)] {
            assert!(text.contains(&number), "{number}");
        }
        assert_eq!(told["name"], hold.name.words(&project));
    }
    // The hold that decides is one that was placed on purpose, and the one that the margin names.
    let deciding = json["verdict"]["deciding_hold"].as_u64().unwrap() as usize;
    assert_eq!(holds[deciding]["kind"], "feature");
    assert_eq!(json["margin"]["deciding_hold"], deciding);
    let decided = format!("Decided   by {}\n", holds[deciding]["name"].as_str().unwrap());
    assert!(check(&demo_path("row-marker")).out.contains(&decided), "{decided}");

    let releases = json["releases"].as_array().unwrap();
    let openings: Vec<f64> = releases.iter().map(|r| r["opening_mm"].as_f64().unwrap()).collect();
    assert!(!openings.is_empty() && openings.is_sorted());
    let stretches = json["stretches"].as_array().unwrap();
    assert_eq!(stretches[0]["from_mm"], 0.0);
    assert_eq!(stretches.last().unwrap()["to_mm"], json["verdict"]["part_length_mm"]);
    assert_eq!(json["bumps"].as_array().unwrap().len(), opening.bumps.len());
}

#[test]
fn a_part_that_is_held_but_cannot_be_pushed_off_unharmed_is_a_fault() {
    let json: Value = serde_json::from_str(&demo_json("row-marker").1).unwrap();
    let stripping = &json["stripping"];
    assert_eq!(stripping["outcome"], "comes-off");
    let number = |value: &Value| value.as_f64().unwrap();
    let ejectors = stripping["ejectors"].as_array().unwrap();
    assert_eq!(ejectors.len(), demo("row-marker").ejectors.len());
    // Force over area, and Kazmer's formula (Injection Mold Design Engineering, p. 352) for a steel pin of
    // 4 mm, 60 mm long; the most on all together is no more than the sum of what each bears at most.
    for pin in ejectors {
        let force_n = number(&pin["force_n"]);
        assert!((number(&pin["pressure_mpa"]) - force_n / 12.566_371).abs() < 1e-6 * force_n);
        let radius_mm = (2.8 * force_n * 3600.0 / (97.409_091 * 200_000.0)).powf(0.25);
        assert!((number(&pin["buckling_mm"]) - 2.0 * radius_mm).abs() < 1e-6);
    }
    let sum_n: f64 = ejectors.iter().map(|pin| number(&pin["force_n"])).sum();
    assert!(number(&stripping["peak_n"]) <= sum_n + 1e-6);
    let released: Vec<f64> =
        stripping["features"].as_array().unwrap().iter().map(|at| number(&at["released_at_mm"])).collect();
    assert!(released.len() == 5 && released.is_sorted(), "{released:?}");

    // A deep undercut holds the better, and stretches the part as it is pushed off.
    let mut project = demo("row-marker");
    let head = project.features.get_mut(&Id(13)).unwrap();
    let FeatureKind::TurnedHead { head_diameter_mm, neck_diameter_mm, .. } = &mut head.kind else {
        panic!("K13 is a turned head")
    };
    *neck_diameter_mm = *head_diameter_mm - 0.6;
    let (_folder, path) = saved(&project);
    let (code, json) = check_json(&path);
    assert_eq!((code, &json["verdict"]["outcome"]), (FAULTY, &Value::from("stays-on-moving")));
    assert_eq!(json["stripping"]["outcome"], "harmed");
    let faults: Vec<&Value> = json["findings"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|finding| finding["severity"] == "fault")
        .collect();
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert_eq!(
        (&faults[0]["rule"], &faults[0]["tags"][0]),
        (&Value::from("strip-strain"), &Value::from("K13"))
    );
    // 0.6 mm over a neck of 4.4 mm.
    assert!((number(&faults[0]["measured"]) - 100.0 * 0.6 / 4.4).abs() < 1e-9, "{faults:?}");

    // Without ejectors it is taken off by hand: worth a note.
    let mut project = demo("row-marker");
    project.ejectors.clear();
    let (_folder, path) = saved(&project);
    let (code, json) = check_json(&path);
    assert_eq!((code, &json["stripping"]["outcome"]), (WELL, &Value::from("no-ejectors")));
    assert_eq!(json["findings"][0]["rule"], "no-ejector");
}

#[test]
fn the_same_project_gives_the_same_json() {
    let again = cli(["check".into(), demo_path("two-sprues-no-keys").into(), "--json".into()]).out;
    assert_eq!(again, demo_json("two-sprues-no-keys").1);
}

#[test]
fn a_layout_that_cannot_be_opened_says_why_in_text_and_json() {
    let mut project = demo("row-marker");
    let here = DVec2::new(100.0, 50.0);
    project.part.runs.insert(Id(1), Run::straight("", here, here, 6.0, 3.0));
    let (_folder, path) = saved(&project);
    let said = check(&path);
    assert_eq!(said.code, NOT_COMPUTED);
    assert!(said.err.contains("run R1 has no length") && said.err.contains("a.keepside"), "{}", said.err);
    let (code, json) = check_json(&path);
    assert_eq!((code, &json["not_computed"]["reason"]), (NOT_COMPUTED, &Value::from("no-length")));
    assert_eq!((&json["verdict"], &json["holds"]), (&Value::Null, &Value::from(Vec::<Value>::new())));
}

#[test]
fn a_pin_outside_the_channel_is_a_fault_for_both_commands() {
    let mut project = demo("row-marker");
    project.features.get_mut(&Id(12)).unwrap().at = DVec2::new(50.0, 90.0);
    let (folder, path) = saved(&project);
    let words = "turned head K12 stands outside the channel";
    let said = check(&path);
    assert_eq!(said.code, FAULTY, "{}{}", said.out, said.err);
    assert!(said.out.contains(words), "{}", said.out);

    let sheets = folder.path().join("sheets");
    let said = cli(["sheet".into(), path.into(), "--out".into(), sheets.clone().into()]);
    assert_eq!(said.code, FAULTY);
    assert!(said.err.contains(words) && said.err.contains("run check before drilling"), "{}", said.err);
    assert_eq!(fs::read_dir(sheets).unwrap().count(), said.out.lines().count());
}

#[test]
fn a_file_that_cannot_be_read_is_named_with_line_and_cure() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bent.keepside");
    fs::write(&path, write_text(&demo("row-marker")).replace("width_mm: 7.6", "width_mm: -7.6")).unwrap();
    let sheets = folder.path().join("sheets");
    for said in
        [check(&path), cli(["sheet".into(), path.clone().into(), "--out".into(), sheets.clone().into()])]
    {
        assert_eq!((said.code, said.out.as_str()), (NOT_COMPUTED, ""));
        let words =
            "keepside-cli: line 14, column 39: the channel width is -7.6 mm; it must be from 0.2 to 200 mm";
        assert!(said.err.starts_with(words) && said.err.contains("bent.keepside"), "{}", said.err);
    }
    assert!(!sheets.exists());
}

#[test]
fn arguments_that_make_no_command_lead_to_the_help() {
    for args in [vec![], vec!["weigh"], vec!["check"], vec!["check", "--loud", "a"], vec!["sheet", "a"]] {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        assert_eq!(run(&args, &mut out, &mut err), NOT_COMPUTED, "{args:?}");
        let err = String::from_utf8(err).unwrap();
        assert!(out.is_empty() && err.contains("see keepside-cli --help"), "{err}");
    }
    let help = cli(["--help".into()]);
    assert!(help.code == WELL && help.out.contains("Exit code") && help.err.is_empty());
    let version = cli(["--version".into()]);
    assert_eq!((version.code, version.out.as_str()), (WELL, "keepside-cli 0.1.0\n"));
}

#[test]
fn the_sheets_are_written_and_listed() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("for/the/bench");
    let said = cli(["sheet".into(), demo_path("row-marker").into(), "--out".into(), out.clone().into()]);
    assert_eq!(said.code, WELL, "{}", said.err);
    let usual: Vec<_> = Output::ALL.into_iter().filter(|output| output.is_usual()).collect();
    let expected = keepside_sheet::export(&demo("row-marker"), &usual, None).unwrap();
    let listed: Vec<&str> = said.out.lines().collect();
    assert_eq!(listed.len(), expected.len());
    for (line, export) in listed.iter().zip(&expected) {
        assert!(line.ends_with(&export.file_name), "{line}");
        assert_eq!(fs::read(line).unwrap(), export.bytes);
    }
    // A second time over the first.
    assert_eq!(
        cli(["sheet".into(), demo_path("row-marker").into(), "--out".into(), out.into()]).out,
        said.out
    );
}

#[test]
fn sheets_that_cannot_be_written_say_so() {
    let folder = tempfile::tempdir().unwrap();
    let occupied = folder.path().join("occupied");
    fs::write(&occupied, "x").unwrap();
    let said = cli(["sheet".into(), demo_path("row-marker").into(), "--out".into(), occupied.clone().into()]);
    assert_eq!((said.code, said.out.as_str()), (NOT_COMPUTED, ""));
    assert!(said.err.contains("occupied cannot be made"), "{}", said.err);
    assert_eq!(fs::read(&occupied).unwrap(), b"x");
}

#[test]
fn names_in_a_project_cannot_command_the_terminal() {
    let mut project = demo("row-marker");
    project.name = "a\u{1b}[2J\nb".to_owned();
    project.sprues.get_mut(&Id(8)).unwrap().name = "x\u{7}".repeat(100);
    let (_folder, path) = saved(&project);
    let out = check(&path).out;
    assert!(!out.contains(['\u{1b}', '\u{7}']), "{out}");
    assert!(out.starts_with("a [2J b ("), "{out}");
}
