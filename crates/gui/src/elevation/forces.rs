//! Pulls as arrows, all to one scale that is stated.

use egui::{Align2, Painter, Pos2, Stroke, pos2, vec2};
use keepside_engine::Opening;

use crate::elevation::to_px;
use crate::look::Palette;

/// Length of the longest arrow of the whole opening, points.
const LONGEST_PX: f64 = 46.0;

/// Shorter arrows than this are not drawn, points.
const LEAST_PX: f32 = 2.0;

/// How long arrows are. The same at every opening, so that arrows grow and shrink with the pulls.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct ForceScale {
    px_per_n: f64,
}

impl ForceScale {
    /// The scale at which the strongest pull of a single hold in an opening has the longest arrow.
    pub(crate) fn of(opening: &Opening) -> Self {
        let of_items = opening.holds.iter().filter(|hold| hold.name.what.item().is_some());
        Self::for_most(of_items.map(|hold| hold.peak_n).fold(0.0, f64::max))
    }

    fn for_most(most_n: f64) -> Self {
        Self { px_per_n: LONGEST_PX / most_n.max(1.0) }
    }

    /// Length of an arrow, points; `None` where there is nothing to see.
    pub(crate) fn px(self, pull_n: f64) -> Option<f32> {
        let px = to_px((pull_n * self.px_per_n).min(2.0 * LONGEST_PX));
        (px >= LEAST_PX).then_some(px)
    }

    /// A round force, N, whose arrow is a good part of the longest.
    fn sample_n(self) -> f64 {
        let most_n = LONGEST_PX / self.px_per_n;
        let power = 10.0_f64.powf(most_n.log10().floor());
        let round = [5.0, 2.0, 1.0].map(|times| times * power);
        round.into_iter().find(|force| *force <= most_n * 1.000_001).unwrap_or(power)
    }

    /// The scale as an arrow that lies along the foot of a drawing, ending at `right`.
    pub(crate) fn state(self, painter: &Painter, palette: &Palette, right: Pos2) {
        let force_n = self.sample_n();
        let words = format!("{force_n} N, up: moving half pulls");
        let length = to_px(force_n * self.px_per_n);
        let text = painter.layout_no_wrap(words, egui::FontId::proportional(10.5), palette.ink_soft);
        let ground = egui::Rect::from_min_max(
            pos2(right.x - text.size().x - length - 16.0, right.y - 8.0),
            pos2(right.x, right.y + 8.0),
        );
        painter.rect_filled(ground, 3.0, palette.plate.gamma_multiply(0.85));
        let from = pos2(ground.left() + 5.0, right.y);
        arrow(painter, from, from + vec2(length, 0.0), Stroke::new(2.0, palette.ink_soft));
        let corner = Align2::RIGHT_CENTER.anchor_size(pos2(right.x - 4.0, right.y), text.size()).min;
        painter.galley(corner, text, palette.ink_soft);
    }
}

/// An arrow with an open head.
pub(crate) fn arrow(painter: &Painter, from: Pos2, tip: Pos2, stroke: Stroke) {
    painter.line_segment([from, tip], stroke);
    let way = (tip - from).normalized();
    let back = tip - way * (tip - from).length().min(6.0);
    for aside in [-4.0, 4.0] {
        painter.line_segment([tip, back + way.rot90() * aside], stroke);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn twice_the_pull_is_twice_the_arrow() {
        let scale = ForceScale::for_most(92.0);
        assert_eq!(scale.px(92.0), Some(46.0));
        assert_eq!(scale.px(46.0), Some(23.0));
        assert_eq!(scale.px(0.5), None);
    }

    #[test]
    fn the_sample_is_a_round_force_no_longer_than_the_longest_arrow() {
        for (most_n, sample_n) in [(92.0, 50.0), (50.0, 50.0), (19.0, 10.0), (240.0, 200.0), (0.0, 1.0)] {
            assert_eq!(ForceScale::for_most(most_n).sample_n(), sample_n, "{most_n}");
        }
    }
}
