//! What the press cannot give.

use keepside_model::{Edit, Moulding, Project};

use super::shot::Shot;
use super::{Drawn, Finding, Severity};
use crate::opening::{Opening, Outcome};
use crate::press;

/// More melt than one shot has.
pub(super) fn shot(drawn: &Drawn<'_>, shot: &Shot<'_>, findings: &mut Vec<Finding>) {
    let (Some(used), press) = (shot.press, &drawn.project.press) else { return };
    if used.melt_mm3 <= press.shot_volume_mm3 {
        return;
    }
    let message = format!(
        "the shot takes {:.1} cm³ of melt ({:.1} g), {} gives {:.1} cm³ at most",
        used.melt_mm3 * 1e-3,
        used.mass_g,
        named(drawn.project),
        press.shot_volume_mm3 * 1e-3
    );
    findings.push(
        compared("press-shot", message, used.melt_mm3 * 1e-3, press.shot_volume_mm3 * 1e-3, "cm³")
            .cured_by("Make the part smaller, or use a larger press", None),
    );
}

/// A mould that is pushed open.
pub(super) fn clamp(drawn: &Drawn<'_>, shot: &Shot<'_>, findings: &mut Vec<Finding>) {
    let (Some(used), press) = (shot.press, &drawn.project.press) else { return };
    if used.clamp_n <= press.clamp_n {
        return;
    }
    let message = format!(
        "{:.0} mm² at {:.1} MPa push the halves apart with {:.1} kN, {} holds {:.1} kN: the mould opens a crack and \
         flashes",
        used.projected_mm2,
        used.cavity_mpa,
        used.clamp_n * 1e-3,
        named(drawn.project),
        press.clamp_n * 1e-3
    );
    let finding = compared("press-clamp", message, used.clamp_n * 1e-3, press.clamp_n * 1e-3, "kN");
    // Packing may be what does it.
    let holds_mpa = (press.clamp_n / used.projected_mm2 * 10.0).floor() / 10.0;
    let moulding = &drawn.project.moulding;
    let is_packing = moulding.packing_pressure_mpa >= used.cavity_mpa;
    findings.push(if is_packing && holds_mpa > 0.0 {
        let edit = Edit::SetMoulding(Moulding { packing_pressure_mpa: holds_mpa, ..moulding.clone() });
        finding.cured_by(format!("Pack with {holds_mpa:.1} MPa"), Some(edit))
    } else {
        finding.cured_by("Inject more slowly or hotter, or use a larger press", None)
    });
}

/// Plates that are larger than the platen, whichever way they are turned.
pub(super) fn platen(drawn: &Drawn<'_>, _: &Shot<'_>, findings: &mut Vec<Finding>) {
    let (plates, press) = (&drawn.project.plates, &drawn.project.press);
    let fits = |width_mm: f64, height_mm: f64| {
        plates.width_mm <= width_mm + 1e-9 && plates.height_mm <= height_mm + 1e-9
    };
    if fits(press.platen_width_mm, press.platen_height_mm)
        || fits(press.platen_height_mm, press.platen_width_mm)
    {
        return;
    }
    let message = format!(
        "the plates are {:.0} × {:.0} mm, the platen of {} is {:.0} × {:.0} mm",
        plates.width_mm,
        plates.height_mm,
        named(drawn.project),
        press.platen_width_mm,
        press.platen_height_mm
    );
    let finding = Finding::new("press-platen", Severity::Warning, [], None, message);
    findings.push(finding.cured_by("Make the plates smaller, or use a larger press", None));
}

/// Settings beyond what the press does.
pub(super) fn settings(drawn: &Drawn<'_>, _: &Shot<'_>, findings: &mut Vec<Finding>) {
    let (moulding, press) = (&drawn.project.moulding, &drawn.project.press);
    if moulding.injection_rate_mm3_s > press.rate_limit_mm3_s {
        let (set, limit) = (moulding.injection_rate_mm3_s * 1e-3, press.rate_limit_mm3_s * 1e-3);
        let message = format!(
            "an injection rate of {set:.1} cm³/s is set, {} does {limit:.1} cm³/s",
            named(drawn.project)
        );
        let injection_rate_mm3_s = press.rate_limit_mm3_s;
        let edit = Edit::SetMoulding(Moulding { injection_rate_mm3_s, ..moulding.clone() });
        findings.push(
            compared("press-rate", message, set, limit, "cm³/s").cured_by("Set what it does", Some(edit)),
        );
    }
    if moulding.packing_pressure_mpa > press.pressure_limit_mpa {
        let (set, limit) = (moulding.packing_pressure_mpa, press.pressure_limit_mpa);
        let message = format!(
            "a packing pressure of {set:.1} MPa is set, {} does {limit:.1} MPa",
            named(drawn.project)
        );
        let edit = Edit::SetMoulding(Moulding { packing_pressure_mpa: limit, ..moulding.clone() });
        findings.push(
            compared("press-pressure", message, set, limit, "MPa").cured_by("Set what it does", Some(edit)),
        );
    }
}

/// A stroke after which the part has no room to fall out.
pub(crate) fn stroke(project: &Project, opening: &Opening) -> Option<Finding> {
    if opening.verdict.outcome != Outcome::StaysOnMoving {
        return None;
    }
    let used = press::stroke(project, opening);
    if used.needed_mm <= project.press.stroke_mm {
        return None;
    }
    let last = used.last.map_or_else(|| "the last face".to_owned(), |id| project.tag(id));
    let message = format!(
        "{last} lets go at an opening of {:.2} mm, and the part with its plugs is {:.1} mm high: together \
         {:.1} mm, more than the stroke of {:.1} mm",
        used.last_mm, used.part_mm, used.needed_mm, project.press.stroke_mm
    );
    let items: Vec<_> = used.last.into_iter().collect();
    let at = used.last.and_then(|id| project.place(id));
    let finding = Finding::new("press-stroke", Severity::Warning, items, at, message);
    Some(
        finding
            .comparing_mm(project.press.stroke_mm, used.needed_mm)
            .cured_by("Shorten or draft the gates, or use a press that opens farther", None),
    )
}

fn compared(rule: &'static str, message: String, measured: f64, needed: f64, unit: &'static str) -> Finding {
    let finding = Finding::new(rule, Severity::Warning, [], None, message);
    Finding { measured: Some(measured), needed: Some(needed), unit, ..finding }
}

/// The press in a sentence.
fn named(project: &Project) -> String {
    let name = project.press.name.trim();
    if name.is_empty() { "the press".to_owned() } else { format!("the press \"{name}\"") }
}
