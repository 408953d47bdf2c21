//! How far the part is out of straight along a run: before the opening, at the opening shown, and after it.

use egui::Ui;
use egui_plot::{AxisHints, HoverPosition, Line, LineStyle, PlotPoints, VLine};
use keepside_engine::Opening;
use keepside_session::Session;

use super::charts::{even, key_ui, opening, plot, tick};
use crate::elevation::{along, chooser_ui, frame_between, run_shown};
use crate::look::Palette;
use crate::units::Unit;
use crate::view::ViewState;

/// The chart.
pub(crate) fn bending_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) {
    let Some(opening) = opening(ui, session) else { return };
    let index = run_shown(session, opening, view);
    let Some(axis) = opening.axes.get(index) else { return };
    let (palette, unit) = (Palette::of(ui), Unit::of(ui));
    let during = during(opening, index, view.opening_mm);
    let of_run = |pieces: &[keepside_engine::opening::Residual]| -> Vec<Vec<(f64, f64)>> {
        let pieces = pieces.iter().filter(|piece| piece.run == axis.run);
        pieces.map(|piece| straightened(&piece.points)).collect()
    };
    let after = of_run(&opening.residual);
    let ejected =
        session.results().stripping().map(|stripping| of_run(&stripping.residual)).unwrap_or_default();
    if opening.axes.len() > 1 {
        ui.horizontal(|ui| chooser_ui(ui, session, opening, view));
    }
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        key_ui(ui, "before", palette.ink_soft, false);
        key_ui(ui, &format!("at {}", unit.length(view.opening_mm)), palette.accent, false);
        key_ui(ui, "released", palette.moving, true);
        if !ejected.is_empty() {
            key_ui(ui, "ejected", palette.bridging, true);
        }
    });
    let words = format!("most at this opening {}; up is towards the moving half", unit.length(most(&during)));
    ui.add(egui::Label::new(egui::RichText::new(words).weak()).truncate());
    let words = move |at: &HoverPosition<'_>| {
        let (name, position) = match at {
            HoverPosition::NearDataPoint { plot_name, position, .. } => (format!("{plot_name}: "), position),
            HoverPosition::Elsewhere { position } => (String::new(), position),
        };
        let (x_mm, y_mm) = (position.x * unit.mm(), position.y * unit.mm());
        Some(format!("{name}{} along, {} out of straight", unit.length(x_mm), unit.length(y_mm)))
    };
    let x_axis = AxisHints::new_x()
        .label(format!("along the run, {}", unit.word()))
        .formatter(|mark, _| tick(mark))
        .label_spacing(egui::Rangef::new(14.0, 20.0));
    let y_axis = AxisHints::new_y()
        .label(format!("bent by, {}", unit.word()))
        .formatter(|mark, _| tick(mark))
        .label_spacing(egui::Rangef::new(10.0, 14.0));
    let points = |points: &[(f64, f64)]| -> PlotPoints<'static> {
        points.iter().map(|(x, y)| [x / unit.mm(), y / unit.mm()]).collect()
    };
    let shown = plot("bending", AxisHints::new_x())
        .custom_x_axes(vec![x_axis])
        .custom_y_axes(vec![y_axis])
        .x_grid_spacer(|input| even(&input))
        .label_formatter(words)
        .show(ui, |plot| {
            let before = points(&[(0.0, 0.0), (axis.length_mm, 0.0)]);
            plot.line(Line::new("before", before).color(palette.ink_soft).width(1.2));
            plot.line(Line::new("at this opening", points(&during)).color(palette.accent).width(2.0));
            for (name, pieces, ink) in
                [("released", &after, palette.moving), ("ejected", &ejected, palette.bridging)]
            {
                let style =
                    if name == "released" { LineStyle::dashed_dense() } else { LineStyle::dotted_dense() };
                for piece in pieces {
                    plot.line(Line::new(name, points(piece)).color(ink).width(2.0).style(style));
                }
            }
            let pointed = view.linked.or(view.pointer).and_then(|at| along(axis, at));
            if let Some((along_mm, _)) = pointed.filter(|(_, distance_mm)| *distance_mm < 10.0) {
                plot.vline(VLine::new("pointed at", along_mm / unit.mm()).color(palette.rule));
            }
        });
    if let Some(at) = shown.response.hover_pos() {
        let along_mm = shown.transform.value_from_position(at).x * unit.mm();
        view.linked = axis.plan_point(along_mm.clamp(0.0, axis.length_mm)).or(view.linked);
    }
}

/// The part at an opening, out of straight.
fn during(opening: &Opening, index: usize, opening_mm: f64) -> Vec<(f64, f64)> {
    let frame = frame_between(opening, opening_mm);
    let shape = frame.as_ref().and_then(|frame| frame.shapes.get(index)).map_or(&[][..], Vec::as_slice);
    let points: Vec<(f64, f64)> =
        shape.iter().map(|point| (f64::from(point.along_mm), f64::from(point.z_mm))).collect();
    straightened(&points)
}

/// Heights over the straight line that fits them best (least squares).
fn straightened(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let count: f64 = points.iter().map(|_| 1.0).sum();
    let mean = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / count.max(1.0);
    let (x_mm, z_mm) = (mean(|point| point.0), mean(|point| point.1));
    let square: f64 = points.iter().map(|(x, _)| (x - x_mm).powi(2)).sum();
    let product: f64 = points.iter().map(|(x, z)| (x - x_mm) * (z - z_mm)).sum();
    let slope = if square > 0.0 { product / square } else { 0.0 };
    points.iter().map(|(x, z)| (*x, z - z_mm - slope * (x - x_mm))).collect()
}

/// The largest distance from straight, mm.
fn most(points: &[(f64, f64)]) -> f64 {
    points.iter().map(|(_, z)| z.abs()).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_that_only_tilts_is_straight() {
        let tilted = [(0.0, 1.0), (10.0, 2.0), (30.0, 4.0)];
        assert!(most(&straightened(&tilted)) < 1e-12);
    }

    #[test]
    fn a_bow_is_measured_from_the_line_that_fits_best() {
        // Heights 0, 1, 0 at equal steps: the mean line lies at 1/3.
        let bow = straightened(&[(0.0, 5.0), (1.0, 6.0), (2.0, 5.0)]);
        let expected = [-1.0 / 3.0, 2.0 / 3.0, -1.0 / 3.0];
        assert!(bow.iter().zip(expected).all(|((_, z), wanted)| (z - wanted).abs() < 1e-12), "{bow:?}");
    }
}
