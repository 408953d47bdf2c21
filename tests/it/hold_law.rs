//! The hold law of features and grooved ejectors against published values, and what grooves do in a run.

use glam::DVec2;
use keepside_engine::hold::{self, HoldLaw, formula};
use keepside_engine::opening::{
    Cancel, HoldState, Opening, Outcome, StripOutcome, Stripping, What, run_and_strip,
};
use keepside_model::{Ejector, EjectorFace, FeatureKind, Half, Id, Project, ThreadSize};
use keepside_tests::{CENTRE_Y_MM, add_feature, add_sprue, hold_of, open, strip};

/// The hold law of one feature on the middle of the 6 mm strip.
fn law_of(kind: FeatureKind, protrusion_mm: f64, change: impl Fn(&mut Project)) -> HoldLaw {
    let mut project = strip();
    change(&mut project);
    let id = add_feature(&mut project, 110.0, Half::Moving, kind, protrusion_mm);
    hold::law(&project, id).expect("it stands in the channel")
}

fn number(law: &HoldLaw, way: &str, name: &str) -> f64 {
    let way = law.ways.iter().find(|w| w.name == way).expect("there is that way");
    way.numbers.iter().find(|number| number.name == name).expect("there is that number").value
}

#[track_caller]
fn close(what: &str, got: f64, published: f64, relative: f64) {
    assert!((got - published).abs() <= relative * published.abs(), "{what}: {got}, published {published}");
}

#[test]
fn the_shear_area_of_every_thread_is_the_published_one() {
    // 0.875 pi D a mm (FED-STD-H28/2B, no clearance), 4 decimals; half filled, over 2 mm.
    for line in include_str!("../oracle/thread_shear_areas.csv").lines().filter(|l| l.starts_with('M')) {
        let cells: Vec<&str> = line.split(',').collect();
        let size = ThreadSize::ALL.into_iter().find(|size| size.designation() == cells[0]).expect("a size");
        let published: f64 = cells[1].parse().expect("a number");
        let law =
            law_of(FeatureKind::set_screw(size), 2.0, |project| project.holds.thread_filled_share = 0.5);
        let area_mm2 = number(&law, "shear", "shear area");
        assert!((area_mm2 - published).abs() <= 0.5e-4, "{}: {area_mm2}, {published}", cells[0]);
        // The simplified area is about half of it: the screw's own thread, not the plastic on it.
        let simplified: f64 = cells[2].parse().expect("a number");
        assert!((0.49..0.52).contains(&(simplified / area_mm2)), "{}", cells[0]);
    }
}

#[test]
fn a_screw_moulded_into_pp_pulls_out_as_worked_out_by_hand() {
    // M6, 4 mm engaged, all of the thread filled, PP at 33 MPa: 65.973 mm2 at 19.053 MPa is 1256.96 N.
    let law = law_of(FeatureKind::set_screw(ThreadSize::M6), 4.0, |project| {
        keepside_tests::set_section(project, 30.0, 6.0);
        project.holds.thread_filled_share = 1.0;
        project.material.yield_hot_mpa = 33.0;
    });
    let shear = law.ways.iter().find(|way| way.name == "shear").expect("it may shear");
    close("pull-out", shear.force_n, 1256.96, 1e-4);
    close("shear area", number(&law, "shear", "shear area"), 65.973, 1e-5);
}

#[test]
fn the_ring_of_a_head_is_the_thick_ring_of_the_worked_example() {
    // Gravi-Tech Design Guide (2020), figures 16 to 19: bore 9.525 mm, outside 16.51 mm, interference 0.0508 mm,
    // 3102.6 MPa, 0.4: 6.90 MPa. A cone whose undercut is half the interference.
    let head = FeatureKind::TurnedHead {
        head_diameter_mm: 9.525 + 0.0508,
        neck_diameter_mm: 9.525,
        head_height_mm: 1.0,
        underside_deg: 60.0,
    };
    let law = law_of(head, 3.0, |project| {
        keepside_tests::set_section(project, 16.51, 5.0);
        project.material.modulus_hot_mpa = 3102.6;
        project.material.poisson = 0.4;
        project.material.friction = 0.3;
    });
    close("pressure", number(&law, "expand", "pressure of the ring"), 6.90, 2e-3);
    // Snap-Fit Joints for Plastics: A Design Guide, p. 14: 30 degrees to the pull at a friction of 0.3.
    close("flank factor", number(&law, "expand", "flank factor"), 1.0611, 5e-5);
    close("flank", number(&law, "expand", "flank to the pull"), 30.0, 1e-12);
    close("strain", law.hold.strip_strain, 0.0508 / 9.525, 1e-9);
    // An undercut this shallow is rather crushed than climbed.
    assert_eq!(law.hold.governed_by, "crush");
}

#[test]
fn the_lock_angle_of_a_law_is_the_published_one() {
    // DSM, Snapfit Theory (2005): separable while a + atan mu < 90 degrees; 68.20 for a friction of 0.4.
    let law = law_of(FeatureKind::cap_head(ThreadSize::M2), 2.8, |project| project.material.friction = 0.4);
    assert!((number(&law, "expand", "lock angle") - 68.20).abs() <= 0.005);
    assert!(law.why.contains("beyond the lock angle of 68°"), "{}", law.why);
    // A head whose underside is 21 degrees steeper than that lets the ring slide.
    let cone = |underside_deg| {
        let kind = FeatureKind::TurnedHead {
            head_diameter_mm: 4.0,
            neck_diameter_mm: 3.6,
            head_height_mm: 1.0,
            underside_deg,
        };
        law_of(kind, 2.5, |project| project.material.friction = 0.4).ways[0].force_n
    };
    assert!(cone(21.7).is_infinite() && cone(21.9).is_finite(), "90 - 68.20 = 21.80 degrees");
}

#[test]
fn friction_ranges_are_those_of_the_table() {
    for line in include_str!("../oracle/friction_on_steel.csv").lines().skip(4) {
        let cells: Vec<&str> = line.split(',').collect();
        let of = |index: usize| cells[index].parse::<f64>().expect("a number");
        let (low, high) = (of(1), of(2));
        let law = law_of(FeatureKind::PlainPost { diameter_mm: 3.0 }, 2.0, |project| {
            project.material.name = cells[0].to_owned();
            project.material.friction = low;
        });
        let input = law.trials.iter().find(|input| input.name == "friction on steel").expect("an input");
        assert_eq!(input.range, (low, high), "{}", cells[0]);
        assert!(!input.origin.is_empty() && input.origin != "assumed");
    }
}

/// The strip with a sprue of 12 mm in the fixed half and three ejectors, one right behind it.
fn pushed(face: EjectorFace) -> (Project, Vec<Id>) {
    let mut project = strip();
    let gate = add_sprue(&mut project, 110.0);
    project.sprues.get_mut(&gate).expect("just added").length_mm = 12.0;
    let pins = [60.0, 110.0, 160.0].map(|x| {
        let id = project.free_id();
        let at = DVec2::new(x, CENTRE_Y_MM);
        project.ejectors.insert(id, Ejector::new(at, 5.0, 80.0, 12.0, face));
        id
    });
    (project, pins.to_vec())
}

fn opened_and_stripped(project: &Project) -> (Opening, Option<Stripping>) {
    let mut opening = None;
    let stripping = run_and_strip(project, &Cancel::default(), &mut |done| opening = Some(done));
    (opening.expect("it opens"), stripping.expect("it strips"))
}

#[test]
fn grooved_ejectors_key_the_part_to_the_moving_half_and_plain_ones_do_not() {
    let (plain, pins) = pushed(EjectorFace::Plain);
    let opening = open(&plain);
    assert_eq!(opening.verdict.outcome, Outcome::StaysOnFixed, "{}", opening.verdict.words);
    assert!(opening.holds.iter().all(|hold| !matches!(hold.name.what, What::Ejector(_))));

    let (crossed, _) = pushed(EjectorFace::Crossed);
    let (opening, stripping) = opened_and_stripped(&crossed);
    assert_eq!(opening.verdict.outcome, Outcome::StaysOnMoving, "{}", opening.verdict.words);
    for id in &pins {
        let hold = hold_of(&opening, *id);
        assert_eq!((hold.name.half, hold.state), (Half::Moving, HoldState::Holding));
        let law = hold::law(&crossed, *id).expect("it keys");
        close("capacity", hold.capacity_n, law.hold.curve.peak_n(), 1e-9);
    }
    // The part comes off the half with the pins and rides on them.
    let stripping = stripping.expect("it stays on the moving half");
    assert_eq!(stripping.outcome, StripOutcome::ComesOff, "{}", stripping.words);
    assert!(
        stripping.words.contains("rides on") && stripping.words.ends_with("lift it off"),
        "{}",
        stripping.words
    );
    assert!(stripping.features.is_empty(), "the grooves go with the part: {:?}", stripping.features);
    assert_eq!(stripping.ejectors.len(), 3);
}

#[test]
fn a_part_on_parallel_grooves_is_slid_off_along_them() {
    let (grooved, _) = pushed(EjectorFace::Grooved);
    let (opening, stripping) = opened_and_stripped(&grooved);
    assert_eq!(opening.verdict.outcome, Outcome::StaysOnMoving, "{}", opening.verdict.words);
    let words = stripping.expect("it stays on the moving half").words;
    assert!(words.ends_with("slide it off along the grooves"), "{words}");
}

#[test]
fn riding_on_grooves_takes_no_pull_off_the_rest_of_the_moving_half() {
    // A grooved pin beside a key: the key must be stripped, with the force that its own law gives.
    let (mut project, _) = pushed(EjectorFace::Crossed);
    let key = add_feature(&mut project, 84.0, Half::Moving, FeatureKind::set_screw(ThreadSize::M3), 1.1);
    let (_, stripping) = opened_and_stripped(&project);
    let stripping = stripping.expect("it stays on the moving half");
    let at = stripping.features.iter().find(|at| at.item == key).expect("the key is stripped");
    let law = hold::law(&project, key).expect("it stands in the channel");
    assert!(at.released_at_mm.is_some(), "{}", stripping.words);
    assert!(
        at.force_n <= 1.1 * law.hold.curve.peak_n() && at.force_n > 0.8 * law.hold.curve.peak_n(),
        "{at:?}"
    );
    let (once, _) = formula::allowed_strain(&project.material);
    assert_eq!(law.hold.allowed_once, once);
}
