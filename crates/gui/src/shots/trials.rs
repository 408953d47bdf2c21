//! The trial log: its list, and what it counts.

use egui::{Button, ComboBox, RichText, Ui};
use keepside_engine::chances::{bad_share_at_most, good_shots_needed};
use keepside_model::{Ended, Project, Trial};
use keepside_session::Session;

use super::log::{again, is_of_open, without};
use super::tally::{SURE, Tally};
use super::trial_form::form_ui;
use super::{bars, heading_ui, of_100, sentence_ui};
use crate::action::{Action, Command};
use crate::elevation::sentence;
use crate::look::Palette;
use crate::view::ViewState;

/// Shares of good shots that one may want to be sure of, per cent.
const WANTED: [u8; 5] = [80, 90, 95, 98, 99];

/// The page.
pub(super) fn trials_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
    let mut actions = Vec::new();
    let project = session.document();
    if view.shots.trial.is_some_and(|index| index >= project.trials.len()) {
        view.shots.trial = None;
    }
    if project.trials.is_empty() {
        let words = "Note here what the bench shows. A new trial keeps the layout as it was shot; then click on \
                     the plan what stayed where and what broke";
        sentence_ui(ui, RichText::new(words).weak());
    }
    ui.horizontal_wrapped(|ui| {
        if ui.button("New trial").on_hover_text("Of the layout that is open").clicked() {
            actions.push(Action::Command(Command::NewTrial));
        }
        let Some(index) = view.shots.trial else { return };
        let hint = "Another shot with the same settings; what was seen is left open";
        if ui.button("Same again").on_hover_text(hint).clicked() {
            actions
                .extend(again(project, index).map(|edit| Action::Command(Command::AddTrial(Box::new(edit)))));
        }
        if ui.button("Delete trial").on_hover_text("Undo brings it back").clicked() {
            view.shots.trial = None;
            actions.push(Action::Edit(without(project, index)));
        }
    });
    list_ui(ui, project, view);
    if let Some(index) = view.shots.trial {
        ui.separator();
        actions.extend(form_ui(ui, session, view, index));
    }
    if !project.trials.is_empty() {
        ui.separator();
        counts_ui(ui, project, view);
    }
    actions
}

/// The trials in the order of the log; a click chooses one, another click none.
fn list_ui(ui: &mut Ui, project: &Project, view: &mut ViewState) {
    let row = ui.spacing().interact_size.y + ui.spacing().item_spacing.y;
    let few = f32::from(u8::try_from(project.trials.len()).unwrap_or(u8::MAX));
    let scroll = egui::ScrollArea::vertical().id_salt("trials").max_height(row * few.min(7.0));
    scroll.auto_shrink([false, true]).show_rows(
        ui,
        ui.spacing().interact_size.y,
        project.trials.len(),
        |ui, shown| {
            ui.with_layout(egui::Layout::top_down_justified(egui::Align::Min), |ui| {
                for index in shown {
                    let is_chosen = view.shots.trial == Some(index);
                    let words = row_words(project, &project.trials[index]);
                    if ui.add(Button::selectable(is_chosen, words).truncate()).clicked() {
                        view.shots.trial = if is_chosen { None } else { Some(index) };
                        view.shots.fresh = None;
                    }
                }
            });
        },
    );
}

/// A trial in a line.
fn row_words(project: &Project, trial: &Trial) -> String {
    let name = if trial.name.trim().is_empty() { "Trial without a name" } else { trial.name.trim() };
    let shots = if trial.shots == 1 { String::new() } else { format!(" · {} shots", trial.shots) };
    let ended = trial.ended.map_or("not noted how it ended", Ended::word);
    let other = if is_of_open(project, trial) { "" } else { " · another layout" };
    format!("{name}{shots} · {ended}{other}")
}

/// What the log counts.
fn counts_ui(ui: &mut Ui, project: &Project, view: &mut ViewState) {
    heading_ui(ui, "What the log counts");
    ui.checkbox(&mut view.shots.counts_all, "Trials of other layouts as well");
    let all = view.shots.counts_all;
    let tally = Tally::of(project.trials.iter().filter(|trial| all || is_of_open(project, trial)));
    if tally.shots == 0 {
        ui.weak("No shot of which it is noted how it ended");
    }
    let palette = Palette::of(ui);
    for (ended, count) in &tally.by_end {
        let (low, high) = tally.limits(*ended);
        let words = format!(
            "{}: {count} of {} shots; so {} to {} of 100 ({:.0} % sure)",
            sentence(ended.word()),
            tally.shots,
            of_100(low),
            of_100(high),
            100.0 * SURE
        );
        sentence_ui(ui, words);
        let share = f64::from(*count) / f64::from(tally.shots);
        let ink = if *ended == Ended::Moving { palette.good } else { palette.ink_soft };
        bars::scale_ui(ui, share, (low, high), None, ink);
    }
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        let label = ui.label("To be 95 % sure that of 100 shots at least so many stay on the moving half");
        ComboBox::from_id_salt("share wanted")
            .selected_text(format!("{}", view.shots.wanted))
            .width(48.0)
            .show_ui(ui, |ui| {
                for wanted in WANTED {
                    ui.selectable_value(&mut view.shots.wanted, wanted, format!("{wanted}"));
                }
            })
            .response
            .labelled_by(label.id);
    });
    if let Some(needed) = good_shots_needed(f64::from(view.shots.wanted) / 100.0, SURE) {
        let words = match tally.in_a_row {
            row if row >= needed => format!("takes {needed} good shots in a row: they are there, {row}"),
            0 => format!("takes {needed} good shots in a row"),
            row => format!("takes {needed} good shots in a row; {row} are there, {} more", needed - row),
        };
        sentence_ui(ui, RichText::new(words).strong());
    }
    if tally.in_a_row > 0 {
        let most = of_100(bad_share_at_most(tally.in_a_row, SURE));
        let words = format!("{} good in a row still leave {most} bad ones of 100 possible", tally.in_a_row);
        sentence_ui(ui, RichText::new(words).weak());
    }
}
