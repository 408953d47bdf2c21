//! The pull-off curve of any hold: looked at, edited point by point, replaced by a measured one.
//!
//! A curve that is edited or pasted counts as measured: it stays as it is when the sizes that the
//! computed one follows from change.

mod chart;
mod edit;
mod paste;
pub(crate) mod subject;
mod table;

use std::collections::BTreeSet;

use egui::{Button, Color32, ComboBox, RichText, ScrollArea, Sense, Shape, Stroke, TextEdit, Ui, vec2};
use keepside_engine::opening::{HoldOutcome, HoldState, ShapePoint, What};
use keepside_model::{Edit, Half, Id, Project, PullOff, bounds};
use keepside_session::{Progress, Session};

use super::charts::key_ui;
use super::fields::Fields;
use crate::action::Action;
use crate::elevation::{frame_between, sentence};
use crate::look::Palette;
use crate::look::icons::{Icon, icon_ui};
use crate::units::Unit;
use crate::view::{Tab, ViewState};
use chart::{Chart, Drawn, Grab, MARK_PX, chart_ui};
use edit::{put, row_changed, touched};
use subject::Computed;
use table::table_ui;

/// Whose curve is looked at, and what is being done to it. Nothing of it belongs to the project.
#[derive(Clone, Debug, Default)]
pub(crate) struct CurveView {
    /// A hold that was asked for, and what was selected then: selecting something else ends it.
    asked: Option<(What, BTreeSet<Id>)>,
    /// The hold that the rest is about.
    about: Option<What>,
    /// Text being pasted or typed; `None` while the box is closed.
    text: Option<String>,
    /// The box is about to be shown for the first time.
    opened: bool,
    /// What went wrong last, in words.
    problem: Option<String>,
    grab: Option<Grab>,
}

/// Shows the pull-off curve of a hold.
pub(crate) fn show_curve(view: &mut ViewState, session: &Session, what: What) -> Option<Action> {
    view.tab = Tab::PullOff;
    match what.item() {
        Some(id) => {
            view.curve.asked = None;
            (!session.selection().contains(&id)).then(|| Action::Show(vec![id], None))
        }
        None => {
            view.curve.asked = Some((what, session.selection().clone()));
            None
        }
    }
}

/// A mark on what has a measured curve.
pub(crate) fn measured_mark(ui: &mut Ui, project: &Project, what: What) {
    if subject::measured(project, what).is_some() {
        let palette = Palette::of(ui);
        let words = RichText::new(" measured ").background_color(palette.accent_soft).color(palette.ink);
        ui.label(words).on_hover_text(
            "Its pull-off curve was measured or edited; it stays as it is when sizes and assumptions change",
        );
    }
}

/// A way to the curve of a hold, and whether it is measured.
pub(crate) fn curve_link_ui(
    ui: &mut Ui,
    session: &Session,
    view: &mut ViewState,
    what: What,
    words: &str,
) -> Option<Action> {
    let project = session.document();
    let mut action = None;
    ui.horizontal(|ui| {
        let name = format!("Pull-off curve of {}", subject::name(project, what));
        if ui.link(words).accessible_name(name).clicked() {
            action = show_curve(view, session, what);
        }
        measured_mark(ui, project, what);
    });
    action
}

/// The panel.
pub(crate) fn pull_off_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
    let mut actions = Vec::new();
    let project = session.document();
    let what = looked_at(session, &view.curve);
    if view.curve.about != Some(what) {
        view.curve = CurveView { asked: view.curve.asked.take(), about: Some(what), ..CurveView::default() };
    }
    ScrollArea::vertical().id_salt("pull-off").auto_shrink([false, false]).show(ui, |ui| {
        let room = ui.available_height();
        actions.extend(picker_ui(ui, session, view, what));
        let measured = subject::measured(project, what);
        let computed = subject::computed(session, what);
        let outcomes = subject::outcomes(session, what);
        facts_ui(ui, session, what, &computed, &outcomes);
        for (travel_mm, pull_n) in working_points(session, &outcomes, view.opening_mm) {
            let (opened, travel) = (Unit::of(ui).length(view.opening_mm), Unit::of(ui).length(travel_mm));
            ui.label(format!("+ at {opened} opening: travelled {travel}, pulls {pull_n:.1} N"));
        }
        let used = measured.map(PullOff::points).or(computed.first().map(|curve| &*curve.points));
        if used.is_none() {
            ui.weak(nothing_words(what));
        } else {
            let chart = chart(
                ui,
                session,
                what,
                &computed,
                &outcomes,
                (room * 0.5).clamp(150.0, 420.0),
                view.opening_mm,
            );
            let touch = chart_ui(ui, &chart, &mut view.curve.grab);
            actions
                .extend(touch.into_iter().flat_map(|touch| touched(session, &mut view.curve, what, touch)));
        }
        actions.extend(buttons_ui(ui, session, &mut view.curve, what, &computed));
        problem_ui(ui, &view.curve);
        actions.extend(paste_ui(ui, session, &mut view.curve, what));
        if let Some(measured) = measured {
            let row = table_ui(ui, measured.points(), subject::unit(what));
            actions.extend(row.into_iter().flat_map(|row| row_changed(session, &mut view.curve, what, row)));
        } else if what == What::Vacuum {
            actions.extend(vacuum_fields(ui, project));
        }
    });
    actions
}

/// The hold asked for, else the selected one, else face tack.
fn looked_at(session: &Session, curve: &CurveView) -> What {
    let of_item = |id: &Id| subject::of_item(session.document(), *id);
    let asked = curve.asked.as_ref().filter(|(_, selection)| selection == session.selection());
    asked
        .map(|(what, _)| *what)
        .or_else(|| session.selection().iter().find_map(of_item))
        .unwrap_or(What::Tack)
}

/// The list of holds.
fn picker_ui(ui: &mut Ui, session: &Session, view: &mut ViewState, what: What) -> Option<Action> {
    let project = session.document();
    let mut chosen = None;
    ui.horizontal(|ui| {
        let label = ui.label("Hold");
        let name = |what| sentence(&subject::name(project, what));
        ComboBox::from_id_salt("whose curve")
            .selected_text(name(what))
            .width((ui.available_width() - 90.0).max(120.0))
            .show_ui(ui, |ui| {
                for other in subject::all(project) {
                    let mut words = name(other);
                    if subject::measured(project, other).is_some() {
                        words += " · measured";
                    }
                    if ui.selectable_label(other == what, words).clicked() {
                        chosen = Some(other);
                        ui.close();
                    }
                }
            })
            .response
            .labelled_by(label.id);
        measured_mark(ui, project, what);
    });
    chosen.and_then(|what| show_curve(view, session, what))
}

/// What the curve is of, and how far the hold has come on it.
fn facts_ui(ui: &mut Ui, session: &Session, what: What, computed: &[Computed], outcomes: &[&HoldOutcome]) {
    let palette = Palette::of(ui);
    let project = session.document();
    ui.weak(format!("{}, against travel in mm", subject::of_what(what)));
    let measured = subject::measured(project, what).is_some();
    let lines = |ui: &mut Ui| {
        if measured {
            key_ui(ui, "measured", line_ink(palette, subject::half(project, what)), false);
            if !computed.is_empty() {
                key_ui(ui, "computed", palette.ink_soft, true);
            }
        } else if let [moving, fixed] = computed {
            for curve in [moving, fixed] {
                let words = curve.half.map_or("computed", |half| half.word());
                key_ui(ui, &format!("{words} half"), line_ink(palette, curve.half), false);
            }
        }
    };
    if measured || computed.len() == 2 {
        ui.horizontal_wrapped(lines);
    }
    for hold in outcomes {
        // The mark and its words stay on one line.
        ui.horizontal(|ui| {
            let ink = mark_ink(session, palette, hold);
            let (rect, _) = ui.allocate_exact_size(vec2(12.0, 12.0), Sense::hover());
            if is_round(hold) {
                ui.painter().circle_filled(rect.center(), MARK_PX, ink);
            } else {
                let corners = [(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)];
                let corner = |(x, y): (f32, f32)| rect.center() + MARK_PX * vec2(x, y);
                ui.painter().add(Shape::convex_polygon(corners.map(corner).to_vec(), ink, Stroke::NONE));
            }
            let half = if what.item().is_some() {
                String::new()
            } else {
                format!("{} half: ", hold.name.half.word())
            };
            ui.add(egui::Label::new(format!("{half}{}", reached_words(hold, Unit::of(ui)))).wrap());
        });
    }
}

fn line_ink(palette: &Palette, half: Option<Half>) -> Color32 {
    half.map_or(palette.ink, |half| palette.half(half))
}

/// Working points of an older project are greyed.
fn mark_ink(session: &Session, palette: &Palette, hold: &HoldOutcome) -> Color32 {
    match session.progress() {
        Progress::ComputingOpening | Progress::Stopped => palette.ink_soft,
        _ if hold.name.what.item().is_some() => palette.accent,
        _ => palette.half(hold.name.half),
    }
}

/// The two halves' working points are told apart by shape as well.
fn is_round(hold: &HoldOutcome) -> bool {
    hold.name.what.item().is_some() || hold.name.half == Half::Moving
}

/// How far a hold came, and the most it did pull on the way. A hold whose sides slide one after the other
/// pulls less than its curve at its mean travel.
fn reached_words(hold: &HoldOutcome, unit: Unit) -> String {
    let how = match hold.state {
        HoldState::Holding | HoldState::PartlyHolding { .. } => "reached",
        HoldState::LetGo { .. } => "let go after",
        HoldState::Broke { .. } => "broke after",
    };
    format!("{how} {}, pulled at most {:.1} N", unit.length(hold.travel_mm), hold.peak_n)
}

/// The pull of a curve at a travel: straight between its points, level beyond its ends.
fn pull_at(curve: &[(f64, f64)], travel_mm: f64) -> f64 {
    let next = curve.partition_point(|&(travel, _)| travel < travel_mm);
    match (next.checked_sub(1).and_then(|before| curve.get(before)), curve.get(next)) {
        (Some(&(from, low)), Some(&(to, high))) if to > from => {
            low + (high - low) * (travel_mm - from) / (to - from)
        }
        (_, Some(&(_, pull))) | (Some(&(_, pull)), None) => pull,
        (None, None) => 0.0,
    }
}

fn nothing_words(what: What) -> &'static str {
    match what {
        What::Edge => "No edge is trapped here, so nothing is computed",
        What::Feature(_) | What::Ejector(_) => "It stands outside the channel, so nothing is computed",
        _ => "Nothing is computed for it yet",
    }
}

fn chart<'a>(
    ui: &Ui,
    session: &'a Session,
    what: What,
    computed: &'a [Computed],
    outcomes: &[&HoldOutcome],
    height: f32,
    opening_mm: f64,
) -> Chart<'a> {
    let palette = Palette::of(ui);
    let project = session.document();
    let measured = subject::measured(project, what);
    let mut lines: Vec<Drawn<'a>> = Vec::new();
    for curve in computed {
        let dashed = measured.is_some();
        let ink = if dashed { palette.ink_soft } else { line_ink(palette, curve.half) };
        lines.push(Drawn { name: "computed", points: &curve.points, ink, dashed });
    }
    if let Some(curve) = measured {
        let ink = line_ink(palette, subject::half(project, what));
        lines.push(Drawn { name: "measured", points: curve.points(), ink, dashed: false });
    }
    let mark = |hold: &&HoldOutcome| {
        let of_half = computed.iter().find(|curve| curve.half == Some(hold.name.half)).or(computed.first());
        let curve = measured.map(PullOff::points).or(of_half.map(|curve| &*curve.points))?;
        let place = (hold.travel_mm, pull_at(curve, hold.travel_mm));
        Some((place, mark_ink(session, palette, hold), is_round(hold)))
    };
    let marks = outcomes.iter().filter_map(mark).collect();
    let handles = match (measured, what) {
        // The first point stays where it is.
        (Some(curve), _) => (2..).zip(curve.points().iter().skip(1).copied()).collect(),
        (None, What::Vacuum) => vec![(3, (project.holds.air_gap_mm, project.holds.vacuum_mpa))],
        (None, _) => Vec::new(),
    };
    let now = working_points(session, outcomes, opening_mm);
    let now = now.into_iter().map(|point| (point, palette.ink)).collect();
    Chart { unit: subject::unit(what), lines, marks, now, handles, height }
}

/// Travel and pull of holds that stand at one place, at an opening.
fn working_points(session: &Session, outcomes: &[&HoldOutcome], opening_mm: f64) -> Vec<(f64, f64)> {
    let Some(Ok(opening)) = session.results().opening() else { return Vec::new() };
    let Some(frame) = frame_between(opening, opening_mm) else { return Vec::new() };
    let point = |hold: &&HoldOutcome| {
        let index = opening.holds.iter().position(|other| other.name == hold.name)?;
        let (run, along_mm) = hold.on.filter(|_| hold.name.what.item().is_some())?;
        let axis = opening.axes.iter().position(|axis| axis.run == run)?;
        let distance = |point: &&ShapePoint| (f64::from(point.along_mm) - along_mm).abs();
        let shape = frame.shapes.get(axis)?.iter();
        let nearest = shape.min_by(|a, b| distance(a).total_cmp(&distance(b)))?;
        let off_fixed_mm = f64::from(nearest.z_mm);
        let travel_mm = match hold.name.half {
            Half::Fixed => off_fixed_mm,
            Half::Moving => opening_mm - off_fixed_mm,
        };
        Some((travel_mm.max(0.0), f64::from(*frame.pulls_n.get(index)?)))
    };
    outcomes.iter().filter_map(point).collect()
}

/// What turns a computed curve into a measured one and back.
fn buttons_ui(
    ui: &mut Ui,
    session: &Session,
    view: &mut CurveView,
    what: What,
    computed: &[Computed],
) -> Vec<Action> {
    let mut actions = Vec::new();
    if what == What::Vacuum {
        return actions;
    }
    let project = session.document();
    ui.horizontal_wrapped(|ui| {
        if subject::measured(project, what).is_some() {
            let hint = "Throws the measured curve away; the computed one follows the sizes again";
            if ui.button("Back to computed").on_hover_text(hint).clicked() {
                actions.extend(put(project, view, what, "go back to computed curve", Ok(None)));
            }
        } else {
            let longest = computed.iter().max_by(|a, b| end_mm(&a.points).total_cmp(&end_mm(&b.points)));
            let hint = "Starts from the computed curve; from then on it counts as measured";
            let button = ui.add_enabled(longest.is_some(), Button::new("Edit curve"));
            if let Some(curve) = longest.filter(|_| button.on_hover_text(hint).clicked()) {
                let curve = subject::editable(&curve.points).map(Some).map_err(|error| error.to_string());
                actions.extend(put(project, view, what, "edit pull-off curve", curve));
            }
        }
        let hint = "Two columns from a bench or a spreadsheet: travel and pull";
        if ui.button("Paste measured…").on_hover_text(hint).clicked() {
            view.opened = view.text.is_none();
            view.text = view.opened.then(String::new);
            view.problem = None;
        }
    });
    actions
}

fn end_mm(points: &[(f64, f64)]) -> f64 {
    points.last().map_or(0.0, |point| point.0)
}

/// What went wrong last.
fn problem_ui(ui: &mut Ui, view: &CurveView) {
    let Some(problem) = &view.problem else { return };
    let palette = Palette::of(ui);
    ui.horizontal_top(|ui| {
        icon_ui(ui, Icon::Alarm(keepside_engine::Severity::Fault), palette.fault);
        ui.add(egui::Label::new(RichText::new(sentence(problem)).color(palette.fault)).wrap());
    });
}

/// The box that a measured curve is pasted into.
fn paste_ui(ui: &mut Ui, session: &Session, view: &mut CurveView, what: What) -> Vec<Action> {
    let Some(text) = &mut view.text else { return Vec::new() };
    let unit = subject::unit(what);
    let label = ui.label(format!("Travel in mm and pull in {unit}, two numbers a line"));
    let field = TextEdit::multiline(text)
        .hint_text("0\t0\n0.05\t12.5\n1.2\t4\n2\t0")
        .desired_rows(6)
        .desired_width(f32::INFINITY);
    let scrolled = ScrollArea::vertical().id_salt("pasted").max_height(140.0);
    let field = scrolled.show(ui, |ui| ui.add(field).labelled_by(label.id)).inner;
    let (mut used, mut closed) = (false, false);
    let buttons = ui.horizontal(|ui| {
        used = ui.button("Use these numbers").clicked();
        closed = ui.button("Cancel").clicked();
    });
    if std::mem::take(&mut view.opened) {
        field.request_focus();
        buttons.response.scroll_to_me(None);
    }
    let mut actions = Vec::new();
    if used {
        let read = paste::read(text).map(|pasted| Some(pasted.curve)).map_err(|error| error.to_string());
        closed = read.is_ok();
        actions = put(session.document(), view, what, "paste pull-off curve", read);
    } else if closed {
        view.problem = None;
    }
    if closed {
        view.text = None;
    }
    actions
}

/// The vacuum's curve has but two numbers.
fn vacuum_fields(ui: &mut Ui, project: &Project) -> Vec<Action> {
    let mut holds = project.holds.clone();
    let change = Fields::show(ui, "vacuum curve", |fields| {
        fields.number("Vacuum under faces", &mut holds.vacuum_mpa, bounds::VACUUM);
        fields.number("Air gets in at", &mut holds.air_gap_mm, bounds::TRAVEL);
    });
    change.actions(|| Edit::SetHolds(holds))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_working_point_lies_on_the_curve() {
        let curve = [(0.0, 0.0), (0.02, 100.0), (0.02, 60.0), (0.04, 0.0)];
        let near = |travel, pull: f64| (pull_at(&curve, travel) - pull).abs() < 1e-9;
        assert!(near(0.01, 50.0) && near(0.02, 100.0) && near(0.03, 30.0));
        assert!(near(-1.0, 0.0) && near(1.0, 0.0));
        assert!(pull_at(&[], 1.0).abs() < 1e-9);
    }
}
