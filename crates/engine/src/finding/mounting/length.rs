//! Whether the screw is sold, and whether it stays inside the plate.

use keepside_model::KeyingFeature;

use super::Mounted;
use crate::finding::{Finding, Severity};
use crate::hardware::{self, Sold};

/// A length given by the user that is not sold, or about which the tables disagree.
pub(super) fn sold(of: &Mounted<'_>) -> Option<Finding> {
    let screw = of.mount.screw.filter(|screw| screw.is_given)?;
    let (severity, message) = match screw.sold {
        Sold::Yes => return None,
        Sold::Uncertain => {
            let message = format!(
                "{} is {} mm long; the published tables disagree whether a {} {} of that length is sold",
                of.title(),
                screw.length_mm,
                screw.stock.word(),
                screw.thread.designation()
            );
            (Severity::Note, message)
        }
        Sold::No => {
            let message = format!(
                "{} is {} mm long; no {} {} of that length is sold",
                of.title(),
                screw.length_mm,
                screw.stock.word(),
                screw.thread.designation()
            );
            (Severity::Warning, message)
        }
    };
    let finding = of.finding("screw-length", severity, message);
    let is_sure = |length_mm: f64| hardware::sold(screw.stock, screw.thread, length_mm) == Sold::Yes;
    let sound = of.with_sound_length(screw.length_mm);
    let mut lengths: Vec<f64> = hardware::lengths(screw.stock, screw.thread).map(|(mm, _)| mm).collect();
    lengths.sort_by(|a, b| {
        let from = |length_mm: &f64| (length_mm - screw.length_mm).abs();
        is_sure(*b).cmp(&is_sure(*a)).then(from(a).total_cmp(&from(b)))
    });
    let nearest = lengths.into_iter().next().map(|length_mm| {
        (KeyingFeature { screw_length_mm: Some(length_mm), ..of.feature.clone() }, length_mm)
    });
    Some(match sound.or(nearest).filter(|(_, length_mm)| is_sure(*length_mm)) {
        Some((changed, length_mm)) => finding
            .comparing_mm(screw.length_mm, length_mm)
            .cured_by(format!("Use one of {length_mm} mm, the nearest that is surely sold"), of.set(changed)),
        None => finding.cured_by("Look it up, or cut a longer one to length", None),
    })
}

/// A screw whose back end sticks out of the plate's back.
pub(super) fn inside(of: &Mounted<'_>) -> Option<Finding> {
    let screw = of.mount.screw.filter(|screw| screw.sticks_out())?;
    let message = format!(
        "{}, {} mm long, sticks {:.2} mm out of the plate's back: the plate does not lie flat",
        of.title(),
        screw.length_mm,
        -screw.back_mm
    );
    let finding = of.finding("screw-out", Severity::Fault, message).comparing_mm(screw.back_mm, 0.0);
    if let Some((changed, length_mm)) = of.with_sound_length(screw.length_mm) {
        return Some(finding.cured_by(format!("Use one of {length_mm} mm"), of.set(changed)));
    }
    let usual = KeyingFeature { screw_length_mm: None, ..of.feature.clone() };
    let stays_inside = |screw: &crate::mount::Screw| !screw.sticks_out();
    if let Some(shorter) = of.mounted(&usual).screw.filter(stays_inside) {
        return Some(finding.cured_by(format!("Use one of {} mm", shorter.length_mm), of.set(usual)));
    }
    let (words, edit) = of.thicker(screw.in_plate_mm);
    Some(finding.cured_by(words, edit))
}
