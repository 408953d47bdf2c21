//! The drawing on the plate: its own lines, and the channel that comes of them.

use egui::{Color32, Pos2, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, pos2};
use glam::DVec2;
use keepside_engine::outline;
use keepside_model::{Id, Project};
use keepside_sheet::import::{Choice, Imported, Runs};

use crate::look::Palette;
use crate::plan::part::ring_points;

/// More runs than this show as their lines only.
const MOST_OUTLINED: usize = 200;

/// Room about the picture, points.
const ROOM_PX: f32 = 14.0;

/// Longest angle between two corners of an arc as drawn, radians.
const CORNER_RAD: f64 = 0.1;

/// What is drawn, in plan mm.
pub(super) struct Picture {
    plate_mm: DVec2,
    /// Boundaries of the channel that comes of it.
    channel: Vec<Vec<DVec2>>,
    /// The lines of the drawing.
    lines: Vec<Vec<DVec2>>,
    /// Boundaries of the channel that there is.
    present: Vec<Vec<DVec2>>,
}

impl Picture {
    pub(super) fn of(drawing: &Imported, choice: &Choice, made: &Runs, project: &Project) -> Self {
        let plate_mm = DVec2::new(project.plates.width_mm, project.plates.height_mm);
        let is_used = |layer: &String| choice.layers.is_empty() || choice.layers.contains(layer);
        let lines = drawing.chains.iter().filter(|chain| is_used(&chain.layer)).map(|chain| {
            let mut points: Vec<DVec2> = Vec::new();
            for (from, bulge, to) in chain.pieces() {
                if points.is_empty() {
                    points.push(from);
                }
                points.extend(arc(from, bulge, to));
            }
            points.into_iter().map(|at| at * choice.scale + choice.move_mm).collect()
        });
        let mut of_drawing = project.clone();
        of_drawing.part.runs.clear();
        if made.runs.len() <= MOST_OUTLINED {
            of_drawing.part.runs = (1..).map(Id).zip(made.runs.iter().cloned()).collect();
        }
        let boundaries = |project: &Project| {
            let outline = outline::of(project);
            outline.rings.iter().map(ring_points).collect::<Vec<_>>()
        };
        Self {
            plate_mm,
            channel: boundaries(&of_drawing),
            lines: lines.collect(),
            present: boundaries(project),
        }
    }

    /// Shows it in the room that is left; `name` tells a screen reader.
    pub(super) fn show(&self, ui: &mut Ui, name: &str) {
        let (view, response) = ui.allocate_exact_size(ui.available_size(), Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, name));
        // The plate and all that lies beside it.
        let all = self.lines.iter().chain(&self.channel).flatten().copied().filter(|at| at.is_finite());
        let (low, high) =
            all.fold((DVec2::ZERO, self.plate_mm), |(low, high), at| (low.min(at), high.max(at)));
        let size = (high - low).max(DVec2::splat(1.0));
        let room = view.shrink(ROOM_PX);
        let scale = (f64::from(room.width()) / size.x).min(f64::from(room.height()) / size.y);
        let middle = low.midpoint(high);
        let on_screen = |at: DVec2| -> Pos2 {
            let off = (at - middle) * scale;
            #[expect(clippy::cast_possible_truncation, reason = "places on the screen")]
            let off = (off.x as f32, off.y as f32);
            pos2(room.center().x + off.0, room.center().y - off.1)
        };
        let palette = Palette::of(ui);
        let painter = ui.painter().with_clip_rect(view);
        painter.rect_filled(view, 0.0, palette.canvas);
        let plate = Rect::from_two_pos(on_screen(DVec2::ZERO), on_screen(self.plate_mm));
        painter.rect(plate, 0.0, palette.plate, Stroke::new(1.0, palette.plate_edge), StrokeKind::Middle);
        let draw = |lines: &[Vec<DVec2>], width: f32, ink: Color32, is_closed: bool| {
            for line in lines {
                let points: Vec<Pos2> = line.iter().map(|at| on_screen(*at)).collect();
                let stroke = Stroke::new(width, ink);
                painter.add(if is_closed {
                    Shape::closed_line(points, stroke)
                } else {
                    Shape::line(points, stroke)
                });
            }
        };
        draw(&self.present, 1.0, palette.ink_soft, true);
        draw(&self.channel, 1.8, palette.accent, true);
        draw(&self.lines, 1.0, palette.ink, false);
    }
}

/// The points of a piece after its first.
fn arc(from: DVec2, bulge: f64, to: DVec2) -> Vec<DVec2> {
    if bulge.abs() < 1e-9 {
        return vec![to];
    }
    // A bulge is the tangent of a quarter of the angle.
    let sweep = 4.0 * bulge.atan();
    let chord = to - from;
    let centre = from.midpoint(to) + chord.perp() * (1.0 - bulge * bulge) / (4.0 * bulge);
    let count = (sweep.abs() / CORNER_RAD).ceil().max(1.0);
    let mut points = Vec::new();
    let mut step = 1.0;
    while step < count {
        points.push(centre + DVec2::from_angle(sweep * step / count).rotate(from - centre));
        step += 1.0;
    }
    points.push(to);
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arcs_keep_their_radius_and_side() {
        // A half circle counter-clockwise from (0, 0) to (10, 0) runs below the chord.
        let points = arc(DVec2::ZERO, 1.0, DVec2::new(10.0, 0.0));
        assert!(points.len() > 20);
        assert!(points.iter().all(|at| (at.distance(DVec2::new(5.0, 0.0)) - 5.0).abs() < 1e-9));
        assert!(points.iter().all(|at| at.y < 1e-9));
        let quarter = arc(DVec2::X, (std::f64::consts::PI / 8.0).tan(), DVec2::Y);
        assert!(quarter.iter().all(|at| (at.length() - 1.0).abs() < 1e-9), "{quarter:?}");
    }
}
