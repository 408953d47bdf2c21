//! The part in the plan: its true outline, and who keeps which stretch, by colour and by hatching.

use egui::{Align2, FontId, Mesh, Pos2, Rect, Shape, Stroke, vec2};
use glam::DVec2;
use keepside_engine::opening::{Keeper, Opening, Stretch};
use keepside_engine::outline::{Piece, Ring};
use keepside_session::Session;

use super::Canvas;
use crate::elevation::{frame_between, kept_now};
use crate::look::Palette;
use crate::look::hatch::hatch;
use crate::ribbon::{self, Rib};
use crate::units::Unit;
use crate::view::ViewState;

/// Fill, stretches and outline.
pub(super) fn draw(canvas: &Canvas<'_>, session: &Session, view: &ViewState) {
    let project = session.document();
    let palette = canvas.palette;
    // An empty channel is as deep as the ground of the drawing.
    let ground = if view.fills() { palette.canvas } else { palette.plastic };
    for run in project.part.runs.values() {
        let ribs = ribbon::ribs(run);
        fill(canvas, &ribs, ground);
        for point in run.points.iter().skip(1).rev().skip(1) {
            let radius = canvas.camera.px(point.width_mm / 2.0);
            canvas.painter.circle_filled(canvas.at(point.at), radius, ground);
        }
    }
    if view.fills() {
        super::filling::draw(canvas, session, view);
    } else if let Some(Ok(opening)) = session.results().opening() {
        let fresh = session.progress().has_verdict();
        let now = frame_between(opening, view.opening_mm).filter(|_| view.keeps_now);
        let now = now.map(|frame| kept_now(opening, &frame));
        let shown = now.as_ref().unwrap_or(&opening.stretches);
        // What a trial showed is not to be taken for what is predicted.
        let opacity = match (super::noting(session, view), fresh) {
            (Some(_), _) => 0.0,
            (None, true) => 1.0,
            (None, false) => 0.45,
        };
        if opacity > 0.0 {
            stretches(canvas, session, opening, shown, opacity);
        }
    }
    outline(canvas, session);
}

/// The stretches of an opening run: those in the end, or those at one opening.
fn stretches(canvas: &Canvas<'_>, session: &Session, opening: &Opening, shown: &[Stretch], opacity: f32) {
    for stretch in shown {
        let run = session.document().part.runs.get(&stretch.run);
        let (Some(run), Some(axis)) = (run, opening.axis(stretch.run)) else { continue };
        let ribs = ribbon::ribs_on(run, axis);
        let part = ribbon::between(&ribs, stretch.from_mm, stretch.to_mm);
        let colour = canvas.palette.keeper(stretch.keeper);
        fill(canvas, &part, colour.gamma_multiply(0.38 * opacity));
        let stroke = Stroke::new(1.3, colour.gamma_multiply(opacity));
        hatch(&canvas.painter, &quads(canvas, &part), stretch.keeper, canvas.at(DVec2::ZERO), stroke);
    }
}

/// Four-cornered pieces of a ribbon on the screen.
pub(super) fn quads(canvas: &Canvas<'_>, ribs: &[Rib]) -> Vec<[Pos2; 4]> {
    let quad = |pair: &[Rib]| {
        let ([a, b], [d, c]) = (pair[0].ends(), pair[1].ends());
        ribbon::wedge(&pair[0], &pair[1]).unwrap_or([a, b, c, d]).map(|corner| canvas.at(corner))
    };
    ribs.windows(2).map(quad).collect()
}

/// Fills a ribbon.
pub(super) fn fill(canvas: &Canvas<'_>, ribs: &[Rib], colour: egui::Color32) {
    let mut mesh = Mesh::default();
    let mut next = 0;
    for quad in quads(canvas, ribs) {
        quad.iter().for_each(|corner| mesh.colored_vertex(*corner, colour));
        mesh.add_triangle(next, next + 1, next + 2);
        mesh.add_triangle(next, next + 2, next + 3);
        next += 4;
    }
    canvas.painter.add(Shape::mesh(mesh));
}

/// The true outline, as the engine computes it.
fn outline(canvas: &Canvas<'_>, session: &Session) {
    let Some(layout) = session.results().layout() else { return };
    let stroke = Stroke::new(1.6, canvas.palette.plastic_edge);
    for ring in &layout.outline.rings {
        let points: Vec<Pos2> = ring_points(ring).into_iter().map(|point| canvas.at(point)).collect();
        canvas.painter.add(Shape::closed_line(points, stroke));
    }
}

/// The points of a boundary, arcs in steps of at most 6 degrees.
pub(crate) fn ring_points(ring: &Ring) -> Vec<DVec2> {
    let mut points = Vec::new();
    for piece in &ring.pieces {
        match *piece {
            Piece::Line { from, .. } => points.push(from),
            Piece::Arc { centre, radius_mm, from_rad, sweep_rad } => {
                let steps = (sweep_rad.abs() / 0.105).ceil().max(1.0);
                let mut step = 0.0;
                while step < steps {
                    let angle = from_rad + sweep_rad * step / steps;
                    points.push(centre + DVec2::from_angle(angle) * radius_mm);
                    step += 1.0;
                }
            }
        }
    }
    points
}

/// Size of a sample of the legend, points.
const SWATCH: egui::Vec2 = vec2(26.0, 12.0);

/// Height of a row of the legend, points.
const ROW_PX: f32 = 17.0;

/// Width kept for the scale bar in the other corner, points.
const SCALE_BAR_PX: f32 = 210.0;

/// Room between two entries of the legend, points.
const ENTRY_GAP: f32 = 14.0;

/// What the colours and hatchings mean.
pub(super) fn legend(canvas: &Canvas<'_>, session: &Session, view: &ViewState) {
    if !matches!(session.results().opening(), Some(Ok(_))) {
        return;
    }
    let entries = [Keeper::Moving, Keeper::Fixed, Keeper::Bridging, Keeper::Free];
    let font = FontId::proportional(11.0);
    let ink = canvas.palette.ink_soft;
    let texts = entries.map(|keeper| {
        (keeper, canvas.painter.layout_no_wrap(keeper_words(keeper).to_owned(), font.clone(), ink))
    });
    let wide = |text: &egui::Galley| SWATCH.x + 6.0 + text.size().x + ENTRY_GAP;
    let one_row: f32 = texts.iter().map(|(_, text)| wide(text)).sum();
    // In columns of one, or of two where one row would reach the scale bar.
    let tall: u8 = if one_row + SCALE_BAR_PX > canvas.rect.width() { 2 } else { 1 };
    let columns: Vec<f32> = texts
        .chunks(tall.into())
        .map(|column| column.iter().map(|(_, text)| wide(text)).fold(0.0, f32::max))
        .collect();
    // Readable over whatever is drawn under it.
    let size = vec2(columns.iter().sum::<f32>() - ENTRY_GAP + 16.0, f32::from(tall) * ROW_PX + 4.0);
    let mut corner = canvas.rect.right_bottom() - vec2(4.0, 4.0);
    if size.x + SCALE_BAR_PX * 0.7 > canvas.rect.width() {
        // Above the scale bar; not at all where it would hide what it explains.
        corner.y -= 22.0;
        if size.x + 8.0 > canvas.rect.width() || canvas.rect.height() < 5.0 * size.y {
            return;
        }
    }
    let ground = Rect::from_min_max(corner - size, corner);
    canvas.painter.rect_filled(ground, 3.0, canvas.palette.plate);
    let border = Stroke::new(1.0, canvas.palette.grid_strong);
    canvas.painter.rect_stroke(ground, 3.0, border, egui::StrokeKind::Inside);
    if view.keeps_now {
        let words = format!("at {} opening", Unit::of(canvas.ui).length(view.opening_mm));
        let corner = ground.right_top() - vec2(4.0, 1.0);
        super::dimension::plate_label(canvas, corner, Align2::RIGHT_BOTTOM, &words, font, canvas.palette.ink);
    }
    let mut at = ground.left_top() + vec2(8.0, 2.0 + ROW_PX / 2.0);
    for (column, width) in texts.chunks(tall.into()).zip(columns) {
        let mut entry = at;
        for (keeper, text) in column {
            let swatch = Rect::from_min_size(entry - vec2(0.0, SWATCH.y / 2.0), SWATCH);
            self::swatch(&canvas.painter, canvas.palette, swatch, *keeper);
            let text_at = entry + vec2(SWATCH.x + 6.0, -text.size().y / 2.0);
            canvas.painter.galley(text_at, text.clone(), ink);
            entry.y += ROW_PX;
        }
        at.x += width;
    }
}

/// A sample of a keeper's colour and hatching.
fn swatch(painter: &egui::Painter, palette: &Palette, rect: Rect, keeper: Keeper) {
    let colour = palette.keeper(keeper);
    painter.rect_filled(rect, 0.0, palette.plastic);
    painter.rect_filled(rect, 0.0, colour.gamma_multiply(0.38));
    let corners = [rect.left_top(), rect.right_top(), rect.right_bottom(), rect.left_bottom()];
    hatch(painter, &[corners], keeper, rect.left_top(), Stroke::new(1.3, colour));
    painter.rect_stroke(rect, 0.0, Stroke::new(1.0, palette.plastic_edge), egui::StrokeKind::Outside);
}

/// Who keeps it, for the legend.
const fn keeper_words(keeper: Keeper) -> &'static str {
    match keeper {
        Keeper::Moving => "moving half keeps it",
        Keeper::Fixed => "fixed half keeps it",
        Keeper::Bridging => "hangs between",
        Keeper::Free => "falls free",
    }
}
