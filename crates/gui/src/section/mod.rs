//! The section through the selected keying feature or ejector, true to scale, and beside it what its hold
//! gives way to.

mod bare;
mod draw;
mod law;
mod measure;
mod place;
mod scene;
mod steel;
mod strip;
#[cfg(test)]
mod svg;
#[cfg(test)]
mod tests;

use egui::{CursorIcon, Id as UiId, Rect, RichText, Role, Sense, Ui, WidgetInfo, pos2, vec2};
use keepside_engine::outline;
use keepside_model::{Edit, Id, Item, Project, bounds};
use keepside_session::Session;

use crate::action::Action;
use crate::elevation::{note, sentence};
use crate::look::Palette;
use crate::panels::PROTRUSION_STEP_MM;
use crate::units::Unit;
use crate::view::{SectionScope, ViewState};
use draw::Frame;
use measure::Shown;
pub(crate) use place::{go_along, go_to, place};
use scene::Scene;

pub(crate) use law::Kept as KeptLaw;

/// Step of the protrusion while it is dragged with Alt, mm.
const FINE_STEP_MM: f64 = 0.01;

/// How near to the cut's line the pointer on the plan counts, points.
const NEAR_CUT_PX: f32 = 10.0;

/// Height of the title, points.
const TITLE_PX: f32 = 20.0;

/// Width of what is said of the hold, points: a share of the room within these bounds.
const LAW_PX: (f32, f32) = (290.0, 420.0);

/// The selected feature or ejector, if just one is selected.
pub(crate) fn subject(session: &Session) -> Option<Id> {
    let [id] = session.selection().iter().copied().collect::<Vec<_>>()[..] else { return None };
    let project = session.document();
    (project.features.contains_key(&id) || project.ejectors.contains_key(&id)).then_some(id)
}

/// What is shown of the section, as controls.
pub(crate) fn controls_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) {
    for (scope, name) in [(SectionScope::Near, "Near the channel"), (SectionScope::Whole, "Whole plates")] {
        ui.selectable_value(&mut view.section_scope, scope, name);
    }
    ui.separator();
    place::place_ui(ui, session, view);
}

/// The drawing and what is said of the hold.
pub(crate) fn section_ui(ui: &mut Ui, session: &Session, view: &mut ViewState, room: Rect) -> Vec<Action> {
    let palette = Palette::of(ui);
    let project = session.document();
    let outline = match session.results().layout() {
        Some(layout) => &layout.outline,
        None => &outline::of(project),
    };
    let scene = match place::through_item(session, view) {
        Some(id) => scene::scene(project, outline, id),
        None => place::place(session, view).and_then(|place| scene::bare(project, outline, place.at)),
    };
    let Some(scene) = scene else {
        nothing_ui(ui, session, room, palette);
        return Vec::new();
    };
    let law_px = (room.width() * 0.42).clamp(LAW_PX.0, LAW_PX.1).min(room.width() * 0.6);
    let drawing = room.with_max_x(room.right() - law_px);
    let beside = room.with_min_x(drawing.right());
    let actions = drawing_ui(ui, session, view, &scene, drawing);
    let mut inner = ui.new_child(egui::UiBuilder::new().max_rect(beside));
    inner.set_clip_rect(beside);
    inner.painter().rect_filled(beside, 0.0, palette.panel);
    match scene.id {
        Some(id) => {
            let law = view.law.law(session, outline, id);
            law::law_ui(&mut inner, project, law.as_deref());
        }
        None => bare::bare_ui(&mut inner, session, view, scene.origin.0),
    }
    actions
}

fn nothing_ui(ui: &mut Ui, session: &Session, room: Rect, palette: &Palette) {
    let words = match subject(session) {
        Some(id) => format!("{} stands in no channel", session.document().tag(id)),
        None => "There is no channel to cut through".to_owned(),
    };
    ui.painter().rect_filled(room, 0.0, palette.canvas);
    let mut inner = ui.new_child(egui::UiBuilder::new().max_rect(room.shrink(24.0)));
    inner.centered_and_justified(|ui| {
        ui.add(egui::Label::new(RichText::new(words).color(palette.ink_soft)).wrap());
    });
}

/// The drawing itself, with a handle to pull the item out or push it in.
fn drawing_ui(
    ui: &mut Ui,
    session: &Session,
    view: &mut ViewState,
    scene: &Scene,
    rect: Rect,
) -> Vec<Action> {
    let palette = Palette::of(ui);
    let response = ui.interact(rect, ui.make_persistent_id("section"), Sense::hover());
    let (window, shown) = match view.section_scope {
        SectionScope::Near => (scene.near, Shown::Near),
        SectionScope::Whole => (scene.whole, Shown::Whole),
    };
    // The title stands over it.
    let frame = Frame::fit(rect.with_min_y(rect.top() + TITLE_PX), window);
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, 0.0, palette.canvas);
    draw::draw(&painter, palette, scene, &frame, shown);
    labels(&painter, palette, session.document(), scene, &frame, rect);
    cursor(ui, &response, view, scene, &frame, palette);
    let actions = handle_ui(ui, session, scene, &frame, palette);
    let words = words(scene);
    response.widget_info(|| WidgetInfo {
        current_text_value: Some(words.clone()),
        ..WidgetInfo::labeled(Role::Canvas, true, "Section")
    });
    actions
}

/// The cursor that the section shares with the plan: where the pointer is across the channel and over the
/// parting plane.
fn cursor(
    ui: &Ui,
    response: &egui::Response,
    view: &mut ViewState,
    scene: &Scene,
    frame: &Frame,
    palette: &Palette,
) {
    let painter = ui.painter_at(frame.rect);
    let stroke = egui::Stroke::new(1.0, palette.accent);
    let (origin, right) = scene.origin;
    if let Some(at) = response.hover_pos().filter(|at| frame.rect.contains(*at)) {
        let (across_mm, height_mm) = (frame.across_mm(at.x), frame.height_mm(at.y));
        view.linked = Some(origin + right * across_mm);
        let unit = Unit::of(ui);
        let side = if across_mm < 0.0 { "left" } else { "right" };
        let over = if height_mm < 0.0 { "below" } else { "above" };
        let words = format!(
            "{} {side} of the middle, {} {over} the parting plane",
            unit.length(across_mm.abs()),
            unit.length(height_mm.abs())
        );
        painter.line_segment([pos2(at.x, frame.rect.top()), pos2(at.x, frame.rect.bottom())], stroke);
        painter.line_segment([pos2(frame.rect.left(), at.y), pos2(frame.rect.right(), at.y)], stroke);
        let below = pos2(at.x, (at.y + 16.0).min(frame.rect.bottom() - 9.0));
        crate::elevation::cursor_label(&painter, palette, frame.rect, below, &words);
    } else if let Some(place) = view.pointer {
        let away = place - origin;
        let (along_mm, across_mm) = (away.dot(right.perp()).abs(), away.dot(right));
        // Only what is pointed at near the cut.
        if along_mm <= view.camera.map_or(0.0, |camera| camera.mm(NEAR_CUT_PX)) {
            let x = frame.at(glam::DVec2::new(across_mm, 0.0)).x;
            painter.line_segment([pos2(x, frame.rect.top()), pos2(x, frame.rect.bottom())], stroke);
        }
    }
}

/// What the drawing says, for those who do not see it.
fn words(scene: &Scene) -> String {
    let sizes = scene.measures.iter().map(measure::Measure::words);
    std::iter::once(scene.title.clone()).chain(sizes).collect::<Vec<_>>().join("; ")
}

/// Which half is which, the title, and the scale.
fn labels(
    painter: &egui::Painter,
    palette: &Palette,
    project: &Project,
    scene: &Scene,
    frame: &Frame,
    rect: Rect,
) {
    let strip = Rect::from_min_size(rect.min, vec2(rect.width(), TITLE_PX - 1.0));
    painter.rect_filled(strip, 0.0, palette.canvas);
    let kind = match scene.id.and_then(|id| project.item(id)) {
        Some(Item::Feature(feature)) => match feature.kind {
            keepside_model::FeatureKind::SetScrew { thread, end } => {
                format!("{} set screw, {}", thread.designation(), end.word())
            }
            keepside_model::FeatureKind::CapHead { thread, .. } => {
                format!("{} cap screw head", thread.designation())
            }
            kind => kind.word().to_owned(),
        },
        Some(Item::Ejector(ejector)) => format!("ejector pin, {} face", ejector.face.word()),
        _ => crate::elevation::place_words(project, scene.origin.0, Unit::of(painter.ctx())),
    };
    let title = sentence(&format!("{}: {kind}", scene.title));
    let at = rect.min + vec2(8.0, 10.0);
    note(painter, at, egui::Align2::LEFT_CENTER, &title, palette.ink);
    let scale = format!("{:.0} : 1 at 96 dots an inch", frame.px_per_mm * 25.4 / 96.0);
    note(painter, pos2(rect.right() - 8.0, at.y), egui::Align2::RIGHT_CENTER, &scale, palette.ink_soft);
    let sides = [
        (keepside_model::Half::Moving, frame.at(scene.whole.1).y.max(strip.bottom()) + 9.0),
        (keepside_model::Half::Fixed, frame.at(scene.whole.0).y.min(rect.bottom()) - 9.0),
    ];
    for (half, y) in sides {
        let galley = painter.layout_no_wrap(
            format!("{} half", half.word()),
            egui::FontId::proportional(11.0),
            palette.half(half),
        );
        let at = pos2(rect.left() + 8.0, y - galley.size().y / 2.0);
        let ground = Rect::from_min_size(at, galley.size()).expand2(vec2(3.0, 0.0));
        painter.rect_filled(ground, 2.0, palette.plate.gamma_multiply(0.9));
        painter.galley(at, galley, palette.half(half));
    }
    if !scene.uncertain.is_empty() {
        let words = format!("not certain: {}", scene.uncertain.join("; "));
        let at = rect.right_bottom() - vec2(8.0, 9.0);
        let galley = painter.layout(
            words,
            egui::FontId::proportional(10.5),
            palette.warning,
            (rect.width() * 0.3).max(120.0),
        );
        let ground = egui::Align2::RIGHT_BOTTOM.anchor_size(at + vec2(0.0, 6.0), galley.size());
        painter.rect_filled(ground.expand2(vec2(3.0, 1.0)), 2.0, palette.plate.gamma_multiply(0.92));
        painter.galley(ground.min, galley, palette.warning);
    }
}

/// The handle on the top of a feature: dragging it sets the protrusion.
fn handle_ui(ui: &Ui, session: &Session, scene: &Scene, frame: &Frame, palette: &Palette) -> Vec<Action> {
    let mut actions = Vec::new();
    let project = session.document();
    let Some(item) = scene.id.filter(|id| project.features.contains_key(id)) else { return actions };
    let at = frame.at(scene.top);
    let rect = Rect::from_center_size(at, vec2(26.0, 18.0));
    if !frame.rect.contains(at) {
        return actions;
    }
    let id = UiId::unique(("section top", item.0));
    let response = ui.interact(rect, id, Sense::drag());
    let name = format!("Top of {}", project.tag(item));
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, name.clone()));
    let grasped = response.hovered() || response.dragged();
    let ink = if grasped { palette.accent } else { palette.ink_soft };
    grip(&ui.painter_at(frame.rect), at, ink, palette);
    if grasped {
        ui.set_cursor_icon(CursorIcon::ResizeVertical);
    }
    let response = response.on_hover_text("Drag to set the protrusion, with Alt in hundredths");
    const LABEL: &str = "change protrusion";
    if response.drag_started() {
        actions.push(Action::Begin(LABEL));
    }
    if let (true, Some(by)) = (response.dragged(), response.total_drag_delta())
        && let Some(before) = session.before_gesture().features.get(&item)
    {
        let step = if ui.input(|input| input.modifiers.alt) { FINE_STEP_MM } else { PROTRUSION_STEP_MM };
        let down_mm = frame.height_mm(0.0) - frame.height_mm(by.y);
        let out_mm = if scene.half == keepside_model::Half::Moving { down_mm } else { -down_mm };
        let wanted_mm = before.protrusion_mm + out_mm;
        let per_mm = step.recip().round();
        let protrusion_mm = ((wanted_mm * per_mm).round() / per_mm).clamp(0.0, bounds::PROTRUSION.max);
        let mut feature = before.clone();
        feature.protrusion_mm = protrusion_mm;
        actions.push(Action::Preview(LABEL, Edit::Set(item, Item::Feature(feature))));
    }
    if response.drag_stopped() {
        actions.push(Action::Commit);
    }
    actions
}

/// Two small arrows, up and down.
fn grip(painter: &egui::Painter, at: egui::Pos2, ink: egui::Color32, palette: &Palette) {
    for way in [-1.0_f32, 1.0] {
        let tip = at + vec2(0.0, 9.0 * way);
        let base = at + vec2(0.0, 3.0 * way);
        let corners = vec![tip, base + vec2(5.0, 0.0), base - vec2(5.0, 0.0)];
        let stroke = egui::Stroke::new(1.0, palette.plate);
        painter.add(egui::Shape::convex_polygon(corners, ink, stroke));
    }
}
