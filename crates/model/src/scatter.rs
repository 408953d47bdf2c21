//! How uncertain the assumed inputs are: from shot to shot, and because nobody has measured them.

use serde::{Deserialize, Serialize};

use crate::bounds::{self, OutOfRange, check_all};

/// How uncertain one assumed input is. Two different things: what changes from one shot to the next, and
/// what is the same in every shot but not known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spread {
    /// Scatter from shot to shot: standard deviation of the input's natural logarithm, 0 to 2.
    #[serde(deserialize_with = "bounds::log_spread")]
    pub shot: f64,
    /// Ignorance of the median: standard deviation of its natural logarithm, 0 to 2.
    #[serde(deserialize_with = "bounds::log_spread")]
    pub median: f64,
}

impl Spread {
    /// A spread.
    pub const fn new(shot: f64, median: f64) -> Self {
        Self { shot, median }
    }
}

/// The spread of every input that only a trial can tell. The medians themselves are the values of
/// [`crate::HoldInputs`] and [`crate::Material`].
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Scatter {
    /// Face tack. From shot to shot each half scatters by itself; the median is that of both.
    pub tack: Spread,
    /// Drag on channel walls; each half as with tack.
    pub wall_drag: Spread,
    /// Drag in sprue bores; from shot to shot each sprue by itself, the median is that of all.
    pub sprue_drag: Spread,
    /// How much the medians of single bores differ from one another, logarithmic standard deviation:
    /// tool marks.
    #[serde(deserialize_with = "bounds::log_spread")]
    pub bore: f64,
    /// How far undercuts fill, one median for each kind of keying feature. Of a thread the spread is that of
    /// ln(f / (1 − f)), with f the share filled; of every other undercut that of the logarithm of its pull.
    pub filled: Spread,
    /// Hot strength and stiffness together: how warm the part is when the mould opens.
    pub hot_strength: Spread,
    /// What release agent leaves of the tack, where a half is sprayed.
    pub release_agent: Spread,
}

impl Default for Scatter {
    /// Assumed, to be learned from trials. Where a range is assumed for an input, it is taken to hold the
    /// median with 90 %: ln(0.3 / 0.02) over 3.29 for tack, ln(1.0 / 0.3) over 3.29 for a sprue as turned,
    /// ln(0.5 / 0.2) over 3.29 for release agent. The rest is assumed outright.
    fn default() -> Self {
        Self {
            tack: Spread::new(0.25, 0.82),
            wall_drag: Spread::new(0.2, 0.5),
            sprue_drag: Spread::new(0.15, 0.37),
            bore: 0.15,
            filled: Spread::new(0.15, 0.6),
            hot_strength: Spread::new(0.05, 0.2),
            release_agent: Spread::new(0.25, 0.28),
        }
    }
}

impl Scatter {
    /// No scatter and no ignorance at all.
    pub const NONE: Self = Self {
        tack: Spread::new(0.0, 0.0),
        wall_drag: Spread::new(0.0, 0.0),
        sprue_drag: Spread::new(0.0, 0.0),
        bore: 0.0,
        filled: Spread::new(0.0, 0.0),
        hot_strength: Spread::new(0.0, 0.0),
        release_agent: Spread::new(0.0, 0.0),
    };

    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        let Self { tack, wall_drag, sprue_drag, bore, filled, hot_strength, release_agent } = *self;
        for Spread { shot, median } in [tack, wall_drag, sprue_drag, filled, hot_strength, release_agent] {
            check_all(&[(bounds::LOG_SPREAD, shot), (bounds::LOG_SPREAD, median)])?;
        }
        check_all(&[(bounds::LOG_SPREAD, bore)])
    }
}
