//! What counting shots tells: limits of a share, and how many good shots in a row it takes to be sure.

use statrs::distribution::{Beta, ContinuousCDF};

/// Limits of a share of which `hits` of `count` trials were seen, both sides together at `confidence`
/// (0 to 1, for example 0.95), after Clopper and Pearson: they hold the true share at least that often.
/// The counts may be fractions, as of trials that count for less than one each. Nothing seen gives (0, 1).
///
/// Source: C. J. Clopper, E. S. Pearson, Biometrika 26 (1934) 404 (from memory), as quantiles of the beta
/// distribution.
pub fn clopper_pearson(hits: f64, count: f64, confidence: f64) -> (f64, f64) {
    let tail = 0.5 * (1.0 - confidence.clamp(0.0, 1.0));
    let quantile = |a: f64, b: f64, p: f64| Beta::new(a, b).map_or(f64::NAN, |beta| beta.inverse_cdf(p));
    let hits = hits.clamp(0.0, count.max(0.0));
    let low = if hits > 0.0 { quantile(hits, count - hits + 1.0, tail) } else { 0.0 };
    let high = if hits < count { quantile(hits + 1.0, count - hits, 1.0 - tail) } else { 1.0 };
    (low, high)
}

/// How many good shots in a row, and not one bad, it takes to be sure at `confidence` that at least the
/// share `reliability` of all shots is good: the least n with `reliability`ⁿ ≤ 1 − `confidence`. `None` if no
/// number is enough.
///
/// For rare faults this is the rule of three: 3 / (1 − reliability) at 95 %.
pub fn good_shots_needed(reliability: f64, confidence: f64) -> Option<u32> {
    if !(0.0..1.0).contains(&reliability) || !(0.0..1.0).contains(&confidence) {
        return None;
    }
    if reliability == 0.0 {
        return Some(u32::from(confidence > 0.0));
    }
    let count = ((1.0 - confidence).ln() / reliability.ln()).ceil();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count, checked")]
    (count <= f64::from(u32::MAX)).then_some(count as u32)
}

/// The largest share of bad shots that `count` good ones in a row leave possible at `confidence`, one-sided:
/// 1 − (1 − `confidence`)^(1/n).
pub fn bad_share_at_most(count: u32, confidence: f64) -> f64 {
    1.0 - (1.0 - confidence.clamp(0.0, 1.0)).powf(1.0 / f64::from(count.max(1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// x, n, lower and upper limit at 95 %. Computed with `beta.ppf` of scipy 1.17; 81/263, 15/148, 0/20 and
    /// 1/29 are the cases of R. G. Newcombe, Statistics in Medicine 17 (1998) 857, Table I (from memory).
    const TABLE: &str = include_str!("../../../../tests/oracle/binomial_intervals_95.csv");

    #[test]
    fn limits_agree_with_scipy() {
        let mut rows = 0;
        for line in TABLE.lines().filter(|line| !line.starts_with('#')).skip(1) {
            let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap_or(f64::NAN)).collect();
            let (low, high) = clopper_pearson(cells[0], cells[1], 0.95);
            assert!((low - cells[2]).abs() < 1e-9 && (high - cells[3]).abs() < 1e-9, "{line}: {low} {high}");
            rows += 1;
        }
        assert!(rows == 10, "{rows}");
    }

    #[test]
    fn good_shots_in_a_row_follow_from_the_power_of_the_share() {
        // ln 0.05 / ln 0.95 = 58.40, ln 0.05 / ln 0.90 = 28.43.
        assert_eq!(good_shots_needed(0.95, 0.95), Some(59));
        assert_eq!(good_shots_needed(0.90, 0.95), Some(29));
        assert_eq!((good_shots_needed(1.0, 0.95), good_shots_needed(0.0, 0.95)), (None, Some(1)));
        // One-sided 95 % limits of 0/20 and 0/60 (SciPy): 0.1391, 0.0487.
        assert!((bad_share_at_most(20, 0.95) - 0.1391).abs() < 1e-4);
        assert!((bad_share_at_most(60, 0.95) - 0.0487).abs() < 1e-4);
    }

    #[test]
    fn nothing_seen_tells_nothing() {
        assert_eq!(clopper_pearson(0.0, 0.0, 0.95), (0.0, 1.0));
    }
}
