//! The paste-on template: each plate's face at true size with a mark at every hole's centre, in tiles when
//! it is larger than the paper.

mod tiles;

use glam::DVec2;
use keepside_model::Project;

use crate::holes::{HoleRow, hole_table};
use crate::lettering::{LETTERS_MM, Lettering};
use crate::page::{Mark, Page, Pen, Step, circle, rectangle};
use crate::paper::{Area, Paper};
use crate::plate::{DATUM_MM, channel_steps, placed};
use crate::sheets::views;
use crate::tags::{Tags, boxed};
use crate::title::LINE_MM;
use crate::view::{Side, View, datum_words};
use tiles::{OVERLAP_MM, Tile, Tiling};

/// Diameter of the small circle about a centre to be punched, and reach of its cross, mm.
const MARK_MM: f64 = 2.0;
const CROSS_MM: f64 = 3.0;
/// Length of the bars that show whether the printer stretches, mm.
const BAR_MM: f64 = 100.0;
/// Margin of the paper that printers keep free, mm: common practice, no source.
const MARGIN_MM: f64 = 10.0;
/// Height of what stands over and under a tile, and width of what stands left of it, mm.
const HEAD_MM: f64 = 13.0;
const FOOT_MM: f64 = 25.0;
const LEFT_MM: f64 = 10.0;

/// The pages of the template: for each view its tiles, row by row.
pub(crate) fn template(project: &Project, lettering: &Lettering) -> Vec<Page> {
    let size_mm = DVec2::new(project.plates.width_mm, project.plates.height_mm);
    let papers = Paper::allowed(project.sheet.paper);
    // A printer at home takes A4: the larger paper only where it is asked for. The first is the smallest.
    let papers = papers.iter().filter(|paper| paper.name == papers[0].name);
    let tilings = papers.map(|paper| (*paper, Tiling::of(size_mm, window(paper).size_mm())));
    let Some((paper, tiling)) = tilings.min_by_key(|(_, tiling)| tiling.count()) else { return Vec::new() };
    let draw = |view: View| {
        let face = Face::new(project, view, lettering);
        // Nothing to be done from behind: nothing to paste on there.
        if view.side == Side::Back && face.marked.is_empty() {
            return Vec::new();
        }
        let tiles = tiling.tiles();
        tiles.into_iter().map(move |tile| face.page(&paper, &tiling, &tile)).collect::<Vec<Page>>()
    };
    views(project).into_iter().flat_map(draw).collect()
}

/// The part of a sheet that shows the plate.
fn window(paper: &Paper) -> Area {
    Area {
        low: DVec2::new(MARGIN_MM + LEFT_MM, MARGIN_MM + HEAD_MM),
        high: paper.size_mm - DVec2::new(MARGIN_MM, MARGIN_MM + FOOT_MM),
    }
}

/// One side of a plate to be pasted on.
struct Face<'a> {
    project: &'a Project,
    view: View,
    lettering: &'a Lettering,
    /// Boundaries of the channel, mm from the plate's lower left corner as seen.
    channel: Vec<Step>,
    /// What is marked, and where it is seen, mm from the plate's lower left corner.
    marked: Vec<(HoleRow, DVec2)>,
    /// Tags of holes that are not marked.
    unmarked: Vec<String>,
}

impl<'a> Face<'a> {
    fn new(project: &'a Project, view: View, lettering: &'a Lettering) -> Self {
        let size_mm = DVec2::new(project.plates.width_mm, project.plates.height_mm);
        let rows = hole_table(project, view.half).into_iter();
        let rows = rows.filter(|row| view.side == Side::Face || row.behind.is_some());
        let (mut marked, mut unmarked) = (Vec::new(), Vec::new());
        for row in rows {
            let seen_mm = match view.side {
                Side::Face => row.at_mm,
                Side::Back => DVec2::new(size_mm.x - row.at_mm.x, row.at_mm.y),
            };
            let is_on_plate = seen_mm.cmpge(DVec2::ZERO).all() && seen_mm.cmple(size_mm).all();
            if row.drill_mm.is_some() && is_on_plate {
                marked.push((row, seen_mm));
            } else {
                unmarked.push(row.tag);
            }
        }
        let channel = match view.side {
            Side::Face => channel_steps(project, |plan_mm| view.mirrored(&project.plates, plan_mm)),
            Side::Back => Vec::new(),
        };
        Self { project, view, lettering, channel, marked, unmarked }
    }

    fn page(&self, paper: &Paper, tiling: &Tiling, tile: &Tile) -> Page {
        let mut page = Page::new(paper.size_mm);
        let window = window(paper);
        // The tile's share of the plate, in the middle of the window if it is less.
        let shown_mm = tile.high_mm - tile.low_mm;
        let low = window.low + ((window.size_mm() - shown_mm) / 2.0).max(DVec2::ZERO);
        let share = Area { low, high: low + shown_mm };
        let on_paper = |seen_mm: DVec2| {
            DVec2::new(low.x + seen_mm.x - tile.low_mm.x, low.y + tile.high_mm.y - seen_mm.y)
        };
        self.plate(&mut page, &share, &on_paper);
        self.centres(&mut page, &share, &on_paper);
        seams(&mut page, self.lettering, tiling, tile, &share);
        self.words(&mut page, paper, tiling, tile);
        page
    }

    fn plate(&self, page: &mut Page, share: &Area, on_paper: &impl Fn(DVec2) -> DVec2) {
        let plates = &self.project.plates;
        // The outline lies on the window's edge: half its line must not be cut off.
        let clip = share.inset(-1.0);
        page.marks.push(Mark::BeginClip { low_mm: clip.low, high_mm: clip.high });
        let channel = placed(&self.channel, on_paper);
        page.stroke(channel, Pen::GUIDE);
        let (top, right) = (DVec2::new(0.0, plates.height_mm), DVec2::new(plates.width_mm, 0.0));
        page.stroke(rectangle(on_paper(top), on_paper(right)), Pen::HOLE);
        page.marks.push(Mark::EndClip);
    }

    fn centres(&self, page: &mut Page, share: &Area, on_paper: &impl Fn(DVec2) -> DVec2) {
        let mut tags = Tags::new(*share, share.inset(0.5));
        // A mark in the overlap is on both tiles.
        let here: Vec<(&HoleRow, DVec2)> =
            self.marked.iter().map(|(row, seen_mm)| (row, on_paper(*seen_mm))).collect();
        let here: Vec<(&HoleRow, DVec2)> = here.into_iter().filter(|(_, at)| share.holds(*at)).collect();
        for (_, at) in &here {
            for arm in [DVec2::X, DVec2::Y] {
                page.line(*at - arm * CROSS_MM, *at + arm * CROSS_MM, Pen::THIN);
                let side = arm * CROSS_MM + arm.perp().abs() * 0.2;
                tags.avoid(Area { low: *at - side, high: *at + side });
            }
            page.stroke(circle(*at, MARK_MM), Pen::THIN);
            tags.avoid(boxed(*at, MARK_MM));
        }
        let datum = on_paper(self.view.datum_mm(self.project));
        if share.holds(datum) {
            page.stroke(circle(datum, DATUM_MM), Pen::THIN);
            for arm in [DVec2::X, DVec2::Y].map(|way| way * 0.85 * DATUM_MM) {
                page.line(datum - arm, datum + arm, Pen::THIN);
            }
            tags.avoid(boxed(datum, DATUM_MM));
            tags.place(page, self.lettering, "Datum", datum, DATUM_MM, 0);
        }
        for (row, at) in here {
            tags.place(page, self.lettering, &row.tag, at, MARK_MM, 0);
        }
    }

    /// What stands round a tile: what it is, what to do with it, and the bars.
    fn words(&self, page: &mut Page, paper: &Paper, tiling: &Tiling, tile: &Tile) {
        let lettering = self.lettering;
        let (left, right) = (MARGIN_MM, paper.size_mm.x - MARGIN_MM);
        let map_mm = tiles::map(page, tiling, tile, DVec2::new(right, MARGIN_MM));
        let room_mm = right - left - map_mm - 4.0;
        let name = self.tile_name(tiling, tile);
        let title = format!("{}{name}", self.view.words());
        page.text(DVec2::new(left, MARGIN_MM + 4.2), 4.6, 0, lettering.fitted(&title, 4.6, room_mm));
        let remark = format!("{} · true size · datum: {}", self.project.name, datum_words(self.project));
        let at = DVec2::new(left, MARGIN_MM + 9.6);
        page.text(at, LETTERS_MM, 60, lettering.fitted(&remark, LETTERS_MM, room_mm));

        let foot = paper.size_mm.y - MARGIN_MM - FOOT_MM;
        level_bar(page, DVec2::new(left + LEFT_MM, foot + 3.0));
        upright_bar(page, DVec2::new(left + 3.0, paper.size_mm.y / 2.0 - BAR_MM / 2.0));
        let mut text =
            "Print at 100 %, no fitting to the page. Both bars must measure 100 mm, here and along the \
                        side. "
                .to_owned();
        if tiling.count() > 1 {
            text += "Cut along the dashed lines, lay the cross marks on one another, tape. ";
        }
        text += "Cut out along the outline, glue on the clean plate, check its edges, centre punch at the small \
                 circles, take the paper off, drill by the sheet. Wear eye protection.";
        if !self.unmarked.is_empty() {
            text += &format!(" Not marked, see the sheet: {}.", self.unmarked.join(", "));
        }
        let lines = lettering.wrapped(&text, LETTERS_MM, right - left - LEFT_MM);
        for (index, line) in (0_u32..).zip(lines.iter().take(MOST_LINES)) {
            let at = DVec2::new(left + LEFT_MM, foot + 9.6 + LINE_MM * f64::from(index));
            page.text(at, LETTERS_MM, 0, line.clone());
        }
    }

    fn tile_name(&self, tiling: &Tiling, tile: &Tile) -> String {
        if tiling.count() == 1 {
            return ": paste-on template".to_owned();
        }
        format!(": tile {} of {} × {}", tile.name(), tiling.rows, tiling.columns)
    }
}

/// Lines of instructions that the foot has room for.
const MOST_LINES: usize = 4;

fn level_bar(page: &mut Page, from: DVec2) {
    page.line(from, from + DVec2::X * BAR_MM, Pen::HOLE);
    for tick in 0..=10_u32 {
        let at = from + DVec2::X * 10.0 * f64::from(tick);
        page.line(at - DVec2::Y * if tick % 10 == 0 { 2.0 } else { 1.2 }, at, Pen::THIN);
    }
}

fn upright_bar(page: &mut Page, from: DVec2) {
    page.line(from, from + DVec2::Y * BAR_MM, Pen::HOLE);
    for tick in 0..=10_u32 {
        let at = from + DVec2::Y * 10.0 * f64::from(tick);
        page.line(at - DVec2::X * if tick % 10 == 0 { 2.0 } else { 1.2 }, at, Pen::THIN);
    }
}

/// Where a tile meets others: a dashed line along which one of the two is cut, in the middle of what both
/// show, with cross marks that come to lie on one another, and the neighbour's name.
fn seams(page: &mut Page, lettering: &Lettering, tiling: &Tiling, tile: &Tile, share: &Area) {
    const CUT: Pen = Pen { width_mm: 0.18, grey: 90, dash_mm: &[2.0, 1.2] };
    let half_mm = OVERLAP_MM / 2.0;
    let mut seam = |from: DVec2, to: DVec2| {
        page.line(from, to, CUT);
        for at in [from.lerp(to, 0.1), from.lerp(to, 0.9)] {
            for arm in [DVec2::new(3.0, 0.0), DVec2::new(0.0, 3.0)] {
                page.line(at - arm, at + arm, Pen { grey: 90, ..Pen::THIN });
            }
        }
    };
    if tile.column > 0 {
        let x = share.low.x + half_mm;
        seam(DVec2::new(x, share.low.y), DVec2::new(x, share.high.y));
    }
    if tile.column + 1 < tiling.columns {
        let x = share.high.x - half_mm;
        seam(DVec2::new(x, share.low.y), DVec2::new(x, share.high.y));
    }
    if tile.row > 0 {
        let y = share.low.y + half_mm;
        seam(DVec2::new(share.low.x, y), DVec2::new(share.high.x, y));
    }
    if tile.row + 1 < tiling.rows {
        let y = share.high.y - half_mm;
        seam(DVec2::new(share.low.x, y), DVec2::new(share.high.x, y));
    }
    // Under the share's lower right corner: what comes next.
    if tile.column + 1 < tiling.columns {
        let next = Tile { column: tile.column + 1, ..*tile };
        let word = format!("{} →", next.name());
        let width_mm = lettering.width_mm(&word, LETTERS_MM);
        page.text(DVec2::new(share.high.x - width_mm, share.high.y + 3.4), LETTERS_MM, 90, word);
    }
}
