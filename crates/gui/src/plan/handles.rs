//! The handles of selected runs: their points, and a round one in the middle of every piece that bends it.

use egui::{PointerButton, Rect, Response, Role, Sense, Stroke, Vec2, WidgetInfo};
use glam::DVec2;
use keepside_model::{Edit, Id, Item, Project, Run};
use keepside_session::{Session, Snap, bent, middle_of_piece};

use super::interact::{GRASP, follow};
use super::menu::open_menu;
use super::{Canvas, sense_of};
use crate::action::{Action, Command};
use crate::view::{Drag, Dragged, Tool, ViewState};
use crate::work::{Arrange, Menu, MenuFor, Stop};

/// Smallest length of a piece on the screen that has a handle in its middle, points.
const LEAST_PIECE: f32 = 40.0;

/// How near to its chord the middle of a piece is let go to be straight, points.
const STRAIGHT: f32 = 4.0;

/// The points and pieces of the selected runs.
pub(super) fn run_handles_ui(
    canvas: &Canvas<'_>,
    background: &Response,
    session: &Session,
    view: &mut ViewState,
    go_to: Option<Stop>,
    actions: &mut Vec<Action>,
) {
    view.work.handles.clear();
    if view.tool != Tool::Select {
        return;
    }
    let project = session.document();
    for (&id, run) in project.part.runs.iter().filter(|(id, _)| session.selection().contains(id)) {
        let is_free = !project.locked.contains(&id);
        if is_free {
            bends_ui(canvas, background, session, view, (id, run), go_to, actions);
        }
        for (index, point) in run.points.iter().enumerate() {
            let rect = Rect::from_center_size(canvas.at(point.at), Vec2::splat(GRASP));
            let point_id = background.id.with(("run point", id.0, index));
            let response = handle_ui(canvas, view, rect, (point_id, Stop::Point(id, index)), go_to);
            response.widget_info(|| {
                let name = format!("Run {} point {}", project.tag(id), index + 1);
                WidgetInfo::labeled(Role::Button, true, name)
            });
            if response.hovered() && is_free {
                canvas.ui.set_cursor_icon(egui::CursorIcon::Move);
            }
            if let Some(screen) = response.interact_pointer_pos().filter(|_| response.secondary_clicked()) {
                let menu = Menu { on: MenuFor::Point { run: id, index }, at: point.at, screen };
                open_menu(canvas.ui.ctx(), view, menu);
            }
            if is_free
                && response.drag_started_by(PointerButton::Primary)
                && let Some(press) = canvas.ui.input(|input| input.pointer.press_origin())
            {
                let grab = canvas.camera.to_plan(canvas.rect, press);
                actions.push(Action::Begin("move run point"));
                view.drag = Some(Drag { what: Dragged::RunPoint { run: id, index }, anchor: point.at, grab });
            }
            follow(canvas, session, view, &response, actions);
        }
    }
    view.work.handles.sort_by_key(|handle| match *handle {
        Stop::Item(id) => (id, 0, 0),
        Stop::Point(id, index) => (id, index, 0),
        Stop::Bend(id, piece) => (id, piece, 1),
    });
}

/// A handle; one that has the keyboard shows it, and has the arrow keys to itself.
fn handle_ui(
    canvas: &Canvas<'_>,
    view: &mut ViewState,
    rect: Rect,
    (id, stop): (egui::Id, Stop),
    go_to: Option<Stop>,
) -> Response {
    let response = canvas.ui.interact(rect, id, sense_of(canvas.ui, id, Sense::click_and_drag()));
    view.work.handles.push(stop);
    if go_to == Some(stop) {
        response.request_focus();
    }
    if response.has_focus() {
        view.item_focused = true;
        view.work.stop = Some(stop);
        let stroke = Stroke::new(1.5, canvas.palette.accent);
        canvas.painter.rect_stroke(rect.expand(2.0), 3.0, stroke, egui::StrokeKind::Outside);
        let arrows =
            egui::EventFilter { horizontal_arrows: true, vertical_arrows: true, ..Default::default() };
        canvas.ui.memory_mut(|memory| memory.set_focus_lock_filter(id, arrows));
    }
    response
}

fn bends_ui(
    canvas: &Canvas<'_>,
    background: &Response,
    session: &Session,
    view: &mut ViewState,
    (id, run): (Id, &Run),
    go_to: Option<Stop>,
    actions: &mut Vec<Action>,
) {
    for (piece, pair) in run.points.windows(2).enumerate() {
        let Some(middle) = middle_of_piece(run, piece) else { continue };
        if canvas.at(pair[0].at).distance(canvas.at(pair[1].at)) < LEAST_PIECE {
            continue;
        }
        let centre = canvas.at(middle);
        let rect = Rect::from_center_size(centre, Vec2::splat(GRASP));
        let handle_id = background.id.with(("run bend", id.0, piece));
        let response = handle_ui(canvas, view, rect, (handle_id, Stop::Bend(id, piece)), go_to);
        response.widget_info(|| {
            let name = format!("Run {} bend {}", session.document().tag(id), piece + 1);
            WidgetInfo::labeled(Role::Button, true, name)
        });
        let is_near = response.hovered() || response.dragged() || response.has_focus();
        let (radius, fill) =
            if is_near { (6.0, canvas.palette.accent_soft) } else { (4.5, canvas.palette.plate) };
        canvas.painter.circle(centre, radius, fill, Stroke::new(1.6, canvas.palette.accent));
        if response.hovered() {
            canvas.ui.set_cursor_icon(egui::CursorIcon::Move);
        }
        if response.double_clicked() {
            actions.push(Action::Command(Command::Arrange(Arrange::Straighten { run: id, piece })));
        }
        if let Some(screen) = response.interact_pointer_pos().filter(|_| response.secondary_clicked()) {
            open_menu(canvas.ui.ctx(), view, Menu { on: MenuFor::Item(id), at: middle, screen });
        }
        if response.drag_started_by(PointerButton::Primary)
            && let Some(press) = canvas.ui.input(|input| input.pointer.press_origin())
        {
            let grab = canvas.camera.to_plan(canvas.rect, press);
            actions.push(Action::Begin("bend run"));
            view.drag = Some(Drag { what: Dragged::Bend { run: id, piece }, anchor: middle, grab });
        }
        follow(canvas, session, view, &response, actions);
    }
}

/// Where the middle of a piece comes to lie if it is dragged to `wanted`: how far it bulges is kept to the grid.
pub(super) fn bend_edit(
    canvas: &Canvas<'_>,
    before: &Project,
    snap: Snap,
    (id, piece): (Id, usize),
    wanted: DVec2,
) -> Option<Edit> {
    let run = before.part.runs.get(&id)?;
    let (from, to) = (run.points.get(piece)?.at, run.points.get(piece + 1)?.at);
    let across = (to - from).try_normalize()?.perp();
    let out_mm = (wanted - from.midpoint(to)).dot(across);
    let out_mm = match snap.grid_mm {
        Some(step) if step > 0.0 => (out_mm / step).round() * step,
        _ => out_mm,
    };
    let through = from.midpoint(to) + across * out_mm;
    Some(Edit::Set(id, Item::Run(bent(run, piece, through, canvas.camera.mm(STRAIGHT))?)))
}
