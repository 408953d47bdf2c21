//! A measured pull-off curve.

use serde::{Deserialize, Serialize};

/// Pull against travel, in straight pieces from nothing at no travel to nothing at let-go. What the pull
/// is measured in (N, N a mm, MPa) is said where the curve is kept.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Vec<(f64, f64)>", into = "Vec<(f64, f64)>")]
pub struct PullOff {
    points: Vec<(f64, f64)>,
}

/// Why points are no pull-off curve.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum NotACurve {
    /// Too few or too many.
    #[error("a pull-off curve has {count} points; it needs 3 to {}", PullOff::MOST_POINTS)]
    Count {
        /// Points given.
        count: usize,
    },
    /// It does not begin at (0, 0).
    #[error("a pull-off curve must begin with no pull at no travel")]
    Start,
    /// It does not end without pull.
    #[error("a pull-off curve must end with no pull, where the hold has let go")]
    End,
    /// A travel that does not grow, by at least a tenth of a micron, from point to point.
    #[error("the travel of point {number} of a pull-off curve is not beyond that of the point before")]
    Order {
        /// Its number, from 1.
        number: usize,
    },
    /// A pull that is negative or absurd, or a travel beyond half a metre.
    #[error("point {number} of a pull-off curve is out of range; travel is 0 to 500 mm, pull 0 to 1000000")]
    Range {
        /// Its number, from 1.
        number: usize,
    },
    /// It starts with a piece without pull.
    #[error("point 2 of a pull-off curve has no pull; let the curve rise from the start")]
    Flat,
}

impl PullOff {
    /// Most points that a curve may have.
    pub const MOST_POINTS: usize = 200;

    /// A curve through the points (travel mm, pull).
    ///
    /// # Errors
    ///
    /// [`NotACurve`] says what is wrong with them.
    pub fn new(points: Vec<(f64, f64)>) -> Result<Self, NotACurve> {
        if !(3..=Self::MOST_POINTS).contains(&points.len()) {
            return Err(NotACurve::Count { count: points.len() });
        }
        let in_range = |(travel, pull): &(f64, f64)| {
            (0.0..=500.0).contains(travel) && (0.0..=1_000_000.0).contains(pull)
        };
        if let Some(at) = points.iter().position(|point| !in_range(point)) {
            return Err(NotACurve::Range { number: at + 1 });
        }
        if points[0] != (0.0, 0.0) {
            return Err(NotACurve::Start);
        }
        if points[points.len() - 1].1 != 0.0 {
            return Err(NotACurve::End);
        }
        if let Some(at) = points.windows(2).position(|pair| pair[1].0 - pair[0].0 < 1e-4) {
            return Err(NotACurve::Order { number: at + 2 });
        }
        if points[1].1 <= 0.0 {
            return Err(NotACurve::Flat);
        }
        Ok(Self { points })
    }

    /// Its points: (travel mm, pull).
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }
}

impl TryFrom<Vec<(f64, f64)>> for PullOff {
    type Error = NotACurve;

    fn try_from(points: Vec<(f64, f64)>) -> Result<Self, NotACurve> {
        Self::new(points)
    }
}

impl From<PullOff> for Vec<(f64, f64)> {
    fn from(curve: PullOff) -> Self {
        curve.points
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curve_rises_from_nothing_and_ends_at_nothing() {
        let of = |points: &[(f64, f64)]| PullOff::new(points.to_vec());
        assert!(of(&[(0.0, 0.0), (0.1, 5.0), (2.0, 0.0)]).is_ok());
        assert_eq!(of(&[(0.0, 0.0), (2.0, 0.0)]), Err(NotACurve::Count { count: 2 }));
        assert_eq!(of(&[(0.1, 0.0), (0.2, 5.0), (2.0, 0.0)]), Err(NotACurve::Start));
        assert_eq!(of(&[(0.0, 0.0), (0.2, 5.0), (2.0, 1.0)]), Err(NotACurve::End));
        assert_eq!(of(&[(0.0, 0.0), (0.2, 5.0), (0.2, 0.0)]), Err(NotACurve::Order { number: 3 }));
        assert_eq!(of(&[(0.0, 0.0), (0.2, f64::NAN), (0.3, 0.0)]), Err(NotACurve::Range { number: 2 }));
        assert_eq!(of(&[(0.0, 0.0), (0.2, 0.0), (0.3, 1.0), (0.4, 0.0)]), Err(NotACurve::Flat));
    }
}
