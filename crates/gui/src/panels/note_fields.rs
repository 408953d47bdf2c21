//! The fields of a note.

use keepside_model::Note;

use super::fields::Fields;
use super::item_fields::place;

/// The text of the note that is shown next gets the keyboard: it has just been set.
pub(crate) fn type_next(ctx: &egui::Context) {
    ctx.data_mut(|data| data.insert_temp(key(), true));
}

fn key() -> egui::Id {
    egui::Id::unique("a note has just been set")
}

/// Text and place.
pub(super) fn note(fields: &mut Fields<'_>, note: &mut Note) {
    let text = fields.long_text("Text", &mut note.text);
    if fields.ui.data_mut(|data| data.remove_temp::<bool>(key())).is_some() {
        text.request_focus();
    }
    place(fields, &mut note.at);
}
