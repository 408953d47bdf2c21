//! The boundary of the union of many shapes.
//!
//! Every edge is divided where it meets edges of other shapes. A part that lies inside another shape is
//! dropped; of parts that lie on each other one is kept if their shapes are on the same side, none if
//! they face each other. What is left is linked into rings.

use super::Ring;
use super::edge::Edge;
use super::leg::MERGE_MM;
use super::link::link;
use super::shape::Shape;

/// Distances up to which things count as lying on each other, mm, tried in turn until every ring closes:
/// all far above the rounding of a coordinate (10⁻¹² mm) and far below what can be cut.
const TOLERANCES_MM: [f64; 4] = [1e-8, 1e-7, 1e-9, 3e-8];

/// The boundary of the union.
pub(super) fn union(shapes: &[Shape]) -> Vec<Ring> {
    let neighbours = neighbours(shapes);
    let mut best = Vec::new();
    let mut fewest_open = usize::MAX;
    for tolerance_mm in TOLERANCES_MM {
        let linked = link(boundary(shapes, &neighbours, tolerance_mm));
        if linked.open < fewest_open {
            (best, fewest_open) = (linked.rings, linked.open);
        }
        if fewest_open == 0 {
            break;
        }
    }
    best
}

/// For every shape the others that it may touch, in ascending order.
fn neighbours(shapes: &[Shape]) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..shapes.len()).collect();
    order.sort_by(|&a, &b| shapes[a].extent.low.x.total_cmp(&shapes[b].extent.low.x));
    let mut neighbours = vec![Vec::new(); shapes.len()];
    for (place, &a) in order.iter().enumerate() {
        let extent = &shapes[a].extent;
        for &b in &order[place + 1..] {
            if shapes[b].extent.low.x > extent.high.x + MERGE_MM {
                break;
            }
            if extent.meets(&shapes[b].extent, MERGE_MM) {
                neighbours[a].push(b);
                neighbours[b].push(a);
            }
        }
    }
    neighbours.iter_mut().for_each(|list| list.sort_unstable());
    neighbours
}

/// The parts of all edges that bound the union.
fn boundary(shapes: &[Shape], neighbours: &[Vec<usize>], tolerance_mm: f64) -> Vec<Edge> {
    let mut cuts: Vec<Vec<Vec<f64>>> =
        shapes.iter().map(|shape| vec![Vec::new(); shape.edges.len()]).collect();
    for (a, others) in neighbours.iter().enumerate() {
        for &b in others.iter().filter(|&&b| b > a) {
            divide(shapes, a, b, tolerance_mm, &mut cuts);
        }
    }
    let mut kept = Vec::new();
    for (index, shape) in shapes.iter().enumerate() {
        for (edge, cuts) in shape.edges.iter().zip(&mut cuts[index]) {
            for part in parts(edge, cuts) {
                if bounds_union(&part, index, shapes, &neighbours[index], tolerance_mm) {
                    kept.push(part);
                }
            }
        }
    }
    kept
}

/// Notes where the edges of two shapes divide each other.
fn divide(shapes: &[Shape], a: usize, b: usize, tolerance_mm: f64, cuts: &mut [Vec<Vec<f64>>]) {
    let mut found = Vec::new();
    let near = |edges: &[Edge], other: &Shape| -> Vec<usize> {
        let meets = |&index: &usize| edges[index].extent().meets(&other.extent, MERGE_MM);
        (0..edges.len()).filter(meets).collect()
    };
    let (near_a, near_b) = (near(&shapes[a].edges, &shapes[b]), near(&shapes[b].edges, &shapes[a]));
    for &i in &near_a {
        let one = &shapes[a].edges[i];
        let extent = one.extent();
        for &j in &near_b {
            let two = &shapes[b].edges[j];
            if !extent.meets(&two.extent(), MERGE_MM) {
                continue;
            }
            found.clear();
            super::cross::crossings(one, two, tolerance_mm, &mut found);
            for &(ta, tb) in &found {
                cuts[a][i].push(ta);
                cuts[b][j].push(tb);
            }
            for end in [two.from, two.to] {
                let (t, on) = one.nearest(end);
                if on.distance_squared(end) <= tolerance_mm * tolerance_mm {
                    cuts[a][i].push(t);
                }
            }
            for end in [one.from, one.to] {
                let (t, on) = two.nearest(end);
                if on.distance_squared(end) <= tolerance_mm * tolerance_mm {
                    cuts[b][j].push(t);
                }
            }
        }
    }
}

/// An edge divided at `cuts`; cuts closer to each other or to an end than the merge length count once.
fn parts(edge: &Edge, cuts: &mut [f64]) -> Vec<Edge> {
    if cuts.is_empty() {
        return vec![*edge];
    }
    let shortest = MERGE_MM / (2.0 * edge.length_mm());
    cuts.sort_by(f64::total_cmp);
    let mut parts = Vec::new();
    let mut from = 0.0;
    for &cut in cuts.iter().filter(|&&cut| cut < 1.0 - shortest) {
        if cut - from > shortest {
            parts.push(edge.part(from, cut));
            from = cut;
        }
    }
    parts.push(edge.part(from, 1.0));
    parts
}

/// Whether a part of the edge of shape `index` bounds the union.
fn bounds_union(part: &Edge, index: usize, shapes: &[Shape], others: &[usize], tolerance_mm: f64) -> bool {
    let middle = part.at(0.5);
    let inward = part.direction(0.5).perp();
    others.iter().all(|&other| {
        if !shapes[other].extent.holds(middle, tolerance_mm) {
            return true;
        }
        let (depth_mm, other_inward) = shapes[other].depth(middle);
        if depth_mm.abs() <= tolerance_mm {
            // On each other: the first of two on the same side stays, two that face each other go.
            inward.dot(other_inward) > 0.0 && index < other
        } else {
            depth_mm < 0.0
        }
    })
}
