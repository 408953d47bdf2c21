//! The hole that a feature needs.

use keepside_model::{FeatureKind, KeyingFeature, Lock, ScrewEnd, ThreadSize};

use super::lock::Locking;
use super::screw::Screw;
use super::seat_mm;
use crate::hardware;

/// Height of the point of a drill with a point angle of 118°, in diameters: ½ / tan 59°.
const DRILL_POINT: f64 = 0.300_43;

/// Pitches at the bottom of a blind hole that a tap with a short lead does not cut fully. Common practice,
/// no source.
const TAP_LEAD_PITCHES: f64 = 4.0;

/// Pitches of thread beyond the screw's end, so that it can be turned in a little. Assumed.
const SPARE_PITCHES: f64 = 2.0;

/// How deep a hole goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Depth {
    /// Right through the plate.
    Through,
    /// Full diameter to this depth below the parting face, mm, then the drill's point.
    Blind {
        /// Depth of the full diameter below the parting face, mm.
        full_mm: f64,
        /// Height of the point, mm.
        point_mm: f64,
        /// Plate left between the point and the plate's back, mm; negative if the drill comes out.
        left_mm: f64,
    },
    /// A seat of the full diameter to this depth below the parting face, mm, with a smaller hole through the
    /// rest of the plate.
    Seat {
        /// Depth of the seat below the parting face, mm.
        full_mm: f64,
        /// Diameter of the hole behind it, mm.
        behind_mm: f64,
    },
}

/// The thread cut into a hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thread {
    /// Its size, ISO metric coarse.
    pub size: ThreadSize,
    /// Full thread to this depth below the channel floor, mm; `None` for right through.
    pub depth_mm: Option<f64>,
}

/// The wider end of a hole at the plate's back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opening {
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// It must stop this far behind the channel floor, mm.
    pub beyond_mm: f64,
}

/// The hole that a feature needs, drilled from the parting face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hole {
    /// Diameter of the drill, mm.
    pub drill_mm: f64,
    /// How deep to drill.
    pub depth: Depth,
    /// Thread to cut; `None` for a reamed hole.
    pub thread: Option<Thread>,
    /// Diameter to ream to, mm; `None` for a tapped hole.
    pub ream_mm: Option<f64>,
    /// How the hole may be opened from behind, so that less thread is to be cut.
    pub opening: Option<Opening>,
}

impl Hole {
    pub(super) fn of(
        feature: &KeyingFeature,
        screw: Option<&Screw>,
        locking: &Locking,
        floor_mm: f64,
        steel_mm: f64,
    ) -> Self {
        match screw {
            Some(screw) => Self::tapped(feature, screw, locking, floor_mm, steel_mm),
            None => Self::reamed(seat_mm(&feature.kind).unwrap_or(0.0), locking, floor_mm, steel_mm),
        }
    }

    /// Tapped. Right through if anything is to reach the screw from behind, else blind, so that no plastic
    /// can creep along the thread to the plate's back.
    fn tapped(
        feature: &KeyingFeature,
        screw: &Screw,
        locking: &Locking,
        floor_mm: f64,
        steel_mm: f64,
    ) -> Self {
        let of = hardware::thread(screw.thread);
        let is_turned_over =
            matches!(feature.kind, FeatureKind::SetScrew { end, .. } if end != ScrewEnd::Socket);
        let back_mm = locking.back_screw.map_or(0.0, |(_, length_mm)| length_mm);
        let thread_mm = screw.in_plate_mm.max(0.0) + back_mm + SPARE_PITCHES * of.pitch_mm;
        let thread_mm = half_millimetre_up(thread_mm);
        let (depth, depth_mm) = if is_turned_over || locking.way == Lock::BackScrew {
            (Depth::Through, None)
        } else {
            let full_mm = half_millimetre_up(floor_mm + thread_mm + TAP_LEAD_PITCHES * of.pitch_mm);
            let point_mm = DRILL_POINT * of.tap_drill_mm;
            let left_mm = floor_mm + steel_mm - full_mm - point_mm;
            (Depth::Blind { full_mm, point_mm, left_mm }, Some(thread_mm))
        };
        // Opened only where it saves a good deal of tapping: two diameters, common practice, no source.
        let opening = (depth_mm.is_none() && steel_mm > thread_mm + 2.0 * of.nominal_mm)
            .then_some(Opening { diameter_mm: of.clearance_medium_mm, beyond_mm: thread_mm });
        Self {
            drill_mm: of.tap_drill_mm,
            depth,
            thread: Some(Thread { size: screw.thread, depth_mm }),
            ream_mm: None,
            opening,
        }
    }

    /// Reamed for a press fit. In thick steel the seat is four diameters long, with a knock-out hole behind
    /// it (common practice, no source); a screw behind the post takes its place.
    fn reamed(seat_mm: f64, locking: &Locking, floor_mm: f64, steel_mm: f64) -> Self {
        let length_mm = 4.0 * seat_mm;
        // A depth is set on the drill's stop: half a millimetre is what it can be read to.
        let full_mm = half_millimetre_up(floor_mm + length_mm);
        let behind_mm = (seat_mm * 5.0).floor() / 10.0;
        let depth = match locking.back_screw {
            None if steel_mm > length_mm + 2.0 * seat_mm => Depth::Seat { full_mm, behind_mm },
            _ => Depth::Through,
        };
        let opening = locking.back_screw.map(|(thread, screw_mm)| Opening {
            diameter_mm: hardware::thread(thread).tap_drill_mm,
            beyond_mm: length_mm.min((steel_mm - screw_mm).max(0.0)),
        });
        Self {
            drill_mm: drill_before_reaming_mm(seat_mm),
            depth,
            thread: None,
            ream_mm: Some(seat_mm),
            opening,
        }
    }
}

fn half_millimetre_up(value_mm: f64) -> f64 {
    (2.0 * value_mm - 1e-6).ceil() / 2.0
}

/// Drill for a hole that is then reamed, mm. Allowance 0.1 mm below 2 mm, 0.2 mm below 5 mm, 0.3 mm below
/// 20 mm, else 0.5 mm: common practice, no source.
pub fn drill_before_reaming_mm(diameter_mm: f64) -> f64 {
    let allowance_mm = match diameter_mm {
        d if d < 2.0 => 0.1,
        d if d < 5.0 => 0.2,
        d if d < 20.0 => 0.3,
        _ => 0.5,
    };
    diameter_mm - allowance_mm
}
