//! Linking the edges of a boundary into rings.

use std::f64::consts::TAU;

use glam::DVec2;

use super::edge::Edge;
use super::leg::{Curve, MERGE_MM};
use super::{Ring, Wall};

/// Rings of less area are what rounding leaves between shapes that touch, mm².
const NOTHING_MM2: f64 = 1e-6;

/// The rings found, and how many of them had to be closed by a straight line.
pub(super) struct Linked {
    pub(super) rings: Vec<Ring>,
    pub(super) open: usize,
}

/// Links edges end to end into rings, each with the part on its left.
pub(super) fn link(edges: Vec<Edge>) -> Linked {
    let (ends, count) = vertices(&edges);
    let mut leaving: Vec<Vec<usize>> = vec![Vec::new(); count];
    for (edge, &(from, to)) in ends.iter().enumerate() {
        // What is shorter than the merge length has both ends in one vertex and is passed over.
        if from != to {
            leaving[from].push(edge);
        }
    }
    let mut used: Vec<bool> = ends.iter().map(|(from, to)| from == to).collect();
    let mut linked = Linked { rings: Vec::new(), open: 0 };
    for first in 0..edges.len() {
        if used[first] {
            continue;
        }
        let mut chain = vec![first];
        used[first] = true;
        let mut current = first;
        let closed = loop {
            let vertex = ends[current].1;
            let open = |&&edge: &&usize| edge == first || !used[edge];
            let next = leaving[vertex].iter().filter(open).min_by(|&&a, &&b| {
                let turn = |edge: usize| turn_rad(&edges[current], &edges[edge]);
                turn(a).total_cmp(&turn(b))
            });
            match next {
                Some(&next) if next == first => break true,
                Some(&next) => {
                    used[next] = true;
                    chain.push(next);
                    current = next;
                }
                None => break false,
            }
        };
        let mut chain: Vec<Edge> = chain.into_iter().map(|edge| edges[edge]).collect();
        if !closed {
            linked.open += 1;
            let (from, to) = (chain[chain.len() - 1].to, chain[0].from);
            if from != to {
                chain.push(Edge::line(from, to, chain[0].wall));
            }
        }
        let origin = chain[0].from;
        let area_mm2: f64 = chain.iter().map(|edge| edge.double_area_mm2(origin)).sum::<f64>() / 2.0;
        if area_mm2.abs() > NOTHING_MM2 {
            linked.rings.push(ring(chain));
        }
    }
    linked
}

/// The angle from the way back along `before`, clockwise, to `after`, radians in (0, 2π]: the smallest
/// encloses the part's corner and nothing else.
fn turn_rad(before: &Edge, after: &Edge) -> f64 {
    // A little along the edge rather than its tangent, so that arcs that start side by side differ.
    let share = |edge: &Edge| (0.01 / edge.length_mm().max(MERGE_MM)).min(0.5);
    let back = before.at(1.0 - share(before)) - before.to;
    let ahead = after.at(share(after)) - after.from;
    let turn = (back.to_angle() - ahead.to_angle()).rem_euclid(TAU);
    if turn < 1e-9 { TAU } else { turn }
}

/// Numbers the vertices: for every edge that of its start and its end. Ends closer than the merge length
/// share one.
fn vertices(edges: &[Edge]) -> (Vec<(usize, usize)>, usize) {
    let points: Vec<DVec2> = edges.iter().flat_map(|edge| [edge.from, edge.to]).collect();
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|&a, &b| points[a].x.total_cmp(&points[b].x));
    let mut parent: Vec<usize> = (0..points.len()).collect();
    for (place, &a) in order.iter().enumerate() {
        for &b in &order[place + 1..] {
            if points[b].x - points[a].x > MERGE_MM {
                break;
            }
            if points[a].distance_squared(points[b]) <= MERGE_MM * MERGE_MM {
                let (root_a, root_b) = (root(&mut parent, a), root(&mut parent, b));
                parent[root_a.max(root_b)] = root_a.min(root_b);
            }
        }
    }
    let ends = (0..edges.len()).map(|edge| (root(&mut parent, 2 * edge), root(&mut parent, 2 * edge + 1)));
    (ends.collect(), points.len())
}

/// The lowest point of the vertex that `point` belongs to.
fn root(parent: &mut [usize], mut point: usize) -> usize {
    while parent[point] != point {
        parent[point] = parent[parent[point]];
        point = parent[point];
    }
    point
}

/// The ring of a closed chain, neighbours on the same line or circle made one.
fn ring(chain: Vec<Edge>) -> Ring {
    let mut merged: Vec<Edge> = Vec::with_capacity(chain.len());
    for edge in chain {
        match merged.last().and_then(|last| join(last, &edge)) {
            Some(joined) => drop(merged.last_mut().map(|last| *last = joined)),
            None => merged.push(edge),
        }
    }
    if merged.len() > 2
        && let Some(joined) = join(&merged[merged.len() - 1], &merged[0])
    {
        merged[0] = joined;
        merged.pop();
    }
    let walls: Vec<Wall> = merged.iter().map(|edge| edge.wall).collect();
    Ring { pieces: merged.iter().map(Edge::piece).collect(), walls }
}

/// Two edges, end to end, as one; `None` if they are not of one line or circle and wall.
fn join(a: &Edge, b: &Edge) -> Option<Edge> {
    if a.wall != b.wall {
        return None;
    }
    match (a.curve, b.curve) {
        (None, None) => {
            let (along, other) = (a.to - a.from, b.to - b.from);
            let straight = along.dot(other) > 0.0;
            let offset_mm = along.perp_dot(other).abs() / (b.to - a.from).length().max(MERGE_MM);
            // The rounding of a coordinate of 5000 mm, with a margin.
            (straight && offset_mm < 1e-10).then(|| Edge::line(a.from, b.to, a.wall))
        }
        (Some(one), Some(two)) => {
            let sweep_rad = one.sweep_rad + two.sweep_rad;
            let same = one.centre.distance(two.centre) < 1e-10
                && (one.radius_mm - two.radius_mm).abs() < 1e-10
                && one.sweep_rad * two.sweep_rad > 0.0
                && sweep_rad.abs() < TAU - 1e-6;
            same.then_some(Edge { to: b.to, curve: Some(Curve { sweep_rad, ..one }), ..*a })
        }
        _ => None,
    }
}
