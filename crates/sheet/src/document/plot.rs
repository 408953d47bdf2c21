//! Plots: curves between two axes with round ticks.

use glam::DVec2;

use super::SMALL_MM;
use super::text::decimals;
use crate::lettering::Lettering;
use crate::page::{Mark, Page, Pen, Step, circle, rectangle};
use crate::paper::Area;

/// Room beside a plot for its numbers and words: left, right, above, below, mm.
const LEFT_MM: f64 = 17.0;
const RIGHT_MM: f64 = 4.0;
const ABOVE_MM: f64 = 5.5;
const BELOW_MM: f64 = 9.5;

/// An axis.
#[derive(Clone, Debug)]
pub(crate) struct Scale {
    /// What it counts, with its unit: "opening, mm".
    pub(crate) words: &'static str,
    low: f64,
    high: f64,
    is_log: bool,
}

impl Scale {
    /// An even axis that holds all values and nought.
    pub(crate) fn even(words: &'static str, values: impl Iterator<Item = f64>) -> Self {
        let (mut low, mut high) = (0.0_f64, 0.0_f64);
        values.filter(|value| value.is_finite()).for_each(|value| {
            low = low.min(value);
            high = high.max(value);
        });
        if high - low <= 0.0 {
            high = low + 1.0;
        }
        Self { words, low, high, is_log: false }
    }

    /// An axis of equal steps a factor, that holds all values above nought; `None` if there is none.
    pub(crate) fn factors(words: &'static str, values: impl Iterator<Item = f64>) -> Option<Self> {
        let (mut low, mut high) = (f64::INFINITY, 0.0_f64);
        values.filter(|value| value.is_finite() && *value > 0.0).for_each(|value| {
            low = low.min(value);
            high = high.max(value);
        });
        (low < high).then_some(Self { words, low, high, is_log: true })
    }

    /// Where a value lies on it, 0 to 1; outside that if it is off the axis.
    fn share(&self, value: f64) -> f64 {
        if self.is_log {
            (value.max(self.low).ln() - self.low.ln()) / (self.high.ln() - self.low.ln())
        } else {
            (value - self.low) / (self.high - self.low)
        }
    }

    /// Round places for ticks: 1, 2, 5 times a power of ten apart, so many at most; of a factor axis the
    /// powers of ten, and the twos and fives if there is room.
    fn ticks(&self, most: f64) -> Vec<f64> {
        let mut ticks = Vec::new();
        if self.is_log {
            let decades = (self.high / self.low).log10();
            let steps: &[f64] = if 3.0 * decades <= most { &[1.0, 2.0, 5.0] } else { &[1.0] };
            let mut power = self.low.log10().floor();
            while power <= self.high.log10() {
                ticks.extend(steps.iter().map(|step| step * 10_f64.powf(power)));
                power += 1.0;
            }
        } else {
            let step = round_step((self.high - self.low) / most);
            let mut number = (self.low / step - 1e-9).ceil();
            while number * step <= self.high + 1e-9 * step {
                ticks.push(number * step);
                number += 1.0;
            }
        }
        let slack = 1e-9 * (self.high - self.low);
        ticks.retain(|tick| (self.low - slack..=self.high + slack).contains(tick));
        ticks
    }
}

/// The least of 1, 2, 5 times a power of ten that is not below `step`.
fn round_step(step: f64) -> f64 {
    let power = 10_f64.powf(step.log10().floor());
    let least = [1.0, 2.0, 5.0].into_iter().find(|times| times * power >= step * (1.0 - 1e-9));
    least.unwrap_or(10.0) * power
}

/// A curve.
pub(crate) struct Curve {
    /// What it is, for the line above the plot; empty for none.
    pub(crate) words: String,
    /// Its points.
    pub(crate) points: Vec<(f64, f64)>,
    /// How it is drawn.
    pub(crate) pen: Pen,
}

/// A marked point, with a word beside it.
pub(crate) struct Dot {
    /// Its place.
    pub(crate) at: (f64, f64),
    /// What is written beside it; may be empty.
    pub(crate) words: String,
}

/// A plot.
pub(crate) struct Plot {
    pub(crate) x: Scale,
    pub(crate) y: Scale,
    pub(crate) curves: Vec<Curve>,
    pub(crate) dots: Vec<Dot>,
}

impl Plot {
    /// Draws it into an area.
    pub(crate) fn draw(&self, page: &mut Page, lettering: &Lettering, area: &Area) {
        let low = area.low + DVec2::new(LEFT_MM, ABOVE_MM);
        let high = area.high - DVec2::new(RIGHT_MM, BELOW_MM);
        let at = |(x, y): (f64, f64)| {
            let share = DVec2::new(self.x.share(x), 1.0 - self.y.share(y));
            low + (high - low) * share.clamp(DVec2::splat(-0.5), DVec2::splat(1.5))
        };
        self.axes(page, lettering, low, high);
        page.marks.push(Mark::BeginClip { low_mm: low, high_mm: high });
        for curve in &self.curves {
            let mut steps = Vec::new();
            let finite = curve.points.iter().filter(|(x, y)| x.is_finite() && y.is_finite());
            for point in finite {
                steps.push(if steps.is_empty() { Step::Move(at(*point)) } else { Step::Line(at(*point)) });
            }
            page.stroke(steps, curve.pen);
        }
        page.marks.push(Mark::EndClip);
        self.legend(page, lettering, DVec2::new(low.x, area.low.y + 3.0), high.x);
        let mut labels = super::Labels::new(Area { low, high });
        for curve in &self.curves {
            labels.spare(&curve.points.iter().map(|point| at(*point)).collect::<Vec<DVec2>>());
        }
        for dot in &self.dots {
            let centre = at(dot.at).clamp(low, high);
            page.fill(circle(centre, 1.6), 0);
            labels.avoid(Area { low: centre - 0.8, high: centre + 0.8 });
        }
        for dot in self.dots.iter().filter(|dot| !dot.words.is_empty()) {
            labels.place(page, lettering, &dot.words, at(dot.at).clamp(low, high), 0.8);
        }
    }

    fn axes(&self, page: &mut Page, lettering: &Lettering, low: DVec2, high: DVec2) {
        let middle = |page: &mut Page, centre: DVec2, words: String| {
            let left = centre.x - lettering.width_mm(&words, SMALL_MM) / 2.0;
            page.text(DVec2::new(left, centre.y), SMALL_MM, 40, words);
        };
        for tick in self.x.ticks(((high.x - low.x) / 14.0).max(2.0)) {
            let x = low.x + (high.x - low.x) * self.x.share(tick);
            page.line(DVec2::new(x, low.y), DVec2::new(x, high.y), Pen::RULE);
            middle(page, DVec2::new(x, high.y + 3.6), number(tick));
        }
        for tick in self.y.ticks(((high.y - low.y) / 7.0).max(2.0)) {
            let y = high.y - (high.y - low.y) * self.y.share(tick);
            page.line(DVec2::new(low.x, y), DVec2::new(high.x, y), Pen::RULE);
            let words = number(tick);
            let left = low.x - 1.2 - lettering.width_mm(&words, SMALL_MM);
            page.text(DVec2::new(left, y + 1.0), SMALL_MM, 40, words);
        }
        page.stroke(rectangle(low, high), Pen::THIN);
        middle(page, DVec2::new(low.midpoint(high).x, high.y + 8.0), self.x.words.to_owned());
        let length_mm = lettering.width_mm(self.y.words, SMALL_MM);
        page.marks.push(Mark::Text {
            at_mm: DVec2::new(low.x - 13.0, low.midpoint(high).y + length_mm / 2.0),
            size_mm: SMALL_MM,
            text: self.y.words.to_owned(),
            grey: 40,
            turned: true,
        });
    }

    /// What the curves are, in a line from `at` to the right.
    fn legend(&self, page: &mut Page, lettering: &Lettering, at: DVec2, right_mm: f64) {
        let mut x = at.x;
        for curve in self.curves.iter().filter(|curve| !curve.words.is_empty()) {
            let words = lettering.fitted(&curve.words, SMALL_MM, right_mm - x - 9.0);
            page.line(DVec2::new(x, at.y - 0.9), DVec2::new(x + 8.0, at.y - 0.9), curve.pen);
            let width_mm = lettering.width_mm(&words, SMALL_MM);
            page.text(DVec2::new(x + 9.0, at.y), SMALL_MM, 0, words);
            x += width_mm + 14.0;
        }
    }
}

/// A number beside a tick: as short as it goes.
fn number(value: f64) -> String {
    if value != 0.0 && !(1e-4..1e6).contains(&value.abs()) {
        return format!("{value:.0e}");
    }
    let text = decimals(value, 6);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_ones_twos_and_fives() {
        let scale = Scale::even("", [0.0, 130.0].into_iter());
        assert_eq!(scale.ticks(7.0), [0.0, 20.0, 40.0, 60.0, 80.0, 100.0, 120.0]);
        let scale = Scale::even("", [-0.3, 0.45].into_iter());
        assert_eq!(scale.ticks(4.0), [-0.2, 0.0, 0.2, 0.4]);
        assert_eq!([round_step(0.03), round_step(0.5), round_step(7.0)].map(number), ["0.05", "0.5", "10"]);
        let scale = Scale::factors("", [0.001, 100.0].into_iter()).unwrap();
        let powers: Vec<String> = scale.ticks(8.0).into_iter().map(number).collect();
        assert_eq!(powers, ["0.001", "0.01", "0.1", "1", "10", "100"]);
    }

    #[test]
    fn an_axis_without_numbers_is_still_an_axis() {
        let scale = Scale::even("", std::iter::empty());
        assert_eq!((scale.low, scale.high), (0.0, 1.0));
        assert!(Scale::factors("", [0.0, -1.0].into_iter()).is_none());
        let odd = Scale::even("", [f64::NAN, 2.0].into_iter());
        assert_eq!(odd.high, 2.0);
    }
}
