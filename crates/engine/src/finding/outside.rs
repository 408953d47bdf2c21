//! Features, gates and ejector pins that leave the channel.

use glam::DVec2;
use keepside_model::{Edit, Ejector, Id, Item};

use super::cure::{SLACK_MM, move_to, sold_diameter_mm};
use super::{Drawn, Finding, Severity};
use crate::outline::plan_diameter_mm;

/// Features outside the channel, or cutting its wall.
pub(super) fn features(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    for (&id, feature) in &drawn.project.features {
        let radius_mm = 0.5 * plan_diameter_mm(&feature.kind);
        let what = || format!("{} {}", feature.kind.word(), drawn.project.tag(id));
        findings.extend(one(drawn, "outside-channel", id, feature.at, radius_mm, &what));
    }
}

/// Gates outside the channel, or cutting its wall.
pub(super) fn gates(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    for (&id, sprue) in &drawn.project.sprues {
        let what = || format!("gate {}", drawn.project.tag(id));
        findings.extend(one(drawn, "gate-outside", id, sprue.at, 0.5 * sprue.diameter_mm, &what));
    }
}

/// Ejector pins outside the channel, where they push on nothing but the fixed plate, or reaching across
/// its wall. One that is too wide for the channel is cured by a thinner one.
pub(super) fn ejectors(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    for (&id, ejector) in &drawn.project.ejectors {
        let what = || format!("ejector {}", drawn.project.tag(id));
        let radius_mm = 0.5 * ejector.diameter_mm;
        let Some(finding) = one(drawn, "ejector-outside", id, ejector.at, radius_mm, &what) else { continue };
        let thinner = finding.cure_edit.is_none().then(|| thinner(drawn, id, ejector)).flatten();
        findings.push(match thinner {
            Some((cure, edit)) => finding.cured_by(cure, Some(edit)),
            None => finding,
        });
    }
}

/// The widest pin sold that fits into mid-channel, no wider than the one that is there.
fn thinner(drawn: &Drawn<'_>, id: Id, ejector: &Ejector) -> Option<(String, Edit)> {
    let at = drawn.mid_channel(ejector.at, 0.0, 0.0)?;
    let diameter_mm = sold_diameter_mm(2.0 * drawn.clear_mm(at))?;
    let cure = format!("Use a pin of {diameter_mm:.1} mm in mid-channel");
    Some((cure, Edit::Set(id, Item::Ejector(Ejector { at, diameter_mm, ..ejector.clone() }))))
}

fn one(
    drawn: &Drawn<'_>,
    rule: &'static str,
    id: Id,
    at: DVec2,
    radius_mm: f64,
    what: &dyn Fn() -> String,
) -> Option<Finding> {
    let near = drawn.lookup.clear(at)?;
    let (wall, clear_mm) = (near.at, near.distance_mm);
    let gap_mm = clear_mm - radius_mm;
    if gap_mm >= -SLACK_MM {
        return None;
    }
    let what = what();
    // Wholly outside, what counts is how far it stands off; else how far it reaches through the wall.
    let (measured_mm, message) = if clear_mm <= -radius_mm {
        let off_mm = -clear_mm - radius_mm;
        (-off_mm, format!("{what} stands outside the channel, {off_mm:.2} mm from its edge"))
    } else {
        (gap_mm, format!("{what} reaches {:.2} mm beyond the channel's wall", -gap_mm))
    };
    let finding =
        Finding::new(rule, Severity::Fault, [id], Some(wall), message).comparing_mm(measured_mm, 0.0);
    // Plastic has to flow round a feature; a gate and an ejector end where the channel begins.
    let flow_mm = if rule == "outside-channel" { drawn.project.limits.flow_gap_mm } else { 0.0 };
    let place = drawn.mid_channel(at, radius_mm, flow_mm).or_else(|| drawn.mid_channel(at, radius_mm, 0.0));
    Some(match place {
        Some(place) => finding.cured_by("Move it to mid-channel", move_to(id, at, place)),
        None => finding.cured_by("Move it into the channel, make it smaller or the channel wider", None),
    })
}
