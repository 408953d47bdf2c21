//! The filling on the plan: what is filled at the time shown, where the fronts were at even times, and marks
//! where fronts meet, where air is trapped and what stays empty.

use egui::{Align2, FontId, Pos2, Rect, Role, Sense, Shape, Stroke, Vec2, WidgetInfo, vec2};
use glam::DVec2;
use keepside_engine::Filling;
use keepside_engine::filling::{Front, Trapped, Weld, WeldKind};
use keepside_engine::opening::Keeper;
use keepside_model::{Id, Run};
use keepside_session::Session;

use super::crowd::Boxes;
use super::dimension::plate_label;
use super::{Canvas, items, part, sense_of};
use crate::action::Action;
use crate::elevation::sentence;
use crate::filling::{self, words};
use crate::look::hatch::hatch;
use crate::panels::filling::{vent_button_ui, vent_for};
use crate::ribbon::{self, Rib};
use crate::units::Unit;
use crate::view::ViewState;

/// Into so many even times the filling is divided by contours.
const CONTOURS: u8 = 10;

/// More marks than this would only cover one another.
const MARKS: usize = 80;

/// How far a front bows out in its middle, in halves of the channel's width.
const BOW: f64 = 0.45;

/// Radius of the mark of trapped air, points.
const BUBBLE_PX: f32 = 7.0;

/// The runs as ribbons, and how far along each the filling begins to count.
type Ribbons = Vec<(Id, Vec<Rib>)>;

/// The ribbon of a run, with places along it counted as the filling does.
fn ribbon_of(run: &Run, first: DVec2) -> Vec<Rib> {
    let mut ribs = ribbon::ribs(run);
    let begins_mm = along_of(&ribs, first);
    ribs.iter_mut().for_each(|rib| rib.along_mm -= begins_mm);
    ribs
}

/// The place along a ribbon nearest to a place on its centre line, mm.
fn along_of(ribs: &[Rib], at: DVec2) -> f64 {
    let on_piece = |pair: &[Rib]| {
        let chord = pair[1].at - pair[0].at;
        let t = ((at - pair[0].at).dot(chord) / chord.length_squared().max(1e-12)).clamp(0.0, 1.0);
        let along_mm = pair[0].along_mm + t * (pair[1].along_mm - pair[0].along_mm);
        (along_mm, (pair[0].at + chord * t).distance_squared(at))
    };
    ribs.windows(2).map(on_piece).min_by(|a, b| a.1.total_cmp(&b.1)).map_or(0.0, |(along_mm, _)| along_mm)
}

/// The melt, the contours and the fronts, in place of who keeps what.
pub(super) fn draw(canvas: &Canvas<'_>, session: &Session, view: &ViewState) {
    let project = session.document();
    let Some(Ok(filling)) = filling::of(session) else { return };
    let ribbons: Ribbons = filling
        .runs
        .iter()
        .filter_map(|fill| {
            let (run, first) = (project.part.runs.get(&fill.run)?, fill.stations.first()?);
            Some((fill.run, ribbon_of(run, first.at)))
        })
        .collect();
    let ribs_of = |run: Id| ribbons.iter().find(|(id, _)| *id == run).map(|(_, ribs)| &ribs[..]);
    let now_s = filling::time_s(filling, view);
    for piece in filling.filled_at(now_s) {
        if let Some(ribs) = ribs_of(piece.run) {
            let filled = ribbon::between(ribs, piece.from_mm, piece.to_mm);
            part::fill(canvas, &filled, canvas.palette.melt);
        }
    }
    for short in &filling.short {
        if let Some(ribs) = ribs_of(short.run) {
            let empty = ribbon::between(ribs, short.from_mm, short.to_mm);
            let stroke = Stroke::new(1.2, canvas.palette.fault);
            hatch(
                &canvas.painter,
                &part::quads(canvas, &empty),
                Keeper::Bridging,
                canvas.at(DVec2::ZERO),
                stroke,
            );
        }
    }
    contours(canvas, session, filling, now_s, &ribs_of);
    for front in filling.fronts_at(now_s) {
        if let Some(ribs) = ribs_of(front.run) {
            bow(canvas, ribs, &front, Stroke::new(6.0, canvas.palette.plate.gamma_multiply(0.8)));
            bow(canvas, ribs, &front, Stroke::new(3.0, canvas.palette.accent));
        }
    }
    for weld in &filling.welds {
        if let Some(ribs) = ribs_of(weld.run) {
            seam(canvas, ribs, weld);
        }
    }
}

/// Where the fronts were at even times, with the time beside where there is room.
fn contours<'a>(
    canvas: &Canvas<'_>,
    session: &Session,
    filling: &Filling,
    now_s: f64,
    ribs_of: &impl Fn(Id) -> Option<&'a [Rib]>,
) {
    let palette = canvas.palette;
    let font = FontId::proportional(10.5);
    let mut taken = tags(canvas, session);
    for number in 1..CONTOURS {
        let time_s = filling.fill_time_s * f64::from(number) / f64::from(CONTOURS);
        let is_past = time_s <= now_s;
        let ink = if is_past { palette.ink } else { palette.ink_soft.gamma_multiply(0.55) };
        for front in filling.fronts_at(time_s) {
            let Some(ribs) = ribs_of(front.run) else { continue };
            let Some(edge) = bow(canvas, ribs, &front, Stroke::new(1.1, ink)) else { continue };
            let text = words::seconds_number(time_s);
            let galley = canvas.painter.layout_no_wrap(text, font.clone(), palette.ink_soft);
            let middle = canvas.at(front.at);
            let away = (edge - middle).normalized();
            let at = edge + away * (7.0 + 0.5 * (galley.size() * away.abs()).length());
            let rect = Rect::from_center_size(at, galley.size());
            if canvas.rect.contains_rect(rect) && taken.is_free(rect.expand2(vec2(6.0, 1.0))) {
                taken.add(rect);
                canvas.painter.galley(rect.min, galley, palette.ink_soft);
            }
        }
    }
}

/// The room that tags of items take, which times beside the channel keep clear of.
fn tags(canvas: &Canvas<'_>, session: &Session) -> Boxes {
    let mut taken = Boxes::default();
    if canvas.crowd.has_tags() {
        let project = session.document();
        project.sprues.values().for_each(|sprue| taken.add(items::tag_room(items::sprue_tag(canvas, sprue))));
        let features = project.features.values();
        features.for_each(|feature| taken.add(items::tag_room(items::feature_tag(canvas, feature))));
        let runs = project.part.runs.values().filter_map(|run| items::run_tag_place(canvas, run));
        runs.for_each(|at| taken.add(items::tag_room(at)));
    }
    taken
}

/// A front as a bow across the channel, out in the way it goes. Returns its end at the edge that lies higher
/// in the plan.
fn bow(canvas: &Canvas<'_>, ribs: &[Rib], front: &Front, stroke: Stroke) -> Option<Pos2> {
    let rib = ribbon::at(ribs, front.along_mm)?;
    let way = -rib.left.perp() * if front.forwards { 1.0 } else { -1.0 };
    let steps = [-1.0, -0.75, -0.5, -0.25, 0.0, 0.25, 0.5, 0.75, 1.0_f64];
    let points = steps.map(|across| {
        let out_mm = BOW * rib.half_mm * (0.5 - across * across);
        canvas.at(rib.at + rib.left * (across * rib.half_mm) + way * out_mm)
    });
    canvas.painter.add(Shape::line(points.to_vec(), stroke));
    let [first, .., last] = points;
    Some(if first.y < last.y { first } else { last })
}

/// Where fronts meet: a stitched seam, across the channel, or along it behind a pin.
fn seam(canvas: &Canvas<'_>, ribs: &[Rib], weld: &Weld) {
    let Some(rib) = ribbon::at(ribs, weld.along_mm) else { return };
    let (from, to) = match weld.kind {
        WeldKind::Behind(_) => {
            let half = -rib.left.perp() * rib.half_mm;
            (weld.at - half, weld.at + half)
        }
        WeldKind::HeadOn | WeldKind::Joining => {
            (rib.at - rib.left * rib.half_mm, rib.at + rib.left * rib.half_mm)
        }
    };
    let (from, to) = (canvas.at(from), canvas.at(to));
    let is_weak = weld.is_thin || words::loaded_by(weld).is_some();
    let ink = if is_weak { canvas.palette.fault } else { canvas.palette.ink };
    canvas.painter.line_segment([from, to], Stroke::new(5.5, canvas.palette.plate.gamma_multiply(0.85)));
    canvas.painter.line_segment([from, to], Stroke::new(1.8, ink));
    let across = (to - from).normalized();
    let stitch = across.rot90() * 3.5;
    let length = (to - from).length();
    let mut along = 2.5;
    while along < length {
        let at = from + across * along;
        canvas.painter.line_segment([at - stitch, at + stitch], Stroke::new(1.3, ink));
        along += 5.0;
    }
}

/// Marks that can be pointed at and clicked: where fronts meet, and where they end.
pub(super) fn marks_ui(canvas: &Canvas<'_>, session: &Session, view: &ViewState, actions: &mut Vec<Action>) {
    let Some(Ok(filling)) = filling::of(session).filter(|_| view.fills()) else { return };
    let (project, unit) = (session.document(), Unit::of(canvas.ui));
    let welds = filling.welds.iter().filter(|weld| canvas.sees(canvas.at(weld.at), 0.0));
    for (index, weld) in welds.take(MARKS).enumerate() {
        let name = format!("Weld line at {}", words::place(project, weld.run, weld.along_mm, unit));
        let told = sentence(&words::weld(project, weld));
        mark_ui(canvas, ("weld", index), canvas.at(weld.at), &name, &told, |_| {});
    }
    let places = filling.trapped.iter().filter(|place| canvas.sees(canvas.at(place.at), 0.0));
    for (index, place) in places.take(MARKS).enumerate() {
        let is_last = filling.last_to_fill() == Some(place);
        bubble(canvas, place, is_last);
        let what = if place.way_out.is_none() { "Trapped air" } else { "Front ends" };
        let name = format!("{what} at {}", words::place(project, place.run, place.along_mm, unit));
        let mut told = sentence(&words::trapped(project, place));
        if is_last {
            told += "; the last place to fill";
        }
        mark_ui(canvas, ("end", index), canvas.at(place.at), &name, &told, |ui| {
            if let Some(edit) = vent_for(session, place) {
                vent_button_ui(ui, &edit, actions);
            }
        });
    }
}

/// A mark that tells its words when it is pointed at, and opens them with a button when clicked.
fn mark_ui(
    canvas: &Canvas<'_>,
    salt: (&str, usize),
    at: Pos2,
    name: &str,
    told: &str,
    add: impl FnOnce(&mut egui::Ui),
) {
    let id = egui::Id::unique(("mark of the filling", salt));
    let sense = sense_of(canvas.ui, id, Sense::click());
    let response = canvas.ui.interact(Rect::from_center_size(at, Vec2::splat(18.0)), id, sense);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, name));
    if response.hovered() || response.has_focus() {
        canvas.painter.circle_stroke(at, 12.0, Stroke::new(1.5, canvas.palette.accent));
    }
    egui::Popup::menu(&response).show(|ui| {
        ui.set_max_width(260.0);
        ui.strong(name);
        ui.add(egui::Label::new(told).wrap().halign(egui::Align::Min));
        add(ui);
    });
    response.on_hover_text_at_pointer(format!("{name}\n{told}"));
}

/// A front's end: a bubble if the air stays in it, a small open ring if it gets out.
fn bubble(canvas: &Canvas<'_>, place: &Trapped, is_last: bool) {
    let (at, palette) = (canvas.at(place.at), canvas.palette);
    if place.way_out.is_none() {
        canvas.painter.circle(at, BUBBLE_PX, palette.plate, Stroke::new(2.2, palette.fault));
        canvas.painter.circle_filled(at + vec2(-2.0, -2.0), 1.8, palette.fault);
    } else {
        canvas.painter.circle(at, BUBBLE_PX - 2.5, palette.plate, Stroke::new(1.6, palette.good));
    }
    if is_last {
        let font = FontId::proportional(11.0);
        plate_label(canvas, at + vec2(0.0, 21.0), Align2::CENTER_CENTER, "fills last", font, palette.ink);
    }
}

/// Size of a sample of the legend, points.
const SWATCH: Vec2 = vec2(26.0, 12.0);

/// Draws a sample of the legend.
type Sample = fn(&Canvas<'_>, Rect);

/// What the marks mean, in the lower right corner.
pub(super) fn legend(canvas: &Canvas<'_>, session: &Session) {
    let Some(Ok(filling)) = filling::of(session) else { return };
    let palette = canvas.palette;
    let font = FontId::proportional(11.0);
    let mut entries: Vec<(&str, Sample)> = vec![("melt", |canvas, rect| {
        canvas.painter.rect_filled(rect, 0.0, canvas.palette.melt);
        let stroke = Stroke::new(1.0, canvas.palette.plastic_edge);
        canvas.painter.rect_stroke(rect, 0.0, stroke, egui::StrokeKind::Outside);
    })];
    if !filling.welds.is_empty() {
        entries.push(("fronts meet", |canvas, rect| {
            let ends = [rect.left_center(), rect.right_center()];
            canvas.painter.line_segment(ends, Stroke::new(1.8, canvas.palette.ink));
            for x in [0.15, 0.38, 0.62, 0.85] {
                let at = rect.left_center() + vec2(x * rect.width(), 0.0);
                let stitch = [at - vec2(0.0, 3.5), at + vec2(0.0, 3.5)];
                canvas.painter.line_segment(stitch, Stroke::new(1.3, canvas.palette.ink));
            }
        }));
    }
    if filling.trapped.iter().any(|place| place.way_out.is_none()) {
        entries.push(("air is trapped", |canvas, rect| {
            canvas.painter.circle_stroke(rect.center(), 5.5, Stroke::new(2.0, canvas.palette.fault));
        }));
    }
    if !filling.short.is_empty() {
        entries.push(("stays empty", |canvas, rect| {
            let corners = [rect.left_top(), rect.right_top(), rect.right_bottom(), rect.left_bottom()];
            let stroke = Stroke::new(1.2, canvas.palette.fault);
            hatch(&canvas.painter, &[corners], Keeper::Bridging, rect.left_top(), stroke);
        }));
    }
    let texts: Vec<_> = entries
        .iter()
        .map(|(name, _)| canvas.painter.layout_no_wrap((*name).to_owned(), font.clone(), palette.ink_soft))
        .collect();
    let wide: f32 = texts.iter().map(|text| SWATCH.x + 20.0 + text.size().x).sum();
    let size = vec2(wide + 2.0, 21.0);
    // Not at all where it would hide what it explains.
    if size.x + 8.0 > canvas.rect.width() || canvas.rect.height() < 5.0 * size.y {
        return;
    }
    let mut corner = canvas.rect.right_bottom() - vec2(4.0, 4.0);
    if size.x + 150.0 > canvas.rect.width() {
        corner.y -= 22.0;
    }
    let ground = Rect::from_min_max(corner - size, corner);
    canvas.painter.rect_filled(ground, 3.0, palette.plate);
    let border = Stroke::new(1.0, palette.grid_strong);
    canvas.painter.rect_stroke(ground, 3.0, border, egui::StrokeKind::Inside);
    let mut at = ground.left_center() + vec2(8.0, 0.0);
    for ((_, sample), text) in entries.iter().zip(texts) {
        sample(canvas, Rect::from_min_size(at - vec2(0.0, SWATCH.y / 2.0), SWATCH));
        let width = text.size().x;
        canvas.painter.galley(at + vec2(SWATCH.x + 6.0, -text.size().y / 2.0), text, palette.ink_soft);
        at.x += SWATCH.x + 20.0 + width;
    }
}
