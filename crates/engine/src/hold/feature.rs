//! A keying feature's hold: whichever way to give is weakest, plus drag.

use keepside_model::{FeatureKind, KeyingFeature, Project};

use crate::hardware;
use crate::hold::around::Around;
use crate::hold::head::{self, Head};
use crate::hold::law::Weighed;
use crate::hold::set_screw::{self, Screw};
use crate::hold::{ChannelSection, PointHold, post};

/// The hold of a keying feature that stands in a channel of this section.
///
/// It gives way at the smallest of
/// - **expand**: the ring of plastic around it, out to the nearest wall, is stretched over the undercut:
///   thick-ring pressure, capped at full plasticity, on the flank, times the flank factor; impossible at
///   or above the lock angle;
/// - **shear** of the plastic in the undercut at `s_y`/√3;
/// - **crush** of the plastic under a head by indentation;
/// - **tear** of the channel's net section at the hot strength.
///
/// The rising part of its curve is elastic shear of the plastic between the feature and the wall.
///
/// A measured curve takes the place of the computed one. The competing ways, the strip strain and what is
/// left behind stay as computed: a curve does not tell them.
pub fn feature(project: &Project, feature: &KeyingFeature, channel: ChannelSection) -> PointHold {
    weigh_feature(project, feature, channel).hold
}

pub(super) fn weigh_feature(project: &Project, feature: &KeyingFeature, channel: ChannelSection) -> Weighed {
    let weighed = computed(project, feature, channel);
    Weighed { hold: weighed.hold.or_measured(feature.measured.as_ref()), ..weighed }
}

fn computed(project: &Project, feature: &KeyingFeature, channel: ChannelSection) -> Weighed {
    let around = Around::new(project, feature.half, channel);
    let engaged_mm = feature.protrusion_mm.min(channel.depth_mm);
    if engaged_mm <= 0.0 {
        return around.hold(Vec::new(), 0.0);
    }
    match feature.kind {
        FeatureKind::SetScrew { thread, end } => {
            let screw = Screw {
                size: thread,
                end,
                length_mm: feature.screw_length_mm,
                filled_share: project.holds.thread_filled_share,
                socket_drag_mpa: project.holds.sprue_drag_turned_mpa,
            };
            set_screw::hold(&around, screw, engaged_mm)
        }
        FeatureKind::CapHead { thread, turned_mm, chamfer_mm } => {
            let bought = hardware::cap_head(thread);
            let neck_mm = hardware::nominal_diameter_mm(thread);
            let head_mm = turned_mm.unwrap_or(f64::INFINITY).min(bought.head_diameter_mm);
            let head = Head::chamfered(head_mm, neck_mm.min(head_mm), bought.head_height_mm, chamfer_mm);
            head::hold(&around, head, engaged_mm)
        }
        FeatureKind::TurnedHead { head_diameter_mm, neck_diameter_mm, head_height_mm, underside_deg } => {
            let head = Head {
                head_mm: head_diameter_mm,
                neck_mm: neck_diameter_mm,
                height_mm: head_height_mm,
                underside_rad: underside_deg.to_radians(),
                under_at_most_mm: f64::INFINITY,
                flat_mm: 0.0,
            };
            head::hold(&around, head, engaged_mm)
        }
        FeatureKind::PlainPost { diameter_mm } => post::hold(&around, diameter_mm, engaged_mm),
        FeatureKind::RingedPost { diameter_mm, ring_depth_mm, ring_width_mm, land_mm, flank_deg } => {
            // A ring that lies wholly below the channel floor is none.
            if land_mm >= engaged_mm {
                return post::hold(&around, diameter_mm, engaged_mm);
            }
            let head = Head {
                head_mm: diameter_mm,
                neck_mm: (diameter_mm - 2.0 * ring_depth_mm).max(0.0),
                height_mm: land_mm,
                underside_rad: flank_deg.to_radians(),
                under_at_most_mm: ring_width_mm,
                flat_mm: 0.0,
            };
            head::hold(&around, head, engaged_mm)
        }
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use glam::DVec2;
    use keepside_model::{Half, PullOff, ScrewEnd, ThreadSize};
    use proptest::prelude::*;

    use super::*;
    use crate::hold::{Curve, Ending};

    const CHANNEL: ChannelSection =
        ChannelSection { width_mm: 8.0, depth_mm: 5.0, depth_in_half_mm: 2.5, to_wall_mm: 4.0 };

    fn pin(kind: FeatureKind, protrusion_mm: f64) -> KeyingFeature {
        KeyingFeature::new(DVec2::ZERO, Half::Moving, kind, protrusion_mm)
    }

    fn of(kind: FeatureKind, protrusion_mm: f64) -> PointHold {
        feature(&Project::blank(), &pin(kind, protrusion_mm), CHANNEL)
    }

    fn turned(underside_deg: f64, head_diameter_mm: f64, neck_diameter_mm: f64) -> FeatureKind {
        FeatureKind::TurnedHead { head_diameter_mm, neck_diameter_mm, head_height_mm: 1.0, underside_deg }
    }

    fn force(hold: &PointHold, name: &str) -> f64 {
        hold.cases.iter().find(|case| case.name == name).map_or(f64::NAN, |case| case.force_n)
    }

    const SCREW: FeatureKind = FeatureKind::set_screw(ThreadSize::M4);

    #[test]
    fn a_set_screw_strips_its_thread_in_shear_over_its_length() {
        let hold = of(SCREW, 2.0);
        let shear = 0.6 * 0.875 * PI * 4.0 * 2.0 * 18.0 / 3.0_f64.sqrt();
        // The two fifths of the side that are not filled drag at 0.05 MPa, and the plug at 0.5 MPa on the
        // walls of its socket, 2 mm across flats and 2.5 mm deep: 17.32 mm².
        let drag = 0.05 * PI * 4.0 * 2.0 * 0.4;
        let plug = 0.5 * 2.0 * 3.0_f64.sqrt() * 2.0 * 2.5;
        assert!((hold.curve.peak_n() - shear - drag - plug).abs() < 1e-9);
        assert_eq!((hold.governed_by, hold.ending), ("shear", Ending::LetsGo));
        // The thread has let go after 2 mm, the plug has left its socket after 2.5 mm.
        assert_eq!(hold.curve.let_go_travel_mm(), 2.5);
        assert!((hold.curve.force_n(2.0) - plug * 0.5 / 2.5).abs() < 0.01 * plug);
        // Half of the thread is left half way.
        assert!((hold.curve.force_n(1.0) / hold.curve.peak_n() - 0.5).abs() < 0.02);
    }

    fn turned_over(end: ScrewEnd, protrusion_mm: f64) -> PointHold {
        of(FeatureKind::SetScrew { thread: ThreadSize::M4, end }, protrusion_mm)
    }

    #[test]
    fn a_point_takes_its_length_from_the_thread() {
        // M4: flat 2.5 mm, cup 2.0 mm, sharp cone, dog 2.5 mm and 2 mm long, each with its cone of 45°.
        for (end, point_mm) in
            [(ScrewEnd::Flat, 0.75), (ScrewEnd::Cup, 1.0), (ScrewEnd::Cone, 2.0), (ScrewEnd::Dog, 2.0 + 0.75)]
        {
            let hold = turned_over(end, 4.0);
            let shear = 0.6 * 0.875 * PI * 4.0 * (4.0 - point_mm) * 18.0 / 3.0_f64.sqrt();
            assert!((force(&hold, "shear") - shear).abs() < 1e-9, "{end:?}");
            assert!((hold.curve.let_go_travel_mm() - (4.0 - point_mm)).abs() < 1e-12, "{end:?}");
            assert!(hold.curve.work_mj() < turned_over(ScrewEnd::Socket, 4.0).curve.work_mj());
        }
        // No thread in the plastic: a dog drags, a cone does not even do that.
        let dog = turned_over(ScrewEnd::Dog, 2.0);
        assert_eq!(dog.governed_by, "drag");
        assert!((dog.curve.peak_n() - 0.05 * PI * 2.5 * 2.0).abs() < 1e-9);
        assert_eq!(turned_over(ScrewEnd::Cone, 1.9).governed_by, "nothing to hold");
    }

    #[test]
    fn a_plug_that_is_held_more_than_it_bears_stays_in_the_socket() {
        let mut project = Project::blank();
        // 3.6 times 0.5 MPa on the walls: as much as the neck bears.
        project.holds.sprue_drag_turned_mpa = 3.7;
        let hold = feature(&project, &pin(SCREW, 2.0), CHANNEL);
        assert_eq!((hold.governed_by, hold.ending), ("shear", Ending::Breaks));
        project.holds.sprue_drag_turned_mpa = 3.5;
        assert_eq!(feature(&project, &pin(SCREW, 2.0), CHANNEL).ending, Ending::LetsGo);
    }

    fn cap(turned_mm: Option<f64>, chamfer_mm: f64) -> PointHold {
        of(FeatureKind::CapHead { thread: ThreadSize::M2, turned_mm, chamfer_mm }, 3.0)
    }

    #[test]
    fn a_cap_head_turned_down_undercuts_less() {
        // As bought 3.8 mm on a neck of 2 mm, 2 mm high: shear at the rim over the millimetre below it.
        assert!((force(&cap(None, 0.0), "shear") - PI * 3.8 * 18.0 / 3.0_f64.sqrt()).abs() < 1e-9);
        assert!((force(&cap(Some(3.0), 0.0), "shear") - PI * 3.0 * 18.0 / 3.0_f64.sqrt()).abs() < 1e-9);
        assert_eq!(cap(Some(5.0), 0.0), cap(None, 0.0), "turning does not add metal");
        for none in [cap(Some(2.0), 0.0), cap(Some(1.5), 0.3)] {
            assert_eq!((none.governed_by, none.strip_strain), ("drag", 0.0));
        }
    }

    #[test]
    fn a_chamfer_over_the_whole_undercut_makes_a_cone_of_45_degrees() {
        // 2.6 mm on 2 mm: an undercut of 0.3 mm.
        let full = cap(Some(2.6), 0.3);
        let cone = of(
            FeatureKind::TurnedHead {
                head_diameter_mm: 2.6,
                neck_diameter_mm: 2.0,
                head_height_mm: 1.7,
                underside_deg: 45.0,
            },
            3.0,
        );
        let (a, b) = (force(&full, "expand"), force(&cone, "expand"));
        assert!(a.is_finite() && (a - b).abs() < 1e-9 * b, "{a} {b}");
        assert!((cap(Some(2.6), 0.9).curve.work_mj() - full.curve.work_mj()).abs() < 1e-9);
    }

    #[test]
    fn a_small_chamfer_leaves_a_flat_that_shears() {
        // 3.8 mm on 2 mm with 0.3 mm of chamfer: flat out to 3.2 mm, over 1 mm of plastic; the ring outside is
        // widened by 0.3 mm on 3.2 mm.
        let small = cap(None, 0.3);
        assert!(small.cases.iter().all(|case| case.name != "expand"));
        let flat_n = PI * 3.2 * 1.0 * 18.0 / 3.0_f64.sqrt();
        let both_n = force(&small, "shear and expand");
        assert!(both_n > flat_n, "{both_n} {flat_n}");
        // At the whole rim there is more to shear: over 1.3 mm at 3.8 mm.
        assert!((force(&small, "shear") - PI * 3.8 * 1.3 * 18.0 / 3.0_f64.sqrt()).abs() < 1e-9);
        assert!((small.strip_strain - 0.6 / 3.2).abs() < 1e-12, "only the chamfer is climbed");
        // The smaller the chamfer, the nearer to a flat head.
        let hardly = force(&cap(None, 1e-4), "shear and expand");
        assert!((hardly / force(&cap(None, 0.0), "shear") - 1.0).abs() < 0.01);
    }

    fn ringed(ring_depth_mm: f64, ring_width_mm: f64, land_mm: f64, flank_deg: f64) -> PointHold {
        let kind =
            FeatureKind::RingedPost { diameter_mm: 4.0, ring_depth_mm, ring_width_mm, land_mm, flank_deg };
        of(kind, 3.0)
    }

    #[test]
    fn a_ring_shears_over_its_width_and_the_post_below_it_drags() {
        let hold = ringed(0.4, 0.5, 0.6, 0.0);
        assert_eq!((hold.governed_by, hold.ending), ("shear", Ending::Breaks));
        let shear = PI * 4.0 * 0.5 * 18.0 / 3.0_f64.sqrt();
        // 0.6 mm of land and the 1.9 mm of post below the ring.
        let drag = 0.05 * PI * 4.0 * 2.5;
        assert!((hold.curve.peak_n() - shear - drag).abs() < 1e-9);
        assert_eq!(hold.curve.let_go_travel_mm(), 3.0);
        // A ring cut off by the floor holds over what is left of it, and one below the floor is none.
        let low = ringed(0.4, 2.0, 2.8, 0.0);
        assert!((force(&low, "shear") - PI * 4.0 * 0.2 * 18.0 / 3.0_f64.sqrt()).abs() < 1e-9);
        let gone = ringed(0.4, 0.5, 3.5, 0.0);
        assert!((gone.curve.peak_n() - 0.05 * PI * 4.0 * 3.0).abs() < 1e-9);
    }

    #[test]
    fn a_shallow_ring_with_a_leaning_flank_slides_off_its_land() {
        let hold = ringed(0.05, 0.5, 0.6, 70.0);
        assert_eq!((hold.governed_by, hold.ending), ("expand", Ending::LetsGo));
        assert!((hold.strip_strain - 0.1 / 3.9).abs() < 1e-12);
        // Past the land only the post below the ring drags.
        let post = 0.05 * PI * 4.0 * 1.9;
        assert!((hold.curve.force_n(1.1) - post).abs() < 1e-9, "{}", hold.curve.force_n(1.1));
        assert_eq!(hold.curve.let_go_travel_mm(), 3.0);
    }

    #[test]
    fn grip_grows_with_protrusion_and_is_nothing_without() {
        for kind in [SCREW, turned(0.0, 4.0, 3.0), FeatureKind::PlainPost { diameter_mm: 3.0 }] {
            let none = of(kind, 0.0);
            assert_eq!((none.curve.peak_n(), none.governed_by), (0.0, "nothing to hold"));
            let pulls: Vec<f64> = (1..=16).map(|i| of(kind, 0.25 * f64::from(i)).curve.work_mj()).collect();
            assert!(pulls.windows(2).all(|pair| pair[0] < pair[1]), "{kind:?}: {pulls:?}");
        }
    }

    #[test]
    fn a_thread_that_is_not_filled_only_drags() {
        let mut project = Project::blank();
        project.holds.thread_filled_share = 0.0;
        project.holds.sprue_drag_turned_mpa = 0.0;
        let hold = feature(&project, &pin(SCREW, 2.0), CHANNEL);
        assert_eq!(hold.governed_by, "drag");
        assert!((hold.curve.peak_n() - 0.05 * PI * 4.0 * 2.0).abs() < 1e-9);
    }

    #[test]
    fn a_narrow_channel_tears_beside_the_screw() {
        let narrow = ChannelSection { width_mm: 4.5, depth_mm: 3.0, depth_in_half_mm: 1.5, to_wall_mm: 2.25 };
        let hold = feature(&Project::blank(), &pin(SCREW, 2.5), narrow);
        assert_eq!((hold.governed_by, hold.ending), ("tear", Ending::Tears));
        assert!((force(&hold, "tear") - 0.5 * 3.0 * 18.0).abs() < 1e-9);
        // Off the centre line the near side is gone, the far side is wider.
        let beside = ChannelSection { to_wall_mm: 1.0, ..narrow };
        let hold = feature(&Project::blank(), &pin(SCREW, 2.5), beside);
        assert!((force(&hold, "tear") - 1.5 * 3.0 * 18.0).abs() < 1e-9);
        assert_eq!((hold.governed_by, force(&hold, "expand")), ("expand", 0.0));
    }

    #[test]
    fn a_flat_head_cannot_slide_off() {
        for kind in [turned(0.0, 4.0, 3.0), FeatureKind::cap_head(ThreadSize::M2)] {
            let hold = of(kind, 3.0);
            assert!(force(&hold, "expand").is_infinite());
            assert_eq!((hold.governed_by, hold.ending), ("shear", Ending::Breaks));
            assert_eq!(hold.curve.let_go_travel_mm(), 3.0);
        }
    }

    #[test]
    fn a_cone_flatter_than_the_lock_angle_cannot_slide_off() {
        // Lock angle of the flank to the pull 90° − atan 0.28 = 74.36°, so underside 15.64°.
        assert!(force(&of(turned(15.6, 4.0, 3.0), 2.5), "expand").is_infinite());
        assert!(force(&of(turned(15.7, 4.0, 3.0), 2.5), "expand").is_finite());
    }

    #[test]
    fn a_steep_cone_lets_the_ring_pass_and_survives() {
        let hold = of(turned(60.0, 6.0, 5.6), 2.2);
        assert_eq!((hold.governed_by, hold.ending), ("expand", Ending::LetsGo));
        assert!((hold.strip_strain - 0.4 / 5.6).abs() < 1e-12);
        assert!(hold.strip_strain > hold.allowed_once, "7.1 % against 70 % of 8 %");
        // A steeper cone holds less.
        assert!(force(&of(turned(75.0, 6.0, 5.6), 2.2), "expand") < force(&hold, "expand"));
    }

    #[test]
    fn a_shallow_undercut_with_stout_plastic_behind_is_crushed() {
        let hold = of(turned(0.0, 4.0, 3.8), 4.0);
        assert_eq!((hold.governed_by, hold.ending), ("crush", Ending::LetsGo));
        let ring = PI / 4.0 * (16.0 - 14.44);
        assert!((force(&hold, "crush") - (2.0 + PI) * 18.0 / 3.0_f64.sqrt() * ring).abs() < 1e-9);
    }

    #[test]
    fn a_cone_that_the_floor_cuts_short_undercuts_less() {
        // 60° to the parting plane and 0.3 mm of plastic under the rim: 0.3/tan 60° deep, not 0.5 mm.
        let hold = of(turned(60.0, 4.0, 3.0), 1.3);
        let depth = 0.3 / 60.0_f64.to_radians().tan();
        assert!((hold.strip_strain - 2.0 * depth / (4.0 - 2.0 * depth)).abs() < 1e-12);
    }

    #[test]
    fn a_head_on_the_floor_or_no_wider_than_its_neck_only_drags() {
        for hold in [of(turned(0.0, 4.0, 3.0), 1.0), of(turned(0.0, 4.0, 4.0), 2.0)] {
            assert_eq!((hold.governed_by, hold.strip_strain), ("drag", 0.0));
        }
        let post = of(FeatureKind::PlainPost { diameter_mm: 3.0 }, 2.0);
        assert_eq!(post.governed_by, "drag");
        assert!((post.curve.peak_n() - 0.05 * PI * 3.0 * 2.0).abs() < 1e-9);
    }

    #[test]
    fn a_measured_curve_takes_the_place_of_the_computed_one() {
        let points = vec![(0.0, 0.0), (0.1, 40.0), (1.5, 22.0), (1.9, 0.0)];
        let measured = Some(PullOff::new(points.clone()).unwrap());
        let narrow = ChannelSection { width_mm: 4.5, depth_mm: 3.0, depth_in_half_mm: 1.5, to_wall_mm: 2.25 };
        for (kind, channel, governed_by, ending) in [
            (SCREW, CHANNEL, "measured", Ending::LetsGo),
            (turned(0.0, 4.0, 3.0), CHANNEL, "measured", Ending::Breaks),
            (SCREW, narrow, "measured, tear", Ending::Tears),
        ] {
            let computed = pin(kind, 2.5);
            let with = KeyingFeature { measured: measured.clone(), ..computed.clone() };
            let (hold, without) =
                (feature(&Project::blank(), &with, channel), feature(&Project::blank(), &computed, channel));
            assert_eq!(hold.curve.points(), points);
            assert_eq!((hold.governed_by, hold.ending), (governed_by, ending), "{kind:?}");
            assert_eq!((hold.cases, hold.strip_strain), (without.cases, without.strip_strain));
        }
        // Even a pin that seems to stand in no plastic holds what it was measured to hold.
        let flush = KeyingFeature { measured, ..pin(SCREW, 0.0) };
        assert_eq!(feature(&Project::blank(), &flush, CHANNEL).curve.points(), points);
    }

    #[test]
    fn release_agent_on_its_own_half_takes_drag_away() {
        let mut project = Project::blank();
        let post = pin(FeatureKind::PlainPost { diameter_mm: 3.0 }, 2.0);
        let dry = feature(&project, &post, CHANNEL).curve.peak_n();
        project.holds.release_factor_fixed = 0.3;
        assert_eq!(feature(&project, &post, CHANNEL).curve.peak_n(), dry);
        project.holds.release_factor_moving = 0.3;
        assert!((feature(&project, &post, CHANNEL).curve.peak_n() - 0.3 * dry).abs() < 1e-12);
    }

    proptest! {
        /// Whatever a project may hold gives a finite curve that starts and ends with no pull.
        #[test]
        fn any_feature_in_any_channel_has_a_sound_curve(
            which in 0..5,
            end in 0..ScrewEnd::ALL.len(),
            lengths in (0.05..50.0, 0.0..=10.0),
            size in 0..ThreadSize::ALL.len(),
            diameters in (0.3..50.0, 0.3..50.0, 0.3..50.0),
            underside_deg in 0.0..=80.0,
            protrusion_mm in 0.0..=50.0,
            channel in (0.2..=200.0, 0.1..=100.0, -1.0..=1.0),
            plastic in (0.0..=0.499, 0.0..=2.0, 0.001..=10.0, 0.0..=1.0),
        ) {
            let thread = ThreadSize::ALL[size];
            let kind = match which {
                0 => FeatureKind::SetScrew { thread, end: ScrewEnd::ALL[end] },
                1 => FeatureKind::CapHead {
                    thread,
                    turned_mm: (end > 0).then_some(diameters.0),
                    chamfer_mm: lengths.1,
                },
                3 => FeatureKind::RingedPost {
                    diameter_mm: diameters.0,
                    ring_depth_mm: lengths.0,
                    ring_width_mm: diameters.1,
                    land_mm: diameters.2,
                    flank_deg: underside_deg,
                },
                2 => FeatureKind::TurnedHead {
                    head_diameter_mm: diameters.0,
                    neck_diameter_mm: diameters.1,
                    head_height_mm: diameters.2,
                    underside_deg,
                },
                _ => FeatureKind::PlainPost { diameter_mm: diameters.0 },
            };
            let (width_mm, depth_mm, beside): (f64, f64, f64) = channel;
            let to_wall_mm = 0.5 * width_mm * (1.0 - beside.abs());
            let section = ChannelSection { width_mm, depth_mm, depth_in_half_mm: 0.5 * depth_mm, to_wall_mm };
            let mut project = Project::blank();
            project.material.poisson = plastic.0;
            project.material.friction = plastic.1;
            project.material.break_strain = plastic.2;
            project.holds.thread_filled_share = plastic.3;
            let hold = feature(&project, &pin(kind, protrusion_mm), section);
            prop_assert!(Curve::new(hold.curve.points().to_vec()).is_some(), "{:?}", hold);
            prop_assert!(hold.strip_strain.is_finite() && hold.strip_strain >= 0.0);
            prop_assert!(hold.cases.iter().all(|case| case.force_n >= 0.0), "{:?}", hold);
        }
    }
}
