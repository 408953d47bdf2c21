//! Makes up workshops with known truth and tells how often what they learn holds it; and compares lean shots
//! with full ones. See DEVELOPERS.md.
//!
//! `cargo run --release -p keepside-tests --example workshops [WORKSHOPS] [SETS] [SHOTS OF EACH]`

#![expect(clippy::print_stdout, clippy::unwrap_used, reason = "a script prints its result")]

use keepside_engine::chances::{Plan, agreement};
use keepside_engine::learning::workshops;
use keepside_engine::opening::Cancel;
use keepside_model::{Half, Project};
use keepside_tests::{add_screw, add_sprue, strip};

/// A strip with two sprues and set screws at these places.
fn held(screws_mm: &[f64]) -> Project {
    let mut project = strip();
    add_sprue(&mut project, 60.0);
    add_sprue(&mut project, 160.0);
    for x in screws_mm {
        add_screw(&mut project, *x, Half::Moving);
    }
    project
}

fn main() {
    let mut numbers = std::env::args().skip(1).filter_map(|arg| arg.parse::<usize>().ok());
    let mut next = |usual| numbers.next().unwrap_or(usual);
    let (count, medians, shots_each) = (next(200), next(1500), next(8));
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let plan = Plan { seed: 1, medians, shots_each, threads };
    let project = held(&[50.0, 70.0, 150.0, 170.0]);
    let cancel = Cancel::default();
    let coverage = workshops(&project, plan, count, 8, &cancel, &mut |_| {}).unwrap();
    println!("{count} workshops, {medians} sets of medians, {shots_each} shots of each");
    let (mut held_in, mut of) = (0, 0);
    for one in &coverage {
        let share = 100.0 * one.held.0 as f64 / one.held.1 as f64;
        println!(
            "{:<40} {share:>5.1} % held, narrowed by {:>3.0} %",
            one.input.words(&project),
            100.0 * one.learned
        );
        held_in += one.held.0;
        of += one.held.1;
    }
    println!("all together: {:.1} %", 100.0 * held_in as f64 / of as f64);
    for (name, screws) in [("four screws", &[50.0, 70.0, 150.0, 170.0][..]), ("one screw", &[50.0])] {
        let plan = Plan { medians: count, shots_each: 3, ..plan };
        let one = agreement(&held(screws), plan, &cancel).unwrap();
        println!(
            "{name}: of {} shots {} end alike, {} with the same half",
            one.shots, one.ends, one.outcomes
        );
    }
}
