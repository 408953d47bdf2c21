//! A pull-off curve: force against the hold's own travel.

use keepside_model::PullOff;

/// Force, N, against travel, mm, in straight pieces from (0, 0) to a force of 0 at let-go.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    points: Vec<(f64, f64)>,
}

impl Curve {
    /// A curve through the points; `None` unless travel rises strictly from 0, force is finite and
    /// never negative, and both ends have no force.
    pub fn new(points: Vec<(f64, f64)>) -> Option<Self> {
        let starts = points.first() == Some(&(0.0, 0.0));
        let ends = points.len() >= 3 && points.last().is_some_and(|last| last.1 == 0.0);
        let rises = points.windows(2).all(|pair| pair[1].0 > pair[0].0);
        let is_force = points.iter().all(|(travel, force)| travel.is_finite() && (0.0..1e12).contains(force));
        (starts && ends && rises && is_force).then_some(Self { points })
    }

    /// Rises to `peak_n` by `rise_mm`, then falls linearly to nothing at `let_go_mm`. Travels too
    /// short to be told apart are spread to a micron.
    pub fn triangle(peak_n: f64, rise_mm: f64, let_go_mm: f64) -> Self {
        let let_go = let_go_mm.max(1e-3);
        let rise = rise_mm.clamp(1e-4, 0.5 * let_go);
        Self { points: vec![(0.0, 0.0), (rise, peak_n.max(0.0)), (let_go, 0.0)] }
    }

    /// A measured curve as it is: in N if it was measured in N.
    pub fn measured(curve: &PullOff) -> Self {
        Self { points: curve.points().to_vec() }
    }

    /// Through the points, from (0, 0). A point that does not lie beyond the one before it is moved to a
    /// tenth of a micron beyond, a negative force counts as none, and the last point has none.
    pub(super) fn through(points: &[(f64, f64)]) -> Self {
        let mut through = vec![(0.0, 0.0)];
        let mut reached_mm = 0.0_f64;
        for &(travel_mm, force_n) in points {
            reached_mm = travel_mm.max(reached_mm + 1e-4);
            through.push((reached_mm, force_n.max(0.0)));
        }
        if let Some(last) = through.last_mut() {
            last.1 = 0.0;
        }
        Self { points: through }
    }

    /// Force at a travel, N, and its slope, N/mm; none before 0 and after let-go.
    pub fn force_and_slope(&self, travel_mm: f64) -> (f64, f64) {
        let after = self.points.partition_point(|point| point.0 <= travel_mm);
        let Some(to) = self.points.get(after) else { return (0.0, 0.0) };
        let from = self.points[after.saturating_sub(1)];
        if after == 0 {
            return (0.0, self.points.get(1).map_or(0.0, |point| point.1 / point.0));
        }
        let slope = (to.1 - from.1) / (to.0 - from.0);
        (from.1 + slope * (travel_mm - from.0), slope)
    }

    /// Force at a travel, N.
    pub fn force_n(&self, travel_mm: f64) -> f64 {
        self.force_and_slope(travel_mm).0
    }

    /// Largest force, N.
    pub fn peak_n(&self) -> f64 {
        self.points.iter().map(|point| point.1).fold(0.0, f64::max)
    }

    /// Travel at which it has let go, mm.
    pub fn let_go_travel_mm(&self) -> f64 {
        self.points.last().map_or(0.0, |point| point.0)
    }

    /// Stiffness before it slips and while it springs back, N/mm: its steepest rise.
    ///
    /// That is the slope at the start of every computed curve. A measured one may start with slack, and
    /// were it to spring back as softly as it starts, it could never be pulled up to its peak.
    pub fn initial_stiffness_n_mm(&self) -> f64 {
        let slope = |pair: &[(f64, f64)]| (pair[1].1 - pair[0].1) / (pair[1].0 - pair[0].0);
        self.points.windows(2).map(slope).fold(0.0, f64::max)
    }

    /// Work to pull it to a travel, mJ: the area under the curve.
    pub fn area_to(&self, travel_mm: f64) -> f64 {
        let piece = |pair: &[(f64, f64)]| {
            let end = travel_mm.clamp(pair[0].0, pair[1].0);
            let slope = (pair[1].1 - pair[0].1) / (pair[1].0 - pair[0].0);
            let along = end - pair[0].0;
            (pair[0].1 + 0.5 * slope * along) * along
        };
        self.points.windows(2).map(piece).sum()
    }

    /// The whole work to pull it off, mJ.
    pub fn work_mj(&self) -> f64 {
        self.area_to(self.let_go_travel_mm())
    }

    /// Its points: (travel mm, force N).
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// Both side by side: the sum of their pulls at every travel.
    #[must_use]
    pub(super) fn plus(&self, other: &Self) -> Self {
        let mut travels: Vec<f64> = self.points.iter().chain(&other.points).map(|point| point.0).collect();
        travels.sort_by(f64::total_cmp);
        // Places too near to each other to be told apart count once.
        travels.dedup_by(|next, kept| *next - *kept < 1e-9);
        let force_n = |travel_mm| self.force_n(travel_mm) + other.force_n(travel_mm);
        let points = travels.iter().skip(1).map(|travel_mm| (*travel_mm, force_n(*travel_mm)));
        Self::through(&points.collect::<Vec<_>>())
    }

    /// The same with every force multiplied by `factor`, at least 0.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        let factor = factor.max(0.0);
        Self { points: self.points.iter().map(|(travel, force)| (*travel, force * factor)).collect() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_triangle_gives_its_peak_its_slope_and_its_area() {
        let curve = Curve::triangle(10.0, 0.5, 2.0);
        assert_eq!(curve.force_and_slope(0.25), (5.0, 20.0));
        assert!((curve.force_n(1.25) - 5.0).abs() < 1e-12);
        assert_eq!(curve.force_n(2.0), 0.0);
        assert!((curve.work_mj() - 10.0).abs() < 1e-12);
        assert!((curve.area_to(0.5) - 2.5).abs() < 1e-12);
        assert_eq!(curve.scaled(2.0).peak_n(), 20.0);
    }

    #[test]
    fn a_curve_that_starts_with_slack_springs_back_as_stiffly_as_it_rises() {
        let slack = PullOff::new(vec![(0.0, 0.0), (1.0, 1.0), (2.0, 100.0), (3.0, 0.0)]).unwrap();
        let curve = Curve::measured(&slack);
        assert_eq!(curve.points(), slack.points());
        assert!((curve.initial_stiffness_n_mm() - 99.0).abs() < 1e-9);
        assert_eq!(Curve::triangle(10.0, 0.5, 2.0).initial_stiffness_n_mm(), 20.0);
    }

    #[test]
    fn two_side_by_side_pull_together_and_each_lets_go_on_its_own() {
        let (short, long) = (Curve::triangle(10.0, 0.5, 2.0), Curve::triangle(4.0, 0.5, 3.0));
        let both = short.plus(&long);
        assert!(Curve::new(both.points().to_vec()).is_some(), "{both:?}");
        for travel_mm in [0.0, 0.3, 0.5, 1.2, 2.0, 2.7, 3.0, 4.0] {
            let apart_n = short.force_n(travel_mm) + long.force_n(travel_mm);
            assert!((both.force_n(travel_mm) - apart_n).abs() < 1e-9, "{travel_mm}");
        }
        assert!((both.work_mj() - short.work_mj() - long.work_mj()).abs() < 1e-9);
    }

    #[test]
    fn points_out_of_order_are_set_in_order() {
        let curve = Curve::through(&[(0.5, 3.0), (0.4, 2.0), (0.4, -1.0), (2.0, 7.0)]);
        assert!(Curve::new(curve.points().to_vec()).is_some(), "{curve:?}");
        assert_eq!(curve.peak_n(), 3.0);
        assert_eq!(curve.let_go_travel_mm(), 2.0);
    }

    #[test]
    fn a_curve_that_does_not_end_at_nothing_is_refused() {
        assert!(Curve::new(vec![(0.0, 0.0), (1.0, 5.0)]).is_none());
        assert!(Curve::new(vec![(0.0, 0.0), (1.0, 5.0), (1.0, 0.0)]).is_none());
        assert!(Curve::new(vec![(0.0, 0.0), (1.0, f64::NAN), (2.0, 0.0)]).is_none());
        assert!(Curve::new(vec![(0.0, 0.0), (1.0, 5.0), (2.0, 0.0)]).is_some());
    }
}
