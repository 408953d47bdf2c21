//! `sheet`: writes what is needed at the bench into a folder.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use anyhow::{Context as _, Result};
use keepside_engine::{Cancel, Severity, analyse};
use keepside_sheet::Output;

use crate::{Answer, FAULTY, WELL};

pub(crate) fn sheet(path: &Path, folder: &Path, outputs: &[Output]) -> Result<Answer> {
    let project = keepside_store::load(path)?;
    let needs_opening = outputs.iter().any(|output| output.needs_opening());
    let analysis = needs_opening.then(|| analyse(&project, &Cancel::default(), &mut |_| {}));
    // All are made before the first is written.
    let exports = keepside_sheet::export(&project, outputs, analysis.as_ref())?;
    fs::create_dir_all(folder).with_context(|| {
        format!("the folder {} cannot be made; name another after --out", folder.display())
    })?;
    let mut out = String::new();
    for export in exports {
        let target = folder.join(&export.file_name);
        keepside_store::write_whole(&target, &export.bytes).with_context(|| {
            format!("{} cannot be written; close it elsewhere or name another folder", target.display())
        })?;
        writeln!(out, "{}", target.display())?;
    }
    let layout = keepside_engine::layout(&project);
    let faults = layout.findings.iter().filter(|finding| finding.severity == Severity::Fault);
    let mut err = String::new();
    for fault in faults {
        writeln!(err, "fault: {}", fault.message)?;
    }
    if !err.is_empty() {
        writeln!(err, "the sheet is written, but the drawing has faults: run check before drilling")?;
    }
    let code = if err.is_empty() { WELL } else { FAULTY };
    Ok(Answer { out, err, code })
}
