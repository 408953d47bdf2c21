//! How a keying feature is mounted in its plate: which screw, which hole, which key, how it is locked.
//!
//! Depths are counted from the channel floor at the feature's centre towards the plate's back, unless said
//! otherwise, in mm. Nothing here judges: what is not as it should be is told by the findings.

mod hole;
mod key;
mod lock;
mod screw;
#[cfg(test)]
mod tests;
mod words;

use keepside_model::{FeatureKind, Half, Id, KeyingFeature, Project};

pub use hole::{Depth, Hole, Opening, Thread, drill_before_reaming_mm};
pub use key::{Face, Key};
pub use lock::{LockProblem, Locking};
pub use screw::Screw;

use crate::outline;

/// How a keying feature is mounted.
#[derive(Clone, Debug, PartialEq)]
pub struct Mount {
    /// What is mounted.
    pub kind: FeatureKind,
    /// The half it is set into.
    pub half: Half,
    /// How far it stands above the channel floor, mm.
    pub protrusion_mm: f64,
    /// Depth of the channel floor below the parting face, mm; 0 outside the channel.
    pub floor_mm: f64,
    /// Plate from the channel floor to the plate's back, mm; at least 0.
    pub steel_mm: f64,
    /// The screw; `None` for what is turned.
    pub screw: Option<Screw>,
    /// The hole that it needs.
    pub hole: Hole,
    /// The key that turns the screw; `None` for what is turned.
    pub key: Option<Key>,
    /// How it is kept in place.
    pub locking: Locking,
}

/// How the feature `id` is mounted; `None` if there is no such feature.
pub fn of(project: &Project, id: Id) -> Option<Mount> {
    let feature = project.features.get(&id)?;
    let floor_mm = outline::depth_in_half_mm(project, feature.half, feature.at);
    Some(mounted(project, feature, floor_mm))
}

/// How a feature would be mounted where the channel floor is `floor_mm` below the parting face.
pub(crate) fn mounted(project: &Project, feature: &KeyingFeature, floor_mm: f64) -> Mount {
    let steel_mm = (project.plates.thickness_mm(feature.half) - floor_mm).max(0.0);
    let engagement = project.limits.engagement_diameters;
    let screw = Screw::of(feature, steel_mm, engagement);
    let locking = Locking::of(feature, screw.as_ref(), steel_mm);
    let hole = Hole::of(feature, screw.as_ref(), &locking, floor_mm, steel_mm);
    let key = screw.as_ref().map(|screw| Key::of(feature, screw, floor_mm, steel_mm));
    Mount {
        kind: feature.kind,
        half: feature.half,
        protrusion_mm: feature.protrusion_mm,
        floor_mm,
        steel_mm,
        screw,
        hole,
        key,
        locking,
    }
}

/// The part of a turned feature that sits in the plate, mm across; `None` for screws.
const fn seat_mm(kind: &FeatureKind) -> Option<f64> {
    match *kind {
        FeatureKind::TurnedHead { neck_diameter_mm, .. } => Some(neck_diameter_mm),
        FeatureKind::PlainPost { diameter_mm } | FeatureKind::RingedPost { diameter_mm, .. } => {
            Some(diameter_mm)
        }
        FeatureKind::SetScrew { .. } | FeatureKind::CapHead { .. } => None,
    }
}
