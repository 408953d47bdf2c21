//! A section of the card: rows with what is expected, and a column of boxes for every shot.

use glam::DVec2;

use super::rows::{Row, Section};
use super::tick;
use crate::document::{Flow, SMALL_MM, broken};
use crate::page::{Pen, rectangle};
use crate::paper::Area;

/// Shots that a card has room for.
pub(super) const SHOTS: u32 = 4;
/// Widths of the name and of what is expected, mm.
const NAME_MM: f64 = 44.0;
const EXPECTED_MM: f64 = 62.0;
/// Line to line, mm.
const LINE_MM: f64 = 3.7;
/// Room beside what stands in a cell, mm.
const BESIDE_MM: f64 = 1.2;
/// Most lines of a name, and of what is expected.
const MOST_NAME_LINES: usize = 3;
const MOST_LINES: usize = 8;
const HEAD_MM: f64 = 5.6;

/// Writes a section, its heading again on every page.
pub(super) fn write(flow: &mut Flow<'_>, section: &Section) {
    let mut needs_head = true;
    for row in &section.rows {
        let laid = Laid::new(flow, row);
        if needs_head || laid.height_mm > flow.room_mm() {
            if needs_head {
                flow.space(3.0);
            }
            if HEAD_MM + laid.height_mm > flow.room_mm() && !flow.is_at_top() {
                flow.new_page();
            }
            head(flow, section.title, section.expected);
            needs_head = false;
        }
        laid.draw(flow, row);
    }
}

/// Width of the column of one shot, mm.
fn shot_mm(flow: &Flow<'_>) -> f64 {
    (flow.width_mm() - NAME_MM - EXPECTED_MM) / f64::from(SHOTS)
}

fn head(flow: &mut Flow<'_>, title: &str, expected: &str) {
    let shot_mm = shot_mm(flow);
    let area = flow.take(HEAD_MM);
    let page = flow.page();
    page.fill(rectangle(area.low, area.high), 228);
    let at = area.low + DVec2::new(BESIDE_MM, 4.0);
    page.text(at, SMALL_MM, 0, title.to_owned());
    page.text(at + DVec2::new(NAME_MM, 0.0), SMALL_MM, 60, expected.to_owned());
    for shot in 0..SHOTS {
        let x = NAME_MM + EXPECTED_MM + f64::from(shot) * shot_mm;
        page.text(at + DVec2::new(x, 0.0), SMALL_MM, 60, format!("Shot {}", shot + 1));
    }
    page.line(area.low, DVec2::new(area.high.x, area.low.y), Pen::HOLE);
}

/// A row whose lines are broken.
struct Laid {
    name: Vec<String>,
    expected: Vec<String>,
    height_mm: f64,
}

impl Laid {
    fn new(flow: &Flow<'_>, row: &Row) -> Self {
        let lettering = flow.lettering;
        let lines = |text: &str, width_mm: f64, most: usize| {
            let mut lines = broken(lettering, text, SMALL_MM, width_mm - 2.0 * BESIDE_MM);
            if lines.len() > most {
                lines.truncate(most);
                if let Some(last) = lines.last_mut() {
                    last.pop();
                    last.pop();
                    last.push('…');
                }
            }
            lines
        };
        let name = lines(&row.name, NAME_MM, MOST_NAME_LINES);
        let expected = lines(&row.expected, EXPECTED_MM, MOST_LINES);
        let count = u32::try_from(name.len().max(expected.len())).unwrap_or(u32::MAX);
        let ticks_mm = tick::height_mm(&row.ticks, lettering, shot_mm(flow) - 2.0 * BESIDE_MM);
        let height_mm = (f64::from(count) * LINE_MM + 2.2).max(ticks_mm);
        Self { name, expected, height_mm }
    }

    fn draw(&self, flow: &mut Flow<'_>, row: &Row) {
        let (shot_mm, lettering) = (shot_mm(flow), flow.lettering);
        let area = flow.take(self.height_mm);
        let page = flow.page();
        for (x, lines) in [(0.0, &self.name), (NAME_MM, &self.expected)] {
            for (index, line) in (0_u32..).zip(lines) {
                let at = area.low + DVec2::new(x + BESIDE_MM, 3.9 + f64::from(index) * LINE_MM);
                page.text(at, SMALL_MM, 0, line.clone());
            }
        }
        for shot in 0..SHOTS {
            let left = area.low.x + NAME_MM + EXPECTED_MM + f64::from(shot) * shot_mm;
            let low = DVec2::new(left + BESIDE_MM, area.low.y);
            let cell = Area { low, high: DVec2::new(left + shot_mm - BESIDE_MM, area.high.y) };
            tick::draw(page, lettering, &cell, &row.ticks);
            page.line(DVec2::new(left, area.low.y), DVec2::new(left, area.high.y), Pen::THIN);
        }
        page.line(DVec2::new(area.low.x, area.high.y), area.high, Pen::THIN);
    }
}
