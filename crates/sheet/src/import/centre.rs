//! Chains as centre lines.

use keepside_model::EndShape;

use super::join::Nodes;
use super::runs::{self, Choice, Refused, Runs};
use super::{Chain, ChainPoint};

/// One run a chain. Ends that touch, of any layer, become one point; there the ends are round, so that
/// branches meet without a notch.
pub(super) fn runs(chains: &[(usize, Chain)], choice: &Choice) -> Runs {
    let mut nodes = Nodes::default();
    let mut meeting: Vec<usize> = Vec::new();
    let mut ends_of = |chain: &Chain| {
        let ends = [chain.points.first(), chain.points.last()];
        ends.map(|end| end.map(|point| nodes.of(0, point.at)))
    };
    let ends: Vec<[Option<usize>; 2]> =
        chains.iter().map(|(_, chain)| if chain.closed { [None, None] } else { ends_of(chain) }).collect();
    meeting.resize(nodes.places.len(), 0);
    for &node in ends.iter().flatten().flatten() {
        meeting[node] += 1;
    }
    let mut made = Runs::default();
    for ((index, chain), ends) in chains.iter().zip(ends) {
        let mut points = chain.points.clone();
        if chain.closed {
            points.extend(chain.points.first().map(|first| ChainPoint { bulge: 0.0, ..*first }));
        } else {
            let [first, last] = ends.map(|end| end.and_then(|node| nodes.places.get(node)));
            for (point, place) in points.first_mut().into_iter().zip(first) {
                point.at = *place;
            }
            for (point, place) in points.last_mut().into_iter().zip(last) {
                point.at = *place;
            }
        }
        let shape = |end: Option<usize>| match end {
            Some(node) if meeting[node] < 2 => choice.end,
            _ => EndShape::Round,
        };
        match runs::run(&points, choice.width_mm, choice.depth_mm, ends.map(shape)) {
            Ok(run) => made.runs.push(run),
            Err((at, why)) => made.refused.push(Refused { chain: *index, at, why }),
        }
    }
    made
}
