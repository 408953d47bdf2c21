//! The plan: who keeps what, and where everything stands.

use glam::DVec2;
use keepside_engine::Opening;
use keepside_engine::opening::Stretch;
use keepside_engine::outline::{self, Outline};
use keepside_model::{FeatureKind, Half, Id, Project};

use super::keeps::{self, PITCH_MM};
use super::side::Drawn;
use crate::document::{Flow, Labels, left_out};
use crate::lettering::Lettering;
use crate::page::{Mark, Page, Pen, Step, circle, rectangle};
use crate::paper::Area;

/// Greatest height of the picture, mm.
const MOST_MM: f64 = 150.0;
/// Room round the plate for tags, mm.
const AROUND_MM: f64 = 7.0;

pub(super) fn write(flow: &mut Flow<'_>, project: &Project, outline: &Outline, opening: Option<&Opening>) {
    let plates = &project.plates;
    let size_mm = DVec2::new(plates.width_mm, plates.height_mm);
    let around = DVec2::splat(2.0 * AROUND_MM);
    let room = DVec2::new(flow.width_mm(), MOST_MM) - around;
    let scale = Drawn::scale_for((size_mm / room).max_element());
    let height_mm = size_mm.y * scale + around.y;
    flow.heading_over("Plan", height_mm + 16.0);
    let area = flow.take(height_mm);
    let left = area.low.x + (area.size_mm().x - size_mm.x * scale) / 2.0;
    let picture = Picture { project, scale, corner: DVec2::new(left, area.high.y - AROUND_MM) };
    let mut labels = Labels::new(area);
    let lettering = flow.lettering;
    let outside = picture.draw(flow.page(), outline, opening, &mut labels, lettering);
    if opening.is_some() {
        keeps::legend(flow);
    }
    let seen = "Seen on the moving half's parting face, x to the right, y up";
    flow.remark(&format!("{seen}; scale {}. {}{}", Drawn::words(scale), LINES, left_out(&[&labels])));
    if !outside.is_empty() {
        flow.remark(&format!("Outside the plate and not drawn: {}.", outside.join(", ")));
    }
}

/// What the lines mean.
const LINES: &str = "Thick circle: keying feature of the moving half; dashed: of the fixed half. Circle with a \
                     cross: gate. Two circles: ejector. Thin circle: bolt or guide pin. Thin slot: vent. ";

struct Picture<'a> {
    project: &'a Project,
    scale: f64,
    /// Lower left corner of the plate on the paper, mm.
    corner: DVec2,
}

impl Picture<'_> {
    fn at(&self, plan_mm: DVec2) -> DVec2 {
        self.corner + DVec2::new(plan_mm.x, -plan_mm.y) * self.scale
    }

    fn plate(&self) -> Area {
        let plates = &self.project.plates;
        let high = self.at(DVec2::new(plates.width_mm, 0.0));
        Area { low: self.at(DVec2::new(0.0, plates.height_mm)), high }
    }

    /// Draws everything; returns the tags of what lies outside the plate.
    fn draw(
        &self,
        page: &mut Page,
        outline: &Outline,
        opening: Option<&Opening>,
        labels: &mut Labels,
        lettering: &Lettering,
    ) -> Vec<String> {
        let plate = self.plate();
        page.marks.push(Mark::BeginClip { low_mm: plate.low, high_mm: plate.high });
        let steps = self.outline(outline);
        if let Some(opening) = opening {
            opening.stretches.iter().for_each(|stretch| self.stretch(page, opening, stretch));
        } else if !steps.is_empty() {
            page.fill(steps.clone(), 235);
        }
        page.stroke(steps, Pen { width_mm: 0.25, ..Pen::THIN });
        let mut round = self.items(page);
        page.marks.push(Mark::EndClip);
        page.stroke(rectangle(plate.low, plate.high), Pen::EDGE);
        for (id, run) in &self.project.part.runs {
            if let [first, second, ..] = run.points.as_slice() {
                // The tag of a run stands beside its first piece, where the most room is.
                let clear_mm =
                    |at: DVec2| round.iter().map(|(_, pin, _)| pin.distance(at)).fold(f64::MAX, f64::min);
                let places = (1..16_u32).map(|step| first.at.lerp(second.at, f64::from(step) / 16.0));
                let best = places.max_by(|a, b| clear_mm(*a).total_cmp(&clear_mm(*b)));
                round.extend(best.map(|at| (*id, at, 0.0)));
            }
        }
        for ring in &outline.rings {
            let corners = Outline::polyline(ring, 0.5 / self.scale);
            let first = corners.first().copied();
            labels.spare(&corners.into_iter().chain(first).map(|corner| self.at(corner)).collect::<Vec<_>>());
        }
        let is_inside = |at: DVec2| plate.holds(self.at(at));
        for (_, at, diameter_mm) in &round {
            let reach = DVec2::splat((diameter_mm * self.scale / 2.0).min(20.0));
            labels.avoid(Area { low: self.at(*at) - reach, high: self.at(*at) + reach });
        }
        let mut outside = Vec::new();
        for (id, at, diameter_mm) in round {
            let tag = self.project.tag(id);
            if is_inside(at) {
                labels.place(page, lettering, &tag, self.at(at), diameter_mm * self.scale / 2.0);
            } else {
                outside.push(tag);
            }
        }
        outside
    }

    fn outline(&self, outline: &Outline) -> Vec<Step> {
        let mut steps = Vec::new();
        for ring in &outline.rings {
            // A chord is off its arc by less than a line is wide.
            let corners = Outline::polyline(ring, 0.05 / self.scale);
            for (index, corner) in corners.into_iter().enumerate() {
                let to = self.at(corner);
                steps.push(if index == 0 { Step::Move(to) } else { Step::Line(to) });
            }
            steps.push(Step::Close);
        }
        steps
    }

    fn stretch(&self, page: &mut Page, opening: &Opening, stretch: &Stretch) {
        let Some(axis) = opening.axis(stretch.run) else { return };
        let long_mm = (stretch.to_mm - stretch.from_mm).max(0.0);
        let pieces = (long_mm * self.scale / PITCH_MM).ceil().clamp(1.0, 5000.0);
        let mut edges = Vec::new();
        let mut piece = 0.0;
        while piece <= pieces {
            let along_mm = stretch.from_mm + long_mm * piece / pieces;
            let after = axis.points.partition_point(|point| point.along_mm <= along_mm);
            let direction = axis.points.get(after.saturating_sub(1)).map(|point| point.direction);
            if let (Some(at), Some(direction)) = (axis.plan_point(along_mm), direction)
                && let Some(channel) = outline::channel_at(self.project, at)
            {
                let side = direction.perp() * channel.width_mm / 2.0;
                edges.push((self.at(at + side), self.at(at - side)));
            }
            piece += 1.0;
        }
        keeps::pattern(page, stretch.keeper, &edges);
    }

    /// Draws vents and all that is round; returns the tags' places and the diameters, mm.
    fn items(&self, page: &mut Page) -> Vec<(Id, DVec2, f64)> {
        let project = self.project;
        let mut all = Vec::new();
        for (id, vent) in &project.vents {
            let out = outline::vent_direction(project, vent);
            let side = out.perp() * vent.width_mm / 2.0;
            let end = vent.at + out * vent.length_mm;
            let [first, rest @ ..] =
                [vent.at - side, end - side, end + side, vent.at + side].map(|corner| self.at(corner));
            let mut steps = vec![Step::Move(first)];
            steps.extend(rest.map(Step::Line));
            page.stroke(steps, Pen::THIN);
            all.push((*id, vent.at.lerp(end, 0.5), vent.width_mm));
        }
        let round = |page: &mut Page, at: DVec2, diameter_mm: f64, pen: Pen| {
            page.stroke(circle(self.at(at), diameter_mm * self.scale), pen);
        };
        for (id, hole) in &project.holes {
            round(page, hole.at, hole.diameter_mm, Pen::THIN);
            all.push((*id, hole.at, hole.diameter_mm));
        }
        for (id, ejector) in &project.ejectors {
            round(page, ejector.at, ejector.diameter_mm, Pen::THIN);
            round(page, ejector.at, 0.5 * ejector.diameter_mm, Pen::THIN);
            all.push((*id, ejector.at, ejector.diameter_mm));
        }
        for (id, sprue) in &project.sprues {
            round(page, sprue.at, sprue.diameter_mm, Pen::HOLE);
            let reach = 0.7 * sprue.diameter_mm;
            for arm in [DVec2::X * reach, DVec2::Y * reach] {
                page.line(self.at(sprue.at - arm), self.at(sprue.at + arm), Pen::THIN);
            }
            all.push((*id, sprue.at, 1.4 * sprue.diameter_mm));
        }
        for (id, feature) in &project.features {
            let diameter_mm = outline::plan_diameter_mm(&feature.kind);
            let pen = match feature.half {
                Half::Moving => Pen::EDGE,
                Half::Fixed => Pen { width_mm: 0.35, grey: 0, dash_mm: &[0.9, 0.5] },
            };
            round(page, feature.at, diameter_mm, pen);
            if matches!(feature.kind, FeatureKind::SetScrew { .. }) {
                page.fill(circle(self.at(feature.at), 0.3 * diameter_mm * self.scale), 0);
            }
            all.push((*id, feature.at, diameter_mm));
        }
        all
    }
}
