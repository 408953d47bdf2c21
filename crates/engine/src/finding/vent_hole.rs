//! Vents that run into a hole.

use glam::DVec2;
use keepside_model::{Id, Vent};

use super::cure::{SLACK_MM, move_to};
use super::standing::{Sort, Standing};
use super::{Drawn, Finding, Severity};
use crate::outline::{Extent, nearest_in_slot};

/// Vents that run into a bolt's or guide pin's hole, the hole of a feature or the bore of a gate in the
/// same half. Ejectors have a rule of their own.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let project = drawn.project;
    for (&id, vent) in &project.vents {
        let way = drawn.lookup.vent_direction(vent);
        for hole in crossed(drawn, vent, way) {
            let gap_mm = to_hole_mm(vent, way, hole);
            let message = format!(
                "vent {} runs {:.2} mm into {}: air and plastic go there instead of out of the mould",
                project.tag(id),
                -gap_mm,
                hole.hole_words(project)
            );
            let finding = Finding::new("vent-hole", Severity::Warning, [id, hole.id], Some(hole.at), message)
                .comparing_mm(gap_mm, 0.0);
            findings.push(cured(drawn, finding, id, vent));
        }
    }
}

/// The holes that a vent runs into.
pub(super) fn crossed<'d, 'a>(drawn: &'d Drawn<'a>, vent: &Vent, way: DVec2) -> Vec<&'d Standing<'a>> {
    let end = vent.at + way * vent.length_mm;
    let line = Extent { low: vent.at.min(end), high: vent.at.max(end) };
    let mut holes = drawn.round.near(&line, 0.5 * vent.width_mm);
    holes.retain(|hole| {
        let same_plate = hole.half.is_none_or(|half| half == vent.half);
        let own_rule = matches!(hole.sort, Sort::Ejector);
        same_plate && !own_rule && to_hole_mm(vent, way, hole) < -SLACK_MM
    });
    holes
}

/// Distance from the slot of a vent to a hole, mm, negative where it runs into it.
fn to_hole_mm(vent: &Vent, way: DVec2, hole: &Standing<'_>) -> f64 {
    nearest_in_slot(vent, way, hole.at).distance(hole.at) - hole.hole_mm
}

/// The nearest place along the channel's edge from which the vent meets no hole, tried in small steps.
fn cured(drawn: &Drawn<'_>, finding: Finding, id: Id, vent: &Vent) -> Finding {
    let Some(place) = drawn.lookup.channel_at(vent.at) else { return finding };
    let steps = (1..=100).map(|step| 0.5 * f64::from(step));
    let places =
        steps.flat_map(|by_mm| [vent.at + place.direction * by_mm, vent.at - place.direction * by_mm]);
    let free = places.filter_map(|at| drawn.lookup.clear(at)).map(|near| near.at).find(|&at| {
        let moved = Vent { at, ..vent.clone() };
        let way = drawn.lookup.vent_direction(&moved);
        crossed(drawn, &moved, way).is_empty()
    });
    match free {
        Some(at) => {
            let by_mm = at.distance(vent.at);
            finding
                .cured_by(format!("Move the vent {by_mm:.1} mm along the channel"), move_to(id, vent.at, at))
        }
        None => finding.cured_by("Move the vent, or make it shorter", None),
    }
}
