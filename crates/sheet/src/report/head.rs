//! The first thing read: what comes of the layout, by what margin, and what decides.

use glam::DVec2;
use keepside_engine::{Analysis, Severity};
use keepside_model::Project;

use crate::document::{Flow, broken, decimals, mm};
use crate::page::{Pen, rectangle};
use crate::words;

pub(super) fn write(flow: &mut Flow<'_>, project: &Project, analysis: Option<&Analysis>) {
    flow.lines(&project.name, 6.0, 0, 0.0);
    flow.space(1.0);
    if !project.notes.trim().is_empty() {
        flow.remark(&project.notes);
    }
    flow.space(2.0);
    let (verdict, below) = told(project, analysis);
    boxed(flow, &verdict, &below);
    flow.space(2.0);
    let findings = analysis.map_or(&[][..], |analysis| &analysis.findings);
    let count = |severity: Severity| findings.iter().filter(|f| f.severity == severity).count();
    if analysis.is_some() {
        flow.words(&format!(
            "Findings: {} faults, {} warnings, {} notes.",
            count(Severity::Fault),
            count(Severity::Warning),
            count(Severity::Note)
        ));
    }
    flow.words(&format!(
        "Mould opened to {} mm on the press “{}”; moulded in {}. All lengths in mm, forces in N.",
        mm(project.press.stroke_mm),
        project.press.name,
        if project.material.name.trim().is_empty() {
            "a material without a name"
        } else {
            &project.material.name
        },
    ));
    let sheet = &project.sheet;
    let fields = [
        ("Drawing number", &sheet.drawing_number),
        ("Revision", &sheet.revision),
        ("Date of issue", &sheet.date_of_issue),
        ("Legal owner", &sheet.legal_owner),
        ("Creator", &sheet.creator),
        ("Approved by", &sheet.approved_by),
    ];
    let filled = fields.into_iter().filter(|(_, words)| !words.trim().is_empty());
    let filled: Vec<String> = filled.map(|(name, words)| format!("{name}: {words}")).collect();
    if !filled.is_empty() {
        flow.words(&filled.join(". "));
    }
    flow.remark(
        "Most strengths of holds are assumed until trial shots have calibrated them; the inputs below say which. \
         Believe a clear margin; treat a narrow one as a coin toss. This report is a drawing aid, not a safety \
         device: at the press and at the drill the machine's manual and your local rules decide.",
    );
}

/// The verdict, and what is told under it.
fn told(project: &Project, analysis: Option<&Analysis>) -> (String, Vec<String>) {
    let opening = match words::opening(analysis) {
        Ok(opening) => opening,
        Err(why) => return ("No verdict.".to_owned(), vec![why]),
    };
    let mut below = Vec::new();
    let Some(analysis) = analysis else { return (opening.verdict.words.clone(), below) };
    if let Some(hold) = analysis.deciding() {
        below.push(format!("Decided by {}.", hold.words(project)));
    }
    below.push(match &analysis.margin {
        Some(margin) => format!("Margin {}.", words::margin(margin, opening.verdict.outcome)),
        None => "The margin is not known.".to_owned(),
    });
    below.push(match (&analysis.stripping, &analysis.stripping_failed) {
        (Some(of), _) => format!("Pushed off: {}.", lower(&of.words)),
        (None, Some(reason)) => format!("Whether it comes off the moving half is not known: {reason}."),
        (None, None) => {
            "Pushing it off was not computed: it is not left whole on the moving half.".to_owned()
        }
    });
    below
        .push(format!("Out of flat by {} mm as it leaves the fixed half.", decimals(opening.flatness_mm, 2)));
    let unfinished = words::unfinished(analysis);
    if !unfinished.is_empty() {
        below.push(unfinished.to_owned());
    }
    (format!("{}.", opening.verdict.words), below)
}

/// With a small first letter, to follow a colon.
fn lower(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// A frame with large and plain lines in it.
fn boxed(flow: &mut Flow<'_>, large: &str, plain: &[String]) {
    let room_mm = flow.width_mm() - 8.0;
    let mut lines: Vec<(f64, String)> = Vec::new();
    lines.extend(broken(flow.lettering, large, 5.0, room_mm).into_iter().map(|line| (5.0, line)));
    for words in plain {
        lines.extend(broken(flow.lettering, words, 3.2, room_mm).into_iter().map(|line| (3.2, line)));
    }
    let height_mm = 6.0 + lines.iter().map(|(size_mm, _)| 1.36 * size_mm).sum::<f64>();
    let area = flow.take(height_mm);
    let page = flow.page();
    page.stroke(rectangle(area.low, area.high), Pen::EDGE);
    let mut y = area.low.y + 2.4;
    for (size_mm, line) in lines {
        page.text(DVec2::new(area.low.x + 4.0, y + size_mm), size_mm, 0, line);
        y += 1.36 * size_mm;
    }
}
