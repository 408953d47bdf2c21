//! An edge of a shape: a straight line or an arc with the shape on its left.

use glam::DVec2;

use super::leg::Curve;
use super::{Piece, Wall};

/// A directed line or arc.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    pub(crate) from: DVec2,
    pub(crate) to: DVec2,
    /// `None` for a line.
    pub(crate) curve: Option<Curve>,
    pub(crate) wall: Wall,
}

/// An upright box, mm.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Extent {
    pub(crate) low: DVec2,
    pub(crate) high: DVec2,
}

impl Extent {
    pub(super) fn join(self, other: Self) -> Self {
        Self { low: self.low.min(other.low), high: self.high.max(other.high) }
    }

    /// Whether the two come within `reach_mm` of each other along both axes.
    pub(super) fn meets(&self, other: &Self, reach_mm: f64) -> bool {
        self.low.x <= other.high.x + reach_mm
            && other.low.x <= self.high.x + reach_mm
            && self.low.y <= other.high.y + reach_mm
            && other.low.y <= self.high.y + reach_mm
    }

    /// Whether `point` lies in it or within `reach_mm` of it.
    pub(super) fn holds(&self, point: DVec2, reach_mm: f64) -> bool {
        self.meets(&Self { low: point, high: point }, reach_mm)
    }
}

impl Edge {
    pub(super) fn line(from: DVec2, to: DVec2, wall: Wall) -> Self {
        Self { from, to, curve: None, wall }
    }

    pub(super) fn of(piece: &Piece, wall: Wall) -> Self {
        match *piece {
            Piece::Line { from, to } => Self::line(from, to, wall),
            Piece::Arc { centre, radius_mm, from_rad, sweep_rad } => {
                let curve = Curve { centre, radius_mm, from_rad, sweep_rad };
                Self { from: curve.at(0.0), to: curve.at(1.0), curve: Some(curve), wall }
            }
        }
    }

    pub(super) fn piece(&self) -> Piece {
        match self.curve {
            None => Piece::Line { from: self.from, to: self.to },
            Some(Curve { centre, radius_mm, from_rad, sweep_rad }) => {
                Piece::Arc { centre, radius_mm, from_rad, sweep_rad }
            }
        }
    }

    pub(super) fn length_mm(&self) -> f64 {
        self.curve.map_or_else(|| self.from.distance(self.to), |arc| arc.radius_mm * arc.sweep_rad.abs())
    }

    /// The point at share `t`, 0 to 1.
    pub(super) fn at(&self, t: f64) -> DVec2 {
        match self.curve {
            Some(arc) if t > 0.0 && t < 1.0 => arc.at(t),
            _ => self.from.lerp(self.to, t),
        }
    }

    /// Direction at share `t`, of length 1; zero for a line of no length.
    pub(super) fn direction(&self, t: f64) -> DVec2 {
        match self.curve {
            Some(arc) => DVec2::from_angle(arc.from_rad + arc.sweep_rad * t).perp() * arc.sweep_rad.signum(),
            None => (self.to - self.from).normalize_or_zero(),
        }
    }

    /// The part from share `t0` to share `t1`.
    pub(super) fn part(&self, t0: f64, t1: f64) -> Self {
        let curve = self.curve.map(|arc| Curve {
            from_rad: arc.from_rad + arc.sweep_rad * t0,
            sweep_rad: arc.sweep_rad * (t1 - t0),
            ..arc
        });
        Self { from: self.at(t0), to: self.at(t1), curve, wall: self.wall }
    }

    /// Share at which the edge is nearest to `point`, and that nearest point.
    pub(crate) fn nearest(&self, point: DVec2) -> (f64, DVec2) {
        let t = match self.curve {
            Some(arc) => arc.share(point),
            None => {
                let along = self.to - self.from;
                let length_squared = along.length_squared();
                if length_squared > 0.0 { (point - self.from).dot(along) / length_squared } else { 0.0 }
            }
        };
        let t = t.clamp(0.0, 1.0);
        match self.curve {
            // Along the ray from the centre: exact in the distance, whatever the angle's rounding.
            Some(arc) if t > 0.0 && t < 1.0 => match (point - arc.centre).try_normalize() {
                Some(ray) => (t, arc.centre + ray * arc.radius_mm),
                None => (t, self.at(t)),
            },
            _ => (t, self.at(t)),
        }
    }

    /// The same, as what may be asked in its place.
    pub(super) fn nearest_to(&self, point: DVec2) -> Option<(f64, DVec2)> {
        Some(self.nearest(point))
    }

    /// The same for the part of the edge that lies in the direction of `way` as seen from `point`, or
    /// square to it; `None` if no part does.
    pub(super) fn nearest_beyond(&self, point: DVec2, way: DVec2) -> Option<(f64, DVec2)> {
        let lies_there = |at: DVec2| (at - point).dot(way) >= 0.0;
        let (t, at) = self.nearest(point);
        if lies_there(at) {
            return Some((t, at));
        }
        // Else an end, or where the edge crosses the line that divides the plan.
        let across = way.perp();
        let mut places = [Some((0.0, self.from)), Some((1.0, self.to)), None, None];
        match self.curve {
            None => {
                let (from, along) = ((self.from - point).dot(way), (self.to - self.from).dot(way));
                let t = -from / along;
                places[2] = (t > 0.0 && t < 1.0).then(|| (t, self.at(t)));
            }
            Some(arc) => {
                let centre = arc.centre - point;
                let half = (arc.radius_mm * arc.radius_mm - centre.dot(way).powi(2)).max(0.0).sqrt();
                for (place, off) in places[2..].iter_mut().zip([half, -half]) {
                    let at = point + across * (centre.dot(across) + off);
                    let t = arc.share(at);
                    // A circle that does not reach the line has no place on it.
                    let on = (at.distance(arc.centre) - arc.radius_mm).abs() < super::leg::MERGE_MM;
                    *place = (on && t > 0.0 && t < 1.0).then_some((t, at));
                }
            }
        }
        let slack = |at: DVec2| (at - point).dot(way) >= -super::leg::MERGE_MM;
        let places = places.into_iter().enumerate().filter_map(|(index, place)| {
            let there = |(_, at): &(f64, DVec2)| if index < 2 { lies_there(*at) } else { slack(*at) };
            place.filter(there)
        });
        places.min_by(|a, b| a.1.distance(point).total_cmp(&b.1.distance(point)))
    }

    pub(crate) fn extent(&self) -> Extent {
        let mut extent = Extent { low: self.from.min(self.to), high: self.from.max(self.to) };
        if let Some(arc) = self.curve {
            for axis in [DVec2::X, DVec2::Y, DVec2::NEG_X, DVec2::NEG_Y] {
                let tip = arc.centre + axis * arc.radius_mm;
                let t = arc.share(tip);
                if t > 0.0 && t < 1.0 {
                    extent = extent.join(Extent { low: tip, high: tip });
                }
            }
        }
        extent
    }

    /// Twice the area between the edge and `origin`, mm², positive where the edge runs
    /// counter-clockwise about it: the edge's term of Green's theorem.
    pub(super) fn double_area_mm2(&self, origin: DVec2) -> f64 {
        let (a, b) = (self.from - origin, self.to - origin);
        match self.curve {
            None => a.perp_dot(b),
            Some(arc) => {
                (arc.centre - origin).perp_dot(b - a) + arc.radius_mm * arc.radius_mm * arc.sweep_rad
            }
        }
    }
}
