//! Rules of the shot, each on a layout that breaks it, with its cure applied.

use keepside_model::{Moulding, Press, Relief};

use super::*;

/// The strip of the other rules, with a gate in its middle and a vent at both tips.
fn strip() -> Project {
    let mut project = blank();
    project.sprues.clear();
    project.sprues.insert(Id(2), gate(100.0, 60.0, Half::Fixed));
    for (id, x) in [(3, 37.0), (4, 163.0)] {
        project.vents.insert(Id(id), vent(x, 60.0));
    }
    project
}

fn vent(x: f64, y: f64) -> Vent {
    Vent {
        name: String::new(),
        at: DVec2::new(x, y),
        half: Half::Fixed,
        width_mm: 4.0,
        depth_mm: 0.02,
        length_mm: 37.0,
        relief: Some(Relief::default()),
    }
}

/// Checks that the shot breaks this one rule and no other, and that the cure, if it is an edit, leaves nothing
/// to say.
#[track_caller]
fn check_shot(project: &Project, rule: &str, severity: Severity, has_edit: bool) -> Finding {
    let findings = crate::layout(project).findings;
    let rules: Vec<&str> = findings.iter().map(|finding| finding.rule).collect();
    assert_eq!(rules, [rule], "{findings:#?}");
    let finding = findings[0].clone();
    assert_eq!(finding.severity, severity, "{finding:#?}");
    assert!(!finding.message.ends_with('.') && !finding.cure.ends_with('.'), "{finding:#?}");
    assert_eq!(finding.cure_edit.is_some(), has_edit, "{finding:#?}");
    if let Some(edit) = &finding.cure_edit {
        let mut cured = project.clone();
        cured.apply(edit).expect("the cure can be applied");
        let left = crate::layout(&cured).findings;
        assert!(left.is_empty(), "{left:#?}");
    }
    finding
}

#[test]
fn a_sound_shot_has_no_findings() {
    assert_eq!(crate::layout(&strip()).findings, []);
}

#[test]
fn air_with_no_way_out_gets_a_vent_by_one_click() {
    let mut project = strip();
    project.vents.remove(&Id(4));
    let finding = check_shot(&project, "trapped-air", Severity::Warning, true);
    let Some(Edit::Add(_, Item::Vent(vent))) = finding.cure_edit else { panic!("{finding:?}") };
    // At the tip, in the half of the other vent, of the material's depth, out to the plate's edge.
    assert!(vent.at.distance(DVec2::new(163.0, 60.0)) < 0.02, "{vent:?}");
    assert_eq!((vent.half, vent.depth_mm, vent.length_mm), (Half::Fixed, 0.02, 37.0));
}

#[test]
fn air_between_two_fronts_gets_a_vent_between_two_gates() {
    let mut project = strip();
    project.sprues.insert(Id(2), gate(70.0, 60.0, Half::Fixed));
    project.sprues.insert(Id(5), gate(130.0, 60.0, Half::Fixed));
    let finding = check_shot(&project, "trapped-air", Severity::Warning, true);
    assert!(finding.at.expect("a place").distance(DVec2::new(100.0, 60.0)) < 0.1, "{finding:?}");
}

#[test]
fn vents_too_deep_too_small_or_in_the_wrong_place_are_told() {
    let mut project = strip();
    let tip = |project: &mut Project, change: fn(&mut Vent)| {
        project.vents.entry(Id(3)).and_modify(change);
    };
    tip(&mut project, |vent| vent.depth_mm = 0.05);
    let finding = check_shot(&project, "vent-flash", Severity::Warning, true);
    assert_eq!((finding.measured, finding.needed), (Some(0.05), Some(0.0305)));

    let mut project = strip();
    tip(&mut project, |vent| vent.relief = None);
    let finding = check_shot(&project, "vent-small", Severity::Warning, true);
    assert!(finding.cure.starts_with("Relieve V3"), "{finding:?}");
    tip(&mut project, |vent| (vent.relief, vent.width_mm) = (Some(Relief::default()), 0.2));
    let finding = check_shot(&project, "vent-small", Severity::Warning, true);
    assert!(finding.cure.starts_with("Make V3 "), "{finding:?}");

    let mut project = strip();
    project.vents.insert(Id(5), Vent { length_mm: 57.0, ..vent(80.0, 63.0) });
    check_shot(&project, "vent-idle", Severity::Note, false);
}

#[test]
fn temperatures_and_times_that_do_not_fit_are_told() {
    let set = |moulding: Moulding| Project { moulding, ..strip() };
    let melt = |c| Moulding { own_melt_temperature_c: Some(c), ..Moulding::default() };
    check_shot(&set(melt(290.0)), "temperature", Severity::Warning, true);
    let mould = |c| Moulding { own_mould_temperature_c: Some(c), ..Moulding::default() };
    let rules = |project: &Project| -> Vec<&str> {
        crate::layout(project).findings.iter().map(|finding| finding.rule).collect()
    };
    assert_eq!(rules(&set(mould(90.0))), ["cooling", "temperature"]);
    let soon = Moulding { cooling_time_s: Some(2.0), ..Moulding::default() };
    let finding = check_shot(&set(soon), "opens-hot", Severity::Warning, true);
    assert!(finding.measured < finding.needed && finding.unit == "s");
    let short = Moulding { packing_time_s: 1.0, ..Moulding::default() };
    check_shot(&set(short), "packing-short", Severity::Note, true);
    let none = Moulding { packing_pressure_mpa: 0.0, ..Moulding::default() };
    assert_eq!(crate::layout(&set(none)).findings, [], "a press that does not pack");
}

#[test]
fn what_the_press_cannot_give_is_told_with_numbers() {
    let on = |press: Press| Project { press, ..strip() };
    // 120 × 6 mm and two round tips of 3 mm, 748 mm², at 20 MPa.
    let weak = on(Press { clamp_n: 10_000.0, ..Press::default() });
    let finding = check_shot(&weak, "press-clamp", Severity::Warning, true);
    assert!((finding.measured.expect("kN") - 14.965).abs() < 0.01, "{finding:?}");
    let small = on(Press { platen_width_mm: 110.0, ..Press::default() });
    check_shot(&small, "press-platen", Severity::Warning, false);
    let turned = on(Press { platen_width_mm: 120.0, platen_height_mm: 200.0, ..Press::default() });
    assert_eq!(crate::layout(&turned).findings, []);
    let slow = on(Press { rate_limit_mm3_s: 3500.0, ..Press::default() });
    check_shot(&slow, "press-rate", Severity::Warning, true);
    let soft = on(Press { pressure_limit_mpa: 19.0, ..Press::default() });
    let findings = crate::layout(&soft).findings;
    assert!(findings.iter().any(|finding| finding.rule == "press-pressure"), "{findings:#?}");
    let tiny = on(Press { shot_volume_mm3: 2000.0, ..Press::default() });
    let findings = crate::layout(&tiny).findings;
    assert!(findings.iter().any(|finding| finding.rule == "press-shot"), "{findings:#?}");
    assert!(!findings.iter().any(|finding| finding.rule == "short-shot"), "it is said once: {findings:#?}");
}
