//! The legs of a run: its centre line cut at its points, straight or arc, without the ones of no length.

use glam::DVec2;
use keepside_model::{Run, RunPoint};

/// Lengths below this count as nothing, mm: a thousandth of the finest cut, and far above the rounding
/// of a coordinate of 5000 mm (10⁻¹² mm).
pub(crate) const MERGE_MM: f64 = 1e-6;

/// An arc whose middle lies closer to its chord than this is taken as straight, mm: too flat to be cut,
/// and its centre too far away to be computed with.
const FLAT_MM: f64 = 1e-4;

/// The channel at a point of a centre line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Station {
    pub(crate) at: DVec2,
    pub(crate) half_width_mm: f64,
    pub(crate) depth_mm: f64,
}

/// A circular arc, angles counter-clockwise from x.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Curve {
    pub(crate) centre: DVec2,
    pub(crate) radius_mm: f64,
    pub(crate) from_rad: f64,
    pub(crate) sweep_rad: f64,
}

impl Curve {
    /// The point at share `t` of the sweep.
    pub(crate) fn at(&self, t: f64) -> DVec2 {
        self.centre + DVec2::from_angle(self.from_rad + self.sweep_rad * t) * self.radius_mm
    }

    /// Share of the sweep at which the arc is seen from its centre in the direction of `point`; what
    /// lies off the arc gives a share below 0 or above 1, whichever end is nearer.
    pub(crate) fn share(&self, point: DVec2) -> f64 {
        let turn_rad = (point - self.centre).to_angle() - self.from_rad;
        let turned = (turn_rad * self.sweep_rad.signum()).rem_euclid(std::f64::consts::TAU);
        let sweep = self.sweep_rad.abs();
        // Half of what the arc leaves open lies before its start.
        let open = std::f64::consts::TAU - sweep;
        let turned = if turned > sweep + open / 2.0 { turned - std::f64::consts::TAU } else { turned };
        turned / sweep
    }
}

/// A piece of a centre line between two points of a run.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Leg {
    pub(crate) from: Station,
    pub(crate) to: Station,
    /// `None` for a straight leg.
    pub(crate) curve: Option<Curve>,
    /// Where it starts along the run, mm.
    pub(crate) start_mm: f64,
    pub(crate) length_mm: f64,
}

impl Leg {
    fn new(a: RunPoint, b: RunPoint, start_mm: f64) -> Option<Self> {
        let station =
            |p: RunPoint| Station { at: p.at, half_width_mm: 0.5 * p.width_mm, depth_mm: p.depth_mm };
        let chord_mm = a.at.distance(b.at);
        let narrowest_mm = a.width_mm.min(b.width_mm);
        let usable = chord_mm > MERGE_MM && chord_mm.is_finite() && narrowest_mm > 2.0 * MERGE_MM;
        if !usable || !a.bulge.is_finite() {
            return None;
        }
        let curve = curve(a.at, b.at, a.bulge.clamp(-1.0, 1.0));
        let length_mm = curve.map_or(chord_mm, |arc| arc.radius_mm * arc.sweep_rad.abs());
        Some(Self { from: station(a), to: station(b), curve, start_mm, length_mm })
    }

    /// Direction at share `t` of the leg, of length 1.
    pub(crate) fn direction(&self, t: f64) -> DVec2 {
        match self.curve {
            Some(arc) => DVec2::from_angle(arc.from_rad + arc.sweep_rad * t).perp() * arc.sweep_rad.signum(),
            None => (self.to.at - self.from.at).normalize(),
        }
    }

    /// The channel at share `t` of the leg; width and depth vary linearly.
    pub(crate) fn station(&self, t: f64) -> Station {
        let at = match self.curve {
            // The ends are the run's own points, not what comes back from the angle.
            Some(arc) if t > 0.0 && t < 1.0 => arc.at(t),
            _ => self.from.at.lerp(self.to.at, t),
        };
        let mix = |a: f64, b: f64| a + (b - a) * t;
        Station {
            at,
            half_width_mm: mix(self.from.half_width_mm, self.to.half_width_mm),
            depth_mm: mix(self.from.depth_mm, self.to.depth_mm),
        }
    }

    /// Share of the leg at which it is nearest to `point`, below 0 or above 1 for a foot beyond an end.
    pub(crate) fn foot(&self, point: DVec2) -> f64 {
        match self.curve {
            Some(arc) => arc.share(point),
            None => {
                let along = self.to.at - self.from.at;
                (point - self.from.at).dot(along) / along.length_squared()
            }
        }
    }
}

/// The legs of a run in order; empty if it has no length.
pub(crate) fn legs(run: &Run) -> Vec<Leg> {
    let mut legs: Vec<Leg> = Vec::new();
    for pair in run.points.windows(2) {
        let start_mm = legs.last().map_or(0.0, |leg| leg.start_mm + leg.length_mm);
        legs.extend(Leg::new(pair[0], pair[1], start_mm));
    }
    legs
}

/// The arc from `a` to `b`; `None` if it is straight.
///
/// The bulge is the tangent of a quarter of the arc's angle, positive counter-clockwise.
fn curve(a: DVec2, b: DVec2, bulge: f64) -> Option<Curve> {
    let chord = b - a;
    if bulge.abs() * chord.length() / 2.0 < FLAT_MM {
        return None;
    }
    // The centre lies on the perpendicular bisector, to the left of the chord for a left turn of less
    // than half a circle.
    let centre = a.midpoint(b) + chord.perp() * ((1.0 - bulge * bulge) / (4.0 * bulge));
    Some(Curve {
        centre,
        radius_mm: a.distance(centre),
        from_rad: (a - centre).to_angle(),
        sweep_rad: 4.0 * bulge.atan(),
    })
}
