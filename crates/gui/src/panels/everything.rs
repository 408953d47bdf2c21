//! The list of everything in the project, with a search field.

use egui::{Key, RichText, ScrollArea, TextEdit, Ui};
use keepside_model::{Half, HoleUse, Id, Item, Project};
use keepside_session::Session;

use crate::action::Action;
use crate::units::Unit;
use crate::view::ViewState;

/// The panel.
pub(crate) fn everything_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
    let mut actions = Vec::new();
    ui.add_space(6.0);
    ui.horizontal(|ui| {
        ui.label(RichText::new("Everything").strong().size(15.0));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            if ui.small_button("Close list").clicked() {
                view.work.list_open = false;
            }
        });
    });
    let label = ui.label("Search tag, name, kind, half or place");
    let search = ui.add(TextEdit::singleline(&mut view.work.search).desired_width(f32::INFINITY));
    let search = search.labelled_by(label.id);
    if std::mem::take(&mut view.work.list_wants_keys) {
        search.request_focus();
    }
    let project = session.document();
    let rows = found(project, &view.work.search, Unit::of(ui));
    // Enter takes the first that was found.
    if search.lost_focus()
        && ui.input(|input| input.key_pressed(Key::Enter))
        && let Some((id, _)) = rows.first()
    {
        actions.push(Action::Show(vec![*id], None));
    }
    ui.weak(match rows.len() {
        0 => "Nothing found".to_owned(),
        1 => "1 item".to_owned(),
        count => format!("{count} items"),
    });
    let height = ui.spacing().interact_size.y;
    ScrollArea::vertical().id_salt("everything").auto_shrink([false, false]).show_rows(
        ui,
        height,
        rows.len(),
        |ui, range| {
            ui.with_layout(egui::Layout::top_down_justified(egui::Align::Min), |ui| {
                for (id, words) in &rows[range] {
                    let is_selected = session.selection().contains(id);
                    let row = egui::Button::selectable(is_selected, words).truncate();
                    let row = ui.add(row.min_size(egui::vec2(0.0, height))).on_hover_text(words);
                    if row.clicked() {
                        let more = ui.input(|input| input.modifiers.shift || input.modifiers.command);
                        actions.push(if more { Action::Toggle(*id) } else { Action::Show(vec![*id], None) });
                    }
                }
            });
        },
    );
    actions
}

/// The items whose words hold every word that is searched for, with their words.
fn found(project: &Project, search: &str, unit: Unit) -> Vec<(Id, String)> {
    let wanted = search.split_whitespace().map(str::to_lowercase);
    // "Fixed half" finds what is on the fixed one.
    let wanted: Vec<String> = wanted.filter(|word| word != "half").collect();
    let rows = project.ids().into_iter().filter_map(|id| Some((id, words(project, id, unit)?)));
    rows.filter(|(_, words)| {
        let words = words.to_lowercase();
        wanted.iter().all(|word| words.contains(word))
    })
    .collect()
}

/// An item in one line: tag and name, kind, half, place.
fn words(project: &Project, id: Id, unit: Unit) -> Option<String> {
    let place = project.place(id)?;
    let of_half = |half| if half == Half::Moving { ", moving" } else { ", fixed" };
    let (kind, half) = match project.item(id)? {
        Item::Run(run) => (format!("run of {} points", run.points.len()), ""),
        Item::Sprue(sprue) => ("gate".to_owned(), of_half(sprue.half)),
        Item::Vent(vent) => ("vent".to_owned(), of_half(vent.half)),
        Item::Feature(feature) => (feature.kind.word().to_owned(), of_half(feature.half)),
        Item::Hole(hole) => {
            let what = if hole.purpose == HoleUse::Bolt { "bolt" } else { "guide pin" };
            (what.to_owned(), ", both")
        }
        Item::Ejector(_) => ("ejector pin".to_owned(), ", moving"),
        Item::Note(_) => ("note".to_owned(), ""),
    };
    let locked = if project.locked.contains(&id) { ", locked" } else { "" };
    let (x, y) = (unit.plain(place.x), unit.plain(place.y));
    Some(format!("{} · {kind}{half} · x {x} y {y}{locked}", project.title(id)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_must_be_found_in_any_order_and_case() {
        let mut project = Project::blank();
        project.part.runs.get_mut(&Id(1)).unwrap().name = "Left Arm".to_owned();
        let check = |search: &str, count: usize| {
            assert_eq!(found(&project, search, Unit::Millimetre).len(), count, "{search}");
        };
        check("", 1);
        check("arm LEFT", 1);
        check("r1 run x 100", 1);
        check("right", 0);
        check("fixed half", 0);
        check("half", 1);
        assert_eq!(found(&project, "", Unit::Millimetre)[0].1, "R1 Left Arm · run of 2 points · x 100 y 60");
    }
}
