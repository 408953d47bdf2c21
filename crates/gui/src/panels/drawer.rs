//! The screws on hand: cures choose from these.

use egui::Ui;
use keepside_model::{Edit, Project, ThreadSize};

use crate::action::Action;

/// One box a thread size.
pub(super) fn drawer_ui(ui: &mut Ui, project: &Project) -> Vec<Action> {
    let mut actions = Vec::new();
    ui.weak("Cures choose from these; none ticked means any");
    ui.horizontal_wrapped(|ui| {
        for size in ThreadSize::ALL {
            let mut on_hand = project.drawer.contains(&size);
            if ui.checkbox(&mut on_hand, size.designation()).changed() {
                let mut drawer = project.drawer.clone();
                if on_hand {
                    drawer.insert(size);
                } else {
                    drawer.remove(&size);
                }
                actions.push(Action::Edit(Edit::SetDrawer(drawer)));
            }
        }
    });
    actions
}
