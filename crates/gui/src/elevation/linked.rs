//! The cursor that plan and side elevation share: what is pointed at in one shows in the other.

use std::collections::BTreeSet;

use egui::{Align2, Rect, Response, Stroke, Ui, pos2, vec2};
use glam::DVec2;
use keepside_engine::Opening;
use keepside_model::Project;
use keepside_session::Session;

use super::between::frame_between;
use super::draw::{AxisPoint, Pen, shape};
use super::frame::Side;
use super::{note, runs};
use crate::look::Palette;
use crate::units::Unit;
use crate::view::ViewState;

/// How far beside the channel the pointer still points along it, points.
const REACH_PX: f32 = 10.0;

/// Draws the cursor, notes where it is on the plan, and says the numbers there. A click chooses the place
/// that the section goes through.
pub(super) fn linked_ui(
    ui: &Ui,
    response: &Response,
    palette: &Palette,
    session: &Session,
    opening: &Opening,
    view: &mut ViewState,
    side: &Side,
) -> String {
    let Some(axis) = &side.axis else { return String::new() };
    let pointed_mm = response.hover_pos().map(|at| side.along_at(at.x));
    let here = pointed_mm.filter(|along_mm| (0.0..=axis.length_mm).contains(along_mm));
    let place = here.and_then(|along_mm| axis.plan_point(along_mm));
    view.linked = place.or(view.linked);
    if response.clicked()
        && let Some(place) = place
    {
        // What is selected stays selected: the section of a selected pin is asked for by selecting it.
        let selected: BTreeSet<_> = session.selection().clone();
        view.section_at = Some((place, selected));
    }
    let along_mm = here.or_else(|| from_plan(ui, session.document(), view, side));
    let Some(along_mm) = along_mm else { return String::new() };

    let unit = Unit::of(ui);
    let painter = ui.painter_at(side.rect);
    let x = side.x(along_mm);
    let line = [pos2(x, side.rect.top()), pos2(x, side.rect.bottom())];
    painter.extend(egui::Shape::dashed_line(&line, Stroke::new(1.0, palette.accent), 4.0, 3.0));
    let mut words =
        axis.plan_point(along_mm).map_or_else(String::new, |at| place_words(session.document(), at, unit));
    if super::left::Left::of(session, opening, view).is_none()
        && let Some(frame) = frame_between(opening, side.opening_mm)
        && let Some(part) = Pen::axis_at(&shape(&frame, side), along_mm)
    {
        let at = side.at(part.x_mm, part.z_mm);
        painter.circle(at, 3.5, palette.plate, Stroke::new(1.5, palette.accent));
        words += &format!(", {}", gap_words(part, side.opening_mm, unit));
    }
    label(&painter, palette, side.rect, pos2(x, side.rect.top() + 26.0), &words);
    format!("; at the cursor {words}")
}

/// The place along the run shown that the pointer on the plan points at.
fn from_plan(ui: &Ui, project: &Project, view: &ViewState, side: &Side) -> Option<f64> {
    let (camera, rect) = (view.camera?, view.plan_rect?);
    let at = ui.input(|input| input.pointer.hover_pos()).filter(|at| rect.contains(*at))?;
    // Not through a menu or a dialog that lies over the plan.
    if ui.ctx().layer_id_at(at).is_some_and(|layer| layer != ui.layer_id()) {
        return None;
    }
    let (along_mm, distance_mm) = runs::along(side.axis.as_ref()?, camera.to_plan(rect, at))?;
    let half_mm = crate::ribbon::at(&side.ribs, along_mm).map_or(0.0, |rib| rib.half_mm);
    let here = keepside_engine::outline::channel_at(project, camera.to_plan(rect, at));
    let other = here.is_some_and(|channel| channel.inside && !side.shows(channel.run));
    (!other && distance_mm <= half_mm + camera.mm(REACH_PX)).then_some(along_mm)
}

/// A place of the plan in words: how far along which run.
pub(crate) fn place_words(project: &Project, at: DVec2, unit: Unit) -> String {
    match keepside_engine::outline::channel_at(project, at) {
        Some(channel) => format!("{} along {}", unit.length(channel.along_mm), project.tag(channel.run)),
        None => format!("x {}, y {}", unit.length(at.x), unit.length(at.y)),
    }
}

/// How far the part is off both halves there.
fn gap_words(part: AxisPoint, opening_mm: f64, unit: Unit) -> String {
    let (fixed, moving) = (part.w_mm.max(0.0), (opening_mm - part.w_mm).max(0.0));
    format!("{} off the fixed half, {} off the moving half", unit.length(fixed), unit.length(moving))
}

/// Words beside the cursor, inside the drawing.
pub(crate) fn label(painter: &egui::Painter, palette: &Palette, room: Rect, at: egui::Pos2, words: &str) {
    let size = painter.layout_no_wrap(words.to_owned(), egui::FontId::proportional(11.0), palette.ink).size();
    let left = (at.x + 7.0).min(room.right() - size.x - 6.0).max(room.left() + 4.0);
    let ground = Rect::from_min_size(pos2(left, at.y - size.y / 2.0), size).expand2(vec2(3.0, 1.0));
    painter.rect_filled(ground, 2.0, palette.panel.gamma_multiply(0.93));
    note(painter, pos2(left, at.y), Align2::LEFT_CENTER, words, palette.ink);
}
