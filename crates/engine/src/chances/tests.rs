//! Checks of the chances as a whole.

use glam::DVec2;
use keepside_model::{
    FeatureKind, Finish, Half, Id, KeyingFeature, Project, PullOff, Run, Scatter, Spread, Sprue, ThreadSize,
};

use super::*;
use crate::opening;

/// A straight channel 180 mm long, two sprues on the fixed half, set screws on the moving half.
pub(crate) fn strip(pins_mm: &[f64]) -> Project {
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
        let kind = FeatureKind::set_screw(ThreadSize::M4);
        let pin = KeyingFeature::new(DVec2::new(*x, 60.0), Half::Moving, kind, 2.0);
        project.features.insert(Id(id), pin);
    }
    project
}

fn plan(medians: usize, shots_each: usize) -> Plan {
    Plan { medians, shots_each, ..Plan::default() }
}

fn all_told(project: &Project, plan: Plan) -> Vec<Chances> {
    let mut told = Vec::new();
    chances(project, plan, &Cancel::default(), &mut |chances| told.push(chances.clone())).unwrap();
    told
}

#[test]
fn the_answer_is_the_same_on_any_number_of_threads() {
    let project = strip(&[50.0, 70.0, 150.0, 170.0]);
    let on = |threads| format!("{:?}", all_told(&project, Plan { threads, ..plan(12, 2) }));
    let one = on(1);
    assert_eq!(one, on(2));
    assert_eq!(one, on(3));
    let other = all_told(&project, Plan { seed: 2, ..plan(12, 2) });
    assert_ne!(one, format!("{other:?}"));
}

#[test]
fn without_any_spread_every_shot_ends_as_the_opening_run_says() {
    for pins in [&[50.0, 70.0, 150.0, 170.0][..], &[], &[50.0]] {
        let project = Project { scatter: Scatter::NONE, ..strip(pins) };
        let chances = all_told(&project, plan(3, 1)).pop().unwrap();
        let opening = opening::run(&project, &Cancel::default()).unwrap();
        let range = Range::new(&project, plan(3, 1), Care::Full).unwrap();
        let full = range.fire(0, &Cancel::default()).unwrap();
        assert_eq!(full.shot.as_ref().unwrap().outcome, opening.verdict.outcome);
        assert_eq!(full.shot.unwrap().bumps, opening.bumps, "with full care it is the same run");
        assert_eq!((chances.ends.len(), chances.ends[0].end), (1, full.end));
        assert!(chances.drivers.is_empty());
    }
}

#[test]
fn a_first_figure_comes_early_and_narrows() {
    let told = all_told(&strip(&[50.0, 70.0, 150.0, 170.0]), plan(60, 1));
    assert_eq!(told[0].shots, (8, 60));
    let width = |chances: &Chances| chances.good.counted.1 - chances.good.counted.0;
    assert!(width(told.last().unwrap()) < 0.7 * width(&told[0]));
    assert!(told.windows(2).all(|pair| pair[0].shots.0 < pair[1].shots.0));
    assert!(told.last().unwrap().is_finished && !told[0].is_finished);
    let ends: f64 = told.last().unwrap().ends.iter().map(|end| end.share).sum();
    assert!((ends - 1.0).abs() < 1e-12);
}

#[test]
fn cancelling_gives_what_there_is() {
    let cancel = Cancel::default();
    let mut seen = 0;
    let chances = chances(&strip(&[]), plan(40, 1), &cancel, &mut |chances| {
        seen = chances.shots.0;
        cancel.cancel();
    });
    let chances = chances.unwrap();
    assert!(!chances.is_finished && chances.shots.0 < 40 && seen == chances.shots.0);
}

/// A short stiff part between a sprue that pulls 100 N and a turned head that pulls 120 N.
pub(crate) fn two_in_line() -> Project {
    let mut project = strip(&[]);
    project.part.runs.clear();
    let ends = [57.0, 63.0].map(|x| DVec2::new(x, 60.0));
    project.part.runs.insert(Id(1), Run::straight("", ends[0], ends[1], 6.0, 6.0));
    project.part.moving_share = 0.5;
    project.material.modulus_hot_mpa = 50_000.0;
    project.material.yield_hot_mpa = 900.0;
    project.press.stroke_mm = 10.0;
    project.holds.tack_mpa = 0.0;
    project.holds.wall_drag_mpa = 0.0;
    // Measured curves of one shape, so that nothing but their size decides.
    let curve = |peak_n: f64| Some(PullOff::new(vec![(0.0, 0.0), (0.1, peak_n), (2.0, 0.0)]).unwrap());
    project.sprues.remove(&Id(3));
    project.sprues.get_mut(&Id(2)).unwrap().measured = curve(100.0);
    let kind = FeatureKind::TurnedHead {
        head_diameter_mm: 3.0,
        neck_diameter_mm: 2.0,
        head_height_mm: 1.0,
        underside_deg: 45.0,
    };
    let mut pin = KeyingFeature::new(DVec2::new(60.0, 60.0), Half::Moving, kind, 2.0);
    pin.measured = curve(120.0);
    project.features.insert(Id(4), pin);
    project.limits.bump_mm = 100.0;
    project
}

/// Two holds in a straight line, one on each half, and a part so short and stiff that it cannot be peeled:
/// the side that can pull more keeps it. With log-normal pulls of medians m and f and logarithmic standard
/// deviations s and t the moving half wins with probability Φ(ln(m/f) / √(s² + t²)); normal distribution
/// tables.
#[test]
fn two_holds_in_line_end_well_as_often_as_the_closed_form_says() {
    let mut project = two_in_line();
    project.scatter =
        Scatter { sprue_drag: Spread::new(0.2, 0.0), filled: Spread::new(0.15, 0.0), ..Scatter::NONE };
    let chances = all_told(&project, plan(1500, 1)).pop().unwrap();
    let closed = normal_cdf((1.2_f64).ln() / 0.2_f64.hypot(0.15));
    // 0.76717 by a table of the normal distribution: Φ(0.7293).
    assert!((closed - 0.767).abs() < 1e-3, "{closed}");
    // Four standard errors of 1500 shots.
    let error = 4.0 * (closed * (1.0 - closed) / 1500.0).sqrt();
    assert!(
        (chances.good.share - closed).abs() < error,
        "{} {closed} {:?}",
        chances.good.share,
        chances.ends
    );
    // Each input explains by itself what its share of the log variance says, and not more than both.
    let of = |input: Input| chances.drivers.iter().find(|driver| driver.input == input).unwrap();
    let (sprue, pin) = (of(Input::SprueDrag(Some(Id(2)))), of(Input::FilledAt(Id(4))));
    assert!(sprue.share > pin.share && sprue.share + pin.share < 1.0);
    assert!(sprue.low_high.0 > sprue.low_high.1 && pin.low_high.0 < pin.low_high.1);
}

/// What the test above counts on: the stronger of the two keeps the part.
#[test]
fn the_stronger_of_two_holds_in_line_keeps_the_part() {
    let scatter = Scatter { sprue_drag: Spread::new(0.0, 1.0), ..Scatter::NONE };
    let project = Project { scatter, ..two_in_line() };
    for (care, within) in [(Care::Lean, 1e-3), (Care::Full, 1e-6)] {
        let range = Range::new(&project, plan(1, 1), care).unwrap();
        let (mut held, mut lost) = (0.0_f64, 1.0);
        for _ in 0..24 {
            let middle = 0.5 * (held + lost);
            let fired = range.fire_with(&[middle], &[], &Cancel::default()).unwrap();
            *(if fired.end == ShotEnd::Good { &mut held } else { &mut lost }) = middle;
        }
        // 120 N against 100 N.
        assert!((held.exp() / 1.2 - 1.0).abs() < within, "{care:?}: {}", held.exp());
    }
}

fn normal_cdf(x: f64) -> f64 {
    use statrs::distribution::{ContinuousCDF, Normal};
    Normal::standard().cdf(x)
}

/// The full number is computed by the example `workshops`; see DEVELOPERS.md.
#[test]
fn lean_shots_end_as_those_with_full_care() {
    for pins in [&[50.0, 70.0, 150.0, 170.0][..], &[50.0]] {
        let agreement =
            agreement(&strip(pins), Plan { threads: 2, ..plan(20, 1) }, &Cancel::default()).unwrap();
        assert_eq!(agreement.shots, 20);
        assert!(agreement.outcomes >= 19 && agreement.ends >= 19, "{agreement:?}");
    }
}
