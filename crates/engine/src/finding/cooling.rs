//! Temperatures, times and packing.

use keepside_model::{Edit, Moulding};

use super::shot::Shot;
use super::{Drawn, Finding, Severity};
use crate::cooling::NotCooled;

/// Temperatures at which no part comes out.
pub(super) fn never(_: &Drawn<'_>, shot: &Shot<'_>, findings: &mut Vec<Finding>) {
    if let Err(reason) = shot.cooling
        && !matches!(reason, NotCooled::NoPart(_))
    {
        findings.push(Finding::new("cooling", Severity::Fault, [], None, reason.to_string()));
    }
}

/// A temperature of the shot.
struct Setting {
    what: &'static str,
    set_c: Option<f64>,
    low_c: f64,
    high_c: f64,
    usual_c: f64,
    clear: fn(&mut Moulding),
}

/// Melt and mould temperatures outside what is usual for the material.
pub(super) fn unusual(drawn: &Drawn<'_>, _: &Shot<'_>, findings: &mut Vec<Finding>) {
    let (moulding, material) = (&drawn.project.moulding, &drawn.project.material);
    let melt = &material.melt;
    let settings = [
        Setting {
            what: "melt",
            set_c: moulding.own_melt_temperature_c,
            low_c: melt.melt_temperature_low_c,
            high_c: melt.melt_temperature_high_c,
            usual_c: melt.melt_temperature_c,
            clear: |moulding| moulding.own_melt_temperature_c = None,
        },
        Setting {
            what: "mould",
            set_c: moulding.own_mould_temperature_c,
            low_c: melt.mould_temperature_low_c,
            high_c: melt.mould_temperature_high_c,
            usual_c: melt.mould_temperature_c,
            clear: |moulding| moulding.own_mould_temperature_c = None,
        },
    ];
    for Setting { what, set_c, low_c, high_c, usual_c, clear } in settings {
        let Some(set_c) = set_c else { continue };
        if (low_c..=high_c).contains(&set_c) {
            continue;
        }
        let message = format!(
            "the {what} temperature of {set_c:.0} °C is outside what is usual for {}, {low_c:.0} to {high_c:.0} °C",
            material.name
        );
        let mut cured = moulding.clone();
        clear(&mut cured);
        let needed = if set_c < low_c { low_c } else { high_c };
        let finding = Finding::new("temperature", Severity::Warning, [], None, message);
        let finding = Finding { measured: Some(set_c), needed: Some(needed), unit: "°C", ..finding };
        findings.push(
            finding.cured_by(format!("Take the usual {usual_c:.0} °C"), Some(Edit::SetMoulding(cured))),
        );
    }
}

/// A mould that opens while the part is too hot to be pushed off.
pub(super) fn too_soon(drawn: &Drawn<'_>, shot: &Shot<'_>, findings: &mut Vec<Finding>) {
    let Ok(cooling) = shot.cooling else { return };
    if cooling.opens_s >= cooling.needed_s * (1.0 - 1e-6) {
        return;
    }
    let moulding = &drawn.project.moulding;
    let message = format!(
        "the mould opens {:.1} s after filling, when run {} is still {:.0} °C in its middle; it takes {:.1} s to \
         {:.0} °C",
        cooling.opens_s,
        drawn.project.tag(cooling.thickest.run),
        cooling.hottest_c,
        cooling.needed_s,
        moulding.ejection_temperature_c(&drawn.project.material)
    );
    let finding = Finding::new(
        "opens-hot",
        Severity::Warning,
        [cooling.thickest.run],
        Some(cooling.thickest.at),
        message,
    );
    let (measured, needed) = (Some(cooling.opens_s), Some(cooling.needed_s));
    let edit = Edit::SetMoulding(Moulding { cooling_time_s: None, ..moulding.clone() });
    findings.push(
        Finding { measured, needed, unit: "s", ..finding }
            .cured_by("Keep it closed as long as the thickest place needs", Some(edit)),
    );
}

/// Packing that is let off while melt can still flow back out of a gate.
pub(super) fn let_off(drawn: &Drawn<'_>, shot: &Shot<'_>, findings: &mut Vec<Finding>) {
    let Ok(cooling) = shot.cooling else { return };
    let moulding = &drawn.project.moulding;
    // Without packing there is nothing to let off, and on a hand press that may be meant.
    if moulding.packing_pressure_mpa <= 0.0 || moulding.packing_time_s <= 0.0 {
        return;
    }
    let open = cooling.gates.iter().filter(|gate| gate.is_let_off_early);
    let freezes_s =
        |gate: &crate::cooling::GateFreeze| gate.channel_s.map_or(gate.bore_s, |s| s.min(gate.bore_s));
    let Some(last) = open.max_by(|a, b| freezes_s(a).total_cmp(&freezes_s(b))) else { return };
    let needed_s = (freezes_s(last) * 10.0).ceil() / 10.0;
    let message = format!(
        "packing is let off after {:.1} s, when gate {} is still open: melt flows back until it freezes at {:.1} s",
        moulding.packing_time_s,
        drawn.project.tag(last.sprue),
        freezes_s(last)
    );
    let edit = Edit::SetMoulding(Moulding { packing_time_s: needed_s, ..moulding.clone() });
    let finding = Finding::new("packing-short", Severity::Note, [last.sprue], Some(last.at), message);
    let (measured, needed) = (Some(moulding.packing_time_s), Some(freezes_s(last)));
    findings.push(
        Finding { measured, needed, unit: "s", ..finding }
            .cured_by(format!("Keep packing on for {needed_s:.1} s"), Some(edit)),
    );
}

/// Stretches that a thinner place cuts off from packing.
pub(super) fn cut_off(drawn: &Drawn<'_>, shot: &Shot<'_>, findings: &mut Vec<Finding>) {
    let Ok(cooling) = shot.cooling else { return };
    for cut in &cooling.unpacked {
        let message = format!(
            "run {} from {:.0} to {:.0} mm is packed for {:.1} s only, as a thinner place on the way freezes; it \
             freezes itself after {:.1} s and may sink",
            drawn.project.tag(cut.run),
            cut.from_mm,
            cut.to_mm,
            cut.until_s,
            cut.freezes_s
        );
        let finding = Finding::new("packing-cut", Severity::Note, [cut.run], Some(cut.at), message);
        let (measured, needed) = (Some(cut.until_s), Some(cut.freezes_s));
        findings.push(
            Finding { measured, needed, unit: "s", ..finding }
                .cured_by("Gate it where it is thickest, or make the thin place thicker", None),
        );
    }
}
