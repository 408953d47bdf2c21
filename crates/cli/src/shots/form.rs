//! The form of the JSON of many shots, described in `assets/handbook/json.md`, and what of the engine goes into it.

use keepside_engine::chances::{Chances, Quantiles, Share, ShotEnd};
use keepside_engine::suggest::Score;
use keepside_model::Project;
use serde::Serialize;

#[derive(Debug, Serialize)]
pub(super) struct ShareForm {
    share: f64,
    counted_low: f64,
    counted_high: f64,
    by_ignorance_low: Option<f64>,
    by_ignorance_high: Option<f64>,
    ignorance: Option<f64>,
}

impl From<Share> for ShareForm {
    fn from(of: Share) -> Self {
        Self {
            share: of.share,
            counted_low: of.counted.0,
            counted_high: of.counted.1,
            by_ignorance_low: of.by_ignorance.map(|range| range.0),
            by_ignorance_high: of.by_ignorance.map(|range| range.1),
            ignorance: of.ignorance,
        }
    }
}

#[derive(Debug, Serialize)]
pub(super) struct QuantilesForm {
    median_mm: f64,
    nine_in_ten_mm: f64,
}

impl From<Quantiles> for QuantilesForm {
    fn from(of: Quantiles) -> Self {
        Self { median_mm: of.median_mm, nine_in_ten_mm: of.nine_in_ten_mm }
    }
}

#[derive(Debug, Serialize)]
pub(super) struct EndForm {
    end: &'static str,
    share: f64,
    shots: usize,
}

#[derive(Debug, Serialize)]
pub(super) struct DriverForm {
    input: String,
    is_scatter: bool,
    explains: f64,
    good_if_low: f64,
    good_if_high: f64,
}

#[derive(Debug, Serialize)]
pub(super) struct ChancesForm {
    shots: usize,
    good: ShareForm,
    ends: Vec<EndForm>,
    sprue_breaks: f64,
    bump: QuantilesForm,
    flatness: QuantilesForm,
    drivers: Vec<DriverForm>,
}

impl ChancesForm {
    pub(super) fn of(project: &Project, chances: &Chances) -> Self {
        let end = |of: &keepside_engine::chances::EndShare| EndForm {
            end: end_key(of.end),
            share: of.share,
            shots: of.shots,
        };
        let driver = |of: &keepside_engine::chances::Driver| DriverForm {
            input: of.input.words(project),
            is_scatter: of.is_scatter,
            explains: of.share,
            good_if_low: of.low_high.0,
            good_if_high: of.low_high.1,
        };
        Self {
            shots: chances.shots.0,
            good: chances.good.into(),
            ends: chances.ends.iter().map(end).collect(),
            sprue_breaks: chances.sprue_breaks,
            bump: chances.bump.into(),
            flatness: chances.flatness.into(),
            drivers: chances.drivers.iter().map(driver).collect(),
        }
    }
}

/// An ending as JSON says it.
pub(super) const fn end_key(end: ShotEnd) -> &'static str {
    match end {
        ShotEnd::Good => "good",
        ShotEnd::Bump => "bump",
        ShotEnd::BrokenPlug => "broken-plug",
        ShotEnd::Fixed => "fixed",
        ShotEnd::Free => "free",
        ShotEnd::Split => "split",
        ShotEnd::Jam => "jam",
        ShotEnd::NotComputed => "not-computed",
    }
}

#[derive(Debug, Serialize)]
pub(super) struct ScoreForm {
    good: ShareForm,
    flatness: QuantilesForm,
    strips: bool,
    holes: usize,
    shots: usize,
}

impl From<Score> for ScoreForm {
    fn from(of: Score) -> Self {
        Self {
            good: of.good.into(),
            flatness: of.flatness.into(),
            strips: of.strips,
            holes: of.holes,
            shots: of.shots,
        }
    }
}
