//! Plastic over a feature.

use keepside_model::{FeatureKind, KeyingFeature};

use super::cure::{SLACK_MM, set};
use super::{Drawn, Finding, Severity};
use crate::outline::GapTo;

/// A feature this close to the opposite face shuts off against it, mm: a hole through the part. As near
/// as a post is fitted by hand; common practice, no source.
const SHUT_OFF_MM: f64 = 0.02;

/// Features that stand too high: thin roofs, and features that would hold the mould open.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let needed_mm = drawn.project.limits.roof_mm;
    for gap in drawn.gaps.iter().filter(|gap| gap.to == GapTo::Roof) {
        let Some(feature) = drawn.project.features.get(&gap.item) else { continue };
        if gap.gap_mm >= needed_mm - SLACK_MM {
            continue;
        }
        let (what, roof_mm) =
            (format!("{} {}", feature.kind.word(), drawn.project.tag(gap.item)), gap.gap_mm);
        let depth_mm = feature.protrusion_mm + roof_mm;
        let (severity, message) = if roof_mm < -SHUT_OFF_MM {
            let message = format!(
                "{what} stands {:.2} mm high in a channel {depth_mm:.2} mm deep: the mould cannot close on it",
                feature.protrusion_mm
            );
            (Severity::Fault, message)
        } else if roof_mm <= SHUT_OFF_MM && matches!(feature.kind, FeatureKind::PlainPost { .. }) {
            (Severity::Note, format!("{what} reaches the opposite half and leaves a hole through the part"))
        } else {
            let roof_mm = roof_mm.max(0.0);
            let message = format!("{what} leaves a roof of {roof_mm:.2} mm; {needed_mm:.2} mm is needed");
            (Severity::Warning, message)
        };
        let finding = Finding::new("roof", severity, [gap.item], Some(feature.at), message)
            .comparing_mm(roof_mm, needed_mm);
        findings.push(match severity {
            Severity::Note => finding,
            Severity::Fault | Severity::Warning => cured(finding, feature, depth_mm - needed_mm),
        });
    }
}

fn cured(finding: Finding, feature: &KeyingFeature, protrusion_mm: f64) -> Finding {
    // Down to a hundredth, as one would set it with a depth gauge.
    let protrusion_mm = ((protrusion_mm + SLACK_MM) * 100.0).floor() / 100.0;
    if protrusion_mm <= 0.0 {
        return finding.cured_by("Make the channel deeper there, or put the feature elsewhere", None);
    }
    let edit = set(finding.items[0], KeyingFeature { protrusion_mm, ..feature.clone() });
    finding.cured_by(format!("Lower it to {protrusion_mm:.2} mm"), edit)
}
