//! Where the section is cut: through the selected pin or ejector, or through any place of a run.

use egui::{DragValue, Ui};
use glam::DVec2;
use keepside_engine::outline::{channel_at, plan_diameter_mm};
use keepside_model::{Id, Project};
use keepside_session::{Session, nearest_on_run, place_along, run_length_mm};

use super::subject;
use crate::units::{Unit, typed_length_mm};
use crate::view::ViewState;

/// A place on the centre line of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Place {
    pub(crate) run: Id,
    /// How far along the centre line, mm from the run's first point.
    pub(crate) along_mm: f64,
    /// In the plan, mm.
    pub(crate) at: DVec2,
    /// Along the run, of length 1.
    pub(crate) direction: DVec2,
    pub(crate) width_mm: f64,
}

/// Where the section is cut at present; `None` without any run.
pub(crate) fn place(session: &Session, view: &ViewState) -> Option<Place> {
    let project = session.document();
    let chosen = || view.section_at.as_ref().map(|(at, _)| *at);
    let of_subject = through_item(session, view).and_then(|id| project.place(id));
    of_subject.or_else(chosen).or_else(|| middle(project)).and_then(|at| on_run(project, at))
}

/// The pin or ejector that the section goes through: the selected one, unless a place has been chosen
/// since it was selected; else one that stands where the cut goes.
pub(crate) fn through_item(session: &Session, view: &ViewState) -> Option<Id> {
    match &view.section_at {
        Some((at, selection)) if selection == session.selection() => item_at(session.document(), *at),
        chosen => subject(session).or_else(|| {
            let project = session.document();
            let at = chosen.as_ref().map(|(at, _)| *at).or_else(|| middle(project))?;
            item_at(project, at)
        }),
    }
}

/// The pin or ejector whose middle a cut through `at` meets.
fn item_at(project: &Project, at: DVec2) -> Option<Id> {
    let features = project.features.iter().map(|(id, pin)| (*id, pin.at, plan_diameter_mm(&pin.kind)));
    let ejectors = project.ejectors.iter().map(|(id, pin)| (*id, pin.at, pin.diameter_mm));
    let near = features.chain(ejectors).map(|(id, place, size_mm)| (id, place.distance(at), size_mm));
    let near = near.filter(|(_, distance_mm, size_mm)| *distance_mm <= size_mm / 4.0);
    near.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(id, ..)| id)
}

fn on_run(project: &Project, at: DVec2) -> Option<Place> {
    let channel = channel_at(project, at)?;
    let (run, along_mm) = (channel.run, channel.along_mm);
    Some(Place { run, along_mm, at: channel.at, direction: channel.direction, width_mm: channel.width_mm })
}

/// The middle of the longest run.
fn middle(project: &Project) -> Option<DVec2> {
    let runs = project.part.runs.values();
    let longest = runs.max_by(|a, b| run_length_mm(a).total_cmp(&run_length_mm(b)))?;
    place_along(longest, run_length_mm(longest) / 2.0)
}

/// Cuts through the place of a run that is nearest to a place of the plan.
pub(crate) fn go_to(session: &Session, view: &mut ViewState, wanted: DVec2) {
    let runs = session.document().part.runs.values();
    let near = runs.filter_map(|run| nearest_on_run(run, wanted));
    if let Some(on) = near.min_by(|a, b| a.distance_mm.total_cmp(&b.distance_mm)) {
        view.section_at = Some((on.at, session.selection().clone()));
    }
}

/// Cuts so far along the run that is cut now, mm.
pub(crate) fn go_along(session: &Session, view: &mut ViewState, along_mm: f64) {
    let now = place(session, view);
    let run = now.and_then(|now| session.document().part.runs.get(&now.run));
    let at = run.and_then(|run| place_along(run, along_mm.clamp(0.0, run_length_mm(run))));
    if let Some(at) = at {
        view.section_at = Some((at, session.selection().clone()));
    }
}

/// The place as a number.
pub(crate) fn place_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) {
    let Some(now) = place(session, view) else { return };
    let project = session.document();
    let Some(run) = project.part.runs.get(&now.run) else { return };
    let unit = Unit::of(ui);
    let label = ui.label(format!("Cut along {}", project.tag(now.run)));
    let mut along_mm = now.along_mm;
    let field = DragValue::new(&mut along_mm)
        .speed(0.2)
        .range(0.0..=run_length_mm(run))
        .update_while_editing(false)
        .custom_formatter(move |mm, _| unit.number(mm))
        .custom_parser(move |text| typed_length_mm(text, unit))
        .suffix(format!(" {}", unit.word()));
    let field = ui.add(field).labelled_by(label.id);
    if field.on_hover_text("From the run's first point, along its middle").changed()
        && (along_mm - now.along_mm).abs() > 1e-6
    {
        go_along(session, view, along_mm);
    }
    let through = through_item(session, view).map(|id| format!("through {}", project.tag(id)));
    ui.weak(through.unwrap_or_default());
}
