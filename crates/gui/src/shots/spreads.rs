//! How uncertain the assumed inputs are, in words of the bench: a factor within which nine of ten lie.

use egui::{DragValue, Grid, RichText, Ui};
use keepside_model::{Edit, Project, Scatter, Spread, bounds};

use super::sentence_ui;
use crate::action::Action;
use crate::panels::fields::Change;

/// Nine in ten of a normal distribution lie within this many standard deviations.
const NINE_IN_TEN: f64 = 1.645;

/// A spread as the factor by which nine in ten lie below and above the middle.
fn factor(log_sd: f64) -> f64 {
    (NINE_IN_TEN * log_sd).exp()
}

/// The spread of a factor.
fn log_sd(factor: f64) -> f64 {
    (factor.max(1.0).ln() / NINE_IN_TEN).min(bounds::LOG_SPREAD.max)
}

/// The fields.
pub(super) fn spreads_ui(ui: &mut Ui, project: &Project) -> Vec<Action> {
    let words = "Two things: what changes from one shot to the next, and what is the same in every shot but \
                 not known yet. 1.5 means: nine times in ten between 1/1.5 and 1.5 times the assumed value. \
                 1 means: none";
    sentence_ui(ui, RichText::new(words).weak());
    let mut scatter = project.scatter;
    let mut change = Change::default();
    let holds = &project.holds;
    Grid::new("spreads").num_columns(3).spacing([8.0, 4.0]).show(ui, |ui| {
        for head in ["", "from shot to shot", "not known"] {
            ui.add(egui::Label::new(RichText::new(head).strong().small()).wrap());
        }
        ui.end_row();
        let mut row = |name: &str, hint: String, spread: &mut Spread| {
            ui.scope(|ui| {
                ui.set_max_width(96.0);
                ui.add(egui::Label::new(name).wrap()).on_hover_text(hint);
            });
            spread_ui(ui, &format!("{name}, from shot to shot"), &mut spread.shot, &mut change);
            spread_ui(ui, &format!("{name}, not known"), &mut spread.median, &mut change);
            ui.end_row();
        };
        let within = |value: f64, unit: &str, spread: Spread| {
            let times = factor(spread.median);
            format!(
                "Assumed {value} {unit}; so it may be {:.2} to {:.2} {unit}",
                value / times,
                value * times
            )
        };
        let Scatter { tack, wall_drag, sprue_drag, bore, filled, hot_strength, release_agent } = &mut scatter;
        row("Face tack", within(holds.tack_mpa, "MPa", *tack), tack);
        row("Wall drag", within(holds.wall_drag_mpa, "MPa", *wall_drag), wall_drag);
        row("Drag in sprue bores", within(holds.sprue_drag_turned_mpa, "MPa", *sprue_drag), sprue_drag);
        let hint =
            "Of a thread: of the share filled to the share left empty; of a head or a ring: of its pull";
        row("How far undercuts fill", hint.to_owned(), filled);
        row("Hot strength", "How warm the part is when the mould opens".to_owned(), hot_strength);
        let hint = "What is left of the tack where a half is sprayed";
        row("Release agent", hint.to_owned(), release_agent);
        ui.scope(|ui| {
            ui.set_max_width(96.0);
            let hint = "Tool marks: how much one sprue bore differs from the next";
            ui.add(egui::Label::new("Bore to bore").wrap()).on_hover_text(hint);
        });
        ui.label("");
        spread_ui(ui, "Bore to bore", bore, &mut change);
        ui.end_row();
    });
    let mut actions = change.actions(|| Edit::SetScatter(Box::new(scatter)));
    if ui
        .add_enabled(project.scatter != Scatter::default(), egui::Button::new("Back to the assumed spreads"))
        .clicked()
    {
        actions.push(Action::Edit(Edit::SetScatter(Box::default())));
    }
    actions
}

/// One spread, shown as a factor.
fn spread_ui(ui: &mut Ui, name: &str, spread: &mut f64, change: &mut Change) {
    let before = (factor(*spread) * 100.0).round() / 100.0;
    let mut shown = before;
    let most = factor(bounds::LOG_SPREAD.max);
    let field = DragValue::new(&mut shown)
        .speed(0.01)
        .range(1.0..=most)
        .max_decimals(2)
        .min_decimals(2)
        .prefix("× ")
        .update_while_editing(false);
    let response = ui.add(field);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::SpinButton, true, name));
    // What was only looked at stays the same to the last bit.
    if response.changed() && shown != before {
        *spread = log_sd(shown);
    }
    change.note(&response, response.dragged(), response.drag_stopped());
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spread_comes_back_from_its_factor() {
        for spread in [0.0, 0.15, 0.82, 2.0] {
            assert!((log_sd(factor(spread)) - spread).abs() < 1e-12, "{spread}");
        }
        assert_eq!(log_sd(0.5), 0.0);
    }
}
