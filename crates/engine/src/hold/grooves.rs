//! The grooved face of an ejector pin: ribs of plastic in its grooves hold the part on it.

use keepside_model::{Ejector, EjectorFace, Half, Project};

use crate::hold::around::{Around, Limit};
use crate::hold::law::{Number, Weighed};
use crate::hold::{BRITTLE_STRAIN, ChannelSection, Curve, Ending, PointHold, formula};
use crate::silhouette::{Grooved, crossings};

/// Places on the way out at which the pull is computed.
const PLACES: u32 = 16;

/// Stretch of a rib's neck until it tears, in mouth widths, of a tough and of a brittle plastic: as of the neck
/// of a sprue; assumed.
const STRETCH: (f64, f64) = (0.35, 0.03);

/// What the grooves of a face come to.
struct Ribs {
    set: Grooved,
    /// Length of the grooves' mouths on which plastic can give: both sets less their crossings, mm.
    mouth_mm2: f64,
    /// Length of sides, one of a pair, mm: crossings have none.
    sides_mm: f64,
}

impl Ribs {
    /// `None` on a plain face, and if no groove fits.
    fn new(ejector: &Ejector) -> Option<Self> {
        let set = Grooved::new(ejector.diameter_mm, &ejector.grooves);
        let (sets, crossed) = match ejector.face {
            EjectorFace::Plain => return None,
            EjectorFace::Grooved => (1.0, 0),
            EjectorFace::Crossed => (2.0, crossings(&set)),
        };
        if set.offsets_mm.is_empty() || set.depth_mm <= 0.0 {
            return None;
        }
        let crossed = f64::from(u32::try_from(crossed).unwrap_or(u32::MAX));
        let whole_mm = sets * set.all_mm();
        let mouth_mm2 = (whole_mm - crossed * set.mouth_mm).max(0.0) * set.mouth_mm;
        let sides_mm = (whole_mm - 2.0 * crossed * set.mouth_mm).max(0.0);
        Some(Self { set, mouth_mm2, sides_mm })
    }
}

/// Height of plastic in the grooves of an ejector's face that resists sliding across them, mm: depth times
/// the number of grooves of a set. None on a plain face.
pub(crate) fn engaged_mm(ejector: &Ejector) -> f64 {
    Ribs::new(ejector).map_or(0.0, |ribs| ribs.set.depth_mm * count(&ribs.set))
}

fn count(set: &Grooved) -> f64 {
    f64::from(u32::try_from(set.offsets_mm.len()).unwrap_or(u32::MAX))
}

/// The hold of an ejector's face on the moving half, while the mould opens.
///
/// Every groove that fits into the face with its whole bottom counts, over its chord; all of them are filled.
/// Straight sides only drag. Sides that lean make the rib of plastic wider at its root in the steel than at the
/// mouth, and it gives way at the smallest of
/// - **squeeze**: drawn out by u, the rib is narrower by 2 u tan of the lean everywhere, a strain of that over
///   the bottom's width, at a stress E times that and no more than yield, on the height that is still in; the
///   side force drives it up the sides with the flank factor. Impossible at or above the lock angle;
/// - **shear** of what is wider than the mouth, along both edges of the mouth over the height still in; it
///   stays in the groove;
/// - **tear** of the rib at its mouth at the hot strength; it stays in the groove.
///
/// Where two sets cross, mouth and sides count once and not at all. How the grooves stand to the run is not
/// known: parallel ones are taken to lock the part sideways as crossed ones do. A part that shrinks presses
/// on one side of the ribs and leaves the other; the drag has to stand for that.
///
/// A measured curve takes the place of the computed one.
pub fn ejector_face(project: &Project, ejector: &Ejector, channel: ChannelSection) -> PointHold {
    weigh_ejector(project, ejector, channel).hold
}

pub(crate) fn weigh_ejector(project: &Project, ejector: &Ejector, channel: ChannelSection) -> Weighed {
    let around = Around::new(project, Half::Moving, channel);
    let weighed = computed(&around, ejector);
    Weighed { hold: weighed.hold.or_measured(ejector.measured.as_ref()), ..weighed }
}

fn computed(around: &Around<'_>, ejector: &Ejector) -> Weighed {
    let Some(ribs) = Ribs::new(ejector) else { return around.hold(Vec::new(), 0.0) };
    let set = &ribs.set;
    let side_mm2 = 2.0 * ribs.sides_mm * set.depth_mm / set.lean_rad.cos();
    let narrow_mm = set.bottom_mm - set.mouth_mm;
    if narrow_mm <= 0.0 {
        return drag(around, &ribs, side_mm2);
    }
    let drag_n = around.drag_mpa * side_mm2;
    let limits = vec![squeeze(around, &ribs, drag_n), shear(around, &ribs, drag_n), tear(around, &ribs)];
    let mut weighed = around.hold(limits, narrow_mm / set.bottom_mm);
    weighed.ways.push(around.drag_way(side_mm2));
    weighed
}

/// Grooves that every number of theirs enters.
fn numbers(ribs: &Ribs) -> Vec<Number> {
    let set = &ribs.set;
    vec![
        Number::new("grooves in a set", count(set), ""),
        Number::new("mouth of a groove", set.mouth_mm, "mm"),
        Number::new("bottom of a groove", set.bottom_mm, "mm"),
        Number::new("depth of a groove", set.depth_mm, "mm"),
        Number::new("length of the sides", ribs.sides_mm, "mm"),
    ]
}

/// Elastic travel at a pull, mm: shear of the plastic over the depth of the grooves, on the mouths.
fn rise_mm(around: &Around<'_>, ribs: &Ribs, force_n: f64) -> f64 {
    let shear_mpa = around.material.modulus_hot_mpa / (2.0 * (1.0 + around.material.poisson));
    let area_mm2 = 2.0 * ribs.sides_mm * ribs.set.depth_mm;
    let half_mm = 0.5 * ribs.set.mouth_mm;
    if area_mm2 > 0.0 { force_n * half_mm / (shear_mpa * area_mm2) } else { 1e-3 }
}

fn drag(around: &Around<'_>, ribs: &Ribs, side_mm2: f64) -> Weighed {
    let force_n = around.drag_mpa * side_mm2;
    let curve = Curve::triangle(force_n, rise_mm(around, ribs, force_n), ribs.set.depth_mm);
    let mut made = numbers(ribs);
    made.push(Number::new("drag of the sides", around.drag_mpa, "MPa"));
    made.push(Number::new("sides", side_mm2, "mm²"));
    let words = "the ribs slide out of their straight grooves";
    let limit = Limit { name: "drag", words, force_n, curve, ending: Ending::LetsGo, numbers: made };
    around.hold(vec![limit], 0.0)
}

/// The places on the way out, as shares of the depth.
fn places() -> impl Iterator<Item = f64> {
    (1..=PLACES).map(|i| f64::from(i) / f64::from(PLACES))
}

fn squeeze(around: &Around<'_>, ribs: &Ribs, drag_n: f64) -> Limit {
    let material = around.material;
    let set = &ribs.set;
    let (name, words) = ("squeeze", "the ribs are squeezed out through the mouths of the grooves");
    let mut made = numbers(ribs);
    made.extend([
        Number::new("flank to the pull", set.lean_rad.to_degrees(), "°"),
        Number::new("lock angle", formula::lock_angle_rad(material.friction).to_degrees(), "°"),
        Number::new("friction", material.friction, ""),
    ]);
    let ending = Ending::LetsGo;
    let Some(factor) = formula::flank_factor(material.friction, set.lean_rad) else {
        let curve = Curve::triangle(0.0, 1e-3, 1e-2);
        return Limit { name, words, force_n: f64::INFINITY, curve, ending, numbers: made };
    };
    let slope = set.lean_rad.tan();
    let stress_mpa = |travel_mm: f64| {
        let strain = 2.0 * travel_mm * slope / set.bottom_mm;
        (material.modulus_hot_mpa * strain).min(material.yield_hot_mpa)
    };
    let pull_n = |share: f64| {
        let travel_mm = share * set.depth_mm;
        2.0 * ribs.sides_mm * stress_mpa(travel_mm) * (set.depth_mm - travel_mm) * factor
    };
    // The stress grows straight until the yield: there, or half way out, the pull is largest.
    let yield_mm = material.yield_hot_mpa * set.bottom_mm / (2.0 * material.modulus_hot_mpa * slope);
    let hardest = (yield_mm / set.depth_mm).min(0.5);
    let force_n = pull_n(hardest);
    let mut shares: Vec<f64> = places().chain([hardest]).collect();
    shares.sort_by(f64::total_cmp);
    shares.dedup_by(|next, kept| *next - *kept < 1e-3);
    let with_drag = |share: f64| (share * set.depth_mm, pull_n(share) + drag_n * (1.0 - share));
    let curve = Curve::through(&shares.into_iter().map(with_drag).collect::<Vec<_>>());
    let at_hardest_mpa = stress_mpa(hardest * set.depth_mm);
    let is_capped = at_hardest_mpa >= material.yield_hot_mpa;
    made.extend([
        Number::new("stress across the rib", at_hardest_mpa, "MPa").noted(if is_capped {
            "capped at the warm yield stress"
        } else {
            "elastic"
        }),
        Number::new("flank factor", factor, ""),
    ]);
    Limit { name, words, force_n, curve, ending, numbers: made }
}

fn shear(around: &Around<'_>, ribs: &Ribs, drag_n: f64) -> Limit {
    let depth_mm = ribs.set.depth_mm;
    let area_mm2 = 2.0 * ribs.sides_mm * depth_mm;
    let force_n = formula::shear_strength_mpa(around.material.yield_hot_mpa) * area_mm2;
    let peak_n = force_n + drag_n;
    let curve = Curve::triangle(peak_n, rise_mm(around, ribs, peak_n), depth_mm);
    let mut made = numbers(ribs);
    made.extend(around.shear_numbers(area_mm2));
    let words = "what is wider than the mouths shears off and stays in the grooves";
    Limit { name: "shear", words, force_n, curve, ending: Ending::Breaks, numbers: made }
}

fn tear(around: &Around<'_>, ribs: &Ribs) -> Limit {
    let material = around.material;
    let force_n = material.yield_hot_mpa * ribs.mouth_mm2;
    let is_brittle = material.break_strain < BRITTLE_STRAIN;
    let stretch_mm = ribs.set.mouth_mm * if is_brittle { STRETCH.1 } else { STRETCH.0 };
    let rise_mm = rise_mm(around, ribs, force_n);
    let curve = Curve::triangle(force_n, rise_mm, (rise_mm + stretch_mm).max(2.0 * rise_mm));
    let mut made = numbers(ribs);
    made.extend([
        Number::new("mouths together", ribs.mouth_mm2, "mm²"),
        Number::new("strength, warm", material.yield_hot_mpa, "MPa"),
    ]);
    let words = "the ribs tear off at the mouths and stay in the grooves";
    Limit { name: "tear off", words, force_n, curve, ending: Ending::Breaks, numbers: made }
}
