//! The true outline of the part in plan, and distances to it.
//!
//! The outline is the boundary of the union of the widened runs, not a set of centre lines. A straight
//! leg of a run is a trapezium, an arc of constant width a strip between two concentric arcs, all exact.
//! An arc of changing width is cut into trapezia; see [`TAPERED_ARC_TOLERANCE_MM`]. The outer side of a
//! corner is rounded about the run's point.

mod around;
mod channel;
mod cross;
mod edge;
mod gap;
mod grid;
pub(crate) mod leg;
mod link;
mod lookup;
mod query;
mod shape;
#[cfg(test)]
mod tests;
mod union;

use glam::DVec2;
use keepside_model::{FeatureKind, Id, Project};

use crate::hardware;

pub(crate) use around::nearest_in_slot;
pub(crate) use channel::runs_at;
pub use channel::{ChannelAt, channel_at, depth_at, depth_in_half_mm, vent_direction};
pub(crate) use edge::{Edge, Extent};
pub(crate) use gap::SLACK_MM;
pub use gap::{Gap, GapTo, gaps, gaps_of};
pub(crate) use grid::Grid;
pub(crate) use lookup::Lookup;
pub use shape::TAPERED_ARC_TOLERANCE_MM;

/// A closed boundary of the part in plan; outer ones counter-clockwise, holes clockwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Ring {
    /// The pieces, end to end.
    pub pieces: Vec<Piece>,
    /// What each piece bounds, in the order of the pieces.
    pub walls: Vec<Wall>,
}

/// What a piece of the boundary is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Wall {
    /// A side wall of a run.
    Side(Id),
    /// The end of a run: its square cut or half circle.
    End(Id),
    /// Not told.
    Unknown,
}

/// A straight or circular piece of a boundary.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Piece {
    /// A straight line.
    Line {
        /// Start, mm.
        from: DVec2,
        /// End, mm.
        to: DVec2,
    },
    /// A circular arc.
    Arc {
        /// Centre, mm.
        centre: DVec2,
        /// Radius, mm.
        radius_mm: f64,
        /// Angle of the start, radians, counter-clockwise from x.
        from_rad: f64,
        /// Angle swept, radians, positive counter-clockwise.
        sweep_rad: f64,
    },
}

/// The true outline of the part.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Outline {
    /// Its closed boundaries.
    pub rings: Vec<Ring>,
    /// Projected area, mm².
    pub area_mm2: f64,
}

/// The outline of the project's part; empty if it has no run with a length.
pub fn of(project: &Project) -> Outline {
    let rings = union::union(&shape::shapes(project));
    let area_mm2 = rings.iter().map(Ring::area_mm2).sum();
    Outline { rings, area_mm2 }
}

/// Diameter of a keying feature seen in plan, mm: the largest that stands in the channel.
pub fn plan_diameter_mm(kind: &FeatureKind) -> f64 {
    match *kind {
        FeatureKind::SetScrew { thread, .. } => hardware::nominal_diameter_mm(thread),
        FeatureKind::CapHead { thread, turned_mm, .. } => {
            let bought_mm = hardware::cap_head_diameter_mm(thread);
            turned_mm.map_or(bought_mm, |turned_mm| turned_mm.min(bought_mm))
        }
        FeatureKind::TurnedHead { head_diameter_mm, neck_diameter_mm, .. } => {
            head_diameter_mm.max(neck_diameter_mm)
        }
        FeatureKind::PlainPost { diameter_mm } | FeatureKind::RingedPost { diameter_mm, .. } => diameter_mm,
    }
}

/// Diameter of the hole behind a keying feature, under the channel's floor, mm.
pub(crate) fn hole_diameter_mm(kind: &FeatureKind) -> f64 {
    match *kind {
        FeatureKind::SetScrew { thread, .. } | FeatureKind::CapHead { thread, .. } => {
            hardware::nominal_diameter_mm(thread)
        }
        FeatureKind::TurnedHead { neck_diameter_mm, .. } => neck_diameter_mm,
        FeatureKind::PlainPost { diameter_mm } | FeatureKind::RingedPost { diameter_mm, .. } => diameter_mm,
    }
}
