//! Measured pull-off curves of forms that no computed one has, in opening runs.

use keepside_engine::opening::{self, Cancel};
use keepside_model::{Project, PullOff};
use keepside_tests::projects::demo;

/// Travel mm and share of the peak: with slack, with two peaks, with a piece without pull, with a plateau.
const FORMS: [&[(f64, f64)]; 4] = [
    &[(0.0, 0.0), (0.3, 0.05), (0.6, 1.0), (2.5, 0.0)],
    &[(0.0, 0.0), (0.1, 1.0), (0.8, 0.2), (1.2, 0.9), (2.4, 0.0)],
    &[(0.0, 0.0), (0.2, 0.6), (0.5, 0.0), (0.9, 0.0), (1.3, 1.0), (2.0, 0.0)],
    &[(0.0, 0.0), (0.05, 1.0), (1.5, 1.0), (1.8, 0.0)],
];

fn curve(form: &[(f64, f64)], travel: f64, peak: f64) -> PullOff {
    let points = form.iter().map(|(at_mm, share)| (travel * at_mm, peak * share)).collect();
    PullOff::new(points).expect("the form is one of a curve")
}

/// Opens the mould: every number is one, and the balance of energy closes within 1 %.
#[track_caller]
fn check(project: &Project, what: &str) {
    let run = opening::run(project, &Cancel::default());
    let opening = run.unwrap_or_else(|reason| panic!("{what}: {reason}"));
    for hold in &opening.holds {
        let numbers = [hold.peak_n, hold.travel_mm, hold.work_mj, hold.capacity_n];
        assert!(numbers.iter().all(|number| number.is_finite()), "{what}: {hold:?}");
    }
    let energy = opening.energy;
    let in_part = energy.elastic_mj + energy.plastic_mj;
    let spent = energy.holds_mj + in_part + energy.viscous_mj + energy.snap_mj;
    assert!((energy.work_mj - spent).abs() <= 0.01 * energy.work_mj, "{what}: {energy:?}");
}

#[test]
fn curves_of_sprues_and_pins_may_have_slack_two_peaks_and_gaps() {
    for (index, form) in FORMS.into_iter().enumerate() {
        let mut project = demo("row-marker");
        for sprue in project.sprues.values_mut() {
            sprue.measured = Some(curve(form, 1.0, 60.0));
        }
        if let Some(pin) = project.features.values_mut().next() {
            pin.measured = Some(curve(form, 0.8, 150.0));
        }
        check(&project, &format!("form {index}"));
    }
}

#[test]
fn curves_of_faces_and_walls_may_have_slack_two_peaks_and_gaps() {
    for (index, form) in FORMS.into_iter().enumerate() {
        let mut project = demo("row-marker");
        project.holds.tack_curve = Some(curve(form, 0.03, 0.12));
        project.holds.wall_curve = Some(curve(form, 0.5, 0.06));
        check(&project, &format!("form {index}"));
    }
}
