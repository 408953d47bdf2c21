//! How each kind of item looks in the plan, and what it is called.

use egui::{Align2, FontId, Shape, Stroke, Vec2, pos2, vec2};
use glam::DVec2;
use keepside_engine::opening::{HoldOutcome, HoldState};
use keepside_engine::outline::plan_diameter_mm;
use keepside_model::{HoleUse, Id, Item, KeyingFeature, Project, Run, Sprue, Vent};
use keepside_session::{Session, nearest_on_run};

use super::Canvas;
use crate::look::icons::{Icon, paint};

/// What an item is called on the plan, for example "Keying pin K7".
pub(crate) fn name_of(project: &Project, id: Id) -> String {
    let tag = project.tag(id);
    match project.item(id) {
        Some(Item::Run(_)) => format!("Run {tag}"),
        Some(Item::Sprue(_)) => format!("Sprue {tag}"),
        Some(Item::Vent(_)) => format!("Vent {tag}"),
        Some(Item::Feature(_)) => format!("Keying pin {tag}"),
        Some(Item::Hole(hole)) => match hole.purpose {
            HoleUse::Bolt => format!("Bolt {tag}"),
            HoleUse::GuidePin => format!("Guide pin {tag}"),
        },
        Some(Item::Ejector(_)) => format!("Ejector {tag}"),
        Some(Item::Note(_)) => format!("Note {tag}"),
        None => tag,
    }
}

/// Everything but the runs.
pub(super) fn draw(canvas: &Canvas<'_>, session: &Session) {
    let project = session.document();
    for (&id, hole) in &project.holes {
        let (at, radius) = (canvas.at(hole.at), canvas.camera.px(hole.diameter_mm / 2.0));
        if !canvas.sees(at, radius) {
            continue;
        }
        let palette = canvas.palette;
        canvas.painter.circle(at, radius, palette.hole, Stroke::new(1.2, palette.plate_edge));
        if hole.purpose == HoleUse::GuidePin {
            canvas.painter.circle_stroke(at, radius * 0.6, Stroke::new(1.0, palette.plate_edge));
        }
        centre_cross(canvas, hole.at, radius + 4.0, palette.plate_edge);
        mark_selected(canvas, session, id, at, radius);
    }
    for (&id, vent) in &project.vents {
        draw_vent(canvas, session, id, vent);
    }
    super::ejector::draw(canvas, session);
    for (&id, sprue) in &project.sprues {
        draw_sprue(canvas, session, id, sprue);
    }
    for (&id, feature) in &project.features {
        draw_feature(canvas, session, id, feature);
    }
    for (&id, run) in &project.part.runs {
        let selected = session.selection().contains(&id);
        if let Some(at) = run_tag_place(canvas, run).filter(|_| canvas.crowd.has_tag(session, id)) {
            let ink = if selected { canvas.palette.accent } else { canvas.palette.ink_soft };
            canvas.painter.text(at, Align2::CENTER_CENTER, project.tag(id), FontId::proportional(11.5), ink);
        }
        if selected {
            for point in &run.points {
                let handle = egui::Rect::from_center_size(canvas.at(point.at), Vec2::splat(9.0));
                canvas.painter.rect(
                    handle,
                    1.0,
                    canvas.palette.plate,
                    Stroke::new(1.8, canvas.palette.accent),
                    egui::StrokeKind::Middle,
                );
            }
            let middle: Vec<egui::Pos2> =
                crate::ribbon::centre_line(run).into_iter().map(|at| canvas.at(at)).collect();
            let stroke = Stroke::new(1.2, canvas.palette.accent);
            canvas.painter.extend(Shape::dashed_line(&middle, stroke, 9.0, 4.0));
        }
    }
    locks(canvas, project);
}

/// A padlock beside everything that is locked.
pub(super) fn locks(canvas: &Canvas<'_>, project: &Project) {
    for &id in &project.locked {
        let at = match project.part.runs.get(&id) {
            Some(run) => run_tag_place(canvas, run).map(|at| at + vec2(20.0, 0.0)),
            None => project.place(id).map(|at| {
                let radius = keepside_session::extent(project, id)
                    .map_or(0.0, |(low, high)| canvas.camera.px(0.5 * (high.x - low.x)));
                canvas.at(at) - vec2(0.71, 0.71) * radius.max(6.0) - vec2(6.0, 6.0)
            }),
        };
        if let Some(at) = at.filter(|at| canvas.rect.expand(20.0).contains(*at)) {
            canvas.painter.circle_filled(at, 8.0, canvas.palette.plate);
            let square = egui::Rect::from_center_size(at, Vec2::splat(12.0));
            paint(&canvas.painter, Icon::Lock, square, canvas.palette.ink);
        }
    }
}

/// Where a run's tag stands: beside the channel's end, as several runs may start at one place.
pub(super) fn run_tag_place(canvas: &Canvas<'_>, run: &Run) -> Option<egui::Pos2> {
    let [.., from, to] = run.points[..] else { return None };
    // An arc ends in a direction that is turned from its chord by half its angle.
    let end = DVec2::from_angle(2.0 * from.bulge.atan()).rotate(to.at - from.at);
    let across = end.normalize_or(DVec2::X).perp();
    let upwards = if across.y < 0.0 { -across } else { across };
    Some(canvas.at(to.at + upwards * (to.width_mm / 2.0)) + to_screen(upwards) * 12.0)
}

fn draw_vent(canvas: &Canvas<'_>, session: &Session, id: Id, vent: &Vent) {
    let outwards = outwards(session.document(), vent.at);
    let side = outwards.perp() * (vent.width_mm / 2.0);
    let far = vent.at + outwards * vent.length_mm;
    let corners = [vent.at - side, vent.at + side, far + side, far - side].map(|corner| canvas.at(corner));
    let colour = canvas.palette.half(vent.half);
    canvas.painter.add(Shape::convex_polygon(
        corners.to_vec(),
        colour.gamma_multiply(0.18),
        Stroke::new(1.2, colour),
    ));
    let radius = canvas.camera.px(vent.width_mm / 2.0).max(5.0);
    mark_selected(canvas, session, id, canvas.at(vent.at), radius);
    let beside = to_screen(outwards).rot90() * (canvas.camera.px(vent.width_mm / 2.0) + 11.0);
    let beside = if beside.y > 0.0 { -beside } else { beside };
    tag(canvas, session, id, canvas.at(vent.at.midpoint(far)) + beside);
}

/// The direction in which a vent leads away from the channel: from the nearest centre line.
pub(super) fn outwards(project: &Project, at: DVec2) -> DVec2 {
    let nearest = project.part.runs.values().filter_map(|run| nearest_on_run(run, at));
    let nearest = nearest.min_by(|left, right| left.distance_mm.total_cmp(&right.distance_mm));
    nearest.map_or(DVec2::Y, |on| (at - on.at).normalize_or(DVec2::Y))
}

#[expect(clippy::cast_possible_truncation, reason = "screen points are f32")]
fn to_screen(direction: DVec2) -> Vec2 {
    vec2(direction.x as f32, -direction.y as f32)
}

fn draw_sprue(canvas: &Canvas<'_>, session: &Session, id: Id, sprue: &Sprue) {
    let (at, radius) = (canvas.at(sprue.at), canvas.camera.px(sprue.diameter_mm / 2.0).max(2.0));
    if !canvas.sees(at, radius) {
        return;
    }
    let colour = canvas.palette.half(sprue.half);
    canvas.painter.circle_filled(at, radius + 2.5, canvas.palette.plate);
    canvas.painter.circle(at, radius, canvas.palette.plate, Stroke::new(2.0, colour));
    // The bore narrows away from the channel.
    let narrow = sprue.diameter_mm / 2.0 - sprue.length_mm * sprue.draft_deg.to_radians().tan();
    let narrow = canvas.camera.px(narrow.max(sprue.diameter_mm * 0.1));
    canvas.painter.circle_filled(at, narrow.min(radius * 0.7), colour);
    state_mark(canvas, id, at, radius);
    mark_selected(canvas, session, id, at, radius);
    if canvas.crowd.has_tag(session, id) {
        tag(canvas, session, id, sprue_tag(canvas, sprue));
    }
}

/// Where a sprue's tag stands: above it, or where it hides no pin.
pub(super) fn sprue_tag(canvas: &Canvas<'_>, sprue: &Sprue) -> egui::Pos2 {
    let radius = canvas.camera.px((sprue.diameter_mm / 2.0).max(4.0)).max(2.0);
    clear_place(canvas, canvas.at(sprue.at), vec2(radius + 18.0, -radius - 10.0))
}

/// Where a keying feature's tag stands: below it, or where it hides no other pin.
pub(super) fn feature_tag(canvas: &Canvas<'_>, feature: &KeyingFeature) -> egui::Pos2 {
    let radius = canvas.camera.px((plan_diameter_mm(&feature.kind) / 2.0).max(4.0)).max(2.0);
    clear_place(canvas, canvas.at(feature.at), vec2(radius + 18.0, radius + 10.0))
}

/// The first place for a tag that lies on no sprue, feature or ejector: `away` up or down from `at`, on
/// the other side of it, to its right, to its left.
fn clear_place(canvas: &Canvas<'_>, at: egui::Pos2, away: Vec2) -> egui::Pos2 {
    let (aside, beyond) = (vec2(away.x, 0.0), vec2(0.0, away.y));
    let places = [beyond, -beyond, aside, -aside].map(|place| at + place);
    let is_free = |place: &&egui::Pos2| canvas.crowd.discs.is_free(tag_room(**place));
    *places.iter().find(is_free).unwrap_or(&places[0])
}

/// The room that is kept for a tag.
pub(super) fn tag_room(at: egui::Pos2) -> egui::Rect {
    egui::Rect::from_center_size(at, vec2(27.0, 13.0))
}

fn draw_feature(canvas: &Canvas<'_>, session: &Session, id: Id, feature: &KeyingFeature) {
    let at = canvas.at(feature.at);
    let radius = canvas.camera.px(plan_diameter_mm(&feature.kind) / 2.0).max(2.0);
    if !canvas.sees(at, radius) {
        return;
    }
    // A ring of the ground's colour sets it off from the hatching.
    canvas.painter.circle_filled(at, radius + 2.5, canvas.palette.plate);
    super::steel::draw(canvas, feature, radius);
    harm_mark(canvas, id, at, radius);
    state_mark(canvas, id, at, radius);
    mark_selected(canvas, session, id, at, radius);
    if canvas.crowd.has_tag(session, id) {
        tag(canvas, session, id, feature_tag(canvas, feature));
    }
}

fn circle(at: egui::Pos2, radius: f32) -> Vec<egui::Pos2> {
    (0..=24u8).map(|k| at + Vec2::angled(f32::from(k) * std::f32::consts::TAU / 24.0) * radius).collect()
}

fn centre_cross(canvas: &Canvas<'_>, at: DVec2, arm: f32, colour: egui::Color32) {
    let centre = canvas.at(at);
    for arm in [vec2(arm, 0.0), vec2(0.0, arm)] {
        canvas.painter.line_segment([centre - arm, centre + arm], Stroke::new(0.8, colour));
    }
}

pub(super) fn tag(canvas: &Canvas<'_>, session: &Session, id: Id, at: egui::Pos2) {
    let selected = session.selection().contains(&id);
    let ink = if selected { canvas.palette.accent } else { canvas.palette.ink };
    let text = session.document().tag(id);
    let font = FontId::proportional(11.5);
    super::dimension::plate_label(canvas, at, Align2::CENTER_CENTER, &text, font, ink);
}

pub(super) fn mark_selected(canvas: &Canvas<'_>, session: &Session, id: Id, at: egui::Pos2, radius: f32) {
    if session.selection().contains(&id) {
        let stroke = Stroke::new(2.0, canvas.palette.accent);
        canvas.painter.circle_stroke(at, radius + 4.0, stroke);
    }
}

/// A broken ring round what harms the part when it is stripped.
pub(super) fn harm_mark(canvas: &Canvas<'_>, id: Id, at: egui::Pos2, radius: f32) {
    if canvas.crowd.is_harmed(id) {
        let stroke = Stroke::new(2.0, canvas.palette.fault);
        canvas.painter.extend(Shape::dashed_line(&circle(at, radius + 7.0), stroke, 5.0, 3.0));
    }
}

/// The hold that an item makes, in the newest opening run.
pub(crate) fn hold_of(session: &Session, id: Id) -> Option<&HoldOutcome> {
    let opening = session.results().opening()?.as_ref().ok()?;
    opening.holds.iter().find(|hold| hold.name.what.item() == Some(id))
}

/// A small sign of what became of a hold: a bar through it if it broke, an open ring if it let go.
pub(super) fn state_mark(canvas: &Canvas<'_>, id: Id, at: egui::Pos2, radius: f32) {
    let place = at + vec2(1.0, -1.0) * (radius * 0.71 + 5.0);
    let palette = canvas.palette;
    match canvas.crowd.state(id) {
        Some(HoldState::LetGo { .. }) => {
            canvas.painter.circle(place, 4.0, palette.plate, Stroke::new(1.5, palette.ink));
        }
        Some(HoldState::Broke { .. }) => {
            canvas.painter.circle(place, 4.5, palette.plate, Stroke::new(1.5, palette.fault));
            for (dx, dy) in [(2.0, 2.0), (2.0, -2.0)] {
                let ends = [pos2(place.x - dx, place.y - dy), pos2(place.x + dx, place.y + dy)];
                canvas.painter.line_segment(ends, Stroke::new(1.5, palette.fault));
            }
        }
        Some(HoldState::Holding | HoldState::PartlyHolding { .. }) => {
            canvas.painter.circle(place, 4.0, palette.ink, Stroke::new(1.5, palette.plate));
        }
        None => {}
    }
}
