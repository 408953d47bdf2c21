//! Where a measuring point snaps: to the middle of something, to an edge, else to the grid.

use glam::DVec2;
use keepside_engine::outline::{Outline, Piece, plan_diameter_mm};
use keepside_model::{Id, Item, Project};

use crate::snap::SnapTo;

/// Middle and radius of something round.
fn round(project: &Project, id: Id) -> Option<(DVec2, f64)> {
    Some(match project.item(id)? {
        Item::Sprue(sprue) => (sprue.at, 0.5 * sprue.diameter_mm),
        Item::Feature(feature) => (feature.at, 0.5 * plan_diameter_mm(&feature.kind)),
        Item::Hole(hole) => (hole.at, 0.5 * hole.diameter_mm),
        Item::Ejector(ejector) => (ejector.at, 0.5 * ejector.diameter_mm),
        Item::Vent(vent) => (vent.at, 0.0),
        Item::Run(_) | Item::Note(_) => return None,
    })
}

/// The place that a measurement from or to `wanted` means: within `reach_mm` a middle or a run's point wins
/// over an edge. `None` if nothing is near.
pub fn measure_snap(
    project: &Project,
    outline: Option<&Outline>,
    wanted: DVec2,
    reach_mm: f64,
) -> Option<(DVec2, SnapTo)> {
    let nearest = |places: Vec<(DVec2, SnapTo)>| {
        let near = places.into_iter().filter(|(at, _)| at.distance(wanted) <= reach_mm);
        near.min_by(|a, b| a.0.distance(wanted).total_cmp(&b.0.distance(wanted)))
    };
    let rounds: Vec<(Id, DVec2, f64)> =
        project.ids().into_iter().filter_map(|id| round(project, id).map(|(at, r)| (id, at, r))).collect();
    let mut points: Vec<(DVec2, SnapTo)> =
        rounds.iter().map(|(id, at, _)| (*at, SnapTo::Middle(*id))).collect();
    for (&id, run) in &project.part.runs {
        points.extend(run.points.iter().map(|point| (point.at, SnapTo::RunPoint(id))));
    }
    let mut edges: Vec<(DVec2, SnapTo)> = rounds
        .iter()
        .filter(|(_, at, radius_mm)| *radius_mm > 0.0 && *at != wanted)
        .map(|(id, at, radius_mm)| {
            (*at + (wanted - *at).normalize_or(DVec2::X) * *radius_mm, SnapTo::EdgeOf(*id))
        })
        .collect();
    let pieces = outline.into_iter().flat_map(|outline| &outline.rings).flat_map(|ring| &ring.pieces);
    edges.extend(pieces.map(|piece| (on_piece(piece, wanted), SnapTo::ChannelEdge)));
    nearest(points).or_else(|| nearest(edges))
}

/// The place on a piece of the outline nearest to `wanted`.
fn on_piece(piece: &Piece, wanted: DVec2) -> DVec2 {
    match *piece {
        Piece::Line { from, to } => {
            let along = to - from;
            let squared = along.length_squared();
            if squared == 0.0 {
                from
            } else {
                from + along * ((wanted - from).dot(along) / squared).clamp(0.0, 1.0)
            }
        }
        Piece::Arc { centre, radius_mm, from_rad, sweep_rad } => {
            let turn_rad = (wanted - centre).to_angle() - from_rad;
            let turned = if sweep_rad > 0.0 { turn_rad } else { -turn_rad }.rem_euclid(std::f64::consts::TAU);
            let end = |angle: f64| centre + DVec2::from_angle(angle) * radius_mm;
            if turned <= sweep_rad.abs() {
                return end((wanted - centre).to_angle());
            }
            let (first, last) = (end(from_rad), end(from_rad + sweep_rad));
            if first.distance(wanted) <= last.distance(wanted) { first } else { last }
        }
    }
}
