//! Tables that flow over pages, with their headings on each.

use glam::DVec2;

use super::text::broken;
use super::{Flow, SMALL_MM};
use crate::page::{Page, Pen, rectangle};

/// Line to line in a cell, mm.
const LINE_MM: f64 = 3.7;
/// Room above and below the lines of a row together, mm.
const PAD_MM: f64 = 1.8;
/// Room beside the text of a cell on either side, mm.
const BESIDE_MM: f64 = 1.2;
/// Lines of a row that are kept together on a page.
const TOGETHER: usize = 24;
/// Most lines in a cell, unless the whole text is asked for; a longer text ends in an ellipsis, and the tag beside it tells which it is.
const MOST_LINES: usize = 8;

/// A column.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Column {
    heading: &'static str,
    /// Width, mm; of a column that stretches, its part of the width that the others leave.
    width: f64,
    stretches: bool,
    right: bool,
}

impl Column {
    /// A column of text of a fixed width, mm.
    pub(crate) const fn fixed(heading: &'static str, width_mm: f64) -> Self {
        Self { heading, width: width_mm, stretches: false, right: false }
    }

    /// A column of numbers, set to the right, of a fixed width, mm.
    pub(crate) const fn number(heading: &'static str, width_mm: f64) -> Self {
        Self { heading, width: width_mm, stretches: false, right: true }
    }

    /// A column of text that takes this part of the width that is left.
    pub(crate) const fn wide(heading: &'static str, part: f64) -> Self {
        Self { heading, width: part, stretches: true, right: false }
    }
}

/// What a line of a table is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Head,
    Row,
    /// The rest of a row too long to be kept together.
    GoingOn,
}

/// A table.
pub(crate) struct Table<'a> {
    columns: &'a [Column],
    rows: Vec<Vec<String>>,
    /// Whether each row begins with a box to tick.
    boxes: bool,
    /// Whether cells are never cut.
    whole: bool,
}

/// Side of a box to tick and the room it takes, mm.
pub(crate) const BOX_MM: f64 = 3.2;
const BOX_ROOM_MM: f64 = 6.0;

impl<'a> Table<'a> {
    /// A table without rows.
    pub(crate) const fn new(columns: &'a [Column]) -> Self {
        Self { columns, rows: Vec::new(), boxes: false, whole: false }
    }

    /// With a box to tick before every row.
    pub(crate) fn with_boxes(self) -> Self {
        Self { boxes: true, ..self }
    }

    /// With every cell printed whole, however long it is.
    pub(crate) fn whole(self) -> Self {
        Self { whole: true, ..self }
    }

    /// Adds a row: a text for each column.
    pub(crate) fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
    }

    /// Whether it has no row.
    pub(crate) const fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Left edge and width of every column, mm.
    fn places(&self, left_mm: f64, width_mm: f64) -> Vec<(f64, f64)> {
        let room_mm = if self.boxes { BOX_ROOM_MM } else { 0.0 };
        let sum = |stretches: bool| {
            self.columns.iter().filter(|c| c.stretches == stretches).map(|c| c.width).sum::<f64>()
        };
        let (parts, rest_mm) = (sum(true), (width_mm - room_mm - sum(false)).max(0.0));
        let mut x = left_mm + room_mm;
        let place = |column: &Column| {
            let width_mm = if column.stretches { rest_mm * column.width / parts } else { column.width };
            x += width_mm;
            (x - width_mm, width_mm)
        };
        self.columns.iter().map(place).collect()
    }

    /// Writes it under what is there.
    pub(crate) fn write(&self, flow: &mut Flow<'_>) {
        let places = self.places(flow.left_mm(), flow.width_mm());
        let lines = |flow: &Flow<'_>, index: usize, text: &str| {
            let room_mm = places.get(index).map_or(0.0, |(_, width_mm)| width_mm - 2.0 * BESIDE_MM);
            let lines = broken(flow.lettering, text, SMALL_MM, room_mm);
            if self.whole { lines } else { cut(lines) }
        };
        let heads: Vec<Vec<String>> =
            self.columns.iter().enumerate().map(|(i, column)| lines(flow, i, column.heading)).collect();
        let head_mm = height_mm(&heads);
        let mut needs_head = true;
        for row in &self.rows {
            let cells: Vec<Vec<String>> =
                row.iter().enumerate().map(|(i, text)| lines(flow, i, text)).collect();
            let count = cells.iter().map(Vec::len).max().unwrap_or(1);
            for from in (0..count).step_by(TOGETHER) {
                // A row longer than a page would hold goes on in pieces.
                let piece = |cell: &Vec<String>| cell.iter().skip(from).take(TOGETHER).cloned().collect();
                let cells: Vec<Vec<String>> = cells.iter().map(piece).collect();
                let row_mm = height_mm(&cells);
                let needed_mm = if needs_head { head_mm + row_mm } else { row_mm };
                if needed_mm > flow.room_mm() && !flow.is_at_top() {
                    flow.new_page();
                    needs_head = true;
                }
                if needs_head {
                    self.line(flow, &places, &heads, Kind::Head);
                    needs_head = false;
                }
                self.line(flow, &places, &cells, if from == 0 { Kind::Row } else { Kind::GoingOn });
            }
        }
        flow.space(2.0);
    }

    /// Writes one row.
    fn line(&self, flow: &mut Flow<'_>, places: &[(f64, f64)], cells: &[Vec<String>], kind: Kind) {
        let lettering = flow.lettering;
        let area = flow.take(height_mm(cells));
        let is_head = kind == Kind::Head;
        let grey = if is_head { 60 } else { 0 };
        let page: &mut Page = flow.page();
        if is_head {
            page.fill(rectangle(area.low, area.high), 235);
        } else if self.boxes && kind == Kind::Row {
            let low = DVec2::new(area.low.x + 1.2, area.low.y + 1.0);
            page.stroke(rectangle(low, low + BOX_MM), Pen::THIN);
        }
        for ((column, (left, width_mm)), lines) in self.columns.iter().zip(places).zip(cells) {
            for (index, line) in (0_u32..).zip(lines) {
                let x = if column.right {
                    left + width_mm - BESIDE_MM - lettering.width_mm(line, SMALL_MM)
                } else {
                    left + BESIDE_MM
                };
                let y = area.low.y + PAD_MM / 2.0 + 2.7 + f64::from(index) * LINE_MM;
                page.text(DVec2::new(x, y), SMALL_MM, grey, line.clone());
            }
        }
        let pen = if is_head { Pen::THIN } else { Pen::RULE };
        page.line(DVec2::new(area.low.x, area.high.y), area.high, pen);
    }
}

fn height_mm(cells: &[Vec<String>]) -> f64 {
    let lines = cells.iter().map(Vec::len).max().unwrap_or(1).max(1);
    f64::from(u32::try_from(lines).unwrap_or(u32::MAX)) * LINE_MM + PAD_MM
}

fn cut(mut lines: Vec<String>) -> Vec<String> {
    if lines.len() > MOST_LINES {
        lines.truncate(MOST_LINES);
        if let Some(last) = lines.last_mut() {
            // The ellipsis is narrower than any two letters.
            last.pop();
            last.pop();
            last.push('…');
        }
    }
    lines
}
