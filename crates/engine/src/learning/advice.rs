//! What to shoot next: the change or the shot that would teach most.

use keepside_model::{Edit, Id, Project};

use crate::chances::{Fired, Plan, Range, ShotEnd, Sprayed};
use crate::learning::{Learned, Progress, posterior};
use crate::opening::lean::Care;
use crate::opening::{Cancel, NotComputed};

/// A trial that could be shot next.
#[derive(Clone, Debug, PartialEq)]
pub enum NextTrial {
    /// The open layout as the project says.
    AsToday,
    /// The same with these halves sprayed and no others.
    Sprayed(Sprayed),
    /// The open layout with a feature taken out, or screwed back below the channel floor.
    Without(Id),
}

impl NextTrial {
    /// The trial in the user's words.
    pub fn words(&self, project: &Project) -> String {
        match self {
            Self::AsToday => "another shot of this layout as it is".to_owned(),
            Self::Sprayed(Sprayed { moving: false, fixed: false }) => {
                "a shot without release agent".to_owned()
            }
            Self::Sprayed(Sprayed { moving: true, fixed: false }) => {
                "a shot with release agent on the moving half".to_owned()
            }
            Self::Sprayed(Sprayed { moving: false, fixed: true }) => {
                "a shot with release agent on the fixed half".to_owned()
            }
            Self::Sprayed(_) => "a shot with release agent on both halves".to_owned(),
            Self::Without(id) => format!("a shot with {} out of the channel", project.tag(*id)),
        }
    }

    /// The project as it would be shot.
    fn project(&self, project: &Project) -> Project {
        match self {
            Self::AsToday => project.clone(),
            Self::Sprayed(sprayed) => sprayed.applied(project),
            Self::Without(id) => {
                let mut project = project.clone();
                project.features.remove(id);
                project
            }
        }
    }

    /// The edit that makes the open layout the one to be shot; `None` if nothing is changed on the drawing.
    pub fn edit(&self) -> Option<Edit> {
        match self {
            Self::AsToday | Self::Sprayed(_) => None,
            Self::Without(id) => Some(Edit::Delete(vec![*id])),
        }
    }
}

/// What a trial would teach.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// The trial.
    pub trial: NextTrial,
    /// How much its ending is expected to tell about the medians, bits: 0 = nothing, 1 = as much as an answer
    /// of yes or no that halves what is possible.
    pub bits: f64,
    /// Chance that it ends well.
    pub good: f64,
    /// Its likeliest ending and the chance of that.
    pub likeliest: (ShotEnd, f64),
}

/// Features that are tried out of the channel, at most.
const MOST_WITHOUT: usize = 6;

/// Next trials by how much they would teach, after what has been learned already; that which teaches most
/// first. `plan` must be that of `learned`.
///
/// Expected information is the entropy of the ending less its mean entropy when the medians are known (D. V.
/// Lindley, Ann. Math. Stat. 27 (1956) 986, from memory), both corrected for the number of shots computed
/// (G. A. Miller, 1955, from memory).
///
/// # Errors
///
/// As [`crate::learning::learn`].
pub fn advise(
    project: &Project,
    learned: &Learned,
    plan: Plan,
    cancel: &Cancel,
    progress: &mut dyn FnMut(Progress),
) -> Result<Vec<Advice>, NotComputed> {
    let today = Sprayed::of(project);
    let mut trials = vec![NextTrial::AsToday];
    for (moving, fixed) in [(false, false), (true, false), (false, true), (true, true)] {
        let sprayed = Sprayed { moving, fixed };
        if sprayed != today {
            trials.push(NextTrial::Sprayed(sprayed));
        }
    }
    trials.extend(project.features.keys().take(MOST_WITHOUT).map(|id| NextTrial::Without(*id)));
    let whole = trials.len() * plan.shots();
    let mut advice = Vec::new();
    for (index, trial) in trials.into_iter().enumerate() {
        // One that cannot be computed is no trial to advise.
        let Ok(range) = Range::new(&trial.project(project), plan, Care::Lean) else { continue };
        let done = index * plan.shots();
        let fired = range.fire_all(cancel, &mut |fired| progress((done + fired.len(), whole)));
        if cancel.is_cancelled() {
            return Err(NotComputed::Cancelled);
        }
        progress((done + plan.shots(), whole));
        advice.push(of(&plan, trial, &fired, &learned.weights));
    }
    advice.sort_by(|a, b| b.bits.total_cmp(&a.bits));
    Ok(advice)
}

fn of(plan: &Plan, trial: NextTrial, fired: &[Fired], weights: &[f64]) -> Advice {
    let place = |end: ShotEnd| ShotEnd::ALL.iter().position(|known| *known == end).unwrap_or(0);
    let mut sets = vec![[0.0; ShotEnd::ALL.len()]; plan.medians];
    for (shot, fired) in fired.iter().enumerate() {
        sets[plan.medians_of(shot)][place(fired.end)] += 1.0;
    }
    let whole: f64 = weights.iter().sum();
    let mut mean = [0.0; ShotEnd::ALL.len()];
    let mut within = 0.0;
    for (counts, weight) in sets.iter().zip(weights) {
        let shots: f64 = counts.iter().sum();
        if shots > 0.0 {
            let shares = counts.map(|count| count / shots);
            within += weight / whole * entropy_bits(&shares, shots);
            mean.iter_mut().zip(shares).for_each(|(sum, share)| *sum += weight / whole * share);
        }
    }
    let bits = entropy_bits(&mean, posterior::effective_sets(weights)) - within;
    let likeliest = (0..mean.len()).max_by(|a, b| mean[*a].total_cmp(&mean[*b])).unwrap_or(0);
    Advice {
        trial,
        bits: bits.max(0.0),
        good: mean[place(ShotEnd::Good)],
        likeliest: (ShotEnd::ALL[likeliest], mean[likeliest]),
    }
}

/// Entropy of shares counted in so many shots, bits, with the correction for counting.
fn entropy_bits(shares: &[f64], shots: f64) -> f64 {
    let seen = shares.iter().filter(|share| **share > 0.0);
    let count = seen.clone().count() as f64;
    let plain: f64 = seen.map(|share| -share * share.log2()).sum();
    plain + (count - 1.0).max(0.0) / (2.0 * shots.max(1.0)) / std::f64::consts::LN_2
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fired(end: ShotEnd) -> Fired {
        Fired { end, bump_mm: 0.0, shot: None }
    }

    #[test]
    fn a_trial_that_tells_the_sets_apart_is_worth_one_bit() {
        // Half of the sets always end well, half never: one shot tells which.
        let plan = Plan { medians: 200, shots_each: 4, ..Plan::default() };
        let shots: Vec<Fired> = (0..plan.shots())
            .map(|shot| fired(if plan.medians_of(shot) < 100 { ShotEnd::Good } else { ShotEnd::Fixed }))
            .collect();
        let advice = of(&plan, NextTrial::AsToday, &shots, &vec![1.0; 200]);
        assert!((advice.bits - 1.0).abs() < 0.01, "{advice:?}");
        assert!((advice.good - 0.5).abs() < 1e-9);
        // Every set ends well every other time: nothing is learned.
        let coin: Vec<Fired> = (0..plan.shots())
            .map(|shot| fired(if (shot / 200) % 2 == 0 { ShotEnd::Good } else { ShotEnd::Fixed }))
            .collect();
        assert!(of(&plan, NextTrial::AsToday, &coin, &vec![1.0; 200]).bits < 0.01);
    }
}
