//! Clear distances between what stands in the channel and what is round it.

use glam::DVec2;
use keepside_model::{Id, Project};

use super::Outline;
use super::around::Around;
use super::lookup::Lookup;

/// Gaps are compared with this much slack, mm, so that a gap of exactly the limit passes whatever the
/// rounding.
pub(crate) const SLACK_MM: f64 = 1e-6;

/// A clear distance between a keying feature, a gate or an ejector and something else.
#[derive(Clone, Debug, PartialEq)]
pub struct Gap {
    /// The feature, gate or ejector that it is measured from.
    pub item: Id,
    /// What it is close to.
    pub to: GapTo,
    /// Clear distance, mm; negative when they overlap (or the item leaves the channel).
    pub gap_mm: f64,
    /// What the project's limits ask for, mm; `None` where no limit applies, as between a feature and a
    /// gate opposite it.
    pub needed_mm: Option<f64>,
    /// Point on the item's edge, mm: one end of the line to draw.
    pub from_point: DVec2,
    /// Point on the other thing, mm: the other end.
    pub to_point: DVec2,
}

/// What a gap leads to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum GapTo {
    /// The side wall of the channel that is nearest.
    ChannelEdge,
    /// The side wall on the far side.
    FarEdge,
    /// The end of a run.
    ChannelEnd(Id),
    /// A keying feature, in the same half or the other.
    Feature(Id),
    /// A gate, in the same half or the other.
    Sprue(Id),
    /// An ejector.
    Ejector(Id),
    /// A bolt's hole: the gap is the steel between it and the item's own hole in the plate.
    Bolt(Id),
    /// A guide pin's hole, measured likewise.
    GuidePin(Id),
    /// A vent of the same half, from the item's own hole in the plate.
    Vent(Id),
    /// The edge of the plates, from the item's own hole in the plate.
    PlateEdge,
    /// The channel floor opposite: the roof of plastic over the feature. Both points are the feature's.
    Roof,
}

impl GapTo {
    /// The item that it leads to, if it is one.
    pub const fn item(&self) -> Option<Id> {
        match *self {
            Self::ChannelEnd(id)
            | Self::Feature(id)
            | Self::Sprue(id)
            | Self::Ejector(id)
            | Self::Bolt(id)
            | Self::GuidePin(id)
            | Self::Vent(id) => Some(id),
            Self::ChannelEdge | Self::FarEdge | Self::PlateEdge | Self::Roof => None,
        }
    }

    /// What it leads to in the user's words, for example "channel edge" or "guide pin H4".
    pub fn words(&self, project: &Project) -> String {
        match *self {
            Self::ChannelEdge => "channel edge".to_owned(),
            Self::FarEdge => "far edge".to_owned(),
            Self::ChannelEnd(_) => "channel end".to_owned(),
            Self::Feature(id) => format!("feature {}", project.tag(id)),
            Self::Sprue(id) => format!("gate {}", project.tag(id)),
            Self::Ejector(id) => format!("ejector {}", project.tag(id)),
            Self::Bolt(id) => format!("bolt {}", project.tag(id)),
            Self::GuidePin(id) => format!("guide pin {}", project.tag(id)),
            Self::Vent(id) => format!("vent {}", project.tag(id)),
            Self::PlateEdge => "plate edge".to_owned(),
            Self::Roof => "roof".to_owned(),
        }
    }
}

impl Gap {
    /// Whether it is less than the limits ask for.
    pub fn is_tight(&self) -> bool {
        self.needed_mm.is_some_and(|needed_mm| self.gap_mm < needed_mm - SLACK_MM)
    }
}

/// The tightest gap of every keying feature, gate and ejector to every kind of neighbour: the channel's
/// side walls near and far, its nearest end, the nearest feature and gate of each half, the nearest
/// ejector, bolt and guide pin, the nearest vent of its half, the plate's edge, and the roof. In the order
/// of the items' kinds and ids.
pub fn gaps(project: &Project, outline: &Outline) -> Vec<Gap> {
    Around::new(&Lookup::new(project, outline)).all()
}

/// The gaps of one keying feature, gate or ejector, as [`gaps`] lists them; none of anything else.
pub fn gaps_of(project: &Project, outline: &Outline, item: Id) -> Vec<Gap> {
    let mut gaps = Vec::new();
    Around::new(&Lookup::new(project, outline)).of(item, &mut gaps);
    gaps
}
