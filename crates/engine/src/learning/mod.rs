//! Learning: what trial shots tell about the medians that nobody knew, by Bayes' rule.
//!
//! The sets of medians of the chances are the prior. Each counts as much as the shots computed of it end like
//! the trials did; nothing else is fitted. Trials of several layouts and with or without release agent teach
//! the same medians, as every layout is shot with the same sets.

mod advice;
mod beliefs;
mod posterior;
mod seen;
#[cfg(test)]
mod tests;
mod workshops;

use std::collections::BTreeMap;

use keepside_model::{Calibration, Ended, Project, Trial};

pub use advice::{Advice, NextTrial, advise};
pub use beliefs::{Belief, Believed};
pub use workshops::{Coverage, workshops};

use crate::chances::{self, Axis, Chances, Fired, Plan, Range, Sprayed};
use crate::opening::lean::Care;
use crate::opening::{Cancel, NotComputed};
use posterior::Setting;

/// Why a trial teaches nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotCounted {
    /// Nothing that tells of the holds was written down, or the channel was not filled.
    NothingSeen,
    /// It is in the assumed values already.
    TakenIn,
    /// The layout that it was shot with is no longer kept.
    NoSuchLayout,
    /// Its layout cannot be computed.
    NotComputed,
}

impl NotCounted {
    /// The reason in the user's words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::NothingSeen => "nothing was noted that tells of the holds",
            Self::TakenIn => "it is in the assumed values already",
            Self::NoSuchLayout => "the layout that it was shot with is no longer kept",
            Self::NotComputed => "its layout cannot be computed",
        }
    }
}

/// The model's word on a trial, beside what was seen.
#[derive(Clone, Debug, PartialEq)]
pub struct Replay {
    /// Chance of each ending, by what was known before any trial.
    pub before: BTreeMap<Ended, f64>,
    /// The same by what the trials before this one had taught: a real prediction.
    pub then: BTreeMap<Ended, f64>,
    /// The same by all trials, this one too.
    pub after: BTreeMap<Ended, f64>,
    /// Chance that a shot ends as this one was seen to, in every respect that was noted in words: by what was
    /// known before any trial, by the trials before this one, by all.
    pub as_seen: [f64; 3],
    /// Whether another ending than the one seen was thought more likely then. `None` if the ending was not
    /// noted.
    pub was_wrong: Option<bool>,
}

impl Replay {
    /// The ending thought most likely by the trials before.
    pub fn expected(&self) -> Option<Ended> {
        self.then.iter().max_by(|a, b| a.1.total_cmp(b.1)).map(|(ended, _)| *ended)
    }
}

/// What the trial log of a project has taught.
#[derive(Clone, Debug, PartialEq)]
pub struct Learned {
    /// Every trial of the log, in order: what the model says of it, or why it is not counted.
    pub replays: Vec<Result<Replay, NotCounted>>,
    /// Every median, before and after.
    pub beliefs: Vec<Belief>,
    /// Chances of the open layout before and after.
    pub chances: (Chances, Chances),
    /// Sets of medians, and how many of equal weight those that are left count as much as.
    pub sets: (usize, f64),
    /// Share of the evidence that so many sets could bear, 0 to 1. Below 1 more sets would teach more.
    pub evidence: f64,
    /// The values learned, to be taken in or kept for another project.
    pub calibration: Calibration,
    weights: Vec<f64>,
}

impl Learned {
    /// Whether a trial of the log was counted.
    pub fn is_counted(&self, trial: usize) -> bool {
        self.replays.get(trial).is_some_and(Result::is_ok)
    }

    /// The edit that takes what was learned into the project: the assumed values and their spreads, and the
    /// trials marked as taken in.
    pub fn edit(&self, project: &Project) -> keepside_model::Edit {
        self.calibration.edit(project, |trial| self.is_counted(trial))
    }
}

/// How far learning has come: shots computed, and shots in all.
pub type Progress = (usize, usize);

/// One way of shooting: a layout, and what is sprayed.
struct Way {
    project: Project,
    range: Range,
    fired: Vec<Fired>,
}

/// Which of the ways a trial was shot in, or why it is not counted.
type OfTrial = Result<usize, NotCounted>;

/// Learns from the trial log of a project. `progress` is told how many shots have been computed.
///
/// # Errors
///
/// As [`crate::opening::run`] for the open layout; [`NotComputed::Cancelled`] if `cancel` was set.
pub fn learn(
    project: &Project,
    plan: Plan,
    cancel: &Cancel,
    progress: &mut dyn FnMut(Progress),
) -> Result<Learned, NotComputed> {
    let (mut ways, of_trials) = ways(project, plan)?;
    let whole = ways.len() * plan.shots();
    let mut done = 0;
    for way in &mut ways {
        way.fired = way.range.fire_all(cancel, &mut |fired| progress((done + fired.len(), whole)));
        done += plan.shots();
        progress((done, whole));
        if cancel.is_cancelled() {
            return Err(NotComputed::Cancelled);
        }
    }
    Ok(of(project, &plan, &ways, &of_trials))
}

/// Every way of shooting that the log knows, the open layout as it is first; and for every trial which way
/// it was shot in.
fn ways(project: &Project, plan: Plan) -> Result<(Vec<Way>, Vec<OfTrial>), NotComputed> {
    let way = |project: Project| {
        let range = Range::new(&project, plan, Care::Lean)?;
        Ok(Way { project, range, fired: Vec::new() })
    };
    let mut ways = vec![way(project.clone())?];
    let mut keys = vec![(None, Sprayed::of(project))];
    let mut of_trials = Vec::new();
    for trial in &project.trials {
        let sprayed = Sprayed { moving: trial.sprayed_moving, fixed: trial.sprayed_fixed };
        let key = (trial.layout.clone(), sprayed);
        of_trials.push(if trial.is_taken_in {
            Err(NotCounted::TakenIn)
        } else if !seen::tells(trial) {
            Err(NotCounted::NothingSeen)
        } else if let Some(known) = keys.iter().position(|known| *known == key) {
            Ok(known)
        } else if let Some(layout) = layout_of(project, trial) {
            match way(sprayed.applied(&layout)) {
                Ok(way) => {
                    ways.push(way);
                    keys.push(key);
                    Ok(ways.len() - 1)
                }
                Err(_) => Err(NotCounted::NotComputed),
            }
        } else {
            Err(NotCounted::NoSuchLayout)
        });
    }
    Ok((ways, of_trials))
}

/// The layout that a trial was shot with, with the open project's material and assumed values: what is learned
/// is learned about those.
fn layout_of(project: &Project, trial: &Trial) -> Option<Project> {
    let Some(name) = &trial.layout else { return Some(project.clone()) };
    let kept = project.variants.iter().find(|variant| variant.name == *name)?;
    let mut layout = (*kept.layout).clone();
    layout.material.clone_from(&project.material);
    layout.holds.clone_from(&project.holds);
    layout.scatter = project.scatter;
    Some(layout)
}

/// What the log teaches once all shots are in.
fn of(project: &Project, plan: &Plan, ways: &[Way], of_trials: &[OfTrial]) -> Learned {
    // What the trials before each one had taught, and in the end all of them.
    let log_of = |count: usize| -> Vec<f64> {
        let mut log = vec![0.0; plan.medians];
        for (index, way) in ways.iter().enumerate() {
            let trials = project.trials.iter().zip(of_trials).take(count);
            let trials: Vec<&Trial> =
                trials.filter(|(_, of)| **of == Ok(index)).map(|(trial, _)| trial).collect();
            if !trials.is_empty() {
                let setting = Setting { project: &way.project, trials, fired: &way.fired };
                let of = posterior::log_likelihood(plan, &setting);
                log.iter_mut().zip(of).for_each(|(sum, log)| *sum += log);
            }
        }
        log
    };
    let (weights, evidence) = posterior::weights(&log_of(project.trials.len()));
    let equal = vec![1.0; plan.medians];
    let replays = project.trials.iter().zip(of_trials).enumerate().map(|(index, (trial, of))| {
        let way = &ways[(*of)?];
        let (then, _) = posterior::weights(&log_of(index));
        Ok(replay(plan, way, trial, [&equal, &then, &weights]))
    });
    let replays = replays.collect();
    let (axes, numbers) = axes(plan, ways);
    let counted = project.trials.iter().zip(of_trials).filter(|(_, of)| of.is_ok());
    let shots = counted.map(|(trial, _)| trial.shots).fold(0, u32::saturating_add);
    let chances = |weights: &[f64]| chances::of(&ways[0].range, plan, weights, &ways[0].fired);
    Learned {
        replays,
        beliefs: beliefs::beliefs(project, &axes, &numbers, &weights),
        chances: (chances(&[]), chances(&weights)),
        sets: (plan.medians, posterior::effective_sets(&weights)),
        evidence,
        calibration: beliefs::calibration(project, &axes, &numbers, &weights, shots),
        weights,
    }
}

/// Every median that any way of shooting depends on, and its standard normal number in every set.
fn axes(plan: &Plan, ways: &[Way]) -> (Vec<Axis>, Vec<Vec<f64>>) {
    let mut axes: Vec<Axis> = Vec::new();
    let mut numbers = vec![Vec::new(); plan.medians];
    for way in ways {
        for (place, axis) in way.range.axes.medians.iter().enumerate() {
            if axes.iter().all(|known| known.input != axis.input) {
                axes.push(*axis);
                for (set, numbers) in numbers.iter_mut().enumerate() {
                    numbers.push(way.range.numbers(set).0[place]);
                }
            }
        }
    }
    (axes, numbers)
}

fn replay(plan: &Plan, way: &Way, trial: &Trial, weights: [&[f64]; 3]) -> Replay {
    let chance = |weights: &[f64], is_so: &dyn Fn(&Fired) -> bool| {
        let (mut hits, mut whole) = (0.0, 0.0);
        for (shot, fired) in way.fired.iter().enumerate() {
            let weight = weights[plan.medians_of(shot)];
            whole += weight;
            hits += if is_so(fired) { weight } else { 0.0 };
        }
        if whole > 0.0 { hits / whole } else { 0.0 }
    };
    let endings = |weights: &[f64]| -> BTreeMap<Ended, f64> {
        let of = |ended: Ended| {
            let is_so = |fired: &Fired| fired.shot.as_ref().map(|s| seen::ended(s.outcome)) == Some(ended);
            (ended, chance(weights, &is_so))
        };
        Ended::ALL.into_iter().filter(|ended| *ended != Ended::ShortShot).map(of).collect()
    };
    let as_seen = weights.map(|weights| {
        chance(weights, &|fired| {
            fired.shot.as_ref().is_some_and(|shot| seen::is_alike(&way.project, trial, shot))
        })
    });
    let [before, then, after] = weights.map(endings);
    let mut replay = Replay { before, then, after, as_seen, was_wrong: None };
    replay.was_wrong = trial.ended.map(|ended| replay.expected() != Some(ended));
    replay
}
