//! Silhouettes against the hardware tables and by hand.

use glam::DVec2;
use keepside_model::{Ejector, EjectorFace, Grooves, Half, ScrewEnd, ThreadSize};
use proptest::prelude::*;

use super::*;

fn feature(kind: FeatureKind, protrusion_mm: f64) -> KeyingFeature {
    KeyingFeature::new(DVec2::ZERO, Half::Moving, kind, protrusion_mm)
}

fn of(kind: FeatureKind, protrusion_mm: f64) -> Silhouette {
    of_feature(&feature(kind, protrusion_mm), 10.0)
}

fn screw(thread: ThreadSize, end: ScrewEnd) -> Silhouette {
    of(FeatureKind::SetScrew { thread, end }, 2.0)
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

#[test]
fn a_thread_goes_between_its_nominal_and_its_root_diameter_once_a_pitch() {
    for size in ThreadSize::ALL {
        let thread = hardware::thread(size);
        let line = screw(size, ScrewEnd::Socket).profile;
        let radii = line[..line.len() - 1].iter().map(|point| point.0);
        assert!(near(radii.clone().fold(0.0, f64::max), 0.5 * thread.nominal_mm));
        assert!(near(radii.fold(f64::INFINITY, f64::min), 0.5 * thread.root_diameter_mm));
        // A pitch on, the same; the other side of the axis stands half a pitch off.
        let silhouette = screw(size, ScrewEnd::Socket);
        let far = Silhouette { profile: silhouette.far_profile.clone(), ..silhouette.clone() };
        for i in 0..40 {
            let z = -9.0 + 0.2 * f64::from(i);
            let radius = silhouette.radius_mm(z).unwrap();
            assert!(near(radius, silhouette.radius_mm(z + thread.pitch_mm).unwrap()), "{size:?} {z}");
            assert!(near(radius, far.radius_mm(z + 0.5 * thread.pitch_mm).unwrap()), "{size:?} {z}");
        }
        // 60° between the flanks: a flank's rise over its height is tan 60°.
        let steepest =
            line.windows(2).filter(|p| p[1].1 > p[0].1).map(|p| (p[1].0 - p[0].0) / (p[1].1 - p[0].1));
        assert!(near(steepest.fold(0.0, f64::max), 60.0_f64.to_radians().tan()));
        // ISO 68-1: the crest is an eighth of the pitch wide.
        let is_crest = |point: &ProfilePoint| near(point.0, 0.5 * thread.nominal_mm);
        let crests = line.windows(2).filter(|p| is_crest(&p[0]) && is_crest(&p[1]));
        let widest = crests.map(|p| p[1].1 - p[0].1).fold(0.0, f64::max);
        assert!(near(widest, thread.pitch_mm / 8.0), "{size:?}: {widest}");
    }
}

#[test]
fn a_socket_is_as_wide_and_deep_as_the_table_says() {
    for size in ThreadSize::ALL {
        let table = hardware::set_screw(size);
        let silhouette = screw(size, ScrewEnd::Socket);
        assert_eq!(
            silhouette.recesses[0].kind,
            RecessKind::Hexagon { across_flats_mm: table.socket_mm, depth_mm: table.socket_depth_long_mm }
        );
        let bottom = silhouette.recesses[0].profile.last().unwrap();
        assert_eq!(*bottom, (0.0, 2.0 - table.socket_depth_long_mm));
        // A stub of a screw has the shallow socket.
        let length_mm = hardware::nominal_diameter_mm(size);
        assert_eq!(socket(size, Some(length_mm)).1, table.socket_depth_short_mm);
        // The corners stay within the thread's root. e = 1.14 s_min >= 2/√3 s is what keys in.
        assert!(across_corners_mm(table.socket_mm) < hardware::thread(size).root_diameter_mm);
        let head = of(FeatureKind::cap_head(size), 3.0);
        let table = hardware::cap_head(size);
        let hexagon =
            RecessKind::Hexagon { across_flats_mm: table.socket_mm, depth_mm: table.socket_depth_mm };
        assert_eq!(head.recesses[0].kind, hexagon);
    }
}

#[test]
fn points_have_the_diameters_of_the_tables() {
    for size in ThreadSize::ALL {
        let table = hardware::set_screw(size);
        let tip = |end: ScrewEnd| screw(size, end).radius_mm(2.0 - 1e-9).unwrap();
        assert!((tip(ScrewEnd::Flat) - 0.5 * table.flat_point_mm).abs() < 1e-6);
        assert!((tip(ScrewEnd::Cup) - 0.5 * table.cup_point_mm).abs() < 1e-6);
        assert!((tip(ScrewEnd::Dog) - 0.5 * table.dog_point_mm).abs() < 1e-6);
        assert!(tip(ScrewEnd::Cone) < 1e-6, "sharp");
        // The dog is a cylinder over its length, and not longer.
        let dog = screw(size, ScrewEnd::Dog);
        let at = |down_mm: f64| dog.radius_mm(2.0 - down_mm).unwrap();
        assert!(near(at(table.dog_long_mm - 0.01), 0.5 * table.dog_point_mm));
        assert!((at(table.dog_long_mm + 0.01) - 0.5 * table.dog_point_mm - 0.01).abs() < 1e-9);
        // A cone of 90° rises as it goes down.
        let cone = screw(size, ScrewEnd::Cone);
        assert!(near(cone.radius_mm(2.0 - 0.4).unwrap(), 0.4));
        // Where the point ends, the thread is whole.
        for end in [ScrewEnd::Flat, ScrewEnd::Cup, ScrewEnd::Cone, ScrewEnd::Dog] {
            let length_mm = point(size, end, None).unwrap().length_mm();
            let pitch_mm = hardware::thread(size).pitch_mm;
            let silhouette = screw(size, end);
            let radii = (0..50)
                .filter_map(|i| silhouette.radius_mm(2.0 - length_mm - pitch_mm * f64::from(i) / 50.0));
            let widest = radii.fold(0.0, f64::max);
            assert!(near(widest, 0.5 * hardware::nominal_diameter_mm(size)), "{size:?} {end:?} {widest}");
        }
    }
}

#[test]
fn what_is_not_in_the_tables_says_so() {
    let uncertain = |end| screw(ThreadSize::M4, end).uncertain;
    assert_eq!([ScrewEnd::Socket, ScrewEnd::Flat, ScrewEnd::Dog].map(uncertain), [None; 3]);
    assert!(uncertain(ScrewEnd::Cone).unwrap().contains("ISO 4027"));
    assert!(uncertain(ScrewEnd::Cup).unwrap().contains("120°"));
    assert!(matches!(screw(ThreadSize::M4, ScrewEnd::Cup).recesses[0].kind, RecessKind::Cup { .. }));
}

#[test]
fn a_screw_of_known_length_ends_where_it_ends() {
    let mut short = feature(FeatureKind::set_screw(ThreadSize::M4), 2.0);
    short.screw_length_mm = Some(8.0);
    let silhouette = of_feature(&short, 20.0);
    assert_eq!(silhouette.profile[0], (0.0, -6.0));
    // A flat point at the back: 2.5 mm.
    assert_eq!(silhouette.profile[1], (1.25, -6.0));
    assert_eq!(of_feature(&short, 3.0).profile[0].1, -3.0, "cut off before");
    // Turned over, the socket is at the back.
    short.kind = FeatureKind::SetScrew { thread: ThreadSize::M4, end: ScrewEnd::Flat };
    let turned = of_feature(&short, 20.0);
    assert_eq!(turned.recesses[0].profile[2], (0.0, -6.0 + 2.5));
}

#[test]
fn a_cap_head_is_drawn_as_bought_and_as_turned() {
    let thread = ThreadSize::M3;
    let bought = of(FeatureKind::cap_head(thread), 4.0);
    // ISO 4762: dk 5.5, k 3, on the 3 mm of its screw.
    assert_eq!(bought.profile, [(1.5, -10.0), (1.5, 1.0), (2.75, 1.0), (2.75, 4.0), (0.0, 4.0)]);
    let turned = of(FeatureKind::CapHead { thread, turned_mm: Some(4.2), chamfer_mm: 0.4 }, 4.0);
    assert_eq!(turned.profile[1..], [(1.5, 1.0), (2.1 - 0.4, 1.0), (2.1, 1.4), (2.1, 4.0), (0.0, 4.0)]);
    // Turned to more than it has, it stays as bought.
    let more = of(FeatureKind::CapHead { thread, turned_mm: Some(9.0), chamfer_mm: 0.0 }, 4.0);
    assert_eq!(more.profile, bought.profile);
    // The neck is hidden under the head; the socket is not.
    assert_eq!(bought.plan.iter().map(|line| line.is_hidden).collect::<Vec<_>>(), [false, true, false]);
}

#[test]
fn turned_heads_and_rings_have_the_drawn_angles() {
    let head = of(
        FeatureKind::TurnedHead {
            head_diameter_mm: 4.0,
            neck_diameter_mm: 3.0,
            head_height_mm: 1.0,
            underside_deg: 45.0,
        },
        2.5,
    );
    assert!(near(head.radius_mm(1.5).unwrap(), 2.0) && near(head.radius_mm(1.25).unwrap(), 1.75));
    assert!(near(head.radius_mm(0.9).unwrap(), 1.5));
    let ringed = |flank_deg| {
        of(
            FeatureKind::RingedPost {
                diameter_mm: 4.0,
                ring_depth_mm: 0.3,
                ring_width_mm: 0.5,
                land_mm: 0.6,
                flank_deg,
            },
            2.0,
        )
    };
    let square = ringed(0.0);
    assert!(near(square.radius_mm(1.2).unwrap(), 1.7) && near(square.radius_mm(1.5).unwrap(), 2.0));
    assert!(near(square.radius_mm(0.8).unwrap(), 2.0));
    // 70°: 0.5/tan 70° = 0.182 mm is as deep as the ring gets.
    let deepest = ringed(70.0).profile.iter().map(|p| p.0).filter(|r| *r > 0.0).fold(9.0, f64::min);
    assert!(near(deepest, 2.0 - 0.5 / 70.0_f64.to_radians().tan()), "{deepest}");
}

#[test]
fn grooves_fill_the_face_in_its_middle() {
    let grooves = Grooves { pitch_mm: 1.5, mouth_mm: 0.5, depth_mm: 0.5, lean_deg: 10.0 };
    let of = |face| of_ejector(&Ejector { grooves, ..Ejector::new(DVec2::ZERO, 5.0, 80.0, 8.0, face) });
    let plain = of(EjectorFace::Plain);
    assert_eq!((plain.across.as_slice(), plain.grooves.len()), ([(-2.5, 0.0), (2.5, 0.0)].as_slice(), 0));
    let parallel = of(EjectorFace::Grooved);
    // Bottom 0.5 + tan 10°: 0.676; (5 − 0.676)/1.5 = 2.88, so three grooves at −1.5, 0, 1.5.
    assert_eq!((parallel.grooves.len(), parallel.directions_deg.as_slice()), (3, [0.0].as_slice()));
    let bottom_mm = 0.5 + 10.0_f64.to_radians().tan();
    assert!(near(parallel.grooves[0].bottom_mm, bottom_mm));
    assert!(near(parallel.grooves[0].from.distance(parallel.grooves[0].to), 4.0), "chord at 1.5 mm");
    assert!(parallel.grooves.iter().all(|groove| near(groove.from.y, groove.to.y)), "along x");
    assert_eq!(parallel.across.len(), 2 + 3 * 4);
    let first = [(-1.75, 0.0), (-1.5 - 0.5 * bottom_mm, -0.5), (-1.5 + 0.5 * bottom_mm, -0.5), (-1.25, 0.0)];
    for (got, expected) in parallel.across[1..5].iter().zip(first) {
        assert!(near(got.0, expected.0) && near(got.1, expected.1), "{got:?} {expected:?}");
    }
    let crossed = of(EjectorFace::Crossed);
    assert_eq!((crossed.grooves.len(), crossed.directions_deg.as_slice()), (6, [0.0, 90.0].as_slice()));
    assert_eq!(crossings(&Grooved::new(5.0, &grooves)), 9);
}

#[test]
fn grooves_that_do_not_fit_say_so() {
    let of = |grooves| {
        of_ejector(&Ejector { grooves, ..Ejector::new(DVec2::ZERO, 3.0, 80.0, 8.0, EjectorFace::Grooved) })
    };
    let wide = of(Grooves { pitch_mm: 0.5, mouth_mm: 0.5, depth_mm: 0.5, lean_deg: 0.0 });
    assert!(wide.grooves.is_empty() && wide.uncertain.is_some());
    let deep = of(Grooves { pitch_mm: 1.0, mouth_mm: 0.5, depth_mm: 2.0, lean_deg: 30.0 });
    assert!(deep.uncertain.unwrap().contains("less deep"));
    assert!(deep.grooves[0].bottom_mm < 1.0);
    let large = of(Grooves { pitch_mm: 9.0, mouth_mm: 4.0, depth_mm: 0.5, lean_deg: 0.0 });
    assert!(large.grooves.is_empty() && large.uncertain.is_some());
}

proptest! {
    /// Whatever a project may hold is drawn from below upwards, ends on the axis, and is finite.
    #[test]
    fn any_feature_has_a_sound_silhouette(
        which in 0..5,
        size in 0..ThreadSize::ALL.len(),
        end in 0..ScrewEnd::ALL.len(),
        sizes in (0.3..50.0, 0.3..50.0, 0.3..50.0, 0.05..50.0),
        angle_deg in 0.0..=80.0,
        protrusion_mm in 0.0..=50.0,
        length_mm in proptest::option::of(1.0..=60.0),
        below_mm in 0.0..=60.0,
    ) {
        let thread = ThreadSize::ALL[size];
        let kind = match which {
            0 => FeatureKind::SetScrew { thread, end: ScrewEnd::ALL[end] },
            1 => FeatureKind::CapHead { thread, turned_mm: Some(sizes.0), chamfer_mm: sizes.3 - 0.05 },
            2 => FeatureKind::TurnedHead {
                head_diameter_mm: sizes.0,
                neck_diameter_mm: sizes.1,
                head_height_mm: sizes.2,
                underside_deg: angle_deg,
            },
            3 => FeatureKind::PlainPost { diameter_mm: sizes.0 },
            _ => FeatureKind::RingedPost {
                diameter_mm: sizes.0,
                ring_depth_mm: sizes.3,
                ring_width_mm: sizes.1,
                land_mm: sizes.2,
                flank_deg: angle_deg,
            },
        };
        let feature = KeyingFeature { screw_length_mm: length_mm, ..feature(kind, protrusion_mm) };
        let silhouette = of_feature(&feature, below_mm);
        for profile in [&silhouette.profile, &silhouette.far_profile] {
            prop_assert_eq!(profile.last(), Some(&(0.0, protrusion_mm)));
            prop_assert!(profile.iter().all(|(r, z)| *r >= -1e-12 && r.is_finite() && z.is_finite()));
            prop_assert!(profile.windows(2).all(|pair| pair[1].1 >= pair[0].1 - 1e-9), "{:?}", profile);
            prop_assert!(profile[0].1 >= -below_mm - 1e-9);
        }
        prop_assert!(!silhouette.plan.is_empty());
        let widest = silhouette.profile.iter().map(|point| 2.0 * point.0).fold(0.0, f64::max);
        let outermost_mm = match silhouette.plan[0].shape {
            PlanShape::Circle { diameter_mm } => diameter_mm,
            PlanShape::Hexagon { .. } => 0.0,
        };
        prop_assert!(outermost_mm >= widest - 1e-9);
    }
}
