//! Every key that does something: one table, from which keys are understood, menus are labelled and the
//! shortcut sheet is made.

use std::sync::LazyLock;

use egui::{Key, KeyboardShortcut, Modifiers};
use glam::DVec2;
use keepside_session::{Across, Align};

use crate::action::Command;
use crate::shots::Page;
use crate::view::Tool;
use crate::work::{About, Arrange};

const NONE: Modifiers = Modifiers::NONE;
const CTRL: Modifiers = Modifiers::COMMAND;
const SHIFT: Modifiers = Modifiers::SHIFT;
const CTRL_SHIFT: Modifiers = Modifiers::COMMAND.plus(Modifiers::SHIFT);

/// A command with its keys.
pub(crate) struct Row {
    pub(crate) group: &'static str,
    pub(crate) what: &'static str,
    pub(crate) keys: Vec<KeyboardShortcut>,
    /// Whether the keys work wherever the keyboard is, or only on the plan.
    pub(crate) is_everywhere: bool,
    pub(crate) command: Command,
}

/// The table, in the order of the sheet. Of keys that differ by Shift alone the one with Shift comes first.
pub(crate) static ROWS: LazyLock<Vec<Row>> = LazyLock::new(|| {
    let mut rows = Vec::new();
    let mut add = |group, what, is_everywhere, keys: &[(Modifiers, Key)], command| {
        let keys = keys.iter().map(|(modifiers, key)| KeyboardShortcut::new(*modifiers, *key)).collect();
        rows.push(Row { group, what, keys, is_everywhere, command });
    };
    let tool = Command::UseTool;
    let arrange = Command::Arrange;
    let file = "File";
    add(file, "New project", true, &[(CTRL, Key::N)], Command::New);
    add(file, "Open", true, &[(CTRL, Key::O)], Command::Open);
    add(file, "Save as", true, &[(CTRL_SHIFT, Key::S)], Command::SaveAs);
    add(file, "Save", true, &[(CTRL, Key::S)], Command::Save);
    add(file, "Import a drawing", true, &[(CTRL, Key::I)], Command::Import);
    add(file, "Look at the sheets", true, &[(CTRL, Key::P)], Command::Sheets);
    add(file, "Export the sheets", true, &[(CTRL, Key::E)], Command::Export);
    add(file, "Quit", true, &[(CTRL, Key::Q)], Command::Quit);
    let edit = "Edit";
    add(edit, "Redo", true, &[(CTRL_SHIFT, Key::Z), (CTRL, Key::Y)], Command::Redo);
    add(edit, "Undo", true, &[(CTRL, Key::Z)], Command::Undo);
    add(
        edit,
        "Delete the selection, or the run point with the keyboard",
        false,
        &[(NONE, Key::Delete)],
        Command::Delete,
    );
    // Copy, cut and paste come from the system as events of their own.
    add(edit, "Copy", false, &[(CTRL, Key::C)], arrange(Arrange::Copy));
    add(edit, "Cut", false, &[(CTRL, Key::X)], arrange(Arrange::Cut));
    add(edit, "Paste", false, &[(CTRL, Key::V)], arrange(Arrange::AskPaste));
    add(edit, "Duplicate", false, &[(CTRL, Key::D)], arrange(Arrange::Duplicate));
    add(edit, "Rename", false, &[(NONE, Key::F2)], arrange(Arrange::Rename));
    add(edit, "Lock, or unlock", false, &[(CTRL, Key::L)], arrange(Arrange::ToggleLock));
    add(edit, "Menu of the selection", false, &[(SHIFT, Key::F10)], arrange(Arrange::OpenMenu));
    let select = "Select";
    add(
        select,
        "Everything of the kinds selected",
        false,
        &[(CTRL_SHIFT, Key::A)],
        arrange(Arrange::SelectAlike),
    );
    add(select, "Everything", false, &[(CTRL, Key::A)], Command::SelectAll);
    let step = |forwards| Command::Step { forwards };
    add(
        select,
        "The next item on the plan, or handle of the run",
        false,
        &[(NONE, Key::CloseBracket)],
        step(true),
    );
    add(select, "The item before", false, &[(NONE, Key::OpenBracket)], step(false));
    add(
        select,
        "List of everything, with a search field",
        true,
        &[(CTRL, Key::F)],
        arrange(Arrange::ToggleList),
    );
    let group = "Arrange";
    for (what, key, how) in [
        ("Align left", Key::ArrowLeft, Align::Left),
        ("Align right", Key::ArrowRight, Align::Right),
        ("Align top", Key::ArrowUp, Align::Top),
        ("Align bottom", Key::ArrowDown, Align::Bottom),
        ("Align centres, one above the other", Key::H, Align::Centre),
        ("Align middles, side by side", Key::K, Align::Middle),
    ] {
        add(group, what, false, &[(CTRL_SHIFT, key)], arrange(Arrange::Align(how)));
    }
    let spread = |across| arrange(Arrange::Distribute(across));
    add(
        group,
        "Spread evenly from left to right",
        false,
        &[(CTRL_SHIFT, Key::D)],
        spread(Across::LeftToRight),
    );
    add(
        group,
        "Spread evenly from bottom to top",
        false,
        &[(CTRL_SHIFT, Key::B)],
        spread(Across::BottomToTop),
    );
    let mirror = |about| arrange(Arrange::Mirror { about, is_copy: false });
    add(group, "Mirror top to bottom", false, &[(CTRL_SHIFT, Key::M)], mirror(About::Level));
    add(group, "Mirror left to right", false, &[(CTRL, Key::M)], mirror(About::Upright));
    add(group, "Repeat along a line", false, &[(CTRL, Key::R)], arrange(Arrange::OpenRepeat));
    let runs = "Runs";
    add(runs, "Join two runs that meet end to end", false, &[(CTRL, Key::J)], arrange(Arrange::JoinRuns));
    add(
        runs,
        "Put a point into the piece after the run point",
        false,
        &[(NONE, Key::Insert)],
        arrange(Arrange::InsertHere),
    );
    add(
        runs,
        "Split the run at the run point with the keyboard",
        false,
        &[(NONE, Key::S)],
        arrange(Arrange::SplitHere),
    );
    let tools = "Tools";
    add(tools, "Select and move", false, &[(NONE, Key::V)], tool(Tool::Select));
    add(tools, "Draw run", false, &[(NONE, Key::R)], tool(Tool::Run));
    add(tools, "Frame", false, &[(NONE, Key::F)], tool(Tool::Frame));
    add(tools, "Ring", false, &[(NONE, Key::O)], tool(Tool::Ring));
    add(tools, "Tee", false, &[(NONE, Key::T)], tool(Tool::Tee));
    add(tools, "Cross", false, &[(NONE, Key::X)], tool(Tool::Cross));
    add(tools, "Keying pin", false, &[(NONE, Key::K)], tool(Tool::Pin));
    add(tools, "Gate", false, &[(NONE, Key::G)], tool(Tool::Gate));
    add(tools, "Vent", false, &[(NONE, Key::E)], tool(Tool::Vent));
    add(tools, "Ejector", false, &[(NONE, Key::J)], tool(Tool::Ejector));
    add(tools, "Note", false, &[(NONE, Key::N)], tool(Tool::Note));
    add(tools, "Measure", false, &[(NONE, Key::M)], tool(Tool::Measure));
    add(
        tools,
        "Leave the drag, the tool, the selection; else stop computing",
        false,
        &[(NONE, Key::Escape)],
        Command::Escape,
    );
    add(
        tools,
        "Place at the pointer, or in the middle of the view",
        false,
        &[(NONE, Key::Enter)],
        Command::PlaceHere,
    );
    let look = "Look";
    add(look, "Enlarge", false, &[(NONE, Key::Plus), (NONE, Key::Equals)], Command::ZoomIn);
    add(look, "Reduce", false, &[(NONE, Key::Minus)], Command::ZoomOut);
    add(look, "Fit the plates", false, &[(NONE, Key::Num0)], Command::Fit);
    let shots = "Shots";
    for (page, key) in Page::ALL.into_iter().zip([Key::Num1, Key::Num2, Key::Num3, Key::Num4]) {
        add(shots, page.name(), true, &[(CTRL, key)], Command::Shots(page));
    }
    add(look, "The filling, or the opening again", false, &[(NONE, Key::I)], Command::ToggleFilling);
    let opening = "Opening, or filling if that is shown";
    let step = |forward, release| Command::StepOpening { forward, release };
    add(opening, "To the release or event before", false, &[(SHIFT, Key::Comma)], step(false, true));
    add(opening, "To the next release or event", false, &[(SHIFT, Key::Period)], step(true, true));
    add(opening, "A step back", false, &[(NONE, Key::Comma)], step(false, false));
    add(opening, "A step on", false, &[(NONE, Key::Period)], step(true, false));
    add(opening, "Play or pause", false, &[(NONE, Key::P)], Command::PlayOpening);
    add(look, "This sheet", true, &[(NONE, Key::F1)], arrange(Arrange::ToggleKeys));
    rows
});

/// What pointer and keys do beyond the table: group, what, how.
pub(crate) const GESTURES: &[(&str, &str, &str)] = &[
    ("Select", "One item; again: what lies under it", "Click"),
    ("Select", "One more, or one less", "Shift+click"),
    ("Select", "What has its middle in a box, and runs with all their points", "Drag on the ground"),
    ("Edit", "Move by a grid step", "Arrow keys"),
    ("Edit", "Move by a tenth of a millimetre", "Shift or Alt+arrow keys"),
    ("Edit", "Menu", "Right click"),
    ("Edit", "Move freely, without snapping", "Alt+drag"),
    ("Runs", "Put a point in", "Double click on a run"),
    ("Runs", "Bend a piece", "Drag the round handle in its middle"),
    ("Runs", "Bend the piece whose handle has the keyboard", "Arrow keys"),
    ("Runs", "Make a piece straight", "Double click or Del on its round handle"),
    ("Look", "Move the view", "Drag with the right or middle button, or Space+drag"),
    ("Look", "Zoom", "Wheel"),
    ("Look", "Fit the plates", "Double click on the ground"),
    ("While drawing", "Length, or x of the first point", "Type a number"),
    ("While drawing", "On to the angle, or y", "Tab or <"),
    ("While drawing", "Place the point", "Enter or click"),
    ("While drawing", "Take back a digit or the last point", "Backspace or Ctrl+Z"),
    ("While drawing", "Directions in steps of 15°", "Shift"),
    ("While drawing", "Arc: end first, then the bend (radius, angle)", "A"),
    ("While drawing", "Close to a ring", "Click on the first point"),
    ("While drawing", "Finish", "Esc, double click or right click"),
];

/// The command of a key on the plan.
pub(crate) fn on_plan(key: Key, modifiers: Modifiers, repeated: bool) -> Option<Command> {
    let is_ctrl = modifiers.command || modifiers.ctrl;
    let arrow = match key {
        Key::ArrowLeft => Some(DVec2::NEG_X),
        Key::ArrowRight => Some(DVec2::X),
        Key::ArrowUp => Some(DVec2::Y),
        Key::ArrowDown => Some(DVec2::NEG_Y),
        _ => None,
    };
    if let Some(by) = arrow.filter(|_| !is_ctrl) {
        return Some(Command::Nudge { by, fine: modifiers.shift || modifiers.alt, repeated });
    }
    // On many keyboards a plus is a shifted key.
    let shift_counts = key != Key::Plus;
    let fits = |keys: &KeyboardShortcut| {
        keys.logical_key == key
            && keys.modifiers.command == is_ctrl
            && keys.modifiers.alt == modifiers.alt
            && (!shift_counts || keys.modifiers.shift == modifiers.shift)
    };
    let row = ROWS.iter().find(|row| !row.is_everywhere && row.keys.iter().any(fits))?;
    // A key held down does such a thing once.
    let again = matches!(
        row.command,
        Command::ZoomIn | Command::ZoomOut | Command::StepOpening { .. } | Command::Step { .. }
    );
    (!repeated || again).then(|| row.command.clone())
}

/// The keys of a command as told to the user; empty if it has none.
pub(crate) fn words_for(command: &Command) -> String {
    let row = ROWS.iter().find(|row| row.command == *command);
    row.and_then(|row| row.keys.first()).map(words).unwrap_or_default()
}

/// Keys as told to the user.
pub(crate) fn words(keys: &KeyboardShortcut) -> String {
    let mut words = String::new();
    for (is_down, name) in
        [(keys.modifiers.command, "Ctrl+"), (keys.modifiers.alt, "Alt+"), (keys.modifiers.shift, "Shift+")]
    {
        if is_down {
            words.push_str(name);
        }
    }
    let key = match keys.logical_key {
        Key::Plus => "+",
        Key::Equals => "=",
        Key::Minus => "-",
        Key::OpenBracket => "[",
        Key::CloseBracket => "]",
        Key::Comma => "comma",
        Key::Period => "full stop",
        Key::Delete => "Del",
        Key::Insert => "Ins",
        Key::Escape => "Esc",
        Key::ArrowLeft => "Left",
        Key::ArrowRight => "Right",
        Key::ArrowUp => "Up",
        Key::ArrowDown => "Down",
        other => other.name(),
    };
    words + key
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_key_stands_for_two_commands() {
        let mut seen: Vec<KeyboardShortcut> = Vec::new();
        for row in ROWS.iter() {
            for keys in &row.keys {
                assert!(!seen.contains(keys), "{} is taken: {}", words(keys), row.what);
                seen.push(*keys);
            }
        }
    }

    #[test]
    fn every_key_of_the_plan_does_what_the_table_says() {
        for row in ROWS.iter().filter(|row| !row.is_everywhere) {
            for keys in &row.keys {
                let found = on_plan(keys.logical_key, keys.modifiers, false);
                assert_eq!(found.as_ref(), Some(&row.command), "{}", words(keys));
            }
        }
        assert_eq!(on_plan(Key::K, Modifiers::ALT, false), None);
        assert_eq!(on_plan(Key::D, CTRL, true), None, "holding it down makes no hundred copies");
        let fine = on_plan(Key::ArrowUp, Modifiers::ALT, true);
        assert_eq!(fine, Some(Command::Nudge { by: DVec2::Y, fine: true, repeated: true }));
    }

    #[test]
    fn keys_are_told_as_they_stand_on_the_keyboard() {
        assert_eq!(words_for(&Command::SaveAs), "Ctrl+Shift+S");
        assert_eq!(words_for(&Command::ZoomIn), "+");
        assert_eq!(words_for(&Command::Earlier), "");
    }
}
