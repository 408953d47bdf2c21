//! What the user chooses for the papers and files that leave for the bench.

use serde::{Deserialize, Deserializer, Serialize};

use crate::bounds::{self, OutOfRange, check_all};
use crate::project::Id;

/// Choices for everything that is printed or written for the bench. Kept in the project, so that the same
/// project gives the same papers. Texts are as typed by the user and may be empty; nothing is filled in by
/// a clock.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct SheetChoices {
    /// What to print on.
    pub paper: Paper,
    /// Where x and y are counted from.
    pub datum: Datum,
    /// Whether each plate is also shown from behind, for what is drilled from there.
    pub back_views: bool,
    /// The drawing's number.
    pub drawing_number: String,
    /// Who owns the drawing.
    pub legal_owner: String,
    /// Who made it.
    pub creator: String,
    /// Who approved it.
    pub approved_by: String,
    /// When it was issued.
    pub date_of_issue: String,
    /// Its revision.
    pub revision: String,
    /// What holds for every size without a tolerance of its own.
    pub general_tolerance: GeneralTolerance,
    /// How far x and y of a hole may be off, mm to either side; `None` for the general tolerance of each.
    #[serde(deserialize_with = "position")]
    pub position_tolerance_mm: Option<f64>,
    /// How views are arranged, told by a symbol.
    pub projection: Projection,
    /// What drills the holes by numbers, if anything does.
    pub drill_cycles: DrillCycles,
}

/// What to print on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Paper {
    /// A4, or A3 where that allows a larger scale.
    #[default]
    Automatic,
    /// ISO A4, 210 × 297 mm.
    A4,
    /// ISO A3, 297 × 420 mm.
    A3,
    /// US Letter, 8.5 × 11 in.
    Letter,
}

impl Paper {
    /// All papers.
    pub const ALL: [Self; 4] = [Self::Automatic, Self::A4, Self::A3, Self::Letter];

    /// The paper in the user's words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Automatic => "A4, or A3 for a larger scale",
            Self::A4 => "A4",
            Self::A3 => "A3",
            Self::Letter => "Letter",
        }
    }
}

/// Where x and y are counted from, on every sheet; see [`crate::Project::datum_pin`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Datum {
    /// The lower left corner of the plate, as it is seen on each sheet.
    #[default]
    LowerLeft,
    /// The centre of the plate.
    Centre,
    /// A guide pin.
    GuidePin(Id),
}

/// What holds for every size without a tolerance of its own.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum GeneralTolerance {
    /// A class of ISO 2768-1.
    Iso2768(ToleranceClass),
    /// The user's own words.
    Own(String),
}

impl Default for GeneralTolerance {
    fn default() -> Self {
        Self::Iso2768(ToleranceClass::Medium)
    }
}

/// A tolerance class of ISO 2768-1 that a bench drill or mill can keep.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the variants are the classes' names")]
pub enum ToleranceClass {
    Fine,
    Medium,
    Coarse,
}

impl ToleranceClass {
    /// All classes, finest first.
    pub const ALL: [Self; 3] = [Self::Fine, Self::Medium, Self::Coarse];

    /// The class's letter in ISO 2768-1.
    pub const fn letter(self) -> char {
        match self {
            Self::Fine => 'f',
            Self::Medium => 'm',
            Self::Coarse => 'c',
        }
    }

    /// The class's name in ISO 2768-1.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fine => "fine",
            Self::Medium => "medium",
            Self::Coarse => "coarse",
        }
    }
}

/// How the views of a drawing are arranged; ISO 5456-2.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Projection {
    /// First angle, usual where ISO papers are.
    #[default]
    FirstAngle,
    /// Third angle, usual in North America.
    ThirdAngle,
}

/// Choices for a machine that drills by numbers, after ISO 6983. The speeds are one for all drills: chosen
/// for the smallest, or set at the machine.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct DrillCycles {
    /// Whether they are wanted at all; off unless the user says so.
    pub wanted: bool,
    /// How high above the parting face the drill goes from hole to hole, clear of clamps, mm.
    #[serde(deserialize_with = "bounds::safe_height")]
    pub safe_height_mm: f64,
    /// How high above the parting face it slows down from rapid to feed, mm; not above the safe height.
    #[serde(deserialize_with = "bounds::retract")]
    pub retract_mm: f64,
    /// How deep it drills before it comes out to clear chips, mm; used in holes deeper than three diameters.
    #[serde(deserialize_with = "bounds::peck")]
    pub peck_mm: f64,
    /// Feed, mm/min; `None` leaves it to the machine.
    #[serde(deserialize_with = "feed")]
    pub feed_mm_min: Option<f64>,
    /// Spindle speed, turns a minute; `None` leaves starting the spindle to the user.
    #[serde(deserialize_with = "spindle")]
    pub spindle_rpm: Option<f64>,
}

impl Default for DrillCycles {
    /// Heights that clear usual step clamps: common practice, no source.
    fn default() -> Self {
        Self {
            wanted: false,
            safe_height_mm: 30.0,
            retract_mm: 2.0,
            peck_mm: 2.0,
            feed_mm_min: None,
            spindle_rpm: None,
        }
    }
}

impl DrillCycles {
    fn check(&self) -> Result<(), OutOfRange> {
        check_all(&[
            (bounds::SAFE_HEIGHT, self.safe_height_mm),
            (bounds::RETRACT, self.retract_mm),
            (bounds::PECK, self.peck_mm),
        ])?;
        self.feed_mm_min.map_or(Ok(()), |feed| bounds::FEED.check(feed).map(drop))?;
        self.spindle_rpm.map_or(Ok(()), |rpm| bounds::SPINDLE.check(rpm).map(drop))
    }
}

impl SheetChoices {
    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        self.drill_cycles.check()?;
        self.position_tolerance_mm
            .map_or(Ok(()), |value_mm| bounds::POSITION_TOLERANCE.check(value_mm).map(drop))
    }
}

fn feed<'de, D: Deserializer<'de>>(from: D) -> Result<Option<f64>, D::Error> {
    bounds::optional(bounds::FEED, from)
}

fn spindle<'de, D: Deserializer<'de>>(from: D) -> Result<Option<f64>, D::Error> {
    bounds::optional(bounds::SPINDLE, from)
}

fn position<'de, D: Deserializer<'de>>(from: D) -> Result<Option<f64>, D::Error> {
    bounds::optional(bounds::POSITION_TOLERANCE, from)
}
