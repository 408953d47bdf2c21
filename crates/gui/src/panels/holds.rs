//! The holds of the newest opening run: what each could pull, did pull, and how it ended.

use egui::{RichText, ScrollArea, Ui};
use keepside_engine::opening::{HoldOutcome, HoldState, What};
use keepside_model::Half;
use keepside_session::Session;

use super::energy::energy_ui;
use super::pull_off::{curve_link_ui, show_curve};
use crate::action::Action;
use crate::elevation::sentence;
use crate::look::Palette;
use crate::units::Unit;
use crate::view::ViewState;

/// How a hold ended, in words.
pub(crate) fn state_words(state: &HoldState, unit: Unit) -> String {
    match state {
        HoldState::Holding => "holds".to_owned(),
        HoldState::PartlyHolding { share } => format!("holds over {:.0} %", 100.0 * share),
        HoldState::LetGo { opening_mm } => format!("let go at {} opening", unit.length(*opening_mm)),
        HoldState::Broke { opening_mm } => format!("broke at {} opening", unit.length(*opening_mm)),
    }
}

/// The room under the part when a hold of the fixed half lets it go on purpose, in words.
pub(crate) fn gap_words(hold: &HoldOutcome, unit: Unit) -> Option<String> {
    let gap_mm = hold.clear_gap_mm?;
    let opening_mm = match hold.state {
        HoldState::LetGo { opening_mm } | HoldState::Broke { opening_mm } => opening_mm,
        HoldState::Holding | HoldState::PartlyHolding { .. } => return None,
    };
    let (opening, gap) = (unit.length(opening_mm), unit.length(gap_mm));
    Some(format!("lets go at {opening} opening; clear gap under the part {gap}"))
}

/// Where the remains of a hold that broke are, and what that means for the next shot.
pub(crate) fn remains_words(hold: &HoldOutcome) -> Option<&'static str> {
    if !matches!(hold.state, HoldState::Broke { .. }) {
        return None;
    }
    match (hold.name.what, hold.name.half) {
        (What::Sprue(_), _) => Some("its plug stays in its bore until the next shot pushes it out"),
        (What::Feature(_), _) if hold.governed_by.ends_with("tear") => {
            Some("the channel beside it gives way, and the part is cut there")
        }
        (What::Feature(_), Half::Fixed) => {
            Some("what broke off stays in the fixed half and must be picked out")
        }
        (What::Feature(_), Half::Moving) => {
            Some("what broke off stays in the moving half, and the feature no longer keys")
        }
        (What::Ejector(_), _) => Some("what broke off stays in its grooves, and the ejector no longer keys"),
        _ => None,
    }
}

/// The table.
pub(crate) fn holds_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
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
    let (palette, unit) = (Palette::of(ui), Unit::of(ui));
    let fresh = session.progress().has_verdict();
    ScrollArea::vertical().id_salt("holds").auto_shrink([false, false]).show(ui, |ui| {
        for hold in &opening.holds {
            let ink = if fresh { palette.half(hold.name.half) } else { palette.ink_soft };
            let name = RichText::new(sentence(&hold.name.words(session.document()))).color(ink).strong();
            ui.horizontal_wrapped(|ui| {
                let name = ui.add(egui::Label::new(name).sense(egui::Sense::click()));
                if name.on_hover_cursor(egui::CursorIcon::PointingHand).clicked() {
                    actions.extend(shown(hold).or_else(|| show_curve(view, session, hold.name.what)));
                }
                if session.results().deciding() == Some(hold.name) {
                    ui.label(RichText::new("decides").italics());
                }
                actions.extend(curve_link_ui(ui, session, view, hold.name.what, "Pull-off curve"));
            });
            ui.label(gap_words(hold, unit).unwrap_or_else(|| state_words(&hold.state, unit)));
            if let Some(words) = remains_words(hold) {
                let dead = hold.name.half == Half::Moving && !matches!(hold.name.what, What::Sprue(_));
                let ink = if fresh && dead { palette.fault } else { palette.ink_soft };
                ui.colored_label(ink, words);
            }
            let (travel, let_go) = (unit.length(hold.travel_mm), unit.length(hold.let_go_travel_mm));
            let mut facts = vec![
                format!("pulled at most {:.1} N of {:.1} N", hold.peak_n, hold.capacity_n),
                format!("travelled {travel} of {let_go}"),
            ];
            if hold.work_mj >= 0.05 {
                facts.push(format!("took {:.1} mJ", hold.work_mj));
            }
            // Each fact stays whole where not all fit on one line.
            ui.horizontal_wrapped(|ui| {
                ui.spacing_mut().item_spacing.x = 12.0;
                for fact in facts {
                    ui.add(egui::Label::new(fact).extend());
                }
            });
            ui.add_space(4.0);
        }
        ui.separator();
        energy_ui(ui, &opening.energy);
    });
    actions
}

fn shown(hold: &HoldOutcome) -> Option<Action> {
    hold.name.what.item().map(|id| Action::Show(vec![id], None))
}

#[cfg(test)]
mod tests {
    use super::*;
    use keepside_engine::opening::HoldName;
    use keepside_model::Id;

    fn hold(half: Half, what: What, state: HoldState) -> HoldOutcome {
        HoldOutcome {
            name: HoldName { half, what },
            on: None,
            capacity_n: 10.0,
            let_go_travel_mm: 1.0,
            peak_n: 10.0,
            travel_mm: 1.0,
            work_mj: 5.0,
            state,
            curve: Vec::new(),
            clear_gap_mm: None,
            governed_by: "shear",
        }
    }

    #[test]
    fn a_late_hold_of_the_fixed_half_tells_the_room_under_the_part() {
        let mut late = hold(Half::Fixed, What::Feature(Id(4)), HoldState::LetGo { opening_mm: 7.25 });
        assert_eq!(gap_words(&late, Unit::Millimetre), None);
        late.clear_gap_mm = Some(3.5);
        let words = "lets go at 7.25 mm opening; clear gap under the part 3.50 mm";
        assert_eq!(gap_words(&late, Unit::Millimetre).as_deref(), Some(words));
        let words = "lets go at 0.2854 in opening; clear gap under the part 0.1378 in";
        assert_eq!(gap_words(&late, Unit::Inch).as_deref(), Some(words));
    }

    #[test]
    fn remains_in_the_moving_half_are_told_from_a_plug_that_the_next_shot_pushes_out() {
        let broke = HoldState::Broke { opening_mm: 1.0 };
        let words = |half, what| remains_words(&hold(half, what, broke)).unwrap();
        for half in [Half::Fixed, Half::Moving] {
            assert!(words(half, What::Sprue(Id(2))).ends_with("until the next shot pushes it out"));
        }
        assert!(words(Half::Fixed, What::Feature(Id(3))).ends_with("must be picked out"));
        assert!(words(Half::Moving, What::Feature(Id(3))).ends_with("no longer keys"));
        assert_eq!(remains_words(&hold(Half::Moving, What::Edge, broke)), None);
        assert_eq!(remains_words(&hold(Half::Moving, What::Tack, HoldState::Holding)), None);
    }
}
