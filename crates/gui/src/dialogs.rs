//! The dialogs: a path to type or browse for, and the question about unsaved changes.
//!
//! The path field is always there; the system's own file dialog is one button away and may be missing
//! on a machine without one.

use std::path::{Path, PathBuf};

use egui::text::{CCursor, CCursorRange};
use egui::{Context, Id, Key, Modal, Response, RichText, TextEdit, Ui};

use crate::action::Command;
use crate::look::Palette;
use crate::questions::{Choice, Question, question_ui};

/// What a path is wanted for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// A project to open.
    Open,
    /// A file to save the project to.
    SaveAs,
    /// A drawing of channel runs from another program.
    Import,
    /// A folder for the drilling sheet.
    Export,
    /// A photo of a trial.
    Photo,
}

impl Purpose {
    const fn title(self) -> &'static str {
        match self {
            Self::Open => "Open a project",
            Self::SaveAs => "Save the project as",
            Self::Import => "Import a drawing, DXF or SVG",
            Self::Export => "Export the sheets",
            Self::Photo => "Choose a photo of the trial",
        }
    }

    const fn field(self) -> &'static str {
        match self {
            Self::Open | Self::SaveAs | Self::Import | Self::Photo => "File",
            Self::Export => "Folder",
        }
    }

    const fn button(self) -> &'static str {
        match self {
            Self::Open => "Open",
            Self::SaveAs => "Save",
            Self::Import => "Read",
            Self::Export => "Export",
            Self::Photo => "Take",
        }
    }
}

/// The system's own file dialogs; a trait so that tests can answer for the user.
pub trait Dialogs {
    /// Makes a job that asks the user for a path, starting from `start`; it runs on a thread of its
    /// own. `None` = cancelled, or there is no such dialog here.
    fn browse(&self, purpose: Purpose, start: &Path) -> Box<dyn FnOnce() -> Option<PathBuf> + Send>;
}

/// How the names of photos end.
const PHOTOS: [&str; 8] = ["jpg", "jpeg", "png", "webp", "JPG", "JPEG", "PNG", "heic"];

/// The system's own file dialogs.
#[derive(Debug)]
pub struct NativeDialogs;

impl Dialogs for NativeDialogs {
    fn browse(&self, purpose: Purpose, start: &Path) -> Box<dyn FnOnce() -> Option<PathBuf> + Send> {
        let start = start.to_owned();
        // A folder on a drive that does not answer is not looked at by the window.
        Box::new(move || {
            let folder = if purpose == Purpose::Export { Some(start.as_path()) } else { start.parent() };
            let mut dialog = rfd::FileDialog::new().set_title(purpose.title());
            if let Some(folder) = folder.filter(|folder| folder.is_dir()) {
                dialog = dialog.set_directory(folder);
            }
            let dialog = match purpose {
                Purpose::Export => dialog,
                Purpose::Import => dialog.add_filter("Drawing", &["dxf", "svg", "DXF", "SVG"]),
                Purpose::Photo => dialog.add_filter("Photo", &PHOTOS),
                Purpose::Open | Purpose::SaveAs => {
                    dialog.add_filter("Keepside project", &[keepside_store::EXTENSION])
                }
            };
            let name = start.file_name().map(|name| name.to_string_lossy().into_owned());
            match purpose {
                Purpose::Open | Purpose::Import | Purpose::Photo => dialog.pick_file(),
                Purpose::SaveAs => dialog.set_file_name(name.unwrap_or_default()).save_file(),
                Purpose::Export => dialog.pick_folder(),
            }
        })
    }
}

/// The dialog that is open.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Dialog {
    /// Asks for a path.
    Path(PathDialog),
    /// Asks what to do with unsaved changes before something that would lose them.
    Unsaved {
        then: Command,
        /// Whether the question has been shown.
        asked: bool,
    },
    /// Asks about the safety of the work.
    Question(Question),
}

impl Dialog {
    /// The question about unsaved changes before `then`.
    pub(crate) const fn unsaved(then: Command) -> Self {
        Self::Unsaved { then, asked: false }
    }
}

/// Asks for a path.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct PathDialog {
    pub(crate) purpose: Purpose,
    pub(crate) text: String,
    /// Why the last try failed.
    pub(crate) error: Option<String>,
    /// Whether the system's dialog is open.
    pub(crate) browsing: bool,
    /// What the answer does, under the field.
    pub(crate) about: String,
    /// Where it was looked for a file last, and whether there is one. The window does not look itself: a drive
    /// may not answer.
    pub(crate) found: Option<(PathBuf, bool)>,
    /// What to do once it is done.
    pub(crate) then: Option<Command>,
    just_opened: bool,
    /// Whether the field is to have the keyboard.
    wants_focus: bool,
}

impl PathDialog {
    pub(crate) fn new(purpose: Purpose, start: &Path, then: Option<Command>) -> Self {
        let text = start.display().to_string();
        Self {
            purpose,
            text,
            error: None,
            browsing: false,
            about: String::new(),
            found: None,
            then,
            just_opened: true,
            wants_focus: true,
        }
    }

    /// Says why a try failed; the path can be put right at once.
    pub(crate) fn fail(&mut self, why: String) {
        self.error = Some(why);
        self.wants_focus = true;
    }

    /// The path typed.
    pub(crate) fn path(&self) -> PathBuf {
        let path = PathBuf::from(self.text.trim());
        if self.purpose == Purpose::SaveAs && path.extension().is_none() && path.file_name().is_some() {
            path.with_extension(keepside_store::EXTENSION)
        } else {
            path
        }
    }
}

/// What the user answered.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Answer {
    Cancel,
    /// The path in the field.
    Go,
    Browse,
    /// At what will be written.
    Look,
    Save,
    Discard,
    /// To a question about the safety of the work.
    Choice(Choice),
}

/// Shows a dialog; the answer, once there is one. `faults` is how many the layout has now.
pub(crate) fn dialog_ui(ctx: &Context, dialog: &mut Dialog, faults: usize) -> Option<Answer> {
    let id = Id::unique("dialog");
    let frame = egui::Frame::popup(&ctx.global_style()).inner_margin(16.0);
    let response = Modal::new(id).frame(frame).show(ctx, |ui| {
        ui.set_width(460.0);
        match dialog {
            Dialog::Path(dialog) => path_ui(ui, dialog, faults),
            Dialog::Unsaved { then, asked } => unsaved_ui(ui, then, asked),
            Dialog::Question(question) => question_ui(ui, question).map(Answer::Choice),
        }
    });
    let cancelled = response.should_close().then_some(Answer::Cancel);
    response.inner.or(cancelled)
}

fn title(ui: &mut Ui, words: &str) {
    ui.label(RichText::new(words).strong().size(15.0));
    ui.add_space(6.0);
}

fn path_ui(ui: &mut Ui, dialog: &mut PathDialog, faults: usize) -> Option<Answer> {
    let mut answer = None;
    let purpose = dialog.purpose;
    title(ui, purpose.title());
    let label = ui.label(purpose.field());
    ui.horizontal(|ui| {
        let field = TextEdit::singleline(&mut dialog.text).desired_width(356.0);
        let response = ui.add(field).labelled_by(label.id);
        if std::mem::take(&mut dialog.wants_focus) {
            response.request_focus();
        }
        if std::mem::take(&mut dialog.just_opened) {
            select_all(ui, &response, &dialog.text);
        }
        if response.changed() {
            dialog.error = None;
        }
        if response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter)) {
            answer = Some(Answer::Go);
        }
        if ui.add_enabled(!dialog.browsing, egui::Button::new("Browse…")).clicked() {
            answer = Some(Answer::Browse);
        }
    });
    let path = dialog.path();
    let replaces = purpose == Purpose::SaveAs && dialog.found.as_ref() == Some(&(path, true));
    let palette = Palette::of(ui);
    if let Some(error) = &dialog.error {
        ui.add(egui::Label::new(RichText::new(error).color(palette.fault)).wrap());
    } else if replaces {
        ui.colored_label(
            palette.warning,
            "This file exists; it will be replaced, the old one kept as a backup",
        );
    } else if !dialog.about.is_empty() {
        ui.add(egui::Label::new(RichText::new(&dialog.about).weak()).wrap());
        if purpose == Purpose::Export && ui.link("Choose, and look at them first").clicked() {
            answer = Some(Answer::Look);
        }
    }
    if purpose == Purpose::Export && faults > 0 {
        let count = if faults == 1 { "1 fault".to_owned() } else { format!("{faults} faults") };
        let words = format!("The layout has {count}; the sheet is printed all the same");
        ui.colored_label(palette.fault, words);
    }
    ui.add_space(8.0);
    ui.horizontal(|ui| {
        let name = if replaces { "Replace" } else { purpose.button() };
        let ready = !dialog.text.trim().is_empty();
        if ui.add_enabled(ready, egui::Button::new(name)).clicked() {
            answer = Some(Answer::Go);
        }
        if ui.button("Cancel").clicked() {
            answer = Some(Answer::Cancel);
        }
    });
    answer
}

/// Selects the whole text of a field, so that what is typed takes its place.
fn select_all(ui: &Ui, field: &Response, text: &str) {
    let mut state = TextEdit::load_state(ui.ctx(), field.id).unwrap_or_default();
    let end = CCursor::new(text.chars().count());
    state.cursor.set_char_range(Some(CCursorRange::two(CCursor::default(), end)));
    state.store(ui.ctx(), field.id);
}

fn unsaved_ui(ui: &mut Ui, then: &Command, asked: &mut bool) -> Option<Answer> {
    let mut answer = None;
    title(ui, "The project has unsaved changes");
    ui.label(match then {
        Command::Quit => "Save them before Keepside is closed?",
        Command::New => "Save them before a new project is begun?",
        Command::Recover => "Save them before something is recovered?",
        _ => "Save them before another project is opened?",
    });
    ui.add_space(8.0);
    ui.horizontal(|ui| {
        for (name, choice) in
            [("Save", Answer::Save), ("Discard", Answer::Discard), ("Cancel", Answer::Cancel)]
        {
            let button = ui.button(name);
            // Enter saves.
            if choice == Answer::Save && !std::mem::replace(asked, true) {
                button.request_focus();
            }
            if button.clicked() {
                answer = Some(choice);
            }
        }
    });
    answer
}
