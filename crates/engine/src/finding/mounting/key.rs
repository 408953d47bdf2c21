//! Whether a key reaches the socket.

use keepside_model::{FeatureKind, KeyingFeature};

use super::Mounted;
use crate::finding::{Finding, Severity};

/// A screw turned over so far in the plate that no key fills its socket from behind.
pub(super) fn reach(of: &Mounted<'_>) -> Option<Finding> {
    let key = of.mount.key.filter(|key| key.arm.is_none())?;
    let message = format!(
        "the socket of {} is {:.1} mm inside the plate's back; the longest key of {} mm reaches {:.1} mm, \
         {:.1} mm are needed",
        of.title(),
        key.distance_mm,
        key.width_mm,
        key.longest_reach_mm(),
        key.needed_mm
    );
    let finding =
        of.finding("key-reach", Severity::Fault, message).comparing_mm(key.longest_reach_mm(), key.needed_mm);
    let screw = of.mount.screw?;
    // A longer screw brings its socket nearer to the back.
    let longer_mm = screw.length_mm + key.needed_mm - key.longest_reach_mm();
    if let Some((changed, length_mm)) = of.with_sound_length(longer_mm) {
        return Some(finding.cured_by(format!("Use one of {length_mm} mm"), of.set(changed)));
    }
    let kind = FeatureKind::set_screw(screw.thread);
    let changed = KeyingFeature { kind, screw_length_mm: None, ..of.feature.clone() };
    Some(finding.cured_by("Put it in socket up, to be turned from the parting face", of.set(changed)))
}
