//! What the View menu says of the unit of lengths and of the size of everything.

use egui::Ui;

use crate::settings::SCALES;
use crate::units::Unit;
use crate::view::ViewState;

/// Sizes that can be chosen, per cent.
const PERCENTS: [u8; 7] = [75, 100, 125, 150, 175, 200, 250];

/// The entries.
pub(super) fn display_menu(ui: &mut Ui, view: &mut ViewState) {
    ui.separator();
    for (now, name) in [(false, "Who keeps it in the end"), (true, "Who keeps it at the opening shown")] {
        let choice = ui.radio_value(&mut view.keeps_now, now, name);
        choice.on_hover_text("Of the stretches on the plan, by colour and hatching");
    }
    ui.separator();
    for (unit, name) in Unit::ALL.into_iter().zip(["Lengths in millimetres", "Lengths in inches"]) {
        let choice = ui.radio_value(&mut view.unit, unit, name);
        choice.on_hover_text("The project itself stays in millimetres; any field takes 3,5 or 1/8 in");
    }
    ui.separator();
    let now = ui.ctx().zoom_factor();
    ui.menu_button(format!("Size of everything ({:.0} %)", 100.0 * now), |ui| {
        for percent in PERCENTS {
            let scale = f32::from(percent) / 100.0;
            let here = (now - scale).abs() < 0.005;
            if ui.radio(here, format!("{percent} %")).clicked() && SCALES.contains(&scale) {
                ui.ctx().set_zoom_factor(scale);
                ui.close();
            }
        }
        ui.weak("Ctrl with + and -, too");
    });
}
