//! Ejector pins in the plan: a ring with ticks outwards, so that shape alone tells them from keying
//! features and holes; quarters inside for a plain face, grooves for a grooved one.

use egui::{Painter, Pos2, Shape, Stroke, Vec2, vec2};
use glam::DVec2;
use keepside_engine::silhouette;
use keepside_model::{Ejector, EjectorFace, Id};
use keepside_session::Session;

use super::Canvas;
use super::crowd::{Boxes, pin_within};
use super::items::{
    feature_tag, harm_mark, mark_selected, run_tag_place, sprue_tag, state_mark, tag, tag_room,
};

/// Length of the ticks outside the ring, points.
const TICK_PX: f32 = 4.0;

/// All ejector pins.
pub(super) fn draw(canvas: &Canvas<'_>, session: &Session) {
    let project = session.document();
    // Their tags keep clear of those of the runs, sprues and features, and of one another.
    let mut taken = Boxes::default();
    if project.ejectors.is_empty() {
        return;
    }
    let has_tags = canvas.crowd.has_tags();
    if has_tags {
        for sprue in project.sprues.values() {
            taken.add(tag_room(sprue_tag(canvas, sprue)));
        }
        for feature in project.features.values() {
            taken.add(tag_room(feature_tag(canvas, feature)));
        }
        let runs = project.part.runs.values().filter_map(|run| run_tag_place(canvas, run));
        runs.for_each(|at| taken.add(tag_room(at)));
    }
    for (&id, ejector) in &project.ejectors {
        if !canvas.sees(canvas.at(ejector.at), canvas.camera.px(ejector.diameter_mm / 2.0)) {
            continue;
        }
        pin(canvas, session, id, ejector);
        let beyond = canvas.camera.px((ejector.diameter_mm / 2.0).max(4.0)).max(2.0);
        // First in a row of their own below the tags of the features.
        let below = vec2(0.0, beyond + 24.0);
        let aside = vec2(beyond + 18.0, 0.0);
        let places = [below, -aside, aside, below * 0.7 + aside, below * 0.7 - aside, -below, below * 1.6];
        let is_free = |place: &&Vec2| {
            let at = canvas.at(ejector.at) + **place;
            // Nearer to another pin it would seem to be that one's.
            !pin_within(&canvas.crowd, at, place.length() - 0.1)
                && canvas.crowd.discs.is_free(tag_room(at))
                && taken.is_free(tag_room(at))
        };
        let at = canvas.at(ejector.at) + *places.iter().find(is_free).unwrap_or(&below);
        taken.add(tag_room(at));
        if canvas.crowd.has_tag(session, id) {
            tag(canvas, session, id, at);
        }
    }
}

/// One ejector pin.
fn pin(canvas: &Canvas<'_>, session: &Session, id: Id, ejector: &Ejector) {
    let at = canvas.at(ejector.at);
    let radius = canvas.camera.px(ejector.diameter_mm / 2.0).max(3.0).max(sprue_px(canvas, session, ejector));
    let (palette, painter) = (canvas.palette, &canvas.painter);
    // A ring of the ground's colour sets it off from the hatching.
    painter.circle_filled(at, radius + 2.5, palette.plate);
    for quarter in 0..4u8 {
        let outwards = Vec2::angled(std::f32::consts::FRAC_PI_4 + f32::from(quarter) * RIGHT_ANGLE);
        let ends = [at + outwards * radius, at + outwards * (radius + TICK_PX)];
        painter.line_segment(ends, Stroke::new(3.5, palette.plate));
        painter.line_segment(ends, Stroke::new(1.8, palette.moving));
    }
    match ejector.face {
        EjectorFace::Plain => quarters(painter, at, radius * 0.72, palette.moving),
        EjectorFace::Grooved | EjectorFace::Crossed => grooves(canvas, ejector, at, radius),
    }
    painter.circle_stroke(at, radius, Stroke::new(1.8, palette.moving));
    harm_mark(canvas, id, at, radius);
    state_mark(canvas, id, at, radius);
    mark_selected(canvas, session, id, at, radius + TICK_PX - 2.0);
}

/// Radius beyond which the ring shows round a sprue opposite, points; 0 without one.
fn sprue_px(canvas: &Canvas<'_>, session: &Session, ejector: &Ejector) -> f32 {
    let sprues = session.document().sprues.values();
    let opposite = sprues.filter(|sprue| sprue.at.distance(ejector.at) < ejector.diameter_mm / 2.0);
    opposite.map(|sprue| canvas.camera.px(sprue.diameter_mm / 2.0).max(2.0) + 4.0).fold(0.0, f32::max)
}

/// A right angle, rad.
const RIGHT_ANGLE: f32 = std::f32::consts::FRAC_PI_2;

/// Two opposite quarters of a disc.
fn quarters(painter: &Painter, at: Pos2, radius: f32, ink: egui::Color32) {
    for start in [0.0, 2.0 * RIGHT_ANGLE] {
        let arc =
            (0..=8u8).map(|step| at + Vec2::angled(start + RIGHT_ANGLE * f32::from(step) / 8.0) * radius);
        let quarter = std::iter::once(at).chain(arc).collect();
        painter.add(Shape::convex_polygon(quarter, ink, Stroke::NONE));
    }
}

/// Width of a groove in points from which its two edges are drawn, not one line.
const EDGES_PX: f32 = 5.0;

/// Distance of the grooves in points below which they are only hinted at.
const HINT_PX: f32 = 3.2;

/// The grooves at their true pitch; where that is too fine for the scale, three lines each way.
fn grooves(canvas: &Canvas<'_>, ejector: &Ejector, at: Pos2, radius: f32) {
    let (palette, painter) = (canvas.palette, &canvas.painter);
    let face = silhouette::of_ejector(ejector);
    if face.grooves.is_empty() || canvas.camera.px(ejector.grooves.pitch_mm) < HINT_PX {
        let ways = if ejector.face == EjectorFace::Crossed { 2 } else { 1 };
        return hint(painter, at, radius, ways, Stroke::new(1.4, palette.moving));
    }
    // A disc that is drawn larger than it is keeps its grooves inside.
    let scale = radius / canvas.camera.px(ejector.diameter_mm / 2.0).max(0.1);
    let place = |point: DVec2| at + (canvas.at(ejector.at + point) - canvas.at(ejector.at)) * scale;
    for groove in &face.grooves {
        let (from, to) = (place(groove.from), place(groove.to));
        let mouth = canvas.camera.px(groove.mouth_mm) * scale;
        if mouth < EDGES_PX {
            painter.line_segment([from, to], Stroke::new(mouth.max(1.2), palette.moving));
            continue;
        }
        // Each edge ends at the rim.
        let along = (to - from).normalized();
        let foot = from + along * (at - from).dot(along);
        let edge = |side: f32| {
            let middle = foot + along.rot90() * (side * mouth / 2.0);
            let half = (radius * radius - (middle - at).length_sq()).max(0.0).sqrt();
            [middle - along * half, middle + along * half]
        };
        let ([a, b], [d, c]) = (edge(-1.0), edge(1.0));
        let fill = palette.moving.gamma_multiply(0.45);
        painter.add(Shape::convex_polygon(vec![a, b, c, d], fill, Stroke::NONE));
        for side in [[a, b], [d, c]] {
            painter.line_segment(side, Stroke::new(1.2, palette.moving));
        }
    }
}

/// Three lines across a disc, and three more across those.
fn hint(painter: &Painter, at: Pos2, radius: f32, ways: u8, stroke: Stroke) {
    for offset in [-0.5_f32, 0.0, 0.5] {
        let half = (1.0 - offset * offset).sqrt() * radius;
        for way in 0..ways {
            let turned = |x: f32, y: f32| if way == 0 { vec2(x, y) } else { vec2(y, x) };
            let middle = at + turned(0.0, offset * radius);
            let arm = turned(half, 0.0);
            painter.line_segment([middle - arm, middle + arm], stroke);
        }
    }
}
