//! The face of an ejector pin and its grooves.

use glam::DVec2;
use keepside_model::{Ejector, Grooves};

/// An ejector's face to scale: a cut across its grooves, and the grooves in plan.
#[derive(Clone, Debug, PartialEq)]
pub struct EjectorFace {
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// The face cut across one set of grooves, from one side of the pin to the other: (mm from the axis,
    /// height over the face mm; in a groove it is negative). Plain: a straight line.
    pub across: Vec<(f64, f64)>,
    /// The grooves in plan, about the pin's centre.
    pub grooves: Vec<Groove>,
    /// Directions of the sets of grooves, degrees counter-clockwise from x; none on a plain face. How the pin
    /// is turned in its bore is up to the toolmaker: they are drawn along x, and along y if they cross.
    pub directions_deg: Vec<f64>,
    /// Why it cannot be made as drawn, or why the drawing differs from the numbers; `None` if it is sound.
    pub uncertain: Option<&'static str>,
}

/// A groove in the plan of a face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Groove {
    /// Its mouth's centre line at one rim of the face, mm from the pin's centre.
    pub from: DVec2,
    /// And at the other.
    pub to: DVec2,
    /// Width of its mouth, mm.
    pub mouth_mm: f64,
    /// Width of its bottom, mm.
    pub bottom_mm: f64,
}

/// The grooves that fit into a face, by number.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Grooved {
    /// Offsets of the centre lines of one set from the pin's axis, mm, ascending.
    pub(crate) offsets_mm: Vec<f64>,
    pub(crate) mouth_mm: f64,
    /// Width at the bottom, mm.
    pub(crate) bottom_mm: f64,
    /// Depth, mm: less than asked for where leaning sides of neighbours would meet.
    pub(crate) depth_mm: f64,
    pub(crate) lean_rad: f64,
    pub(crate) radius_mm: f64,
    pub(crate) uncertain: Option<&'static str>,
}

/// Least steel between two grooves at their bottoms as a share of the rib between their mouths, and beside the
/// last one at the rim as a share of its mouth. Assumed: what is left for it to be there at all.
const RIB_SHARE: f64 = 0.1;

impl Grooved {
    /// One set of grooves: as many as have their whole bottom within the face and steel beside them, in the
    /// middle of it.
    pub(crate) fn new(diameter_mm: f64, grooves: &Grooves) -> Self {
        let &Grooves { pitch_mm, mouth_mm, depth_mm, lean_deg } = grooves;
        let radius_mm = 0.5 * diameter_mm;
        let lean_rad = lean_deg.to_radians();
        let rib_mm = pitch_mm - mouth_mm;
        let slope = lean_rad.tan();
        let room_mm = 0.5 * (1.0 - RIB_SHARE) * rib_mm;
        let (depth_mm, mut uncertain) = if slope * depth_mm > room_mm && slope > 0.0 {
            (room_mm.max(0.0) / slope, Some("the grooves would meet under the face: drawn less deep"))
        } else {
            (depth_mm, None)
        };
        let bottom_mm = mouth_mm + 2.0 * depth_mm * slope;
        let mut offsets_mm = Vec::new();
        if rib_mm <= 0.0 {
            uncertain = Some("the grooves are as wide as they are apart: nothing of the face is left");
        } else if 0.5 * bottom_mm < radius_mm {
            let lip_mm = RIB_SHARE * mouth_mm;
            let fit = ((2.0 * (radius_mm - lip_mm) - bottom_mm) / pitch_mm).floor().max(0.0);
            let first = -0.5 * fit * pitch_mm;
            let mut offset_mm = first;
            while offset_mm <= -first + 1e-9 * pitch_mm.max(1.0) {
                offsets_mm.push(offset_mm);
                offset_mm += pitch_mm;
            }
        } else {
            uncertain = Some("not one groove fits into the face");
        }
        Self { offsets_mm, mouth_mm, bottom_mm, depth_mm, lean_rad, radius_mm, uncertain }
    }

    /// Length of a groove across the face, along its centre line, mm.
    pub(crate) fn length_mm(&self, offset_mm: f64) -> f64 {
        2.0 * (self.radius_mm.powi(2) - offset_mm.powi(2)).max(0.0).sqrt()
    }

    /// Length of all grooves of the set, mm.
    pub(crate) fn all_mm(&self) -> f64 {
        self.offsets_mm.iter().map(|offset_mm| self.length_mm(*offset_mm)).sum()
    }
}

/// Number of places within the face at which two equal sets of grooves cross at a right angle.
pub(crate) fn crossings(set: &Grooved) -> usize {
    let inside = |a: f64, b: f64| a.hypot(b) < set.radius_mm;
    set.offsets_mm.iter().map(|a| set.offsets_mm.iter().filter(|b| inside(*a, **b)).count()).sum()
}

/// The face of an ejector to scale.
pub fn of_ejector(ejector: &Ejector) -> EjectorFace {
    let radius_mm = 0.5 * ejector.diameter_mm;
    let plain = |uncertain| EjectorFace {
        diameter_mm: ejector.diameter_mm,
        across: vec![(-radius_mm, 0.0), (radius_mm, 0.0)],
        grooves: Vec::new(),
        directions_deg: Vec::new(),
        uncertain,
    };
    let directions_deg: &[f64] = match ejector.face {
        keepside_model::EjectorFace::Plain => &[],
        keepside_model::EjectorFace::Grooved => &[0.0],
        keepside_model::EjectorFace::Crossed => &[0.0, 90.0],
    };
    if directions_deg.is_empty() {
        return plain(None);
    }
    let set = Grooved::new(ejector.diameter_mm, &ejector.grooves);
    let (mouth_mm, bottom_mm) = (set.mouth_mm, set.bottom_mm);
    let mut across = vec![(-radius_mm, 0.0)];
    for offset_mm in &set.offsets_mm {
        across.extend([
            (offset_mm - 0.5 * mouth_mm, 0.0),
            (offset_mm - 0.5 * bottom_mm, -set.depth_mm),
            (offset_mm + 0.5 * bottom_mm, -set.depth_mm),
            (offset_mm + 0.5 * mouth_mm, 0.0),
        ]);
    }
    across.push((radius_mm, 0.0));
    let line = |direction_deg: f64, offset_mm: f64| {
        let along = DVec2::from_angle(direction_deg.to_radians());
        let middle = along.perp() * offset_mm;
        let half = along * (0.5 * set.length_mm(offset_mm));
        Groove { from: middle - half, to: middle + half, mouth_mm, bottom_mm }
    };
    let grooves = directions_deg
        .iter()
        .flat_map(|direction_deg| set.offsets_mm.iter().map(|offset_mm| line(*direction_deg, *offset_mm)))
        .collect();
    EjectorFace { across, grooves, directions_deg: directions_deg.to_vec(), ..plain(set.uncertain) }
}
