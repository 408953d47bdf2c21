//! A head on a neck: a cap screw's head, as bought, turned down or chamfered; a turned head, flat or conical;
//! the land over a ring in a post.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

use crate::hold::around::{Around, Limit, side_mm2};
use crate::hold::law::{Number, Weighed};
use crate::hold::{BRITTLE_STRAIN, Curve, Ending, formula};

/// Share of its height over which a brittle ring is still held while it cracks off; assumed.
const CRACK_SHARE: f64 = 0.03;

/// A head on a neck, as turned.
#[derive(Clone, Copy, Debug)]
pub(super) struct Head {
    pub(super) head_mm: f64,
    pub(super) neck_mm: f64,
    /// From the rim of the underside to the top, mm.
    pub(super) height_mm: f64,
    /// Angle of the underside to the parting plane, rad.
    pub(super) underside_rad: f64,
    /// The most plastic that fits under the rim, mm: the width of a ring; infinite if the neck goes down to
    /// the channel floor. Below it the post is as thick as the head again.
    pub(super) under_at_most_mm: f64,
    /// Flat between the neck and a cone at the rim, mm: what a chamfer leaves of a flat underside; 0 if the
    /// underside is all flat or all cone.
    pub(super) flat_mm: f64,
}

/// The undercut that a head makes at its protrusion.
struct Undercut {
    /// Plastic under the rim, mm.
    under_mm: f64,
    /// Part of the head's height that stands in plastic, mm.
    land_mm: f64,
    /// Depth on the radius, mm; a long cone may reach the floor before it reaches the neck.
    depth_mm: f64,
    /// Bore of the plastic at the bottom of the undercut, mm.
    bore_mm: f64,
    /// Height of the cone in the plastic, mm: the travel over which the ring climbs to the rim.
    climb_mm: f64,
    /// Post under the plastic in a ring, mm; 0 under a head.
    below_mm: f64,
}

impl Head {
    /// A cap screw's head with a chamfer of 45° on the rim of its underside.
    ///
    /// A chamfer as deep as the undercut makes the underside a cone of 45° from the neck to the rim. A
    /// smaller one leaves a flat next to the neck, from which the cone rises to the rim.
    pub(super) fn chamfered(head_mm: f64, neck_mm: f64, height_mm: f64, chamfer_mm: f64) -> Self {
        let full_mm = (0.5 * (head_mm - neck_mm)).max(0.0);
        // A flat that cannot be measured is none.
        let cut_mm = if full_mm - chamfer_mm < 1e-6 { full_mm } else { chamfer_mm };
        let cut_mm = cut_mm.min(height_mm);
        let flat_mm = if cut_mm > 0.0 { full_mm - cut_mm } else { 0.0 };
        let underside_rad = if cut_mm > 0.0 { 0.5 * FRAC_PI_2 } else { 0.0 };
        let height_mm = height_mm - cut_mm;
        Self { head_mm, neck_mm, height_mm, underside_rad, under_at_most_mm: f64::INFINITY, flat_mm }
    }

    /// The undercut; `None` if no plastic gets behind the head, because it sits on the channel floor or
    /// is no wider than its neck.
    fn undercut(&self, engaged_mm: f64) -> Option<Undercut> {
        let under_mm = (engaged_mm - self.height_mm).min(self.under_at_most_mm);
        let full_mm = 0.5 * (self.head_mm - self.neck_mm);
        if under_mm <= 0.0 || full_mm <= 0.0 {
            return None;
        }
        let slope = self.underside_rad.tan().max(0.0);
        let cone_mm = full_mm - self.flat_mm;
        let depth_mm = if cone_mm * slope >= under_mm { under_mm / slope } else { full_mm };
        Some(Undercut {
            under_mm,
            land_mm: self.height_mm,
            depth_mm,
            bore_mm: self.head_mm - 2.0 * depth_mm,
            climb_mm: depth_mm.min(cone_mm) * slope,
            below_mm: (engaged_mm - self.height_mm - under_mm).max(0.0),
        })
    }

    /// Flat of the underside that stands in plastic, mm: none if the floor cuts the cone short of it.
    fn flat_in(&self, undercut: &Undercut) -> f64 {
        let cone_mm = 0.5 * (self.head_mm - self.neck_mm) - self.flat_mm;
        (undercut.depth_mm - cone_mm).clamp(0.0, self.flat_mm)
    }
}

/// The hold of a head whose top stands `engaged_mm` above the channel floor. Without an undercut it only
/// drags.
///
/// - **expand**: the ring of plastic under the head is widened to the head's diameter, climbing the
///   underside; impossible at or above the lock angle, and where a flat is left beside the neck. It then passes
///   the rim stretch by stretch and slides over the head with friction.
/// - **shear**: the ring shears off at the head's diameter and stays under the head; the hole it leaves in
///   the part drags over the head.
/// - **shear and expand**: where a chamfer leaves a flat, the plastic under the flat shears off at the flat's
///   edge and stays, while the rest of the ring is widened by the chamfer alone and climbs it.
/// - **crush**: the underside sinks into the plastic like a punch, and the edge flows past. It governs where
///   the undercut is shallow against the plastic behind it, which is too stout to widen or shear as a whole;
/// - **tear**: see [`Around::tear`].
///
/// The part is free when its floor has passed the top of the head, a travel of `engaged_mm`. Only the plastic
/// in a ring is an undercut; the post below it drags, and there is nothing above it in which the plastic
/// could catch again.
pub(super) fn hold(around: &Around<'_>, head: Head, engaged_mm: f64) -> Weighed {
    let Some(undercut) = head.undercut(engaged_mm) else {
        let sides_mm2 = side_mm2(head.head_mm, engaged_mm.min(head.height_mm))
            + side_mm2(head.neck_mm, engaged_mm - head.height_mm);
        return around.drag_only(head.head_mm.max(head.neck_mm), sides_mm2, engaged_mm);
    };
    let flat_mm = head.flat_in(&undercut);
    let mut limits = Vec::with_capacity(5);
    let mut strain = formula::strip_strain(undercut.depth_mm, undercut.bore_mm);
    if flat_mm > 0.0 {
        // The flat rim is as wide as the head less what the chamfer takes off it.
        let edge_mm = undercut.bore_mm + 2.0 * flat_mm;
        limits.push(shear_and_expand(around, head, &undercut, edge_mm));
        strain = formula::strip_strain(undercut.depth_mm - flat_mm, edge_mm);
    } else {
        limits.push(expand(around, head, &undercut));
    }
    limits.push(shear(around, head, &undercut));
    limits.push(crush(around, head, &undercut));
    limits.push(around.tear(head.head_mm, engaged_mm));
    let mut weighed = around.hold(limits, strain);
    weighed.ways.push(around.drag_way(drag_sides_mm2(head, &undercut)));
    weighed
}

/// Sides that drag, mm²: the head's, and the post's below a ring.
fn drag_sides_mm2(head: Head, undercut: &Undercut) -> f64 {
    side_mm2(head.head_mm, undercut.land_mm) + side_mm2(head.head_mm, undercut.below_mm)
}

/// Drag of those sides, N.
fn land_drag_n(around: &Around<'_>, head: Head, undercut: &Undercut) -> f64 {
    around.drag_mpa * drag_sides_mm2(head, undercut)
}

fn expand(around: &Around<'_>, head: Head, undercut: &Undercut) -> Limit {
    let &Undercut { under_mm, depth_mm, bore_mm, climb_mm, .. } = undercut;
    let pressure_mpa = around.ring_pressure_mpa(bore_mm, depth_mm);
    let side = side_mm2(bore_mm, under_mm);
    let radial_n = pressure_mpa * side;
    let flank_rad = FRAC_PI_2 - head.underside_rad;
    let mut numbers = around.ring_numbers(bore_mm, depth_mm, flank_rad);
    numbers.push(Number::new("side of the ring", side, "mm²"));
    let (name, words) = ("expand", "the ring of plastic under it is stretched over its rim");
    let ending = Ending::LetsGo;
    let Some(factor) = formula::flank_factor(around.material.friction, flank_rad) else {
        let curve = Curve::triangle(0.0, 1e-3, 1e-2);
        return Limit { name, words, force_n: f64::INFINITY, curve, ending, numbers };
    };
    let force_n = radial_n * factor;
    let peak_n = force_n + land_drag_n(around, head, undercut);
    // The pressure grows with the climb until it is full, at once if the cap is reached at once.
    let elastic_mpa = around.elastic_pressure_mpa(bore_mm, depth_mm);
    let full_mm = if elastic_mpa > 0.0 { climb_mm * pressure_mpa / elastic_mpa } else { 0.0 };
    let curve = climbing(around, head, undercut, pressure_mpa, full_mm, peak_n);
    Limit { name, words, force_n, curve, ending, numbers }
}

/// Pull of a ring that climbs to the rim and slides over the head.
fn climbing(
    around: &Around<'_>,
    head: Head,
    undercut: &Undercut,
    pressure_mpa: f64,
    full_mm: f64,
    peak_n: f64,
) -> Curve {
    let &Undercut { under_mm, land_mm, climb_mm, below_mm, .. } = undercut;
    let rise_mm = full_mm.max(around.rise_mm(peak_n, head.head_mm, under_mm));
    let drag_n = land_drag_n(around, head, undercut);
    // On the head's side the flank is parallel to the pull: friction alone.
    let grip_n = around.material.friction * pressure_mpa * side_mm2(head.head_mm, under_mm.min(land_mm));
    let mut points = vec![(rise_mm, peak_n), (climb_mm, peak_n), (under_mm, (grip_n + drag_n).min(peak_n))];
    if below_mm > 0.0 {
        let post_n = around.drag_mpa * side_mm2(head.head_mm, below_mm);
        points.push((under_mm + land_mm, post_n.min(peak_n)));
    }
    points.push((under_mm + land_mm + below_mm, 0.0));
    Curve::through(&points)
}

/// The plastic under the flat, out to a diameter of `edge_mm`, shears off; the rest climbs the chamfer.
fn shear_and_expand(around: &Around<'_>, head: Head, undercut: &Undercut, edge_mm: f64) -> Limit {
    let &Undercut { under_mm, climb_mm, .. } = undercut;
    let (name, words) =
        ("shear and expand", "plastic under the flat shears off, the rest is stretched over the chamfer");
    let chamfer_mm = 0.5 * (head.head_mm - edge_mm);
    let flank_rad = FRAC_PI_2 - head.underside_rad;
    let under_flat_mm = (under_mm - climb_mm).max(0.0);
    let area_mm2 = side_mm2(edge_mm, under_flat_mm);
    let shear_n = formula::shear_strength_mpa(around.material.yield_hot_mpa) * area_mm2;
    let pressure_mpa = around.ring_pressure_mpa(edge_mm, chamfer_mm);
    let side = side_mm2(edge_mm, under_mm);
    let mut numbers = around.shear_numbers(area_mm2);
    numbers.extend(around.ring_numbers(edge_mm, chamfer_mm, flank_rad));
    numbers.push(Number::new("side of the ring", side, "mm²"));
    let ending = Ending::Breaks;
    let Some(factor) = formula::flank_factor(around.material.friction, flank_rad) else {
        let curve = Curve::triangle(0.0, 1e-3, 1e-2);
        return Limit { name, words, force_n: f64::INFINITY, curve, ending, numbers };
    };
    let force_n = shear_n + pressure_mpa * side * factor;
    let peak_n = force_n + land_drag_n(around, head, undercut);
    // The flat holds from the start, so the pull is full as soon as the plastic has given elastically.
    let curve = climbing(around, head, undercut, pressure_mpa, 0.0, peak_n);
    Limit { name, words, force_n, curve, ending, numbers }
}

fn shear(around: &Around<'_>, head: Head, undercut: &Undercut) -> Limit {
    let &Undercut { under_mm, land_mm, below_mm, .. } = undercut;
    let area_mm2 = side_mm2(head.head_mm, under_mm);
    let force_n = formula::shear_strength_mpa(around.material.yield_hot_mpa) * area_mm2;
    let drag_n = land_drag_n(around, head, undercut);
    let peak_n = force_n + drag_n;
    let rise_mm = around.rise_mm(peak_n, head.head_mm, under_mm);
    // Punched through a tough ring, less and less of its height is left to shear.
    let brittle = around.material.break_strain < BRITTLE_STRAIN;
    let gone_mm = if brittle { rise_mm + CRACK_SHARE * under_mm } else { under_mm };
    let curve = Curve::through(&[(rise_mm, peak_n), (gone_mm, drag_n), (under_mm + land_mm + below_mm, 0.0)]);
    Limit {
        name: "shear",
        words: "the ring of plastic under it shears off and stays",
        force_n,
        curve,
        ending: Ending::Breaks,
        numbers: around.shear_numbers(area_mm2),
    }
}

fn crush(around: &Around<'_>, head: Head, undercut: &Undercut) -> Limit {
    let &Undercut { under_mm, land_mm, bore_mm, below_mm, .. } = undercut;
    let ring_mm2 = |outer_mm: f64, inner_mm: f64| FRAC_PI_4 * (outer_mm.powi(2) - inner_mm.powi(2)).max(0.0);
    // Seen along the pull: the flat, if a chamfer leaves one, and the cone or flat outside it.
    let edge_mm = bore_mm + 2.0 * head.flat_in(undercut);
    let (flat_mm2, rest_mm2) = (ring_mm2(edge_mm, bore_mm), ring_mm2(head.head_mm, edge_mm));
    // On a cone, friction adds to the pull of the pressure: 1 + μ/tan a with a the flank's angle to the pull.
    let friction = 1.0 + around.material.friction * head.underside_rad.tan();
    let pressure_mpa = formula::indentation_pressure_mpa(around.material.yield_hot_mpa);
    let force_n = pressure_mpa * (flat_mm2 + rest_mm2 * friction);
    let drag_n = land_drag_n(around, head, undercut);
    let peak_n = force_n + drag_n;
    let rise_mm = around.rise_mm(peak_n, head.head_mm, under_mm);
    let curve =
        Curve::through(&[(rise_mm, peak_n), (under_mm, drag_n), (under_mm + land_mm + below_mm, 0.0)]);
    Limit {
        name: "crush",
        words: "its underside sinks into the plastic, which flows past",
        force_n,
        curve,
        ending: Ending::LetsGo,
        numbers: vec![
            Number::new("underside in plastic", flat_mm2 + rest_mm2, "mm²"),
            Number::new("indentation pressure", pressure_mpa, "MPa"),
            Number::new("friction on the cone", friction, ""),
        ],
    }
}
