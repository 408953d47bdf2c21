//! Features opposite a gate.

use super::{Drawn, Finding, Severity};
use crate::outline::{depth_at, plan_diameter_mm};

/// Tells of every feature that the melt from a gate strikes: the stream hits its top, and the roof there
/// is what stays of the channel's depth.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let project = drawn.project;
    for (&id, feature) in &project.features {
        let radius_mm = 0.5 * plan_diameter_mm(&feature.kind);
        for (&gate, sprue) in project.sprues.iter().filter(|(_, sprue)| sprue.half != feature.half) {
            let gap_mm = feature.at.distance(sprue.at) - radius_mm - 0.5 * sprue.diameter_mm;
            if gap_mm >= 0.0 {
                continue;
            }
            let Some(depth_mm) = depth_at(project, feature.at) else { continue };
            let roof_mm = depth_mm - feature.protrusion_mm;
            let message = format!(
                "{} {} stands opposite gate {}: the melt strikes it and must turn through a roof of \
                 {:.2} mm; on opening it holds the part flat there",
                feature.kind.word(),
                project.tag(id),
                project.tag(gate),
                roof_mm.max(0.0),
            );
            findings.push(
                Finding::new("opposite-gate", Severity::Note, [id, gate], Some(feature.at), message)
                    .comparing_mm(roof_mm, project.limits.roof_mm),
            );
        }
    }
}
