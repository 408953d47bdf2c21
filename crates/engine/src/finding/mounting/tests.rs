//! Every rule of mounting on a feature that breaks it and nothing else, and every one-click cure applied.
//!
//! The channel floor is 1.5 mm below the parting face of plates of 20 mm; see the tests of the mount.

use keepside_model::{FeatureKind, Item, KeyingFeature, Lock, Project, ScrewEnd, ThreadSize};

use crate::finding::Severity::{Fault, Note, Warning};
use crate::finding::tests::layout;
use crate::finding::tests::{check, post, screw, with};

fn of(feature: KeyingFeature) -> Project {
    with(vec![Item::Feature(feature)])
}

fn m4() -> KeyingFeature {
    screw(100.0, 60.0, ThreadSize::M4)
}

fn of_length(length_mm: f64) -> Project {
    of(KeyingFeature { screw_length_mm: Some(length_mm), ..m4() })
}

/// The project with plates of this thickness.
fn in_plates(thickness_mm: f64, mut project: Project) -> Project {
    project.plates.moving_thickness_mm = thickness_mm;
    project.plates.fixed_thickness_mm = thickness_mm;
    project
}

/// A deeper and wider channel, for heads.
fn in_wide_channel(mut project: Project) -> Project {
    let runs = project.part.runs.values_mut();
    runs.flat_map(|run| &mut run.points).for_each(|point| (point.width_mm, point.depth_mm) = (12.0, 8.0));
    project
}

fn cap(turned_mm: Option<f64>, chamfer_mm: f64, protrusion_mm: f64) -> Project {
    let kind = FeatureKind::CapHead { thread: ThreadSize::M4, turned_mm, chamfer_mm };
    in_wide_channel(of(KeyingFeature { kind, protrusion_mm, ..post(100.0, 60.0, 1.0) }))
}

#[track_caller]
fn cure(project: &Project) -> String {
    layout(project).findings[0].cure.clone()
}

#[test]
fn every_size_and_end_can_be_mounted_without_a_word() {
    for thread in ThreadSize::ALL {
        for end in ScrewEnd::ALL {
            let kind = FeatureKind::SetScrew { thread, end };
            let project = in_wide_channel(of(KeyingFeature { kind, ..m4() }));
            assert_eq!(layout(&in_plates(30.0, project)).findings, [], "{thread:?} {end:?}");
        }
    }
}

#[test]
fn a_length_that_is_not_sold_is_replaced_by_the_nearest_that_is() {
    check(&of_length(11.0), "screw-length", Warning, Some(11.0), true);
    // Ten and twelve are as near; 14 is not sure, and 16 leaves no room for a second screw behind.
    check(&of_length(14.0), "screw-length", Note, Some(14.0), true);
    assert!(cure(&of_length(14.0)).contains("12 mm"), "{}", cure(&of_length(14.0)));
    assert_eq!(layout(&of_length(12.0)).findings, []);
    let cone =
        KeyingFeature { kind: FeatureKind::SetScrew { thread: ThreadSize::M4, end: ScrewEnd::Cone }, ..m4() };
    check(&of(KeyingFeature { screw_length_mm: Some(10.0), ..cone }), "screw-length", Note, None, false);
}

#[test]
fn a_screw_keeps_its_thread_in_the_plate() {
    // 8 mm: 6 in the plate, 0.75 of chamfer.
    check(&of_length(8.0), "thread-engagement", Warning, Some(5.25), true);
    assert!(cure(&of_length(8.0)).contains("10 mm"));
    // In a plate too thin, the cure is a thicker one: the floor's 1.5 mm and 8 of a screw of 10 mm.
    let thin = in_plates(8.0, of(KeyingFeature { lock: Lock::Loose, ..m4() }));
    let rules: Vec<_> = layout(&thin).findings.iter().map(|finding| finding.rule).collect();
    assert_eq!(rules, ["thread-engagement", "lock", "drill-point"]);
    assert!(cure(&thin).contains("10 mm thick"), "{}", cure(&thin));
    let mut relaxed = of_length(8.0);
    relaxed.limits.engagement_diameters = 1.3;
    assert_eq!(layout(&relaxed).findings, []);
}

#[test]
fn a_screw_stays_inside_the_plate() {
    let long = of(KeyingFeature { screw_length_mm: Some(20.0), lock: Lock::Compound, ..m4() });
    let long = in_plates(19.0, long);
    let findings = layout(&long).findings;
    let rules: Vec<_> = findings.iter().map(|finding| (finding.rule, finding.severity)).collect();
    assert_eq!(rules, [("screw-out", Fault), ("drill-point", Warning)]);
    assert_eq!(findings[0].measured, Some(-0.5));
    // The one cure serves both.
    let mut cured = long.clone();
    cured.apply(findings[0].cure_edit.as_ref().expect("a cure")).expect("it applies");
    assert_eq!(layout(&cured).findings, []);
}

#[test]
fn a_key_reaches_a_screw_turned_over() {
    let kind = FeatureKind::SetScrew { thread: ThreadSize::M4, end: ScrewEnd::Flat };
    let project = in_plates(106.0, of(KeyingFeature { kind, ..m4() }));
    // 106 less 1.5 and 8 mm is 96.5, and 2.5 mm of socket; the extra long arm of 102 mm reaches 98.
    check(&project, "key-reach", Fault, Some(98.0), true);
    assert!(cure(&project).contains("12 mm"), "{}", cure(&project));
    let deep = in_plates(200.0, of(KeyingFeature { kind, ..m4() }));
    check(&deep, "key-reach", Fault, Some(98.0), true);
    assert!(cure(&deep).contains("socket up"));
}

#[test]
fn a_feature_is_locked_in_a_way_that_holds() {
    let locked = |lock, feature: KeyingFeature| of(KeyingFeature { lock, ..feature });
    check(&locked(Lock::Loose, m4()), "lock", Note, None, true);
    check(&locked(Lock::PressFit, m4()), "lock", Warning, None, true);
    check(&locked(Lock::Loose, post(100.0, 60.0, 3.0)), "lock", Warning, None, true);
    assert_eq!(layout(&locked(Lock::BackScrew, post(100.0, 60.0, 3.0))).findings, []);
    let wide = in_wide_channel(locked(Lock::BackScrew, post(100.0, 60.0, 7.0)));
    check(&wide, "lock", Warning, None, true);
    // M8 of 16 mm leaves 4.5 mm for a second one of 8: a thicker plate, as its blind hole is too deep too.
    let m8 = in_wide_channel(of(screw(100.0, 60.0, ThreadSize::M8)));
    let m8 = in_plates(22.0, m8);
    check(&m8, "lock-room", Warning, Some(4.0), true);
    // The floor is 4 mm down in the deep channel; 14 mm of the screw and 8 of the second make 26.
    assert!(cure(&m8).contains("26 mm thick"), "{}", cure(&m8));
    assert!(cure(&in_plates(25.0, m8)).contains("26 mm thick"));
    let long = of_length(16.0);
    assert_eq!(layout(&long).findings, [], "14 in the plate leave 4.5 mm for one of 4");
    let m3 = of(KeyingFeature { screw_length_mm: Some(16.0), ..screw(100.0, 60.0, ThreadSize::M3) });
    let m3 = in_plates(18.0, m3);
    check(&m3, "lock-room", Warning, Some(2.5), true);
    assert!(cure(&m3).contains("12 mm"), "{}", cure(&m3));
}

/// With compound the hole is blind: 14 mm and a point of 0.99 mm below the parting face.
#[test]
fn the_point_of_the_drill_stays_in_the_plate() {
    let in_plate = |thickness_mm| in_plates(thickness_mm, of(KeyingFeature { lock: Lock::Compound, ..m4() }));
    assert_eq!(layout(&in_plate(17.0)).findings, []);
    let close = in_plate(16.0);
    check(&close, "drill-point", Warning, None, true);
    let left_mm = layout(&close).findings[0].measured.expect("a measured value");
    assert!((left_mm - (2.0 - 1.65 / 59.0_f64.to_radians().tan())).abs() < 1e-4, "{left_mm}");
    assert!(cure(&close).contains("second screw"), "{}", cure(&close));
    let out = in_plate(13.0);
    assert!(layout(&out).findings[0].message.contains("breaks through"));
    check(&out, "drill-point", Warning, None, true);
    assert!(cure(&out).contains("17 mm thick"), "no room for a second screw either: {}", cure(&out));
}

/// M4: socket of 3 mm, 3.46 mm across its corners, a wall of 0.4 mm asked for.
#[test]
fn a_head_turned_down_keeps_metal_round_its_socket() {
    assert_eq!(layout(&cap(Some(4.3), 0.0, 5.0)).findings, []);
    let corners_mm = 2.0 * 3.0_f64.sqrt();
    let thin = cap(Some(4.2), 0.0, 5.0);
    check(&thin, "turned-cap", Warning, Some(0.5 * (4.2 - corners_mm)), true);
    assert!(cure(&thin).contains("4.3 mm"));
    check(&cap(Some(4.0), 0.0, 5.0), "turned-cap", Fault, Some(0.5 * (4.0 - corners_mm)), true);
    check(&cap(Some(3.0), 0.0, 5.0), "turned-cap", Fault, Some(0.5 * (3.0 - corners_mm)), true);
}

#[test]
fn a_chamfer_stays_on_the_head() {
    assert_eq!(layout(&cap(None, 1.5, 5.0)).findings, []);
    check(&cap(None, 1.6, 5.0), "chamfer", Warning, Some(1.6), true);
    check(&cap(Some(5.0), 0.75, 5.0), "chamfer", Warning, Some(0.75), true);
}

#[test]
fn plastic_fills_in_under_a_head() {
    assert_eq!(layout(&cap(None, 0.0, 4.3)).findings, []);
    check(&cap(None, 0.0, 4.2), "under-head", Warning, Some(0.2), true);
    check(&cap(None, 0.0, 3.0), "under-head", Warning, Some(-1.0), true);
    // In a channel 3 mm deep, with 0.8 mm of roof, only M2 has room: 2.2 mm less 0.3.
    let head = |head_height_mm| {
        let kind = FeatureKind::TurnedHead {
            head_diameter_mm: 4.0,
            neck_diameter_mm: 3.0,
            head_height_mm,
            underside_deg: 30.0,
        };
        of(KeyingFeature { kind, ..post(100.0, 60.0, 1.0) })
    };
    check(&head(1.8), "under-head", Warning, Some(0.2), true);
    assert!(cure(&head(1.8)).contains("Raise it to 2.10"));
    check(&head(2.0), "under-head", Warning, Some(0.0), true);
    assert!(cure(&head(2.0)).contains("1.9 mm high"), "{}", cure(&head(2.0)));
}

#[test]
fn a_ring_leaves_a_third_of_its_post() {
    let ringed = |ring_depth_mm| {
        let kind = FeatureKind::RingedPost {
            diameter_mm: 3.0,
            ring_depth_mm,
            ring_width_mm: 0.5,
            land_mm: 0.5,
            flank_deg: 0.0,
        };
        of(KeyingFeature { kind, ..post(100.0, 60.0, 1.0) })
    };
    assert_eq!(layout(&ringed(1.0)).findings, []);
    check(&ringed(1.1), "ring-neck", Warning, Some(0.8), true);
    check(&ringed(1.5), "ring-neck", Fault, Some(0.0), true);
}

#[test]
fn cures_choose_from_the_drawer() {
    let mut project = of(m4());
    project.drawer.extend([ThreadSize::M3, ThreadSize::M6]);
    check(&project, "not-on-hand", Note, None, true);
    assert!(cure(&project).contains("Use M3"), "M6 does not fit: {}", cure(&project));
    project.drawer.remove(&ThreadSize::M3);
    check(&project, "not-on-hand", Note, None, false);
    // A screw too wide for the channel: not the M4 that would do, but the M3 that is there.
    let mut wide = of(screw(100.0, 60.0, ThreadSize::M5));
    wide.drawer.extend([ThreadSize::M2, ThreadSize::M3, ThreadSize::M5]);
    check(&wide, "flow-gap", Warning, Some(0.5), true);
    assert!(cure(&wide).contains("M3"), "{}", cure(&wide));
}

#[test]
fn a_smaller_screw_keeps_the_end_that_is_up() {
    let kind = FeatureKind::SetScrew { thread: ThreadSize::M5, end: ScrewEnd::Dog };
    let project = of(KeyingFeature { kind, ..m4() });
    let edit = layout(&project).findings[0].cure_edit.clone();
    let Some(keepside_model::Edit::Set(_, Item::Feature(smaller))) = edit else { panic!("{edit:?}") };
    assert_eq!(smaller.kind, FeatureKind::SetScrew { thread: ThreadSize::M4, end: ScrewEnd::Dog });
}
