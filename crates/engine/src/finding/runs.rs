//! Runs that make no moulding, or more than one.

use keepside_model::{Edit, Id, Run};

use super::{Drawn, Finding, Severity};
use crate::outline::{Outline, Ring, Wall};

/// So many of a list are named, the rest counted.
const NAMED: usize = 4;

/// A list whose first items are named, and how many more there are.
fn and_more(named: String, count: usize) -> String {
    if count > NAMED { format!("{named} and {} more", count - NAMED) } else { named }
}

/// A part with no run at all.
pub(super) fn no_run(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    if drawn.project.part.runs.is_empty() {
        let message = "the part has no channel run, so there is nothing to mould".to_owned();
        findings.push(
            Finding::new("no-run", Severity::Fault, [], None, message).cured_by("Draw a channel run", None),
        );
    }
}

/// Whether a run has no length, so that nothing can be cut along it.
pub(super) fn has_no_length(run: &Run) -> bool {
    // As short as a pair of coordinates can be told apart on any machine.
    run.points.windows(2).all(|pair| pair[0].at.distance(pair[1].at) <= 1e-6)
}

/// Runs with fewer than two points, or all of them in one place.
pub(super) fn no_length(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    for (&id, run) in drawn.project.part.runs.iter().filter(|(_, run)| has_no_length(run)) {
        let tag = drawn.project.tag(id);
        let message = match run.points.len() {
            0 => format!("run {tag} has no points"),
            1 => format!("run {tag} has only one point; a channel needs two"),
            _ => format!("run {tag} has no length: its points lie in one place"),
        };
        let at = run.points.first().map(|point| point.at);
        findings.push(
            Finding::new("run-length", Severity::Fault, [id], at, message)
                .cured_by("Delete it, or drag its ends apart", Some(Edit::Delete(vec![id]))),
        );
    }
}

/// Runs that do not touch: each group is a moulding of its own.
pub(super) fn apart(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let mut outer: Vec<&Ring> = drawn.outline.rings.iter().filter(|ring| ring.area_mm2() > 0.0).collect();
    if outer.len() < 2 {
        return;
    }
    outer.sort_by(|a, b| b.area_mm2().total_cmp(&a.area_mm2()));
    let runs_of = |ring: &Ring| -> Vec<Id> {
        let run = |wall: &Wall| match *wall {
            Wall::Side(id) | Wall::End(id) => Some(id),
            Wall::Unknown => None,
        };
        let mut runs: Vec<Id> = ring.walls.iter().filter_map(run).collect();
        runs.sort_unstable();
        runs.dedup();
        runs
    };
    let in_words = |ring: &&Ring| {
        let runs = runs_of(ring);
        let tags = runs.iter().take(NAMED).map(|&id| drawn.project.tag(id)).collect::<Vec<_>>().join(", ");
        and_more(tags, runs.len())
    };
    let groups = outer.iter().take(NAMED).map(in_words).collect::<Vec<_>>().join(" apart from ");
    let smallest = outer[outer.len() - 1];
    let at = Outline::polyline(smallest, 1.0).first().copied();
    let message = format!(
        "the runs do not all touch: they make {} separate mouldings ({})",
        outer.len(),
        and_more(groups, outer.len())
    );
    findings.push(
        Finding::new("runs-apart", Severity::Warning, runs_of(smallest), at, message)
            .cured_by("Join the runs, or put each moulding in a project of its own", None),
    );
}
