//! The plan: the parting plane as seen on the moving half's face, true to scale.

mod crowd;
mod dimension;
mod drawing;
mod ejector;
mod filling;
mod gaps;
mod ghost;
mod ground;
mod handles;
mod interact;
mod items;
mod linked;
mod menu;
mod note;
mod noting;
pub(crate) mod part;
mod ruler;
mod selection_box;
mod steel;

use egui::{Key, PointerButton, Rect, Response, Role, Sense, Ui, WidgetInfo};
use glam::DVec2;
use keepside_model::{ItemKind, Project};
use keepside_session::Session;

use crate::action::Action;
use crate::camera::Camera;
use crate::look::Palette;
use crate::view::{Tool, ViewState};

pub(crate) use drawing::aim;
pub(crate) use interact::where_to_place;
pub(crate) use items::{hold_of, name_of};
pub(crate) use menu::open_menu;
pub(crate) use noting::noting;

/// The drawing area while one frame is drawn.
pub(crate) struct Canvas<'a> {
    pub(crate) ui: &'a Ui,
    pub(crate) painter: egui::Painter,
    pub(crate) rect: Rect,
    pub(crate) camera: Camera,
    pub(crate) palette: &'static Palette,
    pub(crate) crowd: crowd::Crowd,
}

impl Canvas<'_> {
    /// Whether something of this radius in points shows in the view, with its tag and marks.
    pub(crate) fn sees(&self, at: egui::Pos2, radius: f32) -> bool {
        crowd::reach(self.rect, radius).contains(at)
    }

    /// Place on the screen of a point of the plan.
    pub(crate) fn at(&self, point: DVec2) -> egui::Pos2 {
        self.camera.to_screen(self.rect, point)
    }
}

/// The plan. Draws the session, returns what the user did.
pub(crate) fn plan_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
    let mut actions = Vec::new();
    let (on_the_way, sense) = (is_passed(ui), Sense::click_and_drag());
    let sense = if on_the_way && view.work.stop.is_some() { sense - Sense::FOCUSABLE } else { sense };
    let background = ui.allocate_response(ui.available_size(), sense);
    background.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, "Plan"));
    let rect = background.rect;
    let project = session.document();
    // A view that nobody has moved since it was fitted is fitted again when the window changes.
    if view.fitted_to.is_some_and(|size| size != rect.size()) {
        view.camera = None;
    }
    let mut camera = match view.camera {
        Some(camera) => camera,
        None => fit(project, rect),
    };
    if view.camera.is_none() {
        view.fitted_to = Some(rect.size());
    }
    navigate(ui, &background, &mut camera, view, Ground::Selects);
    view.plan_rect = Some(rect);
    // Over an item as well: it lies on the ground.
    let hovered = ui.input(|input| input.pointer.hover_pos()).filter(|_| ui.rect_contains_pointer(rect));
    view.pointer = hovered.map(|at| camera.to_plan(rect, at));

    let crowd = crowd::Crowd::new(session, camera, rect);
    let canvas = Canvas { ui, painter: ui.painter_at(rect), rect, camera, palette: Palette::of(ui), crowd };
    ground::draw(&canvas, project, view);
    part::draw(&canvas, session, view);
    noting::draw(&canvas, session, view);
    ghost::draw(&canvas, view);
    items::draw(&canvas, session);
    gaps::draw(&canvas, session, view);
    dimension::draw(&canvas, session, view);
    if !view.fills() {
        linked::forces(&canvas, session, view);
    }
    if view.fills() {
        filling::legend(&canvas, session);
    } else {
        part::legend(&canvas, session, view);
    }
    ground::scale_bar(&canvas);
    note::notes_ui(&canvas, session, &mut actions);
    filling::marks_ui(&canvas, session, view, &mut actions);
    interact::items_ui(&canvas, &background, session, view, &mut actions);
    interact::background_ui(&canvas, &background, session, view, &mut actions);
    ghost::preview(&canvas, session, view);
    noting::draw_over(&canvas, session, view);
    linked::section_line(&canvas, session, view);
    linked::cursor(&canvas, session, view);
    ruler::draw(&canvas, view);
    drawing::drawing_ui(&canvas, &background, session, view, &mut actions);
    drawing::repeat_preview(&canvas, session, view);
    menu::menu_ui(&canvas, session, view, &mut actions);
    if on_the_way {
        // What was passed over can be given the keyboard again.
        ui.request_repaint();
    } else {
        // Backwards from the first thing in the window Tab comes to the plan, and not to the last thing on it.
        ui.memory_mut(|memory| memory.interested_in_focus(background.id, ui.layer_id()));
    }
    if view.tool != Tool::Select && background.contains_pointer() {
        ui.set_cursor_icon(egui::CursorIcon::Crosshair);
    }
    actions
}

/// Whether Tab is on its way through the window.
fn is_passed(ui: &Ui) -> bool {
    ui.input(|input| input.key_pressed(Key::Tab))
}

/// How a thing on the plan can be acted on. To Tab the plan is one stop: it leads on from whatever has the
/// keyboard there, and passes over all else.
pub(super) fn sense_of(ui: &Ui, id: egui::Id, sense: Sense) -> Sense {
    let has_focus = ui.memory(|memory| memory.has_focus(id));
    if is_passed(ui) && !has_focus { sense - Sense::FOCUSABLE } else { sense }
}

/// Where everything on the plan is on the screen, one item a line: name, x and y of its middle in
/// pixels of the window, and pixels per millimetre; tabs between.
pub(crate) fn places(project: &Project, camera: Camera, rect: Rect, pixels_per_point: f32) -> String {
    let line = |id| {
        let at = camera.to_screen(rect, project.place(id)?) * pixels_per_point;
        let scale = camera.px_per_mm * f64::from(pixels_per_point);
        Some(format!("{}\t{:.2}\t{:.2}\t{scale:.5}\n", name_of(project, id), at.x, at.y))
    };
    project.ids().into_iter().filter_map(line).collect()
}

/// The view in which the plates, and everything that lies outside them, are seen whole.
pub(crate) fn fit(project: &Project, rect: Rect) -> Camera {
    let mut low = DVec2::ZERO;
    let mut high = DVec2::new(project.plates.width_mm, project.plates.height_mm);
    for id in project.ids() {
        let places: Vec<DVec2> = match project.kind(id) {
            Some(ItemKind::Run) => {
                project.part.runs.get(&id).map_or(&[][..], |run| &run.points).iter().map(|p| p.at).collect()
            }
            _ => project.place(id).into_iter().collect(),
        };
        for place in places {
            low = low.min(place);
            high = high.max(place);
        }
    }
    Camera::fit(low, high, rect.size())
}

/// What a drag of the main button on empty ground does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ground {
    Pans,
    Selects,
}

/// Zoom about the pointer with the wheel; pan with the middle or the right button, with any button while the
/// space bar is down, and, where the ground does nothing else, with the main button.
pub(crate) fn navigate(
    ui: &Ui,
    background: &Response,
    camera: &mut Camera,
    view: &mut ViewState,
    ground: Ground,
) {
    let (scroll, pinch, space) =
        ui.input(|input| (input.smooth_scroll_delta(), input.zoom_delta(), input.key_down(Key::Space)));
    // Over an item as well: it lies on the ground.
    let hovered = ui.input(|input| input.pointer.hover_pos());
    if let Some(at) = hovered.filter(|_| ui.rect_contains_pointer(background.rect)) {
        let factor = f64::from((scroll.y * 0.004).exp() * pinch);
        if factor != 1.0 {
            camera.zoom_about(background.rect, at, factor);
        }
        if scroll.x != 0.0 {
            camera.pan(egui::vec2(scroll.x, 0.0));
        }
    }
    let middle =
        background.dragged_by(PointerButton::Middle) || background.dragged_by(PointerButton::Secondary);
    let free = ground == Ground::Pans && background.dragged_by(PointerButton::Primary) && view.drag.is_none();
    if middle || free || (space && background.dragged()) {
        // The first move of a drag holds what was needed to tell it from a click.
        let by = if background.drag_started() { background.total_drag_delta() } else { None };
        camera.pan(by.unwrap_or_else(|| background.drag_delta()));
    }
    if view.camera.is_some_and(|before| before != *camera) {
        view.fitted_to = None;
    }
    view.camera = Some(*camera);
}
