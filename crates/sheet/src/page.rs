//! A page as laid out: marks at places on the paper, in mm, whatever the file format to come.
//!
//! The paper's origin is its upper left corner, x to the right, y down.

use std::f64::consts::{FRAC_PI_2, PI};

use glam::DVec2;

/// A sheet of paper and what is drawn on it, in order.
#[derive(Clone, Debug)]
pub struct Page {
    /// Width and height of the paper, mm.
    pub size_mm: DVec2,
    /// What is drawn, first things lowest.
    pub marks: Vec<Mark>,
}

/// One thing drawn.
#[derive(Clone, Debug)]
pub enum Mark {
    /// A path, filled, then stroked.
    Path {
        /// Its steps.
        steps: Vec<Step>,
        /// How it is stroked, if it is.
        pen: Option<Pen>,
        /// Grey it is filled with, 0 black to 255 white, if it is; even-odd rule.
        fill: Option<u8>,
    },
    /// A line of text.
    Text {
        /// Left end of the baseline, mm.
        at_mm: DVec2,
        /// Size of the letters' em square, mm.
        size_mm: f64,
        /// Characters that the font has.
        text: String,
        /// Grey, 0 black to 255 white.
        grey: u8,
        /// Whether it reads upwards, turned a quarter to the left about `at_mm`.
        turned: bool,
    },
    /// Until the matching [`Mark::EndClip`] nothing shows outside this rectangle.
    BeginClip {
        /// Upper left corner, mm.
        low_mm: DVec2,
        /// Lower right corner, mm.
        high_mm: DVec2,
    },
    /// Ends the innermost clip.
    EndClip,
}

/// A step of a path, in mm on the paper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Step {
    /// Begins a piece.
    Move(DVec2),
    /// A straight line.
    Line(DVec2),
    /// A cubic Bézier: two control points and the end.
    Curve(DVec2, DVec2, DVec2),
    /// Back to the start of the piece.
    Close,
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pen {
    /// Width, mm.
    pub width_mm: f64,
    /// Grey, 0 black to 255 white.
    pub grey: u8,
    /// Dash and gap lengths, mm; empty = continuous.
    pub dash_mm: &'static [f64],
}

/// Line widths after ISO 128 (from memory): thick to thin 2:1, out of the series 0.13 to 0.5 mm.
impl Pen {
    /// The frame of a sheet; after ISO 5457, from memory.
    pub(crate) const FRAME: Self = Self { width_mm: 0.7, grey: 0, dash_mm: &[] };
    /// Lines that lead the eye from a hole to its dimension at the plate's edge.
    pub(crate) const GUIDE: Self = Self { width_mm: 0.13, grey: 175, dash_mm: &[] };
    /// Visible edges.
    pub const EDGE: Self = Self { width_mm: 0.5, grey: 0, dash_mm: &[] };
    /// Holes to be made.
    pub const HOLE: Self = Self { width_mm: 0.35, grey: 0, dash_mm: &[] };
    /// Dimension lines, leaders, table rules.
    pub const THIN: Self = Self { width_mm: 0.18, grey: 0, dash_mm: &[] };
    /// Threads, and the narrow end of a taper.
    pub const THREAD: Self = Self { width_mm: 0.13, grey: 0, dash_mm: &[] };
    /// The outline of the channel.
    pub const CHANNEL: Self = Self { width_mm: 0.18, grey: 70, dash_mm: &[] };
    /// Centre lines.
    pub const CENTRE: Self = Self { width_mm: 0.13, grey: 40, dash_mm: &[3.0, 0.7, 0.5, 0.7] };
    /// Heads that stand in the channel.
    pub const HEAD: Self = Self { width_mm: 0.18, grey: 40, dash_mm: &[2.0, 0.6, 0.4, 0.6, 0.4, 0.6] };
    /// What belongs to the other half.
    pub const OTHER: Self = Self { width_mm: 0.25, grey: 110, dash_mm: &[1.2, 0.8] };
    /// Faint rules between table rows.
    pub const RULE: Self = Self { width_mm: 0.13, grey: 150, dash_mm: &[] };
}

impl Page {
    /// An empty page.
    pub const fn new(size_mm: DVec2) -> Self {
        Self { size_mm, marks: Vec::new() }
    }

    /// All texts on the page, in the order in which they are drawn, with a space between.
    pub fn words(&self) -> String {
        let texts = self.marks.iter().filter_map(|mark| match mark {
            Mark::Text { text, .. } => Some(text.as_str()),
            _ => None,
        });
        texts.collect::<Vec<_>>().join(" ")
    }

    /// Strokes a path.
    pub fn stroke(&mut self, steps: Vec<Step>, pen: Pen) {
        self.marks.push(Mark::Path { steps, pen: Some(pen), fill: None });
    }

    /// Fills a path with a grey.
    pub fn fill(&mut self, steps: Vec<Step>, grey: u8) {
        self.marks.push(Mark::Path { steps, pen: None, fill: Some(grey) });
    }

    /// A straight line.
    pub fn line(&mut self, from_mm: DVec2, to_mm: DVec2, pen: Pen) {
        self.stroke(vec![Step::Move(from_mm), Step::Line(to_mm)], pen);
    }

    /// A text whose characters the font has; see `Lettering::printable`.
    pub fn text(&mut self, at_mm: DVec2, size_mm: f64, grey: u8, text: String) {
        if !text.is_empty() {
            self.marks.push(Mark::Text { at_mm, size_mm, text, grey, turned: false });
        }
    }
}

/// An upright rectangle.
pub fn rectangle(low_mm: DVec2, high_mm: DVec2) -> Vec<Step> {
    vec![
        Step::Move(low_mm),
        Step::Line(DVec2::new(high_mm.x, low_mm.y)),
        Step::Line(high_mm),
        Step::Line(DVec2::new(low_mm.x, high_mm.y)),
        Step::Close,
    ]
}

/// A full circle, as four Béziers.
pub fn circle(centre_mm: DVec2, diameter_mm: f64) -> Vec<Step> {
    let radius_mm = diameter_mm / 2.0;
    let mut steps = vec![Step::Move(centre_mm + DVec2::new(radius_mm, 0.0))];
    steps.extend(arc_curves(centre_mm, radius_mm, 0.0, 2.0 * PI));
    steps.push(Step::Close);
    steps
}

/// An arc as Béziers of a quarter turn at most, without the move to its start: off the true circle by
/// less than 0.03 % of the radius.
pub fn arc_curves(
    centre_mm: DVec2,
    radius_mm: f64,
    from_rad: f64,
    sweep_rad: f64,
) -> impl Iterator<Item = Step> {
    let pieces = (sweep_rad.abs() / FRAC_PI_2 - 1e-9).ceil().max(1.0);
    let step_rad = sweep_rad / pieces;
    let handle_mm = radius_mm * 4.0 / 3.0 * (step_rad / 4.0).tan();
    let mut done = 0.0;
    std::iter::from_fn(move || {
        if done >= pieces {
            return None;
        }
        let (start, end) = (
            DVec2::from_angle(from_rad + done * step_rad),
            DVec2::from_angle(from_rad + (done + 1.0) * step_rad),
        );
        done += 1.0;
        Some(Step::Curve(
            centre_mm + radius_mm * start + handle_mm * start.perp(),
            centre_mm + radius_mm * end - handle_mm * end.perp(),
            centre_mm + radius_mm * end,
        ))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn curves_keep_to_the_circle_within_three_parts_in_ten_thousand() {
        let (centre, radius_mm) = (DVec2::new(12.0, -7.0), 40.0);
        for sweep_rad in [0.3, -1.9, PI, 2.0 * PI] {
            let mut from = centre + radius_mm * DVec2::from_angle(0.4);
            for step in arc_curves(centre, radius_mm, 0.4, sweep_rad) {
                let Step::Curve(a, b, to) = step else { panic!("{step:?}") };
                for t in [0.1, 0.211, 0.5, 0.789, 1.0] {
                    let s: f64 = 1.0 - t;
                    let at = s.powi(3) * from + 3.0 * s * s * t * a + 3.0 * s * t * t * b + t.powi(3) * to;
                    assert!((at.distance(centre) - radius_mm).abs() <= 3e-4 * radius_mm, "{sweep_rad} {t}");
                }
                from = to;
            }
            let end = centre + radius_mm * DVec2::from_angle(0.4 + sweep_rad);
            assert!(from.distance(end) < 1e-9, "{sweep_rad}");
        }
    }
}
