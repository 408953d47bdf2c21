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
        HoldState::LetGo { opening_mm } => format!("let go at {opening_mm:.2} mm opening"),
        HoldState::Broke { opening_mm } => format!("broke at {opening_mm:.2} mm opening"),
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
    ScrollArea::vertical().id_salt("holds").auto_shrink([false, false]).show(ui, |ui| {
        for hold in &opening.holds {
            let ink = if fresh { palette.half(hold.name.half) } else { palette.ink_soft };
            let name = RichText::new(sentence(&hold.name.words(session.document()))).color(ink).strong();
            ui.horizontal(|ui| {
                let name = ui.add(egui::Label::new(name).sense(egui::Sense::click()));
                if name.on_hover_cursor(egui::CursorIcon::PointingHand).clicked() {
                    actions.extend(shown(hold));
                }
                if session.results().deciding() == Some(hold.name) {
                    ui.label(RichText::new("decides").italics());
                }
            });
            ui.label(state_words(&hold.state));
            // Each fact stays whole where both do not fit on one line.
            ui.horizontal_wrapped(|ui| {
                let pulled = format!("pulled at most {:.1} N of {:.1} N,", hold.peak_n, hold.capacity_n);
                ui.add(egui::Label::new(pulled).extend());
                let (travel, let_go) = (hold.travel_mm, hold.let_go_travel_mm);
                let travelled = format!("travelled {travel:.2} mm of {let_go:.2} mm");
                ui.add(egui::Label::new(travelled).extend());
            });
            ui.add_space(4.0);
        }
    });
    actions
}

fn shown(hold: &HoldOutcome) -> Option<Action> {
    hold.name.what.item().map(|id| Action::Show(vec![id], None))
}
