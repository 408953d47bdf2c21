//! What would be better: single changes, and layouts with few holes that reach what one asks for. Each can be
//! looked at on the plan before it is taken.

use std::sync::Arc;

use egui::{Button, DragValue, RichText, Ui};
use keepside_engine::NotComputed;
use keepside_engine::outline::{self, Outline};
use keepside_engine::suggest::{Found, Score, Search, Suggestion, Target};
use keepside_model::{Edit, Project, bounds};
use keepside_session::Session;

use super::bars::{Point, points_ui};
use super::{Searching, Subject, Suggesting, heading_ui, of_100, progress_ui, sentence_ui};
use crate::action::Action;
use crate::elevation::sentence;
use crate::look::Palette;
use crate::panels::length_ui;
use crate::units::Unit;
use crate::view::ViewState;

/// Changes that are told, at most.
const TOLD: usize = 8;

/// A layout that is looked at on the plan before it is taken.
#[derive(Clone, Debug)]
pub(crate) struct Preview {
    /// What it is called.
    pub(crate) words: String,
    /// The layout from which it is a change.
    pub(crate) base: Arc<Project>,
    /// The layout after it.
    pub(crate) project: Project,
    pub(crate) outline: Outline,
    edit: Edit,
}

impl PartialEq for Preview {
    fn eq(&self, other: &Self) -> bool {
        self.words == other.words && Arc::ptr_eq(&self.base, &other.base) && self.edit == other.edit
    }
}

impl Preview {
    fn new(base: &Arc<Project>, words: String, edit: &Edit) -> Option<Self> {
        let mut project = Project::clone(base);
        project.apply(edit).ok()?;
        let outline = outline::of(&project);
        Some(Self { words, base: Arc::clone(base), project, outline, edit: edit.clone() })
    }

    /// Whether it is a change of this layout.
    pub(crate) fn is_of(&self, project: &Arc<Project>) -> bool {
        Arc::ptr_eq(&self.base, project)
    }
}

/// The page.
pub(super) fn suggestions_ui(
    ui: &mut Ui,
    session: &Session,
    suggesting: &Suggesting,
    searching: &Searching,
    view: &mut ViewState,
) -> Vec<Action> {
    let mut actions = Vec::new();
    if view.shots.preview.as_ref().is_some_and(|preview| !preview.is_of(session.document())) {
        view.shots.preview = None;
    }
    actions.extend(taken_ui(ui, view));
    heading_ui(ui, "Single changes");
    actions.extend(progress_ui(ui, session, suggesting, Subject::Suggestions));
    match suggesting.known() {
        Some((Ok(found), _, is_fresh)) => {
            let words =
                format!("The layout as it is: {} of 100 shots end well", of_100(found.before.good.share));
            sentence_ui(ui, RichText::new(words).weak());
            if found.changes.is_empty() {
                ui.weak("No change was found worth weighing");
            }
            for change in found.changes.iter().take(TOLD) {
                change_ui(ui, session, view, change, keeps_any(&found.before), is_fresh);
            }
        }
        Some((Err(why), _, true)) if *why != NotComputed::Cancelled => {
            sentence_ui(ui, sentence(&why.to_string()));
        }
        _ => {}
    }
    heading_ui(ui, "The fewest holes that are enough");
    target_ui(ui, view);
    actions.extend(progress_ui(ui, session, searching, Subject::Search));
    match searching.known() {
        Some((Ok(search), _, is_fresh)) => search_ui(ui, session, view, search, is_fresh),
        Some((Err(why), _, true)) if *why != NotComputed::Cancelled => {
            sentence_ui(ui, sentence(&why.to_string()));
        }
        _ => {}
    }
    actions
}

/// What is being looked at, to be taken or left.
fn taken_ui(ui: &mut Ui, view: &mut ViewState) -> Option<Action> {
    let palette = Palette::of(ui);
    let Some(preview) = &view.shots.preview else {
        let words = "Choose a change or a layout: the plan shows it over yours before you take it";
        sentence_ui(ui, RichText::new(words).weak());
        return None;
    };
    let words = format!("On the plan: {}", preview.words);
    sentence_ui(ui, RichText::new(words).strong().color(palette.accent));
    let (is_taken, is_left) = ui
        .horizontal(|ui| {
            let take = ui.button("Take it").on_hover_text("One undo step");
            (take.clicked(), ui.button("Leave it").clicked())
        })
        .inner;
    if !is_taken && !is_left {
        return None;
    }
    let edits = view.shots.preview.take().map(|preview| vec![preview.edit]);
    edits.filter(|_| is_taken).map(|edits| Action::Edit(Edit::Several { label: "take suggestion", edits }))
}

/// A row that shows a layout on the plan when it is clicked.
fn choice_ui(ui: &mut Ui, session: &Session, view: &mut ViewState, words: &str, edit: &Edit, is_fresh: bool) {
    let is_shown = view.shots.preview.as_ref().is_some_and(|preview| preview.words == words);
    let button = Button::selectable(is_shown, words).wrap().frame_when_inactive(true);
    if ui.add_enabled(is_fresh, button).clicked() {
        show(session, view, words, edit, is_shown);
    }
}

/// Shows a layout on the plan, or no longer.
fn show(session: &Session, view: &mut ViewState, words: &str, edit: &Edit, is_shown: bool) {
    view.shots.preview = match is_shown {
        true => None,
        false => Preview::new(session.document(), words.to_owned(), edit),
    };
}

/// A change and what it does.
fn change_ui(
    ui: &mut Ui,
    session: &Session,
    view: &mut ViewState,
    change: &Suggestion,
    had_any: bool,
    is_fresh: bool,
) {
    let palette = Palette::of(ui);
    let unit = Unit::of(ui);
    let told = unit.in_words(&sentence(&change.words), session.document(), session.document().ids());
    choice_ui(ui, session, view, &told, &change.edit, is_fresh);
    let signed = |number: f64| {
        let sign = if number < 0.0 { "−" } else { "+" };
        format!("{sign}{:.0}", number.abs())
    };
    let (low, high) = change.gain_range;
    let ink = match (low > 0.0, high < 0.0) {
        (true, _) => palette.good,
        (_, true) => palette.fault,
        _ => palette.ink_soft,
    };
    let words = format!(
        "{} good of 100 ({} to {}): then {}",
        signed(100.0 * change.gain),
        signed(100.0 * low),
        signed(100.0 * high),
        of_100(change.after.good.share)
    );
    sentence_ui(ui, RichText::new(words).color(ink));
    let flatter = match change.flatter_mm {
        _ if !keeps_any(&change.after) => "no part stays on the moving half".to_owned(),
        _ if !had_any => format!("flat within {}", unit.length(change.after.flatness.nine_in_ten_mm)),
        by if by.abs() < 0.005 => "as flat as before".to_owned(),
        by if by > 0.0 => format!("flatter by {}", unit.length(by)),
        by => format!("less flat by {}", unit.length(-by)),
    };
    let holes = match change.holes {
        0 => "no hole more".to_owned(),
        1 => "one hole more".to_owned(),
        -1 => "one hole less".to_owned(),
        more if more > 0 => format!("{more} holes more"),
        fewer => format!("{} holes less", -fewer),
    };
    let strips = if change.after.strips { "" } else { "; the plastic does not bear being stripped" };
    sentence_ui(ui, RichText::new(format!("{flatter}, {holes}{strips}")).weak());
    ui.add_space(3.0);
}

/// What a layout must reach.
fn target_ui(ui: &mut Ui, view: &mut ViewState) {
    let Target { good, flatness_mm, strips } = &mut view.shots.target;
    ui.horizontal_wrapped(|ui| {
        let label = ui.label("Good shots of 100, at least");
        let mut percent = (100.0 * *good).round();
        let field =
            DragValue::new(&mut percent).range(1.0..=99.0).max_decimals(0).update_while_editing(false);
        if ui.add(field).labelled_by(label.id).changed() {
            *good = percent / 100.0;
        }
    });
    ui.horizontal_wrapped(|ui| {
        length_ui(ui, "Flat within, nine parts in ten", flatness_mm, bounds::LIMIT_LENGTH)
    });
    ui.checkbox(strips, "The plastic bears being stripped");
    ui.horizontal_wrapped(|ui| {
        let label = ui.label("Pins, at most");
        ui.add(DragValue::new(&mut view.shots.most).range(1..=12)).labelled_by(label.id);
    });
    let words = "Pins of the moving half that are not locked are laid out anew, of the screws on hand";
    sentence_ui(ui, RichText::new(words).weak());
}

/// The trade-off, as points to click and as a list.
fn search_ui(ui: &mut Ui, session: &Session, view: &mut ViewState, search: &Search, is_fresh: bool) {
    let unit = Unit::of(ui);
    let name = |found: &Found| holes_words(found.holes);
    match search.best() {
        Some(best) => {
            let sure = if search.is_exhaustive { "; none with fewer is enough" } else { "" };
            sentence_ui(ui, RichText::new(format!("{} are enough{sure}", name(best))).strong());
        }
        None => {
            ui.strong("None is enough so far");
        }
    }
    sentence_ui(ui, RichText::new(format!("{} layouts tried", search.layouts)).weak());
    let point = |found: &Found, value: f64| Point {
        at: (found.holes as f64, value),
        is_marked: found.is_enough,
        is_chosen: view.shots.preview.as_ref().is_some_and(|preview| preview.words == name(found)),
        name: name(found),
    };
    let good: Vec<Point> = search.found.iter().map(|of| point(of, 100.0 * of.score.good.share)).collect();
    let flat_mm = |score: &Score| if keeps_any(score) { score.flatness.nine_in_ten_mm } else { f64::NAN };
    let flat: Vec<Point> = search.found.iter().map(|of| point(of, flat_mm(&of.score))).collect();
    let target = view.shots.target;
    let clicked = points_ui(ui, "good of 100", &good, Some(100.0 * target.good), |good| format!("{good:.0}"));
    let clicked =
        clicked.or(points_ui(ui, "flat within", &flat, Some(target.flatness_mm), |mm| unit.short(mm)));
    if let Some(found) = clicked.filter(|_| is_fresh).and_then(|index| search.found.get(index)) {
        let is_shown = view.shots.preview.as_ref().is_some_and(|preview| preview.words == name(found));
        show(session, view, &name(found), &found.edit, is_shown);
    }
    for found in &search.found {
        choice_ui(ui, session, view, &name(found), &found.edit, is_fresh);
        let (low, high) = found.score.good.counted;
        let words = format!(
            "{} good of 100 ({} to {}), {}{}",
            of_100(found.score.good.share),
            of_100(low),
            of_100(high),
            if keeps_any(&found.score) {
                format!("flat within {}", unit.length(found.score.flatness.nine_in_ten_mm))
            } else {
                "no part stays on the moving half".to_owned()
            },
            if found.is_enough { ": enough" } else { "" }
        );
        sentence_ui(ui, RichText::new(words).weak());
    }
}

/// Whether the moving half keeps any part whole, so that there is a flatness to tell.
fn keeps_any(score: &Score) -> bool {
    score.flatness.nine_in_ten_mm > 0.0
}

fn holes_words(holes: usize) -> String {
    match holes {
        0 => "No pin".to_owned(),
        1 => "One pin".to_owned(),
        more => format!("{more} pins"),
    }
}
