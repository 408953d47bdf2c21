//! Air that does not get out in time, and vents that let melt out.

use glam::DVec2;
use keepside_model::{Edit, Half, Id, Item, Relief, Vent};

use super::cure::SLACK_MM;
use super::shot::Shot;
use super::{Drawn, Finding, Severity, vent_hole};
use crate::venting::{VentedPlace, air, slot};

/// Air that is too little to leave a mark, mm³. Assumed.
const LITTLE_MM3: f64 = 1.0;

/// Widest vent that is offered, mm. Common practice, no source.
const WIDEST_MM: f64 = 6.0;

/// Places where air is squeezed with no way out.
pub(super) fn trapped(drawn: &Drawn<'_>, shot: &Shot<'_>, findings: &mut Vec<Finding>) {
    let Some(venting) = shot.venting else { return };
    let mut free = drawn.project.free_id();
    for place in venting.places.iter().filter(|place| place.ways.is_empty() && place.air_mm3 > LITTLE_MM3) {
        let VentedPlace { at, run, along_mm, air_mm3, .. } = *place;
        let message = format!(
            "air is trapped at ({:.1}, {:.1}), {along_mm:.1} mm along run {}: {air_mm3:.0} mm³ with no vent within \
             reach; it is squeezed and may burn the plastic or keep it out",
            at.x,
            at.y,
            drawn.project.tag(run)
        );
        let finding = Finding::new("trapped-air", Severity::Warning, [run], Some(at), message);
        findings.push(match offered(drawn, at) {
            Some(vent) => {
                let depth_mm = vent.depth_mm;
                // Several cures may be applied one after another: each has a number of its own.
                let edit = Edit::Add(free, Item::Vent(vent));
                free = Id(free.0.saturating_add(1));
                let cure = format!("Put a vent {depth_mm:.3} mm deep at the channel's edge there");
                finding.cured_by(cure, Some(edit))
            }
            None => finding.cured_by("Put a vent at the channel's edge there", None),
        });
    }
}

/// The vent that lets air out at a place on the centre line: at the nearest edge from which it meets no hole,
/// running out to the plate's edge.
fn offered(drawn: &Drawn<'_>, at: DVec2) -> Option<Vent> {
    let project = drawn.project;
    let channel = drawn.lookup.channel_at(at)?;
    let side = channel.direction.perp() * (0.5 * channel.width_mm);
    let half = project.vents.values().next_back().map_or(Half::Fixed, |vent| vent.half);
    let depth_mm = project.material.melt.vent_depth_mm;
    let width_mm = (channel.width_mm * 5.0).round().max(2.0) / 10.0;
    let vent_at = |place: DVec2| {
        // To what one can mark out.
        let at = (drawn.lookup.clear(place)?.at * 100.0).round() / 100.0;
        let vent = Vent {
            name: String::new(),
            at,
            half,
            width_mm: width_mm.min(WIDEST_MM),
            depth_mm,
            length_mm: 1.0,
            relief: Some(Relief::default()),
        };
        let way = drawn.lookup.vent_direction(&vent);
        let length_mm = to_plate_edge_mm(drawn, at, way).clamp(1.0, 500.0);
        Some((Vent { length_mm, ..vent }, way))
    };
    let places = [at, at + side, at - side].into_iter().filter_map(vent_at);
    let mut places: Vec<(Vent, DVec2)> = places.collect();
    let clear = places.iter().position(|(vent, way)| vent_hole::crossed(drawn, vent, *way).is_empty());
    (!places.is_empty()).then(|| places.swap_remove(clear.unwrap_or(0)).0)
}

/// How far it is from a place to the plate's edge in a direction, rounded up to a tenth, mm.
fn to_plate_edge_mm(drawn: &Drawn<'_>, at: DVec2, way: DVec2) -> f64 {
    let plates = &drawn.project.plates;
    let along = |way: f64, at: f64, size: f64| {
        let ahead_mm = if way > 0.0 { size - at } else { at };
        if way == 0.0 { f64::INFINITY } else { ahead_mm / way.abs() }
    };
    let mm = along(way.x, at.x, plates.width_mm).min(along(way.y, at.y, plates.height_mm));
    (mm * 10.0 - SLACK_MM).ceil() / 10.0
}

/// Vents so deep that melt flashes into them.
pub(super) fn flash(drawn: &Drawn<'_>, _: &Shot<'_>, findings: &mut Vec<Finding>) {
    let project = drawn.project;
    let melt = &project.material.melt;
    for (&id, vent) in &project.vents {
        if vent.depth_mm <= melt.vent_depth_max_mm + 1e-9 {
            continue;
        }
        let message = format!(
            "vent {} is {:.3} mm deep; {} flashes into vents deeper than {:.3} mm",
            project.tag(id),
            vent.depth_mm,
            project.material.name,
            melt.vent_depth_max_mm
        );
        let depth_mm = melt.vent_depth_mm;
        let edit = Edit::Set(id, Item::Vent(Vent { depth_mm, ..vent.clone() }));
        findings.push(
            Finding::new("vent-flash", Severity::Warning, [id], Some(vent.at), message)
                .comparing_mm(vent.depth_mm, melt.vent_depth_max_mm)
                .cured_by(format!("Make it {depth_mm:.3} mm deep"), Some(edit)),
        );
    }
}

/// Places whose ways out are too small for the air that comes.
pub(super) fn small(drawn: &Drawn<'_>, shot: &Shot<'_>, findings: &mut Vec<Finding>) {
    let Some(venting) = shot.venting else { return };
    let project = drawn.project;
    let limit_mpa = project.limits.air_pressure_mpa;
    for place in venting.places.iter().filter(|place| !place.ways.is_empty()) {
        if place.pressure_mpa.is_some_and(|mpa| mpa <= limit_mpa) {
            continue;
        }
        let names: Vec<String> = place.ways.iter().map(|id| project.tag(*id)).collect();
        let names = names.join(", ");
        let squeezed = match (place.pressure_mpa, place.squeezed_c) {
            (Some(mpa), Some(c)) => {
                format!(
                    "the air is squeezed to {mpa:.1} MPa and up to {c:.0} °C, more than {limit_mpa:.1} MPa"
                )
            }
            _ => "the air does not get out in time at any pressure".to_owned(),
        };
        let message = format!(
            "too little air gets out by {names}: {squeezed}; {:.3} mm² of such ways out are there, {:.3} mm² are \
             needed",
            place.area_mm2, place.needed_mm2
        );
        let finding =
            Finding::new("vent-small", Severity::Warning, place.ways.clone(), Some(place.at), message);
        let measured = Some(place.area_mm2);
        let finding = Finding { measured, needed: Some(place.needed_mm2), unit: "mm²", ..finding };
        let has_vent = place.ways.iter().any(|id| project.vents.contains_key(id));
        let added = || {
            let vent = offered(drawn, place.at).filter(|_| !has_vent)?;
            let cure = format!("Put a vent {:.3} mm deep at the channel's edge there", vent.depth_mm);
            Some((cure, Edit::Add(project.free_id(), Item::Vent(vent))))
        };
        findings.push(match widened(drawn, place, venting.air_c).or_else(added) {
            Some((cure, edit)) => finding.cured_by(cure, Some(edit)),
            None => finding.cured_by("Add vents there, or inject more slowly", None),
        });
    }
}

/// The first vent of a place relieved behind a short land, and if need be wider, so that the air gets out; `None`
/// if that would take more width than a vent has, or there is none.
fn widened(drawn: &Drawn<'_>, place: &VentedPlace, air_c: f64) -> Option<(String, Edit)> {
    let project = drawn.project;
    let (id, vent) = place.ways.iter().find_map(|id| Some((*id, project.vents.get(id)?)))?;
    let relief = vent.relief.unwrap_or_default();
    let relieved = Vent { relief: Some(relief), ..vent.clone() };
    let limit_pa = project.limits.air_pressure_mpa * 1e6;
    let temperature_k = air::kelvin(air_c);
    let lets_out = slot(&relieved).flow_kg_s(limit_pa, temperature_k);
    let comes = limit_pa * place.rate_mm3_s * 1e-9 / (air::GAS_J_KG_K * temperature_k);
    let width_mm = (vent.width_mm * comes / lets_out * 10.0).ceil() / 10.0;
    let edit = |vent| Edit::Set(id, Item::Vent(vent));
    if width_mm <= vent.width_mm {
        let cure = format!("Relieve {} behind a land of {:.1} mm", project.tag(id), relief.land_mm);
        return Some((cure, edit(relieved)));
    }
    (width_mm <= 50.0 && width_mm.is_finite()).then(|| {
        let cure = format!(
            "Make {} {width_mm:.1} mm wide and relieve it behind a land of {:.1} mm",
            project.tag(id),
            relief.land_mm
        );
        (cure, edit(Vent { width_mm, ..relieved }))
    })
}

/// Vents at which no front ends.
pub(super) fn idle(drawn: &Drawn<'_>, shot: &Shot<'_>, findings: &mut Vec<Finding>) {
    let Some(venting) = shot.venting else { return };
    for &id in &venting.idle {
        let Some(vent) = drawn.project.vents.get(&id) else { continue };
        let message = format!(
            "vent {} is not where the air ends: melt passes it before the channel is full",
            drawn.project.tag(id)
        );
        findings.push(
            Finding::new("vent-idle", Severity::Note, [id], Some(vent.at), message)
                .cured_by("Move it to where a front ends, or leave it out", None),
        );
    }
}
