//! What the opening run tells.

use keepside_model::{Edit, FeatureKind, Half, Id, Item, KeyingFeature, Project, ScrewEnd};

use super::{Finding, Severity, press, runs};
use crate::opening::{HoldName, HoldOutcome, HoldState, Margin, NotComputed, Opening, Outcome, What};

/// Margin below which a good verdict is not to be relied on. Common practice, no source.
const SAFE_FACTOR: f64 = 1.5;

/// Why there is no opening run. A missing run or one without length is told by the drawing's own rules.
pub(crate) fn of_no_opening(project: &Project, reason: &NotComputed) -> Vec<Finding> {
    let run = match reason {
        NotComputed::Cancelled => return Vec::new(),
        NotComputed::NoRun if project.part.runs.is_empty() => return Vec::new(),
        NotComputed::NoLength { run } => {
            if project.part.runs.get(run).is_some_and(runs::has_no_length) {
                return Vec::new();
            }
            Some(*run)
        }
        NotComputed::NoRun | NotComputed::Stuck { .. } => None,
    };
    let at = run.and_then(|run| project.place(run));
    let items: Vec<Id> = run.into_iter().collect();
    vec![Finding::new("no-opening", Severity::Fault, items, at, reason.to_string())]
}

/// Findings of an opening run, of which `deciding` decides the verdict as far as is known.
pub(crate) fn of_opening(project: &Project, opening: &Opening, deciding: Option<HoldName>) -> Vec<Finding> {
    let mut findings = Vec::new();
    findings.extend(verdict(project, opening, deciding));
    findings.extend(opening.holds.iter().filter_map(|hold| broken(project, hold)));
    bumps(project, opening, &mut findings);
    findings.extend(press::stroke(project, opening));
    findings
}

/// Anything but a part that stays whole on the moving half.
fn verdict(project: &Project, opening: &Opening, deciding: Option<HoldName>) -> Option<Finding> {
    let verdict = &opening.verdict;
    if verdict.outcome == Outcome::StaysOnMoving {
        return None;
    }
    let item = deciding.and_then(|name| name.what.item());
    let mut message = format!("the part {}", verdict.outcome);
    if let Some(name) = deciding {
        message += &format!("; {} decides", name.words(project));
    }
    let at = item.and_then(|id| project.place(id));
    let finding = Finding::new("verdict", Severity::Fault, item.into_iter().collect::<Vec<_>>(), at, message);
    let cure = match (verdict.outcome, deciding.map(|name| (name.what, name.half))) {
        (Outcome::FallsFree, _) => "Add a keying feature to the moving half",
        (_, Some((What::Sprue(_), _))) => {
            "Draft, shorten or polish that sprue, or add keying features on the moving half near it"
        }
        (_, Some((What::Feature(_), Half::Fixed))) => {
            "Take that feature out, or add stronger ones on the moving half"
        }
        (_, Some((What::Feature(_), Half::Moving))) => {
            "Let that feature stand farther out or make it larger, or add another beside it"
        }
        (_, Some((What::Ejector(_), _))) => {
            "Give that ejector more or deeper grooves, or add keying features on the moving half near it"
        }
        _ => "Add keying features on the moving half",
    };
    Some(finding.cured_by(cure, None))
}

/// A hold that broke: what stays behind in the moving half keeps its feature from keying.
fn broken(project: &Project, hold: &HoldOutcome) -> Option<Finding> {
    let HoldState::Broke { opening_mm } = hold.state else { return None };
    let id = hold.name.what.item()?;
    let words = hold.name.words(project);
    let (rule, severity, end, cure) = match (hold.name.what, hold.name.half) {
        (What::Sprue(_), _) => (
            "sprue-broke",
            Severity::Note,
            "the plug stays in its bore until the next shot pushes it out",
            "",
        ),
        _ if hold.governed_by.ends_with("tear") => (
            "tears",
            Severity::Fault,
            "the channel beside it gives way, and the part is cut there",
            "Make the channel wider or the feature smaller there, or share its load with another",
        ),
        (What::Ejector(_), _) => (
            "plug-lost",
            Severity::Fault,
            "what broke off stays in its grooves, and the ejector no longer keys",
            "Give it more grooves, or a wider mouth to each, or share its load with a keying feature",
        ),
        (_, Half::Moving) => (
            "plug-lost",
            Severity::Fault,
            "what broke off is lost in the moving half, and the feature no longer keys",
            "Let it stand less high, chamfer its rim, draft the gates so that they let go earlier, or share its \
             load with another feature",
        ),
        (_, Half::Fixed) => (
            "plug-broke",
            Severity::Warning,
            "what broke off stays in the fixed half and must be picked out",
            "Let it stand less high, or take it out",
        ),
    };
    let message = format!("{words} breaks at an opening of {opening_mm:.2} mm: {end}");
    let finding = Finding::new(rule, severity, [id], project.place(id), message);
    // The pull that came, against what it bears.
    let (measured, needed) = (Some(hold.peak_n), Some(hold.capacity_n));
    let finding = Finding { measured, needed, unit: "N", ..finding };
    Some(match (rule, turned_over(project, id)) {
        ("plug-lost", Some(edit)) => finding
            .cured_by("Turn the screw over, flat point up, so that no plug fills its socket", Some(edit)),
        _ => finding.cured_by(cure, None),
    })
}

/// The edit that turns a set screw with its socket up over.
fn turned_over(project: &Project, id: Id) -> Option<Edit> {
    let feature = project.features.get(&id)?;
    let FeatureKind::SetScrew { thread, end: ScrewEnd::Socket } = feature.kind else { return None };
    let kind = FeatureKind::SetScrew { thread, end: ScrewEnd::Flat };
    Some(Edit::Set(id, Item::Feature(KeyingFeature { kind, ..feature.clone() })))
}

/// Gates at which the part stays bent by more than the user accepts.
fn bumps(project: &Project, opening: &Opening, findings: &mut Vec<Finding>) {
    let needed_mm = project.limits.bump_mm;
    for bump in opening.bumps.iter().filter(|bump| project.sprues.contains_key(&bump.item)) {
        let height_mm = bump.height_mm.abs();
        if height_mm <= needed_mm {
            continue;
        }
        let message = format!(
            "the part keeps a bump of {height_mm:.2} mm with a kink of {:.1}° at gate {}; {needed_mm:.2} mm is accepted",
            bump.kink_deg.abs(),
            project.tag(bump.item),
        );
        findings.push(
            Finding::new("bump", Severity::Warning, [bump.item], project.place(bump.item), message)
                .comparing_mm(height_mm, needed_mm)
                .cured_by(
                    "Draft, shorten or polish the sprue, or put a keying feature right behind it",
                    None,
                ),
        );
    }
}

/// Findings of the margin.
pub(crate) fn of_margin(project: &Project, margin: &Margin) -> Vec<Finding> {
    let Some(factor) = margin.factor.filter(|factor| (1.0..SAFE_FACTOR).contains(factor)) else {
        return Vec::new();
    };
    let item = margin.deciding.and_then(|name| name.what.item());
    let mut message = format!("the verdict flips if the fixed half holds {factor:.2} times as strongly");
    if let Some(name) = margin.deciding {
        message += &format!("; {} decides", name.words(project));
    }
    let at = item.and_then(|id| project.place(id));
    let items = item.into_iter().collect::<Vec<_>>();
    let finding = Finding::new("margin", Severity::Warning, items, at, message);
    let finding = Finding { measured: Some(factor), needed: Some(SAFE_FACTOR), unit: "×", ..finding };
    vec![finding.cured_by("Strengthen the moving half's holds, or weaken the fixed half's", None)]
}
