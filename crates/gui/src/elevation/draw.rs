//! Drawing of the side elevation: plates, part, holds with their pulls.

use egui::{Align2, Color32, Mesh, Painter, Pos2, Rect, Shape, Stroke, pos2, vec2};
use keepside_engine::Opening;
use keepside_engine::opening::{Frame, HoldOutcome, Keeper, ReleaseHow, What};
use keepside_model::Half;
use keepside_session::Session;

use super::between::frame_between;
use super::forces::{ForceScale, arrow};
use super::frame::Side;
use super::keeps::keeper_at;
use super::left::Left;
use super::runs::Meeting;
use super::{ejectors, note};
use crate::look::Palette;
use crate::look::hatch::hatch;
use crate::units::Unit;
use crate::view::ViewState;
use keepside_engine::outline::plan_diameter_mm;

/// What everything is drawn with.
pub(super) struct Pen<'a> {
    pub(super) painter: &'a Painter,
    pub(super) palette: &'a Palette,
    pub(super) session: &'a Session,
    opening: &'a Opening,
    pub(super) side: &'a Side,
    opacity: f32,
}

/// Draws everything; returns in words what is seen.
pub(super) fn draw(
    painter: &Painter,
    palette: &Palette,
    session: &Session,
    opening: &Opening,
    view: &ViewState,
    side: &Side,
    opacity: f32,
) -> String {
    let pen = Pen { painter, palette, session, opening, side, opacity };
    let unit = Unit::of(painter.ctx());
    let caption = if let Some(left) = Left::of(session, opening, view) {
        pen.on_table(&left);
        format!("{} part, out of flat by {}", left.words, unit.length(left.flatness_mm))
    } else {
        let mut totals = String::new();
        pen.plates();
        ejectors::draw(&pen);
        if let Some(frame) = frame_between(opening, side.opening_mm) {
            let points = shape(&frame, side);
            pen.holds(&frame, &points);
            pen.part(&points, side.opening_mm);
            pen.pins_in_part();
            pen.meetings(&points);
            if view.show_forces {
                pen.pulls(&frame, &points);
            }
            totals =
                format!(", moving half pulls {:.0} N, fixed half {:.0} N", frame.moving_n, frame.fixed_n);
        }
        format!("opening {}{totals}", unit.length(side.opening_mm))
    };
    let unrolled = if side.is_unrolled { ", unrolled along the run" } else { "" };
    let run = match (&side.axis, opening.axes.len()) {
        (Some(axis), 2..) => format!("{}, ", session.document().tag(axis.run)),
        _ => String::new(),
    };
    let caption = format!("{run}{caption}, heights ×{:.2}{unrolled}", side.exaggeration());
    let at = side.rect.left_top() + vec2(10.0, 6.0);
    let galley = painter.layout_no_wrap(caption.clone(), egui::FontId::proportional(11.0), palette.ink);
    painter.rect_filled(
        Rect::from_min_size(at, galley.size()).expand(3.0),
        3.0,
        palette.panel.gamma_multiply(0.85),
    );
    painter.galley(at, galley, palette.ink);
    let words = |meeting: &Meeting| format!(", {}", meeting.words(session.document()));
    caption + &side.meetings.iter().map(words).collect::<String>()
}

/// A point of the part's axis.
#[derive(Clone, Copy)]
pub(super) struct AxisPoint {
    pub(super) along_mm: f64,
    pub(super) x_mm: f64,
    /// Height of the axis above the fixed half's face.
    pub(super) z_mm: f64,
    /// Displacement from the closed position.
    pub(super) w_mm: f64,
}

pub(super) fn shape(frame: &Frame, side: &Side) -> Vec<AxisPoint> {
    let point = |point: &keepside_engine::opening::ShapePoint| {
        let (along_mm, w_mm) = (f64::from(point.along_mm), f64::from(point.z_mm));
        AxisPoint { along_mm, x_mm: f64::from(point.x_mm), z_mm: w_mm + side.axis_mm(along_mm), w_mm }
    };
    frame.shapes.get(side.index).into_iter().flatten().map(point).collect()
}

impl Pen<'_> {
    fn faint(&self, colour: Color32) -> Color32 {
        colour.gamma_multiply(self.opacity)
    }

    /// Both plates with the channel cut into them.
    fn plates(&self) {
        let side = self.side;
        let (left, right) = (side.plan_x(0.0), side.plan_x(self.session.document().plates.width_mm));
        let moving_y = side.y(side.opening_mm);
        let edge = Stroke::new(1.2, self.palette.plate_edge);
        let fixed = Rect::from_min_max(pos2(left, side.face_y), pos2(right, side.rect.bottom() + 4.0));
        let moving = Rect::from_min_max(pos2(left, side.rect.top() - 4.0), pos2(right, moving_y));
        for plate in [fixed, moving] {
            if plate.is_positive() {
                self.painter.rect(plate, 0.0, self.palette.plate, edge, egui::StrokeKind::Middle);
            }
        }
        let pocket = |deep: &dyn Fn(f64) -> f64| {
            let mut points: Vec<(f64, f64)> =
                side.ribs.iter().map(|rib| (rib.along_mm, deep(rib.depth_mm))).collect();
            points.dedup();
            points
        };
        let fixed_floor = pocket(&|depth| -depth * (1.0 - side.share));
        let moving_floor = pocket(&|depth| side.opening_mm + depth * side.share);
        for (floor, face) in [(fixed_floor, 0.0), (moving_floor, side.opening_mm)] {
            let mut mesh = Mesh::default();
            let mut next = 0;
            for &(along, z) in &floor {
                mesh.colored_vertex(side.at(along, face), self.palette.hole);
                mesh.colored_vertex(side.at(along, z), self.palette.hole);
                if next > 0 {
                    mesh.add_triangle(next - 2, next - 1, next);
                    mesh.add_triangle(next - 1, next, next + 1);
                }
                next += 2;
            }
            self.painter.add(Shape::mesh(mesh));
            let line: Vec<Pos2> = floor.iter().map(|(along, z)| side.at(*along, *z)).collect();
            self.painter.add(Shape::line(line, Stroke::new(1.0, self.palette.plate_edge)));
        }
        let text_x = left.max(side.rect.left()) + 8.0;
        let ink = self.palette.ink_soft;
        note(self.painter, pos2(text_x, side.rect.bottom() - 4.0), Align2::LEFT_BOTTOM, "fixed half", ink);
        if moving_y > side.rect.top() + 38.0 {
            note(self.painter, pos2(text_x, moving_y - 3.0), Align2::LEFT_BOTTOM, "moving half", ink);
        } else {
            let at = side.rect.right_top() + vec2(-10.0, 6.0);
            note(self.painter, at, Align2::RIGHT_TOP, "moving half above", ink);
        }
    }

    /// The part as a band of its true depth.
    pub(super) fn part(&self, points: &[AxisPoint], opening_mm: f64) {
        let side = self.side;
        let ends: Vec<[Pos2; 2]> = (0..points.len())
            .map(|index| {
                let (before, after) =
                    (points[index.saturating_sub(1)], points[(index + 1).min(points.len() - 1)]);
                let here = points[index];
                let along = glam::DVec2::new(after.x_mm - before.x_mm, after.z_mm - before.z_mm);
                let across = along.normalize_or(glam::DVec2::X).perp() * (side.depth_mm(here.along_mm) / 2.0);
                [
                    side.at(here.x_mm + across.x, here.z_mm + across.y),
                    side.at(here.x_mm - across.x, here.z_mm - across.y),
                ]
            })
            .collect();
        let tinted = |colour: Color32| self.palette.plastic.lerp_to_gamma(colour, 0.45);
        let keeper =
            |point: AxisPoint| keeper_at(point.w_mm, opening_mm).filter(|keeper| *keeper != Keeper::Bridging);
        let colour = |point: AxisPoint| {
            keeper(point).map_or(self.palette.plastic, |keeper| tinted(self.palette.keeper(keeper)))
        };
        let mut mesh = Mesh::default();
        let mut next = 0;
        for (pair, end) in points.windows(2).zip(ends.windows(2)) {
            let fill = self.faint(colour(pair[1]));
            [end[0][0], end[0][1], end[1][1], end[1][0]]
                .iter()
                .for_each(|corner| mesh.colored_vertex(*corner, fill));
            mesh.add_triangle(next, next + 1, next + 2);
            mesh.add_triangle(next, next + 2, next + 3);
            next += 4;
        }
        self.painter.add(Shape::mesh(mesh));
        // The colour says who keeps it, the hatching says it again.
        for kept in [Keeper::Moving, Keeper::Fixed] {
            let pieces =
                points.windows(2).zip(ends.windows(2)).filter(|(pair, _)| keeper(pair[1]) == Some(kept));
            let quads: Vec<[Pos2; 4]> =
                pieces.map(|(_, end)| [end[0][0], end[0][1], end[1][1], end[1][0]]).collect();
            let ink = Stroke::new(1.1, self.faint(self.palette.keeper(kept)));
            hatch(self.painter, &quads, kept, side.at(0.0, 0.0), ink);
        }
        let stroke = Stroke::new(1.3, self.faint(self.palette.plastic_edge));
        let upper = ends.iter().map(|end| end[0]);
        let lower = ends.iter().rev().map(|end| end[1]);
        self.painter.add(Shape::closed_line(upper.chain(lower).collect(), stroke));
    }

    /// Height of the axis at a place along the run.
    pub(super) fn axis_at(points: &[AxisPoint], along_mm: f64) -> Option<AxisPoint> {
        let after =
            points.partition_point(|point| point.along_mm < along_mm).min(points.len().checked_sub(1)?);
        Some(points[after])
    }

    /// How a hold was released by now, if it was.
    fn released_how(&self, hold: usize) -> Option<ReleaseHow> {
        let by_now = |release: &&keepside_engine::opening::Release| {
            release.hold == hold && release.opening_mm <= self.side.opening_mm
        };
        self.opening.releases.iter().find(by_now).map(|release| release.how)
    }

    /// Pins, sprue bores, and the links between them and the part.
    fn holds(&self, frame: &Frame, points: &[AxisPoint]) {
        for (index, hold) in self.opening.holds.iter().enumerate() {
            let Some(along_mm) = self.side.along_of(hold) else { continue };
            let Some(axis) = Self::axis_at(points, along_mm) else { continue };
            let how = self.released_how(index);
            match hold.name.what {
                What::Feature(id) => self.pin(id, hold, along_mm),
                What::Sprue(id) => self.sprue(id, hold, along_mm, axis, how),
                // The pin itself is drawn with the ejectors.
                What::Ejector(_) => {}
                What::Tack | What::WallDrag | What::Edge | What::Vacuum => continue,
            }
            self.link(hold, along_mm, axis, how, frame.pulls_n.get(index).copied().unwrap_or(0.0));
        }
    }

    /// Height of the channel floor of a half, and the sign of the way from it into the channel.
    pub(super) fn floor(&self, half: Half, along_mm: f64) -> (f64, f64) {
        let depth = self.side.depth_mm(along_mm);
        match half {
            Half::Fixed => (-depth * (1.0 - self.side.share), 1.0),
            Half::Moving => (self.side.opening_mm + depth * self.side.share, -1.0),
        }
    }

    fn pin(&self, id: keepside_model::Id, hold: &HoldOutcome, along_mm: f64) {
        let Some(feature) = self.session.document().features.get(&id) else { return };
        let (floor, way) = self.floor(hold.name.half, along_mm);
        let half_px = self.side.px(plan_diameter_mm(&feature.kind) / 2.0);
        let (x, root) = (self.side.x(along_mm), self.side.y(floor));
        let tip = self.side.y(floor + way * feature.protrusion_mm);
        let body = Rect::from_two_pos(pos2(x - half_px, root), pos2(x + half_px, tip));
        let colour = self.palette.half(hold.name.half);
        self.painter.rect(
            body,
            0.0,
            colour,
            Stroke::new(1.0, self.palette.plastic_edge),
            egui::StrokeKind::Middle,
        );
        let in_plate = Rect::from_two_pos(
            pos2(x - half_px, root),
            pos2(x + half_px, root + (root - tip).signum() * 18.0),
        );
        self.painter.rect_stroke(in_plate, 0.0, Stroke::new(1.0, colour), egui::StrokeKind::Middle);
    }

    /// What the part hides of the pins: their outlines, broken.
    fn pins_in_part(&self) {
        for hold in &self.opening.holds {
            let (What::Feature(id), Some(along_mm)) = (hold.name.what, self.side.along_of(hold)) else {
                continue;
            };
            let Some(feature) = self.session.document().features.get(&id) else { continue };
            let (floor, way) = self.floor(hold.name.half, along_mm);
            let half_px = self.side.px(plan_diameter_mm(&feature.kind) / 2.0);
            let (x, root) = (self.side.x(along_mm), self.side.y(floor));
            let tip = self.side.y(floor + way * feature.protrusion_mm);
            let corners = [(-half_px, root), (-half_px, tip), (half_px, tip), (half_px, root)];
            let outline = corners.map(|(aside, y)| pos2(x + aside, y));
            let stroke = Stroke::new(1.2, self.palette.half(hold.name.half));
            self.painter.extend(Shape::dashed_line(&outline, stroke, 3.0, 2.0));
        }
    }

    fn sprue(
        &self,
        id: keepside_model::Id,
        hold: &HoldOutcome,
        along_mm: f64,
        axis: AxisPoint,
        how: Option<ReleaseHow>,
    ) {
        let Some(sprue) = self.session.document().sprues.get(&id) else { return };
        let (floor, way) = self.floor(hold.name.half, along_mm);
        let taper = sprue.draft_deg.to_radians().tan();
        let colour = self.palette.half(hold.name.half);
        let half_mm = |from_channel: f64| (sprue.diameter_mm / 2.0 - taper * from_channel).max(0.1);
        let outline = |root_mm: f64, x_mm: f64| {
            let far_mm = root_mm - way * sprue.length_mm;
            [
                pos2(self.side.x(x_mm) - self.side.px(half_mm(0.0)), self.side.y(root_mm)),
                pos2(self.side.x(x_mm) + self.side.px(half_mm(0.0)), self.side.y(root_mm)),
                pos2(self.side.x(x_mm) + self.side.px(half_mm(sprue.length_mm)), self.side.y(far_mm)),
                pos2(self.side.x(x_mm) - self.side.px(half_mm(sprue.length_mm)), self.side.y(far_mm)),
            ]
        };
        let bore = outline(floor, along_mm);
        let edge = Stroke::new(1.2, colour);
        self.painter.add(Shape::convex_polygon(bore.to_vec(), self.palette.hole, edge));
        // A plug that broke off stays in its bore; else it travels with the part.
        let travelled = match how {
            Some(ReleaseHow::Broke) => 0.0,
            _ => axis.w_mm - if hold.name.half == Half::Moving { self.side.opening_mm } else { 0.0 },
        };
        let x_mm = if how == Some(ReleaseHow::Broke) { along_mm } else { axis.x_mm };
        let plug = outline(floor + travelled, x_mm);
        let fill = self.faint(self.palette.plastic);
        self.painter.add(Shape::convex_polygon(
            plug.to_vec(),
            fill,
            Stroke::new(1.0, self.faint(self.palette.plastic_edge)),
        ));
    }

    /// The link between a hold's place on its half and the part: whole, slack or cut.
    fn link(&self, hold: &HoldOutcome, along_mm: f64, axis: AxisPoint, how: Option<ReleaseHow>, pull_n: f32) {
        let (floor, way) = self.floor(hold.name.half, along_mm);
        let from = self.side.at(along_mm, floor + way * 0.2);
        let to = self.side.at(axis.x_mm, axis.z_mm);
        if (to - from).length() < 4.0 {
            return;
        }
        let colour = self.faint(self.palette.half(hold.name.half));
        match how {
            None => {
                let width = if pull_n > 0.0 { 3.0 } else { 1.8 };
                self.painter.line_segment([from, to], Stroke::new(width, colour));
            }
            Some(ReleaseHow::LetGo) => {
                self.painter.extend(Shape::dashed_line(&[from, to], Stroke::new(1.0, colour), 3.0, 4.0));
                self.painter.circle(from, 3.5, self.palette.panel, Stroke::new(1.5, colour));
            }
            Some(ReleaseHow::Broke) => {
                let middle = from + (to - from) * 0.5;
                for arm in [vec2(4.0, 4.0), vec2(4.0, -4.0)] {
                    let stroke = Stroke::new(2.0, self.palette.fault);
                    self.painter.line_segment([middle - arm, middle + arm], stroke);
                }
            }
        }
    }

    /// Arrows for the pulls of the point holds at this opening, to one scale, with the force beside.
    fn pulls(&self, frame: &Frame, points: &[AxisPoint]) {
        let scale = ForceScale::of(self.opening);
        for (hold, &pull_n) in self.opening.holds.iter().zip(&frame.pulls_n) {
            let pull_n = f64::from(pull_n);
            let axis = self.side.along_of(hold).and_then(|along_mm| Self::axis_at(points, along_mm));
            let (Some(axis), Some(length)) = (axis, scale.px(pull_n)) else { continue };
            let way = if hold.name.half == Half::Moving { -1.0 } else { 1.0 };
            let from = self.side.at(axis.x_mm, axis.z_mm);
            let stroke = Stroke::new(2.2, self.faint(self.palette.ink));
            arrow(self.painter, from, from + vec2(0.0, way * length), stroke);
            let words = format!("{pull_n:.0} N");
            let at = from + vec2(8.0, way * (length * 0.6).max(8.0));
            // On a ground of its own: the part behind it may be hatched.
            let text = self.painter.layout_no_wrap(words, egui::FontId::proportional(11.0), self.palette.ink);
            let ground = Align2::LEFT_CENTER.anchor_size(at, text.size());
            let fill = self.palette.panel.gamma_multiply(0.85);
            self.painter.rect_filled(ground.expand2(vec2(2.0, 0.0)), 2.0, fill);
            self.painter.galley(ground.min, text, self.palette.ink);
        }
        scale.state(self.painter, self.palette, self.side.rect.right_bottom() - vec2(8.0, 12.0));
    }

    /// Where other runs meet this one: a diamond on the part, and the other's tag below.
    pub(super) fn meetings(&self, points: &[AxisPoint]) {
        for meeting in &self.side.meetings {
            let Some(axis) = Self::axis_at(points, meeting.along_mm) else { continue };
            let at = self.side.at(axis.x_mm, axis.z_mm);
            let arms = [vec2(6.0, 0.0), vec2(0.0, 6.0), vec2(-6.0, 0.0), vec2(0.0, -6.0)];
            let diamond = arms.map(|arm| at + arm).to_vec();
            let edge = Stroke::new(1.5, self.faint(self.palette.ink));
            let foot = pos2(self.side.x(meeting.along_mm), self.side.rect.bottom() - 17.0);
            let line = Stroke::new(1.0, self.faint(self.palette.ink_soft));
            self.painter.extend(Shape::dashed_line(&[at, foot], line, 2.0, 4.0));
            self.painter.add(Shape::convex_polygon(diamond, self.palette.plate, edge));
            let words = meeting.words(self.session.document());
            // Beside the line, as a sprue often stands right where runs meet.
            let (aside, align) = match foot.x + 90.0 < self.side.rect.right() {
                true => (12.0, Align2::LEFT_BOTTOM),
                false => (-12.0, Align2::RIGHT_BOTTOM),
            };
            note(self.painter, foot + vec2(aside, 14.0), align, &words, self.palette.ink_soft);
        }
    }
}
