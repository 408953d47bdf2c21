//! Chances: how often a shot ends well, given what scatters from shot to shot and what nobody knows.
//!
//! Two different things are drawn by chance: sets of medians, which nobody knows, and for each set a number
//! of shots, which scatter about them. Every shot is an opening run of its own, made lean
//! (`opening/lean.rs`). Whether the part then comes off the ejectors unharmed is not part of it.

mod bank;
mod counting;
mod draw;
mod drivers;
mod inputs;
pub(crate) mod summary;
#[cfg(test)]
pub(crate) mod tests;

use keepside_model::Project;

pub(crate) use bank::{Fired, Range};
pub use bank::{Plan, ShotEnd};
pub use counting::{bad_share_at_most, clopper_pearson, good_shots_needed};
pub use drivers::Driver;
pub(crate) use inputs::Axis;
pub use inputs::{Input, Sprayed};
pub(crate) use summary::share;
pub use summary::{EndShare, Quantiles, Share};

use crate::opening::lean::{Care, is_fault};
use crate::opening::{Cancel, NotComputed};

/// How often a shot ends well, as far as it is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Chances {
    /// Shots computed so far, and how many there are to be.
    pub shots: (usize, usize),
    /// Share of shots that end well.
    pub good: Share,
    /// How shots end, those ways that occurred, best first.
    pub ends: Vec<EndShare>,
    /// Share of shots in which a sprue breaks, which the next shot pushes out: a nuisance, no fault.
    pub sprue_breaks: f64,
    /// Tallest bump at a gate of the shots that the moving half keeps whole.
    pub bump: Quantiles,
    /// Flatness of the same.
    pub flatness: Quantiles,
    /// Which uncertain inputs decide, that which explains most first.
    pub drivers: Vec<Driver>,
    /// Whether all shots are in.
    pub is_finished: bool,
}

/// Shoots a project many times. What is known so far goes to `publish`, first after a few shots and then
/// ever so often; with the same plan it is the same on any number of threads. Stops early, with what there
/// is, when `cancel` is set.
///
/// # Errors
///
/// As [`crate::opening::run`], before anything is published.
pub fn chances(
    project: &Project,
    plan: Plan,
    cancel: &Cancel,
    publish: &mut dyn FnMut(&Chances),
) -> Result<Chances, NotComputed> {
    let range = Range::new(project, plan, Care::Lean)?;
    let fired = range.fire_all(cancel, &mut |fired| publish(&of(&range, &plan, &[], fired)));
    let chances = of(&range, &plan, &[], &fired);
    publish(&chances);
    Ok(chances)
}

/// What these shots tell, with weights of the sets of medians, none for equal ones.
pub(crate) fn of(range: &Range, plan: &Plan, weights: &[f64], fired: &[Fired]) -> Chances {
    let is_good: Vec<bool> = fired.iter().map(|fired| fired.end == ShotEnd::Good).collect();
    let broke: Vec<bool> = fired
        .iter()
        .map(|fired| {
            let broke = fired.shot.iter().flat_map(|shot| &shot.broke);
            broke.into_iter().any(|id| !is_fault(&range.project, *id))
        })
        .collect();
    let kept = || {
        let is_kept = |fired: &&Fired| matches!(fired.end, ShotEnd::Good | ShotEnd::Bump);
        fired.iter().filter(is_kept)
    };
    Chances {
        shots: (fired.len(), plan.shots()),
        good: summary::share(plan, weights, &is_good),
        ends: summary::ends(plan, weights, fired),
        sprue_breaks: summary::share(plan, weights, &broke).share,
        bump: summary::quantiles(kept().map(|fired| fired.bump_mm)),
        flatness: summary::quantiles(kept().filter_map(|f| f.shot.as_ref()).map(|s| s.flatness_mm)),
        drivers: drivers::drivers(range, &is_good),
        is_finished: fired.len() == plan.shots(),
    }
}

/// How many shots of a plan end alike when they are computed lean and with full care.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Agreement {
    /// Shots compared.
    pub shots: usize,
    /// The same half keeps the part, or it is torn, jams or falls in both.
    pub outcomes: usize,
    /// It ends in the same way, bumps over the limit and broken plugs counted.
    pub ends: usize,
}

/// Computes the shots of a plan lean and with full care: for checks of the lean run.
///
/// # Errors
///
/// As [`crate::opening::run`].
pub fn agreement(project: &Project, plan: Plan, cancel: &Cancel) -> Result<Agreement, NotComputed> {
    let of = |care| Ok(Range::new(project, plan, care)?.fire_all(cancel, &mut |_| {}));
    let (lean, full) = (of(Care::Lean)?, of(Care::Full)?);
    let mut agreement = Agreement::default();
    for (lean, full) in lean.iter().zip(&full) {
        let outcome = |fired: &Fired| fired.shot.as_ref().map(|shot| shot.outcome);
        agreement.shots += 1;
        agreement.outcomes += usize::from(outcome(lean) == outcome(full));
        agreement.ends += usize::from(lean.end == full.end);
    }
    Ok(agreement)
}
