//! Steel between holes, and from a hole to the channel and the plate's edge.

use glam::DVec2;

use super::cure::{SLACK_MM, move_to};
use super::standing::Standing;
use super::{Drawn, Finding, Severity};

/// Walls of steel that are too thin.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    for hole in &drawn.round.all {
        findings.extend(to_plate_edge(drawn, hole));
        if hole.half.is_none() {
            findings.extend(to_channel(drawn, hole));
        }
    }
    drawn.round.pairs(drawn.project.limits.steel_wall_mm, |one, other| {
        findings.extend(between(drawn, one, other));
    });
}

fn to_plate_edge(drawn: &Drawn<'_>, hole: &Standing<'_>) -> Option<Finding> {
    let plates = &drawn.project.plates;
    let size = DVec2::new(plates.width_mm, plates.height_mm);
    let needed_mm = drawn.project.limits.steel_wall_mm;
    let wall_mm = hole.at.min_element().min((size - hole.at).min_element()) - hole.hole_mm;
    let message = match wall_mm {
        _ if wall_mm >= needed_mm - SLACK_MM => return None,
        _ if wall_mm < -SLACK_MM => {
            format!("{} breaks through the plate's edge", hole.hole_words(drawn.project))
        }
        _ => format!(
            "{} leaves {:.2} mm of steel to the plate's edge; {needed_mm:.2} mm is needed",
            hole.hole_words(drawn.project),
            wall_mm.max(0.0)
        ),
    };
    let finding = Finding::new("steel-edge", severity(wall_mm), [hole.id], Some(hole.at), message)
        .comparing_mm(wall_mm, needed_mm);
    let inset = DVec2::splat(hole.hole_mm + needed_mm);
    let place = hole.at.max(inset).min(size - inset);
    let fits = place.cmpge(inset).all() && hole.half.is_none();
    Some(if fits {
        finding.cured_by("Move it away from the edge", move_to(hole.id, hole.at, place))
    } else {
        finding.cured_by("Move it away from the edge, or use larger plates", None)
    })
}

/// A hole through both plates against the channel.
fn to_channel(drawn: &Drawn<'_>, hole: &Standing<'_>) -> Option<Finding> {
    let needed_mm = drawn.project.limits.steel_wall_mm;
    let near = drawn.lookup.clear(hole.at)?;
    let (edge, clear_mm) = (near.at, -near.distance_mm);
    let wall_mm = clear_mm - hole.hole_mm;
    let message = match wall_mm {
        _ if wall_mm >= needed_mm - SLACK_MM => return None,
        _ if wall_mm < -SLACK_MM => format!("{} cuts into the channel", hole.hole_words(drawn.project)),
        _ => format!(
            "{} leaves {:.2} mm of steel to the channel; {needed_mm:.2} mm is needed",
            hole.hole_words(drawn.project),
            wall_mm.max(0.0)
        ),
    };
    let finding = Finding::new("steel-channel", severity(wall_mm), [hole.id], Some(edge), message)
        .comparing_mm(wall_mm, needed_mm);
    let outwards = (hole.at - edge).try_normalize().unwrap_or(DVec2::Y) * clear_mm.signum();
    let place = hole.at + outwards * (needed_mm - wall_mm);
    let fits = -drawn.clear_mm(place) >= hole.hole_mm + needed_mm - SLACK_MM;
    let edit = if fits { move_to(hole.id, hole.at, place) } else { None };
    Some(finding.cured_by(format!("Move it {:.1} mm away from the channel", needed_mm - wall_mm), edit))
}

/// Two holes in the same plate. Features, gates and ejectors that are close in plan are told by their own
/// rule.
fn between(drawn: &Drawn<'_>, a: &Standing<'_>, b: &Standing<'_>) -> Option<Finding> {
    let limits = &drawn.project.limits;
    let apart_in_halves = matches!((a.half, b.half), (Some(one), Some(other)) if one != other);
    let told_mm = limits.feature_gap_mm.min(limits.gate_gap_mm);
    if apart_in_halves || (a.half.is_some() && b.half.is_some() && limits.steel_wall_mm <= told_mm) {
        return None;
    }
    let (needed_mm, distance_mm) = (limits.steel_wall_mm, a.at.distance(b.at));
    let wall_mm = distance_mm - a.hole_mm - b.hole_mm;
    let message = match wall_mm {
        _ if wall_mm >= needed_mm - SLACK_MM => return None,
        _ if wall_mm < -SLACK_MM => {
            format!("{} and {} run into each other", a.hole_words(drawn.project), b.hole_words(drawn.project))
        }
        _ => format!(
            "{} and {} leave {:.2} mm of steel between them; {needed_mm:.2} mm is needed",
            a.hole_words(drawn.project),
            b.hole_words(drawn.project),
            wall_mm.max(0.0)
        ),
    };
    let finding =
        Finding::new("steel-wall", severity(wall_mm), [a.id, b.id], Some(a.at.midpoint(b.at)), message)
            .comparing_mm(wall_mm, needed_mm);
    // Holes through the plates move; what belongs to the part stays where it is wanted. The first of a
    // pair is through both plates if either is.
    let edit = a.half.is_none().then(|| {
        let away = (a.at - b.at).try_normalize().unwrap_or(DVec2::X);
        move_to(a.id, a.at, a.at + away * (needed_mm - wall_mm))
    });
    let by_mm = needed_mm - wall_mm;
    Some(finding.cured_by(format!("Move one of them {by_mm:.1} mm away from the other"), edit.flatten()))
}

/// A broken wall cannot be made; a thin one may hold.
fn severity(wall_mm: f64) -> Severity {
    if wall_mm < -SLACK_MM { Severity::Fault } else { Severity::Warning }
}
