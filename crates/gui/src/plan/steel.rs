//! Keying features to scale in the plan: what their kind looks like from above, as far as the scale lets it
//! be seen.

use egui::{Color32, Painter, Pos2, Shape, Stroke, Vec2, vec2};
use keepside_engine::silhouette::{self, PlanShape};
use keepside_engine::{hardware, outline::plan_diameter_mm};
use keepside_model::{FeatureKind, KeyingFeature, ScrewEnd};

use super::Canvas;

/// Below this radius only a disc is drawn, points.
const DISC_ONLY_PX: f32 = 3.6;

/// Lines nearer together than this are not told apart, points.
const APART_PX: f32 = 1.7;

/// The feature as seen on its own parting face. `radius` is that of its largest circle, points.
pub(super) fn draw(canvas: &Canvas<'_>, feature: &KeyingFeature, radius: f32) {
    let at = canvas.at(feature.at);
    let (painter, palette) = (&canvas.painter, canvas.palette);
    let colour = palette.half(feature.half);
    let light = palette.plate;
    painter.circle(at, radius, colour, Stroke::new(1.2, palette.plastic_edge));
    if radius < DISC_ONLY_PX {
        return;
    }
    let true_mm = 0.5 * plan_diameter_mm(&feature.kind);
    // A small disc is drawn larger than it is: its lines with it.
    let per_mm = if true_mm > 0.0 { radius / to_px(true_mm) } else { 0.0 };
    let px = |mm: f64| to_px(mm) * per_mm;
    let thin = Stroke::new(if radius > 20.0 { 1.4 } else { 1.1 }, light);
    let outline = silhouette::of_feature(feature, 0.0);
    let mut last = radius;
    for line in outline.plan.iter().skip(1) {
        match line.shape {
            PlanShape::Circle { diameter_mm } => {
                let r = px(0.5 * diameter_mm);
                if last - r < APART_PX || r < 1.0 {
                    continue;
                }
                last = r;
                if line.is_hidden {
                    let dash = if radius > 14.0 { (4.0, 2.5) } else { (2.5, 2.0) };
                    painter.extend(Shape::dashed_line(&ring(at, r), thin, dash.0, dash.1));
                } else {
                    painter.circle_stroke(at, r, thin);
                }
            }
            PlanShape::Hexagon { across_flats_mm } => {
                let r = px(0.5 * silhouette::across_corners_mm(across_flats_mm)).max(2.0);
                hexagon(painter, at, r, palette.plastic, Stroke::new(thin.width, light));
            }
        }
    }
    match feature.kind {
        FeatureKind::SetScrew { thread, end } => {
            let tip = silhouette::point(thread, end, feature.screw_length_mm)
                .map_or(0.0, |point| px(0.5 * point.tip_mm));
            let root = px(0.5 * hardware::thread(thread).root_diameter_mm);
            point(painter, at, (tip, root), end, light, colour);
        }
        FeatureKind::CapHead { chamfer_mm, .. } if px(chamfer_mm) > APART_PX => {
            let r = radius - px(chamfer_mm);
            painter.extend(Shape::dashed_line(&ring(at, r), thin, 2.0, 3.0));
        }
        FeatureKind::PlainPost { .. } => cross(painter, at, radius * 0.5, thin),
        FeatureKind::RingedPost { .. } => cross(painter, at, radius * 0.3, thin),
        FeatureKind::CapHead { .. } | FeatureKind::TurnedHead { .. } => {}
    }
}

/// What tells the points of a set screw apart: a flat is a light disc with a dark middle, a cup a dark hollow
/// in a light rim, a cone four lines that meet, a dog a light disc.
fn point(painter: &Painter, at: Pos2, (tip, root): (f32, f32), end: ScrewEnd, light: Color32, dark: Color32) {
    let thin = Stroke::new(1.1, light);
    match end {
        ScrewEnd::Socket => {}
        ScrewEnd::Flat => {
            painter.circle_stroke(at, tip, Stroke::new(1.6, light));
        }
        ScrewEnd::Dog => {
            painter.circle(at, tip, light.gamma_multiply(0.85), thin);
        }
        ScrewEnd::Cup => {
            painter.circle(at, tip, light.gamma_multiply(0.85), thin);
            painter.circle_filled(at, (tip * 0.62).max(1.2), dark);
        }
        ScrewEnd::Cone => {
            painter.circle_stroke(at, root, thin);
            for quarter in 0..4_u8 {
                let way = Vec2::angled(std::f32::consts::FRAC_PI_2 * (f32::from(quarter) + 0.5));
                painter.line_segment([at, at + way * root], thin);
            }
            painter.circle_filled(at, 1.4, light);
        }
    }
}

fn hexagon(painter: &Painter, at: Pos2, radius: f32, fill: Color32, stroke: Stroke) {
    let corner = |k: u8| at + Vec2::angled(f32::from(k) * std::f32::consts::FRAC_PI_3) * radius;
    painter.add(Shape::convex_polygon((0..6).map(corner).collect(), fill, stroke));
}

fn ring(at: Pos2, radius: f32) -> Vec<Pos2> {
    let steps = 36_u8;
    let step = std::f32::consts::TAU / f32::from(steps);
    (0..=steps).map(|k| at + Vec2::angled(f32::from(k) * step) * radius).collect()
}

fn cross(painter: &Painter, at: Pos2, arm: f32, stroke: Stroke) {
    for arm in [vec2(arm, 0.0), vec2(0.0, arm)] {
        painter.line_segment([at - arm, at + arm], stroke);
    }
}

#[expect(clippy::cast_possible_truncation, reason = "screen points are f32")]
const fn to_px(length: f64) -> f32 {
    length as f32
}
