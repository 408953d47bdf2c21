//! The same part drawn in another way opens alike: plane and space, turned, split, reversed.

use glam::DVec2;
use keepside_model::{FeatureKind, Finish, Half, Id, KeyingFeature, Project, Run, Sprue, ThreadSize};

use crate::opening::{self, Cancel, Fineness, Opening, Outcome, run};

fn sprue(at: DVec2) -> Sprue {
    Sprue {
        name: String::new(),
        at,
        half: Half::Fixed,
        diameter_mm: 4.0,
        length_mm: 20.0,
        draft_deg: 0.0,
        finish: Finish::AsTurned,
        measured: None,
    }
}

fn screw(at: DVec2) -> KeyingFeature {
    let kind = FeatureKind::set_screw(ThreadSize::M4);
    KeyingFeature::new(at, Half::Moving, kind, 2.0)
}

/// A strip of 120 mm along x with sprues and screws at these places along it.
fn strip(sprues: &[f64], screws: &[f64]) -> Project {
    let mut project = Project::blank();
    let at = |x: f64| DVec2::new(40.0 + x, 60.0);
    project.part.runs = [(Id(1), Run::straight("", at(0.0), at(120.0), 6.0, 3.0))].into();
    project.part.moving_share = 0.4;
    project.press.stroke_mm = 60.0;
    project.sprues = (10..).map(Id).zip(sprues.iter().map(|x| sprue(at(*x)))).collect();
    project.features = (20..).map(Id).zip(screws.iter().map(|x| screw(at(*x)))).collect();
    project
}

fn layouts() -> [(&'static str, Project); 4] {
    [
        ("no keys", strip(&[30.0, 90.0], &[])),
        ("a key at one end", strip(&[30.0, 90.0], &[15.0])),
        ("flanking keys", strip(&[60.0], &[35.0, 85.0])),
        ("keys behind", strip(&[30.0, 90.0], &[30.0, 90.0])),
    ]
}

/// Numbers worth comparing, and the smallest difference that means something.
fn numbers(opening: &Opening) -> Vec<(String, f64, f64)> {
    let mut numbers = Vec::new();
    for hold in &opening.holds {
        let name = format!("{:?}", hold.name);
        numbers.push((format!("{name} peak"), hold.peak_n, 0.5));
        numbers.push((format!("{name} travel"), hold.travel_mm, 0.01));
        numbers.push((format!("{name} work"), hold.work_mj, 2.0));
    }
    for bump in &opening.bumps {
        numbers.push((format!("{:?} bump", bump.item), bump.height_mm, 0.02));
        numbers.push((format!("{:?} kink", bump.item), bump.kink_deg, 0.1));
    }
    numbers.push(("flatness".to_owned(), opening.flatness_mm, 0.02));
    numbers
}

#[track_caller]
fn alike(name: &str, one: &Opening, other: &Opening, share: f64) {
    assert_eq!(one.verdict.outcome, other.verdict.outcome, "{name}");
    for ((what, a, nothing), (_, b, _)) in numbers(one).iter().zip(&numbers(other)) {
        let permitted = (share * a.abs().max(b.abs())).max(*nothing);
        assert!((a - b).abs() <= permitted, "{name}, {what}: {a} against {b}");
    }
}

#[test]
fn a_straight_run_opens_alike_in_a_plane_and_in_space() {
    for (name, project) in layouts() {
        let plane = opening::run(&project, &Cancel::default()).unwrap();
        let space = run::open_in_space(&project, Fineness::default()).unwrap();
        alike(name, &plane, &space, 0.02);
    }
}

/// The project with every place moved by `place` and every direction of an arc kept.
fn moved(project: &Project, place: impl Fn(DVec2) -> DVec2) -> Project {
    let mut moved = project.clone();
    moved.part.runs.values_mut().flat_map(|run| &mut run.points).for_each(|point| point.at = place(point.at));
    moved.sprues.values_mut().for_each(|sprue| sprue.at = place(sprue.at));
    moved.features.values_mut().for_each(|feature| feature.at = place(feature.at));
    moved
}

/// A tee: a strip with a stem, held on the fixed half at the stem's end and by screws on the strip.
fn tee() -> Project {
    let mut project = strip(&[30.0], &[10.0, 110.0]);
    let stem = Run::straight("", DVec2::new(110.0, 60.0), DVec2::new(110.0, 110.0), 5.0, 3.0);
    project.part.runs.insert(Id(2), stem);
    project.sprues.insert(Id(12), sprue(DVec2::new(110.0, 95.0)));
    project.features.insert(Id(22), screw(DVec2::new(110.0, 75.0)));
    project
}

#[test]
fn a_branched_part_opens_alike_however_it_is_turned_or_drawn() {
    let project = tee();
    let base = opening::run(&project, &Cancel::default()).unwrap();
    println!("{:?} {:?}", base.effort, base.verdict.outcome);
    let turn = DVec2::from_angle(0.7);
    let turned = moved(&project, |at| DVec2::new(80.0, 10.0) + turn.rotate(at));
    alike("turned", &base, &opening::run(&turned, &Cancel::default()).unwrap(), 0.02);
    let mirrored = moved(&project, |at| DVec2::new(200.0 - at.x, at.y));
    alike("mirrored", &base, &opening::run(&mirrored, &Cancel::default()).unwrap(), 0.02);
    let mut reversed = project.clone();
    reversed.part.runs.values_mut().for_each(|run| run.points.reverse());
    alike("reversed", &base, &opening::run(&reversed, &Cancel::default()).unwrap(), 0.02);
    // The strip drawn as two runs that meet where the stem does.
    let mut split = project.clone();
    let middle = DVec2::new(110.0, 60.0);
    let mut strip = split.part.runs.remove(&Id(1)).unwrap();
    let last = strip.points.pop().unwrap();
    split.part.runs.insert(Id(1), Run::straight("", strip.points[0].at, middle, 6.0, 3.0));
    split.part.runs.insert(Id(3), Run::straight("", middle, last.at, 6.0, 3.0));
    // Its nodes stand elsewhere, so that this is a new mesh besides.
    alike("split", &base, &opening::run(&split, &Cancel::default()).unwrap(), 0.03);
}

#[test]
fn a_branched_part_opens_alike_on_a_finer_mesh_and_closes_its_energy() {
    let project = tee();
    let base = opening::run(&project, &Cancel::default()).unwrap();
    let fine = Fineness { mesh: 2.0, step: 0.5, viscosity: 0.5 };
    let finer = opening::run_with(&project, fine, &Cancel::default()).unwrap();
    alike("finer", &base, &finer, 0.03);
    for opening in [&base, &finer] {
        let e = opening.energy;
        let sum = e.elastic_mj + e.plastic_mj + e.holds_mj + e.viscous_mj + e.snap_mj;
        assert!((e.work_mj - sum).abs() < 0.01 * e.work_mj, "{e:?}");
        assert!(e.viscous_mj < 0.02 * e.work_mj, "{e:?}");
    }
}

#[test]
fn a_closed_ring_opens_and_keeps_its_symmetry() {
    // Two half circles, drawn as one closed run, two screws on the moving half and nothing to pull but
    // faces and walls.
    let mut project = Project::blank();
    let mut run = Run::straight("", DVec2::new(60.0, 60.0), DVec2::new(120.0, 60.0), 5.0, 3.0);
    run.points[0].bulge = 1.0;
    run.points[1].bulge = 1.0;
    run.points.push(run.points[0]);
    project.part.runs = [(Id(1), run)].into();
    project.part.moving_share = 0.4;
    project.press.stroke_mm = 40.0;
    project.features =
        [(Id(20), screw(DVec2::new(60.0, 60.0))), (Id(21), screw(DVec2::new(120.0, 60.0)))].into();
    let opening = opening::run(&project, &Cancel::default()).unwrap();
    assert_eq!(opening.verdict.outcome, Outcome::StaysOnMoving);
    let peaks: Vec<f64> = opening.holds.iter().filter(|h| h.on.is_some()).map(|h| h.peak_n).collect();
    assert!((peaks[0] - peaks[1]).abs() < 0.02 * peaks[0], "{peaks:?}");
    assert!((opening.length_mm() - 60.0 * std::f64::consts::PI).abs() < 1e-6);
}
