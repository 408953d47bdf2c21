//! The report: everything with which another person can judge a layout.

mod curves;
mod findings;
mod head;
mod inputs;
mod items;
mod keeps;
mod limits;
mod moments;
mod plan;
mod results;
mod shot;
mod side;
mod stripping;

use keepside_engine::{Analysis, layout};
use keepside_model::Project;

use crate::document::{Flow, paper_mm};
use crate::lettering::Lettering;
use crate::page::Page;
use crate::words;

/// The pages.
pub(crate) fn pages(project: &Project, analysis: Option<&Analysis>, lettering: &Lettering) -> Vec<Page> {
    let foot = "Computed, not tried: believe a clear margin only.";
    let mut report = Flow::new(lettering, paper_mm(project), "Report", &project.name, foot);
    let flow = &mut report;
    head::write(flow, project, analysis);
    // Without an analysis the drawing alone is told.
    let drawn = analysis.map_or_else(|| layout(project).into(), |analysis| analysis.layout.clone());
    let opening = words::opening(analysis).ok();
    plan::write(flow, project, &drawn.outline, opening);
    if let (Some(opening), Some(analysis)) = (opening, analysis) {
        results::write(flow, project, opening);
        let moments = moments::moments(project, opening, analysis.deciding());
        side::write(flow, project, opening, &moments);
        curves::write(flow, project, opening, analysis.deciding());
        stripping::write(flow, project, analysis);
    }
    shot::write(flow, project, &drawn);
    let findings = analysis.map_or(&drawn.findings, |analysis| &analysis.findings);
    findings::write(flow, project, findings, opening.is_some());
    inputs::write(flow, project);
    items::write(flow, project);
    limits::write(flow);
    report.finish()
}
