//! The part by itself: what stays bent once it has let go of the mould, or once the ejectors have pushed
//! it off.

use egui::{Stroke, pos2, vec2};
use keepside_engine::Opening;
use keepside_engine::opening::{BumpAt, Residual};
use keepside_session::Session;

use super::draw::{AxisPoint, Pen};
use crate::units::Unit;
use crate::view::ViewState;

/// What is left bent.
pub(super) struct Left<'a> {
    /// Since when, in one word.
    pub(super) words: &'static str,
    residual: &'a [Residual],
    bumps: &'a [BumpAt],
    /// Out of flat by this much, mm.
    pub(super) flatness_mm: f64,
}

impl<'a> Left<'a> {
    /// What is to be shown in place of the mould, if the user wants that.
    pub(super) fn of(session: &'a Session, opening: &'a Opening, view: &ViewState) -> Option<Self> {
        let finite = |mm: f64| if mm.is_finite() { mm } else { 0.0 };
        match session.results().stripping() {
            Some(stripping) if view.show_ejected && is_known(session) => Some(Self {
                words: "ejected",
                residual: &stripping.residual,
                bumps: &stripping.bumps,
                flatness_mm: finite(stripping.flatness_mm),
            }),
            _ => view.show_released.then(|| Self {
                words: "released",
                residual: &opening.residual,
                bumps: &opening.bumps,
                flatness_mm: finite(opening.flatness_mm),
            }),
        }
    }
}

/// Whether the shape after ejection is known.
pub(super) fn is_known(session: &Session) -> bool {
    session.results().stripping().is_some_and(|stripping| !stripping.residual.is_empty())
}

impl Pen<'_> {
    /// The part on a flat table, with what stays bent.
    pub(super) fn on_table(&self, left: &Left<'_>) {
        let side = self.side;
        // The whole part lies on the table: a run may hang over it.
        let heights = left.residual.iter().flat_map(|piece| piece.points.iter());
        let low = heights.map(|(_, z)| *z).fold(f64::INFINITY, f64::min);
        let point = |&(along_mm, z): &(f64, f64)| {
            let z_mm = z - low + side.depth_mm(along_mm) / 2.0;
            AxisPoint { along_mm, x_mm: along_mm, z_mm, w_mm: 0.0 }
        };
        let table = [pos2(side.rect.left(), side.face_y), pos2(side.rect.right(), side.face_y)];
        self.painter.line_segment(table, Stroke::new(1.2, self.palette.plate_edge));
        let mut points: Vec<AxisPoint> = Vec::new();
        for piece in left.residual.iter().filter(|piece| side.shows(piece.run)) {
            let of_piece: Vec<AxisPoint> = piece.points.iter().map(point).collect();
            self.part(&of_piece, 0.0);
            points.extend(of_piece);
        }
        points.sort_by(|a, b| a.along_mm.total_cmp(&b.along_mm));
        self.meetings(&points);
        // Labels that would run into one another go to the next line up.
        let mut lines: Vec<f32> = Vec::new();
        let bumps = left.bumps.iter().filter(|bump| side.shows(bump.run));
        for bump in bumps.filter(|bump| is_worth_saying(bump)) {
            let Some(axis) = Self::axis_at(&points, bump.along_mm) else { continue };
            let top = side.at(axis.x_mm, axis.z_mm + side.depth_mm(bump.along_mm) / 2.0) - vec2(0.0, 6.0);
            let tag = self.session.document().tag(bump.item);
            let height = Unit::of(self.painter.ctx()).length(bump.height_mm);
            let words = format!("{tag} bump {height}, kink {:.1}°", bump.kink_deg);
            let galley =
                self.painter.layout_no_wrap(words, egui::FontId::proportional(11.0), self.palette.ink);
            let start = top.x - galley.size().x / 2.0;
            let free = lines.iter().position(|end| *end < start).unwrap_or(lines.len());
            let end = start + galley.size().x + 8.0;
            match lines.get_mut(free) {
                Some(line) => *line = end,
                None => lines.push(end),
            }
            let line = u8::try_from(free).map_or(0.0, f32::from);
            self.painter.galley(
                pos2(start, top.y - (line + 1.0) * galley.size().y),
                galley,
                self.palette.ink,
            );
        }
    }
}

/// Whether a bump can be seen or felt at all: a twentieth of a millimetre, or half a degree.
pub(crate) fn is_worth_saying(bump: &BumpAt) -> bool {
    bump.height_mm.abs() >= 0.05 || bump.kink_deg.abs() >= 0.5
}
