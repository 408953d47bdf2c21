//! What every sheet has: the frame, its heading with the bar to check the print with, its foot.

use glam::DVec2;
use keepside_model::Project;

use crate::lettering::{LETTERS_MM, Lettering};
use crate::page::{Page, Pen, rectangle};
use crate::paper::{FOOT_MM, Paper};

/// Version of the sheet's form, printed in the title block; raised when rows or conventions change.
const SHEET_FORMAT: u32 = 3;

/// Width of the border with the grid references, outside the frame, mm; after ISO 5457, from memory.
const BORDER_MM: f64 = 5.0;
/// Length of a field of the grid, mm; after ISO 5457, from memory.
const FIELD_MM: f64 = 50.0;
/// Letter size of the heading, mm.
const HEADING_MM: f64 = 4.8;

/// The frame with its grid references and centring marks, after ISO 5457 (from memory). The centring marks
/// end at the frame, so that they touch nothing inside.
pub(crate) fn frame(page: &mut Page, paper: &Paper, lettering: &Lettering) {
    let frame = paper.frame();
    page.stroke(rectangle(frame.low, frame.high), Pen::FRAME);
    let border = frame.inset(-BORDER_MM);
    page.stroke(rectangle(border.low, border.high), Pen::RULE);
    let middle = paper.size_mm / 2.0;
    for (outer, inner) in [
        (DVec2::new(middle.x, border.low.y), DVec2::new(middle.x, frame.low.y)),
        (DVec2::new(middle.x, border.high.y), DVec2::new(middle.x, frame.high.y)),
        (DVec2::new(border.low.x, middle.y), DVec2::new(frame.low.x, middle.y)),
        (DVec2::new(border.high.x, middle.y), DVec2::new(frame.high.x, middle.y)),
    ] {
        page.line(outer, inner, Pen::FRAME);
    }
    // A4 has references along the top and on the right only; after ISO 5457, from memory.
    let on_all_sides = paper.size_mm.max_element() > 300.0;
    let half_mm = BORDER_MM / 2.0;
    let (tops, sides) = (fields(paper.size_mm.x), fields(paper.size_mm.y));
    for (row, is_shown) in [(frame.low.y - half_mm, true), (frame.high.y + half_mm, on_all_sides)] {
        if is_shown {
            for (number, (start, end)) in (1_u32..).zip(&tops) {
                let ends = (start.max(frame.low.x), end.min(frame.high.x));
                reference(
                    page,
                    lettering,
                    &number.to_string(),
                    DVec2::new(f64::midpoint(ends.0, ends.1), row),
                );
                if *end < frame.high.x {
                    let at = DVec2::new(*end, row);
                    page.line(at - DVec2::Y * half_mm, at + DVec2::Y * half_mm, Pen::RULE);
                }
            }
        }
    }
    for (column, is_shown) in [(frame.high.x + half_mm, true), (frame.low.x - half_mm, on_all_sides)] {
        if is_shown {
            for (letter, (start, end)) in ('A'..='H').zip(&sides) {
                let ends = (start.max(frame.low.y), end.min(frame.high.y));
                let at = DVec2::new(column, f64::midpoint(ends.0, ends.1));
                reference(page, lettering, &letter.to_string(), at);
                if *end < frame.high.y {
                    let at = DVec2::new(column, *end);
                    page.line(at - DVec2::X * half_mm, at + DVec2::X * half_mm, Pen::RULE);
                }
            }
        }
    }
}

/// Ends of the fields along a side: an even number, counted from the middle, the outermost taking the rest.
fn fields(side_mm: f64) -> Vec<(f64, f64)> {
    let pairs = (side_mm / (2.0 * FIELD_MM)).round().max(1.0);
    let mut ends = vec![0.0];
    let mut line = 1.0 - pairs;
    while line < pairs {
        ends.push(side_mm / 2.0 + line * FIELD_MM);
        line += 1.0;
    }
    ends.push(side_mm);
    ends.windows(2).map(|pair| (pair[0], pair[1])).collect()
}

fn reference(page: &mut Page, lettering: &Lettering, word: &str, middle: DVec2) {
    let at = middle + DVec2::new(-lettering.width_mm(word, LETTERS_MM) / 2.0, 0.36 * LETTERS_MM);
    page.text(at, LETTERS_MM, 60, word.to_owned());
}

/// The heading: what is seen, a remark, and the bar to check the print with.
pub(crate) fn heading(page: &mut Page, paper: &Paper, lettering: &Lettering, title: &str, remark: &str) {
    let frame = paper.frame();
    let bar_mm = BAR_MM + 8.0;
    let room_mm = frame.size_mm().x - 6.0 - if paper.is_wide() { bar_mm } else { 0.0 };
    page.text(frame.low + DVec2::new(3.0, 5.4), HEADING_MM, 0, lettering.fitted(title, HEADING_MM, room_mm));
    let remark = lettering.fitted(remark, LETTERS_MM, room_mm);
    page.text(frame.low + DVec2::new(3.0, 10.6), LETTERS_MM, 60, remark);
    let corner = if paper.is_wide() {
        DVec2::new(frame.high.x - BAR_MM - 5.0, frame.low.y + 1.5)
    } else {
        frame.low + DVec2::new(5.0, 13.0)
    };
    bar(page, corner);
    let words = "Print at 100 %, no fitting to the page. Measure: 100 mm.";
    page.text(corner + DVec2::new(0.0, 7.2), LETTERS_MM, 0, words.to_owned());
}

/// Length of the bar to check the print with, mm.
const BAR_MM: f64 = 100.0;

/// A bar of 100 mm, whatever the scale of the drawing, with a stroke every 10 mm; `at` is the upper left
/// corner.
fn bar(page: &mut Page, at: DVec2) {
    let line = at + DVec2::new(0.0, 2.4);
    page.line(line, line + DVec2::new(BAR_MM, 0.0), Pen::HOLE);
    for tick in 0..=10_u32 {
        let at = line + DVec2::new(10.0 * f64::from(tick), 0.0);
        let reach_mm = if tick % 10 == 0 { 2.4 } else { 1.4 };
        page.line(at - DVec2::new(0.0, reach_mm), at, Pen::THIN);
    }
}

/// The foot of a sheet that goes on from another.
pub(crate) fn foot(page: &mut Page, paper: &Paper, lettering: &Lettering, project: &Project, sheet: &str) {
    let frame = paper.frame();
    let top = frame.high.y - FOOT_MM;
    page.line(DVec2::new(frame.low.x, top), DVec2::new(frame.high.x, top), Pen::HOLE);
    let baseline = frame.high.y - 3.2;
    let choices = &project.sheet;
    let mut right = format!("{} · sheet {sheet}", program());
    if !choices.revision.trim().is_empty() {
        right = format!("rev. {} · {right}", choices.revision.trim());
    }
    if !choices.drawing_number.trim().is_empty() {
        right = format!("no. {} · {right}", choices.drawing_number.trim());
    }
    let right = lettering.fitted(&right, LETTERS_MM, frame.size_mm().x * 0.6);
    let right_mm = lettering.width_mm(&right, LETTERS_MM);
    page.text(DVec2::new(frame.high.x - 3.0 - right_mm, baseline), LETTERS_MM, 0, right);
    let room_mm = frame.size_mm().x - right_mm - 16.0;
    let name = lettering.fitted(&project.name, LETTERS_MM, room_mm);
    page.text(DVec2::new(frame.low.x + 3.0, baseline), LETTERS_MM, 0, name);
}

/// "Keepside 0.1.0, form 3".
pub(crate) fn program() -> String {
    format!("Keepside {}, form {SHEET_FORMAT}", env!("CARGO_PKG_VERSION"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sheet_has_the_fields_of_its_size() {
        // ISO 5457:1999, table 2, from memory: A3 8 × 6, A4 6 × 4.
        let counts = |long_mm, short_mm| (fields(long_mm).len(), fields(short_mm).len());
        assert_eq!(counts(420.0, 297.0), (8, 6));
        assert_eq!(counts(297.0, 210.0), (6, 4));
        assert_eq!(fields(297.0)[2], (98.5, 148.5));
    }
}
