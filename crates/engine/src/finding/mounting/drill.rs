//! Whether the point of the drill stays inside the plate.

use keepside_model::{KeyingFeature, Lock};

use super::Mounted;
use crate::finding::cure::SLACK_MM;
use crate::finding::{Finding, Severity};
use crate::mount::Depth;

/// A blind hole whose point comes out of the plate's back or close to it.
pub(super) fn point(of: &Mounted<'_>) -> Option<Finding> {
    let needed_mm = of.drawn.project.limits.drill_floor_mm;
    let Depth::Blind { full_mm, point_mm, left_mm } = of.mount.hole.depth else { return None };
    if left_mm >= needed_mm - SLACK_MM {
        return None;
    }
    let hole = format!("the hole of {}, {full_mm:.1} mm deep and {point_mm:.1} mm of point,", of.title());
    let message = if left_mm < -SLACK_MM {
        format!("{hole} breaks through the plate's back by {:.2} mm", -left_mm)
    } else {
        format!("{hole} leaves {left_mm:.2} mm to the plate's back; {needed_mm:.2} mm are needed")
    };
    let finding = of.finding("drill-point", Severity::Warning, message).comparing_mm(left_mm, needed_mm);
    let screw = of.mount.screw?;
    if screw.is_given
        && let Some((changed, length_mm)) = of.with_sound_length(screw.length_mm)
    {
        return Some(finding.cured_by(format!("Use a screw of {length_mm} mm"), of.set(changed)));
    }
    let locked = KeyingFeature { lock: Lock::BackScrew, ..of.feature.clone() };
    if of.is_sound(&of.mounted(&locked)) {
        let words = "Drill right through and lock it by a second screw from behind";
        return Some(finding.cured_by(words, of.set(locked)));
    }
    let (words, edit) = of.thicker(of.mount.steel_mm + needed_mm - left_mm);
    Some(finding.cured_by(words, edit))
}
