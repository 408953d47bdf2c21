//! What the other views point at, shown on the plan; the pulls of this opening; the line of the section.

use egui::{Key, Rect, Role, Sense, Shape, Stroke, Vec2, WidgetInfo, pos2, vec2};
use keepside_model::Half;
use keepside_session::Session;

use super::Canvas;
use super::ruler::RULER_PX;
use crate::elevation::{ForceScale, arrow, frame_between};
use crate::section;
use crate::units::Unit;
use crate::view::{Strip, ViewState};

/// How far the line of the section reaches beyond the channel, points.
const BEYOND_PX: f32 = 16.0;

/// A place that is pointed at in the elevation or in the section: lines across the whole plan.
pub(super) fn cursor(canvas: &Canvas<'_>, session: &Session, view: &ViewState) {
    let Some(place) = view.linked else { return };
    let at = canvas.at(place);
    let stroke = Stroke::new(1.0, canvas.palette.accent);
    let (rect, painter) = (canvas.rect, &canvas.painter);
    for ends in [
        [pos2(rect.left(), at.y), pos2(rect.right(), at.y)],
        [pos2(at.x, rect.top()), pos2(at.x, rect.bottom())],
    ] {
        painter.extend(Shape::dashed_line(&ends, stroke, 4.0, 5.0));
    }
    painter.circle(at, 5.0, canvas.palette.plate, Stroke::new(2.0, canvas.palette.accent));
    let unit = Unit::of(canvas.ui);
    let words = crate::elevation::place_words(session.document(), place, unit);
    crate::elevation::cursor_label(painter, canvas.palette, rect, at + vec2(6.0, -16.0), &words);
}

/// The pulls of the pins, gates and ejectors at the opening shown: upwards where the moving half pulls,
/// downwards where the fixed half does, as in the elevation below.
pub(super) fn forces(canvas: &Canvas<'_>, session: &Session, view: &ViewState) {
    let Some(Ok(opening)) = session.results().opening() else { return };
    let Some(frame) = frame_between(opening, view.opening_mm).filter(|_| view.show_forces) else { return };
    let scale = ForceScale::of(opening);
    let mut any = false;
    for (hold, &pull_n) in opening.holds.iter().zip(&frame.pulls_n) {
        let place = hold.name.what.item().and_then(|id| session.document().place(id));
        let (Some(place), Some(length)) = (place, scale.px(f64::from(pull_n))) else { continue };
        let way = if hold.name.half == Half::Moving { -1.0 } else { 1.0 };
        let from = canvas.at(place);
        let tip = from + vec2(0.0, way * length);
        // Set off from whatever lies under it.
        arrow(&canvas.painter, from, tip, Stroke::new(5.0, canvas.palette.plate.gamma_multiply(0.85)));
        arrow(&canvas.painter, from, tip, Stroke::new(2.4, canvas.palette.half(hold.name.half)));
        any = true;
    }
    if any {
        // The lower corners are taken by the scale bar and the legend.
        let corner = canvas.rect.right_top() + vec2(-8.0, RULER_PX + 12.0);
        scale.state(&canvas.painter, canvas.palette, corner);
    }
}

/// The line along which the section is cut, with a handle that goes along the channel.
pub(super) fn section_line(canvas: &Canvas<'_>, session: &Session, view: &mut ViewState) {
    if view.strip != Strip::Section {
        return;
    }
    let Some(place) = section::place(session, view) else { return };
    let palette = canvas.palette;
    let across = place.direction.perp();
    let reach = across * (place.width_mm / 2.0 + canvas.camera.mm(BEYOND_PX));
    let ends = [canvas.at(place.at - reach), canvas.at(place.at + reach)];
    canvas.painter.line_segment(ends, Stroke::new(4.0, palette.plate.gamma_multiply(0.8)));
    canvas.painter.extend(Shape::dashed_line(&ends, Stroke::new(1.8, palette.accent), 9.0, 3.0));
    // The side towards which one looks, at both ends: along the run.
    let along = (canvas.at(place.at + place.direction) - canvas.at(place.at)).normalized();
    for end in ends {
        let corners = vec![end + along * 9.0, end + along.rot90() * 4.5, end - along.rot90() * 4.5];
        canvas.painter.add(Shape::convex_polygon(corners, palette.accent, Stroke::NONE));
    }
    let grip = Rect::from_center_size(ends[1], Vec2::splat(20.0));
    let id = egui::Id::unique("section line");
    let response = canvas.ui.interact(grip, id, Sense::click_and_drag());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, "Section line"));
    let grasped = response.hovered() || response.dragged() || response.has_focus();
    canvas.painter.circle(
        ends[1],
        if grasped { 7.0 } else { 5.5 },
        palette.plate,
        Stroke::new(2.0, palette.accent),
    );
    if response.hovered() {
        canvas.ui.set_cursor_icon(egui::CursorIcon::Grab);
    }
    if response.has_focus() {
        let arrows =
            egui::EventFilter { horizontal_arrows: true, vertical_arrows: true, ..Default::default() };
        canvas.ui.memory_mut(|memory| memory.set_focus_lock_filter(id, arrows));
        view.item_focused = false;
        let steps = canvas.ui.input(|input| {
            let on = input.num_presses(Key::ArrowRight) + input.num_presses(Key::ArrowUp);
            let back = input.num_presses(Key::ArrowLeft) + input.num_presses(Key::ArrowDown);
            u8::try_from(on).map_or(0.0, f64::from) - u8::try_from(back).map_or(0.0, f64::from)
        });
        if steps != 0.0 {
            section::go_along(session, view, place.along_mm + steps * view.grid_mm);
        }
    }
    if response.dragged()
        && let Some(pointer) = response.interact_pointer_pos()
    {
        let wanted = canvas.camera.to_plan(canvas.rect, pointer);
        section::go_to(session, view, wanted - reach);
    }
    response.on_hover_text("Drag along the channel; any run can be cut. Arrow keys move it by a grid step");
}

/// What is under the pointer in numbers.
pub(super) fn hover_words(session: &Session, view: &ViewState, unit: Unit, id: keepside_model::Id) -> String {
    let project = session.document();
    let mut lines = vec![project.title(id)];
    if let Some(place) = project.place(id).filter(|_| project.kind(id) != Some(keepside_model::ItemKind::Run))
    {
        lines.push(format!("x {}, y {}", unit.short(place.x), unit.short(place.y)));
    }
    let Some(Ok(opening)) = session.results().opening() else { return lines.join("\n") };
    let index = opening.holds.iter().position(|hold| hold.name.what.item() == Some(id));
    if let Some((index, hold)) = index.and_then(|index| Some((index, opening.holds.get(index)?))) {
        let now_n =
            frame_between(opening, view.opening_mm).and_then(|frame| frame.pulls_n.get(index).copied());
        if let Some(now_n) = now_n {
            lines.push(format!("pulls {now_n:.1} N at {} opening", unit.length(view.opening_mm)));
        }
        lines.push(format!("pulled at most {:.1} N of {:.1} N", hold.peak_n, hold.capacity_n));
        lines.push(format!(
            "{} after {}",
            crate::panels::holds::state_words(&hold.state, unit),
            unit.length(hold.travel_mm)
        ));
    }
    let gaps = session.results().layout().map_or(&[][..], |layout| &layout.gaps);
    if let Some(gap) = gaps.iter().filter(|gap| gap.item == id).min_by(|a, b| a.gap_mm.total_cmp(&b.gap_mm)) {
        lines.push(format!("nearest: {} to {}", unit.length(gap.gap_mm), gap.to.words(project)));
    }
    lines.join("\n")
}
