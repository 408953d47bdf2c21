//! Runs drawn, cut, joined, bent, mirrored, and items arranged: worked by hand, and for any run.
#![expect(clippy::unwrap_used, reason = "a test may stop here")]

use glam::DVec2;
use keepside_model::{Edit, Ejector, EjectorFace, EndShape, Id, Item, Project, Run, RunPoint};
use keepside_session::{
    Across, Align, Asked, Channel, Drawing, MirrorLine, Placed, SnapTo, align, bent, distribute, join,
    measure_snap, middle_of_piece, mirror, mirror_copy, mirrored, on_ray, repeat, run_length_mm, split,
    turned_round, with_point, without_point,
};
use proptest::prelude::*;

const CHANNEL: Channel = Channel { width_mm: 6.0, depth_mm: 3.0 };

fn at(x: f64, y: f64) -> DVec2 {
    DVec2::new(x, y)
}

/// Any run of three to six points that do not coincide.
fn any_run() -> impl Strategy<Value = Run> {
    let point = (-80.0..80.0, -80.0..80.0, 1.0..12.0, 1.0..9.0, -1.0..1.0);
    proptest::collection::vec(point, 3..7)
        .prop_map(|points| {
            let count = points.len();
            let point = |(index, (x, y, width_mm, depth_mm, bulge))| RunPoint {
                at: at(x, y),
                width_mm,
                depth_mm,
                bulge: if index + 1 == count { 0.0 } else { bulge },
            };
            Run {
                name: "arm".to_owned(),
                points: points.into_iter().enumerate().map(point).collect(),
                start: EndShape::Square,
                end: EndShape::Round,
            }
        })
        .prop_filter("points apart", |run| {
            run.points.windows(2).all(|pair| pair[0].at.distance(pair[1].at) > 1.0)
        })
}

#[track_caller]
fn same(a: &Run, b: &Run) {
    assert_eq!((a.points.len(), a.start, a.end, &a.name), (b.points.len(), b.start, b.end, &b.name));
    for (one, other) in a.points.iter().zip(&b.points) {
        let off = one.at.distance(other.at)
            + (one.bulge - other.bulge).abs()
            + (one.width_mm - other.width_mm).abs()
            + (one.depth_mm - other.depth_mm).abs();
        assert!(off < 1e-8, "{one:?} and {other:?}");
    }
}

proptest! {
    #[test]
    fn a_run_cut_and_joined_again_is_the_same(run in any_run(), index in 1_usize..5) {
        prop_assume!(index + 1 < run.points.len());
        let [first, second] = split(&run, index).unwrap();
        prop_assert!((run_length_mm(&first) + run_length_mm(&second) - run_length_mm(&run)).abs() < 1e-9);
        same(&join(&first, &second).unwrap(), &run);
        // Given the other way round it is still one run of the same length.
        let other_way = join(&second, &first).unwrap();
        prop_assert!((run_length_mm(&other_way) - run_length_mm(&run)).abs() < 1e-9);
        // A piece that was turned round is joined as well.
        let turned = join(&first, &turned_round(&second)).unwrap();
        prop_assert!((run_length_mm(&turned) - run_length_mm(&run)).abs() < 1e-9);
    }

    #[test]
    fn turning_a_run_round_twice_changes_nothing(run in any_run()) {
        prop_assert!((run_length_mm(&turned_round(&run)) - run_length_mm(&run)).abs() < 1e-9);
        same(&turned_round(&turned_round(&run)), &run);
    }

    #[test]
    fn a_point_put_in_keeps_length_and_shape(run in any_run(), piece in 0_usize..5, share in 0.1..0.9_f64) {
        prop_assume!(piece + 1 < run.points.len());
        let more = with_point(&run, piece, share).unwrap();
        prop_assert!((run_length_mm(&more) - run_length_mm(&run)).abs() < 1e-9);
        // Halves of the parts lie on the old piece.
        for part in [piece, piece + 1] {
            let middle = middle_of_piece(&more, part).unwrap();
            let on = keepside_session::nearest_on_run(&run, middle).unwrap();
            prop_assert!(on.distance_mm < 1e-7, "{} off", on.distance_mm);
        }
    }

    #[test]
    fn mirroring_twice_changes_nothing_and_keeps_the_length(run in any_run(), angle in 0.0..7.0_f64, x in -50.0..50.0_f64) {
        let line = MirrorLine { at: at(x, 3.0), along: DVec2::from_angle(angle) };
        let Item::Run(once) = mirrored(Item::Run(run.clone()), line) else { panic!("a run stays a run") };
        prop_assert!((run_length_mm(&once) - run_length_mm(&run)).abs() < 1e-6);
        let Item::Run(twice) = mirrored(Item::Run(once), line) else { panic!("a run stays a run") };
        same(&twice, &run);
    }

    #[test]
    fn a_bent_piece_passes_through_where_it_was_pulled(x in 5.0..60.0_f64, sagitta in -0.49..0.49_f64) {
        let run = CHANNEL.run([(at(0.0, 0.0), 0.0), (at(x, 0.0), 0.0)]);
        let through = at(0.5 * x, sagitta * x);
        let bent = bent(&run, 0, through, 0.0).unwrap();
        prop_assert!(middle_of_piece(&bent, 0).unwrap().distance(through) < 1e-9);
    }

    #[test]
    fn typing_and_taking_back_never_fail(keys in "[0-9,.<Ab+\\- \n]{0,40}", px in -100.0..100.0_f64, py in -100.0..100.0_f64) {
        let mut drawing = Drawing::new(CHANNEL);
        for key in keys.chars() {
            match key {
                '\n' => drop(drawing.place(at(px, py))),
                'b' => drop(drawing.take_back()),
                '<' => drawing.other_number(),
                'A' => drawing.toggle_arc(),
                other => drop(drawing.type_character(other)),
            }
            let next = drawing.next(at(px, py));
            prop_assert!(next.at.is_finite() && (-1.0..=1.0).contains(&next.bulge), "{next:?}");
        }
    }
}

#[test]
fn a_point_taken_out_leaves_a_straight_piece_and_never_fewer_than_two() {
    let run = CHANNEL.run([(at(0.0, 0.0), 0.5), (at(10.0, 0.0), 0.3), (at(10.0, 10.0), 0.0)]);
    let less = without_point(&run, 1).unwrap();
    assert_eq!(
        less.points.iter().map(|p| (p.at, p.bulge)).collect::<Vec<_>>(),
        [(at(0.0, 0.0), 0.0), (at(10.0, 10.0), 0.0)]
    );
    assert_eq!(without_point(&less, 0), None);
    assert_eq!(without_point(&run, 3), None);
}

#[test]
fn runs_that_do_not_meet_are_not_joined_and_ends_are_not_cut_off() {
    let one = Run::straight("", at(0.0, 0.0), at(10.0, 0.0), 6.0, 3.0);
    let other = Run::straight("", at(10.1, 0.0), at(20.0, 0.0), 6.0, 3.0);
    assert_eq!(join(&one, &other), None);
    assert_eq!((split(&one, 0), split(&one, 1), split(&one, 7)), (None, None, None));
    assert_eq!(with_point(&one, 0, 0.0), None);
    assert_eq!(with_point(&one, 1, 0.5), None);
}

#[test]
fn numbers_typed_give_length_and_angle_with_a_decimal_comma() {
    let mut drawing = Drawing::new(CHANNEL);
    let type_in = |drawing: &mut Drawing, text: &str| {
        for character in text.chars() {
            if character == '<' { drawing.other_number() } else { assert!(drawing.type_character(character)) }
        }
    };
    assert_eq!(drawing.asked(), Asked::Place);
    type_in(&mut drawing, "20<30,5");
    drawing.place(at(0.0, 0.0));
    assert_eq!(drawing.asked(), Asked::Polar);
    // A length alone goes towards the pointer, also beyond it.
    type_in(&mut drawing, "12,5");
    assert_eq!(drawing.next(at(21.0, 30.5)).at, at(32.5, 30.5));
    type_in(&mut drawing, "<90");
    let next = drawing.next(at(-5.0, 2.0));
    assert_eq!((next.at, next.length_mm, next.angle_deg), (at(20.0, 43.0), 12.5, 90.0));
    drawing.place(at(-5.0, 2.0));
    // An angle alone leaves the length to the pointer.
    type_in(&mut drawing, "<180");
    assert_eq!(drawing.next(at(5.0, 99.0)).at, at(5.0, 43.0));
    assert!(!drawing.type_character('x') && !drawing.type_character('-'));
    assert_eq!(drawing.points().len(), 2);
    // Taking back: the typed characters first, then the points.
    for _ in 0..3 {
        assert!(drawing.take_back());
    }
    assert!(drawing.take_back());
    assert_eq!(drawing.points().len(), 1);
    assert!(drawing.take_back() && !drawing.take_back());
}

#[test]
fn an_arc_takes_its_end_first_and_then_its_bend() {
    let mut drawing = Drawing::new(CHANNEL);
    drawing.place(at(0.0, 0.0));
    drawing.toggle_arc();
    drawing.place(at(20.0, 0.0));
    assert_eq!(drawing.asked(), Asked::Bend);
    // Pulled 4 mm upwards: turns to the right. Radius (10² + 4²) / (2 · 4) = 14.5 mm.
    let next = drawing.next(at(10.0, 4.0));
    assert_eq!(next.bulge, -0.4);
    assert!((next.radius_mm.unwrap() - 14.5).abs() < 1e-12, "{next:?}");
    // A half circle typed by its radius, on the side of the pointer.
    for character in "10".chars() {
        drawing.type_character(character);
    }
    let half = drawing.next(at(10.0, -4.0));
    assert!((half.bulge - 1.0).abs() < 1e-9 && (half.sweep_deg - 180.0).abs() < 1e-6, "{half:?}");
    drawing.place(at(10.0, -4.0));
    // Back to the start by another half circle: a ring.
    drawing.place(at(0.0, 0.0));
    for character in "10".chars() {
        drawing.type_character(character);
    }
    assert_eq!(drawing.place(at(10.0, 4.0)), Placed::Closed);
    let run = drawing.run().unwrap();
    assert!((run_length_mm(&run) - 20.0 * std::f64::consts::PI).abs() < 1e-6);
}

#[test]
fn a_straight_way_back_over_the_only_piece_is_no_ring() {
    let mut drawing = Drawing::new(CHANNEL);
    drawing.place(at(0.0, 0.0));
    drawing.place(at(10.0, 0.0));
    assert_eq!(drawing.place(at(0.0, 0.0)), Placed::GoesOn);
    let mut triangle = Drawing::new(CHANNEL);
    for place in [at(0.0, 0.0), at(10.0, 0.0), at(10.0, 10.0)] {
        triangle.place(place);
    }
    assert_eq!(triangle.place(at(0.004, 0.0)), Placed::Closed);
    assert_eq!(triangle.points()[3].at, at(0.0, 0.0), "to the last digit");
}

#[test]
fn with_shift_directions_are_multiples_of_fifteen_degrees() {
    assert_eq!(on_ray(at(10.0, 10.0), at(30.4, 11.0), 15.0, Some(1.0)), at(30.0, 10.0));
    let diagonal = on_ray(at(0.0, 0.0), at(7.0, 7.3), 15.0, Some(1.0));
    assert!((diagonal.x - diagonal.y).abs() < 1e-6 && (diagonal.length() - 10.0).abs() < 1e-6, "{diagonal}");
    assert_eq!(on_ray(at(5.0, 5.0), at(5.2, -9.3), 15.0, Some(0.5)), at(5.0, -9.5));
}

#[test]
fn starters_have_the_size_that_was_asked_for() {
    let frame = CHANNEL.frame(at(50.0, 40.0), at(60.0, 30.0));
    assert_eq!(run_length_mm(&frame), 180.0);
    assert_eq!(frame.points[0].at, frame.points[4].at);
    let ring = CHANNEL.ring(at(50.0, 40.0), 40.0);
    assert!((run_length_mm(&ring) - 40.0 * std::f64::consts::PI).abs() < 1e-9);
    let [bar, stem] = CHANNEL.tee(at(50.0, 40.0), at(60.0, 30.0));
    assert_eq!((run_length_mm(&bar), run_length_mm(&stem)), (60.0, 30.0));
    assert_eq!(stem.points[1].at, at(50.0, 10.0));
    let [level, upright] = CHANNEL.cross(at(50.0, 40.0), at(60.0, 30.0));
    assert_eq!((run_length_mm(&level), run_length_mm(&upright)), (60.0, 30.0));
}

/// Ejectors of 4 mm E2, E3 and E4 at x = 10, 35 and 80, y = 5, 20 and 9.
fn three() -> (Project, Vec<Id>) {
    let mut project = Project::blank();
    for (id, x, y) in [(2, 10.0, 5.0), (3, 35.0, 20.0), (4, 80.0, 9.0)] {
        let pin = Ejector::new(at(x, y), 4.0, 100.0, 10.0, EjectorFace::Plain);
        project.apply(&Edit::Add(Id(id), Item::Ejector(pin))).unwrap();
    }
    (project, vec![Id(2), Id(3), Id(4)])
}

fn places(project: &Project, ids: &[Id]) -> Vec<(f64, f64)> {
    ids.iter().map(|id| project.place(*id).unwrap().into()).collect()
}

#[test]
fn items_line_up_and_spread_evenly_and_locked_ones_stay() {
    let check = |edit: Edit, expected: [(f64, f64); 3]| {
        let (mut project, ids) = three();
        project.apply(&edit).unwrap();
        assert_eq!(places(&project, &ids), expected, "{}", edit.label());
    };
    let (mut project, ids) = three();
    check(align(&project, &ids, Align::Left).unwrap(), [(10.0, 5.0), (10.0, 20.0), (10.0, 9.0)]);
    check(align(&project, &ids, Align::Centre).unwrap(), [(45.0, 5.0), (45.0, 20.0), (45.0, 9.0)]);
    check(align(&project, &ids, Align::Right).unwrap(), [(80.0, 5.0), (80.0, 20.0), (80.0, 9.0)]);
    check(align(&project, &ids, Align::Top).unwrap(), [(10.0, 20.0), (35.0, 20.0), (80.0, 20.0)]);
    check(align(&project, &ids, Align::Middle).unwrap(), [(10.0, 12.5), (35.0, 12.5), (80.0, 12.5)]);
    check(align(&project, &ids, Align::Bottom).unwrap(), [(10.0, 5.0), (35.0, 5.0), (80.0, 5.0)]);
    check(distribute(&project, &ids, Across::LeftToRight).unwrap(), [(10.0, 5.0), (45.0, 20.0), (80.0, 9.0)]);
    check(
        distribute(&project, &ids, Across::BottomToTop).unwrap(),
        [(10.0, 5.0), (35.0, 20.0), (80.0, 12.5)],
    );
    assert_eq!(distribute(&project, &ids[..2], Across::LeftToRight), None);
    project.apply(&Edit::SetLocked { ids: vec![Id(4)], locked: true }).unwrap();
    check(align(&project, &ids, Align::Bottom).unwrap(), [(10.0, 5.0), (35.0, 5.0), (80.0, 9.0)]);
}

#[test]
fn a_mirror_keeps_the_middle_and_a_copy_has_new_numbers() {
    let (mut project, ids) = three();
    let line = MirrorLine::through_middle(&project, &ids, true).unwrap();
    let mut next = 10;
    let mut fresh = || {
        next += 1;
        Id(next)
    };
    let (copy, added) = mirror_copy(&project, &ids, line, &mut fresh);
    assert_eq!(added, [Id(11), Id(12), Id(13)]);
    let mut copied = project.clone();
    copied.apply(&copy).unwrap();
    assert_eq!(places(&copied, &added), [(80.0, 5.0), (55.0, 20.0), (10.0, 9.0)]);
    project.apply(&mirror(&project, &ids, line)).unwrap();
    assert_eq!(places(&project, &ids), places(&copied, &added));
    // R1 lies level at y = 60.
    let about_run = MirrorLine::of_run(&project, Id(1)).unwrap();
    assert_eq!(about_run.image(at(3.0, 50.0)), at(3.0, 70.0));
}

#[test]
fn repeated_items_stand_a_step_apart() {
    let (mut project, ids) = three();
    let mut next = 10;
    let mut fresh = || {
        next += 1;
        Id(next)
    };
    let (edit, added) = repeat(&project, &ids[..1], at(7.5, -1.0), 3, &mut fresh);
    project.apply(&edit).unwrap();
    assert_eq!(places(&project, &added), [(17.5, 4.0), (25.0, 3.0), (32.5, 2.0)]);
}

#[test]
fn a_measuring_point_goes_to_middles_before_edges() {
    let (project, _) = three();
    let layout = keepside_engine::layout(&project);
    let snap = |x, y| measure_snap(&project, Some(&layout.outline), at(x, y), 1.5);
    assert_eq!(snap(10.6, 5.2), Some((at(10.0, 5.0), SnapTo::Middle(Id(2)))));
    let (edge, to) = snap(12.9, 5.0).unwrap();
    assert!(edge.distance(at(12.0, 5.0)) < 1e-9 && to == SnapTo::EdgeOf(Id(2)), "{edge} {to:?}");
    assert_eq!(snap(40.2, 60.3), Some((at(40.0, 60.0), SnapTo::RunPoint(Id(1)))));
    let (edge, to) = snap(90.0, 63.4).unwrap();
    assert!(edge.distance(at(90.0, 63.0)) < 1e-9 && to == SnapTo::ChannelEdge, "{edge} {to:?}");
    assert_eq!(snap(90.0, 100.0), None);
}
