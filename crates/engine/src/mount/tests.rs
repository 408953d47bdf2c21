//! Mounts worked out by hand, in a channel 6 mm wide and 3 mm deep, half of it in each plate of 20 mm:
//! channel floor 1.5 mm below the parting face, 18.5 mm of plate behind it.

use glam::DVec2;
use keepside_model::{Edit, FeatureKind, Half, Id, Item, KeyingFeature, Lock, Project, ScrewEnd, ThreadSize};
use proptest::prelude::*;

use super::*;
use crate::hardware::{KeyArm, Sold};

fn feature(kind: FeatureKind) -> KeyingFeature {
    KeyingFeature::new(DVec2::new(100.0, 60.0), Half::Moving, kind, 2.0)
}

fn mount_in(mut project: Project, feature: KeyingFeature) -> Mount {
    project.apply(&Edit::Add(Id(9), Item::Feature(feature))).expect("the feature is in range");
    of(&project, Id(9)).expect("it is there")
}

fn mount(feature: KeyingFeature) -> Mount {
    mount_in(Project::blank(), feature)
}

fn screw(thread: ThreadSize, end: ScrewEnd) -> KeyingFeature {
    feature(FeatureKind::SetScrew { thread, end })
}

#[test]
fn there_is_no_mount_of_what_is_no_feature() {
    assert_eq!(of(&Project::blank(), Id(1)), None);
}

/// M4, 2 mm high, 1.5 diameters asked for: 2 + 6 + 0.75 of chamfer = 8.75, so 10 mm; 8 mm of it in the plate.
#[test]
fn the_shortest_screw_sold_that_holds_is_taken() {
    let mount = mount(screw(ThreadSize::M4, ScrewEnd::Socket));
    let screw = mount.screw.expect("a screw");
    assert_eq!((screw.length_mm, screw.is_given, screw.sold), (10.0, false, Sold::Yes));
    assert_eq!((mount.floor_mm, mount.steel_mm), (1.5, 18.5));
    assert_eq!((screw.in_plate_mm, screw.back_mm), (8.0, 10.5));
    assert!((screw.engagement_mm - 7.25).abs() < 1e-12);
    assert!((screw.engagement_diameters - 7.25 / 4.0).abs() < 1e-12);
    assert_eq!(mount.locking.back_screw, Some((ThreadSize::M4, 4.0)));
    assert_eq!((mount.locking.way, mount.locking.problem), (Lock::BackScrew, None));
    // 8 mm, a second screw of 4 mm and two pitches, in half millimetres; 18.5 mm leave less than 2 d more.
    assert_eq!(mount.hole.depth, Depth::Through);
    assert_eq!(mount.hole.opening, None);
    let key = mount.key.expect("a key");
    assert_eq!((key.width_mm, key.from, key.distance_mm), (2.0, Face::Parting, 0.0));
    assert_eq!(key.arm, Some(KeyArm::Short));
}

#[test]
fn a_thick_plate_is_opened_from_behind_the_thread() {
    let mut project = Project::blank();
    project.plates.moving_thickness_mm = 40.0;
    let hole = mount_in(project, screw(ThreadSize::M4, ScrewEnd::Socket)).hole;
    // 8 + 4 + 1.4 = 13.4 mm of thread.
    assert_eq!(hole.opening, Some(Opening { diameter_mm: 4.5, beyond_mm: 13.5 }));
}

#[test]
fn a_given_length_is_kept_and_judged() {
    let of = |length_mm| {
        let given =
            KeyingFeature { screw_length_mm: Some(length_mm), ..screw(ThreadSize::M4, ScrewEnd::Socket) };
        mount(given).screw.expect("a screw")
    };
    let odd = of(7.0);
    assert_eq!((odd.sold, odd.is_given, odd.in_plate_mm), (Sold::No, true, 5.0));
    let long = of(25.0);
    assert_eq!((long.sold, long.back_mm), (Sold::No, -4.5));
    assert!(long.sticks_out() && (long.engagement_mm - 18.5).abs() < 1e-12);
    assert_eq!(of(14.0).sold, Sold::Uncertain);
    assert_eq!(of(1.0).engagement_mm, 0.0, "a screw shorter than it is high is in no thread");
}

/// Turned over, 2 mm of an M4 dog stand in the channel: the long dog of 2 mm and 0.75 mm of chamfer, of
/// which 0.75 mm are in the plate. 10 mm: 8 in the plate, less 0.75 and the socket's chamfer of 0.43 mm.
#[test]
fn a_point_in_the_plate_takes_thread_away() {
    let mount = mount(screw(ThreadSize::M4, ScrewEnd::Dog));
    let screw = mount.screw.expect("a screw");
    assert_eq!((screw.length_mm, screw.sold), (10.0, Sold::Yes));
    let chamfer_mm = 17.0 / 24.0 * 3.0_f64.sqrt() / 2.0 * 0.7;
    assert!((screw.engagement_mm - (8.0 - 0.75 - chamfer_mm)).abs() < 1e-12);
    let key = mount.key.expect("a key");
    // From the back 10.5 mm to the socket, 2.5 mm deep; the short arm of 18 mm reaches 14.
    assert_eq!((key.from, key.distance_mm, key.needed_mm), (Face::Back, 10.5, 13.0));
    assert_eq!(key.arm, Some(KeyArm::Short));
}

#[test]
fn a_key_from_behind_needs_a_longer_arm_in_a_thicker_plate() {
    let arm = |thickness_mm| {
        let mut project = Project::blank();
        project.plates.moving_thickness_mm = thickness_mm;
        mount_in(project, screw(ThreadSize::M4, ScrewEnd::Flat)).key.expect("a key").arm
    };
    // 13 mm of socket and hole at 20 mm of plate; the arms reach 14, 48 and 98 mm.
    assert_eq!(arm(21.0), Some(KeyArm::Short));
    assert_eq!(arm(21.1), Some(KeyArm::Long));
    assert_eq!(arm(55.0), Some(KeyArm::Long));
    assert_eq!(arm(55.1), Some(KeyArm::Longest));
    assert_eq!(arm(105.1), None);
}

#[test]
fn a_cone_or_cup_point_is_never_passed_off_as_surely_sold() {
    for end in [ScrewEnd::Cone, ScrewEnd::Cup] {
        let screw = mount(screw(ThreadSize::M4, end)).screw.expect("a screw");
        assert_eq!(screw.sold, Sold::Uncertain);
        assert!(screw.words().contains("check that it is sold"), "{}", screw.words());
    }
}

/// A cap head M2, 2 mm high, stands on the floor; lifted by 0.5 mm it needs 0.5 + 3 + 0.25 mm: 4 mm.
#[test]
fn a_cap_screw_is_measured_under_its_head() {
    let head = |protrusion_mm| {
        let kind = FeatureKind::cap_head(ThreadSize::M2);
        mount(KeyingFeature { protrusion_mm, ..feature(kind) })
    };
    let raised = head(2.5);
    let screw = raised.screw.expect("a screw");
    assert_eq!((screw.length_mm, screw.in_plate_mm), (4.0, 3.5));
    let key = raised.key.expect("a key");
    assert_eq!((key.width_mm, key.from), (1.5, Face::Parting));
    // Sunk by half a millimetre, as much of the plate is bored away for the head.
    let sunk = head(1.5).screw.expect("a screw");
    assert_eq!((sunk.length_mm, sunk.in_plate_mm), (4.0, 4.5));
    assert!((sunk.engagement_mm - (4.0 - 17.0 / 24.0 * 3.0_f64.sqrt() / 2.0 * 0.4)).abs() < 1e-12);
}

/// Locked with compound, nothing comes from behind. 8 mm and two pitches of 0.7 mm: 9.5 mm of thread below
/// the floor; with four pitches of lead and the floor's 1.5 mm, 13.8, so 14 mm; the point of a 3.3 mm drill
/// is 0.99 mm high and leaves 5.01 mm of 20.
#[test]
fn a_hole_that_nothing_reaches_from_behind_is_blind() {
    for lock in [Lock::Compound, Lock::Loose] {
        let mount = mount(KeyingFeature { lock, ..screw(ThreadSize::M4, ScrewEnd::Socket) });
        let Depth::Blind { full_mm, point_mm, left_mm } = mount.hole.depth else { panic!("not blind") };
        assert_eq!(full_mm, 14.0);
        assert!((point_mm - 1.65 / 59.0_f64.to_radians().tan()).abs() < 1e-4);
        assert!((left_mm - (6.0 - point_mm)).abs() < 1e-12);
        assert_eq!(mount.hole.thread, Some(Thread { size: ThreadSize::M4, depth_mm: Some(9.5) }));
        let over = KeyingFeature { lock, ..screw(ThreadSize::M4, ScrewEnd::Flat) };
        assert_eq!(super::tests::mount(over).hole.depth, Depth::Through, "the key comes from behind");
    }
}

#[test]
fn a_second_screw_needs_room_behind_the_first() {
    // M8: 2 + 12 + 1.25 mm, so 16 mm, 14 in the plate; 4.5 mm are left for a second screw of 8.
    let m8 = mount(screw(ThreadSize::M8, ScrewEnd::Socket));
    assert_eq!((m8.locking.room_mm, m8.locking.problem), (4.5, Some(LockProblem::NoRoom)));
    let pressed = KeyingFeature { lock: Lock::PressFit, ..screw(ThreadSize::M4, ScrewEnd::Socket) };
    assert_eq!(mount(pressed).locking.problem, Some(LockProblem::PressedScrew));
}

#[test]
fn a_post_is_pressed_into_a_seat_with_a_hole_to_knock_it_out() {
    let post = |diameter_mm| feature(FeatureKind::PlainPost { diameter_mm });
    let thin = mount(post(2.0));
    assert_eq!((thin.screw, thin.key, thin.locking.way), (None, None, Lock::PressFit));
    assert_eq!(thin.hole.depth, Depth::Seat { full_mm: 9.5, behind_mm: 1.0 });
    assert_eq!((thin.hole.drill_mm, thin.hole.ream_mm), (1.8, Some(2.0)));
    assert_eq!(mount(post(4.0)).hole.depth, Depth::Through);
    let backed = |diameter_mm| mount(KeyingFeature { lock: Lock::BackScrew, ..post(diameter_mm) }).locking;
    // The tapping drill of M2.5 lets a post of 1.9 mm through, that of M8 one of 6.7 mm.
    assert_eq!(backed(1.9).back_screw, Some((ThreadSize::M2_5, 3.0)));
    assert_eq!(backed(6.8).problem, Some(LockProblem::PostTooWide));
}

#[test]
fn the_making_is_told_for_every_kind() {
    let made = |kind| mount(feature(kind)).made();
    assert_eq!(made(FeatureKind::set_screw(ThreadSize::M4)), "As bought, socket up");
    let cap = |turned_mm, chamfer_mm| FeatureKind::CapHead { thread: ThreadSize::M4, turned_mm, chamfer_mm };
    assert_eq!(made(cap(None, 0.0)), "As bought");
    assert_eq!(made(cap(Some(7.5), 0.0)), "As bought", "it is no wider than that");
    let both = made(cap(Some(5.5), 0.25));
    assert_eq!(both, "Turn the head down to Ø5.5; chamfer the rim of the underside 0.25 × 45°");
    let over = mount(screw(ThreadSize::M4, ScrewEnd::Cup));
    assert_eq!(over.made(), "As bought, turned over: cup point up");
    assert_eq!(over.lock_words(), "a second set screw M4 × 4 from behind");
}

proptest! {
    /// Whatever a project may hold, a mount is finite and never has more thread than plate or screw.
    #[test]
    fn any_mount_is_sound(
        which in 0..3,
        size in 0..ThreadSize::ALL.len(),
        end in 0..ScrewEnd::ALL.len(),
        lock in 0..Lock::ALL.len(),
        protrusion_mm in 0.0..=50.0,
        thickness_mm in 2.0..=500.0,
        given in proptest::option::of(1.0..=500.0),
        diameter_mm in 0.3..=50.0,
    ) {
        let (thread, end) = (ThreadSize::ALL[size], ScrewEnd::ALL[end]);
        let kind = match which {
            0 => FeatureKind::SetScrew { thread, end },
            1 => FeatureKind::cap_head(thread),
            _ => FeatureKind::PlainPost { diameter_mm },
        };
        let mut project = Project::blank();
        project.plates.moving_thickness_mm = thickness_mm;
        let feature = KeyingFeature { protrusion_mm, screw_length_mm: given, lock: Lock::ALL[lock], ..feature(kind) };
        let mount = mount_in(project, feature);
        prop_assert!(mount.hole.drill_mm > 0.0 && mount.steel_mm >= 0.0);
        if let Some(screw) = mount.screw {
            prop_assert!(screw.engagement_mm >= 0.0 && screw.engagement_mm <= mount.steel_mm);
            prop_assert!(screw.engagement_mm <= screw.length_mm);
            prop_assert!((screw.in_plate_mm + screw.back_mm - mount.steel_mm).abs() < 1e-9);
            prop_assert!(given.is_some() || screw.sold != Sold::No);
        }
        prop_assert!(mount.locking.way != Lock::Usual);
        prop_assert!(!mount.made().is_empty() && !mount.lock_words().is_empty());
    }
}
