//! Safety of the work in the window: saving in the background, files that somebody else has changed,
//! two windows on one project, and what the user answers to questions about them.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use egui::{Context, ViewportCommand};
use keepside_model::Project;
use keepside_store::{Holder, OpenProject, SaveError, Stamp};

use crate::action::Command;
use crate::app::App;
use crate::dialogs::{Dialog, PathDialog, Purpose};
use crate::disk::Disk;
use crate::files::sentence_of;
use crate::keeping::Keeping;
use crate::questions::{Choice, Question};
use crate::reading::{Loaded, Readings};
use crate::saving::{NO_ANSWER, Report, Saver, Work, briefly};

/// How long a save may take before a command that waits for it says so, s.
const PATIENCE_S: f64 = 0.3;

/// How long a save may take before the user is offered to save elsewhere, s.
const LONG_S: f64 = 5.0;

/// A save under way.
#[derive(Debug)]
struct Running {
    since_s: f64,
    path: PathBuf,
    /// What to do once it has succeeded.
    then: Option<Command>,
    /// The dialog that asked for it, shown again if it fails.
    dialog: Option<PathDialog>,
    /// Saving was asked for again meanwhile.
    again: bool,
}

/// What is known and under way.
#[derive(Debug)]
pub(crate) struct Safety {
    pub(crate) state: Option<PathBuf>,
    pub(crate) saver: Saver,
    pub(crate) readings: Readings,
    running: Option<Running>,
    /// Why the last save failed, in a few words.
    failed: Option<&'static str>,
    /// What was said about it, to be taken back once saving has gone well.
    told: Option<String>,
    /// What the project's file held when it was last read or written here.
    pub(crate) stamp: Option<Stamp>,
    /// Whether the project's file was write-protected when it was opened.
    is_protected: bool,
    open: Option<OpenProject>,
    pub(crate) keeping: Keeping,
    /// Questions that wait for their turn.
    pub(crate) questions: VecDeque<Question>,
    is_focused: bool,
}

impl Safety {
    /// Starts the saving thread. Without a state folder nothing is kept against a crash.
    pub(crate) fn new(state: Option<PathBuf>, disk: Arc<dyn Disk>, ctx: &Context) -> std::io::Result<Self> {
        let waker = ctx.clone();
        Ok(Self {
            saver: Saver::spawn(state.clone(), Arc::clone(&disk), move || waker.request_repaint())?,
            readings: Readings::new(ctx, disk),
            state,
            running: None,
            failed: None,
            told: None,
            stamp: None,
            is_protected: false,
            open: None,
            keeping: Keeping::default(),
            questions: VecDeque::new(),
            is_focused: true,
        })
    }

    /// Notes that the project now shown belongs to the file at `path`, which held `stamp`.
    pub(crate) fn belongs_to(&mut self, path: Option<&Path>, stamp: Option<Stamp>) {
        self.failed = None;
        self.stamp = stamp;
        self.is_protected = false;
        // Given up first: a file opened again is no second window.
        self.open = None;
        if let Some(path) = path {
            self.readings.look_up(path, self.state.clone());
        }
    }

    /// Takes in how the project's file stands; warns if another window has it open.
    pub(crate) fn stands(
        &mut self,
        path: PathBuf,
        is_protected: bool,
        claimed: Option<std::io::Result<(OpenProject, Vec<Holder>)>>,
    ) {
        self.is_protected = is_protected;
        match claimed {
            Some(Ok((open, others))) => {
                self.open = Some(open);
                if let Some(other) = others.into_iter().next() {
                    self.questions.push_back(Question::OpenTwice { path, other });
                }
            }
            // A warning may be missed, the work is not in danger.
            Some(Err(error)) => log::warn!("cannot tell other windows what is open here: {error}"),
            None => {}
        }
    }
}

impl App {
    /// Whether a save is under way.
    pub fn is_saving(&self) -> bool {
        self.safety.running.is_some()
    }

    /// How the project stands to its file, in a few words.
    pub(crate) fn saving_words(&self) -> String {
        let is_dirty = self.session.is_dirty();
        if self.is_saving() {
            "saving…".to_owned()
        } else if let (Some(why), true) = (self.safety.failed, is_dirty) {
            format!("not saved: {why}")
        } else if is_dirty {
            "changed".to_owned()
        } else if self.session.path().is_none() {
            "not saved yet".to_owned()
        } else if self.safety.is_protected {
            "write-protected".to_owned()
        } else {
            "saved".to_owned()
        }
    }

    /// Lets a save that is under way finish before `command` is done; whether there is one.
    pub(crate) fn after_saving(&mut self, command: &Command) -> bool {
        let Some(running) = &mut self.safety.running else { return false };
        running.then = Some(command.clone());
        true
    }

    /// Saves to `path` in the background; `then` is done once that has succeeded. `asked_by` is shown
    /// again if it fails.
    pub(crate) fn start_saving(
        &mut self,
        ctx: &Context,
        path: PathBuf,
        expected: Option<Stamp>,
        then: Option<Command>,
        asked_by: Option<PathDialog>,
    ) {
        if let Some(running) = &mut self.safety.running {
            running.again = true;
            running.then = then.or(running.then.take());
            return;
        }
        let since_s = ctx.input(|input| input.time);
        self.safety.running =
            Some(Running { since_s, path: path.clone(), then, dialog: asked_by, again: false });
        let document = Arc::clone(self.session.document());
        self.safety.saver.send(Work::Save { path, document, expected });
    }

    /// What the project's own file should hold until it is saved over.
    pub(crate) fn expected_on_disk(&self) -> Option<Stamp> {
        self.safety.stamp
    }

    /// Takes in what the saving thread has done, and looks after what is due: once a frame.
    pub(crate) fn look_after_work(&mut self, ctx: &Context) {
        while let Some(report) = self.safety.saver.poll() {
            match report {
                Report::Saved { path, document, result } => self.saved(ctx, path, document, result),
                Report::Kept(result) => self.kept(ctx, result),
            }
        }
        self.poll_readings(ctx);
        self.keep_work(ctx);
        self.look_at_file(ctx);
        self.show_questions(ctx);
    }

    fn saved(
        &mut self,
        ctx: &Context,
        path: PathBuf,
        document: Arc<Project>,
        result: Result<Stamp, SaveError>,
    ) {
        let Some(Running { then, dialog, again, .. }) = self.safety.running.take() else { return };
        if matches!(self.dialog, Some(Dialog::Question(Question::Waiting))) {
            self.dialog = None;
        }
        match result {
            Ok(stamp) => {
                let is_elsewhere = self.session.path() != Some(path.as_path());
                self.session.mark_saved(document, path.clone());
                self.recent.add(&path, &self.safety.saver);
                self.toasts.good(format!("Saved {}", path.display()));
                self.safety.failed = None;
                if let Some(words) = self.safety.told.take() {
                    self.toasts.withdraw(&words);
                }
                self.safety.stamp = Some(stamp);
                if is_elsewhere {
                    self.safety.belongs_to(Some(&path), Some(stamp));
                }
                if again && self.session.is_dirty() {
                    self.save(ctx, then);
                } else if let Some(command) = then {
                    // What was changed meanwhile is asked about.
                    self.unless_unsaved(ctx, command);
                }
            }
            Err(error) => {
                self.safety.failed = Some(briefly(&error));
                let words = sentence_of(&error);
                let is_changed = matches!(error, SaveError::ChangedOnDisk { .. });
                if let Some(mut dialog) = dialog {
                    dialog.then = then;
                    dialog.fail(words);
                    self.dialog = Some(Dialog::Path(dialog));
                } else if is_changed {
                    self.ask(Question::Changed { path, found: None, is_saving: true, then });
                } else if error.is_refused() {
                    self.ask(Question::Refused { words, then });
                } else {
                    if let Some(before) = self.safety.told.replace(words.clone()) {
                        self.toasts.withdraw(&before);
                    }
                    self.toasts.error(words);
                }
            }
        }
    }

    fn ask(&mut self, question: Question) {
        self.safety.questions.push_back(question);
    }

    /// When the window comes to the front, somebody may have been at the file.
    fn look_at_file(&mut self, ctx: &Context) {
        let is_focused = ctx.input(|input| input.focused);
        let was_focused = std::mem::replace(&mut self.safety.is_focused, is_focused);
        if is_focused
            && !was_focused
            && !self.is_saving()
            && let (Some(path), Some(_)) = (self.session.path(), self.safety.stamp)
        {
            self.safety.readings.look(path);
        }
    }

    pub(crate) fn looked(&mut self, path: &Path, found: std::io::Result<Option<Stamp>>) {
        if self.is_saving() || self.session.path() != Some(path) {
            return;
        }
        match found {
            Ok(Some(found)) if self.safety.stamp.is_none_or(|stamp| stamp == found) => {}
            Ok(Some(found)) => {
                let question = Question::Changed {
                    path: path.to_owned(),
                    found: Some(found),
                    is_saving: false,
                    then: None,
                };
                if !self.safety.questions.contains(&question) {
                    self.ask(question);
                }
            }
            Ok(None) => {
                self.safety.stamp = None;
                self.session.mark_unsaved();
                let words = "The file of this project is no longer there; save to write it anew";
                self.toasts.error(format!("{words}: {}", path.display()));
            }
            Err(error) => log::warn!("{error}"),
        }
    }

    fn show_questions(&mut self, ctx: &Context) {
        if self.dialog.is_some() {
            return;
        }
        if let Some(question) = self.safety.questions.pop_front() {
            self.dialog = Some(Dialog::Question(question));
            ctx.request_repaint();
        } else if let Some(Running { since_s, then: Some(_), .. }) = &self.safety.running {
            let left_s = since_s + PATIENCE_S - ctx.input(|input| input.time);
            if left_s <= 0.0 {
                self.dialog = Some(Dialog::Question(Question::Waiting));
                ctx.request_repaint();
            } else {
                ctx.request_repaint_after_secs(left_s as f32);
            }
        }
    }

    /// What is said about a save that takes very long.
    pub(crate) fn long_save(&self, ctx: &Context) -> Option<String> {
        let Running { since_s, path, .. } = self.safety.running.as_ref()?;
        let left_s = since_s + LONG_S - ctx.input(|input| input.time);
        if left_s > 0.0 {
            ctx.request_repaint_after_secs(left_s as f32);
            return None;
        }
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        Some(format!("Saving {name}: the disk does not answer yet"))
    }

    /// Gives up a save that does not end, and asks where else to save.
    pub(crate) fn save_elsewhere(&mut self) {
        let Some(running) = self.safety.running.take() else { return };
        if let Err(error) = self.safety.saver.give_up_saving() {
            self.toasts.error(format!("Saving goes on waiting: {error}"));
            self.safety.running = Some(running);
            return;
        }
        self.safety.failed = Some(NO_ANSWER);
        self.session.commit_gesture();
        let mut dialog = PathDialog::new(Purpose::SaveAs, &elsewhere(&running.path), running.then);
        dialog.about = "Any place on another disk will do; this is a proposal".to_owned();
        self.dialog = Some(Dialog::Path(dialog));
    }

    /// The user will not wait: what was to be done after saving is not done.
    pub(crate) fn stop_waiting(&mut self) {
        if let Some(running) = &mut self.safety.running {
            running.then = None;
        }
    }

    /// Does what the user chose.
    pub(crate) fn choose(&mut self, ctx: &Context, question: Question, choice: Choice) {
        ctx.request_repaint();
        match (question, choice) {
            (Question::Recover { agreed, .. }, Choice::Open(_))
                if agreed != self.session.revision() && self.session.is_dirty() =>
            {
                self.dialog = Some(Dialog::unsaved(Command::Recover));
            }
            (Question::Recover { mut rows, .. }, Choice::Open(index)) if index < rows.len() => {
                self.open_recovered(ctx, rows.swap_remove(index).one);
            }
            (Question::Recover { mut rows, mut damaged, agreed }, choice) => {
                let file = match choice {
                    Choice::Discard(index) if index < rows.len() => rows.remove(index).one.file,
                    Choice::DiscardDamaged(index) if index < damaged.len() => damaged.remove(index).file,
                    _ => return,
                };
                if let Err(error) = keepside_store::discard(&file) {
                    self.toasts.error(format!("Not discarded: {error}: {}", file.display()));
                }
                if !(rows.is_empty() && damaged.is_empty()) {
                    self.dialog = Some(Dialog::Question(Question::Recover { rows, damaged, agreed }));
                }
            }
            (Question::Changed { path, .. }, Choice::Load) => {
                self.safety.readings.read_from_disk(path, self.session.revision());
            }
            (Question::Changed { path, is_saving: true, then, .. }, Choice::KeepMine) => {
                self.start_saving(ctx, path, None, then, None);
            }
            (question @ Question::Changed { .. }, Choice::KeepMine) => self.keep_mine(&question),
            (Question::Changed { then, .. } | Question::Refused { then, .. }, Choice::SaveAs) => {
                self.ask_path(Purpose::SaveAs, then);
            }
            (Question::Waiting, Choice::SaveAs) => self.save_elsewhere(),
            (Question::OpenTwice { .. }, Choice::SaveAs) => self.ask_path(Purpose::SaveAs, None),
            (Question::Earlier { rows, .. }, Choice::Open(index)) => {
                if let Some(project) = rows.into_iter().nth(index).and_then(|row| row.project) {
                    self.session.put("return to an earlier state", Project::clone(&project));
                    self.toasts.good("This is the earlier state; undo leads back");
                }
            }
            _ => {}
        }
    }

    /// Goes on with what the window holds: the file is known to hold something else.
    pub(crate) fn keep_mine(&mut self, question: &Question) {
        if let Question::Changed { found, .. } = question {
            self.safety.stamp = *found;
            self.session.mark_unsaved();
        }
    }

    /// Takes in what somebody else saved, as a step that can be undone.
    pub(crate) fn put_from_disk(&mut self, path: PathBuf, loaded: Loaded) {
        match loaded {
            Ok((project, stamp)) if self.session.path() == Some(path.as_path()) => {
                self.session.put("load from disk", project);
                self.session.mark_saved(Arc::clone(self.session.document()), path);
                self.safety.stamp = Some(stamp);
                self.safety.failed = None;
                self.toasts.good("Loaded from disk; undo leads back to yours");
            }
            // Another project is shown by now.
            Ok(_) => {}
            Err(error) => self.toasts.error(sentence_of(error)),
        }
    }

    /// The window is asked to close: not before running saves have ended and unsaved changes have been
    /// spoken about.
    pub(crate) fn guard_closing(&mut self, ctx: &Context) {
        if !ctx.input(|input| input.viewport().close_requested()) || self.quitting {
            return;
        }
        self.session.commit_gesture();
        if self.after_saving(&Command::Quit) {
            ctx.send_viewport_cmd(ViewportCommand::CancelClose);
        } else if self.session.is_dirty() {
            ctx.send_viewport_cmd(ViewportCommand::CancelClose);
            self.dialog = Some(Dialog::unsaved(Command::Quit));
        }
    }

    /// The window is closing for good. What the user let go of is not offered again.
    pub(crate) fn end_work(&mut self) {
        if self.quitting || !self.session.is_dirty() {
            self.safety.saver.send(Work::Forget);
        }
        self.safety.saver.close();
    }
}

/// A place for a project whose disk does not answer: a folder that the project's own does not lie in.
fn elsewhere(path: &Path) -> PathBuf {
    let folders = [std::env::home_dir(), std::env::current_dir().ok()];
    let folder = folders.into_iter().flatten().find(|folder| !path.starts_with(folder));
    folder.unwrap_or_else(std::env::temp_dir).join(path.file_name().unwrap_or_default())
}
