//! Vents: whether the air that melt drives before it gets out in time, and where it does not.
//!
//! The air starts at the pressure of the room and the temperature of the mould, which thin slots keep it at.
//! At every place where a front ends, as much has to leave as melt drives before it there, by the vents and
//! around the ejectors within reach. What leaks out between the plates' faces, and what has left by vents
//! that melt has passed, is left out: the pressures are an upper end.

pub mod air;

use std::f64::consts::PI;

use glam::DVec2;
use keepside_model::{Id, Project, Vent};

use crate::filling::{Filling, REACH_MM, Trapped};
use crate::outline;
use air::Way;

/// Gap round an ejector pin, mm: the middle of H7/g6 for 3 to 6 mm (ISO 286-2, from memory).
const EJECTOR_GAP_MM: f64 = 0.007;

/// Length of an ejector's close fit in diameters. Common practice, no source.
const EJECTOR_FIT: f64 = 3.0;

/// How the air gets out.
#[derive(Clone, Debug, PartialEq)]
pub struct Venting {
    /// Temperature of the air, °C: the mould's.
    pub air_c: f64,
    /// Every place where a front ends, the last to fill first.
    pub places: Vec<VentedPlace>,
    /// Vents at which no front ends: melt passes them before the air is out.
    pub idle: Vec<Id>,
}

/// A place where a front ends, and how the air before it gets out.
#[derive(Clone, Debug, PartialEq)]
pub struct VentedPlace {
    /// The place in the plan, mm, on the centre line.
    pub at: DVec2,
    /// The run.
    pub run: Id,
    /// Place along it, mm from its tip.
    pub along_mm: f64,
    /// Vents and ejectors by which the air gets out; none if it is trapped.
    pub ways: Vec<Id>,
    /// Air that has no way out but here, mm³ at the pressure of the room.
    pub air_mm3: f64,
    /// Air that melt drives before it at the end, mm³/s as squeezed.
    pub rate_mm3_s: f64,
    /// Area of the ways out, mm².
    pub area_mm2: f64,
    /// Area that ways out of the same depth and length would have to have, so that the air stays within the
    /// project's limit, mm².
    pub needed_mm2: f64,
    /// Pressure above nothing that drives as much air out as comes, MPa; `None` if none does.
    pub pressure_mpa: Option<f64>,
    /// Temperature that the air has at that pressure if it loses no heat, °C.
    pub squeezed_c: Option<f64>,
    /// Whether the area is what holds it back, so that it leaves at the speed of sound; else it is friction in
    /// the slots.
    pub is_choked: bool,
}

/// How the air gets out while the part fills.
pub fn of(project: &Project, filling: &Filling) -> Venting {
    let air_c = project.moulding.mould_temperature_c(&project.material);
    let limit_mpa = project.limits.air_pressure_mpa;
    let places: Vec<VentedPlace> =
        filling.trapped.iter().map(|place| vented(project, filling, place, air_c, limit_mpa)).collect();
    let is_used = |id: &Id| places.iter().any(|place| place.ways.contains(id));
    let idle = project.vents.keys().copied().filter(|id| filling.is_full && !is_used(id)).collect();
    Venting { air_c, places, idle }
}

fn vented(project: &Project, filling: &Filling, place: &Trapped, air_c: f64, limit_mpa: f64) -> VentedPlace {
    let temperature_k = air::kelvin(air_c);
    let rate_mm3_s = arriving_mm3_s(project, filling, place);
    let (ways, slots): (Vec<Id>, Vec<Way>) = ways_out(project, place.at).into_iter().unzip();
    let area_mm2: f64 = slots.iter().map(|way| way.width_m * way.depth_m * 1e6).sum();
    let rate_m3_s = rate_mm3_s * 1e-9;
    let found_pa = air::pressure_pa(&slots, rate_m3_s, temperature_k);
    let limit_pa = limit_mpa * 1e6;
    let at_limit: f64 = slots.iter().map(|way| way.flow_kg_s(limit_pa, temperature_k)).sum();
    let comes_kg_s = limit_pa * rate_m3_s / (air::GAS_J_KG_K * temperature_k);
    let needed_mm2 = if at_limit > 0.0 { area_mm2 * comes_kg_s / at_limit } else { 0.0 };
    let is_choked = found_pa.is_some_and(|pa| {
        let (area, friction) = slots.iter().fold((0.0, 0.0), |sums, way| {
            (sums.0 + way.by_area_kg_s(pa, temperature_k), sums.1 + way.by_friction_kg_s(pa, temperature_k))
        });
        area < friction
    });
    VentedPlace {
        at: place.at,
        run: place.run,
        along_mm: place.along_mm,
        ways,
        air_mm3: place.air_mm3,
        rate_mm3_s,
        area_mm2,
        needed_mm2,
        pressure_mpa: found_pa.map(|pa| pa * 1e-6),
        squeezed_c: found_pa.map(|pa| air::squeezed_k(temperature_k, air::ROOM_PA, pa) - air::kelvin(0.0)),
        is_choked,
    }
}

/// The slot of a vent as air meets it: all its length if it has no relief, else its land.
pub(crate) fn slot(vent: &Vent) -> Way {
    let length_mm = vent.relief.map_or(vent.length_mm, |relief| relief.land_mm.min(vent.length_mm));
    Way { width_m: vent.width_mm * 1e-3, depth_m: vent.depth_mm * 1e-3, length_m: length_mm * 1e-3 }
}

/// Vents and ejectors within reach of a place on the centre line.
fn ways_out(project: &Project, at: DVec2) -> Vec<(Id, Way)> {
    let half_width_mm = outline::channel_at(project, at).map_or(0.0, |place| 0.5 * place.width_mm);
    let reach_mm = half_width_mm + REACH_MM;
    let vents =
        project.vents.iter().filter(|(_, vent)| vent.at.distance(at) <= reach_mm + 0.5 * vent.width_mm);
    let pins =
        project.ejectors.iter().filter(|(_, pin)| pin.at.distance(at) <= reach_mm + 0.5 * pin.diameter_mm);
    let round = |diameter_mm: f64| Way {
        width_m: PI * diameter_mm * 1e-3,
        depth_m: EJECTOR_GAP_MM * 1e-3,
        length_m: EJECTOR_FIT * diameter_mm * 1e-3,
    };
    let vents = vents.map(|(&id, vent)| (id, slot(vent)));
    vents.chain(pins.map(|(&id, pin)| (id, round(pin.diameter_mm)))).collect()
}

/// How fast melt comes to the place where it ends, from both sides of a weld, mm³/s; never more than leaves the
/// nozzle.
fn arriving_mm3_s(project: &Project, filling: &Filling, place: &Trapped) -> f64 {
    let most_mm3_s = filling.record.iter().map(|moment| moment.rate_mm3_s).fold(0.0, f64::max);
    let Some(run) = filling.runs.iter().find(|run| run.run == place.run) else { return most_mm3_s };
    let area_mm2 = outline::channel_at(project, place.at).map_or(0.0, |at| at.width_mm * at.depth_mm);
    let mut sum_mm3_s = 0.0;
    for pair in run.stations.windows(2) {
        let [from, to] = [pair[0], pair[1]];
        let touches = from.along_mm <= place.along_mm + 1e-6 && to.along_mm >= place.along_mm - 1e-6;
        let (true, Some(from_s), Some(to_s)) = (touches, from.time_s, to.time_s) else { continue };
        // Only what runs towards the place.
        let ends_there = if to_s > from_s { to.along_mm } else { from.along_mm };
        if (ends_there - place.along_mm).abs() < 1e-6 && to_s != from_s {
            sum_mm3_s += area_mm2 * (to.along_mm - from.along_mm) / (to_s - from_s).abs();
        }
    }
    if sum_mm3_s > 0.0 { sum_mm3_s.min(most_mm3_s) } else { most_mm3_s }
}
