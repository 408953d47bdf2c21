//! Features, gates and ejector pins too close to each other.

use glam::DVec2;
use keepside_model::Half;

use super::cure::{SLACK_MM, move_to};
use super::standing::{Sort, Standing};
use super::{Drawn, Finding, Severity};

/// Of two that are too close, the one that is readier moves.
const fn readiness_to_move(sort: Sort<'_>) -> u8 {
    match sort {
        Sort::Through(_) | Sort::Gate => 0,
        Sort::Feature(_) => 1,
        Sort::Ejector => 2,
    }
}

/// All pairs of features, gates and ejectors; of opposite halves only two features: a gate may meet a
/// feature or an ejector opposite it.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let limits = &drawn.project.limits;
    let reach_mm = limits.feature_gap_mm.max(limits.gate_gap_mm).max(limits.flow_gap_mm);
    drawn.round.pairs(reach_mm, |a, b| {
        let (Some(one), Some(other)) = (a.half, b.half) else { return };
        let gap_mm = a.at.distance(b.at) - a.radius_mm - b.radius_mm;
        if one == other {
            findings.extend(same_half(drawn, a, b, gap_mm));
        } else if let (Sort::Feature(one), Sort::Feature(other)) = (a.sort, b.sort) {
            findings.extend(opposite(drawn, a, b, gap_mm, one.protrusion_mm + other.protrusion_mm));
        }
    });
}

fn same_half(drawn: &Drawn<'_>, a: &Standing<'_>, b: &Standing<'_>, gap_mm: f64) -> Option<Finding> {
    let limits = &drawn.project.limits;
    let has_gate = matches!(a.sort, Sort::Gate) || matches!(b.sort, Sort::Gate);
    let needed_mm = if has_gate { limits.gate_gap_mm } else { limits.feature_gap_mm };
    if gap_mm >= needed_mm - SLACK_MM {
        return None;
    }
    let half = a.half.map_or("", Half::word);
    let [a_words, b_words] = [a, b].map(|round| round.words(drawn.project));
    let (rule, severity, message) = if gap_mm < -SLACK_MM {
        let message = format!("{a_words} and {b_words} take the same place in the {half} half");
        ("same-place", Severity::Fault, message)
    } else {
        let message = format!(
            "{a_words} and {b_words} are {:.2} mm apart in the {half} half; {needed_mm:.2} mm is needed",
            gap_mm.max(0.0)
        );
        (if has_gate { "gate-gap" } else { "feature-gap" }, Severity::Warning, message)
    };
    Some(apart(drawn, Finding::new(rule, severity, [a.id, b.id], None, message), a, b, gap_mm, needed_mm))
}

/// Features of opposite halves: their tops must not meet, and plastic must flow between them.
fn opposite(
    drawn: &Drawn<'_>,
    a: &Standing<'_>,
    b: &Standing<'_>,
    gap_mm: f64,
    heights_mm: f64,
) -> Option<Finding> {
    let limits = &drawn.project.limits;
    let depth_mm = drawn.lookup.depth_at(a.at).or_else(|| drawn.lookup.depth_at(b.at))?;
    let between_mm = depth_mm - heights_mm;
    if gap_mm >= limits.flow_gap_mm - SLACK_MM || between_mm >= limits.roof_mm - SLACK_MM {
        return None;
    }
    let [a_words, b_words] = [a, b].map(|round| round.words(drawn.project));
    let (rule, severity, message) = if gap_mm < -SLACK_MM && between_mm < -SLACK_MM {
        let message = format!(
            "{a_words} and {b_words} of opposite halves run into each other: {heights_mm:.2} mm of them in a \
             channel {depth_mm:.2} mm deep"
        );
        ("features-meet", Severity::Fault, message)
    } else if gap_mm < -SLACK_MM {
        let message = format!(
            "{a_words} and {b_words} of opposite halves leave {:.2} mm of plastic between their tops; {:.2} mm \
             is needed",
            between_mm.max(0.0),
            limits.roof_mm
        );
        ("features-meet", Severity::Warning, message)
    } else {
        let message = format!(
            "{a_words} and {b_words} of opposite halves stand {:.2} mm apart; plastic needs {:.2} mm to flow \
             between them",
            gap_mm.max(0.0),
            limits.flow_gap_mm
        );
        ("features-meet", Severity::Warning, message)
    };
    let finding = Finding::new(rule, severity, [a.id, b.id], None, message);
    let overlaps = gap_mm < -SLACK_MM;
    let finding = apart(drawn, finding, a, b, gap_mm, limits.flow_gap_mm);
    Some(if overlaps { finding.comparing_mm(between_mm, limits.roof_mm) } else { finding })
}

/// Adds the place, the numbers and the cure: whichever of the two moves along the channel, away from
/// the other.
fn apart(
    drawn: &Drawn<'_>,
    finding: Finding,
    a: &Standing<'_>,
    b: &Standing<'_>,
    gap_mm: f64,
    needed_mm: f64,
) -> Finding {
    let finding = Finding { at: Some(a.at.midpoint(b.at)), ..finding }.comparing_mm(gap_mm, needed_mm);
    // Gates stay where they are if a feature can move, and features if an ejector can.
    let a_moves = readiness_to_move(a.sort) > readiness_to_move(b.sort);
    let order = if a_moves { [(a, b), (b, a)] } else { [(b, a), (a, b)] };
    for (moving, staying) in order {
        if let Some(place) = away(drawn, moving, staying, needed_mm) {
            let by_mm = place.distance(moving.at);
            let cure = format!("Move {} {by_mm:.1} mm along the channel", moving.words(drawn.project));
            return finding.cured_by(cure, move_to(moving.id, moving.at, place));
        }
    }
    finding.cured_by("Move one of them away", None)
}

/// The nearer place along the channel at which `moving` keeps its distance from `staying`, and stands
/// in the channel as clear of the walls as before.
fn away(drawn: &Drawn<'_>, moving: &Standing<'_>, staying: &Standing<'_>, needed_mm: f64) -> Option<DVec2> {
    let along = drawn.lookup.channel_at(moving.at)?.direction;
    let (between, wanted_mm) = (moving.at - staying.at, moving.radius_mm + staying.radius_mm + needed_mm);
    // Where a line along the channel leaves the circle of the distance wanted.
    let half = between.dot(along);
    let root = (half * half + wanted_mm * wanted_mm - between.length_squared()).max(0.0).sqrt();
    let mut ways = [-half + root, -half - root];
    ways.sort_by(|a, b| a.abs().total_cmp(&b.abs()));
    let clear_mm = drawn.clear_mm(moving.at).min(moving.radius_mm + drawn.project.limits.flow_gap_mm);
    let places = ways.map(|by_mm| moving.at + along * by_mm);
    places.into_iter().find(|&place| drawn.clear_mm(place) >= clear_mm.max(moving.radius_mm) - SLACK_MM)
}
