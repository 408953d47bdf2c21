//! Curves: total pull of both halves against the opening, and the pull-off curve of what is selected.

use egui::Ui;
use egui_plot::{AxisHints, Corner, GridMark, Legend, Line, LineStyle, Plot, PlotPoints, VLine};
use keepside_engine::Opening;
use keepside_session::Session;

use crate::elevation::sentence;
use crate::look::Palette;
use crate::plan::hold_of;
use crate::view::ViewState;

/// Smallest opening drawn on the logarithmic axis, mm.
const LEAST_MM: f64 = 0.001;

/// The newest opening, or a sentence saying why there is none.
fn opening<'a>(ui: &mut Ui, session: &'a Session) -> Option<&'a Opening> {
    match session.results().opening() {
        Some(Ok(opening)) => return Some(opening),
        Some(Err(reason)) => ui.label(sentence(&reason.to_string())),
        None => ui.weak("Computing…"),
    };
    None
}

/// Total pull of each half against the opening, with a mark at the opening shown.
pub(crate) fn balance_ui(ui: &mut Ui, session: &Session, view: &ViewState) {
    let Some(opening) = opening(ui, session) else { return };
    let palette = Palette::of(ui);
    let log = |opening_mm: f64| opening_mm.max(LEAST_MM).log10();
    let points = |pull: &dyn Fn(&keepside_engine::opening::Frame) -> f64| -> PlotPoints<'static> {
        opening.frames.iter().map(|frame| [log(frame.opening_mm), pull(frame)]).collect()
    };
    Plot::new("balance")
        .legend(Legend::default().position(Corner::LeftTop))
        .allow_drag(false)
        .allow_scroll(false)
        .allow_zoom(false)
        .allow_boxed_zoom(false)
        .custom_x_axes(vec![
            AxisHints::new_x()
                .label("opening, mm")
                .formatter(|mark, _| format_mm(mark.value))
                .label_spacing(egui::Rangef::new(14.0, 20.0)),
        ])
        .y_axis_label("pull, N")
        .x_grid_spacer(|input| decades(input.bounds))
        .include_y(0.0)
        .show(ui, |plot| {
            let moving = points(&|frame| frame.moving_n);
            let fixed = points(&|frame| frame.fixed_n);
            plot.line(Line::new("moving half", moving).color(palette.moving).width(2.0));
            plot.line(
                Line::new("fixed half", fixed)
                    .color(palette.fixed)
                    .width(2.0)
                    .style(LineStyle::dashed_dense()),
            );
            plot.vline(VLine::new("opening shown", log(view.opening_mm)).color(palette.accent));
        });
}

/// A place on the logarithmic axis as a length.
fn format_mm(log10: f64) -> String {
    let length = 10.0_f64.powf(log10);
    if length >= 1.0 {
        format!("{length:.0}")
    } else {
        format!("{:.*}", if length < 0.009 { 3 } else { 2 }, length)
    }
}

/// Marks at the powers of ten.
fn decades(bounds: (f64, f64)) -> Vec<GridMark> {
    let mut marks = Vec::new();
    let mut value = bounds.0.ceil();
    while value <= bounds.1 && marks.len() < 20 {
        marks.push(GridMark { value, step_size: 1.0 });
        value += 1.0;
    }
    marks
}

/// The pull-off curve of the selected pin or sprue.
pub(crate) fn pull_off_ui(ui: &mut Ui, session: &Session) {
    if opening(ui, session).is_none() {
        return;
    }
    let hold = session.selection().iter().find_map(|id| Some((*id, hold_of(session, *id)?)));
    let Some((id, hold)) = hold else {
        ui.weak("Select a keying pin or a sprue to see its pull against its travel");
        return;
    };
    let palette = Palette::of(ui);
    let name = session.document().title(id);
    let curve: PlotPoints<'_> = hold.curve.iter().map(|&(travel, pull)| [travel, pull]).collect();
    Plot::new("pull-off")
        .legend(Legend::default())
        .allow_drag(false)
        .allow_scroll(false)
        .allow_zoom(false)
        .allow_boxed_zoom(false)
        .x_axis_label("travel, mm")
        .y_axis_label("pull, N")
        .include_y(0.0)
        .show(ui, |plot| {
            plot.line(Line::new(name, curve).color(palette.half(hold.name.half)).width(2.0));
            plot.vline(VLine::new("travel at full stroke", hold.travel_mm).color(palette.accent));
        });
}
