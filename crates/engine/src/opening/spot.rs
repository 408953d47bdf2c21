//! Where holds act: spots inside elements, and what acts there.

use keepside_model::Half;

use crate::beam::{Chain, DOF};
use crate::hold::Curve;
use crate::opening::law::{Slide, Wall};

/// A place inside an element, with the weights by which the element's freedoms move it.
///
/// z = Σ weight · (w1, sin θ1, w2, sin θ2): the cubic through both nodes with their slopes, written in
/// arc length so that it stays right at large rotations.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Spot {
    pub(crate) element: usize,
    pub(crate) weights: [f64; 4],
    /// Place in the element, 0..1.
    pub(crate) xi: f64,
}

impl Spot {
    pub(crate) fn new(chain: &Chain, element: usize, xi: f64) -> Self {
        let length = chain.along_mm[element + 1] - chain.along_mm[element];
        let (x2, x3) = (xi * xi, xi * xi * xi);
        let weights = [
            1.0 - 3.0 * x2 + 2.0 * x3,
            length * (xi - 2.0 * x2 + x3),
            3.0 * x2 - 2.0 * x3,
            length * (x3 - x2),
        ];
        Self { element, weights, xi }
    }

    /// The spot at a place along the chain, mm; clamped to its ends.
    pub(crate) fn at(chain: &Chain, along_mm: f64) -> Self {
        let last = chain.elements.len() - 1;
        let element = chain.along_mm.partition_point(|x| *x <= along_mm).saturating_sub(1).min(last);
        let from = chain.along_mm[element];
        let xi = (along_mm - from) / (chain.along_mm[element + 1] - from);
        Self::new(chain, element, xi.clamp(0.0, 1.0))
    }

    /// Displacement of the spot along x and z, mm.
    pub(crate) fn displacement(&self, moved: &[f64]) -> (f64, f64) {
        let sine = |node: usize| moved[DOF * node + 2].sin();
        self.place(moved, sine(self.element), sine(self.element + 1))
    }

    #[inline]
    pub(crate) fn place(&self, moved: &[f64], sine_1: f64, sine_2: f64) -> (f64, f64) {
        let d = &moved[DOF * self.element..DOF * (self.element + 2)];
        let [a, b, c, e] = self.weights;
        (d[0] + self.xi * (d[3] - d[0]), a * d[1] + b * sine_1 + c * d[4] + e * sine_2)
    }
}

/// One half's faces and walls at a spot.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Face {
    /// Initial stiffness of the tack, N/mm.
    pub(crate) tack_n_mm: f64,
    /// Worst separation of the tack so far, mm.
    pub(crate) tack_worst_mm: f64,
    pub(crate) wall: Wall,
    pub(crate) wall_slide: Slide,
    /// Pull of the tack at the last accepted step, N, and the work it has taken so far, mJ.
    pub(crate) tack_pull_n: f64,
    pub(crate) tack_work_mj: f64,
    /// Openings at which the tack and the wall let go, mm; 0 while they hold.
    pub(crate) tack_gone_at_mm: f64,
    pub(crate) wall_gone_at_mm: f64,
}

/// The faces of both halves over a piece of the part.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LineSpot {
    pub(crate) spot: Spot,
    /// Fixed half, moving half.
    pub(crate) faces: [Face; 2],
    /// Stiffness against pressing into either half, N/mm.
    pub(crate) contact_n_mm: f64,
}

/// The pull-off law of a sprue or keying feature.
#[derive(Clone, Debug)]
pub(crate) struct PointLaw {
    pub(crate) half: Half,
    pub(crate) curve: Curve,
    /// Initial stiffness, N/mm.
    pub(crate) stiffness_n_mm: f64,
    /// Stiffness against sliding along the run while it is engaged, N/mm.
    pub(crate) lateral_n_mm: f64,
    /// Force at which the plastic gives way sideways, N.
    pub(crate) lateral_limit_n: f64,
}

/// A share of a sprue or keying feature, acting at one spot of its footprint.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PointSpot {
    pub(crate) spot: Spot,
    /// Index of its law.
    pub(crate) law: usize,
    /// Share of the law's force, 0..1.
    pub(crate) share: f64,
    pub(crate) slide: Slide,
    /// Sideways place at which the lock is at rest, mm.
    pub(crate) lateral_rest_mm: f64,
    /// Opening at which it let go, mm; 0 while it holds.
    pub(crate) gone_at_mm: f64,
}

impl PointSpot {
    pub(crate) fn new(spot: Spot, law: usize, share: f64) -> Self {
        Self { spot, law, share, slide: Slide::default(), lateral_rest_mm: 0.0, gone_at_mm: 0.0 }
    }

    /// Pull at the last accepted step, N.
    pub(crate) fn pull_n(&self) -> f64 {
        self.share * self.slide.pull_before
    }
}
