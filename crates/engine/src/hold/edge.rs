//! The hold of a rounded edge that is an undercut: the section must be squeezed past the lip.

use keepside_model::{Half, Project};

use crate::beam::ChannelShape;
use crate::hold::{Curve, formula};

/// A hold along a run, a mm of it.
#[derive(Clone, Debug, PartialEq)]
pub struct LineHold {
    /// Pull, N a mm of run, both edges together, against travel.
    pub curve: Curve,
    /// Strain across the section when its widest place passes the lips.
    pub strip_strain: f64,
    /// Largest strip strain that the part takes once, as at ejection.
    pub allowed_once: f64,
    /// Largest strip strain that it takes again and again.
    pub allowed_repeated: f64,
    /// "squeeze" if the section slides out, "shear" if its edges are sheared off, "measured" if the
    /// curve is.
    pub governed_by: &'static str,
}

/// Places on the way out at which the pull is computed.
const PLACES: u32 = 16;

/// The hold of the edges in `half` where the channel is `width_mm` wide and `depth_mm` deep; `None` if
/// that half does not trap the part there. See [`LineHold`].
pub fn edge_at(project: &Project, width_mm: f64, depth_mm: f64, half: Half) -> Option<LineHold> {
    edge(project, &ChannelShape::new(&project.part, width_mm, depth_mm), half)
}

/// The hold of the edges of a section in the half that traps it.
///
/// The lip at the parting plane rides on the part's arc. When the part has been drawn out by u, the
/// section must be narrower by what the arc is wider there than it was at the lip, on both sides:
/// strain 2 x/b, stress E times that, no more than yield, on the height of the undercut. The side force
/// drives the part up the flank: pull = side force times the flank factor at the arc's angle at the lip,
/// which falls from its largest to nothing as the widest place arrives. (With no friction the work is
/// just the elastic energy of the squeeze. The chord of the arc, half of its angle, is its mean.)
///
/// The edges shear off instead, at `s_y`/√3 on the height that is still engaged, where that takes less;
/// at and above the lock angle nothing else can happen. The side force acting on the undercut's height
/// alone is assumed.
pub(crate) fn edge(project: &Project, shape: &ChannelShape, half: Half) -> Option<LineHold> {
    let undercut = shape.undercut(half)?;
    let material = &project.material;
    let (height_mm, width_mm) = (undercut.height_mm, shape.width_mm);
    let (allowed_once, allowed_repeated) = formula::allowed_strain(material);
    let strip_strain = 2.0 * undercut.depth_mm / width_mm;
    let shear_mpa = formula::shear_strength_mpa(material.yield_hot_mpa);
    let sheared_n_mm = |travel_mm: f64| 2.0 * shear_mpa * (height_mm - travel_mm).max(0.0);
    let slid_n_mm = |travel_mm: f64| {
        let (squeeze_mm, flank_rad) = undercut.squeeze_at(travel_mm);
        let stress_mpa = (material.modulus_hot_mpa * 2.0 * squeeze_mm / width_mm).min(material.yield_hot_mpa);
        formula::flank_factor(material.friction, flank_rad)
            .map_or(f64::INFINITY, |factor| 2.0 * stress_mpa * height_mm * factor)
    };

    // Elastic shear of the plastic on the depth of the undercut, before it gives.
    let shear_modulus_mpa = material.modulus_hot_mpa / (2.0 * (1.0 + material.poisson));
    let place_mm = height_mm / f64::from(PLACES);
    let rise_mm = (shear_mpa / shear_modulus_mpa * undercut.depth_mm).min(0.5 * place_mm);
    let mut points = Vec::with_capacity(PLACES as usize + 1);
    let (mut peak_n_mm, mut governed_by) = (0.0, "squeeze");
    let places = (1..=PLACES).map(|i| place_mm * f64::from(i));
    for travel_mm in std::iter::once(rise_mm).chain(places) {
        let (slid, sheared) = (slid_n_mm(travel_mm), sheared_n_mm(travel_mm));
        let pull_n_mm = slid.min(sheared);
        if pull_n_mm > peak_n_mm {
            (peak_n_mm, governed_by) = (pull_n_mm, if slid < sheared { "squeeze" } else { "shear" });
        }
        points.push((travel_mm, pull_n_mm));
    }
    let (curve, governed_by) = match &project.holds.edge_curve {
        Some(measured) => (Curve::measured(measured), "measured"),
        None => (Curve::through(&points), governed_by),
    };
    Some(LineHold { curve, strip_strain, allowed_once, allowed_repeated, governed_by })
}

#[cfg(test)]
mod tests {
    use keepside_model::PullOff;
    use proptest::prelude::*;

    use super::*;

    /// A part parted half way up a channel, with an edge in the fixed half.
    fn rounded(edge_fixed_mm: f64) -> Project {
        let mut project = Project::blank();
        project.part.edge_fixed_mm = edge_fixed_mm;
        project
    }

    #[test]
    fn an_edge_that_fits_its_half_holds_nothing() {
        for half in [Half::Moving, Half::Fixed] {
            assert_eq!(edge_at(&rounded(1.5), 6.0, 3.0, half), None);
        }
        assert!(edge_at(&rounded(1.8), 6.0, 3.0, Half::Moving).is_some());
        assert_eq!(edge_at(&rounded(1.8), 6.0, 3.0, Half::Fixed), None);
    }

    #[test]
    fn without_friction_the_work_is_the_energy_of_the_squeeze() {
        let mut project = rounded(1.8);
        project.material.friction = 0.0;
        // Radius 1.8, half 1.5 deep: the widest place is 0.3 up and 1.8 − √(1.8² − 0.3²) = 0.02518 out.
        let hold = edge_at(&project, 6.0, 3.0, Half::Moving).expect("it traps");
        let out_mm = 1.8 - (1.8_f64.powi(2) - 0.09).sqrt();
        assert!((hold.strip_strain - 2.0 * out_mm / 6.0).abs() < 1e-12);
        // Both sides: stress 800 · 2 x/6 on 0.3 mm, from 0 to out: 2 · 800 · 2/6 · 0.3 · out²/2.
        let energy = 800.0 * 2.0 / 6.0 * 0.3 * out_mm * out_mm;
        assert!((hold.curve.work_mj() / energy - 1.0).abs() < 0.01, "{} {energy}", hold.curve.work_mj());
        assert_eq!(hold.governed_by, "squeeze");
        assert!((hold.curve.let_go_travel_mm() - 0.3).abs() < 1e-12);
        assert_eq!(hold.curve.force_n(0.3 + 1e-12), 0.0);
    }

    #[test]
    fn friction_and_depth_make_it_hold_more() {
        let peak = |friction, edge| {
            let mut project = rounded(edge);
            project.material.friction = friction;
            edge_at(&project, 6.0, 3.0, Half::Moving).map_or(0.0, |hold| hold.curve.peak_n())
        };
        assert!(peak(0.5, 1.8) > peak(0.2, 1.8) && peak(0.2, 1.8) > peak(0.0, 1.8));
        assert!(peak(0.2, 2.2) > peak(0.2, 1.8) && peak(0.2, 1.8) > peak(0.2, 1.6));
    }

    #[test]
    fn a_lip_too_steep_to_slide_over_shears_the_edge() {
        // All in the moving half, with a rounded edge against the flat face of the fixed half: the flank
        // starts at 90°. s_y/√3 on 1 mm, both edges: 2 · 18/√3 = 20.8 N a mm at most.
        let mut project = rounded(1.0);
        project.part.moving_share = 1.0;
        let hold = edge_at(&project, 6.0, 3.0, Half::Moving).expect("it traps");
        assert_eq!(hold.governed_by, "shear");
        let most = 2.0 * 18.0 / 3.0_f64.sqrt();
        assert!(hold.curve.peak_n() < most && hold.curve.peak_n() > 0.95 * most, "{}", hold.curve.peak_n());
        assert!(hold.strip_strain > hold.allowed_once);
    }

    #[test]
    fn a_measured_curve_takes_the_place_of_the_computed_one() {
        let mut project = rounded(1.8);
        let points = vec![(0.0, 0.0), (0.1, 2.0), (0.4, 0.0)];
        project.holds.edge_curve = PullOff::new(points.clone()).ok();
        let hold = edge_at(&project, 6.0, 3.0, Half::Moving).expect("it traps");
        assert_eq!((hold.curve.points(), hold.governed_by), (points.as_slice(), "measured"));
        assert_eq!(edge_at(&project, 6.0, 3.0, Half::Fixed), None);
    }

    proptest! {
        /// Any edge has a sound curve that lets go at the undercut's height, and mirrors with the halves.
        #[test]
        fn any_edge_has_a_sound_curve(
            share in 0.0..=1.0,
            edge in 0.0..=10.0,
            width_mm in 0.2..=40.0,
            depth_mm in 0.1..=20.0,
            friction in 0.0..=1.5,
            modulus in 1.0..=100_000.0,
        ) {
            let mut project = rounded(edge);
            project.part.moving_share = share;
            (project.material.friction, project.material.modulus_hot_mpa) = (friction, modulus);
            let mut mirrored = project.clone();
            (mirrored.part.edge_fixed_mm, mirrored.part.edge_moving_mm) = (0.0, edge);
            mirrored.part.moving_share = 1.0 - share;
            let hold = edge_at(&project, width_mm, depth_mm, Half::Moving);
            let other = edge_at(&mirrored, width_mm, depth_mm, Half::Fixed);
            prop_assert_eq!(hold.is_some(), other.is_some());
            if let (Some(hold), Some(other)) = (hold, other) {
                prop_assert!(Curve::new(hold.curve.points().to_vec()).is_some(), "{:?}", hold);
                prop_assert!(hold.curve.peak_n() > 0.0);
                let (a, b) = (hold.curve.peak_n(), other.curve.peak_n());
                prop_assert!((a - b).abs() < 1e-5 * a.max(1e-6), "{a} {b}");
                let undercut = ChannelShape::new(&project.part, width_mm, depth_mm).undercut(Half::Moving);
                let height_mm = undercut.map_or(0.0, |undercut| undercut.height_mm);
                prop_assert!(hold.curve.let_go_travel_mm() <= height_mm.max(0.002) + 1e-9);
            }
        }
    }
}
