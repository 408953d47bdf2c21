//! Curves against the opening: the total pull of both halves; and what all charts look like.

use egui::{Color32, Response, Sense, Shape, Stroke, Ui, vec2};
use egui_plot::{AxisHints, GridInput, GridMark, HoverPosition, Line, LineStyle, Plot, PlotPoints, VLine};
use keepside_engine::Opening;
use keepside_engine::opening::Frame;
use keepside_session::Session;

use crate::elevation::{frame_between, sentence};
use crate::look::Palette;
use crate::units::Unit;
use crate::view::ViewState;

/// Smallest opening drawn on the logarithmic axis, mm.
const LEAST_MM: f64 = 0.001;

/// The newest opening, or a sentence saying why there is none.
pub(super) fn opening<'a>(ui: &mut Ui, session: &'a Session) -> Option<&'a Opening> {
    match session.results().opening() {
        Some(Ok(opening)) => return Some(opening),
        Some(Err(reason)) => ui.label(sentence(&reason.to_string())),
        None => ui.weak("Computing…"),
    };
    None
}

/// Total pull of each half against the opening, with a mark at the opening shown. A click shows another.
pub(crate) fn balance_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) {
    let Some(opening) = opening(ui, session) else { return };
    let palette = Palette::of(ui);
    // The logarithmic axis has no place for what lies below its beginning.
    let points = |pull: fn(&Frame) -> f64| -> PlotPoints<'static> {
        let shown = opening.frames.iter().filter(|frame| frame.opening_mm >= LEAST_MM);
        shown.map(|frame| [frame.opening_mm.log10(), pull(frame)]).collect()
    };
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        let now = frame_between(opening, view.opening_mm);
        let pulls = |pull: fn(&Frame) -> f64| now.as_ref().map_or(0.0, pull);
        key_ui(ui, &format!("moving {:.1} N", pulls(|now| now.moving_n)), palette.moving, false);
        key_ui(ui, &format!("fixed {:.1} N", pulls(|now| now.fixed_n)), palette.fixed, true);
        key_ui(ui, &format!("at {}", Unit::of(ui).length(view.opening_mm)), palette.accent, false);
    });
    let opening_axis = AxisHints::new_x().label("opening, mm").formatter(|mark, _| decade(mark.value));
    let unit = Unit::of(ui);
    let words = move |at: &HoverPosition<'_>| {
        let opened = |log10: f64| unit.length(10.0_f64.powf(log10));
        Some(match at {
            HoverPosition::NearDataPoint { plot_name, position, .. } if !plot_name.is_empty() => {
                format!("{plot_name} pulls {:.1} N at {} opening", position.y, opened(position.x))
            }
            HoverPosition::NearDataPoint { position, .. } | HoverPosition::Elsewhere { position } => {
                format!("{} opening, {:.1} N", opened(position.x), position.y)
            }
        })
    };
    let spacer = |input: GridInput| decades(input.bounds);
    let shown = plot("balance", opening_axis).x_grid_spacer(spacer).label_formatter(words).show(ui, |plot| {
        let moving = points(|frame| frame.moving_n);
        let fixed = points(|frame| frame.fixed_n);
        plot.line(Line::new("moving half", moving).color(palette.moving).width(2.0));
        let dashed = LineStyle::dashed_dense();
        plot.line(Line::new("fixed half", fixed).color(palette.fixed).width(2.0).style(dashed));
        if view.opening_mm >= LEAST_MM {
            let at = view.opening_mm.log10();
            plot.vline(VLine::new("opening shown", at).color(palette.accent));
        }
    });
    if let Some(at) = shown.response.interact_pointer_pos().filter(|_| shown.response.clicked()) {
        let stroke_mm = session.document().press.stroke_mm;
        view.opening_mm = 10.0_f64.powf(shown.transform.value_from_position(at).x).min(stroke_mm);
        view.playing_s = None;
    }
}

/// A plot that stays where it is, with pulls upwards.
pub(crate) fn plot<'a>(name: &'static str, x_axis: AxisHints<'a>) -> Plot<'a> {
    Plot::new(name)
        .allow_drag(false)
        .allow_scroll(false)
        .allow_zoom(false)
        .allow_boxed_zoom(false)
        .custom_x_axes(vec![x_axis.label_spacing(egui::Rangef::new(14.0, 20.0))])
        .custom_y_axes(vec![
            AxisHints::new_y()
                .label("pull, N")
                .formatter(|mark, _| tick(mark))
                .label_spacing(egui::Rangef::new(10.0, 14.0)),
        ])
        .y_grid_spacer(|input| even(&input))
        .include_y(0.0)
}

/// A line of the key above a plot, where it covers no curve: a sample, and what it is.
pub(crate) fn key_ui(ui: &mut Ui, words: &str, ink: Color32, dashed: bool) -> Response {
    let (rect, _) = ui.allocate_exact_size(vec2(22.0, 12.0), Sense::hover());
    let (ends, stroke) = ([rect.left_center(), rect.right_center()], Stroke::new(2.0, ink));
    if dashed {
        ui.painter().extend(Shape::dashed_line(&ends, stroke, 4.0, 3.0));
    } else {
        ui.painter().line_segment(ends, stroke);
    }
    ui.label(words)
}

/// A power of ten on the logarithmic axis as a length: 0.001, 0.01, 0.1, 1, 10.
fn decade(log10: f64) -> String {
    format!("{:.*}", decimals(log10), 10.0_f64.powf(log10))
}

/// A mark on an even axis, with as many decimals as its step needs.
pub(crate) fn tick(mark: GridMark) -> String {
    // Adding zero takes the sign off a negative zero.
    format!("{:.*}", decimals(mark.step_size.log10()), mark.value + 0.0)
}

/// Decimals that a length of 10 to this power needs, at most 6.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to 6")]
fn decimals(log10: f64) -> usize {
    // Logarithms of powers of ten are not always whole.
    (-log10 - 1e-9).ceil().clamp(0.0, 6.0) as usize
}

/// Marks at the powers of ten.
fn decades(bounds: (f64, f64)) -> Vec<GridMark> {
    marks(bounds, 1.0)
}

/// About five marks, in steps of 1, 2 or 5 times a power of ten.
pub(super) fn even(input: &GridInput) -> Vec<GridMark> {
    let (low, high) = input.bounds;
    let least = (high - low) / 6.0;
    let power = 10.0_f64.powf(least.log10().floor());
    let step = [1.0, 2.0, 5.0].into_iter().map(|times| times * power).find(|step| *step >= least);
    marks(input.bounds, step.unwrap_or(10.0 * power))
}

/// Marks at the whole multiples of `step_size`, at most 20.
fn marks((low, high): (f64, f64), step_size: f64) -> Vec<GridMark> {
    let mut marks = Vec::new();
    let mut count = (low / step_size).ceil();
    while count * step_size <= high && marks.len() < 20 {
        marks.push(GridMark { value: count * step_size, step_size });
        count += 1.0;
    }
    marks
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_written_alike() {
        let shown: Vec<String> = decades((-3.1, 1.2)).iter().map(|mark| decade(mark.value)).collect();
        assert_eq!(shown, ["0.001", "0.01", "0.1", "1", "10"]);
        let input = |low, high| GridInput { bounds: (low, high), base_step_size: 1.0 };
        let shown = |low, high| even(&input(low, high)).into_iter().map(tick).collect::<Vec<_>>();
        assert_eq!(shown(-0.001, 0.045), ["0.00", "0.01", "0.02", "0.03", "0.04"]);
        assert_eq!(shown(-7.0, 150.0), ["0", "50", "100", "150"]);
    }
}
