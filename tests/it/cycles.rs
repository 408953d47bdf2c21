//! Drill cycles, run on a small machine of our own that refuses what would break a drill or a clamp.
//!
//! Meaning of the words after ISO 6983-1 (from memory); `tests/readers/cycles.py` reads the same files with
//! another parser.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use std::collections::BTreeMap;

use glam::DVec2;
use keepside_model::{Datum, DrillCycles, Half, Id, Project};
use keepside_sheet::{Depth, HoleRow, Output, export, hole_table};
use keepside_tests::projects::{demo, random_project};

/// What the machine has drilled, and where it is.
#[derive(Default)]
struct Machine {
    at: DVec2,
    /// Height of the drill's tip; not known before the first move.
    z: Option<f64>,
    tool: Option<u32>,
    turning: bool,
    stopped: bool,
    ended: bool,
    feed: Option<f64>,
    /// Drill by comment and tool, place, depth of the tip.
    holes: Vec<(u32, DVec2, f64)>,
    stops: Vec<u32>,
}

/// The words of a line: letter and number; comments away.
fn words(line: &str) -> BTreeMap<char, f64> {
    let mut words = BTreeMap::new();
    let mut rest = line;
    if let Some(start) = rest.find('(') {
        let comment = rest[start..].strip_prefix('(').and_then(|rest| rest.strip_suffix(')'));
        let inside = comment.expect("a comment ends with its line");
        assert!(start == 0 && !inside.contains(['(', ')']), "a comment has a line of its own: {line}");
        return words;
    }
    while let Some(letter) = rest.chars().next() {
        let body = &rest[1..];
        let end = body.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-')).unwrap_or(body.len());
        let number = body[..end].parse().unwrap_or_else(|_| panic!("no number in {line}"));
        assert!(letter.is_ascii_uppercase(), "{line}");
        // Several G words may stand in a line.
        let key = if letter == 'G' && words.contains_key(&'G') { 'H' } else { letter };
        words.insert(key, number);
        rest = body[end..].trim_start();
    }
    words
}

/// Runs a program; panics at what must not be done.
fn run(program: &str, choices: &DrillCycles) -> Machine {
    let mut machine = Machine::default();
    // Three decimals are written.
    let safe_mm = (choices.safe_height_mm * 1000.0).round() / 1000.0;
    let lines: Vec<&str> = program.split("\r\n").collect();
    assert_eq!((lines[0], lines[lines.len() - 2], lines[lines.len() - 1]), ("%", "%", ""));
    for line in &lines[1..lines.len() - 2] {
        assert!(!machine.ended, "nothing comes after the end: {line}");
        assert!(line.is_ascii() && line.len() <= 80, "{line}");
        if line.starts_with("G21") {
            assert_eq!(*line, "G21 G17 G90 G94 G80", "mm, plane, absolute, feed a minute, no cycle");
            continue;
        }
        let words = words(line);
        let word = |letter: char| words.get(&letter).copied();
        machine.feed = word('F').or(machine.feed);
        if let Some(m) = word('M') {
            match m as u32 {
                0 => machine.stopped = true,
                3 => machine.turning = true,
                5 => machine.turning = false,
                6 => {
                    assert!(machine.stopped, "stops before a drill is changed");
                    assert!(!machine.turning, "the spindle stands while a drill is changed");
                    machine.tool = word('T').map(|tool| tool as u32);
                    machine.stops.extend(machine.tool);
                }
                30 => machine.ended = true,
                other => panic!("M{other} is not expected"),
            }
            continue;
        }
        let to = DVec2::new(word('X').unwrap_or(machine.at.x), word('Y').unwrap_or(machine.at.y));
        match (word('G').map(|g| g as u32), word('H').map(|g| g as u32)) {
            (None, _) | (Some(54 | 80), _) => {}
            (Some(0), _) => {
                let z = word('Z').or(machine.z).expect("a height comes before a move");
                let up_only = to == machine.at && machine.z.is_none_or(|from| z >= from);
                let at_height = z >= safe_mm && machine.z.is_some_and(|from| from >= safe_mm);
                assert!(up_only || at_height, "rapid below the safe height: {line}");
                (machine.at, machine.z) = (to, Some(z));
            }
            (Some(98), Some(cycle @ (81 | 83))) => {
                let (bottom, retract) = (word('Z').unwrap(), word('R').unwrap());
                assert_eq!(to, machine.at, "the cycle begins over its hole");
                assert!(machine.z.is_some_and(|z| z >= safe_mm), "from the safe height");
                assert!(retract > 0.0 && retract <= safe_mm && bottom < 0.0, "{line}");
                assert!(cycle == 81 || word('Q').unwrap() > 0.0);
                assert_eq!(machine.feed, choices.feed_mm_min.map(|feed| (feed * 1000.0).round() / 1000.0));
                assert!(machine.turning || choices.spindle_rpm.is_none(), "the spindle turns");
                machine.holes.push((machine.tool.expect("a drill is in"), to, bottom));
            }
            other => panic!("{other:?} is not expected: {line}"),
        }
    }
    assert!(machine.ended && !machine.turning && machine.z.is_some_and(|z| z >= safe_mm));
    machine
}

/// The zero of a plate's sheet, mm from its lower left corner seen on its face.
fn zero(project: &Project, half: Half) -> DVec2 {
    match project.sheet.datum {
        Datum::Centre => DVec2::new(project.plates.width_mm, project.plates.height_mm) / 2.0,
        Datum::LowerLeft => DVec2::ZERO,
        Datum::GuidePin(_) => {
            project.datum_pin().map_or(DVec2::ZERO, |(_, at)| project.plates.seen_on_face(half, at))
        }
    }
}

fn files(project: &Project) -> [String; 2] {
    let files = export(project, &[Output::DrillCycles], None).unwrap();
    <[_; 2]>::try_from(files).unwrap().map(|file| String::from_utf8(file.bytes).unwrap())
}

/// Every hole of the table, but those to check, is drilled once, where it is, and deep enough, not more.
#[track_caller]
fn drills_what_the_table_says(project: &Project) -> usize {
    let choices = &project.sheet.drill_cycles;
    let mut drilled = 0;
    for (half, program) in [Half::Moving, Half::Fixed].into_iter().zip(files(project)) {
        let machine = run(&program, choices);
        let (check, rows): (Vec<HoleRow>, Vec<HoleRow>) = hole_table(project, half)
            .into_iter()
            .partition(|row| row.drill_mm.is_none() || row.note.contains("CHECK"));
        let mut left = machine.holes.clone();
        for row in &rows {
            let place = project.place(row.id).unwrap();
            let at = project.plates.seen_on_face(half, place) - zero(project, half);
            let found = left.iter().position(|(_, hole, bottom)| {
                let thickness_mm = project.plates.thickness_mm(half);
                // The point of a 118° drill is 0.3 of its diameter high; through holes go 1 mm beyond it.
                let point_mm = row.drill_mm.unwrap() / 2.0 / 59_f64.to_radians().tan();
                let deep_mm = match row.depth {
                    Depth::Through => thickness_mm + 1.0,
                    Depth::Blind { depth_mm } => depth_mm,
                };
                (*hole - at).abs().max_element() <= 0.000_501 && (bottom + deep_mm + point_mm).abs() < 0.001
            });
            let found = found.unwrap_or_else(|| panic!("{} is not drilled", row.tag));
            left.remove(found);
        }
        assert!(left.is_empty(), "more is drilled than the table says: {left:?}");
        for row in &check {
            assert!(program.contains(&format!("LEFT OUT: {},", row.tag)), "{} is named as left out", row.tag);
        }
        // One change a drill.
        let mut drills: Vec<f64> = rows.iter().filter_map(|row| row.drill_mm).collect();
        drills.sort_by(f64::total_cmp);
        drills.dedup();
        assert_eq!(machine.stops.len(), drills.len());
        assert!(program.contains("DRY RUN") && program.contains("PARTING FACE UP"));
        drilled += rows.len();
    }
    drilled
}

#[test]
fn the_machine_drills_the_holes_of_the_demo_projects() {
    for name in ["row-marker", "drip-peg", "two-sprues-no-keys"] {
        let mut project = demo(name);
        assert!(export(&project, &[Output::DrillCycles], None).is_err(), "off unless wanted");
        let pin = project.holes.iter().find(|(_, hole)| hole.purpose == keepside_model::HoleUse::GuidePin);
        let pin = pin.map_or(Id(999), |(id, _)| *id);
        for datum in [Datum::LowerLeft, Datum::Centre, Datum::GuidePin(pin)] {
            project.sheet.datum = datum;
            for (feed_mm_min, spindle_rpm) in [(None, None), (Some(60.0), Some(900.0))] {
                project.sheet.drill_cycles =
                    DrillCycles { wanted: true, feed_mm_min, spindle_rpm, ..DrillCycles::default() };
                assert!(drills_what_the_table_says(&project) > 8, "{name}");
                let says = files(&project)[0].contains("NO FEED IS CHOSEN");
                assert_eq!(says, feed_mm_min.is_none());
            }
        }
    }
}

#[test]
fn the_machine_drills_random_projects_without_harm() {
    let names = ["", "a (b) % ;\nG0 Z-5", "Ω中"].map(str::to_owned);
    let mut drilled = 0;
    for seed in 0..300_u64 {
        let mut project = random_project(&[seed, 5, seed * 17], &names);
        let choices = &mut project.sheet.drill_cycles;
        choices.wanted = true;
        if choices.retract_mm > choices.safe_height_mm {
            let refused = export(&project, &[Output::DrillCycles], None).unwrap_err().to_string();
            assert!(refused.contains("safe height"), "{refused}");
            continue;
        }
        drilled += drills_what_the_table_says(&project);
    }
    assert!(drilled > 10, "{drilled}");
}
