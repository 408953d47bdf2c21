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
/// The plug breaks where the pull carried at a section exceeds the hot strength times its area. The
/// pull at a section is the drag beyond it, so a drafted plug need not break at its thin tip, where
/// nothing pulls any more; this is finer than strength times smallest area.
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
    let diameter = |s: f64| sprue.diameter_mm - 2.0 * s * slope;
    // Wall from a section to the tip, mm².
    let wall_beyond = |s: f64| PI * 0.5 * (diameter(s) + diameter(length)) * (length - s) * slope.hypot(1.0);
    let peak_n = drag_mpa * wall_beyond(0.0);
    let let_go_mm = if slope > 0.0 { length.min(holds.wall_relief_mm / slope) } else { length };

    let neck_mm = weakest_section(&wall_beyond, &diameter, length);
    let share = wall_beyond(neck_mm) / wall_beyond(0.0);
    let neck_area = FRAC_PI_4 * diameter(neck_mm).powi(2);
    let break_n = material.yield_hot_mpa * neck_area / share;

    let root_area = FRAC_PI_4 * sprue.diameter_mm.powi(2);
    let drag_n_mm = (drag_mpa * PI * sprue.diameter_mm).max(1e-9);
    let root_travel = |force: f64| force * force / (2.0 * material.modulus_hot_mpa * root_area * drag_n_mm);
    let cases = vec![Case { name: "drag", force_n: peak_n }, Case { name: "neck breaks", force_n: break_n }];
    let breaks = break_n < peak_n;
    let (top_n, ending, governed_by) =
        if breaks { (break_n, Ending::Breaks, "neck breaks") } else { (peak_n, Ending::LetsGo, "drag") };
    let full_mm = root_travel(top_n);
    let curve = if breaks {
        let brittle = material.break_strain < BRITTLE_STRAIN;
        let stretch = diameter(neck_mm) * if brittle { BRITTLE_STRETCH } else { TOUGH_STRETCH };
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
    PointHold { curve, ending, governed_by, cases, strip_strain: 0.0, allowed_once, allowed_repeated }
}

/// Place from the channel, mm, of the section that breaks first: the smallest area over the share of
/// the wall beyond it.
fn weakest_section(wall_beyond: &dyn Fn(f64) -> f64, diameter: &dyn Fn(f64) -> f64, length: f64) -> f64 {
    let strength = |s: f64| diameter(s).powi(2) / wall_beyond(s).max(1e-12);
    let places = (0..100).map(|i| f64::from(i) / 100.0 * length);
    places.min_by(|a, b| strength(*a).total_cmp(&strength(*b))).unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use glam::DVec2;
    use keepside_model::Half;

    use super::*;

    fn of(draft_deg: f64, length_mm: f64, diameter_mm: f64, finish: Finish) -> PointHold {
        let bore = Sprue {
            name: String::new(),
            at: DVec2::ZERO,
            half: Half::Fixed,
            diameter_mm,
            length_mm,
            draft_deg,
            finish,
        };
        sprue(&Project::blank(), &bore)
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
}
