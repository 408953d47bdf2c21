//! The pinned layout under the open one: its outline, pins, gates and ejectors, broken and thin.

use egui::{Align2, FontId, Shape, Stroke};
use glam::DVec2;
use keepside_engine::outline::plan_diameter_mm;

use super::{Canvas, part};
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
