//! An outline against the channel that was made of it.

use std::collections::BTreeMap;

use glam::DVec2;
use keepside_engine::outline::{self, Piece as EdgePiece};
use keepside_model::{Id, Project, Run};

use super::super::curve::{Arc, distance_mm};
use super::Piece;

/// The largest distance between outlines and the true outline of a run, both ways, at four places of each
/// piece, mm; and where.
pub(super) fn farthest(outlines: &[&[Piece]], run: &Run) -> (f64, DVec2) {
    let mut project = Project::blank();
    project.part.runs = BTreeMap::from([(Id(1), run.clone())]);
    let edge: Vec<Piece> =
        outline::of(&project).rings.iter().flat_map(|ring| &ring.pieces).map(piece).collect();
    let drawn: Vec<Piece> = outlines.iter().flat_map(|outline| outline.iter().copied()).collect();
    let there = one_way(&drawn, &edge);
    let back = one_way(&edge, &drawn);
    if there.0 >= back.0 { there } else { back }
}

/// The largest distance of the first from the second.
fn one_way(first: &[Piece], second: &[Piece]) -> (f64, DVec2) {
    let places = first.iter().flat_map(|&piece| [0.0, 0.25, 0.5, 0.75].map(|share| place(piece, share)));
    let distances = places.map(|at| {
        let nearest_mm = second.iter().map(|&(a, b, c)| distance_mm(at, a, b, c)).fold(f64::MAX, f64::min);
        (nearest_mm, at)
    });
    distances.fold((0.0, DVec2::ZERO), |most, next| if next.0 > most.0 { next } else { most })
}

fn place((from, bulge, to): Piece, share: f64) -> DVec2 {
    Arc::of(from, bulge, to).map_or_else(|| from.lerp(to, share), |arc| arc.at(share))
}

fn piece(piece: &EdgePiece) -> Piece {
    match *piece {
        EdgePiece::Line { from, to } => (from, 0.0, to),
        EdgePiece::Arc { centre, radius_mm, from_rad, sweep_rad } => {
            let arc = Arc { centre, radius_mm, from_rad, sweep_rad };
            (arc.at(0.0), (sweep_rad / 4.0).tan(), arc.at(1.0))
        }
    }
}
