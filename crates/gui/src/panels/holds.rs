//! The holds of the newest opening run: what each could pull, did pull, and how it ended.

use egui::{RichText, ScrollArea, Ui};
use keepside_engine::opening::{HoldOutcome, HoldState};
use keepside_session::{Progress, Session};

use crate::action::Action;
use crate::elevation::sentence;
use crate::look::Palette;

/// How a hold ended, in words.
pub(crate) fn state_words(state: &HoldState) -> String {
    match state {
        HoldState::Holding => "holds".to_owned(),
        HoldState::PartlyHolding { share } => format!("holds over {:.0} %", 100.0 * share),
        HoldState::LetGo { opening_mm } => format!("let go at {opening_mm:.2} mm"),
        HoldState::Broke { opening_mm } => format!("broke at {opening_mm:.2} mm"),
    }
}

/// The table.
pub(crate) fn holds_ui(ui: &mut Ui, session: &Session) -> Vec<Action> {
    let mut actions = Vec::new();
    let opening = match session.results().opening() {
        Some(Ok(opening)) => opening,
        Some(Err(reason)) => {
            ui.label(sentence(&reason.to_string()));
            return actions;
        }
        None => {
            ui.weak("Computing…");
            return actions;
        }
    };
    let palette = Palette::of(ui);
    let fresh = session.progress() != Progress::ComputingOpening;
    ScrollArea::both().id_salt("holds").auto_shrink([false, false]).show(ui, |ui| {
        egui::Grid::new("holds table").num_columns(5).striped(true).spacing([12.0, 4.0]).show(ui, |ui| {
            for title in ["Hold", "can pull", "did pull", "travel", "in the end"] {
                ui.weak(title);
            }
            ui.end_row();
            for (index, hold) in opening.holds.iter().enumerate() {
                let ink = if fresh { palette.half(hold.name.half) } else { palette.ink_soft };
                let mut name = RichText::new(sentence(&hold.name.words(session.document()))).color(ink);
                if opening.verdict.deciding == Some(index) {
                    name = name.strong().underline();
                }
                let name = ui.add(egui::Label::new(name).sense(egui::Sense::click()));
                if name.clicked() {
                    actions.extend(shown(hold));
                }
                ui.label(format!("{:.1} N", hold.capacity_n));
                ui.label(format!("{:.1} N", hold.peak_n));
                ui.label(format!("{:.2} of {:.2} mm", hold.travel_mm, hold.let_go_travel_mm));
                ui.label(state_words(&hold.state));
                ui.end_row();
            }
        });
    });
    actions
}

fn shown(hold: &HoldOutcome) -> Option<Action> {
    hold.name.what.item().map(|id| Action::Show(vec![id], None))
}
