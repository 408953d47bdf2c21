//! Plastic between a feature and the end of the channel.

use super::cure::{SLACK_MM, move_to};
use super::{Drawn, Finding, Severity};
use crate::outline::{GapTo, plan_diameter_mm};

/// Features too close to the end of a run: the plastic beyond them is the first to tear.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let needed_mm = drawn.project.limits.end_gap_mm;
    for gap in drawn.gaps {
        let GapTo::ChannelEnd(run) = gap.to else { continue };
        let Some(feature) = drawn.project.features.get(&gap.item) else { continue };
        if gap.gap_mm >= needed_mm - SLACK_MM || gap.gap_mm < -SLACK_MM {
            continue;
        }
        let message = format!(
            "{} {} leaves {:.2} mm of plastic to the end of run {}; {needed_mm:.2} mm is needed",
            feature.kind.word(),
            drawn.project.tag(gap.item),
            gap.gap_mm.max(0.0),
            drawn.project.tag(run),
        );
        let finding =
            Finding::new("end-gap", Severity::Warning, [gap.item, run], Some(gap.to_point), message)
                .comparing_mm(gap.gap_mm, needed_mm);
        // Along the channel away from the end; a round end may be nearest off the centre line, so the
        // way is tried in small steps.
        let radius_mm = 0.5 * plan_diameter_mm(&feature.kind);
        let place = drawn.lookup.channel_at(feature.at).and_then(|place| {
            let inwards = place.direction * (feature.at - gap.to_point).dot(place.direction).signum();
            let tried =
                (0..40).map(|step| feature.at + inwards * (needed_mm - gap.gap_mm + 0.1 * f64::from(step)));
            tried.into_iter().find(|&at| {
                let enough = |(_, distance_mm): (_, f64)| distance_mm >= radius_mm + needed_mm - SLACK_MM;
                drawn.clear_mm(at) >= radius_mm && drawn.end_mm(at).is_none_or(enough)
            })
        });
        findings.push(match place {
            Some(place) => {
                let by_mm = place.distance(feature.at);
                let edit = move_to(gap.item, feature.at, place);
                finding.cured_by(format!("Move it {by_mm:.1} mm away from the end"), edit)
            }
            None => finding.cured_by("Move it away from the end, or make the run longer", None),
        });
    }
}
