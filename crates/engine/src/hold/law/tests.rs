//! The hold law laid open: that its numbers make its forces, and its words fit them.

use glam::DVec2;
use keepside_model::{
    Edit, Ejector, EjectorFace, FeatureKind, Grooves, Item, KeyingFeature, PullOff, ScrewEnd, ThreadSize,
};
use proptest::prelude::*;

use super::*;
use crate::hold::Curve;

const KEY: Id = Id(50);

/// The blank run, 6 mm wide and 3 mm deep, with one item in it.
fn with(item: Item) -> Project {
    let mut project = Project::blank();
    project.apply(&Edit::Add(KEY, item)).expect("it fits");
    project
}

fn keyed(kind: FeatureKind, protrusion_mm: f64) -> Project {
    let at = DVec2::new(100.0, 60.0);
    with(Item::Feature(KeyingFeature::new(at, Half::Moving, kind, protrusion_mm)))
}

fn grooved(face: EjectorFace) -> Project {
    with(Item::Ejector(Ejector::new(DVec2::new(100.0, 60.0), 5.0, 80.0, 8.0, face)))
}

fn number(law: &HoldLaw, way: &str, name: &str) -> f64 {
    let way = law.ways.iter().find(|w| w.name == way).expect("there is that way");
    way.numbers.iter().find(|number| number.name == name).expect("there is that number").value
}

fn force_n(law: &HoldLaw, way: &str) -> f64 {
    law.ways.iter().find(|w| w.name == way).expect("there is that way").force_n
}

fn governing(law: &HoldLaw) -> &str {
    law.ways[law.governing.expect("something governs")].name
}

#[test]
fn the_numbers_of_a_screw_make_its_forces() {
    let law =
        law(&keyed(FeatureKind::set_screw(ThreadSize::M3), 2.0), KEY).expect("it stands in the channel");
    assert_eq!((governing(&law), law.hold.governed_by), ("shear", "shear"));
    let made = number(&law, "shear", "shear area") * number(&law, "shear", "shear strength, warm");
    assert!((made - force_n(&law, "shear")).abs() < 1e-9);
    let of = |name| number(&law, "expand", name);
    let made = of("pressure of the ring") * of("side of the thread") * of("flank factor");
    assert!((made - force_n(&law, "expand")).abs() < 1e-9);
    assert!(of("flank to the pull") < of("lock angle"));
    // What adds is on top of what governs: the whole is the peak of the curve, but for the rounding of the
    // plug's own fall while the thread gives elastically.
    let besides: f64 = law.ways.iter().filter(|way| way.adds).map(|way| way.force_n).sum();
    let whole = force_n(&law, "shear") + besides;
    assert!((law.hold.curve.peak_n() - whole).abs() < 1e-6 * whole, "{} {whole}", law.hold.curve.peak_n());
    assert!(law.why.starts_with("Shear governs at ") && law.why.ends_with('.'), "{}", law.why);
}

#[test]
fn a_flat_head_is_said_to_be_beyond_the_lock_angle() {
    let law = law(&keyed(FeatureKind::cap_head(ThreadSize::M2), 2.8), KEY).expect("it stands in the channel");
    assert!(force_n(&law, "expand").is_infinite());
    assert!(law.why.contains("stands at 90° to the pull, beyond the lock angle of 74°"), "{}", law.why);
}

#[test]
fn the_plug_of_a_socket_is_weighed_against_its_neck() {
    let law_of = |end, break_strain| {
        let mut project = keyed(FeatureKind::SetScrew { thread: ThreadSize::M4, end }, 2.5);
        project.material.break_strain = break_strain;
        law(&project, KEY).expect("it stands in the channel")
    };
    // M4: 2 mm across flats, 2.5 mm deep; 0.5 MPa on 2√3·2·2.5 = 17.32 mm², neck √3/2·4 = 3.464 mm² at 18 MPa.
    let tough = law_of(ScrewEnd::Socket, 2.0).plug.expect("a plug");
    assert!((tough.drag_n - 8.660).abs() < 1e-3 && (tough.strength_n - 62.354).abs() < 1e-3, "{tough:?}");
    assert!(!tough.may_be_lost() && tough.safe_share == 0.5);
    assert_eq!(law_of(ScrewEnd::Socket, 0.02).plug.expect("a plug").safe_share, 0.3);
    assert_eq!(law_of(ScrewEnd::Flat, 2.0).plug, None);
    let stuck = Plug { drag_n: 40.0, ..tough };
    assert!(stuck.may_be_lost());
}

#[test]
fn what_only_a_trial_gives_is_told_with_what_it_changes() {
    let law =
        law(&keyed(FeatureKind::set_screw(ThreadSize::M3), 2.0), KEY).expect("it stands in the channel");
    let input = |name: &str| law.trials.iter().find(|input| input.name == name).expect("that input");
    let filled = input("share of the thread filled");
    assert_eq!((filled.value, filled.range), (0.6, (0.3, 0.9)));
    // The shear area goes with it.
    let ratio = filled.pull_n.1 / filled.pull_n.0;
    assert!(ratio > 2.4 && ratio < 3.0, "{ratio}");
    let friction = input("friction on steel");
    assert_eq!(friction.range, (0.25, 0.30), "PP");
    assert!(friction.origin.contains("from memory"));
    assert!(input("drag in the socket").pull_n.1 > input("drag in the socket").pull_n.0);
    // A plain post has no thread and no socket.
    let post = super::law(&keyed(FeatureKind::PlainPost { diameter_mm: 3.0 }, 2.0), KEY).expect("a post");
    let names: Vec<_> = post.trials.iter().map(|input| input.name).collect();
    assert_eq!(names, ["friction on steel", "drag of plain sides"]);
    assert!(post.why.contains("there is no undercut"), "{}", post.why);
}

#[test]
fn a_friction_that_is_not_known_has_an_assumed_range() {
    assert_eq!(trial::friction_range("ABS, medium impact", 0.45).0, (0.30, 0.50));
    let (range, origin) = trial::friction_range("own blend", 0.3);
    assert_eq!((range, origin), ((0.75 * 0.3, 0.3 / 0.75), "assumed"));
}

#[test]
fn a_measured_curve_counts_and_the_computed_ways_stay() {
    let mut project = keyed(FeatureKind::set_screw(ThreadSize::M3), 2.0);
    let computed = law(&project, KEY).expect("it stands in the channel");
    let points = vec![(0.0, 0.0), (0.1, 40.0), (1.5, 0.0)];
    let measured = PullOff::new(points.clone()).expect("a curve");
    project.features.get_mut(&KEY).expect("it is there").measured = Some(measured);
    let law = law(&project, KEY).expect("it stands in the channel");
    assert_eq!((law.hold.curve.points(), law.is_measured), (points.as_slice(), true));
    assert_eq!((&law.ways, &law.trials), (&computed.ways, &computed.trials));
    assert!(law.why.starts_with("The measured curve counts; by computation shear would govern"));
}

#[test]
fn grooves_have_a_law_and_a_plain_face_has_none() {
    assert_eq!(law(&grooved(EjectorFace::Plain), KEY), None);
    assert_eq!(law(&grooved(EjectorFace::Plain), Id(1)), None, "a run is no hold");
    let parallel = law(&grooved(EjectorFace::Grooved), KEY).expect("it keys");
    let crossed = law(&grooved(EjectorFace::Crossed), KEY).expect("it keys");
    // Three grooves, chords 4, 5, 4 mm: sides 13 mm. Crossed: 26 mm less 2·9·0.5.
    assert!((number(&parallel, "shear", "length of the sides") - 13.0).abs() < 1e-9);
    assert!((number(&crossed, "shear", "length of the sides") - 17.0).abs() < 1e-9);
    // Mouths 13·0.5; crossed (26 − 9·0.5)·0.5, at 18 MPa.
    assert!((force_n(&parallel, "tear off") - 18.0 * 6.5).abs() < 1e-9);
    assert!((force_n(&crossed, "tear off") - 18.0 * 10.75).abs() < 1e-9);
    // Squeezed: half way out, E·2·0.25·tan 10°/0.676 = 104 MPa, capped at 18, is reached before.
    let factor = (0.28 + 10.0_f64.to_radians().tan()) / (1.0 - 0.28 * 10.0_f64.to_radians().tan());
    let yield_mm = 18.0 * number(&parallel, "squeeze", "bottom of a groove")
        / (2.0 * 800.0 * 10.0_f64.to_radians().tan());
    let expected = 2.0 * 13.0 * 18.0 * (0.5 - yield_mm) * factor;
    assert!((force_n(&parallel, "squeeze") - expected).abs() < 1e-9);
    assert_eq!(governing(&parallel), "squeeze");
    assert_eq!(parallel.half, Half::Moving);
    let bottom_mm = 0.5 + 10.0_f64.to_radians().tan();
    assert!((parallel.hold.strip_strain - (bottom_mm - 0.5) / bottom_mm).abs() < 1e-12);
}

#[test]
fn straight_grooves_only_drag_and_steep_ones_lock() {
    let of = |lean_deg| {
        let mut project = grooved(EjectorFace::Grooved);
        let pin = project.ejectors.get_mut(&KEY).expect("it is there");
        pin.grooves.lean_deg = lean_deg;
        pin.grooves.depth_mm = 0.2;
        law(&project, KEY).expect("it keys")
    };
    let straight = of(0.0);
    assert_eq!((governing(&straight), straight.hold.strip_strain), ("drag", 0.0));
    assert!((force_n(&straight, "drag") - 0.05 * 2.0 * 13.0 * 0.2).abs() < 1e-12);
    assert_eq!(straight.hold.curve.let_go_travel_mm(), 0.2);
    assert!(of(10.0).hold.curve.peak_n() > straight.hold.curve.peak_n());
    // The lock angle at a friction of 0.28 is 74.4°, more than any lean: at a friction of 0.9 it is 48°.
    let mut project = grooved(EjectorFace::Grooved);
    project.material.friction = 0.9;
    project.ejectors.get_mut(&KEY).expect("it is there").grooves.lean_deg = 55.0;
    let locked = law(&project, KEY).expect("it keys");
    assert!(force_n(&locked, "squeeze").is_infinite() && locked.hold.ending == Ending::Breaks);
}

#[test]
fn release_agent_and_a_measured_curve_act_on_grooves_too() {
    let mut project = grooved(EjectorFace::Crossed);
    project.ejectors.get_mut(&KEY).expect("it is there").grooves.lean_deg = 0.0;
    let dry_n = law(&project, KEY).expect("it keys").hold.curve.peak_n();
    project.holds.release_factor_moving = 0.3;
    let sprayed_n = law(&project, KEY).expect("it keys").hold.curve.peak_n();
    assert!((sprayed_n - 0.3 * dry_n).abs() < 1e-12);
    let points = vec![(0.0, 0.0), (0.1, 12.0), (0.4, 0.0)];
    project.ejectors.get_mut(&KEY).expect("it is there").measured = PullOff::new(points.clone()).ok();
    let law = law(&project, KEY).expect("it keys");
    assert_eq!((law.hold.curve.points(), law.hold.governed_by), (points.as_slice(), "measured"));
}

#[test]
fn what_stands_outside_the_channel_has_no_law() {
    let mut project = keyed(FeatureKind::set_screw(ThreadSize::M3), 2.0);
    project.features.get_mut(&KEY).expect("it is there").at = DVec2::new(100.0, 100.0);
    assert_eq!(law(&project, KEY), None);
}

#[test]
fn an_uncertain_point_says_so() {
    let of = |end| law(&keyed(FeatureKind::SetScrew { thread: ThreadSize::M4, end }, 2.8), KEY);
    assert!(of(ScrewEnd::Cone).expect("it stands there").uncertain.is_some());
    assert!(of(ScrewEnd::Dog).expect("it stands there").uncertain.is_none());
}

proptest! {
    /// Whatever grooves a project may hold give a finite curve that starts and ends with no pull, ways that
    /// are none of them negative, and a sentence.
    #[test]
    fn any_grooves_have_a_sound_law(
        diameter_mm in 0.3..=50.0,
        crossed in proptest::bool::ANY,
        sizes in (0.05..=20.0, 0.05..=20.0, 0.05..=20.0, 0.0..=60.0),
        plastic in (0.0..=0.499, 0.0..=2.0, 0.001..=10.0, 0.0..=1.0, 0.05..=1000.0, 1.0..=100_000.0),
    ) {
        let face = if crossed { EjectorFace::Crossed } else { EjectorFace::Grooved };
        let mut project = grooved(face);
        let pin = project.ejectors.get_mut(&KEY).expect("it is there");
        pin.diameter_mm = diameter_mm;
        let (pitch_mm, mouth_mm, depth_mm, lean_deg) = sizes;
        pin.grooves = Grooves { pitch_mm, mouth_mm, depth_mm, lean_deg };
        let material = &mut project.material;
        (material.poisson, material.friction, material.break_strain) = (plastic.0, plastic.1, plastic.2);
        (material.yield_hot_mpa, material.modulus_hot_mpa) = (plastic.4, plastic.5);
        project.holds.wall_drag_mpa = plastic.3;
        let law = law(&project, KEY).expect("it keys");
        prop_assert!(Curve::new(law.hold.curve.points().to_vec()).is_some(), "{:?}", law.hold);
        prop_assert!((0.0..1.0).contains(&law.hold.strip_strain));
        prop_assert!(law.ways.iter().all(|way| way.force_n >= 0.0), "{:?}", law.ways);
        prop_assert!(law.why.ends_with('.'));
        let weakest = law.governing.map_or(0.0, |index| law.ways[index].force_n);
        let peak_n = law.hold.curve.peak_n();
        prop_assert!(peak_n >= 0.99 * weakest, "{} {}", peak_n, weakest);
    }
}
