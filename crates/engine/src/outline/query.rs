//! Questions to an outline: is a point inside, how far is its edge, how large is it, how is it drawn.

use std::f64::consts::{PI, TAU};

use glam::DVec2;

use super::edge::{Edge, Extent};
use super::{Outline, Ring, Wall};

impl Ring {
    /// The edges with their walls.
    pub(super) fn edges(&self) -> impl Iterator<Item = Edge> {
        let wall = |index: usize| self.walls.get(index).copied().unwrap_or(Wall::Unknown);
        self.pieces.iter().enumerate().map(move |(index, piece)| Edge::of(piece, wall(index)))
    }

    /// Area enclosed, mm²; negative for a hole.
    pub fn area_mm2(&self) -> f64 {
        let Some(origin) = self.edges().next().map(|edge| edge.from) else { return 0.0 };
        self.edges().map(|edge| edge.double_area_mm2(origin)).sum::<f64>() / 2.0
    }
}

impl Outline {
    pub(super) fn edges(&self) -> impl Iterator<Item = Edge> {
        self.rings.iter().flat_map(Ring::edges)
    }

    /// Whether `point` lies inside the part; on its edge either answer may come.
    pub fn contains(&self, point: DVec2) -> bool {
        enclosed(self.edges(), point)
    }

    /// The point of the edge nearest to `point`, and its distance, mm; `None` if there is no part.
    pub fn nearest_edge(&self, point: DVec2) -> Option<(DVec2, f64)> {
        self.nearest_wall(point, |_| true).map(|(at, distance_mm, _)| (at, distance_mm))
    }

    /// The nearest point of the walls that `wanted` picks, its distance, mm, and the wall.
    pub fn nearest_wall(
        &self,
        point: DVec2,
        mut wanted: impl FnMut(Wall) -> bool,
    ) -> Option<(DVec2, f64, Wall)> {
        nearest(self.edges().filter(|edge| wanted(edge.wall)), point)
    }

    /// Where the straight line through `at` in the direction `way`, of length 1, first meets the edge on
    /// either side, ahead first; `None` if it does not on one of them.
    pub fn chord(&self, at: DVec2, way: DVec2) -> Option<(DVec2, DVec2)> {
        let (low, high) = self.bounds()?;
        let reach_mm = (high - low).length() + at.distance(low.midpoint(high));
        let line = Edge::line(at - way * reach_mm, at + way * reach_mm, Wall::Unknown);
        let mut found = Vec::new();
        self.edges().for_each(|edge| super::cross::crossings(&line, &edge, 1e-9, &mut found));
        let off_mm = |share: f64| (2.0 * share - 1.0) * reach_mm;
        let (mut ahead_mm, mut behind_mm) = (f64::INFINITY, f64::INFINITY);
        for mm in found.into_iter().map(|(share, _)| off_mm(share)) {
            if mm >= 0.0 { ahead_mm = ahead_mm.min(mm) } else { behind_mm = behind_mm.min(-mm) }
        }
        let both = ahead_mm.is_finite() && behind_mm.is_finite();
        both.then(|| (at + way * ahead_mm, at - way * behind_mm))
    }

    /// Lower left and upper right corner of the box that just holds the part, mm.
    pub fn bounds(&self) -> Option<(DVec2, DVec2)> {
        let extent = self.edges().map(|edge| edge.extent()).reduce(Extent::join)?;
        Some((extent.low, extent.high))
    }

    /// The corners of a ring as a closed polygon, the last not repeated, arcs in chords that stay within
    /// `chord_tolerance_mm` of them.
    pub fn polyline(ring: &Ring, chord_tolerance_mm: f64) -> Vec<DVec2> {
        let mut corners = Vec::new();
        for edge in ring.edges() {
            corners.push(edge.from);
            let Some(arc) = edge.curve else { continue };
            let sagitta = (chord_tolerance_mm.max(1e-6) / arc.radius_mm).min(1.0);
            let count = (arc.sweep_rad.abs() / (2.0 * (1.0 - sagitta).acos())).ceil().clamp(1.0, 10_000.0);
            let mut index = 1.0;
            while index < count {
                corners.push(arc.at(index / count));
                index += 1.0;
            }
        }
        corners
    }
}

/// Whether closed edges go round `point`.
pub(super) fn enclosed(edges: impl Iterator<Item = Edge>, point: DVec2) -> bool {
    edges.map(|edge| turned_rad(&edge, point)).sum::<f64>() > PI
}

/// The point of the edges nearest to `point`, its distance, mm, and the wall; the first of equals.
pub(super) fn nearest(edges: impl Iterator<Item = Edge>, point: DVec2) -> Option<(DVec2, f64, Wall)> {
    let mut best: Option<(DVec2, f64, Wall)> = None;
    for edge in edges {
        let limit_mm = best.map_or(f64::INFINITY, |(_, distance_mm, _)| distance_mm);
        // The whole circle is no farther than the arc, and cheaper to ask.
        if edge.curve.is_some_and(|arc| (point.distance(arc.centre) - arc.radius_mm).abs() >= limit_mm) {
            continue;
        }
        let (_, at) = edge.nearest(point);
        let distance_mm = at.distance(point);
        if distance_mm < limit_mm {
            best = Some((at, distance_mm, edge.wall));
        }
    }
    best
}

/// The angle that an edge sweeps as seen from `point`, radians, positive counter-clockwise.
fn turned_rad(edge: &Edge, point: DVec2) -> f64 {
    let (a, b) = (edge.from - point, edge.to - point);
    let chord_rad = a.perp_dot(b).atan2(a.dot(b));
    let Some(arc) = edge.curve else { return chord_rad };
    if arc.sweep_rad.abs() > PI {
        // Two halves, each no more than half a turn.
        return turned_rad(&edge.part(0.0, 0.5), point) + turned_rad(&edge.part(0.5, 1.0), point);
    }
    // From inside the circle an arc always turns its own way; the chord may pass on the other side.
    let way = arc.sweep_rad.signum();
    let within = point.distance_squared(arc.centre) < arc.radius_mm * arc.radius_mm;
    if within && chord_rad * way <= 0.0 { chord_rad + way * TAU } else { chord_rad }
}
