//! Drawing on the plan: runs point by point, shapes by one click, measuring. Shows what a click would do,
//! and a small panel with the sizes.

use egui::{Align2, Area, FontId, Frame, Order, PointerButton, Pos2, Response, Shape, Stroke, Ui, vec2};
use glam::DVec2;
use keepside_model::{Bounds, Run, bounds};
use keepside_session::{Aid, Asked, Channel, Drawing, Next, Session, Snap, SnapTo, measure_snap, on_ray};

use super::dimension::plate_label;
use super::{Canvas, part};
use crate::action::{Action, Command};
use crate::camera::Camera;
use crate::panels::length_ui;
use crate::ribbon;
use crate::units::Unit;
use crate::view::{Tool, ViewState};
use crate::work::{DrawKey, Sizes};

/// How near to a point, a centre line or an edge a drawn point jumps onto it, points.
const MAGNET: f32 = 8.0;

/// Directions with Shift, degrees.
const RAY_DEG: f64 = 15.0;

/// Where a drawn point or an end of a measurement comes to lie if the user points at `wanted`.
pub(crate) fn aim(
    session: &Session,
    view: &ViewState,
    camera: Camera,
    modifiers: egui::Modifiers,
    wanted: DVec2,
) -> Aid {
    let project = session.document();
    // That a point lies on the grid needs no word while so much else is shown.
    let at = |at: DVec2, to: SnapTo| {
        let to = if to == SnapTo::Grid { SnapTo::Nothing } else { to };
        Aid { at, to, guide: None }
    };
    let drawing = &view.work.drawing;
    if !view.snapping || modifiers.alt || (view.tool == Tool::Run && drawing.asked() == Asked::Bend) {
        return at(wanted, SnapTo::Nothing);
    }
    let reach_mm = camera.mm(MAGNET);
    let grid_mm = Some(view.grid_mm);
    if view.tool == Tool::Measure {
        let outline = session.results().layout().map(|layout| &layout.outline);
        let near = measure_snap(project, outline, wanted, reach_mm);
        let grid = || Snap { grid_mm, magnet_mm: 0.0 }.point(project, wanted);
        return near.map_or_else(|| at(grid().at, SnapTo::Grid), |(place, to)| at(place, to));
    }
    if view.tool == Tool::Run {
        let first = drawing.points().first().map(|point| point.at);
        if let Some(first) =
            first.filter(|first| drawing.closes(*first) && first.distance(wanted) <= reach_mm)
        {
            return at(first, SnapTo::RingClosed);
        }
        if let Some(aid) = run_point(session, None, wanted, reach_mm) {
            return aid;
        }
        if let Some(last) = drawing.points().last().filter(|_| modifiers.shift) {
            return at(on_ray(last.at, wanted, RAY_DEG, grid_mm), SnapTo::Direction);
        }
    }
    let snapped = Snap { grid_mm, magnet_mm: reach_mm }.point(project, wanted);
    at(snapped.at, snapped.to)
}

/// The point of a run other than `own` within reach.
pub(super) fn run_point(
    session: &Session,
    own: Option<keepside_model::Id>,
    wanted: DVec2,
    reach_mm: f64,
) -> Option<Aid> {
    let runs = session.before_gesture().part.runs.iter().filter(|(id, _)| Some(**id) != own);
    let points = runs.flat_map(|(&id, run)| run.points.iter().map(move |point| (id, point.at)));
    let near = points.filter(|(_, at)| at.distance(wanted) <= reach_mm);
    let nearest = near.min_by(|a, b| a.1.distance(wanted).total_cmp(&b.1.distance(wanted)));
    nearest.map(|(id, at)| Aid { at, to: SnapTo::RunPoint(id), guide: None })
}

/// Pointer, preview and panel of the tools that draw.
pub(super) fn drawing_ui(
    canvas: &Canvas<'_>,
    background: &Response,
    session: &Session,
    view: &mut ViewState,
    actions: &mut Vec<Action>,
) {
    let pointed = canvas.ui.input(|input| input.pointer.latest_pos());
    let pointed =
        pointed.filter(|at| canvas.rect.contains(*at) && canvas.ui.rect_contains_pointer(canvas.rect));
    let wanted = pointed.map(|at| canvas.camera.to_plan(canvas.rect, at));
    view.work.pointer = wanted;
    view.work.drawing.unit_mm = Unit::of(canvas.ui).mm();
    if !view.tool.draws() {
        return;
    }
    let modifiers = canvas.ui.input(|input| input.modifiers);
    view.snapped = wanted.map(|wanted| aim(session, view, canvas.camera, modifiers, wanted));
    if let Some(wanted) = wanted {
        clicks(canvas, background, view, wanted, actions);
    }
    if view.tool == Tool::Run && view.work.drawing.is_begun() && canvas.ui.memory(|m| m.focused().is_none()) {
        background.request_focus();
    }
    if background.has_focus() {
        let tab = view.tool == Tool::Run && view.work.drawing.is_begun();
        let keys = egui::EventFilter { tab, horizontal_arrows: true, vertical_arrows: true, escape: tab };
        canvas.ui.memory_mut(|memory| memory.set_focus_lock_filter(background.id, keys));
    }
    let aimed = view.snapped.map(|aid| aid.at);
    match view.tool {
        Tool::Run => run_preview(canvas, view, aimed),
        Tool::Measure => measure_preview(canvas, view, aimed),
        _ => {
            if let Some(at) = aimed {
                let channel = view.work.channel(session.document());
                shape_runs(view.tool, channel, view.work.sizes, at).iter().for_each(|run| ghost(canvas, run));
            }
        }
    }
    panel_ui(canvas, session, view, actions);
}

/// Where the copies of the form for repeating would come to lie.
pub(super) fn repeat_preview(canvas: &Canvas<'_>, session: &Session, view: &ViewState) {
    if !view.work.repeat_open {
        return;
    }
    let form = view.work.repeat;
    let stroke = Stroke::new(1.5, canvas.palette.accent);
    for from in session.selection().iter().filter_map(|id| session.document().place(*id)) {
        let mut last = canvas.at(from);
        for number in 1..=form.count {
            let at = canvas.at(from + form.step_mm() * f64::from(number));
            canvas.painter.extend(Shape::dashed_line(&[last, at], stroke, 4.0, 4.0));
            canvas.painter.circle_stroke(at, 6.0, stroke);
            last = at;
        }
    }
}

/// Clicks anywhere on the plan, on items as well.
fn clicks(
    canvas: &Canvas<'_>,
    background: &Response,
    view: &ViewState,
    wanted: DVec2,
    actions: &mut Vec<Action>,
) {
    let (clicked, double, secondary, space) = canvas.ui.input(|input| {
        let pointer = &input.pointer;
        (
            pointer.button_clicked(PointerButton::Primary),
            pointer.button_double_clicked(PointerButton::Primary),
            pointer.button_clicked(PointerButton::Secondary),
            input.key_down(egui::Key::Space),
        )
    });
    let draws_run = view.tool == Tool::Run;
    if draws_run && (secondary || (double && !view.work.drawing.points().is_empty())) {
        actions.push(Action::Command(Command::UseTool(Tool::Select)));
    } else if clicked && !space {
        background.request_focus();
        actions.push(Action::Place(view.tool, wanted));
    }
}

/// The runs of a shape.
fn shape_runs(tool: Tool, channel: Channel, sizes: Sizes, at: DVec2) -> Vec<Run> {
    match tool {
        Tool::Frame => vec![channel.frame(at, sizes.frame_mm)],
        Tool::Ring => vec![channel.ring(at, sizes.ring_mm)],
        Tool::Tee => channel.tee(at, sizes.tee_mm).to_vec(),
        Tool::Cross => channel.cross(at, sizes.cross_mm).to_vec(),
        _ => Vec::new(),
    }
}

/// A run as it would be.
fn ghost(canvas: &Canvas<'_>, run: &Run) {
    let ribs = ribbon::ribs(run);
    part::fill(canvas, &ribs, canvas.palette.accent.gamma_multiply(0.22));
    let middle: Vec<Pos2> = ribs.iter().map(|rib| canvas.at(rib.at)).collect();
    canvas.painter.extend(Shape::dashed_line(&middle, Stroke::new(1.5, canvas.palette.accent), 7.0, 4.0));
}

fn run_preview(canvas: &Canvas<'_>, view: &ViewState, aimed: Option<DVec2>) {
    let drawing = &view.work.drawing;
    let Some(aimed) = aimed.or(drawing.points().last().map(|point| point.at)) else { return };
    let points = drawing.preview(aimed);
    let run = drawing.channel.run(points.iter().map(|point| (point.at, point.bulge)));
    ghost(canvas, &run);
    let next = drawing.next(aimed);
    for at in drawing.points().iter().map(|point| point.at).chain([next.at]) {
        let handle = egui::Rect::from_center_size(canvas.at(at), vec2(8.0, 8.0));
        let stroke = Stroke::new(1.6, canvas.palette.accent);
        canvas.painter.rect(handle, 1.0, canvas.palette.plate, stroke, egui::StrokeKind::Middle);
    }
    let at = canvas.at(next.at) + vec2(16.0, 20.0);
    let font = FontId::proportional(12.5);
    plate_label(
        canvas,
        at,
        Align2::LEFT_CENTER,
        &words(Unit::of(canvas.ui), drawing, &next),
        font,
        canvas.palette.ink,
    );
}

/// The numbers of the next point, those being typed as typed.
fn words(unit: Unit, drawing: &Drawing, next: &Next) -> String {
    let (typed, field) = drawing.typed();
    let number = |index: usize, value: String| match typed[index] {
        "" => value,
        text if field == index => format!("{text}|"),
        text => text.to_owned(),
    };
    let sign = unit.word();
    match drawing.asked() {
        Asked::Place => {
            let (x, y) = (number(0, unit.number(next.at.x)), number(1, unit.number(next.at.y)));
            format!("x {x} {sign}, y {y} {sign}")
        }
        Asked::Polar => {
            let (length, angle) = (unit.number(next.length_mm), format!("{:.1}", next.angle_deg));
            format!("Length {} {sign}, angle {}°", number(0, length), number(1, angle))
        }
        Asked::Bend => {
            let radius = next.radius_mm.map_or("–".to_owned(), |radius_mm| unit.number(radius_mm));
            let sweep = format!("{:.1}", next.sweep_deg);
            format!("Radius {} {sign}, turns by {}°", number(0, radius), number(1, sweep))
        }
    }
}

/// From where to where is measured: the second place is the pointer's until it is clicked.
fn measured(view: &ViewState, aimed: Option<DVec2>) -> Option<(DVec2, DVec2)> {
    match view.work.measured[..] {
        [from, to] => Some((from, to)),
        [from] => aimed.map(|to| (from, to)),
        _ => None,
    }
}

fn measure_preview(canvas: &Canvas<'_>, view: &ViewState, aimed: Option<DVec2>) {
    let Some((from, to)) = measured(view, aimed) else { return };
    let (a, b) = (canvas.at(from), canvas.at(to));
    let corner = canvas.at(DVec2::new(to.x, from.y));
    let (ink, accent) = (canvas.palette.ink, canvas.palette.accent);
    let thin = Stroke::new(1.0, accent);
    canvas.painter.extend(Shape::dashed_line(&[a, corner, b], thin, 4.0, 4.0));
    canvas.painter.line_segment([a, b], Stroke::new(2.0, accent));
    for end in [a, b] {
        canvas.painter.circle(end, 3.5, canvas.palette.plate, Stroke::new(1.6, accent));
    }
    let text = Unit::of(canvas.ui).short(from.distance(to));
    // Beside the line, so that what lies on it is seen.
    let aside = (b - a).normalized().rot90() * 14.0;
    let aside = if aside.y > 0.0 { -aside } else { aside };
    let at = a.lerp(b, 0.5) + vec2(aside.x * 2.5, aside.y);
    plate_label(canvas, at, Align2::CENTER_CENTER, &text, FontId::proportional(12.5), ink);
}

/// A measurement in words.
fn measure_words(unit: Unit, from: DVec2, to: DVec2) -> String {
    let by = to - from;
    let angle_deg = if by == DVec2::ZERO { 0.0 } else { by.to_angle().to_degrees().rem_euclid(360.0) };
    let (length, dx, dy) = (unit.length(by.length()), unit.length(by.x), unit.length(by.y));
    format!("Distance {length}, dx {dx}, dy {dy}, angle {angle_deg:.1}°")
}

/// The panel of the tool, in the plan's upper left corner.
fn panel_ui(canvas: &Canvas<'_>, session: &Session, view: &mut ViewState, actions: &mut Vec<Action>) {
    // Beside the rulers.
    let at = canvas.rect.left_top() + vec2(26.0, 26.0);
    let area = Area::new(egui::Id::unique("tool sizes")).order(Order::Middle).fixed_pos(at);
    area.constrain_to(canvas.rect).show(canvas.ui.ctx(), |ui| {
        Frame::popup(ui.style()).inner_margin(6).show(ui, |ui| {
            ui.style_mut().wrap_mode = Some(egui::TextWrapMode::Extend);
            ui.horizontal(|ui| {
                if view.tool == Tool::Measure {
                    ui.strong("Measure");
                } else {
                    sizes_ui(ui, session, view);
                }
            });
            match view.tool {
                Tool::Run => run_row_ui(ui, view, actions),
                Tool::Measure => {
                    let aimed = view.snapped.map(|aid| aid.at);
                    match measured(view, aimed) {
                        Some((from, to)) => ui.label(measure_words(Unit::of(ui), from, to)),
                        None => ui.label("Click two places; edges and middles catch"),
                    };
                }
                _ => {}
            }
        });
    });
}

/// The channel, and the size of a shape.
fn sizes_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) {
    let work = &mut view.work;
    let sizes = &mut work.sizes;
    let side = Bounds { what: "a size", unit: "mm", min: 1.0, max: 5000.0 };
    match view.tool {
        Tool::Frame => {
            length_ui(ui, "Frame length", &mut sizes.frame_mm.x, side);
            length_ui(ui, "Frame height", &mut sizes.frame_mm.y, side);
        }
        Tool::Ring => drop(length_ui(ui, "Ring diameter", &mut sizes.ring_mm, side)),
        Tool::Tee => {
            length_ui(ui, "Bar length", &mut sizes.tee_mm.x, side);
            length_ui(ui, "Stem length", &mut sizes.tee_mm.y, side);
        }
        Tool::Cross => {
            length_ui(ui, "Level bar", &mut sizes.cross_mm.x, side);
            length_ui(ui, "Upright bar", &mut sizes.cross_mm.y, side);
        }
        _ => {}
    }
    let mut channel = work.channel(session.document());
    let wide = length_ui(ui, "New channel width", &mut channel.width_mm, bounds::CHANNEL_WIDTH);
    let deep = length_ui(ui, "New channel depth", &mut channel.depth_mm, bounds::CHANNEL_DEPTH);
    if wide || deep {
        work.channel = Some(channel);
        work.drawing.channel = channel;
    }
}

/// What a click would add, and the buttons of drawing.
fn run_row_ui(ui: &mut Ui, view: &ViewState, actions: &mut Vec<Action>) {
    let drawing = &view.work.drawing;
    let mut key = |key| actions.push(Action::Command(Command::Draw(key)));
    ui.horizontal(|ui| {
        let mut is_arc = drawing.is_arc();
        if ui.checkbox(&mut is_arc, "Arc").on_hover_text("A: end first, then the bend").clicked() {
            key(DrawKey::Arc);
        }
        let has_points = !drawing.points().is_empty();
        ui.add_enabled_ui(has_points, |ui| {
            if ui.button("Take back").on_hover_text("Backspace").clicked() {
                key(DrawKey::TakeBack);
            }
            if ui.button("Finish").on_hover_text("Esc").clicked() {
                key(DrawKey::Finish);
            }
        });
        let aimed = view.snapped.map(|aid| aid.at).or(drawing.points().last().map(|point| point.at));
        let next = drawing.next(aimed.unwrap_or(DVec2::ZERO));
        if aimed.is_some() || drawing.is_typing() {
            ui.label(words(Unit::of(ui), drawing, &next));
        } else {
            ui.weak("Click the first point, or type its x and y");
        }
    });
}
