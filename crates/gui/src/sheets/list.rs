//! What can be written: each with a box to tick, and those on paper with a way to look at them.

use std::collections::BTreeSet;

use egui::{Id, Role, Ui, WidgetInfo};
use keepside_sheet::Output;

/// What the user did in the list.
pub(super) enum Listed {
    /// Wants to look at an output.
    Look(Output),
    /// Wants drill cycles, or no more: the project keeps that.
    Cycles(bool),
}

/// The list.
pub(super) fn list_ui(
    ui: &mut Ui,
    shown: Option<Output>,
    chosen: &mut BTreeSet<Output>,
    wants_cycles: bool,
) -> Option<Listed> {
    let mut did = None;
    ui.label("Tick what is to be written");
    egui::Grid::new(Id::unique("sheets' list")).num_columns(2).spacing([6.0, 4.0]).show(ui, |ui| {
        for output in Output::ALL {
            if output.is_paged() {
                let is_shown = shown == Some(output);
                let button = ui.selectable_label(is_shown, "Look");
                button.widget_info(|| {
                    let name = format!("Look at {}", output.label());
                    WidgetInfo::selected(Role::Button, true, is_shown, name)
                });
                if button.clicked() {
                    did = Some(Listed::Look(output));
                }
            } else {
                ui.label("");
            }
            let is_cycles = output == Output::DrillCycles;
            let mut is_chosen = if is_cycles { wants_cycles } else { chosen.contains(&output) };
            if ui.checkbox(&mut is_chosen, output.label()).changed() {
                if is_cycles {
                    did = Some(Listed::Cycles(is_chosen));
                } else if is_chosen {
                    chosen.insert(output);
                } else {
                    chosen.remove(&output);
                }
            }
            ui.end_row();
        }
    });
    did
}
