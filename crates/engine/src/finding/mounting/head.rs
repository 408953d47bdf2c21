//! Heads: what is left of a cap screw's after turning, and the room under a head.

use keepside_model::{FeatureKind, KeyingFeature, ThreadSize};

use super::Mounted;
use crate::finding::cure::SLACK_MM;
use crate::finding::{Finding, Severity};
use crate::hardware;
use crate::outline::{depth_at, plan_diameter_mm};

/// Least metal round the socket of a head that is turned down, in diameters of the thread. Assumed: about as
/// much as a set screw has round its own socket, inside the thread.
const SOCKET_WALL: f64 = 0.1;

/// Least height of plastic under a head, mm. Assumed: less does not fill.
const UNDER_HEAD_MM: f64 = 0.3;

/// Largest width of a hexagon socket across its corners, mm.
fn corners_mm(thread: ThreadSize) -> f64 {
    2.0 / 3.0_f64.sqrt() * hardware::cap_head(thread).socket_mm
}

/// A head turned down so far that its socket is left too thin a wall, or that it is thinner than its thread.
pub(super) fn turned(of: &Mounted<'_>) -> Option<Finding> {
    let FeatureKind::CapHead { thread, turned_mm: Some(turned_mm), chamfer_mm } = of.feature.kind else {
        return None;
    };
    let nominal_mm = hardware::nominal_diameter_mm(thread);
    let (wall_mm, needed_mm) = (0.5 * (turned_mm - corners_mm(thread)), SOCKET_WALL * nominal_mm);
    if wall_mm >= needed_mm - SLACK_MM {
        return None;
    }
    let (severity, what) = if wall_mm < -SLACK_MM {
        (Severity::Fault, "which cuts into its socket".to_owned())
    } else if turned_mm <= nominal_mm {
        let what = format!("no wider than its thread, and leaves {wall_mm:.2} mm of metal round the socket");
        (Severity::Fault, what)
    } else {
        let what =
            format!("which leaves {wall_mm:.2} mm of metal round the socket; {needed_mm:.2} mm are needed");
        (Severity::Warning, what)
    };
    let message = format!("{} is turned down to {turned_mm} mm, {what}", of.title());
    let least_mm = corners_mm(thread) + 2.0 * needed_mm;
    let wider_mm = ((least_mm - SLACK_MM) * 10.0).ceil() / 10.0;
    let kind = FeatureKind::CapHead { thread, turned_mm: Some(wider_mm), chamfer_mm };
    let edit = of.set(KeyingFeature { kind, ..of.feature.clone() });
    Some(
        of.finding("turned-cap", severity, message)
            .comparing_mm(wall_mm, needed_mm)
            .cured_by(format!("Turn it down to {wider_mm:.1} mm only"), edit),
    )
}

/// A chamfer that runs into the thread.
pub(super) fn chamfer(of: &Mounted<'_>) -> Option<Finding> {
    let FeatureKind::CapHead { thread, turned_mm, chamfer_mm } = of.feature.kind else { return None };
    let most_mm = 0.5 * (plan_diameter_mm(&of.feature.kind) - hardware::nominal_diameter_mm(thread));
    // A head too thin for its thread is told by its own rule.
    if most_mm <= 0.0 || chamfer_mm <= most_mm + SLACK_MM {
        return None;
    }
    let message = format!(
        "the chamfer of {} is {chamfer_mm} mm wide; the head stands out {most_mm:.2} mm beyond its thread",
        of.title()
    );
    let narrower_mm = ((most_mm + SLACK_MM) * 20.0).floor() / 20.0;
    let kind = FeatureKind::CapHead { thread, turned_mm, chamfer_mm: narrower_mm };
    let edit = of.set(KeyingFeature { kind, ..of.feature.clone() });
    Some(
        of.finding("chamfer", Severity::Warning, message)
            .comparing_mm(chamfer_mm, most_mm)
            .cured_by(format!("Chamfer it by {narrower_mm:.2} mm"), edit),
    )
}

/// A head that stands on the channel floor or so near to it that nothing fills in under it.
pub(super) fn clear(of: &Mounted<'_>) -> Option<Finding> {
    let height_mm = match of.feature.kind {
        FeatureKind::CapHead { thread, .. } => hardware::cap_head(thread).head_height_mm,
        FeatureKind::TurnedHead { head_height_mm, head_diameter_mm, neck_diameter_mm, .. }
            if head_diameter_mm > neck_diameter_mm =>
        {
            head_height_mm
        }
        _ => return None,
    };
    let clear_mm = of.feature.protrusion_mm - height_mm;
    if clear_mm >= UNDER_HEAD_MM - SLACK_MM {
        return None;
    }
    let message = if clear_mm < -SLACK_MM {
        format!("{} is sunk {:.2} mm into the plate and locks nothing", of.title(), -clear_mm)
    } else {
        format!(
            "{} stands {:.2} mm clear of the channel floor; plastic needs {UNDER_HEAD_MM:.2} mm to \
             fill in under it",
            of.title(),
            clear_mm.max(0.0)
        )
    };
    let finding = of.finding("under-head", Severity::Warning, message).comparing_mm(clear_mm, UNDER_HEAD_MM);
    let (words, changed) = raised(of, height_mm);
    Some(finding.cured_by(words, changed.and_then(|changed| of.set(changed))))
}

/// The feature raised until plastic fills in under its head; if the roof is too thin for that, a lower head.
fn raised(of: &Mounted<'_>, height_mm: f64) -> (String, Option<KeyingFeature>) {
    let project = of.drawn.project;
    let most_mm =
        depth_at(project, of.feature.at).map_or(f64::INFINITY, |depth| depth - project.limits.roof_mm);
    let raised_mm = height_mm + UNDER_HEAD_MM;
    if raised_mm <= most_mm + SLACK_MM {
        let changed = KeyingFeature { protrusion_mm: raised_mm, ..of.feature.clone() };
        return (format!("Raise it to {raised_mm:.2} mm"), Some(changed));
    }
    // Down to the next tenth, as one would turn it.
    let lower_mm = ((most_mm - UNDER_HEAD_MM + SLACK_MM) * 10.0).floor() / 10.0;
    match of.feature.kind {
        FeatureKind::TurnedHead { head_diameter_mm, neck_diameter_mm, underside_deg, .. }
            if lower_mm >= 0.3 =>
        {
            let kind = FeatureKind::TurnedHead {
                head_diameter_mm,
                neck_diameter_mm,
                head_height_mm: lower_mm,
                underside_deg,
            };
            let protrusion_mm = lower_mm + UNDER_HEAD_MM;
            let changed = KeyingFeature { kind, protrusion_mm, ..of.feature.clone() };
            (format!("Turn the head {lower_mm:.1} mm high"), Some(changed))
        }
        FeatureKind::CapHead { .. } => {
            let fits = |size: &&ThreadSize| hardware::cap_head(**size).head_height_mm <= lower_mm + SLACK_MM;
            let on_hand = super::on_hand_sizes(project);
            match on_hand.iter().rev().find(fits) {
                Some(&thread) => {
                    let protrusion_mm = hardware::cap_head(thread).head_height_mm + UNDER_HEAD_MM;
                    let kind = FeatureKind::cap_head(thread);
                    let changed =
                        KeyingFeature { kind, protrusion_mm, screw_length_mm: None, ..of.feature.clone() };
                    (format!("Use {}, {protrusion_mm:.2} mm high", thread.designation()), Some(changed))
                }
                None => (
                    format!("Make the channel {:.1} mm deep there", raised_mm + project.limits.roof_mm),
                    None,
                ),
            }
        }
        _ => ("Make the channel deeper there".to_owned(), None),
    }
}
