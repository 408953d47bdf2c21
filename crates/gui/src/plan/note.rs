//! Notes in the plan: a small flag at the place that a note points at, with what it says.

use egui::{FontId, Rect, Role, Sense, Shape, Stroke, WidgetInfo, pos2, vec2};
use keepside_model::{Id, Note};
use keepside_session::Session;

use super::{Canvas, sense_of};
use crate::action::Action;

/// Where the flag flies, from the place it points at, points.
const FLAG: egui::Vec2 = vec2(14.0, -30.0);

/// Width in which a note's words are broken into lines, points.
const WORDS_PX: f32 = 150.0;

/// Longest text shown on the drawing, lines.
const LINES: usize = 4;

/// All notes. A click on a flag selects its note.
pub(super) fn notes_ui(canvas: &Canvas<'_>, session: &Session, actions: &mut Vec<Action>) {
    for (&id, note) in &session.document().remarks {
        flag(canvas, session, id, note, actions);
    }
}

fn flag(canvas: &Canvas<'_>, session: &Session, id: Id, note: &Note, actions: &mut Vec<Action>) {
    let palette = canvas.palette;
    let selected = session.selection().contains(&id);
    let at = canvas.at(note.at);
    let edge =
        Stroke::new(if selected { 2.0 } else { 1.2 }, if selected { palette.accent } else { palette.ink });
    let galley =
        canvas.painter.layout(words(session, id, note), FontId::proportional(11.5), palette.ink, WORDS_PX);
    let corner = at + FLAG;
    let ground = Rect::from_min_size(corner - vec2(0.0, galley.size().y), galley.size() + vec2(12.0, 6.0));
    canvas.painter.line_segment([at, pos2(ground.left(), ground.bottom())], edge);
    canvas.painter.rect(ground, 2.0, palette.field, edge, egui::StrokeKind::Middle);
    // A turned-down corner, so that it reads as paper and not as a tag.
    let ear = ground.right_top();
    let fold = vec![ear - vec2(7.0, 0.0), ear + vec2(0.0, 7.0), ear - vec2(7.0, -7.0)];
    canvas.painter.add(Shape::convex_polygon(fold, palette.band, edge));
    canvas.painter.galley(ground.min + vec2(5.0, 3.0), galley, palette.ink);
    canvas.painter.circle(at, 3.5, palette.field, edge);
    let flag_id = egui::Id::unique(("flag", id.0));
    let response = canvas.ui.interact(ground, flag_id, sense_of(canvas.ui, flag_id, Sense::click()));
    let name = format!("Flag of note {}", session.document().tag(id));
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, selected, name.clone()));
    if response.clicked() {
        actions.push(Action::Select(vec![id]));
    }
}

/// What the flag says: the text, cut short where it is long; the tag while there is no text.
fn words(session: &Session, id: Id, note: &Note) -> String {
    let text = note.text.trim_end();
    if text.is_empty() {
        return format!("{}: no text yet", session.document().tag(id));
    }
    let mut lines: Vec<&str> = text.lines().take(LINES).collect();
    if text.lines().count() > LINES {
        lines[LINES - 1] = "…";
    }
    lines.join("\n")
}
