//! Named fields for numbers, choices and texts, in two columns.

use egui::{Color32, DragValue, Response, Ui};
use keepside_model::{Bounds, Edit};

use crate::action::Action;

/// How far a change has come.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Change {
    changed: bool,
    /// The value still moves with the pointer or the keyboard.
    ongoing: bool,
    ended: bool,
}

impl Change {
    /// What to do about it: a preview while the value moves, one undo step in the end.
    pub(crate) fn actions(self, edit: impl FnOnce() -> Edit) -> Vec<Action> {
        let mut actions = Vec::new();
        if self.changed {
            let edit = edit();
            actions.push(if self.ongoing { Action::Preview(edit.label(), edit) } else { Action::Edit(edit) });
        }
        if self.ended {
            actions.push(Action::Commit);
        }
        actions
    }
}

/// Two columns of fields, inside an [`egui::Grid`].
pub(crate) struct Fields<'a> {
    pub(crate) ui: &'a mut Ui,
    pub(crate) change: Change,
}

impl Fields<'_> {
    /// Shows fields in a grid; what changed comes back.
    pub(crate) fn show(
        ui: &mut Ui,
        salt: impl std::hash::Hash + std::fmt::Debug,
        add: impl FnOnce(&mut Fields<'_>),
    ) -> Change {
        egui::Grid::new(egui::Id::unique(("fields", salt)))
            .num_columns(2)
            .spacing([10.0, 5.0])
            .min_col_width(110.0)
            .show(ui, |ui| {
                let mut fields = Fields { ui, change: Change::default() };
                add(&mut fields);
                fields.change
            })
            .inner
    }

    fn note(&mut self, response: &Response, ongoing: bool, ended: bool) {
        self.change.changed |= response.changed();
        self.change.ongoing |= ongoing && response.changed();
        self.change.ended |= ended;
    }

    /// A number in its permitted range.
    pub(crate) fn number(&mut self, name: &str, value: &mut f64, bounds: Bounds) -> Response {
        let label = self.ui.label(name);
        let before = *value;
        let field = DragValue::new(value)
            .speed(step(before, &bounds))
            .range(bounds.min..=bounds.max)
            .max_decimals(4)
            .update_while_editing(false)
            .custom_parser(|text| typed_number(text, bounds.unit))
            .suffix(match bounds.unit {
                "" => String::new(),
                "°" => "°".to_owned(),
                unit => format!(" {unit}"),
            });
        let response = self
            .ui
            .add(field)
            .labelled_by(label.id)
            .on_hover_text(format!("{} to {} {}", bounds.min, bounds.max, bounds.unit));
        // Dragging gives many digits: as many are kept as the step has.
        if response.dragged() && *value != before {
            *value = rounded_to(*value, step(before, &bounds)).clamp(bounds.min, bounds.max);
        }
        let (ongoing, ended) = (response.dragged(), response.drag_stopped());
        self.note(&response, ongoing, ended);
        self.ui.end_row();
        response
    }

    /// One of several.
    pub(crate) fn choice<T: Copy + PartialEq>(&mut self, name: &str, value: &mut T, options: &[(T, &str)]) {
        let label = self.ui.label(name);
        let shown = options.iter().find(|(option, _)| option == value).map_or("", |(_, words)| *words);
        let mut changed = false;
        egui::ComboBox::from_id_salt(name)
            .selected_text(shown)
            .width(190.0)
            .show_ui(self.ui, |ui| {
                for (option, words) in options {
                    changed |= ui.selectable_value(value, *option, *words).changed();
                }
            })
            .response
            .labelled_by(label.id);
        self.change.changed |= changed;
        self.ui.end_row();
    }

    /// One line of text.
    pub(crate) fn text(&mut self, name: &str, value: &mut String) {
        let label = self.ui.label(name);
        let field = egui::TextEdit::singleline(value).desired_width(190.0);
        let response = self.ui.add(field).labelled_by(label.id);
        let ended = response.lost_focus();
        self.note(&response, true, ended);
        self.ui.end_row();
    }

    /// Several lines of text.
    pub(crate) fn long_text(&mut self, name: &str, value: &mut String) {
        let label = self.ui.label(name);
        let field = egui::TextEdit::multiline(value).desired_width(190.0).desired_rows(3);
        let response = self.ui.add(field).labelled_by(label.id);
        let ended = response.lost_focus();
        self.note(&response, true, ended);
        self.ui.end_row();
    }

    /// Something to read.
    pub(crate) fn fact(&mut self, name: &str, words: &str) {
        self.ui.weak(name);
        self.ui.label(words);
        self.ui.end_row();
    }

    /// Something to read that is not as it should be.
    pub(crate) fn alarm(&mut self, name: &str, words: &str, ink: Color32) {
        self.ui.weak(name);
        self.ui.colored_label(ink, words);
        self.ui.end_row();
    }
}

/// A number as typed: with a decimal point or a decimal comma, with or without the unit shown behind
/// it; spaces do not count.
pub(super) fn typed_number(text: &str, unit: &str) -> Option<f64> {
    let without_spaces = |text: &str| text.split_whitespace().collect::<String>();
    let (text, unit) = (without_spaces(text), without_spaces(unit));
    let digits = text.strip_suffix(unit.as_str()).unwrap_or(&text);
    let number = digits.replace('−', "-").replace(',', ".").parse::<f64>().ok()?;
    (!number.is_nan()).then_some(number)
}

/// How much a number changes per point of pointer movement: about a hundredth of its value, at least a
/// ten-thousandth of its range if that is small.
fn step(value: f64, bounds: &Bounds) -> f64 {
    let size = value.abs().max(((bounds.max - bounds.min) * 0.002).min(1.0));
    10.0_f64.powf((size * 0.01).log10().round()).clamp(1e-4, 1.0)
}

fn rounded_to(value: f64, step: f64) -> f64 {
    let per_unit = step.recip().round().max(1.0);
    if step >= 1.0 { value.round() } else { (value * per_unit).round() / per_unit }
}

#[cfg(test)]
mod tests {
    use super::typed_number;

    #[test]
    fn a_number_may_have_a_decimal_comma_and_its_unit() {
        assert_eq!(typed_number("190,5", "mm"), Some(190.5));
        assert_eq!(typed_number("191 mm", "mm"), Some(191.0));
        assert_eq!(typed_number("1 °", "°"), Some(1.0));
        assert_eq!(typed_number(" −0,25mm ", "mm"), Some(-0.25));
        assert_eq!(typed_number("1 200.5", "N"), Some(1200.5));
        assert_eq!(typed_number("2.5", ""), Some(2.5));
    }

    #[test]
    fn what_is_no_number_is_refused() {
        // Another unit is not converted, so it is not taken for a number either.
        for text in ["", "mm", "1 in", "1,000.5", "nan", "1 mm mm"] {
            assert_eq!(typed_number(text, "mm"), None, "{text}");
        }
    }
}
