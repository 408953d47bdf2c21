//! Dimensions of the selected item from the datum, the snapping hint, and the place of a finding.

use egui::{Align2, Color32, FontId, Pos2, Shape, Stroke, pos2};
use glam::DVec2;
use keepside_model::{ItemKind, Project};
use keepside_session::{Aid, Session};

use super::Canvas;
use crate::units::Unit;
use crate::view::ViewState;

/// Text on a plate of the ground's colour, so that lines under it do not disturb.
pub(super) fn plate_label(
    canvas: &Canvas<'_>,
    at: Pos2,
    align: Align2,
    text: &str,
    font: FontId,
    ink: Color32,
) {
    let galley = canvas.painter.layout_no_wrap(text.to_owned(), font, ink);
    let rect = align.anchor_size(at, galley.size());
    canvas.painter.rect_filled(
        rect.expand2(egui::vec2(3.0, 0.0)),
        2.0,
        canvas.palette.plate.gamma_multiply(0.9),
    );
    canvas.painter.galley(rect.min, galley, ink);
}

/// Everything of this file.
pub(super) fn draw(canvas: &Canvas<'_>, session: &Session, view: &ViewState) {
    let project = session.document();
    if let [id] = session.selection().iter().copied().collect::<Vec<_>>()[..]
        && project.kind(id) != Some(ItemKind::Run)
        && let Some(place) = project.place(id)
    {
        from_datum(canvas, place);
    }
    if let Some(aid) = view.snapped {
        snap_hint(canvas, project, &aid);
    }
    if let Some(at) = view.spotlight {
        let stroke = Stroke::new(1.5, canvas.palette.fault);
        canvas.painter.circle_stroke(canvas.at(at), 22.0, stroke);
        canvas.painter.circle_stroke(canvas.at(at), 26.0, stroke);
    }
}

/// The distances of a point from the lower left corner of the plate.
fn from_datum(canvas: &Canvas<'_>, place: DVec2) {
    let stroke = Stroke::new(1.0, canvas.palette.accent);
    let at = canvas.at(place);
    let (on_x, on_y) = (canvas.at(DVec2::new(place.x, 0.0)), canvas.at(DVec2::new(0.0, place.y)));
    for foot in [on_x, on_y] {
        canvas.painter.extend(Shape::dashed_line(&[at, foot], stroke, 5.0, 4.0));
    }
    let font = FontId::proportional(11.5);
    let ink = canvas.palette.ink;
    let unit = Unit::of(canvas.ui);
    // Kept inside the view, whatever is scrolled away.
    let room = canvas.rect.shrink(14.0);
    let x_at = pos2(on_x.x, (on_x.y - 10.0).clamp(room.top(), room.bottom()));
    let y_at = pos2((on_y.x + 6.0).clamp(room.left(), room.right()), on_y.y);
    plate_label(
        canvas,
        x_at,
        Align2::CENTER_CENTER,
        &format!("x {}", unit.short(place.x)),
        font.clone(),
        ink,
    );
    plate_label(canvas, y_at, Align2::LEFT_CENTER, &format!("y {}", unit.short(place.y)), font, ink);
}

/// A cross where the thing snapped, what it snapped to, and a line that shows why.
fn snap_hint(canvas: &Canvas<'_>, project: &Project, aid: &Aid) {
    let words = aid.to.words(project);
    if words.is_empty() {
        return;
    }
    let centre = canvas.at(aid.at);
    let stroke = Stroke::new(1.5, canvas.palette.accent);
    if let Some((from, to)) = aid.guide {
        let ends = [canvas.at(from), canvas.at(to)];
        canvas.painter.line_segment(ends, Stroke::new(3.5, canvas.palette.plate.gamma_multiply(0.8)));
        canvas.painter.extend(Shape::dashed_line(&ends, stroke, 7.0, 4.0));
        for end in ends {
            canvas.painter.circle_stroke(end, 3.0, stroke);
        }
    }
    for arm in [egui::vec2(9.0, 0.0), egui::vec2(0.0, 9.0)] {
        canvas.painter.line_segment([centre - arm, centre + arm], stroke);
    }
    // Left of the pin: the numbers of its gaps stand to the right.
    let at = centre + egui::vec2(-16.0, -34.0);
    plate_label(canvas, at, Align2::RIGHT_CENTER, &words, FontId::proportional(11.5), canvas.palette.accent);
}
