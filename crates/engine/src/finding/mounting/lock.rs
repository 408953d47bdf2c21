//! Whether a feature stays where it is put.

use keepside_model::{KeyingFeature, Lock};

use super::Mounted;
use crate::finding::{Finding, Severity};
use crate::mount::LockProblem;

/// A way of locking that does not go, and features that are not locked at all.
pub(super) fn way(of: &Mounted<'_>) -> Option<Finding> {
    let locking = &of.mount.locking;
    let relocked = |lock| of.set(KeyingFeature { lock, ..of.feature.clone() });
    let finding = match locking.problem {
        None if locking.way == Lock::Loose => return Some(loose(of)),
        None => return None,
        Some(LockProblem::NoRoom) => return no_room(of),
        Some(LockProblem::PressedScrew) => {
            let message = format!("{} is to be held by a press fit, which does not hold a screw", of.title());
            let finding = of.finding("lock", Severity::Warning, message);
            finding.cured_by("Lock it as is usual, by a second screw behind it", relocked(Lock::Usual))
        }
        Some(LockProblem::PostTooWide) => {
            let message =
                format!("{} is too wide for a screw behind it: no thread up to M8 lets it pass", of.title());
            let finding = of.finding("lock", Severity::Warning, message);
            finding.cured_by("Press it in", relocked(Lock::PressFit))
        }
    };
    Some(finding)
}

fn loose(of: &Mounted<'_>) -> Finding {
    let (severity, message) = if of.mount.screw.is_some() {
        (Severity::Note, format!("{} is not locked; the part pulls on it at every shot", of.title()))
    } else {
        (Severity::Warning, format!("{} is not locked; the part draws it out of its hole", of.title()))
    };
    let usual = KeyingFeature { lock: Lock::Usual, ..of.feature.clone() };
    let lock = if of.is_sound(&of.mounted(&usual)) { Lock::Usual } else { Lock::Compound };
    let words = match (lock, of.mount.screw.is_some()) {
        (Lock::Usual, true) => "Lock it by a second screw behind it",
        (Lock::Usual, false) => "Press it in",
        _ => "Lock it with compound that stands the mould's heat",
    };
    let edit = of.set(KeyingFeature { lock, ..of.feature.clone() });
    of.finding("lock", severity, message).cured_by(words, edit)
}

/// Too little thread behind a screw for a second one.
fn no_room(of: &Mounted<'_>) -> Option<Finding> {
    let locking = &of.mount.locking;
    let (thread, length_mm) = locking.back_screw?;
    let message = format!(
        "behind {} {:.1} mm of plate are left; a second screw to lock it is {length_mm} mm long at least ({})",
        of.title(),
        locking.room_mm,
        thread.designation()
    );
    let finding =
        of.finding("lock-room", Severity::Warning, message).comparing_mm(locking.room_mm, length_mm);
    let screw = of.mount.screw?;
    if screw.is_given
        && let Some((changed, length_mm)) = of.with_sound_length(screw.length_mm)
    {
        return Some(finding.cured_by(format!("Use a screw of {length_mm} mm"), of.set(changed)));
    }
    let compound = KeyingFeature { lock: Lock::Compound, ..of.feature.clone() };
    if of.is_sound(&of.mounted(&compound)) {
        let words = "Lock it with compound that stands the mould's heat";
        return Some(finding.cured_by(words, of.set(compound)));
    }
    let (words, edit) = of.thicker(screw.in_plate_mm + length_mm);
    Some(finding.cured_by(words, edit))
}
