//! Everything worth telling the user: what, how much, how much is needed, where, and one cure.

mod channel_wall;
mod cooling;
mod cure;
mod datum;
mod edge;
mod ejector;
mod end_gap;
mod filling;
mod flow_gap;
mod gate;
mod mounting;
mod neighbours;
mod opening;
mod opposite_gate;
mod outside;
mod plate_edge;
mod plug;
mod press;
mod roof;
mod runs;
mod shot;
mod standing;
mod steel;
mod stripping;
#[cfg(test)]
mod tests;
mod turned_head;
mod vent;
mod vent_hole;
mod venting;

use glam::DVec2;
use keepside_model::{Edit, Id, Project};

use crate::outline::{Gap, Lookup, Outline};
pub(crate) use mounting::{in_size, on_hand_sizes};
use standing::Round;

pub(crate) use filling::of_filling;
pub(crate) use opening::{of_margin, of_no_opening, of_opening};
pub(crate) use shot::{Shot, of_shot};
pub(crate) use stripping::{of_no_stripping, of_stripping};

/// How bad a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The layout fails or cannot be made.
    Fault,
    /// It may work, but a rule is broken.
    Warning,
    /// Good to know.
    Note,
}

/// One thing the user should know.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Stable key of the rule, for example "flow-gap"; part of the command line's JSON.
    pub rule: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// The items it speaks of, the one to select first.
    pub items: Vec<Id>,
    /// The place in the plan, mm, if there is one.
    pub at: Option<DVec2>,
    /// What is wrong, in one sentence with tags and numbers, no full stop.
    pub message: String,
    /// Measured value and needed value in `unit`, if the rule compares numbers.
    pub measured: Option<f64>,
    /// The value the limit asks for.
    pub needed: Option<f64>,
    /// Unit of both, for example "mm".
    pub unit: &'static str,
    /// What to do about it, in words; empty if there is nothing to say.
    pub cure: String,
    /// The cure as an edit, if one click can do it.
    pub cure_edit: Option<Edit>,
}

impl Finding {
    fn new(
        rule: &'static str,
        severity: Severity,
        items: impl Into<Vec<Id>>,
        at: Option<DVec2>,
        message: String,
    ) -> Self {
        let (cure, items) = (String::new(), items.into());
        Self {
            rule,
            severity,
            items,
            at,
            message,
            measured: None,
            needed: None,
            unit: "",
            cure,
            cure_edit: None,
        }
    }

    /// With the numbers that were compared, mm.
    fn comparing_mm(self, measured_mm: f64, needed_mm: f64) -> Self {
        Self { measured: Some(measured_mm), needed: Some(needed_mm), unit: "mm", ..self }
    }

    /// With what to do about it. A cure that would take a number out of its permitted range stays a cure in
    /// words.
    fn cured_by(self, cure: impl Into<String>, edit: Option<Edit>) -> Self {
        Self { cure: cure.into(), cure_edit: edit.filter(is_permitted), ..self }
    }
}

/// Whether all numbers that an edit gives are within their ranges.
fn is_permitted(edit: &Edit) -> bool {
    match edit {
        Edit::Add(_, item) | Edit::Set(_, item) => item.check().is_ok(),
        Edit::Several { edits, .. } => edits.iter().all(is_permitted),
        _ => true,
    }
}

/// What the rules of the drawing look at.
pub(crate) struct Drawn<'a> {
    project: &'a Project,
    outline: &'a Outline,
    gaps: &'a [Gap],
    /// Quick answers about the channel.
    pub(crate) lookup: Lookup<'a>,
    /// Everything round in the plates.
    round: Round<'a>,
}

impl<'a> Drawn<'a> {
    pub(crate) fn new(project: &'a Project, outline: &'a Outline, gaps: &'a [Gap]) -> Self {
        let (lookup, round) = (Lookup::new(project, outline), Round::new(project));
        Self { project, outline, gaps, lookup, round }
    }
}

/// A rule of the drawing: appends what it finds.
type Rule = fn(&Drawn<'_>, &mut Vec<Finding>);

/// The rules of the drawing, in the order in which their findings are listed.
const RULES: &[Rule] = &[
    runs::no_run,
    runs::no_length,
    runs::apart,
    gate::none,
    channel_wall::check,
    edge::undercut,
    edge::radius,
    edge::rib,
    outside::features,
    outside::gates,
    outside::ejectors,
    flow_gap::check,
    end_gap::check,
    roof::check,
    neighbours::check,
    opposite_gate::check,
    turned_head::check,
    mounting::check,
    plug::check,
    ejector::grooves,
    vent::check,
    vent::ends,
    vent_hole::check,
    ejector::floor,
    ejector::reach,
    ejector::length,
    ejector::vents,
    plate_edge::check,
    steel::check,
    datum::lost,
];

/// Findings of the drawing alone.
pub(crate) fn of_layout(drawn: &Drawn<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    RULES.iter().for_each(|rule| rule(drawn, &mut findings));
    findings
}

/// Worst first; within a severity in the order found.
pub(crate) fn sort(findings: &mut [Finding]) {
    findings.sort_by_key(|finding| finding.severity);
}
