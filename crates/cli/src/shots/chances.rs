//! `chances`: how often a shot ends well.

use std::fmt::Write as _;

use anyhow::Result;
use keepside_engine::Cancel;
use keepside_engine::chances::{Chances, chances as shoot, good_shots_needed};
use keepside_model::Project;
use serde::Serialize;

use super::form::ChancesForm;
use super::{Told, json, percent, plan, range};
use crate::args::Shots;
use crate::lines::cell;
use crate::{Answer, SCHEMA, VERSION, WELL};

/// Inputs told in the text at most.
const DRIVERS: usize = 8;

#[derive(Serialize)]
struct Form {
    schema: u32,
    program_version: &'static str,
    project: String,
    seed: u64,
    sets: usize,
    shots_each: usize,
    chances: ChancesForm,
}

pub(crate) fn chances(shots: &Shots, told: &mut Told<'_>) -> Result<Answer> {
    let project = keepside_store::load(&shots.project)?;
    let plan = plan(shots, 250, 8);
    let chances = shoot(&project, plan, &Cancel::default(), &mut |so_far| {
        let (done, all) = so_far.shots;
        told.so_far(format!("{done} of {all} shots: {} end well", percent(so_far.good.share)));
    })?;
    told.end();
    let out = if shots.json {
        json(&Form {
            schema: SCHEMA,
            program_version: VERSION,
            project: project.name.clone(),
            seed: plan.seed,
            sets: plan.medians,
            shots_each: plan.shots_each,
            chances: ChancesForm::of(&project, &chances),
        })?
    } else {
        text(&project, &chances)?
    };
    Ok(Answer { out, err: String::new(), code: WELL })
}

/// The chances in words.
pub(super) fn text(project: &Project, chances: &Chances) -> Result<String> {
    let mut text = String::new();
    let good = &chances.good;
    writeln!(text, "Ends well  {} of {} shots", percent(good.share), chances.shots.0)?;
    writeln!(text, "           {} by counting, at 95 %", range(good.counted))?;
    if let (Some(between), Some(share)) = (good.by_ignorance, good.ignorance) {
        writeln!(text, "           {} for eight in ten of what the medians may be", range(between))?;
        writeln!(
            text,
            "           {} of it is not knowing, the rest scatters from shot to shot",
            percent(share)
        )?;
    }
    for end in &chances.ends {
        writeln!(text, "  {:<38}{:>8}{:>8} shots", end.end.word(), percent(end.share), end.shots)?;
    }
    writeln!(text, "  {:<38}{:>8}  a nuisance", "a sprue breaks", percent(chances.sprue_breaks))?;
    let lengths = [("Bump", chances.bump), ("Flatness", chances.flatness)];
    for (name, of) in lengths {
        writeln!(text, "{name:<11}{:.2} mm, nine in ten below {:.2} mm", of.median_mm, of.nine_in_ten_mm)?;
    }
    if !chances.drivers.is_empty() {
        writeln!(text, "What decides                             explains  good if low  good if high")?;
    }
    for driver in chances.drivers.iter().take(DRIVERS) {
        let kind = if driver.is_scatter { "scatter" } else { "not known" };
        let name = cell(&format!("{} ({kind})", driver.input.words(project)), 40);
        let (low, high) = driver.low_high;
        writeln!(text, "  {name}{:>7}{:>13}{:>14}", percent(driver.share), percent(low), percent(high))?;
    }
    if let Some(count) = good_shots_needed(0.95, 0.95) {
        writeln!(text, "{count} good shots in a row make it 95 % sure that 95 in 100 are good.")?;
    }
    Ok(text)
}
