//! Questions about the safety of the work: what was recovered, what somebody else changed, what cannot
//! be written. Each says what is safe and what every answer does.

use std::path::PathBuf;
use std::sync::Arc;

use egui::{Label, RichText, ScrollArea, Ui};
use keepside_model::Project;
use keepside_store::{Damaged, Holder, Recovered, Stamp};

use crate::action::Command;
use crate::look::Palette;

/// Height of what stands over and under a list in a dialog, with the dialog's frame, points.
const AROUND_LIST_PX: f32 = 170.0;

/// Something that can be recovered, with words about it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct RecoverRow {
    pub(crate) one: Recovered,
    pub(crate) when: String,
    pub(crate) what: String,
}

/// An earlier state, with words about it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct EarlierRow {
    pub(crate) when: String,
    pub(crate) what: String,
    /// `None` if it cannot be read.
    pub(crate) project: Option<Arc<Project>>,
}

/// A question.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Question {
    /// What windows that were not closed left behind; the project shown may be given up for it as it was
    /// at the revision `agreed`.
    Recover { rows: Vec<RecoverRow>, damaged: Vec<Damaged>, agreed: u64 },
    /// The file holds something else than it did; `found` now, if it is known.
    Changed { path: PathBuf, found: Option<Stamp>, is_saving: bool, then: Option<Command> },
    /// The file may not be written.
    Refused { words: String, then: Option<Command> },
    /// Another window has the project open.
    OpenTwice { path: PathBuf, other: Holder },
    /// The earlier states of the file at `path`.
    Earlier { path: PathBuf, rows: Vec<EarlierRow> },
    /// A save is under way that something waits for.
    Waiting,
}

/// An answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Choice {
    /// Opens the state in this row.
    Open(usize),
    /// Deletes the recovery file in this row.
    Discard(usize),
    /// Deletes the damaged recovery file in this row.
    DiscardDamaged(usize),
    /// Loads what the file holds.
    Load,
    /// Keeps what the window holds.
    KeepMine,
    /// Saves under another name.
    SaveAs,
    /// Nothing is done.
    Leave,
}

/// Shows a question; the answer, once there is one.
pub(crate) fn question_ui(ui: &mut Ui, question: &Question) -> Option<Choice> {
    match question {
        Question::Recover { rows, damaged, .. } => recover_ui(ui, rows, damaged),
        Question::Changed { path, is_saving, .. } => changed_ui(ui, path, *is_saving),
        Question::Refused { words, .. } => {
            title(ui, "This file cannot be written");
            wrapped(ui, words);
            ui.label("Your work is safe in this window; save it under another name.");
            buttons(ui, &[("Save as…", Choice::SaveAs), ("Cancel", Choice::Leave)])
        }
        Question::OpenTwice { path, other } => open_twice_ui(ui, path, other),
        Question::Earlier { rows, .. } => earlier_ui(ui, rows),
        Question::Waiting => {
            title(ui, "Saving…");
            ui.label("This goes on as soon as the project is saved");
            buttons(ui, &[("Do not wait", Choice::Leave), ("Save elsewhere…", Choice::SaveAs)])
        }
    }
}

/// Height of a list that leaves room for what stands over and under it, in a small window as well.
fn list_height(ui: &Ui) -> f32 {
    (ui.content_rect().height() - AROUND_LIST_PX).clamp(60.0, 320.0)
}

fn title(ui: &mut Ui, words: &str) {
    ui.label(RichText::new(words).strong().size(15.0));
    ui.add_space(6.0);
}

fn wrapped(ui: &mut Ui, words: impl Into<String>) {
    ui.add(Label::new(words.into()).wrap());
}

fn buttons(ui: &mut Ui, names: &[(&str, Choice)]) -> Option<Choice> {
    ui.add_space(8.0);
    let mut choice = None;
    ui.horizontal(|ui| {
        for (name, answer) in names {
            if ui.button(*name).clicked() {
                choice = Some(*answer);
            }
        }
    });
    choice
}

fn recover_ui(ui: &mut Ui, rows: &[RecoverRow], damaged: &[Damaged]) -> Option<Choice> {
    let mut choice = None;
    title(ui, "Unsaved work was left behind");
    ui.label("Keepside was not closed in the usual way. What it had kept is still here.");
    ui.add_space(6.0);
    ScrollArea::vertical().max_height(list_height(ui)).show(ui, |ui| {
        for (index, RecoverRow { one, when, what }) in rows.iter().enumerate() {
            ui.separator();
            ui.label(RichText::new(&one.about.title).strong());
            match &one.about.path {
                Some(path) => wrapped(ui, path.display().to_string()),
                None => wrapped(ui, "Never saved to a file"),
            }
            wrapped(ui, format!("Kept {when}: {what}"));
            let names = [
                (format!("Open recovered {}", one.about.title), Choice::Open(index)),
                (format!("Discard {}", one.about.title), Choice::Discard(index)),
            ];
            ui.horizontal_wrapped(|ui| {
                for (name, answer) in names {
                    if ui.button(name).clicked() {
                        choice = Some(answer);
                    }
                }
            });
        }
        for (index, Damaged { file, why }) in damaged.iter().enumerate() {
            ui.separator();
            let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
            ui.colored_label(Palette::of(ui).fault, "A recovery file is damaged and was passed over");
            wrapped(ui, format!("{why}: {}", file.display()));
            if ui.button(format!("Discard damaged {name}")).clicked() {
                choice = Some(Choice::DiscardDamaged(index));
            }
        }
    });
    choice.or(buttons(ui, &[("Later", Choice::Leave)]))
}

fn changed_ui(ui: &mut Ui, path: &std::path::Path, is_saving: bool) -> Option<Choice> {
    title(ui, "The file has been changed by somebody else");
    wrapped(ui, path.display().to_string());
    ui.add_space(4.0);
    wrapped(ui, "Load from disk: takes what the file holds now; undo leads back to yours.");
    let mine = if is_saving {
        "Keep mine: saves over it; what it holds now is kept as backup and earlier state."
    } else {
        "Keep mine: goes on with what is shown here; nothing is written until you save."
    };
    wrapped(ui, mine);
    wrapped(ui, "Save as…: leaves the file as it is and saves yours under another name.");
    let names =
        [("Load from disk", Choice::Load), ("Keep mine", Choice::KeepMine), ("Save as…", Choice::SaveAs)];
    if is_saving {
        buttons(ui, &[names[0], names[1], names[2], ("Cancel", Choice::Leave)])
    } else {
        buttons(ui, &names)
    }
}

fn open_twice_ui(ui: &mut Ui, path: &std::path::Path, other: &Holder) -> Option<Choice> {
    title(ui, "This project is open in another window");
    wrapped(ui, path.display().to_string());
    ui.add_space(4.0);
    let process = other.pid.map(|pid| format!("process {pid}"));
    let host = other.host.as_ref().map(|host| format!("on {host}"));
    let who: Vec<String> = process.into_iter().chain(host).collect();
    if !who.is_empty() {
        wrapped(ui, format!("The other window: {}", who.join(" ")));
    }
    wrapped(ui, "Whoever saves second is asked before the work of the first is saved over.");
    buttons(ui, &[("Go on", Choice::Leave), ("Save as…", Choice::SaveAs)])
}

fn earlier_ui(ui: &mut Ui, rows: &[EarlierRow]) -> Option<Choice> {
    let mut choice = None;
    title(ui, "Earlier states of this project");
    if rows.is_empty() {
        ui.label("There are none yet: the first is kept when the file is saved over");
    }
    ScrollArea::vertical().max_height(list_height(ui)).show(ui, |ui| {
        for (index, EarlierRow { when, what, project }) in rows.iter().enumerate() {
            ui.separator();
            ui.label(RichText::new(format!("Saved {when}")).strong());
            wrapped(ui, what);
            let name = format!("Return to state {}", index + 1);
            if ui.add_enabled(project.is_some(), egui::Button::new(name)).clicked() {
                choice = Some(Choice::Open(index));
            }
        }
    });
    choice.or(buttons(ui, &[("Close", Choice::Leave)]))
}
