//! Shots: how often they end well, what trials showed, what that teaches, and what would be better.
//!
//! One panel with four pages. In a wide window it stands at the left of the plan, in a narrow one in the place
//! of the panel at the right.

mod bars;
mod chances;
pub(crate) mod log;
pub(crate) mod pieces;
mod spreads;
mod tally;
mod trial_form;
mod trials;

use std::sync::Arc;

use egui::{RichText, Ui};
use keepside_engine::NotComputed;
use keepside_engine::chances::{Chances, Plan};
use keepside_model::Project;
use keepside_session::{Progress, Session, Stage, Study, StudyState, study_threads};

use crate::action::{Action, Command};
use crate::look::Palette;
use crate::view::ViewState;

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
}

impl Page {
    /// All of them.
    pub(crate) const ALL: [Self; 2] = [Self::Chances, Self::Trials];

    /// Its name.
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::Chances => "Chances",
            Self::Trials => "Trial log",
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
}

impl Default for ShotsView {
    fn default() -> Self {
        let Plan { seed, medians: sets, .. } = Plan::default();
        Self { page: None, seed, sets, trial: None, fresh: None, counts_all: false, wanted: 95 }
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
}

/// What is computed of many shots, on threads of its own.
#[derive(Debug)]
pub(crate) struct Studies {
    pub(crate) chances: Study<Result<Chances, NotComputed>>,
}

impl Studies {
    pub(crate) fn new(ctx: &egui::Context) -> Self {
        let waker = ctx.clone();
        let chances = Study::new(
            "chances",
            shoots_like,
            move || waker.request_repaint(),
            |project, plan, cancel, tell| {
                let told = keepside_engine::chances::chances(project, plan, cancel, &mut |chances| {
                    tell(Stage::Known(Ok(chances.clone())));
                });
                if let Err(why) = told {
                    tell(Stage::Known(Err(why)));
                }
            },
        );
        Self { chances }
    }

    /// Takes in what has come, and begins what the open page wants: once the opening itself is computed, so
    /// that neither takes the other's time.
    pub(crate) fn follow(&mut self, session: &Session, view: &ShotsView) {
        self.chances.poll();
        let is_free = matches!(session.progress(), Progress::Done) && !session.has_gesture();
        let project = session.document();
        self.chances.follow(project, view.plan(), is_free && view.page == Some(Page::Chances));
    }

    pub(crate) fn stop(&mut self, subject: Subject) {
        match subject {
            Subject::Chances => self.chances.stop(),
        }
    }

    pub(crate) fn start(&mut self, subject: Subject) {
        match subject {
            Subject::Chances => self.chances.start(),
        }
    }

    /// Forgets everything: another project has been opened.
    pub(crate) fn forget(&mut self) {
        self.chances.forget();
    }

    /// Whether something is being computed.
    pub(crate) fn is_running(&self) -> bool {
        self.chances.is_running()
    }
}

/// Whether two states of a project have the same chances.
fn shoots_like(a: &Project, b: &Project) -> bool {
    a.computes_like(b) && a.scatter == b.scatter
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
        });
    });
    actions
}

/// How far a study has come, and a button to stop it or to begin it.
fn progress_ui<T: Send + 'static>(
    ui: &mut Ui,
    session: &Session,
    study: &Study<T>,
    (done, whole): (usize, usize),
    subject: Subject,
) -> Option<Action> {
    let palette = Palette::of(ui);
    let mut action = None;
    ui.horizontal_wrapped(|ui| {
        let (button, words) = match study.state() {
            StudyState::Running => (Some("Stop shooting"), format!("{done} of {whole} shots computed…")),
            StudyState::Stopped => (Some("Shoot again"), format!("Stopped after {done} shots")),
            StudyState::Done => (None, format!("{whole} shots computed")),
            StudyState::Waiting => (None, waiting_words(session).to_owned()),
            StudyState::Failed(words) => {
                let words = format!("Internal error: {words}. Please report this");
                (Some("Shoot again"), words)
            }
        };
        let failed = matches!(study.state(), StudyState::Failed(_));
        ui.label(RichText::new(words).color(if failed { palette.fault } else { palette.ink_soft }));
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
