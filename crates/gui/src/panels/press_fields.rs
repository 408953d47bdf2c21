//! The press: its limits, what the shot asks of it, and the presses that are kept; and the settings of a shot.

use egui::Ui;
use keepside_engine::press;
use keepside_model::{Edit, HeldBack, Moulding, Press, Project, bounds};
use keepside_session::Session;

use super::fields::Fields;
use super::kept::{KeptUse, kept_ui};
use crate::action::Action;
use crate::filling::words;
use crate::look::Palette;
use crate::shelves::Shelved;
use crate::units::Unit;
use crate::view::ViewState;

/// The press.
pub(super) fn press_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
    let project = session.document();
    let mut press = project.press.clone();
    let change = Fields::show(ui, "press", |fields| {
        fields.text("Press", &mut press.name);
        fields.number("Opening stroke", &mut press.stroke_mm, bounds::STROKE);
        fields.number("Highest pressure", &mut press.pressure_limit_mpa, bounds::PRESSURE);
        fields.number("Fastest injection", &mut press.rate_limit_mm3_s, bounds::FLOW_RATE);
        fields.number("Clamp force", &mut press.clamp_n, bounds::CLAMP);
        fields.number("Largest shot", &mut press.shot_volume_mm3, bounds::SHOT);
        fields.number("Platen, width", &mut press.platen_width_mm, bounds::PLATEN);
        fields.number("Platen, height", &mut press.platen_height_mm, bounds::PLATEN);
    });
    let mut actions = change.actions(|| Edit::SetPress(press));
    ui.strong("What the shot asks of it");
    let palette = Palette::of(ui);
    Fields::show(ui, "press use", |fields| use_facts(fields, session, palette));
    ui.strong("Presses kept");
    let names: Vec<String> = view.kept.presses.iter().map(|press| press.name.clone()).collect();
    match kept_ui(ui, &mut view.kept, Shelved::Press, &names, &project.press.name) {
        Some(KeptUse::Take(index)) => {
            let taken: Option<Press> = view.kept.presses.get(index).cloned();
            actions.extend(taken.map(|press| Action::Edit(Edit::SetPress(press))));
        }
        Some(KeptUse::Do(command)) => actions.push(Action::Command(command)),
        None => {}
    }
    actions
}

/// A force with its unit.
fn force(newtons: f64) -> String {
    if newtons < 9_999.5 { format!("{newtons:.0} N") } else { format!("{:.1} kN", newtons / 1000.0) }
}

/// What is asked for beside what there is.
fn use_facts(fields: &mut Fields<'_>, session: &Session, palette: &Palette) {
    let (project, unit) = (session.document(), Unit::of(fields.ui));
    let press = &project.press;
    let mut compare = |name: &str, words: String, is_too_much: bool| {
        fields.long_fact(name, &words, is_too_much.then_some(palette.fault));
    };
    let layout = session.results().layout();
    match layout.map(|layout| (layout.filling.as_ref(), layout.press)) {
        Some((Ok(filling), Some(used))) => {
            let (melt, most) = (words::volume(used.melt_mm3), words::volume(press.shot_volume_mm3));
            compare("Shot", format!("{melt} of melt, of {most}"), used.melt_mm3 > press.shot_volume_mm3);
            let mass = format!("{:.1} g, the part {:.1} g", used.mass_g, used.part_mass_g);
            compare("Mass", mass, false);
            let peak = format!("{:.1} of {} MPa", filling.peak_pressure_mpa, press.pressure_limit_mpa);
            compare("Nozzle pressure", peak, filling.pressure_limited_from_s.is_some());
            let apart = format!(
                "{} of {}: {:.1} cm² in plan at {:.1} MPa",
                force(used.clamp_n),
                force(press.clamp_n),
                used.projected_mm2 / 100.0,
                used.cavity_mpa
            );
            compare("Pushes apart", apart, used.clamp_n > press.clamp_n);
        }
        Some((Err(reason), _)) => compare("Shot", crate::elevation::sentence(&reason.to_string()), true),
        _ => compare("Shot", "computing…".to_owned(), false),
    }
    if let Some(Ok(opening)) = session.results().opening() {
        let used = press::stroke(project, opening);
        let words = format!(
            "{} of {}: the last lets go at {}, the part takes {} to fall out",
            unit.length(used.needed_mm),
            unit.length(press.stroke_mm),
            unit.length(used.last_mm),
            unit.length(used.part_mm)
        );
        compare("Stroke", words, used.needed_mm > press.stroke_mm);
    }
    let plates = &project.plates;
    let platen = format!(
        "plates {} × {} on {} × {}",
        unit.plain(plates.width_mm),
        unit.short(plates.height_mm),
        unit.plain(press.platen_width_mm),
        unit.short(press.platen_height_mm)
    );
    let is_too_large = plates.width_mm > press.platen_width_mm || plates.height_mm > press.platen_height_mm;
    compare("Platen", platen, is_too_large);
}

/// The settings of a shot.
pub(super) fn shot_ui(ui: &mut Ui, project: &Project) -> Vec<Action> {
    let mut moulding = project.moulding.clone();
    let melt = &project.material.melt;
    let change = Fields::show(ui, "shot", |fields| {
        let meaning = "The material's usual temperature unless you set another; Default takes it back";
        for (name, own, usual_c) in [
            ("Melt", &mut moulding.own_melt_temperature_c, melt.melt_temperature_c),
            ("Mould", &mut moulding.own_mould_temperature_c, melt.mould_temperature_c),
            ("When pushed off", &mut moulding.own_ejection_temperature_c, melt.ejection_temperature_c),
        ] {
            let mut value_c = own.unwrap_or(usual_c);
            fields.number_or_default(name, meaning, &mut value_c, usual_c, bounds::TEMPERATURE);
            *own = (value_c != usual_c).then_some(value_c);
        }
        fields.number("Injection rate", &mut moulding.injection_rate_mm3_s, bounds::FLOW_RATE);
        fields.number("Packing pressure", &mut moulding.packing_pressure_mpa, bounds::PACKING_PRESSURE);
        fields.number("Packing time", &mut moulding.packing_time_s, bounds::PACKING_TIME);
        cooling_time(fields, &mut moulding);
        let choices = HeldBack::ALL.map(|choice| (choice, choice.word()));
        fields.choice("Shrinkage held back", &mut moulding.held_back, &choices);
    });
    change.actions(|| Edit::SetMoulding(moulding))
}

/// How long the mould stays closed: as needed, or as set.
fn cooling_time(fields: &mut Fields<'_>, moulding: &mut Moulding) {
    let mut as_needed = moulding.cooling_time_s.is_none();
    fields.yes_or_no("Closed as needed", &mut as_needed);
    if as_needed {
        moulding.cooling_time_s = None;
    } else {
        // Something to start from: common practice, no source.
        let mut time_s = moulding.cooling_time_s.unwrap_or(20.0);
        fields.number("Closed after packing", &mut time_s, bounds::COOLING_TIME);
        moulding.cooling_time_s = Some(time_s);
    }
}
