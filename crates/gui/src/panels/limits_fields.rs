//! The limits that the findings compare with, each with its default and where that comes from.

use egui::Ui;
use keepside_model::{Edit, Limits, Project};

use super::fields::Fields;
use crate::action::Action;

/// All limits as fields.
pub(super) fn limits_ui(ui: &mut Ui, project: &Project) -> Vec<Action> {
    let mut limits = project.limits.clone();
    let change = Fields::show(ui, "limits", |fields| {
        for limit in &Limits::LIST {
            let default = limit.default_value();
            let value = (limit.of_mut)(&mut limits);
            fields.number_or_default(limit.name, limit.meaning, value, default, limit.bounds);
            let space = if limit.bounds.unit.is_empty() { "" } else { " " };
            fields.remark(&format!("default {default}{space}{}, {}", limit.bounds.unit, limit.origin));
        }
    });
    change.actions(|| Edit::SetLimits(limits))
}
