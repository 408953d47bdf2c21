//! What an undercut ring leaves of its post.

use keepside_model::{FeatureKind, KeyingFeature};

use super::Mounted;
use crate::finding::cure::SLACK_MM;
use crate::finding::{Finding, Severity};

/// Least neck behind a ring, in diameters of the post. Assumed: a thinner one breaks when the part pulls.
const NECK: f64 = 1.0 / 3.0;

/// The thinnest ring that a project may hold, mm.
const THINNEST_MM: f64 = 0.05;

/// A ring so deep that the neck left behind it does not bear.
pub(super) fn neck(of: &Mounted<'_>) -> Option<Finding> {
    let FeatureKind::RingedPost { diameter_mm, ring_depth_mm, ring_width_mm, land_mm, flank_deg } =
        of.feature.kind
    else {
        return None;
    };
    let (neck_mm, needed_mm) = (diameter_mm - 2.0 * ring_depth_mm, NECK * diameter_mm);
    if neck_mm >= needed_mm - SLACK_MM {
        return None;
    }
    let (severity, message) = if neck_mm <= 0.0 {
        (Severity::Fault, format!("the ring of {} cuts its post off", of.title()))
    } else {
        let message = format!(
            "the ring of {} leaves a neck of {neck_mm:.2} mm; {needed_mm:.2} mm, a third of the post, are needed",
            of.title()
        );
        (Severity::Warning, message)
    };
    let finding = of.finding("ring-neck", severity, message).comparing_mm(neck_mm, needed_mm);
    let shallower_mm = ((0.5 * (diameter_mm - needed_mm) + SLACK_MM) * 20.0).floor() / 20.0;
    if shallower_mm < THINNEST_MM {
        return Some(finding.cured_by("Use a thicker post", None));
    }
    let kind = FeatureKind::RingedPost {
        diameter_mm,
        ring_depth_mm: shallower_mm,
        ring_width_mm,
        land_mm,
        flank_deg,
    };
    let edit = of.set(KeyingFeature { kind, ..of.feature.clone() });
    Some(finding.cured_by(format!("Turn the ring {shallower_mm:.2} mm deep"), edit))
}
