//! Keying features to scale: the half profile of the steel, its recesses, and its outlines in plan.
//!
//! Pure geometry for drawings and for the holds that follow from it. Heights count from the channel floor
//! of the feature's own half, up into the channel.

mod ejector;
mod screw;
mod turned;

use keepside_model::{FeatureKind, KeyingFeature};

use crate::hardware;

pub use ejector::{EjectorFace, Groove, of_ejector};
pub(crate) use ejector::{Grooved, crossings};
pub use screw::{Point, point, socket};

/// A place on a half profile: (radius mm, height over the channel floor of its own half mm).
pub type ProfilePoint = (f64, f64);

/// A keying feature cut through its axis and seen from above.
#[derive(Clone, Debug, PartialEq)]
pub struct Silhouette {
    /// The steel to one side of the axis: from its lowest drawn place, on the axis if the feature ends there,
    /// up along its outside to its top on the axis. Recesses are not cut out.
    pub profile: Vec<ProfilePoint>,
    /// The steel to the other side of the axis: a thread stands half a pitch higher or lower there; all else
    /// is the same.
    pub far_profile: Vec<ProfilePoint>,
    /// Recesses, cut from the top downwards or from the lower end upwards.
    pub recesses: Vec<Recess>,
    /// Outlines in plan, the largest first.
    pub plan: Vec<PlanLine>,
    /// Height of its top over the channel floor, mm.
    pub top_mm: f64,
    /// What of this is not certain, in words; `None` if all of it is in the hardware tables or drawn by the
    /// user.
    pub uncertain: Option<&'static str>,
}

/// A hollow in an end of a feature.
#[derive(Clone, Debug, PartialEq)]
pub struct Recess {
    /// What it is.
    pub kind: RecessKind,
    /// Its half profile, from its rim to its bottom on the axis; a hexagon is cut across its corners.
    pub profile: Vec<ProfilePoint>,
}

/// Kinds of hollows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RecessKind {
    /// A hexagon socket. Its bottom is drawn flat: the cone of the drill in it is left out.
    Hexagon {
        /// Width across flats, mm.
        across_flats_mm: f64,
        /// Depth, mm.
        depth_mm: f64,
    },
    /// The hollow of a cup point, a cone.
    Cup {
        /// Diameter at its rim, mm.
        diameter_mm: f64,
        /// Depth, mm.
        depth_mm: f64,
    },
}

/// A line of the plan, about the feature's centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanLine {
    /// Its shape.
    pub shape: PlanShape,
    /// Whether something above hides it.
    pub is_hidden: bool,
}

/// Shapes in plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PlanShape {
    /// A circle.
    Circle {
        /// Diameter, mm.
        diameter_mm: f64,
    },
    /// A regular hexagon, two sides of it parallel to x.
    Hexagon {
        /// Width across flats, mm.
        across_flats_mm: f64,
    },
}

impl PlanLine {
    pub(crate) const fn circle(diameter_mm: f64) -> Self {
        Self { shape: PlanShape::Circle { diameter_mm }, is_hidden: false }
    }

    pub(crate) const fn hidden(diameter_mm: f64) -> Self {
        Self { shape: PlanShape::Circle { diameter_mm }, is_hidden: true }
    }

    pub(crate) const fn hexagon(across_flats_mm: f64) -> Self {
        Self { shape: PlanShape::Hexagon { across_flats_mm }, is_hidden: false }
    }
}

/// Width across corners of a hexagon, mm, from its width across flats: `2/√3` of it.
pub fn across_corners_mm(across_flats_mm: f64) -> f64 {
    2.0 / 3.0_f64.sqrt() * across_flats_mm
}

/// The feature to scale, drawn down to `below_mm` under the channel floor, or to its lower end if its length
/// is known and it ends higher.
pub fn of_feature(feature: &KeyingFeature, below_mm: f64) -> Silhouette {
    let top_mm = feature.protrusion_mm;
    let from_mm = -below_mm.max(0.0);
    match feature.kind {
        FeatureKind::SetScrew { thread, end } => {
            screw::set_screw(thread, end, top_mm, from_mm, feature.screw_length_mm)
        }
        FeatureKind::CapHead { thread, turned_mm, chamfer_mm } => {
            let bought = hardware::cap_head(thread);
            let head = turned::CapHead {
                bought,
                head_mm: turned_mm.unwrap_or(f64::INFINITY).min(bought.head_diameter_mm),
                chamfer_mm,
            };
            turned::cap_head(thread, head, top_mm, from_mm, feature.screw_length_mm)
        }
        FeatureKind::TurnedHead { head_diameter_mm, neck_diameter_mm, head_height_mm, underside_deg } => {
            let head = turned::Head {
                head_mm: head_diameter_mm,
                neck_mm: neck_diameter_mm,
                height_mm: head_height_mm,
                slope: underside_deg.to_radians().tan(),
            };
            turned::head(head, top_mm, from_mm)
        }
        FeatureKind::PlainPost { diameter_mm } => turned::post(diameter_mm, top_mm, from_mm),
        FeatureKind::RingedPost { diameter_mm, ring_depth_mm, ring_width_mm, land_mm, flank_deg } => {
            let ring = turned::Ring {
                depth_mm: ring_depth_mm,
                width_mm: ring_width_mm,
                land_mm,
                slope: flank_deg.to_radians().tan(),
            };
            turned::ringed_post(diameter_mm, ring, top_mm, from_mm)
        }
    }
}

impl Silhouette {
    /// Something turned, the same all round.
    fn turned(profile: Vec<ProfilePoint>, plan: Vec<PlanLine>, top_mm: f64) -> Self {
        let far_profile = profile.clone();
        Self { profile, far_profile, recesses: Vec::new(), plan, top_mm, uncertain: None }
    }

    /// Radius of the steel's outside at a height, mm: the largest there; none above its top and below what is
    /// drawn.
    pub fn radius_mm(&self, height_mm: f64) -> Option<f64> {
        let at = |pair: &[ProfilePoint]| {
            let (from, to) = (pair[0], pair[1]);
            let (low, high) = (from.1.min(to.1), from.1.max(to.1));
            if !(low..=high).contains(&height_mm) {
                return None;
            }
            let share = if high > low { (height_mm - from.1) / (to.1 - from.1) } else { 0.0 };
            let radius_mm = from.0 + share * (to.0 - from.0);
            Some(if high > low { radius_mm } else { radius_mm.max(to.0) })
        };
        self.profile.windows(2).filter_map(at).reduce(f64::max)
    }
}

#[cfg(test)]
mod tests;
