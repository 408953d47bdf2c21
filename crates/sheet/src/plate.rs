//! The drawing of one plate, seen on its parting face or from behind.

use glam::DVec2;
use keepside_engine::hardware;
use keepside_engine::outline::{self, Piece};
use keepside_model::{Datum, EjectorFace, FeatureKind, Half, Id, Project, Vent};

use crate::chart::seen_from_behind;
use crate::holes::{AfterDrilling, Depth, HoleRow, grooves_deg};
use crate::lettering::{LETTERS_MM, Lettering};
use crate::ordinate::{self, Edge, Ordinates, Stop};
use crate::page::{Mark, Page, Pen, Step, arc_curves, circle, rectangle};
use crate::paper::{Area, Paper};
use crate::tags::{Tags, boxed};
use crate::view::{Side, View};

/// Least room between the plate and the drawing's edge where no numbers stand, mm.
const BESIDE_MM: f64 = 3.0;
/// Room left of the plate and under it for the word at a datum in the corner, mm.
const DATUM_ROOM_MM: f64 = 14.5;

/// More holes than this, and those of the other half have no tags.
const MANY: usize = 40;

/// A plate placed on the paper.
pub(crate) struct PlateView<'a> {
    project: &'a Project,
    view: View,
    reduction: f64,
    /// Lower left corner of the plate on the paper, mm.
    corner: DVec2,
    /// Where anything may stand.
    room: Area,
    ordinates: Vec<Ordinates>,
    /// Whether every hole has its numbers along the edges.
    is_dimensioned: bool,
}

/// What could not be shown on a drawing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct LeftOut {
    /// Tags without a place.
    pub(crate) tags: usize,
    /// Whether numbers along the edges have no room.
    pub(crate) numbers: bool,
}

impl<'a> PlateView<'a> {
    /// The plate in the middle of the drawing area's width, at its top; `None` if it does not fit with its
    /// dimensions.
    pub(crate) fn new(
        project: &'a Project,
        view: View,
        rows: &[HoleRow],
        lettering: &Lettering,
        paper: &Paper,
        reduction: f64,
    ) -> Option<Self> {
        let plates = &project.plates;
        let size = DVec2::new(plates.width_mm, plates.height_mm) / reduction;
        let room = paper.drawing();
        let mut plate = Self {
            project,
            view,
            reduction,
            corner: DVec2::ZERO,
            room,
            ordinates: Vec::new(),
            is_dimensioned: true,
        };
        // Numbers may stand a little beyond the plate's ends, up to the drawing's.
        let spare = room.size_mm() - size;
        let beyond_mm = DVec2::new((spare.x - 26.0) / 2.0, (spare.y - 30.0) / 3.0).max(DVec2::ZERO);
        let [x_stops, y_stops] = plate.stops(rows);
        let (x, x_whole) =
            ordinate::along([Edge::Bottom, Edge::Top], &x_stops, size.y, (-1.0, size.x + beyond_mm.x));
        let (y, y_whole) =
            ordinate::along([Edge::Left, Edge::Right], &y_stops, size.x, (-size.y - beyond_mm.y, 1.0));
        let ordinates: Vec<Ordinates> = x.into_iter().chain(y).collect();
        let reach_mm = |edge| {
            let reach = ordinates.iter().filter(|one| one.edge() == edge).map(|one| one.reach_mm(lettering));
            reach.fold(BESIDE_MM, f64::max)
        };
        let low = DVec2::new(reach_mm(Edge::Left).max(DATUM_ROOM_MM), reach_mm(Edge::Top));
        let high = DVec2::new(reach_mm(Edge::Right), reach_mm(Edge::Bottom).max(0.6 * DATUM_ROOM_MM));
        let left_mm = spare - low - high;
        if left_mm.min_element() < 0.0 {
            return None;
        }
        plate.corner = room.low + DVec2::new(low.x + left_mm.x / 2.0, low.y + left_mm.y / 3.0 + size.y);
        // Worked out about a plate at the origin: now they go with it.
        plate.ordinates = ordinates.into_iter().map(|one| one.moved(plate.corner)).collect();
        plate.is_dimensioned = x_whole && y_whole;
        Some(plate)
    }

    /// What is to be dimensioned along x and y, about a plate whose lower left corner is the origin.
    fn stops(&self, rows: &[HoleRow]) -> [Vec<Stop>; 2] {
        let plates = &self.project.plates;
        let size = DVec2::new(plates.width_mm, plates.height_mm);
        let datum = self.view.datum_mm(self.project);
        let (mut x, mut y) = (Vec::new(), Vec::new());
        let mut stop = |at: DVec2, across: DVec2, clear_mm: f64| {
            let text = (at - datum).to_array().map(ordinate::number);
            let [x_text, y_text] = text;
            let (paper, across) = (at / self.reduction, across / self.reduction);
            x.push(Stop { along_mm: paper.x, across_mm: across.y, clear_mm, text: x_text });
            // Down the paper.
            y.push(Stop { along_mm: -paper.y, across_mm: across.x, clear_mm, text: y_text });
        };
        stop(DVec2::ZERO, DVec2::ZERO, 0.0);
        stop(size, DVec2::ZERO, 0.0);
        for row in rows.iter().filter(|row| self.is_dimensioned(row)) {
            let at = self.seen(row);
            if at.cmpge(DVec2::ZERO).all() && at.cmple(size).all() {
                // A hole on the edge is no edge.
                let across = at.max(DVec2::splat(1e-6));
                stop(at, across, widest_mm(self.project, row) / self.reduction / 2.0 + 0.8);
            }
        }
        [x, y]
    }

    /// Whether a hole gets dimensions in this view: from behind only what is worked from there.
    fn is_dimensioned(&self, row: &HoleRow) -> bool {
        self.view.side == Side::Face || row.behind.is_some()
    }

    /// Where a hole is seen, mm from the plate's lower left corner.
    fn seen(&self, row: &HoleRow) -> DVec2 {
        match self.view.side {
            Side::Face => row.at_mm,
            Side::Back => seen_from_behind(self.project, row),
        }
    }

    /// Where a point of the plate as seen lies on the paper, mm.
    fn on_paper(&self, seen_mm: DVec2) -> DVec2 {
        self.corner + DVec2::new(seen_mm.x, -seen_mm.y) / self.reduction
    }

    /// Where a point of the plan lies on the paper, mm.
    fn plan_on_paper(&self, plan_mm: DVec2) -> DVec2 {
        self.on_paper(self.view.mirrored(&self.project.plates, plan_mm))
    }

    /// The plate on the paper.
    fn plate(&self) -> Area {
        let plates = &self.project.plates;
        let low = self.on_paper(DVec2::new(0.0, plates.height_mm));
        Area { low, high: self.on_paper(DVec2::new(plates.width_mm, 0.0)) }
    }

    /// Draws everything; tells what had no place.
    pub(crate) fn draw(&self, page: &mut Page, lettering: &Lettering, rows: &[HoleRow]) -> LeftOut {
        let plate = self.plate();
        let channel = channel_steps(self.project, |plan_mm| self.plan_on_paper(plan_mm));
        page.marks.push(Mark::BeginClip { low_mm: plate.low, high_mm: plate.high });
        match self.view.side {
            Side::Face => {
                if !channel.is_empty() {
                    page.fill(channel.clone(), 242);
                    page.stroke(channel.clone(), Pen::CHANNEL);
                }
                self.project.vents.values().for_each(|vent| self.vent(page, vent));
            }
            // Hidden by the plate.
            Side::Back => page.stroke(channel.clone(), Pen { grey: 150, ..Pen::OTHER }),
        }
        page.marks.push(Mark::EndClip);
        self.ordinates.iter().for_each(|one| one.guides(page, &plate));
        page.stroke(rectangle(plate.low, plate.high), Pen::EDGE);

        let mut tags = Tags::new(plate, self.room);
        tags.spare(&channel);
        for one in &self.ordinates {
            one.draw(page, lettering, &plate).into_iter().for_each(|area| tags.keep_off(area));
        }
        self.edges(&mut tags, plate);
        let other = self.of_other_half();
        for (_, at, diameter_mm) in &other {
            let at = self.plan_on_paper(*at);
            page.stroke(circle(at, diameter_mm / self.reduction), Pen::OTHER);
            tags.avoid(boxed(at, diameter_mm / self.reduction));
        }
        let on_plate = |row: &&HoleRow| self.holds(self.on_paper(self.seen(row)));
        let shown: Vec<&HoleRow> = rows.iter().filter(on_plate).filter(|row| self.is_shown(row)).collect();
        for row in &shown {
            let at = self.on_paper(self.seen(row));
            let (diameter_mm, reach_mm) = self.hole(page, row, at);
            tags.avoid(boxed(at, diameter_mm));
            for arm in [DVec2::new(reach_mm, 0.2), DVec2::new(0.2, reach_mm)] {
                tags.avoid(Area { low: at - arm, high: at + arm });
            }
        }
        let vents = || self.project.vents.iter().filter(|(_, vent)| vent.half == self.view.half);
        if self.view.side == Side::Face {
            for vent in self.project.vents.values() {
                let corners = self.slot(vent);
                let low = corners.into_iter().reduce(DVec2::min).unwrap_or_default();
                tags.avoid(Area { low, high: corners.into_iter().reduce(DVec2::max).unwrap_or_default() });
            }
        }
        self.datum(page, lettering, &mut tags);
        let paper_mm = |row: &HoleRow| self.drawn_mm(row) / self.reduction;
        for row in &shown {
            let grey = if self.is_dimensioned(row) { 0 } else { 90 };
            tags.place(page, lettering, &row.tag, self.on_paper(self.seen(row)), paper_mm(row), grey);
        }
        // Among many the tags of the other half only hide those of this one.
        for (id, at, diameter_mm) in other.into_iter().filter(|_| shown.len() <= MANY) {
            let (tag, at) = (self.project.tag(id), self.plan_on_paper(at));
            tags.place(page, lettering, &tag, at, diameter_mm / self.reduction, 90);
        }
        for (id, vent) in vents().filter(|_| self.view.side == Side::Face) {
            let [a, _, c, _] = self.slot(vent);
            if self.holds(a.midpoint(c)) {
                let (tag, width_mm) = (self.project.tag(*id), vent.width_mm / self.reduction);
                tags.place(page, lettering, &tag, a.midpoint(c), width_mm, 0);
            }
        }
        LeftOut { tags: tags.left_out(), numbers: !self.is_dimensioned }
    }

    /// Keeps tags off the plate's outline and the leaders along it.
    fn edges(&self, tags: &mut Tags, plate: Area) {
        for (low, high) in [
            (plate.low, DVec2::new(plate.high.x, plate.low.y)),
            (DVec2::new(plate.low.x, plate.high.y), plate.high),
            (plate.low, DVec2::new(plate.low.x, plate.high.y)),
            (DVec2::new(plate.high.x, plate.low.y), plate.high),
        ] {
            tags.avoid(Area { low, high }.inset(-0.4));
        }
        for one in &self.ordinates {
            let (low, high) = match one.edge() {
                Edge::Bottom => (
                    DVec2::new(self.room.low.x, plate.high.y),
                    DVec2::new(self.room.high.x, plate.high.y + 9.0),
                ),
                Edge::Top => (
                    DVec2::new(self.room.low.x, plate.low.y - 9.0),
                    DVec2::new(self.room.high.x, plate.low.y),
                ),
                Edge::Left => (
                    DVec2::new(plate.low.x - 9.0, self.room.low.y),
                    DVec2::new(plate.low.x, self.room.high.y),
                ),
                Edge::Right => (
                    DVec2::new(plate.high.x, self.room.low.y),
                    DVec2::new(plate.high.x + 9.0, self.room.high.y),
                ),
            };
            tags.avoid(Area { low, high });
        }
    }

    /// Whether a point of the paper lies on the plate; what does not is in the chart only.
    fn holds(&self, paper_mm: DVec2) -> bool {
        self.plate().holds(paper_mm)
    }

    /// Whether a hole shows in this view: a blind one does not come out behind.
    fn is_shown(&self, row: &HoleRow) -> bool {
        self.view.side == Side::Face || row.behind.is_some() || row.depth == Depth::Through
    }

    /// The corners of a vent's slot on the paper, in order round it, mm.
    fn slot(&self, vent: &Vent) -> [DVec2; 4] {
        let out = outline::vent_direction(self.project, vent);
        let side = out.perp() * vent.width_mm / 2.0;
        let end = vent.at + out * vent.length_mm;
        [vent.at - side, end - side, end + side, vent.at + side].map(|corner| self.plan_on_paper(corner))
    }

    fn vent(&self, page: &mut Page, vent: &Vent) {
        let [first, rest @ ..] = self.slot(vent);
        let mut steps = vec![Step::Move(first)];
        steps.extend(rest.map(Step::Line));
        steps.push(Step::Close);
        page.stroke(steps, if vent.half == self.view.half { Pen::THIN } else { Pen::OTHER });
    }

    /// What the other half has on this plate's area: id, place in the plan, diameter at the face, mm.
    fn of_other_half(&self) -> Vec<(Id, DVec2, f64)> {
        if self.view.side == Side::Back {
            return Vec::new();
        }
        let other = self.view.half.other();
        let sprues = self.project.sprues.iter().filter(|(_, sprue)| sprue.half == other);
        let features = self.project.features.iter().filter(|(_, feature)| feature.half == other);
        let mut all: Vec<(Id, DVec2, f64)> =
            sprues.map(|(id, sprue)| (*id, sprue.at, sprue.diameter_mm)).collect();
        all.extend(features.map(|(id, feature)| (*id, feature.at, outline::plan_diameter_mm(&feature.kind))));
        // Ejectors are all in the moving half.
        let ejectors = self.project.ejectors.iter().filter(|_| other == Half::Moving);
        all.extend(ejectors.map(|(id, ejector)| (*id, ejector.at, ejector.diameter_mm)));
        all.retain(|(_, at, _)| self.holds(self.plan_on_paper(*at)));
        all
    }

    /// The largest circle drawn for a hole in this view, in mm of the plate.
    fn drawn_mm(&self, row: &HoleRow) -> f64 {
        match self.view.side {
            Side::Face => widest_mm(self.project, row),
            Side::Back => back_mm(row).into_iter().fold(0.0, f64::max),
        }
    }

    /// Draws one hole at its place on the paper; the diameter it takes there and how far its centre lines
    /// reach from its centre, mm.
    fn hole(&self, page: &mut Page, row: &HoleRow, at: DVec2) -> (f64, f64) {
        let on_paper = |diameter_mm: f64| diameter_mm / self.reduction;
        let diameter_mm = on_paper(self.drawn_mm(row));
        let reach_mm = diameter_mm / 2.0 + 1.8;
        let (across, up) = (DVec2::new(reach_mm, 0.0), DVec2::new(0.0, reach_mm));
        // Chain lines look like nothing on a small cross: there they are continuous.
        let pen = if reach_mm < 4.0 { Pen { dash_mm: &[], ..Pen::CENTRE } } else { Pen::CENTRE };
        page.line(at - across, at + across, pen);
        page.line(at - up, at + up, pen);
        match self.view.side {
            Side::Face => self.hole_on_face(page, row, at),
            Side::Back => {
                let [open_mm, hole_mm] = back_mm(row);
                if open_mm > 0.0 {
                    page.stroke(circle(at, on_paper(open_mm)), Pen::HOLE);
                }
                if hole_mm > 0.0 {
                    let pen = if row.depth == Depth::Through { Pen::THIN } else { Pen::OTHER };
                    page.stroke(circle(at, on_paper(hole_mm)), pen);
                }
            }
        }
        (diameter_mm, reach_mm)
    }

    fn hole_on_face(&self, page: &mut Page, row: &HoleRow, at: DVec2) {
        let on_paper = |diameter_mm: f64| diameter_mm / self.reduction;
        let hole = |diameter_mm: f64| {
            // A thick line round a small circle would hide it and the thread about it.
            let width_mm = if on_paper(diameter_mm) < 5.0 { 0.2 } else { Pen::HOLE.width_mm };
            (circle(at, on_paper(diameter_mm)), Pen { width_mm, ..Pen::HOLE })
        };
        let mut stroke = |(steps, pen): (Vec<Step>, Pen)| page.stroke(steps, pen);
        match (row.after, row.drill_mm) {
            (AfterDrilling::Tap(thread), Some(drill_mm)) => {
                stroke(hole(drill_mm));
                // The thread: three quarters of a thin circle, after ISO 6410 (from memory).
                let radius_mm = on_paper(hardware::nominal_diameter_mm(thread)) / 2.0;
                let mut arc = vec![Step::Move(at + DVec2::new(radius_mm, 0.0))];
                arc.extend(arc_curves(at, radius_mm, 0.0, 1.5 * std::f64::consts::PI));
                stroke((arc, Pen::THREAD));
            }
            (AfterDrilling::Ream { diameter_mm }, _) => stroke(hole(diameter_mm)),
            (AfterDrilling::TaperReam { diameter_mm, .. }, Some(drill_mm)) => {
                stroke(hole(diameter_mm));
                stroke((circle(at, on_paper(drill_mm)), Pen::THREAD));
            }
            (_, Some(drill_mm)) => stroke(hole(drill_mm)),
            (_, None) => {}
        }
        if let Some(ejector) = self.project.ejectors.get(&row.id)
            && ejector.face == EjectorFace::Grooved
            && let Some(deg) = grooves_deg(self.project)
        {
            // Two strokes the way the grooves run; y is down on the paper.
            let along = DVec2::from_angle(-deg.to_radians()) * on_paper(0.4 * ejector.diameter_mm);
            for aside in [along.perp() * 0.45, along.perp() * -0.45] {
                stroke((vec![Step::Move(at + aside - along), Step::Line(at + aside + along)], Pen::THREAD));
            }
        }
        if let Some(feature) = self.project.features.get(&row.id)
            && matches!(feature.kind, FeatureKind::CapHead { .. } | FeatureKind::TurnedHead { .. })
        {
            stroke((circle(at, on_paper(outline::plan_diameter_mm(&feature.kind))), Pen::HEAD));
        }
    }

    /// The datum: a cross in a circle, and the word.
    fn datum(&self, page: &mut Page, lettering: &Lettering, tags: &mut Tags) {
        let at = self.on_paper(self.view.datum_mm(self.project));
        page.stroke(circle(at, DATUM_MM), Pen::THIN);
        for arm in [DVec2::X, DVec2::Y].map(|way| way * 0.85 * DATUM_MM) {
            page.line(at - arm, at + arm, Pen::THIN);
        }
        match self.project.sheet.datum {
            Datum::Centre => tags.place(page, lettering, "Datum", at, DATUM_MM, 0),
            Datum::GuidePin(_) if self.project.datum_pin().is_some() => {
                tags.place(page, lettering, "Datum", at, DATUM_MM, 0);
            }
            // Below the corner, to the left: no number stands there.
            Datum::LowerLeft | Datum::GuidePin(_) => {
                let width_mm = lettering.width_mm("Datum", LETTERS_MM);
                let start = at + DVec2::new(-width_mm - 3.0, 6.5);
                page.text(start, LETTERS_MM, 0, "Datum".to_owned());
                let low = start - DVec2::new(0.0, LETTERS_MM);
                tags.keep_off(Area { low, high: start + DVec2::new(width_mm, 0.3 * LETTERS_MM) });
            }
        }
    }
}

/// Diameter of the mark at the datum, mm.
pub(crate) const DATUM_MM: f64 = 3.6;

/// Closed boundaries of the channel, each point of the plan put where `place` says.
pub(crate) fn channel_steps(project: &Project, place: impl Fn(DVec2) -> DVec2) -> Vec<Step> {
    let outline = outline::of(project);
    boundaries(outline.rings.iter().map(|ring| ring.pieces.as_slice()), place)
}

fn boundaries<'p>(rings: impl Iterator<Item = &'p [Piece]>, place: impl Fn(DVec2) -> DVec2) -> Vec<Step> {
    let mut steps = Vec::new();
    for pieces in rings {
        for (index, piece) in pieces.iter().enumerate() {
            let (start, curves) = plan_steps(piece);
            if index == 0 {
                steps.push(Step::Move(start));
            }
            steps.extend(curves);
        }
        steps.push(Step::Close);
    }
    placed(&steps, place)
}

/// A path with each of its points put where `place` says.
pub(crate) fn placed(steps: &[Step], place: impl Fn(DVec2) -> DVec2) -> Vec<Step> {
    let put = |step: &Step| match *step {
        Step::Move(to) => Step::Move(place(to)),
        Step::Line(to) => Step::Line(place(to)),
        Step::Curve(a, b, to) => Step::Curve(place(a), place(b), place(to)),
        Step::Close => Step::Close,
    };
    steps.iter().map(put).collect()
}

/// Start of a piece and the steps to its end, in the plan.
fn plan_steps(piece: &Piece) -> (DVec2, Vec<Step>) {
    match *piece {
        Piece::Line { from, to } => (from, vec![Step::Line(to)]),
        Piece::Arc { centre, radius_mm, from_rad, sweep_rad } => {
            let start = centre + DVec2::from_angle(from_rad) * radius_mm;
            (start, arc_curves(centre, radius_mm, from_rad, sweep_rad).collect())
        }
    }
}

/// The largest circle drawn for a hole on the face, mm.
fn widest_mm(project: &Project, row: &HoleRow) -> f64 {
    let feature = project.features.get(&row.id);
    let stands_mm = feature.map_or(0.0, |feature| outline::plan_diameter_mm(&feature.kind));
    let made_mm = match row.after {
        AfterDrilling::Ream { diameter_mm } | AfterDrilling::TaperReam { diameter_mm, .. } => diameter_mm,
        AfterDrilling::Tap(thread) => hardware::nominal_diameter_mm(thread),
        AfterDrilling::Nothing => row.drill_mm.unwrap_or(0.0),
    };
    stands_mm.max(made_mm)
}

/// What is drawn of a hole from behind: the opening, and the hole itself, mm; nought for what there is not.
fn back_mm(row: &HoleRow) -> [f64; 2] {
    let open_mm = row.behind.and_then(|behind| behind.opening).map_or(0.0, |opening| opening.diameter_mm);
    let hole_mm = match row.after {
        AfterDrilling::Ream { diameter_mm } => diameter_mm,
        // A taper narrows towards the back.
        AfterDrilling::TaperReam { .. } | AfterDrilling::Tap(_) | AfterDrilling::Nothing => {
            row.drill_mm.unwrap_or(0.0)
        }
    };
    [open_mm, hole_mm]
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    #[test]
    fn the_outline_of_one_half_folds_onto_that_of_the_other() {
        let project = Project::blank();
        let lettering = Lettering::new().unwrap();
        // A slot from (50, 40) to (90, 40), 6 mm wide, round at its right end only.
        let (low, high) = (DVec2::new(50.0, 37.0), DVec2::new(50.0, 43.0));
        let (below, above) = (DVec2::new(90.0, 37.0), DVec2::new(90.0, 43.0));
        let end =
            Piece::Arc { centre: DVec2::new(90.0, 40.0), radius_mm: 3.0, from_rad: -PI / 2.0, sweep_rad: PI };
        let line = |from, to| Piece::Line { from, to };
        let pieces = [line(low, below), end, line(above, high), line(high, low)];
        // The arc is drawn as two quarters that meet at its tip.
        let nodes = [low, below, DVec2::new(93.0, 40.0), above, high, low];
        let paper = Paper::allowed(keepside_model::Paper::A3)[0];
        for (view, is_mirrored) in [
            (View::face(Half::Moving), false),
            (View::back(Half::Moving), true),
            (View::face(Half::Fixed), true),
            (View::back(Half::Fixed), false),
        ] {
            let plate = PlateView::new(&project, view, &[], &lettering, &paper, 1.0).unwrap();
            let steps = boundaries([pieces.as_slice()].into_iter(), |at| plate.plan_on_paper(at));
            let ends = steps.into_iter().filter_map(|step| match step {
                Step::Move(to) | Step::Line(to) | Step::Curve(_, _, to) => Some(to),
                Step::Close => None,
            });
            let ends: Vec<DVec2> = ends.collect();
            assert_eq!(ends.len(), nodes.len());
            for (end, node) in ends.iter().zip(nodes) {
                let x = if is_mirrored { 200.0 - node.x } else { node.x };
                let expected = plate.corner + DVec2::new(x, -node.y);
                assert!(end.distance(expected) < 1e-9, "{view:?}: {end} is not {expected}");
            }
        }
    }
}
