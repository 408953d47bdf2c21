//! Keying features: the small undercuts that lock the part to a half on purpose.

use glam::DVec2;
use serde::{Deserialize, Serialize};

use crate::bounds::{self, OutOfRange, check_all};
use crate::pull_off::PullOff;
use crate::tooling::Half;

/// ISO metric coarse thread sizes that a bench has in the drawer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the names are the sizes")]
pub enum ThreadSize {
    M2,
    M2_5,
    M3,
    M4,
    M5,
    M6,
    M8,
}

impl ThreadSize {
    /// All sizes, smallest first.
    pub const ALL: [Self; 7] = [Self::M2, Self::M2_5, Self::M3, Self::M4, Self::M5, Self::M6, Self::M8];

    /// The size as written on a drawing, for example "M2.5".
    pub const fn designation(self) -> &'static str {
        match self {
            Self::M2 => "M2",
            Self::M2_5 => "M2.5",
            Self::M3 => "M3",
            Self::M4 => "M4",
            Self::M5 => "M5",
            Self::M6 => "M6",
            Self::M8 => "M8",
        }
    }
}

/// What a keying feature is and how big.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum FeatureKind {
    /// A set screw screwed through the plate so that its thread stands in the channel.
    SetScrew {
        /// Thread size, ISO metric coarse.
        thread: ThreadSize,
    },
    /// The head of a socket cap screw standing in the channel, flat underside towards the plate.
    CapHead {
        /// Thread size, ISO metric coarse; the head follows from it.
        thread: ThreadSize,
    },
    /// A head turned on a post, narrower behind than in front.
    TurnedHead {
        /// Largest diameter of the head, mm.
        #[serde(deserialize_with = "bounds::feature_size")]
        head_diameter_mm: f64,
        /// Diameter of the neck under the head, mm.
        #[serde(deserialize_with = "bounds::feature_size")]
        neck_diameter_mm: f64,
        /// Height of the head from its underside rim to its top, mm.
        #[serde(deserialize_with = "bounds::feature_size")]
        head_height_mm: f64,
        /// Angle of the head's underside to the parting plane, degrees: 0 = flat, cannot slide off;
        /// larger = a cone that the plastic can be pushed over.
        #[serde(deserialize_with = "bounds::underside")]
        underside_deg: f64,
    },
    /// A plain cylindrical post: drag only.
    PlainPost {
        /// Diameter, mm.
        #[serde(deserialize_with = "bounds::feature_size")]
        diameter_mm: f64,
    },
}

impl FeatureKind {
    /// The kind in the user's words.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::SetScrew { .. } => "set screw",
            Self::CapHead { .. } => "cap screw head",
            Self::TurnedHead { .. } => "turned head",
            Self::PlainPost { .. } => "plain post",
        }
    }

    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        match *self {
            Self::SetScrew { .. } | Self::CapHead { .. } => Ok(()),
            Self::TurnedHead { head_diameter_mm, neck_diameter_mm, head_height_mm, underside_deg } => {
                check_all(&[
                    (bounds::FEATURE_SIZE, head_diameter_mm),
                    (bounds::FEATURE_SIZE, neck_diameter_mm),
                    (bounds::FEATURE_SIZE, head_height_mm),
                    (bounds::UNDERSIDE, underside_deg),
                ])
            }
            Self::PlainPost { diameter_mm } => check_all(&[(bounds::FEATURE_SIZE, diameter_mm)]),
        }
    }
}

/// A keying feature in one half, standing in the channel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeyingFeature {
    /// Name given by the user; may be empty.
    pub name: String,
    /// Centre in the plan, mm.
    #[serde(deserialize_with = "bounds::point")]
    pub at: DVec2,
    /// The half it is set into.
    pub half: Half,
    /// Kind and size.
    pub kind: FeatureKind,
    /// How far it stands into the channel from the channel floor of its half, mm.
    #[serde(deserialize_with = "bounds::protrusion")]
    pub protrusion_mm: f64,
    /// A measured pull-off curve, travel in mm against force in N; takes the place of the computed one.
    #[serde(default)]
    pub measured: Option<PullOff>,
}

impl KeyingFeature {
    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        bounds::check_point(self.at)?;
        check_all(&[(bounds::PROTRUSION, self.protrusion_mm)])?;
        self.kind.check()
    }
}
