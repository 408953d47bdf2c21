//! What is believed about each median, before the trials and after them.

use keepside_model::{Calibration, HoldInputs, Material, Project, Scatter};

use crate::chances::{Axis, Input};
use crate::learning::posterior::weighted_quantile;
use crate::opening::lean::moved_share;

/// What an input's median is thought to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Believed {
    /// As likely above as below.
    pub median: f64,
    /// With 90 % between these.
    pub range: (f64, f64),
}

/// An input before and after the trials.
#[derive(Clone, Debug, PartialEq)]
pub struct Belief {
    /// The input.
    pub input: Input,
    /// Unit of the numbers; empty for a share or a factor on what the project says.
    pub unit: &'static str,
    /// Before.
    pub before: Believed,
    /// After.
    pub after: Believed,
    /// How much narrower the range has become, 0 (not at all) to 1, by logarithm.
    pub learned: f64,
}

/// Beliefs about every axis; `numbers` are those of each set of medians, axis by axis.
pub(crate) fn beliefs(
    project: &Project,
    axes: &[Axis],
    numbers: &[Vec<f64>],
    weights: &[f64],
) -> Vec<Belief> {
    let equal = vec![1.0; weights.len()];
    axes.iter()
        .enumerate()
        .map(|(index, axis)| {
            let of: Vec<f64> = numbers.iter().map(|set| set[index]).collect();
            let (unit, value) = scale(project, *axis);
            let believed = |weights: &[f64]| {
                let at = |part| value(weighted_quantile(&of, weights, part));
                Believed { median: at(0.5), range: (at(0.05), at(0.95)) }
            };
            let width = |weights: &[f64]| {
                weighted_quantile(&of, weights, 0.95) - weighted_quantile(&of, weights, 0.05)
            };
            let learned = (1.0 - width(weights) / width(&equal).max(1e-12)).clamp(0.0, 1.0);
            Belief { input: axis.input, unit, before: believed(&equal), after: believed(weights), learned }
        })
        .collect()
}

/// Unit of an axis, and its value at a standard normal number.
fn scale(project: &Project, axis: Axis) -> (&'static str, impl Fn(f64) -> f64) {
    let holds = &project.holds;
    let (unit, median) = match axis.input {
        Input::Tack(_) if holds.tack_curve.is_none() => ("MPa", holds.tack_mpa),
        Input::WallDrag(_) if holds.wall_curve.is_none() => ("MPa", holds.wall_drag_mpa),
        Input::SprueDrag(None) => ("MPa", holds.sprue_drag_turned_mpa),
        Input::Filled("set screw") => ("", holds.thread_filled_share),
        Input::HotStrength => ("MPa", project.material.yield_hot_mpa),
        _ => ("", 1.0),
    };
    let is_share = axis.input == Input::Filled("set screw");
    (unit, move |number: f64| {
        let log = axis.log_sd * number;
        if is_share { moved_share(median, log) } else { median * log.exp() }
    })
}

/// The project's assumed values and their spreads as they are after the trials: what can be kept for this
/// press and this material. What belongs to a single bore, or to undercuts of heads and rings, has no place
/// in them and stays with the log.
pub(crate) fn calibration(
    project: &Project,
    axes: &[Axis],
    numbers: &[Vec<f64>],
    weights: &[f64],
    shots: u32,
) -> Calibration {
    let mut holds: HoldInputs = project.holds.clone();
    let mut material: Material = project.material.clone();
    let mut scatter: Scatter = project.scatter;
    for (index, axis) in axes.iter().enumerate() {
        // Against the same sets without weights: what chance makes of few sets is not learned.
        let (mean, sd) = moments(index, numbers, weights);
        let (mean_before, sd_before) = moments(index, numbers, &vec![1.0; numbers.len()]);
        let narrowed = if sd_before > 0.0 { sd / sd_before } else { 1.0 };
        let (log, log_sd) = (axis.log_sd * (mean - mean_before), (axis.log_sd * narrowed).min(2.0));
        match axis.input {
            Input::Tack(None) => {
                holds.tack_mpa *= log.exp();
                scatter.tack.median = log_sd;
            }
            Input::WallDrag(None) => {
                holds.wall_drag_mpa *= log.exp();
                scatter.wall_drag.median = log_sd;
            }
            Input::SprueDrag(None) => {
                holds.sprue_drag_turned_mpa *= log.exp();
                holds.sprue_drag_polished_mpa *= log.exp();
                scatter.sprue_drag.median = log_sd;
            }
            Input::Filled("set screw") => {
                holds.thread_filled_share = moved_share(holds.thread_filled_share, log);
                scatter.filled.median = log_sd;
            }
            Input::HotStrength => {
                material.modulus_hot_mpa *= log.exp();
                material.yield_hot_mpa *= log.exp();
                scatter.hot_strength.median = log_sd;
            }
            Input::ReleaseAgent(None) => {
                for factor in [&mut holds.release_factor_moving, &mut holds.release_factor_fixed] {
                    if *factor < 1.0 {
                        *factor = (*factor * log.exp()).min(1.0);
                    }
                }
                scatter.release_agent.median = log_sd;
            }
            _ => {}
        }
    }
    Calibration { press: project.press.name.clone(), material, holds, scatter, shots }
}

/// Mean and standard deviation of an axis' numbers over the sets, by weight.
fn moments(index: usize, numbers: &[Vec<f64>], weights: &[f64]) -> (f64, f64) {
    let whole: f64 = weights.iter().sum();
    let mean = numbers.iter().zip(weights).map(|(set, w)| w * set[index]).sum::<f64>() / whole;
    let square =
        numbers.iter().zip(weights).map(|(set, w)| w * (set[index] - mean).powi(2)).sum::<f64>() / whole;
    (mean, square.sqrt())
}
