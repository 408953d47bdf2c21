//! Numbers by chance that depend on nothing but a seed and the place where they are used: the order of the
//! shots and the number of threads make no difference, and an item that is added or moved leaves the numbers
//! of all others as they are.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};
use statrs::distribution::{ContinuousCDF, Normal};

/// A source of numbers; each is found by a series, a number in the series, and a key.
#[derive(Clone, Debug)]
pub(crate) struct Draw {
    seed: u64,
    normal: Normal,
}

/// What is numbered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Series {
    /// Sets of medians.
    Medians = 0,
    /// Shots.
    Shots = 1,
}

impl Draw {
    pub(crate) fn new(seed: u64) -> Self {
        Self { seed, normal: Normal::standard() }
    }

    /// A number from 0 to 1, both excluded.
    pub(crate) fn uniform(&self, series: Series, number: usize, key: u64) -> f64 {
        let mut stream = ChaCha8Rng::seed_from_u64(self.seed);
        // The series take turns with the streams; a block of sixteen words is for one key.
        stream.set_stream(2 * number as u64 + series as u64);
        stream.set_word_pos(16 * u128::from(key));
        let bits = stream.next_u64() >> 11;
        (bits as f64 + 0.5) / (1_u64 << 53) as f64
    }

    /// A number of the standard normal distribution.
    pub(crate) fn normal(&self, series: Series, number: usize, key: u64) -> f64 {
        self.normal.inverse_cdf(self.uniform(series, number, key))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_numbers_have_the_moments_of_the_normal_distribution() {
        let draw = Draw::new(7);
        let numbers: Vec<f64> = (0..20_000).map(|n| draw.normal(Series::Shots, n, 3)).collect();
        let mean = |power: i32| numbers.iter().map(|x| x.powi(power)).sum::<f64>() / numbers.len() as f64;
        // Four standard errors of the mean of x, x², x³ and x⁴: variances 1, 2, 15 and 96.
        for (power, moment, variance) in [(1, 0.0, 1.0), (2, 1.0, 2.0), (3, 0.0, 15.0), (4, 3.0, 96.0_f64)] {
            let error = 4.0 * (variance / numbers.len() as f64).sqrt();
            assert!((mean(power) - moment).abs() < error, "{power}: {}", mean(power));
        }
    }

    #[test]
    fn a_number_is_found_by_seed_series_number_and_key() {
        let of = |seed, series, number, key| Draw::new(seed).uniform(series, number, key);
        let one = of(1, Series::Shots, 5, 9);
        assert_eq!(one, of(1, Series::Shots, 5, 9));
        for other in [
            of(2, Series::Shots, 5, 9),
            of(1, Series::Medians, 5, 9),
            of(1, Series::Shots, 6, 9),
            of(1, Series::Shots, 5, 10),
        ] {
            assert_ne!(one, other);
        }
    }
}
