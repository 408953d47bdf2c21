//! Vents that do not meet the channel, or end inside the plate.

use glam::DVec2;
use keepside_model::{Edit, Item, Vent};

use super::cure::{SLACK_MM, move_to};
use super::{Drawn, Finding, Severity};

/// How far from the channel's edge a vent may be drawn, mm. Assumed: closer than one can mill it.
const AT_EDGE_MM: f64 = 0.1;

/// Vents that start away from the channel's edge.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    for (&id, vent) in &drawn.project.vents {
        let Some(near) = drawn.lookup.clear(vent.at) else { continue };
        let (edge, distance_mm) = (near.at, near.distance_mm.abs());
        if distance_mm <= AT_EDGE_MM {
            continue;
        }
        let side = if near.distance_mm > 0.0 { "inside" } else { "outside" };
        let message = format!(
            "vent {} starts {distance_mm:.2} mm {side} the channel's edge; it should meet the edge",
            drawn.project.tag(id)
        );
        findings.push(
            Finding::new("vent-edge", Severity::Warning, [id], Some(vent.at), message)
                .comparing_mm(distance_mm, AT_EDGE_MM)
                .cured_by("Move it to the channel's edge", move_to(id, vent.at, edge)),
        );
    }
}

/// Vents that end in the plate: the air has to go on from there by a groove that is not drawn.
pub(super) fn ends(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let project = drawn.project;
    if project.part.runs.is_empty() {
        return;
    }
    let size = DVec2::new(project.plates.width_mm, project.plates.height_mm);
    for (&id, vent) in &project.vents {
        let way = drawn.lookup.vent_direction(vent);
        // How far it is to the plate's edge that way, along each axis.
        let along = |way: f64, at: f64, size: f64| {
            let ahead_mm = if way > 0.0 { size - at } else { at };
            if way == 0.0 { f64::INFINITY } else { ahead_mm / way.abs() }
        };
        let needed_mm = along(way.x, vent.at.x, size.x).min(along(way.y, vent.at.y, size.y));
        if !needed_mm.is_finite() || needed_mm <= 0.0 || vent.length_mm >= needed_mm - SLACK_MM {
            continue;
        }
        let message = format!(
            "vent {} ends {:.2} mm inside the plate's edge: the air needs a way on from there, such as a deeper \
             groove",
            project.tag(id),
            needed_mm - vent.length_mm
        );
        // A little longer than needed, so that it opens.
        let length_mm = (needed_mm * 10.0).ceil() / 10.0;
        let edit = Edit::Set(id, Item::Vent(Vent { length_mm, ..vent.clone() }));
        findings.push(
            Finding::new("vent-end", Severity::Note, [id], Some(vent.at + way * vent.length_mm), message)
                .comparing_mm(vent.length_mm, needed_mm)
                .cured_by(format!("Let it run on to the edge, {length_mm:.1} mm long"), Some(edit)),
        );
    }
}
