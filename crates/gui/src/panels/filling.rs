//! How the melt fills the mould, in words: the gates, where fronts meet, trapped air, what stays empty.

use egui::{Button, RichText, ScrollArea, Ui};
use keepside_engine::Filling;
use keepside_engine::filling::Trapped;
use keepside_model::Edit;
use keepside_session::Session;

use crate::action::Action;
use crate::elevation::sentence;
use crate::filling::{self, words};
use crate::look::Palette;
use crate::units::Unit;

/// The rule by which trapped air is found: its cure is the vent for it.
const TRAPPED_AIR: &str = "trapped-air";

/// The vent that lets the air out at a place, as one change; `None` if there is a way out, or none is known.
pub(crate) fn vent_for(session: &Session, place: &Trapped) -> Option<Edit> {
    if place.way_out.is_some() {
        return None;
    }
    let findings = session.results().findings(session.revision());
    let here = findings.iter().find(|(finding, fresh)| {
        *fresh && finding.rule == TRAPPED_AIR && finding.at.is_some_and(|at| at.distance(place.at) < 1e-6)
    });
    here.and_then(|(finding, _)| finding.cure_edit.clone())
}

/// The button that puts it there.
pub(crate) fn vent_button_ui(ui: &mut Ui, edit: &Edit, actions: &mut Vec<Action>) {
    let button = ui.add(Button::new("Put a vent here"));
    let hint = "At the channel's edge, as deep as the material allows, out to the plate's edge";
    if button.on_hover_text(hint).clicked() {
        actions.push(Action::Edit(edit.clone()));
        if let Edit::Add(id, _) = edit {
            actions.push(Action::Select(vec![*id]));
        }
    }
}

/// The panel.
pub(crate) fn filling_ui(ui: &mut Ui, session: &Session) -> Vec<Action> {
    let mut actions = Vec::new();
    let filling = match filling::of(session) {
        Some(Ok(filling)) => filling,
        Some(Err(reason)) => {
            ui.label(sentence(&reason.to_string()));
            return actions;
        }
        None => {
            ui.weak("Computing…");
            return actions;
        }
    };
    ScrollArea::vertical().id_salt("filling").auto_shrink([false, false]).show(ui, |ui| {
        summary_ui(ui, filling);
        gates_ui(ui, session, filling, &mut actions);
        lists_ui(ui, session, filling, &mut actions);
    });
    actions
}

fn summary_ui(ui: &mut Ui, filling: &Filling) {
    let palette = Palette::of(ui);
    let ink = if filling.is_full { palette.good } else { palette.fault };
    ui.label(RichText::new(words::in_short(filling)).color(ink).strong());
    if let Some(from_s) = filling.pressure_limited_from_s {
        let from = words::seconds(from_s);
        ui.label(format!("From {from} on the press only holds its highest pressure, and the flow falls"));
    }
    let (part, sprues) = (words::volume(filling.part_volume_mm3), words::volume(filling.sprue_volume_mm3));
    ui.label(format!("Part {part}, gates and sprues {sprues}"));
}

fn gates_ui(ui: &mut Ui, session: &Session, filling: &Filling, actions: &mut Vec<Action>) {
    heading(ui, "Gates", filling.gates.is_empty());
    for gate in &filling.gates {
        let name = session.document().title(gate.gate);
        entry_ui(ui, &name, &words::gate(gate), || Action::Show(vec![gate.gate], None), actions);
    }
}

fn lists_ui(ui: &mut Ui, session: &Session, filling: &Filling, actions: &mut Vec<Action>) {
    let (project, unit) = (session.document(), Unit::of(ui));
    heading(ui, "Stays empty", filling.short.is_empty());
    for short in &filling.short {
        let name = words::place(project, short.run, short.from_mm, unit);
        let told = words::short(project, short, unit);
        entry_ui(ui, &name, &told, || Action::Show(vec![short.run], Some(short.at)), actions);
    }
    heading(ui, "Where fronts end", filling.trapped.is_empty());
    for place in &filling.trapped {
        let name = words::place(project, place.run, place.along_mm, unit);
        let told = words::trapped(project, place);
        entry_ui(ui, &name, &told, || Action::Show(vec![place.run], Some(place.at)), actions);
        if let Some(edit) = vent_for(session, place) {
            vent_button_ui(ui, &edit, actions);
        }
    }
    heading(ui, "Where fronts meet", filling.welds.is_empty());
    for weld in &filling.welds {
        let name = words::place(project, weld.run, weld.along_mm, unit);
        let told = words::weld(project, weld);
        entry_ui(ui, &name, &told, || Action::Show(vec![weld.run], Some(weld.at)), actions);
    }
}

fn heading(ui: &mut Ui, words: &str, is_empty: bool) {
    if !is_empty {
        ui.add_space(5.0);
        ui.strong(words);
    }
}

/// A place as a link that shows it, and what is told of it.
fn entry_ui(ui: &mut Ui, name: &str, told: &str, show: impl FnOnce() -> Action, actions: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        if ui.link(name).on_hover_text("Shows where").clicked() {
            actions.push(show());
        }
        ui.label(told);
    });
}
