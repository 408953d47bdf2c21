//! `learn`: what the trial log tells.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use anyhow::Result;
use keepside_engine::Cancel;
use keepside_engine::learning::{Advice, Believed, Learned, advise, learn as weigh};
use keepside_model::{Calibration, Ended, Project};
use serde::Serialize;

use super::form::{ChancesForm, end_key};
use super::{Told, chances, json, percent, plan, save_new};
use crate::args::Shots;
use crate::lines::{cell, wrapped};
use crate::{Answer, SCHEMA, VERSION, WELL};

#[derive(Serialize)]
struct Form {
    schema: u32,
    program_version: &'static str,
    project: String,
    sets: usize,
    effective_sets: f64,
    evidence: f64,
    beliefs: Vec<BeliefForm>,
    trials: Vec<TrialForm>,
    before: ChancesForm,
    after: ChancesForm,
    next: Vec<NextForm>,
}

#[derive(Serialize)]
struct BeliefForm {
    input: String,
    unit: &'static str,
    before: BelievedForm,
    after: BelievedForm,
    narrowed: f64,
}

#[derive(Serialize)]
struct BelievedForm {
    median: f64,
    low: f64,
    high: f64,
}

#[derive(Serialize)]
struct TrialForm {
    name: String,
    not_counted: Option<&'static str>,
    seen: Option<&'static str>,
    expected: Option<&'static str>,
    was_wrong: Option<bool>,
    as_seen_before: Option<f64>,
    as_seen_then: Option<f64>,
    as_seen_after: Option<f64>,
    endings_then: BTreeMap<&'static str, f64>,
}

#[derive(Serialize)]
struct NextForm {
    words: String,
    bits: f64,
    good: f64,
    likeliest: &'static str,
    likeliest_share: f64,
}

pub(crate) fn learn(shots: &Shots, told: &mut Told<'_>) -> Result<Answer> {
    let project = keepside_store::load(&shots.project)?;
    if let Some(from) = &shots.from {
        return take_from(shots, &project, &keepside_store::load(from)?);
    }
    let plan = plan(shots, 400, 8);
    let learned = weigh(&project, plan, &Cancel::default(), &mut |progress| told.shots(progress))?;
    let next = if shots.next {
        advise(&project, &learned, plan, &Cancel::default(), &mut |progress| told.shots(progress))?
    } else {
        Vec::new()
    };
    told.end();
    let mut taught = project.clone();
    taught.apply(&learned.edit(&project))?;
    let saved = save_new(shots, &taught)?;
    let out = if shots.json {
        json(&form(&project, &learned, &next))?
    } else {
        text(&project, &learned, &next)? + &saved
    };
    Ok(Answer { out, err: String::new(), code: WELL })
}

/// Takes the values of another project, as learned with its press and material.
fn take_from(shots: &Shots, project: &Project, from: &Project) -> Result<Answer> {
    let calibration = Calibration::of(from);
    let mut taught = project.clone();
    taught.apply(&calibration.edit(project, |_| false))?;
    let saved = save_new(shots, &taught)?;
    let err = if calibration.fits(project) {
        String::new()
    } else {
        format!(
            "the values were learned with {} and {}; this project has {} and {}\n",
            calibration.press, calibration.material.name, project.press.name, project.material.name
        )
    };
    let words = format!("values that rest on {} shots taken in\n", calibration.shots);
    Ok(Answer { out: words + &saved, err, code: WELL })
}

fn believed(of: Believed) -> BelievedForm {
    BelievedForm { median: of.median, low: of.range.0, high: of.range.1 }
}

fn form(project: &Project, learned: &Learned, next: &[Advice]) -> Form {
    let trials = project.trials.iter().zip(&learned.replays).map(|(trial, replay)| {
        let counted = replay.as_ref().ok();
        TrialForm {
            name: trial.name.clone(),
            not_counted: replay.as_ref().err().map(|reason| reason.words()),
            seen: trial.ended.map(Ended::word),
            expected: counted.and_then(|replay| Some(replay.expected()?.word())),
            was_wrong: counted.and_then(|replay| replay.was_wrong),
            as_seen_before: counted.map(|replay| replay.as_seen[0]),
            as_seen_then: counted.map(|replay| replay.as_seen[1]),
            as_seen_after: counted.map(|replay| replay.as_seen[2]),
            endings_then: counted
                .map(|replay| replay.then.iter().map(|(ended, share)| (ended.word(), *share)).collect())
                .unwrap_or_default(),
        }
    });
    let beliefs = learned.beliefs.iter().map(|belief| BeliefForm {
        input: belief.input.words(project),
        unit: belief.unit,
        before: believed(belief.before),
        after: believed(belief.after),
        narrowed: belief.learned,
    });
    let next = next.iter().map(|advice| NextForm {
        words: advice.trial.words(project),
        bits: advice.bits,
        good: advice.good,
        likeliest: end_key(advice.likeliest.0),
        likeliest_share: advice.likeliest.1,
    });
    Form {
        schema: SCHEMA,
        program_version: VERSION,
        project: project.name.clone(),
        sets: learned.sets.0,
        effective_sets: learned.sets.1,
        evidence: learned.evidence,
        beliefs: beliefs.collect(),
        trials: trials.collect(),
        before: ChancesForm::of(project, &learned.chances.0),
        after: ChancesForm::of(project, &learned.chances.1),
        next: next.collect(),
    }
}

fn text(project: &Project, learned: &Learned, next: &[Advice]) -> Result<String> {
    let mut text = String::new();
    writeln!(text, "Trials     seen        expected    as likely as  by all trials")?;
    for (index, (trial, replay)) in project.trials.iter().zip(&learned.replays).enumerate() {
        let head = format!("  {:<9}", index + 1);
        match replay {
            Err(reason) => text += &wrapped(&head, &format!("not counted: {}", reason.words())),
            Ok(replay) => {
                let word = |ended: Option<Ended>| ended.map_or("–", Ended::word);
                let wrong = if replay.was_wrong == Some(true) { "  the model was wrong" } else { "" };
                let (seen, expected) = (word(trial.ended), word(replay.expected()));
                let [_, then, after] = replay.as_seen.map(percent);
                writeln!(text, "{head}{seen:<12}{expected:<12}{then:>12}{after:>15}{wrong}")?;
            }
        }
    }
    writeln!(text, "Inputs                                       before                    after")?;
    for belief in &learned.beliefs {
        let name = cell(&belief.input.words(project), 32);
        let of = |of: Believed| format!("{:.3} ({:.3} to {:.3})", of.median, of.range.0, of.range.1);
        writeln!(text, "  {name}{:>25} {:>25} {}", of(belief.before), of(belief.after), belief.unit)?;
    }
    if learned.evidence < 1.0 {
        let share = percent(learned.evidence);
        let words =
            format!("{share} of the evidence could be used with so few sets; give --sets a larger number");
        text += &wrapped("", &words);
    }
    writeln!(text, "Before")?;
    text += &chances::text(project, &learned.chances.0)?;
    writeln!(text, "After")?;
    text += &chances::text(project, &learned.chances.1)?;
    if !next.is_empty() {
        writeln!(text, "Next trial    teaches bits  ends well")?;
    }
    for advice in next {
        let head = format!("  {:>22.3}{:>11}  ", advice.bits, percent(advice.good));
        text += &wrapped(&head, &advice.trial.words(project));
    }
    Ok(text)
}
