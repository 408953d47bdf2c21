//! From an analysis to text for people: plain, aligned, 100 columns at most.

use std::path::Path;

use keepside_engine::hold::measured;
use keepside_engine::opening::{
    BumpAt, Energy, HoldOutcome, HoldState, Margin, Opening, Outcome, ReleaseHow, What,
};
use keepside_engine::{Analysis, Finding};
use keepside_model::{Half, Project};

use crate::lines::{cell, plain, wrapped};
use crate::report::{remains, severity};
use crate::{shot, stripping};

pub(crate) fn of(path: &Path, project: &Project, analysis: &Analysis) -> String {
    let mut text = wrapped("", &format!("{} ({})", project.name, path.display()));
    text.push('\n');
    match &analysis.opening {
        Some(Ok(opening)) => {
            text += &verdict(project, opening, analysis);
            text += &holds(project, opening);
            text += &releases(project, opening);
            text += &left_behind(project, opening);
            text += &stretches(project, opening);
            text += &bump_lines(project, "What stays bent", &opening.bumps, opening.flatness_mm);
            text += &energy(opening.energy);
        }
        Some(Err(reason)) => text += &wrapped("Verdict   ", &format!("none: {reason}")),
        None => {}
    }
    if let Some(of) = &analysis.stripping {
        text += &stripping::text(project, of);
    }
    text += &shot::text(project, analysis);
    text += &findings(&analysis.findings);
    if matches!(analysis.opening, Some(Ok(_))) {
        text += "\nComputed from assumed hold strengths until trial shots have calibrated them.\n";
    }
    text
}

fn verdict(project: &Project, opening: &Opening, analysis: &Analysis) -> String {
    let stroke_mm = project.press.stroke_mm;
    let words = format!("{}; opened to {stroke_mm} mm", opening.verdict.words);
    let mut text = wrapped("Verdict   ", &words);
    if let Some(hold) = analysis.deciding() {
        text += &wrapped("Decided   ", &format!("by {}", hold.words(project)));
    }
    if let Some(margin) = &analysis.margin {
        let is_good = opening.verdict.outcome == Outcome::StaysOnMoving;
        text += &wrapped("Margin    ", &margin_words(margin, is_good));
    }
    text
}

fn margin_words(margin: &Margin, is_good: bool) -> String {
    let Margin { factor, searched: (low, high), flips_to, .. } = margin;
    let Some(factor) = factor else {
        let words =
            format!("the verdict stays for every strength of the fixed half from {low} to {high} times");
        return words;
    };
    let mut words = if is_good {
        format!("{factor:.2}: the verdict flips if the fixed half holds {factor:.2} times as hard")
    } else {
        format!("{factor:.2}: the verdict flips if the fixed half holds only {factor:.2} times as hard")
    };
    if let Some(outcome) = flips_to {
        words += &format!("; the part then {outcome}");
    }
    words
}

/// Columns of a name.
pub(crate) const NAME: usize = 36;

fn holds(project: &Project, opening: &Opening) -> String {
    let mut text = format!(
        "\n{:<NAME$} {:>9} {:>9} {:>9} {:>9}  {}\n{:<NAME$} {:>9} {:>9} {:>9} {:>9}\n",
        "Holds",
        "at most",
        "pulled",
        "lets go",
        "travelled",
        "at full stroke",
        "",
        "N",
        "N",
        "after mm",
        "mm"
    );
    for hold in &opening.holds {
        let name = cell(&hold.name.words(project), NAME);
        let HoldOutcome { capacity_n, peak_n, let_go_travel_mm, travel_mm, .. } = hold;
        let measured = if measured(project, hold.name.what).is_some() { ", measured" } else { "" };
        let state = state(hold) + measured;
        text += &format!(
            "{name} {capacity_n:>9.1} {peak_n:>9.1} {let_go_travel_mm:>9.2} {travel_mm:>9.2}  {state}\n"
        );
    }
    text
}

fn state(hold: &HoldOutcome) -> String {
    match hold.state {
        HoldState::Holding => "holds".to_owned(),
        HoldState::PartlyHolding { share } => format!("holds {:.0} %", 100.0 * share),
        HoldState::LetGo { .. } => "has let go".to_owned(),
        HoldState::Broke { .. } => "is broken".to_owned(),
    }
}

fn releases(project: &Project, opening: &Opening) -> String {
    if opening.releases.is_empty() {
        return "\nNothing is released\n".to_owned();
    }
    let mut text = "\nOrder of release (opening in mm)\n".to_owned();
    for release in &opening.releases {
        let hold = opening.holds.get(release.hold);
        let name = hold.map(|hold| hold.name.words(project));
        let clear_mm = hold.and_then(|hold| hold.clear_gap_mm);
        let clear = clear_mm.map_or_else(String::new, |mm| format!(", {mm:.2} mm clear under the part"));
        let how = match release.how {
            ReleaseHow::LetGo => "lets go",
            ReleaseHow::Broke => "breaks",
        };
        let name = plain(&name.unwrap_or_default());
        text += &format!("{:>9.2}  {name} {how}{clear}\n", release.opening_mm);
    }
    text
}

/// What broke off and where it stays, with what that means for the next shot.
fn left_behind(project: &Project, opening: &Opening) -> String {
    let mut text = String::new();
    for hold in &opening.holds {
        let Some(half) = remains(hold) else { continue };
        let words = match (half, hold.name.what) {
            (_, What::Sprue(_)) => "in its bore until the next shot pushes it out",
            (_, What::Ejector(_)) => "in its grooves, and the ejector no longer keys",
            (Half::Fixed, _) => "in the fixed half and must be picked out",
            (Half::Moving, _) => "in the moving half, and the feature no longer keys",
        };
        if text.is_empty() {
            text += "\nWhat broke off stays behind\n";
        }
        text += &wrapped("           ", &format!("of {}: {words}", hold.name.words(project)));
    }
    text
}

fn stretches(project: &Project, opening: &Opening) -> String {
    let mut text = "\nKept at full stroke (mm along the run)\n".to_owned();
    for stretch in &opening.stretches {
        let (tag, keeper) = (project.tag(stretch.run), stretch.keeper.word());
        text += &format!("{tag:>9}  {:>8.1} to {:>8.1}  {keeper}\n", stretch.from_mm, stretch.to_mm);
    }
    text
}

pub(crate) fn bump_lines(project: &Project, heading: &str, bumps: &[BumpAt], flatness_mm: f64) -> String {
    let mut text = format!("\n{heading:<NAME$} {:>9} {:>9} {:>9}\n", "at mm", "bump mm", "kink °");
    for bump in bumps {
        let BumpAt { item, along_mm, height_mm, kink_deg, .. } = bump;
        let name = cell(&project.title(*item), NAME);
        let (height, kink) = (signed(*height_mm, 2), signed(*kink_deg, 1));
        text += &format!("{name} {along_mm:>9.1} {height:>9} {kink:>9}\n");
    }
    text + &format!("{:<NAME$} {:>9} {flatness_mm:>9.2}\n", "out of flat, over all", "")
}

/// Where the work of opening went.
fn energy(energy: Energy) -> String {
    let Energy { work_mj, elastic_mj, plastic_mj, holds_mj, viscous_mj, snap_mj } = energy;
    let words = format!(
        "{work_mj:.1} mJ to open: {holds_mj:.1} taken by the holds, {plastic_mj:.1} by lasting bends, \
         {elastic_mj:.1} still stored, {snap_mj:.1} set free in sudden jumps, {viscous_mj:.1} lost in viscosity"
    );
    format!("\n{}", wrapped("Work      ", &words))
}

/// The number with this many decimals, and no minus before a nought.
fn signed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
        text.trim_start_matches('-').to_owned()
    } else {
        text
    }
}

fn findings(findings: &[Finding]) -> String {
    if findings.is_empty() {
        return "\nNo findings\n".to_owned();
    }
    let mut text = "\nFindings\n".to_owned();
    for finding in findings {
        let head = format!("  {:<8} {:<18} ", severity(finding.severity), finding.rule);
        let cure = if finding.cure.is_empty() { String::new() } else { format!(". {}", finding.cure) };
        text += &wrapped(&head, &format!("{}{cure}", finding.message));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_nought_has_no_sign() {
        assert_eq!(signed(-0.001, 2), "0.00");
        assert_eq!(signed(-0.01, 2), "-0.01");
        assert_eq!(signed(1.25, 1), "1.2");
    }
}
