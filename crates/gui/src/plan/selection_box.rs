//! Selecting by a box drawn on the ground.

use egui::{PointerButton, Rect, Response};
use glam::DVec2;
use keepside_model::{Id, Project};
use keepside_session::Session;

use super::Canvas;
use super::interact::{drag_items, follow, run_at};
use crate::action::Action;
use crate::view::ViewState;

/// A drag that begins on the ground: on a selected run it moves the selection, elsewhere it is a box.
pub(super) fn box_ui(
    canvas: &Canvas<'_>,
    background: &Response,
    session: &Session,
    view: &mut ViewState,
    space: bool,
    actions: &mut Vec<Action>,
) {
    let project = session.document();
    if background.drag_started_by(PointerButton::Primary)
        && !space
        && let Some(press) = canvas.ui.input(|input| input.pointer.press_origin())
    {
        let at = canvas.camera.to_plan(canvas.rect, press);
        let selected = run_at(project, at).filter(|run| session.selection().contains(run));
        match selected.filter(|run| !project.locked.contains(run)) {
            Some(run) => {
                let ids = session.selection().iter().copied().collect();
                drag_items(canvas, session, view, run, ids, press, actions);
            }
            None => view.work.box_from = Some(at),
        }
    }
    if view.drag.is_some() {
        follow(canvas, session, view, background, actions);
        return;
    }
    let Some(from) = view.work.box_from else { return };
    if let Some(pointer) = background.interact_pointer_pos() {
        let rect = Rect::from_two_pos(canvas.at(from), pointer);
        let stroke = egui::Stroke::new(1.2, canvas.palette.accent);
        let fill = canvas.palette.accent.gamma_multiply(0.10);
        canvas.painter.rect(rect, 0.0, fill, stroke, egui::StrokeKind::Inside);
        if background.drag_stopped() {
            let to = canvas.camera.to_plan(canvas.rect, pointer);
            let mut ids = within(project, from.min(to), from.max(to));
            if canvas.ui.input(|input| input.modifiers.shift || input.modifiers.command) {
                ids.extend(session.selection());
            }
            actions.push(Action::Select(ids));
        }
    }
    if !background.dragged() {
        view.work.box_from = None;
    }
}

/// What lies in a box: items with their middle, runs with all their points.
fn within(project: &Project, low: DVec2, high: DVec2) -> Vec<Id> {
    let holds = |at: DVec2| at.cmpge(low).all() && at.cmple(high).all();
    let is_in = |id: &Id| match project.part.runs.get(id) {
        Some(run) => !run.points.is_empty() && run.points.iter().all(|point| holds(point.at)),
        None => project.place(*id).is_some_and(holds),
    };
    project.ids().into_iter().filter(is_in).collect()
}
