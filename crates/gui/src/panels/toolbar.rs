//! The top bar: menus, undo and redo, tools.

use std::path::PathBuf;

use egui::{Button, MenuBar, ThemePreference, Ui};
use keepside_session::Session;

use super::display::display_menu;
use crate::action::{Action, Command};
use crate::look::icons::{Icon, IconButton};
use crate::view::{Tool, ViewState};

/// The bar.
pub(crate) fn toolbar_ui(
    ui: &mut Ui,
    session: &Session,
    view: &mut ViewState,
    recent: &[PathBuf],
    saving: &str,
) -> Vec<Action> {
    let mut commands = Vec::new();
    MenuBar::new().ui(ui, |ui| {
        ui.menu_button("File", |ui| file_menu(ui, recent, &mut commands));
        ui.menu_button("Edit", |ui| edit_menu(ui, session, &mut commands));
        ui.menu_button("View", |ui| view_menu(ui, view, &mut commands));
        ui.menu_button("Help", |ui| help_menu(ui, &mut commands));
        ui.separator();
        history_buttons(ui, session, &mut commands);
        ui.separator();
        tools(ui, view, &mut commands);
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            let file = session.path().and_then(|path| path.file_name());
            let words = match file {
                Some(name) => format!("{} ({saving})", name.to_string_lossy()),
                None => saving.to_owned(),
            };
            ui.add(egui::Label::new(egui::RichText::new(words).weak()).truncate());
        });
    });
    commands.into_iter().map(Action::Command).collect()
}

fn entry(ui: &mut Ui, name: &str, keys: &str, command: Command, commands: &mut Vec<Command>) {
    if ui.add(Button::new(name).shortcut_text(keys)).clicked() {
        commands.push(command);
    }
}

fn file_menu(ui: &mut Ui, recent: &[PathBuf], commands: &mut Vec<Command>) {
    entry(ui, "New", "Ctrl+N", Command::New, commands);
    entry(ui, "Open…", "Ctrl+O", Command::Open, commands);
    ui.add_enabled_ui(!recent.is_empty(), |ui| {
        ui.menu_button("Recent files", |ui| {
            for path in recent {
                let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy();
                let button = ui.button(name.as_ref()).on_hover_text(path.display().to_string());
                if button.clicked() {
                    commands.push(Command::OpenPath(path.clone()));
                }
            }
        });
    });
    ui.separator();
    entry(ui, "Save", "Ctrl+S", Command::Save, commands);
    entry(ui, "Save as…", "Ctrl+Shift+S", Command::SaveAs, commands);
    entry(ui, "Earlier states…", "", Command::Earlier, commands);
    entry(ui, "Recover unsaved work…", "", Command::Recover, commands);
    ui.separator();
    entry(ui, "Export drilling sheet…", "Ctrl+E", Command::Export, commands);
    ui.separator();
    entry(ui, "Quit", "Ctrl+Q", Command::Quit, commands);
}

fn edit_menu(ui: &mut Ui, session: &Session, commands: &mut Vec<Command>) {
    let undo = session.undo_label().map(|label| format!("Undo {label}"));
    let redo = session.redo_label().map(|label| format!("Redo {label}"));
    ui.add_enabled_ui(undo.is_some(), |ui| {
        entry(ui, undo.as_deref().unwrap_or("Nothing to undo"), "Ctrl+Z", Command::Undo, commands);
    });
    ui.add_enabled_ui(redo.is_some(), |ui| {
        entry(ui, redo.as_deref().unwrap_or("Nothing to redo"), "Ctrl+Shift+Z", Command::Redo, commands);
    });
    ui.separator();
    ui.add_enabled_ui(!session.selection().is_empty(), |ui| {
        entry(ui, "Delete selection", "Del", Command::Delete, commands);
    });
    entry(ui, "Select all", "Ctrl+A", Command::SelectAll, commands);
    entry(ui, "Select the next item", "]", Command::Step { forwards: true }, commands);
    entry(ui, "Select the item before", "[", Command::Step { forwards: false }, commands);
}

fn view_menu(ui: &mut Ui, view: &mut ViewState, commands: &mut Vec<Command>) {
    entry(ui, "Fit plates", "0", Command::Fit, commands);
    entry(ui, "Enlarge", "+", Command::ZoomIn, commands);
    entry(ui, "Reduce", "-", Command::ZoomOut, commands);
    ui.separator();
    let mut theme = ui.options(|options| options.theme_preference);
    for (choice, name) in [
        (ThemePreference::System, "Theme of the system"),
        (ThemePreference::Light, "Light theme"),
        (ThemePreference::Dark, "Dark theme"),
    ] {
        if ui.radio_value(&mut theme, choice, name).clicked() {
            ui.set_theme(choice);
        }
    }
    display_menu(ui, view);
}

fn help_menu(ui: &mut Ui, commands: &mut Vec<Command>) {
    entry(ui, "What it is about…", "", Command::FirstPage, commands);
    entry(ui, "Open the demo", "", Command::Demo, commands);
}

fn history_buttons(ui: &mut Ui, session: &Session, commands: &mut Vec<Command>) {
    for (icon, name, label, command) in [
        (Icon::Undo, "Undo", session.undo_label(), Command::Undo),
        (Icon::Redo, "Redo", session.redo_label(), Command::Redo),
    ] {
        let button = IconButton { icon, name, with_text: false, selected: false, enabled: label.is_some() };
        if button.show(ui, label.unwrap_or_default()).clicked() {
            commands.push(command);
        }
    }
}

fn tools(ui: &mut Ui, view: &ViewState, commands: &mut Vec<Command>) {
    for (icon, name, hint, tool) in [
        (Icon::Select, "Select", "Selects and moves (V)", Tool::Select),
        (Icon::Pin, "Keying pin", "Adds a keying pin in the channel (K)", Tool::Pin),
        (Icon::Gate, "Gate", "Adds a gate with its sprue (G)", Tool::Gate),
        (Icon::Vent, "Vent", "Adds a vent at the channel's edge (E)", Tool::Vent),
        (Icon::Ejector, "Ejector", "Adds an ejector pin in the moving half (J)", Tool::Ejector),
        (Icon::Note, "Note", "Writes a note on the drawing (N)", Tool::Note),
    ] {
        let button = IconButton { icon, name, with_text: true, selected: view.tool == tool, enabled: true };
        if button.show(ui, hint).clicked() {
            commands.push(Command::UseTool(tool));
        }
    }
}
