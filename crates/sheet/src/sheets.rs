//! Lays out the drilling sheets: for each plate a drawing, with its hole table under it if there is
//! room, else on sheets of its own.

use glam::DVec2;
use keepside_model::{Half, Project};

use crate::frame::{self, Paper};
use crate::holes::hole_table;
use crate::lettering::Lettering;
use crate::listing;
use crate::page::Page;
use crate::plate::PlateView;

/// What the lines mean, under the heading of every drawing.
const LEGEND: &str = "Solid circles: holes to make in this half. Dashed grey: in the other half, for orientation \
                      only. Chain-dotted circles: heads that stand in the channel. Dimensions in mm.";

/// All sheets, moving half first.
pub(crate) fn sheets(project: &Project, lettering: &Lettering) -> Vec<Page> {
    let paper = Paper::for_plate(DVec2::new(project.plates.width_mm, project.plates.height_mm));
    // What stands at the foot of a page: a title block for a drawing, a strip for a table.
    let mut pages: Vec<(Page, Option<Half>)> = Vec::new();
    for half in [Half::Moving, Half::Fixed] {
        let rows = hole_table(project, half);
        let view = PlateView::new(project, half, &paper);
        let mut page = Page::new(paper.size_mm);
        view.draw(&mut page, lettering, &rows);

        let mut below = paper.drawing();
        below.low += DVec2::new(3.0, 0.0);
        below.high -= DVec2::new(3.0, 2.0);
        below.low.y = view.bottom_mm() + 2.0;
        let listed = listing::listing_rows(project, half, &rows, lettering, below.width_mm());
        let under_drawing = listing::height_mm(&listed) <= below.high.y - below.low.y;
        let remark = if listed.is_empty() {
            format!("{LEGEND} There is nothing to drill in this half.")
        } else if under_drawing {
            listing::draw(&mut page, &below, &listed);
            LEGEND.to_owned()
        } else {
            format!("{LEGEND} Hole table: next sheet.")
        };
        frame::heading(&mut page, &paper, lettering, frame::seen(half), &remark);
        pages.push((page, Some(half)));

        let mut rest: &[listing::ListingRow] = if under_drawing { &[] } else { &listed };
        let title =
            format!("Holes of the {}{}", frame::seen(half)[..1].to_lowercase(), &frame::seen(half)[1..]);
        while !rest.is_empty() {
            let mut page = Page::new(paper.size_mm);
            let mut area = paper.table();
            area.low += DVec2::new(3.0, 1.0);
            area.high -= DVec2::new(3.0, 2.0);
            let (now, later) = rest.split_at(listing::how_many_fit(rest, area.high.y - area.low.y));
            listing::draw(&mut page, &area, now);
            let remark = "x, y from the lower left corner of this plate as drawn, x to the right, y up. \
                          Depths from the parting face. Dimensions in mm.";
            frame::heading(&mut page, &paper, lettering, &title, remark);
            pages.push((page, None));
            rest = later;
        }
    }
    let count = pages.len();
    pages
        .into_iter()
        .enumerate()
        .map(|(index, (mut page, drawn))| {
            let sheet = format!("{} of {count}", index + 1);
            match drawn {
                Some(half) => frame::title_block(&mut page, &paper, lettering, project, half, &sheet),
                None => frame::foot(&mut page, &paper, lettering, project, &sheet),
            }
            page
        })
        .collect()
}
