//! The filling as a whole: balances, symmetry, and what can be worked out by hand.

use glam::DVec2;
use keepside_model::{
    EndShape, FeatureKind, Finish, Half, Id, KeyingFeature, Project, Run, RunPoint, Sprue, Vent,
};

use super::*;

fn sprue(x: f64, y: f64) -> Sprue {
    Sprue {
        name: String::new(),
        at: DVec2::new(x, y),
        half: Half::Fixed,
        diameter_mm: 3.0,
        length_mm: 18.0,
        draft_deg: 1.0,
        finish: Finish::Polished,
        measured: None,
    }
}

/// Runs of 6 × 3 mm with square ends and no draft, through these points.
fn runs(lines: &[&[(f64, f64)]], gates: &[(f64, f64)]) -> Project {
    let mut project = Project::blank();
    project.part.runs.clear();
    (project.part.draft_fixed_deg, project.part.draft_moving_deg) = (0.0, 0.0);
    let mut next = 0;
    let mut id = || {
        next += 1;
        Id(next)
    };
    for line in lines {
        let point = |&(x, y): &(f64, f64)| RunPoint {
            at: DVec2::new(x, y),
            width_mm: 6.0,
            depth_mm: 3.0,
            bulge: 0.0,
        };
        let run = Run {
            name: String::new(),
            points: line.iter().map(point).collect(),
            start: EndShape::Square,
            end: EndShape::Square,
        };
        project.part.runs.insert(id(), run);
    }
    for &(x, y) in gates {
        project.sprues.insert(id(), sprue(x, y));
    }
    project
}

/// A strip 160 mm long along x from x = 20.
fn strip(gates_x: &[f64]) -> Project {
    let gates: Vec<(f64, f64)> = gates_x.iter().map(|&x| (x, 60.0)).collect();
    runs(&[&[(20.0, 60.0), (180.0, 60.0)]], &gates)
}

/// A melt that never freezes and does not cool, so that only the power law is left.
fn without_heat(project: &mut Project) {
    project.moulding.own_melt_temperature_c = Some(230.0);
    project.moulding.own_mould_temperature_c = Some(230.0);
    project.material.melt.temperature_factor_per_c = 0.0;
}

#[track_caller]
fn filled(project: &Project) -> Filling {
    let filling = fill(project).expect("it can be computed");
    for moment in &filling.record {
        let off = moment.injected_mm3 - moment.filled_mm3;
        assert!(off.abs() <= 1e-6 * moment.filled_mm3.max(1.0), "melt is lost or made: {moment:?}");
    }
    for pair in filling.record.windows(2) {
        assert!(pair[0].time_s < pair[1].time_s && pair[0].filled_mm3 <= pair[1].filled_mm3);
    }
    if filling.is_full {
        let (last, whole) =
            (filling.record[filling.record.len() - 1], filling.part_volume_mm3 + filling.sprue_volume_mm3);
        assert!((last.filled_mm3 / whole - 1.0).abs() < 1e-6, "{last:?}, of {whole} mm³");
    }
    filling
}

#[test]
fn a_strip_takes_its_volume_at_the_rate_of_the_press() {
    let project = strip(&[100.0]);
    let filling = filled(&project);
    assert!(filling.is_full && filling.pressure_limited_from_s.is_none());
    assert!((filling.part_volume_mm3 - 160.0 * 18.0).abs() < 1e-6);
    let whole_mm3 = filling.part_volume_mm3 + filling.sprue_volume_mm3;
    let rate_mm3_s = project.moulding.injection_rate_mm3_s;
    assert!((filling.fill_time_s - whole_mm3 / rate_mm3_s).abs() < 1e-6, "{}", filling.fill_time_s);
}

#[test]
fn the_pressure_at_the_end_is_that_of_the_closed_formulas() {
    // One gate at the end of a strip, all flow through all of it: bore and rectangle in a row.
    let mut project = strip(&[20.0]);
    without_heat(&mut project);
    let filling = filled(&project);
    let melt = &project.material.melt;
    let ducts = duct::Ducts::new(melt.power_law_index);
    let narrow_mm = 3.0 - 2.0 * 18.0 * 1.0_f64.to_radians().tan();
    let along = ducts.ln_rectangle(6.0, 3.0).exp() * 160.0 + ducts.ln_cone(narrow_mm, 3.0, 18.0).exp();
    let to_index = project.moulding.injection_rate_mm3_s.powf(melt.power_law_index);
    let expected_mpa = melt.consistency_mpa_s_n * along * to_index;
    // The last step begins a little before the end.
    let off = filling.peak_pressure_mpa / expected_mpa;
    assert!((0.998..=1.000_001).contains(&off), "{} for {expected_mpa} MPa", filling.peak_pressure_mpa);
}

#[test]
fn fronts_of_two_gates_meet_half_way_and_follow_a_gate_that_is_moved() {
    // The bores are alike and the outer arms equal: by symmetry the fronts meet in the middle.
    let filling = filled(&strip(&[60.0, 140.0]));
    let [weld] = filling.welds[..] else { panic!("one weld: {:?}", filling.welds) };
    assert!((weld.at.x - 100.0).abs() < 1e-6, "{weld:?}");
    assert!((filling.gates[0].share - 0.5).abs() < 1e-9);
    assert_eq!(weld.kind, WeldKind::HeadOn);

    // By hand: as long as no end is reached both gates see the same, so that all four fronts are as fast as
    // one another and the weld stays half way between the gates: up to a distance of 80 mm, where half of
    // it is as long as the arms of 40 mm.
    for to_x in [110.0, 120.0, 130.0, 139.0] {
        let filling = filled(&strip(&[60.0, to_x]));
        let [weld] = filling.welds[..] else { panic!("one weld: {:?}", filling.welds) };
        let expected_x = 0.5 * (60.0 + to_x);
        assert!((weld.at.x - expected_x).abs() < 0.05, "gate at {to_x}: {weld:?}");
    }
}

#[test]
fn a_weld_moves_by_hand_calculation_once_an_end_is_full() {
    // Newtonian, thin bores that take all the pressure: each gate gives half the flow whatever lies before it.
    // Gates at 30 and 140 mm: the left arm of 10 mm is full first, then all that the left gate gives goes to
    // the right: melt of the left gate between the gates = half of what has been given, less the left arm.
    let mut project = strip(&[30.0, 140.0]);
    without_heat(&mut project);
    project.material.melt.power_law_index = 1.0;
    project.press.pressure_limit_mpa = 500.0;
    project.material.melt.consistency_mpa_s_n = 1e-6;
    for sprue in project.sprues.values_mut() {
        (sprue.diameter_mm, sprue.draft_deg) = (0.8, 0.0);
    }
    let filling = filled(&project);
    let [weld] = filling.welds[..] else { panic!("one weld: {:?}", filling.welds) };
    // The right gate fills both its arms at the same pace, 40 mm outwards; the left one 10 mm outwards and the
    // rest inwards: at the meeting both have given L: L = 10 + x and L = y + y with x + y = 110.
    let given_mm = 2.0 * (10.0 + 110.0) / 3.0;
    let expected_x = 30.0 + given_mm - 10.0;
    assert!(0.5 * given_mm <= 40.0);
    assert!((weld.at.x - expected_x).abs() < 0.2, "{expected_x} by hand: {weld:?}");
}

#[test]
fn a_ring_fills_alike_on_both_sides() {
    let mut project =
        runs(&[&[(60.0, 40.0), (120.0, 40.0), (120.0, 80.0), (60.0, 80.0), (60.0, 40.0)]], &[(60.0, 60.0)]);
    project.vents.insert(
        Id(90),
        Vent {
            name: String::new(),
            at: DVec2::new(123.0, 60.0),
            half: Half::Fixed,
            width_mm: 4.0,
            depth_mm: 0.02,
            length_mm: 10.0,
            relief: None,
        },
    );
    let filling = filled(&project);
    assert!(filling.is_full);
    let [weld] = filling.welds[..] else { panic!("one weld: {:?}", filling.welds) };
    // The run's ends meet in one of the halves, which cuts its stretches otherwise.
    assert!(weld.at.distance(DVec2::new(120.0, 60.0)) < 0.02, "{weld:?}");
    let last = filling.last_to_fill().expect("it fills");
    assert!(last.is_weld && last.way_out == Some(Id(90)));
}

#[test]
fn a_cross_fills_its_four_arms_at_once() {
    let filling =
        filled(&runs(&[&[(40.0, 60.0), (160.0, 60.0)], &[(100.0, 10.0), (100.0, 110.0)]], &[(100.0, 60.0)]));
    let time_of = |run: u32, index: usize| {
        let fill = filling.runs.iter().find(|fill| fill.run == Id(run)).expect("the run");
        let stations = &fill.stations;
        stations[if index == 0 { 0 } else { stations.len() - 1 }].time_s.expect("filled")
    };
    assert!((time_of(1, 0) - time_of(1, 1)).abs() < 1e-9);
    assert!((time_of(2, 0) - time_of(2, 1)).abs() < 1e-9);
    assert!(time_of(2, 0) < time_of(1, 0), "the shorter arms are full first");
    // The crossing counts once.
    let expected_mm3 = 3.0 * (120.0 * 6.0 + 100.0 * 6.0 - 36.0);
    assert!((filling.part_volume_mm3 / expected_mm3 - 1.0).abs() < 0.01, "{}", filling.part_volume_mm3);
}

#[test]
fn what_is_joined_to_no_gate_stays_empty() {
    let filling =
        filled(&runs(&[&[(40.0, 60.0), (90.0, 60.0)], &[(120.0, 60.0), (160.0, 60.0)]], &[(60.0, 60.0)]));
    assert!(!filling.is_full);
    let [short] = filling.short[..] else { panic!("one stretch: {:?}", filling.short) };
    assert_eq!((short.run, short.why), (Id(2), ShortWhy::NoGate));
    assert!((short.volume_mm3 - 40.0 * 18.0).abs() < 1e-6);
}

#[test]
fn a_slow_shot_freezes_before_it_is_full_and_thin_melt_does_not() {
    let mut project = strip(&[20.0]);
    project.moulding.injection_rate_mm3_s = 60.0;
    let filling = filled(&project);
    assert!(!filling.is_full, "48 s, where the section freezes within 10");
    assert!(filling.short.iter().all(|short| short.why == ShortWhy::Froze), "{:?}", filling.short);
    project.moulding.injection_rate_mm3_s = 8000.0;
    assert!(filled(&project).is_full);
}

#[test]
fn the_press_that_gives_no_more_melt_leaves_the_rest_empty() {
    let mut project = strip(&[100.0]);
    project.press.shot_volume_mm3 = 1500.0;
    let filling = filled(&project);
    assert!(!filling.is_full);
    assert!(filling.short.iter().all(|short| short.why == ShortWhy::ShotUsedUp));
    let last = filling.record[filling.record.len() - 1];
    assert!((last.injected_mm3 - 1500.0).abs() < 1e-3);
}

#[test]
fn a_weak_press_goes_on_at_its_pressure_limit() {
    let mut project = strip(&[20.0]);
    let free = filled(&project);
    project.press.pressure_limit_mpa = 0.7 * free.peak_pressure_mpa;
    let weak = filled(&project);
    assert!(weak.pressure_limited_from_s.is_some_and(|from_s| from_s > 0.0));
    assert!((weak.peak_pressure_mpa - project.press.pressure_limit_mpa).abs() < 1e-9);
    assert!(weak.fill_time_s > free.fill_time_s);
}

#[test]
fn a_feature_splits_the_stream_and_takes_pressure_and_volume() {
    let mut project = strip(&[20.0]);
    let free = filled(&project);
    let kind = FeatureKind::PlainPost { diameter_mm: 4.0 };
    let feature = KeyingFeature::new(DVec2::new(100.0, 60.0), Half::Moving, kind, 3.0);
    project.features.insert(Id(50), feature);
    let filling = filled(&project);
    assert!(filling.peak_pressure_mpa > free.peak_pressure_mpa);
    let post_mm3 = std::f64::consts::PI * 4.0 * 3.0;
    assert!((free.part_volume_mm3 - filling.part_volume_mm3 - post_mm3).abs() < 1e-6);
    let [weld] = filling.welds[..] else { panic!("one weld: {:?}", filling.welds) };
    assert_eq!((weld.kind, weld.near_feature), (WeldKind::Behind(Id(50)), Some(Id(50))));
    assert!((weld.at.x - 102.0).abs() < 1e-9, "on the far side: {weld:?}");

    // One as wide as the channel and as high closes it.
    let kind = FeatureKind::PlainPost { diameter_mm: 6.0 };
    project.features.insert(Id(50), KeyingFeature::new(DVec2::new(100.0, 60.0), Half::Moving, kind, 3.0));
    let filling = filled(&project);
    assert!(filling.short.iter().all(|short| short.why == ShortWhy::Blocked), "{:?}", filling.short);
    assert!(!filling.is_full);
}

#[test]
fn what_keeps_it_from_being_computed_is_said() {
    assert_eq!(fill(&strip(&[])), Err(NotFilled::NoGate));
    let off = runs(&[&[(20.0, 60.0), (180.0, 60.0)]], &[(50.0, 80.0)]);
    assert_eq!(fill(&off), Err(NotFilled::OffChannel { gate: Id(2) }));
    let mut cold = strip(&[100.0]);
    cold.moulding.own_melt_temperature_c = Some(100.0);
    assert!(matches!(fill(&cold), Err(NotFilled::TooCold { .. })));
    let mut none = strip(&[100.0]);
    none.part.runs.clear();
    assert_eq!(fill(&none), Err(NotFilled::NoRun));
}

#[test]
fn fronts_and_filled_stretches_are_told_at_any_time() {
    let filling = filled(&strip(&[100.0]));
    assert!(filling.fronts_at(0.0).is_empty());
    assert!(filling.filled_at(filling.fill_time_s)[0].to_mm > 160.0 - 1e-6);
    let half_s = 0.5 * (filling.gates[0].opens_s.expect("it opens") + filling.fill_time_s);
    let fronts = filling.fronts_at(half_s);
    let [back, ahead] = fronts[..] else { panic!("two fronts: {fronts:?}") };
    assert!(!back.forwards && ahead.forwards);
    // At an even rate they are half way to the ends.
    assert!((back.along_mm - 40.0).abs() < 0.1 && (ahead.along_mm - 120.0).abs() < 0.1, "{fronts:?}");
    let filled = filling.filled_at(half_s);
    let [stretch] = filled[..] else { panic!("one stretch: {filled:?}") };
    assert!((stretch.from_mm - back.along_mm).abs() < 1e-9 && (stretch.to_mm - ahead.along_mm).abs() < 1e-9);
}

/// The project turned about a point by a right angle, or mirrored about x.
fn moved(project: &Project, way: impl Fn(DVec2) -> DVec2) -> Project {
    let mut moved = project.clone();
    for point in moved.part.runs.values_mut().flat_map(|run| &mut run.points) {
        point.at = way(point.at);
    }
    moved.sprues.values_mut().for_each(|sprue| sprue.at = way(sprue.at));
    moved.features.values_mut().for_each(|feature| feature.at = way(feature.at));
    moved
}

#[test]
fn a_layout_that_is_turned_or_mirrored_fills_the_same() {
    let mut project = runs(
        &[
            &[(30.0, 40.0), (110.0, 40.0), (150.0, 70.0)],
            &[(60.0, 40.0), (60.0, 90.0)],
            &[(60.0, 80.0), (120.0, 80.0), (110.0, 40.0)],
        ],
        &[(40.0, 40.0), (90.0, 80.0)],
    );
    let kind = FeatureKind::PlainPost { diameter_mm: 3.0 };
    project.features.insert(Id(50), KeyingFeature::new(DVec2::new(80.0, 40.7), Half::Moving, kind, 2.0));
    let filling = filled(&project);
    let ways: [fn(DVec2) -> DVec2; 3] = [
        |at| DVec2::new(200.0 - at.x, at.y),
        |at| DVec2::new(120.0 - at.y, at.x),
        |at| DVec2::new(at.y + 3.0, at.x - 5.0),
    ];
    for way in ways {
        let other = filled(&moved(&project, way));
        assert!((other.fill_time_s / filling.fill_time_s - 1.0).abs() < 1e-6);
        assert!((other.peak_pressure_mpa / filling.peak_pressure_mpa - 1.0).abs() < 1e-6);
        assert_eq!(other.welds.len(), filling.welds.len());
        for (weld, other) in filling.welds.iter().zip(&other.welds) {
            assert!(way(weld.at).distance(other.at) < 1e-3, "{weld:?} and {other:?}");
            assert!((weld.time_s - other.time_s).abs() < 1e-6 && weld.kind == other.kind);
            assert!((weld.angle_deg - other.angle_deg).abs() < 1e-6);
        }
        for (end, other) in filling.trapped.iter().zip(&other.trapped) {
            assert!(way(end.at).distance(other.at) < 1e-3 && (end.time_s - other.time_s).abs() < 1e-6);
        }
    }
}

#[test]
fn two_streams_that_come_together_at_a_junction_are_told_with_their_angle() {
    // Two arms of the same length come from gates, meet at right angles and go on into a third.
    let project = runs(
        &[&[(100.0, 60.0), (50.0, 60.0)], &[(100.0, 60.0), (100.0, 110.0)], &[(100.0, 60.0), (150.0, 20.0)]],
        &[(55.0, 60.0), (100.0, 105.0)],
    );
    let filling = filled(&project);
    let [weld] = filling.welds[..] else { panic!("one weld: {:?}", filling.welds) };
    assert_eq!(weld.kind, WeldKind::Joining);
    assert!(
        (weld.angle_deg - 90.0).abs() < 1e-6 && weld.at.distance(DVec2::new(100.0, 60.0)) < 0.5,
        "{weld:?}"
    );
}

#[test]
fn air_that_two_fronts_drive_before_them_is_told_where_it_is_trapped() {
    // Between the gates 80 mm of channel hold air that no vent lets out; the ends have 40 mm each.
    let filling = filled(&strip(&[60.0, 140.0]));
    let weld = filling.trapped.iter().find(|end| end.is_weld).expect("the fronts meet");
    assert!((weld.air_mm3 - 80.0 * 18.0).abs() < 3.0 * 18.0, "{weld:?}");
    let ends: Vec<&Trapped> = filling.trapped.iter().filter(|end| !end.is_weld).collect();
    assert!(ends.len() == 2 && ends.iter().all(|end| (end.air_mm3 - 40.0 * 18.0).abs() < 3.0 * 18.0));
    assert_eq!(filling.trapped.iter().map(|end| end.way_out).collect::<Vec<_>>(), [None; 3]);
}

#[test]
fn a_thin_branch_hesitates_and_freezes_while_the_rest_still_fills() {
    // A tee of which one arm is a fifth as deep.
    let mut project =
        runs(&[&[(20.0, 60.0), (180.0, 60.0)], &[(60.0, 60.0), (60.0, 110.0)]], &[(25.0, 60.0)]);
    let thin = project.part.runs.get_mut(&Id(2)).expect("the arm");
    thin.points.iter_mut().for_each(|point| point.depth_mm = 0.6);
    project.moulding.injection_rate_mm3_s = 2000.0;
    let filling = filled(&project);
    let [short] = filling.short[..] else { panic!("one stretch: {:?}", filling.short) };
    assert_eq!((short.run, short.why), (Id(2), ShortWhy::Froze));
    let of_run = |id: u32| filling.runs.iter().find(|fill| fill.run == Id(id)).expect("the run");
    assert!(of_run(1).stations.iter().all(|station| station.time_s.is_some()));
    // It stops when a slab of 0.6 mm is frozen through, long before the rest is full.
    let stops_s = of_run(2).stations.iter().filter_map(|station| station.time_s).fold(0.0, f64::max);
    assert!(stops_s < 0.6 * filling.fill_time_s, "{stops_s} of {} s", filling.fill_time_s);
    assert!(short.from_mm < 25.0 && (short.to_mm - 50.0).abs() < 1e-6, "{short:?}");
}
