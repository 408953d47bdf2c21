//! Which uncertain input decides between good and bad shots.

use statrs::distribution::{ContinuousCDF, Normal};

use crate::chances::bank::Range;
use crate::chances::inputs::Input;

/// An uncertain input and what it does to the share of good shots.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Driver {
    /// The input.
    pub input: Input,
    /// Whether this is the scatter from shot to shot, or else that the median is not known.
    pub is_scatter: bool,
    /// Share of the variance of good and bad that it explains by itself, 0 to 1. Chance alone makes a few
    /// thousandths of this with a thousand shots.
    pub share: f64,
    /// Share of good shots among the sixth of all shots with its lowest values, and among the sixth with its
    /// highest.
    pub low_high: (f64, f64),
}

/// Slices of equal probability.
const SLICES: usize = 6;

/// Every input, that which explains most first.
///
/// How much one input explains is the variance of the mean over slices of it, less what chance makes of that:
/// the correlation ratio (K. Pearson, 1905), corrected to the ε² of T. L. Kelley, PNAS 21 (1935) 554; both
/// from memory. It is the first-order index of a variance analysis.
pub(crate) fn drivers(range: &Range, is_good: &[bool]) -> Vec<Driver> {
    let (medians, shots) = (&range.axes.medians, &range.axes.shots);
    let mut slices: Vec<Vec<usize>> = vec![Vec::with_capacity(is_good.len()); medians.len() + shots.len()];
    let normal = Normal::standard();
    for shot in 0..is_good.len() {
        let (of_medians, own) = range.numbers(shot);
        for (list, number) in slices.iter_mut().zip(of_medians.iter().chain(&own)) {
            let place = normal.cdf(*number) * SLICES as f64;
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 6")]
            list.push((place as usize).min(SLICES - 1));
        }
    }
    let inputs = medians.iter().map(|axis| (axis.input, false));
    let inputs = inputs.chain(shots.iter().map(|axis| (axis.input, true)));
    let mut drivers: Vec<Driver> = inputs
        .zip(&slices)
        .map(|((input, is_scatter), of)| {
            let (share, low_high) = explained(of, is_good);
            Driver { input, is_scatter, share, low_high }
        })
        .collect();
    drivers.sort_by(|a, b| b.share.total_cmp(&a.share));
    drivers
}

/// ε² of the slices, and the means of the first and last.
fn explained(slices: &[usize], is_good: &[bool]) -> (f64, (f64, f64)) {
    let mut count = [0.0; SLICES];
    let mut good = [0.0; SLICES];
    for (slice, is_good) in slices.iter().zip(is_good) {
        count[*slice] += 1.0;
        good[*slice] += if *is_good { 1.0 } else { 0.0 };
    }
    let all: f64 = count.iter().sum();
    let mean = good.iter().sum::<f64>() / all.max(1.0);
    let of = |slice: usize| if count[slice] > 0.0 { good[slice] / count[slice] } else { mean };
    let total = all * mean * (1.0 - mean);
    let used = count.iter().filter(|count| **count > 0.0).count() as f64;
    if total <= 0.0 || all <= used {
        return (0.0, (of(0), of(SLICES - 1)));
    }
    let between: f64 = (0..SLICES).map(|slice| count[slice] * (of(slice) - mean).powi(2)).sum();
    let by_chance = (used - 1.0) * (total - between) / (all - used);
    (((between - by_chance) / total).clamp(0.0, 1.0), (of(0), of(SLICES - 1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_input_that_decides_explains_all_and_one_that_does_not_explains_nothing() {
        let slices: Vec<usize> = (0..600).map(|shot| shot % SLICES).collect();
        let decided: Vec<bool> = slices.iter().map(|slice| *slice >= 3).collect();
        let (share, (low, high)) = explained(&slices, &decided);
        assert!((share - 1.0).abs() < 1e-9 && low == 0.0 && high == 1.0);
        // Good and bad alternate in every slice.
        let unrelated: Vec<bool> = (0..600).map(|shot| (shot / SLICES).is_multiple_of(2)).collect();
        assert_eq!(explained(&slices, &unrelated).0, 0.0);
    }
}
