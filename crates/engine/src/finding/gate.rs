//! A part that nothing fills.

use keepside_model::{Edit, Finish, Half, Item, Sprue};

use super::{Drawn, Finding, Severity};

/// Diameter of the gate that is offered, mm, where the channel is wide enough. Assumed.
const OFFERED_MM: f64 = 3.0;

/// A part without a gate.
pub(super) fn none(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let project = drawn.project;
    if !project.sprues.is_empty() || drawn.outline.rings.is_empty() {
        return;
    }
    let message = "the part has no gate, so that nothing fills it".to_owned();
    let runs: Vec<_> = project.part.runs.keys().copied().collect();
    let finding = Finding::new("no-gate", Severity::Warning, runs, None, message);
    // In the middle of the first run that has room there, in the half that the melt comes from.
    let middle = project.part.runs.values().find_map(|run| {
        let at = run.points.first()?.at.midpoint(run.points.last()?.at);
        let place = drawn.lookup.channel_at(at)?;
        (drawn.clear_mm(place.at) > 0.3).then_some(place)
    });
    findings.push(match middle {
        Some(place) => {
            let diameter_mm = OFFERED_MM.min((place.width_mm * 5.0).floor() / 10.0).max(0.3);
            let sprue = Sprue {
                name: String::new(),
                at: place.at,
                half: Half::Fixed,
                diameter_mm,
                length_mm: project.plates.fixed_thickness_mm.min(200.0),
                draft_deg: 1.0,
                finish: Finish::AsTurned,
                measured: None,
            };
            let cure = format!("Put a gate of {diameter_mm:.1} mm in the middle of the channel");
            finding.cured_by(cure, Some(Edit::Add(project.free_id(), Item::Sprue(sprue))))
        }
        None => finding.cured_by("Put a gate on the channel", None),
    });
}
