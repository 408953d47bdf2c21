//! The moulding material at the moment of opening, and the assumed strength of every hold.

use serde::{Deserialize, Serialize};

use crate::bounds::{self, OutOfRange, check_all};
use crate::pull_off::PullOff;

/// The plastic as it is when the mould opens: warm, not at room temperature.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Material {
    /// Generic name, for example "PP".
    pub name: String,
    /// Modulus at the ejection temperature, MPa.
    #[serde(deserialize_with = "bounds::modulus")]
    pub modulus_hot_mpa: f64,
    /// Yield stress at the ejection temperature, MPa.
    #[serde(deserialize_with = "bounds::strength")]
    pub yield_hot_mpa: f64,
    /// Slope of the stress–strain line after yield over the modulus; 0.02 to 0.05 is usual.
    #[serde(deserialize_with = "bounds::hardening")]
    pub hardening_ratio: f64,
    /// Strain at which the warm plastic tears.
    #[serde(deserialize_with = "bounds::strain")]
    pub break_strain: f64,
    /// Strain at yield in the short-term tensile test; sets the strain allowed while stripping.
    #[serde(deserialize_with = "bounds::strain")]
    pub yield_strain: f64,
    /// Poisson's ratio.
    #[serde(deserialize_with = "bounds::poisson")]
    pub poisson: f64,
    /// Friction on steel.
    #[serde(deserialize_with = "bounds::friction")]
    pub friction: f64,
    /// Shrinkage that the mould has kept the part from when it opens, as a strain: what pulls on the
    /// features that lock its length.
    #[serde(default, deserialize_with = "bounds::shrinkage")]
    pub restrained_shrinkage: f64,
}

impl Material {
    /// Generic starting points. Every value is assumed: warm values are the published ones at 23 °C
    /// scaled down to a usual ejection temperature, to be replaced by the user's own.
    pub fn generic() -> Vec<Self> {
        let of =
            |name: &str, modulus, yields, break_strain, yield_strain, poisson, friction, shrinkage| Self {
                name: name.to_owned(),
                modulus_hot_mpa: modulus,
                yield_hot_mpa: yields,
                hardening_ratio: 0.03,
                break_strain,
                yield_strain,
                poisson,
                friction,
                restrained_shrinkage: shrinkage,
            };
        vec![
            of("PP", 800.0, 18.0, 2.0, 0.08, 0.40, 0.28, 0.004),
            of("HDPE", 500.0, 13.0, 2.0, 0.09, 0.42, 0.22, 0.006),
            of("ABS", 1700.0, 28.0, 0.15, 0.025, 0.36, 0.45, 0.002),
            of("PS", 2300.0, 30.0, 0.025, 0.018, 0.34, 0.45, 0.002),
        ]
    }

    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        check_all(&[
            (bounds::MODULUS, self.modulus_hot_mpa),
            (bounds::STRENGTH, self.yield_hot_mpa),
            (bounds::HARDENING, self.hardening_ratio),
            (bounds::STRAIN, self.break_strain),
            (bounds::STRAIN, self.yield_strain),
            (bounds::POISSON, self.poisson),
            (bounds::FRICTION, self.friction),
            (bounds::SHRINKAGE, self.restrained_shrinkage),
        ])
    }
}

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
