//! `check`: opens the mould on paper and tells what came of it.

use std::path::Path;

use anyhow::Result;
use keepside_engine::opening::Outcome;
use keepside_engine::{Analysis, Cancel, Severity, analyse};

use crate::{Answer, FAULTY, NOT_COMPUTED, WELL, report, text};

pub(crate) fn check(path: &Path, json: bool) -> Result<Answer> {
    let project = keepside_store::load(path)?;
    let analysis = analyse(&project, &Cancel::default(), &mut |_| {});
    let code = exit_code(&analysis);
    let err = match &analysis.opening {
        Some(Err(reason)) => format!("{reason}: {}\n", path.display()),
        _ => String::new(),
    };
    let out = if json {
        let mut text = serde_json::to_string_pretty(&report::of(path, &project, &analysis, code))?;
        text.push('\n');
        text
    } else {
        text::of(path, &project, &analysis)
    };
    Ok(Answer { out, err, code })
}

fn exit_code(analysis: &Analysis) -> u8 {
    match &analysis.opening {
        Some(Ok(opening)) => {
            let stays = opening.verdict.outcome == Outcome::StaysOnMoving;
            let is_sound = analysis.findings.iter().all(|finding| finding.severity != Severity::Fault);
            if stays && is_sound { WELL } else { FAULTY }
        }
        _ => NOT_COMPUTED,
    }
}
