//! Stripping: the ejector pins push the part off the moving half.

use std::fmt;

use keepside_model::Id;

use crate::opening::result::{BumpAt, Residual};

/// How stripping ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StripOutcome {
    /// The part comes off whole and unharmed.
    ComesOff,
    /// It comes off, but a feature strains it more than it bears, breaks a piece off, or an ejector
    /// dents it.
    Harmed,
    /// It is torn.
    Torn,
    /// The ejectors' stroke ends before every feature has let go.
    StaysOn,
    /// No ejector pin touches the part.
    NoEjectors,
}

impl fmt::Display for StripOutcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::ComesOff => "comes off the moving half unharmed",
            Self::Harmed => "is harmed in coming off the moving half",
            Self::Torn => "is torn in coming off the moving half",
            Self::StaysOn => "is not pushed clear of the moving half",
            Self::NoEjectors => "has no ejector pin to push it off",
        })
    }
}

/// What stripping does at one keying feature of the moving half.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StripAt {
    /// The feature.
    pub item: Id,
    /// Largest force over it, N.
    pub force_n: f64,
    /// Hoop strain of the plastic when it is pushed over the undercut; 0 without one.
    pub strain: f64,
    /// The strain it bears again and again.
    pub allowed: f64,
    /// Ejector travel at which it lets go, mm; `None` if it does not.
    pub released_at_mm: Option<f64>,
    /// Whether a piece breaks off there.
    pub broke: bool,
}

/// What one ejector pin has to bear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EjectorLoad {
    /// The ejector.
    pub item: Id,
    /// Largest force on it, N.
    pub force_n: f64,
    /// Largest pressure on the part, MPa.
    pub pressure_mpa: f64,
    /// Pressure at which it leaves a mark, MPa: the warm yield stress.
    pub mark_mpa: f64,
    /// Smallest diameter that does not buckle under the force, mm.
    pub buckling_mm: f64,
}

/// Taking the part off the moving half.
#[derive(Clone, Debug, PartialEq)]
pub struct Stripping {
    /// How it ends.
    pub outcome: StripOutcome,
    /// It as one plain sentence without a full stop.
    pub words: String,
    /// Every keying feature that the part still hangs on, in the order in which they let go.
    pub features: Vec<StripAt>,
    /// Every ejector that touches the part.
    pub ejectors: Vec<EjectorLoad>,
    /// Largest total force on the ejectors, N.
    pub peak_n: f64,
    /// Total force against ejector travel: (mm, N).
    pub force: Vec<(f64, f64)>,
    /// What stays bent at each gate and feature after ejection.
    pub bumps: Vec<BumpAt>,
    /// Distance between the two parallel planes that just contain the ejected part, mm.
    pub flatness_mm: f64,
    /// The ejected part.
    pub residual: Vec<Residual>,
}
