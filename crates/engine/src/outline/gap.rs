//! Clear distances round every keying feature.

use glam::DVec2;
use keepside_model::{Half, Id, KeyingFeature, Project};

use super::edge::Edge;
use super::query::{enclosed, nearest};
use super::{Gap, GapTo, Outline, Wall, depth_at, plan_diameter_mm};

/// The tightest gap of every feature to every kind of neighbour: the channel's side walls, its nearest
/// end, the nearest feature and the nearest gate of each half, and the roof.
pub fn gaps(project: &Project, outline: &Outline) -> Vec<Gap> {
    let mut gaps = Vec::new();
    let edges: Vec<Edge> = outline.edges().collect();
    for (&id, feature) in &project.features {
        let radius_mm = 0.5 * plan_diameter_mm(&feature.kind);
        to_walls(id, feature.at, radius_mm, &edges, &mut gaps);
        for half in [Half::Moving, Half::Fixed] {
            let others = project.features.iter().filter(|(other, f)| **other != id && f.half == half);
            let others =
                others.map(|(&other, f)| (GapTo::Feature(other), f.at, 0.5 * plan_diameter_mm(&f.kind)));
            gaps.extend(nearest_disc(id, feature.at, radius_mm, others));
            let sprues = project.sprues.iter().filter(|(_, sprue)| sprue.half == half);
            let sprues = sprues.map(|(&sprue, s)| (GapTo::Sprue(sprue), s.at, 0.5 * s.diameter_mm));
            gaps.extend(nearest_disc(id, feature.at, radius_mm, sprues));
        }
        gaps.extend(to_roof(project, id, feature));
    }
    gaps
}

impl Gap {
    /// What the project's limits ask for, mm; `None` where no limit applies, as between a feature and
    /// a gate opposite it.
    pub fn needed_mm(&self, project: &Project) -> Option<f64> {
        let limits = &project.limits;
        let feature = project.features.get(&self.feature)?;
        match self.to {
            GapTo::ChannelEdge => Some(limits.flow_gap_mm),
            GapTo::ChannelEnd(_) => Some(limits.end_gap_mm),
            GapTo::Roof => Some(limits.roof_mm),
            GapTo::Sprue(id) => {
                let sprue = project.sprues.get(&id)?;
                (sprue.half == feature.half).then_some(limits.feature_gap_mm)
            }
            GapTo::Feature(id) => {
                let other = project.features.get(&id)?;
                if other.half == feature.half {
                    return Some(limits.feature_gap_mm);
                }
                // Features of opposite halves that do not reach past each other leave the plastic
                // between their tops to flow.
                let depth_mm = depth_at(project, feature.at).or_else(|| depth_at(project, other.at))?;
                let between_mm = depth_mm - feature.protrusion_mm - other.protrusion_mm;
                (between_mm < limits.roof_mm).then_some(limits.flow_gap_mm)
            }
        }
    }
}

/// Gaps to the nearest side wall and the nearest end. Outside the channel they are negative, and only
/// the wall that is nearest counts: it is the one to go back through.
fn to_walls(feature: Id, at: DVec2, radius_mm: f64, edges: &[Edge], gaps: &mut Vec<Gap>) {
    let inside = enclosed(edges.iter().copied(), at);
    let is_end = |wall: Wall| matches!(wall, Wall::End(_));
    let first = gaps.len();
    for ends in [false, true] {
        let walls = edges.iter().filter(|edge| is_end(edge.wall) == ends).copied();
        let Some((wall_point, distance_mm, wall)) = nearest(walls, at) else { continue };
        let to = match wall {
            Wall::End(run) => GapTo::ChannelEnd(run),
            Wall::Side(_) | Wall::Unknown => GapTo::ChannelEdge,
        };
        // From inside the channel the feature's edge nearest to the wall looks at it; from outside it
        // is the far edge that has furthest to go.
        let (gap_mm, towards) = if inside {
            (distance_mm - radius_mm, wall_point - at)
        } else {
            (-distance_mm - radius_mm, at - wall_point)
        };
        let from_point = at + towards.try_normalize().unwrap_or(DVec2::X) * radius_mm;
        gaps.push(Gap { feature, to, gap_mm, from_point, to_point: wall_point });
    }
    if !inside && let [one, other] = &gaps[first..] {
        let farther = first + usize::from(other.gap_mm < one.gap_mm);
        gaps.remove(farther);
    }
}

/// The gap to the nearest of several round things.
fn nearest_disc(
    feature: Id,
    at: DVec2,
    radius_mm: f64,
    others: impl Iterator<Item = (GapTo, DVec2, f64)>,
) -> Option<Gap> {
    let gap = |(to, other, other_radius_mm): (GapTo, DVec2, f64)| {
        let towards = (other - at).try_normalize().unwrap_or(DVec2::X);
        Gap {
            feature,
            to,
            gap_mm: at.distance(other) - radius_mm - other_radius_mm,
            from_point: at + towards * radius_mm,
            to_point: other - towards * other_radius_mm,
        }
    };
    others.map(gap).reduce(|a, b| if b.gap_mm < a.gap_mm { b } else { a })
}

/// The plastic left over a feature; nothing is told of a feature outside the channel.
fn to_roof(project: &Project, feature: Id, key: &KeyingFeature) -> Option<Gap> {
    let gap_mm = depth_at(project, key.at)? - key.protrusion_mm;
    Some(Gap { feature, to: GapTo::Roof, gap_mm, from_point: key.at, to_point: key.at })
}
