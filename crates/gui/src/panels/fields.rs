//! Named fields for numbers, choices and texts, in two columns.

use egui::{Color32, DragValue, Response, Ui};
use keepside_model::{Bounds, Edit};

use crate::action::Action;
use crate::look::Palette;
use crate::units::{Unit, typed_length_mm, typed_number};

/// Width of a name and of what stands behind it, points.
const NAME_PX: f32 = 110.0;
const VALUE_PX: f32 = 195.0;

/// Least width of a name where there is no room for both, its share of the room, and the least width of what
/// stands behind it, points.
const NARROW_NAME_PX: f32 = 84.0;
const NARROW_NAME_SHARE: f32 = 0.4;
const LEAST_VALUE_PX: f32 = 90.0;

/// Between a name and what stands behind it, points.
const GAP_PX: f32 = 10.0;

/// How far a change has come.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Change {
    changed: bool,
    /// The value still moves with the pointer or the keyboard.
    ongoing: bool,
    ended: bool,
}

impl Change {
    pub(crate) fn join(&mut self, other: Self) {
        self.changed |= other.changed;
        self.ongoing |= other.ongoing;
        self.ended |= other.ended;
    }

    /// Something was changed at one go.
    pub(crate) fn now(&mut self) {
        self.changed = true;
    }

    /// Notes what a field did.
    pub(crate) fn note(&mut self, response: &Response, ongoing: bool, ended: bool) {
        self.changed |= response.changed();
        self.ongoing |= ongoing && response.changed();
        self.ended |= ended;
    }

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

/// A length beside its name; whether it was changed.
pub(crate) fn length_ui(ui: &mut Ui, name: &str, value: &mut f64, bounds: Bounds) -> bool {
    let label = ui.label(name);
    Fields::new(ui).number_cell(label.id, value, bounds).changed()
}

/// Where a number comes from.
pub(crate) struct Origin<'a> {
    /// In a word.
    pub(crate) tag: &'static str,
    /// In full.
    pub(crate) words: &'a str,
    /// Whether the user has set it.
    pub(crate) is_own: bool,
}

/// Two columns of fields, inside an [`egui::Grid`].
pub(crate) struct Fields<'a> {
    pub(crate) ui: &'a mut Ui,
    pub(crate) change: Change,
    /// Width in which names are broken into lines, in a narrow panel.
    name_px: Option<f32>,
    /// Width of what stands behind a name.
    value_px: f32,
}

impl<'a> Fields<'a> {
    /// With room for everything.
    fn new(ui: &'a mut Ui) -> Self {
        Self { ui, change: Change::default(), name_px: None, value_px: VALUE_PX }
    }
}

impl Fields<'_> {
    /// Shows fields in a grid; what changed comes back.
    pub(crate) fn show(
        ui: &mut Ui,
        salt: impl std::hash::Hash + std::fmt::Debug,
        add: impl FnOnce(&mut Fields<'_>),
    ) -> Change {
        let room = ui.available_width();
        let (name_px, value_px) = if room < NAME_PX + GAP_PX + VALUE_PX {
            let name_px = NARROW_NAME_PX.max(((room - GAP_PX) * NARROW_NAME_SHARE).floor());
            (Some(name_px), (room - name_px - GAP_PX).clamp(LEAST_VALUE_PX, VALUE_PX))
        } else {
            (None, VALUE_PX)
        };
        // Columns do not grow narrower by themselves.
        egui::Grid::new(egui::Id::unique(("fields", salt, name_px.is_some())))
            .num_columns(2)
            .spacing([GAP_PX, 5.0])
            .min_col_width(name_px.unwrap_or(NAME_PX))
            .show(ui, |ui| {
                let mut fields = Fields { name_px, value_px, ..Fields::new(ui) };
                add(&mut fields);
                fields.change
            })
            .inner
    }

    /// The name of a field.
    fn name(&mut self, name: impl Into<egui::WidgetText>) -> Response {
        match self.name_px {
            Some(name_px) => {
                let label = |ui: &mut Ui| {
                    ui.set_max_width(name_px);
                    ui.add(egui::Label::new(name).wrap())
                };
                self.ui.scope(label).inner
            }
            None => self.ui.label(name),
        }
    }

    fn note(&mut self, response: &Response, ongoing: bool, ended: bool) {
        self.change.note(response, ongoing, ended);
    }

    /// A number in its permitted range.
    pub(crate) fn number(&mut self, name: &str, value: &mut f64, bounds: Bounds) -> Response {
        let label = self.name(name);
        let response = self.number_cell(label.id, value, bounds);
        self.ui.end_row();
        response
    }

    /// A whole number in its permitted range.
    pub(crate) fn count(&mut self, name: &str, value: &mut u32, bounds: Bounds) -> Response {
        let label = self.name(name);
        let range = bounds.min..=bounds.max;
        let words = format!("{} to {}", bounds.min, bounds.max);
        let field = DragValue::new(value).speed(0.1).range(range).update_while_editing(false);
        let response = self.ui.add(field).labelled_by(label.id).on_hover_text(words);
        let (ongoing, ended) = (response.dragged(), response.drag_stopped());
        self.note(&response, ongoing, ended);
        self.ui.end_row();
        response
    }

    /// A number with a button that sets it back to what it is by default.
    pub(crate) fn number_or_default(
        &mut self,
        name: &str,
        meaning: &str,
        value: &mut f64,
        default: f64,
        bounds: Bounds,
    ) {
        let label = self.name(name).on_hover_text(meaning);
        let change = self.ui.horizontal(|ui| {
            let mut cell = Fields::new(ui);
            cell.number_cell(label.id, value, bounds);
            let back = egui::Button::new("Default").small();
            let button = cell.ui.add_enabled(*value != default, back);
            let button = button.on_hover_text(format!("Back to {default} {}", bounds.unit));
            button.widget_info(|| {
                egui::WidgetInfo::labeled(
                    egui::Role::Button,
                    *value != default,
                    format!("Default for {name}"),
                )
            });
            if button.clicked() {
                *value = default;
                cell.change.changed = true;
            }
            cell.change
        });
        self.change.join(change.inner);
        self.ui.end_row();
    }

    /// A number with where it comes from; one that the user has set with a button that takes the published one
    /// back. Returns whether that was asked for.
    pub(crate) fn number_of_origin(
        &mut self,
        name: &str,
        value: &mut f64,
        bounds: Bounds,
        origin: &Origin<'_>,
    ) -> bool {
        let label = self.name(name);
        let value_px = self.value_px;
        let shown = self.ui.horizontal_wrapped(|ui| {
            ui.set_max_width(value_px);
            ui.spacing_mut().item_spacing.x = 5.0;
            let mut cell = Fields::new(ui);
            cell.number_cell(label.id, value, bounds);
            let palette = Palette::of(cell.ui);
            let ink = if origin.is_own { palette.accent } else { palette.ink_soft };
            let tag = egui::RichText::new(origin.tag).size(11.0).color(ink);
            cell.ui.label(tag).on_hover_text(origin.words);
            let goes_back = origin.is_own && {
                let back = cell.ui.small_button("Back");
                back.widget_info(|| {
                    let name = format!("Back to the published value of {name}");
                    egui::WidgetInfo::labeled(egui::Role::Button, true, name)
                });
                back.on_hover_text("Takes the published or assumed value back").clicked()
            };
            (cell.change, goes_back)
        });
        let (change, goes_back) = shown.inner;
        self.change.join(change);
        self.ui.end_row();
        goes_back
    }

    fn number_cell(&mut self, label: egui::Id, value: &mut f64, bounds: Bounds) -> Response {
        let before = *value;
        let field = DragValue::new(value)
            .speed(step(before, &bounds))
            .range(bounds.min..=bounds.max)
            .max_decimals(4)
            .update_while_editing(false);
        let unit = Unit::of(self.ui);
        let (field, range) = if bounds.unit == "mm" && unit != Unit::Millimetre {
            let shown = unit.plain(before);
            let parse = move |text: &str| {
                // What was only looked at stays the same to the last bit.
                let untouched = text.trim().trim_end_matches(unit.word()).trim() == shown;
                if untouched { Some(before) } else { typed_length_mm(text, unit) }
            };
            let field = field.custom_formatter(move |mm, _| unit.plain(mm)).custom_parser(parse);
            let range = format!("{} to {}", unit.plain(bounds.min), unit.short(bounds.max));
            (field.suffix(format!(" {}", unit.word())), range)
        } else {
            let suffix = match bounds.unit {
                "" => String::new(),
                "°" => "°".to_owned(),
                unit => format!(" {unit}"),
            };
            let field = field.custom_parser(|text| typed_number(text, bounds.unit)).suffix(suffix);
            (field, format!("{} to {} {}", bounds.min, bounds.max, bounds.unit))
        };
        let response = self.ui.add(field).labelled_by(label).on_hover_text(range);
        // Dragging gives many digits: as many are kept as the step has.
        if response.dragged() && *value != before {
            *value = rounded_to(*value, step(before, &bounds)).clamp(bounds.min, bounds.max);
        }
        let (ongoing, ended) = (response.dragged(), response.drag_stopped());
        self.note(&response, ongoing, ended);
        response
    }

    /// A number from 0 to `most` to be set by eye, in steps.
    pub(crate) fn slider(&mut self, name: &str, value: &mut f64, most: f64, step: f64) -> Response {
        let label = self.name(name);
        // A copy: the slider would round a number that nobody has touched.
        let mut shown = *value;
        let slider = egui::Slider::new(&mut shown, 0.0..=most).show_value(false).step_by(step);
        let value_px = self.value_px;
        let narrowed = self.ui.scope(|ui| {
            let usual = ui.spacing().slider_width;
            ui.spacing_mut().slider_width = usual.min(value_px - 10.0);
            ui.add(slider.clamping(egui::SliderClamping::Never))
        });
        let response = narrowed.inner.labelled_by(label.id);
        // Steps add up to numbers without a rest.
        let rounded = rounded_to(shown, step);
        if response.changed() && (rounded - *value).abs() > 0.01 * step {
            *value = rounded;
            self.change.changed = true;
            self.change.ongoing |= response.dragged();
        }
        self.change.ended |= response.drag_stopped();
        self.ui.end_row();
        response
    }

    /// One of several.
    pub(crate) fn choice<T: Copy + PartialEq>(&mut self, name: &str, value: &mut T, options: &[(T, &str)]) {
        let label = self.name(name);
        let shown = options.iter().find(|(option, _)| option == value).map_or("", |(_, words)| *words);
        let mut changed = false;
        egui::ComboBox::from_id_salt(name)
            .selected_text(shown)
            .width(self.value_px - 5.0)
            .truncate()
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

    /// Something that is so or not.
    pub(crate) fn yes_or_no(&mut self, name: &str, value: &mut bool) {
        self.ui.label("");
        self.change.changed |= self.ui.checkbox(value, name).changed();
        self.ui.end_row();
    }

    /// One line of text.
    pub(crate) fn text(&mut self, name: &str, value: &mut String) {
        let label = self.name(name);
        let field = egui::TextEdit::singleline(value).desired_width(self.value_px - 5.0);
        let response = self.ui.add(field).labelled_by(label.id);
        self.take_keyboard_if_renaming(name, &response);
        let ended = response.lost_focus();
        self.note(&response, true, ended);
        self.ui.end_row();
    }

    /// A command asks the field of the name for the keyboard.
    fn take_keyboard_if_renaming(&mut self, name: &str, response: &Response) {
        let is_name = name == "Name" || name == "Text";
        if is_name
            && self.ui.data_mut(|data| data.remove_temp::<bool>(crate::arrange::wants_name()).is_some())
        {
            response.request_focus();
            response.scroll_to_me(None);
        }
    }

    /// Several lines of text.
    pub(crate) fn long_text(&mut self, name: &str, value: &mut String) -> Response {
        let label = self.name(name);
        let field = egui::TextEdit::multiline(value).desired_width(self.value_px - 5.0).desired_rows(3);
        let response = self.ui.add(field).labelled_by(label.id);
        self.take_keyboard_if_renaming(name, &response);
        let ended = response.lost_focus();
        self.note(&response, true, ended);
        self.ui.end_row();
        response
    }

    /// Something to read.
    pub(crate) fn fact(&mut self, name: &str, words: &str) {
        if self.name_px.is_some() {
            return self.long_fact(name, words, None);
        }
        self.ui.weak(name);
        self.ui.label(words);
        self.ui.end_row();
    }

    /// Something to read that may take several lines, in an ink of its own if something is wrong with it.
    pub(crate) fn long_fact(&mut self, name: &str, words: &str, ink: Option<Color32>) {
        self.name(egui::RichText::new(name).weak());
        let mut text = egui::RichText::new(words);
        if let Some(ink) = ink {
            text = text.color(ink);
        }
        let value_px = self.value_px;
        self.ui.scope(|ui| {
            ui.set_max_width(value_px);
            ui.add(egui::Label::new(text).wrap());
        });
        self.ui.end_row();
    }

    /// Something to read below a field, small.
    pub(crate) fn remark(&mut self, words: &str) {
        self.ui.label("");
        let value_px = self.value_px;
        self.ui.scope(|ui| {
            ui.set_max_width(value_px);
            ui.add(egui::Label::new(egui::RichText::new(words).small().weak()).wrap());
        });
        self.ui.end_row();
    }

    /// Something to read that is not as it should be.
    pub(crate) fn alarm(&mut self, name: &str, words: &str, ink: Color32) {
        self.long_fact(name, words, Some(ink));
    }
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
