//! Everything worth telling the user: what, how much, how much is needed, where, and one cure.

use glam::DVec2;
use keepside_model::{Edit, Id, Project};

use crate::opening::{Margin, NotComputed, Opening};
use crate::outline::{Gap, Outline};

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

/// Findings of the drawing alone.
pub(crate) fn of_layout(_project: &Project, _outline: &Outline, _gaps: &[Gap]) -> Vec<Finding> {
    Vec::new()
}

/// Why there is no opening run.
pub(crate) fn of_no_opening(_project: &Project, _reason: &NotComputed) -> Vec<Finding> {
    Vec::new()
}

/// Findings of an opening run.
pub(crate) fn of_opening(_project: &Project, _opening: &Opening) -> Vec<Finding> {
    Vec::new()
}

/// Findings of the margin.
pub(crate) fn of_margin(_project: &Project, _margin: &Margin) -> Vec<Finding> {
    Vec::new()
}

/// Worst first; within a severity in the order found.
pub(crate) fn sort(findings: &mut [Finding]) {
    findings.sort_by_key(|finding| finding.severity);
}
