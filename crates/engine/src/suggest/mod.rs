//! Suggestions: single changes by what they gain, and a search for the layout with the fewest holes.
//!
//! Every layout is shot with the same numbers drawn by chance, so that two layouts differ by what they are and
//! not by luck (common random numbers). A layout that the drawing alone faults where the open one is not
//! faulted is not tried.

mod changes;
mod score;
mod search;
mod sites;
#[cfg(test)]
mod tests;

use keepside_model::{Edit, Project};

pub use score::Score;
pub use search::{Found, Pin, Search, Target, search};
pub use sites::{pins_on_hand, sites};

use crate::chances::Plan;
use crate::learning::Progress;
use crate::opening::{Cancel, NotComputed};
use score::{Tried, faults, shoot};

/// One change and what it does.
#[derive(Clone, Debug, PartialEq)]
pub struct Suggestion {
    /// The change in the user's words.
    pub words: String,
    /// It as one undo step.
    pub edit: Edit,
    /// Holes that it costs, or saves if negative.
    pub holes: i32,
    /// The layout after it.
    pub after: Score,
    /// How much larger the share of shots that end well becomes, and limits of that at 95 %.
    pub gain: f64,
    /// Limits of the gain at 95 %.
    pub gain_range: (f64, f64),
    /// By how much the flatness of nine parts in ten becomes smaller, mm.
    pub flatter_mm: f64,
}

/// Single changes, that which gains most first.
#[derive(Clone, Debug, PartialEq)]
pub struct Suggestions {
    /// The open layout.
    pub before: Score,
    /// The changes.
    pub changes: Vec<Suggestion>,
}

/// Shots by which changes are weighed at first, and how many of the best go on to all shots.
const FIRST_SHOTS: usize = 48;
const GO_ON: usize = 8;

/// Weighs single changes of a project. All are shot a few times first, and the best as often as the plan says
/// (successive halving: K. Jamieson, A. Talwalkar, 2016, from memory); one shot of each set of medians.
///
/// # Errors
///
/// As [`crate::opening::run`] for the project itself; [`NotComputed::Cancelled`] if `cancel` was set.
pub fn suggest(
    project: &Project,
    plan: Plan,
    cancel: &Cancel,
    progress: &mut dyn FnMut(Progress),
) -> Result<Suggestions, NotComputed> {
    let whole = Plan { medians: plan.shots(), shots_each: 1, ..plan };
    let first = Plan { medians: FIRST_SHOTS.min(whole.medians), ..whole };
    let faults_now = faults(project);
    let mut candidates = Vec::new();
    for change in changes::changes(project) {
        let mut changed = project.clone();
        if changed.apply(&change.edit).is_ok() && faults(&changed) <= faults_now {
            candidates.push((change, changed));
        }
    }
    let total =
        whole.medians + candidates.len() * first.medians + GO_ON.min(candidates.len()) * whole.medians;
    let mut done = 0;
    let mut shot = |project: &Project, plan: Plan| -> Result<Tried, NotComputed> {
        let tried = shoot(project, plan, cancel);
        done += plan.medians;
        progress((done.min(total), total));
        if cancel.is_cancelled() { Err(NotComputed::Cancelled) } else { tried }
    };
    let before = shot(project, whole)?;
    let mut tried = Vec::new();
    for (change, changed) in candidates {
        match shot(&changed, first) {
            Ok(after) => tried.push((change, changed, after)),
            Err(NotComputed::Cancelled) => return Err(NotComputed::Cancelled),
            // A change that leaves nothing to compute is none.
            Err(_) => {}
        }
    }
    let gain = |after: &Tried| before.gain_of(after).0;
    tried.sort_by(|a, b| gain(&b.2).total_cmp(&gain(&a.2)));
    for (_, changed, after) in tried.iter_mut().take(GO_ON) {
        *after = shot(changed, whole)?;
    }
    let mut changes: Vec<Suggestion> = tried
        .into_iter()
        .map(|(change, _, after)| {
            let (gain, gain_range) = before.gain_of(&after);
            let flatter_mm = before.score.flatness.nine_in_ten_mm - after.score.flatness.nine_in_ten_mm;
            let changes::Change { words, edit, holes } = change;
            Suggestion { words, edit, holes, after: after.score, gain, gain_range, flatter_mm }
        })
        .collect();
    changes.sort_by(|a, b| b.gain.total_cmp(&a.gain).then(a.holes.cmp(&b.holes)));
    Ok(Suggestions { before: before.score, changes })
}
