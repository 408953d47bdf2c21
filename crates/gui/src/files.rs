//! Opening, saving, exporting: everything that touches the disk, with the questions before it.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::{Arc, mpsc};

use egui::{Context, ViewportCommand};
use keepside_engine::{Analysis, Cancel, Severity, analyse};
use keepside_model::Project;
use keepside_sheet::import::Imported;
use keepside_sheet::{Export, Output};
use keepside_store::Stamp;

use crate::action::Command;
use crate::app::App;
use crate::demo;
use crate::dialogs::{Answer, Dialog, PathDialog, Purpose};
use crate::import::{self, Import};
use crate::questions::{Choice, Question};
use crate::sheets::{Ready, written};
use crate::shots::log;

/// What a job on a thread of its own found.
#[derive(Debug)]
pub(crate) enum Done {
    /// The system's file dialog was closed.
    Browsed { purpose: Purpose, path: Option<PathBuf> },
    /// A drawing was read, or not.
    Drawing { path: PathBuf, result: Result<Imported, String> },
    /// A page of the sheets is there.
    Sheets(Ready),
    /// The sheets were written to a folder, or not.
    Exported { folder: PathBuf, result: Result<Vec<String>, String> },
}

/// Jobs on threads of their own, and what they report.
#[derive(Debug)]
pub(crate) struct Jobs {
    sender: mpsc::Sender<Done>,
    receiver: mpsc::Receiver<Done>,
}

impl Default for Jobs {
    fn default() -> Self {
        let (sender, receiver) = mpsc::channel();
        Self { sender, receiver }
    }
}

impl Jobs {
    pub(crate) fn start(
        &self,
        ctx: &Context,
        job: impl FnOnce() -> Done + Send + 'static,
    ) -> std::io::Result<()> {
        let (sender, ctx) = (self.sender.clone(), ctx.clone());
        let work = move || {
            if sender.send(job()).is_ok() {
                ctx.request_repaint();
            }
        };
        std::thread::Builder::new().name("files".to_owned()).spawn(work).map(drop)
    }
}

impl App {
    /// Does a command that would lose unsaved changes, or first asks.
    pub(crate) fn unless_unsaved(&mut self, ctx: &Context, command: Command) {
        self.session.commit_gesture();
        if self.after_saving(&command) {
            return;
        }
        if self.session.is_dirty() {
            self.dialog = Some(Dialog::unsaved(command));
        } else {
            self.at_once(ctx, command);
        }
    }

    /// Does a command without asking.
    pub(crate) fn at_once(&mut self, ctx: &Context, command: Command) {
        match command {
            Command::New => self.show_project(Project::blank(), None, None),
            Command::Demo => {
                let demo = demo::project();
                // What has been computed of it already is not thrown away.
                if self.session.path().is_some() || **self.session.document() != demo {
                    self.show_project(demo, None, None);
                }
            }
            Command::Recover => self.recover(),
            Command::Open => self.ask_path(Purpose::Open, None),
            Command::OpenPath(path) => {
                self.safety.readings.open(&path, self.session.revision(), None);
            }
            Command::Quit => {
                self.quitting = true;
                ctx.send_viewport_cmd(ViewportCommand::Close);
            }
            _ => {}
        }
    }

    /// Shows a project that belongs to the file at `path`, which held `stamp`.
    pub(crate) fn show_project(&mut self, project: Project, path: Option<PathBuf>, stamp: Option<Stamp>) {
        self.safety.readings.stop_opening();
        self.safety.belongs_to(path.as_deref(), stamp);
        self.session.replace(project, path);
        // A layout of another project is nothing to compare with.
        self.compare.unpin();
        self.studies.forget();
        self.view.pinned = None;
        self.view.section_at = None;
        self.view = crate::view::ViewState {
            grid_mm: self.view.grid_mm,
            snapping: self.view.snapping,
            height_scale: self.view.height_scale,
            tab: self.view.tab,
            shots: crate::shots::ShotsView {
                trial: None,
                fresh: None,
                preview: None,
                ..self.view.shots.clone()
            },
            ..Default::default()
        };
    }

    /// Saves to the project's file, or asks for one; `then` is done after it.
    pub(crate) fn save(&mut self, ctx: &Context, then: Option<Command>) {
        self.session.commit_gesture();
        let Some(path) = self.session.path().map(Path::to_owned) else {
            self.ask_path(Purpose::SaveAs, then);
            return;
        };
        self.start_saving(ctx, path, self.expected_on_disk(), then, None);
    }

    fn go_on(&mut self, ctx: &Context, then: Option<Command>) {
        if let Some(command) = then {
            self.at_once(ctx, command);
        }
    }

    /// Asks for a path.
    pub(crate) fn ask_path(&mut self, purpose: Purpose, then: Option<Command>) {
        self.session.commit_gesture();
        let folder = self.session.path().and_then(Path::parent).map(Path::to_owned);
        let folder = folder.or_else(|| std::env::current_dir().ok()).unwrap_or_default();
        let start = match purpose {
            Purpose::Export => folder,
            Purpose::Open | Purpose::Import | Purpose::Photo => folder.join(""),
            Purpose::SaveAs => match self.session.path() {
                Some(path) => path.to_owned(),
                None => folder.join(format!("untitled.{}", keepside_store::EXTENSION)),
            },
        };
        let mut dialog = PathDialog::new(purpose, &start, then);
        if purpose == Purpose::Export {
            let outputs = written(&self.outputs, self.session.document());
            let names: Vec<&str> = outputs.into_iter().map(Output::label).collect();
            dialog.about = format!("{}; files of the same name are replaced", names.join(", "));
        }
        self.dialog = Some(Dialog::Path(dialog));
    }

    /// Shows the open dialog and acts on the answer.
    pub(crate) fn dialog_ui(&mut self, ctx: &Context) {
        let Some(mut dialog) = self.dialog.take() else { return };
        if let Dialog::Path(dialog) = &dialog
            && dialog.purpose == Purpose::SaveAs
            && let path = dialog.path()
            && dialog.found.as_ref().is_none_or(|(found, _)| *found != path)
        {
            self.safety.readings.seek(path);
        }
        let findings = self.session.results().findings(self.session.revision());
        let faults = findings.iter().filter(|(finding, _)| finding.severity == Severity::Fault).count();
        let answer = crate::dialogs::dialog_ui(ctx, &mut dialog, faults);
        match (answer, dialog) {
            (None, dialog) => self.dialog = Some(dialog),
            (Some(Answer::Cancel | Answer::Choice(Choice::Leave)), dialog) => self.left(dialog),
            (Some(Answer::Choice(choice)), Dialog::Question(question)) => self.choose(ctx, question, choice),
            (Some(Answer::Save), Dialog::Unsaved { then, .. }) => self.save(ctx, Some(then)),
            (Some(Answer::Discard), Dialog::Unsaved { then, .. }) => self.at_once(ctx, then),
            (Some(Answer::Go), Dialog::Path(dialog)) => self.go(ctx, dialog),
            (Some(Answer::Look), _) => self.sheets = Some(self.sheets.take().unwrap_or_default()),
            (Some(Answer::Browse), Dialog::Path(mut dialog)) => {
                let purpose = dialog.purpose;
                let ask = self.dialogs.browse(purpose, &dialog.path());
                let job = move || {
                    // A fault in the system's dialog is as if there were none.
                    let path = catch_unwind(AssertUnwindSafe(ask)).unwrap_or(None);
                    Done::Browsed { purpose, path }
                };
                match self.jobs.start(ctx, job) {
                    Ok(()) => dialog.browsing = true,
                    Err(error) => dialog.fail(format!("no file dialog could be started: {error}")),
                }
                self.dialog = Some(Dialog::Path(dialog));
            }
            (Some(_), dialog) => self.dialog = Some(dialog),
        }
    }

    /// A dialog was left without an answer.
    fn left(&mut self, dialog: Dialog) {
        match dialog {
            Dialog::Question(Question::Waiting) => self.stop_waiting(),
            // Not to be asked at every turn: until somebody changes it again, the user knows.
            Dialog::Question(question @ Question::Changed { is_saving: false, .. }) => {
                self.keep_mine(&question);
            }
            _ => {}
        }
    }

    /// Acts on the path typed; the dialog stays open if that fails.
    fn go(&mut self, ctx: &Context, mut dialog: PathDialog) {
        let path = dialog.path();
        let result = match dialog.purpose {
            Purpose::Import => {
                let job = move || Done::Drawing { result: import::read(&path), path };
                self.jobs.start(ctx, job).map_err(|error| error.to_string())
            }
            Purpose::Photo => {
                self.take_photo(&path);
                Ok(())
            }
            Purpose::Export if self.exporting.is_some() => {
                Err("Sheets are being written; stop that, or wait a moment".to_owned())
            }
            Purpose::Open => {
                self.safety.readings.open(&path, self.session.revision(), Some(dialog));
                return;
            }
            Purpose::SaveAs if self.is_saving() => {
                Err("The project is still being saved; try again in a moment".to_owned())
            }
            Purpose::SaveAs => {
                let then = dialog.then.take();
                return self.start_saving(ctx, path, None, then, Some(dialog));
            }
            Purpose::Export => {
                let cancel = Arc::new(Cancel::default());
                let order = Order {
                    project: Arc::clone(self.session.document()),
                    outputs: written(&self.outputs, self.session.document()),
                    analysis: self.session.results().analysis(self.session.revision()).cloned(),
                    cancel: Arc::clone(&cancel),
                };
                let job = move || Done::Exported { result: order.export(&path), folder: path };
                let started = self.jobs.start(ctx, job).map_err(|error| error.to_string());
                if started.is_ok() {
                    self.exporting = Some(cancel);
                }
                started
            }
        };
        match result {
            Ok(()) => self.go_on(ctx, dialog.then),
            Err(error) => {
                dialog.fail(error);
                self.dialog = Some(Dialog::Path(dialog));
            }
        }
    }

    /// Notes a photo of the trial that is chosen; by its name alone where it lies beside the project.
    fn take_photo(&mut self, path: &Path) {
        let Some(index) = self.view.shots.trial else { return };
        let beside = self.session.path().and_then(Path::parent);
        let shown = beside.and_then(|folder| path.strip_prefix(folder).ok()).unwrap_or(path);
        let photo = shown.display().to_string();
        let edit = log::changed(self.session.document(), index, |trial| trial.photo = photo);
        let result = match log::is_fresh(&self.session, &self.view.shots) {
            true => self.session.amend(&edit),
            false => self.session.apply(&edit),
        };
        if let Err(error) = result {
            self.toasts.error(sentence_of(error));
        }
    }

    /// Takes in what jobs have found.
    pub(crate) fn poll_jobs(&mut self, ctx: &Context) {
        while let Ok(done) = self.jobs.receiver.try_recv() {
            match done {
                Done::Browsed { purpose, path } => {
                    if let Some(Dialog::Path(dialog)) = &mut self.dialog
                        && dialog.purpose == purpose
                    {
                        dialog.browsing = false;
                        match path {
                            Some(path) => {
                                dialog.text = path.display().to_string();
                                dialog.error = None;
                            }
                            None => {
                                let words = "Nothing was chosen; the path can be typed here";
                                dialog.fail(words.to_owned());
                            }
                        }
                    }
                }
                Done::Drawing { path, result } => match result {
                    Ok(drawing) => self.import = Some(Import::new(path, drawing, self.session.document())),
                    Err(error) => self.toasts.error(error),
                },
                Done::Sheets(ready) => {
                    if let Some(sheets) = &mut self.sheets {
                        sheets.take(ctx, ready);
                    }
                }
                Done::Exported { folder, result } => {
                    self.exporting = None;
                    match result {
                        Ok(names) => {
                            let names = names.join(", ");
                            self.toasts.good(format!("Exported {names} to {}", folder.display()));
                        }
                        Err(error) => self.toasts.error(error),
                    }
                }
            }
        }
    }
}

/// Sheets to be written.
struct Order {
    project: Arc<Project>,
    outputs: Vec<Output>,
    /// What is known of the opening, if it has been computed.
    analysis: Option<Analysis>,
    cancel: Arc<Cancel>,
}

impl Order {
    /// Writes the sheets into a folder; the names of the files. All are made before the first is written.
    fn export(&self, folder: &Path) -> Result<Vec<String>, String> {
        let exports = catch_unwind(AssertUnwindSafe(|| self.make()))
            .unwrap_or_else(|_| Err("internal error in a sheet; please report this".to_owned()))?;
        let at = |path: &Path, error: std::io::Error| format!("could not write: {error}: {}", path.display());
        std::fs::create_dir_all(folder).map_err(|error| at(folder, error))?;
        let mut names = Vec::new();
        for export in exports {
            self.go_on()?;
            let path = folder.join(&export.file_name);
            keepside_store::write_whole(&path, &export.bytes).map_err(|error| at(&path, error))?;
            names.push(export.file_name);
        }
        Ok(names)
    }

    fn make(&self) -> Result<Vec<Export>, String> {
        let needs_opening = self.outputs.iter().any(|output| output.needs_opening());
        let computed = (needs_opening && self.analysis.is_none())
            .then(|| analyse(&self.project, &self.cancel, &mut |_| {}));
        self.go_on()?;
        let analysis = self.analysis.as_ref().or(computed.as_ref());
        keepside_sheet::export(&self.project, &self.outputs, analysis).map_err(|error| error.to_string())
    }

    fn go_on(&self) -> Result<(), String> {
        if self.cancel.is_cancelled() {
            return Err("The export was stopped; not all sheets are written".to_owned());
        }
        Ok(())
    }
}

/// Why the project that the editor was started with is not shown.
pub(crate) fn not_opened(path: &Path, error: &str) -> String {
    let path = path.display().to_string();
    // The reason may end with the path, which is said already.
    let reason = error.strip_suffix(&format!(": {path}")).unwrap_or(error);
    format!("{path} was not opened: {reason}. This is the demo project")
}

/// An error as a sentence for the user.
pub(crate) fn sentence_of(error: impl std::fmt::Display) -> String {
    crate::elevation::sentence(&error.to_string())
}
