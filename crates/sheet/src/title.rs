//! The title block, with the data fields of ISO 7200 (from memory), and the cautions beside it.

use glam::DVec2;
use keepside_model::{Half, Project, Projection};

use crate::frame::program;
use crate::holes::length;
use crate::lettering::{LETTERS_MM, Lettering};
use crate::page::{Page, Pen, Step, circle};
use crate::paper::{Area, Paper, scale};
use crate::tolerance;
use crate::view::View;

/// Distance between lines of running text, mm.
pub(crate) const LINE_MM: f64 = 4.4;

/// A field: width in mm, what it is, and what is in it.
type Field = (f64, &'static str, String);

/// Draws the title block of the drawing of a view.
pub(crate) fn title_block(
    page: &mut Page,
    paper: &Paper,
    lettering: &Lettering,
    project: &Project,
    view: View,
    reduction: f64,
    sheet: &str,
) {
    let block = paper.title_block();
    let top_left = DVec2::new(paper.frame().low.x, block.low.y);
    page.line(top_left, DVec2::new(block.high.x, block.low.y), Pen::EDGE);
    if paper.is_wide() {
        page.line(block.low, DVec2::new(block.low.x, block.high.y), Pen::EDGE);
    }
    let rows = rows(project, paper, view, reduction, sheet);
    let row_mm = block.size_mm().y / 5.0;
    let mut corner = block.low;
    for (index, fields) in rows.into_iter().enumerate() {
        corner.x = block.low.x;
        if index > 0 {
            page.line(corner, DVec2::new(block.high.x, corner.y), Pen::THIN);
        }
        for (width_mm, label, value) in fields {
            if corner.x > block.low.x {
                page.line(corner, corner + DVec2::new(0.0, row_mm), Pen::THIN);
            }
            page.text(corner + DVec2::new(1.5, 3.2), LETTERS_MM, 90, label.to_owned());
            let value = lettering.fitted(&value, LETTERS_MM, width_mm - 3.0);
            page.text(corner + DVec2::new(1.5, 7.0), LETTERS_MM, 0, value);
            corner.x += width_mm;
        }
        corner.y += row_mm;
    }
    // The last 22 mm of the fourth row.
    symbol(page, DVec2::new(block.high.x - 11.0, block.low.y + 3.5 * row_mm), project.sheet.projection);
}

fn rows(project: &Project, paper: &Paper, view: View, reduction: f64, sheet: &str) -> [Vec<Field>; 5] {
    let (plates, choices) = (&project.plates, &project.sheet);
    let half = match view.half {
        Half::Moving => "moving half",
        Half::Fixed => "fixed half",
    };
    let plate = format!(
        "{half}, {} × {} × {} mm",
        length(plates.width_mm),
        length(plates.height_mm),
        length(plates.thickness_mm(view.half))
    );
    let largest_mm = plates.width_mm.max(plates.height_mm);
    let tolerance = tolerance::note(&choices.general_tolerance, largest_mm);
    [
        vec![
            (60.0, "Legal owner", choices.legal_owner.clone()),
            (42.0, "Creator", choices.creator.clone()),
            (42.0, "Approved by", choices.approved_by.clone()),
            (36.0, "Date of issue", choices.date_of_issue.clone()),
        ],
        vec![(133.0, "Title", project.name.clone()), (47.0, "Document type", "Drilling sheet".to_owned())],
        vec![
            (84.0, "Plate", plate),
            (60.0, "Moulded from", project.material.name.clone()),
            (36.0, "Scale", format!("{} on {}", scale(reduction), paper.name)),
        ],
        vec![(158.0, "General tolerance, sizes in mm", tolerance), (22.0, "", String::new())],
        vec![
            (68.0, "Drawing number", choices.drawing_number.clone()),
            (28.0, "Revision", choices.revision.clone()),
            (54.0, "Made with", program()),
            (30.0, "Sheet", sheet.to_owned()),
        ],
    ]
}

/// The symbol of the projection, after ISO 5456-2 (from memory): a blunt cone, its narrow end to the left,
/// and its end seen from the left; in first angle that view stands on the right, in third angle on the left.
fn symbol(page: &mut Page, middle: DVec2, projection: Projection) {
    let side = match projection {
        Projection::FirstAngle => 1.0,
        Projection::ThirdAngle => -1.0,
    };
    let (cone, ends) = (middle - DVec2::new(side * 4.4, 0.0), middle + DVec2::new(side * 4.4, 0.0));
    let corner = |x: f64, y: f64| cone + DVec2::new(x, y);
    page.stroke(
        vec![
            Step::Move(corner(-3.0, -1.2)),
            Step::Line(corner(3.0, -2.4)),
            Step::Line(corner(3.0, 2.4)),
            Step::Line(corner(-3.0, 1.2)),
            Step::Close,
        ],
        Pen::THIN,
    );
    page.stroke(circle(ends, 4.8), Pen::THIN);
    page.stroke(circle(ends, 2.4), Pen::THIN);
    let reach = DVec2::new(0.0, 3.2);
    page.line(ends - reach, ends + reach, Pen::THREAD);
    page.line(middle - DVec2::new(8.2, 0.0), middle + DVec2::new(8.2, 0.0), Pen::THREAD);
}

/// Writes the cautions for the drill into their place beside or above the title block.
pub(crate) fn drilling_cautions(page: &mut Page, paper: &Paper, lettering: &Lettering) {
    let area = paper.cautions();
    let text = "At the drill: clamp the plate; wear eye protection; no gloves or loose sleeves at the spindle; \
                centre punch, then drill; deburr every hole. Follow your machine's manual and your local rules.";
    lines(page, &area.inset(3.0), &lettering.wrapped(text, LETTERS_MM, area.size_mm().x - 6.0));
}

/// Cautions for the press, as paragraphs.
pub(crate) fn press_cautions(has_ejectors: bool) -> Vec<&'static str> {
    let moulding = "At the press: mould and plastic are hot and burn; keep hands away from closing platens; springs \
                    and a loaded press store force, release it before you reach in.";
    let ejectors = "Ejectors: return springs stay loaded, let them off before you take the mould apart; pins \
                    must be back before it closes; the part comes off hot and may jump.";
    let rules = "Follow your machine's manual and your local rules; this sheet takes the place of neither.";
    let mut all = vec![moulding, rules];
    if has_ejectors {
        all.insert(1, ejectors);
    }
    all
}

/// Writes lines of text at the top of an area.
pub(crate) fn lines(page: &mut Page, area: &Area, lines: &[String]) {
    for (index, line) in (0_u32..).zip(lines) {
        let at = area.low + DVec2::new(0.0, LINE_MM * f64::from(index) + 2.8);
        page.text(at, LETTERS_MM, 0, line.clone());
    }
}
