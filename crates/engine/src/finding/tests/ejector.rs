//! The rules of ejector pins.

use keepside_model::Grooves;

use super::*;

#[test]
fn an_ejector_pushes_on_the_part_and_on_nothing_else() {
    let pin = |x, y, diameter_mm| with(vec![Item::Ejector(ejector(x, y, diameter_mm))]);
    assert_eq!(layout(&pin(100.0, 60.0, 6.0)).findings, [], "as wide as the channel is still on the part");
    check(&pin(100.0, 70.0, 3.0), "ejector-outside", Severity::Fault, Some(-5.5), true);
    check(&pin(100.0, 62.0, 3.0), "ejector-outside", Severity::Fault, Some(-0.5), true);
    // Beyond the round end, which the end's own limit keeps a feature off but not an ejector.
    check(&pin(162.0, 60.0, 3.0), "ejector-outside", Severity::Fault, Some(-0.5), true);
    // Wider than the channel anywhere: the widest that is sold in halves of a millimetre takes its place.
    let wide = pin(100.0, 60.5, 8.0);
    check(&wide, "ejector-outside", Severity::Fault, Some(-1.5), true);
    assert!(layout(&wide).findings[0].cure.contains("6.0 mm in mid-channel"));
    let mut narrow = pin(100.0, 60.0, 3.0);
    narrow.part.runs.values_mut().flat_map(|run| &mut run.points).for_each(|p| p.width_mm = 0.4);
    narrow.sprues.values_mut().for_each(|sprue| sprue.diameter_mm = 0.3);
    check(&narrow, "ejector-outside", Severity::Fault, Some(-1.3), false);
}

#[test]
fn an_ejector_keeps_off_features_and_other_ejectors_and_may_meet_a_gate_opposite() {
    let beside = |x, other| with(vec![other, Item::Ejector(ejector(x, 60.0, 3.0))]);
    let screw = || Item::Feature(screw(100.0, 60.0, ThreadSize::M4));
    check(&beside(102.0, screw()), "same-place", Severity::Fault, Some(-1.5), true);
    check(&beside(104.5, screw()), "feature-gap", Severity::Warning, Some(1.0), true);
    let edit = layout(&beside(104.5, screw())).findings[0].cure_edit.clone();
    let Some(Edit::Move { ids, .. }) = edit else { panic!("{edit:?} is not a move") };
    assert_eq!(ids, [Id(11)], "the feature stays");
    let pin = || Item::Ejector(ejector(100.0, 60.0, 3.0));
    check(&beside(103.0, pin()), "feature-gap", Severity::Warning, Some(0.0), true);
    check(&beside(100.0, pin()), "same-place", Severity::Fault, Some(-3.0), true);
    let gate = |half| Item::Sprue(gate(101.0, 60.0, half));
    assert_eq!(layout(&beside(101.0, gate(Half::Fixed))).findings, []);
    check(&beside(101.0, gate(Half::Moving)), "same-place", Severity::Fault, Some(-3.0), true);
    let fixed = KeyingFeature { half: Half::Fixed, ..post(100.0, 60.0, 3.0) };
    assert_eq!(layout(&beside(100.0, Item::Feature(fixed))).findings, []);
}

#[test]
fn an_ejector_hole_leaves_steel_to_bolts_and_to_the_plate_edge() {
    let bolt = |y| {
        let (name, purpose, at) = (String::new(), HoleUse::Bolt, DVec2::new(100.0, y));
        let bolt = Item::Hole(PlateHole { name, purpose, at, diameter_mm: 4.0 });
        with(vec![bolt, Item::Ejector(ejector(100.0, 60.0, 5.0))])
    };
    let mut near = bolt(66.0);
    near.limits.steel_wall_mm = 1.8;
    // Both walls are too thin: the bolt's to the channel, and between the two holes.
    let of_wall = |project: &Project| {
        let findings = layout(project).findings;
        findings.into_iter().map(|f| (f.rule, f.measured, f.items)).collect::<Vec<_>>()
    };
    assert_eq!(
        of_wall(&near),
        [("steel-channel", Some(1.0), vec![Id(10)]), ("steel-wall", Some(1.5), vec![Id(10), Id(11)])]
    );
    assert_eq!(of_wall(&bolt(67.0)), []);
    let mut at_edge = with(vec![Item::Ejector(ejector(100.0, 60.0, 6.0))]);
    at_edge.plates.height_mm = 64.0;
    let rules: Vec<&str> = layout(&at_edge).findings.iter().map(|finding| finding.rule).collect();
    assert_eq!(rules, ["plate-edge", "steel-edge"]);
    // The cure of the one takes the ejector along and so cures the other.
    let edit = layout(&at_edge).findings[0].cure_edit.clone().expect("the part can move");
    at_edge.apply(&edit).expect("it moves");
    assert_eq!(layout(&at_edge).findings, []);
}

#[test]
fn an_ejector_stays_on_the_flat_floor_and_out_of_a_rib() {
    let pin = |y, diameter_mm, edge_mm| {
        let mut project = with(vec![Item::Ejector(ejector(100.0, y, diameter_mm))]);
        (project.part.draft_moving_deg, project.part.edge_moving_mm) = (0.0, edge_mm);
        project
    };
    // Edges of 1 mm on both sides leave 4 mm of the 6 flat.
    check(&pin(60.5, 4.0, 1.0), "ejector-floor", Severity::Warning, Some(-0.5), true);
    check(&pin(60.0, 5.0, 1.0), "ejector-floor", Severity::Warning, Some(-0.5), true);
    assert!(layout(&pin(60.0, 5.0, 1.0)).findings[0].cure.contains("4.0 mm in mid-channel"));
    assert_eq!(layout(&pin(60.0, 4.0, 1.0)).findings, []);
    assert_eq!(layout(&pin(60.1, 4.0, 1.0)).findings, [], "a step of a tenth is not felt");
    let mut drafted = pin(60.0, 6.0, 0.0);
    drafted.part.draft_moving_deg = 10.0;
    // 1.5 mm up a wall at 10 degrees: 0.264 mm on either side.
    check(&drafted, "ejector-floor", Severity::Warning, Some(-1.5 * 10.0_f64.to_radians().tan()), true);

    let ribbed = |y, diameter_mm, half| {
        let mut project = pin(y, diameter_mm, 0.0);
        project.part.rib = Some(Rib { half, width_mm: 1.5, height_mm: 1.0 });
        let findings = layout(&project).findings;
        findings.into_iter().map(|f| (f.rule, f.severity)).collect::<Vec<_>>()
    };
    assert_eq!(ribbed(60.0, 3.0, Half::Moving), [("ejector-rib", Severity::Note)]);
    assert_eq!(ribbed(60.0, 1.5, Half::Moving), [], "it fits into the groove");
    assert_eq!(ribbed(61.8, 2.0, Half::Moving), [], "beside the rib");
    assert_eq!(ribbed(60.0, 3.0, Half::Fixed), []);
}

#[test]
fn an_ejector_comes_out_far_enough_and_is_long_enough_for_it() {
    let of = |length_mm, stroke_mm| {
        let pin = Ejector { length_mm, stroke_mm, ..ejector(80.0, 60.0, 3.0) };
        with(vec![Item::Ejector(pin), Item::Feature(screw(100.0, 60.0, ThreadSize::M4))])
    };
    // The screw stands 2 mm high, the channel is 1.5 mm deep in the moving half.
    check(&of(80.0, 2.5), "ejector-stroke", Severity::Warning, Some(2.5), true);
    assert!(layout(&of(80.0, 2.5)).findings[0].message.contains("set screw K11, 2.00 mm deep"));
    assert_eq!(layout(&of(80.0, 3.0)).findings, []);
    let mut flat = of(80.0, 2.0);
    flat.features.clear();
    check(&flat, "ejector-stroke", Severity::Warning, Some(2.0), true);
    assert_eq!(layout(&flat).findings[0].needed, Some(2.5));
    // 20 mm of plate less 1.5 mm of channel, and 6 mm of stroke.
    check(&of(24.0, 6.0), "ejector-length", Severity::Fault, Some(24.0), true);
    assert_eq!(layout(&of(24.0, 6.0)).findings[0].needed, Some(24.5));
    assert_eq!(layout(&of(24.5, 6.0)).findings, []);
}

#[test]
fn a_vent_does_not_run_into_an_ejector_hole() {
    let crossing = |half, y| {
        let (name, at) = (String::new(), DVec2::new(100.0, 63.0));
        let vent = Vent { name, at, half, width_mm: 3.0, depth_mm: 0.02, length_mm: 60.0, relief: None };
        with(vec![Item::Ejector(ejector(100.0, y, 4.0)), Item::Vent(vent)])
    };
    let rules = |project: &Project| layout(project).findings.iter().map(|f| f.rule).collect::<Vec<_>>();
    // The pin reaches 0.5 mm through the wall at which the vent begins.
    assert_eq!(rules(&crossing(Half::Moving, 61.5)), ["ejector-outside", "ejector-vent"]);
    assert_eq!(rules(&crossing(Half::Fixed, 61.5)), ["ejector-outside"]);
    assert_eq!(rules(&crossing(Half::Moving, 61.0)), [""; 0], "they only touch");
    let mut inwards = crossing(Half::Moving, 60.0);
    inwards.vents.values_mut().for_each(|vent| vent.at.y = 62.0);
    let found = layout(&inwards).findings;
    let vent = found.iter().find(|finding| finding.rule == "ejector-vent").map(|f| f.measured);
    assert_eq!(vent, None, "a vent that begins where the pin ends only touches it");
    inwards.vents.values_mut().for_each(|vent| vent.at.y = 61.75);
    let found = layout(&inwards).findings;
    let vent = found.iter().find(|finding| finding.rule == "ejector-vent").expect("it crosses");
    assert_eq!((vent.measured, vent.severity), (Some(-0.25), Severity::Warning));
    let edit = vent.cure_edit.clone().expect("the pin can move along the channel");
    inwards.apply(&edit).expect("it moves");
    assert_eq!(rules(&inwards), ["vent-edge"]);
}

#[test]
fn grooves_that_meet_or_do_not_fit_are_told() {
    let grooved = |diameter_mm, grooves| {
        let face = EjectorFace::Grooved;
        with(vec![Item::Ejector(Ejector { face, grooves, ..ejector(100.0, 60.0, diameter_mm) })])
    };
    let usual = Grooves::default();
    assert_eq!(layout(&grooved(4.0, usual)).findings, []);
    // Sides that lean by 45° over half a millimetre meet before the next groove a millimetre on.
    let meeting = Grooves { pitch_mm: 1.0, mouth_mm: 0.4, lean_deg: 45.0, ..usual };
    check(&grooved(4.0, meeting), "ejector-grooves", Severity::Warning, None, true);
    let wide = Grooves { mouth_mm: 6.0, pitch_mm: 8.0, ..usual };
    check(&grooved(4.0, wide), "ejector-grooves", Severity::Warning, None, true);
}
