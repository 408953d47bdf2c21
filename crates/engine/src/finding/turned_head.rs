//! Turned heads that do not overhang their neck.

use keepside_model::{FeatureKind, KeyingFeature};

use super::cure::set;
use super::{Drawn, Finding, Severity};

/// Heads no larger than their neck: there is no undercut, and the feature only drags.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    for (&id, feature) in &drawn.project.features {
        let FeatureKind::TurnedHead { head_diameter_mm, neck_diameter_mm, head_height_mm, underside_deg } =
            feature.kind
        else {
            continue;
        };
        if head_diameter_mm > neck_diameter_mm {
            continue;
        }
        let message = format!(
            "turned head {} has a head of {head_diameter_mm:.2} mm on a neck of {neck_diameter_mm:.2} mm: \
             there is no undercut to hold by",
            drawn.project.tag(id)
        );
        let finding = Finding::new("turned-head", Severity::Warning, [id], Some(feature.at), message)
            .comparing_mm(head_diameter_mm, neck_diameter_mm);
        // The two numbers are easily typed the wrong way round.
        findings.push(if head_diameter_mm < neck_diameter_mm {
            let kind = FeatureKind::TurnedHead {
                head_diameter_mm: neck_diameter_mm,
                neck_diameter_mm: head_diameter_mm,
                head_height_mm,
                underside_deg,
            };
            let edit = set(id, KeyingFeature { kind, ..feature.clone() });
            finding.cured_by("Exchange the two diameters", edit)
        } else {
            finding.cured_by("Make the neck thinner than the head", None)
        });
    }
}
