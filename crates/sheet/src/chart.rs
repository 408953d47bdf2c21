//! The hole chart as printed: drill by drill, with numbered notes, over as many sheets as needed.

use glam::DVec2;
use keepside_engine::outline;
use keepside_model::{Project, Relief};

use crate::holes::{AfterDrilling, FromBehind, HoleRow, length};
use crate::lettering::{LETTERS_MM, Lettering};
use crate::order::drilling_order;
use crate::page::{Page, Pen, rectangle};
use crate::paper::Area;
use crate::title::{LINE_MM, press_cautions};
use crate::tolerance;
use crate::view::{Side, View};

/// Space above and below the text of a row together, mm.
const PAD_MM: f64 = 2.2;
/// Space left and right of the text of a cell, each, mm.
const CELL_MM: f64 = 1.2;

/// A column: its heading and its width in mm; the one with no width takes what is left.
type Column = (&'static str, f64);

const FACE: [Column; 11] = [
    ("Tag", 13.0),
    ("x", 18.5),
    ("y", 18.5),
    ("Drill Ø", 16.5),
    ("Depth", 22.0),
    ("Then", 37.0),
    ("From behind", 33.0),
    ("Stands", 16.0),
    ("Place ±", 25.0),
    ("Hole for", 0.0),
    ("Notes", 17.0),
];
const BACK: [Column; 9] = [
    ("Tag", 13.0),
    ("x", 18.5),
    ("y", 18.5),
    ("Open Ø", 17.0),
    ("Depth", 20.0),
    ("Tap", 15.0),
    ("Screw or key", 62.0),
    ("Hole for", 0.0),
    ("Notes", 17.0),
];

/// A piece of the chart that is not broken over two sheets.
enum Piece {
    /// A band over the holes of one drill.
    Band(String),
    /// A hole: lines of each cell, then what is to be checked, across all columns.
    Row(Vec<Vec<String>>, Vec<String>),
    /// A heading of what follows the holes.
    Heading(&'static str),
    /// A paragraph with what stands before it.
    Paragraph(String, Vec<String>),
}

impl Piece {
    fn height_mm(&self) -> f64 {
        let lines = |count: usize| LINE_MM * f64::from(u32::try_from(count).unwrap_or(u32::MAX));
        match self {
            Self::Band(_) => LINE_MM + PAD_MM,
            Self::Row(cells, check) => {
                let most = cells.iter().map(Vec::len).max().unwrap_or(1).max(1);
                lines(most + check.len()) + PAD_MM
            }
            Self::Heading(_) => LINE_MM + 5.0,
            Self::Paragraph(_, text) => lines(text.len()) + 1.0,
        }
    }

    /// Whether it belongs to what comes after it.
    const fn leads(&self) -> bool {
        matches!(self, Self::Band(_) | Self::Heading(_))
    }
}

/// The chart of one view, ready to be drawn.
pub(crate) struct Chart {
    columns: Vec<Column>,
    pieces: Vec<Piece>,
}

impl Chart {
    /// The chart of the holes of a plate, then of the vents cut into its face, the notes and the cautions;
    /// `width_mm` wide.
    pub(crate) fn new(
        project: &Project,
        view: View,
        rows: &[HoleRow],
        lettering: &Lettering,
        width_mm: f64,
    ) -> Self {
        let columns: &[Column] = match view.side {
            Side::Face => &FACE,
            Side::Back => &BACK,
        };
        let fixed_mm: f64 = columns.iter().map(|(_, width_mm)| width_mm).sum();
        let rest_mm = width_mm - fixed_mm;
        let with_rest =
            |(heading, width_mm): &Column| (*heading, if *width_mm == 0.0 { rest_mm } else { *width_mm });
        let columns: Vec<Column> = columns.iter().map(with_rest).collect();
        let mut chart = Self { columns, pieces: Vec::new() };
        let mut notes = Notes::default();
        match view.side {
            Side::Face => chart.face(project, view, rows, lettering, &mut notes),
            Side::Back => chart.back(project, view, rows, lettering, &mut notes),
        }
        let is_lacking = lettering.lacks(&project.name) || rows.iter().any(|row| lettering.lacks(&row.name));
        if is_lacking {
            notes.number("“?” stands for a letter that the font of this sheet does not have.");
        }
        if !notes.all.is_empty() {
            chart.pieces.push(Piece::Heading("Notes"));
            for (number, note) in (1_u32..).zip(&notes.all) {
                chart.paragraph(lettering, number.to_string(), note, width_mm);
            }
        }
        if view.side == Side::Face {
            chart.pieces.push(Piece::Heading("Take care"));
            let has_ejectors = view.half == keepside_model::Half::Moving && !project.ejectors.is_empty();
            // Together: a caution alone on a sheet is not read.
            let text_mm = width_mm - NUMBER_MM - CELL_MM;
            let lines = press_cautions(has_ejectors)
                .into_iter()
                .flat_map(|caution| lettering.wrapped(caution, LETTERS_MM, text_mm))
                .collect();
            chart.pieces.push(Piece::Paragraph("!".to_owned(), lines));
        }
        chart
    }

    fn paragraph(&mut self, lettering: &Lettering, before: String, text: &str, width_mm: f64) {
        let lines = lettering.wrapped(text, LETTERS_MM, width_mm - NUMBER_MM - CELL_MM);
        self.pieces.push(Piece::Paragraph(before, lines));
    }

    fn face(
        &mut self,
        project: &Project,
        view: View,
        rows: &[HoleRow],
        lettering: &Lettering,
        notes: &mut Notes,
    ) {
        let order: Vec<&HoleRow> = drilling_order(rows).into_iter().map(|index| &rows[index]).collect();
        for same_drill in order.chunk_by(|a, b| a.drill_mm == b.drill_mm) {
            self.pieces.push(Piece::Band(band(same_drill)));
            for row in same_drill {
                let (numbers, checks) = notes.of(&row.note);
                let texts = [
                    row.tag.clone(),
                    coordinate(row.from_datum_mm.x),
                    coordinate(row.from_datum_mm.y),
                    row.drill_mm.map_or_else(|| "–".to_owned(), length),
                    row.depth.to_string(),
                    row.after.to_string(),
                    row.behind.map_or_else(String::new, |behind| opening_words(&behind)),
                    row.stands_mm.map_or_else(String::new, length),
                    tolerance::of_place(project, row),
                    what(row),
                    numbers,
                ];
                self.row(lettering, &texts, &checks);
            }
        }
        let mut vents = project.vents.iter().filter(|(_, vent)| vent.half == view.half).peekable();
        if vents.peek().is_some() {
            self.pieces.push(Piece::Band("Not drilled: vents, shallow slots".to_owned()));
        }
        for (id, vent) in vents {
            let at = view.mirrored(&project.plates, vent.at) - view.datum_mm(project);
            let mut note = format!(
                "Grind or mill a slot {} wide, {} deep, {} long from the channel outwards.",
                length(vent.width_mm),
                length(vent.depth_mm),
                length(vent.length_mm)
            );
            if let Some(Relief { land_mm, depth_mm }) = vent.relief {
                note += &format!(" From {} on make it {} deep.", length(land_mm), length(depth_mm));
            }
            let on_channel = outline::channel_at(project, vent.at).is_some();
            let check = if on_channel { String::new() } else { "CHECK: there is no channel.".to_owned() };
            let mut texts = [const { String::new() }; 11];
            texts[0] = project.tag(*id);
            texts[1] = coordinate(at.x);
            texts[2] = coordinate(at.y);
            texts[4] = length(vent.depth_mm);
            texts[9] = named("vent", &vent.name);
            texts[10] = notes.number(&note).to_string();
            self.row(lettering, &texts, &check);
        }
        if self.pieces.is_empty() {
            self.pieces.push(Piece::Band("There is nothing to drill in this half.".to_owned()));
        }
    }

    fn back(
        &mut self,
        project: &Project,
        view: View,
        rows: &[HoleRow],
        lettering: &Lettering,
        notes: &mut Notes,
    ) {
        // As seen from behind, with the drill that opens the hole from there.
        let seen = |row: &HoleRow| HoleRow {
            from_datum_mm: seen_from_behind(project, row) - view.datum_mm(project),
            drill_mm: row.behind.and_then(|behind| behind.opening).map(|opening| opening.diameter_mm),
            ..row.clone()
        };
        let behind: Vec<HoleRow> = rows.iter().filter(|row| row.behind.is_some()).map(seen).collect();
        let order = drilling_order(&behind).into_iter().map(|index| &behind[index]);
        for (row, behind) in order.filter_map(|row| Some((row, row.behind?))) {
            let at = row.from_datum_mm;
            let from_behind = sentences(&row.note).into_iter().filter(|note| note.contains("behind"));
            let numbers: Vec<String> = from_behind.map(|note| notes.number(note).to_string()).collect();
            let mut with = Vec::new();
            if let Some((thread, length_mm)) = behind.screw {
                with.push(format!("second set screw {} × {length_mm}", thread.designation()));
            }
            if let Some(width_mm) = behind.key_mm {
                with.push(format!("turned with a {width_mm} mm key"));
            }
            let depth = |opening: crate::holes::Opening| {
                format!("{}{:.1}", if opening.is_needed { "" } else { "≤ " }, opening.depth_mm)
            };
            let texts = [
                row.tag.clone(),
                coordinate(at.x),
                coordinate(at.y),
                behind.opening.map_or_else(|| "–".to_owned(), |opening| length(opening.diameter_mm)),
                behind.opening.map_or_else(|| "–".to_owned(), depth),
                behind.tap.map_or_else(String::new, |thread| thread.designation().to_owned()),
                with.join("; "),
                what(row),
                numbers.join(" "),
            ];
            self.row(lettering, &texts, "");
        }
        if self.pieces.is_empty() {
            self.pieces.push(Piece::Band("There is nothing to do from behind in this half.".to_owned()));
        }
    }

    fn row(&mut self, lettering: &Lettering, texts: &[String], check: &str) {
        let cells = texts.iter().zip(&self.columns);
        let cells = cells.map(|(text, (_, width_mm))| {
            let mut lines = lettering.wrapped(text, LETTERS_MM, width_mm - 2.0 * CELL_MM);
            // A name that fills more is cut: it is told in full in the table for spreadsheets.
            if lines.len() > MOST_LINES {
                let rest = lines.split_off(MOST_LINES - 1).join(" ");
                lines.push(lettering.fitted(&rest, LETTERS_MM, width_mm - 2.0 * CELL_MM));
            }
            lines
        });
        let cells = cells.collect();
        let whole_mm: f64 = self.columns.iter().map(|(_, width_mm)| width_mm).sum();
        let check = lettering.wrapped(check, LETTERS_MM, whole_mm - self.columns[0].1 - 2.0 * CELL_MM);
        self.pieces.push(Piece::Row(cells, check));
    }

    /// Draws what fits into each of a row of areas that `next` gives, until all is drawn; `next` begins a
    /// sheet.
    pub(crate) fn draw(&self, mut next: impl FnMut() -> (Page, Area)) -> Vec<Page> {
        let mut pages = Vec::new();
        let mut rest = self.pieces.as_slice();
        while !rest.is_empty() {
            let (mut page, area) = next();
            let has_rows = matches!(rest[0], Piece::Band(_) | Piece::Row(..));
            let mut y = area.low.y;
            if has_rows {
                self.headings(&mut page, &area);
                y += LINE_MM + PAD_MM;
            }
            let mut count = 0;
            let mut bottom = y;
            for piece in rest {
                bottom += piece.height_mm();
                if bottom > area.high.y {
                    break;
                }
                count += 1;
            }
            // What leads is not left alone at the foot; one piece at least, so that it ends.
            while count > 1 && count < rest.len() && rest[count - 1].leads() {
                count -= 1;
            }
            let (now, later) = rest.split_at(count.max(1));
            for piece in now {
                self.piece(&mut page, &area, y, piece);
                y += piece.height_mm();
            }
            rest = later;
            pages.push(page);
        }
        pages
    }

    fn headings(&self, page: &mut Page, area: &Area) {
        let y = area.low.y;
        let (left, right) = (DVec2::new(area.low.x, y), DVec2::new(area.high.x, y));
        page.line(left, right, Pen::HOLE);
        let mut x = area.low.x;
        for (heading, width_mm) in &self.columns {
            page.text(DVec2::new(x + CELL_MM, y + PAD_MM / 2.0 + 3.1), LETTERS_MM, 60, (*heading).to_owned());
            x += width_mm;
        }
        let down = DVec2::new(0.0, LINE_MM + PAD_MM);
        page.line(left + down, right + down, Pen::THIN);
    }

    fn piece(&self, page: &mut Page, area: &Area, y: f64, piece: &Piece) {
        let baseline = y + PAD_MM / 2.0 + 3.1;
        let bottom = y + piece.height_mm();
        let rule = |page: &mut Page, pen| {
            page.line(DVec2::new(area.low.x, bottom), DVec2::new(area.high.x, bottom), pen);
        };
        match piece {
            Piece::Band(text) => {
                page.fill(rectangle(DVec2::new(area.low.x, y), DVec2::new(area.high.x, bottom)), 232);
                page.text(DVec2::new(area.low.x + CELL_MM, baseline), LETTERS_MM, 0, text.clone());
            }
            Piece::Row(cells, check) => {
                let mut x = area.low.x;
                for (lines, (_, width_mm)) in cells.iter().zip(&self.columns) {
                    write(page, DVec2::new(x + CELL_MM, baseline), lines);
                    x += width_mm;
                }
                let above = cells.iter().map(Vec::len).max().unwrap_or(1).max(1);
                let down_mm = LINE_MM * f64::from(u32::try_from(above).unwrap_or(u32::MAX));
                let x = area.low.x + self.columns[0].1 + CELL_MM;
                write(page, DVec2::new(x, baseline + down_mm), check);
                rule(page, Pen::RULE);
            }
            Piece::Heading(text) => {
                page.text(DVec2::new(area.low.x + CELL_MM, y + 7.0), HEADING_MM, 0, (*text).to_owned());
            }
            Piece::Paragraph(before, lines) => {
                page.text(DVec2::new(area.low.x + CELL_MM, y + 3.1), LETTERS_MM, 0, before.clone());
                write(page, DVec2::new(area.low.x + NUMBER_MM, y + 3.1), lines);
            }
        }
    }
}

/// Most lines of a cell.
const MOST_LINES: usize = 3;
/// Room for the number of a note, mm.
const NUMBER_MM: f64 = 9.0;
/// Letter size of a heading, mm.
const HEADING_MM: f64 = 4.2;

fn write(page: &mut Page, at: DVec2, lines: &[String]) {
    for (index, line) in (0_u32..).zip(lines) {
        page.text(at + DVec2::new(0.0, LINE_MM * f64::from(index)), LETTERS_MM, 0, line.clone());
    }
}

/// The place of a row, seen from behind: mm from the lower left corner there.
pub(crate) fn seen_from_behind(project: &Project, row: &HoleRow) -> DVec2 {
    DVec2::new(project.plates.width_mm - row.at_mm.x, row.at_mm.y)
}

/// Notes, each once, in the order in which they are called for.
#[derive(Default)]
struct Notes {
    all: Vec<String>,
}

impl Notes {
    /// The numbers of the sentences of a row's note, and those that ask for a check, which stay in the row.
    fn of(&mut self, note: &str) -> (String, String) {
        let (mut numbers, mut checks) = (Vec::new(), Vec::new());
        for sentence in sentences(note) {
            if sentence.starts_with("CHECK") {
                checks.push(sentence.to_owned());
            } else {
                numbers.push(self.number(sentence).to_string());
            }
        }
        (numbers.join(" "), checks.join(" "))
    }

    /// The number of a note, from 1.
    fn number(&mut self, note: &str) -> usize {
        let known = self.all.iter().position(|known| known == note);
        known.unwrap_or_else(|| {
            self.all.push(note.to_owned());
            self.all.len() - 1
        }) + 1
    }
}

/// The sentences of a note: cut after a full stop before a capital letter.
fn sentences(note: &str) -> Vec<&str> {
    let mut all = Vec::new();
    let mut rest = note.trim();
    while let Some(stop) = rest
        .match_indices(". ")
        .map(|(at, _)| at + 1)
        .find(|at| rest[*at..].trim_start().starts_with(char::is_uppercase))
    {
        all.push(&rest[..stop]);
        rest = rest[stop..].trim_start();
    }
    if !rest.is_empty() {
        all.push(rest);
    }
    all
}

/// "Drill Ø3.3: 12 holes".
fn band(rows: &[&HoleRow]) -> String {
    let count = if rows.len() == 1 { "1 hole".to_owned() } else { format!("{} holes", rows.len()) };
    match rows.first().and_then(|row| row.drill_mm) {
        Some(drill_mm) => format!("Drill Ø{}: {count}", length(drill_mm)),
        None => format!("Do not drill: {count} to be looked at first"),
    }
}

/// What a hole is for, with its name.
fn what(row: &HoleRow) -> String {
    named(&row.what, &row.name)
}

/// "ejector, plain: left outer".
fn named(what: &str, name: &str) -> String {
    if name.trim().is_empty() { what.to_owned() } else { format!("{what}: {name}") }
}

/// What is made from behind, in short.
fn opening_words(behind: &FromBehind) -> String {
    let mut words = Vec::new();
    if let Some(opening) = behind.opening {
        let may = if opening.is_needed { "" } else { "≤ " };
        words.push(format!("Ø{} × {may}{:.1}", length(opening.diameter_mm), opening.depth_mm));
    }
    if let Some(thread) = behind.tap {
        words.push(AfterDrilling::Tap(thread).to_string());
    }
    words.join(", ")
}

/// A coordinate for the table: two decimals, never "-0.00".
pub(crate) fn coordinate(value_mm: f64) -> String {
    let text = format!("{value_mm:.2}");
    if text == "-0.00" { "0.00".to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_is_cut_into_its_sentences_and_not_at_decimals() {
        let note = "CHECK: too thin. Turn it with a 2.5 mm key, 12.6 deep. No countersink. Lock: none.";
        assert_eq!(
            sentences(note),
            ["CHECK: too thin.", "Turn it with a 2.5 mm key, 12.6 deep.", "No countersink.", "Lock: none."]
        );
        assert_eq!(sentences("").len(), 0);
    }

    #[test]
    fn a_note_that_many_holes_have_is_numbered_once() {
        let mut notes = Notes::default();
        assert_eq!(notes.of("Sliding fit. Lock: none."), ("1 2".to_owned(), String::new()));
        assert_eq!(notes.of("CHECK: here. Lock: none."), ("2".to_owned(), "CHECK: here.".to_owned()));
    }
}
