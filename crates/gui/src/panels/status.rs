//! The line at the bottom: where the pointer is, the grid, what the tool waits for.

use egui::Ui;
use keepside_session::Session;

use crate::action::{Action, Command};
use crate::elevation::sentence;
use crate::filling;
use crate::look::Palette;
use crate::plan::name_of;
use crate::units::{INCH_MM, Unit, typed_length_mm};
use crate::view::{Tab, Tool, ViewState};

/// Steps of the grid that can be chosen, mm.
const GRIDS_MM: [f64; 6] = [0.1, 0.25, 0.5, 1.0, 2.0, 5.0];

/// Steps of the grid that can be chosen where inches are shown, mm.
const INCH_GRIDS_MM: [f64; 6] =
    [0.005 * INCH_MM, 0.01 * INCH_MM, INCH_MM / 32.0, INCH_MM / 16.0, INCH_MM / 8.0, INCH_MM / 4.0];

/// In a narrower window there is no room for what is known of the filling, points.
const FILLING_PX: f32 = 1100.0;

/// Where less than this is left of the line the hint has one of its own, points.
const HINT_PX: f32 = 120.0;

/// Largest distance from a gate that can be stated, mm.
const MOST_FROM_GATE_MM: f64 = 500.0;

/// The line.
pub(crate) fn status_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
    let mut actions = Vec::new();
    ui.horizontal_wrapped(|ui| {
        let unit = Unit::of(ui);
        let place = match view.pointer {
            Some(at) => format!("x {}  y {} {}", unit.number(at.x), unit.number(at.y), unit.word()),
            None => format!("x –  y – {}", unit.word()),
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
            .selected_text(unit.short(view.grid_mm))
            .width(70.0)
            .show_ui(ui, |ui| {
                let grids = if unit == Unit::Inch { INCH_GRIDS_MM } else { GRIDS_MM };
                for grid in grids {
                    ui.selectable_value(&mut view.grid_mm, grid, unit.short(grid));
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
        if ui.content_rect().width() >= FILLING_PX {
            filling_ui(ui, session, view);
        }
        // What is left of the line, and no line of its own where there is some room.
        let label = egui::Label::new(egui::RichText::new(hint(session, view)).weak()).truncate();
        let room = egui::vec2(ui.available_size_before_wrap().x, ui.spacing().interact_size.y);
        if room.x < HINT_PX {
            ui.add(label);
        } else {
            let layout = egui::Layout::left_to_right(egui::Align::Center);
            ui.allocate_ui_with_layout(room, layout, |ui| ui.add(label));
        }
    });
    actions
}

/// Whether the mould fills, as a link to what is known of it.
fn filling_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) {
    let palette = Palette::of(ui);
    let (words, ink) = match filling::of(session) {
        Some(Ok(filling)) if filling.is_full => (filling::words::in_short(filling), palette.ink_soft),
        Some(Ok(filling)) => (filling::words::in_short(filling), palette.fault),
        Some(Err(reason)) => (sentence(&reason.to_string()), palette.warning),
        None => return,
    };
    // Cut short rather than broken: the line stays one line.
    let told = words.clone();
    let short = words.split_once(';').map_or(words.clone(), |(short, _)| short.to_owned());
    let label = egui::Label::new(egui::RichText::new(short).color(ink)).sense(egui::Sense::click()).extend();
    let response = ui.add(label).on_hover_cursor(egui::CursorIcon::PointingHand);
    if response.on_hover_text(format!("{told}\nClick for the list")).clicked() {
        view.tab = Tab::Melt;
    }
    ui.separator();
}

/// The distance from gates at which a dragged pin snaps; 0 is none.
fn from_gate_ui(ui: &mut Ui, view: &mut ViewState) {
    let unit = Unit::of(ui);
    let label = ui.label("From gate");
    let mut from_gate_mm = view.from_gate_mm.unwrap_or(0.0);
    let field = egui::DragValue::new(&mut from_gate_mm)
        .speed(0.1)
        .range(0.0..=MOST_FROM_GATE_MM)
        .max_decimals(2)
        .update_while_editing(false)
        .custom_formatter(move |mm, _| if mm > 0.0 { unit.short(mm) } else { "off".to_owned() })
        .custom_parser(
            move |text| if text.trim() == "off" { Some(0.0) } else { typed_length_mm(text, unit) },
        );
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
        Tool::Note => "Click where the note is to point; Esc to leave".to_owned(),
        Tool::Ejector => "Click in the channel to set an ejector pin; Esc to leave".to_owned(),
        Tool::Run => {
            "Click or Enter places; a number sets the length, Tab the angle; Shift: 15°; Esc ends".to_owned()
        }
        Tool::Frame | Tool::Ring | Tool::Tee | Tool::Cross => {
            "Click where its middle belongs; Esc to leave".to_owned()
        }
        Tool::Measure => "Click two places to measure between them; Esc to leave".to_owned(),
        Tool::Select => {
            let selected = session.selection();
            match (selected.len(), selected.first()) {
                (1, Some(&id)) => {
                    let name = name_of(session.document(), id);
                    if session.document().locked.contains(&id) {
                        return format!("{name} is locked: unlock it to move it (Ctrl+L)");
                    }
                    format!("{name}: drag it, or nudge it with the arrow keys (Shift: 0.1 mm)")
                }
                (0, _) => {
                    "Click selects, drag moves; on the ground a drag selects, with the right button it pans"
                        .to_owned()
                }
                (count, _) => format!("{count} items selected"),
            }
        }
    }
}
