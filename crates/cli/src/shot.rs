//! The shot (filling, cooling, venting, press), as JSON and as text for people.

use keepside_engine::cooling::Cooling;
use keepside_engine::filling::{Filling, ShortWhy, Weld, WeldKind};
use keepside_engine::venting::{VentedPlace, Venting};
use keepside_engine::{Analysis, press};
use keepside_model::{Id, Project};

use crate::lines::wrapped;
use crate::schema;

/// The shot in the form of the JSON.
pub(crate) fn json(project: &Project, analysis: &Analysis) -> schema::Shot {
    let layout = &analysis.layout;
    let stroke = match &analysis.opening {
        Some(Ok(opening)) => Some(press::stroke(project, opening)),
        _ => None,
    };
    schema::Shot {
        not_filled: layout.filling.as_ref().err().map(ToString::to_string),
        filling: layout.filling.as_ref().ok().map(|filling| filling_json(project, filling)),
        not_cooled: layout.cooling.as_ref().err().map(ToString::to_string),
        cooling: layout.cooling.as_ref().ok().map(|cooling| cooling_json(project, cooling)),
        venting: layout.venting.as_ref().map(|venting| venting_json(project, venting)),
        press: layout.press.map(|used| schema::PressUse {
            part_mm3: used.part_mm3,
            sprues_mm3: used.sprues_mm3,
            melt_mm3: used.melt_mm3,
            mass_g: used.mass_g,
            part_mass_g: used.part_mass_g,
            projected_mm2: used.projected_mm2,
            cavity_mpa: used.cavity_mpa,
            clamp_n: used.clamp_n,
            stroke_needed_mm: stroke.map(|stroke| stroke.needed_mm),
        }),
    }
}

fn filling_json(project: &Project, filling: &Filling) -> schema::Filling {
    let gates = filling.gates.iter().map(|gate| schema::GateFill {
        item: gate.gate.0,
        tag: project.tag(gate.gate),
        opens_s: gate.opens_s,
        share: gate.share,
        shear_rate_per_s: gate.shear_rate_per_s,
        peak_pressure_mpa: gate.peak_pressure_mpa,
    });
    let welds = filling.welds.iter().map(|weld| schema::Weld {
        run: weld.run.0,
        tag: project.tag(weld.run),
        along_mm: weld.along_mm,
        x_mm: weld.at.x,
        y_mm: weld.at.y,
        time_s: weld.time_s,
        kind: kind(weld.kind),
        angle_deg: weld.angle_deg,
        coldest_c: weld.temperatures_c[0].min(weld.temperatures_c[1]),
        near_feature: weld.near_feature.map(|id| id.0),
    });
    let short = filling.short.iter().map(|short| schema::Short {
        run: short.run.0,
        tag: project.tag(short.run),
        from_mm: short.from_mm,
        to_mm: short.to_mm,
        volume_mm3: short.volume_mm3,
        why: why(short.why).0,
    });
    schema::Filling {
        fill_time_s: filling.fill_time_s,
        is_full: filling.is_full,
        peak_pressure_mpa: filling.peak_pressure_mpa,
        pressure_limited_from_s: filling.pressure_limited_from_s,
        gates: gates.collect(),
        welds: welds.collect(),
        short: short.collect(),
    }
}

const fn kind(kind: WeldKind) -> &'static str {
    match kind {
        WeldKind::HeadOn => "head-on",
        WeldKind::Joining => "joining",
        WeldKind::Behind(_) => "behind-feature",
    }
}

/// The key of the JSON, and words for people.
const fn why(why: ShortWhy) -> (&'static str, &'static str) {
    match why {
        ShortWhy::NoGate => ("no-gate", "joined to no gate"),
        ShortWhy::Froze => ("froze", "the melt froze on its way"),
        ShortWhy::Blocked => ("blocked", "a keying feature closes the way"),
        ShortWhy::ShotUsedUp => ("shot-used-up", "the press has no more melt"),
        ShortWhy::NoPressure => ("no-pressure", "the pressure does not move the melt"),
    }
}

fn cooling_json(project: &Project, cooling: &Cooling) -> schema::Cooling {
    let gates = cooling.gates.iter().map(|gate| schema::GateFreeze {
        item: gate.sprue.0,
        tag: project.tag(gate.sprue),
        bore_s: gate.bore_s,
        channel_s: gate.channel_s,
        packs_s: gate.packs_s,
        plug_cold_s: gate.plug_cold_s,
    });
    let spans = cooling.spans.iter().map(|span| schema::LockedSpan {
        run: span.run.0,
        from_item: span.from.0,
        to_item: span.to.0,
        length_mm: span.length_mm,
        held_mm: span.held_mm,
        whole_mm: span.whole_mm,
        pull_n: span.pull_n,
    });
    schema::Cooling {
        thickest_run: cooling.thickest.run.0,
        thickness_mm: cooling.thickest.thickness_mm,
        needed_s: cooling.needed_s,
        opens_s: cooling.opens_s,
        hottest_c: cooling.hottest_c,
        mean_c: cooling.mean_c,
        held_back: cooling.held_back,
        freezing: gates.collect(),
        spans: spans.collect(),
    }
}

fn venting_json(project: &Project, venting: &Venting) -> schema::Venting {
    let place = |place: &VentedPlace| schema::VentedPlace {
        run: place.run.0,
        along_mm: place.along_mm,
        x_mm: place.at.x,
        y_mm: place.at.y,
        ways: place.ways.iter().map(|id| project.tag(*id)).collect(),
        air_mm3: place.air_mm3,
        rate_mm3_s: place.rate_mm3_s,
        area_mm2: place.area_mm2,
        needed_mm2: place.needed_mm2,
        pressure_mpa: place.pressure_mpa,
        squeezed_c: place.squeezed_c,
    };
    schema::Venting {
        air_c: venting.air_c,
        places: venting.places.iter().map(place).collect(),
        idle: tags(project, &venting.idle),
    }
}

fn tags(project: &Project, ids: &[Id]) -> Vec<String> {
    ids.iter().map(|id| project.tag(*id)).collect()
}

/// The shot as a section of the text.
pub(crate) fn text(project: &Project, analysis: &Analysis) -> String {
    let layout = &analysis.layout;
    let mut text = "\n".to_owned();
    text += &match &layout.filling {
        Ok(filling) => filling_text(project, filling),
        Err(reason) => wrapped("Filling   ", &format!("not computed: {reason}")),
    };
    if let Some(venting) = &layout.venting {
        text += &venting_text(project, venting);
    }
    text += &match &layout.cooling {
        Ok(cooling) => cooling_text(project, cooling),
        Err(reason) => wrapped("Cooling   ", &format!("not computed: {reason}")),
    };
    if let Some(used) = layout.press {
        let words = format!(
            "{:.1} cm³ of melt, {:.1} g with the sprues; {:.0} mm² at {:.1} MPa push the halves apart with {:.1} kN",
            used.melt_mm3 * 1e-3,
            used.mass_g,
            used.projected_mm2,
            used.cavity_mpa,
            used.clamp_n * 1e-3
        );
        text += &wrapped("Press     ", &words);
    }
    text
}

fn filling_text(project: &Project, filling: &Filling) -> String {
    let end = if filling.is_full { "full" } else { "stops short" };
    let mut words = format!(
        "{end} after {:.2} s, at most {:.1} MPa at the nozzle",
        filling.fill_time_s, filling.peak_pressure_mpa
    );
    if let Some(from_s) = filling.pressure_limited_from_s {
        words += &format!("; the pressure limit is reached after {from_s:.2} s");
    }
    let mut text = wrapped("Filling   ", &words);
    for short in &filling.short {
        let words = format!(
            "{} stays empty from {:.0} to {:.0} mm: {}",
            project.tag(short.run),
            short.from_mm,
            short.to_mm,
            why(short.why).1
        );
        text += &wrapped("          ", &words);
    }
    for Weld { run, along_mm, angle_deg, temperatures_c, .. } in &filling.welds {
        let words = format!(
            "weld line on {} at {along_mm:.1} mm, {angle_deg:.0}°, {:.0} °C",
            project.tag(*run),
            temperatures_c[0].min(temperatures_c[1])
        );
        text += &wrapped("          ", &words);
    }
    text
}

fn venting_text(project: &Project, venting: &Venting) -> String {
    let words = |place: &VentedPlace| {
        let (run, along_mm) = (project.tag(place.run), place.along_mm);
        if place.ways.is_empty() {
            return format!("air ends on {run} at {along_mm:.1} mm with no way out");
        }
        let ways = tags(project, &place.ways).join(", ");
        let pressure = match place.pressure_mpa {
            Some(mpa) => format!("at {mpa:.2} MPa"),
            None => "not in time".to_owned(),
        };
        format!("air on {run} at {along_mm:.1} mm leaves by {ways} {pressure}")
    };
    let heads = ["Vents     "].into_iter().chain(std::iter::repeat("          "));
    heads.zip(&venting.places).map(|(head, place)| wrapped(head, &words(place))).collect()
}

fn cooling_text(project: &Project, cooling: &Cooling) -> String {
    let thickest = &cooling.thickest;
    let words = format!(
        "{:.1} s after filling until {}, {:.2} mm thick, can be pushed off; the mould opens after {:.1} s, the part is \
         then {:.0} °C at most, {:.0} °C in the mean",
        cooling.needed_s,
        project.tag(thickest.run),
        thickest.thickness_mm,
        cooling.opens_s,
        cooling.hottest_c,
        cooling.mean_c
    );
    let mut text = wrapped("Cooling   ", &words);
    for gate in &cooling.gates {
        let words = format!(
            "gate {} freezes after {:.1} s, packs for {:.1} s",
            project.tag(gate.sprue),
            gate.bore_s,
            gate.packs_s
        );
        text += &wrapped("          ", &words);
    }
    text
}
