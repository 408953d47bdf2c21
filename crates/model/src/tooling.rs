//! What the part is made with: plates, press, sprues and vents.

use glam::DVec2;
use serde::{Deserialize, Serialize};

use crate::bounds::{self, OutOfRange, check_all};
use crate::pull_off::PullOff;

/// One of the two halves of the mould.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Half {
    /// The half that retreats; the part must stay on it.
    Moving,
    /// The half on the injection side.
    Fixed,
}

impl Half {
    /// The half opposite.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Moving => Self::Fixed,
            Self::Fixed => Self::Moving,
        }
    }

    /// "moving" or "fixed".
    pub const fn word(self) -> &'static str {
        match self {
            Self::Moving => "moving",
            Self::Fixed => "fixed",
        }
    }
}

/// The two plates: equal outlines, own thicknesses, and the holes that are there already.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plates {
    /// Size along x, mm. The plan's origin is the lower left corner of the moving plate.
    #[serde(deserialize_with = "bounds::plate_size")]
    pub width_mm: f64,
    /// Size along y, mm.
    #[serde(deserialize_with = "bounds::plate_size")]
    pub height_mm: f64,
    /// Thickness of the moving plate, mm.
    #[serde(deserialize_with = "bounds::plate_thickness")]
    pub moving_thickness_mm: f64,
    /// Thickness of the fixed plate, mm.
    #[serde(deserialize_with = "bounds::plate_thickness")]
    pub fixed_thickness_mm: f64,
}

impl Plates {
    /// Where a point of the plan lies, in mm from the lower left corner of the plate, when `half` is
    /// looked at on its own parting face. The fixed half is the mirror image of the plan in x.
    pub fn seen_on_face(&self, half: Half, plan: DVec2) -> DVec2 {
        match half {
            Half::Moving => plan,
            Half::Fixed => DVec2::new(self.width_mm - plan.x, plan.y),
        }
    }

    /// Thickness of the plate of `half`, mm.
    pub const fn thickness_mm(&self, half: Half) -> f64 {
        match half {
            Half::Moving => self.moving_thickness_mm,
            Half::Fixed => self.fixed_thickness_mm,
        }
    }

    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        check_all(&[
            (bounds::PLATE_SIZE, self.width_mm),
            (bounds::PLATE_SIZE, self.height_mm),
            (bounds::PLATE_THICKNESS, self.moving_thickness_mm),
            (bounds::PLATE_THICKNESS, self.fixed_thickness_mm),
        ])
    }
}

/// What a hole through both plates is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum HoleUse {
    /// A bolt or its clearance hole.
    Bolt,
    /// A guide pin and its bushing.
    GuidePin,
}

/// A hole that goes through both plates in the same place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlateHole {
    /// Name given by the user; may be empty.
    pub name: String,
    /// What it is for.
    pub purpose: HoleUse,
    /// Centre in the plan, mm.
    #[serde(deserialize_with = "bounds::point")]
    pub at: DVec2,
    /// Diameter, mm.
    #[serde(deserialize_with = "bounds::hole_diameter")]
    pub diameter_mm: f64,
}

impl PlateHole {
    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        bounds::check_point(self.at)?;
        check_all(&[(bounds::HOLE_DIAMETER, self.diameter_mm)])
    }
}

/// The press the mould goes into.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Press {
    /// Name given by the user.
    pub name: String,
    /// How far the moving half retreats, mm.
    #[serde(deserialize_with = "bounds::stroke")]
    pub stroke_mm: f64,
    /// Highest pressure it puts on the melt at the nozzle, MPa.
    #[serde(default = "usual::pressure_limit_mpa", deserialize_with = "bounds::pressure")]
    pub pressure_limit_mpa: f64,
    /// Fastest it can inject, mm³/s.
    #[serde(default = "usual::rate_limit_mm3_s", deserialize_with = "bounds::flow_rate")]
    pub rate_limit_mm3_s: f64,
    /// Force with which it keeps the mould closed, N.
    #[serde(default = "usual::clamp_n", deserialize_with = "bounds::clamp")]
    pub clamp_n: f64,
    /// Melt that it injects in one shot at most, mm³.
    #[serde(default = "usual::shot_volume_mm3", deserialize_with = "bounds::shot")]
    pub shot_volume_mm3: f64,
    /// Platen along the plates' width, mm.
    #[serde(default = "usual::platen_width_mm", deserialize_with = "bounds::platen")]
    pub platen_width_mm: f64,
    /// Platen along the plates' height, mm.
    #[serde(default = "usual::platen_height_mm", deserialize_with = "bounds::platen")]
    pub platen_height_mm: f64,
}

/// A small bench press, for files that do not say: every number assumed.
mod usual {
    pub(super) const fn pressure_limit_mpa() -> f64 {
        60.0
    }

    pub(super) const fn rate_limit_mm3_s() -> f64 {
        20_000.0
    }

    pub(super) const fn clamp_n() -> f64 {
        50_000.0
    }

    pub(super) const fn shot_volume_mm3() -> f64 {
        30_000.0
    }

    pub(super) const fn platen_width_mm() -> f64 {
        300.0
    }

    pub(super) const fn platen_height_mm() -> f64 {
        200.0
    }
}

impl Default for Press {
    /// A small bench press: every number assumed.
    fn default() -> Self {
        Self {
            name: "Bench press".to_owned(),
            stroke_mm: 100.0,
            pressure_limit_mpa: usual::pressure_limit_mpa(),
            rate_limit_mm3_s: usual::rate_limit_mm3_s(),
            clamp_n: usual::clamp_n(),
            shot_volume_mm3: usual::shot_volume_mm3(),
            platen_width_mm: usual::platen_width_mm(),
            platen_height_mm: usual::platen_height_mm(),
        }
    }
}

impl Press {
    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        check_all(&[
            (bounds::STROKE, self.stroke_mm),
            (bounds::PRESSURE, self.pressure_limit_mpa),
            (bounds::FLOW_RATE, self.rate_limit_mm3_s),
            (bounds::CLAMP, self.clamp_n),
            (bounds::SHOT, self.shot_volume_mm3),
            (bounds::PLATEN, self.platen_width_mm),
            (bounds::PLATEN, self.platen_height_mm),
        ])
    }
}

/// How the wall of a sprue bore was finished; decides its drag.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Finish {
    /// As drilled or turned, with tool marks.
    AsTurned,
    /// Reamed or lapped smooth.
    Polished,
}

/// A sprue: the round bore through which melt enters the channel, and the plug it leaves there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sprue {
    /// Name given by the user; may be empty.
    pub name: String,
    /// Centre in the plan, mm.
    #[serde(deserialize_with = "bounds::point")]
    pub at: DVec2,
    /// The half whose plate it goes through.
    pub half: Half,
    /// Diameter where it meets the channel, mm.
    #[serde(deserialize_with = "bounds::sprue_diameter")]
    pub diameter_mm: f64,
    /// Length of the plug that stays on the part, mm.
    #[serde(deserialize_with = "bounds::sprue_length")]
    pub length_mm: f64,
    /// Draft, degrees: the bore narrows away from the channel by this angle a side.
    #[serde(deserialize_with = "bounds::draft")]
    pub draft_deg: f64,
    /// Finish of the bore.
    pub finish: Finish,
    /// A measured pull-off curve, travel in mm against force in N; takes the place of the computed one.
    #[serde(default)]
    pub measured: Option<PullOff>,
}

impl Sprue {
    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        bounds::check_point(self.at)?;
        check_all(&[
            (bounds::SPRUE_DIAMETER, self.diameter_mm),
            (bounds::SPRUE_LENGTH, self.length_mm),
            (bounds::DRAFT, self.draft_deg),
        ])
    }
}

/// The face of an ejector pin where it meets the part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum EjectorFace {
    /// Flat: it pushes and does nothing else.
    Plain,
    /// Parallel grooves: the part keys into it, rides on it and is slid off along the grooves.
    Grooved,
    /// Two sets of grooves, crossed: the part keys into it and has to be lifted off.
    Crossed,
}

impl EjectorFace {
    /// Whether the part keys into it.
    pub const fn keys(self) -> bool {
        matches!(self, Self::Grooved | Self::Crossed)
    }

    /// The face in the user's words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Grooved => "parallel grooves",
            Self::Crossed => "crossed grooves",
        }
    }
}

/// The grooves of an ejector's face.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Grooves {
    /// Distance from groove to groove, mm.
    #[serde(deserialize_with = "bounds::groove")]
    pub pitch_mm: f64,
    /// Width of a groove at the face, its mouth, mm.
    #[serde(deserialize_with = "bounds::groove")]
    pub mouth_mm: f64,
    /// Depth, mm.
    #[serde(deserialize_with = "bounds::groove")]
    pub depth_mm: f64,
    /// How far its sides lean away from the pin's axis, degrees: 0 = a plain slot, more = wider at the
    /// bottom than at the mouth.
    #[serde(deserialize_with = "bounds::lean")]
    pub lean_deg: f64,
}

impl Default for Grooves {
    /// Slots of half a millimetre with their sides leaning by 10°: assumed.
    fn default() -> Self {
        Self { pitch_mm: 1.5, mouth_mm: 0.5, depth_mm: 0.5, lean_deg: 10.0 }
    }
}

/// An ejector pin: goes through the moving plate and pushes the part off that half.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ejector {
    /// Name given by the user; may be empty.
    pub name: String,
    /// Centre in the plan, mm.
    #[serde(deserialize_with = "bounds::point")]
    pub at: DVec2,
    /// Diameter, mm.
    #[serde(deserialize_with = "bounds::ejector_diameter")]
    pub diameter_mm: f64,
    /// Free length from its head to its face, over which it may buckle, mm.
    #[serde(deserialize_with = "bounds::ejector_length")]
    pub length_mm: f64,
    /// How far it comes out of the channel floor, mm.
    #[serde(deserialize_with = "bounds::ejector_stroke")]
    pub stroke_mm: f64,
    /// Its face.
    pub face: EjectorFace,
    /// The grooves of its face; without meaning on a plain one.
    #[serde(default)]
    pub grooves: Grooves,
    /// A measured pull-off curve of its grooves, travel in mm against force in N; takes the place of the
    /// computed one.
    #[serde(default)]
    pub measured: Option<PullOff>,
}

impl Ejector {
    /// An ejector as it is first put in: no name, the usual grooves if its face keys.
    pub fn new(at: DVec2, diameter_mm: f64, length_mm: f64, stroke_mm: f64, face: EjectorFace) -> Self {
        let (name, grooves, measured) = (String::new(), Grooves::default(), None);
        Self { name, at, diameter_mm, length_mm, stroke_mm, face, grooves, measured }
    }

    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        bounds::check_point(self.at)?;
        check_all(&[
            (bounds::EJECTOR_DIAMETER, self.diameter_mm),
            (bounds::EJECTOR_LENGTH, self.length_mm),
            (bounds::EJECTOR_STROKE, self.stroke_mm),
            (bounds::GROOVE, self.grooves.pitch_mm),
            (bounds::GROOVE, self.grooves.mouth_mm),
            (bounds::GROOVE, self.grooves.depth_mm),
            (bounds::LEAN, self.grooves.lean_deg),
        ])
    }
}

/// A vent: a shallow slot in one half's parting face that lets air out of the channel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Vent {
    /// Name given by the user; may be empty.
    pub name: String,
    /// Where it meets the channel, in the plan, mm.
    #[serde(deserialize_with = "bounds::point")]
    pub at: DVec2,
    /// The half it is cut into.
    pub half: Half,
    /// Width along the channel, mm.
    #[serde(deserialize_with = "bounds::vent_width")]
    pub width_mm: f64,
    /// Depth of the slot, mm.
    #[serde(deserialize_with = "bounds::vent_depth")]
    pub depth_mm: f64,
    /// Length of the slot from the channel outwards, mm.
    #[serde(deserialize_with = "bounds::vent_length")]
    pub length_mm: f64,
    /// From where on it is cut deeper, so that the air meets little resistance there.
    #[serde(default)]
    pub relief: Option<Relief>,
}

/// The deeper part of a vent, from its land to its end.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Relief {
    /// Length of the shallow land between it and the channel, mm.
    #[serde(deserialize_with = "bounds::vent_length")]
    pub land_mm: f64,
    /// Its depth, mm.
    #[serde(deserialize_with = "bounds::vent_depth")]
    pub depth_mm: f64,
}

impl Default for Relief {
    /// Half a millimetre deep behind a land of two: common practice, no source.
    fn default() -> Self {
        Self { land_mm: 2.0, depth_mm: 0.5 }
    }
}

impl Vent {
    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        bounds::check_point(self.at)?;
        check_all(&[
            (bounds::VENT_WIDTH, self.width_mm),
            (bounds::VENT_DEPTH, self.depth_mm),
            (bounds::VENT_LENGTH, self.length_mm),
        ])?;
        self.relief.map_or(Ok(()), |relief| {
            check_all(&[(bounds::VENT_LENGTH, relief.land_mm), (bounds::VENT_DEPTH, relief.depth_mm)])
        })
    }
}
