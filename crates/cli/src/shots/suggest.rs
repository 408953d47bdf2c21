//! `suggest`: changes by what they gain, and the fewest holes.

use std::fmt::Write as _;

use anyhow::Result;
use keepside_engine::Cancel;
use keepside_engine::suggest::{
    Score, Search, Suggestions, Target, pins_on_hand, search, sites, suggest as weigh,
};
use keepside_model::Project;
use serde::Serialize;

use super::form::ScoreForm;
use super::{Told, json, percent, plan, range, save_new};
use crate::args::Shots;
use crate::lines::wrapped;
use crate::{Answer, FAULTY, SCHEMA, VERSION, WELL};

#[derive(Serialize)]
struct Form {
    schema: u32,
    program_version: &'static str,
    project: String,
    before: Option<ScoreForm>,
    changes: Vec<ChangeForm>,
    search: Option<SearchForm>,
}

#[derive(Serialize)]
struct ChangeForm {
    words: String,
    holes: i32,
    gain: f64,
    gain_low: f64,
    gain_high: f64,
    flatter_mm: f64,
    after: ScoreForm,
}

#[derive(Serialize)]
struct SearchForm {
    layouts: usize,
    is_exhaustive: bool,
    found: Vec<FoundForm>,
}

#[derive(Serialize)]
struct FoundForm {
    pins: Vec<PinForm>,
    is_enough: bool,
    score: ScoreForm,
}

#[derive(Serialize)]
struct PinForm {
    kind: &'static str,
    x_mm: f64,
    y_mm: f64,
    protrusion_mm: f64,
}

pub(crate) fn suggest(shots: &Shots, told: &mut Told<'_>) -> Result<Answer> {
    let project = keepside_store::load(&shots.project)?;
    match shots.good {
        None => changes(shots, &project, told),
        Some(good) => fewest(shots, &project, good, told),
    }
}

fn changes(shots: &Shots, project: &Project, told: &mut Told<'_>) -> Result<Answer> {
    let suggestions =
        weigh(project, plan(shots, 250, 1), &Cancel::default(), &mut |progress| told.shots(progress))?;
    told.end();
    let mut out = if shots.json { String::new() } else { text(&suggestions)? };
    if let Some(best) = suggestions.changes.first().filter(|best| best.gain > 0.0) {
        let mut changed = project.clone();
        changed.apply(&best.edit)?;
        out += &save_new(shots, &changed)?;
    }
    if shots.json {
        let change = |of: &keepside_engine::suggest::Suggestion| ChangeForm {
            words: of.words.clone(),
            holes: of.holes,
            gain: of.gain,
            gain_low: of.gain_range.0,
            gain_high: of.gain_range.1,
            flatter_mm: of.flatter_mm,
            after: of.after.into(),
        };
        out = json(&Form {
            schema: SCHEMA,
            program_version: VERSION,
            project: project.name.clone(),
            before: Some(suggestions.before.into()),
            changes: suggestions.changes.iter().map(change).collect(),
            search: None,
        })?;
    }
    Ok(Answer { out, err: String::new(), code: WELL })
}

fn score_words(score: &Score) -> String {
    let strips = if score.strips { "" } else { "; strained in coming off" };
    let flat_mm = score.flatness.nine_in_ten_mm;
    let good = percent(score.good.share);
    format!("{good} end well, nine in ten flat within {flat_mm:.2} mm, {} holes{strips}", score.holes)
}

fn text(suggestions: &Suggestions) -> Result<String> {
    let mut text = wrapped("As drawn   ", &score_words(&suggestions.before));
    writeln!(text, "    gain      at 95 %            flatter mm  holes  change")?;
    for of in &suggestions.changes {
        let gain = format!("{:+.1} %", 100.0 * of.gain);
        let between = range(of.gain_range);
        let head =
            format!("  {gain:>8}  {between:<18}{:>10.2}{:>7}  ", of.flatter_mm, format!("{:+}", of.holes));
        text += &wrapped(&head, &of.words);
    }
    Ok(text)
}

fn fewest(shots: &Shots, project: &Project, good: f64, told: &mut Told<'_>) -> Result<Answer> {
    // Without a limit of flatness any that the plate holds will do.
    let target = Target { good, flatness_mm: shots.flat_mm.unwrap_or(1000.0), strips: true };
    let (places, pins) = (sites(project), pins_on_hand(project));
    let plan = plan(shots, 64, 1);
    let search =
        search(project, target, &places, &pins, shots.most, plan, &Cancel::default(), &mut |so_far| {
            if let Some(last) = so_far.found.last() {
                told.so_far(format!("{} layouts: {}", so_far.layouts, score_words(&last.score)));
            }
        })?;
    told.end();
    let best = search.best();
    let mut out =
        if shots.json { json(&found_form(project, &search)?)? } else { found_text(project, &search)? };
    if let Some(best) = best {
        let mut laid = project.clone();
        laid.apply(&best.edit)?;
        let saved = save_new(shots, &laid)?;
        if !shots.json {
            out += &saved;
        }
    }
    let err = if best.is_none() { "no layout that was tried reaches the target\n" } else { "" };
    Ok(Answer { out, err: err.to_owned(), code: if best.is_some() { WELL } else { FAULTY } })
}

fn pins_of(project: &Project, found: &keepside_engine::suggest::Found) -> Result<Vec<PinForm>> {
    let mut laid = project.clone();
    laid.apply(&found.edit)?;
    let pin = |of: &keepside_model::KeyingFeature| PinForm {
        kind: of.kind.word(),
        x_mm: of.at.x,
        y_mm: of.at.y,
        protrusion_mm: of.protrusion_mm,
    };
    Ok(laid.features.values().map(pin).collect())
}

fn found_form(project: &Project, search: &Search) -> Result<Form> {
    let mut found = Vec::new();
    for of in &search.found {
        let pins = pins_of(project, of)?;
        found.push(FoundForm { pins, is_enough: of.is_enough, score: of.score.into() });
    }
    let search = SearchForm { layouts: search.layouts, is_exhaustive: search.is_exhaustive, found };
    Ok(Form {
        schema: SCHEMA,
        program_version: VERSION,
        project: project.name.clone(),
        before: None,
        changes: Vec::new(),
        search: Some(search),
    })
}

fn found_text(project: &Project, search: &Search) -> Result<String> {
    let mut text = format!("{} layouts shot\n", search.layouts);
    for of in &search.found {
        let mark = if of.is_enough { "  enough   " } else { "           " };
        text += &wrapped(mark, &score_words(&of.score));
        for pin in pins_of(project, of)? {
            writeln!(
                text,
                "             {} at {:.1}, {:.1}, {:.1} mm in",
                pin.kind, pin.x_mm, pin.y_mm, pin.protrusion_mm
            )?;
        }
    }
    Ok(text)
}
