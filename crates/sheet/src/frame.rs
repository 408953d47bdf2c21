//! The paper: size and scale, frame, title block, scale bar, cautions.

use glam::DVec2;
use keepside_model::{Half, Project};

use crate::holes::length;
use crate::lettering::Lettering;
use crate::page::{Page, Pen, rectangle};

/// Version of the sheet's form, printed in the title block; raised when rows or conventions change.
const SHEET_FORMAT: u32 = 2;

/// Left margin (room for filing) and the other margins, mm; after ISO 5457, from memory.
const FILING_MARGIN_MM: f64 = 20.0;
const MARGIN_MM: f64 = 10.0;
/// Height of the title block, mm.
const BLOCK_HEIGHT_MM: f64 = 38.0;
/// Height of the strip at the foot of a sheet that holds a table only, mm.
const FOOT_HEIGHT_MM: f64 = 8.0;
/// Height of the heading over the drawing, mm.
const HEADING_MM: f64 = 10.0;
/// Width of the title block proper, mm.
const BLOCK_WIDTH_MM: f64 = 150.0;
/// Room around the plate for dimensions and the datum: left, right, above, below, mm.
pub(crate) const LEFT_MM: f64 = 12.0;
const RIGHT_MM: f64 = 6.0;
pub(crate) const ABOVE_MM: f64 = 4.0;
const BELOW_MM: f64 = 12.0;

/// Paper sizes, landscape: ISO 216 A4 and A3, mm.
const PAPERS: [(&str, DVec2); 2] = [("A4", DVec2::new(297.0, 210.0)), ("A3", DVec2::new(420.0, 297.0))];
/// Reductions in the order they are tried: ISO 5455 (from memory), and 2.5 in between.
const REDUCTIONS: [f64; 5] = [1.0, 2.0, 2.5, 5.0, 10.0];

/// The paper and scale chosen for a plate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Paper {
    /// Name of the size.
    pub(crate) name: &'static str,
    /// Width and height, mm.
    pub(crate) size_mm: DVec2,
    /// Plate millimetres to a millimetre of paper: 1 = full size.
    pub(crate) reduction: f64,
}

/// A rectangle on the paper, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Area {
    /// Upper left corner.
    pub(crate) low: DVec2,
    /// Lower right corner.
    pub(crate) high: DVec2,
}

impl Area {
    /// Whether a point lies in it, its edge included.
    pub(crate) fn holds(&self, point: DVec2) -> bool {
        point.cmpge(self.low).all() && point.cmple(self.high).all()
    }

    /// Width, mm.
    pub(crate) fn width_mm(&self) -> f64 {
        self.high.x - self.low.x
    }
}

impl Paper {
    /// The least reduction, then the smallest paper, on which the plate fits with its dimensions.
    pub(crate) fn for_plate(size_mm: DVec2) -> Self {
        let all = REDUCTIONS.iter().flat_map(|reduction| {
            PAPERS.map(|(name, size_mm)| Self { name, size_mm, reduction: *reduction })
        });
        let around = DVec2::new(LEFT_MM + RIGHT_MM, ABOVE_MM + BELOW_MM);
        let fits = |paper: &Self| {
            let room = paper.drawing();
            (size_mm / paper.reduction + around).cmple(room.high - room.low).all()
        };
        // The largest permitted plate, 2000 mm square, fits A3 at 1:10 (200 mm of 214).
        let last = Self { name: PAPERS[1].0, size_mm: PAPERS[1].1, reduction: 10.0 };
        all.into_iter().find(fits).unwrap_or(last)
    }

    /// The scale as written on a drawing.
    pub(crate) fn scale(&self) -> String {
        format!("1:{}", self.reduction)
    }

    /// Inside the frame.
    pub(crate) fn frame(&self) -> Area {
        Area { low: DVec2::new(FILING_MARGIN_MM, MARGIN_MM), high: self.size_mm - MARGIN_MM }
    }

    /// The room for the plate and what is written around it.
    pub(crate) fn drawing(&self) -> Area {
        let mut area = self.frame();
        area.low.y += HEADING_MM;
        area.high.y -= BLOCK_HEIGHT_MM;
        area
    }

    /// The room for a table on a sheet of its own.
    pub(crate) fn table(&self) -> Area {
        let mut area = self.frame();
        area.low.y += HEADING_MM;
        area.high.y -= FOOT_HEIGHT_MM;
        area
    }
}

/// What the sheet is of, in words.
pub(crate) fn seen(half: Half) -> &'static str {
    match half {
        Half::Moving => "Moving half, seen on its parting face",
        Half::Fixed => "Fixed half, seen on its parting face: mirror image of the moving half",
    }
}

/// Draws the frame and the heading.
pub(crate) fn heading(page: &mut Page, paper: &Paper, lettering: &Lettering, title: &str, remark: &str) {
    let frame = paper.frame();
    page.stroke(rectangle(frame.low, frame.high), Pen::EDGE);
    let room_mm = frame.width_mm() - 6.0;
    let at = frame.low + DVec2::new(3.0, 5.4);
    page.text(at, 4.2, 0, lettering.fitted(title, 4.2, room_mm));
    let at = frame.low + DVec2::new(3.0, 8.9);
    page.text(at, 2.3, 60, lettering.fitted(remark, 2.3, room_mm));
}

/// Draws the foot of a sheet that holds a table only.
pub(crate) fn foot(page: &mut Page, paper: &Paper, lettering: &Lettering, project: &Project, sheet: &str) {
    let frame = paper.frame();
    let top = frame.high.y - FOOT_HEIGHT_MM;
    page.line(DVec2::new(frame.low.x, top), DVec2::new(frame.high.x, top), Pen::HOLE);
    let baseline = frame.high.y - 2.8;
    let right = format!("{} · sheet {sheet}", program());
    let right_mm = lettering.width_mm(&right, 2.6);
    page.text(DVec2::new(frame.high.x - 3.0 - right_mm, baseline), 2.6, 0, right);
    let room_mm = frame.width_mm() - right_mm - 16.0;
    let name = lettering.fitted(&project.name, 2.6, room_mm);
    page.text(DVec2::new(frame.low.x + 3.0, baseline), 2.6, 0, name);
}

/// Draws the title block with the scale bar and the cautions beside it.
pub(crate) fn title_block(
    page: &mut Page,
    paper: &Paper,
    lettering: &Lettering,
    project: &Project,
    half: Half,
    sheet: &str,
) {
    let frame = paper.frame();
    let top = frame.high.y - BLOCK_HEIGHT_MM;
    let left = frame.high.x - BLOCK_WIDTH_MM;
    page.line(DVec2::new(frame.low.x, top), DVec2::new(frame.high.x, top), Pen::HOLE);
    page.line(DVec2::new(left, top), DVec2::new(left, frame.high.y), Pen::HOLE);

    let plates = &project.plates;
    let plate = format!(
        "{} × {} mm, {} mm thick",
        length(plates.width_mm),
        length(plates.height_mm),
        length(plates.thickness_mm(half))
    );
    let half_word = match half {
        Half::Moving => "Moving half",
        Half::Fixed => "Fixed half, mirrored",
    };
    let rows: [&[(f64, &str, String)]; 4] = [
        &[(150.0, "Project", project.name.clone())],
        &[
            (46.0, "Half", half_word.to_owned()),
            (64.0, "Plate", plate),
            (20.0, "Scale", format!("{} ({})", paper.scale(), paper.name)),
            (20.0, "Sheet", sheet.to_owned()),
        ],
        &[
            (46.0, "Plate material", String::new()),
            (64.0, "Moulding material", project.material.name.clone()),
            (40.0, "General tolerance", "ISO 2768-m, in mm".to_owned()),
        ],
        &[
            (28.0, "Date", String::new()),
            (41.0, "Drawn", String::new()),
            (41.0, "Checked", String::new()),
            (40.0, "Made with", program()),
        ],
    ];
    let height_mm = BLOCK_HEIGHT_MM / 4.0;
    let mut corner = DVec2::new(left, top);
    for (index, cells) in rows.into_iter().enumerate() {
        corner.x = left;
        for (width_mm, label, value) in cells {
            page.text(corner + DVec2::new(1.5, 2.9), 2.0, 60, (*label).to_owned());
            let size_mm = if index == 0 { 3.8 } else { 2.8 };
            let value = lettering.fitted(value, size_mm, width_mm - 3.0);
            page.text(corner + DVec2::new(1.5, 7.6), size_mm, 0, value);
            if corner.x > left {
                page.line(corner, corner + DVec2::new(0.0, height_mm), Pen::THIN);
            }
            corner.x += width_mm;
        }
        corner.y += height_mm;
        if index < 3 {
            page.line(DVec2::new(left, corner.y), DVec2::new(frame.high.x, corner.y), Pen::THIN);
        }
    }
    scale_bar(page, DVec2::new(frame.low.x + 5.0, top + 6.0));
    let has_ejectors = half == Half::Moving && !project.ejectors.is_empty();
    let at = DVec2::new(frame.low.x + 5.0, top + 14.6);
    cautions(page, lettering, at, left - frame.low.x - 8.0, has_ejectors);
}

/// "Keepside 0.1.0, form 1".
fn program() -> String {
    format!("Keepside {}, form {SHEET_FORMAT}", env!("CARGO_PKG_VERSION"))
}

/// A bar of 100 mm, whatever the scale of the drawing, to check the print with.
fn scale_bar(page: &mut Page, from: DVec2) {
    page.line(from, from + DVec2::new(100.0, 0.0), Pen::HOLE);
    for tick in 0..=10_u32 {
        let at = from + DVec2::new(10.0 * f64::from(tick), 0.0);
        let reach_mm = if tick % 10 == 0 { 2.5 } else { 1.2 };
        page.line(at - DVec2::new(0.0, reach_mm), at + DVec2::new(0.0, reach_mm.min(1.2)), Pen::THIN);
    }
    let words =
        "Measure this after printing: 100 mm. If it is not, print at 100 %, without fitting to the page.";
    page.text(from + DVec2::new(0.0, 4.6), 2.2, 0, words.to_owned());
}

fn cautions(page: &mut Page, lettering: &Lettering, at: DVec2, room_mm: f64, has_ejectors: bool) {
    let drilling = "Drilling: clamp the plate; wear eye protection; no gloves or loose sleeves at the spindle; \
                    deburr every hole.";
    let moulding = "Moulding: the plastic is hot and burns; keep hands away from closing platens; springs and a \
                    loaded press store force, release it before you reach in.";
    let ejectors = "Ejectors: return springs stay loaded, let them off before you take the mould apart; pins \
                    must be back before it closes; the part comes off hot and may jump.";
    let rules = "Follow your machine's manual and your local rules.";
    let texts = [Some(drilling), Some(moulding), has_ejectors.then_some(ejectors), Some(rules)];
    let lines = texts.iter().flatten().flat_map(|text| lettering.wrapped(text, 2.3, room_mm));
    for (index, line) in (0_u32..).zip(lines) {
        page.text(at + DVec2::new(0.0, 3.2 * f64::from(index) + 2.0), 2.3, 0, line);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(width_mm: f64, height_mm: f64, name: &str, scale: &str) {
        let paper = Paper::for_plate(DVec2::new(width_mm, height_mm));
        assert_eq!((paper.name, paper.scale().as_str()), (name, scale));
    }

    #[test]
    fn full_size_comes_first_then_the_smaller_paper() {
        check(200.0, 120.0, "A4", "1:1");
        check(200.0, 140.0, "A3", "1:1");
        check(300.0, 200.0, "A3", "1:1");
        check(400.0, 240.0, "A4", "1:2");
        check(600.0, 400.0, "A3", "1:2");
        check(800.0, 500.0, "A3", "1:2.5");
        check(1000.0, 1000.0, "A3", "1:5");
        check(2000.0, 2000.0, "A3", "1:10");
    }
}
