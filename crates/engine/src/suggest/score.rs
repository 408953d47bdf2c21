//! What a layout is worth.

use keepside_model::{Half, Project};

use crate::chances::{Fired, Plan, Quantiles, Range, Share, ShotEnd, share, summary};
use crate::finding::Severity;
use crate::opening::lean::Care;
use crate::opening::{Cancel, NotComputed};

/// What a layout is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Score {
    /// Share of shots that end well.
    pub good: Share,
    /// Flatness of the parts that the moving half keeps.
    pub flatness: Quantiles,
    /// Whether the plastic bears being pushed over every undercut of the moving half once.
    pub strips: bool,
    /// Keying features in both halves: holes to be drilled.
    pub holes: usize,
    /// Shots it was weighed by.
    pub shots: usize,
}

/// A layout that has been shot.
#[derive(Clone, Debug)]
pub(crate) struct Tried {
    pub(crate) score: Score,
    is_good: Vec<bool>,
}

impl Tried {
    /// How much larger the share of good shots of another layout is, and limits of that at 95 %, shot by shot:
    /// both have the same numbers drawn by chance.
    pub(crate) fn gain_of(&self, other: &Self) -> (f64, (f64, f64)) {
        let pairs = self.is_good.iter().zip(&other.is_good);
        let gains: Vec<f64> = pairs.map(|(a, b)| f64::from(*b) - f64::from(*a)).collect();
        let count = gains.len().max(1) as f64;
        let mean = gains.iter().sum::<f64>() / count;
        let variance = gains.iter().map(|gain| (gain - mean).powi(2)).sum::<f64>() / (count - 1.0).max(1.0);
        // 1.96: the normal distribution's 97.5 %; half a shot for what was not seen.
        let error = 1.96 * (variance / count).sqrt() + 0.5 / count;
        (mean, ((mean - error).max(-1.0), (mean + error).min(1.0)))
    }
}

/// Shoots a layout.
pub(crate) fn shoot(project: &Project, plan: Plan, cancel: &Cancel) -> Result<Tried, NotComputed> {
    let range = Range::new(project, plan, Care::Lean)?;
    let fired = range.fire_all(cancel, &mut |_| {});
    let is_good: Vec<bool> = fired.iter().map(|fired| fired.end == ShotEnd::Good).collect();
    let is_kept = |fired: &&Fired| matches!(fired.end, ShotEnd::Good | ShotEnd::Bump);
    let kept = fired.iter().filter(is_kept).filter_map(|fired| fired.shot.as_ref());
    let score = Score {
        good: share(&plan, &[], &is_good),
        flatness: summary::quantiles(kept.map(|shot| shot.flatness_mm)),
        strips: range.strips(),
        holes: holes(project),
        shots: fired.len(),
    };
    Ok(Tried { score, is_good })
}

/// Keying features: each is a hole.
pub(crate) fn holes(project: &Project) -> usize {
    project.features.len()
}

/// How many faults the drawing alone has.
pub(crate) fn faults(project: &Project) -> usize {
    let findings = crate::layout(project).findings;
    findings.iter().filter(|finding| finding.severity == Severity::Fault).count()
}

/// Features of the moving half that may be changed: those that are not locked.
pub(crate) fn movable(project: &Project) -> Vec<keepside_model::Id> {
    let is_free = |(id, feature): &(&keepside_model::Id, &keepside_model::KeyingFeature)| {
        feature.half == Half::Moving && !project.locked.contains(id)
    };
    project.features.iter().filter(is_free).map(|(id, _)| *id).collect()
}
