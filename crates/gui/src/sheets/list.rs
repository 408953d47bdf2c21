//! What can be written: each with a box to tick, and those on paper with a way to look at them.

use std::collections::BTreeSet;

use egui::{Role, Ui, WidgetInfo};
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
    for output in Output::ALL {
        ui.horizontal(|ui| {
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
            if output.is_paged() {
                ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                    let is_shown = shown == Some(output);
                    let button = ui.selectable_label(is_shown, "Look");
                    button.widget_info(|| {
                        WidgetInfo::selected(
                            Role::Button,
                            true,
                            is_shown,
                            format!("Look at {}", output.label()),
                        )
                    });
                    if button.clicked() {
                        did = Some(Listed::Look(output));
                    }
                });
            }
        });
    }
    did
}
