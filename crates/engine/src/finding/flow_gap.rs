//! Room for plastic to flow round a feature, on both sides.

use keepside_model::KeyingFeature;

use super::cure::{SLACK_MM, move_to, set, smaller};
use super::{Drawn, Finding, Severity};
use crate::outline::{GapTo, plan_diameter_mm};

/// Features closer to the side wall than plastic flows.
///
/// Common practice, no source: a 4 mm screw in the middle of a 6 mm channel fills, so 1 mm is enough.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let needed_mm = drawn.project.limits.flow_gap_mm;
    for (index, gap) in drawn.gaps.iter().enumerate().filter(|(_, gap)| gap.to == GapTo::ChannelEdge) {
        let Some(feature) = drawn.project.features.get(&gap.item) else { continue };
        // What reaches beyond the wall is told by its own rule.
        if gap.gap_mm >= needed_mm - SLACK_MM || gap.gap_mm < -SLACK_MM {
            continue;
        }
        // The gap on the far side is listed next.
        let far = drawn.gaps.get(index + 1).filter(|far| far.item == gap.item && far.to == GapTo::FarEdge);
        let far = far.filter(|far| far.is_tight()).map(|far| far.gap_mm.max(0.0));
        let message = format!(
            "{} {} leaves {:.2} mm to the channel's edge{}; plastic needs {needed_mm:.2} mm to flow round it",
            feature.kind.word(),
            drawn.project.tag(gap.item),
            gap.gap_mm.max(0.0),
            far.map(|far_mm| format!(", and {far_mm:.2} mm on the other side")).unwrap_or_default(),
        );
        let finding = Finding::new("flow-gap", Severity::Warning, [gap.item], Some(gap.to_point), message)
            .comparing_mm(gap.gap_mm, needed_mm);
        findings.push(cured(drawn, finding, feature));
    }
}

/// Mid-channel if it fits there, else the next smaller size that does.
fn cured(drawn: &Drawn<'_>, finding: Finding, feature: &KeyingFeature) -> Finding {
    let id = finding.items[0];
    let needed_mm = drawn.project.limits.flow_gap_mm;
    let radius_mm = 0.5 * plan_diameter_mm(&feature.kind);
    if let Some(place) = drawn.mid_channel(feature.at, radius_mm, needed_mm) {
        return finding.cured_by("Move it to mid-channel", move_to(id, feature.at, place));
    }
    // Where it stands, else in mid-channel.
    let middle = drawn.mid_channel(feature.at, 0.0, needed_mm);
    for (at, where_to) in [(Some(feature.at), ""), (middle, " in mid-channel")] {
        let Some(at) = at else { continue };
        let widest_mm = 2.0 * (drawn.clear_mm(at) - needed_mm);
        if let Some((kind, size)) = smaller(drawn.project, &feature.kind, widest_mm) {
            // Another size comes in other lengths.
            let changed = KeyingFeature { at, kind, screw_length_mm: None, ..feature.clone() };
            let edit = set(id, changed);
            return finding.cured_by(format!("Use the next smaller size, {size}{where_to}"), edit);
        }
    }
    let width_mm = 2.0 * (radius_mm + needed_mm);
    finding.cured_by(format!("Make the channel {width_mm:.1} mm wide there, or use a smaller feature"), None)
}
