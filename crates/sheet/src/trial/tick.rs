//! What is filled in with a pencil: boxes to tick, and lines to write on.

use glam::DVec2;

use crate::document::SMALL_MM;
use crate::lettering::Lettering;
use crate::page::{Page, Pen, rectangle};
use crate::paper::Area;

/// Side of a box, mm.
const BOX_MM: f64 = 3.2;
/// Line to line, mm: room for a pencil.
const LINE_MM: f64 = 6.2;
/// From the text of a box to the next box, mm.
const GAP_MM: f64 = 2.6;
/// Least room to write a number, mm.
const WRITE_MM: f64 = 12.0;

/// One thing to fill in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Tick {
    /// A box with a word.
    Box(&'static str),
    /// A line to write on, between a word and a unit; either may be empty.
    Write(&'static str, &'static str),
    /// A word before what follows.
    Word(&'static str),
    /// What follows begins a new line.
    NewLine,
}

impl Tick {
    fn width_mm(self, lettering: &Lettering) -> f64 {
        let of = |word: &str| lettering.width_mm(word, SMALL_MM);
        match self {
            Self::Box(word) => BOX_MM + 1.0 + of(word),
            Self::Write(word, unit) => of(word) + of(unit) + WRITE_MM + 2.0,
            Self::Word(word) => of(word),
            Self::NewLine => 0.0,
        }
    }
}

/// The things line by line: places from the left edge, mm.
fn lines(ticks: &[Tick], lettering: &Lettering, room_mm: f64) -> Vec<Vec<(f64, Tick)>> {
    let mut lines: Vec<Vec<(f64, Tick)>> = vec![Vec::new()];
    let mut x = 0.0;
    for tick in ticks {
        let width_mm = tick.width_mm(lettering);
        let is_first = lines.last().is_some_and(Vec::is_empty);
        if *tick == Tick::NewLine || (x + width_mm > room_mm && !is_first) {
            lines.push(Vec::new());
            x = 0.0;
        }
        if *tick == Tick::NewLine {
            continue;
        }
        if let Some(line) = lines.last_mut() {
            line.push((x, *tick));
        }
        x += width_mm + GAP_MM;
    }
    lines
}

/// Height of what is to be filled in, mm.
pub(super) fn height_mm(ticks: &[Tick], lettering: &Lettering, room_mm: f64) -> f64 {
    let count = u32::try_from(lines(ticks, lettering, room_mm).len()).unwrap_or(u32::MAX);
    f64::from(count) * LINE_MM + 0.8
}

/// Draws them into an area.
pub(super) fn draw(page: &mut Page, lettering: &Lettering, area: &Area, ticks: &[Tick]) {
    let room_mm = area.size_mm().x;
    for (index, line) in (0_u32..).zip(lines(ticks, lettering, room_mm)) {
        let base = area.low.y + f64::from(index) * LINE_MM + 5.0;
        let last = line.len();
        for (number, (x, tick)) in line.into_iter().enumerate() {
            let at = DVec2::new(area.low.x + x, base);
            match tick {
                Tick::Box(word) => {
                    page.stroke(
                        rectangle(at - DVec2::new(0.0, BOX_MM - 0.4), at + DVec2::new(BOX_MM, 0.4)),
                        Pen::THIN,
                    );
                    page.text(at + DVec2::new(BOX_MM + 1.0, 0.0), SMALL_MM, 0, word.to_owned());
                }
                Tick::Write(word, unit) => {
                    let from = at + DVec2::new(lettering.width_mm(word, SMALL_MM) + 1.0, 0.6);
                    let unit_mm = lettering.width_mm(unit, SMALL_MM);
                    // The last of a line takes what room there is.
                    let long_mm =
                        if number + 1 == last { area.high.x - unit_mm - 1.0 - from.x } else { WRITE_MM };
                    page.text(at, SMALL_MM, 0, word.to_owned());
                    page.line(from, from + DVec2::new(long_mm, 0.0), Pen::RULE);
                    page.text(DVec2::new(from.x + long_mm + 1.0, base), SMALL_MM, 0, unit.to_owned());
                }
                Tick::Word(word) => page.text(at, SMALL_MM, 0, word.to_owned()),
                Tick::NewLine => {}
            }
        }
    }
}
