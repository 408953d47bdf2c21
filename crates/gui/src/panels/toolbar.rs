//! The top bar: menus, undo and redo, tools.

use std::path::PathBuf;

use egui::{MenuBar, ThemePreference, Ui};
use keepside_session::Session;

use super::arrange_menu::{KINDS, arrange_menu, entry};
use super::display::display_menu;
use crate::action::{Action, Command};
use crate::look::icons::{Icon, IconButton};
use crate::shots::Page;
use crate::view::{Tool, ViewState};
use crate::work::Arrange;

/// Less room than this tells nothing of the file, and would make the bar wider than the window, points.
const FILE_PX: f32 = 40.0;

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
        ui.menu_button("Shots", |ui| shots_menu(ui, &mut commands));
        ui.menu_button("Help", |ui| help_menu(ui, &mut commands));
        ui.separator();
        history_buttons(ui, session, &mut commands);
        ui.separator();
        tools(ui, view, &mut commands);
        if ui.available_width() < FILE_PX {
            return;
        }
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

fn file_menu(ui: &mut Ui, recent: &[PathBuf], commands: &mut Vec<Command>) {
    entry(ui, "New", Command::New, commands);
    entry(ui, "Open…", Command::Open, commands);
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
    entry(ui, "Save", Command::Save, commands);
    entry(ui, "Save as…", Command::SaveAs, commands);
    entry(ui, "Earlier states…", Command::Earlier, commands);
    entry(ui, "Recover unsaved work…", Command::Recover, commands);
    ui.separator();
    entry(ui, "Import a drawing…", Command::Import, commands);
    entry(ui, "Sheets for the bench…", Command::Sheets, commands);
    entry(ui, "Export sheets…", Command::Export, commands);
    ui.separator();
    entry(ui, "Quit", Command::Quit, commands);
}

fn edit_menu(ui: &mut Ui, session: &Session, commands: &mut Vec<Command>) {
    let undo = session.undo_label().map(|label| format!("Undo {label}"));
    let redo = session.redo_label().map(|label| format!("Redo {label}"));
    ui.add_enabled_ui(undo.is_some(), |ui| {
        entry(ui, undo.as_deref().unwrap_or("Nothing to undo"), Command::Undo, commands);
    });
    ui.add_enabled_ui(redo.is_some(), |ui| {
        entry(ui, redo.as_deref().unwrap_or("Nothing to redo"), Command::Redo, commands);
    });
    ui.separator();
    ui.add_enabled_ui(!session.selection().is_empty(), |ui| {
        for (name, what) in [("Cut", Arrange::Cut), ("Copy", Arrange::Copy)] {
            entry(ui, name, Command::Arrange(what), commands);
        }
    });
    entry(ui, "Paste", Command::Arrange(Arrange::AskPaste), commands);
    ui.add_enabled_ui(!session.selection().is_empty(), |ui| {
        for (name, what) in [
            ("Duplicate", Arrange::Duplicate),
            ("Repeat along a line…", Arrange::OpenRepeat),
            ("Rename", Arrange::Rename),
            ("Lock or unlock", Arrange::ToggleLock),
        ] {
            entry(ui, name, Command::Arrange(what), commands);
        }
        ui.menu_button("Arrange", |ui| arrange_menu(ui, session, commands));
        entry(ui, "Join runs", Command::Arrange(Arrange::JoinRuns), commands);
        entry(ui, "Delete selection", Command::Delete, commands);
    });
    ui.separator();
    entry(ui, "Select all", Command::SelectAll, commands);
    entry(ui, "Select the next item", Command::Step { forwards: true }, commands);
    entry(ui, "Select the item before", Command::Step { forwards: false }, commands);
    ui.menu_button("Select by kind", |ui| {
        let project = session.document();
        for (kind, name) in KINDS {
            let any = project.ids().iter().any(|id| project.kind(*id) == Some(kind));
            ui.add_enabled_ui(any, |ui| {
                entry(ui, name, Command::Arrange(Arrange::SelectKind(kind)), commands);
            });
        }
    });
    entry(ui, "List of everything", Command::Arrange(Arrange::ToggleList), commands);
}

fn view_menu(ui: &mut Ui, view: &mut ViewState, commands: &mut Vec<Command>) {
    entry(ui, "Fit plates", Command::Fit, commands);
    entry(ui, "Enlarge", Command::ZoomIn, commands);
    entry(ui, "Reduce", Command::ZoomOut, commands);
    entry(ui, "Filling or opening", Command::ToggleFilling, commands);
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

fn shots_menu(ui: &mut Ui, commands: &mut Vec<Command>) {
    for page in Page::ALL {
        entry(ui, page.name(), Command::Shots(page), commands);
    }
}

fn help_menu(ui: &mut Ui, commands: &mut Vec<Command>) {
    entry(ui, "What it is about…", Command::FirstPage, commands);
    entry(ui, "Open the demo", Command::Demo, commands);
    ui.separator();
    entry(ui, "Keys and pointer", Command::Arrange(Arrange::ToggleKeys), commands);
    ui.separator();
    entry(ui, "Version and licences…", Command::About, commands);
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

/// In a narrower window the tools are icons only, and tell their names when pointed at, points.
const NAMED_PX: f32 = 1040.0;

fn has_room(ui: &Ui) -> bool {
    ui.content_rect().width() >= NAMED_PX
}

/// The shapes placed by one click, in a menu of their own.
fn shapes(ui: &mut Ui, view: &ViewState, commands: &mut Vec<Command>) {
    let selected = matches!(view.tool, Tool::Frame | Tool::Ring | Tool::Tee | Tool::Cross);
    let button =
        IconButton { icon: Icon::Shapes, name: "Shapes", with_text: has_room(ui), selected, enabled: true };
    let response = button.show(ui, "Frame, ring, tee and cross, placed by one click");
    egui::Popup::menu(&response).show(|ui| {
        ui.set_min_width(120.0);
        for (name, tool) in
            [("Frame", Tool::Frame), ("Ring", Tool::Ring), ("Tee", Tool::Tee), ("Cross", Tool::Cross)]
        {
            entry(ui, name, Command::UseTool(tool), commands);
        }
    });
}

fn tools(ui: &mut Ui, view: &ViewState, commands: &mut Vec<Command>) {
    for (icon, name, hint, tool) in [
        (Icon::Select, "Select", "Selects and moves (V)", Tool::Select),
        (Icon::Run, "Draw run", "Draws a channel point by point (R)", Tool::Run),
        (Icon::Pin, "Keying pin", "Adds a keying pin in the channel (K)", Tool::Pin),
        (Icon::Gate, "Gate", "Adds a gate with its sprue (G)", Tool::Gate),
        (Icon::Vent, "Vent", "Adds a vent at the channel's edge (E)", Tool::Vent),
        (Icon::Ejector, "Ejector", "Adds an ejector pin in the moving half (J)", Tool::Ejector),
        (Icon::Note, "Note", "Writes a note on the drawing (N)", Tool::Note),
        (Icon::Measure, "Measure", "Measures from place to place (M)", Tool::Measure),
    ] {
        let button =
            IconButton { icon, name, with_text: has_room(ui), selected: view.tool == tool, enabled: true };
        if button.show(ui, hint).clicked() {
            commands.push(Command::UseTool(tool));
        }
        if tool == Tool::Run {
            shapes(ui, view, commands);
        }
    }
}
