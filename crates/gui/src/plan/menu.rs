//! The menu that a right click on the plan, or Shift+F10, opens.

use egui::{Button, Context, Id as WidgetId, LayerId, Layout, Popup, PopupKind, Ui};
use keepside_model::{Id, ItemKind};
use keepside_session::{Session, nearest_on_run};

use super::Canvas;
use crate::action::{Action, Command};
use crate::keys::words_for;
use crate::panels::arrange_menu::{arrange_menu, entry, wants_first_entry};
use crate::view::{Tool, ViewState};
use crate::work::{Arrange, Menu, MenuFor};

fn popup_id() -> WidgetId {
    WidgetId::unique("menu on the plan")
}

/// Opens the menu.
pub(crate) fn open_menu(ctx: &Context, view: &mut ViewState, menu: Menu) {
    view.work.menu = Some(menu);
    Popup::open_id(ctx, popup_id());
    ctx.request_repaint();
}

/// The menu, if it is open.
pub(super) fn menu_ui(
    canvas: &Canvas<'_>,
    session: &Session,
    view: &mut ViewState,
    actions: &mut Vec<Action>,
) {
    let Some(menu) = view.work.menu else { return };
    let ctx = canvas.ui.ctx();
    if !Popup::is_id_open(ctx, popup_id()) {
        view.work.menu = None;
        return;
    }
    let mut commands = Vec::new();
    Popup::new(popup_id(), ctx.clone(), menu.screen, LayerId::background())
        .kind(PopupKind::Menu)
        .layout(Layout::top_down_justified(egui::Align::Min))
        .style(egui::containers::menu::menu_style)
        .accessible_name("Menu on the plan")
        .open_memory(None)
        .show(|ui| {
            ui.set_min_width(210.0);
            match menu.on {
                MenuFor::Item(id) => item_menu(ui, session, &menu, id, &mut commands),
                MenuFor::Point { run, index } => point_menu(ui, session, run, index, &mut commands),
                MenuFor::Ground => ground_menu(ui, session, &mut commands),
            }
        });
    if commands.contains(&Command::Arrange(Arrange::AskPaste)) {
        view.work.paste_at = Some(menu.at);
    }
    actions.extend(commands.into_iter().map(Action::Command));
}

fn item_menu(ui: &mut Ui, session: &Session, menu: &Menu, id: Id, commands: &mut Vec<Command>) {
    let project = session.document();
    let count = session.selection().len();
    if count > 1 {
        ui.weak(format!("{count} items selected"));
    } else {
        ui.weak(project.title(id));
    }
    let arrange = |what| Command::Arrange(what);
    if count == 1
        && let Some(run) = project.part.runs.get(&id)
    {
        let at = nearest_on_run(run, menu.at).map_or(menu.at, |on| on.at);
        entry(ui, "Insert point here", arrange(Arrange::InsertPoint { run: id, at }), commands);
        ui.separator();
    }
    let runs = session.selection().iter().filter(|id| project.kind(**id) == Some(ItemKind::Run)).count();
    if runs == 2 {
        entry(ui, "Join runs", arrange(Arrange::JoinRuns), commands);
        ui.separator();
    }
    if count == 1 {
        entry(ui, "Rename", arrange(Arrange::Rename), commands);
    }
    edit_entries(ui, commands);
    ui.menu_button("Arrange", |ui| arrange_menu(ui, session, commands));
    let locked = session.selection().iter().all(|id| project.locked.contains(id));
    let words = if locked { "Unlock" } else { "Lock" };
    if ui.add(Button::new(words).shortcut_text(words_for(&arrange(Arrange::ToggleLock)))).clicked() {
        commands.push(arrange(Arrange::Lock(!locked)));
    }
    entry(ui, "Select all of this kind", arrange(Arrange::SelectAlike), commands);
    ui.separator();
    entry(ui, "Delete", Command::Delete, commands);
}

fn edit_entries(ui: &mut Ui, commands: &mut Vec<Command>) {
    for (name, what) in [
        ("Cut", Arrange::Cut),
        ("Copy", Arrange::Copy),
        ("Paste", Arrange::AskPaste),
        ("Duplicate", Arrange::Duplicate),
        ("Repeat along a line…", Arrange::OpenRepeat),
    ] {
        entry(ui, name, Command::Arrange(what), commands);
    }
}

fn point_menu(ui: &mut Ui, session: &Session, run: Id, index: usize, commands: &mut Vec<Command>) {
    let project = session.document();
    ui.weak(format!("Point {} of {}", index + 1, project.title(run)));
    let last = project.part.runs.get(&run).map_or(0, |run| run.points.len().saturating_sub(1));
    let mut choice = |name: &str, keys: &str, is_possible: bool, what: Arrange| {
        let response = ui.add_enabled(is_possible, Button::new(name).shortcut_text(keys));
        if is_possible && ui.data_mut(|data| data.remove_temp::<bool>(wants_first_entry()).is_some()) {
            response.request_focus();
        }
        if response.clicked() {
            commands.push(Command::Arrange(what));
        }
    };
    choice("Delete point", "Del", last > 1, Arrange::DeletePoint { run, index });
    choice("Split run here", "S", index > 0 && index < last, Arrange::SplitRun { run, index });
}

fn ground_menu(ui: &mut Ui, session: &Session, commands: &mut Vec<Command>) {
    entry(ui, "Paste", Command::Arrange(Arrange::AskPaste), commands);
    ui.separator();
    entry(ui, "Draw run", Command::UseTool(Tool::Run), commands);
    entry(ui, "Measure", Command::UseTool(Tool::Measure), commands);
    ui.separator();
    entry(ui, "Select all", Command::SelectAll, commands);
    entry(ui, "List of everything", Command::Arrange(Arrange::ToggleList), commands);
    ui.separator();
    entry(ui, "Fit plates", Command::Fit, commands);
    ui.add_enabled_ui(session.undo_label().is_some(), |ui| entry(ui, "Undo", Command::Undo, commands));
}
