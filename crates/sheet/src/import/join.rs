//! Pieces end to end: ends that touch become one point, pieces that meet in pairs one chain.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use glam::DVec2;

use super::collect::Piece;
use super::{ChainPoint, JOIN_MM};

/// What came of joining.
pub(super) struct Joined {
    /// Layer, points, whether closed.
    pub(super) chains: Vec<(usize, Vec<ChainPoint>, bool)>,
    /// Pieces dropped: kind, why, how many.
    pub(super) dropped: [(&'static str, &'static str, usize); 2],
}

/// Places of which those within [`JOIN_MM`] of each other are one.
#[derive(Default)]
pub(super) struct Nodes {
    cells: BTreeMap<(usize, i64, i64), Vec<usize>>,
    pub(super) places: Vec<DVec2>,
}

impl Nodes {
    /// The node at a place; groups do not mix.
    pub(super) fn of(&mut self, group: usize, at: DVec2) -> usize {
        let (x, y) = (cell(at.x), cell(at.y));
        let mut best: Option<(f64, usize)> = None;
        for (dx, dy) in [-1, 0, 1].into_iter().flat_map(|dx| [-1, 0, 1].map(|dy| (dx, dy))) {
            // Nodes of a cell are farther apart than its side, so there are few.
            for &node in self.cells.get(&(group, x + dx, y + dy)).into_iter().flatten() {
                let apart_mm = self.places.get(node).map_or(f64::MAX, |place| place.distance(at));
                if apart_mm <= JOIN_MM && best.is_none_or(|(least_mm, _)| apart_mm < least_mm) {
                    best = Some((apart_mm, node));
                }
            }
        }
        best.map_or_else(
            || {
                self.places.push(at);
                self.cells.entry((group, x, y)).or_default().push(self.places.len() - 1);
                self.places.len() - 1
            },
            |(_, node)| node,
        )
    }
}

#[expect(clippy::cast_possible_truncation, reason = "coordinates are bounded: 1e9 mm over 0.01 mm fits")]
fn cell(coordinate_mm: f64) -> i64 {
    (coordinate_mm / JOIN_MM).floor() as i64
}

/// A piece between two nodes.
#[derive(Clone, Copy)]
struct Link {
    ends: [usize; 2],
    bulge: f64,
    layer: usize,
}

impl Link {
    /// The other end and the bulge when walked from a node.
    fn from(&self, node: usize) -> (usize, f64) {
        if self.ends[0] == node { (self.ends[1], self.bulge) } else { (self.ends[0], -self.bulge) }
    }
}

/// Joins pieces of the same layer.
pub(super) fn join(pieces: &[Piece]) -> Joined {
    let mut nodes = Nodes::default();
    let mut links: Vec<Link> = Vec::new();
    let mut seen = BTreeSet::new();
    let (mut short, mut double) = (0, 0);
    for piece in pieces {
        let ends = [piece.from, piece.to].map(|at| nodes.of(piece.layer, at));
        if ends[0] == ends[1] {
            short += 1;
            continue;
        }
        let link = Link { ends, bulge: piece.bulge, layer: piece.layer };
        // How far the middle lies off the chord, seen from the lower node.
        let (low, high) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        let off = cell(link.from(low).1 * piece.from.distance(piece.to) / 2.0);
        if (off - 1..=off + 1).any(|off| seen.contains(&(low, high, off))) {
            double += 1;
            continue;
        }
        seen.insert((low, high, off));
        links.push(link);
    }
    let mut at_node: Vec<Vec<usize>> = vec![Vec::new(); nodes.places.len()];
    for (index, link) in links.iter().enumerate() {
        for end in link.ends {
            at_node[end].push(index);
        }
    }
    let mut used = vec![false; links.len()];
    let mut chains = Vec::new();
    for first in 0..links.len() {
        if !used[first] {
            chains.push(chain(first, &links, &at_node, &mut used, &nodes.places));
        }
    }
    let dropped = [
        ("short pieces", "ends nearer than 0.01 mm are one point", short),
        ("lines drawn twice", "the first is used", double),
    ];
    Joined { chains, dropped }
}

/// The chain that the link `first` belongs to; marks its links as used.
fn chain(
    first: usize,
    links: &[Link],
    at_node: &[Vec<usize>],
    used: &mut [bool],
    places: &[DVec2],
) -> (usize, Vec<ChainPoint>, bool) {
    used[first] = true;
    let Link { ends: [start, end], bulge, layer } = links[first];
    // Nodes, each with the bulge of the piece that follows.
    let mut walked = VecDeque::from([(start, bulge), (end, 0.0)]);
    let mut last = end;
    while last != start
        && let Some(index) = onwards(last, at_node, used)
    {
        used[index] = true;
        let (next, bulge) = links[index].from(last);
        if let Some(back) = walked.back_mut() {
            back.1 = bulge;
        }
        walked.push_back((next, 0.0));
        last = next;
    }
    let mut front = start;
    while last != front
        && let Some(index) = onwards(front, at_node, used)
    {
        used[index] = true;
        let (before, bulge) = links[index].from(front);
        // Walked the other way, towards the chain.
        walked.push_front((before, -bulge));
        front = before;
    }
    let closed = last == front;
    if closed {
        walked.pop_back();
    }
    let points = walked.into_iter().map(|(node, bulge)| ChainPoint { at: places[node], bulge }).collect();
    (layer, points, closed)
}

/// The link that goes on at a node where just two meet.
fn onwards(node: usize, at_node: &[Vec<usize>], used: &[bool]) -> Option<usize> {
    let here = &at_node[node];
    if here.len() == 2 { here.iter().copied().find(|&index| !used[index]) } else { None }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(from: (f64, f64), to: (f64, f64)) -> Piece {
        Piece { from: DVec2::from(from), bulge: 0.0, to: DVec2::from(to), layer: 0 }
    }

    #[test]
    fn pieces_in_any_order_and_direction_become_one_chain() {
        let pieces = [
            line((20.0, 0.0), (30.0, 0.0)),
            line((10.0, 0.0), (0.0, 0.0)),
            Piece { bulge: 0.5, ..line((20.004, 0.003), (10.0, 0.0)) },
        ];
        let joined = join(&pieces);
        let [(_, points, closed)] = &joined.chains[..] else { panic!("one chain") };
        assert!(!closed);
        let xs: Vec<f64> = points.iter().map(|p| p.at.x).collect();
        let bulges: Vec<f64> = points.iter().map(|p| p.bulge).collect();
        assert_eq!(xs, [0.0, 10.0, 20.0, 30.0]);
        assert_eq!(bulges, [0.0, -0.5, 0.0, 0.0]);
    }

    #[test]
    fn a_closed_outline_is_closed_whichever_piece_comes_first() {
        let mut pieces = vec![
            line((0.0, 0.0), (10.0, 0.0)),
            line((10.0, 5.0), (0.0, 5.0)),
            line((0.0, 5.0), (0.0, 0.0)),
            line((10.0, 5.0), (10.0, 0.0)),
        ];
        for _ in 0..4 {
            pieces.rotate_left(1);
            let joined = join(&pieces);
            let [(_, points, true)] = &joined.chains[..] else { panic!("one closed chain") };
            assert_eq!(points.len(), 4);
        }
    }

    #[test]
    fn chains_end_where_three_meet_and_doubles_are_dropped() {
        let pieces = [
            line((0.0, 0.0), (10.0, 0.0)),
            line((10.0, 0.0), (20.0, 0.0)),
            line((10.0, 0.0), (10.0, 8.0)),
            line((20.0, 0.0), (10.0, 0.001)),
            line((3.0, 3.0), (3.0, 3.001)),
        ];
        let joined = join(&pieces);
        assert_eq!(joined.chains.len(), 3);
        assert!(joined.chains.iter().all(|(_, points, closed)| points.len() == 2 && !closed));
        assert_eq!(joined.dropped.map(|(.., count)| count), [1, 1]);
    }
}
