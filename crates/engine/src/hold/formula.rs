//! Handbook formulas behind the holds.

use std::f64::consts::PI;

use keepside_model::Material;

use crate::hardware::Thread;
use crate::hold::BRITTLE_STRAIN;

/// Pressure of an elastic ring forced over a rigid core, MPa.
///
/// `W = (1 + (D/D_o)²)/(1 − (D/D_o)²)`; hoop stress at the bore `s = E (I/D) W/(W + ν)`; `p = s/W`, with
/// I the interference on the diameter, D the bore, `D_o` the outside diameter, all mm.
///
/// The core is rigid beside plastic. Source: the thick-wall interference fit (Lamé) as printed with a
/// worked example in the Gravi-Tech Design Guide (2020), figures 16 to 19. Returns `None` unless
/// `0 < D < D_o`.
pub fn thick_ring_pressure_mpa(
    modulus_mpa: f64,
    poisson: f64,
    interference_mm: f64,
    bore_mm: f64,
    outside_mm: f64,
) -> Option<f64> {
    let wall = thick_ring_factor(bore_mm, outside_mm)?;
    Some(modulus_mpa * interference_mm / bore_mm / (wall + poisson))
}

/// The factor W of [`thick_ring_pressure_mpa`].
pub fn thick_ring_factor(bore_mm: f64, outside_mm: f64) -> Option<f64> {
    if !(0.0 < bore_mm && bore_mm < outside_mm) {
        return None;
    }
    let square = (bore_mm / outside_mm).powi(2);
    Some((1.0 + square) / (1.0 - square))
}

/// Pressure at which a thick ring flows through and through, MPa: `(2/√3) s_y ln(r_o/r_i)`.
///
/// Source: limit pressure of a thick tube, von Mises, plane strain (any plasticity text; from memory).
/// Returns `None` unless `0 < D < D_o`.
pub fn plastic_ring_pressure_mpa(yield_mpa: f64, bore_mm: f64, outside_mm: f64) -> Option<f64> {
    (0.0 < bore_mm && bore_mm < outside_mm)
        .then(|| 2.0 / 3.0_f64.sqrt() * yield_mpa * (outside_mm / bore_mm).ln())
}

/// Pull over radial force on a flank at `flank_rad` to the pull direction: (μ + tan a)/(1 − μ tan a).
/// `None` at and above the lock angle, where it cannot slide off.
///
/// Source: separating force of a snap joint, Snap-Fit Joints for Plastics: A Design Guide, p. 14.
pub fn flank_factor(friction: f64, flank_rad: f64) -> Option<f64> {
    let tan = flank_rad.tan();
    let rest = 1.0 - friction * tan;
    (flank_rad < lock_angle_rad(friction) && rest > 0.0).then(|| (friction + tan) / rest)
}

/// Flank angle from which a joint cannot slide off, rad: 90° − atan μ.
///
/// Source: DSM, Snapfit Theory (2005): separable while a + ρ < 90°, ρ = atan μ.
pub fn lock_angle_rad(friction: f64) -> f64 {
    0.5 * PI - friction.atan()
}

/// Shear area of an internal thread, mm², sheared off at the crests of the screw in it:
/// `π n L D_s (1/(2n) + (D_s − E_n)/√3)`, n = 1/P.
///
/// P pitch, L engaged length, `D_s` major diameter of the screw, `E_n` pitch diameter of the internal
/// thread, all mm. Source: FED-STD-H28/2B as in Machinery's Handbook 24; symbols read at
/// engineersedge.com, the bracket of the internal thread from memory. ISO metric profile only.
pub fn internal_thread_shear_area_mm2(
    pitch_mm: f64,
    engaged_mm: f64,
    major_mm: f64,
    pitch_diameter_mm: f64,
) -> f64 {
    let thick_mm = 0.5 * pitch_mm + (major_mm - pitch_diameter_mm) / 3.0_f64.sqrt();
    PI * major_mm * engaged_mm * thick_mm / pitch_mm
}

/// Shear area of plastic moulded over a screw's thread, mm²: 0.875 π D L.
///
/// [`internal_thread_shear_area_mm2`] with no clearance: the cylinder at the nominal diameter D over the
/// engaged length L less the crest flats, P/8 in every P, of the basic profile.
pub fn moulded_thread_area_mm2(thread: &Thread, engaged_mm: f64) -> f64 {
    let Thread { pitch_mm, nominal_mm, pitch_diameter_mm, .. } = *thread;
    internal_thread_shear_area_mm2(pitch_mm, engaged_mm, nominal_mm, pitch_diameter_mm)
}

/// Shear strength of a ductile material, MPa: `s_y/√3` (von Mises; from memory, any plasticity text).
pub fn shear_strength_mpa(yield_mpa: f64) -> f64 {
    yield_mpa / 3.0_f64.sqrt()
}

/// Pressure under which a long flat punch sinks into a thick block, MPa: `(2 + π) s_y/√3`.
///
/// Source: Prandtl's punch, plane strain, von Mises (from memory, any plasticity text). Next to a
/// frictionless wall, as under a head beside its neck, the same holds by symmetry.
pub fn indentation_pressure_mpa(yield_mpa: f64) -> f64 {
    (2.0 + PI) * shear_strength_mpa(yield_mpa)
}

/// Stiffness of a ring of length L pulled along the rigid core that it is bonded to, N/mm:
/// `2 π G L/ln(r_o/r_i)` with `G = E/(2 (1 + ν))`: antiplane shear of an annulus (from memory).
/// A ring thinner than a twentieth of its bore counts as that thick.
pub fn ring_shear_stiffness_n_mm(
    modulus_mpa: f64,
    poisson: f64,
    length_mm: f64,
    bore_mm: f64,
    outside_mm: f64,
) -> f64 {
    let shear = modulus_mpa / (2.0 * (1.0 + poisson));
    let ratio = if bore_mm > 0.0 { (outside_mm / bore_mm).max(1.05) } else { 1.05 };
    2.0 * PI * shear * length_mm / ratio.ln()
}

/// Hoop strain of plastic that is pushed over an undercut: the undercut on the diameter over the bore.
///
/// Source: the undercut percentage of mould handbooks, from memory. 0 if there is no bore.
pub fn strip_strain(undercut_mm: f64, bore_mm: f64) -> f64 {
    if bore_mm > 0.0 { 2.0 * undercut_mm.max(0.0) / bore_mm } else { 0.0 }
}

/// Strain that a part may take once, and again and again: 70 % of the yield strain, or 50 % of the break
/// strain of a plastic that breaks without yielding; and 60 % of that.
///
/// Source: DSM, Maximum allowable short-term strain, meant for snap fits, threads stripped from the mould
/// and undercuts at ejection. That a break strain under 5 % means "without yielding" is assumed.
pub fn allowed_strain(material: &Material) -> (f64, f64) {
    let brittle = material.break_strain < BRITTLE_STRAIN;
    let once = if brittle { 0.5 * material.break_strain } else { 0.7 * material.yield_strain };
    (once, 0.6 * once)
}
