//! Who keeps the part, in stretches and as a whole, and which hold decides.

use keepside_model::Half;

use crate::beam::Beams;
use crate::opening::result::{HoldOutcome, HoldState, Keeper, Outcome, Stretch, Verdict};
use crate::opening::run::Record;
use crate::opening::setup::Setup;
use crate::opening::stepper::Stepper;
use crate::opening::tug::{FIXED, MOVING, index};

/// A piece of the part that hangs together: its nodes and which halves still hold it.
struct Piece {
    nodes: Vec<usize>,
    is_held: [bool; 2],
}

/// The nodes of every piece, ascending.
pub(crate) fn piece_nodes<B: Beams>(stepper: &Stepper<B>) -> Vec<Vec<usize>> {
    pieces(stepper).into_iter().map(|piece| piece.nodes).collect()
}

/// Which piece each node belongs to if elements for which `parts` holds are taken out.
fn groups<B: Beams>(beams: &B, parts: impl Fn(usize) -> bool) -> Vec<usize> {
    let mut of: Vec<usize> = (0..beams.nodes()).collect();
    let root = |of: &mut [usize], node: usize| {
        let mut at = node;
        while of[at] != at {
            of[at] = of[of[at]];
            at = of[at];
        }
        at
    };
    for element in (0..beams.elements()).filter(|element| !parts(*element)) {
        let (a, b) = beams.ends(element);
        let (a, b) = (root(&mut of, a), root(&mut of, b));
        of[a.max(b)] = a.min(b);
    }
    (0..of.len()).map(|node| root(&mut of, node)).collect()
}

/// Number of mouldings that the part was before anything tore.
fn mouldings<B: Beams>(beams: &B) -> usize {
    groups(beams, |_| false).iter().enumerate().filter(|(node, root)| node == *root).count()
}

/// The pieces of the part. A lone node between torn elements belongs to the tear.
fn pieces<B: Beams>(stepper: &Stepper<B>) -> Vec<Piece> {
    let beams = &stepper.tug.beams;
    let group = groups(beams, |element| beams.is_torn(element));
    let mut piece_of = vec![usize::MAX; group.len()];
    let mut pieces: Vec<Piece> = Vec::new();
    for root in 0..group.len() {
        let nodes: Vec<usize> = (root..group.len()).filter(|node| group[*node] == root).collect();
        if nodes.len() > 1 {
            nodes.iter().for_each(|node| piece_of[*node] = pieces.len());
            pieces.push(Piece { nodes, is_held: [false; 2] });
        }
    }
    let mut hold = |spot: &B::Spot, half: usize| {
        let element = B::element_of(spot);
        if !beams.is_torn(element)
            && let Some(piece) = pieces.get_mut(piece_of[beams.ends(element).0])
        {
            piece.is_held[half] = true;
        }
    };
    let tug = &stepper.tug;
    for line in &tug.lines {
        for half in [FIXED, MOVING] {
            let face = &line.faces[half];
            let sticks = face.tack_n_mm > 0.0 && face.tack_worst_mm < tug.tack.gone_mm;
            let drags = face.wall.peak_n > 0.0 && face.wall_slide.worst_mm < face.wall.gone_mm;
            if sticks || drags {
                hold(&line.spot, half);
            }
        }
    }
    for extra in &tug.extras {
        if extra.slide.worst_mm < tug.curves[extra.curve].let_go_travel_mm() {
            hold(&extra.spot, extra.half);
        }
    }
    for point in &tug.points {
        let law = &tug.laws[point.law];
        // What rides on an ejector that has come out no longer hangs on the half.
        let is_held = law.curve.peak_n() > 0.0 && law.rides.is_none();
        if is_held && point.slide.worst_mm < law.curve.let_go_travel_mm() {
            hold(&point.spot, index(law.half));
        }
    }
    pieces
}

/// Whether the part has come apart.
pub(crate) fn is_torn<B: Beams>(stepper: &Stepper<B>) -> bool {
    pieces(stepper).len() != mouldings(&stepper.tug.beams)
}

/// Whether anything of the moving half still holds any of the part.
pub(crate) fn hangs_on_moving<B: Beams>(stepper: &Stepper<B>) -> bool {
    pieces(stepper).iter().any(|piece| piece.is_held[MOVING])
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
pub(crate) fn stretches<B: Beams>(setup: &Setup<B>, stepper: &Stepper<B>) -> Vec<Stretch> {
    let near_mm = (0.02 * stepper.opening_mm).max(0.5);
    let mut keepers: Vec<Option<(usize, Keeper)>> = vec![None; stepper.tug.beams.nodes()];
    for (number, piece) in pieces(stepper).iter().enumerate() {
        let whole = keeper(piece);
        for &node in &piece.nodes {
            let z = B::shift(&stepper.now, node).z;
            let here = match whole {
                Keeper::Bridging if z < near_mm => Keeper::Fixed,
                Keeper::Bridging if z > stepper.opening_mm - near_mm => Keeper::Moving,
                other => other,
            };
            keepers[node] = Some((number, here));
        }
    }
    let network = &setup.layout.network;
    let mut stretches: Vec<Stretch> = Vec::new();
    for (path, stations) in network.paths.iter().zip(&network.stations) {
        let mut before = None;
        for (i, &(along_mm, node)) in stations.iter().enumerate() {
            let here = keepers[node];
            if let Some((_, keeper)) = here {
                let from_mm = if i > 0 { 0.5 * (stations[i - 1].0 + along_mm) } else { 0.0 };
                let to_mm = stations.get(i + 1).map_or(along_mm, |next| 0.5 * (along_mm + next.0));
                match stretches.last_mut() {
                    Some(last) if before == here => last.to_mm = to_mm,
                    _ => stretches.push(Stretch { run: path.run, from_mm, to_mm, keeper }),
                }
            }
            before = here;
        }
    }
    stretches
}

/// The verdict, with the hold that decides as far as one run can tell.
pub(crate) fn of<B: Beams>(setup: &Setup<B>, stepper: &Stepper<B>, record: &Record) -> Verdict {
    let outcome = outcome(setup, stepper, record);
    let deciding = deciding(outcome, &record.holds, record.lines);
    Verdict { outcome, deciding, words: format!("The part {outcome}") }
}

/// How it ends.
pub(crate) fn outcome<B: Beams>(setup: &Setup<B>, stepper: &Stepper<B>, record: &Record) -> Outcome {
    let pieces = pieces(stepper);
    let is_cut = setup
        .layout
        .points
        .iter()
        .zip(&record.holds[record.lines..])
        .any(|(point, hold)| point.tears() && matches!(hold.state, HoldState::Broke { .. }));
    if is_cut || pieces.len() != mouldings(&stepper.tug.beams) {
        Outcome::Torn
    } else {
        // Of several mouldings the one that ends worst.
        let of = |piece: &Piece| match keeper(piece) {
            Keeper::Moving => Outcome::StaysOnMoving,
            Keeper::Fixed => Outcome::StaysOnFixed,
            Keeper::Bridging => Outcome::Bridges,
            Keeper::Free => Outcome::FallsFree,
        };
        let badness = |outcome: &Outcome| match outcome {
            Outcome::StaysOnMoving => 0,
            Outcome::FallsFree => 1,
            Outcome::StaysOnFixed => 2,
            Outcome::Bridges => 3,
            Outcome::Torn => 4,
        };
        pieces.iter().map(of).max_by_key(badness).unwrap_or(Outcome::Torn)
    }
}

/// On the winning half the hold that pulled hardest and closest to its limit; where nobody wins, the
/// hold of the fixed half that still holds, by what it could still pull over its travel.
fn deciding(outcome: Outcome, holds: &[HoldOutcome], lines: usize) -> Option<usize> {
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
            let is_point = holds.iter().position(|h| std::ptr::eq(h, hold)).is_some_and(|i| i >= lines);
            // A sprue or feature decides before faces and walls do, which follow it.
            hold.peak_n * loaded(hold) * if is_point { 1e6 } else { 1.0 }
        }),
        Outcome::StaysOnFixed | Outcome::Bridges | Outcome::Torn => {
            most(Half::Fixed, &|hold| hold.capacity_n * hold.let_go_travel_mm)
        }
        Outcome::FallsFree => None,
    }
}
