//! Closed forms, symmetries and brute force.

use std::collections::BTreeMap;
use std::f64::consts::PI;

use glam::DVec2;
use keepside_model::{
    EndShape, FeatureKind, Half, Id, KeyingFeature, Project, Run, RunPoint, Sprue, ThreadSize,
};
use proptest::prelude::*;

use super::*;

fn point(x: f64, y: f64, width_mm: f64, bulge: f64) -> RunPoint {
    RunPoint { at: DVec2::new(x, y), width_mm, depth_mm: 3.0, bulge }
}

fn run(points: Vec<RunPoint>, ends: EndShape) -> Run {
    Run { name: String::new(), points, start: ends, end: ends }
}

fn straight(from: (f64, f64), to: (f64, f64), width_mm: f64, ends: EndShape) -> Run {
    run(vec![point(from.0, from.1, width_mm, 0.0), point(to.0, to.1, width_mm, 0.0)], ends)
}

fn project(runs: Vec<Run>) -> Project {
    let mut project = Project::blank();
    project.part.runs = (1..).map(Id).zip(runs).collect();
    project
}

#[track_caller]
fn outline(runs: Vec<Run>) -> Outline {
    let outline = of(&project(runs));
    for ring in &outline.rings {
        assert_eq!(ring.pieces.len(), ring.walls.len());
        let edges: Vec<_> = ring.edges().collect();
        for (edge, next) in edges.iter().zip(edges.iter().cycle().skip(1)) {
            let (end, start) = (edge.from.is_finite() && edge.to.is_finite(), edge.to.distance(next.from));
            assert!(end && start < 3e-6, "a gap of {start} mm in {ring:?}");
        }
    }
    assert!(outline.area_mm2.is_finite());
    outline
}

/// Checks the area to a nanometre of wall and the number of rings.
#[track_caller]
fn check(runs: Vec<Run>, area_mm2: f64, rings: usize) -> Outline {
    let outline = outline(runs);
    let got = outline.area_mm2;
    assert!((got - area_mm2).abs() < 1e-6 * area_mm2.max(1.0), "area {got} instead of {area_mm2}");
    assert_eq!(outline.rings.len(), rings, "{:?}", outline.rings);
    outline
}

#[test]
fn a_square_ended_bar_is_a_rectangle_of_four_lines() {
    let outline = check(vec![straight((10.0, 20.0), (50.0, 20.0), 6.0, EndShape::Square)], 240.0, 1);
    assert_eq!(outline.rings[0].pieces.len(), 4, "{:?}", outline.rings[0]);
    assert_eq!(outline.bounds(), Some((DVec2::new(10.0, 17.0), DVec2::new(50.0, 23.0))));
}

#[test]
fn a_round_ended_bar_is_a_capsule_of_two_lines_and_two_arcs() {
    let outline =
        check(vec![straight((10.0, 20.0), (50.0, 20.0), 6.0, EndShape::Round)], 240.0 + 9.0 * PI, 1);
    assert_eq!(outline.rings[0].pieces.len(), 4, "{:?}", outline.rings[0]);
    let (low, high) = outline.bounds().expect("it has a part");
    assert!(low.distance(DVec2::new(7.0, 17.0)) < 1e-9 && high.distance(DVec2::new(53.0, 23.0)) < 1e-9);
}

#[test]
fn crossing_bars_share_their_crossing_once() {
    let bars = || {
        vec![
            straight((0.0, 0.0), (40.0, 0.0), 6.0, EndShape::Square),
            straight((20.0, -20.0), (20.0, 20.0), 4.0, EndShape::Square),
        ]
    };
    let outline = check(bars(), 40.0 * 6.0 + 40.0 * 4.0 - 24.0, 1);
    assert_eq!(outline.rings[0].pieces.len(), 12);
    // At an angle of 30 degrees the shared rhombus has the area 6 · 4 / sin 30°.
    let mut slanted = bars();
    slanted[1] = straight((0.0, 0.0), (0.0, 0.0), 4.0, EndShape::Square);
    let way = DVec2::from_angle(PI / 6.0) * 30.0;
    slanted[1].points[0].at = DVec2::new(20.0, 0.0) - way;
    slanted[1].points[1].at = DVec2::new(20.0, 0.0) + way;
    check(slanted, 240.0 + 240.0 - 48.0, 1);
}

#[test]
fn a_taper_is_a_trapezium() {
    let taper = run(vec![point(0.0, 0.0, 8.0, 0.0), point(30.0, 0.0, 4.0, 0.0)], EndShape::Square);
    check(vec![taper.clone()], 180.0, 1);
    check(vec![Run { end: EndShape::Round, ..taper }], 180.0 + 2.0 * PI, 1);
}

#[test]
fn two_half_circles_make_a_ring_with_a_hole() {
    for ends in [EndShape::Square, EndShape::Round] {
        let ring = run(
            vec![point(70.0, 50.0, 6.0, 1.0), point(30.0, 50.0, 6.0, 1.0), point(70.0, 50.0, 6.0, 0.0)],
            ends,
        );
        let outline = check(vec![ring], PI * (23.0 * 23.0 - 17.0 * 17.0), 2);
        let mut areas: Vec<f64> = outline.rings.iter().map(Ring::area_mm2).collect();
        areas.sort_by(f64::total_cmp);
        assert!(areas[0] < 0.0 && areas[1] > 0.0, "the hole runs clockwise, the outside counter-clockwise");
        assert!(outline.contains(DVec2::new(50.0, 70.0)) && !outline.contains(DVec2::new(50.0, 50.0)));
        let (at, distance_mm) = outline.nearest_edge(DVec2::new(50.0, 71.0)).expect("it has an edge");
        assert!((distance_mm - 2.0).abs() < 1e-9 && at.distance(DVec2::new(50.0, 73.0)) < 1e-9);
    }
}

#[test]
fn a_corner_is_rounded_on_its_outer_side() {
    // Two legs of 30 mm at a right angle: their square bodies overlap in a square of half the width, and
    // the outer corner gets a quarter circle.
    let elbow = |y: f64| {
        let points = vec![point(0.0, 0.0, 6.0, 0.0), point(30.0, 0.0, 6.0, 0.0), point(30.0, y, 6.0, 0.0)];
        run(points, EndShape::Square)
    };
    let area_mm2 = 2.0 * 180.0 - 9.0 + 9.0 * PI / 4.0;
    check(vec![elbow(30.0)], area_mm2, 1);
    check(vec![elbow(-30.0)], area_mm2, 1);
    // Folded back on itself: the bar, with a half circle at the fold.
    let points = vec![point(0.0, 0.0, 6.0, 0.0), point(30.0, 0.0, 6.0, 0.0), point(0.0, 0.0, 6.0, 0.0)];
    let fold = run(points, EndShape::Square);
    // The run comes back to where it began, so it is closed and has a half circle there as well.
    check(vec![fold], 180.0 + 9.0 * PI, 1);
}

#[test]
fn an_arc_that_meets_straight_legs_smoothly_adds_no_corner() {
    // Up, over a half circle to the right of radius 10, down again.
    let hairpin = run(
        vec![
            point(0.0, 0.0, 4.0, 0.0),
            point(0.0, 25.0, 4.0, -1.0),
            point(20.0, 25.0, 4.0, 0.0),
            point(20.0, 0.0, 4.0, 0.0),
        ],
        EndShape::Square,
    );
    let outline = check(vec![hairpin], 200.0 + PI / 2.0 * (144.0 - 64.0), 1);
    assert_eq!(outline.rings[0].pieces.len(), 8);
}

#[test]
fn an_arc_tighter_than_half_the_width_comes_out_beyond_its_centre() {
    // Half circle of radius 2, half width 5: a half disc of 7 on the outside, of 3 beyond the centre.
    let tight = run(vec![point(2.0, 0.0, 10.0, 1.0), point(-2.0, 0.0, 10.0, 0.0)], EndShape::Square);
    check(vec![tight], PI / 2.0 * (49.0 + 9.0), 1);
    // Exactly half the width: the inner wall is a point.
    let touching = run(vec![point(2.0, 0.0, 4.0, 1.0), point(-2.0, 0.0, 4.0, 0.0)], EndShape::Square);
    check(vec![touching], PI / 2.0 * 16.0, 1);
}

#[test]
fn an_arc_of_changing_width_is_within_its_tolerance() {
    // Width 4 to 8 over a quarter circle of radius 20: area = ∫ width ds = mean width · length.
    let arc =
        run(vec![point(20.0, 0.0, 4.0, (PI / 8.0).tan()), point(0.0, 20.0, 8.0, 0.0)], EndShape::Square);
    let length_mm = PI * 10.0;
    let outline = outline(vec![arc]);
    // Each wall is no longer than 1.3 times the centre line and off by no more than the tolerance.
    let permitted = 2.0 * 1.3 * length_mm * TAPERED_ARC_TOLERANCE_MM;
    let off = (outline.area_mm2 - 6.0 * length_mm).abs();
    assert!(off < permitted, "the area is off by {off} mm²");
}

#[test]
fn an_arc_that_narrows_past_twice_its_radius_closes_at_its_centre() {
    // Half width 4 to 3 about a radius of 3.125: the inner wall passes the centre at seven eighths.
    for (x, y) in [(0.0, 0.0), (3e-8, -2e-7), (4000.0, -4000.0)] {
        let points = vec![point(30.0 + x, 25.0 + y, 8.0, -0.5), point(25.0, 25.0, 6.0, 0.0)];
        let mut arc = run(points, EndShape::Square);
        arc.points[1].at += DVec2::new(x, y).trunc();
        let outline = outline(vec![arc]);
        // The strip, by the mean width, and beyond the centre what the inner wall sweeps there twice over.
        let sweep_rad = 4.0 * 0.5_f64.atan();
        let strip_mm2 = 7.0 * 3.125 * sweep_rad;
        // ∫ (half width − radius)² dφ from the wide end to seven eighths of the sweep.
        let beyond_mm2 = 0.875_f64.powi(3) / 3.0 * sweep_rad;
        let off = (outline.area_mm2 - strip_mm2 - beyond_mm2).abs();
        assert!(off < 4.0 * 8.0 * TAPERED_ARC_TOLERANCE_MM, "off by {off} mm² in {outline:?}");
    }
}

#[test]
fn runs_that_touch_or_coincide_make_no_cracks() {
    let bar = |a: (f64, f64), b: (f64, f64)| straight(a, b, 6.0, EndShape::Square);
    let round = |a: (f64, f64), b: (f64, f64)| straight(a, b, 6.0, EndShape::Round);
    // End to end, the same bar twice, overlapping lengthwise.
    check(vec![bar((0.0, 0.0), (20.0, 0.0)), bar((20.0, 0.0), (40.0, 0.0))], 240.0, 1);
    check(vec![bar((0.0, 0.0), (20.0, 0.0)), bar((20.0, 0.0), (0.0, 0.0))], 120.0, 1);
    check(vec![round((0.0, 0.0), (20.0, 0.0)), round((0.0, 0.0), (20.0, 0.0))], 120.0 + 9.0 * PI, 1);
    check(vec![round((0.0, 0.0), (20.0, 0.0)), round((10.0, 0.0), (40.0, 0.0))], 240.0 + 9.0 * PI, 1);
    // A T, its stem ending at the centre line, at the wall from within and at the wall from outside.
    let across = || bar((-20.0, 0.0), (20.0, 0.0));
    for y in [0.0, 3.0, -3.0] {
        check(vec![across(), bar((0.0, y), (0.0, 23.0))], 240.0 + 120.0, 1);
    }
    // A round end that just touches the far wall from inside.
    check(vec![across(), round((0.0, 0.0), (0.0, 23.0))], 240.0 + 120.0 + 4.5 * PI, 1);
    // Two bars side by side with a common wall, and two that touch in one corner.
    check(vec![across(), bar((-20.0, 6.0), (20.0, 6.0))], 480.0, 1);
    check(vec![across(), bar((20.0, 6.0), (40.0, 6.0))], 240.0 + 120.0, 2);
    // Round ends that touch in one point stay two.
    check(vec![round((0.0, 0.0), (10.0, 0.0)), round((16.0, 0.0), (26.0, 0.0))], 2.0 * (60.0 + 9.0 * PI), 2);
    // A frame of four bars has a hole.
    let frame = vec![
        bar((0.0, 0.0), (40.0, 0.0)),
        bar((40.0, 0.0), (40.0, 30.0)),
        bar((40.0, 30.0), (0.0, 30.0)),
        bar((0.0, 30.0), (0.0, 0.0)),
    ];
    // Four squares of half the width, one at each corner, are counted twice.
    check(frame, 6.0 * 140.0 - 4.0 * 9.0, 2);
}

#[test]
fn many_arms_from_one_point_make_one_star() {
    for count in [3, 5, 6, 8, 12] {
        let arm = |index: i32| {
            let way = DVec2::from_angle(2.0 * PI * f64::from(index) / f64::from(count)) * 40.0;
            straight((0.0, 0.0), (way.x, way.y), 4.0, EndShape::Round)
        };
        let star = outline((0..count).map(arm).collect());
        assert_eq!(star.rings.len(), 1, "{count} arms");
        // Beyond r = half width / sin(half the angle between arms) the arms are apart.
        let half_angle = PI / f64::from(count);
        let inner = f64::from(count) * 4.0 / half_angle.tan();
        let area_mm2 = inner + f64::from(count) * (4.0 * (40.0 - 2.0 / half_angle.tan()) + 2.0 * PI);
        assert!((star.area_mm2 - area_mm2).abs() < 1e-6, "{count}: {} not {area_mm2}", star.area_mm2);
    }
}

#[test]
fn four_hundred_pieces_make_one_outline() {
    // Twenty wavy runs of twenty pieces, crossed by nothing, and one run across them all.
    let wave = |row: i32| {
        let places = (0..=20).map(|i| point(f64::from(i) * 10.0, f64::from(row * 10 + i % 2 * 3), 4.0, 0.2));
        run(places.collect(), EndShape::Round)
    };
    let mut runs: Vec<Run> = (0..20).map(wave).collect();
    runs.push(straight((100.0, -10.0), (100.0, 210.0), 6.0, EndShape::Square));
    let outline = outline(runs);
    assert_eq!(outline.rings.len(), 1);
}

#[test]
fn points_that_coincide_and_runs_of_no_length_do_no_harm() {
    let doubled = run(
        vec![
            point(0.0, 0.0, 6.0, 0.5),
            point(0.0, 0.0, 6.0, 0.0),
            point(20.0, 0.0, 6.0, 0.0),
            point(20.0, 0.0, 6.0, 0.0),
            point(40.0, 0.0, 6.0, 0.0),
            point(40.0, 0.0, 6.0, -1.0),
        ],
        EndShape::Square,
    );
    let outline = check(vec![doubled], 240.0, 1);
    assert_eq!(outline.rings[0].pieces.len(), 4);
    for points in [vec![], vec![point(3.0, 4.0, 6.0, 0.0)], vec![point(3.0, 4.0, 6.0, 1.0); 3]] {
        check(vec![run(points, EndShape::Round)], 0.0, 0);
    }
    let step = run(
        vec![
            point(0.0, 0.0, 6.0, 0.0),
            point(20.0, 0.0, 6.0, 0.0),
            point(20.0, 0.0, 10.0, 0.0),
            point(40.0, 0.0, 10.0, 0.0),
        ],
        EndShape::Square,
    );
    assert_eq!(check(vec![step], 320.0, 1).rings[0].pieces.len(), 8);
}

#[test]
fn a_polyline_stays_within_its_tolerance() {
    let outline = check(vec![straight((0.0, 0.0), (40.0, 0.0), 6.0, EndShape::Round)], 240.0 + 9.0 * PI, 1);
    let corners = Outline::polyline(&outline.rings[0], 0.01);
    for pair in corners.windows(2) {
        let (_, distance_mm) = outline.nearest_edge(pair[0].midpoint(pair[1])).expect("it has an edge");
        assert!(distance_mm <= 0.01 + 1e-12, "{distance_mm}");
    }
    assert!(corners.len() < 60);
}

#[test]
fn the_channel_is_found_at_a_point() {
    let mut elbow = run(
        vec![point(0.0, 0.0, 6.0, 0.0), point(30.0, 0.0, 4.0, 0.0), point(30.0, 30.0, 4.0, 0.0)],
        EndShape::Square,
    );
    elbow.points[1].depth_mm = 5.0;
    let project = project(vec![elbow]);
    let at = |x, y| channel_at(&project, DVec2::new(x, y)).expect("there is a channel");
    let middle = at(15.0, 1.0);
    assert!((middle.along_mm - 15.0).abs() < 1e-9 && (middle.width_mm - 5.0).abs() < 1e-9);
    assert!((middle.depth_mm - 4.0).abs() < 1e-9 && (middle.offset_mm - 1.0).abs() < 1e-9 && middle.inside);
    let right = at(31.5, 20.0);
    assert!((right.along_mm - 50.0).abs() < 1e-9 && (right.offset_mm + 1.5).abs() < 1e-9 && right.inside);
    assert!(!at(-0.5, 0.0).inside, "a square end is cut off at its point");
    assert!(!at(15.0, 2.6).inside);
    assert_eq!(depth_at(&project, DVec2::new(15.0, 1.0)).map(|depth| (depth * 1e6).round()), Some(4e6));
}

fn pin(x: f64, y: f64, diameter_mm: f64) -> KeyingFeature {
    KeyingFeature::new(DVec2::new(x, y), Half::Moving, FeatureKind::PlainPost { diameter_mm }, 2.0)
}

fn gap_to(project: &Project, feature: u32, to: GapTo) -> Option<f64> {
    let gaps = gaps(project, &of(project));
    gaps.into_iter().find(|gap| gap.item == Id(feature) && gap.to == to).map(|gap| gap.gap_mm)
}

#[test]
fn gaps_of_a_pin_in_a_capsule_are_exact() {
    let mut project = project(vec![straight((0.0, 0.0), (40.0, 0.0), 6.0, EndShape::Round)]);
    project.features = BTreeMap::from([(Id(10), pin(37.0, 0.5, 3.0)), (Id(11), pin(30.0, 0.5, 2.0))]);
    let mut opposite = pin(37.0, -0.5, 1.0);
    opposite.half = Half::Fixed;
    project.features.insert(Id(12), opposite);
    let sprue = Sprue {
        name: String::new(),
        at: DVec2::new(34.0, 4.5),
        half: Half::Fixed,
        diameter_mm: 2.0,
        length_mm: 10.0,
        draft_deg: 0.0,
        finish: keepside_model::Finish::Polished,
        measured: None,
    };
    project.sprues.insert(Id(20), sprue);
    let close = |to, expected: f64| {
        let got = gap_to(&project, 10, to).expect("there is such a gap");
        assert!((got - expected).abs() < 1e-9, "{to:?}: {got} instead of {expected}");
    };
    close(GapTo::ChannelEdge, 3.0 - 0.5 - 1.5);
    // The half circle is nearest where it meets the wall: at (40, 3).
    close(GapTo::ChannelEnd(Id(1)), 9.0_f64.hypot(0.0).min(3.0_f64.hypot(2.5)) - 1.5);
    close(GapTo::Feature(Id(11)), 7.0 - 1.5 - 1.0);
    close(GapTo::Feature(Id(12)), 1.0 - 1.5 - 0.5);
    close(GapTo::Sprue(Id(20)), 5.0 - 1.5 - 1.0);
    close(GapTo::Roof, 1.0);
    close(GapTo::FarEdge, 3.0 + 0.5 - 1.5);
}

#[test]
fn a_pin_that_leaves_the_channel_has_a_negative_gap() {
    let mut project = project(vec![straight((0.0, 0.0), (40.0, 0.0), 6.0, EndShape::Square)]);
    project.features = BTreeMap::from([(Id(10), pin(20.0, 2.0, 3.0)), (Id(11), pin(20.0, 5.0, 3.0))]);
    assert!((gap_to(&project, 10, GapTo::ChannelEdge).expect("inside") + 0.5).abs() < 1e-9);
    assert!((gap_to(&project, 11, GapTo::ChannelEdge).expect("outside") + 3.5).abs() < 1e-9);
    assert_eq!(gap_to(&project, 11, GapTo::Roof), None);
}

#[test]
fn plan_diameters_are_the_largest_that_stand_in_the_channel() {
    let set = |thread| plan_diameter_mm(&FeatureKind::set_screw(thread));
    let cap = |thread| plan_diameter_mm(&FeatureKind::cap_head(thread));
    assert_eq!(set(ThreadSize::M2_5), 2.5);
    // Head diameters of ISO 4762, plain heads, from memory and as in the tables of screws.
    let heads = ThreadSize::ALL.map(cap);
    assert_eq!(heads, [3.8, 4.5, 5.5, 7.0, 8.5, 10.0, 13.0]);
}

/// Lines and arcs of a few runs, as coarse numbers so that things coincide often.
fn some_runs() -> impl Strategy<Value = Vec<Run>> {
    let coordinate = || (0..12_i32).prop_map(|steps| f64::from(steps) * 5.0);
    let width = || (1..5_i32).prop_map(|steps| f64::from(steps) * 2.0);
    let bulge = prop_oneof![3 => Just(0.0), 1 => Just(1.0), 1 => Just(-0.5), 1 => -1.0..1.0];
    let place = (coordinate(), coordinate(), bulge);
    let ends = prop_oneof![Just(EndShape::Square), Just(EndShape::Round)];
    let one = (prop::collection::vec(place, 2..5), width(), width(), any::<bool>(), ends);
    let one = one.prop_map(|(places, first, second, tapers, ends)| {
        let width = |index: usize| if tapers && index % 2 == 1 { second } else { first };
        let points = places.iter().enumerate().map(|(i, &(x, y, b))| point(x, y, width(i), b));
        run(points.collect(), ends)
    });
    prop::collection::vec(one, 1..5)
}

fn moved(runs: &[Run], how: impl Fn(DVec2) -> DVec2) -> Vec<Run> {
    let mut runs = runs.to_vec();
    runs.iter_mut().flat_map(|run| &mut run.points).for_each(|point| point.at = how(point.at));
    runs
}

/// The same runs, drawn from their other ends.
fn reversed(runs: &[Run]) -> Vec<Run> {
    let turn = |run: &Run| {
        let mut points: Vec<RunPoint> = run.points.iter().rev().copied().collect();
        let count = points.len();
        for (turned, point) in points.iter_mut().zip(run.points[..count - 1].iter().rev()) {
            turned.bulge = -point.bulge;
        }
        Run { points, start: run.end, end: run.start, ..run.clone() }
    };
    runs.iter().map(turn).collect()
}

/// Whether a point lies in any of the shapes whose union is meant, and how far from all their edges.
fn in_shapes(shapes: &[shape::Shape], point: DVec2) -> (bool, f64) {
    let inside = shapes.iter().any(|shape| shape.depth(point).0 > 0.0);
    let edges = shapes.iter().flat_map(|shape| &shape.edges);
    let distance_mm = edges.map(|edge| edge.nearest(point).1.distance(point)).fold(f64::INFINITY, f64::min);
    (inside, distance_mm)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    #[test]
    fn the_outline_holds_exactly_what_the_widened_runs_hold(
        runs in some_runs(),
        probes in prop::collection::vec((-10.0..65.0, -10.0..65.0), 60),
    ) {
        let project = project(runs);
        let (outline, shapes) = (of(&project), shape::shapes(&project));
        for (x, y) in probes {
            let point = DVec2::new(x, y);
            let (inside, distance_mm) = in_shapes(&shapes, point);
            if distance_mm > 1e-5 {
                prop_assert_eq!(outline.contains(point), inside, "at {}", point);
            }
        }
    }

    #[test]
    fn numbers_at_the_ends_of_their_ranges_do_no_harm(
        places in prop::collection::vec((-5000.0..5000.0, -5000.0..5000.0, -1.0..1.0, 0.2..200.0), 2..6),
        square in any::<bool>(),
    ) {
        let points = places.iter().map(|&(x, y, bulge, width_mm)| point(x, y, width_mm, bulge));
        let ends = if square { EndShape::Square } else { EndShape::Round };
        let outline = outline(vec![run(points.collect(), ends)]);
        prop_assert!(outline.area_mm2 > 0.0);
    }

    #[test]
    fn moving_turning_and_reversing_change_no_area_and_no_gap(
        runs in some_runs(),
        by in (-500.0..500.0, -500.0..500.0),
        turn_rad in -PI..PI,
        pin_at in (0.0..55.0, 0.0..55.0),
    ) {
        let area = |runs: Vec<Run>| of(&project(runs)).area_mm2;
        let edge_gap = |runs: Vec<Run>, at: DVec2| {
            let mut project = project(runs);
            project.features.insert(Id(99), pin(at.x, at.y, 2.0));
            let gaps = gaps(&project, &of(&project)).into_iter();
            let gaps = gaps.filter(|gap| gap.to == GapTo::ChannelEdge || matches!(gap.to, GapTo::ChannelEnd(_)));
            let gaps = gaps.map(|gap| gap.gap_mm);
            // A part without length has no edge to be near to.
            gaps.reduce(f64::max).unwrap_or(0.0)
        };
        let (by, way, at) = (DVec2::from(by), DVec2::from_angle(turn_rad), DVec2::from(pin_at));
        let (base, gap) = (area(runs.clone()), edge_gap(runs.clone(), at));
        let turn = |point: DVec2| way.rotate(point) + by;
        let turned = moved(&runs, turn);
        // Walls that just meet by rounding may or may not enclose slivers of rounding's size.
        prop_assert!((area(turned.clone()) - base).abs() < 1e-4, "{} turned, {} before", area(turned), base);
        prop_assert!((area(reversed(&runs)) - base).abs() < 1e-4, "{} reversed", area(reversed(&runs)));
        prop_assert!((edge_gap(turned, turn(at)) - gap).abs() < 1e-5);
        prop_assert!((edge_gap(reversed(&runs), at) - gap).abs() < 1e-5);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(40) })]

    #[test]
    fn gaps_agree_with_dense_sampling_of_the_edge(
        runs in some_runs(),
        pin_at in (0.0..55.0, 0.0..55.0),
    ) {
        let mut project = project(runs);
        project.features.insert(Id(99), pin(pin_at.0, pin_at.1, 2.0));
        let outline = of(&project);
        let at = DVec2::from(pin_at);
        prop_assume!(!outline.rings.is_empty());
        let (_, distance_mm) = outline.nearest_edge(at).expect("it has an edge");
        // Every edge of every shape, sampled; it is a wall where one side is in the part and one is not.
        let shapes = shape::shapes(&project);
        let mut sampled_mm = f64::INFINITY;
        for edge in shapes.iter().flat_map(|shape| &shape.edges) {
            for step in 0..=400 {
                let t = f64::from(step) / 400.0;
                let (point, across) = (edge.at(t), edge.direction(t).perp() * 1e-4);
                let inside = |point| shapes.iter().any(|shape| shape.depth(point).0 > 0.0);
                if point.distance(at) < sampled_mm && inside(point + across) != inside(point - across) {
                    sampled_mm = point.distance(at);
                }
            }
        }
        // The longest edge is under 130 mm long, so that samples are under 0.33 mm apart.
        prop_assert!(distance_mm <= sampled_mm + 1e-4, "{} against {}", distance_mm, sampled_mm);
        if sampled_mm.is_finite() {
            prop_assert!(sampled_mm - distance_mm < 0.17, "{} against {}", distance_mm, sampled_mm);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(60) })]

    /// The grids answer as the plain questions do.
    #[test]
    fn quick_answers_are_the_plain_ones(
        runs in some_runs(),
        places in prop::collection::vec((-5.0..60.0, -5.0..60.0), 40),
    ) {
        let project = project(runs);
        let outline = of(&project);
        let lookup = Lookup::new(&project, &outline);
        for at in places.into_iter().map(DVec2::from) {
            let clear = outline.nearest_edge(at).map(|(_, mm)| if outline.contains(at) { mm } else { -mm });
            prop_assert_eq!(lookup.clear(at).map(|near| near.distance_mm), clear, "at {}", at);
            prop_assert_eq!(lookup.channel_at(at), channel_at(&project, at));
            prop_assert_eq!(lookup.depth_at(at), depth_at(&project, at));
            let ends = |wall| matches!(wall, Wall::End(_));
            let (quick, plain) = (lookup.nearest_end(at), outline.nearest_wall(at, ends));
            prop_assert_eq!(quick.map(|near| (near.at, near.distance_mm, near.wall)), plain);
            let (quick, plain) = (lookup.nearest_side(at), outline.nearest_wall(at, |wall| !ends(wall)));
            prop_assert_eq!(quick.map(|near| (near.at, near.distance_mm, near.wall)), plain);
        }
    }

    /// The far side against points all along the walls.
    #[test]
    fn the_far_side_agrees_with_dense_sampling(
        runs in some_runs(),
        at in (0.0..55.0, 0.0..55.0),
        way_rad in -PI..PI,
    ) {
        let project = project(runs);
        let outline = of(&project);
        let lookup = Lookup::new(&project, &outline);
        let (at, towards) = (DVec2::from(at), DVec2::from_angle(way_rad));
        let sides = lookup.edges().iter().filter(|edge| !matches!(edge.wall, Wall::End(_)));
        let samples = sides.flat_map(|edge| (0..=2000).map(|step| edge.at(f64::from(step) / 2000.0)));
        let there = samples.filter(|point| (*point - at).dot(towards) <= 0.0);
        let sampled_mm = there.map(|point| point.distance(at)).fold(f64::INFINITY, f64::min);
        match lookup.far_side(at, towards) {
            None => prop_assert_eq!(sampled_mm, f64::INFINITY),
            Some(far) => {
                prop_assert!((far.at - at).dot(towards) <= 2e-6);
                // Samples are under 0.1 mm apart.
                prop_assert!(far.distance_mm <= sampled_mm + 1e-5);
                prop_assert!(sampled_mm == f64::INFINITY || sampled_mm - far.distance_mm < 0.1);
            }
        }
    }
}
