//! The upper right panel: the selected item as numbers, or the whole project if nothing is selected.

use egui::{RichText, ScrollArea, Ui};
use keepside_engine::opening::HoldState;
use keepside_engine::outline::GapTo;
use keepside_model::{Edit, HoleUse, Id, Item, Project};
use keepside_session::Session;

use super::feature_fields;
use super::fields::Fields;
use super::holds::{gap_words, remains_words, state_words};
use super::item_fields;
use super::pull_off::{curve_link_ui, subject};
use super::several_fields::{channel_ui, locked_ui};
use super::vent_facts::vent_facts;
use crate::action::{Action, Command};
use crate::elevation::sentence;
use crate::look::Palette;
use crate::plan::hold_of;
use crate::units::Unit;
use crate::view::{Strip, ViewState};

/// So many of the items selected are listed.
const LISTED: usize = 60;

/// The panel.
pub(crate) fn inspector_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
    let mut actions = Vec::new();
    let selected: Vec<Id> = session.selection().iter().copied().collect();
    // What is shown anew is shown from its beginning, and where it was left when one comes back to it.
    let shown = (selected.len().min(2), selected.first().filter(|_| selected.len() == 1));
    ScrollArea::vertical().id_salt(("inspector", shown)).auto_shrink([false, false]).show(ui, |ui| {
        match selected[..] {
            [] => {
                heading(ui, "Project");
                actions.extend(super::project_fields::project_ui(ui, session, view));
            }
            [id] => actions.extend(item_ui(ui, session, view, id)),
            _ => {
                heading(ui, &format!("{} items", selected.len()));
                for &id in selected.iter().take(LISTED) {
                    if ui.link(session.document().title(id)).clicked() {
                        actions.push(Action::Select(vec![id]));
                    }
                }
                if selected.len() > LISTED {
                    ui.weak(format!("and {} more", selected.len() - LISTED));
                }
                ui.add_space(6.0);
                locked_ui(ui, session, &mut actions);
                actions.extend(channel_ui(ui, session, &selected));
                ui.weak("Drag one to move them all, or nudge them with the arrow keys");
                delete_button(ui, &mut actions);
            }
        }
    });
    actions
}

pub(super) fn heading(ui: &mut Ui, words: &str) {
    ui.label(RichText::new(words).strong().size(15.0));
    ui.add_space(2.0);
}

fn delete_button(ui: &mut Ui, actions: &mut Vec<Action>) {
    ui.add_space(6.0);
    if ui.button("Delete").on_hover_text("Del").clicked() {
        actions.push(Action::Command(Command::Delete));
    }
}

fn item_ui(ui: &mut Ui, session: &Session, view: &mut ViewState, id: Id) -> Vec<Action> {
    let project = session.document();
    let Some(mut item) = project.item(id) else { return Vec::new() };
    heading(ui, &what_it_is(project, &item, id));
    let mut actions = Vec::new();
    locked_ui(ui, session, &mut actions);
    actions.extend(channel_ui(ui, session, &[id]));
    // Fields of another item are other fields: a text half typed does not wander.
    let change = Fields::show(ui, id.0, |fields| item_fields::item(fields, project, id, &mut item));
    actions.extend(change.actions(|| Edit::Set(id, item)));
    if project.features.contains_key(&id) {
        ui.separator();
        let palette = Palette::of(ui);
        Fields::show(ui, (id.0, "mount"), |fields| {
            feature_fields::mount_facts(fields, palette, project, id);
        });
    }
    if let Some(vent) = project.vents.get(&id) {
        ui.separator();
        Fields::show(ui, (id.0, "vent"), |fields| vent_facts(fields, session, id, vent));
    }
    if let Some(hold) = hold_of(session, id) {
        ui.separator();
        let unit = Unit::of(ui);
        Fields::show(ui, (id.0, "hold"), |fields| {
            fields.fact("Can pull", &format!("{:.1} N", hold.capacity_n));
            fields.fact("Limited by", hold.governed_by);
            fields.fact("Lets go after", &unit.length(hold.let_go_travel_mm));
            fields.fact("Did pull", &format!("{:.1} N", hold.peak_n));
            fields.fact("Travelled", &unit.length(hold.travel_mm));
            fields.fact("In the end", &state_words(&hold.state, unit));
            if let HoldState::LetGo { .. } | HoldState::Broke { .. } = hold.state {
                fields.fact("Work taken", &format!("{:.1} mJ", hold.work_mj));
            }
        });
        for words in [gap_words(hold, unit), remains_words(hold).map(str::to_owned)].into_iter().flatten() {
            ui.label(sentence(&words));
        }
    }
    if crate::section::subject(session) == Some(id) && ui.link("Show section").clicked() {
        view.strip = Strip::Section;
        view.section_at = None;
    }
    if let Some(what) = subject::of_item(project, id) {
        actions.extend(curve_link_ui(ui, session, view, what, "Pull-off curve"));
    }
    clearances_ui(ui, session, id);
    if let Some(Ok(opening)) = session.results().opening()
        && let Some(bump) = opening.bumps.iter().find(|bump| bump.item == id)
    {
        let (height, kink_deg) = (Unit::of(ui).length(bump.height_mm), hundredths(bump.kink_deg));
        ui.label(format!("Bump left {height}, kink {kink_deg:.1}°"));
    }
    delete_button(ui, &mut actions);
    actions
}

/// The clear distances round a feature, gate or ejector, and what the limits ask for.
fn clearances_ui(ui: &mut Ui, session: &Session, id: Id) {
    let project = session.document();
    let gaps = session.results().layout().map_or(&[][..], |layout| &layout.gaps);
    let mut of_item = gaps.iter().filter(|gap| gap.item == id).peekable();
    if of_item.peek().is_none() {
        return;
    }
    ui.separator();
    let (palette, unit) = (Palette::of(ui), Unit::of(ui));
    Fields::show(ui, (id.0, "clearances"), |fields| {
        for gap in of_item {
            let what = match gap.to {
                GapTo::Roof => "Roof over it".to_owned(),
                _ => format!("To {}", gap.to.words(project)),
            };
            let gap_mm = hundredths(gap.gap_mm);
            match gap.needed_mm {
                Some(needed) if gap.is_tight() => {
                    let words = format!("{}, needs {}", unit.length(gap_mm), unit.short(needed));
                    fields.alarm(&what, &words, palette.fault);
                }
                Some(needed) => {
                    let words = format!("{} (needs {})", unit.length(gap_mm), unit.plain(needed));
                    fields.fact(&what, &words);
                }
                None => fields.fact(&what, &unit.length(gap_mm)),
            }
        }
    });
}

/// Tag and kind, for example "K5 set screw".
fn what_it_is(project: &Project, item: &Item, id: Id) -> String {
    let kind = match item {
        Item::Run(_) => "channel run",
        Item::Sprue(_) => "gate and sprue",
        Item::Vent(_) => "vent",
        Item::Feature(feature) => feature.kind.word(),
        Item::Hole(hole) => match hole.purpose {
            HoleUse::Bolt => "bolt",
            HoleUse::GuidePin => "guide pin",
        },
        Item::Ejector(_) => "ejector pin",
        Item::Note(_) => "note",
    };
    format!("{} {kind}", project.tag(id))
}

/// To a hundredth, never "-0.00".
pub(super) fn hundredths(value: f64) -> f64 {
    (value * 100.0).round() / 100.0 + 0.0
}
