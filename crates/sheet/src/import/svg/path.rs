//! The data of an SVG path, after W3C SVG 1.1 (second edition), chapter 8 and appendix F.6.

use glam::{DAffine2, DVec2};
use svgtypes::{PathParser, PathSegment};

use super::super::collect::Collector;
use super::super::{ImportError, JOIN_MM};

/// Where a path has got to.
#[derive(Default)]
struct Pen {
    at: DVec2,
    start: DVec2,
    /// The last control point of a cubic, and of a quadratic, if such a curve came last.
    cubic: Option<DVec2>,
    quadratic: Option<DVec2>,
}

/// Draws a path; what comes after a break in the data is left out, as a viewer does.
pub(super) fn draw(
    data: &str,
    to_mm: DAffine2,
    layer: usize,
    collector: &mut Collector,
) -> Result<(), ImportError> {
    let mut pen = Pen::default();
    for segment in PathParser::from(data) {
        let Ok(segment) = segment else {
            collector.skip("end of a path", "its data are broken");
            return Ok(());
        };
        step(&mut pen, segment, to_mm, layer, collector)?;
    }
    Ok(())
}

fn step(
    pen: &mut Pen,
    segment: PathSegment,
    to_mm: DAffine2,
    layer: usize,
    collector: &mut Collector,
) -> Result<(), ImportError> {
    let from = pen.at;
    let place = |abs: bool, x: f64, y: f64| if abs { DVec2::new(x, y) } else { from + DVec2::new(x, y) };
    // The last control point, seen from the other side.
    let smooth = |control: Option<DVec2>| control.map_or(from, |control| 2.0 * from - control);
    let (mut cubic, mut quadratic) = (None, None);
    let line = |collector: &mut Collector, to| collector.bulged(layer, to_mm, from, 0.0, to);
    let curve = |collector: &mut Collector, [a, b, to]: [DVec2; 3]| {
        let [p, a, b, q] = [from, a, b, to].map(|at| to_mm.transform_point2(at));
        let at = |t: f64| {
            let s = 1.0 - t;
            p * (s * s * s) + a * (3.0 * s * s * t) + b * (3.0 * s * t * t) + q * (t * t * t)
        };
        collector.curve(layer, &at, &[(0.0, 1.0)])
    };
    match segment {
        PathSegment::MoveTo { abs, x, y } => {
            pen.at = place(abs, x, y);
            pen.start = pen.at;
        }
        PathSegment::LineTo { abs, x, y } => {
            pen.at = place(abs, x, y);
            line(collector, pen.at)?;
        }
        PathSegment::HorizontalLineTo { abs, x } => {
            pen.at.x = if abs { x } else { from.x + x };
            line(collector, pen.at)?;
        }
        PathSegment::VerticalLineTo { abs, y } => {
            pen.at.y = if abs { y } else { from.y + y };
            line(collector, pen.at)?;
        }
        PathSegment::CurveTo { abs, x1, y1, x2, y2, x, y } => {
            let b = place(abs, x2, y2);
            pen.at = place(abs, x, y);
            cubic = Some(b);
            curve(collector, [place(abs, x1, y1), b, pen.at])?;
        }
        PathSegment::SmoothCurveTo { abs, x2, y2, x, y } => {
            let b = place(abs, x2, y2);
            pen.at = place(abs, x, y);
            cubic = Some(b);
            curve(collector, [smooth(pen.cubic), b, pen.at])?;
        }
        PathSegment::Quadratic { .. } | PathSegment::SmoothQuadratic { .. } => {
            let (control, to) = match segment {
                PathSegment::Quadratic { abs, x1, y1, x, y } => (place(abs, x1, y1), place(abs, x, y)),
                PathSegment::SmoothQuadratic { abs, x, y } => (smooth(pen.quadratic), place(abs, x, y)),
                _ => return Ok(()),
            };
            pen.at = to;
            quadratic = Some(control);
            let third = |end: DVec2| end + (control - end) * (2.0 / 3.0);
            curve(collector, [third(from), third(to), to])?;
        }
        PathSegment::EllipticalArc { abs, rx, ry, x_axis_rotation, large_arc, sweep, x, y } => {
            pen.at = place(abs, x, y);
            let arc =
                Elliptical { radii: DVec2::new(rx, ry).abs(), turn_deg: x_axis_rotation, large_arc, sweep };
            match arc.between(from, pen.at) {
                Some((axes, from_rad, sweep_rad)) => {
                    collector.ellipse(layer, to_mm, axes, from_rad, sweep_rad)?;
                }
                None => line(collector, pen.at)?,
            }
        }
        PathSegment::ClosePath { .. } => {
            pen.at = pen.start;
            // Often the path is back at its start already.
            if to_mm.transform_vector2(pen.start - from).length() > JOIN_MM {
                line(collector, pen.at)?;
            }
        }
    }
    pen.cubic = cubic;
    pen.quadratic = quadratic;
    Ok(())
}

/// An elliptical arc as a path gives it.
struct Elliptical {
    radii: DVec2,
    turn_deg: f64,
    large_arc: bool,
    sweep: bool,
}

impl Elliptical {
    /// Centre and half axes, parameter of the start and sweep; `None` if it is straight.
    ///
    /// W3C SVG 1.1 (second edition), appendix F.6.5 and F.6.6.
    fn between(&self, from: DVec2, to: DVec2) -> Option<([DVec2; 3], f64, f64)> {
        let turn_rad = self.turn_deg.to_radians();
        let turn = DVec2::from_angle(turn_rad);
        let half = DVec2::from_angle(-turn_rad).rotate((from - to) / 2.0);
        if self.radii.min_element() <= 0.0 || half == DVec2::ZERO || !self.radii.is_finite() {
            return None;
        }
        // Radii too small to reach are made larger.
        let reach = (half / self.radii).length();
        let radii = self.radii * reach.max(1.0);
        // On the unit circle: the middle of the chord, and from there to the centre.
        let chord = half / radii;
        let aside = (1.0 / chord.length_squared() - 1.0).max(0.0).sqrt();
        let side = if self.large_arc == self.sweep { 1.0 } else { -1.0 };
        let centre = chord.perp() * (aside * side);
        let (start, end) = (chord - centre, -chord - centre);
        let from_rad = start.to_angle();
        let turned_rad = start.perp_dot(end).atan2(start.dot(end));
        let sweep_rad = match (self.sweep, turned_rad > 0.0) {
            (true, false) => turned_rad + std::f64::consts::TAU,
            (false, true) => turned_rad - std::f64::consts::TAU,
            _ => turned_rad,
        };
        let axes = [from.midpoint(to) + turn.rotate(centre * radii), turn * radii.x, turn.perp() * radii.y];
        Some((axes, from_rad, sweep_rad))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The end points and the point at half the sweep.
    #[track_caller]
    fn check(arc: &Elliptical, to: DVec2, middle: DVec2) {
        let ([centre, along, across], from_rad, sweep_rad) = arc.between(DVec2::ZERO, to).unwrap();
        let at = |t: f64| centre + along * t.cos() + across * t.sin();
        for (found, expected) in [
            (at(from_rad), DVec2::ZERO),
            (at(from_rad + sweep_rad), to),
            (at(from_rad + sweep_rad / 2.0), middle),
        ] {
            assert!(found.distance(expected) < 1e-12, "{found} is not {expected}");
        }
    }

    #[test]
    fn the_four_arcs_between_two_points_are_told_apart() {
        // Radius 5, chord 6 along x: the centre is 4 above or below. y is down in SVG, and sweep means
        // towards growing angles, from x to y.
        let arc = |large_arc, sweep| Elliptical { radii: DVec2::splat(5.0), turn_deg: 0.0, large_arc, sweep };
        let to = DVec2::new(6.0, 0.0);
        check(&arc(false, true), to, DVec2::new(3.0, -1.0));
        check(&arc(false, false), to, DVec2::new(3.0, 1.0));
        check(&arc(true, true), to, DVec2::new(3.0, -9.0));
        check(&arc(true, false), to, DVec2::new(3.0, 9.0));
    }

    #[test]
    fn radii_too_small_are_made_to_reach_and_none_is_straight() {
        let small = Elliptical { radii: DVec2::new(1.0, 1.0), turn_deg: 30.0, large_arc: false, sweep: true };
        check(&small, DVec2::new(6.0, 0.0), DVec2::new(3.0, -3.0));
        let none = Elliptical { radii: DVec2::ZERO, turn_deg: 0.0, large_arc: false, sweep: true };
        assert!(none.between(DVec2::ZERO, DVec2::X).is_none());
    }
}
