//! A sprue's hold: drag of the plug in its bore, until it slides out or breaks at its neck.

use std::f64::consts::{FRAC_PI_4, PI};

use keepside_model::{Finish, Project, Sprue};

use crate::hold::{BRITTLE_STRAIN, Case, Curve, Ending, PointHold, formula};

/// Stretch of a neck until it breaks, in neck diameters: 20 to 50 % for a tough plastic, a few percent
/// for a brittle one; assumed.
const TOUGH_STRETCH: f64 = 0.35;
const BRITTLE_STRETCH: f64 = 0.03;

/// The hold of a sprue.
///
/// The plug shrinks away from its wall, so it is tack, tool marks and leftover pressure that drag, not
/// grip: `t_s π d` a mm. Parallel bores drag over their whole length, drafted ones until the draft has
/// opened the relief. Slip starts at the channel and runs to the tip (shear lag of a bar in constant
/// drag): root travel F²/(2 E A q) at a pull F, with q the drag a mm.
///
/// The plug breaks where the pull carried at a section exceeds the hot strength times its area. The pull
/// at a section is the drag beyond it, so the thin tip of a drafted plug carries nothing and it is the
/// neck at the channel that breaks: over a cone the area goes with d², the drag beyond with d² − `d_tip`²,
/// and their ratio is least where d is largest. This is finer than strength times smallest area.
///
/// Release agent is sprayed on the faces and does not reach into the bore.
///
/// A measured curve takes the place of the computed one; how the plug comes out stays as computed, unless
/// it was measured to hold on beyond the travel at which it would be clear of its bore: then it slid out.
pub fn sprue(project: &Project, sprue: &Sprue) -> PointHold {
    let material = &project.material;
    let holds = &project.holds;
    let drag_mpa = match sprue.finish {
        Finish::AsTurned => holds.sprue_drag_turned_mpa,
        Finish::Polished => holds.sprue_drag_polished_mpa,
    };
    let slope = sprue.draft_deg.to_radians().tan();
    // A bore that would narrow to less than a tenth of its mouth ends there.
    let length =
        if slope > 0.0 { sprue.length_mm.min(0.45 * sprue.diameter_mm / slope) } else { sprue.length_mm };
    let peak_n = drag_mpa * wall_beyond_mm2(sprue.diameter_mm, slope, length, 0.0);
    let let_go_mm = if slope > 0.0 { length.min(holds.wall_relief_mm / slope) } else { length };

    let root_area = FRAC_PI_4 * sprue.diameter_mm.powi(2);
    let break_n = material.yield_hot_mpa * root_area;
    let drag_n_mm = (drag_mpa * PI * sprue.diameter_mm).max(1e-9);
    let root_travel = |force: f64| force * force / (2.0 * material.modulus_hot_mpa * root_area * drag_n_mm);
    let cases = vec![Case { name: "drag", force_n: peak_n }, Case { name: "neck breaks", force_n: break_n }];
    let breaks = break_n < peak_n;
    let (top_n, ending, governed_by) =
        if breaks { (break_n, Ending::Breaks, "neck breaks") } else { (peak_n, Ending::LetsGo, "drag") };
    let full_mm = root_travel(top_n);
    let curve = if breaks {
        let brittle = material.break_strain < BRITTLE_STRAIN;
        let stretch = sprue.diameter_mm * if brittle { BRITTLE_STRETCH } else { TOUGH_STRETCH };
        let start = full_mm.max(1e-4);
        vec![
            (0.0, 0.0),
            (0.25 * start, 0.5 * top_n),
            (start, top_n),
            (start + stretch, top_n),
            (start + 1.1 * stretch, 0.0),
        ]
    } else {
        let start = full_mm.clamp(1e-4, 0.5 * let_go_mm.max(1e-3));
        vec![(0.0, 0.0), (0.25 * start, 0.5 * top_n), (start, top_n), (let_go_mm.max(1e-3), 0.0)]
    };
    let curve = Curve::new(curve).unwrap_or_else(|| Curve::triangle(top_n, 1e-3, let_go_mm));
    let (allowed_once, allowed_repeated) = formula::allowed_strain(material);
    let hold =
        PointHold { curve, ending, governed_by, cases, strip_strain: 0.0, allowed_once, allowed_repeated };
    let slid_out = sprue.measured.as_ref().is_some_and(|measured| {
        Curve::measured(measured).let_go_travel_mm() > let_go_mm.max(hold.curve.let_go_travel_mm())
    });
    let ending = if slid_out { Ending::LetsGo } else { hold.ending };
    PointHold { ending, ..hold }.or_measured(sprue.measured.as_ref())
}

/// Wall of the plug from a section `from_mm` from the channel to its tip, mm²: the side of a cone.
fn wall_beyond_mm2(root_mm: f64, slope: f64, length_mm: f64, from_mm: f64) -> f64 {
    let diameter = |s: f64| root_mm - 2.0 * s * slope;
    PI * 0.5 * (diameter(from_mm) + diameter(length_mm)) * (length_mm - from_mm) * slope.hypot(1.0)
}

#[cfg(test)]
mod tests {
    use glam::DVec2;
    use keepside_model::{Half, PullOff};
    use proptest::prelude::*;

    use super::*;

    fn bore(draft_deg: f64, length_mm: f64, diameter_mm: f64, finish: Finish) -> Sprue {
        let name = String::new();
        Sprue {
            name,
            at: DVec2::ZERO,
            half: Half::Fixed,
            diameter_mm,
            length_mm,
            draft_deg,
            finish,
            measured: None,
        }
    }

    fn of(draft_deg: f64, length_mm: f64, diameter_mm: f64, finish: Finish) -> PointHold {
        sprue(&Project::blank(), &bore(draft_deg, length_mm, diameter_mm, finish))
    }

    #[test]
    fn a_parallel_sprue_drags_over_its_whole_wall_and_length() {
        let hold = of(0.0, 20.0, 4.0, Finish::AsTurned);
        assert!((hold.curve.peak_n() - 0.5 * PI * 4.0 * 20.0).abs() < 1e-9);
        assert_eq!(hold.curve.let_go_travel_mm(), 20.0);
        assert_eq!(hold.ending, Ending::LetsGo);
    }

    #[test]
    fn draft_polish_and_shortness_all_weaken_it() {
        let plain = of(0.0, 20.0, 4.0, Finish::AsTurned).curve.work_mj();
        for weaker in [
            of(1.0, 20.0, 4.0, Finish::AsTurned),
            of(0.0, 20.0, 4.0, Finish::Polished),
            of(0.0, 10.0, 4.0, Finish::AsTurned),
        ] {
            assert!(weaker.curve.work_mj() < 0.6 * plain);
        }
        // Relief 0.02 mm over tan 1°.
        let let_go = of(1.0, 20.0, 4.0, Finish::AsTurned).curve.let_go_travel_mm();
        assert!((let_go - 0.02 / 1.0_f64.to_radians().tan()).abs() < 1e-12);
    }

    #[test]
    fn a_thin_long_plug_breaks_at_the_channel() {
        // 1 mm plug: strength 18 π/4 = 14.1 N against a drag of 0.5 π 40 = 62.8 N.
        let hold = of(0.0, 40.0, 1.0, Finish::AsTurned);
        assert_eq!((hold.ending, hold.governed_by), (Ending::Breaks, "neck breaks"));
        assert!((hold.curve.peak_n() - 18.0 * FRAC_PI_4).abs() < 1e-9);
    }

    #[test]
    fn no_section_is_weaker_than_the_neck_at_the_channel() {
        // The smallest area over the share of the drag beyond it, looked for in a hundred places.
        for slope in [0.0, 0.01, 0.04, 0.09] {
            let strength = |s: f64| {
                let share = wall_beyond_mm2(4.0, slope, 20.0, s) / wall_beyond_mm2(4.0, slope, 20.0, 0.0);
                (4.0 - 2.0 * s * slope).powi(2) / share
            };
            let root = strength(0.0);
            assert!((0..100).all(|i| strength(0.2 * f64::from(i)) >= root - 1e-9), "{slope}");
        }
    }

    #[test]
    fn a_brittle_plug_breaks_at_once_and_a_tough_one_stretches() {
        let mut project = Project::blank();
        let bore = bore(0.0, 40.0, 1.0, Finish::AsTurned);
        let tough = sprue(&project, &bore);
        project.material.break_strain = 0.025;
        let brittle = sprue(&project, &bore);
        assert_eq!((tough.ending, brittle.ending), (Ending::Breaks, Ending::Breaks));
        // A third of the neck diameter against a few percent of it, besides the elastic travel.
        let gap_mm = tough.curve.let_go_travel_mm() - brittle.curve.let_go_travel_mm();
        assert!((gap_mm - 1.1 * (0.35 - 0.03)).abs() < 1e-9, "{gap_mm}");
    }

    #[test]
    fn a_measured_curve_takes_the_place_of_the_computed_one() {
        let project = Project::blank();
        let measured = |points: &[(f64, f64)]| PullOff::new(points.to_vec()).unwrap();
        let curve = measured(&[(0.0, 0.0), (0.2, 31.0), (4.0, 12.5), (11.0, 0.0)]);
        let computed = bore(0.0, 12.0, 3.0, Finish::AsTurned);
        let hold = sprue(&project, &Sprue { measured: Some(curve.clone()), ..computed.clone() });
        assert_eq!(hold.curve.points(), curve.points());
        assert_eq!((hold.governed_by, hold.ending), ("measured", Ending::LetsGo));
        assert_eq!(hold.cases, sprue(&project, &computed).cases, "what would be computed is still told");

        // The thin plug breaks by computation, and with a curve as short as that of a break as well; one
        // that was measured to slide over more than its length has slid out.
        let thin = bore(0.0, 40.0, 1.0, Finish::AsTurned);
        let ending = |end_mm| {
            let curve = measured(&[(0.0, 0.0), (0.2, 9.0), (end_mm, 0.0)]);
            sprue(&project, &Sprue { measured: Some(curve), ..thin.clone() }).ending
        };
        assert_eq!(
            (ending(0.6), ending(40.0), ending(41.0)),
            (Ending::Breaks, Ending::Breaks, Ending::LetsGo)
        );
    }

    #[test]
    fn release_agent_on_the_faces_leaves_a_sprue_alone() {
        let mut project = Project::blank();
        let bore = bore(0.0, 20.0, 4.0, Finish::AsTurned);
        let before = sprue(&project, &bore);
        project.holds.release_factor_fixed = 0.2;
        assert_eq!(sprue(&project, &bore), before);
    }

    proptest! {
        /// Whatever a project may hold gives a finite curve that starts and ends with no pull.
        #[test]
        fn any_sprue_has_a_sound_curve(
            draft_deg in 0.0..=45.0,
            length_mm in 0.2..=200.0,
            diameter_mm in 0.3..=30.0,
            drag_mpa in 0.0..=20.0,
            strength in (0.05..=1000.0, 1.0..=100_000.0, 0.001..=10.0, 0.001..=5.0),
        ) {
            let mut project = Project::blank();
            project.holds.sprue_drag_turned_mpa = drag_mpa;
            project.holds.wall_relief_mm = strength.3;
            let material = &mut project.material;
            (material.yield_hot_mpa, material.modulus_hot_mpa, material.break_strain) =
                (strength.0, strength.1, strength.2);
            let hold = sprue(&project, &bore(draft_deg, length_mm, diameter_mm, Finish::AsTurned));
            prop_assert!(Curve::new(hold.curve.points().to_vec()).is_some(), "{:?}", hold);
            let weakest = hold.cases.iter().map(|case| case.force_n).fold(f64::INFINITY, f64::min);
            prop_assert!((hold.curve.peak_n() - weakest).abs() <= 1e-9 * weakest, "{:?}", hold);
        }
    }
}
