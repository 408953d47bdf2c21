//! Where two edges cross or touch.

use glam::DVec2;

use super::edge::Edge;
use super::leg::Curve;

/// Appends the shares of `a` and `b` at which the two cross or touch.
///
/// Edges that lie on each other cross nowhere: there the ends of the one divide the other. Edges that
/// come within `tolerance_mm` of touching touch once, in the middle.
pub(super) fn crossings(a: &Edge, b: &Edge, tolerance_mm: f64, found: &mut Vec<(f64, f64)>) {
    match (a.curve, b.curve) {
        (None, None) => {
            let (along_a, along_b) = (a.to - a.from, b.to - b.from);
            let sine = along_a.perp_dot(along_b);
            // Parallel to the rounding of the directions.
            if sine.abs() > 1e-13 * along_a.length() * along_b.length() {
                let between = b.from - a.from;
                keep(
                    a,
                    b,
                    between.perp_dot(along_b) / sine,
                    between.perp_dot(along_a) / sine,
                    tolerance_mm,
                    found,
                );
            }
        }
        (None, Some(arc)) => {
            for point in line_with_circle(a, &arc, tolerance_mm).into_iter().flatten() {
                keep(a, b, a.nearest(point).0, arc.share(point), tolerance_mm, found);
            }
        }
        (Some(arc), None) => {
            for point in line_with_circle(b, &arc, tolerance_mm).into_iter().flatten() {
                keep(a, b, arc.share(point), b.nearest(point).0, tolerance_mm, found);
            }
        }
        (Some(one), Some(two)) => {
            for point in circle_with_circle(&one, &two, tolerance_mm).into_iter().flatten() {
                keep(a, b, one.share(point), two.share(point), tolerance_mm, found);
            }
        }
    }
}

/// Keeps a crossing that lies on both edges.
fn keep(a: &Edge, b: &Edge, ta: f64, tb: f64, tolerance_mm: f64, found: &mut Vec<(f64, f64)>) {
    let on = |edge: &Edge, t: f64| {
        let slack = tolerance_mm / edge.length_mm().max(tolerance_mm);
        t >= -slack && t <= 1.0 + slack
    };
    if on(a, ta) && on(b, tb) {
        found.push((ta.clamp(0.0, 1.0), tb.clamp(0.0, 1.0)));
    }
}

/// Where a line, within its length, meets a whole circle.
fn line_with_circle(line: &Edge, circle: &Curve, tolerance_mm: f64) -> [Option<DVec2>; 2] {
    let along = line.to - line.from;
    let length_mm = along.length();
    if length_mm <= 0.0 {
        return [None, None];
    }
    let along = along / length_mm;
    let to_centre = circle.centre - line.from;
    let (foot_mm, offset_mm) = (to_centre.dot(along), along.perp_dot(to_centre));
    let within = |at_mm: f64| {
        (at_mm >= -tolerance_mm && at_mm <= length_mm + tolerance_mm).then(|| line.from + along * at_mm)
    };
    let poke_mm = circle.radius_mm - offset_mm.abs();
    if poke_mm < -tolerance_mm {
        [None, None]
    } else if poke_mm <= tolerance_mm {
        [within(foot_mm), None]
    } else {
        let half_mm = (poke_mm * (circle.radius_mm + offset_mm.abs())).sqrt();
        [within(foot_mm - half_mm), within(foot_mm + half_mm)]
    }
}

/// Where two whole circles meet.
fn circle_with_circle(one: &Curve, two: &Curve, tolerance_mm: f64) -> [Option<DVec2>; 2] {
    let between = two.centre - one.centre;
    let apart_mm = between.length();
    let (r, s) = (one.radius_mm, two.radius_mm);
    let (outside_mm, inside_mm) = (r + s - apart_mm, apart_mm - (r - s).abs());
    if apart_mm <= tolerance_mm || outside_mm < -tolerance_mm || inside_mm < -tolerance_mm {
        return [None, None];
    }
    let towards = between / apart_mm;
    let along_mm = (apart_mm * apart_mm + (r - s) * (r + s)) / (2.0 * apart_mm);
    if outside_mm <= tolerance_mm || inside_mm <= tolerance_mm {
        return [Some(one.centre + towards * (r * along_mm.signum())), None];
    }
    let across_mm = (r * r - along_mm * along_mm).max(0.0).sqrt();
    let (foot, across) = (one.centre + towards * along_mm, towards.perp() * across_mm);
    [Some(foot + across), Some(foot - across)]
}
