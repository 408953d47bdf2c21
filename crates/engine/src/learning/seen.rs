//! How well a computed shot agrees with what was seen of a real one.

use std::collections::BTreeSet;

use keepside_model::{Ended, Id, KeptBy, KeptStretch, Project, Trial};

use crate::opening::lean::Shot;
use crate::opening::{Keeper, Outcome};

/// Error of a bump as measured and as computed: this much, mm, and this share of it; assumed.
const BUMP_ERROR_MM: f64 = 0.1;
const BUMP_ERROR_SHARE: f64 = 0.15;

/// How the card calls an outcome.
pub(crate) const fn ended(outcome: Outcome) -> Ended {
    match outcome {
        Outcome::StaysOnMoving => Ended::Moving,
        Outcome::StaysOnFixed => Ended::Fixed,
        Outcome::Bridges => Ended::Between,
        Outcome::Torn => Ended::Torn,
        Outcome::FallsFree => Ended::Fell,
    }
}

/// Whether anything was seen that tells of the holds.
pub(crate) fn tells(trial: &Trial) -> bool {
    let is_short = trial.ended == Some(Ended::ShortShot);
    let saw = trial.ended.is_some()
        || !trial.kept.is_empty()
        || trial.broke.is_some()
        || !trial.bumps_mm.is_empty();
    saw && !is_short
}

/// Whether a computed shot is one in which the same halves keep the same, and the same broke.
pub(crate) fn is_alike(project: &Project, trial: &Trial, shot: &Shot) -> bool {
    let ended_alike = trial.ended.is_none_or(|seen| seen == ended(shot.outcome));
    let kept_alike = trial.kept.iter().all(|stretch| keeps(shot, stretch).is_none_or(|by| by == stretch.by));
    let broke_alike = trial.broke.as_ref().is_none_or(|seen| {
        let exists = |id: &&Id| project.item(**id).is_some();
        let computed: BTreeSet<&Id> = shot.broke.iter().collect();
        seen.iter().filter(exists).collect::<BTreeSet<&Id>>() == computed
    });
    ended_alike && kept_alike && broke_alike
}

/// Who keeps the middle of a stretch in a computed shot; `None` if the layout has no such place.
fn keeps(shot: &Shot, stretch: &KeptStretch) -> Option<KeptBy> {
    let middle_mm = 0.5 * (stretch.from_mm + stretch.to_mm);
    let here =
        |of: &&crate::opening::Stretch| of.run == stretch.run && (of.from_mm..=of.to_mm).contains(&middle_mm);
    shot.stretches.iter().find(here).map(|found| match found.keeper {
        Keeper::Moving => KeptBy::Moving,
        Keeper::Fixed => KeptBy::Fixed,
        Keeper::Bridging => KeptBy::Between,
        Keeper::Free => KeptBy::Neither,
    })
}

/// Standard deviation of measuring and computing a bump of this height, mm.
pub(crate) fn bump_error_mm(height_mm: f64) -> f64 {
    BUMP_ERROR_MM + BUMP_ERROR_SHARE * height_mm.abs()
}
