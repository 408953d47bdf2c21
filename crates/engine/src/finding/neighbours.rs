//! Features, gates and ejector pins too close to each other.

use glam::DVec2;
use keepside_model::{Half, Id, KeyingFeature};

use super::cure::{SLACK_MM, move_to};
use super::{Drawn, Finding, Severity};
use crate::outline::{channel_at, depth_at, plan_diameter_mm};

/// Something round that stands in the channel or opens into it.
struct Round<'a> {
    id: Id,
    half: Half,
    at: DVec2,
    radius_mm: f64,
    words: String,
    sort: Sort<'a>,
}

/// What it is; of two that are too close, the one that comes later here moves.
enum Sort<'a> {
    Gate,
    Feature(&'a KeyingFeature),
    Ejector,
}

impl Sort<'_> {
    const fn readiness_to_move(&self) -> u8 {
        match self {
            Self::Gate => 0,
            Self::Feature(_) => 1,
            Self::Ejector => 2,
        }
    }
}

impl Round<'_> {
    fn all<'a>(drawn: &Drawn<'a>) -> Vec<Round<'a>> {
        let project = drawn.project;
        let features = project.features.iter().map(|(&id, feature)| Round {
            id,
            half: feature.half,
            at: feature.at,
            radius_mm: 0.5 * plan_diameter_mm(&feature.kind),
            words: format!("{} {}", feature.kind.word(), project.tag(id)),
            sort: Sort::Feature(feature),
        });
        let sprues = project.sprues.iter().map(|(&id, sprue)| Round {
            id,
            half: sprue.half,
            at: sprue.at,
            radius_mm: 0.5 * sprue.diameter_mm,
            words: format!("gate {}", project.tag(id)),
            sort: Sort::Gate,
        });
        let ejectors = project.ejectors.iter().map(|(&id, ejector)| Round {
            id,
            half: Half::Moving,
            at: ejector.at,
            radius_mm: 0.5 * ejector.diameter_mm,
            words: format!("ejector {}", project.tag(id)),
            sort: Sort::Ejector,
        });
        features.chain(sprues).chain(ejectors).collect()
    }
}

/// All pairs of features, gates and ejectors; of opposite halves only two features: a gate may meet a
/// feature or an ejector opposite it.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let all = Round::all(drawn);
    for (index, a) in all.iter().enumerate() {
        for b in &all[index + 1..] {
            let gap_mm = a.at.distance(b.at) - a.radius_mm - b.radius_mm;
            if a.half == b.half {
                findings.extend(same_half(drawn, a, b, gap_mm));
            } else if let (Sort::Feature(one), Sort::Feature(other)) = (&a.sort, &b.sort) {
                findings.extend(opposite(drawn, a, b, gap_mm, one.protrusion_mm + other.protrusion_mm));
            }
        }
    }
}

fn same_half(drawn: &Drawn<'_>, a: &Round<'_>, b: &Round<'_>, gap_mm: f64) -> Option<Finding> {
    let needed_mm = drawn.project.limits.feature_gap_mm;
    if gap_mm >= needed_mm - SLACK_MM {
        return None;
    }
    let half = a.half.word();
    let (rule, severity, message) = if gap_mm < -SLACK_MM {
        let message = format!("{} and {} take the same place in the {half} half", a.words, b.words);
        ("same-place", Severity::Fault, message)
    } else {
        let message = format!(
            "{} and {} are {:.2} mm apart in the {half} half; {needed_mm:.2} mm is needed",
            a.words,
            b.words,
            gap_mm.max(0.0)
        );
        ("feature-gap", Severity::Warning, message)
    };
    Some(apart(drawn, Finding::new(rule, severity, [a.id, b.id], None, message), a, b, gap_mm, needed_mm))
}

/// Features of opposite halves: their tops must not meet, and plastic must flow between them.
fn opposite(
    drawn: &Drawn<'_>,
    a: &Round<'_>,
    b: &Round<'_>,
    gap_mm: f64,
    heights_mm: f64,
) -> Option<Finding> {
    let limits = &drawn.project.limits;
    let depth_mm = depth_at(drawn.project, a.at).or_else(|| depth_at(drawn.project, b.at))?;
    let between_mm = depth_mm - heights_mm;
    if gap_mm >= limits.flow_gap_mm - SLACK_MM || between_mm >= limits.roof_mm - SLACK_MM {
        return None;
    }
    let (rule, severity, message) = if gap_mm < -SLACK_MM && between_mm < -SLACK_MM {
        let message = format!(
            "{} and {} of opposite halves run into each other: {heights_mm:.2} mm of them in a channel \
             {depth_mm:.2} mm deep",
            a.words, b.words
        );
        ("features-meet", Severity::Fault, message)
    } else if gap_mm < -SLACK_MM {
        let message = format!(
            "{} and {} of opposite halves leave {:.2} mm of plastic between their tops; {:.2} mm is needed",
            a.words,
            b.words,
            between_mm.max(0.0),
            limits.roof_mm
        );
        ("features-meet", Severity::Warning, message)
    } else {
        let message = format!(
            "{} and {} of opposite halves stand {:.2} mm apart; plastic needs {:.2} mm to flow between them",
            a.words,
            b.words,
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
    a: &Round<'_>,
    b: &Round<'_>,
    gap_mm: f64,
    needed_mm: f64,
) -> Finding {
    let finding = Finding { at: Some(a.at.midpoint(b.at)), ..finding }.comparing_mm(gap_mm, needed_mm);
    // Gates stay where they are if a feature can move, and features if an ejector can.
    let a_moves = a.sort.readiness_to_move() > b.sort.readiness_to_move();
    let order = if a_moves { [(a, b), (b, a)] } else { [(b, a), (a, b)] };
    for (moving, staying) in order {
        if let Some(place) = away(drawn, moving, staying, needed_mm) {
            let by_mm = place.distance(moving.at);
            let cure = format!("Move {} {by_mm:.1} mm along the channel", moving.words);
            return finding.cured_by(cure, move_to(moving.id, moving.at, place));
        }
    }
    finding.cured_by("Move one of them away", None)
}

/// The nearer place along the channel at which `moving` keeps its distance from `staying`, and stands
/// in the channel as clear of the walls as before.
fn away(drawn: &Drawn<'_>, moving: &Round<'_>, staying: &Round<'_>, needed_mm: f64) -> Option<DVec2> {
    let along = channel_at(drawn.project, moving.at)?.direction;
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
