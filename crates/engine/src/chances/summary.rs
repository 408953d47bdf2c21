//! What many shots tell, put together.

use statrs::distribution::{Beta, ContinuousCDF};

use crate::chances::bank::{Fired, Plan, ShotEnd};
use crate::chances::clopper_pearson;

/// A share of shots and how well it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// The share, 0 to 1.
    pub share: f64,
    /// Limits of it at 95 %: the error of having computed no more shots than these.
    pub counted: (f64, f64),
    /// What the share would be if the medians were known: with 80 % between these. `None` while there are
    /// fewer than two shots of each set of medians.
    pub by_ignorance: Option<(f64, f64)>,
    /// Share of all the variance of good and bad that comes of not knowing the medians, 0 to 1; the rest is
    /// scatter from shot to shot.
    pub ignorance: Option<f64>,
}

/// How often a shot ends in one way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EndShare {
    /// The way.
    pub end: ShotEnd,
    /// Its share of all shots, 0 to 1.
    pub share: f64,
    /// How many of the shots computed ended so.
    pub shots: usize,
}

/// A length over many shots, mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Quantiles {
    /// One shot in two is below this.
    pub median_mm: f64,
    /// Nine shots in ten are below this.
    pub nine_in_ten_mm: f64,
}

/// The shots of each set of medians, added up: weights of the sets, and how often something was so.
struct Groups {
    /// Weight, number of shots, number of hits of each set that has shots.
    of: Vec<(f64, f64, f64)>,
}

impl Groups {
    fn new(plan: &Plan, weights: &[f64], hits: &[bool]) -> Self {
        let mut of: Vec<(f64, f64, f64)> =
            (0..plan.medians).map(|set| (weights.get(set).copied().unwrap_or(1.0), 0.0, 0.0)).collect();
        for (shot, hit) in hits.iter().enumerate() {
            let group = &mut of[plan.medians_of(shot)];
            group.1 += 1.0;
            group.2 += if *hit { 1.0 } else { 0.0 };
        }
        of.retain(|group| group.1 > 0.0 && group.0 > 0.0);
        Self { of }
    }

    fn weight(&self) -> f64 {
        self.of.iter().map(|group| group.0).sum()
    }

    /// Mean over the sets, by weight, of `of` (shots, hits).
    fn mean(&self, of: impl Fn(f64, f64) -> f64) -> f64 {
        self.of.iter().map(|(weight, shots, hits)| weight * of(*shots, *hits)).sum::<f64>() / self.weight()
    }

    /// How many sets of equal weight count as much: (Σw)²/Σw² (L. Kish, Survey Sampling, 1965, from memory).
    fn sets(&self) -> f64 {
        self.weight().powi(2) / self.of.iter().map(|group| group.0.powi(2)).sum::<f64>()
    }

    /// Number of independent shots that would tell as much about the share as these, which are alike within
    /// a set: p (1 − p) over the variance between sets (E. L. Korn, B. I. Graubard, Survey Methodology 24
    /// (1998) 193, from memory).
    fn effective_shots(&self, share: f64) -> f64 {
        let sets = self.sets();
        let all: f64 = self.of.iter().map(|group| group.1).sum();
        let whole = self.weight();
        let variance: f64 = self
            .of
            .iter()
            .map(|(weight, shots, hits)| (weight / whole * (hits / shots - share)).powi(2))
            .sum::<f64>()
            * sets
            / (sets - 1.0).max(1.0);
        if variance > 0.0 { (share * (1.0 - share) / variance).min(all) } else { sets }
    }

    /// Variance of the share over the sets, scatter within them taken off; `None` with fewer than two shots
    /// of each.
    fn variance_of_sets(&self, share: f64) -> Option<f64> {
        if self.of.len() < 2 || self.of.iter().any(|group| group.1 < 2.0) {
            return None;
        }
        let sets = self.sets();
        let seen = self.mean(|shots, hits| (hits / shots - share).powi(2)) * sets / (sets - 1.0).max(1.0);
        // Unbiased estimate of p (1 − p) over the number of shots of a set.
        let within = self.mean(|shots, hits| {
            let p = hits / shots;
            p * (1.0 - p) / (shots - 1.0)
        });
        Some((seen - within).clamp(0.0, share * (1.0 - share)))
    }
}

/// The share of shots for which something is so; `weights` are those of the sets of medians, none for equal
/// ones.
pub(crate) fn share(plan: &Plan, weights: &[f64], hits: &[bool]) -> Share {
    let groups = Groups::new(plan, weights, hits);
    if groups.of.is_empty() {
        return Share { share: 0.0, counted: (0.0, 1.0), by_ignorance: None, ignorance: None };
    }
    let share = groups.mean(|shots, hits| hits / shots);
    let shots = groups.effective_shots(share);
    let counted = clopper_pearson(share * shots, shots, 0.95);
    let variance = groups.variance_of_sets(share);
    let whole = share * (1.0 - share);
    let ignorance = variance.map(|variance| if whole > 0.0 { variance / whole } else { 0.0 });
    let by_ignorance = variance.map(|variance| beta_range(share, variance));
    Share { share, counted, by_ignorance, ignorance }
}

/// Ends of the middle 80 % of the beta distribution with this mean and variance.
fn beta_range(mean: f64, variance: f64) -> (f64, f64) {
    let whole = mean * (1.0 - mean);
    if variance <= 1e-9 || whole <= 0.0 {
        return (mean, mean);
    }
    // No flatter than one in which nearly all sets are all good or all bad.
    let size = (whole / variance - 1.0).max(1e-3);
    let Ok(beta) = Beta::new(mean * size, (1.0 - mean) * size) else { return (mean, mean) };
    let quantile = |p: f64| {
        let q = beta.inverse_cdf(p);
        if q.is_finite() { q.clamp(0.0, 1.0) } else { mean }
    };
    (quantile(0.1), quantile(0.9))
}

/// How often shots ended in each way, those that occurred, best first.
pub(crate) fn ends(plan: &Plan, weights: &[f64], fired: &[Fired]) -> Vec<EndShare> {
    let of = |end: ShotEnd| {
        let hits: Vec<bool> = fired.iter().map(|fired| fired.end == end).collect();
        let shots = hits.iter().filter(|hit| **hit).count();
        let groups = Groups::new(plan, weights, &hits);
        let share = if groups.of.is_empty() { 0.0 } else { groups.mean(|shots, hits| hits / shots) };
        EndShare { end, share, shots }
    };
    ShotEnd::ALL.into_iter().map(of).filter(|end| end.shots > 0).collect()
}

/// Quantiles of a length over the shots for which there is one.
pub(crate) fn quantiles(lengths_mm: impl Iterator<Item = f64>) -> Quantiles {
    let mut sorted: Vec<f64> = lengths_mm.collect();
    if sorted.is_empty() {
        return Quantiles::default();
    }
    sorted.sort_by(f64::total_cmp);
    let at = |part: f64| {
        let place = part * (sorted.len() - 1) as f64;
        let (below, rest) = (place.floor(), place.fract());
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a place in the list")]
        let below = below as usize;
        let above = sorted[(below + 1).min(sorted.len() - 1)];
        sorted[below] + rest * (above - sorted[below])
    };
    Quantiles { median_mm: at(0.5), nine_in_ten_mm: at(0.9) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_shot_of_each_set_is_counted_as_independent() {
        let plan = Plan { medians: 148, shots_each: 1, ..Plan::default() };
        let hits: Vec<bool> = (0..148).map(|shot| shot < 15).collect();
        let share = share(&plan, &[], &hits);
        assert!((share.share - 15.0 / 148.0).abs() < 1e-12);
        // 15 of 148 by SciPy; the variance is estimated with one set fewer.
        assert!((share.counted.0 - 0.0578).abs() < 1e-3 && (share.counted.1 - 0.1617).abs() < 1e-3);
        assert_eq!(share.by_ignorance, None);
    }

    #[test]
    fn sets_that_are_all_alike_count_once() {
        // Twenty sets, eight shots each, every set all good or all bad: twenty coins, not 160.
        let plan = Plan { medians: 20, shots_each: 8, ..Plan::default() };
        let hits: Vec<bool> = (0..160).map(|shot| plan.medians_of(shot) < 19).collect();
        let known = share(&plan, &[], &hits);
        let (low, high) = clopper_pearson(19.0, 20.0, 0.95);
        assert!((known.counted.0 - low).abs() < 0.01 && (known.counted.1 - high).abs() < 0.01, "{known:?}");
        assert!(known.ignorance.unwrap() > 0.9);
        // None good at all: as sure as twenty shots make it.
        let none = share(&plan, &[], &[false; 160]);
        assert_eq!(none.counted, clopper_pearson(0.0, 20.0, 0.95));
    }

    #[test]
    fn a_share_that_only_scatters_knows_no_ignorance() {
        // Every set has the same four of eight good shots.
        let plan = Plan { medians: 50, shots_each: 8, ..Plan::default() };
        let hits: Vec<bool> = (0..400).map(|shot| (shot / 50) % 2 == 0).collect();
        let share = share(&plan, &[], &hits);
        assert_eq!((share.share, share.ignorance), (0.5, Some(0.0)));
        assert_eq!(share.by_ignorance, Some((0.5, 0.5)));
    }

    #[test]
    fn weights_shift_the_share() {
        let plan = Plan { medians: 2, shots_each: 2, ..Plan::default() };
        let share = share(&plan, &[3.0, 1.0], &[true, false, true, false]);
        assert!((share.share - 0.75).abs() < 1e-12);
    }
}
