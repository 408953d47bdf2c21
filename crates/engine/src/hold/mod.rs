//! Holds of single items: sprues, keying features and grooved ejectors, each with its pull-off curve.
//!
//! Grip times travel decides, not grip alone: a curve says both. Face tack and wall drag act along the
//! whole channel and live with the opening run.

mod around;
mod curve;
mod edge;
pub mod ejector;
mod feature;
pub mod formula;
mod grooves;
mod head;
mod law;
mod measured;
mod post;
mod set_screw;
mod sprue;

pub use curve::Curve;
pub(crate) use edge::edge;
pub use edge::{LineHold, edge_at};
pub use feature::feature;
pub use grooves::ejector_face;
pub(crate) use grooves::engaged_mm as grooves_mm;
pub use law::{HoldLaw, Number, Plug, TrialInput, Way, law, law_at};
pub use measured::{TACK_RISE_SHARE, WALL_RISE_MM, computed_at, measured, tack_curve, wall_curve};
pub(crate) use set_screw::plug as socket_plug;
pub use sprue::sprue;

/// What happens when a hold is pulled beyond its travel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// It slides out or strips off; nothing of the part is left behind that matters.
    LetsGo,
    /// It breaks; a piece of plastic stays in its half.
    Breaks,
    /// The channel beside it tears: the part is cut there, and nothing stays behind.
    Tears,
}

/// Below this break strain a warm plastic counts as brittle: it cracks where a tough one flows. Assumed.
const BRITTLE_STRAIN: f64 = 0.05;

/// One of the ways in which a hold may give way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Case {
    /// The way, in a word or two.
    pub name: &'static str,
    /// Force at which it would happen, N; infinite if it cannot.
    pub force_n: f64,
}

/// The hold of one item.
#[derive(Clone, Debug, PartialEq)]
pub struct PointHold {
    /// Pull against travel.
    pub curve: Curve,
    /// What happens at the end of it.
    pub ending: Ending,
    /// The way that limits it: one of [`Self::cases`], or "nothing to hold" if it stands in no plastic;
    /// "measured" if the curve is, or "measured, tear" if the channel tears besides.
    pub governed_by: &'static str,
    /// The competing ways.
    pub cases: Vec<Case>,
    /// Hoop strain of the plastic when it is pushed over the undercut; 0 without one.
    pub strip_strain: f64,
    /// Largest strip strain that the part takes once, as at ejection.
    pub allowed_once: f64,
    /// Largest strip strain that it takes again and again.
    pub allowed_repeated: f64,
}

/// The channel where a feature stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChannelSection {
    /// Width, mm.
    pub width_mm: f64,
    /// Depth, both halves together, mm.
    pub depth_mm: f64,
    /// Depth cut into the feature's own half, mm.
    pub depth_in_half_mm: f64,
    /// From the feature's centre to the nearest wall of the channel, mm.
    pub to_wall_mm: f64,
}
