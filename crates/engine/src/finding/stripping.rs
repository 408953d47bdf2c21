//! What taking the part off the moving half tells.

use keepside_model::{Edit, Ejector, FeatureKind, Half, Id, Item, KeyingFeature, Project};

use super::cure::SLACK_MM;
use super::{Finding, Severity};
use crate::hold::ejector::tilting_diameter_mm;
use crate::opening::{EjectorLoad, NotComputed, StripAt, StripOutcome, Stripping};
use crate::outline::channel_at;

/// Findings of stripping. A part that cannot be taken off unharmed is a fault, told at the features and
/// ejectors that harm it; one without ejectors is taken off by hand.
pub(crate) fn of_stripping(project: &Project, stripping: &Stripping) -> Vec<Finding> {
    let outcome = stripping.outcome;
    let mut findings = Vec::new();
    match outcome {
        StripOutcome::ComesOff => {}
        StripOutcome::NoEjectors => {
            let message = "no ejector pin pushes on the part: it has to be taken off the moving half by hand";
            let finding = Finding::new("no-ejector", Severity::Note, [], None, message.to_owned());
            findings.push(finding.cured_by("Add ejector pins near the keying features", None));
        }
        StripOutcome::Harmed | StripOutcome::Torn | StripOutcome::StaysOn => {
            findings.extend(stripping.features.iter().filter_map(|at| strained(project, at)));
            findings.extend(stripping.features.iter().filter_map(|at| broken(project, at)));
            findings.extend(stripping.ejectors.iter().filter_map(|load| marks(project, load)));
            if outcome == StripOutcome::StaysOn {
                findings.push(stays_on(project, stripping));
            } else if outcome == StripOutcome::Torn || findings.is_empty() {
                findings.push(Finding::new(
                    "stripping",
                    Severity::Fault,
                    [],
                    None,
                    format!("the part {outcome}"),
                ));
            }
        }
    }
    findings.extend(stripping.ejectors.iter().filter_map(|load| buckles(project, load)));
    findings
}

/// Stripping that could not be computed: whether the part comes off is not known.
pub(crate) fn of_no_stripping(reason: &NotComputed) -> Finding {
    let message = format!("whether the part comes off the moving half is not known: {reason}");
    Finding::new("no-stripping", Severity::Warning, [], None, message)
}

/// A feature by its kind and tag.
fn words(project: &Project, id: Id) -> String {
    let kind = project.features.get(&id).map_or("feature", |feature| feature.kind.word());
    format!("{kind} {}", project.tag(id))
}

/// A feature whose undercut stretches the plastic more than it bears.
fn strained(project: &Project, at: &StripAt) -> Option<Finding> {
    if at.strain <= at.allowed {
        return None;
    }
    let message = format!(
        "pushed off {}, the plastic is stretched by {:.1} %; it bears {:.1} %",
        words(project, at.item),
        100.0 * at.strain,
        100.0 * at.allowed
    );
    let place = project.place(at.item);
    let finding = Finding::new("strip-strain", Severity::Fault, [at.item], place, message);
    let finding =
        Finding { measured: Some(100.0 * at.strain), needed: Some(100.0 * at.allowed), unit: "%", ..finding };
    let shallower = project.features.get(&at.item).and_then(|feature| shallower(feature, at));
    Some(match shallower {
        Some((neck_mm, feature)) => finding.cured_by(
            format!("Turn the neck only down to {neck_mm:.2} mm"),
            Some(Edit::Set(at.item, Item::Feature(feature))),
        ),
        None => finding.cured_by("Use a turned head with a shallower undercut there", None),
    })
}

/// A turned head with just the undercut that the plastic bears: the neck, to a twentieth of a millimetre.
fn shallower(feature: &KeyingFeature, at: &StripAt) -> Option<(f64, KeyingFeature)> {
    let FeatureKind::TurnedHead { head_diameter_mm, head_height_mm, underside_deg, .. } = feature.kind else {
        return None;
    };
    // The strain is the undercut on the diameter over the neck.
    let neck_diameter_mm = (20.0 * head_diameter_mm / (1.0 + at.allowed) - SLACK_MM).ceil() / 20.0;
    (neck_diameter_mm < head_diameter_mm).then(|| {
        let kind =
            FeatureKind::TurnedHead { head_diameter_mm, neck_diameter_mm, head_height_mm, underside_deg };
        (neck_diameter_mm, KeyingFeature { kind, ..feature.clone() })
    })
}

/// A feature that keeps a piece of the part.
fn broken(project: &Project, at: &StripAt) -> Option<Finding> {
    at.broke.then(|| {
        let message = format!(
            "a piece breaks off at {} when the part is pushed off: it stays there, and the feature no longer \
             keys",
            words(project, at.item)
        );
        let place = project.place(at.item);
        let finding = Finding::new("strip-breaks", Severity::Fault, [at.item], place, message);
        finding.cured_by("Make its undercut shallower or give it a cone underneath", None)
    })
}

/// An ejector that presses harder than the plastic bears.
fn marks(project: &Project, load: &EjectorLoad) -> Option<Finding> {
    if load.pressure_mpa <= load.mark_mpa {
        return None;
    }
    let tag = project.tag(load.item);
    let message = format!(
        "ejector {tag} presses with {:.1} MPa on the part; above {:.1} MPa it leaves a mark",
        load.pressure_mpa, load.mark_mpa
    );
    let place = project.place(load.item);
    let finding = Finding::new("ejector-mark", Severity::Fault, [load.item], place, message);
    let finding =
        Finding { measured: Some(load.pressure_mpa), needed: Some(load.mark_mpa), unit: "MPa", ..finding };
    let thicker = project.ejectors.get(&load.item).and_then(|ejector| {
        let needed_mm = ejector.diameter_mm * (load.pressure_mpa / load.mark_mpa).sqrt();
        thicker(project, load.item, ejector, needed_mm)
    });
    Some(match thicker {
        Some((cure, edit)) => finding.cured_by(cure, Some(edit)),
        None => finding.cured_by("Share its load with another ejector beside it", None),
    })
}

/// A pin that is too slender for its force. Between the diameter that the handbook asks for and that of a
/// pin whose face can tilt lies a warning: which of the two it is depends on its fit in the plate.
fn buckles(project: &Project, load: &EjectorLoad) -> Option<Finding> {
    let ejector = project.ejectors.get(&load.item)?;
    let safe_mm = tilting_diameter_mm(load.buckling_mm);
    if ejector.diameter_mm >= safe_mm - SLACK_MM {
        return None;
    }
    let (severity, condition) = if ejector.diameter_mm < load.buckling_mm - SLACK_MM {
        (Severity::Fault, "")
    } else {
        (Severity::Warning, " unless its fit in the plate keeps it straight")
    };
    let message = format!(
        "ejector {} of {:.2} mm, {:.0} mm long, buckles under {:.0} N{condition}; {safe_mm:.2} mm is needed",
        project.tag(load.item),
        ejector.diameter_mm,
        ejector.length_mm,
        load.force_n
    );
    let finding = Finding::new("ejector-buckling", severity, [load.item], Some(ejector.at), message)
        .comparing_mm(ejector.diameter_mm, safe_mm);
    Some(match thicker(project, load.item, ejector, safe_mm) {
        Some((cure, edit)) => finding.cured_by(cure, Some(edit)),
        None => finding.cured_by("Use a shorter pin, or a stepped one with a thicker shank", None),
    })
}

/// The pin of at least that diameter, in steps of half a millimetre, if the channel has room for it.
fn thicker(project: &Project, id: Id, ejector: &Ejector, needed_mm: f64) -> Option<(String, Edit)> {
    let diameter_mm = (2.0 * (needed_mm - SLACK_MM)).ceil() / 2.0;
    let place = channel_at(project, ejector.at)?;
    let room_mm = place.width_mm - 2.0 * place.offset_mm.abs();
    (diameter_mm <= room_mm + SLACK_MM).then(|| {
        let edit = Edit::Set(id, Item::Ejector(Ejector { diameter_mm, ..ejector.clone() }));
        (format!("Use a pin of {diameter_mm:.1} mm"), edit)
    })
}

/// A part that the ejectors do not push clear: at the features that still hold it.
fn stays_on(project: &Project, stripping: &Stripping) -> Finding {
    let holding = stripping.features.iter().filter(|at| at.released_at_mm.is_none()).map(|at| at.item);
    let holding: Vec<Id> = holding.collect();
    let mut message = format!("the part {}", stripping.outcome);
    if !holding.is_empty() {
        let names: Vec<String> = holding.iter().map(|&id| words(project, id)).collect();
        message += &format!(": it still hangs on {}", names.join(", "));
    }
    let at = holding.first().and_then(|&id| project.place(id));
    let highest = project.features.values().filter(|feature| feature.half == Half::Moving);
    let highest_mm = highest.map(|feature| feature.protrusion_mm).fold(0.0, f64::max);
    Finding::new("strip-stays", Severity::Fault, holding, at, message).cured_by(
        format!(
            "Put an ejector closer to each feature, and let all of them come out farther than {highest_mm:.1} mm"
        ),
        None,
    )
}

#[cfg(test)]
mod tests {
    use glam::DVec2;
    use keepside_model::EjectorFace;

    use super::*;
    use crate::hold::ejector::buckling_diameter_mm;

    /// A turned head K10 and an ejector E11 in a channel 6 mm wide, and what stripping does at them.
    fn stripped(outcome: StripOutcome, strain: f64, pressure_mpa: f64) -> (Project, Stripping) {
        let mut project = Project::blank();
        let kind = FeatureKind::TurnedHead {
            head_diameter_mm: 4.0,
            neck_diameter_mm: 3.6,
            head_height_mm: 1.0,
            underside_deg: 60.0,
        };
        let at = DVec2::new(80.0, 60.0);
        project.features.insert(Id(10), KeyingFeature::new(at, Half::Moving, kind, 2.0));
        let at = DVec2::new(90.0, 60.0);
        let ejector = Ejector::new(at, 3.0, 80.0, 6.0, EjectorFace::Plain);
        project.ejectors.insert(Id(11), ejector);
        let (force_n, allowed) = (60.0, 0.0336);
        let feature =
            StripAt { item: Id(10), force_n, strain, allowed, released_at_mm: Some(1.2), broke: false };
        let buckling_mm = buckling_diameter_mm(force_n, 80.0);
        let load = EjectorLoad { item: Id(11), force_n, pressure_mpa, mark_mpa: 18.0, buckling_mm };
        let stripping = Stripping {
            outcome,
            words: format!("The part {outcome}"),
            features: vec![feature],
            ejectors: vec![load],
            peak_n: force_n,
            force: vec![(0.0, 0.0), (0.5, force_n), (1.2, 0.0)],
            bumps: Vec::new(),
            flatness_mm: 0.1,
            residual: Vec::new(),
            effort: crate::opening::Effort::default(),
        };
        (project, stripping)
    }

    #[track_caller]
    fn check(project: &Project, stripping: &Stripping, expected: &[(&str, Severity)]) -> Vec<Finding> {
        let findings = of_stripping(project, stripping);
        let told: Vec<_> = findings.iter().map(|finding| (finding.rule, finding.severity)).collect();
        assert_eq!(told, expected, "{findings:#?}");
        for finding in &findings {
            assert!(!finding.message.ends_with('.') && !finding.cure.ends_with('.'), "{finding:#?}");
            assert!(finding.items.iter().all(|id| finding.message.contains(&project.tag(*id))));
        }
        findings
    }

    #[test]
    fn a_part_that_comes_off_unharmed_has_nothing_to_tell() {
        let (project, stripping) = stripped(StripOutcome::ComesOff, 0.03, 8.0);
        check(&project, &stripping, &[]);
    }

    #[test]
    fn a_part_without_ejectors_is_noted() {
        let (mut project, mut stripping) = stripped(StripOutcome::NoEjectors, 0.0, 0.0);
        project.ejectors.clear();
        stripping.ejectors.clear();
        stripping.features.clear();
        check(&project, &stripping, &[("no-ejector", Severity::Note)]);
    }

    #[test]
    fn a_head_that_overstrains_the_plastic_gets_a_thicker_neck() {
        let (mut project, stripping) = stripped(StripOutcome::Harmed, 0.4 / 3.6, 8.0);
        let findings = check(&project, &stripping, &[("strip-strain", Severity::Fault)]);
        assert_eq!((findings[0].unit, findings[0].needed), ("%", Some(3.36)));
        project.apply(findings[0].cure_edit.as_ref().expect("a thicker neck")).expect("it is in range");
        let FeatureKind::TurnedHead { neck_diameter_mm, .. } = project.features[&Id(10)].kind else {
            panic!("it is still a turned head")
        };
        // 4.0/1.0336 is 3.87.
        assert_eq!(neck_diameter_mm, 3.9);
        assert!(4.0 / neck_diameter_mm - 1.0 <= 0.0336);
    }

    #[test]
    fn an_ejector_that_marks_the_part_gets_thicker_if_the_channel_has_room() {
        let (mut project, mut stripping) = stripped(StripOutcome::Harmed, 0.03, 30.0);
        let findings = check(&project, &stripping, &[("ejector-mark", Severity::Fault)]);
        project.apply(findings[0].cure_edit.as_ref().expect("a thicker pin")).expect("it is in range");
        // 3 mm times the root of 30/18 is 3.87 mm.
        assert_eq!(project.ejectors[&Id(11)].diameter_mm, 4.0);
        stripping.ejectors[0].pressure_mpa = 90.0;
        let findings = check(&project, &stripping, &[("ejector-mark", Severity::Fault)]);
        assert!(findings[0].cure_edit.is_none(), "8.9 mm do not fit into 6 mm");
    }

    #[test]
    fn a_slender_ejector_buckles() {
        let (mut project, stripping) = stripped(StripOutcome::ComesOff, 0.03, 8.0);
        let straight_mm = stripping.ejectors[0].buckling_mm;
        let safe_mm = tilting_diameter_mm(straight_mm);
        let mut of = |diameter_mm, expected: &[(&str, Severity)]| {
            let ejector = project.ejectors.get_mut(&Id(11)).expect("it is there");
            ejector.diameter_mm = diameter_mm;
            check(&project, &stripping, expected)
        };
        of(0.99 * straight_mm, &[("ejector-buckling", Severity::Fault)]);
        let findings = of(1.01 * straight_mm, &[("ejector-buckling", Severity::Warning)]);
        assert!(findings[0].cure_edit.is_some() && findings[0].needed == Some(safe_mm));
        of(safe_mm, &[]);
    }

    #[test]
    fn what_stays_on_breaks_or_tears_is_a_fault_in_any_case() {
        let (project, mut stripping) = stripped(StripOutcome::StaysOn, 0.03, 8.0);
        stripping.features[0].released_at_mm = None;
        let findings = check(&project, &stripping, &[("strip-stays", Severity::Fault)]);
        assert!(findings[0].message.contains("it still hangs on turned head K10"));
        stripping.features[0].released_at_mm = Some(1.2);
        stripping.outcome = StripOutcome::Torn;
        check(&project, &stripping, &[("stripping", Severity::Fault)]);
        stripping.outcome = StripOutcome::Harmed;
        check(&project, &stripping, &[("stripping", Severity::Fault)]);
        stripping.features[0].broke = true;
        check(&project, &stripping, &[("strip-breaks", Severity::Fault)]);
    }
}
