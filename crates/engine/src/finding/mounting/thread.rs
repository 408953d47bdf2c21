//! Length of thread in the plate.

use keepside_model::{Edit, KeyingFeature};

use super::Mounted;
use crate::finding::{Finding, Severity};
use crate::{hardware, mount};

/// Fewer diameters of thread in the plate than asked for.
pub(super) fn engagement(of: &Mounted<'_>) -> Option<Finding> {
    let needed = of.drawn.project.limits.engagement_diameters;
    let screw = of.mount.screw.filter(|screw| !screw.is_engaged(needed))?;
    let nominal_mm = hardware::nominal_diameter_mm(screw.thread);
    let (got_mm, needed_mm) = (screw.engagement_mm, needed * nominal_mm);
    let (severity, message) = if got_mm <= 0.0 {
        (Severity::Fault, format!("{} has no thread in the plate", of.title()))
    } else {
        let message = format!(
            "{}, {} mm long, has {got_mm:.2} mm of thread in the plate, {:.1} diameters; {needed:.1} are needed",
            of.title(),
            screw.length_mm,
            screw.engagement_diameters
        );
        (Severity::Warning, message)
    };
    let finding = of.finding("thread-engagement", severity, message).comparing_mm(got_mm, needed_mm);
    if let Some((changed, length_mm)) = of.with_sound_length(screw.length_mm) {
        return Some(finding.cured_by(format!("Use one of {length_mm} mm"), of.set(changed)));
    }
    let (words, edit) = thick_enough(of);
    Some(finding.cured_by(words, edit))
}

/// The thinnest plate, in whole millimetres, in which a sold screw is held.
fn thick_enough(of: &Mounted<'_>) -> (String, Option<Edit>) {
    let mut project = of.drawn.project.clone();
    let usual = KeyingFeature { screw_length_mm: None, ..of.feature.clone() };
    let is_usual = of.feature.screw_length_mm.is_none();
    let least_mm = of.mount.steel_mm.ceil();
    // In a plate thick enough whatever the screw: how much of it the shortest that holds takes.
    project.plates.moving_thickness_mm = 500.0;
    project.plates.fixed_thickness_mm = 500.0;
    let screw = mount::mounted(&project, &usual, of.mount.floor_mm).screw;
    match screw.filter(|screw| is_usual && screw.is_engaged(project.limits.engagement_diameters)) {
        Some(screw) => of.thicker(screw.in_plate_mm.max(least_mm)),
        None => ("Use a smaller screw or a thicker plate".to_owned(), None),
    }
}
