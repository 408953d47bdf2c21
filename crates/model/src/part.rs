//! The moulded part: a network of channel runs.

use std::collections::BTreeMap;

use glam::DVec2;
use serde::{Deserialize, Serialize};

use crate::bounds::{self, OutOfRange, check_all};
use crate::items::{items, points};
use crate::project::Id;
use crate::tooling::Half;

/// The part as cut into the plates: channel runs and how their depth is shared between the halves.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// The channel runs. Runs that touch are one moulding.
    #[serde(deserialize_with = "items")]
    pub runs: BTreeMap<Id, Run>,
    /// Share of the channel depth cut into the moving half, 0 to 1: 0 = all in the fixed half,
    /// 1 = all in the moving half.
    #[serde(deserialize_with = "bounds::share")]
    pub moving_share: f64,
    /// Draft of the channel walls in the moving half, degrees, 0 = parallel to the opening.
    #[serde(deserialize_with = "bounds::draft")]
    pub draft_moving_deg: f64,
    /// Draft of the channel walls in the fixed half, degrees.
    #[serde(deserialize_with = "bounds::draft")]
    pub draft_fixed_deg: f64,
    /// Radius of the part's edges along the floor of the moving half, mm; 0 = sharp. A radius larger
    /// than the depth in that half goes on beyond the parting plane: the channel is then widest in the
    /// other half, which traps it.
    #[serde(default, deserialize_with = "bounds::edge")]
    pub edge_moving_mm: f64,
    /// Radius of the part's edges along the floor of the fixed half, mm.
    #[serde(default, deserialize_with = "bounds::edge")]
    pub edge_fixed_mm: f64,
    /// A rib along the middle of every run; none in most parts.
    #[serde(default)]
    pub rib: Option<Rib>,
}

/// A groove milled along the middle of the channel floor, which makes a rib on the part.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rib {
    /// The half into whose floor it is milled.
    pub half: Half,
    /// Width, mm.
    #[serde(deserialize_with = "bounds::rib")]
    pub width_mm: f64,
    /// Height over the channel floor, mm: added to the channel depth.
    #[serde(deserialize_with = "bounds::rib")]
    pub height_mm: f64,
}

impl Part {
    /// Checks every number of the part except those inside its runs.
    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        check_all(&[
            (bounds::SHARE, self.moving_share),
            (bounds::DRAFT, self.draft_moving_deg),
            (bounds::DRAFT, self.draft_fixed_deg),
            (bounds::EDGE, self.edge_moving_mm),
            (bounds::EDGE, self.edge_fixed_mm),
        ])?;
        self.rib.map_or(Ok(()), |rib| check_all(&[(bounds::RIB, rib.width_mm), (bounds::RIB, rib.height_mm)]))
    }
}

/// A channel run: a path of straight and arc pieces with a width and depth at every point.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Run {
    /// Name given by the user; may be empty.
    pub name: String,
    /// The points of the centre line, in order. A run with fewer than two is a finding, not an error.
    #[serde(deserialize_with = "points")]
    pub points: Vec<RunPoint>,
    /// Shape of the end at the first point.
    pub start: EndShape,
    /// Shape of the end at the last point.
    pub end: EndShape,
}

/// A point of a run's centre line. Width and depth vary linearly between points.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RunPoint {
    /// Place in the plan, mm.
    #[serde(deserialize_with = "bounds::point")]
    pub at: DVec2,
    /// Channel width at its widest place, mm: the parting plane, unless an edge goes on beyond it.
    #[serde(deserialize_with = "bounds::channel_width")]
    pub width_mm: f64,
    /// Channel depth, both halves together, mm.
    #[serde(deserialize_with = "bounds::channel_depth")]
    pub depth_mm: f64,
    /// Bulge of the piece to the next point: tangent of a quarter of its arc angle, positive when the
    /// arc turns to the left (counter-clockwise); 0 = straight. −1 to 1, a half circle at most.
    #[serde(default, deserialize_with = "bounds::bulge")]
    pub bulge: f64,
}

/// Shape of the end of a run in plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum EndShape {
    /// Cut square at the end point.
    Square,
    /// A half circle about the end point, of the channel's width: what a ball of the cutter leaves.
    Round,
}

impl Run {
    /// A straight run of constant section with round ends.
    pub fn straight(name: &str, from: DVec2, to: DVec2, width_mm: f64, depth_mm: f64) -> Self {
        let point = |at| RunPoint { at, width_mm, depth_mm, bulge: 0.0 };
        Self {
            name: name.to_owned(),
            points: vec![point(from), point(to)],
            start: EndShape::Round,
            end: EndShape::Round,
        }
    }

    /// Checks every number of the run.
    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        for point in &self.points {
            bounds::check_point(point.at)?;
            check_all(&[
                (bounds::CHANNEL_WIDTH, point.width_mm),
                (bounds::CHANNEL_DEPTH, point.depth_mm),
                (bounds::BULGE, point.bulge),
            ])?;
        }
        Ok(())
    }
}
