//! Time of an opening run: per run, per linear solve, and against the number of elements.
//!
//! Run with `cargo bench -p keepside-engine`. A straight 180 mm channel opened to 130 mm, three ways:
//! held by four set screws, kept by two sprues, and split between one pin and two sprues; and a tree of nine
//! runs.

#![expect(clippy::print_stdout, reason = "a benchmark prints its result")]

mod speed;

use std::time::Instant;

use glam::DVec2;
use keepside_engine::chances::{Plan, chances};
use keepside_engine::opening::{Cancel, Effort, Fineness, factoring, run_with};
use keepside_model::{FeatureKind, Finish, Half, Id, KeyingFeature, Project, Run, Sprue, ThreadSize};

fn strip(pins_mm: &[f64]) -> Project {
    let mut project = Project::blank();
    let run = Run::straight("", DVec2::new(20.0, 60.0), DVec2::new(200.0, 60.0), 6.0, 3.0);
    project.part.runs.insert(Id(1), run);
    project.part.moving_share = 0.4;
    project.press.stroke_mm = 130.0;
    for (id, x) in [(2, 60.0), (3, 160.0)] {
        let sprue = Sprue {
            name: String::new(),
            at: DVec2::new(x, 60.0),
            half: Half::Fixed,
            diameter_mm: 4.0,
            length_mm: 20.0,
            draft_deg: 0.0,
            finish: Finish::AsTurned,
            measured: None,
        };
        project.sprues.insert(Id(id), sprue);
    }
    for (id, x) in (4..).zip(pins_mm) {
        let pin = KeyingFeature::new(
            DVec2::new(*x, 60.0),
            Half::Moving,
            FeatureKind::set_screw(ThreadSize::M4),
            2.0,
        );
        project.features.insert(Id(id), pin);
    }
    project
}

/// Median and least time of a run, ms, and what it cost.
fn measure(project: &Project, fineness: Fineness) -> ([f64; 2], Effort) {
    let mut times = Vec::new();
    let mut effort = Effort::default();
    let begun = Instant::now();
    while times.len() < 3 || (begun.elapsed().as_secs_f64() < 1.0 && times.len() < 50) {
        let start = Instant::now();
        let opening = run_with(project, fineness, &Cancel::default());
        times.push(start.elapsed().as_secs_f64() * 1e3);
        effort = opening.expect("the strip opens").effort;
    }
    times.sort_by(f64::total_cmp);
    ([times[times.len() / 2], times[0]], effort)
}

/// Median time of one factorisation, µs.
fn factor_us(project: &Project, fineness: Fineness) -> f64 {
    let mut factor = factoring(project, fineness).expect("the layout opens");
    let mut times = Vec::new();
    for _ in 0..200 {
        let start = Instant::now();
        assert!(factor(), "the closed mould is stable");
        times.push(start.elapsed().as_secs_f64() * 1e6);
    }
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

/// Prints how many lean shots a second the chances take, on one thread and on two.
fn shots(name: &str, project: &Project) {
    for threads in [1, 2] {
        let plan = Plan { medians: 400, shots_each: 1, threads, ..Plan::default() };
        let start = Instant::now();
        let chances = chances(project, plan, &Cancel::default(), &mut |_| {});
        let seconds = start.elapsed().as_secs_f64();
        let shots = chances.expect("the strip opens").shots.0 as f64;
        println!("{name}, {threads} threads: {:.0} shots a second", shots / seconds);
        speed::tell(&format!("chances, {name}, a shot, {threads} threads"), 1e3 * seconds / shots);
    }
}

/// Prints a row; returns elements and time, ms.
fn report(name: &str, project: &Project, fineness: Fineness) -> (f64, f64) {
    let ([ms, least_ms], effort) = measure(project, fineness);
    let Effort { elements, steps, solves, events, .. } = effort;
    let factor_us = factor_us(project, fineness);
    let times = ms * 1e3 / (factor_us * events as f64);
    let per_solve_us = ms * 1e3 / solves as f64;
    println!(
        "{name:<34} {elements:>8} {ms:>9.1} {solves:>7} {steps:>6} {per_solve_us:>9.1} {factor_us:>9.1} {events:>7} {times:>9.1}"
    );
    speed::tell(&format!("opening, {name}, {elements} elements"), least_ms);
    (elements as f64, ms)
}

/// A tree: a spine with arms to both sides, a screw near every tip and two sprues on the spine.
fn tree() -> Project {
    let mut project = strip(&[30.0, 190.0]);
    for (id, x) in (20..).zip([40.0, 80.0, 120.0, 160.0]) {
        for (id, way) in [(id, 1.0), (id + 10, -1.0)] {
            let (from, to) = (DVec2::new(x, 60.0), DVec2::new(x + 10.0, 60.0 + way * 40.0));
            project.part.runs.insert(Id(id), Run::straight("", from, to, 5.0, 3.0));
            let pin = KeyingFeature { at: from.lerp(to, 0.7), ..project.features[&Id(4)].clone() };
            project.features.insert(Id(id + 100), pin);
        }
    }
    project
}

fn main() {
    speed::tell_yardstick();
    println!(
        "layout                             elements  ms a run  solves  steps  us/solve us/factor  events  run/(factor x events)"
    );
    let of_count = |project: &Project, count: f64| {
        let (_, plain) = measure(project, Fineness::default());
        Fineness { mesh: count / plain.elements as f64, ..Fineness::default() }
    };
    let held = strip(&[50.0, 70.0, 150.0, 170.0]);
    let fine = of_count(&held, 180.0);
    report("four screws", &held, fine);
    report("no keys", &strip(&[]), fine);
    report("one pin of two sprues", &strip(&[40.0]), fine);
    for count in [50.0, 100.0, 200.0, 400.0, 800.0, 1600.0] {
        report("four screws", &held, of_count(&held, count));
    }
    shots("four screws, lean", &held);
    shots("no keys, lean", &strip(&[]));
    shots("one pin of two sprues, lean", &strip(&[40.0]));
    let tree = tree();
    let mut rows = Vec::new();
    for count in [100.0, 200.0, 400.0, 800.0, 1600.0, 3200.0] {
        rows.push(report("tree", &tree, of_count(&tree, count)));
    }
    if let (Some(first), Some(last)) = (rows.first(), rows.last()) {
        let power = (last.1 / first.1).ln() / (last.0 / first.0).ln();
        println!("the tree's time grows with the elements to the power of {power:.2}");
    }
    speed::tell_yardstick();
}
