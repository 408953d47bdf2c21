//! What the opening run asks of the part as a structure, be it a chain in a plane or a network in space.

use glam::{DVec2, DVec3};

use crate::beam::NotPositiveDefinite;

/// A symmetric matrix that can be filled, factored and solved with.
pub(crate) trait Matrix: Clone {
    fn clear(&mut self);
    fn add_diagonal(&mut self, freedom: usize, value: f64);
    /// Makes every diagonal entry larger by a share of itself.
    fn stiffen(&mut self, share: f64);
    /// Factors it in place.
    fn factor(&mut self) -> Result<(), NotPositiveDefinite>;
    /// Solves with the factors, in place.
    fn solve(&self, x: &mut [f64]);
}

/// Force on a spot of the part and its derivatives by the spot's displacement.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct SpotForce {
    /// Along the opening.
    pub(crate) z: f64,
    pub(crate) zz: f64,
    /// In the parting plane.
    pub(crate) side: DVec2,
    pub(crate) xx: f64,
    pub(crate) xy: f64,
    pub(crate) yy: f64,
    pub(crate) zx: f64,
    pub(crate) zy: f64,
}

/// Beams that carry the holds. Freedoms are numbered node by node.
pub(crate) trait Beams: Clone {
    /// Freedoms of a node: displacements first, rotations after.
    const FREEDOMS: usize;
    /// Which of them is the displacement along the opening; rotations follow it.
    const Z: usize;
    /// Whether spots beside the centre line matter, as the part may twist.
    const TWISTS: bool;
    type Matrix: Matrix;
    /// Rotations of the nodes, in whatever form is quick.
    type Turns: Clone + Default;
    /// A place inside an element.
    type Spot: Copy;

    fn nodes(&self) -> usize;
    fn elements(&self) -> usize;
    /// Nodes that an element joins.
    fn ends(&self, element: usize) -> (usize, usize);
    fn matrix(&self) -> Self::Matrix;
    fn turns(&self, moved: &[f64], turns: &mut Self::Turns);
    /// Adds the internal forces to `residual` and their derivative to `matrix`. With `convex` what may
    /// make the matrix indefinite is left out.
    fn assemble(
        &self,
        moved: &[f64],
        turns: &Self::Turns,
        residual: &mut [f64],
        matrix: &mut Self::Matrix,
        convex: bool,
    );
    /// Makes plastic flow and tearing permanent; the work lost, mJ, and whether anything tore.
    fn accept(&mut self, moved: &[f64], turns: &Self::Turns) -> (f64, bool);
    /// Makes the step's rotations the ones to start from.
    fn commit(&mut self, moved: &mut [f64], turns: &Self::Turns);
    /// Takes `share` of `change` from the freedoms.
    fn step_back(moved: &mut [f64], change: &[f64], share: f64);
    fn is_torn(&self, element: usize) -> bool;
    /// Energy stored elastically, mJ.
    fn stored_mj(&self, moved: &[f64], turns: &Self::Turns) -> f64;
    /// Displacement of a node, mm.
    fn shift(moved: &[f64], node: usize) -> DVec3;
    /// The spot at a place in an element, 0 to 1, and beside its axis, mm, positive to the left.
    fn spot(&self, element: usize, place: f64, beside_mm: f64) -> Self::Spot;
    fn element_of(spot: &Self::Spot) -> usize;
    /// Displacement of a spot, mm.
    fn place(&self, spot: &Self::Spot, moved: &[f64], turns: &Self::Turns) -> DVec3;
    /// Adds a force at a spot and its derivative.
    fn spread(
        &self,
        spot: &Self::Spot,
        turns: &Self::Turns,
        force: &SpotForce,
        convex: bool,
        residual: &mut [f64],
        matrix: &mut Self::Matrix,
    );
    /// Adds a force at a spot, N, to the forces on the freedoms.
    fn push(&self, spot: &Self::Spot, turns: &Self::Turns, force: DVec3, to: &mut [f64]);
    /// Where every node lies when all holds are gone and the plastic strains stay, mm: in the plan and
    /// out of it, up to a motion of each piece as a whole. `roots` gives a node of every piece.
    fn released(&self, moved: &[f64], turns: &Self::Turns, roots: &[usize]) -> Vec<DVec3>;
}

/// Weights of the cubic through both nodes of an element with their slopes, at a place 0 to 1: of the
/// displacement and slope of the first, then of the second.
pub(crate) fn cubic(length_mm: f64, place: f64) -> [f64; 4] {
    let (square, cube) = (place * place, place * place * place);
    [
        1.0 - 3.0 * square + 2.0 * cube,
        length_mm * (place - 2.0 * square + cube),
        3.0 * square - 2.0 * cube,
        length_mm * (cube - square),
    ]
}
