//! Changing the shape of a run: points put in and taken out, cut in two, joined, bent, turned round.

use glam::DVec2;
use keepside_model::{Run, RunPoint};

use crate::centre_line::{length_mm, point_on_piece};

/// Ends of runs that are no further apart meet, mm: far below what can be cut, far above rounding.
pub const MEET_MM: f64 = 0.01;

/// The middle of the piece that begins at point `piece`; `None` if there is no such piece.
pub fn middle_of_piece(run: &Run, piece: usize) -> Option<DVec2> {
    let (from, to) = (run.points.get(piece)?, run.points.get(piece + 1)?);
    Some(point_on_piece(*from, *to, 0.5))
}

/// The run with a further point at `share` (0 to 1) of the piece that begins at point `piece`; its shape
/// is the same as before. `None` if there is no such piece, or no room between its points.
pub fn with_point(run: &Run, piece: usize, share: f64) -> Option<Run> {
    let (from, to) = (*run.points.get(piece)?, *run.points.get(piece + 1)?);
    let whole_mm = length_mm(from, to);
    if !(whole_mm * share > MEET_MM && whole_mm * (1.0 - share) > MEET_MM) {
        return None;
    }
    let mix = |a: f64, b: f64| a + (b - a) * share;
    // The bulge is the tangent of a quarter of the arc's angle, and each part takes its share of the angle.
    let quarter_rad = from.bulge.atan();
    let new = RunPoint {
        at: point_on_piece(from, to, share),
        width_mm: mix(from.width_mm, to.width_mm),
        depth_mm: mix(from.depth_mm, to.depth_mm),
        bulge: (quarter_rad * (1.0 - share)).tan(),
    };
    let mut run = run.clone();
    run.points[piece].bulge = (quarter_rad * share).tan();
    run.points.insert(piece + 1, new);
    Some(run)
}

/// The run without one of its points; the pieces on both sides become a straight one. `None` if the point
/// does not exist or the run would be left with fewer than two.
pub fn without_point(run: &Run, index: usize) -> Option<Run> {
    if index >= run.points.len() || run.points.len() <= 2 {
        return None;
    }
    let mut run = run.clone();
    run.points.remove(index);
    if let Some(before) = index.checked_sub(1) {
        run.points[before].bulge = 0.0;
    }
    Some(run)
}

/// The run cut in two at one of its inner points; `None` at its ends.
pub fn split(run: &Run, index: usize) -> Option<[Run; 2]> {
    if index == 0 || index + 1 >= run.points.len() {
        return None;
    }
    let (mut first, mut second) = (run.clone(), run.clone());
    first.points.truncate(index + 1);
    // The last point begins no piece.
    first.points[index].bulge = 0.0;
    first.end = run.end;
    second.points.drain(..index);
    Some([first, second])
}

/// The run from its last point to its first.
pub fn turned_round(run: &Run) -> Run {
    let bulges = run.points.windows(2).map(|pair| -pair[0].bulge).rev().chain([0.0]);
    let points = run.points.iter().rev().zip(bulges).map(|(point, bulge)| RunPoint { bulge, ..*point });
    Run { name: run.name.clone(), points: points.collect(), start: run.end, end: run.start }
}

/// Two runs that meet end to end as one, from the first on; `None` if no ends meet. Where they meet the
/// channel is as wide and deep as the end of the first.
pub fn join(first: &Run, second: &Run) -> Option<Run> {
    let ends = |run: &Run| Some((run.points.first()?.at, run.points.last()?.at));
    let ((first_start, first_end), (second_start, second_end)) = (ends(first)?, ends(second)?);
    let meet = |a: DVec2, b: DVec2| a.distance(b) <= MEET_MM;
    let name = if first.name.is_empty() { &second.name } else { &first.name };
    let (mut joined, next) = if meet(first_end, second_start) {
        (first.clone(), second.clone())
    } else if meet(first_end, second_end) {
        (first.clone(), turned_round(second))
    } else if meet(first_start, second_end) {
        (second.clone(), first.clone())
    } else if meet(first_start, second_start) {
        (turned_round(second), first.clone())
    } else {
        return None;
    };
    let bulge = next.points.first()?.bulge;
    joined.points.last_mut()?.bulge = bulge;
    joined.points.extend(next.points.iter().skip(1));
    Some(Run { name: name.clone(), end: next.end, ..joined })
}

/// Bulge of the arc from `from` to `to` through the foot of `through` on their perpendicular bisector; a half
/// circle at most.
pub fn bulge_through(from: DVec2, to: DVec2, through: DVec2) -> f64 {
    let chord = to - from;
    let Some(along) = chord.try_normalize() else { return 0.0 };
    // An arc that turns to the left lies to the right of its chord.
    let sagitta_mm = -along.perp().dot(through - from.midpoint(to));
    (2.0 * sagitta_mm / chord.length()).clamp(-1.0, 1.0)
}

/// The run with the piece that begins at point `piece` bent so that its middle comes nearest to `through`;
/// straight if that lies within `straight_mm` of the chord.
pub fn bent(run: &Run, piece: usize, through: DVec2, straight_mm: f64) -> Option<Run> {
    let (from, to) = (run.points.get(piece)?.at, run.points.get(piece + 1)?.at);
    let bulge = bulge_through(from, to, through);
    let sagitta_mm = 0.5 * bulge.abs() * from.distance(to);
    let mut run = run.clone();
    run.points[piece].bulge = if sagitta_mm < straight_mm { 0.0 } else { bulge };
    Some(run)
}
