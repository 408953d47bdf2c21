//! The drilling sheets: a drawing of each plate, and of its back if wanted, each with its hole chart.

use keepside_model::{Half, Project};

use crate::chart::Chart;
use crate::frame;
use crate::holes::{HoleRow, hole_table};
use crate::lettering::Lettering;
use crate::page::Page;
use crate::paper::Paper;
use crate::plate::{LeftOut, PlateView};
use crate::title;
use crate::view::{Side, View, datum_words};

/// The pages of the drilling sheet, moving half first.
pub(crate) fn sheets(project: &Project, lettering: &Lettering) -> Vec<Page> {
    let views: Vec<(View, Vec<HoleRow>)> =
        views(project).into_iter().map(|view| (view, hole_table(project, view.half))).collect();
    let choice = project.sheet.paper;
    // One paper and one scale for all, so that the plates can be laid on one another.
    let all_fit = |paper: &Paper, reduction: f64| {
        let mut plates = views
            .iter()
            .map(|(view, rows)| PlateView::new(project, *view, rows, lettering, paper, reduction));
        plates.all(|plate| plate.is_some())
    };
    let (paper, reduction) = Paper::and_reduction(choice, all_fit);
    let mut pages: Vec<(Page, Option<View>)> = Vec::new();
    let tables = Paper::for_tables(if paper.name == "A3" { keepside_model::Paper::A3 } else { choice });
    for (view, rows) in &views {
        let view = *view;
        let mut page = Page::new(paper.size_mm);
        frame::frame(&mut page, &paper, lettering);
        let left_out = PlateView::new(project, view, rows, lettering, &paper, reduction)
            .map_or_else(LeftOut::default, |plate| plate.draw(&mut page, lettering, rows));
        let remark = remark(view, left_out);
        frame::heading(&mut page, &paper, lettering, view.words(), &remark);
        title::drilling_cautions(&mut page, &paper, lettering);
        pages.push((page, Some(view)));
        let charts = charts(project, view, rows, lettering, &tables);
        pages.extend(charts.into_iter().map(|page| (page, None)));
    }
    let count = pages.len();
    let pages = pages.into_iter().enumerate().map(|(index, (mut page, drawn))| {
        let sheet = format!("{} of {count}", index + 1);
        match drawn {
            Some(view) => title::title_block(&mut page, &paper, lettering, project, view, reduction, &sheet),
            None => frame::foot(&mut page, &tables, lettering, project, &sheet),
        }
        page
    });
    pages.collect()
}

/// The views that are wanted.
pub(crate) fn views(project: &Project) -> Vec<View> {
    let both = [Half::Moving, Half::Fixed].into_iter().flat_map(|half| [View::face(half), View::back(half)]);
    both.filter(|view| view.side == Side::Face || project.sheet.back_views).collect()
}

/// What must be known to read a drawing; first what is missing on it.
fn remark(view: View, left_out: LeftOut) -> String {
    let mirror = match (view.half, view.side) {
        (Half::Moving, Side::Face) => "Dashed: of the fixed half.",
        (Half::Fixed, Side::Face) => "Mirror image of the moving half. Dashed: of that half.",
        (_, Side::Back) => "Mirror image of the parting face, which lies down.",
    };
    let tags = match left_out.tags {
        0 => String::new(),
        count => format!("{count} tags have no room. "),
    };
    let numbers = if left_out.numbers { "x, y: see the chart. " } else { "" };
    format!("{tags}{numbers}{mirror}")
}

/// The chart of a view on sheets of its own.
fn charts(
    project: &Project,
    view: View,
    rows: &[HoleRow],
    lettering: &Lettering,
    paper: &Paper,
) -> Vec<Page> {
    let chart = Chart::new(project, view, rows, lettering, paper.table().size_mm().x);
    let (title, depths) = match (view.half, view.side) {
        (Half::Moving, Side::Face) => ("Holes of the moving half", "face"),
        (Half::Fixed, Side::Face) => ("Holes of the fixed half", "face"),
        (Half::Moving, Side::Back) => ("Moving half, FROM THE BACK", "back"),
        (Half::Fixed, Side::Back) => ("Fixed half, FROM THE BACK", "back"),
    };
    let remark = format!("x →, y ↑ from {}; depths from the {depths}; mm", datum_words(project));
    chart.draw(|| {
        let mut page = Page::new(paper.size_mm);
        frame::frame(&mut page, paper, lettering);
        frame::heading(&mut page, paper, lettering, title, &remark);
        (page, paper.table())
    })
}
