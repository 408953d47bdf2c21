//! Straight and circular pieces by their bulge, and smooth curves as such pieces.

use std::f64::consts::{PI, TAU};

use glam::DVec2;

use super::{CURVE_TOLERANCE_MM, ImportError};

/// An arc whose middle lies closer to its chord than this is straight, mm: as in the engine's outline, too
/// flat to be cut.
const FLAT_MM: f64 = 1e-4;

/// How often a curve is halved at most. What then still bends has far more pieces than are read.
const HALVINGS: u32 = 24;

/// The middle of a piece, mm.
pub(super) fn middle(from: DVec2, bulge: f64, to: DVec2) -> DVec2 {
    from.midpoint(to) - (to - from).perp() * (bulge / 2.0)
}

/// Whether a piece is as good as straight.
pub(super) fn is_straight(from: DVec2, bulge: f64, to: DVec2) -> bool {
    bulge.abs() * from.distance(to) / 2.0 < FLAT_MM
}

/// A circular arc.
#[derive(Clone, Copy, Debug)]
pub(super) struct Arc {
    pub(super) centre: DVec2,
    pub(super) radius_mm: f64,
    pub(super) from_rad: f64,
    /// Positive counter-clockwise.
    pub(super) sweep_rad: f64,
}

impl Arc {
    /// The arc of a piece; `None` if it is straight.
    pub(super) fn of(from: DVec2, bulge: f64, to: DVec2) -> Option<Self> {
        if is_straight(from, bulge, to) {
            return None;
        }
        let centre = from.midpoint(to) + (to - from).perp() * ((1.0 - bulge * bulge) / (4.0 * bulge));
        Some(Self {
            centre,
            radius_mm: from.distance(centre),
            from_rad: (from - centre).to_angle(),
            sweep_rad: 4.0 * bulge.atan(),
        })
    }

    /// The point at a share of the sweep.
    pub(super) fn at(&self, share: f64) -> DVec2 {
        self.centre + DVec2::from_angle(self.from_rad + self.sweep_rad * share) * self.radius_mm
    }

    /// Whether a point lies in the sector between the two ends.
    fn faces(&self, point: DVec2) -> bool {
        let turned_rad = ((point - self.centre).to_angle() - self.from_rad) * self.sweep_rad.signum();
        turned_rad.rem_euclid(TAU) <= self.sweep_rad.abs()
    }
}

/// Distance of a point from a piece, mm.
pub(super) fn distance_mm(point: DVec2, from: DVec2, bulge: f64, to: DVec2) -> f64 {
    let ends_mm = point.distance(from).min(point.distance(to));
    match Arc::of(from, bulge, to) {
        Some(arc) if arc.faces(point) => (point.distance(arc.centre) - arc.radius_mm).abs(),
        Some(_) => ends_mm,
        None => {
            let along = to - from;
            let share = (point - from).dot(along) / along.length_squared();
            if (0.0..=1.0).contains(&share) { point.distance(from + along * share) } else { ends_mm }
        }
    }
}

/// The bulge of the arc from `from` through `by` to `to`.
pub(super) fn bulge_through(from: DVec2, by: DVec2, to: DVec2) -> f64 {
    let (first, second) = (by - from, to - by);
    // At any point of an arc the two chords turn by half its sweep.
    let turn_rad = first.perp_dot(second).atan2(first.dot(second));
    let bulge = (turn_rad / 2.0).tan();
    if is_straight(from, bulge, to) { 0.0 } else { bulge }
}

/// The two or fewer half turns that an arc comes to: from, bulge, to.
pub(super) fn of_arc(arc: Arc) -> impl Iterator<Item = (DVec2, f64, DVec2)> {
    let parts: u32 = if arc.sweep_rad.abs() > PI * (1.0 + 1e-12) { 2 } else { 1 };
    let bulge = (arc.sweep_rad / f64::from(parts) / 4.0).tan().clamp(-1.0, 1.0);
    (0..parts).map(move |part| {
        let share = |part: u32| f64::from(part) / f64::from(parts);
        (arc.at(share(part)), bulge, arc.at(share(part + 1)))
    })
}

/// A smooth curve, given by the point at a parameter, as arcs and lines off it by no more than
/// [`CURVE_TOLERANCE_MM`] at seven places between the ends of each: from, bulge, to.
///
/// `spans` are the parameters between which it is smooth.
pub(super) fn of_curve(
    at: &dyn Fn(f64) -> DVec2,
    spans: &[(f64, f64)],
    push: &mut dyn FnMut(DVec2, f64, DVec2) -> Result<(), ImportError>,
) -> Result<(), ImportError> {
    // The first to be pushed lies on top.
    let mut open: Vec<(f64, f64, u32)> =
        spans.iter().rev().map(|&(low, high)| (low, high, HALVINGS)).collect();
    while let Some((low, high, halvings)) = open.pop() {
        let place = |share: f64| at(low + (high - low) * share);
        let (from, by, to) = (place(0.0), place(0.5), place(1.0));
        if !(from.is_finite() && by.is_finite() && to.is_finite()) {
            return Err(ImportError::TooFar);
        }
        let bulge = bulge_through(from, by, to);
        let fits = bulge.abs() <= 1.0
            && (1..8).all(|eighth| {
                distance_mm(place(f64::from(eighth) / 8.0), from, bulge, to) <= CURVE_TOLERANCE_MM
            });
        if fits || halvings == 0 {
            push(from, bulge.clamp(-1.0, 1.0), to)?;
        } else {
            let middle = low.midpoint(high);
            open.push((middle, high, halvings - 1));
            open.push((low, middle, halvings - 1));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_arc_is_found_again_from_its_bulge() {
        let arc = Arc { centre: DVec2::new(3.0, -2.0), radius_mm: 7.0, from_rad: 0.4, sweep_rad: -2.0 };
        let [(from, bulge, to)] = of_arc(arc).collect::<Vec<_>>()[..] else { panic!("one piece") };
        let again = Arc::of(from, bulge, to).unwrap();
        assert!(again.centre.distance(arc.centre) < 1e-12 && (again.radius_mm - 7.0).abs() < 1e-12);
        assert!((again.sweep_rad + 2.0).abs() < 1e-12);
        assert!(middle(from, bulge, to).distance(arc.at(0.5)) < 1e-12);
        assert!(distance_mm(arc.at(0.3), from, bulge, to) < 1e-12);
        assert!((distance_mm(arc.centre, from, bulge, to) - 7.0).abs() < 1e-12);
    }

    #[test]
    fn a_curve_keeps_within_the_tolerance_and_a_straight_one_stays_one_piece() {
        // An ellipse of 40 by 10 mm: the pieces' middles and quarters lie on it.
        let at = |t: f64| DVec2::new(20.0 * t.cos(), 5.0 * t.sin());
        let mut pieces = Vec::new();
        let mut push = |from, bulge, to| {
            pieces.push((from, bulge, to));
            Ok(())
        };
        of_curve(&at, &[(0.0, PI), (PI, TAU)], &mut push).unwrap();
        assert!(pieces.len() < 60, "{}", pieces.len());
        for degree in 0..3600 {
            let point = at(f64::from(degree) * TAU / 3600.0);
            let off = pieces.iter().map(|&(a, b, c)| distance_mm(point, a, b, c)).fold(f64::MAX, f64::min);
            assert!(off <= CURVE_TOLERANCE_MM, "{off} mm off at {degree}");
        }
        let mut count = 0;
        of_curve(&|t| DVec2::new(t, 2.0 * t), &[(0.0, 9.0)], &mut |_, bulge, _| {
            count += 1;
            assert_eq!(bulge, 0.0);
            Ok(())
        })
        .unwrap();
        assert_eq!(count, 1);
        assert_eq!(of_curve(&|_| DVec2::NAN, &[(0.0, 1.0)], &mut |_, _, _| Ok(())), Err(ImportError::TooFar));
    }
}
