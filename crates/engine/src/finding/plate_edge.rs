//! The channel against the edge of the plates.

use glam::DVec2;
use keepside_model::Id;

use super::cure::{SLACK_MM, move_by};
use super::{Drawn, Finding, Severity};

/// A channel that leaves the plates, or leaves too little steel to their edge.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let Some((low, high)) = drawn.outline.bounds() else { return };
    let plates = &drawn.project.plates;
    let needed_mm = drawn.project.limits.steel_wall_mm;
    let size = DVec2::new(plates.width_mm, plates.height_mm);
    let (before, beyond) = (low, size - high);
    let wall_mm = before.min_element().min(beyond.min_element());
    if wall_mm >= needed_mm - SLACK_MM {
        return;
    }
    // Where it is tightest: on the box's side, at the outline's nearest point.
    let middle = low.midpoint(high);
    let probe = if before.x == wall_mm {
        DVec2::new(low.x, middle.y)
    } else if before.y == wall_mm {
        DVec2::new(middle.x, low.y)
    } else if beyond.x == wall_mm {
        DVec2::new(high.x, middle.y)
    } else {
        DVec2::new(middle.x, high.y)
    };
    let at = drawn.outline.nearest_edge(probe).map(|(at, _)| at);
    let (severity, message) = if wall_mm < -SLACK_MM {
        (Severity::Fault, format!("the channel reaches {:.2} mm beyond the plate's edge", -wall_mm))
    } else {
        let message = format!(
            "the channel leaves {:.2} mm of steel to the plate's edge; {needed_mm:.2} mm is needed",
            wall_mm.max(0.0)
        );
        (Severity::Warning, message)
    };
    let runs: Vec<Id> = drawn.project.part.runs.keys().copied().collect();
    let finding = Finding::new("plate-edge", severity, runs, at, message).comparing_mm(wall_mm, needed_mm);
    let room = size - (high - low);
    if room.min_element() < 2.0 * needed_mm {
        let wanted = high - low + 2.0 * needed_mm;
        let cure = format!("Use plates of at least {:.0} × {:.0} mm", wanted.x.ceil(), wanted.y.ceil());
        findings.push(finding.cured_by(cure, None));
        return;
    }
    let wall = DVec2::splat(needed_mm);
    let by_mm = (wall - before).max(DVec2::ZERO) - (wall - beyond).max(DVec2::ZERO);
    let project = drawn.project;
    let with_part = project.sprues.keys().chain(project.vents.keys()).chain(project.features.keys());
    let with_part = with_part.chain(project.ejectors.keys());
    let ids = project.part.runs.keys().chain(with_part).copied().collect();
    let cure = format!("Move the part with all that belongs to it by {:.1}, {:.1} mm", by_mm.x, by_mm.y);
    findings.push(finding.cured_by(cure, move_by(project, ids, by_mm)));
}
