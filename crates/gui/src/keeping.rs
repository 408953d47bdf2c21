//! Keeping unsaved work against a crash, and coming back to what was kept: recovered work, earlier
//! states.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use egui::Context;
use keepside_model::Project;
use keepside_store::{About, cause};

use crate::app::App;
use crate::disk::Disk;
use crate::files::sentence_of;
use crate::history_words::{ago, count, difference, now_unix_s, unix_s};
use crate::questions::{EarlierRow, Question, RecoverRow};
use crate::reading::Found;
use crate::safety::Safety;
use crate::saving::Work;

/// How long after the last change unsaved work is kept, s.
const QUIET_S: f64 = 3.0;

/// How long changes go on at most before they are kept all the same, s.
const LONGEST_S: f64 = 60.0;

/// How long after a failure it is tried again, s.
const AGAIN_S: f64 = 30.0;

/// How long the disk may take to keep something before the user is told, s.
const PATIENCE_S: f64 = 20.0;

/// When unsaved work was last kept.
#[derive(Debug, Default)]
pub(crate) struct Keeping {
    /// Revision last looked at, and when it came, s.
    seen: u64,
    changed_s: f64,
    /// When the first change came that is not kept, s.
    since_s: Option<f64>,
    /// Revision kept.
    kept: Option<u64>,
    /// Whether a recovery file may be there.
    has_file: bool,
    /// When the disk was asked to keep something and has not answered yet, s.
    asked_s: Option<f64>,
    /// Not before this moment is it asked again, s.
    not_before_s: f64,
    /// Whether the user has been told that nothing can be kept.
    told: bool,
}

impl Safety {
    /// Looks for what windows that were not closed left behind; what to do with it is asked then.
    /// `revision` is that of the project shown, which may be given up for it.
    pub(crate) fn look_for_work(&mut self, revision: u64, was_asked: bool) {
        let Some(state) = self.state.clone() else { return };
        self.readings.list("Looking for unsaved work…", revision, move |disk| {
            let left = keepside_store::left_behind(&state);
            let now_s = now_unix_s();
            let row = |one: keepside_store::Recovered| RecoverRow {
                when: ago(now_s, one.about.written_unix_s),
                what: against_file(disk, &one.project, one.about.path.as_deref()),
                one,
            };
            let any = !left.is_empty();
            let rows = left.recovered.into_iter().map(row).collect();
            let question = any.then_some(Question::Recover { rows, damaged: left.damaged, agreed: revision });
            Found::Left { question, was_asked }
        });
    }
}

/// How a project differs from what its file holds now.
fn against_file(disk: &dyn Disk, project: &Project, path: Option<&Path>) -> String {
    match path.and_then(|path| disk.load(path).ok()) {
        Some((saved, _)) => format!("{}; against its file: {}", count(project), difference(&saved, project)),
        None => count(project),
    }
}

/// The earlier states of the file at `path`, or its backup, each with words about it.
fn earlier_rows(disk: &dyn Disk, state: Option<&Path>, path: &Path, present: &Project) -> Vec<EarlierRow> {
    let kept = state.map(|state| keepside_store::earlier_states(state, path)).unwrap_or_default();
    let mut states: Vec<(PathBuf, u64)> =
        kept.into_iter().map(|one| (one.file, one.saved_unix_ms / 1000)).collect();
    let backup = keepside_store::backup_path(path);
    if states.is_empty()
        && let Ok(saved) = backup.metadata().and_then(|about| about.modified())
    {
        states.push((backup, unix_s(saved)));
    }
    let now_s = now_unix_s();
    let row = |(file, saved_unix_s): (PathBuf, u64)| {
        let when = ago(now_s, saved_unix_s);
        match disk.load(&file) {
            Ok((project, _)) => {
                let what =
                    format!("{}; from now to then: {}", count(&project), difference(present, &project));
                EarlierRow { when, what, project: Some(Arc::new(project)) }
            }
            Err(error) => EarlierRow { when, what: sentence_of(&error), project: None },
        }
    };
    states.into_iter().map(row).collect()
}

impl App {
    /// Keeps unsaved work a little after it has come, and takes it away once it is safe.
    pub(crate) fn keep_work(&mut self, ctx: &Context) {
        if self.safety.state.is_none() {
            return;
        }
        let (now_s, revision) = (ctx.input(|input| input.time), self.session.revision());
        let is_dirty = self.session.is_dirty();
        let keeping = &mut self.safety.keeping;
        if !is_dirty {
            if std::mem::take(&mut keeping.has_file) {
                self.safety.saver.send(Work::Forget);
            }
            let (told, asked_s) = (keeping.told, keeping.asked_s);
            *keeping = Keeping { seen: revision, told, asked_s, ..Keeping::default() };
            return;
        }
        if let Some(asked_s) = keeping.asked_s {
            // One request at a time: the next will hold what has come since.
            if now_s < asked_s + PATIENCE_S {
                ctx.request_repaint_after_secs((asked_s + PATIENCE_S - now_s) as f32);
            } else {
                self.cannot_keep("the disk does not answer");
            }
            return;
        }
        if keeping.kept == Some(revision) {
            return;
        }
        if keeping.seen != revision || keeping.since_s.is_none() {
            keeping.seen = revision;
            keeping.changed_s = now_s;
        }
        let since_s = *keeping.since_s.get_or_insert(now_s);
        let due_s = (keeping.changed_s + QUIET_S).min(since_s + LONGEST_S).max(keeping.not_before_s);
        if now_s >= due_s {
            self.keep_now(ctx, None);
        } else {
            ctx.request_repaint_after_secs((due_s - now_s) as f32);
        }
    }

    /// Unsaved work was kept, or not: then it is tried again.
    pub(crate) fn kept(&mut self, ctx: &Context, result: std::io::Result<()>) {
        let keeping = &mut self.safety.keeping;
        keeping.asked_s = None;
        match result {
            Ok(()) => {
                if std::mem::take(&mut keeping.told) {
                    self.toasts.good("Unsaved work is kept against a crash again");
                }
            }
            Err(error) => {
                keeping.kept = None;
                keeping.not_before_s = ctx.input(|input| input.time) + AGAIN_S;
                self.cannot_keep(&cause(&error));
            }
        }
    }

    /// Tells the user once.
    fn cannot_keep(&mut self, why: &str) {
        if !std::mem::replace(&mut self.safety.keeping.told, true) {
            let words = "Unsaved work cannot be kept against a crash for now, so save often";
            let folder = self.safety.state.as_deref().unwrap_or(Path::new("")).display();
            self.toasts.error(format!("{words}: {why}: {folder}"));
        }
    }

    /// Keeps the project as it is; `instead_of` is a recovery file that is then needed no more.
    fn keep_now(&mut self, ctx: &Context, instead_of: Option<PathBuf>) {
        let document = Arc::clone(self.session.document());
        let about = About {
            title: document.name.clone(),
            path: self.session.path().map(Path::to_owned),
            written_unix_s: now_unix_s(),
            is_unsaved: self.session.is_dirty(),
            stamp: self.safety.stamp,
        };
        let keeping = &mut self.safety.keeping;
        keeping.kept = Some(self.session.revision());
        keeping.has_file = true;
        keeping.asked_s = Some(ctx.input(|input| input.time));
        keeping.since_s = None;
        self.safety.saver.send(Work::Keep { about, document, instead_of });
    }

    /// Offers what can be recovered, asked for from the menu.
    pub(crate) fn recover(&mut self) {
        if self.safety.state.is_some() {
            self.safety.look_for_work(self.session.revision(), true);
        } else {
            self.toasts.good("There is nothing to recover");
        }
    }

    /// Lists the earlier states of the project's file.
    pub(crate) fn list_earlier(&mut self) {
        let Some(path) = self.session.path().map(Path::to_owned) else {
            self.toasts.good("A project has earlier states once it has been saved twice");
            return;
        };
        let (state, present) = (self.safety.state.clone(), Arc::clone(self.session.document()));
        let revision = self.session.revision();
        self.safety.readings.list("Reading the earlier states…", revision, move |disk| {
            let rows = earlier_rows(disk, state.as_deref(), &path, &present);
            Found::Earlier(Question::Earlier { path, rows })
        });
    }

    /// Opens recovered work: it is unsaved, and belongs to the file that it belonged to.
    pub(crate) fn open_recovered(&mut self, ctx: &Context, one: keepside_store::Recovered) {
        let keepside_store::Recovered { file, about, project } = one;
        self.show_project(project, about.path.clone(), about.stamp);
        self.session.mark_unsaved();
        self.keep_now(ctx, Some(file));
        self.toasts.good("Recovered; save to keep it");
    }
}
