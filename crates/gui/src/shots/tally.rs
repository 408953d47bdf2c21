//! What the log counts, and how sure that makes.

use std::collections::BTreeMap;

use keepside_engine::chances::clopper_pearson;
use keepside_model::{Ended, Trial};

/// Both limits together hold the true share at least this often.
pub(super) const SURE: f64 = 0.95;

/// Shots by how they ended. Those of which nobody noted it, and short shots, are not counted.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Tally {
    pub(super) shots: u32,
    pub(super) by_end: BTreeMap<Ended, u32>,
    /// Good shots since the last that was not, in the order of the log.
    pub(super) in_a_row: u32,
}

impl Tally {
    pub(super) fn of<'a>(trials: impl Iterator<Item = &'a Trial>) -> Self {
        let mut tally = Self::default();
        for trial in trials {
            let Some(ended) = trial.ended.filter(|ended| *ended != Ended::ShortShot) else { continue };
            tally.shots = tally.shots.saturating_add(trial.shots);
            let count = tally.by_end.entry(ended).or_default();
            *count = count.saturating_add(trial.shots);
            tally.in_a_row =
                if ended == Ended::Moving { tally.in_a_row.saturating_add(trial.shots) } else { 0 };
        }
        tally
    }

    /// Limits of the share of shots that ended so.
    pub(super) fn limits(&self, ended: Ended) -> (f64, f64) {
        let hits = self.by_end.get(&ended).copied().unwrap_or(0);
        clopper_pearson(f64::from(hits), f64::from(self.shots), SURE)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shots_are_counted_in_the_order_of_the_log() {
        let trial = |shots, ended| Trial { shots, ended, ..Trial::default() };
        let log = [
            trial(5, Some(Ended::Moving)),
            trial(1, Some(Ended::Fixed)),
            trial(9, Some(Ended::ShortShot)),
            trial(3, Some(Ended::Moving)),
            trial(7, None),
            trial(11, Some(Ended::Moving)),
        ];
        let tally = Tally::of(log.iter());
        assert_eq!((tally.shots, tally.by_end[&Ended::Moving], tally.in_a_row), (20, 19, 14));
        // 19 of 20 at 95 %: `beta.ppf` of SciPy 1.17, see tests/oracle/binomial_intervals_95.csv.
        let (low, high) = tally.limits(Ended::Moving);
        assert!((low - 0.7512672372279723).abs() < 1e-9 && (high - 0.998734910502044).abs() < 1e-9);
    }
}
