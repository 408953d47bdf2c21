//! The assumed strength of every hold.

use serde::{Deserialize, Serialize};

use crate::bounds::{self, OutOfRange, check_all};
use crate::pull_off::PullOff;

/// What only a trial can tell about the holds; every default is assumed, to be calibrated.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HoldInputs {
    /// Peak face tack of bare steel, MPa. Assumed range 0.02 to 0.3.
    #[serde(deserialize_with = "bounds::tack")]
    pub tack_mpa: f64,
    /// Travel at which a face has let go completely, mm.
    #[serde(deserialize_with = "bounds::travel")]
    pub tack_travel_mm: f64,
    /// What release agent leaves of the tack on the moving half, 1 = none was used.
    #[serde(deserialize_with = "bounds::factor")]
    pub release_factor_moving: f64,
    /// What release agent leaves of the tack on the fixed half, 1 = none was used.
    #[serde(deserialize_with = "bounds::factor")]
    pub release_factor_fixed: f64,
    /// Drag on channel walls, MPa.
    #[serde(deserialize_with = "bounds::tack")]
    pub wall_drag_mpa: f64,
    /// Sideways relief of a shrinking part: a drafted wall is clear once the gap exceeds it, mm.
    #[serde(deserialize_with = "bounds::travel")]
    pub wall_relief_mm: f64,
    /// Drag in a sprue bore as turned, MPa. Assumed range 0.3 to 1.0.
    #[serde(deserialize_with = "bounds::tack")]
    pub sprue_drag_turned_mpa: f64,
    /// Drag in a polished sprue bore, MPa.
    #[serde(deserialize_with = "bounds::tack")]
    pub sprue_drag_polished_mpa: f64,
    /// Share of a moulded-over thread that the plastic really fills.
    #[serde(deserialize_with = "bounds::share")]
    pub thread_filled_share: f64,
    /// Vacuum that forms under a face sealed all round, MPa; 0 = none, one atmosphere at most.
    #[serde(default, deserialize_with = "bounds::vacuum")]
    pub vacuum_mpa: f64,
    /// Gap at which air gets under a sealed face, mm.
    #[serde(default = "default_air_gap_mm", deserialize_with = "bounds::travel")]
    pub air_gap_mm: f64,
    /// A measured pull-off curve of a bare face, travel in mm against stress in MPa; takes the place of
    /// [`Self::tack_mpa`] and [`Self::tack_travel_mm`].
    #[serde(default)]
    pub tack_curve: Option<PullOff>,
    /// A measured pull-off curve of a bare wall, travel in mm against stress in MPa; takes the place of
    /// [`Self::wall_drag_mpa`] and the travel that follows from height and draft.
    #[serde(default)]
    pub wall_curve: Option<PullOff>,
    /// A measured pull-off curve of an undercut edge, travel in mm against force in N a mm of run, both
    /// edges together; takes the place of the computed one.
    #[serde(default)]
    pub edge_curve: Option<PullOff>,
}

fn default_air_gap_mm() -> f64 {
    HoldInputs::default().air_gap_mm
}

impl Default for HoldInputs {
    /// Assumed values, to be calibrated by trial shots.
    fn default() -> Self {
        Self {
            tack_mpa: 0.10,
            tack_travel_mm: 0.03,
            release_factor_moving: 1.0,
            release_factor_fixed: 1.0,
            wall_drag_mpa: 0.05,
            wall_relief_mm: 0.02,
            sprue_drag_turned_mpa: 0.5,
            sprue_drag_polished_mpa: 0.1,
            thread_filled_share: 0.6,
            vacuum_mpa: 0.0,
            air_gap_mm: 0.05,
            tack_curve: None,
            wall_curve: None,
            edge_curve: None,
        }
    }
}

impl HoldInputs {
    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        check_all(&[
            (bounds::TACK, self.tack_mpa),
            (bounds::TRAVEL, self.tack_travel_mm),
            (bounds::FACTOR, self.release_factor_moving),
            (bounds::FACTOR, self.release_factor_fixed),
            (bounds::TACK, self.wall_drag_mpa),
            (bounds::TRAVEL, self.wall_relief_mm),
            (bounds::TACK, self.sprue_drag_turned_mpa),
            (bounds::TACK, self.sprue_drag_polished_mpa),
            (bounds::SHARE, self.thread_filled_share),
            (bounds::VACUUM, self.vacuum_mpa),
            (bounds::TRAVEL, self.air_gap_mm),
        ])
    }
}
