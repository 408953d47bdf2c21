//! Pointing at the plan: selecting, dragging, adding.

use egui::{Key, PointerButton, Pos2, Rect, Response, Role, Sense, Vec2, WidgetInfo};
use glam::DVec2;
use keepside_model::{Edit, Half, Id, Item, ItemKind, Project};
use keepside_session::{Aid, Round, Session, Snap, SnapTo, Snapped, nearest_on_run};

use super::{Canvas, sense_of};
use keepside_engine::outline::plan_diameter_mm;

use super::drawing::run_point;
use super::handles::{bend_edit, run_handles_ui};
use super::items::{name_of, run_tag_place};
use super::menu::open_menu;
use super::noting;
use super::selection_box::box_ui;
use crate::act::{move_edit, new_item};
use crate::action::{Action, Command};
use crate::view::{Drag, Dragged, Tool, ViewState};
use crate::work::{Arrange, Menu, MenuFor, Stop};

/// Smallest size of what can be grasped, points.
pub(super) const GRASP: f32 = 16.0;

/// How near to a centre line a dragged pin jumps onto it, points.
const MAGNET: f32 = 8.0;

/// The area in which an item can be grasped; of a run, its tag.
fn grasp_rect(canvas: &Canvas<'_>, project: &Project, id: Id) -> Option<Rect> {
    let round = |at: DVec2, diameter_mm: f64| {
        Rect::from_center_size(canvas.at(at), Vec2::splat(canvas.camera.px(diameter_mm).max(GRASP)))
    };
    Some(match project.item(id)? {
        Item::Run(run) => Rect::from_center_size(run_tag_place(canvas, &run)?, Vec2::new(26.0, GRASP)),
        Item::Sprue(sprue) => round(sprue.at, sprue.diameter_mm),
        Item::Vent(vent) => round(vent.at, vent.width_mm),
        Item::Feature(feature) => round(feature.at, plan_diameter_mm(&feature.kind)),
        Item::Hole(hole) => round(hole.at, hole.diameter_mm),
        Item::Ejector(ejector) => round(ejector.at, ejector.diameter_mm),
        Item::Note(note) => Rect::from_center_size(canvas.at(note.at), Vec2::splat(GRASP)),
    })
}

/// The areas in which things can be grasped. What comes later lies on top: notes over features over sprues
/// over ejectors over vents over holes over runs.
fn grasp_rects(canvas: &Canvas<'_>, project: &Project) -> Vec<(Id, Rect)> {
    let runs = project.part.runs.keys().chain(project.holes.keys()).chain(project.vents.keys());
    let items = runs.chain(project.ejectors.keys()).chain(project.sprues.keys());
    let items = items.chain(project.features.keys()).chain(project.remarks.keys());
    items.filter_map(|id| Some((*id, grasp_rect(canvas, project, *id)?))).collect()
}

/// Every item as something that can be named, clicked and dragged.
pub(super) fn items_ui(
    canvas: &Canvas<'_>,
    background: &Response,
    session: &Session,
    view: &mut ViewState,
    actions: &mut Vec<Action>,
) {
    let project = session.document();
    let rects = grasp_rects(canvas, project);
    // The plan itself may have the keyboard, by Tab, as well as an item on it.
    view.item_focused = background.has_focus();
    view.work.stop = None;
    let go_to = view.work.go_to.take();
    // A trial is noted by clicks; nothing is moved by mistake meanwhile.
    let is_noting = noting::noting(session, view).is_some();
    for &(id, rect) in &rects {
        if !canvas.rect.intersects(rect) && view.drag.is_none() {
            continue;
        }
        let item_id = background.id.with(("item", id.0));
        let sense = sense_of(canvas.ui, item_id, Sense::click_and_drag());
        let response = canvas.ui.interact(rect, item_id, sense);
        if go_to == Some(Stop::Item(id)) {
            response.request_focus();
        }
        let selected = session.selection().contains(&id);
        let is_locked = project.locked.contains(&id);
        response.widget_info(|| {
            let name = name_of(project, id);
            let name = if is_locked { format!("{name}, locked") } else { name };
            WidgetInfo::selected(Role::Button, true, selected, name)
        });
        if response.has_focus() {
            view.item_focused = true;
            view.work.stop = Some(Stop::Item(id));
            canvas.painter.rect_stroke(
                rect.expand(3.0),
                3.0,
                egui::Stroke::new(1.5, canvas.palette.accent),
                egui::StrokeKind::Outside,
            );
            let all =
                egui::EventFilter { horizontal_arrows: true, vertical_arrows: true, ..Default::default() };
            canvas.ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, all));
        }
        if response.hovered() && view.tool == Tool::Select {
            let cursor = if is_locked { egui::CursorIcon::NotAllowed } else { egui::CursorIcon::Grab };
            canvas.ui.set_cursor_icon(cursor);
        }
        let pointed = response.interact_pointer_pos();
        if response.clicked() && is_noting {
            let at = pointed.map(|at| canvas.camera.to_plan(canvas.rect, at));
            actions.extend(noting::item_clicked(session, view, id, at));
        } else if response.clicked() {
            clicked(canvas, session, view, &rects, id, pointed, actions);
        }
        if response.secondary_clicked() && !view.tool.draws() {
            menu_at(canvas, session, view, MenuFor::Item(id), pointed, actions);
        }
        let space = canvas.ui.input(|input| input.key_down(Key::Space));
        let pans =
            response.dragged_by(PointerButton::Middle) || response.dragged_by(PointerButton::Secondary);
        if pans || (space && view.drag.is_none() && response.dragged()) {
            let mut camera = canvas.camera;
            camera.pan(response.drag_delta());
            view.camera = Some(camera);
            view.fitted_to = None;
        } else if response.drag_started_by(PointerButton::Primary) && view.tool == Tool::Select && !is_noting
        {
            start_items(canvas, session, view, &rects, id, actions);
        }
        follow(canvas, session, view, &response, actions);
        if response.hovered() && view.drag.is_none() {
            let unit = crate::units::Unit::of(canvas.ui);
            let words = super::linked::hover_words(session, view, unit, id);
            response.on_hover_text_at_pointer(words);
        }
    }
    if !is_noting {
        run_handles_ui(canvas, background, session, view, go_to, actions);
    }
}

/// A click on an item: selects it; on the one selected already, selects what lies under it.
fn clicked(
    canvas: &Canvas<'_>,
    session: &Session,
    view: &mut ViewState,
    rects: &[(Id, Rect)],
    id: Id,
    pointed: Option<Pos2>,
    actions: &mut Vec<Action>,
) {
    if view.tool.draws() {
        return;
    }
    if view.tool != Tool::Select {
        if let Some(at) = pointed {
            actions.push(Action::Place(view.tool, canvas.camera.to_plan(canvas.rect, at)));
        }
        return;
    }
    view.spotlight = None;
    if canvas.ui.input(|input| input.modifiers.shift || input.modifiers.command) {
        actions.push(Action::Toggle(id));
        return;
    }
    let under: Vec<Id> = rects
        .iter()
        .filter(|(_, rect)| pointed.is_some_and(|at| rect.contains(at)))
        .map(|(id, _)| *id)
        .collect();
    let alone = |id: &Id| session.selection().len() == 1 && session.selection().contains(id);
    let target = match under.iter().position(alone) {
        // From the top downwards, then round again.
        Some(index) => under[(index + under.len() - 1) % under.len()],
        None => id,
    };
    actions.push(Action::Select(vec![target]));
}

/// The drag of items begins: of the selection if the pointer is on a selected one, else of this one.
fn start_items(
    canvas: &Canvas<'_>,
    session: &Session,
    view: &mut ViewState,
    rects: &[(Id, Rect)],
    id: Id,
    actions: &mut Vec<Action>,
) {
    let Some(press) = canvas.ui.input(|input| input.pointer.press_origin()) else { return };
    let is_selected = |id: &Id| session.selection().contains(id);
    let grabbed = rects.iter().filter(|(_, rect)| rect.contains(press)).map(|(id, _)| *id).find(is_selected);
    let id = grabbed.unwrap_or(id);
    let ids = if is_selected(&id) {
        session.selection().iter().copied().collect()
    } else {
        actions.push(Action::Select(vec![id]));
        vec![id]
    };
    drag_items(canvas, session, view, id, ids, press, actions);
}

/// Begins to drag items by one of them; locked ones stay.
pub(super) fn drag_items(
    canvas: &Canvas<'_>,
    session: &Session,
    view: &mut ViewState,
    id: Id,
    mut ids: Vec<Id>,
    press: Pos2,
    actions: &mut Vec<Action>,
) {
    let project = session.document();
    ids.retain(|id| !project.locked.contains(id));
    if !ids.contains(&id) {
        return;
    }
    let Some(anchor) = project.place(id) else { return };
    let in_channel = [ItemKind::Feature, ItemKind::Sprue, ItemKind::Ejector];
    let magnet = project.kind(id).is_some_and(|kind| in_channel.contains(&kind))
        && !ids.iter().any(|id| project.kind(*id) == Some(ItemKind::Run));
    let grab = canvas.camera.to_plan(canvas.rect, press);
    actions.push(Action::Begin("move"));
    view.drag = Some(Drag { what: Dragged::Items { ids, magnet }, anchor, grab });
}

/// Opens the menu of what was pointed at, which is selected first.
fn menu_at(
    canvas: &Canvas<'_>,
    session: &Session,
    view: &mut ViewState,
    on: MenuFor,
    pointed: Option<Pos2>,
    actions: &mut Vec<Action>,
) {
    let Some(screen) = pointed.or_else(|| canvas.ui.input(|input| input.pointer.latest_pos())) else {
        return;
    };
    if let MenuFor::Item(id) = on
        && !session.selection().contains(&id)
    {
        actions.push(Action::Select(vec![id]));
    }
    open_menu(canvas.ui.ctx(), view, Menu { on, at: canvas.camera.to_plan(canvas.rect, screen), screen });
}

/// A drag under way follows the pointer; it ends when the button is let go.
pub(super) fn follow(
    canvas: &Canvas<'_>,
    session: &Session,
    view: &mut ViewState,
    response: &Response,
    actions: &mut Vec<Action>,
) {
    if (response.dragged() || response.drag_stopped())
        && let Some(drag) = view.drag.clone()
        && let Some(at) = response.interact_pointer_pos()
    {
        let wanted = drag.anchor + canvas.camera.to_plan(canvas.rect, at) - drag.grab;
        let magnet = if matches!(drag.what, Dragged::Items { magnet: true, .. }) { MAGNET } else { 0.0 };
        let snap = snap(canvas, view, canvas.camera.mm(magnet));
        let before = session.before_gesture();
        let snapped = match alone(before, &drag) {
            _ if matches!(drag.what, Dragged::Bend { .. }) => plain(Snap::OFF.point(before, wanted)),
            None if matches!(drag.what, Dragged::RunPoint { .. }) => {
                run_end(canvas, session, &drag, snap, wanted)
            }
            Some(round) => {
                let outline = session.results().layout().map(|layout| &layout.outline);
                snap.round(before, outline, round, view.from_gate_mm, wanted)
            }
            None => plain(snap.point(before, wanted)),
        };
        let moved = view.snapped != Some(snapped);
        view.snapped = Some(snapped);
        match drag.what {
            _ if !moved => {}
            Dragged::Items { ids, .. } => {
                let edit = move_edit(before, &ids, drag.anchor, snapped.at);
                actions.push(Action::Preview("move", edit));
            }
            Dragged::RunPoint { run, index } => {
                if let Some(Item::Run(mut moved)) = before.item(run)
                    && let Some(point) = moved.points.get_mut(index)
                {
                    point.at = snapped.at;
                    actions.push(Action::Preview("move run point", Edit::Set(run, Item::Run(moved))));
                }
            }
            Dragged::Bend { run, piece } => {
                let edit = bend_edit(canvas, before, snap, (run, piece), wanted);
                actions.extend(edit.map(|edit| Action::Preview("bend run", edit)));
            }
        }
    }
    if response.drag_stopped() {
        view.drag = None;
        view.snapped = None;
        actions.push(Action::Commit);
    }
}

/// Where a dragged point of a run comes to lie: on a point or the centre line of another run, else on the grid.
fn run_end(canvas: &Canvas<'_>, session: &Session, drag: &Drag, snap: Snap, wanted: DVec2) -> Aid {
    let Dragged::RunPoint { run, .. } = drag.what else {
        return plain(snap.point(session.document(), wanted));
    };
    let mut others = Project::clone(session.before_gesture());
    others.part.runs.remove(&run);
    if snap == Snap::OFF {
        return plain(snap.point(&others, wanted));
    }
    let reach_mm = canvas.camera.mm(MAGNET);
    let point = run_point(session, Some(run), wanted, reach_mm);
    point.unwrap_or_else(|| plain(Snap { magnet_mm: reach_mm, ..snap }.point(&others, wanted)))
}

/// The feature, gate or ejector that is dragged, if it is the only thing.
fn alone(project: &Project, drag: &Drag) -> Option<Round> {
    let Dragged::Items { ids, magnet: true } = &drag.what else { return None };
    let [id] = ids[..] else { return None };
    Round::of(project, id)
}

/// A snapped point without anything to show why.
const fn plain(snapped: Snapped) -> Aid {
    Aid { at: snapped.at, to: snapped.to, guide: None }
}

/// How points snap now; not at all while Alt is down.
fn snap(canvas: &Canvas<'_>, view: &ViewState, magnet_mm: f64) -> Snap {
    if !view.snapping || canvas.ui.input(|input| input.modifiers.alt) {
        return Snap::OFF;
    }
    Snap { grid_mm: Some(view.grid_mm), magnet_mm }
}

/// Empty ground and the channel: placing, selecting a run, selecting nothing, fitting the view.
pub(super) fn background_ui(
    canvas: &Canvas<'_>,
    background: &Response,
    session: &Session,
    view: &mut ViewState,
    actions: &mut Vec<Action>,
) {
    let project = session.document();
    if view.tool.draws() {
        return;
    }
    let pointed = background.interact_pointer_pos().or(background.hover_pos());
    let place = pointed.map(|at| canvas.camera.to_plan(canvas.rect, at));
    if view.tool != Tool::Select {
        view.snapped = place.map(|wanted| where_to_place(project, view, wanted, canvas.camera.mm(MAGNET)));
    } else if view.drag.is_none() {
        view.snapped = None;
    }
    let space = canvas.ui.input(|input| input.key_down(Key::Space));
    if noting::noting(session, view).is_some() {
        if let Some(at) = place.filter(|_| background.clicked() && !space) {
            actions.extend(noting::ground_clicked(session, view, at));
        }
        return;
    }
    if view.tool == Tool::Select {
        box_ui(canvas, background, session, view, space, actions);
        if let Some(at) = place.filter(|_| background.secondary_clicked()) {
            let on = run_at(project, at).map_or(MenuFor::Ground, MenuFor::Item);
            menu_at(canvas, session, view, on, pointed, actions);
        }
    }
    if background.double_clicked() {
        let on_run = place.and_then(|at| Some((run_at(project, at)?, at)));
        actions.push(Action::Command(match on_run.filter(|_| view.tool == Tool::Select) {
            Some((run, at)) => Command::Arrange(Arrange::InsertPoint { run, at }),
            None => Command::Fit,
        }));
    } else if background.clicked() && !space {
        let Some(place) = place else { return };
        view.spotlight = None;
        if view.tool != Tool::Select {
            actions.push(Action::Place(view.tool, place));
            return;
        }
        let shift = canvas.ui.input(|input| input.modifiers.shift || input.modifiers.command);
        match (run_at(project, place), shift) {
            (Some(run), true) => actions.push(Action::Toggle(run)),
            (Some(run), false) => {
                actions.push(Action::Select(vec![run]));
                if view.strip == crate::view::Strip::Section {
                    view.section_at = Some((place, std::collections::BTreeSet::from([run])));
                }
            }
            (None, true) => {}
            (None, false) => actions.push(Action::Select(Vec::new())),
        }
    }
}

/// The run whose channel covers a place.
pub(super) fn run_at(project: &Project, place: DVec2) -> Option<Id> {
    let covers = |run| nearest_on_run(run, place).is_some_and(|on| on.distance_mm <= on.width_mm / 2.0);
    project.part.runs.iter().find(|(_, run)| covers(run)).map(|(id, _)| *id)
}

/// Where a new item comes to lie if the user points at `wanted`: pins, gates and ejectors in mid-channel, where
/// one of the places that a dragged pin jumps to is near there, vents on the channel's edge; outside the reach
/// of a channel on the grid.
pub(crate) fn where_to_place(project: &Project, view: &ViewState, wanted: DVec2, magnet_mm: f64) -> Aid {
    let nearest = project
        .part
        .runs
        .iter()
        .filter_map(|(&id, run)| Some((id, nearest_on_run(run, wanted)?)))
        .min_by(|left, right| left.1.distance_mm.total_cmp(&right.1.distance_mm));
    let reach = nearest.map_or(0.0, |(_, on)| on.width_mm / 2.0 + magnet_mm);
    if view.tool == Tool::Note {
        return Aid { at: (wanted * 100.0).round() / 100.0, to: SnapTo::Nothing, guide: None };
    }
    if view.tool == Tool::Vent {
        if let Some((id, on)) = nearest.filter(|(_, on)| on.distance_mm <= 2.0 * reach) {
            let snap = Snap { grid_mm: Some(view.grid_mm), magnet_mm: 2.0 * reach };
            let foot = if view.snapping { snap.point(project, wanted).at } else { on.at };
            // Beyond the end of a run the vent leads on along it.
            let beyond = wanted - on.at;
            let foot = if (foot - on.at).dot(beyond).abs() < 1e-9 { foot } else { on.at };
            let outwards = beyond.normalize_or(DVec2::Y);
            let edge = foot + outwards * (on.width_mm / 2.0);
            // A millionth of a millimetre is nothing to cut, but a long number to read.
            let at = (edge * 1e6).round() / 1e6;
            return Aid { at, to: SnapTo::CentreLine(id), guide: None };
        }
        return Aid { at: wanted, to: SnapTo::Nothing, guide: None };
    }
    if view.snapping
        && let Some(new) = new_round(project, view.tool)
    {
        let near = keepside_session::places(project, new, view.from_gate_mm, wanted);
        let near = near.into_iter().filter(|aid| aid.at.distance(wanted) <= magnet_mm);
        let nearest = near.min_by(|a, b| a.at.distance(wanted).total_cmp(&b.at.distance(wanted)));
        if let Some(aid) = nearest {
            return aid;
        }
    }
    let grid_mm = view.snapping.then_some(view.grid_mm);
    plain(Snap { grid_mm, magnet_mm: reach }.point(project, wanted))
}

/// What the tool would add, as something round.
fn new_round(project: &Project, tool: Tool) -> Option<Round> {
    let id = project.free_id();
    match new_item(project, tool, DVec2::ZERO)? {
        Item::Feature(feature) => {
            Some(Round { id, half: feature.half, radius_mm: 0.5 * plan_diameter_mm(&feature.kind) })
        }
        Item::Sprue(sprue) => Some(Round { id, half: sprue.half, radius_mm: 0.5 * sprue.diameter_mm }),
        Item::Ejector(pin) => Some(Round { id, half: Half::Moving, radius_mm: 0.5 * pin.diameter_mm }),
        Item::Run(_) | Item::Vent(_) | Item::Hole(_) | Item::Note(_) => None,
    }
}
