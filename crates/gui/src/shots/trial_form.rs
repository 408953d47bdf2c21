//! One trial: everything that can be noted of it. What is quickest by a click on the plan is here as well,
//! for the keyboard.

use std::collections::BTreeMap;

use egui::{CollapsingHeader, ComboBox, Grid, RichText, Ui};
use keepside_model::{Ended, Id, KeptBy, Project, Trial, bounds};
use keepside_session::Session;

use super::log::{KEPT, as_step, changed, is_of_open, kept_by, note_broke, note_kept};
use super::pieces::{Piece, pieces};
use super::sentence_ui;
use crate::action::{Action, Command};
use crate::compare::switch;
use crate::elevation::sentence;
use crate::panels::fields::{Change, Fields};
use crate::units::Unit;
use crate::view::ViewState;

/// The form of the trial with this number.
pub(super) fn form_ui(ui: &mut Ui, session: &Session, view: &mut ViewState, index: usize) -> Vec<Action> {
    let project = session.document();
    let Some(old) = project.trials.get(index) else { return Vec::new() };
    let mut trial = old.clone();
    let mut actions = Vec::new();
    let mut change = ended_ui(ui, &mut trial);
    if is_of_open(project, old) {
        let words = "On the plan: click a stretch for who kept it, a gate or a pin for what broke";
        sentence_ui(ui, RichText::new(words).weak());
    } else {
        actions.extend(other_layout_ui(ui, project, old));
    }
    change.join(head_ui(ui, project, &mut trial));
    if is_of_open(project, old) {
        change.join(group(ui, &kept_title(old), !old.kept.is_empty(), |ui| kept_ui(ui, session, &mut trial)));
        change
            .join(group(ui, &broke_title(old), old.broke.is_some(), |ui| broke_ui(ui, project, &mut trial)));
        change.join(group(ui, &bumps_title(old), !old.bumps_mm.is_empty(), |ui| {
            bumps_ui(ui, project, &mut trial)
        }));
    }
    let last = Fields::show(ui, "trial's end", |fields| {
        fields.text("Photo", &mut trial.photo);
        fields.long_text("Remarks", &mut trial.remarks);
    });
    change.join(last);
    ui.horizontal_wrapped(|ui| {
        if ui.button("Choose a photo…").clicked() {
            actions.push(Action::Command(Command::ChoosePhoto));
        }
        if ui.button("Done with it").on_hover_text("Esc, too").clicked() {
            view.shots.trial = None;
        }
    });
    let edits = change.actions(|| changed(project, index, |of| *of = trial));
    actions.extend(as_step(session, &view.shots, edits));
    actions
}

fn group(ui: &mut Ui, title: &str, is_open: bool, add: impl FnOnce(&mut Ui) -> Change) -> Change {
    // The title tells how much is noted, and changes with it.
    let id = title.split(" (").next().unwrap_or(title);
    let shown = CollapsingHeader::new(title).id_salt(("trial", id)).default_open(is_open).show(ui, add);
    shown.body_returned.unwrap_or_default()
}

/// How the shot ended as a whole, by one click.
fn ended_ui(ui: &mut Ui, trial: &mut Trial) -> Change {
    let mut change = Change::default();
    ui.label("How it ended, as a whole");
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = egui::vec2(4.0, 4.0);
        for ended in Ended::ALL {
            let chosen = trial.ended == Some(ended);
            let button = ui.add(egui::Button::selectable(chosen, ended.word()).frame_when_inactive(true));
            if button.on_hover_text(ended_hint(ended)).clicked() {
                trial.ended = if chosen { None } else { Some(ended) };
                change.now();
            }
        }
    });
    change
}

const fn ended_hint(ended: Ended) -> &'static str {
    match ended {
        Ended::Moving => "It stayed whole on the moving half",
        Ended::Fixed => "It stayed whole on the fixed half",
        Ended::Between => "It hung between both halves",
        Ended::Torn => "It was torn",
        Ended::Fell => "It fell out",
        Ended::ShortShot => "The channel was not filled; such a shot is not counted",
    }
}

/// The trial was shot with another layout than the one that is open.
fn other_layout_ui(ui: &mut Ui, project: &Project, trial: &Trial) -> Option<Action> {
    let name = trial.layout.as_deref().unwrap_or_default();
    let Some(index) = project.variants.iter().position(|variant| variant.name == name) else {
        sentence_ui(ui, format!("It was shot with the layout \"{name}\", which is no longer kept"));
        return None;
    };
    sentence_ui(ui, format!("It was shot with the layout \"{name}\"; open that to note on the plan"));
    let open = ui.button("Open that layout").on_hover_text("The layout shown now is kept, too");
    open.clicked().then(|| switch(project, index).map(Action::Edit)).flatten()
}

/// What names the trial, and how it was shot.
fn head_ui(ui: &mut Ui, project: &Project, trial: &mut Trial) -> Change {
    Fields::show(ui, "trial", |fields| {
        fields.text("Trial", &mut trial.name);
        fields
            .count("Shots alike", &mut trial.shots, bounds::SHOTS)
            .on_hover_text("How many shots ended like this");
        let mut layouts: Vec<(Option<usize>, String)> = vec![(None, "the open layout".to_owned())];
        layouts.extend(project.variants.iter().enumerate().map(|(index, of)| (Some(index), of.name.clone())));
        let shot = trial.layout.as_ref();
        let before = shot.map(|name| project.variants.iter().position(|variant| variant.name == *name));
        // A layout that is no longer kept is none of the choices.
        let mut chosen = before.map_or(Some(None), |found| found.map(Some));
        let options: Vec<(Option<Option<usize>>, &str)> =
            layouts.iter().map(|(index, name)| (Some(*index), name.as_str())).collect();
        let unchanged = chosen;
        fields.choice("Shot with", &mut chosen, &options);
        if chosen != unchanged
            && let Some(index) = chosen
        {
            trial.layout = index.and_then(|index| Some(project.variants.get(index)?.name.clone()));
        }
        fields.yes_or_no("Moving half sprayed", &mut trial.sprayed_moving);
        fields.yes_or_no("Fixed half sprayed", &mut trial.sprayed_fixed);
        fields.text("Settings", &mut trial.settings);
        if trial.is_taken_in {
            fields.remark("Taken into the assumed values already; it is not counted again");
        }
    })
}

fn kept_title(trial: &Trial) -> String {
    match trial.kept.len() {
        0 => "Who kept which stretch".to_owned(),
        count => format!("Who kept which stretch ({count})"),
    }
}

/// Every stretch with who kept it.
fn kept_ui(ui: &mut Ui, session: &Session, trial: &mut Trial) -> Change {
    let mut change = Change::default();
    let unit = Unit::of(ui);
    Grid::new("kept stretches").num_columns(2).spacing([8.0, 4.0]).show(ui, |ui| {
        for piece in pieces(session) {
            let label = ui.label(piece_words(session.document(), &piece, unit));
            let before = kept_by(trial, &piece);
            let mut by = before;
            ComboBox::from_id_salt(("kept", piece.run.0, piece.from_mm.to_bits()))
                .selected_text(kept_words(by))
                .width(112.0)
                .show_ui(ui, |ui| {
                    ui.selectable_value(&mut by, None, kept_words(None));
                    for (one, words) in KEPT {
                        ui.selectable_value(&mut by, Some(one), words);
                    }
                })
                .response
                .labelled_by(label.id);
            if by != before {
                note_kept(trial, &piece, by);
                change.now();
            }
            ui.end_row();
        }
    });
    change
}

/// A stretch by its run and where it begins and ends.
pub(crate) fn piece_words(project: &Project, piece: &Piece, unit: Unit) -> String {
    let whole = |mm: f64| (10.0 * mm).round() / 10.0;
    let (from, to) = (unit.plain(whole(piece.from_mm)), unit.short(whole(piece.to_mm)));
    format!("{}, {from} to {to}", project.tag(piece.run))
}

/// Who kept a stretch, in words.
pub(crate) fn kept_words(by: Option<KeptBy>) -> &'static str {
    by.and_then(|by| KEPT.iter().find(|(one, _)| *one == by)).map_or("not noted", |(_, words)| words)
}

fn broke_title(trial: &Trial) -> String {
    match &trial.broke {
        None => "What broke (nobody looked)".to_owned(),
        Some(broke) if broke.is_empty() => "What broke (nothing)".to_owned(),
        Some(broke) => format!("What broke ({})", broke.len()),
    }
}

/// Gates and pins at which something can break or stand up.
fn gates_and_pins(project: &Project) -> impl Iterator<Item = Id> + '_ {
    project.sprues.keys().chain(project.features.keys()).copied()
}

/// What broke.
fn broke_ui(ui: &mut Ui, project: &Project, trial: &mut Trial) -> Change {
    let mut change = Change::default();
    let mut looked = trial.broke.is_some();
    if ui.checkbox(&mut looked, "Somebody looked").changed() {
        trial.broke = looked.then(std::collections::BTreeSet::new);
        change.now();
    }
    ui.horizontal_wrapped(|ui| {
        for id in gates_and_pins(project) {
            let is_sprue = project.sprues.contains_key(&id);
            let what = if is_sprue { "plug broke off" } else { "plastic stayed in it" };
            let mut is_broken = trial.broke.as_ref().is_some_and(|broke| broke.contains(&id));
            let tick = ui.checkbox(&mut is_broken, project.tag(id));
            tick.widget_info(|| {
                let name = format!("{}: {what}", project.tag(id));
                egui::WidgetInfo::selected(egui::Role::CheckBox, true, is_broken, name)
            });
            if tick.on_hover_text(sentence(what)).changed() {
                note_broke(trial, id, is_broken);
                change.now();
            }
        }
    });
    change
}

fn bumps_title(trial: &Trial) -> String {
    match trial.bumps_mm.len() {
        0 => "Bumps measured".to_owned(),
        count => format!("Bumps measured ({count})"),
    }
}

/// Heights of bumps over a straightedge.
fn bumps_ui(ui: &mut Ui, project: &Project, trial: &mut Trial) -> Change {
    let straightedge = Unit::of(ui).short(project.limits.straightedge_mm);
    let words = format!("Over a straightedge of {straightedge}; positive towards the fixed half");
    sentence_ui(ui, RichText::new(words).weak());
    let before = trial.bumps_mm.clone();
    let mut measured: BTreeMap<Id, bool> =
        gates_and_pins(project).map(|id| (id, before.contains_key(&id))).collect();
    let mut change = Change::default();
    for (id, is_measured) in &mut measured {
        let tag = project.tag(*id);
        if !*is_measured {
            continue;
        }
        let height = trial.bumps_mm.entry(*id).or_insert(0.0);
        change.join(Fields::show(ui, ("bump", id.0), |fields| {
            fields.number(&format!("Bump at {tag}"), height, bounds::BUMP);
        }));
    }
    ui.horizontal_wrapped(|ui| {
        for (id, is_measured) in &mut measured {
            let tag = project.tag(*id);
            let tick = ui.checkbox(is_measured, &tag);
            tick.widget_info(|| {
                let name = format!("{tag}: bump measured");
                egui::WidgetInfo::selected(egui::Role::CheckBox, true, *is_measured, name)
            });
            if tick.changed() {
                if *is_measured {
                    trial.bumps_mm.insert(*id, 0.0);
                } else {
                    trial.bumps_mm.remove(id);
                }
                change.now();
            }
        }
    });
    change
}
