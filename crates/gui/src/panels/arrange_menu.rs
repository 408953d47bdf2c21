//! The entries that arrange the selection, for the Edit menu and the menu on the plan.

use egui::{Button, Ui};
use keepside_model::{Id, ItemKind, Project};
use keepside_session::{Across, Align, Session};

use crate::action::Command;
use crate::keys::words_for;
use crate::work::{About, Arrange};

/// The kinds of items as told to the user, several at once.
pub(crate) const KINDS: [(ItemKind, &str); 7] = [
    (ItemKind::Run, "Runs"),
    (ItemKind::Feature, "Keying features"),
    (ItemKind::Sprue, "Gates"),
    (ItemKind::Vent, "Vents"),
    (ItemKind::Ejector, "Ejectors"),
    (ItemKind::Hole, "Plate holes"),
    (ItemKind::Note, "Notes"),
];

/// Data in the window's memory that asks the first entry of a menu for the keyboard.
pub(crate) fn wants_first_entry() -> egui::Id {
    egui::Id::unique("the first entry is to have the keyboard")
}

/// An entry of a menu with its keys.
pub(crate) fn entry(ui: &mut Ui, name: &str, command: Command, commands: &mut Vec<Command>) {
    let response = ui.add(Button::new(name).shortcut_text(words_for(&command)));
    if ui.data_mut(|data| data.remove_temp::<bool>(wants_first_entry()).is_some()) {
        response.request_focus();
    }
    if response.clicked() {
        commands.push(command);
    }
}

/// Lining up, spreading and mirroring.
pub(crate) fn arrange_menu(ui: &mut Ui, session: &Session, commands: &mut Vec<Command>) {
    let project = session.document();
    let mut add = |ui: &mut Ui, name: &str, what: Arrange| entry(ui, name, Command::Arrange(what), commands);
    let many = session.selection().len();
    ui.add_enabled_ui(many > 1, |ui| {
        for (name, how) in [
            ("Align left", Align::Left),
            ("Align centres", Align::Centre),
            ("Align right", Align::Right),
            ("Align top", Align::Top),
            ("Align middles", Align::Middle),
            ("Align bottom", Align::Bottom),
        ] {
            add(ui, name, Arrange::Align(how));
        }
    });
    ui.separator();
    ui.add_enabled_ui(many > 2, |ui| {
        add(ui, "Spread left to right", Arrange::Distribute(Across::LeftToRight));
        add(ui, "Spread bottom to top", Arrange::Distribute(Across::BottomToTop));
    });
    ui.separator();
    for (about, place) in [(About::Upright, "left to right"), (About::Level, "top to bottom")] {
        add(ui, &format!("Mirror {place}"), Arrange::Mirror { about, is_copy: false });
    }
    for (about, place) in [(About::Upright, "left to right"), (About::Level, "top to bottom")] {
        add(ui, &format!("Mirrored copy {place}"), Arrange::Mirror { about, is_copy: true });
    }
    let picked = picked_run(project, session);
    for (is_copy, what) in [(false, "Mirror"), (true, "Mirrored copy")] {
        let name = match picked {
            Some(run) => format!("{what} about {}", project.tag(run)),
            None => format!("{what} about a run selected with it"),
        };
        let response = ui.add_enabled(picked.is_some(), Button::new(name));
        let response = response
            .on_hover_text("About the one run in the selection, which stays where it is")
            .on_disabled_hover_text("Select what to mirror and, with Shift, one run to mirror it about");
        if let Some(run) = picked.filter(|_| response.clicked()) {
            commands.push(Command::Arrange(Arrange::Mirror { about: About::Run(run), is_copy }));
        }
    }
}

/// The one run among several selected items.
fn picked_run(project: &Project, session: &Session) -> Option<Id> {
    let selection = session.selection();
    let mut runs = selection.iter().filter(|id| project.part.runs.contains_key(id));
    let run = runs.next().filter(|_| runs.next().is_none() && selection.len() > 1)?;
    Some(*run)
}
