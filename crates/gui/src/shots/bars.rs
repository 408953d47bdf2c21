//! Shares as bars, and a share with what it may be.

use egui::{Color32, Rect, Sense, Stroke, Ui, pos2, vec2};

use crate::look::Palette;

/// Height of a bar, points.
const BAR_PX: f32 = 10.0;

/// A share as a bar, as wide as there is room.
pub(super) fn bar_ui(ui: &mut Ui, share: f64, ink: Color32) {
    let palette = Palette::of(ui);
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width().max(30.0), BAR_PX), Sense::hover());
    ui.painter().rect_filled(rect, 2.0, palette.band);
    let filled = Rect::from_min_max(rect.min, pos2(along(rect, share), rect.max.y));
    ui.painter().rect_filled(filled, 2.0, ink);
}

/// A share on a line from 0 to 100: the wide band is what it may be, the narrow one how well it is counted.
pub(super) fn scale_ui(ui: &mut Ui, share: f64, counted: (f64, f64), wide: Option<(f64, f64)>, ink: Color32) {
    let palette = Palette::of(ui);
    let (all, _) = ui.allocate_exact_size(vec2(ui.available_width().max(60.0), 40.0), Sense::hover());
    let line = Rect::from_center_size(pos2(all.center().x, all.top() + 12.0), vec2(all.width() - 16.0, 14.0));
    let painter = ui.painter();
    painter.rect_filled(line, 2.0, palette.band);
    let band = |(low, high): (f64, f64), height: f32| {
        let (left, right) = (along(line, low), along(line, high));
        let right = right.max(left + 2.0);
        Rect::from_min_max(
            pos2(left, line.center().y - height / 2.0),
            pos2(right, line.center().y + height / 2.0),
        )
    };
    if let Some(wide) = wide {
        painter.rect_filled(band(wide, 14.0), 2.0, ink.gamma_multiply(0.35));
    }
    painter.rect_filled(band(counted, 6.0), 1.0, ink);
    let at = along(line, share);
    let mark = Stroke::new(2.5, palette.ink);
    painter.line_segment([pos2(at, line.top() - 4.0), pos2(at, line.bottom() + 4.0)], mark);
    for tick in [0.0, 0.25, 0.5, 0.75, 1.0] {
        let x = along(line, tick);
        painter.line_segment(
            [pos2(x, line.bottom()), pos2(x, line.bottom() + 3.0)],
            Stroke::new(1.0, palette.rule),
        );
        let font = egui::FontId::proportional(10.0);
        let words = format!("{:.0}", 100.0 * tick);
        painter.text(pos2(x, line.bottom() + 4.0), egui::Align2::CENTER_TOP, words, font, palette.ink_soft);
    }
}

/// Where a share stands along a bar.
fn along(rect: Rect, share: f64) -> f32 {
    #[expect(clippy::cast_possible_truncation, reason = "0 to 1")]
    let share = share.clamp(0.0, 1.0) as f32;
    rect.left() + rect.width() * share
}
