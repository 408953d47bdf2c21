//! The part at any opening: frames are kept only at some of the steps, so what is shown between two of
//! them is laid between them, or the part would seem to leave the half that holds it.

use keepside_engine::Opening;
use keepside_engine::opening::{Frame, ShapePoint};

/// The part at `opening_mm`; before the first frame that one, after the last the last.
pub(crate) fn frame_between(opening: &Opening, opening_mm: f64) -> Option<Frame> {
    let after = opening.frames.partition_point(|frame| frame.opening_mm <= opening_mm);
    let before = opening.frame_at(opening_mm)?;
    let Some(next) = opening.frames.get(after) else { return Some(before.clone()) };
    let gap_mm = next.opening_mm - before.opening_mm;
    if gap_mm <= 0.0 {
        return Some(before.clone());
    }
    Some(laid_between(before, next, ((opening_mm - before.opening_mm) / gap_mm).clamp(0.0, 1.0)))
}

/// The frame that lies `share` of the way from one to the next.
fn laid_between(before: &Frame, next: &Frame, share: f64) -> Frame {
    let number = |a: f64, b: f64| a + share * (b - a);
    #[expect(clippy::cast_possible_truncation, reason = "frames are kept in f32")]
    let short = |a: f32, b: f32| number(f64::from(a), f64::from(b)) as f32;
    let point = |(a, b): (&ShapePoint, &ShapePoint)| ShapePoint {
        along_mm: a.along_mm,
        x_mm: short(a.x_mm, b.x_mm),
        y_mm: short(a.y_mm, b.y_mm),
        z_mm: short(a.z_mm, b.z_mm),
    };
    let shapes = before.shapes.iter().zip(&next.shapes);
    Frame {
        opening_mm: number(before.opening_mm, next.opening_mm),
        shapes: shapes.map(|(a, b)| a.iter().zip(b).map(point).collect()).collect(),
        pulls_n: before.pulls_n.iter().zip(&next.pulls_n).map(|(a, b)| short(*a, *b)).collect(),
        moving_n: number(before.moving_n, next.moving_n),
        fixed_n: number(before.fixed_n, next.fixed_n),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frame(opening_mm: f64, z_mm: f32, pull_n: f32) -> Frame {
        let point = ShapePoint { along_mm: 5.0, x_mm: 5.0, y_mm: 0.0, z_mm };
        Frame {
            opening_mm,
            shapes: vec![vec![point]],
            pulls_n: vec![pull_n],
            moving_n: f64::from(pull_n),
            fixed_n: 0.0,
        }
    }

    #[test]
    fn a_part_on_the_moving_half_stays_on_it_between_two_frames() {
        // On the moving half a point's height is the opening.
        let between = laid_between(&frame(8.0, 8.0, 4.0), &frame(20.0, 20.0, 1.0), 0.25);
        assert!((between.opening_mm - 11.0).abs() < 1e-9);
        assert!((f64::from(between.shapes[0][0].z_mm) - between.opening_mm).abs() < 1e-5);
        assert!((between.pulls_n[0] - 3.25).abs() < 1e-6);
    }
}
