//! A head on a neck: a cap screw's head, flat underneath, or a turned head, flat or conical.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

use crate::hold::around::{Around, Limit, side_mm2};
use crate::hold::{BRITTLE_STRAIN, Curve, Ending, PointHold, formula};

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
    /// the channel floor.
    pub(super) under_at_most_mm: f64,
}

/// The undercut that a head makes at its protrusion.
struct Undercut {
    /// Plastic between the channel floor and the rim, mm.
    under_mm: f64,
    /// Part of the head's height that stands in plastic, mm.
    land_mm: f64,
    /// Depth on the radius, mm; a long cone may reach the floor before it reaches the neck.
    depth_mm: f64,
    /// Bore of the plastic at the bottom of the undercut, mm.
    bore_mm: f64,
    /// Height of the cone in the plastic, mm: the travel over which the ring climbs to the rim.
    climb_mm: f64,
}

impl Head {
    /// The undercut; `None` if no plastic gets behind the head, because it sits on the channel floor or
    /// is no wider than its neck.
    fn undercut(&self, engaged_mm: f64) -> Option<Undercut> {
        let under_mm = (engaged_mm - self.height_mm).min(self.under_at_most_mm);
        let full_mm = 0.5 * (self.head_mm - self.neck_mm);
        if under_mm <= 0.0 || full_mm <= 0.0 {
            return None;
        }
        let slope = self.underside_rad.tan().max(0.0);
        let depth_mm = if full_mm * slope > under_mm { under_mm / slope } else { full_mm };
        Some(Undercut {
            under_mm,
            land_mm: self.height_mm,
            depth_mm,
            bore_mm: self.head_mm - 2.0 * depth_mm,
            climb_mm: depth_mm * slope,
        })
    }
}

/// The hold of a head whose top stands `engaged_mm` above the channel floor. Without an undercut it only
/// drags.
///
/// - **expand**: the ring of plastic under the head is widened to the head's diameter, climbing the
///   underside; impossible at or above the lock angle. It then passes the rim stretch by stretch and
///   slides over the head with friction.
/// - **shear**: the ring shears off at the head's diameter and stays under the head; the hole it leaves in
///   the part drags over the head.
/// - **crush**: the underside sinks into the plastic like a punch, and the edge flows past. It governs where
///   the undercut is shallow against the plastic behind it, which is too stout to widen or shear as a whole;
/// - **tear**: see [`Around::tear`].
///
/// The part is free when its floor has passed the top of the head, a travel of `engaged_mm`.
pub(super) fn hold(around: &Around<'_>, head: Head, engaged_mm: f64) -> PointHold {
    let Some(undercut) = head.undercut(engaged_mm) else {
        let sides_mm2 = side_mm2(head.head_mm, engaged_mm.min(head.height_mm))
            + side_mm2(head.neck_mm, engaged_mm - head.height_mm);
        return around.drag_only(head.head_mm.max(head.neck_mm), sides_mm2, engaged_mm);
    };
    let limits = vec![
        expand(around, head, &undercut),
        shear(around, head, &undercut),
        crush(around, head, &undercut),
        around.tear(head.head_mm, engaged_mm),
    ];
    around.hold(limits, formula::strip_strain(undercut.depth_mm, undercut.bore_mm))
}

/// Drag of the head's side, N.
fn land_drag_n(around: &Around<'_>, head: Head, undercut: &Undercut) -> f64 {
    around.drag_mpa * side_mm2(head.head_mm, undercut.land_mm)
}

fn expand(around: &Around<'_>, head: Head, undercut: &Undercut) -> Limit {
    let &Undercut { under_mm, land_mm, depth_mm, bore_mm, climb_mm } = undercut;
    let friction = around.material.friction;
    let pressure_mpa = around.ring_pressure_mpa(bore_mm, depth_mm);
    let radial_n = pressure_mpa * side_mm2(bore_mm, under_mm);
    let flank_rad = FRAC_PI_2 - head.underside_rad;
    let name = "expand";
    let Some(factor) = formula::flank_factor(friction, flank_rad) else {
        let curve = Curve::triangle(0.0, 1e-3, 1e-2);
        return Limit { name, force_n: f64::INFINITY, curve, ending: Ending::LetsGo };
    };
    let force_n = radial_n * factor;
    let drag_n = land_drag_n(around, head, undercut);
    let peak_n = force_n + drag_n;
    // The pressure grows with the climb until it is full, at once if the cap is reached at once.
    let elastic_mpa = around.elastic_pressure_mpa(bore_mm, depth_mm);
    let full_mm = if elastic_mpa > 0.0 { climb_mm * pressure_mpa / elastic_mpa } else { 0.0 };
    let rise_mm = full_mm.max(around.rise_mm(peak_n, head.head_mm, under_mm));
    // On the head's side the flank is parallel to the pull: friction alone.
    let land_n = friction * pressure_mpa * side_mm2(head.head_mm, under_mm.min(land_mm)) + drag_n;
    let curve = Curve::through(&[
        (rise_mm, peak_n),
        (climb_mm, peak_n),
        (under_mm, land_n.min(peak_n)),
        (under_mm + land_mm, 0.0),
    ]);
    Limit { name, force_n, curve, ending: Ending::LetsGo }
}

fn shear(around: &Around<'_>, head: Head, undercut: &Undercut) -> Limit {
    let &Undercut { under_mm, land_mm, .. } = undercut;
    let force_n =
        formula::shear_strength_mpa(around.material.yield_hot_mpa) * side_mm2(head.head_mm, under_mm);
    let drag_n = land_drag_n(around, head, undercut);
    let peak_n = force_n + drag_n;
    let rise_mm = around.rise_mm(peak_n, head.head_mm, under_mm);
    // Punched through a tough ring, less and less of its height is left to shear.
    let brittle = around.material.break_strain < BRITTLE_STRAIN;
    let gone_mm = if brittle { rise_mm + CRACK_SHARE * under_mm } else { under_mm };
    let curve = Curve::through(&[(rise_mm, peak_n), (gone_mm, drag_n), (under_mm + land_mm, 0.0)]);
    Limit { name: "shear", force_n, curve, ending: Ending::Breaks }
}

fn crush(around: &Around<'_>, head: Head, undercut: &Undercut) -> Limit {
    let &Undercut { under_mm, land_mm, bore_mm, .. } = undercut;
    let underside_mm2 = FRAC_PI_4 * (head.head_mm.powi(2) - bore_mm.powi(2));
    // On a cone, friction adds to the pull of the pressure: 1 + μ/tan a with a the flank's angle to the pull.
    let friction = 1.0 + around.material.friction * head.underside_rad.tan();
    let pressure_mpa = formula::indentation_pressure_mpa(around.material.yield_hot_mpa);
    let force_n = pressure_mpa * underside_mm2 * friction;
    let drag_n = land_drag_n(around, head, undercut);
    let peak_n = force_n + drag_n;
    let rise_mm = around.rise_mm(peak_n, head.head_mm, under_mm);
    let curve = Curve::through(&[(rise_mm, peak_n), (under_mm, drag_n), (under_mm + land_mm, 0.0)]);
    Limit { name: "crush", force_n, curve, ending: Ending::LetsGo }
}
