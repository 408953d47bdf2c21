//! Shares as bars, and a share with what it may be.

use egui::{Color32, Rect, RichText, Sense, Stroke, Ui, pos2, vec2};

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
        // The last number stays clear of the panel's edge.
        let (x, anchor) =
            if tick < 1.0 { (x, egui::Align2::CENTER_TOP) } else { (all.right(), egui::Align2::RIGHT_TOP) };
        painter.text(pos2(x, line.bottom() + 4.0), anchor, words, font, palette.ink_soft);
    }
}

/// Where a share stands along a bar.
fn along(rect: Rect, share: f64) -> f32 {
    #[expect(clippy::cast_possible_truncation, reason = "0 to 1")]
    let share = share.clamp(0.0, 1.0) as f32;
    rect.left() + rect.width() * share
}

/// Two ranges on one line, the first above the second, with a mark at the middle of each. Lengths along it are
/// those of the logarithm.
pub(super) fn intervals_ui(ui: &mut Ui, before: ((f64, f64), f64), after: ((f64, f64), f64)) {
    let palette = Palette::of(ui);
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width().max(60.0), 22.0), Sense::hover());
    let numbers = [before.0.0, before.0.1, after.0.0, after.0.1];
    let least = numbers.into_iter().fold(f64::INFINITY, f64::min);
    let most = numbers.into_iter().fold(0.0, f64::max);
    let painter = ui.painter();
    painter.rect_filled(rect, 2.0, palette.band);
    let place = |number: f64| {
        let whole = (most / least).ln();
        let share = if whole > 0.0 { (number / least).ln() / whole } else { 0.5 };
        along(rect.shrink2(vec2(4.0, 0.0)), share)
    };
    let rows = [(before, palette.ink_soft, rect.top() + 6.0), (after, palette.accent, rect.bottom() - 6.0)];
    for (((low, high), middle), ink, y) in rows {
        painter.line_segment([pos2(place(low), y), pos2(place(high), y)], Stroke::new(3.0, ink));
        let mark = Stroke::new(2.5, ink);
        painter.line_segment([pos2(place(middle), y - 4.5), pos2(place(middle), y + 4.5)], mark);
    }
}

/// A layout among others.
pub(super) struct Point {
    /// Number of holes, and what is plotted against it; no number if there is nothing to tell.
    pub(super) at: (f64, f64),
    /// Whether it is enough.
    pub(super) is_marked: bool,
    /// Whether it shows on the plan.
    pub(super) is_chosen: bool,
    /// What it is called.
    pub(super) name: String,
}

/// Layouts by holes and by something else, with a line at what is asked for; the one that was clicked.
pub(super) fn points_ui(
    ui: &mut Ui,
    what: &str,
    points: &[Point],
    wanted: Option<f64>,
    words: impl Fn(f64) -> String,
) -> Option<usize> {
    let palette = Palette::of(ui);
    ui.label(RichText::new(format!("{what}, by number of pins")).small());
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width().max(90.0), 84.0), Sense::hover());
    let field = Rect::from_min_max(rect.min + vec2(46.0, 8.0), rect.max - vec2(10.0, 18.0));
    ui.painter().rect_filled(field.expand(4.0), 2.0, palette.field);
    let most = points.iter().map(|point| point.at.0).fold(1.0, f64::max);
    let values = points.iter().map(|point| point.at.1).chain(wanted);
    let (low, high) =
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), y| (low.min(y), high.max(y)));
    let height = (high - low).max(1e-9);
    let place = |(x, y): (f64, f64)| {
        #[expect(clippy::cast_possible_truncation, reason = "0 to 1")]
        let up = ((y - low) / height).clamp(0.0, 1.0) as f32;
        pos2(along(field, x / most), field.bottom() - up * field.height())
    };
    let font = egui::FontId::proportional(10.0);
    let text = |at, align, words: String| {
        ui.painter().text(at, align, words, font.clone(), palette.ink_soft);
    };
    for y in [low, high] {
        let at = pos2(field.left() - 8.0, place((0.0, y)).y);
        text(at, egui::Align2::RIGHT_CENTER, words(y));
    }
    if let Some(wanted) = wanted {
        let y = place((0.0, wanted)).y;
        let line = [pos2(field.left(), y), pos2(field.right(), y)];
        ui.painter().extend(egui::Shape::dashed_line(&line, Stroke::new(1.0, palette.ink_soft), 4.0, 3.0));
    }
    let mut clicked = None;
    for (index, point) in points.iter().enumerate().filter(|(_, point)| point.at.1.is_finite()) {
        let at = place(point.at);
        text(pos2(at.x, field.bottom() + 6.0), egui::Align2::CENTER_TOP, format!("{:.0}", point.at.0));
        let id = ui.scope_id().with((what, index));
        let response = ui.interact(Rect::from_center_size(at, vec2(18.0, 18.0)), id, Sense::click());
        let name = format!("{}: {what} {}", point.name, words(point.at.1));
        response.widget_info(|| egui::WidgetInfo::selected(egui::Role::Button, true, point.is_chosen, &name));
        let ink = if point.is_marked { palette.good } else { palette.accent };
        if point.is_marked {
            ui.painter().circle_filled(at, 5.0, ink);
        } else {
            ui.painter().circle_stroke(at, 5.0, Stroke::new(2.0, ink));
        }
        if point.is_chosen || response.has_focus() || response.hovered() {
            ui.painter().circle_stroke(at, 8.5, Stroke::new(1.5, palette.ink));
        }
        if response.on_hover_text(name).clicked() {
            clicked = Some(index);
        }
    }
    clicked
}
