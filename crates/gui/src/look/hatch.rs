//! Hatching of convex shapes: what the colour says, the hatching says again.

use egui::{Painter, Pos2, Stroke, Vec2};
use keepside_engine::opening::Keeper;

/// Distance between the lines of a hatching, points.
const SPACING: f32 = 7.0;

/// Directions of the lines by which a keeper is told, degrees clockwise from x on the screen.
pub(crate) const fn directions_deg(keeper: Keeper) -> &'static [f32] {
    match keeper {
        Keeper::Moving => &[-45.0],
        Keeper::Fixed => &[45.0],
        Keeper::Bridging => &[-45.0, 45.0],
        Keeper::Free => &[90.0],
    }
}

/// Hatches convex shapes with lines that run on from one to the next; `origin` fixes the lines to the
/// drawing, so that they travel with it.
pub(crate) fn hatch(painter: &Painter, shapes: &[[Pos2; 4]], keeper: Keeper, origin: Pos2, stroke: Stroke) {
    for degrees in directions_deg(keeper) {
        let along = Vec2::angled(degrees.to_radians());
        let across = along.rot90();
        for shape in shapes {
            let offset = |corner: &Pos2| (*corner - origin).dot(across);
            let low = shape.iter().map(offset).fold(f32::INFINITY, f32::min);
            let high = shape.iter().map(offset).fold(f32::NEG_INFINITY, f32::max);
            let first = (low / SPACING).ceil();
            let lines = ((high / SPACING).floor() - first).clamp(-1.0, 2000.0);
            let mut line = 0.0;
            while line <= lines {
                let through = origin + across * ((first + line) * SPACING);
                if let Some(segment) = cut(shape, through, along) {
                    painter.line_segment(segment, stroke);
                }
                line += 1.0;
            }
        }
    }
}

/// The part of a line inside a convex shape.
fn cut(shape: &[Pos2; 4], through: Pos2, along: Vec2) -> Option<[Pos2; 2]> {
    let across = along.rot90();
    let side = |corner: Pos2| (corner - through).dot(across);
    let mut ends: Option<(f32, f32)> = None;
    for (index, &a) in shape.iter().enumerate() {
        let b = shape[(index + 1) % shape.len()];
        let (from, to) = (side(a), side(b));
        if (from < 0.0) != (to < 0.0) {
            let crossing = a + (b - a) * (from / (from - to));
            let t = (crossing - through).dot(along);
            ends = Some(ends.map_or((t, t), |(low, high)| (low.min(t), high.max(t))));
        }
    }
    let (low, high) = ends?;
    (high > low).then(|| [through + along * low, through + along * high])
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::pos2;

    const SQUARE: [Pos2; 4] = [pos2(0.0, 0.0), pos2(10.0, 0.0), pos2(10.0, 10.0), pos2(0.0, 10.0)];

    #[test]
    fn a_line_is_cut_to_the_shape() {
        let [from, to] = cut(&SQUARE, pos2(-5.0, 4.0), Vec2::X).unwrap();
        assert_eq!((from, to), (pos2(0.0, 4.0), pos2(10.0, 4.0)));
        assert!(cut(&SQUARE, pos2(0.0, 12.0), Vec2::X).is_none());
    }

    #[test]
    fn each_keeper_has_a_hatching_of_its_own() {
        let all = [Keeper::Moving, Keeper::Fixed, Keeper::Bridging, Keeper::Free].map(directions_deg);
        for (index, one) in all.iter().enumerate() {
            assert!(all[index + 1..].iter().all(|other| other != one));
        }
    }
}
