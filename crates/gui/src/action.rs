//! What the user asks for: panels and views return [`Action`]s, the app carries them out in one place.

use std::path::PathBuf;

use egui::{Event, Key};
use glam::DVec2;
use keepside_model::{Calibration, Edit, Id};

use crate::keys;
use crate::shelves::Shelve;
use crate::shots::{Page, Subject};
use crate::view::{Tool, ViewState};
use crate::work::{Arrange, DrawKey};

/// Something the user did.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// A whole change: one undo step.
    Edit(Edit),
    /// A gesture begins, for example a drag; the label is for the undo menu.
    Begin(&'static str),
    /// The gesture as it is now, from the state before it. Begins one if there is none.
    Preview(&'static str, Edit),
    /// A change that belongs to the last undo step.
    Amend(Edit),
    /// The gesture ends and counts.
    Commit,
    /// Selects these items only.
    Select(Vec<Id>),
    /// Adds an item to the selection or takes it out.
    Toggle(Id),
    /// Selects the items and brings the place into view.
    Show(Vec<Id>, Option<DVec2>),
    /// Adds a new item at a place of the plan, mm.
    Place(Tool, DVec2),
    /// Something that is no change of the project.
    Command(Command),
}

/// Something that is no change of the project's data.
#[derive(Clone, Debug, PartialEq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Command {
    New,
    /// Opens the demo project.
    Demo,
    /// Shows the page that explains what it is about.
    FirstPage,
    /// Shows the version and the licences.
    About,
    Open,
    /// Opens this file.
    OpenPath(PathBuf),
    Save,
    SaveAs,
    /// Lists what the project's file held before.
    Earlier,
    /// Offers what windows that were not closed left behind.
    Recover,
    /// Brings in a drawing as channel runs.
    Import,
    Export,
    /// Shows the sheets for the bench as they will be printed.
    Sheets,
    Quit,
    Undo,
    Redo,
    Delete,
    SelectAll,
    /// Leaves the gesture, else the tool, else the selection; else stops what is being computed.
    Escape,
    /// Stops what is being computed.
    StopComputing,
    /// Computes what was stopped.
    Compute,
    /// Moves the selection by this many grid steps, or tenths of a millimetre if fine. A repeated key
    /// goes on with the same undo step.
    Nudge {
        by: DVec2,
        fine: bool,
        repeated: bool,
    },
    /// Selects the next thing on the plan, or the one before.
    Step {
        forwards: bool,
    },
    Fit,
    ZoomIn,
    ZoomOut,
    UseTool(Tool),
    /// Shows the next computed opening or the one before, or the next release or the one before; of the
    /// filling, if that is shown, the next moment or event.
    StepOpening {
        forward: bool,
        release: bool,
    },
    /// Changes what is kept for all projects: grades and presses.
    Shelve(Shelve),
    /// Plays the opening, or the filling if that is shown, or pauses it.
    PlayOpening,
    /// Shows the filling under the plan, or the opening again.
    ToggleFilling,
    /// Pins the open layout as A, to compare with.
    PinPresent,
    /// Pins a layout kept in the project as A.
    PinKept(usize),
    /// Compares no more.
    Unpin,
    /// Opens a page about shots, or closes the panel if that page is open.
    Shots(Page),
    CloseShots,
    /// Notes a trial of the open layout.
    NewTrial,
    /// Adds a trial by this edit.
    AddTrial(Box<Edit>),
    /// Asks for a photo of the trial that is chosen.
    ChoosePhoto,
    /// Keeps what was learned for all projects.
    KeepLearned(Box<Calibration>),
    /// Forgets what was learned and is kept under this name.
    ForgetLearned(String),
    /// Stops something that is computed of many shots.
    StopStudy(Subject),
    /// Computes it from the beginning.
    StartStudy(Subject),
    /// Places what the tool adds at the pointer, or in the middle of the view.
    PlaceHere,
    /// A key while a run is drawn.
    Draw(DrawKey),
    /// Arranges or edits what is selected.
    Arrange(Arrange),
}

/// The commands that the keys pressed since the last frame stand for. The plan's own keys apply only
/// while nothing else wants them: no menu or drop-down is open, and no widget outside the plan has the
/// keyboard. While a text is being typed undoing is the text's own as well.
pub(crate) fn from_keys(ctx: &egui::Context, view: &ViewState) -> Vec<Command> {
    let typing = ctx.text_edit_focused();
    let for_plan = !egui::Popup::is_any_open(ctx) && (view.item_focused || !other_focused(ctx));
    ctx.input_mut(|input| {
        let mut commands = Vec::new();
        for row in keys::ROWS.iter().filter(|row| row.is_everywhere) {
            let of_text = matches!(row.command, Command::Undo | Command::Redo);
            for shortcut in &row.keys {
                if typing && of_text {
                    continue;
                }
                let presses = input.count_and_consume_key(shortcut.modifiers, shortcut.logical_key);
                // On a busy machine several presses come in one frame: each of them undoes a step.
                let times = if of_text { presses } else { presses.min(1) };
                commands.extend(std::iter::repeat_n(row.command.clone(), times));
            }
        }
        if for_plan {
            let draws = view.tool == Tool::Run;
            let is_begun = view.work.drawing.is_begun();
            input.events.retain(|event| {
                let drawn = if draws { while_drawing(event, is_begun) } else { Taken::No };
                match drawn {
                    Taken::As(key) => commands.push(Command::Draw(key)),
                    Taken::Swallowed => {}
                    // Without a tool Enter is a click on what has the keyboard.
                    Taken::No => match on_canvas(event)
                        .filter(|command| view.tool != Tool::Select || *command != Command::PlaceHere)
                    {
                        Some(command) => commands.push(command),
                        None => return true,
                    },
                }
                false
            });
        }
        commands
    })
}

/// Whether a widget has the keyboard, or had it until a key of this frame took it away: Escape ends the
/// focus before anything is drawn, but is then still meant for the widget that had it.
fn other_focused(ctx: &egui::Context) -> bool {
    let key = egui::Id::unique("focused before");
    let before = ctx.data(|data| data.get_temp::<Option<egui::Id>>(key)).flatten();
    let (now, just_lost) = ctx.memory(|memory| {
        (memory.focused(), before.is_some_and(|before| memory.had_focus_last_frame(before)))
    });
    ctx.data_mut(|data| data.insert_temp(key, now));
    now.is_some() || just_lost
}

/// What becomes of an event while a run is drawn.
enum Taken {
    As(DrawKey),
    /// It has come as another event already.
    Swallowed,
    No,
}

/// Keys while a run is drawn: they go before those of the plan.
fn while_drawing(event: &Event, is_begun: bool) -> Taken {
    match event {
        Event::Text(text) => match text.chars().next() {
            Some('<' | ';') => Taken::As(DrawKey::Other),
            Some(character @ ('0'..='9' | ',' | '.' | '-' | '−')) => {
                Taken::As(DrawKey::Character(character))
            }
            _ => Taken::No,
        },
        Event::Key { key, pressed: true, modifiers, .. } if !(modifiers.command || modifiers.ctrl) => {
            match key {
                Key::Tab if is_begun => Taken::As(DrawKey::Other),
                Key::Enter => Taken::As(DrawKey::Place),
                Key::Backspace => Taken::As(DrawKey::TakeBack),
                Key::Escape if is_begun => Taken::As(DrawKey::Finish),
                Key::A => Taken::As(DrawKey::Arc),
                // Digits come as text.
                Key::Num0 | Key::Minus | Key::Comma | Key::Period => Taken::Swallowed,
                _ => Taken::No,
            }
        }
        _ => Taken::No,
    }
}

/// Keys for the plan.
fn on_canvas(event: &Event) -> Option<Command> {
    match event {
        Event::Key { key, pressed: true, repeat, modifiers, .. } => keys::on_plan(*key, *modifiers, *repeat),
        Event::Copy => Some(Command::Arrange(Arrange::Copy)),
        Event::Cut => Some(Command::Arrange(Arrange::Cut)),
        Event::Paste(text) => Some(Command::Arrange(Arrange::Paste(text.clone()))),
        _ => None,
    }
}
