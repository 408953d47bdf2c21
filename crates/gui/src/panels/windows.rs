//! Small windows beside the drawing: the shortcut sheet, and the form for repeating.

use egui::{Context, Grid, RichText, ScrollArea, Ui, Window};
use keepside_model::Bounds;
use keepside_session::Session;

use super::fields::length_ui;
use crate::action::{Action, Command};
use crate::keys::{GESTURES, ROWS, words};
use crate::view::ViewState;
use crate::work::Arrange;

/// Both, if they are open.
pub(crate) fn windows_ui(ctx: &Context, session: &Session, view: &mut ViewState) -> Vec<Action> {
    let mut is_open = view.work.keys_open;
    let room = ctx.content_rect();
    Window::new("Keys and pointer")
        .open(&mut is_open)
        .collapsible(false)
        .pivot(egui::Align2::CENTER_CENTER)
        .default_pos(room.center())
        .default_size([760.0, (room.height() - 120.0).clamp(200.0, 640.0)])
        .show(ctx, |ui| {
            ScrollArea::vertical().auto_shrink([false, false]).show(ui, sheet_ui);
        });
    view.work.keys_open = is_open;
    let mut actions = Vec::new();
    let mut is_open = view.work.repeat_open && !session.selection().is_empty();
    Window::new("Repeat along a line")
        .open(&mut is_open)
        .collapsible(false)
        .resizable(false)
        .default_pos(room.left_top() + egui::vec2(60.0, 110.0))
        .show(ctx, |ui| actions.extend(repeat_ui(ui, view)));
    view.work.repeat_open &= is_open;
    actions
}

/// The sheet in two columns, a group under the other.
fn sheet_ui(ui: &mut Ui) {
    let mut groups: Vec<&str> = Vec::new();
    for group in ROWS.iter().map(|row| row.group).chain(GESTURES.iter().map(|row| row.0)) {
        if !groups.contains(&group) {
            groups.push(group);
        }
    }
    let (left, right) = groups.split_at(groups.len().div_ceil(2));
    ui.columns(2, |columns| {
        for (ui, groups) in columns.iter_mut().zip([left, right]) {
            for group in groups {
                group_ui(ui, group);
            }
        }
    });
}

fn group_ui(ui: &mut Ui, group: &str) {
    ui.add_space(6.0);
    ui.label(RichText::new(group).strong().size(14.5));
    ui.separator();
    Grid::new(group).num_columns(2).min_col_width(125.0).spacing([10.0, 3.0]).show(ui, |ui| {
        let mut row = |what: &str, keys: &str| {
            for (text, width) in [(keys, 125.0), (what, 215.0)] {
                ui.scope(|ui| {
                    ui.set_max_width(width);
                    let text = if text == keys { RichText::new(text).strong() } else { RichText::new(text) };
                    ui.add(egui::Label::new(text).wrap());
                });
            }
            ui.end_row();
        };
        for entry in ROWS.iter().filter(|row| row.group == group) {
            row(entry.what, &entry.keys.iter().map(words).collect::<Vec<_>>().join(" or "));
        }
        for (_, what, how) in GESTURES.iter().filter(|row| row.0 == group) {
            row(what, how);
        }
    });
}

fn repeat_ui(ui: &mut Ui, view: &mut ViewState) -> Vec<Action> {
    let form = &mut view.work.repeat;
    Grid::new("repeat").num_columns(2).spacing([10.0, 6.0]).show(ui, |ui| {
        let label = ui.label("Copies");
        ui.add(egui::DragValue::new(&mut form.count).range(1..=200)).labelled_by(label.id);
        ui.end_row();
        let distance = Bounds { what: "the distance", unit: "mm", min: 0.01, max: 1000.0 };
        length_ui(ui, "Distance", &mut form.distance_mm, distance);
        ui.end_row();
        let direction = Bounds { what: "the direction", unit: "°", min: -360.0, max: 360.0 };
        length_ui(ui, "Direction", &mut form.angle_deg, direction);
        ui.end_row();
    });
    ui.weak("0° is to the right, 90° upwards");
    ui.add_space(6.0);
    let mut actions = Vec::new();
    ui.horizontal(|ui| {
        if ui.button("Repeat").clicked() {
            actions.push(Action::Command(Command::Arrange(Arrange::Repeat)));
        }
        if ui.button("Cancel").clicked() {
            view.work.repeat_open = false;
        }
    });
    actions
}
