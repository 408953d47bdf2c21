//! A measured pull-off curve.

use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, Error as _, SeqAccess, Visitor};
use serde::{Deserialize, Serialize};

/// Pull against travel, in straight pieces from nothing at no travel to nothing at let-go. What the pull
/// is measured in (N, N a mm, MPa) is said where the curve is kept.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(into = "Vec<(f64, f64)>")]
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
    /// A travel that does not grow by at least [`PullOff::LEAST_STEP_MM`] from point to point.
    #[error(
        "the travel of point {number} of a pull-off curve is not beyond that of the point before, by {} mm \
         at least",
        PullOff::LEAST_STEP_MM
    )]
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
    /// Least travel from one point to the next, mm: finer than a bench can tell, and coarse enough for an
    /// opening run to follow a pull that jumps up.
    pub const LEAST_STEP_MM: f64 = 0.001;

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
        for (before, point) in points.iter().enumerate() {
            check_next(&points[..before], *point)?;
        }
        if points[points.len() - 1].1 != 0.0 {
            return Err(NotACurve::End);
        }
        Ok(Self { points })
    }

    /// Its points: (travel mm, pull).
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }
}

/// Whether a curve that begins with the points `before` can go on with `point`.
fn check_next(before: &[(f64, f64)], point: (f64, f64)) -> Result<(), NotACurve> {
    let (travel, pull) = point;
    let number = before.len() + 1;
    if !(0.0..=500.0).contains(&travel) || !(0.0..=1_000_000.0).contains(&pull) {
        return Err(NotACurve::Range { number });
    }
    let Some(last) = before.last() else {
        return if point == (0.0, 0.0) { Ok(()) } else { Err(NotACurve::Start) };
    };
    // A step of a micron written in decimals may be off by the last digit.
    if travel - last.0 < PullOff::LEAST_STEP_MM - 1e-9 {
        Err(NotACurve::Order { number })
    } else if number == 2 && pull <= 0.0 {
        Err(NotACurve::Flat)
    } else if number > PullOff::MOST_POINTS {
        Err(NotACurve::Count { count: number })
    } else {
        Ok(())
    }
}

/// Reads one point and checks it against those before: a point that is wrong is complained of where it
/// stands in the file.
struct NextPoint<'a>(&'a mut Vec<(f64, f64)>);

impl<'de> DeserializeSeed<'de> for NextPoint<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<(), D::Error> {
        let point = <(f64, f64)>::deserialize(from)?;
        check_next(self.0, point).map_err(D::Error::custom)?;
        self.0.push(point);
        Ok(())
    }
}

struct Points;

impl<'de> Visitor<'de> for Points {
    type Value = PullOff;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("points of a pull-off curve")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut from: A) -> Result<PullOff, A::Error> {
        let mut points = Vec::new();
        while from.next_element_seed(NextPoint(&mut points))?.is_some() {}
        PullOff::new(points).map_err(A::Error::custom)
    }
}

impl<'de> Deserialize<'de> for PullOff {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_seq(Points)
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
        assert!(of(&[(0.0, 0.0), (1.0, 5.0), (1.001, 0.0)]).is_ok());
        assert_eq!(of(&[(0.0, 0.0), (1.0, 5.0), (1.0009, 0.0)]), Err(NotACurve::Order { number: 3 }));
        assert_eq!(of(&[(0.0, 0.0), (0.2, f64::NAN), (0.3, 0.0)]), Err(NotACurve::Range { number: 2 }));
        let many = |count: u8| {
            let teeth = (1..count - 1).map(|tooth| (f64::from(tooth), 1.0));
            let end = f64::from(count);
            PullOff::new([(0.0, 0.0)].into_iter().chain(teeth).chain([(end, 0.0)]).collect())
        };
        assert!(many(200).is_ok());
        assert_eq!(many(201), Err(NotACurve::Count { count: 201 }));
        assert_eq!(of(&[(0.0, 0.0), (0.2, 0.0), (0.3, 1.0), (0.4, 0.0)]), Err(NotACurve::Flat));
    }
}
