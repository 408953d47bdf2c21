//! Painting a section.

use egui::{Align2, Color32, FontId, Mesh, Painter, Pos2, Rect, Shape, Stroke, Vec2, pos2, vec2};
use glam::DVec2;
use keepside_engine::opening::Keeper;
use keepside_model::Half;

use super::measure::{Measure, Run, Shown};
use super::scene::{Area, LineKind, Scene, Stuff};
use crate::elevation::to_px;
use crate::look::Palette;
use crate::look::hatch::hatch;
use crate::units::Unit;

/// Room left round what is fitted, points.
const MARGIN_PX: f32 = 8.0;

/// From millimetres of the section to the screen.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Frame {
    pub(crate) rect: Rect,
    centre: DVec2,
    pub(crate) px_per_mm: f64,
}

impl Frame {
    /// Shows the box from `low` to `high` whole.
    pub(crate) fn fit(rect: Rect, (low, high): (DVec2, DVec2)) -> Self {
        let room = rect.shrink(MARGIN_PX).size().max(Vec2::splat(10.0));
        let size = (high - low).max(DVec2::splat(0.1));
        let px_per_mm = (f64::from(room.x) / size.x).min(f64::from(room.y) / size.y);
        Self { rect, centre: low.midpoint(high), px_per_mm }
    }

    /// Place on the screen.
    pub(crate) fn at(&self, point: DVec2) -> Pos2 {
        let away = (point - self.centre) * self.px_per_mm;
        self.rect.center() + vec2(to_px(away.x), -to_px(away.y))
    }

    /// Distance of a place on the screen from the middle of the cut, mm, positive to the right.
    pub(crate) fn across_mm(&self, x: f32) -> f64 {
        self.centre.x + f64::from(x - self.rect.center().x) / self.px_per_mm
    }

    /// Height of a place on the screen over the parting plane, mm.
    pub(crate) fn height_mm(&self, y: f32) -> f64 {
        self.centre.y - f64::from(y - self.rect.center().y) / self.px_per_mm
    }

    fn quads(&self, pieces: &[[DVec2; 4]]) -> Vec<[Pos2; 4]> {
        pieces.iter().map(|piece| piece.map(|corner| self.at(corner))).collect()
    }
}

/// The whole section.
pub(super) fn draw(painter: &Painter, palette: &Palette, scene: &Scene, frame: &Frame, shown: Shown) {
    for area in &scene.areas {
        self::area(painter, palette, scene, frame, area);
    }
    for line in &scene.lines {
        let points: Vec<Pos2> = line.points.iter().map(|point| frame.at(*point)).collect();
        match line.kind {
            LineKind::Axis => {
                let stroke = Stroke::new(1.0, palette.ink_soft);
                let dashes = [14.0, 3.0];
                painter.extend(Shape::dashed_line_with_offset(&points, stroke, &dashes, &[3.0, 3.0], 0.0));
            }
            LineKind::Behind => {
                painter.add(Shape::line(points, Stroke::new(0.8, palette.ink_soft)));
            }
        }
    }
    for measure in scene.measures.iter().filter(|measure| measure.shown == shown) {
        self::measure(painter, palette, frame, measure);
    }
}

fn area(painter: &Painter, palette: &Palette, scene: &Scene, frame: &Frame, area: &Area) {
    let quads = frame.quads(&area.pieces);
    let (fills, edge): (&[Color32], Stroke) = match area.stuff {
        Stuff::Plate(half) => {
            let tint = palette.half(half).gamma_multiply(0.10);
            (&[palette.plate, tint], Stroke::new(1.3, palette.plate_edge))
        }
        Stuff::Plastic => (&[palette.plastic], Stroke::new(1.4, palette.plastic_edge)),
        Stuff::Empty => (&[palette.canvas], Stroke::new(1.0, palette.plate_edge)),
        Stuff::Steel => {
            let tint = palette.half(scene.half).gamma_multiply(0.42);
            (&[palette.plate, tint], Stroke::new(1.5, palette.ink))
        }
        Stuff::Lock => {
            let tint = palette.half(scene.half).gamma_multiply(0.22);
            (&[palette.plate, tint], Stroke::new(1.2, palette.ink))
        }
    };
    for colour in fills {
        fill(painter, &quads, *colour);
    }
    if let Stuff::Plate(half) = area.stuff {
        let keeper = if half == Half::Moving { Keeper::Moving } else { Keeper::Fixed };
        let stroke = Stroke::new(0.9, palette.half(half).gamma_multiply(0.55));
        hatch(painter, &quads, keeper, frame.at(DVec2::ZERO), stroke);
    }
    for points in &area.edges {
        let points = points.iter().map(|point| frame.at(*point)).collect();
        painter.add(Shape::line(points, edge));
    }
}

fn fill(painter: &Painter, quads: &[[Pos2; 4]], colour: Color32) {
    let mut mesh = Mesh::default();
    for (quad, first) in quads.iter().zip((0..).step_by(4)) {
        quad.iter().for_each(|corner| mesh.colored_vertex(*corner, colour));
        mesh.add_triangle(first, first + 1, first + 2);
        mesh.add_triangle(first, first + 2, first + 3);
    }
    painter.add(Shape::mesh(mesh));
}

/// Length of an arrow's head, points.
const ARROW_PX: f32 = 6.0;

/// Space between two arrows' heads below which they point at the measure from outside, points.
const INSIDE_PX: f32 = 18.0;

/// A measure: arrows, lines to what is measured, the number. What is too tight is in the fault's colour,
/// thicker and with a double line round its number, so that colour alone does not tell it.
fn measure(painter: &Painter, palette: &Palette, frame: &Frame, measure: &Measure) {
    let tight = measure.is_tight();
    let ink = if tight { palette.fault } else { palette.ink };
    let stroke = Stroke::new(if tight { 2.2 } else { 1.0 }, ink);
    let (a, b) = (frame.at(measure.from), frame.at(measure.to));
    let (from, to) = match measure.run {
        Run::Between => (a, b),
        Run::Upright(x) => {
            let x = frame.at(DVec2::new(x, 0.0)).x;
            (pos2(x, a.y), pos2(x, b.y))
        }
        Run::Level(z) => {
            let y = frame.at(DVec2::new(0.0, z)).y;
            (pos2(a.x, y), pos2(b.x, y))
        }
    };
    let thin = Stroke::new(0.8, palette.ink_soft);
    for (end, foot) in [(a, from), (b, to)] {
        if end.distance(foot) > 1.0 {
            let beyond = foot + (foot - end).normalized() * 3.0;
            painter.line_segment([end, beyond], thin);
        }
    }
    let along = (to - from).normalized();
    let length = from.distance(to);
    if length < 0.5 {
        return;
    }
    if length >= INSIDE_PX {
        painter.line_segment([from, to], stroke);
        arrow(painter, from, -along, ink);
        arrow(painter, to, along, ink);
    } else {
        let tail = along * (ARROW_PX + 6.0);
        painter.line_segment([from - tail, from], stroke);
        painter.line_segment([to, to + tail], stroke);
        painter.line_segment([from, to], Stroke::new(0.8, ink));
        arrow(painter, from, along, ink);
        arrow(painter, to, -along, ink);
    }
    number(painter, palette, frame, measure, (from, to), tight);
}

/// The head of an arrow whose tip is at `tip`, pointing along `way`.
fn arrow(painter: &Painter, tip: Pos2, way: Vec2, ink: Color32) {
    let (back, aside) = (tip - way * ARROW_PX, way.rot90() * (ARROW_PX * 0.32));
    painter.add(Shape::convex_polygon(vec![tip, back + aside, back - aside], ink, Stroke::NONE));
}

fn number(
    painter: &Painter,
    palette: &Palette,
    frame: &Frame,
    measure: &Measure,
    (from, to): (Pos2, Pos2),
    tight: bool,
) {
    let ink = if tight { palette.fault } else { palette.ink };
    let value = Unit::of(painter.ctx()).number(measure.value_mm);
    // Where there is room a size says what it is.
    let words = if measure.shown == Shown::Whole { format!("{} {value}", measure.what) } else { value };
    let galley = painter.layout_no_wrap(words, FontId::proportional(11.5), ink);
    let size = galley.size();
    let middle = from + (to - from) * 0.5;
    let is_upright = (to.x - from.x).abs() < (to.y - from.y).abs();
    let (at, align) = match measure.run {
        // On the far side of the line, seen from the drawing.
        Run::Upright(x) if x < 0.0 => (middle - vec2(5.0, 0.0), Align2::RIGHT_CENTER),
        Run::Upright(_) => (middle + vec2(5.0, 0.0), Align2::LEFT_CENTER),
        Run::Level(_) => (middle, Align2::CENTER_CENTER),
        Run::Between if is_upright => (middle + vec2(5.0, 0.0), Align2::LEFT_CENTER),
        // Over the line; a narrow gap's number stands clear of the steel.
        Run::Between if (to.x - from.x).abs() >= size.x + 4.0 => {
            (middle - vec2(0.0, 4.0), Align2::CENTER_BOTTOM)
        }
        Run::Between => (middle - vec2(0.0, 8.0), Align2::CENTER_BOTTOM),
    };
    let rect = align.anchor_size(at, size);
    let room = frame.rect.shrink(2.0);
    let push = (room.min - rect.min).max(Vec2::ZERO) + (room.max - rect.max).min(Vec2::ZERO);
    let rect = rect.translate(push);
    painter.rect_filled(rect.expand2(vec2(2.5, 0.5)), 2.0, palette.plate.gamma_multiply(0.88));
    if tight {
        let stroke = Stroke::new(1.2, ink);
        painter.rect_stroke(rect.expand2(vec2(3.5, 1.5)), 2.0, stroke, egui::StrokeKind::Outside);
    }
    painter.galley(rect.min, galley, ink);
}
