//! The tightest gaps round the keying features, drawn where they are.

use std::collections::BTreeSet;

use egui::{Align2, FontId, Stroke, vec2};
use keepside_engine::outline::GapTo;
use keepside_session::Session;

use super::Canvas;
use super::dimension::plate_label;

/// Gaps that are too tight always, the others of what is selected.
pub(super) fn draw(canvas: &Canvas<'_>, session: &Session) {
    let Some(layout) = session.results().layout() else { return };
    let mut drawn = BTreeSet::new();
    for gap in &layout.gaps {
        if gap.to == GapTo::Roof {
            continue;
        }
        let tight = gap.is_tight();
        let selected = session.selection().contains(&gap.item);
        let wanted = tight || (selected && matches!(gap.to, GapTo::ChannelEdge | GapTo::FarEdge));
        if !wanted {
            continue;
        }
        // The gap between two of them is listed for each.
        if let GapTo::Feature(other) | GapTo::Sprue(other) | GapTo::Ejector(other) = gap.to
            && !drawn.insert((gap.item.min(other), gap.item.max(other)))
        {
            continue;
        }
        let colour = if tight { canvas.palette.fault } else { canvas.palette.ink_soft };
        let (from, to) = (canvas.at(gap.from_point), canvas.at(gap.to_point));
        canvas.painter.line_segment([from, to], Stroke::new(if tight { 2.5 } else { 1.2 }, colour));
        canvas.painter.circle_filled(from, 2.0, colour);
        canvas.painter.circle_filled(to, 2.0, colour);
        // The number stands beside the far end of the gap, clear of the tag above or below the pin.
        let along = (to - from).normalized();
        let aside = if along.x.abs() > along.y.abs() { vec2(0.0, -14.0) } else { vec2(28.0, 0.0) };
        let text = format!("{:.2}", gap.gap_mm);
        plate_label(
            canvas,
            to + along * 9.0 + aside,
            Align2::CENTER_CENTER,
            &text,
            FontId::proportional(11.0),
            colour,
        );
    }
}
