//! Beams whose holds act along the opening only, unless they are sideways springs.

use glam::{DVec2, DVec3};

use crate::beam::{Beams, SpotForce};

/// The model files let tack act along z alone; the engine's tack also resists sliding. These beams hide
/// from a hold where it is in the plan.
#[derive(Clone, Debug)]
pub(super) struct Upright<B>(pub(super) B);

/// A spot, and whether what acts there feels the plan.
#[derive(Clone, Copy, Debug)]
pub(super) struct UprightSpot<S> {
    spot: S,
    pub(super) is_sideways: bool,
}

impl<B: Beams> Beams for Upright<B> {
    const FREEDOMS: usize = B::FREEDOMS;
    const Z: usize = B::Z;
    const TWISTS: bool = B::TWISTS;
    type Matrix = B::Matrix;
    type Turns = B::Turns;
    type Spot = UprightSpot<B::Spot>;

    fn nodes(&self) -> usize {
        self.0.nodes()
    }

    fn elements(&self) -> usize {
        self.0.elements()
    }

    fn ends(&self, element: usize) -> (usize, usize) {
        self.0.ends(element)
    }

    fn matrix(&self) -> B::Matrix {
        self.0.matrix()
    }

    fn turns(&self, moved: &[f64], turns: &mut B::Turns) {
        self.0.turns(moved, turns);
    }

    fn assemble(
        &self,
        moved: &[f64],
        turns: &B::Turns,
        residual: &mut [f64],
        matrix: &mut B::Matrix,
        convex: bool,
    ) {
        self.0.assemble(moved, turns, residual, matrix, convex);
    }

    fn accept(&mut self, moved: &[f64], turns: &B::Turns) -> (f64, bool) {
        self.0.accept(moved, turns)
    }

    fn commit(&mut self, moved: &mut [f64], turns: &B::Turns) {
        self.0.commit(moved, turns);
    }

    fn step_back(moved: &mut [f64], change: &[f64], share: f64) {
        B::step_back(moved, change, share);
    }

    fn is_torn(&self, element: usize) -> bool {
        self.0.is_torn(element)
    }

    fn stored_mj(&self, moved: &[f64], turns: &B::Turns) -> f64 {
        self.0.stored_mj(moved, turns)
    }

    fn shift(moved: &[f64], node: usize) -> DVec3 {
        B::shift(moved, node)
    }

    fn spot(&self, element: usize, place: f64, beside_mm: f64) -> Self::Spot {
        UprightSpot { spot: self.0.spot(element, place, beside_mm), is_sideways: false }
    }

    fn element_of(spot: &Self::Spot) -> usize {
        B::element_of(&spot.spot)
    }

    fn place(&self, spot: &Self::Spot, moved: &[f64], turns: &B::Turns) -> DVec3 {
        let place = self.0.place(&spot.spot, moved, turns);
        if spot.is_sideways { place } else { place.z * DVec3::Z }
    }

    fn spread(
        &self,
        spot: &Self::Spot,
        turns: &B::Turns,
        force: &SpotForce,
        convex: bool,
        residual: &mut [f64],
        matrix: &mut B::Matrix,
    ) {
        let mut force = *force;
        if !spot.is_sideways {
            (force.side, force.xx, force.xy, force.yy) = (DVec2::ZERO, 0.0, 0.0, 0.0);
        }
        self.0.spread(&spot.spot, turns, &force, convex, residual, matrix);
    }

    fn push(&self, spot: &Self::Spot, turns: &B::Turns, force: DVec3, to: &mut [f64]) {
        let side = if spot.is_sideways { force } else { DVec3::new(0.0, 0.0, force.z) };
        self.0.push(&spot.spot, turns, side, to);
    }

    fn released(&self, moved: &[f64], turns: &B::Turns, roots: &[usize]) -> Vec<DVec3> {
        self.0.released(moved, turns, roots)
    }
}
