//! The channel at a point of the plan: which run, where along it, how wide and deep.

use glam::DVec2;
use keepside_model::{EndShape, Half, Id, Project, Run, Vent};

use super::Wall;
use super::edge::{Edge, Extent};
use super::leg::{Leg, legs};

/// The channel as seen from a point of the plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChannelAt {
    /// The run: of several, the one whose wall is farthest outside the point, or nearest to it.
    pub run: Id,
    /// The nearest place on its centre line, mm.
    pub at: DVec2,
    /// Where that is along the centre line, mm from the run's first point.
    pub along_mm: f64,
    /// Direction of the centre line there, of length 1.
    pub direction: DVec2,
    /// Channel width there, mm.
    pub width_mm: f64,
    /// Channel depth there, both halves together, mm.
    pub depth_mm: f64,
    /// Distance of the point from the centre line, mm, positive to the left of the run's direction.
    pub offset_mm: f64,
    /// Whether the point lies in this run's channel.
    pub inside: bool,
}

/// The channel at `point`, or nearest to it; `None` if no run has a length.
pub fn channel_at(project: &Project, point: DVec2) -> Option<ChannelAt> {
    runs_at(project, point)
        .reduce(|a, b| if (!b.inside, beyond_mm(&b)) < (!a.inside, beyond_mm(&a)) { b } else { a })
}

/// Depth of the channel at `point`, both halves together, mm: of runs that overlap, the deepest; `None`
/// outside the channel.
pub fn depth_at(project: &Project, point: DVec2) -> Option<f64> {
    runs_at(project, point).filter(|place| place.inside).map(|place| place.depth_mm).reduce(f64::max)
}

/// Depth of the channel cut into `half` at `point`, mm; 0 outside the channel.
pub fn depth_in_half_mm(project: &Project, half: Half, point: DVec2) -> f64 {
    let share = match half {
        Half::Moving => project.part.moving_share,
        Half::Fixed => 1.0 - project.part.moving_share,
    };
    depth_at(project, point).map_or(0.0, |depth_mm| share * depth_mm)
}

/// Direction in which a vent runs from the channel into the plate, in the plan, of length 1.
pub fn vent_direction(project: &Project, vent: &Vent) -> DVec2 {
    vent_way(vent.at, channel_at(project, vent.at))
}

/// Direction in which a vent at `at` runs, from the channel there.
pub(super) fn vent_way(at: DVec2, place: Option<ChannelAt>) -> DVec2 {
    place
        .and_then(|place| (at - place.at).try_normalize().or(Some(place.direction.perp())))
        .unwrap_or(DVec2::Y)
}

/// The channel at `point` for each run.
pub(crate) fn runs_at(project: &Project, point: DVec2) -> impl Iterator<Item = ChannelAt> {
    project.part.runs.iter().filter_map(move |(&id, run)| on_run(id, run, point))
}

/// How far a point lies beyond the wall of the channel it is seen from, mm, negative within.
pub(super) fn beyond_mm(place: &ChannelAt) -> f64 {
    place.offset_mm.abs() - 0.5 * place.width_mm
}

/// A leg with what its run says of its ends.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placed {
    run: Id,
    leg: Leg,
    /// Whether the channel is cut off square at the leg's start, and at its end.
    cut: [bool; 2],
}

impl Placed {
    /// The channel of this leg at `point`.
    pub(super) fn at(&self, point: DVec2) -> ChannelAt {
        let leg = &self.leg;
        let foot = leg.foot(point);
        let t = foot.clamp(0.0, 1.0);
        let station = leg.station(t);
        let direction = leg.direction(t);
        let away = point - station.at;
        let offset_mm = away.length() * if direction.perp_dot(away) < 0.0 { -1.0 } else { 1.0 };
        // Beyond a square end is outside, however near.
        let cut_off = (self.cut[0] && foot < 0.0) || (self.cut[1] && foot > 1.0);
        ChannelAt {
            run: self.run,
            at: station.at,
            along_mm: leg.start_mm + leg.length_mm * t,
            direction,
            width_mm: 2.0 * station.half_width_mm,
            depth_mm: station.depth_mm,
            offset_mm,
            inside: !cut_off && offset_mm.abs() <= station.half_width_mm,
        }
    }

    /// A box round everything that lies in this leg's channel.
    pub(super) fn extent(&self) -> Extent {
        let leg = &self.leg;
        let line = Edge { from: leg.from.at, to: leg.to.at, curve: leg.curve, wall: Wall::Unknown };
        let reach = DVec2::splat(leg.from.half_width_mm.max(leg.to.half_width_mm));
        let Extent { low, high } = line.extent();
        Extent { low: low - reach, high: high + reach }
    }
}

/// The legs of a run, in order.
fn placed(id: Id, run: &Run) -> impl Iterator<Item = Placed> + use<> {
    let legs = legs(run);
    let last = legs.len().saturating_sub(1);
    let closed = last > 0 && legs[0].from.at.distance(legs[last].to.at) <= super::leg::MERGE_MM;
    let [start, end] = [run.start, run.end].map(|end| !closed && end == EndShape::Square);
    legs.into_iter().enumerate().map(move |(index, leg)| Placed {
        run: id,
        leg,
        cut: [start && index == 0, end && index == last],
    })
}

/// The legs of all runs of the project, run by run.
pub(super) fn placed_legs(project: &Project) -> impl Iterator<Item = Placed> {
    project.part.runs.iter().flat_map(|(&id, run)| placed(id, run))
}

fn on_run(id: Id, run: &Run, point: DVec2) -> Option<ChannelAt> {
    let nearer = |a: ChannelAt, b: ChannelAt| {
        if (!b.inside, beyond_mm(&b)) < (!a.inside, beyond_mm(&a)) { b } else { a }
    };
    placed(id, run).map(|leg| leg.at(point)).reduce(nearer)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_depth_is_shared_between_the_halves_and_ends_at_the_wall() {
        let mut project = Project::blank();
        project.part.moving_share = 0.25;
        let inside = DVec2::new(100.0, 62.9);
        assert_eq!(depth_in_half_mm(&project, Half::Moving, inside), 0.75);
        assert_eq!(depth_in_half_mm(&project, Half::Fixed, inside), 2.25);
        assert_eq!(depth_in_half_mm(&project, Half::Fixed, DVec2::new(100.0, 63.1)), 0.0);
    }
}
