//! The key that turns a screw, and how deep it must reach.

use keepside_model::{FeatureKind, KeyingFeature, ScrewEnd};

use super::screw::Screw;
use crate::hardware::{self, KeyArm, hex_key};

/// A face of the plate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    /// The parting face, on which the channel is.
    Parting,
    /// The back, which lies on the press.
    Back,
}

/// The key that turns a screw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Key {
    /// Its width across flats, mm.
    pub width_mm: f64,
    /// The face from which it goes in.
    pub from: Face,
    /// From that face to the mouth of the socket, mm; 0 if the socket stands at the face or beyond.
    pub distance_mm: f64,
    /// How deep it must reach from the face to fill the socket, mm.
    pub needed_mm: f64,
    /// The shortest arm that reaches; `None` if none does.
    pub arm: Option<KeyArm>,
}

impl Key {
    /// The key of a feature's screw, which is turned over if its point stands in the channel.
    pub(super) fn of(feature: &KeyingFeature, screw: &Screw, floor_mm: f64, steel_mm: f64) -> Self {
        let set = hardware::set_screw(screw.thread);
        let head = hardware::cap_head(screw.thread);
        let (width_mm, depth_mm, is_behind) = match feature.kind {
            FeatureKind::CapHead { .. } => (head.socket_mm, head.socket_depth_mm, false),
            FeatureKind::SetScrew { end: ScrewEnd::Socket, .. } => {
                (set.socket_mm, set.socket_depth_long_mm, false)
            }
            // The long socket is the deeper one; to count it for a short screw too asks for no less reach.
            FeatureKind::SetScrew { .. }
            | FeatureKind::TurnedHead { .. }
            | FeatureKind::PlainPost { .. }
            | FeatureKind::RingedPost { .. } => (set.socket_mm, set.socket_depth_long_mm, true),
        };
        let (from, distance_mm) = if is_behind {
            (Face::Back, (steel_mm - screw.in_plate_mm).max(0.0))
        } else {
            (Face::Parting, (floor_mm - feature.protrusion_mm).max(0.0))
        };
        let needed_mm = distance_mm + depth_mm;
        let arm = hex_key(width_mm)
            .and_then(|key| KeyArm::ALL.into_iter().find(|arm| key.reach_mm(*arm) >= needed_mm - 1e-6));
        Self { width_mm, from, distance_mm, needed_mm, arm }
    }

    /// How deep the longest arm of this key reaches, mm.
    pub fn longest_reach_mm(&self) -> f64 {
        hex_key(self.width_mm).map_or(0.0, |key| key.reach_mm(KeyArm::Longest))
    }
}
