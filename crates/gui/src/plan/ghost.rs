//! The pinned layout under the open one: its outline, pins, gates and ejectors, broken and thin.

use egui::{Align2, FontId, Shape, Stroke};
use glam::DVec2;
use keepside_engine::outline::plan_diameter_mm;
use keepside_model::{Id, Item, Project};
use keepside_session::Session;

use super::{Canvas, part};
use crate::shots::Page;
use crate::view::ViewState;

/// Corners of a circle that is drawn broken.
const CORNERS: u8 = 32;

/// Everything of the pinned layout.
pub(super) fn draw(canvas: &Canvas<'_>, view: &ViewState) {
    let Some(pinned) = view.pinned.as_ref().filter(|_| view.show_pinned) else { return };
    let stroke = Stroke::new(1.4, canvas.palette.ink_soft);
    let mut top: Option<egui::Pos2> = None;
    for ring in &pinned.outline.rings {
        let mut points: Vec<egui::Pos2> =
            part::ring_points(ring).into_iter().map(|at| canvas.at(at)).collect();
        points.extend(points.first().copied());
        for point in &points {
            if top.is_none_or(|top| point.y < top.y) {
                top = Some(*point);
            }
        }
        canvas.painter.extend(Shape::dashed_line(&points, stroke, 7.0, 5.0));
    }
    let project = &pinned.project;
    let pins = project.features.values().map(|pin| (pin.at, plan_diameter_mm(&pin.kind)));
    let sprues = project.sprues.values().map(|sprue| (sprue.at, sprue.diameter_mm));
    let ejectors = project.ejectors.values().map(|pin| (pin.at, pin.diameter_mm));
    for (at, diameter_mm) in pins.chain(sprues).chain(ejectors) {
        canvas.painter.extend(Shape::dashed_line(&circle(canvas, at, diameter_mm / 2.0), stroke, 4.0, 3.0));
    }
    if let Some(top) = top {
        let words = format!("A, {}", pinned.name);
        let at = top - egui::vec2(0.0, 24.0);
        let font = FontId::proportional(11.0);
        super::dimension::plate_label(
            canvas,
            at,
            Align2::CENTER_BOTTOM,
            &words,
            font,
            canvas.palette.ink_soft,
        );
    }
}

fn circle(canvas: &Canvas<'_>, centre: DVec2, radius_mm: f64) -> Vec<egui::Pos2> {
    let at = |corner: u8| {
        let angle = f64::from(corner) / f64::from(CORNERS) * std::f64::consts::TAU;
        canvas.at(centre + DVec2::from_angle(angle) * radius_mm)
    };
    (0..=CORNERS).map(at).collect()
}

/// A suggested layout over the open one: what it adds or changes, and crosses over what it takes away.
pub(super) fn preview(canvas: &Canvas<'_>, session: &Session, view: &ViewState) {
    let (now, shots) = (session.document(), &view.shots);
    let shown = shots.preview.as_ref().filter(|preview| preview.is_of(now));
    let Some(preview) = shown.filter(|_| shots.page == Some(Page::Suggestions)) else { return };
    let accent = Stroke::new(2.6, canvas.palette.accent);
    let thin = Stroke::new(1.4, canvas.palette.accent);
    let is_outline_new = session.results().layout().is_none_or(|layout| layout.outline != preview.outline);
    for ring in preview.outline.rings.iter().filter(|_| is_outline_new) {
        let mut points: Vec<egui::Pos2> =
            part::ring_points(ring).into_iter().map(|at| canvas.at(at)).collect();
        points.extend(points.first().copied());
        canvas.painter.extend(Shape::dashed_line(&points, thin, 7.0, 5.0));
    }
    for id in preview.project.ids() {
        let item = preview.project.item(id);
        if item == now.item(id) {
            continue;
        }
        if let Some((at, radius_mm)) = item.as_ref().and_then(round) {
            let ring = circle(canvas, at, radius_mm);
            canvas.painter.add(Shape::convex_polygon(ring, accent.color.gamma_multiply(0.25), accent));
            // It may lie under a gate: a second ring shows it all the same.
            let halo = canvas.camera.px(radius_mm).max(6.0) + 5.0;
            canvas.painter.circle_stroke(canvas.at(at), halo, thin);
            if let Some(from) = now.place(id).filter(|from| from.distance(at) > 0.01) {
                canvas.painter.arrow(canvas.at(from), canvas.at(at) - canvas.at(from), thin);
            }
        }
    }
    for id in now.ids().into_iter().filter(|id| preview.project.item(*id).is_none()) {
        crossed(canvas, now, id);
    }
}

/// Where something round stands, and its radius, mm.
fn round(item: &Item) -> Option<(DVec2, f64)> {
    match item {
        Item::Sprue(sprue) => Some((sprue.at, 0.5 * sprue.diameter_mm)),
        Item::Feature(pin) => Some((pin.at, 0.5 * plan_diameter_mm(&pin.kind))),
        Item::Ejector(pin) => Some((pin.at, 0.5 * pin.diameter_mm)),
        Item::Run(_) | Item::Vent(_) | Item::Hole(_) | Item::Note(_) => None,
    }
}

/// A cross over what is taken away.
fn crossed(canvas: &Canvas<'_>, now: &Project, id: Id) {
    let Some(at) = now.place(id).map(|place| canvas.at(place)) else { return };
    for way in [egui::vec2(9.0, 9.0), egui::vec2(9.0, -9.0)] {
        canvas.painter.line_segment([at - way, at + way], Stroke::new(5.0, canvas.palette.plate));
        canvas.painter.line_segment([at - way, at + way], Stroke::new(2.4, canvas.palette.accent));
    }
}
