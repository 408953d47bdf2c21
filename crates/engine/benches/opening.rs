//! Time of an opening run: per run, per linear solve, and against the number of elements.
//!
//! Run with `cargo bench -p keepside-engine`. A straight 180 mm channel opened to 130 mm, three ways:
//! held by four set screws, kept by two sprues, and split between one pin and two sprues.

#![expect(clippy::print_stdout, reason = "a benchmark prints its result")]

use std::time::Instant;

use glam::DVec2;
use keepside_engine::opening::{Cancel, Effort, Fineness, run_with};
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
        let pin = KeyingFeature {
            name: String::new(),
            at: DVec2::new(*x, 60.0),
            half: Half::Moving,
            kind: FeatureKind::SetScrew { thread: ThreadSize::M4 },
            protrusion_mm: 2.0,
            measured: None,
        };
        project.features.insert(Id(id), pin);
    }
    project
}

/// Median time of a run, ms, and what it cost.
fn measure(project: &Project, fineness: Fineness) -> (f64, Effort) {
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
    (times[times.len() / 2], effort)
}

fn report(name: &str, project: &Project, fineness: Fineness) {
    let (ms, effort) = measure(project, fineness);
    let Effort { elements, steps, solves, cuts, .. } = effort;
    let per_solve_us = ms * 1e3 / solves as f64;
    println!("{name:<34} {elements:>8} {ms:>9.1} {solves:>7} {steps:>6} {cuts:>5} {per_solve_us:>9.1}");
}

fn main() {
    println!("layout                             elements  ms a run  solves  steps  cuts  us/solve");
    let held = strip(&[50.0, 70.0, 150.0, 170.0]);
    let (_, plain) = measure(&held, Fineness::default());
    let of_count = |count: f64| Fineness { mesh: count / plain.elements as f64, ..Fineness::default() };
    report("four screws, 180 elements", &held, of_count(180.0));
    report("no keys, 180 elements", &strip(&[]), of_count(180.0));
    report("one pin of two sprues, 180", &strip(&[40.0]), of_count(180.0));
    for count in [50.0, 100.0, 200.0, 400.0, 800.0, 1600.0] {
        report("four screws against elements", &held, of_count(count));
    }
}
