//! The findings, worst first, with their cures.

use keepside_engine::{Finding, Severity};
use keepside_model::Project;

use crate::document::{Column, Flow, Table, figure, mm};

pub(super) fn write(flow: &mut Flow<'_>, project: &Project, findings: &[Finding], is_computed: bool) {
    flow.heading("Findings");
    if !is_computed {
        flow.words("Without an opening run only the drawing has been looked at.");
    }
    if findings.is_empty() {
        flow.words("None.");
        return;
    }
    const COLUMNS: [Column; 5] = [
        Column::fixed("", 17.0),
        Column::fixed("For", 17.0),
        Column::wide("What", 3.2),
        Column::fixed("Is / asked for", 23.0),
        Column::wide("Cure", 2.4),
    ];
    let mut table = Table::new(&COLUMNS);
    for finding in findings {
        let severity = match finding.severity {
            Severity::Fault => "FAULT",
            Severity::Warning => "warning",
            Severity::Note => "note",
        };
        let tags: Vec<String> = finding.items.iter().take(6).map(|id| project.tag(*id)).collect();
        let more = finding.items.len().saturating_sub(tags.len());
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        let place = finding.at.map_or_else(String::new, |at| format!(" (x {}, y {})", mm(at.x), mm(at.y)));
        let compared = match (finding.measured, finding.needed) {
            (Some(measured), Some(needed)) => {
                let round = |value: f64| figure((100.0 * value).round() / 100.0);
                format!("{} / {} {}", round(measured), round(needed), finding.unit)
            }
            _ => String::new(),
        };
        table.row([
            severity.to_owned(),
            format!("{}{more}", tags.join(", ")),
            format!("{}{place}", finding.message),
            compared,
            finding.cure.clone(),
        ]);
    }
    table.write(flow);
}
