//! What was put in, and where each number comes from.

use keepside_engine::hardware::{self, Thread};
use keepside_model::{
    FeatureKind, HoldInputs, Limits, MaterialValue, Moulding, Press, Project, Provenance, PullOff,
    ThreadSize, ValueInfo,
};

use crate::document::{Column, Flow, Table, figure};

/// Where a number comes from.
const DRAWN: &str = "drawn";
const ASSUMED: &str = "assumed";
const SET: &str = "set by the user";
const TABLE: &str = "table";
const UNCERTAIN: &str = "table, uncertain";

const COLUMNS: [Column; 4] = [
    Column::wide("Input", 3.0),
    Column::number("Value", 28.0),
    Column::fixed("Unit", 18.0),
    Column::wide("Origin", 2.0),
];

pub(super) fn write(flow: &mut Flow<'_>, project: &Project) {
    flow.heading("Inputs, with where they come from");
    flow.remark(
        "drawn: from the drawing. assumed: a starting value that nobody has measured for this mould. set by the \
         user: changed from that. measured: a curve taken on the bench. table: from the hardware tables of the \
         program; uncertain where their sources disagree or it is only remembered.",
    );
    section(flow, "Part and plates", part(project));
    section(flow, &format!("Press: {}", project.press.name), press(project));
    section(flow, "Shot", shot(project));
    section(flow, &format!("Material: {}", project.material.name), material(project));
    section(flow, "Strength of the holds", holds(project));
    section(flow, "Limits that findings compare with", limits(project));
    section(flow, "Hardware tables, as far as the project uses them", tables(project));
}

struct Input {
    name: String,
    value: String,
    unit: &'static str,
    origin: String,
}

fn input(name: &str, value: f64, unit: &'static str, origin: &str) -> Input {
    Input { name: name.to_owned(), value: figure(value), unit, origin: origin.to_owned() }
}

fn section(flow: &mut Flow<'_>, words: &str, inputs: Vec<Input>) {
    if inputs.is_empty() {
        return;
    }
    flow.subheading(words, 16.0);
    let mut table = Table::new(&COLUMNS);
    for Input { name, value, unit, origin } in inputs {
        table.row([name, value, unit.to_owned(), origin]);
    }
    table.write(flow);
}

fn part(project: &Project) -> Vec<Input> {
    let (part, plates) = (&project.part, &project.plates);
    let mut all = vec![
        input("share of the depth in the moving half", part.moving_share, "", DRAWN),
        input("draft in the moving half", part.draft_moving_deg, "°", DRAWN),
        input("draft in the fixed half", part.draft_fixed_deg, "°", DRAWN),
        input("edge radius in the moving half", part.edge_moving_mm, "mm", DRAWN),
        input("edge radius in the fixed half", part.edge_fixed_mm, "mm", DRAWN),
    ];
    if let Some(rib) = part.rib {
        all.push(input(&format!("rib in the {} half, width", rib.half.word()), rib.width_mm, "mm", DRAWN));
        all.push(input("rib, height", rib.height_mm, "mm", DRAWN));
    }
    all.extend([
        input("plates, width", plates.width_mm, "mm", DRAWN),
        input("plates, height", plates.height_mm, "mm", DRAWN),
        input("moving plate, thickness", plates.moving_thickness_mm, "mm", DRAWN),
        input("fixed plate, thickness", plates.fixed_thickness_mm, "mm", DRAWN),
    ]);
    all
}

fn material(project: &Project) -> Vec<Input> {
    let of = &project.material;
    let row = |info: &ValueInfo| {
        let origin = match of.provenance(info.value) {
            Provenance::Own => SET,
            other => other.words(),
        };
        input(info.name, (info.of)(of), info.bounds.unit, origin)
    };
    MaterialValue::LIST.iter().map(row).collect()
}

fn shot(project: &Project) -> Vec<Input> {
    let (of, material, usual) = (&project.moulding, &project.material, Moulding::default());
    let temperature = |name: &str, own_c: Option<f64>, value_c: f64| {
        input(name, value_c, "°C", if own_c.is_some() { SET } else { "usual for the material" })
    };
    let row = |name: &str, unit, get: fn(&Moulding) -> f64| {
        input(name, get(of), unit, if get(of) == get(&usual) { ASSUMED } else { SET })
    };
    let mut all = vec![
        temperature("melt temperature", of.own_melt_temperature_c, of.melt_temperature_c(material)),
        temperature("mould temperature", of.own_mould_temperature_c, of.mould_temperature_c(material)),
        temperature(
            "hottest place when pushed off",
            of.own_ejection_temperature_c,
            of.ejection_temperature_c(material),
        ),
        row("injection rate", "mm³/s", |m| m.injection_rate_mm3_s),
        row("packing pressure", "MPa", |m| m.packing_pressure_mpa),
        row("packing time", "s", |m| m.packing_time_s),
    ];
    if let Some(cooling_s) = of.cooling_time_s {
        all.push(input("closed after packing", cooling_s, "s", SET));
    }
    all.push(Input {
        name: "shrinkage held back by the mould".to_owned(),
        value: String::new(),
        unit: "",
        origin: of.held_back.word().to_owned(),
    });
    all
}

fn press(project: &Project) -> Vec<Input> {
    let (of, usual) = (&project.press, Press::default());
    let row = |name: &str, unit, get: fn(&Press) -> f64| {
        input(name, get(of), unit, if get(of) == get(&usual) { ASSUMED } else { SET })
    };
    vec![
        input("opening stroke", of.stroke_mm, "mm", SET),
        row("highest pressure at the nozzle", "MPa", |p| p.pressure_limit_mpa),
        row("fastest injection", "mm³/s", |p| p.rate_limit_mm3_s),
        row("clamp force", "N", |p| p.clamp_n),
        row("largest shot", "mm³", |p| p.shot_volume_mm3),
        row("platen, width", "mm", |p| p.platen_width_mm),
        row("platen, height", "mm", |p| p.platen_height_mm),
    ]
}

fn holds(project: &Project) -> Vec<Input> {
    let of = &project.holds;
    let row = |name: &str, unit, measured: Option<&PullOff>, get: fn(&HoldInputs) -> f64| {
        let is_default = get(&HoldInputs::default()) == get(of);
        let mut row = input(name, get(of), unit, if is_default { ASSUMED } else { SET });
        if let Some(curve) = measured {
            row.origin += &format!("; not used: {} takes its place", measured_words(curve));
        }
        row
    };
    let (tack, wall) = (of.tack_curve.as_ref(), of.wall_curve.as_ref());
    let mut all = vec![
        row("face tack, peak", "MPa", tack, |h| h.tack_mpa),
        row("travel at which a face has let go", "mm", tack, |h| h.tack_travel_mm),
        row("release agent leaves of the tack, moving half", "", None, |h| h.release_factor_moving),
        row("release agent leaves of the tack, fixed half", "", None, |h| h.release_factor_fixed),
        row("wall drag", "MPa", wall, |h| h.wall_drag_mpa),
        row("relief after which a drafted wall is clear", "mm", wall, |h| h.wall_relief_mm),
        row("drag in a sprue bore as turned", "MPa", None, |h| h.sprue_drag_turned_mpa),
        row("drag in a polished sprue bore", "MPa", None, |h| h.sprue_drag_polished_mpa),
        row("share of a thread that the plastic fills", "", None, |h| h.thread_filled_share),
        row("vacuum under a sealed face", "MPa", None, |h| h.vacuum_mpa),
        row("gap that lets air in", "mm", None, |h| h.air_gap_mm),
    ];
    if let Some(curve) = &of.edge_curve {
        all.push(Input {
            name: "pull-off curve of undercut edges".to_owned(),
            value: String::new(),
            unit: "",
            origin: measured_words(curve),
        });
    }
    all
}

/// A measured curve.
pub(super) fn measured_words(curve: &PullOff) -> String {
    format!("measured, {} points", curve.points().len())
}

fn limits(project: &Project) -> Vec<Input> {
    let row = |limit: &keepside_model::Limit| {
        let value = (limit.of)(&project.limits);
        let origin = if value == limit.default_value() { limit.origin } else { SET };
        let unit = limit.bounds.unit;
        input(&format!("{}: {}", limit.name, limit.meaning), value, unit, origin)
    };
    Limits::LIST.iter().map(row).collect()
}

/// The values of the tables for every thread that a keying feature has.
fn tables(project: &Project) -> Vec<Input> {
    let kinds = || project.features.values().map(|feature| feature.kind);
    let mut all = Vec::new();
    for size in ThreadSize::ALL {
        let is_used = |wanted: fn(&FeatureKind) -> bool| {
            kinds().any(|kind| kind.thread() == Some(size) && wanted(&kind))
        };
        if !is_used(|_| true) {
            continue;
        }
        let name = |what: &str| format!("{} {what}", size.designation());
        let Thread { pitch_mm, tap_drill_mm, clearance_medium_mm, .. } = *hardware::thread(size);
        all.push(input(&name("pitch"), pitch_mm, "mm", TABLE));
        all.push(input(&name("tapping drill"), tap_drill_mm, "mm", TABLE));
        all.push(input(&name("clearance hole, medium"), clearance_medium_mm, "mm", TABLE));
        if is_used(|kind| matches!(kind, FeatureKind::CapHead { .. })) {
            let head = hardware::cap_head(size);
            all.push(input(&name("cap screw, head Ø"), head.head_diameter_mm, "mm", TABLE));
            all.push(input(&name("cap screw, head height"), head.head_height_mm, "mm", TABLE));
            all.push(input(&name("cap screw, socket"), head.socket_mm, "mm", TABLE));
        }
        if is_used(|kind| matches!(kind, FeatureKind::SetScrew { .. })) {
            let set = hardware::set_screw(size);
            all.push(input(&name("set screw, socket"), set.socket_mm, "mm", TABLE));
            all.push(input(&name("set screw, flat point Ø"), set.flat_point_mm, "mm", TABLE));
            all.push(input(
                &name("set screw, cone point's flat Ø"),
                set.cone_point_mm.likeliest_mm(),
                "mm",
                UNCERTAIN,
            ));
            all.push(input(
                &name("set screw, long socket from length"),
                set.long_from_mm.likeliest_mm(),
                "mm",
                UNCERTAIN,
            ));
        }
    }
    all
}
