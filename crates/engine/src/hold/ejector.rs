//! Handbook checks of ejector pins: buckling, and the pressure under the face.

use std::f64::consts::{FRAC_PI_4, PI};

use keepside_model::{Ejector, Material};

/// Modulus of an ejector pin's steel, MPa. Source: the worked example in Kazmer, Injection Mold Design
/// Engineering, p. 352.
pub const STEEL_MODULUS_MPA: f64 = 200_000.0;

/// Effective length over free length that stands behind [`buckling_radius_mm`]: `√(2.8/(4 π))`.
///
/// Clamped at both ends, a pin has 0.5; with a face that can tilt, [`TILTING_LENGTH`].
pub const HANDBOOK_LENGTH: f64 = 0.472_035;

/// Effective length over free length of a pin that is clamped at its head and whose face is guided but
/// can tilt: Euler's third case (from memory, any text on strength of materials).
pub const TILTING_LENGTH: f64 = 0.699_156;

/// Smallest radius of a pin that does not buckle, mm: `(2.8 F L²/(π⁴ E))^¼`.
///
/// F force on the pin in N, L free length in mm, E modulus in MPa. Source: Kazmer, Injection Mold Design
/// Engineering, p. 352, worked out there to 1.1 mm. That R is a radius follows from Euler's formula
/// `F = π² E I/(K L)²`: with `I = π R⁴/4` the printed number stands for an effective length of 0.47 L, next
/// to the 0.5 L of a pin clamped at both ends; were R a diameter it would be 0.12 L, which no pin has.
/// There is no reserve in it; see [`tilting_diameter_mm`].
pub fn buckling_radius_mm(force_n: f64, length_mm: f64, modulus_mpa: f64) -> f64 {
    (2.8 * force_n.max(0.0) * length_mm.powi(2) / (PI.powi(4) * modulus_mpa)).powf(0.25)
}

/// Smallest diameter of a steel pin that does not buckle, mm: twice [`buckling_radius_mm`].
pub fn buckling_diameter_mm(force_n: f64, length_mm: f64) -> f64 {
    2.0 * buckling_radius_mm(force_n, length_mm, STEEL_MODULUS_MPA)
}

/// Diameter that does not buckle even if the face can tilt, mm, from one that just does not when the face
/// is held straight: the diameter goes with the root of the effective length.
pub fn tilting_diameter_mm(buckling_diameter_mm: f64) -> f64 {
    buckling_diameter_mm * (TILTING_LENGTH / HANDBOOK_LENGTH).sqrt()
}

/// Pressure of a force under an ejector's face, MPa: over the whole round face, its grooves ignored.
pub fn face_pressure_mpa(ejector: &Ejector, force_n: f64) -> f64 {
    force_n / (FRAC_PI_4 * ejector.diameter_mm.powi(2))
}

/// Pressure from which an ejector leaves a mark, MPa: the warm yield stress.
///
/// Assumed. A wide block of plastic gives way to a punch only at about three times that
/// ([`indentation_pressure_mpa`](super::formula::indentation_pressure_mpa)); a thin channel is no wide
/// block, and the yield stress is on the safe side of both.
pub const fn mark_pressure_mpa(material: &Material) -> f64 {
    material.yield_hot_mpa
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_effective_lengths_are_those_of_the_formulas() {
        assert!((HANDBOOK_LENGTH - (2.8 / (4.0 * PI)).sqrt()).abs() < 1e-6);
        // Clamped and guided: tan x = x, x = 4.493 409 5; K = π/x.
        let x = PI / TILTING_LENGTH;
        assert!((x.tan() - x).abs() < 1e-3, "{x}");
    }

    /// Euler's critical force of a round pin, N.
    fn euler_n(diameter_mm: f64, length_mm: f64, share: f64) -> f64 {
        let moment_mm4 = PI * diameter_mm.powi(4) / 64.0;
        PI.powi(2) * STEEL_MODULUS_MPA * moment_mm4 / (share * length_mm).powi(2)
    }

    #[test]
    fn a_pin_of_just_that_diameter_buckles_by_euler_at_just_that_force() {
        for (force_n, length_mm) in [(290.0, 200.0), (40.0, 80.0), (2000.0, 120.0)] {
            let diameter_mm = buckling_diameter_mm(force_n, length_mm);
            let straight_n = euler_n(diameter_mm, length_mm, HANDBOOK_LENGTH);
            assert!((straight_n / force_n - 1.0).abs() < 1e-5, "{straight_n} is not {force_n}");
            let tilting_n = euler_n(tilting_diameter_mm(diameter_mm), length_mm, TILTING_LENGTH);
            assert!((tilting_n / force_n - 1.0).abs() < 1e-5, "{tilting_n} is not {force_n}");
            // Clamped at both ends: 3 % more in diameter than the handbook asks for.
            let clamped_n = euler_n(1.03 * diameter_mm, length_mm, 0.5);
            assert!((clamped_n / force_n - 1.0).abs() < 0.01, "{clamped_n} is not {force_n}");
        }
    }
}
