//! Snapping of a point that the user moves or places: to the centre line of a run, else to the grid.

use glam::DVec2;
use keepside_model::{Id, Project};

use crate::centre_line::nearest_on_run;

/// How a point snaps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Snap {
    /// Grid step, mm; `None` = no grid.
    pub grid_mm: Option<f64>,
    /// How near to a centre line a point must be to jump onto it, mm; 0 = never.
    pub magnet_mm: f64,
}

/// What a point snapped to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SnapTo {
    /// Nothing: it is where the pointer is.
    Nothing,
    /// A grid point.
    Grid,
    /// The centre line of this run.
    CentreLine(Id),
    /// Equal gaps to the channel's edges on both sides, across this run.
    BetweenEdges(Id),
    /// Equal gaps to these two neighbours along the channel.
    EqualGaps(Id, Id),
    /// The stated distance from a gate along a run.
    FromGate {
        /// The gate.
        gate: Id,
        /// The run.
        run: Id,
    },
    /// An end or corner of this run.
    RunPoint(Id),
    /// The first point of the run being drawn: closes it to a ring.
    RingClosed,
    /// A direction of whole steps of degrees.
    Direction,
    /// The middle of this item, to measure from.
    Middle(Id),
    /// The edge of this item, to measure from.
    EdgeOf(Id),
    /// The edge of the channel, to measure from.
    ChannelEdge,
    /// Behind this gate of the other half, through the plates.
    BehindGate(Id),
}

impl SnapTo {
    /// Why, in a few words to be shown beside the pointer; empty for nothing.
    pub fn words(&self, project: &Project) -> String {
        match *self {
            Self::Nothing => String::new(),
            Self::Grid => "grid".to_owned(),
            Self::CentreLine(_) => "mid-channel".to_owned(),
            Self::BetweenEdges(_) => "equal gaps to both edges".to_owned(),
            Self::EqualGaps(one, other) => {
                format!("equal gaps to {} and {}", project.tag(one), project.tag(other))
            }
            Self::FromGate { gate, .. } => format!("stated distance from gate {}", project.tag(gate)),
            Self::RunPoint(run) => format!("point of {}", project.tag(run)),
            Self::RingClosed => "closes the ring".to_owned(),
            Self::Direction => "steps of 15°".to_owned(),
            Self::Middle(id) => format!("middle of {}", project.tag(id)),
            Self::EdgeOf(id) => format!("edge of {}", project.tag(id)),
            Self::ChannelEdge => "edge of the channel".to_owned(),
            Self::BehindGate(gate) => format!("behind gate {}", project.tag(gate)),
        }
    }
}

/// A snapped point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Snapped {
    /// Where it is now, mm.
    pub at: DVec2,
    /// Why.
    pub to: SnapTo,
}

impl Snap {
    /// No snapping at all.
    pub const OFF: Self = Self { grid_mm: None, magnet_mm: 0.0 };

    /// Where `wanted` comes to lie. A centre line within the magnet's reach wins over the grid; on one
    /// that is parallel to an axis the point also keeps to the grid along it.
    pub fn point(&self, project: &Project, wanted: DVec2) -> Snapped {
        let on_grid = self.on_grid(wanted);
        let nearest = project
            .part
            .runs
            .iter()
            .filter_map(|(&id, run)| Some((id, run, nearest_on_run(run, wanted)?)))
            .filter(|(_, _, on)| self.magnet_mm > 0.0 && on.distance_mm <= self.magnet_mm)
            .min_by(|left, right| left.2.distance_mm.total_cmp(&right.2.distance_mm));
        if let Some((id, run, on)) = nearest {
            let (from, to) = (run.points[on.piece], run.points[on.piece + 1]);
            // Between the ends of a piece parallel to an axis the point keeps to the grid, in exact numbers.
            let (low, high) = (from.at.min(to.at), from.at.max(to.at));
            let at = if from.bulge == 0.0 && (low.x == high.x || low.y == high.y) {
                on_grid.clamp(low, high)
            } else {
                on.at
            };
            return Snapped { at, to: SnapTo::CentreLine(id) };
        }
        let to = if self.grid_mm.is_some() { SnapTo::Grid } else { SnapTo::Nothing };
        Snapped { at: on_grid, to }
    }

    /// The grid point nearest to `wanted`, or `wanted` itself without a grid.
    fn on_grid(&self, wanted: DVec2) -> DVec2 {
        match self.grid_mm {
            // Dividing by the inverse keeps decimal steps exact: 12.3 and not 12.300000000000001.
            Some(step) if step > 0.0 && step < 1.0 => (wanted * step.recip()).round() / step.recip(),
            Some(step) if step > 0.0 => (wanted / step).round() * step,
            _ => wanted,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SNAP: Snap = Snap { grid_mm: Some(1.0), magnet_mm: 2.0 };

    #[track_caller]
    fn check(snap: Snap, wanted: (f64, f64), at: (f64, f64), to: SnapTo) {
        // The blank project's run R1 goes from (40, 60) to (160, 60).
        let snapped = snap.point(&Project::blank(), wanted.into());
        assert_eq!(snapped, Snapped { at: at.into(), to }, "wanted {wanted:?}");
    }

    #[test]
    fn far_from_a_run_a_point_goes_to_the_grid() {
        check(SNAP, (30.4, 20.6), (30.0, 21.0), SnapTo::Grid);
    }

    #[test]
    fn near_a_centre_line_a_point_jumps_onto_it_and_keeps_to_the_grid_along_it() {
        check(SNAP, (80.4, 61.7), (80.0, 60.0), SnapTo::CentreLine(Id(1)));
        check(SNAP, (80.4, 62.3), (80.0, 62.0), SnapTo::Grid);
    }

    #[test]
    fn without_grid_or_magnet_a_point_stays_where_it_is() {
        check(Snap::OFF, (80.4, 60.3), (80.4, 60.3), SnapTo::Nothing);
        let magnet_only = Snap { grid_mm: None, magnet_mm: 2.0 };
        check(magnet_only, (80.4, 60.3), (80.4, 60.0), SnapTo::CentreLine(Id(1)));
    }

    #[test]
    fn decimal_grids_give_decimal_numbers() {
        let tenth = Snap { grid_mm: Some(0.1), magnet_mm: 0.0 };
        check(tenth, (12.3000001, 7.7), (12.3, 7.7), SnapTo::Grid);
    }
}
