//! The hole table of a plate: what to drill where, how wide, how deep, and what to do then.
//!
//! The same rows feed the printed sheet, the CSV file and the editor.

mod feature;

use std::fmt;

use glam::DVec2;
use keepside_engine::mount::drill_before_reaming_mm;
use keepside_engine::outline;
use keepside_model::{
    Ejector, EjectorFace, Finish, Half, HoleUse, Id, KeyingFeature, PlateHole, Project, Sprue, ThreadSize,
};

use crate::view::View;

/// One hole of one plate.
#[derive(Clone, Debug, PartialEq)]
pub struct HoleRow {
    /// The item the hole is for.
    pub id: Id,
    /// Tag on the drawing, for example "K7".
    pub tag: String,
    /// Name given by the user; may be empty.
    pub name: String,
    /// What the hole is for, in plain words.
    pub what: String,
    /// Centre, mm, from the lower left corner of this plate seen on its parting face.
    pub at_mm: DVec2,
    /// Centre, mm, from the datum chosen for the sheets, seen on the parting face.
    pub from_datum_mm: DVec2,
    /// Diameter of the drill, mm; `None` if the hole cannot be drilled as designed, and the note says
    /// why.
    pub drill_mm: Option<f64>,
    /// How deep to drill.
    pub depth: Depth,
    /// What follows the drill.
    pub after: AfterDrilling,
    /// How far what is set into the hole stands above the channel floor, mm.
    pub stands_mm: Option<f64>,
    /// What is done to the hole from the plate's back, if anything.
    pub behind: Option<FromBehind>,
    /// What else the person at the drill must know.
    pub note: String,
}

/// What is done to a hole from the plate's back.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FromBehind {
    /// A wider hole.
    pub opening: Option<Opening>,
    /// Thread to be tapped from behind, right through the opening.
    pub tap: Option<ThreadSize>,
    /// A second set screw driven in from behind: its thread, and its length in mm.
    pub screw: Option<(ThreadSize, f64)>,
    /// Width of the key that turns the feature's own screw from behind, mm.
    pub key_mm: Option<f64>,
}

/// A wider hole made from the plate's back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opening {
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Depth from the back, mm.
    pub depth_mm: f64,
    /// Whether it is needed; else it only saves work.
    pub is_needed: bool,
}

/// How deep a hole goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Depth {
    /// Right through the plate.
    Through,
    /// Full diameter to this depth below the parting face, mm.
    Blind {
        /// Depth, mm.
        depth_mm: f64,
    },
}

impl fmt::Display for Depth {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Through => f.write_str("THROUGH"),
            Self::Blind { depth_mm } => write!(f, "{depth_mm:.1}"),
        }
    }
}

/// What is done to a hole after drilling.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AfterDrilling {
    /// Nothing: the drilled hole is the finished one.
    Nothing,
    /// Tapped with an ISO metric coarse thread.
    Tap(ThreadSize),
    /// Reamed to a diameter, mm.
    Ream {
        /// Finished diameter, mm.
        diameter_mm: f64,
    },
    /// Reamed to a taper from the parting face.
    TaperReam {
        /// Diameter at the channel, the wide end, mm.
        diameter_mm: f64,
        /// Angle to the axis, degrees.
        draft_deg: f64,
    },
}

impl fmt::Display for AfterDrilling {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Nothing => Ok(()),
            Self::Tap(thread) => write!(f, "tap {}", thread.designation()),
            Self::Ream { diameter_mm } => write!(f, "ream Ø{}", length(*diameter_mm)),
            Self::TaperReam { diameter_mm, draft_deg } => {
                write!(f, "taper Ø{}, {draft_deg}°/side", length(*diameter_mm))
            }
        }
    }
}

/// A length with up to three decimals and no needless zeros, but one decimal at least: "3.3", "2.05",
/// "4.0".
pub(crate) fn length(value_mm: f64) -> String {
    let text = format!("{value_mm:.3}");
    let text = text.trim_end_matches('0');
    let text = if text.ends_with('.') { format!("{text}0") } else { text.to_owned() };
    if text == "-0.0" { "0.0".to_owned() } else { text }
}

/// The holes of one plate: sprues, then keying features, then ejector pins (moving half only), then bolts
/// and guide pins, each in the order of their numbers.
pub fn hole_table(project: &Project, half: Half) -> Vec<HoleRow> {
    let sprues = project.sprues.iter().filter(|(_, sprue)| sprue.half == half);
    let features = project.features.iter().filter(|(_, feature)| feature.half == half);
    let mut rows: Vec<HoleRow> = sprues.map(|(id, sprue)| sprue_row(project, *id, sprue)).collect();
    rows.extend(features.map(|(id, feature)| feature_row(project, *id, feature)));
    let ejectors = project.ejectors.iter().filter(|_| half == Half::Moving);
    rows.extend(ejectors.map(|(id, ejector)| ejector_row(project, *id, ejector)));
    rows.extend(project.holes.iter().map(|(id, hole)| plate_hole_row(project, half, *id, hole)));
    rows
}

/// A row with its place worked out; a place off the plate is pointed out in the note.
fn row(project: &Project, half: Half, id: Id, name: &str, plan_mm: DVec2) -> HoleRow {
    let plates = &project.plates;
    let at_mm = plates.seen_on_face(half, plan_mm);
    let on_plate = (0.0..=plates.width_mm).contains(&at_mm.x) && (0.0..=plates.height_mm).contains(&at_mm.y);
    HoleRow {
        id,
        tag: project.tag(id),
        name: name.to_owned(),
        what: String::new(),
        at_mm,
        from_datum_mm: at_mm - View::face(half).datum_mm(project),
        drill_mm: None,
        depth: Depth::Through,
        after: AfterDrilling::Nothing,
        stands_mm: None,
        behind: None,
        note: if on_plate { String::new() } else { "CHECK: not on the plate. ".to_owned() },
    }
}

fn sprue_row(project: &Project, id: Id, sprue: &Sprue) -> HoleRow {
    let mut row = row(project, sprue.half, id, &sprue.name, sprue.at);
    row.what = "sprue bore".to_owned();
    let (wide_mm, length_mm) = (sprue.diameter_mm, sprue.length_mm);
    let narrow_mm = wide_mm - 2.0 * length_mm * sprue.draft_deg.to_radians().tan();
    let polish = match sprue.finish {
        Finish::AsTurned => "",
        Finish::Polished => " Polish lengthwise.",
    };
    // A drill below 0.3 mm is not a bench drill: the least sprue diameter that a project may hold.
    if narrow_mm < 0.3 {
        row.note += &format!(
            "CHECK: the taper closes within its length of {} mm. Shorten it or reduce the draft; do not drill.",
            length(length_mm)
        );
    } else if sprue.draft_deg == 0.0 {
        row.note += &format!("Parallel bore, {} mm long from the channel floor.{polish}", length(length_mm));
        if sprue.finish == Finish::Polished {
            row.drill_mm = Some(drill_before_reaming_mm(wide_mm));
            row.after = AfterDrilling::Ream { diameter_mm: wide_mm };
        } else {
            row.drill_mm = Some(wide_mm);
        }
    } else {
        row.drill_mm = Some((narrow_mm * 100.0).floor() / 100.0);
        row.after = AfterDrilling::TaperReam { diameter_mm: wide_mm, draft_deg: sprue.draft_deg };
        row.note += &format!(
            "Wide end at the channel; narrow end Ø{narrow_mm:.2} at {} mm from the channel floor.{polish}",
            length(length_mm)
        );
    }
    row
}

fn feature_row(project: &Project, id: Id, feature: &KeyingFeature) -> HoleRow {
    feature::fill(row(project, feature.half, id, &feature.name, feature.at), project, feature)
}

/// Reamed right through for a pin that slides. In thick steel three diameters guide it, and behind them the
/// hole is opened by half a millimetre (common practice, no source).
fn ejector_row(project: &Project, id: Id, ejector: &Ejector) -> HoleRow {
    let mut row = row(project, Half::Moving, id, &ejector.name, ejector.at);
    let diameter_mm = ejector.diameter_mm;
    row.what = match ejector.face {
        EjectorFace::Plain => "ejector, plain".to_owned(),
        EjectorFace::Grooved => "ejector, grooved".to_owned(),
        EjectorFace::Crossed => "ejector, cross-grooved".to_owned(),
    };
    row.drill_mm = Some(drill_before_reaming_mm(diameter_mm));
    row.after = AfterDrilling::Ream { diameter_mm };
    let floor_mm = outline::depth_in_half_mm(project, Half::Moving, ejector.at);
    let steel_mm = project.plates.moving_thickness_mm - floor_mm;
    if outline::depth_at(project, ejector.at).is_none() {
        row.note += "CHECK: not in the channel. ";
    }
    row.note += "Sliding fit. ";
    if steel_mm > 5.0 * diameter_mm {
        row.note += &format!(
            "Below {} mm, counted from the channel floor, may be opened to Ø{} from behind. ",
            length(3.0 * diameter_mm),
            length(diameter_mm + 0.5)
        );
        let depth_mm = steel_mm - 3.0 * diameter_mm;
        let opening = Opening { diameter_mm: diameter_mm + 0.5, depth_mm, is_needed: false };
        row.behind = Some(FromBehind { opening: Some(opening), ..FromBehind::default() });
    }
    row.note += &format!(
        "Pin {} mm free from head to face, stroke {} mm; face level with the channel floor.",
        length(ejector.length_mm),
        length(ejector.stroke_mm)
    );
    if ejector.face == EjectorFace::Grooved {
        row.note += &match grooves_deg(project) {
            Some(deg) => format!(
                " Grooves at {deg:.0}° to x on all pins, so that the part slides off them; keep the pin \
                 from turning."
            ),
            None => " Grooves the same way on all pins; keep the pin from turning.".to_owned(),
        };
    }
    row
}

/// The way in which the grooves of all grooved ejectors run, degrees counter-clockwise from x on the
/// moving half's face, 0 to below 180: square to the channel at the first of them. The part is drawn off
/// along the grooves, so they must all be parallel, whatever way the channel runs at the other pins.
pub(crate) fn grooves_deg(project: &Project) -> Option<f64> {
    let first = project.ejectors.values().find(|ejector| ejector.face == EjectorFace::Grooved)?;
    let across = outline::channel_at(project, first.at)?.direction.perp();
    // To the degree, as one would set it; so 179.7° is 0°.
    Some(across.to_angle().to_degrees().round().rem_euclid(180.0))
}

fn plate_hole_row(project: &Project, half: Half, id: Id, hole: &PlateHole) -> HoleRow {
    let mut row = row(project, half, id, &hole.name, hole.at);
    row.drill_mm = Some(hole.diameter_mm);
    match hole.purpose {
        HoleUse::Bolt => {
            row.what = "bolt".to_owned();
            row.note += "In line with the other half: drill both plates clamped together.";
        }
        HoleUse::GuidePin => {
            row.what = "guide pin".to_owned();
            row.note += "In line with the other half: drill both plates clamped together. \
                         Ream to suit the pin or its bushing.";
        }
    }
    row
}
