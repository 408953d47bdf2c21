//! The pressure along a run, and where fronts are on it at the time shown.

use egui::{Rect, Ui, UiBuilder};
use egui_plot::{AxisHints, HoverPosition, Line, LineStyle, PlotPoints, Points, VLine};
use glam::DVec2;
use keepside_engine::Filling;
use keepside_engine::filling::{RunFill, Station};
use keepside_model::Id;
use keepside_session::Session;

use super::{time_s, words};
use crate::look::Palette;
use crate::panels::charts::{key_ui, plot, tick};
use crate::units::Unit;
use crate::view::ViewState;

/// How far beside a run the pointer on the plan still points along it, mm.
const REACH_MM: f64 = 10.0;

/// The run shown: the one chosen, else that of the selection, else the longest.
pub(crate) fn shown<'a>(session: &Session, filling: &'a Filling, view: &ViewState) -> Option<&'a RunFill> {
    let fill_of = |run: Id| filling.runs.iter().find(|fill| fill.run == run);
    let of_item = |id: &Id| {
        let run = keepside_engine::outline::channel_at(session.document(), session.document().place(*id)?)?;
        fill_of(run.run)
    };
    let of_selection = || session.selection().iter().find_map(|id| fill_of(*id).or_else(|| of_item(id)));
    let length_mm = |fill: &RunFill| fill.stations.last().map_or(0.0, |station| station.along_mm);
    let longest = || {
        // Of several that are alike the first.
        filling.runs.iter().rev().max_by(|a, b| length_mm(a).total_cmp(&length_mm(b)))
    };
    view.elevation_run.and_then(fill_of).or_else(of_selection).or_else(longest)
}

/// The chart.
pub(super) fn pressure_ui(
    ui: &mut Ui,
    session: &Session,
    filling: &Filling,
    view: &mut ViewState,
    room: Rect,
) {
    let Some(fill) = shown(session, filling, view) else { return };
    let (palette, unit) = (Palette::of(ui), Unit::of(ui));
    let project = session.document();
    let now_s = time_s(filling, view);
    ui.painter().rect_filled(room, 0.0, palette.panel);
    let builder = UiBuilder::new().max_rect(room.shrink2(egui::vec2(8.0, 3.0)));
    // In a small window it is cut at the bottom, and pushes nothing away.
    let mut inner = ui.new_child(builder);
    inner.set_clip_rect(room);
    let mut draw = |ui: &mut Ui| {
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = 4.0;
            ui.label(format!("Pressure in {}", project.tag(fill.run)));
            ui.add_space(6.0);
            key_ui(ui, "at the end", palette.accent, false);
            key_ui(ui, "highest", palette.ink_soft, true);
            ui.add_space(12.0);
            ui.label(fronts_words(filling, fill, now_s, unit));
        });
        let points = |of: fn(&Station) -> f64| -> PlotPoints<'static> {
            fill.stations.iter().map(|station| [station.along_mm / unit.mm(), of(station)]).collect()
        };
        let along = format!("along {}, {}", project.tag(fill.run), unit.word());
        let axis = AxisHints::new_x().label(along).formatter(|mark, _| tick(mark));
        let stations = fill.stations.clone();
        let hover = move |at: &HoverPosition<'_>| {
            let (HoverPosition::NearDataPoint { position, .. } | HoverPosition::Elsewhere { position }) = at;
            Some(station_words(&stations, position.x * unit.mm(), unit))
        };
        let pressure = AxisHints::new_y().label("MPa").formatter(|mark, _| tick(mark));
        let pressure = pressure.label_spacing(egui::Rangef::new(10.0, 14.0));
        let chart = plot("pressure along the run", axis).custom_y_axes(vec![pressure]).label_formatter(hover);
        let shown = chart.show(ui, |plot| {
            plot.line(
                Line::new("at the end", points(|s| s.end_pressure_mpa)).color(palette.accent).width(2.0),
            );
            let dashed = LineStyle::dashed_dense();
            let highest = Line::new("highest", points(|s| s.peak_pressure_mpa)).color(palette.ink_soft);
            plot.line(highest.width(1.5).style(dashed));
            for weld in filling.welds.iter().filter(|weld| weld.run == fill.run) {
                let line = VLine::new("fronts meet", weld.along_mm / unit.mm());
                plot.vline(line.color(palette.plastic_edge).style(LineStyle::dotted_dense()));
            }
            let fronts = filling.fronts_at(now_s).into_iter().filter(|front| front.run == fill.run);
            let feet: Vec<[f64; 2]> = fronts.map(|front| [front.along_mm / unit.mm(), 0.0]).collect();
            plot.points(Points::new("fronts", feet).color(palette.accent).radius(5.0).filled(true));
            if let Some(along_mm) = pointed_mm(fill, view) {
                plot.vline(VLine::new("pointed at", along_mm / unit.mm()).color(palette.rule));
            }
        });
        if let Some(at) = shown.response.hover_pos() {
            let along_mm = shown.transform.value_from_position(at).x * unit.mm();
            view.linked = at_along(&fill.stations, along_mm).map(|station| station.at).or(view.linked);
        }
    };
    draw(&mut inner);
}

/// Where the fronts are on the run.
fn fronts_words(filling: &Filling, fill: &RunFill, now_s: f64, unit: Unit) -> String {
    let here = filling.fronts_at(now_s).into_iter().filter(|front| front.run == fill.run);
    let places: Vec<String> = here.map(|front| unit.length(front.along_mm)).collect();
    match places.len() {
        0 => format!("no front at {}", words::seconds(now_s)),
        1 => format!("front after {} at {}", words::seconds(now_s), places.join(", ")),
        _ => format!("fronts after {} at {}", words::seconds(now_s), places.join(", ")),
    }
}

/// The place along the run that is pointed at in another view.
fn pointed_mm(fill: &RunFill, view: &ViewState) -> Option<f64> {
    let at = view.linked.or(view.pointer)?;
    let away = |station: &Station| station.at.distance(at);
    let nearest = fill.stations.iter().min_by(|a, b| away(a).total_cmp(&away(b)))?;
    (away(nearest) < REACH_MM).then_some(nearest.along_mm)
}

/// A place along the run with what is known of it, between stations in a straight line.
fn at_along(stations: &[Station], along_mm: f64) -> Option<Station> {
    let (first, last) = (stations.first()?, stations.last()?);
    let along_mm = along_mm.clamp(first.along_mm, last.along_mm);
    let after = stations.partition_point(|station| station.along_mm < along_mm).max(1);
    let (Some(a), Some(b)) = (stations.get(after - 1), stations.get(after)) else { return Some(*first) };
    let share = (along_mm - a.along_mm) / (b.along_mm - a.along_mm).max(1e-12);
    let mix = |of: fn(&Station) -> f64| of(a) + share * (of(b) - of(a));
    Some(Station {
        along_mm,
        at: DVec2::lerp(a.at, b.at, share),
        time_s: a.time_s.zip(b.time_s).map(|(a_s, b_s)| a_s + share * (b_s - a_s)),
        gate: a.gate,
        end_pressure_mpa: mix(|s| s.end_pressure_mpa),
        peak_pressure_mpa: mix(|s| s.peak_pressure_mpa),
        temperature_c: mix(|s| s.temperature_c),
        shear_rate_per_s: mix(|s| s.shear_rate_per_s),
        skin_mm: mix(|s| s.skin_mm),
    })
}

/// A place along the run in words.
fn station_words(stations: &[Station], along_mm: f64, unit: Unit) -> String {
    let Some(station) = at_along(stations, along_mm) else { return String::new() };
    let place = unit.length(station.along_mm);
    let Some(time_s) = station.time_s else { return format!("{place}: stays empty") };
    format!(
        "{place}: melt of {:.0} °C comes after {}\n{:.1} MPa at the end, at most {:.1} MPa\n{:.0} 1/s at the \
         wall, skin {}",
        station.temperature_c,
        words::seconds(time_s),
        station.end_pressure_mpa,
        station.peak_pressure_mpa,
        station.shear_rate_per_s,
        unit.length(station.skin_mm)
    )
}
