//! One open project: the document, its history, what is selected, the gesture under way, and what
//! the analysis knows.

use std::collections::BTreeSet;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use keepside_model::{Edit, EditError, Id, Project};

use crate::background::{Background, Haste, Report, panic_words};
use crate::history::History;
use crate::results::{Progress, Results};

/// A layout that took longer than this is left to the background thread: a quarter of a frame at 60
/// frames a second.
const LAYOUT_AT_ONCE: Duration = Duration::from_millis(4);

/// Revision of a project as it is first shown.
pub const FIRST_REVISION: u64 = 1;

/// A drag under way: the project before it, and what it will be called.
#[derive(Debug)]
struct Gesture {
    before: Arc<Project>,
    label: &'static str,
}

/// One open project.
#[derive(Debug)]
pub struct Session {
    document: Arc<Project>,
    revision: u64,
    history: History,
    selection: BTreeSet<Id>,
    /// The document as it was last saved or opened; `None` if no file holds it.
    saved: Option<Arc<Project>>,
    path: Option<PathBuf>,
    gesture: Option<Gesture>,
    /// Smallest id never used since the project was opened.
    next_id: u32,
    background: Background,
    /// The document at the last change.
    analysed: Arc<Project>,
    requested: u64,
    /// The revision whose analysis the user has stopped.
    stopped: Option<u64>,
    results: Results,
    layout_took: Duration,
}

impl Session {
    /// Opens `project`, which was read from `path` if there is one. `wake` is called from another
    /// thread whenever a result has come.
    ///
    /// # Errors
    ///
    /// The operating system's, if it gives no thread.
    pub fn new(
        project: Project,
        path: Option<PathBuf>,
        wake: impl Fn() + Send + 'static,
    ) -> std::io::Result<Self> {
        let background = Background::spawn(wake)?;
        let document = Arc::new(project);
        let mut session = Self {
            next_id: document.free_id().0,
            saved: Some(Arc::clone(&document)),
            analysed: Arc::clone(&document),
            document,
            revision: FIRST_REVISION,
            history: History::default(),
            selection: BTreeSet::new(),
            path,
            gesture: None,
            background,
            requested: 0,
            stopped: None,
            results: Results::default(),
            layout_took: Duration::ZERO,
        };
        session.request_analysis(Haste::StopRunning);
        Ok(session)
    }

    /// Replaces everything by another project: history and selection are gone.
    pub fn replace(&mut self, project: Project, path: Option<PathBuf>) {
        self.document = Arc::new(project);
        self.saved = Some(Arc::clone(&self.document));
        self.history = History::default();
        self.selection.clear();
        self.gesture = None;
        self.path = path;
        self.next_id = self.document.free_id().0;
        // Reports of the project before may still be under way: they are not of this one.
        self.results = Results::since(self.revision + 1);
        self.changed();
    }

    /// The project as it is now.
    pub fn document(&self) -> &Arc<Project> {
        &self.document
    }

    /// Number of the present state; grows with every change, undo and preview included.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// The file the project belongs to.
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// Whether there is something that the file does not hold.
    pub fn is_dirty(&self) -> bool {
        let Some(saved) = &self.saved else { return true };
        !Arc::ptr_eq(saved, &self.document) && **saved != *self.document
    }

    /// Notes that `document` now stands in the file at `path`.
    pub fn mark_saved(&mut self, document: Arc<Project>, path: PathBuf) {
        self.saved = Some(document);
        self.path = Some(path);
    }

    /// Notes that no file holds the project as it was last saved: it was recovered, or the file has
    /// been changed or deleted by somebody else.
    pub fn mark_unsaved(&mut self) {
        self.saved = None;
    }

    /// Puts a whole other state of the same project in place of the present one, as one undo step: an
    /// earlier state, or what somebody else has saved. A gesture under way is committed first.
    pub fn put(&mut self, label: &'static str, project: Project) {
        self.commit_gesture();
        if project != *self.document {
            let before = std::mem::replace(&mut self.document, Arc::new(project));
            self.history.push(label, &before, &self.document);
            self.changed();
        }
    }

    /// Applies an edit as one undo step. A gesture under way is committed first.
    ///
    /// # Errors
    ///
    /// [`EditError`]; the project is then as it was.
    pub fn apply(&mut self, edit: &Edit) -> Result<(), EditError> {
        self.commit_gesture();
        let next = edited(&self.document, edit)?;
        if next != *self.document {
            let before = std::mem::replace(&mut self.document, Arc::new(next));
            self.history.push(edit.label(), &before, &self.document);
            self.changed();
        }
        Ok(())
    }

    /// Applies an edit as part of the last undo step, for example a key that repeats; as a step of its
    /// own if there is none.
    ///
    /// # Errors
    ///
    /// [`EditError`]; the project is then as it was.
    pub fn amend(&mut self, edit: &Edit) -> Result<(), EditError> {
        self.commit_gesture();
        if self.history.undo_label().is_none() {
            return self.apply(edit);
        }
        let next = edited(&self.document, edit)?;
        if next != *self.document {
            let before = std::mem::replace(&mut self.document, Arc::new(next));
            self.history.amend(&before, &self.document);
            // A key held down must not keep every opening run from finishing.
            self.changed_in(Haste::FinishOpening);
        }
        Ok(())
    }

    /// Begins a gesture, for example a drag; one under way is committed first.
    pub fn begin_gesture(&mut self, label: &'static str) {
        self.commit_gesture();
        self.gesture = Some(Gesture { before: Arc::clone(&self.document), label });
    }

    /// Shows the project as `edit` would make it from the state before the gesture; without a gesture
    /// nothing happens.
    ///
    /// # Errors
    ///
    /// [`EditError`]; the project is then as the last preview left it.
    pub fn preview(&mut self, edit: &Edit) -> Result<(), EditError> {
        let Some(gesture) = &self.gesture else { return Ok(()) };
        let next = edited(&gesture.before, edit)?;
        if next != *self.document {
            self.document = Arc::new(next);
            self.changed();
        }
        Ok(())
    }

    /// Ends the gesture: what it changed becomes one undo step.
    pub fn commit_gesture(&mut self) {
        let Some(Gesture { before, label }) = self.gesture.take() else { return };
        if before != self.document {
            self.history.push(label, &before, &self.document);
            // What was previewed may be half computed: now it is wanted in full and soon.
            self.request_analysis(Haste::StopRunning);
        }
    }

    /// Ends the gesture: everything is as it was before it.
    pub fn abort_gesture(&mut self) {
        let Some(Gesture { before, .. }) = self.gesture.take() else { return };
        if before != self.document {
            self.document = before;
            self.changed();
        }
    }

    /// Whether a gesture is under way.
    pub fn has_gesture(&self) -> bool {
        self.gesture.is_some()
    }

    /// The project before the gesture under way, else the project as it is.
    pub fn before_gesture(&self) -> &Arc<Project> {
        self.gesture.as_ref().map_or(&self.document, |gesture| &gesture.before)
    }

    /// Steps back, or takes back the gesture under way; the label of what was undone.
    pub fn undo(&mut self) -> Option<&'static str> {
        if let Some(gesture) = &self.gesture {
            let label = gesture.label;
            self.abort_gesture();
            return Some(label);
        }
        let label = self.history.undo(&mut self.document)?;
        self.changed();
        Some(label)
    }

    /// Steps forward again; the label of what was redone.
    pub fn redo(&mut self) -> Option<&'static str> {
        self.commit_gesture();
        let label = self.history.redo(&mut self.document)?;
        self.changed();
        Some(label)
    }

    /// Label of what [`Self::undo`] would take back.
    pub fn undo_label(&self) -> Option<&'static str> {
        self.gesture.as_ref().map(|gesture| gesture.label).or_else(|| self.history.undo_label())
    }

    /// Label of what [`Self::redo`] would repeat.
    pub fn redo_label(&self) -> Option<&'static str> {
        self.history.redo_label()
    }

    /// Number of undo steps.
    pub fn undo_len(&self) -> usize {
        self.history.undo_len()
    }

    /// Number of steps that were undone and can be redone.
    pub fn redo_len(&self) -> usize {
        self.history.redo_len()
    }

    /// What is selected, in ascending order.
    pub fn selection(&self) -> &BTreeSet<Id> {
        &self.selection
    }

    /// Selects these items only; ids that name nothing are passed over.
    pub fn select(&mut self, ids: impl IntoIterator<Item = Id>) {
        self.selection = ids.into_iter().collect();
        self.prune_selection();
    }

    /// Adds an item to the selection, or takes it out.
    pub fn toggle_selected(&mut self, id: Id) {
        if !self.selection.remove(&id) {
            self.selection.insert(id);
        }
        self.prune_selection();
    }

    /// An id that no item has had since the project was opened; the next call gives another.
    pub fn fresh_id(&mut self) -> Id {
        let id = Id(self.next_id.max(self.document.free_id().0));
        self.next_id = id.0.saturating_add(1);
        id
    }

    /// Takes in what the background thread has found; whether anything came.
    pub fn poll(&mut self) -> bool {
        let reports: Vec<Report> = self.background.poll().collect();
        let any = !reports.is_empty();
        reports.into_iter().for_each(|report| self.results.take(report));
        any
    }

    /// What is known about the project.
    pub fn results(&self) -> &Results {
        &self.results
    }

    /// How far the analysis of the project as it is now has come.
    pub fn progress(&self) -> Progress {
        let progress = self.results.progress(self.revision);
        if self.stopped == Some(self.revision) { progress.stopped() } else { progress }
    }

    /// Stops what is being computed of the project as it is now; the next change computes as ever.
    pub fn stop_computing(&mut self) {
        if self.progress().is_computing() {
            self.background.stop_all();
            self.stopped = Some(self.revision);
        }
    }

    /// Computes what was stopped.
    pub fn compute(&mut self) {
        if self.stopped.take() == Some(self.revision) {
            self.request_analysis(Haste::StopRunning);
        }
    }

    fn changed(&mut self) {
        let haste = if self.has_gesture() { Haste::FinishOpening } else { Haste::StopRunning };
        self.changed_in(haste);
    }

    fn changed_in(&mut self, haste: Haste) {
        let before = self.revision;
        self.revision += 1;
        self.prune_selection();
        // A word in a note or another name changes nothing that has been computed.
        let alike = self.analysed.computes_like(&self.document);
        self.analysed = Arc::clone(&self.document);
        if alike && self.results.progress(before) == Progress::Done {
            self.results.stand_for(before, self.revision);
            self.requested = self.revision;
            return;
        }
        self.request_analysis(haste);
    }

    fn prune_selection(&mut self) {
        self.selection.retain(|id| self.document.kind(*id).is_some());
    }

    fn request_analysis(&mut self, haste: Haste) {
        self.layout_at_once();
        if self.requested == self.revision && self.progress() == Progress::Done {
            return;
        }
        self.requested = self.revision;
        self.stopped = None;
        self.background.request(self.revision, &self.document, haste);
    }

    /// Computes the layout here and now while that is quick, so that gaps follow the pointer.
    fn layout_at_once(&mut self) {
        if self.layout_took > LAYOUT_AT_ONCE {
            // One slow moment, a cold start perhaps, is not held against it for ever.
            self.layout_took /= 2;
            return;
        }
        let start = Instant::now();
        match catch_unwind(AssertUnwindSafe(|| keepside_engine::layout(&self.document))) {
            Ok(layout) => self.results.set_layout(self.revision, Arc::new(layout)),
            Err(panic) => {
                let outcome = Err(panic_words(panic.as_ref()));
                self.results.take(Report { revision: self.revision, outcome });
            }
        }
        self.layout_took = start.elapsed();
    }
}

/// `project` after `edit`.
fn edited(project: &Project, edit: &Edit) -> Result<Project, EditError> {
    let mut next = project.clone();
    next.apply(edit)?;
    Ok(next)
}
