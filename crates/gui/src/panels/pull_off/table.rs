//! The points of a measured curve as numbers.

use egui::{DragValue, Grid, Response, Ui};

use crate::units::typed_number;

/// What was done to the points; numbers count from 1.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Row {
    /// A number was typed.
    Typed(usize, (f64, f64)),
    /// A number moves with the pointer.
    Dragged(usize, (f64, f64)),
    /// It was let go of.
    Dropped,
    /// A point is wanted behind this one.
    Add(usize),
    /// This one is to go.
    Remove(usize),
}

/// The table. What the user did comes back.
pub(super) fn table_ui(ui: &mut Ui, points: &[(f64, f64)], unit: &'static str) -> Option<Row> {
    let mut row = None;
    Grid::new("points of the curve").num_columns(5).spacing([8.0, 4.0]).show(ui, |ui| {
        ui.weak("Point");
        ui.weak("Travel, mm");
        ui.weak(format!("Pull, {unit}"));
        ui.end_row();
        for (number, &(travel_mm, pull)) in (1..).zip(points) {
            let (is_first, is_last) = (number == 1, number == points.len());
            ui.label(number.to_string());
            let (mut to_mm, mut to) = (travel_mm, pull);
            let name = format!("Travel of point {number}");
            let travel = number_ui(ui, !is_first, &name, &mut to_mm, "mm");
            let name = format!("Pull of point {number}");
            let pull = number_ui(ui, !is_first && !is_last, &name, &mut to, unit);
            for response in [travel, pull] {
                if response.changed() {
                    let to = (to_mm, to);
                    let dragged = response.dragged();
                    row = Some(if dragged { Row::Dragged(number, to) } else { Row::Typed(number, to) });
                } else if response.drag_stopped() {
                    row = Some(Row::Dropped);
                }
            }
            if button_ui(ui, !is_last, "+", &format!("Add a point after point {number}")) {
                row = Some(Row::Add(number));
            }
            if button_ui(ui, !is_first && !is_last, "×", &format!("Remove point {number}")) {
                row = Some(Row::Remove(number));
            }
            ui.end_row();
        }
    });
    row
}

fn number_ui(ui: &mut Ui, enabled: bool, name: &str, value: &mut f64, unit: &'static str) -> Response {
    let size = if *value == 0.0 { 0.1 } else { value.abs() };
    let field = DragValue::new(value)
        .speed(10.0_f64.powf((size * 0.01).log10().round()).clamp(1e-4, 1.0))
        .max_decimals(4)
        .update_while_editing(false)
        .custom_parser(move |text| typed_number(text, unit))
        .suffix(format!(" {unit}"));
    ui.add_enabled(enabled, field).accessible_name(name)
}

fn button_ui(ui: &mut Ui, enabled: bool, sign: &str, name: &str) -> bool {
    let button = ui.add_enabled(enabled, egui::Button::new(sign).small());
    button.accessible_name(name).on_hover_text(name).clicked()
}
