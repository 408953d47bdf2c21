//! What a vent lets out: the area that is needed and there, and its depth against the material's limits.

use keepside_model::{Id, Vent};
use keepside_session::Session;

use super::fields::Fields;
use crate::look::Palette;
use crate::units::Unit;

/// The facts of one vent.
pub(super) fn vent_facts(fields: &mut Fields<'_>, session: &Session, id: Id, vent: &Vent) {
    let palette = Palette::of(fields.ui);
    let unit = Unit::of(fields.ui);
    let project = session.document();
    let melt = &project.material.melt;
    // A hundredth of a millimetre is too coarse for a vent.
    let fine = |mm: f64| match unit {
        Unit::Millimetre => format!("{mm:.3} mm"),
        Unit::Inch => unit.length(mm),
    };
    let depth = format!(
        "{}; {} takes {} to {}",
        fine(vent.depth_mm),
        project.material.name,
        fine(melt.vent_depth_min_mm),
        fine(melt.vent_depth_max_mm)
    );
    let is_too_deep = vent.depth_mm > melt.vent_depth_max_mm + 1e-9;
    let words = if is_too_deep { format!("{depth}: melt flashes into it") } else { depth };
    fields.long_fact("Depth", &words, is_too_deep.then_some(palette.fault));
    let Some(venting) = session.results().layout().and_then(|layout| layout.venting.as_ref()) else {
        return fields.long_fact("Air", "not known, as the filling is not", None);
    };
    let place = venting.places.iter().find(|place| place.ways.contains(&id));
    let Some(place) = place else {
        let words = "no front ends within its reach: melt passes it before the air is out";
        return fields.long_fact("Air", words, Some(palette.warning));
    };
    let is_small = place.area_mm2 < place.needed_mm2;
    let others: Vec<String> =
        place.ways.iter().filter(|way| **way != id).map(|way| project.tag(*way)).collect();
    let with = if others.is_empty() { String::new() } else { format!(" with {}", others.join(", ")) };
    let area = format!("{:.3} mm²{with}, {:.3} mm² needed", place.area_mm2, place.needed_mm2);
    fields.long_fact("Area", &area, is_small.then_some(palette.fault));
    let air = match (place.pressure_mpa, place.squeezed_c) {
        (Some(mpa), Some(hot_c)) => {
            format!(
                "squeezed to {mpa:.2} MPa of {} allowed, up to {hot_c:.0} °C",
                project.limits.air_pressure_mpa
            )
        }
        _ => "does not get out in time at any pressure".to_owned(),
    };
    fields.long_fact("Air", &air, is_small.then_some(palette.fault));
}
