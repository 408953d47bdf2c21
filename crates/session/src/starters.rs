//! Shapes to start a part from, placed by one click.

use glam::DVec2;
use keepside_model::{EndShape, Run, RunPoint};

/// The channel that something new is drawn with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Channel {
    /// Width, mm.
    pub width_mm: f64,
    /// Depth, both halves together, mm.
    pub depth_mm: f64,
}

impl Channel {
    /// A point of a run with this channel.
    pub const fn point(self, at: DVec2, bulge: f64) -> RunPoint {
        RunPoint { at, width_mm: self.width_mm, depth_mm: self.depth_mm, bulge }
    }

    /// A run with this channel through points, each with the bulge of the piece to the next.
    pub fn run(self, points: impl IntoIterator<Item = (DVec2, f64)>) -> Run {
        Run {
            name: String::new(),
            points: points.into_iter().map(|(at, bulge)| self.point(at, bulge)).collect(),
            start: EndShape::Round,
            end: EndShape::Round,
        }
    }

    /// A closed rectangle about `centre`, `size_mm` from centre line to centre line.
    pub fn frame(self, centre: DVec2, size_mm: DVec2) -> Run {
        let corner = |x: f64, y: f64| (centre + 0.5 * size_mm * DVec2::new(x, y), 0.0);
        self.run([
            corner(-1.0, -1.0),
            corner(1.0, -1.0),
            corner(1.0, 1.0),
            corner(-1.0, 1.0),
            corner(-1.0, -1.0),
        ])
    }

    /// A closed circle about `centre`, of two half circles.
    pub fn ring(self, centre: DVec2, diameter_mm: f64) -> Run {
        let side = centre + DVec2::new(0.5 * diameter_mm, 0.0);
        self.run([(side, 1.0), (2.0 * centre - side, 1.0), (side, 0.0)])
    }

    /// A bar `size_mm.x` long about `centre` and a stem `size_mm.y` long from its middle downwards.
    pub fn tee(self, centre: DVec2, size_mm: DVec2) -> [Run; 2] {
        let arm = DVec2::new(0.5 * size_mm.x, 0.0);
        let stem = DVec2::new(0.0, size_mm.y);
        [
            self.run([(centre - arm, 0.0), (centre + arm, 0.0)]),
            self.run([(centre, 0.0), (centre - stem, 0.0)]),
        ]
    }

    /// Two bars, `size_mm.x` and `size_mm.y` long, that cross in `centre`.
    pub fn cross(self, centre: DVec2, size_mm: DVec2) -> [Run; 2] {
        let (level, upright) = (DVec2::new(0.5 * size_mm.x, 0.0), DVec2::new(0.0, 0.5 * size_mm.y));
        [
            self.run([(centre - level, 0.0), (centre + level, 0.0)]),
            self.run([(centre - upright, 0.0), (centre + upright, 0.0)]),
        ]
    }
}
