//! What is said beside a section through the bare channel: what the part does there.

use egui::{RichText, Ui};
use glam::DVec2;
use keepside_engine::opening::Keeper;
use keepside_engine::outline::channel_at;
use keepside_session::Session;

use crate::elevation::{frame_between, sentence};
use crate::units::Unit;
use crate::view::ViewState;

/// Who keeps the place, where the part is at the opening shown, and what stays bent.
pub(super) fn bare_ui(ui: &mut Ui, session: &Session, view: &ViewState, at: DVec2) {
    let frame = egui::Frame::new().inner_margin(egui::Margin { left: 10, right: 14, top: 6, bottom: 4 });
    frame.show(ui, |ui| {
        ui.label(RichText::new("The part here").strong());
        for line in lines(session, view, Unit::of(ui), at) {
            ui.add(egui::Label::new(sentence(&line)).wrap());
        }
        ui.add_space(4.0);
        let hint = "Click a place in the elevation, drag the line on the plan, or type how far along; a pin or \
                    ejector that stands there is cut through its middle";
        ui.add(egui::Label::new(RichText::new(hint).weak()).wrap());
    });
}

fn lines(session: &Session, view: &ViewState, unit: Unit, at: DVec2) -> Vec<String> {
    let project = session.document();
    let mut lines = Vec::new();
    if let Some(channel) = channel_at(project, at) {
        let (width, depth) = (unit.length(channel.width_mm), unit.length(channel.depth_mm));
        lines.push(format!("channel {width} wide, {depth} deep"));
    }
    let Some(Ok(opening)) = session.results().opening() else {
        lines.push("the opening is not computed yet".to_owned());
        return lines;
    };
    let near = opening.axes.iter().enumerate().filter_map(|(index, axis)| {
        let (along_mm, distance_mm) = crate::elevation::along(axis, at)?;
        Some((index, axis.run, along_mm, distance_mm))
    });
    let Some((index, run, along_mm, _)) = near.min_by(|a, b| a.3.total_cmp(&b.3)) else { return lines };
    let keeps = opening
        .stretches
        .iter()
        .find(|stretch| stretch.run == run && (stretch.from_mm..=stretch.to_mm).contains(&along_mm));
    if let Some(stretch) = keeps {
        lines.push(match stretch.keeper {
            Keeper::Moving => "in the end the moving half keeps it".to_owned(),
            Keeper::Fixed => "in the end the fixed half keeps it".to_owned(),
            Keeper::Bridging => "in the end it hangs between the halves".to_owned(),
            Keeper::Free => "in the end it falls free".to_owned(),
        });
    }
    let frame = frame_between(opening, view.opening_mm);
    let shape = frame.as_ref().and_then(|frame| frame.shapes.get(index)).map_or(&[][..], Vec::as_slice);
    let nearest =
        |a: f32, b: f32| (f64::from(a) - along_mm).abs().total_cmp(&(f64::from(b) - along_mm).abs());
    if let Some(point) = shape.iter().min_by(|a, b| nearest(a.along_mm, b.along_mm)) {
        let z_mm = f64::from(point.z_mm);
        lines.push(format!(
            "at {} opening it is {} off the fixed half and {} off the moving half",
            unit.length(view.opening_mm),
            unit.length(z_mm.max(0.0)),
            unit.length((view.opening_mm - z_mm).max(0.0)),
        ));
    }
    let left = opening.residual.iter().filter(|piece| piece.run == run).flat_map(|piece| &piece.points);
    let left = left.min_by(|a, b| (a.0 - along_mm).abs().total_cmp(&(b.0 - along_mm).abs()));
    if let Some((_, out_mm)) = left {
        let way = if *out_mm < 0.0 { "fixed" } else { "moving" };
        lines.push(format!(
            "released, it stays {} out of flat towards the {way} half",
            unit.length(out_mm.abs())
        ));
    }
    lines
}
