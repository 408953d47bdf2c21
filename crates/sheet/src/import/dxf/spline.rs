//! Splines: rational or not, of any knots, by de Boor's algorithm.
//!
//! Source: L. Piegl, W. Tiller, The NURBS Book, 2nd edition, 1997, sections 3.2 and 4.2 (from memory).

use glam::{DAffine2, DVec2, DVec3};

/// Highest degree that is read.
const MAX_DEGREE: usize = 11;

/// A flat spline.
#[derive(Clone, Debug)]
pub(super) struct Spline {
    degree: usize,
    knots: Vec<f64>,
    /// Control points times weight, and the weight.
    points: Vec<DVec3>,
}

impl Spline {
    /// Of a degree, knots in order, control points, and their weights or none; or why not.
    pub(super) fn new(
        degree: i64,
        knots: Vec<f64>,
        points: &[DVec2],
        weights: &[f64],
    ) -> Result<Self, &'static str> {
        let degree = usize::try_from(degree).unwrap_or_default();
        if !(1..=MAX_DEGREE).contains(&degree) {
            return Err("its degree is not from 1 to 11");
        }
        if points.len() <= degree || knots.len() != points.len() + degree + 1 {
            return Err("its knots and control points do not match");
        }
        if !knots.is_sorted() || knots.get(degree) >= knots.get(points.len()) {
            return Err("its knots are not in order");
        }
        if !(weights.is_empty() || weights.len() == points.len())
            || weights.iter().any(|weight| !(1e-9..=1e9).contains(weight))
        {
            return Err("its weights are not all there or not above nought");
        }
        let weight = |index: usize| weights.get(index).copied().unwrap_or(1.0);
        let points = points.iter().enumerate().map(|(index, at)| (at * weight(index)).extend(weight(index)));
        Ok(Self { degree, knots, points: points.collect() })
    }

    /// The parameters between which it is smooth.
    pub(super) fn spans(&self) -> Vec<(f64, f64)> {
        let inner = self.knots.get(self.degree..=self.points.len()).unwrap_or_default();
        inner.windows(2).map(|pair| (pair[0], pair[1])).filter(|(low, high)| low < high).collect()
    }

    /// The point at a parameter, mapped.
    pub(super) fn at(&self, map: DAffine2, parameter: f64) -> DVec2 {
        let (degree, count) = (self.degree, self.points.len());
        // The span that holds the parameter, the last one at the end.
        let span = self.knots.partition_point(|knot| *knot <= parameter).clamp(degree + 1, count) - 1;
        let mut hold = [DVec3::ZERO; MAX_DEGREE + 1];
        hold[..=degree].copy_from_slice(&self.points[span - degree..=span]);
        for round in 1..=degree {
            for index in (round..=degree).rev() {
                let (low, high) = (self.knots[span - degree + index], self.knots[span + 1 + index - round]);
                let share = if high > low { (parameter - low) / (high - low) } else { 0.0 };
                hold[index] = hold[index - 1].lerp(hold[index], share);
            }
        }
        let end = hold[degree];
        map.transform_point2(end.truncate() / end.z)
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::FRAC_1_SQRT_2;

    use super::*;

    #[test]
    fn a_rational_quadratic_is_a_true_quarter_circle() {
        // The textbook quarter: weights 1, cos 45°, 1 (Piegl and Tiller, example 7.1, from memory).
        let points = [DVec2::X, DVec2::ONE, DVec2::Y];
        let spline =
            Spline::new(2, vec![0.0, 0.0, 0.0, 1.0, 1.0, 1.0], &points, &[1.0, FRAC_1_SQRT_2, 1.0]).unwrap();
        for t in [0.0, 0.1, 0.5, 0.77, 1.0] {
            assert!((spline.at(DAffine2::IDENTITY, t).length() - 1.0).abs() < 1e-12, "{t}");
        }
        assert_eq!(spline.spans(), [(0.0, 1.0)]);
    }

    #[test]
    fn what_does_not_fit_together_is_refused() {
        let points = [DVec2::ZERO, DVec2::X, DVec2::Y];
        assert!(Spline::new(2, vec![0.0; 6], &points, &[]).is_err());
        assert!(Spline::new(2, vec![0.0, 1.0], &points, &[]).is_err());
        assert!(Spline::new(0, vec![0.0, 0.5, 0.7, 1.0], &points, &[]).is_err());
        assert!(Spline::new(-3, vec![], &[], &[]).is_err());
        assert!(Spline::new(1, vec![0.0, 0.0, 0.5, 1.0, 1.0], &points, &[1.0, 0.0, 1.0]).is_err());
    }
}
