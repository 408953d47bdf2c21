//! What the user asks for: panels and views return [`Action`]s, the app carries them out in one place.

use std::path::PathBuf;

use egui::{Key, KeyboardShortcut, Modifiers};
use glam::DVec2;
use keepside_model::{Edit, Id};

use crate::view::Tool;

/// Something the user did.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// A whole change: one undo step.
    Edit(Edit),
    /// A gesture begins, for example a drag; the label is for the undo menu.
    Begin(&'static str),
    /// The gesture as it is now, from the state before it. Begins one if there is none.
    Preview(&'static str, Edit),
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
    Open,
    /// Opens this file.
    OpenPath(PathBuf),
    Save,
    SaveAs,
    /// Lists what the project's file held before.
    Earlier,
    /// Offers what windows that were not closed left behind.
    Recover,
    Export,
    Quit,
    Undo,
    Redo,
    Delete,
    SelectAll,
    /// Leaves the gesture, else the tool, else the selection.
    Escape,
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
    /// Shows the next computed opening or the one before, or the next release or the one before.
    StepOpening {
        forward: bool,
        release: bool,
    },
    /// Plays the opening, or pauses it.
    PlayOpening,
    /// Pins the open layout as A, to compare with.
    PinPresent,
    /// Pins a layout kept in the project as A.
    PinKept(usize),
    /// Compares no more.
    Unpin,
}

/// Keys that work wherever the focus is, most specific first.
const EVERYWHERE: [(KeyboardShortcut, Command); 9] = [
    (shortcut(CTRL_SHIFT, Key::S), Command::SaveAs),
    (shortcut(CTRL_SHIFT, Key::Z), Command::Redo),
    (shortcut(Modifiers::COMMAND, Key::Y), Command::Redo),
    (shortcut(Modifiers::COMMAND, Key::Z), Command::Undo),
    (shortcut(Modifiers::COMMAND, Key::N), Command::New),
    (shortcut(Modifiers::COMMAND, Key::O), Command::Open),
    (shortcut(Modifiers::COMMAND, Key::S), Command::Save),
    (shortcut(Modifiers::COMMAND, Key::E), Command::Export),
    (shortcut(Modifiers::COMMAND, Key::Q), Command::Quit),
];

const CTRL_SHIFT: Modifiers = Modifiers::COMMAND.plus(Modifiers::SHIFT);

const fn shortcut(modifiers: Modifiers, key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(modifiers, key)
}

/// The commands that the keys pressed since the last frame stand for. The plan's own keys apply only
/// while nothing else wants them: no menu or drop-down is open, and no widget outside the plan has the
/// keyboard. While a text is being typed undoing is the text's own as well.
pub(crate) fn from_keys(ctx: &egui::Context, item_focused: bool) -> Vec<Command> {
    let typing = ctx.text_edit_focused();
    let for_plan = !egui::Popup::is_any_open(ctx) && (item_focused || !other_focused(ctx));
    ctx.input_mut(|input| {
        let mut commands = Vec::new();
        for (shortcut, command) in &EVERYWHERE {
            let of_text = matches!(command, Command::Undo | Command::Redo);
            if !(typing && of_text) && input.consume_shortcut(shortcut) {
                commands.push(command.clone());
            }
        }
        if for_plan {
            input.events.retain(|event| match on_canvas(event) {
                Some(command) => {
                    commands.push(command);
                    false
                }
                None => true,
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

/// Keys for the plan.
fn on_canvas(event: &egui::Event) -> Option<Command> {
    let egui::Event::Key { key, pressed: true, repeat, modifiers, .. } = *event else { return None };
    if modifiers.command && key == Key::A {
        return Some(Command::SelectAll);
    }
    if modifiers.command || modifiers.ctrl || modifiers.alt {
        return None;
    }
    let nudge = |x, y| Some(Command::Nudge { by: DVec2::new(x, y), fine: modifiers.shift, repeated: repeat });
    match key {
        Key::ArrowLeft => nudge(-1.0, 0.0),
        Key::ArrowRight => nudge(1.0, 0.0),
        Key::ArrowUp => nudge(0.0, 1.0),
        Key::ArrowDown => nudge(0.0, -1.0),
        Key::CloseBracket => Some(Command::Step { forwards: true }),
        Key::OpenBracket => Some(Command::Step { forwards: false }),
        Key::Delete => Some(Command::Delete),
        Key::Escape => Some(Command::Escape),
        Key::Plus | Key::Equals => Some(Command::ZoomIn),
        Key::Minus => Some(Command::ZoomOut),
        Key::Num0 => Some(Command::Fit),
        Key::V => Some(Command::UseTool(Tool::Select)),
        Key::K => Some(Command::UseTool(Tool::Pin)),
        Key::G => Some(Command::UseTool(Tool::Gate)),
        Key::E => Some(Command::UseTool(Tool::Vent)),
        Key::J => Some(Command::UseTool(Tool::Ejector)),
        Key::N => Some(Command::UseTool(Tool::Note)),
        Key::Comma => Some(Command::StepOpening { forward: false, release: modifiers.shift }),
        Key::Period => Some(Command::StepOpening { forward: true, release: modifiers.shift }),
        Key::P => Some(Command::PlayOpening),
        _ => None,
    }
}
