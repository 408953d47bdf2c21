//! The line at the bottom: where the pointer is, the grid, what the tool waits for.

use egui::Ui;
use keepside_session::Session;

use super::fields::typed_number;
use crate::action::{Action, Command};
use crate::plan::name_of;
use crate::view::{Tool, ViewState};

/// Steps of the grid that can be chosen, mm.
const GRIDS_MM: [f64; 6] = [0.1, 0.25, 0.5, 1.0, 2.0, 5.0];

/// Largest distance from a gate that can be stated, mm.
const MOST_FROM_GATE_MM: f64 = 500.0;

/// The line.
pub(crate) fn status_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
    let mut actions = Vec::new();
    ui.horizontal(|ui| {
        let place = match view.pointer {
            Some(at) => format!("x {:.2}  y {:.2} mm", at.x, at.y),
            None => "x –  y – mm".to_owned(),
        };
        let (rect, _) =
            ui.allocate_exact_size(egui::vec2(150.0, ui.available_height()), egui::Sense::hover());
        ui.painter().text(
            rect.left_center(),
            egui::Align2::LEFT_CENTER,
            place,
            egui::TextStyle::Body.resolve(ui.style()),
            ui.visuals().text_color(),
        );
        ui.separator();
        ui.checkbox(&mut view.snapping, "Snap").on_hover_text("Hold Alt to place freely");
        let label = ui.label("Grid");
        egui::ComboBox::from_id_salt("grid")
            .selected_text(format!("{} mm", view.grid_mm))
            .width(70.0)
            .show_ui(ui, |ui| {
                for grid in GRIDS_MM {
                    ui.selectable_value(&mut view.grid_mm, grid, format!("{grid} mm"));
                }
            })
            .response
            .labelled_by(label.id);
        from_gate_ui(ui, view);
        for (name, hint, command) in [
            ("Zoom out", "-", Command::ZoomOut),
            ("Zoom in", "+", Command::ZoomIn),
            ("Fit", "0 or a double click on the ground", Command::Fit),
        ] {
            if ui.small_button(name).on_hover_text(hint).clicked() {
                actions.push(Action::Command(command));
            }
        }
        ui.separator();
        ui.add(egui::Label::new(egui::RichText::new(hint(session, view)).weak()).truncate());
    });
    actions
}

/// The distance from gates at which a dragged pin snaps; 0 is none.
fn from_gate_ui(ui: &mut Ui, view: &mut ViewState) {
    let label = ui.label("From gate");
    let mut from_gate_mm = view.from_gate_mm.unwrap_or(0.0);
    let field = egui::DragValue::new(&mut from_gate_mm)
        .speed(0.1)
        .range(0.0..=MOST_FROM_GATE_MM)
        .max_decimals(2)
        .update_while_editing(false)
        .custom_formatter(|mm, _| {
            if mm > 0.0 { format!("{} mm", (mm * 100.0).round() / 100.0) } else { "off".to_owned() }
        })
        .custom_parser(|text| typed_number(text, "mm"));
    let response = ui.add(field).labelled_by(label.id);
    let response = response.on_hover_text(
        "A dragged pin snaps at this distance from a gate along the channel, middle to middle; 0 = off",
    );
    if response.changed() {
        view.from_gate_mm = (from_gate_mm > 0.0).then_some(from_gate_mm);
    }
}

fn hint(session: &Session, view: &ViewState) -> String {
    if let Some(aid) = &view.snapped {
        let words = aid.to.words(session.document());
        if !words.is_empty() {
            return format!("Snaps to: {words}. Hold Alt to place freely");
        }
    }
    match view.tool {
        Tool::Pin => "Click in the channel to set a keying pin; Esc to leave".to_owned(),
        Tool::Gate => "Click in the channel to set a gate; Esc to leave".to_owned(),
        Tool::Vent => "Click at the channel's edge to cut a vent; Esc to leave".to_owned(),
        Tool::Ejector => "Click in the channel to set an ejector pin; Esc to leave".to_owned(),
        Tool::Select => {
            let selected = session.selection();
            match (selected.len(), selected.first()) {
                (1, Some(&id)) => {
                    let name = name_of(session.document(), id);
                    format!("{name}: drag it, or nudge it with the arrow keys (Shift: 0.1 mm)")
                }
                (0, _) => "Click selects, drag moves, wheel zooms, drag on the ground pans".to_owned(),
                (count, _) => format!("{count} items selected"),
            }
        }
    }
}
