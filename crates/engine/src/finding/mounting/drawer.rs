//! Sizes that are not on hand.

use keepside_model::{FeatureKind, KeyingFeature, Project, ThreadSize};

use super::Mounted;
use crate::finding::cure::SLACK_MM;
use crate::finding::{Finding, Severity};
use crate::hardware::nominal_diameter_mm;
use crate::outline::plan_diameter_mm;

/// The sizes from which cures choose, smallest first: those in the drawer, or all if it names none.
pub(crate) fn on_hand_sizes(project: &Project) -> Vec<ThreadSize> {
    let is_on_hand = |size: &ThreadSize| project.drawer.is_empty() || project.drawer.contains(size);
    ThreadSize::ALL.into_iter().filter(is_on_hand).collect()
}

/// The same kind of feature in another size; a head turned down stays so only if it still makes sense.
pub(crate) fn in_size(kind: &FeatureKind, thread: ThreadSize) -> FeatureKind {
    match *kind {
        FeatureKind::SetScrew { end, .. } => FeatureKind::SetScrew { thread, end },
        FeatureKind::CapHead { .. } => FeatureKind::cap_head(thread),
        turned @ (FeatureKind::TurnedHead { .. }
        | FeatureKind::PlainPost { .. }
        | FeatureKind::RingedPost { .. }) => turned,
    }
}

/// A screw whose size is not in the drawer.
pub(super) fn on_hand(of: &Mounted<'_>) -> Option<Finding> {
    let project = of.drawn.project;
    let thread = of.feature.kind.thread()?;
    if project.drawer.is_empty() || project.drawer.contains(&thread) {
        return None;
    }
    let message = format!("{} is {}, which is not in the drawer", of.title(), thread.designation());
    let finding = of.finding("not-on-hand", Severity::Note, message);
    let room_mm = of.drawn.clear_mm(of.feature.at) - project.limits.flow_gap_mm + SLACK_MM;
    let away = |size: ThreadSize| (nominal_diameter_mm(size) - nominal_diameter_mm(thread)).abs();
    let mut sizes = on_hand_sizes(project);
    sizes.sort_by(|a, b| away(*a).total_cmp(&away(*b)));
    let found = sizes.into_iter().find_map(|size| {
        let kind = in_size(&of.feature.kind, size);
        let changed = KeyingFeature { kind, screw_length_mm: None, ..of.feature.clone() };
        let fits = 0.5 * plan_diameter_mm(&kind) <= room_mm && of.is_sound(&of.mounted(&changed));
        fits.then_some((size, changed))
    });
    Some(match found {
        Some((size, changed)) => {
            let words = format!("Use {}, the nearest on hand that fits", size.designation());
            finding.cured_by(words, of.set(changed))
        }
        None => finding.cured_by(format!("Buy {}: nothing on hand fits there", thread.designation()), None),
    })
}
