//! The outline and its clearances against an independent geometry library.
//!
//! Source: `tests/oracle/clearances_shapely.csv`, written by `clearances_shapely.py` with Shapely, whose version
//! the file names.

use glam::DVec2;
use keepside_engine::outline::{GapTo, gaps, of};
use keepside_model::{EndShape, FeatureKind, Half, Id, KeyingFeature, Project, Run, RunPoint};

/// Printed to 12 digits; both sides round coordinates of up to 200 mm at 10⁻¹⁴ mm.
const PERMITTED_MM: f64 = 1e-6;

struct Case {
    project: Project,
    area_mm2: f64,
    rings: usize,
    gap_mm: f64,
}

fn run(text: &str) -> Run {
    let point = |text: &str| {
        let numbers: Vec<f64> =
            text.split(' ').map(|number| number.parse().expect("the file is well formed")).collect();
        let [x, y, width_mm] = numbers[..] else { panic!("{text:?} is not x, y, width") };
        RunPoint { at: DVec2::new(x, y), width_mm, depth_mm: 3.0, bulge: 0.0 }
    };
    let points = text.split(';').map(point).collect();
    Run { name: String::new(), points, start: EndShape::Square, end: EndShape::Square }
}

fn cases() -> Vec<Case> {
    let text = include_str!("../oracle/clearances_shapely.csv");
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let case = |record: csv::StringRecord| {
        let number = |column: usize| record[column].parse::<f64>().expect("the file is well formed");
        let mut project = Project::blank();
        project.part.runs = (1..).map(Id).zip(record[1].split('|').map(run)).collect();
        let pin = KeyingFeature::new(
            DVec2::new(number(2), number(3)),
            Half::Moving,
            FeatureKind::PlainPost { diameter_mm: number(4) },
            1.0,
        );
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
fn areas_and_clearances_agree_with_shapely() {
    let cases = cases();
    assert_eq!(cases.len(), 200);
    for (index, case) in cases.iter().enumerate() {
        let outline = of(&case.project);
        let off_mm2 = (outline.area_mm2 - case.area_mm2).abs();
        // A wall is under 1000 mm long in all.
        assert!(
            off_mm2 < 1000.0 * PERMITTED_MM,
            "case {index}: area {} not {}",
            outline.area_mm2,
            case.area_mm2
        );
        assert_eq!(outline.rings.len(), case.rings, "case {index}");

        let at = case.project.features[&Id(100)].at;
        let gaps = gaps(&case.project, &outline);
        let walls = gaps.iter().filter(|gap| matches!(gap.to, GapTo::ChannelEdge | GapTo::ChannelEnd(_)));
        let walls = walls.map(|gap| gap.gap_mm);
        // The nearest wall: from outside the gap nearest to nought.
        let gap_mm = if outline.contains(at) {
            walls.fold(f64::INFINITY, f64::min)
        } else {
            walls.fold(f64::NEG_INFINITY, f64::max)
        };
        assert!(
            (gap_mm - case.gap_mm).abs() < PERMITTED_MM,
            "case {index}: gap {gap_mm} not {}",
            case.gap_mm
        );
    }
}

#[test]
fn the_cases_cover_pins_within_across_and_outside_the_wall() {
    let cases = cases();
    let count = |is: &dyn Fn(&Case) -> bool| cases.iter().filter(|case| is(case)).count();
    assert!(count(&|case| case.gap_mm > 0.0) > 40);
    assert!(count(&|case| case.gap_mm < 0.0) > 40);
    assert!(count(&|case| case.rings > 1) > 20);
}
