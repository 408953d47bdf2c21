//! Features opposite a gate.

use super::standing::Sort;
use super::{Drawn, Finding, Severity};

/// Tells of every feature that the melt from a gate strikes: the stream hits its top, and the roof there
/// is what stays of the channel's depth.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let project = drawn.project;
    drawn.round.pairs(0.0, |one, gate| {
        let (Sort::Feature(feature), Sort::Gate) = (one.sort, gate.sort) else { return };
        let gap_mm = one.at.distance(gate.at) - one.radius_mm - gate.radius_mm;
        if one.half == gate.half || gap_mm >= 0.0 {
            return;
        }
        let Some(depth_mm) = drawn.lookup.depth_at(one.at) else { return };
        let roof_mm = depth_mm - feature.protrusion_mm;
        let message = format!(
            "{} stands opposite {}: the melt strikes it, which keeps it from jetting, and must turn through a \
             roof of {:.2} mm; on opening it holds the part flat there",
            one.words(project),
            gate.words(project),
            roof_mm.max(0.0),
        );
        findings.push(
            Finding::new("opposite-gate", Severity::Note, [one.id, gate.id], Some(one.at), message)
                .comparing_mm(roof_mm, project.limits.roof_mm),
        );
    });
}
