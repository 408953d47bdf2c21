//! Ejector pins in the side elevation: they come through the moving plate, their faces in the channel
//! floor.

use egui::{Rect, Shape, Stroke, StrokeKind, pos2, vec2};
use keepside_model::{Ejector, EjectorFace, Half};

use super::draw::Pen;
use super::runs;

/// Depth of the grooves drawn in a grooved face, points.
const GROOVE_PX: f32 = 4.0;

/// Those of the ejector pins that stand under the run shown.
pub(super) fn draw(pen: &Pen<'_>) {
    let Some(axis) = &pen.side.axis else { return };
    for ejector in pen.session.document().ejectors.values() {
        let Some((along_mm, distance_mm)) = runs::along(axis, ejector.at) else { continue };
        let half_mm = crate::ribbon::at(&pen.side.ribs, along_mm).map_or(0.0, |rib| rib.half_mm);
        if distance_mm <= half_mm + ejector.diameter_mm / 2.0 {
            pin(pen, ejector, along_mm);
        }
    }
}

fn pin(pen: &Pen<'_>, ejector: &Ejector, along_mm: f64) {
    let (side, palette) = (pen.side, pen.palette);
    let half_px = side.px(ejector.diameter_mm / 2.0).max(2.0);
    let (floor, _) = pen.floor(Half::Moving, along_mm);
    let (x, face_y, top) = (side.x(along_mm), side.y(floor), side.rect.top() - 4.0);
    if face_y <= top {
        return;
    }
    let edge = Stroke::new(1.3, palette.moving);
    let body = Rect::from_min_max(pos2(x - half_px, top), pos2(x + half_px, face_y));
    pen.painter.rect(body, 0.0, palette.plate, edge, StrokeKind::Middle);
    let centre_line = [pos2(x, top), pos2(x, face_y - GROOVE_PX - 2.0)];
    pen.painter.extend(Shape::dashed_line(&centre_line, Stroke::new(1.0, palette.moving), 8.0, 3.0));
    let face = Stroke::new(2.5, palette.moving);
    match ejector.face {
        EjectorFace::Plain => {
            pen.painter.line_segment([body.left_bottom(), body.right_bottom()], face);
        }
        EjectorFace::Grooved | EjectorFace::Crossed => {
            for part in [-0.6_f32, 0.0, 0.6] {
                let foot = pos2(x + part * half_px, face_y);
                pen.painter.line_segment([foot, foot - vec2(0.0, GROOVE_PX)], face);
            }
        }
    }
}
