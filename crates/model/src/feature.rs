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

/// The end of a set screw that stands in the channel.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum ScrewEnd {
    /// The end with the socket, adjusted from the parting face; a plug of plastic fills the socket.
    #[default]
    Socket,
    /// Turned over, flat point up (ISO 4026).
    Flat,
    /// Turned over, cup point up (ISO 4029).
    Cup,
    /// Turned over, cone point up (ISO 4027).
    Cone,
    /// Turned over, dog point up (ISO 4028).
    Dog,
}

impl ScrewEnd {
    /// All ends.
    pub const ALL: [Self; 5] = [Self::Socket, Self::Flat, Self::Cup, Self::Cone, Self::Dog];

    /// The end in the user's words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Socket => "socket up",
            Self::Flat => "flat point up",
            Self::Cup => "cup point up",
            Self::Cone => "cone point up",
            Self::Dog => "dog point up",
        }
    }
}

/// How a keying feature is kept from turning or working loose.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Lock {
    /// As is usual for its kind: a screw by a second screw behind it, a post by its press fit.
    #[default]
    Usual,
    /// A second set screw driven against it from behind.
    BackScrew,
    /// Thread-locking compound that stands the mould's heat.
    Compound,
    /// A press fit.
    PressFit,
    /// Not locked, so that it can be adjusted between shots.
    Loose,
}

impl Lock {
    /// All ways.
    pub const ALL: [Self; 5] = [Self::Usual, Self::BackScrew, Self::Compound, Self::PressFit, Self::Loose];

    /// The way in the user's words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Usual => "as usual",
            Self::BackScrew => "second screw behind",
            Self::Compound => "thread-locking compound",
            Self::PressFit => "press fit",
            Self::Loose => "not locked",
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
        /// The end that stands in the channel.
        #[serde(default)]
        end: ScrewEnd,
    },
    /// The head of a socket cap screw standing in the channel, flat underside towards the plate.
    CapHead {
        /// Thread size, ISO metric coarse; the head follows from it.
        thread: ThreadSize,
        /// Diameter to which the head is turned down, mm; `None` as bought.
        #[serde(default, deserialize_with = "bounds::turned")]
        turned_mm: Option<f64>,
        /// Chamfer of 45° on the rim of the underside, mm; it lets the plastic climb over the rim.
        #[serde(default, deserialize_with = "bounds::chamfer")]
        chamfer_mm: f64,
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
    /// A plain post with an undercut ring turned into its side.
    RingedPost {
        /// Diameter of the post, mm.
        #[serde(deserialize_with = "bounds::feature_size")]
        diameter_mm: f64,
        /// Depth of the ring on the radius, mm.
        #[serde(deserialize_with = "bounds::ring")]
        ring_depth_mm: f64,
        /// Width of the ring at the post's side, along the post, mm.
        #[serde(deserialize_with = "bounds::ring")]
        ring_width_mm: f64,
        /// From the post's top to the upper edge of the ring, mm.
        #[serde(deserialize_with = "bounds::ring")]
        land_mm: f64,
        /// Angle of the ring's upper flank to the parting plane, degrees: 0 = square.
        #[serde(deserialize_with = "bounds::underside")]
        flank_deg: f64,
    },
}

impl FeatureKind {
    /// A set screw, socket up.
    pub const fn set_screw(thread: ThreadSize) -> Self {
        Self::SetScrew { thread, end: ScrewEnd::Socket }
    }

    /// A cap screw head as bought.
    pub const fn cap_head(thread: ThreadSize) -> Self {
        Self::CapHead { thread, turned_mm: None, chamfer_mm: 0.0 }
    }

    /// The thread of a screw; `None` for what is turned.
    pub const fn thread(&self) -> Option<ThreadSize> {
        match *self {
            Self::SetScrew { thread, .. } | Self::CapHead { thread, .. } => Some(thread),
            Self::TurnedHead { .. } | Self::PlainPost { .. } | Self::RingedPost { .. } => None,
        }
    }

    /// The kind in the user's words.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::SetScrew { .. } => "set screw",
            Self::CapHead { .. } => "cap screw head",
            Self::TurnedHead { .. } => "turned head",
            Self::PlainPost { .. } => "plain post",
            Self::RingedPost { .. } => "ringed post",
        }
    }

    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        match *self {
            Self::SetScrew { .. } => Ok(()),
            Self::CapHead { turned_mm, chamfer_mm, .. } => {
                turned_mm.map_or(Ok(()), |turned_mm| check_all(&[(bounds::FEATURE_SIZE, turned_mm)]))?;
                check_all(&[(bounds::CHAMFER, chamfer_mm)])
            }
            Self::TurnedHead { head_diameter_mm, neck_diameter_mm, head_height_mm, underside_deg } => {
                check_all(&[
                    (bounds::FEATURE_SIZE, head_diameter_mm),
                    (bounds::FEATURE_SIZE, neck_diameter_mm),
                    (bounds::FEATURE_SIZE, head_height_mm),
                    (bounds::UNDERSIDE, underside_deg),
                ])
            }
            Self::PlainPost { diameter_mm } => check_all(&[(bounds::FEATURE_SIZE, diameter_mm)]),
            Self::RingedPost { diameter_mm, ring_depth_mm, ring_width_mm, land_mm, flank_deg } => {
                check_all(&[
                    (bounds::FEATURE_SIZE, diameter_mm),
                    (bounds::RING, ring_depth_mm),
                    (bounds::RING, ring_width_mm),
                    (bounds::RING, land_mm),
                    (bounds::UNDERSIDE, flank_deg),
                ])
            }
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
    /// Length of the screw, mm; `None` for the shortest standard one that reaches, and for posts.
    #[serde(default, deserialize_with = "bounds::screw_length")]
    pub screw_length_mm: Option<f64>,
    /// How it is kept in place.
    #[serde(default)]
    pub lock: Lock,
    /// A measured pull-off curve, travel in mm against force in N; takes the place of the computed one.
    #[serde(default)]
    pub measured: Option<PullOff>,
}

impl KeyingFeature {
    /// A feature as it is first put in: no name, the usual screw and lock.
    pub const fn new(at: DVec2, half: Half, kind: FeatureKind, protrusion_mm: f64) -> Self {
        Self {
            name: String::new(),
            at,
            half,
            kind,
            protrusion_mm,
            screw_length_mm: None,
            lock: Lock::Usual,
            measured: None,
        }
    }

    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        bounds::check_point(self.at)?;
        check_all(&[(bounds::PROTRUSION, self.protrusion_mm)])?;
        if let Some(length_mm) = self.screw_length_mm {
            check_all(&[(bounds::SCREW_LENGTH, length_mm)])?;
        }
        self.kind.check()
    }
}
