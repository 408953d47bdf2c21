//! Plugs that may stay in the socket of a screw.

use keepside_model::{FeatureKind, Half, KeyingFeature, ScrewEnd};

use super::cure::set;
use super::{Drawn, Finding, Severity};
use crate::hold;

/// Set screws of the moving half with the socket up whose walls hold the plug with so large a share of what
/// its neck bears that it may stay behind: from then on the socket is full and pulls no more.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let project = drawn.project;
    for (&id, feature) in project.features.iter().filter(|(_, feature)| feature.half == Half::Moving) {
        let FeatureKind::SetScrew { thread, end: ScrewEnd::Socket } = feature.kind else { continue };
        let plug = hold::socket_plug(project, thread, feature.screw_length_mm);
        if !plug.may_be_lost() || feature.protrusion_mm <= 0.0 {
            continue;
        }
        let most_n = plug.safe_share * plug.strength_n;
        let message = format!(
            "the socket of set screw {} holds its plug with {:.1} N, and the plug\u{2019}s neck bears {:.1} N: above \
             {most_n:.1} N it may stay behind, and the screw then holds less",
            project.tag(id),
            plug.drag_n,
            plug.strength_n
        );
        let kind = FeatureKind::SetScrew { thread, end: ScrewEnd::Flat };
        let edit = set(id, KeyingFeature { kind, ..feature.clone() });
        let finding = Finding::new("plug-risk", Severity::Warning, [id], Some(feature.at), message);
        findings.push(
            Finding { measured: Some(plug.drag_n), needed: Some(most_n), unit: "N", ..finding }
                .cured_by("Turn the screw over, flat point up, so that no plug fills its socket", edit),
        );
    }
}
