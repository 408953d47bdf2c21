//! Symmetric matrices of six-by-six blocks, one block row a node, for beams that form a network.
//!
//! Nodes are eliminated fewest neighbours first: a tree then fills in nothing, and every closed loop
//! one block a node. The order and the places of all blocks are found once; factoring only computes.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::beam::space::Kept;
use crate::beam::{Matrix, NotPositiveDefinite};

/// Freedoms of a block.
pub(crate) const SIX: usize = 6;

/// A block of freedoms of two nodes.
type Block = [[f64; SIX]; SIX];

/// Where the block of an element's two nodes is kept.
#[derive(Clone, Copy, Debug)]
struct Pair {
    first: usize,
    second: usize,
    off: usize,
    /// The block is kept with the rows of the first node.
    is_turned: bool,
}

/// A block that eliminating a node changes: that of two later neighbours of it.
#[derive(Clone, Copy, Debug)]
struct Change {
    /// Places of the two neighbours in the node's list.
    row: usize,
    column: usize,
    /// The block changed: diagonal of a node, or an off-diagonal one.
    target: Target,
}

#[derive(Clone, Copy, Debug)]
enum Target {
    Diagonal(usize),
    /// Index, and whether it is kept with rows and columns exchanged.
    Off(usize, bool),
}

/// What never changes while the numbers do.
#[derive(Debug)]
struct Plan {
    order: Vec<usize>,
    pairs: Vec<Pair>,
    /// For every node: its later neighbours and the block shared with each.
    later: Vec<Vec<(usize, usize)>>,
    changes: Vec<Vec<Change>>,
    off_count: usize,
}

/// A symmetric matrix of blocks.
#[derive(Clone, Debug)]
pub(crate) struct Blocks {
    plan: Arc<Plan>,
    diagonal: Vec<Block>,
    /// Rows of the node that is eliminated later, columns of the one eliminated earlier.
    off: Vec<Block>,
    /// Room for the blocks of the node being eliminated, before they are divided.
    scaled: Vec<Block>,
    /// What was added entry by entry to the block of an element and is not in the matrix yet.
    pending: Pending,
    /// Stiffnesses of elements that may serve again.
    kept: Vec<Option<Kept>>,
}

/// Entries for the twelve freedoms of one element.
#[derive(Clone, Debug)]
struct Pending {
    element: Option<usize>,
    block: [[f64; 2 * SIX]; 2 * SIX],
}

const ZERO: Block = [[0.0; SIX]; SIX];

impl Blocks {
    /// A matrix for elements between these pairs of nodes.
    pub(crate) fn new(nodes: usize, elements: &[(usize, usize)]) -> Self {
        let plan = Plan::new(nodes, elements);
        Self {
            diagonal: vec![ZERO; nodes],
            off: vec![ZERO; plan.off_count],
            scaled: Vec::new(),
            pending: Pending { element: None, block: [[0.0; 2 * SIX]; 2 * SIX] },
            kept: vec![None; elements.len()],
            plan: Arc::new(plan),
        }
    }

    /// Adds the lower triangle of a matrix of the twelve freedoms of an element.
    #[inline]
    pub(crate) fn add_element(&mut self, element: usize, block: &[[f64; 2 * SIX]; 2 * SIX]) {
        let Pair { first, second, off, is_turned } = self.plan.pairs[element];
        for i in 0..SIX {
            for j in 0..=i {
                self.diagonal[first][i][j] += block[i][j];
                self.diagonal[second][i][j] += block[SIX + i][SIX + j];
            }
        }
        let off = &mut self.off[off];
        for i in 0..SIX {
            for j in 0..SIX {
                let value = block[SIX + i][j];
                if is_turned {
                    off[j][i] += value;
                } else {
                    off[i][j] += value;
                }
            }
        }
    }

    /// Adds to an entry of an element's twelve freedoms, `row >= column`.
    #[inline]
    pub(crate) fn add(&mut self, element: usize, row: usize, column: usize, value: f64) {
        if self.pending.element != Some(element) {
            self.flush();
            self.pending.element = Some(element);
        }
        self.pending.block[row][column] += value;
    }

    /// Adds what is pending.
    fn flush(&mut self) {
        if let Some(element) = self.pending.element.take() {
            let block = self.pending.block;
            self.add_element(element, &block);
            self.pending.block = [[0.0; 2 * SIX]; 2 * SIX];
        }
    }

    /// The stiffness of an element that was kept.
    #[inline]
    pub(crate) fn kept(&self, element: usize) -> Option<&Kept> {
        self.kept[element].as_ref()
    }

    /// Keeps the stiffness of an element.
    pub(crate) fn keep(&mut self, element: usize, kept: Kept) {
        self.kept[element] = Some(kept);
    }
}

impl Matrix for Blocks {
    fn clear(&mut self) {
        self.flush();
        self.diagonal.fill(ZERO);
        self.off.fill(ZERO);
    }

    #[inline]
    fn add_diagonal(&mut self, freedom: usize, value: f64) {
        self.diagonal[freedom / SIX][freedom % SIX][freedom % SIX] += value;
    }

    fn stiffen(&mut self, share: f64) {
        self.flush();
        for block in &mut self.diagonal {
            for (i, row) in block.iter_mut().enumerate() {
                row[i] *= 1.0 + share;
            }
        }
    }

    /// Factors the matrix in place: each diagonal block becomes L D Lᵀ with the inverse of D on its
    /// diagonal, each off-diagonal block A becomes A L⁻ᵀ D⁻¹.
    fn factor(&mut self) -> Result<(), NotPositiveDefinite> {
        self.flush();
        let plan = Arc::clone(&self.plan);
        let mut scaled = std::mem::take(&mut self.scaled);
        for &node in &plan.order {
            let pivot = &mut self.diagonal[node];
            factor_block(pivot)?;
            let pivot = *pivot;
            scaled.clear();
            for &(_, off) in &plan.later[node] {
                let block = &mut self.off[off];
                let mut rows = *block;
                for row in &mut rows {
                    // Solve x Lᵀ = row.
                    for j in 0..SIX {
                        let mut value = row[j];
                        for k in 0..j {
                            value -= row[k] * pivot[j][k];
                        }
                        row[j] = value;
                    }
                }
                for (kept, row) in block.iter_mut().zip(&rows) {
                    for j in 0..SIX {
                        kept[j] = row[j] * pivot[j][j];
                    }
                }
                scaled.push(rows);
            }
            for change in &plan.changes[node] {
                let left = &scaled[change.row];
                let right = &self.off[plan.later[node][change.column].1];
                let mut product = ZERO;
                for i in 0..SIX {
                    for j in 0..SIX {
                        let mut sum = 0.0;
                        for k in 0..SIX {
                            sum += left[i][k] * right[j][k];
                        }
                        product[i][j] = sum;
                    }
                }
                match change.target {
                    Target::Diagonal(of) => subtract(&mut self.diagonal[of], &product, false),
                    Target::Off(of, is_turned) => subtract(&mut self.off[of], &product, is_turned),
                }
            }
        }
        self.scaled = scaled;
        Ok(())
    }

    fn solve(&self, x: &mut [f64]) {
        let at = |x: &[f64], node: usize| -> [f64; SIX] { std::array::from_fn(|i| x[SIX * node + i]) };
        for &node in &self.plan.order {
            let pivot = &self.diagonal[node];
            let mut own = at(x, node);
            for i in 0..SIX {
                for k in 0..i {
                    own[i] -= pivot[i][k] * own[k];
                }
            }
            for &(other, off) in &self.plan.later[node] {
                let block = &self.off[off];
                for i in 0..SIX {
                    let sum: f64 = (0..SIX).map(|k| block[i][k] * own[k]).sum();
                    x[SIX * other + i] -= sum;
                }
            }
            x[SIX * node..SIX * (node + 1)].copy_from_slice(&own);
        }
        for &node in self.plan.order.iter().rev() {
            let pivot = &self.diagonal[node];
            let mut own = at(x, node);
            for (i, value) in own.iter_mut().enumerate() {
                *value *= pivot[i][i];
            }
            for &(other, off) in &self.plan.later[node] {
                let block = &self.off[off];
                let there = at(x, other);
                for (k, value) in own.iter_mut().enumerate() {
                    *value -= (0..SIX).map(|i| block[i][k] * there[i]).sum::<f64>();
                }
            }
            for i in (0..SIX).rev() {
                for k in 0..i {
                    own[k] -= pivot[i][k] * own[i];
                }
            }
            x[SIX * node..SIX * (node + 1)].copy_from_slice(&own);
        }
    }
}

#[inline]
fn subtract(from: &mut Block, product: &Block, is_turned: bool) {
    for i in 0..SIX {
        for j in 0..SIX {
            from[i][j] -= if is_turned { product[j][i] } else { product[i][j] };
        }
    }
}

/// L D Lᵀ of a block, of which the lower triangle is read; the inverse of D takes the diagonal.
#[inline]
#[expect(clippy::needless_range_loop, reason = "the indices are those of the textbook")]
fn factor_block(block: &mut Block) -> Result<(), NotPositiveDefinite> {
    for i in 0..SIX {
        let mut pivot = block[i][i];
        for j in 0..i {
            let mut sum = block[i][j];
            for k in 0..j {
                sum -= block[i][k] * block[j][k];
            }
            // Holds L·D until it is divided below.
            block[i][j] = sum;
        }
        for j in 0..i {
            let lower = block[i][j] * block[j][j];
            pivot -= block[i][j] * lower;
            block[i][j] = lower;
        }
        if pivot.is_nan() || pivot <= 0.0 {
            return Err(NotPositiveDefinite);
        }
        block[i][i] = 1.0 / pivot;
    }
    Ok(())
}

impl Plan {
    fn new(nodes: usize, elements: &[(usize, usize)]) -> Self {
        let mut neighbours: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); nodes];
        for &(a, b) in elements {
            neighbours[a].insert(b);
            neighbours[b].insert(a);
        }
        let mut waiting: BTreeSet<(usize, usize)> =
            neighbours.iter().enumerate().map(|(node, near)| (near.len(), node)).collect();
        let mut order = Vec::with_capacity(nodes);
        let mut later_nodes: Vec<Vec<usize>> = vec![Vec::new(); nodes];
        while let Some((_, node)) = waiting.pop_first() {
            let near: Vec<usize> = neighbours[node].iter().copied().collect();
            for &one in &near {
                waiting.remove(&(neighbours[one].len(), one));
                neighbours[one].remove(&node);
                neighbours[one].extend(near.iter().filter(|other| **other != one));
                waiting.insert((neighbours[one].len(), one));
            }
            later_nodes[node] = near;
            order.push(node);
        }
        let mut rank = vec![0; nodes];
        order.iter().enumerate().for_each(|(i, node)| rank[*node] = i);
        let mut off_count = 0;
        let mut later: Vec<Vec<(usize, usize)>> = Vec::with_capacity(nodes);
        for near in &later_nodes {
            later.push(near.iter().enumerate().map(|(i, other)| (*other, off_count + i)).collect());
            off_count += near.len();
        }
        // The block of two nodes stands with the one eliminated first.
        let find = |a: usize, b: usize| {
            let (early, late) = if rank[a] < rank[b] { (a, b) } else { (b, a) };
            later[early].iter().find(|(other, _)| *other == late).map_or(0, |(_, off)| *off)
        };
        let pairs = elements
            .iter()
            .map(|&(first, second)| {
                let is_turned = rank[first] > rank[second];
                Pair { first, second, off: find(first, second), is_turned }
            })
            .collect();
        let changes = later
            .iter()
            .map(|near| {
                let mut changes = Vec::new();
                for (row, &(one, _)) in near.iter().enumerate() {
                    for (column, &(other, _)) in near[..=row].iter().enumerate() {
                        let target = if one == other {
                            Target::Diagonal(one)
                        } else {
                            Target::Off(find(one, other), rank[one] < rank[other])
                        };
                        changes.push(Change { row, column, target });
                    }
                }
                changes
            })
            .collect();
        Self { order, pairs, later, changes, off_count }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A positive definite element matrix that differs from element to element.
    fn element(seed: usize) -> [[f64; 12]; 12] {
        let raw = |i: usize, j: usize| (((i * 7 + j * 3 + seed * 5) % 11) as f64 - 5.0) * 0.2;
        let mut block = [[0.0; 12]; 12];
        for (i, row) in block.iter_mut().enumerate() {
            for (j, value) in row.iter_mut().enumerate() {
                *value = raw(i.max(j), i.min(j)) + if i == j { 14.0 } else { 0.0 };
            }
        }
        block
    }

    fn check(nodes: usize, elements: &[(usize, usize)]) {
        let mut matrix = Blocks::new(nodes, elements);
        matrix.clear();
        let wanted: Vec<f64> = (0..SIX * nodes).map(|i| (i as f64 * 0.7).sin()).collect();
        let mut product = vec![0.0; SIX * nodes];
        for (e, &(a, b)) in elements.iter().enumerate() {
            let block = element(e);
            matrix.add_element(e, &block);
            let place = |i: usize| if i < SIX { SIX * a + i } else { SIX * b + i - SIX };
            for i in 0..12 {
                for j in 0..12 {
                    product[place(i)] += block[i][j] * wanted[place(j)];
                }
            }
        }
        matrix.factor().unwrap();
        matrix.solve(&mut product);
        for (got, wanted) in product.iter().zip(&wanted) {
            assert!((got - wanted).abs() < 1e-10, "{got} {wanted}");
        }
    }

    #[test]
    fn chains_trees_and_loops_give_back_the_vector_that_was_multiplied() {
        check(4, &[(0, 1), (1, 2), (2, 3)]);
        check(6, &[(0, 3), (1, 3), (3, 2), (4, 3), (5, 4)]);
        check(5, &[(0, 1), (1, 2), (2, 3), (3, 0), (2, 4)]);
        check(6, &[(0, 1), (1, 2), (2, 3), (3, 4), (4, 5), (5, 0), (1, 4), (0, 3)]);
        // Two elements between the same nodes.
        check(2, &[(0, 1), (1, 0)]);
    }

    #[test]
    fn a_tree_fills_in_nothing() {
        let plan = Plan::new(7, &[(0, 1), (1, 2), (1, 3), (3, 4), (4, 5), (4, 6)]);
        assert_eq!(plan.off_count, 6);
    }

    #[test]
    fn an_indefinite_matrix_is_refused() {
        let mut matrix = Blocks::new(2, &[(0, 1)]);
        (0..12).for_each(|i| matrix.add_diagonal(i, if i == 7 { -1.0 } else { 1.0 }));
        assert_eq!(matrix.factor(), Err(NotPositiveDefinite));
    }
}
