//! The drawing of one plate, seen on its parting face.

use glam::DVec2;
use keepside_engine::hardware;
use keepside_engine::outline::{self, Piece};
use keepside_model::{EjectorFace, FeatureKind, Half, Id, Project, Vent};

use crate::frame::{ABOVE_MM, Area, LEFT_MM, Paper};
use crate::holes::{AfterDrilling, HoleRow, grooves_deg, length};
use crate::lettering::Lettering;
use crate::page::{Mark, Page, Pen, Step, arc_curves, circle, rectangle};
use crate::tags::{Tags, boxed};

/// A plate placed on the paper.
pub(crate) struct PlateView<'a> {
    project: &'a Project,
    half: Half,
    reduction: f64,
    /// Lower left corner of the plate on the paper, mm.
    corner: DVec2,
}

impl<'a> PlateView<'a> {
    /// The plate in the middle of the drawing area's width, at its top.
    pub(crate) fn new(project: &'a Project, half: Half, paper: &Paper) -> Self {
        let plates = &project.plates;
        let size = DVec2::new(plates.width_mm, plates.height_mm) / paper.reduction;
        let area = paper.drawing();
        let spare_mm = (area.width_mm() - LEFT_MM - size.x) / 2.0;
        let corner = area.low + DVec2::new(LEFT_MM + spare_mm.max(0.0), ABOVE_MM + size.y);
        Self { project, half, reduction: paper.reduction, corner }
    }

    /// Where a point of this plate's face lies on the paper, mm.
    fn on_paper(&self, face_mm: DVec2) -> DVec2 {
        self.corner + DVec2::new(face_mm.x, -face_mm.y) / self.reduction
    }

    /// Where a point of the plan lies on the paper, mm.
    fn plan_on_paper(&self, plan_mm: DVec2) -> DVec2 {
        self.on_paper(self.project.plates.seen_on_face(self.half, plan_mm))
    }

    /// The plate on the paper.
    fn plate(&self) -> Area {
        let plates = &self.project.plates;
        let low = self.on_paper(DVec2::new(0.0, plates.height_mm));
        Area { low, high: self.on_paper(DVec2::new(plates.width_mm, 0.0)) }
    }

    /// How far down the drawing with its dimensions reaches on the paper, mm.
    pub(crate) fn bottom_mm(&self) -> f64 {
        self.corner.y + 11.0
    }

    /// Draws everything.
    pub(crate) fn draw(&self, page: &mut Page, lettering: &Lettering, rows: &[HoleRow]) {
        let plate = self.plate();
        page.marks.push(Mark::BeginClip { low_mm: plate.low, high_mm: plate.high });
        let outline = outline::of(self.project);
        let channel = self.channel(outline.rings.iter().map(|ring| ring.pieces.as_slice()));
        if !channel.is_empty() {
            page.fill(channel.clone(), 242);
            page.stroke(channel.clone(), Pen::CHANNEL);
        }
        for vent in self.project.vents.values() {
            self.vent(page, vent);
        }
        page.marks.push(Mark::EndClip);
        page.stroke(rectangle(plate.low, plate.high), Pen::EDGE);

        let mut tags = Tags::new(plate);
        tags.spare(&channel);
        let other = self.of_other_half();
        for (_, at, diameter_mm) in &other {
            let at = self.plan_on_paper(*at);
            page.stroke(circle(at, diameter_mm / self.reduction), Pen::OTHER);
            tags.avoid(boxed(at, diameter_mm / self.reduction));
        }
        let on_plate = |row: &&HoleRow| self.holds(self.on_paper(row.at_mm));
        for row in rows.iter().filter(on_plate) {
            let (at, reach_mm) = (self.on_paper(row.at_mm), self.hole(page, row));
            tags.avoid(boxed(at, widest_mm(self.project, row) / self.reduction));
            for arm in [DVec2::new(reach_mm, 0.2), DVec2::new(0.2, reach_mm)] {
                tags.avoid(Area { low: at - arm, high: at + arm });
            }
        }
        let vents = || self.project.vents.iter().filter(|(_, vent)| vent.half == self.half);
        for vent in self.project.vents.values() {
            let corners = self.slot(vent);
            let low = corners.into_iter().reduce(DVec2::min).unwrap_or_default();
            tags.avoid(Area { low, high: corners.into_iter().reduce(DVec2::max).unwrap_or_default() });
        }
        for row in rows.iter().filter(on_plate) {
            let widest_mm = widest_mm(self.project, row);
            tags.place(page, lettering, &row.tag, self.on_paper(row.at_mm), widest_mm / self.reduction, 0);
        }
        for (id, at, diameter_mm) in other {
            let (tag, at) = (self.project.tag(id), self.plan_on_paper(at));
            tags.place(page, lettering, &tag, at, diameter_mm / self.reduction, 90);
        }
        for (id, vent) in vents() {
            let [a, _, c, _] = self.slot(vent);
            if self.holds(a.midpoint(c)) {
                let (tag, width_mm) = (self.project.tag(*id), vent.width_mm / self.reduction);
                tags.place(page, lettering, &tag, a.midpoint(c), width_mm, 0);
            }
        }
        self.datum(page, lettering);
        self.dimensions(page, lettering);
    }

    /// Whether a point of the paper lies on the plate; what does not is in the table only.
    fn holds(&self, paper_mm: DVec2) -> bool {
        self.plate().holds(paper_mm)
    }

    /// Closed boundaries of the channel on the paper.
    fn channel<'p>(&self, rings: impl Iterator<Item = &'p [Piece]>) -> Vec<Step> {
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
        let on_paper = |step| match step {
            Step::Move(to) => Step::Move(self.plan_on_paper(to)),
            Step::Line(to) => Step::Line(self.plan_on_paper(to)),
            Step::Curve(a, b, to) => {
                Step::Curve(self.plan_on_paper(a), self.plan_on_paper(b), self.plan_on_paper(to))
            }
            Step::Close => Step::Close,
        };
        steps.into_iter().map(on_paper).collect()
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
        page.stroke(steps, if vent.half == self.half { Pen::THIN } else { Pen::OTHER });
    }

    /// What the other half has on this plate's area: id, place in the plan, diameter at the face, mm.
    fn of_other_half(&self) -> Vec<(Id, DVec2, f64)> {
        let other = self.half.other();
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

    /// Draws one hole of this half; returns how far its centre lines reach from its centre, mm.
    fn hole(&self, page: &mut Page, row: &HoleRow) -> f64 {
        let at = self.on_paper(row.at_mm);
        let on_paper = |diameter_mm: f64| diameter_mm / self.reduction;
        let widest_mm = on_paper(widest_mm(self.project, row));
        let reach_mm = widest_mm / 2.0 + 1.8;
        let (across, up) = (DVec2::new(reach_mm, 0.0), DVec2::new(0.0, reach_mm));
        // Chain lines look like nothing on a small cross: there they are continuous.
        let pen = if reach_mm < 4.0 { Pen { dash_mm: &[], ..Pen::CENTRE } } else { Pen::CENTRE };
        page.line(at - across, at + across, pen);
        page.line(at - up, at + up, pen);
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
        reach_mm
    }

    /// The datum at the plate's lower left corner: a cross in a circle, the two axes, and words.
    fn datum(&self, page: &mut Page, lettering: &Lettering) {
        let at = self.corner;
        page.stroke(circle(at, 3.0), Pen::THIN);
        page.line(at - DVec2::new(3.0, 0.0), at + DVec2::new(3.0, 0.0), Pen::THIN);
        page.line(at - DVec2::new(0.0, 3.0), at + DVec2::new(0.0, 3.0), Pen::THIN);
        let words = "Datum 0, 0: this corner. x to the right, y up.";
        let text = lettering.fitted(words, 2.5, 100.0);
        page.text(at + DVec2::new(-3.0, 9.6), 2.5, 0, text);
    }

    fn dimensions(&self, page: &mut Page, lettering: &Lettering) {
        let plates = &self.project.plates;
        let plate = self.plate();
        let (left, right) =
            (DVec2::new(plate.low.x, plate.high.y + 4.8), DVec2::new(plate.high.x, plate.high.y + 4.8));
        dimension(page, lettering, left, right, &length(plates.width_mm));
        let (bottom, top) =
            (DVec2::new(plate.low.x - 4.8, plate.high.y), DVec2::new(plate.low.x - 4.8, plate.low.y));
        dimension(page, lettering, bottom, top, &length(plates.height_mm));
    }
}

/// A dimension line with arrows and its number; level, or upright with the number turned.
fn dimension(page: &mut Page, lettering: &Lettering, from: DVec2, to: DVec2, number: &str) {
    let along = (to - from).normalize_or_zero();
    let outwards = if along.x.abs() > 0.5 { DVec2::Y } else { DVec2::NEG_X };
    page.line(from, to, Pen::THIN);
    for (tip, inwards) in [(from, along), (to, -along)] {
        page.line(tip - outwards * 3.3, tip + outwards, Pen::THIN);
        let (back, side) = (tip + inwards * 2.4, inwards.perp() * 0.4);
        page.fill(vec![Step::Move(tip), Step::Line(back + side), Step::Line(back - side), Step::Close], 0);
    }
    let width_mm = lettering.width_mm(number, 2.8);
    let start = from.midpoint(to) - along * width_mm / 2.0;
    if outwards == DVec2::Y {
        let (low, high) = (start + DVec2::new(-0.8, -1.4), start + DVec2::new(width_mm + 0.8, 1.4));
        page.fill(rectangle(low, high), 255);
        page.text(start + DVec2::new(0.0, 1.0), 2.8, 0, number.to_owned());
    } else {
        let (low, high) = (start + DVec2::new(-1.4, -width_mm - 0.8), start + DVec2::new(1.4, 0.8));
        page.fill(rectangle(low, high), 255);
        page.marks.push(Mark::Text {
            at_mm: start + DVec2::new(1.0, 0.0),
            size_mm: 2.8,
            text: number.to_owned(),
            grey: 0,
            turned: true,
        });
    }
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

/// The largest circle drawn for a hole, mm.
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

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    #[test]
    fn the_outline_of_one_half_folds_onto_that_of_the_other() {
        let project = Project::blank();
        let paper = Paper::for_plate(DVec2::new(200.0, 120.0));
        // A slot from (50, 40) to (90, 40), 6 mm wide, round at its right end only.
        let (low, high) = (DVec2::new(50.0, 37.0), DVec2::new(50.0, 43.0));
        let (below, above) = (DVec2::new(90.0, 37.0), DVec2::new(90.0, 43.0));
        let end =
            Piece::Arc { centre: DVec2::new(90.0, 40.0), radius_mm: 3.0, from_rad: -PI / 2.0, sweep_rad: PI };
        let line = |from, to| Piece::Line { from, to };
        let pieces = [line(low, below), end, line(above, high), line(high, low)];
        // The arc is drawn as two quarters that meet at its tip.
        let nodes = [low, below, DVec2::new(93.0, 40.0), above, high, low];
        for half in [Half::Moving, Half::Fixed] {
            let view = PlateView::new(&project, half, &paper);
            let ends =
                view.channel([pieces.as_slice()].into_iter()).into_iter().filter_map(|step| match step {
                    Step::Move(to) | Step::Line(to) | Step::Curve(_, _, to) => Some(to),
                    Step::Close => None,
                });
            let ends: Vec<DVec2> = ends.collect();
            assert_eq!(ends.len(), nodes.len());
            for (end, node) in ends.iter().zip(nodes) {
                let x = if half == Half::Fixed { 200.0 - node.x } else { node.x };
                let expected = view.corner + DVec2::new(x, -node.y);
                assert!(end.distance(expected) < 1e-9, "{half:?}: {end} is not {expected}");
            }
        }
    }
}
