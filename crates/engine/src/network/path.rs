//! The centre line of a run from tip to tip.

use glam::DVec2;
use keepside_model::{EndShape, Id, Run};

use crate::outline::leg::{Leg, legs};

/// Angle between two pieces of a run up to which it still counts as straight, rad.
const STRAIGHT_RAD: f64 = 1e-6;

/// A run's centre line. Places along it are measured from the tip of the part at the run's start: a
/// free round end adds half the width there.
#[derive(Clone, Debug)]
pub(crate) struct Path {
    pub(crate) run: Id,
    legs: Vec<Leg>,
    /// What free round ends add, mm; 0 for square ends and ends that join another run.
    head_mm: f64,
    tail_mm: f64,
    /// Tip to tip, mm.
    pub(crate) length_mm: f64,
    /// It ends where it begins.
    pub(crate) is_closed: bool,
}

impl Path {
    /// The path of a run, both ends free; `None` if it has no length.
    pub(crate) fn new(id: Id, run: &Run) -> Option<Self> {
        let legs = legs(run);
        let (first, last) = (legs.first()?, legs.last()?);
        let core_mm = last.start_mm + last.length_mm;
        if core_mm < 1e-3 {
            return None;
        }
        let is_closed = legs.len() > 1 && first.from.at.distance(last.to.at) < 1e-3;
        let cap = |shape, half_width_mm: f64| {
            if shape == EndShape::Round && !is_closed { half_width_mm } else { 0.0 }
        };
        let head_mm = cap(run.start, first.from.half_width_mm);
        let tail_mm = cap(run.end, last.to.half_width_mm);
        let length_mm = head_mm + core_mm + tail_mm;
        Some(Self { run: id, head_mm, tail_mm, length_mm, is_closed, legs })
    }

    /// Takes the round end at the start (or the end) away, as that end joins another run.
    pub(crate) fn join_end(&mut self, at_start: bool) {
        let cap = if at_start { &mut self.head_mm } else { &mut self.tail_mm };
        self.length_mm -= *cap;
        *cap = 0.0;
    }

    /// Whether it leads straight on from end to end.
    pub(crate) fn is_straight(&self) -> bool {
        let direction = self.legs[0].direction(0.0);
        let is_ahead = |leg: &Leg| {
            leg.curve.is_none()
                && leg.direction(0.0).perp_dot(direction).abs() <= STRAIGHT_RAD
                && leg.direction(0.0).dot(direction) > 0.0
        };
        self.legs.iter().all(is_ahead)
    }

    /// Place along of a place on the centre line measured from the run's first point, mm.
    pub(crate) fn along_mm(&self, core_mm: f64) -> f64 {
        self.head_mm + core_mm
    }

    fn leg(&self, along_mm: f64) -> (&Leg, f64) {
        let core_mm = along_mm - self.head_mm;
        let after = self.legs.partition_point(|leg| leg.start_mm <= core_mm);
        let leg = &self.legs[after.saturating_sub(1)];
        (leg, (core_mm - leg.start_mm) / leg.length_mm)
    }

    /// Place in the plan, mm, and direction of length 1; straight on within a round end.
    pub(crate) fn at(&self, along_mm: f64) -> (DVec2, DVec2) {
        let (leg, t) = self.leg(along_mm);
        let inside = t.clamp(0.0, 1.0);
        let direction = leg.direction(inside);
        (leg.station(inside).at + direction * ((t - inside) * leg.length_mm), direction)
    }

    /// Width and depth of the channel as drawn, mm: a round end is taken at its full width.
    pub(crate) fn channel_at(&self, along_mm: f64) -> (f64, f64) {
        let (leg, t) = self.leg(along_mm);
        let station = leg.station(t.clamp(0.0, 1.0));
        (2.0 * station.half_width_mm, station.depth_mm)
    }

    /// Width of the part, mm: less in a round end, but never under a fifth, so that the tip stays a beam.
    pub(crate) fn width_mm(&self, along_mm: f64) -> f64 {
        let (width, _) = self.channel_at(along_mm);
        self.chord_mm(along_mm).max(0.2 * width)
    }

    /// Width of the part, mm: that of the circle in a round end, 0 at its tip.
    pub(crate) fn chord_mm(&self, along_mm: f64) -> f64 {
        let (width, _) = self.channel_at(along_mm);
        let chord = |radius: f64, from_tip: f64| {
            let from_centre = (radius - from_tip).max(0.0);
            2.0 * (radius * radius - from_centre * from_centre).max(0.0).sqrt()
        };
        let mut part = width;
        if along_mm < self.head_mm {
            part = part.min(chord(self.head_mm, along_mm));
        }
        let from_end = self.length_mm - along_mm;
        if from_end < self.tail_mm {
            part = part.min(chord(self.tail_mm, from_end));
        }
        part
    }

    /// The widest channel along it, mm.
    pub(crate) fn widest_mm(&self) -> f64 {
        let ends = self.legs.iter().flat_map(|leg| [leg.from.half_width_mm, leg.to.half_width_mm]);
        2.0 * ends.fold(0.0, f64::max)
    }

    /// Whether a point lies in its channel. Beyond a cut or joined end is outside.
    pub(crate) fn holds(&self, point: DVec2) -> bool {
        let is_free = [self.head_mm > 0.0, self.tail_mm > 0.0];
        let last = self.legs.len() - 1;
        self.legs.iter().enumerate().any(|(index, leg)| {
            let foot = leg.foot(point);
            let t = foot.clamp(0.0, 1.0);
            let station = leg.station(t);
            let is_beyond = (index == 0 && foot < 0.0 && !is_free[0] && !self.is_closed)
                || (index == last && foot > 1.0 && !is_free[1] && !self.is_closed);
            !is_beyond && station.at.distance(point) <= station.half_width_mm
        })
    }

    /// The place along the centre line that is nearest to a point, and its distance, mm.
    pub(crate) fn nearest(&self, point: DVec2) -> (f64, f64) {
        let of_leg = |leg: &Leg| {
            let t = leg.foot(point).clamp(0.0, 1.0);
            (self.head_mm + leg.start_mm + t * leg.length_mm, leg.station(t).at.distance(point))
        };
        let places = self.legs.iter().map(of_leg);
        places.min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((0.0, f64::INFINITY))
    }

    /// Both ends of the drawn centre line: place along, place in the plan, and how far a round end
    /// reaches beyond, mm.
    pub(crate) fn ends(&self) -> [(f64, DVec2, f64); 2] {
        let last = &self.legs[self.legs.len() - 1];
        [
            (self.head_mm, self.legs[0].from.at, self.head_mm),
            (self.length_mm - self.tail_mm, last.to.at, self.tail_mm),
        ]
    }

    /// Places along where the direction changes at once, mm.
    pub(crate) fn corners(&self) -> Vec<f64> {
        let turns = self.legs.windows(2).filter(|pair| {
            pair[0].direction(1.0).perp_dot(pair[1].direction(0.0)).abs() > STRAIGHT_RAD
                || pair[0].direction(1.0).dot(pair[1].direction(0.0)) < 0.0
        });
        turns.map(|pair| self.head_mm + pair[1].start_mm).collect()
    }

    /// The tightest radius of its arcs, mm; infinite if there is none.
    pub(crate) fn tightest_mm(&self) -> f64 {
        self.legs.iter().filter_map(|leg| Some(leg.curve?.radius_mm)).fold(f64::INFINITY, f64::min)
    }

    /// The centre line in chords that stay within a hundredth of a millimetre of it: place along and
    /// place in the plan.
    pub(crate) fn chords(&self) -> Vec<(f64, DVec2)> {
        let mut points = vec![(self.head_mm, self.legs[0].from.at)];
        for leg in &self.legs {
            let pieces = leg.curve.map_or(1, |arc| {
                let step = 2.0 * (1.0 - (0.01 / arc.radius_mm).min(0.5)).acos();
                ((arc.sweep_rad.abs() / step).ceil() as usize).clamp(1, 2000)
            });
            points.extend((1..=pieces).map(|i| {
                let t = i as f64 / pieces as f64;
                (self.head_mm + leg.start_mm + t * leg.length_mm, leg.station(t).at)
            }));
        }
        points
    }
}
