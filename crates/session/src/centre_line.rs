//! The centre line of a run: the nearest place on it, straight pieces and arcs alike.

use glam::DVec2;
use keepside_model::{Run, RunPoint};

/// A place on the centre line of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnRun {
    /// The place in the plan, mm.
    pub at: DVec2,
    /// Distance from the point asked for, mm.
    pub distance_mm: f64,
    /// Index of the piece, that is of the run point it starts from.
    pub piece: usize,
    /// Where that is in the piece, 0 at its start to 1 at its end.
    pub share: f64,
    /// Where that is along the centre line, mm from the run's first point.
    pub along_mm: f64,
    /// Channel width there, mm.
    pub width_mm: f64,
    /// Channel depth there, mm.
    pub depth_mm: f64,
}

/// The place on the centre line of `run` nearest to `from`; `None` for a run with fewer than two points.
pub fn nearest_on_run(run: &Run, from: DVec2) -> Option<OnRun> {
    let on_piece = |(piece, pair): (usize, &[RunPoint])| {
        let (a, b) = (pair[0], pair[1]);
        let t = if a.bulge == 0.0 { on_line(a.at, b.at, from) } else { on_arc(a.at, b.at, a.bulge, from) };
        let at = point_on_piece(a, b, t);
        OnRun {
            at,
            distance_mm: at.distance(from),
            piece,
            share: t,
            along_mm: lengths_mm(run).take(piece).sum::<f64>() + t * length_mm(a, b),
            width_mm: a.width_mm + (b.width_mm - a.width_mm) * t,
            depth_mm: a.depth_mm + (b.depth_mm - a.depth_mm) * t,
        }
    };
    run.points
        .windows(2)
        .enumerate()
        .map(on_piece)
        .min_by(|left, right| left.distance_mm.total_cmp(&right.distance_mm))
}

/// The place `along_mm` along the centre line of `run`; `None` before its start and beyond its end.
pub fn place_along(run: &Run, along_mm: f64) -> Option<DVec2> {
    let mut left_mm = along_mm;
    for pair in run.points.windows(2) {
        let length_mm = length_mm(pair[0], pair[1]);
        if (0.0..=length_mm).contains(&left_mm) && length_mm > 0.0 {
            return Some(point_on_piece(pair[0], pair[1], left_mm / length_mm));
        }
        left_mm -= length_mm;
    }
    None
}

/// Length of the centre line of `run`, mm.
pub fn run_length_mm(run: &Run) -> f64 {
    lengths_mm(run).sum()
}

fn lengths_mm(run: &Run) -> impl Iterator<Item = f64> {
    run.points.windows(2).map(|pair| length_mm(pair[0], pair[1]))
}

/// Length of the centre line from `a` to `b`, mm.
pub(crate) fn length_mm(a: RunPoint, b: RunPoint) -> f64 {
    let of_arc = |(_, _, sweep_rad, radius_mm): (DVec2, f64, f64, f64)| sweep_rad.abs() * radius_mm;
    arc(a.at, b.at, a.bulge).map_or_else(|| a.at.distance(b.at), of_arc)
}

/// The point at share `t` of the piece from `a` to `b`.
pub(crate) fn point_on_piece(a: RunPoint, b: RunPoint, t: f64) -> DVec2 {
    match arc(a.at, b.at, a.bulge) {
        Some((centre, start_rad, sweep_rad, radius_mm)) => {
            centre + DVec2::from_angle(start_rad + sweep_rad * t) * radius_mm
        }
        None => a.at.lerp(b.at, t),
    }
}

/// Places along the centre line with the channel's width there, mm: every point, and arcs in steps of at most
/// 4.5 degrees.
pub(crate) fn points_mm(run: &Run) -> Vec<(DVec2, f64)> {
    let mut places: Vec<(DVec2, f64)> = run.points.iter().map(|point| (point.at, point.width_mm)).collect();
    for pair in run.points.windows(2).filter(|pair| pair[0].bulge != 0.0) {
        places.extend((1..40_u8).map(|step| {
            let share = f64::from(step) / 40.0;
            let width_mm = pair[0].width_mm + (pair[1].width_mm - pair[0].width_mm) * share;
            (point_on_piece(pair[0], pair[1], share), width_mm)
        }));
    }
    places
}

/// Share of the straight piece at which it is nearest to `from`.
fn on_line(a: DVec2, b: DVec2, from: DVec2) -> f64 {
    let along = b - a;
    let length_squared = along.length_squared();
    if length_squared == 0.0 { 0.0 } else { ((from - a).dot(along) / length_squared).clamp(0.0, 1.0) }
}

/// Share of the arc at which it is nearest to `from`.
fn on_arc(a: DVec2, b: DVec2, bulge: f64, from: DVec2) -> f64 {
    let Some((centre, start_rad, sweep_rad, _)) = arc(a, b, bulge) else { return 0.0 };
    let turn_rad = (from - centre).to_angle() - start_rad;
    let turned = if sweep_rad > 0.0 { turn_rad } else { -turn_rad }.rem_euclid(std::f64::consts::TAU);
    if turned <= sweep_rad.abs() {
        turned / sweep_rad.abs()
    } else if from.distance(a) <= from.distance(b) {
        0.0
    } else {
        1.0
    }
}

/// Centre, start angle, swept angle and radius of an arc piece; `None` if it is straight or has no length.
///
/// The bulge is the tangent of a quarter of the arc's angle, positive counter-clockwise.
fn arc(a: DVec2, b: DVec2, bulge: f64) -> Option<(DVec2, f64, f64, f64)> {
    let chord = b - a;
    if bulge == 0.0 || chord == DVec2::ZERO {
        return None;
    }
    // The centre lies on the perpendicular bisector, to the left of the chord for a left turn of less
    // than half a circle.
    let centre = a.midpoint(b) + chord.perp() * ((1.0 - bulge * bulge) / (4.0 * bulge));
    Some((centre, (a - centre).to_angle(), 4.0 * bulge.atan(), a.distance(centre)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use keepside_model::EndShape;

    fn run(points: &[(f64, f64, f64)]) -> Run {
        let point = |&(x, y, bulge)| RunPoint { at: DVec2::new(x, y), width_mm: 6.0, depth_mm: 3.0, bulge };
        Run {
            name: String::new(),
            points: points.iter().map(point).collect(),
            start: EndShape::Round,
            end: EndShape::Round,
        }
    }

    #[track_caller]
    fn check(points: &[(f64, f64, f64)], from: (f64, f64), expected: (f64, f64)) {
        let found = nearest_on_run(&run(points), from.into()).expect("a run with two points");
        let expected = DVec2::from(expected);
        assert!(
            found.at.distance(expected) < 1e-9,
            "nearest to {from:?}: {} instead of {expected}",
            found.at
        );
    }

    #[test]
    fn the_nearest_place_on_a_straight_piece_is_the_foot_of_the_perpendicular() {
        let line = [(10.0, 20.0, 0.0), (50.0, 20.0, 0.0)];
        check(&line, (30.0, 26.0), (30.0, 20.0));
        check(&line, (0.0, 20.0), (10.0, 20.0));
        check(&line, (70.0, 3.0), (50.0, 20.0));
    }

    #[test]
    fn the_nearest_place_on_an_arc_lies_on_its_radius() {
        // Half circle of radius 10 about (0, 0), from (10, 0) counter-clockwise to (−10, 0): over the top.
        let over = [(10.0, 0.0, 1.0), (-10.0, 0.0, 0.0)];
        check(&over, (0.0, 25.0), (0.0, 10.0));
        check(&over, (6.0, 8.0), (6.0, 8.0));
        check(&over, (9.0, -3.0), (10.0, 0.0));
        // The same turned clockwise: under the bottom.
        let under = [(10.0, 0.0, -1.0), (-10.0, 0.0, 0.0)];
        check(&under, (0.0, -25.0), (0.0, -10.0));
        check(&under, (-9.0, 3.0), (-10.0, 0.0));
    }

    #[test]
    fn a_quarter_turn_has_the_radius_that_its_bulge_says() {
        // Quarter circle about the origin from (10, 0) to (0, 10): bulge = tan(90°/4).
        let quarter = [(10.0, 0.0, 22.5_f64.to_radians().tan()), (0.0, 10.0, 0.0)];
        let diagonal = 10.0 / 2.0_f64.sqrt();
        check(&quarter, (20.0, 20.0), (diagonal, diagonal));
        check(&quarter, (1.0, 1.0), (diagonal, diagonal));
    }

    #[test]
    fn a_place_is_found_again_by_its_length_along_the_run() {
        // 20 mm straight, a quarter circle of radius 10, 5 mm straight.
        let bend = 22.5_f64.to_radians().tan();
        let run = run(&[(0.0, 0.0, 0.0), (20.0, 0.0, bend), (30.0, 10.0, 0.0), (30.0, 15.0, 0.0)]);
        let whole_mm = 25.0 + 5.0 * std::f64::consts::PI;
        for share in [0.0, 0.3, 0.5, 0.62, 0.9, 1.0] {
            let at = place_along(&run, share * whole_mm - 1e-12 * share).expect("it is on the run");
            let on = nearest_on_run(&run, at).expect("a run with points");
            assert!(
                (on.along_mm - share * whole_mm).abs() < 1e-9 && on.distance_mm < 1e-9,
                "{share}: {on:?}"
            );
        }
        assert_eq!(place_along(&run, whole_mm + 0.1), None);
        assert_eq!(place_along(&run, -0.1), None);
    }

    #[test]
    fn a_run_without_a_piece_has_no_centre_line() {
        assert!(nearest_on_run(&run(&[(1.0, 2.0, 0.0)]), DVec2::ZERO).is_none());
    }

    #[test]
    fn points_that_coincide_do_no_harm() {
        check(&[(5.0, 5.0, 0.5), (5.0, 5.0, 0.0)], (9.0, 9.0), (5.0, 5.0));
    }
}
