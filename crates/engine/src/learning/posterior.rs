//! Bayes' rule by importance sampling: every set of medians counts as much as it would have made likely what
//! was seen.

use keepside_model::{Id, Project, Trial};
use statrs::function::gamma::ln_gamma;

use crate::chances::{self, Fired, Plan, Share};
use crate::learning::seen;

/// Share of shots that may end in a way that the model cannot say.
const UNFORESEEN: f64 = 0.02;

/// Trials of one layout, shot in one way, with the shots computed of it.
pub(crate) struct Setting<'a> {
    /// The layout as it was shot.
    pub(crate) project: &'a Project,
    pub(crate) trials: Vec<&'a Trial>,
    pub(crate) fired: &'a [Fired],
}

/// Logarithm of the likelihood of everything seen in a setting, for each set of medians.
///
/// Of what was seen in words the likelihood is that of counts in classes: with m shots computed of a set, of
/// which k ended like a trial, the chance of n more is the Dirichlet-multinomial's, its prior that of all sets
/// together. That tells apart what was computed from what is sure: eight shots alike do not make a ninth
/// certain.
pub(crate) fn log_likelihood(plan: &Plan, setting: &Setting<'_>) -> Vec<f64> {
    let mut total = vec![0.0; plan.medians];
    // Trials that saw the same are one class.
    let mut classes: Vec<(&Trial, f64)> = Vec::new();
    for trial in &setting.trials {
        let same = |of: &&mut (&Trial, f64)| {
            of.0.ended == trial.ended && of.0.kept == trial.kept && of.0.broke == trial.broke
        };
        match classes.iter_mut().find(same) {
            Some(class) => class.1 += f64::from(trial.shots),
            None => classes.push((trial, f64::from(trial.shots))),
        }
    }
    let shots = per_set(plan, setting.fired, |_| 1.0);
    let seen_shots: f64 = classes.iter().map(|class| class.1).sum();
    let is_alike: Vec<Vec<bool>> = classes
        .iter()
        .map(|(trial, _)| {
            let is_alike = |fired: &Fired| {
                fired.shot.as_ref().is_some_and(|shot| seen::is_alike(setting.project, trial, shot))
            };
            setting.fired.iter().map(is_alike).collect()
        })
        .collect();
    let shares: Vec<Share> = is_alike.iter().map(|hits| chances::share(plan, &[], hits)).collect();
    let strength = shares.iter().map(strength).sum::<f64>() / shares.len().max(1) as f64;
    for (set, total) in total.iter_mut().enumerate() {
        *total += ln_gamma(shots[set] + strength) - ln_gamma(shots[set] + strength + seen_shots);
    }
    for ((hits, share), (_, count)) in is_alike.iter().zip(&shares).zip(&classes) {
        let foreseen = 1.0 - UNFORESEEN;
        let prior = strength * (foreseen * share.share + UNFORESEEN);
        for (total, hits) in total.iter_mut().zip(sum_up(plan, hits)) {
            let known = foreseen * hits + prior;
            *total += ln_gamma(known + count) - ln_gamma(known);
        }
    }
    for trial in &setting.trials {
        for (item, height_mm) in &trial.bumps_mm {
            let of = bump_log_likelihood(plan, setting, trial, *item, *height_mm);
            total.iter_mut().zip(of).for_each(|(sum, log)| *sum += log);
        }
    }
    total
}

/// How many shots the prior of a share is worth: that of the beta distribution with the mean and variance of the
/// share over the sets. One where a set has a single shot.
fn strength(share: &Share) -> f64 {
    share.ignorance.map_or(1.0, |ignorance| (1.0 / ignorance.max(1e-3) - 1.0).clamp(0.1, 20.0))
}

fn sum_up(plan: &Plan, hits: &[bool]) -> Vec<f64> {
    let mut sums = vec![0.0; plan.medians];
    hits.iter().enumerate().filter(|hit| *hit.1).for_each(|(shot, _)| sums[plan.medians_of(shot)] += 1.0);
    sums
}

/// Degrees of freedom of the distribution that bumps are taken to have about the mean of their set: a few, so
/// that one odd bump does not rule out what all else speaks for.
const FREEDOM: f64 = 5.0;

/// Logarithm of the likelihood of a bump that was measured, for each set: of the shots that are otherwise alike,
/// the set's mean, the scatter that all sets have in common, and the error of measuring. A batch tells one bump.
///
/// A likelihood from the moments of computed data: S. N. Wood, Nature 466 (2010) 1102 (from memory), here with
/// the tails of Student's distribution.
fn bump_log_likelihood(
    plan: &Plan,
    setting: &Setting<'_>,
    trial: &Trial,
    item: Id,
    seen_mm: f64,
) -> Vec<f64> {
    let computed = |fired: &Fired| {
        let shot = fired.shot.as_ref().filter(|shot| seen::is_alike(setting.project, trial, shot))?;
        shot.bumps.iter().find(|bump| bump.item == item).map(|bump| bump.height_mm)
    };
    let count = per_set(plan, setting.fired, |fired| f64::from(computed(fired).is_some()));
    let sum = per_set(plan, setting.fired, |fired| computed(fired).unwrap_or(0.0));
    let square = per_set(plan, setting.fired, |fired| computed(fired).unwrap_or(0.0).powi(2));
    let (all, whole) = (count.iter().sum::<f64>(), sum.iter().sum::<f64>());
    if all < 2.0 {
        return vec![0.0; plan.medians];
    }
    let mean = whole / all;
    let about_mean = (square.iter().sum::<f64>() / all - mean * mean).max(0.0);
    let about_sets: f64 =
        (0..plan.medians).filter(|i| count[*i] > 0.0).map(|i| square[i] - sum[i] * sum[i] / count[i]).sum();
    let freedoms: f64 = count.iter().map(|count| (count - 1.0).max(0.0)).sum();
    let within = if freedoms > 0.0 { (about_sets / freedoms).clamp(0.0, about_mean) } else { about_mean };
    let between = (about_mean - within).max(0.0);
    let error = seen::bump_error_mm(seen_mm).powi(2);
    (0..plan.medians)
        .map(|i| {
            // The mean of few shots is drawn towards that of all, as far as it is uncertain.
            let trust = if between > 0.0 { count[i] / (count[i] + within / between) } else { 0.0 };
            let here = if count[i] > 0.0 { mean + trust * (sum[i] / count[i] - mean) } else { mean };
            let variance = within + (1.0 - trust) * between + error;
            let away = (seen_mm - here).powi(2) / variance;
            -0.5 * variance.ln() - 0.5 * (FREEDOM + 1.0) * (away / FREEDOM).ln_1p()
        })
        .collect()
}

/// Sums of something over the shots of each set.
fn per_set(plan: &Plan, fired: &[Fired], of: impl Fn(&Fired) -> f64) -> Vec<f64> {
    let mut sums = vec![0.0; plan.medians];
    for (shot, fired) in fired.iter().enumerate() {
        sums[plan.medians_of(shot)] += of(fired);
    }
    sums
}

/// Sets that must be left to count at least.
const LEAST_SETS: f64 = 40.0;

/// Weights of the sets, 1 on average, from logarithms of likelihoods, and the share of the evidence that they
/// rest on.
///
/// Few sets cannot bear strong evidence: one or two would be left, and seem sure of themselves. The logarithm
/// is then multiplied with the largest number up to 1 that leaves forty sets, or a third of all, to count: what
/// is told is less than what was learned, never more.
pub(crate) fn weights(log: &[f64]) -> (Vec<f64>, f64) {
    let least = LEAST_SETS.min(log.len() as f64 / 3.0);
    let whole = weights_of(log, 1.0);
    if effective_sets(&whole) >= least {
        return (whole, 1.0);
    }
    let (mut enough, mut too_few) = (0.0, 1.0);
    for _ in 0..40 {
        let share = 0.5 * (enough + too_few);
        let is_enough = effective_sets(&weights_of(log, share)) >= least;
        *(if is_enough { &mut enough } else { &mut too_few }) = share;
    }
    (weights_of(log, enough), enough)
}

fn weights_of(log: &[f64], share: f64) -> Vec<f64> {
    let most = log.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let raw: Vec<f64> = log.iter().map(|log| (share * (log - most)).exp()).collect();
    let mean = raw.iter().sum::<f64>() / raw.len().max(1) as f64;
    raw.into_iter().map(|weight| weight / mean).collect()
}

/// How many sets of equal weight count as much: (Σw)²/Σw² (L. Kish, Survey Sampling, 1965, from memory).
pub(crate) fn effective_sets(weights: &[f64]) -> f64 {
    let sum: f64 = weights.iter().sum();
    sum * sum / weights.iter().map(|weight| weight * weight).sum::<f64>()
}

/// The value below which a share `part` of the weight lies; `values` and `weights` go together.
pub(crate) fn weighted_quantile(values: &[f64], weights: &[f64], part: f64) -> f64 {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| values[*a].total_cmp(&values[*b]));
    let whole: f64 = weights.iter().sum();
    let mut below = 0.0;
    for (place, &index) in order.iter().enumerate() {
        let next = below + weights[index];
        // A set stands for the middle of its weight.
        if below + 0.5 * weights[index] >= part * whole {
            if place == 0 {
                return values[index];
            }
            let before = order[place - 1];
            let from = below - 0.5 * weights[before];
            let to = below + 0.5 * weights[index];
            let share = if to > from { (part * whole - from) / (to - from) } else { 1.0 };
            return values[before] + share.clamp(0.0, 1.0) * (values[index] - values[before]);
        }
        below = next;
    }
    order.last().map_or(0.0, |index| values[*index])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_weights_give_the_usual_quantiles() {
        let values: Vec<f64> = (0..101).map(f64::from).collect();
        let weights = vec![1.0; 101];
        // Each value stands for the middle of its hundredth: the median is the middle value.
        assert!((weighted_quantile(&values, &weights, 0.5) - 50.0).abs() < 1e-9);
        assert!((weighted_quantile(&values, &weights, 0.05) - 4.55).abs() < 1e-9);
        assert_eq!(effective_sets(&weights), 101.0);
        // All weight on one.
        let mut one = vec![0.0; 101];
        one[30] = 7.0;
        assert_eq!(weighted_quantile(&values, &one, 0.5), 30.0);
        assert_eq!(effective_sets(&one), 1.0);
    }

    #[test]
    fn likelier_sets_weigh_more() {
        let (weights, share) = weights(&[-1000.0, -1000.0 + 3.0_f64.ln()]);
        assert_eq!(share, 1.0);
        assert!((weights[1] / weights[0] - 3.0).abs() < 1e-9);
        assert!((weights.iter().sum::<f64>() - 2.0).abs() < 1e-12);
    }

    #[test]
    fn evidence_too_strong_for_the_sets_is_used_in_part() {
        let log: Vec<f64> = (0..300).map(|set| -f64::from(set)).collect();
        let (weights, share) = weights(&log);
        assert!(share < 0.1 && share > 0.0);
        assert!((effective_sets(&weights) - 40.0).abs() < 1e-3);
        assert!(weights.windows(2).all(|pair| pair[0] > pair[1]), "the order stays");
    }
}
