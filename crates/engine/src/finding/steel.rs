//! Steel between holes, and from a hole to the channel and the plate's edge.

use glam::DVec2;
use keepside_model::{FeatureKind, Half, HoleUse, Id};

use super::cure::{SLACK_MM, move_to};
use super::{Drawn, Finding, Severity};
use crate::hardware;

/// A round hole in the plates.
struct Hole {
    id: Id,
    /// `None` for a hole through both plates.
    half: Option<Half>,
    at: DVec2,
    radius_mm: f64,
    words: String,
}

/// Diameter of the hole behind a feature, under the channel's floor, mm.
fn hole_diameter_mm(kind: &FeatureKind) -> f64 {
    match *kind {
        FeatureKind::SetScrew { thread, .. } | FeatureKind::CapHead { thread, .. } => {
            hardware::nominal_diameter_mm(thread)
        }
        FeatureKind::TurnedHead { neck_diameter_mm, .. } => neck_diameter_mm,
        FeatureKind::PlainPost { diameter_mm } | FeatureKind::RingedPost { diameter_mm, .. } => diameter_mm,
    }
}

fn holes(drawn: &Drawn<'_>) -> Vec<Hole> {
    let project = drawn.project;
    let through = project.holes.iter().map(|(&id, hole)| Hole {
        id,
        half: None,
        at: hole.at,
        radius_mm: 0.5 * hole.diameter_mm,
        words: match hole.purpose {
            HoleUse::Bolt => format!("bolt hole {}", project.tag(id)),
            HoleUse::GuidePin => format!("guide pin hole {}", project.tag(id)),
        },
    });
    let features = project.features.iter().map(|(&id, feature)| Hole {
        id,
        half: Some(feature.half),
        at: feature.at,
        radius_mm: 0.5 * hole_diameter_mm(&feature.kind),
        words: format!("the hole of {} {}", feature.kind.word(), project.tag(id)),
    });
    let sprues = project.sprues.iter().map(|(&id, sprue)| Hole {
        id,
        half: Some(sprue.half),
        at: sprue.at,
        radius_mm: 0.5 * sprue.diameter_mm,
        words: format!("the bore of gate {}", project.tag(id)),
    });
    let ejectors = project.ejectors.iter().map(|(&id, ejector)| Hole {
        id,
        half: Some(Half::Moving),
        at: ejector.at,
        radius_mm: 0.5 * ejector.diameter_mm,
        words: format!("the hole of ejector {}", project.tag(id)),
    });
    through.chain(features).chain(sprues).chain(ejectors).collect()
}

/// Walls of steel that are too thin.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let holes = holes(drawn);
    for (index, hole) in holes.iter().enumerate() {
        findings.extend(to_plate_edge(drawn, hole));
        if hole.half.is_none() {
            findings.extend(to_channel(drawn, hole));
        }
        for other in &holes[index + 1..] {
            findings.extend(between(drawn, hole, other));
        }
    }
}

fn to_plate_edge(drawn: &Drawn<'_>, hole: &Hole) -> Option<Finding> {
    let plates = &drawn.project.plates;
    let size = DVec2::new(plates.width_mm, plates.height_mm);
    let needed_mm = drawn.project.limits.steel_wall_mm;
    let wall_mm = hole.at.min_element().min((size - hole.at).min_element()) - hole.radius_mm;
    let message = match wall_mm {
        _ if wall_mm >= needed_mm - SLACK_MM => return None,
        _ if wall_mm < -SLACK_MM => format!("{} breaks through the plate's edge", hole.words),
        _ => format!(
            "{} leaves {:.2} mm of steel to the plate's edge; {needed_mm:.2} mm is needed",
            hole.words,
            wall_mm.max(0.0)
        ),
    };
    let finding = Finding::new("steel-edge", severity(wall_mm), [hole.id], Some(hole.at), message)
        .comparing_mm(wall_mm, needed_mm);
    let inset = DVec2::splat(hole.radius_mm + needed_mm);
    let place = hole.at.max(inset).min(size - inset);
    let fits = place.cmpge(inset).all() && hole.half.is_none();
    Some(if fits {
        finding.cured_by("Move it away from the edge", move_to(hole.id, hole.at, place))
    } else {
        finding.cured_by("Move it away from the edge, or use larger plates", None)
    })
}

/// A hole through both plates against the channel.
fn to_channel(drawn: &Drawn<'_>, hole: &Hole) -> Option<Finding> {
    let needed_mm = drawn.project.limits.steel_wall_mm;
    let (edge, _) = drawn.outline.nearest_edge(hole.at)?;
    let clear_mm = -drawn.clear_mm(hole.at);
    let wall_mm = clear_mm - hole.radius_mm;
    let message = match wall_mm {
        _ if wall_mm >= needed_mm - SLACK_MM => return None,
        _ if wall_mm < -SLACK_MM => format!("{} cuts into the channel", hole.words),
        _ => format!(
            "{} leaves {:.2} mm of steel to the channel; {needed_mm:.2} mm is needed",
            hole.words,
            wall_mm.max(0.0)
        ),
    };
    let finding = Finding::new("steel-channel", severity(wall_mm), [hole.id], Some(edge), message)
        .comparing_mm(wall_mm, needed_mm);
    let outwards = (hole.at - edge).try_normalize().unwrap_or(DVec2::Y) * clear_mm.signum();
    let place = hole.at + outwards * (needed_mm - wall_mm);
    let fits = -drawn.clear_mm(place) >= hole.radius_mm + needed_mm - SLACK_MM;
    let edit = if fits { move_to(hole.id, hole.at, place) } else { None };
    Some(finding.cured_by(format!("Move it {:.1} mm away from the channel", needed_mm - wall_mm), edit))
}

/// Two holes in the same plate. Features, gates and ejectors that are close in plan are told by their own
/// rule.
fn between(drawn: &Drawn<'_>, a: &Hole, b: &Hole) -> Option<Finding> {
    let limits = &drawn.project.limits;
    let apart_in_halves = matches!((a.half, b.half), (Some(one), Some(other)) if one != other);
    if apart_in_halves || (a.half.is_some() && limits.steel_wall_mm <= limits.feature_gap_mm) {
        return None;
    }
    let (needed_mm, distance_mm) = (limits.steel_wall_mm, a.at.distance(b.at));
    let wall_mm = distance_mm - a.radius_mm - b.radius_mm;
    let message = match wall_mm {
        _ if wall_mm >= needed_mm - SLACK_MM => return None,
        _ if wall_mm < -SLACK_MM => format!("{} and {} run into each other", a.words, b.words),
        _ => format!(
            "{} and {} leave {:.2} mm of steel between them; {needed_mm:.2} mm is needed",
            a.words,
            b.words,
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
