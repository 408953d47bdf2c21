//! The opening run as a whole: it does not depend on mesh, step or viscosity, keeps its symmetries,
//! balances its energy and refuses what it cannot do.

use glam::DVec2;
use keepside_engine::opening::{
    Cancel, Fineness, HoldState, NotComputed, Opening, Outcome, margin, run, run_with,
};
use keepside_model::{FeatureKind, Half, Id, Project};
use keepside_tests::{add_feature, add_screw, add_sprue, open, strip};

/// Layouts that between them end in nearly every way a straight run can; tearing has a test of its own.
fn layouts() -> Vec<(&'static str, Project)> {
    let bare = strip();
    let mut sprues = bare.clone();
    for x in [60.0, 160.0] {
        add_sprue(&mut sprues, x);
    }
    let with = |pins: &[f64]| {
        let mut project = sprues.clone();
        for x in pins {
            add_screw(&mut project, *x, Half::Moving);
        }
        project
    };
    let mut drafted = with(&[50.0, 170.0]);
    drafted.sprues.values_mut().for_each(|sprue| sprue.draft_deg = 1.0);
    let mut posted = with(&[50.0, 70.0, 150.0, 170.0]);
    add_feature(&mut posted, 110.0, Half::Fixed, FeatureKind::PlainPost { diameter_mm: 3.0 }, 1.8);
    vec![
        ("no keys", sprues.clone()),
        ("one pin near one of two sprues", with(&[40.0])),
        ("four pins close by", with(&[50.0, 70.0, 150.0, 170.0])),
        ("four pins farther off", with(&[40.0, 80.0, 140.0, 180.0])),
        ("behind the gates", with(&[60.0, 160.0])),
        ("drafted sprues", drafted),
        ("a post on the fixed half", posted),
    ]
}

/// Every travel, force and bump of a run by name, and what counts as next to nothing: a hundredth of a
/// travel to let-go, of a capacity, of the flatness that the limits ask for (a millimetre).
fn numbers(opening: &Opening) -> Vec<(String, f64, f64)> {
    let mut numbers = vec![("flatness".to_owned(), opening.flatness_mm, 0.01)];
    for hold in &opening.holds {
        let name = format!("{:?}", hold.name);
        numbers.push((format!("{name} peak"), hold.peak_n, 0.01 * hold.capacity_n));
        numbers.push((format!("{name} travel"), hold.travel_mm, 0.01 * hold.let_go_travel_mm));
        if let HoldState::LetGo { opening_mm } | HoldState::Broke { opening_mm } = hold.state {
            numbers.push((format!("{name} gone at"), opening_mm, 0.01 * hold.let_go_travel_mm));
        }
    }
    for bump in &opening.bumps {
        numbers.push((format!("{} bump", bump.item), bump.height_mm, 0.01));
    }
    numbers
}

#[test]
fn halving_mesh_step_and_viscosity_changes_nothing_by_more_than_two_percent() {
    let half = Fineness { mesh: 2.0, step: 0.5, viscosity: 0.5 };
    let plain = Fineness::default();
    let variants = [
        Fineness { mesh: half.mesh, ..plain },
        Fineness { step: half.step, ..plain },
        Fineness { viscosity: half.viscosity, ..plain },
    ];
    for (name, project) in layouts() {
        let base = open(&project);
        for fineness in variants {
            let finer = run_with(&project, fineness, &Cancel::default()).expect("it opens");
            assert_eq!(base.verdict.outcome, finer.verdict.outcome, "{name}");
            let (coarse, fine) = (numbers(&base), numbers(&finer));
            assert_eq!(coarse.len(), fine.len(), "{name}: another set of holds let go");
            for ((what, a, nothing), (_, b, _)) in coarse.iter().zip(&fine) {
                // 2 %, or next to nothing of its kind: see `numbers`.
                let permitted = (0.02 * a.abs().max(b.abs())).max(*nothing);
                assert!((a - b).abs() <= permitted, "{name}, {fineness:?}, {what}: {a} against {b}");
            }
        }
    }
}

#[test]
fn a_brittle_strip_between_strong_holds_is_torn_and_measured_piece_by_piece() {
    let mut project = strip();
    project.material.break_strain = 0.01;
    let sprue = add_sprue(&mut project, 110.0);
    for x in [50.0, 98.0, 122.0, 170.0] {
        add_screw(&mut project, x, Half::Moving);
    }
    let opening = open(&project);
    assert_eq!(opening.verdict.outcome, Outcome::Torn, "{}", opening.verdict.words);
    assert!(opening.stretches.len() > 1);
    for hold in &opening.holds {
        assert!(hold.travel_mm.is_finite() && hold.travel_mm <= hold.let_go_travel_mm, "{hold:?}");
    }
    assert!(opening.releases.is_sorted_by_key(|release| release.opening_mm));
    assert!(opening.flatness_mm.is_finite());
    // The brittle part of the pieces stays straight: it cannot keep a bend.
    let at_sprue = opening.bumps.iter().filter(|bump| bump.item == sprue);
    at_sprue.for_each(|bump| assert!(bump.height_mm.abs() < 0.5, "{bump:?}"));
}

#[test]
fn a_part_that_nothing_holds_falls_free() {
    let mut project = strip();
    project.part.moving_share = 0.5;
    let opening = open(&project);
    assert_eq!(opening.verdict.outcome, Outcome::FallsFree);
    assert_eq!(opening.verdict.deciding, None);
}

#[test]
fn a_channel_torn_beside_a_feature_is_a_torn_part() {
    let mut project = strip();
    add_sprue(&mut project, 110.0);
    for x in [50.0, 100.0, 120.0, 170.0] {
        add_screw(&mut project, x, Half::Moving);
    }
    // Wide as the channel nearly is, and set into the fixed half: what is left beside it gives way.
    let head = FeatureKind::TurnedHead {
        head_diameter_mm: 5.8,
        neck_diameter_mm: 3.0,
        head_height_mm: 0.8,
        underside_deg: 0.0,
    };
    let cutter = add_feature(&mut project, 140.0, Half::Fixed, head, 1.7);
    let opening = open(&project);
    let hold = keepside_tests::hold_of(&opening, cutter);
    assert_eq!(hold.governed_by, "tear");
    assert!(matches!(hold.state, HoldState::Broke { .. }), "{hold:?}");
    assert_eq!(opening.verdict.outcome, Outcome::Torn);
}

#[test]
fn the_margin_is_a_factor_that_has_been_seen_to_be_good() {
    let good = |project: &Project, factor: f64| {
        let mut scaled = project.clone();
        // Every hold of the fixed half in these layouts scales with these two, but for the few microns
        // over which a sprue's drag builds up.
        scaled.holds.release_factor_fixed *= factor;
        scaled.holds.sprue_drag_turned_mpa *= factor;
        open(&scaled).verdict.outcome == Outcome::StaysOnMoving
    };
    for (name, mut project) in layouts().into_iter().skip(1).take(3) {
        // Friction on the fixed half's plugs is scaled too, and has no input of its own.
        project.material.friction = 0.0;
        let base = open(&project);
        let found = margin(&project, &base, &Cancel::default()).expect("not cancelled");
        let factor = found.factor.expect("it flips somewhere");
        assert!(good(&project, 0.98 * factor), "{name}: {factor}");
        assert!(!good(&project, 1.04 * factor), "{name}: {factor}");
    }
}

#[test]
fn the_energy_balances_within_one_percent() {
    for (name, project) in layouts() {
        let energy = open(&project).energy;
        let sum =
            energy.elastic_mj + energy.plastic_mj + energy.holds_mj + energy.viscous_mj + energy.snap_mj;
        assert!((energy.work_mj - sum).abs() < 0.01 * energy.work_mj, "{name}: {energy:?}");
        // The viscosity that only regularises takes next to nothing; what a sudden jump sets free is no
        // part of it.
        assert!(energy.viscous_mj < 0.02 * energy.work_mj, "{name}: {energy:?}");
    }
}

/// The layout turned end for end about the middle of its run.
fn reversed(project: &Project) -> Project {
    let mut turned = project.clone();
    for run in turned.part.runs.values_mut() {
        run.points.reverse();
    }
    turned
}

/// The layout turned in the plan and moved.
fn rotated(project: &Project) -> Project {
    let turn = |at: DVec2| DVec2::new(30.0, 20.0) + DVec2::from_angle(0.7).rotate(at);
    let mut turned = project.clone();
    turned.part.runs.values_mut().for_each(|run| run.points.iter_mut().for_each(|p| p.at = turn(p.at)));
    turned.sprues.values_mut().for_each(|sprue| sprue.at = turn(sprue.at));
    turned.features.values_mut().for_each(|feature| feature.at = turn(feature.at));
    turned
}

#[test]
fn a_layout_reversed_or_rotated_opens_alike() {
    for (name, project) in layouts() {
        let base = open(&project);
        for other in [reversed(&project), rotated(&project)] {
            let other = open(&other);
            assert_eq!(base.verdict.outcome, other.verdict.outcome, "{name}");
            for ((what, a, nothing), (_, b, _)) in numbers(&base).iter().zip(&numbers(&other)) {
                let permitted = (0.01 * a.abs().max(b.abs())).max(*nothing);
                assert!((a - b).abs() <= permitted, "{name}, {what}: {a} against {b}");
            }
        }
    }
}

#[test]
fn doubling_every_length_follows_the_dimensions() {
    // With moduli, stresses and strengths kept, forces go with the square of a length, work with its cube,
    // travels and bumps with the length, angles not at all. Threads come in sizes, so turned heads stand in
    // for them, and travels that are inputs are doubled with the drawing.
    let head = |size: f64| FeatureKind::TurnedHead {
        head_diameter_mm: 4.0 * size,
        neck_diameter_mm: 3.6 * size,
        head_height_mm: 0.8 * size,
        underside_deg: 50.0,
    };
    let of = |size: f64| {
        let mut project = strip();
        for run in project.part.runs.values_mut() {
            for point in &mut run.points {
                point.at *= size;
                point.width_mm *= size;
                point.depth_mm *= size;
            }
        }
        for x in [60.0, 160.0] {
            let id = add_sprue(&mut project, x * size);
            let sprue = project.sprues.get_mut(&id).expect("just added");
            sprue.at.y *= size;
            sprue.diameter_mm *= size;
            sprue.length_mm *= size;
        }
        for x in [50.0, 150.0] {
            let id = add_feature(&mut project, x * size, Half::Moving, head(size), 2.0 * size);
            project.features.get_mut(&id).expect("just added").at.y *= size;
        }
        project.press.stroke_mm *= size;
        project.holds.tack_travel_mm *= size;
        // Wall drag builds up over 5 µm of roughness, which does not grow with the drawing.
        project.holds.wall_drag_mpa = 0.0;
        project.limits.straightedge_mm *= size;
        open(&project)
    };
    let (one, two) = (of(1.0), of(2.0));
    assert_eq!(one.verdict.outcome, two.verdict.outcome);
    for (a, b) in one.holds.iter().zip(&two.holds) {
        for (what, small, large, power) in [
            ("peak", a.peak_n, b.peak_n, 4.0),
            ("travel", a.travel_mm, b.travel_mm, 2.0),
            ("work", a.work_mj, b.work_mj, 8.0),
        ] {
            let nothing = if what == "work" { 1.0 } else { 0.02 };
            assert!(
                (power * small - large).abs() <= (0.02 * large).max(nothing),
                "{:?} {what}: {small} and {large}",
                a.name
            );
        }
    }
    for (a, b) in one.bumps.iter().zip(&two.bumps) {
        assert!(
            (2.0 * a.height_mm - b.height_mm).abs() <= (0.02 * b.height_mm.abs()).max(0.02),
            "{a:?} {b:?}"
        );
        assert!((a.kink_deg - b.kink_deg).abs() <= (0.02 * b.kink_deg.abs()).max(0.1), "{a:?} {b:?}");
    }
}

#[test]
fn the_same_project_gives_the_same_run_to_the_last_bit() {
    for (_, project) in layouts() {
        assert_eq!(open(&project), open(&project));
    }
}

#[test]
fn frames_go_from_closed_to_full_stroke_and_stay_between_the_halves() {
    for (name, project) in layouts() {
        let opening = open(&project);
        let (first, last) = (&opening.frames[0], opening.frames.last().expect("a last frame"));
        assert_eq!(first.opening_mm, 0.0);
        assert!((last.opening_mm - project.press.stroke_mm).abs() < 1e-9);
        for frame in &opening.frames {
            for point in frame.shapes.iter().flatten() {
                // A tenth for the give of the plastic in contact.
                let inside = -0.1..=frame.opening_mm + 0.1;
                assert!(inside.contains(&f64::from(point.z_mm)), "{name}: {point:?} at {}", frame.opening_mm);
            }
        }
    }
}

#[test]
fn extreme_but_permitted_numbers_never_panic() {
    let mut tiny = strip();
    let points = &mut tiny.part.runs.get_mut(&Id(1)).expect("the run").points;
    points[1].at = points[0].at + DVec2::new(0.01, 0.0);
    add_screw(&mut tiny, 20.0, Half::Moving);
    let mut sticky = strip();
    sticky.holds.tack_mpa = 20.0;
    sticky.holds.tack_travel_mm = 0.001;
    sticky.material.modulus_hot_mpa = 1.0;
    let mut bare = strip();
    bare.holds.tack_mpa = 0.0;
    bare.holds.wall_drag_mpa = 0.0;
    let mut deep = strip();
    keepside_tests::set_section(&mut deep, 0.2, 100.0);
    for (mut project, may_give_up) in [(tiny, true), (sticky, true), (bare, false), (deep, true)] {
        project.press.stroke_mm = 20.0;
        project.check().expect("every number is permitted");
        match run(&project, &Cancel::default()) {
            Ok(opening) => assert!(opening.flatness_mm.is_finite() && opening.energy.work_mj.is_finite()),
            Err(reason) => assert!(
                may_give_up && matches!(reason, NotComputed::Stuck { .. }),
                "a strip with permitted numbers: {reason}"
            ),
        }
    }
}

#[test]
fn what_cannot_be_computed_says_so() {
    let refuse = |project: &Project| run(project, &Cancel::default()).expect_err("it is refused");
    let mut pointlike = strip();
    let points = &mut pointlike.part.runs.get_mut(&Id(1)).expect("the run").points;
    points[1].at = points[0].at;
    assert_eq!(refuse(&pointlike), NotComputed::NoLength { run: Id(1) });
    pointlike.part.runs.get_mut(&Id(1)).expect("the run").points.clear();
    assert_eq!(refuse(&pointlike), NotComputed::NoLength { run: Id(1) });

    let mut empty = strip();
    empty.part.runs.clear();
    assert_eq!(refuse(&empty), NotComputed::NoRun);

    let cancel = Cancel::default();
    cancel.cancel();
    assert_eq!(run(&strip(), &cancel), Err(NotComputed::Cancelled));
}
