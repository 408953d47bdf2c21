//! Shots: how often they end well, what trials showed, what that teaches, and what would be better.
//!
//! One panel with four pages. In a wide window it stands at the left of the plan, in a narrow one in the place
//! of the panel at the right.

mod bars;
mod chances;
mod learning;
pub(crate) mod log;
pub(crate) mod pieces;
mod spreads;
mod suggestions;
mod tally;
mod trial_form;
mod trials;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use egui::{RichText, Ui};
use keepside_engine::NotComputed;
use keepside_engine::chances::{Chances, Plan, chances as chances_of};
use keepside_engine::learning::{Advice, Learned, advise, learn};
use keepside_engine::suggest::{Search, Suggestions, Target, pins_on_hand, search, sites, suggest};
use keepside_model::{Calibration, Project};
use keepside_session::{Progress, Session, Stage, Study, StudyState, study_threads};
use keepside_store::{Experience, Shelf, ShelfError};

use crate::action::{Action, Command};
use crate::look::Palette;
use crate::view::ViewState;

use learning::has_lesson;
use suggestions::Preview;
pub(crate) use trial_form::{kept_words, piece_words};

/// In a narrower window the panel stands in the place of another, points.
pub(crate) const WIDE_PX: f32 = 1000.0;

/// Shots of each set of medians: what scatters can then be told from what is not known.
const SHOTS_EACH: usize = 8;

/// Sets of medians that can be chosen, and in how many words that is told.
const SETS: [usize; 4] = [50, 250, 1000, 4000];

/// A page of the panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Page {
    /// How often a shot ends well.
    Chances,
    /// The log of trial shots.
    Trials,
    /// What the log teaches.
    Learning,
    /// What would be better.
    Suggestions,
}

impl Page {
    /// All of them.
    pub(crate) const ALL: [Self; 4] = [Self::Chances, Self::Trials, Self::Learning, Self::Suggestions];

    /// Its name.
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::Chances => "Chances",
            Self::Trials => "Trial log",
            Self::Learning => "Learning",
            Self::Suggestions => "Suggestions",
        }
    }
}

/// What the panel shows and how.
#[derive(Clone, Debug, PartialEq)]
pub struct ShotsView {
    /// The page that is open.
    pub page: Option<Page>,
    /// Names the numbers drawn by chance.
    pub seed: u64,
    /// Sets of medians; there are eight shots of each.
    pub sets: usize,
    /// The trial that is chosen, by its place in the log.
    pub trial: Option<usize>,
    /// Undo steps right after a trial was added.
    pub(crate) fresh: Option<usize>,
    /// Whether trials of other layouts are counted as well.
    pub(crate) counts_all: bool,
    /// Share of good shots that one wants to be sure of, per cent.
    pub(crate) wanted: u8,
    /// What a layout must reach, and the most pins it may have.
    pub(crate) target: Target,
    pub(crate) most: usize,
    /// A layout that shows on the plan before it is taken.
    pub(crate) preview: Option<Preview>,
}

impl Default for ShotsView {
    fn default() -> Self {
        let Plan { seed, medians: sets, .. } = Plan::default();
        Self {
            page: None,
            seed,
            sets,
            trial: None,
            fresh: None,
            counts_all: false,
            wanted: 95,
            target: Target { good: 0.9, flatness_mm: 2.0, strips: true },
            most: 4,
            preview: None,
        }
    }
}

impl ShotsView {
    /// How many shots, and by what chance.
    pub(crate) fn plan(&self) -> Plan {
        Plan { seed: self.seed, medians: self.sets, shots_each: SHOTS_EACH, threads: study_threads() }
    }
}

/// Something that is computed of many shots.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// The chances of the open layout.
    Chances,
    /// What the trial log teaches.
    Learning,
    /// Single changes that would be better.
    Suggestions,
    /// Layouts with few holes.
    Search,
}

impl Subject {
    /// The button that begins it, and the one that stops it.
    const fn buttons(self) -> (&'static str, &'static str) {
        match self {
            Self::Chances => ("Shoot again", "Stop shooting"),
            Self::Learning => ("Learn again", "Stop learning"),
            Self::Suggestions => ("Weigh changes", "Stop weighing"),
            Self::Search => ("Look for layouts", "Stop looking"),
        }
    }
}

/// Shots by which a single change is weighed in the end.
const WEIGHED_BY: usize = 250;

/// Shots by which a layout is weighed, of the many that a search tries; and sorts of pins that it tries.
const SEARCHED_BY: usize = 64;
const SORTS: usize = 3;

type Chancing = Study<Result<Chances, NotComputed>, Plan>;
/// What was learned, and what to shoot next once that is known.
type Learning = Study<Result<(Learned, Option<Vec<Advice>>), NotComputed>, Plan>;
type Suggesting = Study<Result<Suggestions, NotComputed>, Plan>;
type Searching = Study<Result<Search, NotComputed>, (Plan, Target, usize)>;

/// What is computed of many shots, on threads of its own; and what was learned for all projects.
#[derive(Debug)]
pub(crate) struct Studies {
    chances: Chancing,
    learning: Learning,
    suggestions: Suggesting,
    search: Searching,
    /// Folder for what was learned.
    config: Option<PathBuf>,
    kept: Vec<Experience>,
}

impl Studies {
    pub(crate) fn new(ctx: &egui::Context) -> Self {
        let wake = || {
            let waker = ctx.clone();
            move || waker.request_repaint()
        };
        let chances = Study::new("chances", shoots_like, wake(), |project, plan: &Plan, cancel, tell| {
            let told = chances_of(project, *plan, cancel, &mut |chances| {
                tell(Stage::Shots(chances.shots.0, chances.shots.1));
                tell(Stage::Known(Ok(chances.clone())));
            });
            if let Err(why) = told {
                tell(Stage::Known(Err(why)));
            }
        });
        let learning = Study::new("learning", learns_like, wake(), |project, plan: &Plan, cancel, tell| {
            let told = learn(project, *plan, cancel, &mut |(done, whole)| tell(Stage::Shots(done, whole)));
            let learned = match told {
                Ok(learned) => learned,
                Err(why) => return tell(Stage::Known(Err(why))),
            };
            tell(Stage::Known(Ok((learned.clone(), None))));
            let advice = advise(project, &learned, *plan, cancel, &mut |(done, whole)| {
                tell(Stage::Shots(done, whole));
            });
            if let Ok(advice) = advice {
                tell(Stage::Known(Ok((learned, Some(advice)))));
            }
        });
        let suggestions =
            Study::new("suggestions", weighs_like, wake(), |project, plan: &Plan, cancel, tell| {
                let told =
                    suggest(project, *plan, cancel, &mut |(done, whole)| tell(Stage::Shots(done, whole)));
                tell(Stage::Known(told));
            });
        let search = Study::new(
            "search",
            weighs_like,
            wake(),
            |project, how: &(Plan, Target, usize), cancel, tell| {
                let (plan, target, most) = *how;
                let mut pins = pins_on_hand(project);
                pins.truncate(SORTS);
                let told =
                    search(project, target, &sites(project), &pins, most, plan, cancel, &mut |search| {
                        tell(Stage::Known(Ok(search.clone())));
                    });
                tell(Stage::Known(told));
            },
        );
        Self { chances, learning, suggestions, search, config: None, kept: Vec::new() }
    }

    /// Reads what was learned for all projects.
    ///
    /// # Errors
    ///
    /// If there is a file that cannot be understood.
    pub(crate) fn load(&mut self, config: Option<&Path>) -> Result<(), ShelfError> {
        self.config = config.map(Path::to_owned);
        if let Some(folder) = config {
            self.kept = Shelf::load(folder)?.kept().to_vec();
        }
        Ok(())
    }

    /// Keeps what was learned for all projects; the name it is kept under.
    pub(crate) fn keep(&mut self, learned: Calibration) -> Result<String, String> {
        let one = Experience::of(learned);
        let name = one.name.clone();
        self.change(|folder| Shelf::keep(folder, one))?;
        Ok(name)
    }

    /// Forgets what is kept under a name.
    pub(crate) fn forget_kept(&mut self, name: &str) -> Result<(), String> {
        self.change(|folder| Shelf::forget(folder, name))
    }

    fn change(
        &mut self,
        change: impl FnOnce(&Path) -> Result<Shelf<Experience>, ShelfError>,
    ) -> Result<(), String> {
        let Some(folder) = &self.config else {
            return Err("there is no settings folder to keep it in".to_owned());
        };
        self.kept = change(folder).map_err(|error| error.to_string())?.kept().to_vec();
        Ok(())
    }

    /// Takes in what has come, and begins what the open page wants: once the opening itself is computed, so
    /// that neither takes the other's time.
    pub(crate) fn follow(&mut self, session: &Session, view: &ShotsView) {
        self.chances.poll();
        self.learning.poll();
        self.suggestions.poll();
        self.search.poll();
        let is_free = matches!(session.progress(), Progress::Done) && !session.has_gesture();
        let project = session.document();
        let wants = |page| is_free && view.page == Some(page);
        let plan = view.plan();
        self.chances.follow(project, plan, wants(Page::Chances));
        self.learning.follow(project, plan, wants(Page::Learning) && has_lesson(project));
        let weighing = Plan { medians: WEIGHED_BY.min(plan.shots()), shots_each: 1, ..plan };
        self.suggestions.follow(project, weighing, wants(Page::Suggestions));
        let searching = Plan { medians: SEARCHED_BY.min(plan.shots()), ..weighing };
        // This takes longest: only if it is asked for.
        self.search.follow(project, (searching, view.target, view.most), false);
    }

    pub(crate) fn stop(&mut self, subject: Subject) {
        match subject {
            Subject::Chances => self.chances.stop(),
            Subject::Learning => self.learning.stop(),
            Subject::Suggestions => self.suggestions.stop(),
            Subject::Search => self.search.stop(),
        }
    }

    pub(crate) fn start(&mut self, subject: Subject) {
        match subject {
            Subject::Chances => self.chances.start(),
            Subject::Learning => self.learning.start(),
            Subject::Suggestions => self.suggestions.start(),
            Subject::Search => self.search.start(),
        }
    }

    /// Forgets everything about a project: another has been opened.
    pub(crate) fn forget(&mut self) {
        self.chances.forget();
        self.learning.forget();
        self.suggestions.forget();
        self.search.forget();
    }

    /// Whether something is being computed.
    pub(crate) fn is_running(&self) -> bool {
        self.chances.is_running()
            || self.learning.is_running()
            || self.suggestions.is_running()
            || self.search.is_running()
    }
}

/// Whether two states of a project have the same chances.
fn shoots_like(a: &Project, b: &Project) -> bool {
    a.computes_like(b) && a.scatter == b.scatter
}

/// Whether they teach the same.
fn learns_like(a: &Project, b: &Project) -> bool {
    shoots_like(a, b) && a.trials == b.trials && a.variants == b.variants
}

/// Whether the same changes would be better.
fn weighs_like(a: &Project, b: &Project) -> bool {
    shoots_like(a, b) && a.locked == b.locked
}

/// The panel.
pub(crate) fn shots_ui(
    ui: &mut Ui,
    session: &Session,
    studies: &Studies,
    view: &mut ViewState,
) -> Vec<Action> {
    let mut actions = Vec::new();
    let Some(page) = view.shots.page else { return actions };
    ui.add_space(6.0);
    ui.horizontal(|ui| {
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            let close = ui.small_button("×").on_hover_text("Close the panel");
            close.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, "Close shots"));
            if close.clicked() {
                actions.push(Action::Command(Command::CloseShots));
            }
            ui.with_layout(egui::Layout::left_to_right(egui::Align::Center).with_main_wrap(true), |ui| {
                ui.spacing_mut().item_spacing.x = 1.0;
                ui.spacing_mut().button_padding.x = 6.0;
                for other in Page::ALL {
                    if ui.selectable_label(page == other, other.name()).clicked() {
                        view.shots.page = Some(other);
                    }
                }
            });
        });
    });
    ui.add_space(4.0);
    egui::ScrollArea::vertical().id_salt(("shots", page.name())).auto_shrink([false, false]).show(ui, |ui| {
        actions.extend(match page {
            Page::Chances => chances::chances_ui(ui, session, &studies.chances, view),
            Page::Trials => trials::trials_ui(ui, session, view),
            Page::Learning => learning::learning_ui(ui, session, &studies.learning, &studies.kept),
            Page::Suggestions => {
                suggestions::suggestions_ui(ui, session, &studies.suggestions, &studies.search, view)
            }
        });
    });
    actions
}

/// How far a study has come, and a button to stop it or to begin it.
fn progress_ui<T: Send + 'static, P: Clone + PartialEq + Send + 'static>(
    ui: &mut Ui,
    session: &Session,
    study: &Study<T, P>,
    subject: Subject,
) -> Option<Action> {
    let palette = Palette::of(ui);
    let (done, whole) = study.shots();
    let (start, stop) = subject.buttons();
    let mut action = None;
    ui.horizontal_wrapped(|ui| {
        let (button, words) = match study.state() {
            StudyState::Running if whole == 0 => (Some(stop), "Computing…".to_owned()),
            StudyState::Running => (Some(stop), format!("{done} of {whole} shots computed…")),
            StudyState::Stopped if done == 0 => (Some(start), "Stopped".to_owned()),
            StudyState::Stopped => (Some(start), format!("Stopped after {done} shots")),
            StudyState::Done if whole == 0 => (None, String::new()),
            StudyState::Done => (None, format!("{whole} shots computed")),
            StudyState::Waiting if subject == Subject::Search => (Some(start), String::new()),
            StudyState::Waiting => (None, waiting_words(session).to_owned()),
            StudyState::Failed(words) => {
                let words = format!("Internal error: {words}. Please report this");
                (Some(start), words)
            }
        };
        let failed = matches!(study.state(), StudyState::Failed(_));
        if !words.is_empty() {
            ui.label(RichText::new(words).color(if failed { palette.fault } else { palette.ink_soft }));
        }
        if let Some(name) = button
            && ui.button(name).clicked()
        {
            let command =
                if study.is_running() { Command::StopStudy(subject) } else { Command::StartStudy(subject) };
            action = Some(Action::Command(command));
        }
    });
    if study.is_running() && whole > 0 {
        #[expect(clippy::cast_possible_truncation, reason = "a share of a bar")]
        let share = (done as f64 / whole as f64) as f32;
        ui.add(egui::ProgressBar::new(share).desired_height(4.0));
    }
    action
}

/// Why nothing is being computed yet.
fn waiting_words(session: &Session) -> &'static str {
    match session.progress() {
        Progress::Done => "Nothing computed yet",
        Progress::Failed => "The opening could not be computed",
        progress if progress.is_computing() => "Begins when the opening is computed",
        _ => "Stopped: begins when the opening is computed",
    }
}

/// Of so many in a hundred, as told: never 0 or 100 if it is not.
fn of_100(share: f64) -> String {
    let rounded = (100.0 * share).round();
    if share > 0.0 && rounded < 1.0 {
        "less than 1".to_owned()
    } else if share < 1.0 && rounded > 99.0 {
        "over 99".to_owned()
    } else {
        format!("{rounded:.0}")
    }
}

/// A sentence in the width that there is.
fn sentence_ui(ui: &mut Ui, words: impl Into<RichText>) -> egui::Response {
    ui.add(egui::Label::new(words.into()).wrap())
}

/// A heading.
fn heading_ui(ui: &mut Ui, words: &str) {
    ui.add_space(8.0);
    ui.label(RichText::new(words).strong());
}

/// The project that numbers are about, to name its items by.
type Named<'a> = &'a Arc<Project>;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_sure_is_not_told_as_sure() {
        let told = [0.0, 0.002, 0.006, 0.834, 0.993, 0.998, 1.0].map(of_100);
        assert_eq!(told, ["0", "less than 1", "1", "83", "99", "over 99", "100"]);
    }
}
