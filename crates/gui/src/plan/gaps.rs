//! The tightest gaps round the keying features, drawn where they are.

use std::collections::BTreeSet;

use egui::{Align2, FontId, Stroke, vec2};
use keepside_engine::outline::{Gap, GapTo};
use keepside_model::Project;
use keepside_session::Session;

use super::Canvas;
use super::dimension::plate_label;

/// Gaps are compared with this much slack, mm, as the findings are: a gap of exactly the limit is none.
const SLACK_MM: f64 = 1e-6;

/// Whether a gap is less than the project's limits ask for.
pub(crate) fn is_tight(gap: &Gap, project: &Project) -> bool {
    gap.needed_mm(project).is_some_and(|needed_mm| gap.gap_mm < needed_mm - SLACK_MM)
}

/// Gaps that are too tight always, the others of what is selected.
pub(super) fn draw(canvas: &Canvas<'_>, session: &Session) {
    let Some(layout) = session.results().layout() else { return };
    let project = session.document();
    let mut drawn = BTreeSet::new();
    for gap in &layout.gaps {
        if gap.to == GapTo::Roof {
            continue;
        }
        if gap.needed_mm(project).is_none() {
            continue;
        }
        let tight = is_tight(gap, project);
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
