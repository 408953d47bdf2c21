//! Closed outlines as channels of constant width: their centre line and width.
//!
//! Two ends of the same width are looked for, round or square; the side between them is moved inwards by half
//! the width, and the channel of that centre line is compared with the outline all round. Only what agrees
//! within [`STRIP_MM`] is a run. Of two outlines, one within the other, a ring is made in the same way.

mod compare;

use glam::DVec2;
use keepside_model::{EndShape, bounds};

use super::curve::{Arc, bulge_through, distance_mm, is_straight, middle};
use super::runs::{self, Refused, Runs};
use super::{Chain, ChainPoint};

/// How far an outline may lie from the channel that is made of it, mm: a fifth of the finest general
/// tolerance of ISO 2768-1, class f (0.05 mm) and more, so that drawing it again changes nothing.
pub const STRIP_MM: f64 = 0.01;
/// Gap or overlap of pieces of a centre line that are taken to meet, mm.
const MEET_MM: f64 = 2.0 * STRIP_MM;
/// Largest number of pieces of an outline, those that go on alike taken as one.
const MAX_PIECES: usize = 200;
/// How many pairs of ends are tried.
const MAX_TRIES: usize = 12;
/// How many outlines are tried as rings with one another.
const MAX_RINGS: usize = 24;

/// A piece: from, bulge, to.
type Piece = (DVec2, f64, DVec2);

/// What an outline might end in.
#[derive(Clone, Copy)]
struct End {
    /// Index of its piece.
    piece: usize,
    width_mm: f64,
    shape: EndShape,
}

/// One run an outline, or a ring for two.
pub(super) fn runs(chains: &[(usize, Chain)], depth_mm: f64) -> Runs {
    let mut made = Runs::default();
    let mut rest: Vec<(usize, Vec<Piece>, Refused)> = Vec::new();
    for (index, chain) in chains {
        let at = chain.points.first().map_or(DVec2::ZERO, |point| point.at);
        if !chain.closed {
            let why = "this line is open; close the outline, or import it as a centre line".to_owned();
            made.refused.push(Refused { chain: *index, at, why });
            continue;
        }
        let pieces = merged(anticlockwise(chain.pieces().collect()));
        match strip(&pieces, depth_mm) {
            Ok(run) => made.runs.push(run),
            Err((at, why)) => rest.push((*index, pieces, Refused { chain: *index, at, why })),
        }
    }
    let mut taken = vec![false; rest.len()];
    for outer in 0..rest.len().min(MAX_RINGS) {
        let ring = (0..rest.len().min(MAX_RINGS))
            .filter(|inner| *inner != outer && !taken[*inner] && !taken[outer])
            .find_map(|inner| Some((inner, ring(&rest[outer].1, &rest[inner].1, depth_mm)?)));
        if let Some((inner, run)) = ring {
            taken[outer] = true;
            taken[inner] = true;
            made.runs.push(run);
        }
    }
    let left = rest.into_iter().zip(taken).filter(|(_, taken)| !taken);
    made.refused.extend(left.map(|((_, _, refused), _)| refused));
    made
}

/// What to do about an outline that is no strip.
const INSTEAD: &str = "import its centre line instead, or draw the run over it";

/// The run of one outline, anticlockwise; or where it is none, and why.
fn strip(pieces: &[Piece], depth_mm: f64) -> Result<keepside_model::Run, (DVec2, String)> {
    let first = pieces.first().map_or(DVec2::ZERO, |piece| piece.0);
    if pieces.len() > MAX_PIECES {
        let why = format!("this outline has {} bends, too many for a strip; {INSTEAD}", pieces.len());
        return Err((first, why));
    }
    let ends = ends(pieces);
    let mut pairs: Vec<(End, End)> = Vec::new();
    for (place, a) in ends.iter().enumerate() {
        let others = ends.iter().skip(place + 1);
        pairs.extend(others.filter(|b| (a.width_mm - b.width_mm).abs() <= STRIP_MM).map(|b| (*a, *b)));
    }
    // The long sides of an oblong face each other as its ends do: the narrower pair are the ends.
    pairs.sort_by(|x, y| x.0.width_mm.total_cmp(&y.0.width_mm));
    let mut nearest: Option<(f64, DVec2, f64)> = None;
    for (a, b) in pairs.into_iter().take(MAX_TRIES) {
        let width_mm = a.width_mm.midpoint(b.width_mm);
        if !bounds::CHANNEL_WIDTH.contains(width_mm) {
            continue;
        }
        for (from, to) in [(a, b), (b, a)] {
            let Some(line) = centre_line(&side(pieces, from.piece, to.piece), width_mm / 2.0) else {
                continue;
            };
            let run = runs::run(&points(&line, false), width_mm, depth_mm, [from.shape, to.shape])?;
            let (off_mm, at) = compare::farthest(&[pieces], &run);
            if off_mm <= STRIP_MM {
                return Ok(run);
            }
            // What is wider than long is nobody's idea of a strip: it is not told of.
            let length_mm: f64 = line.iter().map(|(from, _, to)| from.distance(*to)).sum();
            if length_mm > width_mm && nearest.is_none_or(|(least_mm, ..)| off_mm < least_mm) {
                nearest = Some((off_mm, at, width_mm));
            }
        }
    }
    Err(match nearest {
        Some((off_mm, at, width_mm)) => {
            let why = format!(
                "this outline differs by {off_mm:.2} mm here from a strip {width_mm:.2} mm wide, with outer \
                 corners rounded as a cutter leaves them; {INSTEAD}"
            );
            (at, why)
        }
        None => {
            let why = format!(
                "this outline is not a strip of constant width: no two round or square ends are alike with two \
                 parallel sides between them; {INSTEAD}"
            );
            (first, why)
        }
    })
}

/// The run of a ring between two closed outlines.
fn ring(outer: &[Piece], inner: &[Piece], depth_mm: f64) -> Option<keepside_model::Run> {
    if outer.len() > MAX_PIECES || inner.len() > MAX_PIECES {
        return None;
    }
    let &(from, bulge, to) = inner.first()?;
    let at = middle(from, bulge, to);
    let width_mm = outer.iter().map(|&(a, b, c)| distance_mm(at, a, b, c)).fold(f64::MAX, f64::min);
    bounds::CHANNEL_WIDTH.check(width_mm).ok()?;
    let mut line = moved_inwards(outer, width_mm / 2.0)?;
    // The last piece goes on into the first.
    let (first, last) = (*line.first()?, *line.last()?);
    let joint = meet(last, first)?;
    line.first_mut()?.0 = joint;
    line.last_mut()?.2 = joint;
    let run = runs::run(&points(&line, true), width_mm, depth_mm, [EndShape::Round; 2]).ok()?;
    (compare::farthest(&[outer, inner], &run).0 <= STRIP_MM).then_some(run)
}

/// The points of a centre line; a closed one ends where it begins.
fn points(line: &[Piece], closed: bool) -> Vec<ChainPoint> {
    let mut points: Vec<ChainPoint> = line.iter().map(|&(at, bulge, _)| ChainPoint { at, bulge }).collect();
    let end = if closed { line.first().map(|piece| piece.0) } else { line.last().map(|piece| piece.2) };
    points.extend(end.map(|at| ChainPoint { at, bulge: 0.0 }));
    points
}

/// The pieces so that what they enclose is on their left.
fn anticlockwise(pieces: Vec<Piece>) -> Vec<Piece> {
    let doubled_mm2: f64 = pieces
        .iter()
        .map(|&(from, bulge, to)| {
            let by = middle(from, bulge, to);
            from.perp_dot(by) + by.perp_dot(to)
        })
        .sum();
    if doubled_mm2 >= 0.0 {
        return pieces;
    }
    pieces.into_iter().rev().map(|(from, bulge, to)| (to, -bulge, from)).collect()
}

/// The outline with pieces that go on alike, along one line or one circle, as one.
fn merged(mut pieces: Vec<Piece>) -> Vec<Piece> {
    // Begins where the piece before is another.
    let count = pieces.len();
    let start =
        (0..count).find(|&index| together(pieces[(index + count - 1) % count], pieces[index]).is_none());
    pieces.rotate_left(start.unwrap_or(0));
    let mut merged: Vec<Piece> = Vec::new();
    let mut parts = 0;
    for piece in pieces {
        let whole = merged.last().and_then(|last| together(*last, piece));
        // A drift that no two neighbours show would add up: the tolerance is shared among the parts.
        match (whole, merged.last_mut()) {
            (Some(whole), Some(last)) if parts < 400 => {
                *last = whole;
                parts += 1;
            }
            _ => {
                merged.push(piece);
                parts = 1;
            }
        }
    }
    merged
}

/// Two pieces as one, if they are parts of one line or circle of at most half a turn.
fn together(a: Piece, b: Piece) -> Option<Piece> {
    let bulge = bulge_through(a.0, a.2, b.2);
    // Half a turn, with the rounding of its parts.
    if bulge.abs() > 1.0 + 1e-3 || a.0.distance(b.2) <= MEET_MM {
        return None;
    }
    let whole = (a.0, bulge, b.2);
    let fits = [a, b].into_iter().all(|(from, bulge, to)| {
        distance_mm(middle(from, bulge, to), whole.0, whole.1, whole.2) <= STRIP_MM / 2.0
    });
    fits.then_some(whole)
}

/// Everything that an outline might end in.
fn ends(pieces: &[Piece]) -> Vec<End> {
    let count = pieces.len();
    let mut ends = Vec::new();
    for (index, &piece) in pieces.iter().enumerate() {
        let width_mm = piece.0.distance(piece.2);
        let before = direction(pieces[(index + count - 1) % count], 1.0);
        let after = direction(pieces[(index + 1) % count], 0.0);
        if is_straight(piece.0, piece.1, piece.2) {
            let along = direction(piece, 0.0);
            // Square corners to the left at both ends: within STRIP_MM over the width, or a degree.
            let square = |turn: DVec2, onto: DVec2| turn.perp_dot(onto) > 0.0 && turn.dot(onto).abs() < 0.02;
            if square(before, along) && square(along, after) {
                ends.push(End { piece: index, width_mm, shape: EndShape::Square });
            }
        } else if (piece.1 - 1.0).abs() < 0.01 {
            ends.push(End { piece: index, width_mm, shape: EndShape::Round });
        }
    }
    ends
}

/// Direction of a piece at its start (0) or end (1), of length 1.
fn direction((from, bulge, to): Piece, share: f64) -> DVec2 {
    match Arc::of(from, bulge, to) {
        Some(arc) => DVec2::from_angle(arc.from_rad + arc.sweep_rad * share).perp() * arc.sweep_rad.signum(),
        None => (to - from).normalize_or_zero(),
    }
}

/// The pieces between two ends.
fn side(pieces: &[Piece], from: usize, to: usize) -> Vec<Piece> {
    let count = pieces.len();
    let between = (to + count - from) % count;
    (1..between).map(|step| pieces[(from + step) % count]).collect()
}

/// The centre line beside one side; `None` if the side has a bend that no channel has.
fn centre_line(side: &[Piece], half_mm: f64) -> Option<Vec<Piece>> {
    let line = moved_inwards(side, half_mm)?;
    (!line.is_empty()).then_some(line)
}

/// The pieces moved to their left by half the width, meeting one another.
fn moved_inwards(side: &[Piece], half_mm: f64) -> Option<Vec<Piece>> {
    let mut line: Vec<Piece> = Vec::new();
    for &(from, bulge, to) in side {
        let moved = match Arc::of(from, bulge, to) {
            None => {
                let aside = (to - from).normalize_or_zero().perp() * half_mm;
                (from + aside, 0.0, to + aside)
            }
            Some(arc) => {
                let radius_mm = arc.radius_mm - half_mm * arc.sweep_rad.signum();
                // The outside of a corner, rounded about the point of the run.
                if radius_mm.abs() <= STRIP_MM {
                    continue;
                }
                if radius_mm < 0.0 {
                    return None;
                }
                let scale = |at: DVec2| arc.centre + (at - arc.centre) * (radius_mm / arc.radius_mm);
                (scale(from), bulge, scale(to))
            }
        };
        if let Some(last) = line.last_mut() {
            let joint = meet(*last, moved)?;
            last.2 = joint;
            line.push((joint, moved.1, moved.2));
        } else {
            line.push(moved);
        }
    }
    Some(line)
}

/// Where one piece goes on into the next.
fn meet(before: Piece, after: Piece) -> Option<DVec2> {
    if before.2.distance(after.0) <= MEET_MM {
        return Some(before.2);
    }
    // The inside of a corner between straight legs.
    let (along, onwards) = (direction(before, 1.0), direction(after, 0.0));
    let both_straight = is_straight(before.0, before.1, before.2) && is_straight(after.0, after.1, after.2);
    let sine = along.perp_dot(onwards);
    if !both_straight || sine.abs() < 1e-6 {
        return None;
    }
    let share_mm = (after.0 - before.0).perp_dot(onwards) / sine;
    Some(before.0 + along * share_mm)
}
