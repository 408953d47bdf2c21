//! The trial card: what is expected of every gate, pin, vent and stretch, with boxes for what comes.

mod card;
mod rows;
mod tick;

use glam::Vec2Swizzles as _;
use keepside_engine::{Analysis, Severity};
use keepside_model::{Half, Project};

use crate::document::{Flow, mm, paper_mm};
use crate::lettering::Lettering;
use crate::page::Page;
use crate::words;

/// Releases told at most, in the order of opening.
const RELEASES: usize = 8;

/// The pages of the card, on their side.
pub(crate) fn pages(project: &Project, analysis: Option<&Analysis>, lettering: &Lettering) -> Vec<Page> {
    let foot = "Hot plastic, closing platens, loaded springs: the machine's manual and local rules decide.";
    let mut flow = Flow::new(lettering, paper_mm(project).yx(), "Trial card", &project.name, foot);
    flow.lines(&format!("Trial card: {}", project.name), 5.2, 0, 0.0);
    flow.space(1.5);
    for caution in CAUTIONS {
        flow.remark(caution);
    }
    flow.subheading("What to try", 10.0);
    for words in what_to_try(project, analysis) {
        flow.item(&words);
    }
    flow.subheading("What to look for", 10.0);
    for words in what_to_look_for(project, analysis) {
        flow.item(&words);
    }
    for section in rows::sections(project, analysis) {
        card::write(&mut flow, &section);
    }
    flow.finish()
}

/// What can hurt at the press.
const CAUTIONS: [&str; 2] = [
    "Take care: hot plastic burns and sprays, also out of vents and gates; closing platens crush; a part bent \
     between the halves can let go suddenly; springs behind ejector pins stay loaded, and the part comes off \
     them hot. Wear eye, face and hand protection, keep bystanders away.",
    "Never reach between the halves unless the press is stopped and cannot close. Free a jam only with the \
     press secured and cooled down. The machine's manual, your local rules and people licensed for the work \
     decide, not this card.",
];

fn what_to_try(project: &Project, analysis: Option<&Analysis>) -> Vec<String> {
    let mut all = vec![
        "Make three shots or more with the same settings and write down each; then change one thing at a \
         time, and write down what."
            .to_owned(),
    ];
    if words::opening(analysis).is_ok()
        && let Some(hold) = analysis.and_then(Analysis::deciding)
    {
        all.push(format!("Watch {} first: it decides.", hold.words(project)));
    }
    let holds = &project.holds;
    let mut assumed = Vec::new();
    if holds.tack_curve.is_none() {
        assumed.push(format!("face tack {} MPa", mm(holds.tack_mpa)));
    }
    if holds.wall_curve.is_none() {
        assumed.push(format!("wall drag {} MPa", mm(holds.wall_drag_mpa)));
    }
    if project.sprues.values().any(|sprue| sprue.measured.is_none()) {
        let (turned, polished) = (holds.sprue_drag_turned_mpa, holds.sprue_drag_polished_mpa);
        assumed.push(format!(
            "drag in a sprue bore {} MPa as turned, {} MPa polished",
            mm(turned),
            mm(polished)
        ));
    }
    if project.features.values().any(|feature| feature.kind.thread().is_some()) {
        assumed.push(format!("share of a thread that fills {}", mm(holds.thread_filled_share)));
    }
    if !assumed.is_empty() {
        let assumed = assumed.join("; ");
        all.push(format!("What is predicted rests on numbers that only these shots can tell: {assumed}."));
    }
    all.push(format!(
        "Release agent as the prediction has it: moving half {}, fixed half {}.",
        words::release_agent(project, Half::Moving),
        words::release_agent(project, Half::Fixed)
    ));
    all
}

fn what_to_look_for(project: &Project, analysis: Option<&Analysis>) -> Vec<String> {
    let opening = match words::opening(analysis) {
        Ok(opening) => opening,
        Err(why) => return vec![format!("{why} Nothing is predicted; log what comes.")],
    };
    let mut all = Vec::new();
    let of_items = opening.releases.iter().filter_map(|release| {
        let id = opening.holds.get(release.hold)?.name.what.item()?;
        Some(format!("{} at {:.2} mm", project.tag(id), release.opening_mm))
    });
    let order: Vec<String> = of_items.collect();
    if order.is_empty() {
        all.push("No gate and no pin is expected to let go while the mould opens.".to_owned());
    } else {
        let more = order.len().saturating_sub(RELEASES);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        let first = order.into_iter().take(RELEASES).collect::<Vec<_>>().join(", ");
        all.push(format!("Order in which gates and pins are expected to let go, by opening: {first}{more}."));
    }
    let findings = analysis.map_or(&[][..], |analysis| &analysis.findings);
    let faults: Vec<_> = findings.iter().filter(|finding| finding.severity == Severity::Fault).collect();
    let warnings = findings.iter().filter(|finding| finding.severity == Severity::Warning).count();
    if faults.len() + warnings > 0 {
        let first =
            faults.first().map_or_else(String::new, |fault| format!(" First fault: {}.", fault.message));
        all.push(format!(
            "Faults found by the program: {}; warnings: {warnings}.{first} See the report.",
            faults.len()
        ));
    }
    let unfinished = analysis.map_or("", words::unfinished);
    if !unfinished.is_empty() {
        all.push(unfinished.to_owned());
    }
    all
}
