//! The hole table as printed: rows of wrapped cells, flowing over as many sheets as needed.

use glam::DVec2;
use keepside_engine::outline;
use keepside_model::{Half, Project};

use crate::frame::Area;
use crate::holes::{HoleRow, length};
use crate::lettering::Lettering;
use crate::page::{Page, Pen};

/// Headings and least widths in mm; on wider paper the name gets a quarter more, the note the rest.
const COLUMNS: [(&str, f64); 8] = [
    ("Tag", 12.0),
    ("Name", 30.0),
    ("Hole for", 30.0),
    ("x mm", 17.0),
    ("y mm", 17.0),
    ("Drill Ø mm", 17.0),
    ("Depth mm", 17.0),
    ("Then", 32.0),
];
const SIZE_MM: f64 = 2.5;
const LINE_MM: f64 = 3.2;
const HEAD_MM: f64 = 5.2;
/// Space above and below the text of a row together, mm.
const PAD_MM: f64 = 1.6;

/// Width of a table on A4, mm.
const NARROW_MM: f64 = 261.0;

/// The widths of the columns in a table `width_mm` wide.
fn widths_mm(width_mm: f64) -> [f64; 8] {
    let mut widths = COLUMNS.map(|(_, width)| width);
    widths[1] += 0.25 * (width_mm - NARROW_MM).max(0.0);
    widths
}

/// One row, ready to be drawn.
pub(crate) struct ListingRow {
    cells: [String; 8],
    note: Vec<String>,
}

impl ListingRow {
    fn height_mm(&self) -> f64 {
        let lines = u32::try_from(self.note.len().max(1)).unwrap_or(u32::MAX);
        f64::from(lines) * LINE_MM + PAD_MM
    }
}

/// The rows of a plate for a table `width_mm` wide: its holes, then the vents cut into its face.
pub(crate) fn listing_rows(
    project: &Project,
    half: Half,
    rows: &[HoleRow],
    lettering: &Lettering,
    width_mm: f64,
) -> Vec<ListingRow> {
    let widths = widths_mm(width_mm);
    let note_mm = width_mm - widths.iter().sum::<f64>() - 3.0;
    let row = |texts: [String; 8], note: &str| {
        let mut cells = texts;
        for (cell, room_mm) in cells.iter_mut().zip(widths) {
            *cell = lettering.fitted(cell, SIZE_MM, room_mm - 2.0);
        }
        ListingRow { cells, note: lettering.wrapped(note, SIZE_MM, note_mm) }
    };
    let mut all: Vec<ListingRow> = rows
        .iter()
        .map(|hole| {
            let texts = [
                hole.tag.clone(),
                hole.name.clone(),
                hole.what.clone(),
                coordinate(hole.at_mm.x),
                coordinate(hole.at_mm.y),
                hole.drill_mm.map_or_else(|| "–".to_owned(), length),
                hole.depth.to_string(),
                hole.after.to_string(),
            ];
            row(texts, &hole.note)
        })
        .collect();
    for (id, vent) in project.vents.iter().filter(|(_, vent)| vent.half == half) {
        let at = project.plates.seen_on_face(half, vent.at);
        let on_channel = outline::channel_at(project, vent.at).is_some();
        let texts = [
            project.tag(*id),
            vent.name.clone(),
            "vent, a shallow slot".to_owned(),
            coordinate(at.x),
            coordinate(at.y),
            "–".to_owned(),
            length(vent.depth_mm),
            String::new(),
        ];
        let note = format!(
            "Not a hole: grind or mill a slot {} wide, {} deep, {} long from the channel outwards.",
            length(vent.width_mm),
            length(vent.depth_mm),
            length(vent.length_mm)
        );
        let check = if on_channel { "" } else { "CHECK: there is no channel. " };
        all.push(row(texts, &format!("{check}{note}")));
    }
    all
}

/// Height of a table of these rows, mm.
pub(crate) fn height_mm(rows: &[ListingRow]) -> f64 {
    HEAD_MM + rows.iter().map(ListingRow::height_mm).sum::<f64>()
}

/// How many of the rows fit into `room_mm` under a heading; one at least, so that it always ends.
pub(crate) fn how_many_fit(rows: &[ListingRow], room_mm: f64) -> usize {
    let mut left_mm = room_mm - HEAD_MM;
    let fitting = rows.iter().take_while(|row| {
        left_mm -= row.height_mm();
        left_mm >= 0.0
    });
    fitting.count().max(1)
}

/// Draws rows with their headings at the top of an area.
pub(crate) fn draw(page: &mut Page, area: &Area, rows: &[ListingRow]) {
    let mut note_left = area.low.x;
    let lefts = widths_mm(area.width_mm()).map(|width_mm| {
        note_left += width_mm;
        note_left - width_mm
    });
    let rule = |page: &mut Page, y: f64, pen: Pen| {
        page.line(DVec2::new(area.low.x, y), DVec2::new(area.high.x, y), pen);
    };
    let mut y = area.low.y;
    rule(page, y, Pen::HOLE);
    for (left, (heading, _)) in lefts.iter().zip(COLUMNS) {
        page.text(DVec2::new(left + 1.0, y + 3.6), SIZE_MM, 60, heading.to_owned());
    }
    page.text(DVec2::new(note_left + 1.0, y + 3.6), SIZE_MM, 60, "Note".to_owned());
    y += HEAD_MM;
    rule(page, y, Pen::THIN);
    for row in rows {
        let baseline = y + PAD_MM / 2.0 + 2.4;
        for (left, cell) in lefts.iter().zip(&row.cells) {
            page.text(DVec2::new(left + 1.0, baseline), SIZE_MM, 0, cell.clone());
        }
        for (index, line) in (0_u32..).zip(&row.note) {
            let at = DVec2::new(note_left + 1.0, baseline + f64::from(index) * LINE_MM);
            page.text(at, SIZE_MM, 0, line.clone());
        }
        y += row.height_mm();
        rule(page, y, Pen::RULE);
    }
}

/// A coordinate for the table: two decimals, never "-0.00".
fn coordinate(value_mm: f64) -> String {
    let text = format!("{value_mm:.2}");
    if text == "-0.00" { "0.00".to_owned() } else { text }
}
