//! Checks of learning as a whole.

use keepside_model::{Ended, Id, KeptBy, KeptStretch, Project, Scatter, Spread, Trial};
use statrs::distribution::{ContinuousCDF, Normal};

use super::*;
use crate::chances::tests::{strip, two_in_line};
use crate::chances::{Input, ShotEnd};

/// [`two_in_line`] with a sprue whose 100 N are computed: 0.5 MPa on the wall of a bore of 4 mm by 15.915 mm.
fn computed(scatter: Scatter) -> Project {
    let mut project = Project { scatter, ..two_in_line() };
    let sprue = project.sprues.get_mut(&Id(2)).unwrap();
    (sprue.measured, sprue.length_mm) = (None, 15.915);
    project.press.stroke_mm = 30.0;
    project
}

fn plan(medians: usize, shots_each: usize) -> Plan {
    Plan { medians, shots_each, threads: 2, ..Plan::default() }
}

fn seen(ended: Ended, shots: u32) -> Trial {
    Trial { ended: Some(ended), shots, ..Trial::default() }
}

#[track_caller]
fn learned(project: &Project, plan: Plan) -> Learned {
    learn(project, plan, &Cancel::default(), &mut |_| {}).expect("the layout opens")
}

/// A sprue whose median nobody knows against a head that pulls 120 N. The chance that the moving half wins
/// has a closed form, so that Bayes' rule can be worked out by summing over a fine grid of medians.
#[test]
fn what_is_learned_agrees_with_bayes_rule_summed_over_a_grid() {
    let (shot, median) = (0.2_f64, 0.5);
    let scatter = Scatter { sprue_drag: Spread::new(shot, median), ..Scatter::NONE };
    let mut project = Project { scatter, ..two_in_line() };
    project.trials = vec![seen(Ended::Fixed, 3), seen(Ended::Moving, 1)];
    let learned = learned(&project, plan(2000, 20));

    let normal = Normal::standard();
    let wins = |z: f64| normal.cdf(((1.2_f64).ln() - median * z) / shot);
    let grid: Vec<f64> = (0..4001).map(|i| -4.0 + 0.002 * f64::from(i)).collect();
    // One shot in fifty ends as the model cannot say, whatever it is.
    let weight = |z: f64| {
        let p = 0.98 * wins(z) + 0.01;
        (-0.5 * z * z).exp() * (1.0 - p).powi(3) * p
    };
    let whole: f64 = grid.iter().map(|z| weight(*z)).sum();
    let mean = grid.iter().map(|z| weight(*z) * z).sum::<f64>() / whole;
    let good = grid.iter().map(|z| weight(*z) * wins(*z)).sum::<f64>() / whole;
    let quantile = |part: f64| {
        let mut sum = 0.0;
        *grid
            .iter()
            .find(|z| {
                sum += weight(**z);
                sum >= part * whole
            })
            .unwrap()
    };
    let belief = learned.beliefs.iter().find(|belief| belief.input == Input::SprueDrag(None)).unwrap();
    let z = |value: f64| (value / project.holds.sprue_drag_turned_mpa).ln() / median;
    // Some 700 sets count. The standard error of a quantile is √(p (1 − p) / 700) over the density there: 0.055
    // at the upper end, less elsewhere. Three of them.
    for (part, value) in
        [(0.05, belief.after.range.0), (0.5, belief.after.median), (0.95, belief.after.range.1)]
    {
        assert!((z(value) - quantile(part)).abs() < 0.165, "{part}: {} {}", z(value), quantile(part));
    }
    assert!((learned.chances.1.good.share - good).abs() < 0.03, "{} {good}", learned.chances.1.good.share);
    let taken = (learned.calibration.holds.sprue_drag_turned_mpa / 0.5).ln() / median;
    assert!((taken - mean).abs() < 0.08, "{taken} {mean}");
    assert!(learned.sets.1 > 500.0, "{:?}", learned.sets);
}

#[test]
fn a_trial_that_was_not_foreseen_is_told_as_wrong_and_changes_what_comes_next() {
    let scatter = Scatter { sprue_drag: Spread::new(0.1, 0.5), ..Scatter::NONE };
    let mut project = computed(scatter);
    let short = Trial { ended: Some(Ended::ShortShot), ..Trial::default() };
    let lost = Trial { layout: Some("gone".to_owned()), ..seen(Ended::Moving, 1) };
    let old = Trial { is_taken_in: true, ..seen(Ended::Moving, 1) };
    project.trials = vec![seen(Ended::Fixed, 2), seen(Ended::Fixed, 2), short, lost, old];
    let learned = learned(&project, plan(200, 4));
    let first = learned.replays[0].as_ref().unwrap();
    assert_eq!(first.was_wrong, Some(true), "the head should have won");
    assert_eq!(first.before, first.then, "nothing was known before the first trial");
    let second = learned.replays[1].as_ref().unwrap();
    assert_eq!(second.was_wrong, Some(false), "by then it was known better");
    assert!(second.as_seen[1] > second.as_seen[0]);
    assert_eq!(learned.replays[2], Err(NotCounted::NothingSeen));
    assert_eq!(learned.replays[3], Err(NotCounted::NoSuchLayout));
    assert_eq!(learned.replays[4], Err(NotCounted::TakenIn));
    let (before, after) = &learned.chances;
    assert!(after.good.share < before.good.share - 0.3, "{before:?} {after:?}");

    // Taken in, it stays so, and is not counted twice.
    let mut next = project.clone();
    next.apply(&learned.edit(&project)).unwrap();
    assert!(next.holds.sprue_drag_turned_mpa > project.holds.sprue_drag_turned_mpa);
    assert!(next.scatter.sprue_drag.median < project.scatter.sprue_drag.median);
    assert_eq!(next.trials.iter().filter(|trial| trial.is_taken_in).count(), 3);
    assert_eq!(keepside_model::Calibration::of(&next).shots, 5);
    let again = super::tests::learned(&next, plan(200, 4));
    assert!(again.replays.iter().all(Result::is_err));
    let (told, kept) = (after.good.share, again.chances.0.good.share);
    assert!((told - kept).abs() < 0.12, "what was told is what is computed with it: {told} {kept}");
}

#[test]
fn what_cannot_happen_in_the_model_still_leaves_an_answer() {
    let scatter = Scatter { sprue_drag: Spread::new(0.1, 0.5), ..Scatter::NONE };
    let mut project = computed(scatter);
    let stretch = |by| KeptStretch { run: Id(1), from_mm: 0.0, to_mm: 6.0, by };
    project.trials = vec![Trial { kept: vec![stretch(KeptBy::Between)], ..seen(Ended::Torn, 10) }];
    let learned = learned(&project, plan(50, 2));
    assert!(learned.sets.1 > 25.0, "nothing speaks for one set more than for another: {:?}", learned.sets);
    assert_eq!(learned.replays[0].as_ref().unwrap().as_seen, [0.0; 3]);
}

#[test]
fn the_trial_that_decides_is_advised_before_one_that_does_not() {
    let scatter = Scatter { sprue_drag: Spread::new(0.05, 0.5), ..Scatter::NONE };
    let project = computed(scatter);
    let plan = plan(100, 3);
    let learned = learned(&project, plan);
    let advice = advise(&project, &learned, plan, &Cancel::default(), &mut |_| {}).unwrap();
    let of = |trial: &NextTrial| advice.iter().find(|advice| advice.trial == *trial).unwrap();
    let (today, without) = (of(&NextTrial::AsToday), of(&NextTrial::Without(Id(4))));
    // Whether the sprue is stronger than the head: an even question, nearly. Without the head it is none.
    assert!(today.bits > 0.5 && today.bits <= 1.0, "{today:?}");
    assert!(
        without.bits < 0.05 && without.likeliest.0 == ShotEnd::Fixed && without.likeliest.1 > 0.999,
        "{without:?}"
    );
    assert!(advice.windows(2).all(|pair| pair[0].bits >= pair[1].bits));
}

/// Two hundred workshops are made up by the example `workshops`; see DEVELOPERS.md.
#[test]
fn the_ranges_hold_the_truth_of_made_up_workshops_as_often_as_they_say() {
    let project = strip(&[50.0, 70.0, 150.0, 170.0]);
    let coverage = workshops(&project, plan(100, 3), 30, 4, &Cancel::default(), &mut |_| {}).unwrap();
    let held: usize = coverage.iter().map(|of| of.held.0).sum();
    let all: usize = coverage.iter().map(|of| of.held.1).sum();
    let share = held as f64 / all as f64;
    assert!((0.85..=0.95).contains(&share), "{share}: {coverage:?}");
}
