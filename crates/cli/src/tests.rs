//! The JSON against its page, and stripping in both forms.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

use keepside_engine::opening::{BumpAt, EjectorLoad, Residual, StripAt, StripOutcome, Stripping};
use keepside_engine::{Analysis, Cancel, analyse};
use keepside_model::{Ended, Id, Project, Trial};
use serde_json::Value;

use super::{SCHEMA, report, text};

/// What the schema page says.
const PAGE: &str = include_str!("../../../assets/handbook/json.md");

fn demo(name: &str) -> Project {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo-projects");
    keepside_store::load(&folder.join(name).with_extension("keepside")).expect("the demo projects open")
}

fn analysed(project: &Project) -> Analysis {
    analyse(project, &Cancel::default(), &mut |_| {})
}

/// How the row marker might come off its ejectors: one feature, one ejector, one bump.
fn stripping(outcome: StripOutcome) -> Stripping {
    Stripping {
        outcome,
        words: format!("The part {outcome}"),
        features: vec![StripAt {
            item: Id(13),
            force_n: 61.25,
            strain: 0.031,
            allowed: 0.0336,
            released_at_mm: Some(1.75),
            broke: false,
        }],
        ejectors: vec![EjectorLoad {
            item: Id(18),
            force_n: 40.5,
            pressure_mpa: 3.25,
            mark_mpa: 18.0,
            buckling_mm: 0.76,
        }],
        peak_n: 81.0,
        force: vec![(0.0, 0.0), (0.5, 81.0), (1.75, 0.0)],
        bumps: vec![BumpAt { item: Id(8), run: Id(1), along_mm: 49.0, height_mm: 4.56, kink_deg: 12.5 }],
        flatness_mm: 0.45,
        residual: vec![Residual { run: Id(1), points: vec![(0.0, 0.0), (190.0, 0.45)] }],
        effort: keepside_engine::opening::Effort::default(),
    }
}

fn json(project: &Project, analysis: &Analysis) -> Value {
    let report = report::of(Path::new("a.keepside"), project, analysis, 0);
    serde_json::to_value(report).expect("it is JSON")
}

/// Every key of an object and the objects in it, with list elements taken as one.
fn keys_of(value: &Value, into: &mut BTreeSet<String>) {
    match value {
        Value::Object(fields) => fields.iter().for_each(|(key, value)| {
            into.insert(key.clone());
            keys_of(value, into);
        }),
        Value::Array(values) => values.iter().for_each(|value| keys_of(value, into)),
        _ => {}
    }
}

/// Compares the keys of a command's JSON with its part of the page.
#[track_caller]
fn check_section(command: &str, found: &BTreeSet<String>) {
    let head = format!("# JSON of `keepside-cli {command} ");
    let section =
        PAGE.split("\n# ").find(|part| format!("# {}", part.trim_start_matches("# ")).starts_with(&head));
    let rows = section.expect("the page has it").lines().filter(|line| line.starts_with("| `"));
    let mut documented = BTreeSet::new();
    for row in rows {
        let columns: Vec<&str> = row.split('|').collect();
        let type_and_meaning = format!("{}{}", columns[2], columns[3]);
        let named = columns[1].split('`').skip(1).step_by(2).map(|key| (key, true));
        // Keys of small objects are named in the type or the meaning of their list.
        let inner = type_and_meaning.split('`').skip(1).step_by(2).map(|key| (key, false));
        for (key, is_key) in named.chain(inner.collect::<Vec<_>>()) {
            let key = key.trim_end_matches("[]").rsplit('.').next().unwrap_or_default();
            if is_key || found.contains(key) {
                documented.insert(key.to_owned());
            }
        }
    }
    let undocumented: Vec<_> = found.difference(&documented).collect();
    assert!(undocumented.is_empty(), "{command}: not in json.md: {undocumented:?}");
    let missing: Vec<_> = documented.difference(found).collect();
    assert!(missing.is_empty(), "{command}: in json.md only: {missing:?}");
}

/// What a command writes to standard output, and its exit code.
fn told(line: &[&str]) -> (String, u8) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = super::run(line, &mut out, &mut err);
    assert!(code < 2, "{}", String::from_utf8_lossy(&err));
    (String::from_utf8(out).expect("it is text"), code)
}

#[test]
fn many_shots_are_told_in_full_and_the_same_on_any_number_of_threads() {
    let folder = tempfile::tempdir().expect("a folder can be made");
    let place = |name: &str| folder.path().join(name).to_str().expect("its name is text").to_owned();
    let mut project = demo("two-sprues-no-keys");
    let seen = |ended| Trial { ended: Some(ended), ..Trial::default() };
    project.trials = vec![seen(Ended::Fixed), seen(Ended::Moving), seen(Ended::ShortShot)];
    let (file, taught) = (place("a.keepside"), place("b.keepside"));
    keepside_store::save(Path::new(&file), &project).expect("it can be saved");
    let mut suggested = BTreeSet::new();
    let few = ["--sets", "2", "--shots", "1"];

    for (command, more) in [
        ("chances", &[][..]),
        ("suggest", &[][..]),
        ("suggest", &["--good", "90", "--most", "1"][..]),
        ("learn", &["--next", "--out", &taught][..]),
    ] {
        let line = |json: &'static [&'static str], threads: &'static str| -> Vec<&str> {
            let whole = [&[command, &file][..], &few, &["--threads", threads], json].concat();
            if json.is_empty() || threads == "1" { [&whole[..], more].concat() } else { whole }
        };
        let (one, _) = told(&line(&["--json"], "1"));
        let value: Value = serde_json::from_str(&one).expect("it is JSON");
        assert_eq!(value["schema"], SCHEMA);
        let mut found = BTreeSet::new();
        keys_of(&value, &mut found);
        if command == "suggest" {
            // One has changes, the other has found something.
            suggested.extend(found);
        } else {
            check_section(command, &found);
        }
        if command == "chances" {
            assert_eq!(one, told(&line(&["--json"], "3")).0, "{command}");
        }
    }
    check_section("suggest", &suggested);
    // What was learned has been taken in, and can be used in the next project.
    let learned = keepside_store::load(Path::new(&taught)).expect("it was written");
    assert_eq!(learned.trials.iter().filter(|trial| trial.is_taken_in).count(), 2);
    let next = place("c.keepside");
    let (words, _) = told(&["learn", &file, "--from", &taught, "--out", &next]);
    assert!(words.starts_with("values that rest on 2 shots taken in\n"), "{words}");
    assert_eq!(keepside_store::load(Path::new(&next)).expect("it was written").holds, learned.holds);
}

#[test]
fn many_shots_are_told_in_words_that_fit_a_terminal() {
    let folder = tempfile::tempdir().expect("a folder can be made");
    let file = folder.path().join("a.keepside").to_str().expect("its name is text").to_owned();
    let mut project = demo("row-marker");
    project.trials = vec![Trial { ended: Some(Ended::Fixed), ..Trial::default() }, Trial::default()];
    keepside_store::save(Path::new(&file), &project).expect("it can be saved");
    for (command, words) in [
        (&["chances"][..], "good shots in a row"),
        (&["suggest"], "As drawn   "),
        (&["suggest", "--good", "100", "--most", "0"], "layouts shot"),
        (&["learn", "--next"], "not counted: nothing was noted that tells of the holds"),
    ] {
        let line = [&command[..1], &[file.as_str(), "--sets", "2", "--shots", "1"], &command[1..]].concat();
        let (text, _) = told(&line);
        assert!(text.contains(words), "{text}");
        assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
    }
}

#[test]
fn every_key_of_the_json_is_documented_and_every_documented_one_is_there() {
    let mut found = BTreeSet::new();
    let project = demo("row-marker");
    let mut analysis = analysed(&project);
    analysis.stripping = Some(Arc::new(stripping(StripOutcome::ComesOff)));
    keys_of(&json(&project, &analysis), &mut found);
    // A layout with faults, and one that cannot be opened.
    let mut project = demo("two-sprues-no-keys");
    keys_of(&json(&project, &analysed(&project)), &mut found);
    project.part.runs.values_mut().for_each(|run| run.points.truncate(1));
    keys_of(&json(&project, &analysed(&project)), &mut found);

    check_section("check", &found);
    assert!(PAGE.starts_with(&format!("# JSON of `keepside-cli check PROJECT --json`, schema {SCHEMA}\n")));
}

#[test]
fn stripping_is_told_in_full_in_json_and_text() {
    let project = demo("row-marker");
    let mut analysis = analysed(&project);
    analysis.stripping = None;
    assert_eq!(json(&project, &analysis)["stripping"], Value::Null);
    assert!(!text::of(Path::new("a"), &project, &analysis).contains("Stripping"));
    for (outcome, key) in [
        (StripOutcome::ComesOff, "comes-off"),
        (StripOutcome::Harmed, "harmed"),
        (StripOutcome::Torn, "torn"),
        (StripOutcome::StaysOn, "stays-on"),
        (StripOutcome::NoEjectors, "no-ejectors"),
    ] {
        analysis.stripping = Some(Arc::new(stripping(outcome)));
        let told = &json(&project, &analysis)["stripping"];
        assert_eq!((&told["outcome"], &told["peak_n"]), (&Value::from(key), &Value::from(81.0)));
        assert_eq!(
            (&told["features"][0]["tag"], &told["features"][0]["released_at_mm"]),
            (&Value::from("K13"), &Value::from(1.75))
        );
        assert_eq!(
            (&told["ejectors"][0]["tag"], &told["ejectors"][0]["buckling_mm"]),
            (&Value::from("E18"), &Value::from(0.76))
        );
        assert_eq!(told["force"][1]["force_n"], 81.0);
        assert_eq!(told["residual"][0]["points"][1]["out_of_flat_mm"], 0.45);
        let text = text::of(Path::new("a"), &project, &analysis);
        assert!(text.contains(&format!("Stripping The part {outcome}\n")), "{text}");
        assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
        let numbers = [
            "at most 81.0 N on all ejectors together",
            "turned head K13 left inner                61.2       3.1       3.4      1.75\n",
            "ejector E18 left outer                    40.5       3.2      18.0      4.00      0.76\n",
            "What stays bent after ejection           at mm   bump mm    kink °\n",
            "S8 left gate                              49.0      4.56      12.5\n",
        ];
        let is_told = |words: &&&str| text.contains(**words);
        let expected = if outcome == StripOutcome::NoEjectors { 0 } else { numbers.len() };
        assert_eq!(numbers.iter().filter(is_told).count(), expected, "{text}");
    }
    let mut held = stripping(StripOutcome::StaysOn);
    held.features[0] = StripAt { released_at_mm: None, broke: true, ..held.features[0] };
    analysis.stripping = Some(Arc::new(held));
    let told = json(&project, &analysis);
    assert_eq!(told["stripping"]["features"][0]["released_at_mm"], Value::Null);
    let text = text::of(Path::new("a"), &project, &analysis);
    assert!(text.contains("      3.1       3.4         –  a piece breaks off\n"), "{text}");
}

#[test]
fn the_shot_is_told_in_full_in_json_and_text() {
    let mut project = demo("row-marker");
    let told = json(&project, &analysed(&project));
    let shot = &told["shot"];
    assert_eq!((&shot["not_filled"], &shot["not_cooled"]), (&Value::Null, &Value::Null));
    assert_eq!(shot["filling"]["is_full"], true);
    assert_eq!(shot["filling"]["welds"].as_array().map(Vec::len), Some(6));
    assert_eq!(shot["cooling"]["freezing"][0]["tag"], "S8");
    assert_eq!(shot["venting"]["places"][2]["ways"], Value::from(vec!["V26", "E21"]));
    let clamp_n = shot["press"]["projected_mm2"].as_f64().expect("a number") * 20.0;
    assert_eq!(shot["press"]["clamp_n"].as_f64(), Some(clamp_n));

    project.press.shot_volume_mm3 = 3000.0;
    project.moulding.own_mould_temperature_c = Some(85.0);
    let analysis = analysed(&project);
    let told = json(&project, &analysis);
    assert_eq!(told["shot"]["filling"]["short"][0]["why"], "shot-used-up");
    assert!(told["shot"]["not_cooled"].as_str().is_some_and(|words| words.contains("85 °C")));
    let text = text::of(Path::new("a"), &project, &analysis);
    assert!(
        text.contains("the press has no more melt") && text.contains("Cooling   not computed: the mould")
    );
    assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");

    project.sprues.clear();
    let told = json(&project, &analysed(&project));
    assert!(told["shot"]["not_filled"].as_str().is_some_and(|words| words.contains("no gate")));
    assert_eq!((&told["shot"]["venting"], &told["shot"]["press"]), (&Value::Null, &Value::Null));
}
