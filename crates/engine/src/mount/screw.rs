//! The screw of a feature: its length, its thread in the plate, its back end.

use keepside_model::{FeatureKind, KeyingFeature, ScrewEnd, ThreadSize};

use crate::hardware::{self, Sold, Stock};

/// Lengths are compared with this much slack, mm, so that a length of exactly what is needed passes.
const SLACK_MM: f64 = 1e-6;

/// A screw set into a plate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Screw {
    /// What is bought.
    pub stock: Stock,
    /// Its thread.
    pub thread: ThreadSize,
    /// Its length, mm; of a cap screw without the head.
    pub length_mm: f64,
    /// Whether the user gave the length; else it is the shortest sold that gives the engagement asked for.
    pub is_given: bool,
    /// Whether that length is sold.
    pub sold: Sold,
    /// From the channel floor to its back end, mm; may be more than the plate, and negative for a screw that
    /// does not reach the plate.
    pub in_plate_mm: f64,
    /// Length of full thread in the plate, mm, without the chamfered end; at least 0.
    pub engagement_mm: f64,
    /// The same in nominal diameters.
    pub engagement_diameters: f64,
    /// How far its back end lies inside the plate's back, mm; negative if it sticks out.
    pub back_mm: f64,
}

impl Screw {
    /// The screw of a feature in `steel_mm` of plate; `None` for what is turned.
    pub(super) fn of(feature: &KeyingFeature, steel_mm: f64, engagement_diameters: f64) -> Option<Self> {
        let (stock, thread) = Stock::of(&feature.kind)?;
        let seat = Seat::of(feature, thread, steel_mm);
        if let Some(length_mm) = feature.screw_length_mm {
            let sold = hardware::sold(stock, thread, length_mm);
            return Some(seat.screw(stock, thread, length_mm, true, sold));
        }
        let all: Vec<Self> = hardware::lengths(stock, thread)
            .map(|(length_mm, sold)| seat.screw(stock, thread, length_mm, false, sold))
            .collect();
        let is_inside = |screw: &&Self| screw.back_mm >= -SLACK_MM;
        let is_enough =
            |screw: &&Self| screw.engagement_diameters >= engagement_diameters - SLACK_MM && is_inside(screw);
        let is_sure = |screw: &&Self| screw.sold == Sold::Yes;
        // The shortest that holds, rather one that is surely sold; else what holds most and does not stick out.
        let found = all.iter().find(|screw| is_sure(screw) && is_enough(screw));
        let found = found.or_else(|| all.iter().find(is_enough));
        let found = found.or_else(|| all.iter().rev().find(|screw| is_sure(screw) && is_inside(screw)));
        let found = found.or_else(|| all.iter().rev().find(is_inside));
        found.or_else(|| all.first()).copied()
    }

    /// Whether its back end sticks out of the plate.
    pub fn sticks_out(&self) -> bool {
        self.back_mm < -SLACK_MM
    }

    /// Whether it has as many diameters of thread in the plate as asked for.
    pub fn is_engaged(&self, diameters: f64) -> bool {
        self.engagement_diameters >= diameters - SLACK_MM
    }
}

/// Where a screw sits, whatever its length.
struct Seat {
    /// Length that stands above the channel floor, mm; negative for a head sunk below it.
    above_mm: f64,
    /// Plate behind the channel floor, mm.
    steel_mm: f64,
    nominal_mm: f64,
    /// Height of the chamfer at the end in the plate, mm.
    lead_mm: f64,
    /// Length below the channel floor that has no thread: a point or a head that stands deep, mm.
    bare_mm: f64,
    /// The longest thread that the screw can have, mm.
    thread_mm: f64,
}

impl Seat {
    fn of(feature: &KeyingFeature, size: ThreadSize, steel_mm: f64) -> Self {
        let thread = hardware::thread(size);
        let set = hardware::set_screw(size);
        let nominal_mm = thread.nominal_mm;
        let (above_mm, lead_mm, bare_mm, thread_mm) = match feature.kind {
            FeatureKind::CapHead { .. } => {
                let head = hardware::cap_head(size);
                let above_mm = feature.protrusion_mm - head.head_height_mm;
                (above_mm, thread.thread_depth_mm, (-above_mm).max(0.0), head.thread_length_mm)
            }
            FeatureKind::SetScrew { end: ScrewEnd::Socket, .. } => {
                // The point is in the plate: a flat one, chamfered at 45°.
                let lead_mm = 0.5 * (nominal_mm - set.flat_point_mm);
                (feature.protrusion_mm, lead_mm, 0.0, f64::INFINITY)
            }
            FeatureKind::SetScrew { end, .. } => {
                let point_mm = point_height_mm(end, size);
                let bare_mm = (point_mm - feature.protrusion_mm).max(0.0);
                // The socket's end is chamfered at 45° to the root of the thread.
                (feature.protrusion_mm, thread.thread_depth_mm, bare_mm, f64::INFINITY)
            }
            FeatureKind::TurnedHead { .. }
            | FeatureKind::PlainPost { .. }
            | FeatureKind::RingedPost { .. } => (0.0, 0.0, 0.0, 0.0),
        };
        Self { above_mm, steel_mm, nominal_mm, lead_mm, bare_mm, thread_mm }
    }

    fn screw(&self, stock: Stock, thread: ThreadSize, length_mm: f64, is_given: bool, sold: Sold) -> Screw {
        let in_plate_mm = length_mm - self.above_mm;
        let threaded_mm = (in_plate_mm - self.lead_mm).min(self.steel_mm) - self.bare_mm;
        let engagement_mm = threaded_mm.min(self.thread_mm - self.lead_mm).max(0.0);
        Screw {
            stock,
            thread,
            length_mm,
            is_given,
            sold,
            in_plate_mm,
            engagement_mm,
            engagement_diameters: engagement_mm / self.nominal_mm,
            back_mm: self.steel_mm - in_plate_mm,
        }
    }
}

/// Height of a point without full thread, mm. Flat and cup points are chamfered at 45°; of a dog the long
/// one is counted, of a cone (90°) the whole, so that no uncertain value is used and the thread behind is
/// rather counted too short.
fn point_height_mm(end: ScrewEnd, size: ThreadSize) -> f64 {
    let (nominal_mm, set) = (hardware::nominal_diameter_mm(size), hardware::set_screw(size));
    match end {
        ScrewEnd::Socket | ScrewEnd::Flat => 0.5 * (nominal_mm - set.flat_point_mm),
        ScrewEnd::Cup => 0.5 * (nominal_mm - set.cup_point_mm),
        ScrewEnd::Cone => 0.5 * nominal_mm,
        ScrewEnd::Dog => set.dog_long_mm + 0.5 * (nominal_mm - set.dog_point_mm),
    }
}
