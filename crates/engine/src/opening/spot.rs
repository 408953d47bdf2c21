//! What acts on the part, and where: line holds, point holds, and the walls that guide it.

use glam::DVec2;
use keepside_model::Half;

use crate::hold::Curve;
use crate::opening::law::{Slide, Wall};

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
pub(crate) struct LineSpot<S> {
    pub(crate) spot: S,
    /// Fixed half, moving half.
    pub(crate) faces: [Face; 2],
    /// Stiffness against pressing into either half, N/mm.
    pub(crate) contact_n_mm: f64,
    /// Length of run that it stands for, mm.
    pub(crate) length_mm: f64,
}

/// Line holds that only some parts have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ExtraKind {
    /// Wall drag with a measured curve.
    Wall,
    /// Undercut edges.
    Edge,
    /// Vacuum under a sealed face.
    Air,
}

impl ExtraKind {
    pub(crate) const ALL: [Self; 3] = [Self::Wall, Self::Edge, Self::Air];
}

/// A line hold with a curve of its own, over a piece of the part.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Extra<S> {
    pub(crate) spot: S,
    /// Index of its half.
    pub(crate) half: usize,
    pub(crate) kind: ExtraKind,
    /// Its curve, by index, and what to multiply it with.
    pub(crate) curve: usize,
    pub(crate) scale: f64,
    pub(crate) slide: Slide,
    pub(crate) length_mm: f64,
    /// Opening at which it let go, mm; 0 while it holds.
    pub(crate) gone_at_mm: f64,
}

/// The channel walls keep a piece of the part from moving across the run until it has left both halves.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Guide<S> {
    pub(crate) spot: S,
    /// Unit vector across the run.
    pub(crate) across: DVec2,
    /// Stiffness while fully engaged, N/mm.
    pub(crate) stiffness_n_mm: f64,
    /// Depth of the channel in each half, mm.
    pub(crate) depth_mm: [f64; 2],
    /// Farthest out of each half so far, mm.
    pub(crate) worst_mm: [f64; 2],
    /// Force and place across at the last accepted step.
    pub(crate) force_before: f64,
    pub(crate) across_before_mm: f64,
}

impl<S> Guide<S> {
    /// Stiffness left, N/mm.
    #[inline]
    pub(crate) fn left_n_mm(&self) -> f64 {
        let engaged = |half: usize| {
            let depth = self.depth_mm[half];
            if depth > 0.0 { (1.0 - self.worst_mm[half] / depth).clamp(0.0, 1.0) } else { 0.0 }
        };
        self.stiffness_n_mm * engaged(0).max(engaged(1))
    }
}

/// The pull-off law of a sprue, keying feature or grooved ejector.
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
    /// Friction by which a sideways force adds to the pull-off.
    pub(crate) friction: f64,
    /// Of the grooves of an ejector that has begun to push: the opening at which it began and its stroke, mm.
    pub(crate) rides: Option<(f64, f64)>,
}

impl PointLaw {
    /// The opening that counts for its travel, mm: an ejector stays behind the moving half by as much as it
    /// has come out.
    #[inline]
    pub(crate) fn opening_mm(&self, opening_mm: f64) -> f64 {
        self.rides.map_or(opening_mm, |(from_mm, stroke_mm)| {
            opening_mm - (opening_mm - from_mm).clamp(0.0, stroke_mm)
        })
    }
}

/// A share of a sprue or keying feature, acting at one spot of its footprint.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PointSpot<S> {
    pub(crate) spot: S,
    /// Index of its law.
    pub(crate) law: usize,
    /// Share of the law's force, 0..1.
    pub(crate) share: f64,
    pub(crate) slide: Slide,
    /// Sideways place at which the lock is at rest, mm.
    pub(crate) lateral_rest_mm: DVec2,
    /// Friction of the plastic pressed sideways on it: what it can hold, as of the last accepted step, N,
    /// where its spring is at rest, mm, and its pull then, N.
    pub(crate) grip_n: f64,
    pub(crate) grip_rest_mm: f64,
    pub(crate) grip_pull_n: f64,
    /// Height of the spot over its place in the closed mould at the last accepted step, mm.
    pub(crate) z_before_mm: f64,
    /// Opening at which it let go, mm; 0 while it holds.
    pub(crate) gone_at_mm: f64,
    /// Whether it still stands in the plastic, and locks it sideways.
    pub(crate) is_engaged: bool,
}

impl<S> PointSpot<S> {
    pub(crate) fn new(spot: S, law: usize, share: f64) -> Self {
        Self {
            spot,
            law,
            share,
            slide: Slide::default(),
            lateral_rest_mm: DVec2::ZERO,
            grip_n: 0.0,
            grip_rest_mm: 0.0,
            grip_pull_n: 0.0,
            z_before_mm: 0.0,
            gone_at_mm: 0.0,
            is_engaged: true,
        }
    }

    /// Pull at the last accepted step, N.
    pub(crate) fn pull_n(&self) -> f64 {
        self.share * (self.slide.pull_before + self.grip_pull_n)
    }
}

/// A share of an ejector pin that pushes the part off the moving half.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pusher<S> {
    pub(crate) spot: S,
    /// Which pin.
    pub(crate) pin: usize,
    /// Stiffness of the part under it, N/mm.
    pub(crate) stiffness_n_mm: f64,
    /// Height of its tip, as a displacement of the part, mm: it stays there until the opening at which its
    /// stroke ends, then goes with the moving half.
    pub(crate) tip_mm: f64,
    pub(crate) until_mm: f64,
    /// Force at the last accepted step, N.
    pub(crate) force_n: f64,
}

impl<S> Pusher<S> {
    /// How far the part stands beyond the tip, mm; negative where it has left it.
    #[inline]
    pub(crate) fn beyond_mm(&self, z: f64, opening_mm: f64) -> f64 {
        z - self.tip_mm - (opening_mm - self.until_mm).max(0.0)
    }
}
