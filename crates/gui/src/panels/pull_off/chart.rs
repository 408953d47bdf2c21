//! The chart of a pull-off curve, and its points as handles for the mouse and the keyboard.

use egui::{
    Color32, EventFilter, Key, Modifiers, Pos2, Response, Role, Sense, Stroke, Ui, Vec2, WidgetInfo, vec2,
};
use egui_plot::{
    AxisHints, HoverPosition, Line, LineStyle, MarkerShape, PlotBounds, PlotPoint, PlotPoints, PlotTransform,
    Points,
};

use super::subject::tidy;
use crate::look::Palette;
use crate::panels::charts::{even, plot, tick};

/// Radius of a working point, points.
pub(super) const MARK_PX: f32 = 5.0;

/// Radius of a handle, points.
const HANDLE_PX: f32 = 5.0;

/// How near to a handle it can be grasped, points.
const GRASP_PX: f32 = 9.0;

/// A line of the chart.
pub(super) struct Drawn<'a> {
    pub(super) name: &'a str,
    pub(super) points: &'a [(f64, f64)],
    pub(super) ink: Color32,
    pub(super) dashed: bool,
}

/// What the chart shows.
pub(super) struct Chart<'a> {
    pub(super) unit: &'a str,
    pub(super) lines: Vec<Drawn<'a>>,
    /// Working points: place, colour, and whether they are round.
    pub(super) marks: Vec<((f64, f64), Color32, bool)>,
    /// Where the holds are at the opening shown: travel and pull.
    pub(super) now: Vec<((f64, f64), Color32)>,
    /// Points that can be moved, with their numbers from 1.
    pub(super) handles: Vec<(usize, (f64, f64))>,
    pub(super) height: f32,
}

/// How much of both axes is shown.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Extent {
    travel_mm: f64,
    pull: f64,
}

/// A handle in the hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Grab {
    number: usize,
    from: (f64, f64),
    /// Of the axes when it was grasped: they stay while it moves.
    extent: Extent,
}

/// What was done to a point, by its number from 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Touch {
    /// It follows the pointer.
    Dragged(usize, (f64, f64)),
    /// It was let go of.
    Dropped,
    /// The drag was given up.
    Escaped,
    /// A key moved it.
    Moved(usize, (f64, f64)),
    /// The delete key took it away.
    Removed(usize),
}

impl Extent {
    fn of(chart: &Chart<'_>) -> Self {
        let lines = chart.lines.iter().flat_map(|line| line.points);
        let most = |least: f64, coordinate: fn(&(f64, f64)) -> f64| {
            let most = lines.clone().map(coordinate).fold(0.0, f64::max);
            if most > 0.0 { most } else { least }
        };
        Self { travel_mm: most(1.0, |point| point.0), pull: most(1.0, |point| point.1) }
    }

    /// A little more than all of it, so that points can be dragged outwards.
    fn bounds(self) -> PlotBounds {
        let Self { travel_mm, pull } = self;
        PlotBounds::from_min_max([-0.03 * travel_mm, -0.06 * pull], [1.12 * travel_mm, 1.2 * pull])
    }

    /// A point with no more digits than the chart can show.
    fn rounded(self, point: (f64, f64)) -> (f64, f64) {
        let round = |value: f64, span: f64| {
            let digit = digit(span / 200.0);
            tidy((value / digit).round() * digit)
        };
        (round(point.0, self.travel_mm), round(point.1, self.pull))
    }
}

/// The power of ten at or below a number.
fn digit(value: f64) -> f64 {
    10.0_f64.powf(value.max(1e-5).log10().floor())
}

/// The chart. What was done to its points comes back.
pub(super) fn chart_ui(ui: &mut Ui, chart: &Chart<'_>, grab: &mut Option<Grab>) -> Option<Touch> {
    let extent = grab.map_or_else(|| Extent::of(chart), |grab| grab.extent);
    let travel_axis = AxisHints::new_x()
        .label("travel, mm")
        .formatter(|mark, _| tick(mark))
        .label_spacing(egui::Rangef::new(14.0, 20.0));
    let pull_axis = AxisHints::new_y()
        .label(format!("pull, {}", chart.unit))
        .formatter(|mark, _| tick(mark))
        .label_spacing(egui::Rangef::new(10.0, 14.0));
    let shown = plot("pull-off", AxisHints::new_x())
        .custom_x_axes(vec![travel_axis])
        .custom_y_axes(vec![pull_axis])
        .x_grid_spacer(|input| even(&input))
        .label_formatter(|at| Some(hover_words(at, chart.unit)))
        .height(chart.height)
        .show(ui, |plot| {
            plot.set_plot_bounds(extent.bounds());
            for line in &chart.lines {
                let points: PlotPoints<'_> = line.points.iter().map(|&(x, y)| [x, y]).collect();
                let style = if line.dashed { LineStyle::dashed_dense() } else { LineStyle::Solid };
                plot.line(Line::new(line.name, points).color(line.ink).width(2.0).style(style));
            }
            for &((travel_mm, pull), ink) in &chart.now {
                let mark =
                    Points::new("at the opening shown", vec![[travel_mm, pull]]).shape(MarkerShape::Plus);
                plot.points(mark.radius(2.2 * MARK_PX).color(ink));
            }
            for &((travel_mm, pull), ink, round) in &chart.marks {
                // The corners of a diamond show behind a circle in the same place.
                let (shape, radius) = match round {
                    true => (MarkerShape::Circle, MARK_PX),
                    false => (MarkerShape::Diamond, 1.5 * MARK_PX),
                };
                let mark = Points::new("reached", vec![[travel_mm, pull]]).shape(shape);
                plot.points(mark.radius(radius).color(ink));
            }
        });
    handles_ui(ui, chart, &shown.transform, extent, grab)
}

/// The numbers where the pointer is.
fn hover_words(at: &HoverPosition<'_>, unit: &str) -> String {
    let (name, position) = match at {
        HoverPosition::NearDataPoint { plot_name, position, .. } => (format!("{plot_name}: "), position),
        HoverPosition::Elsewhere { position } => (String::new(), position),
    };
    format!("{name}{:.2} {unit} after {:.3} mm", position.y, position.x)
}

fn handles_ui(
    ui: &mut Ui,
    chart: &Chart<'_>,
    transform: &PlotTransform,
    extent: Extent,
    grab: &mut Option<Grab>,
) -> Option<Touch> {
    let palette = Palette::of(ui);
    let frame = *transform.frame();
    let place = |(x, y): (f64, f64)| transform.position_from_point(&PlotPoint::new(x, y));
    // Escape ends a drag before the handle hears of it.
    let escaped = grab.is_some() && ui.input(|input| input.key_pressed(Key::Escape));
    let mut touch = escaped.then_some(Touch::Escaped);
    if escaped {
        *grab = None;
    }
    let mut in_hand = false;
    for &(number, point) in &chart.handles {
        let at = place(point);
        let rect = egui::Rect::from_center_size(at, Vec2::splat(2.0 * GRASP_PX));
        let id = ui.scope_id().with(("point of the curve", number));
        let response = ui.interact(rect, id, Sense::click_and_drag());
        let words = format!("Point {number} of the curve, {} mm, {} {}", point.0, point.1, chart.unit);
        response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &words));
        if response.clicked() {
            response.request_focus();
        }
        if response.drag_started() {
            response.request_focus();
            *grab = Some(Grab { number, from: point, extent });
        }
        if let Some(held) = grab.filter(|held| held.number == number) {
            in_hand = response.dragged();
            let to = |delta: Vec2| {
                let value = transform.value_from_position(place(held.from) + delta);
                extent.rounded((value.x, value.y))
            };
            match response.total_drag_delta() {
                Some(delta) if in_hand => touch = Some(Touch::Dragged(number, to(delta))),
                _ => touch = Some(Touch::Dropped),
            }
        }
        if response.has_focus() {
            touch = touch.or_else(|| keys(ui, &response, extent, number, point));
        }
        draw_handle(ui, frame, palette, at, &response);
        response.on_hover_text(format!(
            "{words}\nDrag it, or move it with the arrow keys; Shift for small steps, Del to remove it"
        ));
    }
    if !in_hand {
        *grab = None;
    }
    touch
}

/// What the keyboard does to the point that has it.
fn keys(ui: &Ui, response: &Response, extent: Extent, number: usize, point: (f64, f64)) -> Option<Touch> {
    let arrows = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..Default::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, arrows));
    let pressed = |key| {
        ui.input_mut(|input| {
            let small = input.consume_key(Modifiers::SHIFT, key);
            (small, small || input.consume_key(Modifiers::NONE, key))
        })
    };
    if pressed(Key::Delete).1 {
        return Some(Touch::Removed(number));
    }
    let ways = [
        (Key::ArrowLeft, vec2(-1.0, 0.0)),
        (Key::ArrowRight, vec2(1.0, 0.0)),
        (Key::ArrowUp, vec2(0.0, 1.0)),
        (Key::ArrowDown, vec2(0.0, -1.0)),
    ];
    ways.into_iter().find_map(|(key, way)| {
        let (small, any) = pressed(key);
        let share = if small { 0.1 } else { 1.0 };
        let step = |span: f64, way: f32| f64::from(way) * share * digit(span / 10.0);
        let to = (point.0 + step(extent.travel_mm, way.x), point.1 + step(extent.pull, way.y));
        any.then(|| Touch::Moved(number, (tidy(to.0), tidy(to.1))))
    })
}

fn draw_handle(ui: &Ui, frame: egui::Rect, palette: &Palette, at: Pos2, response: &Response) {
    let painter = ui.painter_at(frame.expand(HANDLE_PX).intersect(ui.clip_rect()));
    let is_hot = response.hovered() || response.dragged();
    // Hollow, so that a working point shows in it.
    let fill = if is_hot { palette.accent_soft } else { Color32::TRANSPARENT };
    painter.circle(at, HANDLE_PX, fill, Stroke::new(2.0, palette.accent));
    if response.has_focus() {
        painter.circle_stroke(at, HANDLE_PX + 3.0, Stroke::new(1.5, palette.accent));
    }
    if is_hot {
        ui.set_cursor_icon(egui::CursorIcon::Grab);
    }
}
