//! A keying feature's hold: expand, shear or tear, whichever is weakest, plus drag.

use std::f64::consts::PI;

use keepside_model::{FeatureKind, KeyingFeature, Project};

use crate::hardware;
use crate::hold::{Case, ChannelSection, Curve, Ending, PointHold, formula};

/// Flank of an ISO metric thread to its axis: 90° less the half angle of 30° (ISO 68-1).
const THREAD_FLANK_DEG: f64 = 60.0;

/// An undercut in plastic, whatever made it.
struct Undercut {
    /// Diameter over which the plastic has to pass, mm.
    outer_mm: f64,
    /// Depth of the undercut on the radius, mm.
    depth_mm: f64,
    /// Angle of the flank that carries, to the pull direction, rad.
    flank_rad: f64,
    /// Area of plastic that shears off if it cannot pass, mm².
    shear_mm2: f64,
    /// Area, seen from the side, on which the flank presses, mm².
    flank_mm2: f64,
    /// Cylinder that drags besides, mm².
    drag_mm2: f64,
    /// Travel until it is free, mm.
    travel_mm: f64,
    /// Length of plastic around it, mm.
    engaged_mm: f64,
    /// What shearing off leaves behind.
    after_shear: Ending,
}

/// The hold of a keying feature that stands in a channel of this section.
///
/// It gives way at the smallest of
/// - **expand**: the ring of plastic around it, out to the nearest wall, is stretched over the undercut:
///   thick-ring pressure, capped at full plasticity, on the flank, times the flank factor; impossible at
///   or above the lock angle;
/// - **shear** of the plastic in the undercut at `s_y`/√3;
/// - **tear** of the channel's net section (b − d) h at the hot strength.
pub fn feature(project: &Project, feature: &KeyingFeature, channel: ChannelSection) -> PointHold {
    let engaged_mm = feature.protrusion_mm.min(channel.depth_mm);
    if engaged_mm <= 0.0 {
        let curve = Curve::triangle(0.0, 1e-3, 1e-2);
        let governed_by = "nothing to hold";
        return PointHold {
            curve,
            ending: Ending::LetsGo,
            governed_by,
            cases: Vec::new(),
            strip_strain: 0.0,
        };
    }
    match feature.kind {
        FeatureKind::SetScrew { thread } => {
            let thread = hardware::thread(thread);
            let area = formula::moulded_thread_area_mm2(thread.nominal_mm, engaged_mm);
            let filled = project.holds.thread_filled_share;
            undercut(
                project,
                channel,
                &Undercut {
                    outer_mm: thread.nominal_mm,
                    depth_mm: thread.thread_depth_mm,
                    flank_rad: THREAD_FLANK_DEG.to_radians(),
                    shear_mm2: filled * area,
                    flank_mm2: filled * PI * thread.nominal_mm * engaged_mm,
                    drag_mm2: 0.0,
                    travel_mm: engaged_mm,
                    engaged_mm,
                    after_shear: Ending::LetsGo,
                },
            )
        }
        FeatureKind::CapHead { thread } => {
            let head = hardware::cap_head(thread);
            let neck_mm = hardware::nominal_diameter_mm(thread);
            head_hold(project, channel, engaged_mm, head.head_diameter_mm, neck_mm, head.head_height_mm, 0.0)
        }
        FeatureKind::TurnedHead { head_diameter_mm, neck_diameter_mm, head_height_mm, underside_deg } => {
            let underside = underside_deg.to_radians();
            head_hold(
                project,
                channel,
                engaged_mm,
                head_diameter_mm,
                neck_diameter_mm,
                head_height_mm,
                underside,
            )
        }
        FeatureKind::PlainPost { diameter_mm } => {
            drag_only(project, channel, diameter_mm, PI * diameter_mm * engaged_mm, engaged_mm)
        }
    }
}

/// A head on a neck. Without plastic under it (it sits on the floor, or is no wider than its neck) it
/// only drags.
fn head_hold(
    project: &Project,
    channel: ChannelSection,
    engaged_mm: f64,
    head_mm: f64,
    neck_mm: f64,
    height_mm: f64,
    underside_rad: f64,
) -> PointHold {
    let under_mm = engaged_mm - height_mm;
    let depth_mm = 0.5 * (head_mm - neck_mm);
    let in_plastic_mm = height_mm.min(engaged_mm);
    let drag_mm2 = PI * (head_mm * in_plastic_mm + neck_mm * under_mm.max(0.0));
    if under_mm <= 0.0 || depth_mm <= 0.0 {
        return drag_only(project, channel, head_mm.max(neck_mm), drag_mm2, engaged_mm);
    }
    // A conical underside reaches down the neck as far as its slope needs, or to the floor.
    let cone_mm = (depth_mm * underside_rad.tan()).min(under_mm);
    undercut(
        project,
        channel,
        &Undercut {
            outer_mm: head_mm,
            depth_mm,
            flank_rad: 0.5 * PI - underside_rad,
            shear_mm2: PI * head_mm * under_mm,
            flank_mm2: PI * 0.5 * (head_mm + neck_mm) * cone_mm,
            drag_mm2,
            travel_mm: in_plastic_mm + depth_mm,
            engaged_mm,
            after_shear: Ending::Breaks,
        },
    )
}

fn undercut(project: &Project, channel: ChannelSection, of: &Undercut) -> PointHold {
    let material = &project.material;
    let outside_mm = 2.0 * channel.to_wall_mm;
    let bore_mm = of.outer_mm - 2.0 * of.depth_mm;
    let expand_n = formula::flank_factor(material.friction, of.flank_rad)
        .and_then(|factor| {
            let interference_mm = 2.0 * of.depth_mm;
            let (modulus, poisson) = (material.modulus_hot_mpa, material.poisson);
            let elastic =
                formula::thick_ring_pressure_mpa(modulus, poisson, interference_mm, of.outer_mm, outside_mm)?;
            let plastic =
                formula::plastic_ring_pressure_mpa(material.yield_hot_mpa, of.outer_mm, outside_mm)?;
            Some(elastic.min(plastic) * of.flank_mm2 * factor)
        })
        .unwrap_or(f64::INFINITY);
    let shear_n = formula::shear_strength_mpa(material.yield_hot_mpa) * of.shear_mm2;
    let tear_n = material.yield_hot_mpa * (channel.width_mm - of.outer_mm).max(0.0) * channel.depth_mm;
    let cases = vec![
        Case { name: "expand", force_n: expand_n },
        Case { name: "shear", force_n: shear_n },
        Case { name: "tear", force_n: tear_n },
    ];
    let (governed_by, limit_n, ending) = [
        ("expand", expand_n, Ending::LetsGo),
        ("shear", shear_n, of.after_shear),
        ("tear", tear_n, Ending::Breaks),
    ]
    .into_iter()
    .min_by(|a, b| a.1.total_cmp(&b.1))
    .unwrap_or(("shear", shear_n, of.after_shear));
    let peak_n = limit_n + project.holds.wall_drag_mpa * of.drag_mm2;
    let rise_mm = peak_n / ring_stiffness(project, channel, of.outer_mm, of.engaged_mm);
    PointHold {
        curve: Curve::triangle(peak_n, rise_mm, of.travel_mm),
        ending,
        governed_by,
        cases,
        strip_strain: if bore_mm > 0.0 { 2.0 * of.depth_mm / bore_mm } else { 0.0 },
    }
}

fn drag_only(
    project: &Project,
    channel: ChannelSection,
    diameter_mm: f64,
    wall_mm2: f64,
    engaged_mm: f64,
) -> PointHold {
    let peak_n = project.holds.wall_drag_mpa * wall_mm2;
    let rise_mm = peak_n / ring_stiffness(project, channel, diameter_mm, engaged_mm);
    PointHold {
        curve: Curve::triangle(peak_n, rise_mm, engaged_mm),
        ending: Ending::LetsGo,
        governed_by: "drag",
        cases: vec![Case { name: "drag", force_n: peak_n }],
        strip_strain: 0.0,
    }
}

/// How stiffly the plastic around a feature takes up its pull.
fn ring_stiffness(project: &Project, channel: ChannelSection, diameter_mm: f64, engaged_mm: f64) -> f64 {
    let material = &project.material;
    let outside_mm = 2.0 * channel.to_wall_mm;
    formula::ring_shear_stiffness_n_mm(
        material.modulus_hot_mpa,
        material.poisson,
        engaged_mm,
        diameter_mm,
        outside_mm,
    )
}

#[cfg(test)]
mod tests {
    use glam::DVec2;
    use keepside_model::{Half, ThreadSize};

    use super::*;

    const CHANNEL: ChannelSection =
        ChannelSection { width_mm: 8.0, depth_mm: 5.0, depth_in_half_mm: 2.5, to_wall_mm: 4.0 };

    fn of(kind: FeatureKind, protrusion_mm: f64) -> PointHold {
        let pin =
            KeyingFeature { name: String::new(), at: DVec2::ZERO, half: Half::Moving, kind, protrusion_mm };
        feature(&Project::blank(), &pin, CHANNEL)
    }

    fn turned(underside_deg: f64, neck_diameter_mm: f64) -> FeatureKind {
        FeatureKind::TurnedHead {
            head_diameter_mm: 4.0,
            neck_diameter_mm,
            head_height_mm: 1.0,
            underside_deg,
        }
    }

    #[test]
    fn a_set_screw_strips_its_thread_in_shear_over_its_length() {
        let hold = of(FeatureKind::SetScrew { thread: ThreadSize::M4 }, 2.0);
        let expected = 0.6 * 0.875 * PI * 4.0 * 2.0 * 18.0 / 3.0_f64.sqrt();
        assert!((hold.curve.peak_n() - expected).abs() < 1e-9);
        assert_eq!((hold.governed_by, hold.ending), ("shear", Ending::LetsGo));
        assert_eq!(hold.curve.let_go_travel_mm(), 2.0);
    }

    #[test]
    fn grip_grows_with_protrusion_and_is_nothing_without() {
        let kind = FeatureKind::SetScrew { thread: ThreadSize::M4 };
        assert_eq!(of(kind, 0.0).curve.peak_n(), 0.0);
        assert!(of(kind, 2.0).curve.peak_n() > 1.5 * of(kind, 1.0).curve.peak_n());
    }

    #[test]
    fn a_flat_head_can_only_be_sheared_or_torn() {
        let hold = of(turned(0.0, 3.0), 2.0);
        assert!(hold.cases.iter().any(|case| case.name == "expand" && case.force_n.is_infinite()));
        assert_eq!(hold.ending, Ending::Breaks);
    }

    #[test]
    fn a_shallow_cone_lets_the_ring_pass_and_survives() {
        let hold = of(turned(60.0, 3.7), 2.5);
        assert_eq!((hold.governed_by, hold.ending), ("expand", Ending::LetsGo));
        assert!((hold.strip_strain - 0.3 / 3.7).abs() < 1e-12);
    }

    #[test]
    fn a_head_on_the_floor_or_no_wider_than_its_neck_only_drags() {
        for hold in [of(turned(0.0, 3.0), 1.0), of(turned(0.0, 4.0), 2.0)] {
            assert_eq!(hold.governed_by, "drag");
        }
        assert_eq!(of(FeatureKind::PlainPost { diameter_mm: 3.0 }, 2.0).governed_by, "drag");
    }
}
