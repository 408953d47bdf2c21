//! How the shot fills, vents and cools, and what that asks of the press.

use keepside_engine::Layout;
use keepside_engine::cooling::Cooling;
use keepside_engine::filling::Filling;
use keepside_engine::press::PressUse;
use keepside_engine::venting::Venting;
use keepside_model::Project;

use crate::document::{Column, Flow, Table, decimals, mm};

pub(super) fn write(flow: &mut Flow<'_>, project: &Project, layout: &Layout) {
    flow.heading("Filling, air, cooling and press");
    match &layout.filling {
        Ok(filling) => filled(flow, project, filling),
        Err(reason) => flow.words(&format!("Filling was not computed: {reason}.")),
    }
    if let Some(venting) = &layout.venting {
        vented(flow, project, venting);
    }
    match &layout.cooling {
        Ok(cooling) => cooled(flow, project, cooling),
        Err(reason) => flow.words(&format!("Cooling was not computed: {reason}.")),
    }
    if let Some(used) = &layout.press {
        pressed(flow, project, used);
    }
}

fn filled(flow: &mut Flow<'_>, project: &Project, filling: &Filling) {
    let end = if filling.is_full { "is full" } else { "stops short" };
    let mut words = format!(
        "The part {end} {} s after the melt has left the nozzle, at {} MPa there at most.",
        decimals(filling.fill_time_s, 2),
        decimals(filling.peak_pressure_mpa, 1)
    );
    if let Some(from_s) = filling.pressure_limited_from_s {
        words += &format!(" From {} s on the press only holds its pressure limit.", decimals(from_s, 2));
    }
    flow.words(&words);
    if filling.welds.is_empty() {
        return;
    }
    const COLUMNS: [Column; 4] = [
        Column::wide("Weld line on", 1.0),
        Column::number("At, mm along", 28.0),
        Column::number("Angle, °", 22.0),
        Column::number("Colder side, °C", 30.0),
    ];
    let mut table = Table::new(&COLUMNS);
    for weld in &filling.welds {
        table.row([
            project.title(weld.run),
            decimals(weld.along_mm, 1),
            decimals(weld.angle_deg, 0),
            decimals(weld.temperatures_c[0].min(weld.temperatures_c[1]), 0),
        ]);
    }
    flow.subheading("Where streams meet", 16.0);
    table.write(flow);
}

fn vented(flow: &mut Flow<'_>, project: &Project, venting: &Venting) {
    if venting.places.is_empty() {
        return;
    }
    const COLUMNS: [Column; 5] = [
        Column::wide("Air ends on", 1.0),
        Column::number("At, mm along", 28.0),
        Column::wide("Leaves by", 1.0),
        Column::number("Area, needed, mm²", 36.0),
        Column::number("Squeezed to, MPa", 34.0),
    ];
    let mut table = Table::new(&COLUMNS);
    for place in &venting.places {
        let ways: Vec<String> = place.ways.iter().map(|id| project.tag(*id)).collect();
        let (ways, area) = if ways.is_empty() {
            ("no way out".to_owned(), "–".to_owned())
        } else {
            (ways.join(", "), format!("{}, {}", decimals(place.area_mm2, 3), decimals(place.needed_mm2, 3)))
        };
        let squeezed = place.pressure_mpa.map_or_else(|| "–".to_owned(), |mpa| decimals(mpa, 2));
        table.row([project.title(place.run), decimals(place.along_mm, 1), ways, area, squeezed]);
    }
    flow.subheading("Where the air goes", 16.0);
    table.write(flow);
}

fn cooled(flow: &mut Flow<'_>, project: &Project, cooling: &Cooling) {
    let thickest = &cooling.thickest;
    flow.words(&format!(
        "{} is the last to cool, {} mm thick: {} s after filling it can be pushed off. The mould opens after {} s; the \
         part is then {} °C at most and {} °C in the mean. Of {} % shrinkage, {} % have happened by then.",
        project.title(thickest.run),
        mm(thickest.thickness_mm),
        decimals(cooling.needed_s, 1),
        decimals(cooling.opens_s, 1),
        decimals(cooling.hottest_c, 0),
        decimals(cooling.mean_c, 0),
        decimals(100.0 * cooling.shrinkage_along, 2),
        decimals(100.0 * cooling.held_back, 2)
    ));
    if cooling.gates.is_empty() {
        return;
    }
    const COLUMNS: [Column; 4] = [
        Column::wide("Gate", 1.0),
        Column::number("Freezes after, s", 30.0),
        Column::number("Packs for, s", 26.0),
        Column::number("Plug cold after, s", 34.0),
    ];
    let mut table = Table::new(&COLUMNS);
    for gate in &cooling.gates {
        table.row([
            project.title(gate.sprue),
            decimals(gate.bore_s, 1),
            decimals(gate.packs_s, 1),
            decimals(gate.plug_cold_s, 1),
        ]);
    }
    table.write(flow);
}

fn pressed(flow: &mut Flow<'_>, project: &Project, used: &PressUse) {
    let press = &project.press;
    flow.words(&format!(
        "The shot takes {} cm³ of melt of the {} cm³ that the press gives, {} g, {} g of it the part. {} mm² at {} MPa push \
         the halves apart with {} kN; the press holds {} kN.",
        decimals(used.melt_mm3 * 1e-3, 1),
        decimals(press.shot_volume_mm3 * 1e-3, 1),
        decimals(used.mass_g, 1),
        decimals(used.part_mass_g, 1),
        decimals(used.projected_mm2, 0),
        decimals(used.cavity_mpa, 1),
        decimals(used.clamp_n * 1e-3, 1),
        decimals(press.clamp_n * 1e-3, 1)
    ));
}
