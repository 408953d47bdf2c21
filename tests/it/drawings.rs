//! Drawings out and in again: what is written is what is there, and what others write is read as they mean it.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use std::path::PathBuf;

use glam::DVec2;
use keepside_engine::outline::{self, Piece};
use keepside_model::{EndShape, Half, Id, Project};
use keepside_sheet::import::{self, Choice, Imported, ReadAs};
use keepside_sheet::{Output, export};
use keepside_tests::projects::{demo, random_project};

/// Coordinates are written with nine decimals, and so are radii and angles in degrees: the ends of an arc of
/// 100 mm lie within 2e-9 mm, those of a quarter that only its ends and radius tell within a few times that.
const WRITTEN_MM: f64 = 1e-8;

const DEMOS: [&str; 3] = ["row-marker", "drip-peg", "two-sprues-no-keys"];

/// A part with a bend, a tee, square and round ends, and a ring.
fn branched() -> Project {
    let mut project = Project::blank();
    let run = project.part.runs[&Id(1)].clone();
    let point = |x, y, bulge| keepside_model::RunPoint { at: DVec2::new(x, y), bulge, ..run.points[0] };
    let with = |points, start, end| keepside_model::Run { points, start, end, ..run.clone() };
    let (round, square) = (EndShape::Round, EndShape::Square);
    let runs = [
        with(vec![point(20.0, 20.0, 0.0), point(80.0, 20.0, 0.3), point(110.0, 45.0, 0.0)], square, round),
        with(vec![point(50.0, 20.0, 0.0), point(50.0, 70.0, 0.0)], round, round),
        with(vec![point(150.0, 80.0, 1.0), point(180.0, 80.0, 1.0), point(150.0, 80.0, 0.0)], round, round),
    ];
    project.part.runs = (1..).map(Id).zip(runs).collect();
    project
}

fn drawn(project: &Project, output: Output) -> [Vec<u8>; 2] {
    let files = export(project, &[output], None).unwrap();
    let [moving, fixed] = <[_; 2]>::try_from(files).unwrap();
    [moving.bytes, fixed.bytes]
}

fn read(output: Output, bytes: &[u8]) -> Imported {
    let read = if output == Output::Svg { import::svg(bytes) } else { import::dxf(bytes) };
    read.unwrap()
}

/// Places along the pieces of one layer, ends and between, mm; and the length of the pieces together.
fn sampled(read: &Imported, layer: &str) -> (Vec<DVec2>, f64) {
    let chains = || read.chains.iter().filter(|chain| chain.layer == layer);
    let mut places = Vec::new();
    for (from, bulge, to) in chains().flat_map(|chain| chain.pieces().collect::<Vec<_>>()) {
        if bulge == 0.0 {
            places.extend((0..=8).map(|step| from.lerp(to, f64::from(step) / 8.0)));
            continue;
        }
        let centre = from.midpoint(to) + (to - from).perp() * ((1.0 - bulge * bulge) / (4.0 * bulge));
        let turn = |step: i32| DVec2::from_angle(4.0 * bulge.atan() * f64::from(step) / 64.0);
        places.extend((0..=64).map(|step| centre + turn(step).rotate(from - centre)));
    }
    (places, chains().map(import::Chain::length_mm).sum())
}

/// How far a place is from the boundary of the part, seen on a plate, mm.
fn off_mm(project: &Project, half: Half, place: DVec2) -> f64 {
    let plan = project.plates.seen_on_face(half, place);
    let to_piece = |piece: &Piece| match *piece {
        Piece::Line { from, to } => {
            let along = to - from;
            let share = ((plan - from).dot(along) / along.length_squared()).clamp(0.0, 1.0);
            plan.distance(from + along * share)
        }
        Piece::Arc { centre, radius_mm, from_rad, sweep_rad } => {
            let turned = ((plan - centre).to_angle() - from_rad) * sweep_rad.signum();
            let ends =
                [from_rad, from_rad + sweep_rad].map(|rad| centre + DVec2::from_angle(rad) * radius_mm);
            if turned.rem_euclid(std::f64::consts::TAU) <= sweep_rad.abs() {
                (plan.distance(centre) - radius_mm).abs()
            } else {
                plan.distance(ends[0]).min(plan.distance(ends[1]))
            }
        }
    };
    let outline = outline::of(project);
    outline.rings.iter().flat_map(|ring| &ring.pieces).map(to_piece).fold(f64::MAX, f64::min)
}

fn boundary_mm(project: &Project) -> f64 {
    let length = |piece: &Piece| match *piece {
        Piece::Line { from, to } => from.distance(to),
        Piece::Arc { radius_mm, sweep_rad, .. } => radius_mm * sweep_rad.abs(),
    };
    outline::of(project).rings.iter().flat_map(|ring| &ring.pieces).map(length).sum()
}

#[test]
fn the_channel_comes_back_from_both_formats_as_it_was() {
    let projects = DEMOS.map(demo).into_iter().chain([branched()]);
    for project in projects {
        for output in [Output::Dxf, Output::Svg] {
            for (half, bytes) in [Half::Moving, Half::Fixed].into_iter().zip(drawn(&project, output)) {
                let read = read(output, &bytes);
                let rings = outline::of(&project).rings.len();
                let chains: Vec<_> = read.chains.iter().filter(|chain| chain.layer == "CHANNEL").collect();
                assert_eq!(chains.len(), rings, "{} {output:?}", project.name);
                assert!(chains.iter().all(|chain| chain.closed), "joined end to end");
                let (places, length_mm) = sampled(&read, "CHANNEL");
                for place in places {
                    let off_mm = off_mm(&project, half, place);
                    assert!(off_mm < WRITTEN_MM, "{} {output:?} {half:?}: {off_mm} at {place}", project.name);
                }
                assert!((length_mm - boundary_mm(&project)).abs() < 1e-6, "nothing is missing or twice");
            }
        }
    }
}

/// The project with the runs that a drawing's layer comes to.
fn remade(project: &Project, read: &Imported, choice: &Choice) -> Option<Project> {
    let made = read.runs(choice).unwrap();
    let mut remade = project.clone();
    remade.part.runs = (1..).map(Id).zip(made.runs).collect();
    made.refused.is_empty().then_some(remade)
}

/// That two projects have the same boundary, drawn again.
#[track_caller]
fn same_channel(output: Output, project: &Project, other: &Project) {
    let [bytes, _] = drawn(other, output);
    let again = read(output, &bytes);
    let (places, length_mm) = sampled(&again, "CHANNEL");
    for place in places {
        let off_mm = off_mm(project, Half::Moving, place);
        assert!(off_mm < WRITTEN_MM, "{} {output:?}: {off_mm} mm at {place}", project.name);
    }
    assert!((length_mm - boundary_mm(project)).abs() < 1e-6);
}

#[test]
fn runs_made_of_what_was_written_write_the_same_again() {
    let mut strips = 0;
    let projects = DEMOS.map(demo).into_iter().chain([branched()]);
    for project in projects {
        let point = project.part.runs.values().next().unwrap().points[0];
        let alike = project.part.runs.values().flat_map(|run| &run.points);
        let is_one_width = { alike }.all(|p| p.width_mm == point.width_mm);
        for output in [Output::Dxf, Output::Svg] {
            let [bytes, _] = drawn(&project, output);
            let read = read(output, &bytes);
            let choice = |read_as, layer: &str| Choice {
                read_as,
                width_mm: point.width_mm,
                depth_mm: point.depth_mm,
                layers: vec![layer.to_owned()],
                ..Choice::default()
            };
            // Ends are round where not told otherwise; the branched part has a square one.
            let is_round = project
                .part
                .runs
                .values()
                .all(|run| run.start == EndShape::Round && run.end == EndShape::Round);
            if is_one_width && is_round {
                let lines = remade(&project, &read, &choice(ReadAs::CentreLines, "CHANNEL-CENTRE"));
                same_channel(output, &project, &lines.expect("centre lines are never refused here"));
            }
            if let Some(outlines) = remade(&project, &read, &choice(ReadAs::Outlines, "CHANNEL")) {
                same_channel(output, &project, &outlines);
                strips += 1;
            }
        }
    }
    assert!(strips >= 4, "only {strips} drawings of strips");
}

#[test]
fn drawings_by_other_libraries_come_to_the_lengths_and_places_they_say() {
    // tests/oracle/drawings/make.py: ezdxf 1.4.5 and svgelements 1.9.6, four digits printed.
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("oracle/drawings");
    let mut table =
        csv::ReaderBuilder::new().comment(Some(b'#')).from_path(folder.join("drawings.csv")).unwrap();
    let mut rows = 0;
    for row in table.records() {
        let row = row.unwrap();
        let (file, layer) = (&row[0], &row[1]);
        let number = |column: usize| row[column].parse::<f64>().unwrap();
        let read = import::by_name(file, &std::fs::read(folder.join(file)).unwrap()).unwrap();
        let (places, length_mm) = sampled(&read, layer);
        // An arc that keeps within the tolerance of a curve may be shorter or longer by a little of its length.
        let permitted_mm = 2.0 * import::CURVE_TOLERANCE_MM + 3e-4 * number(2);
        assert!(
            (length_mm - number(2)).abs() < permitted_mm,
            "{file} {layer}: {length_mm} mm, not {}",
            number(2)
        );
        let low = places.iter().copied().reduce(DVec2::min).unwrap();
        let high = places.into_iter().reduce(DVec2::max).unwrap();
        for (found, column) in [low.x, low.y, high.x, high.y].into_iter().zip(3..) {
            let off_mm = (found - number(column)).abs();
            // Places are a sixty-fourth of an arc apart, which cuts off 0.0003 of the radius, below 20 mm.
            assert!(
                off_mm < import::CURVE_TOLERANCE_MM + 6e-3,
                "{file} {layer}: {found}, not {}",
                number(column)
            );
        }
        rows += 1;
    }
    assert_eq!(rows, 17, "every layer of every file");
}

#[test]
fn every_random_project_is_written_and_what_is_written_can_be_read() {
    let names = ["", "Ω中%%^<&>\"'(", "\u{0}\u{1b}]]>", "name \\U+0041"].map(str::to_owned);
    for seed in 0..200_u64 {
        let project = random_project(&[seed, 77, seed * 31], &names);
        for output in [Output::Dxf, Output::Svg] {
            for bytes in drawn(&project, output) {
                if output == Output::Dxf {
                    assert!(bytes.is_ascii(), "R12 holds ASCII only");
                }
                let read = read(output, &bytes);
                let (low, high) = read.extent_mm();
                let plate = DVec2::new(project.plates.width_mm, project.plates.height_mm);
                assert!(
                    low.max_element() <= 1e-6 && (high - plate).min_element() >= -1e-6,
                    "the plate is there"
                );
                assert_eq!(drawn(&project, output), drawn(&project, output), "the same bytes again");
            }
        }
    }
}
