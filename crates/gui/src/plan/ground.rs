//! What lies under the part in the plan: plates, grid, origin; and the scale bar.

use egui::{Align2, FontId, Stroke, StrokeKind, pos2};
use glam::DVec2;
use keepside_model::Project;

use super::Canvas;
use crate::units::Unit;
use crate::view::ViewState;

/// Plate, grid and origin.
pub(super) fn draw(canvas: &Canvas<'_>, project: &Project, view: &ViewState) {
    let Canvas { painter, rect, palette, .. } = canvas;
    painter.rect_filled(*rect, 0.0, palette.canvas);
    let plate = egui::Rect::from_two_pos(
        canvas.at(DVec2::ZERO),
        canvas.at(DVec2::new(project.plates.width_mm, project.plates.height_mm)),
    );
    painter.rect_filled(plate, 3.0, palette.plate);
    grid(canvas, plate.intersect(*rect), view.grid_mm);
    painter.rect_stroke(plate, 3.0, Stroke::new(1.5, palette.plate_edge), StrokeKind::Middle);

    // The datum: lower left corner of the moving plate.
    let origin = canvas.at(DVec2::ZERO);
    let stroke = Stroke::new(1.5, palette.accent);
    painter.line_segment([origin, origin + egui::vec2(26.0, 0.0)], stroke);
    painter.line_segment([origin, origin - egui::vec2(0.0, 26.0)], stroke);
    painter.circle_filled(origin, 3.0, palette.accent);
    let font = FontId::proportional(10.5);
    painter.text(origin + egui::vec2(28.0, -2.0), Align2::LEFT_BOTTOM, "x", font.clone(), palette.ink_soft);
    painter.text(origin + egui::vec2(3.0, -28.0), Align2::LEFT_BOTTOM, "y", font.clone(), palette.ink_soft);
    painter.text(
        plate.left_top() + egui::vec2(2.0, -3.0),
        Align2::LEFT_BOTTOM,
        format!(
            "plates {} × {}",
            Unit::of(canvas.ui).plain(project.plates.width_mm),
            Unit::of(canvas.ui).short(project.plates.height_mm)
        ),
        font,
        palette.ink_soft,
    );
}

/// Grid lines: never nearer together than 8 points, every tenth stronger; multiples of the snapping
/// step where they would be as dense.
fn grid(canvas: &Canvas<'_>, area: egui::Rect, snap_mm: f64) {
    if !area.is_positive() {
        return;
    }
    let adapted = canvas.camera.grid_step_mm(8.0);
    let step_mm = if snap_mm > adapted { snap_mm } else { adapted };
    let low = canvas.camera.to_plan(canvas.rect, area.left_bottom());
    let high = canvas.camera.to_plan(canvas.rect, area.right_top());
    for (strong, step) in [(false, step_mm), (true, 10.0 * step_mm)] {
        let colour = if strong { canvas.palette.grid_strong } else { canvas.palette.grid };
        let stroke = Stroke::new(1.0, colour);
        let mut x = (low.x / step).ceil();
        while x * step <= high.x {
            let px = canvas.at(DVec2::new(x * step, 0.0)).x;
            canvas.painter.line_segment([pos2(px, area.top()), pos2(px, area.bottom())], stroke);
            x += 1.0;
        }
        let mut y = (low.y / step).ceil();
        while y * step <= high.y {
            let px = canvas.at(DVec2::new(0.0, y * step)).y;
            canvas.painter.line_segment([pos2(area.left(), px), pos2(area.right(), px)], stroke);
            y += 1.0;
        }
    }
}

/// A bar of a round length in the lower left corner.
pub(super) fn scale_bar(canvas: &Canvas<'_>) {
    let unit = Unit::of(canvas.ui);
    let length_mm = unit.round_step_mm(canvas.camera.mm(60.0));
    let from = canvas.rect.left_bottom() + egui::vec2(12.0 + super::ruler::RULER_PX, -10.0);
    let to = from + egui::vec2(canvas.camera.px(length_mm), 0.0);
    let stroke = Stroke::new(1.5, canvas.palette.ink_soft);
    canvas.painter.line_segment([from, to], stroke);
    for end in [from, to] {
        canvas.painter.line_segment([end - egui::vec2(0.0, 4.0), end + egui::vec2(0.0, 4.0)], stroke);
    }
    canvas.painter.text(
        to + egui::vec2(7.0, 0.0),
        Align2::LEFT_CENTER,
        unit.short(length_mm),
        FontId::proportional(10.5),
        canvas.palette.ink_soft,
    );
}
