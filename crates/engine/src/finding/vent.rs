//! Vents that do not meet the channel.

use super::cure::move_to;
use super::{Drawn, Finding, Severity};

/// How far from the channel's edge a vent may be drawn, mm. Assumed: closer than one can mill it.
const AT_EDGE_MM: f64 = 0.1;

/// Vents that start away from the channel's edge.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    for (&id, vent) in &drawn.project.vents {
        let Some((edge, distance_mm)) = drawn.outline.nearest_edge(vent.at) else { continue };
        if distance_mm <= AT_EDGE_MM {
            continue;
        }
        let side = if drawn.outline.contains(vent.at) { "inside" } else { "outside" };
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
