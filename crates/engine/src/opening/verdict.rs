//! Who keeps the part, in stretches and as a whole, and which hold decides.

use keepside_model::Half;

use crate::beam::DOF;
use crate::opening::result::{HoldOutcome, HoldState, Keeper, Outcome, Stretch, Verdict};
use crate::opening::run::{LINE_HOLDS, Record};
use crate::opening::setup::Setup;
use crate::opening::stepper::Stepper;
use crate::opening::tug::{FIXED, MOVING, index};

/// A piece of the part that hangs together: node range (inclusive) and which halves still hold it.
struct Piece {
    first: usize,
    last: usize,
    is_held: [bool; 2],
}

/// The nodes of every piece, first and last.
pub(crate) fn piece_nodes(stepper: &Stepper) -> Vec<(usize, usize)> {
    pieces(stepper).iter().map(|piece| (piece.first, piece.last)).collect()
}

/// The pieces of the part. A lone node between two torn elements belongs to the tear.
fn pieces(stepper: &Stepper) -> Vec<Piece> {
    let chain = &stepper.tug.chain;
    let nodes = chain.along_mm.len();
    let mut pieces = Vec::new();
    let mut first = 0;
    for last in 0..nodes {
        if last + 1 == nodes || chain.elements[last].is_torn {
            if last > first {
                pieces.push(Piece { first, last, is_held: [false; 2] });
            }
            first = last + 1;
        }
    }
    let mut hold = |element: usize, half: usize| {
        if !chain.elements[element].is_torn
            && let Some(piece) = pieces.iter_mut().find(|p| (p.first..=p.last).contains(&element))
        {
            piece.is_held[half] = true;
        }
    };
    for line in &stepper.tug.lines {
        for half in [FIXED, MOVING] {
            let face = &line.faces[half];
            let sticks = face.tack_n_mm > 0.0 && face.tack_worst_mm < stepper.tug.tack.gone_mm;
            let drags = face.wall.peak_n > 0.0 && face.wall_slide.worst_mm < face.wall.gone_mm;
            if sticks || drags {
                hold(line.spot.element, half);
            }
        }
    }
    for point in &stepper.tug.points {
        let law = &stepper.tug.laws[point.law];
        if law.curve.peak_n() > 0.0 && point.slide.worst_mm < law.curve.let_go_travel_mm() {
            hold(point.spot.element, index(law.half));
        }
    }
    pieces
}

fn keeper(piece: &Piece) -> Keeper {
    match piece.is_held {
        [true, true] => Keeper::Bridging,
        [true, false] => Keeper::Fixed,
        [false, true] => Keeper::Moving,
        [false, false] => Keeper::Free,
    }
}

/// Who keeps which stretch at full stroke. A piece held by one half belongs to it whole, bumps and
/// all; one held by both is told apart by where each point lies.
pub(crate) fn stretches(setup: &Setup, stepper: &Stepper) -> Vec<Stretch> {
    let along = &stepper.tug.chain.along_mm;
    let near_mm = (0.02 * stepper.opening_mm).max(0.5);
    let mut stretches: Vec<Stretch> = Vec::new();
    for piece in pieces(stepper) {
        let whole = keeper(&piece);
        let start = stretches.len();
        for node in piece.first..=piece.last {
            let z = stepper.now[DOF * node + 1];
            let here = match whole {
                Keeper::Bridging if z < near_mm => Keeper::Fixed,
                Keeper::Bridging if z > stepper.opening_mm - near_mm => Keeper::Moving,
                other => other,
            };
            let from_mm = if node > 0 { 0.5 * (along[node - 1] + along[node]) } else { 0.0 };
            let to_mm = along.get(node + 1).map_or(along[node], |next| 0.5 * (along[node] + next));
            match stretches[start..].last_mut() {
                Some(last) if last.keeper == here => last.to_mm = to_mm,
                _ => stretches.push(Stretch { run: setup.run.run, from_mm, to_mm, keeper: here }),
            }
        }
    }
    stretches
}

/// The verdict, with the hold that decides as far as one run can tell.
pub(crate) fn of(setup: &Setup, stepper: &Stepper, record: &Record) -> Verdict {
    let pieces = pieces(stepper);
    let is_cut = setup
        .points
        .iter()
        .zip(&record.holds[LINE_HOLDS..])
        .any(|(point, hold)| point.tears() && matches!(hold.state, HoldState::Broke { .. }));
    let outcome = match pieces.as_slice() {
        _ if is_cut => Outcome::Torn,
        [whole] => match keeper(whole) {
            Keeper::Moving => Outcome::StaysOnMoving,
            Keeper::Fixed => Outcome::StaysOnFixed,
            Keeper::Bridging => Outcome::Bridges,
            Keeper::Free => Outcome::FallsFree,
        },
        _ => Outcome::Torn,
    };
    Verdict { outcome, deciding: deciding(outcome, &record.holds), words: format!("The part {outcome}") }
}

/// On the winning half the hold that pulled hardest and closest to its limit; where nobody wins, the
/// hold of the fixed half that still holds, by what it could still pull over its travel.
fn deciding(outcome: Outcome, holds: &[HoldOutcome]) -> Option<usize> {
    let still_holds =
        |hold: &HoldOutcome| matches!(hold.state, HoldState::Holding | HoldState::PartlyHolding { .. });
    let loaded = |hold: &HoldOutcome| if hold.capacity_n > 0.0 { hold.peak_n / hold.capacity_n } else { 0.0 };
    let most = |half: Half, weight: &dyn Fn(&HoldOutcome) -> f64| {
        let candidates = holds
            .iter()
            .enumerate()
            .filter(|(_, hold)| hold.name.half == half && hold.capacity_n > 0.0 && still_holds(hold));
        candidates.max_by(|a, b| weight(a.1).total_cmp(&weight(b.1))).map(|(i, _)| i)
    };
    match outcome {
        Outcome::StaysOnMoving => most(Half::Moving, &|hold| {
            let is_point = holds.iter().position(|h| std::ptr::eq(h, hold)).is_some_and(|i| i >= LINE_HOLDS);
            // A sprue or feature decides before faces and walls do, which follow it.
            hold.peak_n * loaded(hold) * if is_point { 1e6 } else { 1.0 }
        }),
        Outcome::StaysOnFixed | Outcome::Bridges | Outcome::Torn => {
            most(Half::Fixed, &|hold| hold.capacity_n * hold.let_go_travel_mm)
        }
        Outcome::FallsFree => None,
    }
}
