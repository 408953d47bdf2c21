//! Rulers along the upper and the left edge of the plan, with marks where the pointer is.

use egui::{Align2, FontId, Rect, Stroke, pos2, vec2};
use glam::DVec2;

use super::Canvas;
use crate::units::Unit;
use crate::view::ViewState;

/// Width of a ruler, points.
pub(super) const RULER_PX: f32 = 17.0;

/// Numbers are at least this far apart, points.
const NUMBER_PX: f32 = 46.0;

/// Both rulers.
pub(super) fn draw(canvas: &Canvas<'_>, view: &ViewState) {
    let Canvas { painter, rect, palette, camera, .. } = canvas;
    let unit = Unit::of(canvas.ui);
    let step_mm = unit.round_step_mm(camera.mm(NUMBER_PX));
    let (top, left) = (
        Rect::from_min_size(rect.min, vec2(rect.width(), RULER_PX)),
        Rect::from_min_size(rect.min, vec2(RULER_PX, rect.height())),
    );
    let edge = Stroke::new(1.0, palette.rule);
    for ruler in [top, left] {
        painter.rect_filled(ruler, 0.0, palette.band);
    }
    painter.line_segment([top.left_bottom(), top.right_bottom()], edge);
    painter.line_segment([left.right_top(), left.right_bottom()], edge);
    let (low, high) = (camera.to_plan(*rect, rect.left_bottom()), camera.to_plan(*rect, rect.right_top()));
    let mark = Stroke::new(1.0, palette.ink_soft);
    let font = FontId::proportional(9.5);
    for (small, at_mm) in marks(low.x, high.x, step_mm) {
        let x = canvas.at(DVec2::new(at_mm, 0.0)).x;
        if x < rect.left() + RULER_PX {
            continue;
        }
        painter.line_segment(
            [pos2(x, top.bottom() - if small { 4.0 } else { 8.0 }), pos2(x, top.bottom())],
            mark,
        );
        if !small {
            let at = pos2(x + 2.5, top.top() + 1.0);
            painter.text(at, Align2::LEFT_TOP, unit.plain(at_mm), font.clone(), palette.ink);
        }
    }
    for (small, at_mm) in marks(low.y, high.y, step_mm) {
        let y = canvas.at(DVec2::new(0.0, at_mm)).y;
        if y < rect.top() + RULER_PX {
            continue;
        }
        painter.line_segment(
            [pos2(left.right() - if small { 4.0 } else { 8.0 }, y), pos2(left.right(), y)],
            mark,
        );
        if !small {
            // Read from the right, so that a long number has room.
            let galley = painter.layout_no_wrap(unit.plain(at_mm), font.clone(), palette.ink);
            let corner = pos2(left.left() + 1.0, y - 2.5);
            let turned = egui::epaint::TextShape::new(corner, galley, palette.ink);
            painter.add(turned.with_angle(-std::f32::consts::FRAC_PI_2));
        }
    }
    painter.rect_filled(Rect::from_min_size(rect.min, vec2(RULER_PX, RULER_PX)), 0.0, palette.band);
    painter.text(
        rect.min + vec2(RULER_PX, RULER_PX) / 2.0,
        Align2::CENTER_CENTER,
        unit.word(),
        FontId::proportional(9.0),
        palette.ink,
    );
    if let Some(place) = view.pointer.or(view.linked) {
        let at = canvas.at(place);
        let pointer = Stroke::new(1.5, palette.accent);
        if at.x > rect.left() + RULER_PX {
            painter.line_segment([pos2(at.x, top.top()), pos2(at.x, top.bottom())], pointer);
        }
        if at.y > rect.top() + RULER_PX {
            painter.line_segment([pos2(left.left(), at.y), pos2(left.right(), at.y)], pointer);
        }
    }
}

/// Where marks stand, mm, and whether they are small ones: five to a number.
fn marks(low_mm: f64, high_mm: f64, step_mm: f64) -> Vec<(bool, f64)> {
    let small_mm = step_mm / 5.0;
    let mut all = Vec::new();
    let mut count = (low_mm / small_mm).ceil();
    while count * small_mm <= high_mm {
        all.push((count % 5.0 != 0.0, count * small_mm));
        count += 1.0;
    }
    all
}

#[cfg(test)]
mod tests {
    use super::marks;

    #[test]
    fn there_are_five_small_steps_to_a_number() {
        let all = marks(-3.0, 11.0, 10.0);
        let numbers: Vec<f64> = all.iter().filter(|(small, _)| !small).map(|(_, at_mm)| *at_mm).collect();
        assert_eq!(numbers, [0.0, 10.0]);
        assert_eq!(all.len(), 7, "{all:?}");
    }
}
