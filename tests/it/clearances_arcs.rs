//! Outlines with arcs, corners, junctions and loops, and their clearances, against an independent geometry
//! library.
//!
//! Source: `tests/oracle/clearances_arcs_shapely.csv`, written by `clearances_arcs_shapely.py` with Shapely, whose
//! version the file names; the script says how arcs, which Shapely does not know, are made exact.

use glam::DVec2;
use keepside_engine::outline::{GapTo, gaps, of};
use keepside_model::{EndShape, FeatureKind, Half, Id, KeyingFeature, Project, Run, RunPoint};

/// Distances are printed to 12 digits, and exact to 2e-7 mm at corners, else to rounding.
const PERMITTED_MM: f64 = 1e-6;

/// The chords that the areas were computed with keep within 1e-8 mm of at most 1000 mm of wall.
const PERMITTED_MM2: f64 = 1e-5;

struct Case {
    project: Project,
    area_mm2: f64,
    rings: usize,
    gap_mm: f64,
}

fn numbers<const COUNT: usize>(text: &str) -> [f64; COUNT] {
    let numbers: Vec<f64> =
        text.split(' ').map(|number| number.parse().expect("the file is well formed")).collect();
    numbers.try_into().expect("the file is well formed")
}

fn run(text: &str) -> Run {
    let (head, points) = text.split_once(';').expect("the file is well formed");
    let [width_mm, start, end] = numbers(head);
    let point = |text: &str| {
        let [x, y, bulge] = numbers(text);
        RunPoint { at: DVec2::new(x, y), width_mm, depth_mm: 3.0, bulge }
    };
    let shape = |round: f64| if round == 1.0 { EndShape::Round } else { EndShape::Square };
    let points = points.split(';').map(point).collect();
    Run { name: String::new(), points, start: shape(start), end: shape(end) }
}

fn cases() -> Vec<Case> {
    let text = include_str!("../oracle/clearances_arcs_shapely.csv");
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let case = |record: csv::StringRecord| {
        let number = |column: usize| record[column].parse::<f64>().expect("the file is well formed");
        let mut project = Project::blank();
        project.part.runs = (1..).map(Id).zip(record[1].split('|').map(run)).collect();
        let kind = FeatureKind::PlainPost { diameter_mm: number(4) };
        let pin = KeyingFeature::new(DVec2::new(number(2), number(3)), Half::Moving, kind, 1.0);
        project.features.insert(Id(100), pin);
        Case {
            project,
            area_mm2: number(5),
            rings: record[6].parse().expect("the file is well formed"),
            gap_mm: number(7),
        }
    };
    reader.records().map(|record| case(record.expect("the file is well formed"))).collect()
}

#[test]
fn areas_and_clearances_with_arcs_agree_with_shapely() {
    let cases = cases();
    assert_eq!(cases.len(), 200);
    let mut worst = (0.0_f64, 0.0_f64);
    for (index, case) in cases.iter().enumerate() {
        let outline = of(&case.project);
        let off_mm2 = (outline.area_mm2 - case.area_mm2).abs();
        assert!(off_mm2 < PERMITTED_MM2, "case {index}: area {} not {}", outline.area_mm2, case.area_mm2);
        assert_eq!(outline.rings.len(), case.rings, "case {index}");

        let gaps = gaps(&case.project, &outline);
        let walls = gaps.iter().filter(|gap| matches!(gap.to, GapTo::ChannelEdge | GapTo::ChannelEnd(_)));
        let gap_mm = walls.map(|gap| gap.gap_mm).fold(f64::INFINITY, f64::min);
        let off_mm = (gap_mm - case.gap_mm).abs();
        assert!(off_mm < PERMITTED_MM, "case {index}: gap {gap_mm} not {}", case.gap_mm);
        worst = (worst.0.max(off_mm), worst.1.max(off_mm2));
    }
    assert!(worst.0 < PERMITTED_MM && worst.1 < PERMITTED_MM2, "{worst:?}");
}

#[test]
fn the_cases_cover_bends_loops_junctions_and_pins_within_across_and_outside() {
    let cases = cases();
    let count = |is: &dyn Fn(&Case) -> bool| cases.iter().filter(|case| is(case)).count();
    let has_arc = |case: &Case| {
        case.project.part.runs.values().flat_map(|run| &run.points).any(|point| point.bulge != 0.0)
    };
    assert!(count(&has_arc) > 120);
    assert!(count(&|case| case.rings > 1) > 50);
    assert!(count(&|case| case.project.part.runs.len() > 1) > 80);
    let radius = |case: &Case| match case.project.features[&Id(100)].kind {
        FeatureKind::PlainPost { diameter_mm } => 0.5 * diameter_mm,
        _ => 0.0,
    };
    assert!(count(&|case| case.gap_mm > 0.0) > 30, "within");
    assert!(count(&|case| case.gap_mm < 0.0 && case.gap_mm > -2.0 * radius(case)) > 30, "across");
    assert!(count(&|case| case.gap_mm < -2.0 * radius(case)) > 10, "outside");
}
