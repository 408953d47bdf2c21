//! Layouts side by side: the open one against the pinned one, and those kept in the project.

use egui::{Grid, Label, RichText, ScrollArea, TextEdit, Ui};
use keepside_model::Edit;
use keepside_session::Session;

use crate::action::{Action, Command};
use crate::compare::{Pinned, free_name, is_same, keep, known_as, switch};
use crate::digest::{Digest, rows};
use crate::look::Palette;
use crate::units::Unit;
use crate::view::ViewState;

/// The panel.
pub(crate) fn layouts_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
    let mut actions = Vec::new();
    ScrollArea::vertical().id_salt("layouts").auto_shrink([false, false]).show(ui, |ui| {
        kept_ui(ui, session, &mut actions);
        ui.separator();
        pinned_ui(ui, session, view, &mut actions);
    });
    actions
}

/// What can be compared, and the comparison.
fn pinned_ui(ui: &mut Ui, session: &Session, view: &mut ViewState, actions: &mut Vec<Action>) {
    let Some(pinned) = &view.pinned else {
        let hint = "Pin the layout as it is now as A and go on drawing: A and what you draw, B, then stand \
                    side by side here, and A's outline on the plan";
        ui.add(Label::new(RichText::new(hint).weak()).wrap());
        if ui.button("Pin as A").clicked() {
            actions.push(Action::Command(Command::PinPresent));
        }
        return;
    };
    ui.horizontal_wrapped(|ui| {
        let again = ui.button("Pin as A").on_hover_text("Takes the layout as it is now in place of A");
        if again.clicked() {
            actions.push(Action::Command(Command::PinPresent));
        }
        if ui.button("Unpin").clicked() {
            actions.push(Action::Command(Command::Unpin));
        }
        ui.checkbox(&mut view.show_pinned, "A on the plan");
    });
    comparison_ui(ui, session, pinned);
}

/// A and B in numbers.
fn comparison_ui(ui: &mut Ui, session: &Session, pinned: &Pinned) {
    let palette = Palette::of(ui);
    let present = Digest::of_session(session);
    for (name, digest) in
        [(format!("A, {}", pinned.name), &pinned.digest), ("B, open now".to_owned(), &present)]
    {
        let ink = match (digest.finished, digest.good) {
            (_, true) => palette.good,
            (true, false) => palette.fault,
            (false, false) => palette.ink_soft,
        };
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = 4.0;
            ui.strong(format!("{name}:"));
            ui.add(Label::new(RichText::new(&digest.verdict).color(ink)).wrap());
            if !digest.finished {
                ui.weak("(more is being computed)");
            }
        });
    }
    if let Some(words) = &pinned.problem {
        ui.colored_label(
            palette.fault,
            format!("Internal error in the analysis of A: {words}. Please report this"),
        );
    }
    ui.add_space(3.0);
    Grid::new("comparison").num_columns(4).striped(true).spacing([8.0, 3.0]).show(ui, |ui| {
        for head in ["", "A", "B", "B less A"] {
            ui.strong(head);
        }
        ui.end_row();
        for row in rows(&pinned.digest, &present, Unit::of(ui)) {
            ui.label(row.name);
            ui.label(row.a);
            ui.label(row.b);
            // By a sign as well as by colour.
            let (ink, sign, words) = match row.better {
                Some(true) => (palette.good, " ✓", "B is better there"),
                Some(false) => (palette.fault, " ✗", "B is worse there"),
                None => (palette.ink, "", "neither is better there"),
            };
            ui.label(RichText::new(format!("{}{sign}", row.change)).color(ink)).on_hover_text(words);
            ui.end_row();
        }
    });
}

/// The layouts kept in the project.
fn kept_ui(ui: &mut Ui, session: &Session, actions: &mut Vec<Action>) {
    let project = session.document();
    let here = known_as(project, project).map(str::to_owned);
    ui.strong("Layouts kept in this project");
    let mut renamed = None;
    for (index, variant) in project.variants.iter().enumerate() {
        let number = index + 1;
        ui.push_id(("kept layout", index), |ui| {
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = 4.0;
                let mut name = variant.name.clone();
                let field = ui.add(TextEdit::singleline(&mut name).desired_width(116.0));
                let field = field.accessible_name(format!("Name of kept layout {number}"));
                if field.changed() {
                    let mut variants = project.variants.clone();
                    if let Some(variant) = variants.get_mut(index) {
                        variant.name = name;
                    }
                    actions.push(Action::Preview("rename layout", Edit::SetVariants(variants)));
                }
                if field.lost_focus() {
                    renamed = Some(Action::Commit);
                }
                let is_here = here.is_some() && is_same(&variant.layout, project);
                let title = &variant.name;
                if button(ui, !is_here, "Open", &format!("Open {title}"), "The layout shown now is kept, too")
                {
                    actions.extend(switch(project, index).map(Action::Edit));
                }
                let hint = "Pins it as A";
                if button(ui, true, "Compare", &format!("Compare with {title}"), hint) {
                    actions.push(Action::Command(Command::PinKept(index)));
                }
                let hint = "Takes it out of the project; undo brings it back";
                if button(ui, true, "Delete", &format!("Delete {title}"), hint) {
                    let mut variants = project.variants.clone();
                    variants.remove(index);
                    actions.push(Action::Edit(Edit::SetVariants(variants)));
                }
            });
            if here.is_some() && is_same(&variant.layout, project) {
                ui.weak("is open now");
            }
        });
    }
    actions.extend(renamed);
    if project.variants.is_empty() {
        ui.add(Label::new(RichText::new("None yet. They are saved with the project").weak()).wrap());
    }
    let hint = "Keeps a copy of the layout as it is now, under a name";
    if ui.add_enabled(here.is_none(), egui::Button::new("Keep this layout")).on_hover_text(hint).clicked() {
        let name = free_name(project, &format!("Layout {}", project.variants.len() + 1));
        actions.push(Action::Edit(keep(project, name)));
    }
}

fn button(ui: &mut Ui, enabled: bool, words: &str, name: &str, hint: &str) -> bool {
    let button = ui.add_enabled(enabled, egui::Button::new(words).small());
    let button = button.accessible_name(name);
    button.on_hover_text(hint).clicked()
}
