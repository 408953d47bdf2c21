//! The layout with the fewest holes that is good enough.

use std::collections::BTreeMap;

use glam::DVec2;
use keepside_model::{Edit, FeatureKind, Half, Item, KeyingFeature, Project};

use crate::chances::Plan;
use crate::opening::{Cancel, NotComputed};
use crate::suggest::Score;
use crate::suggest::score::{faults, movable, shoot};

/// A pin that the bench has.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pin {
    /// Kind and size.
    pub kind: FeatureKind,
    /// How far it stands into the channel, mm.
    pub protrusion_mm: f64,
}

/// What a layout must reach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Target {
    /// Least share of shots that end well, 0 to 1.
    pub good: f64,
    /// Largest flatness of nine parts in ten, mm.
    pub flatness_mm: f64,
    /// Whether the plastic must bear being pushed over every undercut.
    pub strips: bool,
}

impl Target {
    /// How far a layout is from it; 0 if it reaches it. A hundredth of shots, a hundredth of the flatness.
    pub fn shortfall(&self, score: &Score) -> f64 {
        let bad = (self.good - score.good.share).max(0.0);
        // Where no part is kept there is no flatness to judge.
        let bent = score.flatness.nine_in_ten_mm / self.flatness_mm.max(1e-9) - 1.0;
        bad + bent.clamp(0.0, 1.0) + if self.strips && !score.strips { 1.0 } else { 0.0 }
    }
}

/// The best layout found with a number of pins.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// Keying features, those that were left as they are among them.
    pub holes: usize,
    /// What it is worth.
    pub score: Score,
    /// Whether it reaches the target.
    pub is_enough: bool,
    /// It as one undo step from the open layout.
    pub edit: Edit,
}

/// What a search has found: the trade-off of holes against shots that end well.
#[derive(Clone, Debug, PartialEq)]
pub struct Search {
    /// The best layout for every number of pins, fewest first; the last reaches the target if any does.
    pub found: Vec<Found>,
    /// Layouts shot.
    pub layouts: usize,
    /// Whether every possible layout with so few pins was shot, so that none with fewer can reach the target.
    pub is_exhaustive: bool,
}

impl Search {
    /// The layout with the fewest holes that reaches the target.
    pub fn best(&self) -> Option<&Found> {
        self.found.iter().find(|found| found.is_enough)
    }
}

/// Pins by their place among the sites and among the pins on hand, ascending.
type Choice = Vec<(usize, usize)>;

/// Layouts with a number of pins that are all shot where there are no more of them than this,
const ALL: usize = 60;
/// and the number of the best that are built upon where there are more.
const BEST: usize = 5;

/// Looks for the fewest pins of the moving half, of those on hand, on these sites, that reach a target. Pins of
/// the moving half that are not locked are taken out first. With `most` pins it gives up.
///
/// Few layouts of a size are all shot. Of many, the best of one pin fewer get another in every way, and of the
/// best of those every pin is tried elsewhere until nothing helps (a beam search with exchange): that need not
/// find the best. What is found so far goes to `publish`, size by size.
///
/// # Errors
///
/// As [`crate::opening::run`]; [`NotComputed::Cancelled`] if `cancel` was set.
#[expect(clippy::too_many_arguments, reason = "each is another thing that the user chooses")]
pub fn search(
    project: &Project,
    target: Target,
    sites: &[DVec2],
    pins: &[Pin],
    most: usize,
    plan: Plan,
    cancel: &Cancel,
    publish: &mut dyn FnMut(&Search),
) -> Result<Search, NotComputed> {
    let plan = Plan { medians: plan.shots(), shots_each: 1, ..plan };
    Searcher { project, target, sites, pins, plan, cancel, all: ALL, seen: BTreeMap::new() }
        .run(most, publish)
}

pub(crate) struct Searcher<'a> {
    pub(crate) project: &'a Project,
    pub(crate) target: Target,
    pub(crate) sites: &'a [DVec2],
    pub(crate) pins: &'a [Pin],
    pub(crate) plan: Plan,
    pub(crate) cancel: &'a Cancel,
    /// Layouts of one size up to which all are shot.
    pub(crate) all: usize,
    /// What was shot; `None` of a layout that the drawing faults or that cannot be computed.
    pub(crate) seen: BTreeMap<Choice, Option<Score>>,
}

impl Searcher<'_> {
    pub(crate) fn run(
        mut self,
        most: usize,
        publish: &mut dyn FnMut(&Search),
    ) -> Result<Search, NotComputed> {
        let mut search = Search { found: Vec::new(), layouts: 0, is_exhaustive: true };
        let mut beam: Vec<Choice> = vec![Vec::new()];
        for size in 0..=most.min(self.sites.len()) {
            let every = self.every(size);
            search.is_exhaustive &= every.is_some();
            let is_every = every.is_some();
            let mut choices = match every {
                Some(choices) => choices,
                None => self.extended(&beam),
            };
            self.rank(&mut choices)?;
            if !is_every {
                self.exchange(&mut choices)?;
            }
            search.layouts = self.seen.values().flatten().count();
            beam = choices.into_iter().take(BEST).collect();
            let Some(best) = beam.first() else { break };
            if let Some(score) = self.seen.get(best).copied().flatten() {
                let is_enough = self.target.shortfall(&score) == 0.0;
                let edit = self.edit(best);
                search.found.push(Found { holes: score.holes, score, is_enough, edit });
                publish(&search);
                if is_enough {
                    break;
                }
            }
        }
        Ok(search)
    }

    /// All choices of a size, if they are few.
    fn every(&self, size: usize) -> Option<Vec<Choice>> {
        let mut choices: Vec<Choice> = vec![Vec::new()];
        for _ in 0..size {
            let mut next = Vec::new();
            for choice in &choices {
                let after = choice.last().map_or(0, |pin| pin.0 + 1);
                for site in after..self.sites.len() {
                    next.extend((0..self.pins.len()).map(|pin| with(choice, site, pin)));
                }
                // Longer ones are only begun here: no more of these may there be.
                if next.len() > 40 * self.all.max(1) {
                    return None;
                }
            }
            choices = next;
        }
        (choices.len() <= self.all).then_some(choices)
    }

    /// The best of a pin fewer with another pin.
    fn extended(&self, beam: &[Choice]) -> Vec<Choice> {
        let mut choices = Vec::new();
        for choice in beam {
            for site in (0..self.sites.len()).filter(|site| choice.iter().all(|pin| pin.0 != *site)) {
                choices.extend((0..self.pins.len()).map(|pin| with(choice, site, pin)));
            }
        }
        choices.sort();
        choices.dedup();
        choices
    }

    /// Tries every pin of the best elsewhere, as long as that helps.
    fn exchange(&mut self, choices: &mut Vec<Choice>) -> Result<(), NotComputed> {
        while let Some(best) = choices.first().cloned() {
            let mut others = Vec::new();
            for place in 0..best.len() {
                let mut rest = best.clone();
                rest.remove(place);
                others.extend(self.extended(&[rest]));
            }
            choices.extend(others);
            choices.sort();
            choices.dedup();
            self.rank(choices)?;
            if choices.first() == Some(&best) {
                break;
            }
        }
        Ok(())
    }

    /// Best first; those that are no layouts are dropped.
    fn rank(&mut self, choices: &mut Vec<Choice>) -> Result<(), NotComputed> {
        for choice in choices.iter() {
            if !self.seen.contains_key(choice) {
                let score = self.score(choice)?;
                self.seen.insert(choice.clone(), score);
            }
        }
        let known = |choice: &Choice| self.seen.get(choice).copied().flatten();
        choices.retain(|choice| known(choice).is_some());
        choices.sort_by(|a, b| match (known(a), known(b)) {
            (Some(a), Some(b)) => {
                let short = self.target.shortfall(&a).total_cmp(&self.target.shortfall(&b));
                let good = b.good.share.total_cmp(&a.good.share);
                short.then(good).then(a.flatness.nine_in_ten_mm.total_cmp(&b.flatness.nine_in_ten_mm))
            }
            _ => std::cmp::Ordering::Equal,
        });
        Ok(())
    }

    fn score(&self, choice: &Choice) -> Result<Option<Score>, NotComputed> {
        let mut project = self.project.clone();
        if project.apply(&self.edit(choice)).is_err() || faults(&project) > faults(self.project) {
            return Ok(None);
        }
        let tried = shoot(&project, self.plan, self.cancel);
        if self.cancel.is_cancelled() {
            return Err(NotComputed::Cancelled);
        }
        match tried {
            Ok(tried) => Ok(Some(tried.score)),
            // No pins at all is the one layout that must be computable.
            Err(reason) if choice.is_empty() => Err(reason),
            Err(_) => Ok(None),
        }
    }

    /// The choice as one undo step from the open layout.
    pub(crate) fn edit(&self, choice: &Choice) -> Edit {
        let mut edits = vec![Edit::Delete(movable(self.project))];
        let first = self.project.free_id().0;
        for ((site, pin), id) in choice.iter().zip(first..) {
            let Pin { kind, protrusion_mm } = self.pins[*pin];
            let feature = KeyingFeature::new(self.sites[*site], Half::Moving, kind, protrusion_mm);
            edits.push(Edit::Add(keepside_model::Id(id), Item::Feature(feature)));
        }
        Edit::Several { label: "lay out pins", edits }
    }
}

fn with(choice: &Choice, site: usize, pin: usize) -> Choice {
    let mut choice = choice.clone();
    let place = choice.partition_point(|known| known.0 < site);
    choice.insert(place, (site, pin));
    choice
}
