//! Who keeps which stretch of the part at one opening, and not only in the end.

use keepside_engine::Opening;
use keepside_engine::opening::{Frame, Keeper, Stretch};

/// Nearer to a half than this the part counts as lying on it, mm: the travel over which tack lets go is of
/// this size.
const LYING_MM: f64 = 0.05;

/// Who keeps a place of the part that has come so far off the fixed half; `None` while the mould is so
/// little open that both do.
pub(crate) fn keeper_at(off_fixed_mm: f64, opening_mm: f64) -> Option<Keeper> {
    if opening_mm < LYING_MM {
        None
    } else if opening_mm - off_fixed_mm < LYING_MM {
        Some(Keeper::Moving)
    } else if off_fixed_mm < LYING_MM {
        Some(Keeper::Fixed)
    } else {
        Some(Keeper::Bridging)
    }
}

/// The stretches of all runs as they are kept at an opening; none while both halves keep everything.
pub(crate) fn kept_now(opening: &Opening, frame: &Frame) -> Vec<Stretch> {
    let mut all: Vec<Stretch> = Vec::new();
    for (axis, shape) in opening.axes.iter().zip(&frame.shapes) {
        let first = all.len();
        for pair in shape.windows(2) {
            let (from_mm, to_mm) = (f64::from(pair[0].along_mm), f64::from(pair[1].along_mm));
            let middle_mm = 0.5 * (f64::from(pair[0].z_mm) + f64::from(pair[1].z_mm));
            let Some(keeper) = keeper_at(middle_mm, frame.opening_mm) else { continue };
            match all.get_mut(first..).and_then(|of_run| of_run.last_mut()) {
                Some(last) if last.keeper == keeper && (last.to_mm - from_mm).abs() < 1e-3 => {
                    last.to_mm = to_mm;
                }
                _ => all.push(Stretch { run: axis.run, from_mm, to_mm, keeper }),
            }
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_kept_by_the_half_that_it_lies_on() {
        assert_eq!(keeper_at(0.0, 0.01), None);
        assert_eq!(keeper_at(10.0, 10.0), Some(Keeper::Moving));
        assert_eq!(keeper_at(0.0, 10.0), Some(Keeper::Fixed));
        assert_eq!(keeper_at(4.0, 10.0), Some(Keeper::Bridging));
    }
}
