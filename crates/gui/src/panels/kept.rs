//! Lists of what the user keeps for all projects: own grades and presses.

use egui::{TextEdit, Ui};

use crate::action::Command;
use crate::shelves::{Kept, Shelve, Shelved};

/// What is to be done with the list.
pub(super) enum KeptUse {
    /// A copy of this one goes into the project.
    Take(usize),
    /// The list changes.
    Do(Command),
}

/// The list, and a button that keeps what the project has. `name` is what that is called.
pub(super) fn kept_ui(
    ui: &mut Ui,
    kept: &mut Kept,
    what: Shelved,
    names: &[String],
    name: &str,
) -> Option<KeptUse> {
    let mut done = None;
    let word = what.word();
    if names.is_empty() {
        ui.weak(format!("No {word} is kept yet. One that is kept can be taken into any project, as a copy"));
    }
    for (index, known) in names.iter().enumerate() {
        ui.horizontal_wrapped(|ui| {
            let is_renamed = kept.renaming.as_ref().is_some_and(|(of, old, _)| *of == what && old == known);
            if let Some((_, old, new)) = kept.renaming.as_mut().filter(|_| is_renamed) {
                let label = ui.label("New name");
                let field = ui.add(TextEdit::singleline(new).desired_width(120.0)).labelled_by(label.id);
                let (entered, escaped) = ui.input(|input| {
                    (input.key_pressed(egui::Key::Enter), input.key_pressed(egui::Key::Escape))
                });
                if ui.button("Rename").clicked() || (field.lost_focus() && entered) {
                    let rename = Shelve::Rename { what, from: old.clone(), to: new.trim().to_owned() };
                    done = Some(KeptUse::Do(Command::Shelve(rename)));
                }
                if ui.button("Leave it").clicked() || (field.lost_focus() && escaped) {
                    kept.renaming = None;
                }
                return;
            }
            ui.label(known);
            let button = |ui: &mut Ui, words: &str| {
                let response = ui.small_button(words);
                let name = format!("{words} {word} {known}");
                response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, &name));
                response.clicked()
            };
            if button(ui, "Use") {
                done = Some(KeptUse::Take(index));
            }
            if button(ui, "Rename…") {
                kept.renaming = Some((what, known.clone(), known.clone()));
            }
            if button(ui, "Delete") {
                done = Some(KeptUse::Do(Command::Shelve(Shelve::Forget { what, name: known.clone() })));
            }
        });
    }
    let is_known = names.iter().any(|known| known == name.trim());
    let words = if is_known { format!("Keep “{name}” anew") } else { format!("Keep “{name}”") };
    let button = ui.add(egui::Button::new(words).truncate());
    let hint = format!("Keeps the {word} as it is here, under its name, for other projects");
    if button.on_hover_text(hint).clicked() {
        done = Some(KeptUse::Do(Command::Shelve(Shelve::Keep(what))));
    }
    done
}
