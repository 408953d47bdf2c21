//! The tightest gaps round the keying features, drawn where they are.

use std::collections::BTreeSet;

use egui::{Align2, FontId, Stroke, vec2};
use keepside_engine::outline::{Gap, GapTo};
use keepside_model::Limits;
use keepside_session::Session;

use super::Canvas;
use super::dimension::plate_label;

/// The gap that a limit asks for, mm; a roof cannot be drawn in plan.
fn needed_mm(gap: &Gap, limits: &Limits) -> Option<f64> {
    match gap.to {
        GapTo::ChannelEdge => Some(limits.flow_gap_mm),
        GapTo::ChannelEnd(_) => Some(limits.end_gap_mm),
        GapTo::Feature(_) | GapTo::Sprue(_) => Some(limits.feature_gap_mm),
        GapTo::Roof => None,
    }
}

/// Gaps that are too tight always, the others of what is selected.
pub(super) fn draw(canvas: &Canvas<'_>, session: &Session) {
    let Some(layout) = session.results().layout() else { return };
    let limits = &session.document().limits;
    let mut drawn = BTreeSet::new();
    for gap in &layout.gaps {
        let Some(needed) = needed_mm(gap, limits) else { continue };
        let tight = gap.gap_mm < needed;
        let selected = session.selection().contains(&gap.feature);
        let wanted = tight || (selected && gap.to == GapTo::ChannelEdge);
        if !wanted {
            continue;
        }
        // The gap between two features is listed for each of them.
        if let GapTo::Feature(other) = gap.to
            && !drawn.insert((gap.feature.min(other), gap.feature.max(other)))
        {
            continue;
        }
        let colour = if tight { canvas.palette.fault } else { canvas.palette.ink_soft };
        let (from, to) = (canvas.at(gap.from_point), canvas.at(gap.to_point));
        canvas.painter.line_segment([from, to], Stroke::new(if tight { 2.5 } else { 1.2 }, colour));
        canvas.painter.circle_filled(from, 2.0, colour);
        canvas.painter.circle_filled(to, 2.0, colour);
        // The number stands beyond the gap, where the channel does not hide it.
        // Measured from the middle of the feature, as a feature may reach beyond the wall.
        let middle =
            session.document().features.get(&gap.feature).map_or(from, |feature| canvas.at(feature.at));
        let outwards = (to - middle).normalized();
        let outwards = if outwards == vec2(0.0, 0.0) { vec2(0.0, -1.0) } else { outwards };
        let text = format!("{:.2}", gap.gap_mm);
        plate_label(
            canvas,
            to + outwards * 13.0,
            Align2::CENTER_CENTER,
            &text,
            FontId::proportional(11.0),
            colour,
        );
    }
}
