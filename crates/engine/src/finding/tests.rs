//! Every rule on a layout that breaks it and nothing else, and every one-click cure applied.

use glam::DVec2;
use keepside_model::{
    Ejector, EjectorFace, FeatureKind, Finish, Half, HoleUse, Id, Item, KeyingFeature, PlateHole, Project,
    Rib, Run, RunPoint, Sprue, ThreadSize, Vent,
};

use super::*;
use crate::opening::{Cancel, Margin, Opening};
use crate::outline;

mod ejector;
mod shot;

/// What the rules of the drawing find.
pub(super) struct Found {
    pub(super) findings: Vec<Finding>,
}

pub(super) fn layout(project: &Project) -> Found {
    let outline = outline::of(project);
    let gaps = outline::gaps(project, &outline);
    Found { findings: of_layout(&Drawn::new(project, &outline, &gaps)) }
}

/// A straight channel 6 mm wide and 3 mm deep from (40, 60) to (160, 60) in plates of 200 by 120 mm, with a
/// gate at (45, 60) in the fixed half.
fn blank() -> Project {
    let mut project = Project::blank();
    project.sprues.insert(Id(2), gate(45.0, 60.0, Half::Fixed));
    project
}

pub(super) fn post(x: f64, y: f64, diameter_mm: f64) -> KeyingFeature {
    let kind = FeatureKind::PlainPost { diameter_mm };
    let at = DVec2::new(x, y);
    KeyingFeature::new(at, Half::Moving, kind, 2.0)
}

pub(super) fn screw(x: f64, y: f64, thread: ThreadSize) -> KeyingFeature {
    KeyingFeature { kind: FeatureKind::set_screw(thread), ..post(x, y, 1.0) }
}

pub(super) fn gate(x: f64, y: f64, half: Half) -> Sprue {
    Sprue {
        name: String::new(),
        at: DVec2::new(x, y),
        half,
        diameter_mm: 3.0,
        length_mm: 10.0,
        draft_deg: 1.0,
        finish: Finish::Polished,
        measured: None,
    }
}

/// A pin that goes through the plate of 20 mm and comes out by 6 mm.
fn ejector(x: f64, y: f64, diameter_mm: f64) -> Ejector {
    Ejector::new(DVec2::new(x, y), diameter_mm, 80.0, 6.0, EjectorFace::Plain)
}

pub(super) fn with(items: Vec<Item>) -> Project {
    let mut project = blank();
    for (id, item) in (10..).map(Id).zip(items) {
        project.apply(&Edit::Add(id, item)).expect("the item is in range");
    }
    project
}

/// Checks that the layout breaks this one rule and no other, and that the cure, if it is an edit, leaves
/// nothing to say.
#[track_caller]
pub(super) fn check(
    project: &Project,
    rule: &str,
    severity: Severity,
    measured: Option<f64>,
    has_edit: bool,
) {
    let findings = layout(project).findings;
    let rules: Vec<&str> = findings.iter().map(|finding| finding.rule).collect();
    assert_eq!(rules, [rule], "{findings:#?}");
    let finding = &findings[0];
    assert_eq!(finding.severity, severity, "{finding:#?}");
    if let Some(measured) = measured {
        let got = finding.measured.expect("a measured value");
        assert!((got - measured).abs() < 1e-9, "measured {got}, not {measured}");
        assert!(finding.needed.is_some() && finding.unit == "mm");
    }
    for id in &finding.items {
        assert!(finding.message.contains(&project.tag(*id)) || project.part.runs.contains_key(id));
    }
    assert!(!finding.message.ends_with('.') && !finding.cure.ends_with('.'), "{finding:#?}");
    assert_eq!(finding.cure_edit.is_some(), has_edit, "{finding:#?}");
    if let Some(edit) = &finding.cure_edit {
        let mut cured = project.clone();
        cured.apply(edit).expect("the cure can be applied");
        let left = layout(&cured).findings;
        let expected_left = if rule == "run-length" { vec!["no-run"] } else { vec![] };
        assert_eq!(left.iter().map(|f| f.rule).collect::<Vec<_>>(), expected_left, "{left:#?}");
    }
}

#[test]
fn a_sound_layout_has_no_findings() {
    let gap = 15.0;
    let project = with(vec![
        Item::Feature(screw(70.0, 60.0, ThreadSize::M4)),
        Item::Feature(screw(70.0 + gap, 60.0, ThreadSize::M3)),
        Item::Sprue(gate(100.0, 60.0, Half::Fixed)),
        Item::Vent(Vent {
            name: String::new(),
            at: DVec2::new(163.0, 60.0),
            half: Half::Fixed,
            width_mm: 3.0,
            depth_mm: 0.02,
            length_mm: 37.0,
            relief: None,
        }),
    ]);
    assert_eq!(layout(&project).findings, []);
}

/// Common practice, no source: a 4 mm screw in the middle of a 6 mm channel fills.
#[test]
fn a_four_millimetre_screw_in_a_six_millimetre_channel_passes_and_a_five_does_not() {
    let four = with(vec![Item::Feature(screw(100.0, 60.0, ThreadSize::M4))]);
    assert_eq!(layout(&four).findings, []);
    let five = with(vec![Item::Feature(screw(100.0, 60.0, ThreadSize::M5))]);
    check(&five, "flow-gap", Severity::Warning, Some(0.5), true);
    let finding = &layout(&five).findings[0];
    assert!(finding.cure.contains("M4"), "{}", finding.cure);
    assert!(finding.message.contains("and 0.50 mm on the other side"), "{}", finding.message);
}

#[test]
fn a_screw_off_centre_is_moved_to_mid_channel() {
    let off = with(vec![Item::Feature(screw(100.0, 60.6, ThreadSize::M4))]);
    check(&off, "flow-gap", Severity::Warning, Some(0.4), true);
    let edit = layout(&off).findings[0].cure_edit.clone();
    let Some(Edit::Move { ids, by_mm }) = edit else { panic!("{edit:?} is not a move") };
    assert_eq!(ids, [Id(10)]);
    assert!(by_mm.distance(DVec2::new(0.0, -0.6)) < 1e-9, "{by_mm}");
}

#[test]
fn a_cap_head_and_a_turned_head_get_the_next_smaller_size() {
    let kind = FeatureKind::cap_head(ThreadSize::M3);
    let cap = KeyingFeature { kind, protrusion_mm: 3.5, ..post(80.0, 60.0, 1.0) };
    let mut project = with(vec![Item::Feature(cap)]);
    // Deep enough for the head with plastic under and over it.
    project.part.runs.values_mut().flat_map(|run| &mut run.points).for_each(|p| p.depth_mm = 5.0);
    check(&project, "flow-gap", Severity::Warning, Some(0.25), true);
    assert!(layout(&project).findings[0].cure.contains("M2"));
    let kind = FeatureKind::TurnedHead {
        head_diameter_mm: 5.0,
        neck_diameter_mm: 3.0,
        head_height_mm: 1.0,
        underside_deg: 30.0,
    };
    let turned = KeyingFeature { kind, ..post(80.0, 60.0, 1.0) };
    check(&with(vec![Item::Feature(turned)]), "flow-gap", Severity::Warning, Some(0.5), true);
}

#[test]
fn features_and_gates_outside_the_channel_are_faults() {
    let feature = |y| with(vec![Item::Feature(screw(100.0, y, ThreadSize::M4))]);
    check(&feature(70.0), "outside-channel", Severity::Fault, Some(-5.0), true);
    check(&feature(61.5), "outside-channel", Severity::Fault, Some(-0.5), true);
    let beyond = with(vec![Item::Feature(screw(170.0, 60.0, ThreadSize::M4))]);
    check(&beyond, "outside-channel", Severity::Fault, Some(-5.0), true);
    let sprue = |y| with(vec![Item::Sprue(gate(100.0, y, Half::Fixed))]);
    check(&sprue(70.0), "gate-outside", Severity::Fault, Some(-5.5), true);
    check(&sprue(62.0), "gate-outside", Severity::Fault, Some(-0.5), true);
}

#[test]
fn roofs_are_measured_from_the_channel_depth() {
    let high = |protrusion_mm| {
        let screw = KeyingFeature { protrusion_mm, ..screw(100.0, 60.0, ThreadSize::M4) };
        with(vec![Item::Feature(screw)])
    };
    check(&high(2.5), "roof", Severity::Warning, Some(0.5), true);
    check(&high(3.5), "roof", Severity::Fault, Some(-0.5), true);
    assert_eq!(layout(&high(2.2)).findings, [], "a roof of just the limit passes");
    let through = KeyingFeature { protrusion_mm: 3.0, ..post(100.0, 60.0, 3.0) };
    check(&with(vec![Item::Feature(through)]), "roof", Severity::Note, Some(0.0), false);
}

#[test]
fn a_feature_needs_plastic_to_the_end_of_the_run() {
    let near = with(vec![Item::Feature(post(159.0, 60.0, 4.0))]);
    // The half circle of radius 3 about (160, 60) is nearest where it meets the wall.
    check(&near, "end-gap", Severity::Warning, Some(10.0_f64.sqrt() - 2.0), true);
}

#[test]
fn neighbours_in_one_half_keep_apart() {
    let pair =
        |x| with(vec![Item::Feature(post(100.0, 60.0, 3.0)), Item::Feature(screw(x, 60.0, ThreadSize::M3))]);
    check(&pair(104.0), "feature-gap", Severity::Warning, Some(1.0), true);
    check(&pair(101.0), "same-place", Severity::Fault, Some(-2.0), true);
    check(&pair(100.0), "same-place", Severity::Fault, Some(-3.0), true);
    let gate =
        with(vec![Item::Feature(post(100.0, 60.0, 3.0)), Item::Sprue(gate(102.0, 60.0, Half::Moving))]);
    check(&gate, "same-place", Severity::Fault, Some(-1.0), true);
}

#[test]
fn a_gate_keeps_its_own_distance_from_features_and_ejectors_of_its_half() {
    let beside = |item| with(vec![item, Item::Sprue(gate(104.0, 60.0, Half::Moving))]);
    let feature = beside(Item::Feature(post(100.0, 60.0, 3.0)));
    check(&feature, "gate-gap", Severity::Warning, Some(1.0), true);
    check(&beside(Item::Ejector(ejector(100.0, 60.0, 3.0))), "gate-gap", Severity::Warning, Some(1.0), true);
    // The limit is that of gates, not that of features.
    let mut allowed = feature.clone();
    (allowed.limits.gate_gap_mm, allowed.limits.steel_wall_mm) = (1.0, 1.0);
    assert_eq!(layout(&allowed).findings, []);
    allowed.limits.feature_gap_mm = 9.0;
    assert_eq!(layout(&allowed).findings, []);
}

#[test]
fn features_of_opposite_halves_may_share_a_place_if_their_tops_keep_apart() {
    let pair = |x, protrusion_mm| {
        let other = KeyingFeature { half: Half::Fixed, protrusion_mm, ..post(x, 60.0, 3.0) };
        with(vec![Item::Feature(post(100.0, 60.0, 3.0)), Item::Feature(other)])
    };
    check(&pair(101.0, 2.0), "features-meet", Severity::Fault, Some(-1.0), true);
    check(&pair(101.0, 0.6), "features-meet", Severity::Warning, Some(0.4), true);
    check(&pair(103.5, 2.0), "features-meet", Severity::Warning, Some(0.5), true);
    assert_eq!(layout(&pair(101.0, 0.2)).findings, []);
    assert_eq!(layout(&pair(104.0, 2.0)).findings, []);
}

#[test]
fn a_feature_opposite_a_gate_is_noted() {
    let project = with(vec![
        Item::Feature(screw(100.0, 60.0, ThreadSize::M4)),
        Item::Sprue(gate(101.0, 60.0, Half::Fixed)),
    ]);
    check(&project, "opposite-gate", Severity::Note, Some(1.0), false);
}

#[test]
fn a_head_must_be_larger_than_its_neck() {
    let head = |head_diameter_mm, neck_diameter_mm| {
        let (head_height_mm, underside_deg) = (1.0, 30.0);
        let kind =
            FeatureKind::TurnedHead { head_diameter_mm, neck_diameter_mm, head_height_mm, underside_deg };
        with(vec![Item::Feature(KeyingFeature { kind, ..post(100.0, 60.0, 1.0) })])
    };
    check(&head(3.0, 4.0), "turned-head", Severity::Warning, Some(3.0), true);
    check(&head(4.0, 4.0), "turned-head", Severity::Warning, Some(4.0), false);
    assert_eq!(layout(&head(4.0, 3.0)).findings, []);
}

#[test]
fn a_vent_meets_the_edge() {
    let vent = |y| {
        let (name, half, at) = (String::new(), Half::Fixed, DVec2::new(100.0, y));
        with(vec![Item::Vent(Vent {
            name,
            at,
            half,
            width_mm: 3.0,
            depth_mm: 0.02,
            length_mm: 60.0,
            relief: None,
        })])
    };
    check(&vent(60.5), "vent-edge", Severity::Warning, Some(2.5), true);
    check(&vent(66.0), "vent-edge", Severity::Warning, Some(3.0), true);
    assert_eq!(layout(&vent(63.05)).findings, []);
}

#[test]
fn a_part_without_a_gate_is_not_filled() {
    let mut project = blank();
    project.sprues.clear();
    check(&project, "no-gate", Severity::Warning, None, true);
    // Narrow channels get a narrow gate.
    project.part.runs.values_mut().flat_map(|run| &mut run.points).for_each(|p| p.width_mm = 2.0);
    check(&project, "no-gate", Severity::Warning, None, true);
}

#[test]
fn a_vent_that_ends_in_the_plate_is_noted() {
    let vent = |at, length_mm| {
        let (name, half) = (String::new(), Half::Fixed);
        with(vec![Item::Vent(Vent {
            name,
            at,
            half,
            width_mm: 3.0,
            depth_mm: 0.02,
            length_mm,
            relief: None,
        })])
    };
    // From the wall at 63 to the edge of the plate at 120.
    check(&vent(DVec2::new(100.0, 63.0), 9.0), "vent-end", Severity::Note, Some(9.0), true);
    assert_eq!(layout(&vent(DVec2::new(100.0, 63.0), 9.0)).findings[0].needed, Some(57.0));
    check(&vent(DVec2::new(37.0, 60.0), 30.0), "vent-end", Severity::Note, Some(30.0), true);
    assert_eq!(layout(&vent(DVec2::new(100.0, 63.0), 57.0)).findings, []);
}

#[test]
fn a_vent_does_not_run_into_other_holes() {
    let crossing = |item| {
        let (name, at) = (String::new(), DVec2::new(100.0, 63.0));
        let vent = Vent {
            name,
            at,
            half: Half::Fixed,
            width_mm: 3.0,
            depth_mm: 0.02,
            length_mm: 60.0,
            relief: None,
        };
        with(vec![item, Item::Vent(vent)])
    };
    let hole = |x, purpose| {
        let (name, at) = (String::new(), DVec2::new(x, 90.0));
        Item::Hole(PlateHole { name, purpose, at, diameter_mm: 6.0 })
    };
    check(&crossing(hole(104.0, HoleUse::Bolt)), "vent-hole", Severity::Warning, Some(-0.5), true);
    check(&crossing(hole(99.0, HoleUse::GuidePin)), "vent-hole", Severity::Warning, Some(-3.0), true);
    assert!(
        layout(&crossing(hole(99.0, HoleUse::GuidePin))).findings[0].message.contains("guide pin hole H10")
    );
    assert_eq!(layout(&crossing(hole(104.5, HoleUse::Bolt))).findings, [], "they only touch");
    // A feature and a gate that stand outside the channel, in the vent's way: two faults of their own.
    let rules = |item| layout(&crossing(item)).findings.iter().map(|f| f.rule).collect::<Vec<_>>();
    let feature = KeyingFeature { half: Half::Fixed, ..post(100.0, 70.0, 3.0) };
    assert_eq!(rules(Item::Feature(feature.clone())), ["outside-channel", "vent-hole"]);
    let moving = KeyingFeature { half: Half::Moving, ..feature };
    assert_eq!(rules(Item::Feature(moving)), ["outside-channel"], "the other plate");
    assert_eq!(rules(Item::Sprue(gate(100.0, 70.0, Half::Fixed))), ["gate-outside", "vent-hole"]);
}

#[test]
fn neighbouring_channels_keep_steel_between_them() {
    let beside = |y: f64| {
        let mut project = with(vec![Item::Feature(post(80.0, y + 2.0, 3.0))]);
        let run = Run::straight("", DVec2::new(60.0, y), DVec2::new(110.0, y + 5.0), 6.0, 3.0);
        project.part.runs.insert(Id(3), run);
        project
    };
    let rules = |project: &Project| layout(project).findings.iter().map(|f| f.rule).collect::<Vec<_>>();
    let near = beside(67.5);
    assert_eq!(rules(&near), ["runs-apart", "channel-wall"]);
    let finding = layout(&near).findings[1].clone();
    // Nearest is the round end of the slanting run, straight down from its middle.
    assert!((finding.measured.unwrap_or(0.0) - 1.5).abs() < 1e-9, "{finding:?}");
    assert_eq!(finding.items, [Id(1), Id(3)]);
    let mut cured = near.clone();
    cured.apply(&finding.cure_edit.expect("the run can move")).expect("it moves");
    assert_eq!(rules(&cured), ["runs-apart"], "the feature went with the run");
    assert_eq!(rules(&beside(68.0)), ["runs-apart"]);

    // A run that doubles back: its two stretches 7 mm apart, square walls 1 mm thick, and no simple cure.
    let mut folded = blank();
    let point = |x, y, bulge| RunPoint { at: DVec2::new(x, y), width_mm: 6.0, depth_mm: 3.0, bulge };
    let points = vec![
        point(40.0, 60.0, 0.0),
        point(120.0, 60.0, 1.0),
        point(120.0, 67.0, 0.0),
        point(50.0, 67.0, 0.0),
    ];
    folded.part.runs.values_mut().for_each(|run| run.points.clone_from(&points));
    check(&folded, "channel-wall", Severity::Warning, Some(1.0), false);
    // Where runs meet at a corner the steel runs out, and nothing can be done about it.
    let mut fork = blank();
    for (id, y) in [(3, 90.0), (4, 75.0)] {
        let run = Run::straight("", DVec2::new(100.0, 60.0), DVec2::new(150.0, y), 6.0, 3.0);
        fork.part.runs.insert(Id(id), run);
    }
    assert_eq!(rules(&fork), [""; 0]);
}

#[test]
fn holes_leave_steel_to_the_channel_the_edge_and_each_other() {
    let hole = |x, y| {
        let (name, purpose, at) = (String::new(), HoleUse::Bolt, DVec2::new(x, y));
        Item::Hole(PlateHole { name, purpose, at, diameter_mm: 6.0 })
    };
    check(&with(vec![hole(100.0, 67.0)]), "steel-channel", Severity::Warning, Some(1.0), true);
    check(&with(vec![hole(100.0, 65.0)]), "steel-channel", Severity::Fault, Some(-1.0), true);
    check(&with(vec![hole(4.0, 60.0)]), "steel-edge", Severity::Warning, Some(1.0), true);
    check(&with(vec![hole(198.0, 119.0)]), "steel-edge", Severity::Fault, Some(-2.0), true);
    check(&with(vec![hole(50.0, 20.0), hole(57.0, 20.0)]), "steel-wall", Severity::Warning, Some(1.0), true);
    check(&with(vec![hole(50.0, 20.0), hole(55.0, 20.0)]), "steel-wall", Severity::Fault, Some(-1.0), true);
}

#[test]
fn the_channel_stays_on_the_plate() {
    let mut project = blank();
    project.part.runs.values_mut().flat_map(|run| &mut run.points).for_each(|p| p.at.x -= 36.0);
    check(&project, "plate-edge", Severity::Warning, Some(1.0), true);
    project.part.runs.values_mut().flat_map(|run| &mut run.points).for_each(|p| p.at.x -= 5.0);
    check(&project, "plate-edge", Severity::Fault, Some(-4.0), true);
    project.plates.width_mm = 100.0;
    check(&project, "plate-edge", Severity::Fault, None, false);
}

#[test]
fn runs_that_do_not_touch_are_separate_mouldings() {
    let mut project = blank();
    let other = Run::straight("", DVec2::new(50.0, 30.0), DVec2::new(90.0, 30.0), 6.0, 3.0);
    project.part.runs.insert(Id(2), other);
    check(&project, "runs-apart", Severity::Warning, None, false);
    assert!(layout(&project).findings[0].message.contains("(R1 apart from R2)"));
    // Of many a few are named.
    for id in 3..=40 {
        let x = 5.0 * f64::from(id);
        let other = Run::straight("", DVec2::new(x, 100.0), DVec2::new(x, 103.0), 2.0, 2.0);
        project.part.runs.insert(Id(id), other);
    }
    let finding = layout(&project).findings.into_iter().find(|finding| finding.rule == "runs-apart");
    let message = finding.expect("they do not touch").message;
    assert!(message.contains("40 separate mouldings (R1 apart from R2 apart from "), "{message}");
    assert!(message.ends_with(" and 36 more)"), "{message}");
}

#[test]
fn layouts_that_make_no_part_are_told_once_and_do_no_harm() {
    let point = |x| RunPoint { at: DVec2::new(x, 60.0), width_mm: 6.0, depth_mm: 3.0, bulge: 0.0 };
    let mut project =
        with(vec![Item::Feature(post(100.0, 60.0, 3.0)), Item::Sprue(gate(80.0, 60.0, Half::Fixed))]);
    for points in [vec![], vec![point(50.0)], vec![point(50.0); 2], vec![point(50.0); 5]] {
        project.part.runs.values_mut().for_each(|run| run.points.clone_from(&points));
        check(&project, "run-length", Severity::Fault, None, true);
        let analysis = crate::analyse(&project, &Cancel::default(), &mut |_| {});
        let faults = analysis.findings.iter().filter(|finding| finding.severity == Severity::Fault);
        assert_eq!(faults.count(), 1, "{:#?}", analysis.findings);
        assert!(analysis.finished);
    }
    project.part.runs.clear();
    check(&project, "no-run", Severity::Fault, None, false);
    let analysis = crate::analyse(&project, &Cancel::default(), &mut |_| {});
    assert_eq!(analysis.findings.len(), 1, "{:#?}", analysis.findings);
}

#[test]
fn a_run_too_short_to_open_is_a_fault_that_selects_it() {
    let mut project = blank();
    let speck = Run::straight("", DVec2::new(100.0, 60.0), DVec2::new(100.0, 60.0005), 6.0, 3.0);
    project.part.runs = [(Id(2), speck)].into();
    let analysis = crate::analyse(&project, &Cancel::default(), &mut |_| {});
    let of_opening = analysis.findings.iter().find(|f| f.rule == "no-opening").expect("a finding");
    assert_eq!((of_opening.severity, of_opening.items.clone()), (Severity::Fault, vec![Id(2)]));
}

#[test]
fn a_part_that_follows_the_sprues_is_a_fault_that_names_one() {
    let sprue = |x| {
        Item::Sprue(Sprue {
            draft_deg: 0.0,
            finish: Finish::AsTurned,
            measured: None,
            length_mm: 20.0,
            ..gate(x, 60.0, Half::Fixed)
        })
    };
    let project = with(vec![sprue(70.0), sprue(130.0)]);
    let analysis = crate::analyse(&project, &Cancel::default(), &mut |_| {});
    let verdict = analysis.findings.iter().find(|finding| finding.rule == "verdict").expect("a verdict");
    assert_eq!(verdict.severity, Severity::Fault);
    let named = verdict.items.first().map(|id| project.tag(*id));
    assert!(named.is_some_and(|tag| tag.starts_with('S') && verdict.message.contains(&tag)), "{verdict:#?}");
}

#[test]
fn what_breaks_off_and_what_stays_bent_is_told() {
    let mut project = with(vec![
        Item::Feature(screw(60.0, 60.0, ThreadSize::M4)),
        Item::Sprue(gate(80.0, 60.0, Half::Fixed)),
    ]);
    project.sprues.remove(&Id(2));
    let mut opening = crate::opening::run(&project, &Cancel::default()).expect("it opens");
    opening.verdict.outcome = crate::opening::Outcome::StaysOnMoving;
    let about = |opening: &Opening| {
        let findings =
            of_opening(&project, opening, opening.verdict.deciding.map(|index| opening.holds[index].name));
        findings.into_iter().map(|f| (f.rule, f.severity, f.items)).collect::<Vec<_>>()
    };
    opening.bumps.iter_mut().for_each(|bump| bump.height_mm = 0.9);
    opening.holds.iter_mut().for_each(|hold| hold.state = crate::opening::HoldState::Holding);
    assert_eq!(about(&opening), []);
    for bump in opening.bumps.iter_mut() {
        bump.height_mm = if bump.item == Id(11) { -1.2 } else { 5.0 };
    }
    assert_eq!(about(&opening), [("bump", Severity::Warning, vec![Id(11)])], "only gates are judged");
    opening.bumps.clear();
    let broke = crate::opening::HoldState::Broke { opening_mm: 0.4 };
    opening
        .holds
        .iter_mut()
        .filter(|hold| hold.name.what.item().is_some())
        .for_each(|hold| hold.state = broke);
    for (governed_by, rule) in [("shear", "plug-lost"), ("tear", "tears"), ("measured, tear", "tears")] {
        let key = opening.holds.iter_mut().find(|hold| hold.name.what.item() == Some(Id(10)));
        key.expect("the screw holds").governed_by = governed_by;
        let mut told = about(&opening);
        told.sort_by_key(|(_, severity, _)| *severity);
        let expected = [(rule, Severity::Fault, vec![Id(10)]), ("sprue-broke", Severity::Note, vec![Id(11)])];
        assert_eq!(told, expected);
    }
}

#[test]
fn a_plug_that_its_socket_holds_too_hard_is_told_before_it_is_lost() {
    let at_risk = |drag_mpa, half| {
        let feature = KeyingFeature { half, ..screw(100.0, 60.0, ThreadSize::M4) };
        let mut project = with(vec![Item::Feature(feature)]);
        project.holds.sprue_drag_turned_mpa = drag_mpa;
        project
    };
    // A socket of 2 mm across flats and 2.5 mm deep: its walls are 4 t/s = 5 times its neck, and half of what
    // the neck bears at 18 MPa is safe, 1.8 MPa on the walls.
    assert_eq!(layout(&at_risk(1.79, Half::Moving)).findings, []);
    assert_eq!(layout(&at_risk(1.81, Half::Fixed)).findings, []);
    let project = at_risk(1.81, Half::Moving);
    let findings = layout(&project).findings;
    assert_eq!(findings.iter().map(|finding| finding.rule).collect::<Vec<_>>(), ["plug-risk"]);
    let (measured, needed) = (findings[0].measured.expect("a pull"), findings[0].needed.expect("a limit"));
    assert!((measured / needed - 1.81 / 1.8).abs() < 1e-9);
    let mut cured = project.clone();
    cured.apply(findings[0].cure_edit.as_ref().expect("a cure")).expect("it can be applied");
    assert_eq!(layout(&cured).findings, []);
}

#[test]
fn a_plug_lost_in_the_moving_half_is_told_with_the_pull_and_what_it_bears() {
    let project = with(vec![Item::Feature(screw(60.0, 60.0, ThreadSize::M4))]);
    let mut opening = crate::opening::run(&project, &Cancel::default()).expect("it opens");
    let hold = opening.holds.iter_mut().find(|hold| hold.name.what.item() == Some(Id(10)));
    let hold = hold.expect("the screw holds");
    hold.state = crate::opening::HoldState::Broke { opening_mm: 0.4 };
    (hold.governed_by, hold.peak_n, hold.capacity_n) = ("shear", 31.0, 30.0);
    let lost = |project: &Project| {
        let findings = of_opening(project, &opening, None);
        findings.into_iter().find(|finding| finding.rule == "plug-lost").expect("a plug is lost")
    };
    let finding = lost(&project);
    assert_eq!((finding.measured, finding.needed, finding.unit), (Some(31.0), Some(30.0), "N"));
    assert!(finding.message.contains("lost in the moving half"));
    let mut turned = project.clone();
    turned.apply(&finding.cure_edit.expect("the screw can be turned over")).expect("it turns");
    let kind = FeatureKind::SetScrew { thread: ThreadSize::M4, end: keepside_model::ScrewEnd::Flat };
    assert_eq!(turned.features[&Id(10)].kind, kind);
    // One that is turned over already has no socket to fill.
    assert_eq!(lost(&turned).cure_edit, None);
}

#[test]
fn a_small_margin_is_a_warning_and_a_large_one_is_not() {
    let margin = |factor| Margin { factor, searched: (0.02, 20.0), flips_to: None, deciding: None };
    let rules = |factor| of_margin(&blank(), &margin(factor)).into_iter().map(|f| f.rule).collect::<Vec<_>>();
    assert_eq!(rules(Some(1.2)), ["margin"]);
    assert_eq!(rules(Some(1.5)), [""; 0]);
    assert_eq!(rules(Some(0.8)), [""; 0]);
    assert_eq!(rules(None), [""; 0]);
}
