//! Quick answers about one project's channel: how far is its wall, which run is here, how deep is it.
//!
//! The same answers as those of [`Outline`] and of [`super::channel`], from grids built once.

use std::cell::RefCell;

use glam::DVec2;
use keepside_model::{Half, Id, Project, Vent};

use super::channel::{ChannelAt, Placed, beyond_mm, placed_legs, vent_way};
use super::edge::{Edge, Extent};
use super::grid::Grid;
use super::query::enclosed;
use super::{Outline, Wall};

/// How near to the end of an edge, as a share of it, the nearest place counts as its corner.
const CORNER_SHARE: f64 = 1e-9;

/// The place of the wall nearest to a point.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Near {
    /// The place, mm.
    pub(crate) at: DVec2,
    /// Its distance, mm.
    pub(crate) distance_mm: f64,
    /// What it bounds.
    pub(crate) wall: Wall,
    /// Which edge, and the share of it.
    edge: usize,
    share: f64,
}

fn is_end(wall: Wall) -> bool {
    matches!(wall, Wall::End(_))
}

/// The grids of one project.
#[derive(Debug)]
pub(crate) struct Lookup<'a> {
    project: &'a Project,
    edges: Vec<Edge>,
    wall_grid: Grid,
    /// Numbers of the edges that are ends of runs: few, and far from most places.
    ends: Vec<usize>,
    end_grid: Grid,
    legs: Vec<Placed>,
    leg_grid: Grid,
    /// Numbers of legs, kept to spare an allocation for each question.
    found: RefCell<Vec<usize>>,
}

impl<'a> Lookup<'a> {
    pub(crate) fn new(project: &'a Project, outline: &Outline) -> Self {
        let edges: Vec<Edge> = outline.edges().collect();
        let wall_grid = Grid::new(edges.iter().map(Edge::extent).collect());
        let ends: Vec<usize> = (0..edges.len()).filter(|&edge| is_end(edges[edge].wall)).collect();
        let end_grid = Grid::new(ends.iter().map(|&edge| edges[edge].extent()).collect());
        let legs: Vec<Placed> = placed_legs(project).collect();
        let leg_grid = Grid::new(legs.iter().map(Placed::extent).collect());
        Self { project, edges, wall_grid, ends, end_grid, legs, leg_grid, found: RefCell::default() }
    }

    pub(crate) const fn project(&self) -> &'a Project {
        self.project
    }

    /// The edges of the outline.
    pub(crate) fn edges(&self) -> &[Edge] {
        &self.edges
    }

    /// The edges whose boxes come within `reach_mm` of a box.
    pub(crate) fn edges_near(&self, extent: &Extent, reach_mm: f64, found: &mut Vec<usize>) {
        self.wall_grid.near(extent, reach_mm, found);
    }

    /// The nearest point of the walls of any kind; of equals that of the first edge.
    fn nearest(&self, point: DVec2) -> Option<Near> {
        let mut best = None;
        self.wall_grid.nearest(point, |index| self.nearer(point, index, &mut best, Edge::nearest_to));
        best
    }

    /// The nearest point of the side walls.
    pub(crate) fn nearest_side(&self, point: DVec2) -> Option<Near> {
        let mut best = None;
        let on = |edge: &Edge, point| if is_end(edge.wall) { None } else { edge.nearest_to(point) };
        self.wall_grid.nearest(point, |index| self.nearer(point, index, &mut best, on));
        best
    }

    /// The nearest point of the ends of runs.
    pub(crate) fn nearest_end(&self, point: DVec2) -> Option<Near> {
        let mut best = None;
        self.end_grid.nearest(point, |end| self.nearer(point, self.ends[end], &mut best, Edge::nearest_to));
        best
    }

    /// The nearest point of the side walls on the far side: of what lies away from `towards`, which has
    /// length 1, as seen from `point`.
    pub(crate) fn far_side(&self, point: DVec2, towards: DVec2) -> Option<Near> {
        let mut best = None;
        let on = |edge: &Edge, point| {
            if is_end(edge.wall) { None } else { edge.nearest_beyond(point, -towards) }
        };
        self.wall_grid.nearest(point, |index| self.nearer(point, index, &mut best, on));
        best
    }

    /// Makes the place that `on` tells of an edge the best one if it is nearer; the least distance so far.
    fn nearer(
        &self,
        point: DVec2,
        index: usize,
        best: &mut Option<Near>,
        on: impl Fn(&Edge, DVec2) -> Option<(f64, DVec2)>,
    ) -> f64 {
        let edge = &self.edges[index];
        let limit_mm = best.map_or(f64::INFINITY, |near| near.distance_mm);
        // The whole circle is no farther than the arc, and cheaper to ask.
        let off_circle_mm = edge.curve.map_or(0.0, |arc| (point.distance(arc.centre) - arc.radius_mm).abs());
        if off_circle_mm <= limit_mm
            && let Some((share, at)) = on(edge, point)
        {
            let distance_mm = at.distance(point);
            let is_nearer = best.is_none_or(|near| (distance_mm, index) < (near.distance_mm, near.edge));
            if is_nearer {
                *best = Some(Near { at, distance_mm, wall: edge.wall, edge: index, share });
            }
        }
        best.map_or(f64::INFINITY, |near| near.distance_mm)
    }

    /// The nearest wall of any kind, with its distance negative if `point` lies outside the channel.
    pub(crate) fn clear(&self, point: DVec2) -> Option<Near> {
        let near = self.nearest(point)?;
        let edge = &self.edges[near.edge];
        // The part lies on the left of its edges. At a corner one edge alone does not tell.
        let is_corner = near.share < CORNER_SHARE || near.share > 1.0 - CORNER_SHARE;
        let inside = if is_corner {
            enclosed(self.edges.iter().copied(), point)
        } else {
            edge.direction(near.share).perp_dot(point - near.at) > 0.0
        };
        let distance_mm = if inside { near.distance_mm } else { -near.distance_mm };
        Some(Near { distance_mm, ..near })
    }

    /// Distance from `point` to the nearest wall of any kind, mm, negative outside the channel.
    pub(crate) fn clear_mm(&self, point: DVec2) -> f64 {
        self.clear(point).map_or(f64::NEG_INFINITY, |near| near.distance_mm)
    }

    /// The channel at `point`, or nearest to it; as [`super::channel_at`].
    pub(crate) fn channel_at(&self, point: DVec2) -> Option<ChannelAt> {
        let nearer = |a: ChannelAt, b: ChannelAt| {
            if (!b.inside, beyond_mm(&b)) < (!a.inside, beyond_mm(&a)) { b } else { a }
        };
        let mut found = self.found.borrow_mut();
        self.leg_grid.near(&Extent { low: point, high: point }, 0.0, &mut found);
        let here = found.iter().map(|&index| self.legs[index].at(point)).reduce(nearer);
        // What holds the point is found here; what does not may be anywhere.
        here.filter(|place| place.inside).or_else(|| self.legs.iter().map(|leg| leg.at(point)).reduce(nearer))
    }

    /// Depth of the channel at `point`, mm; as [`super::depth_at`].
    pub(crate) fn depth_at(&self, point: DVec2) -> Option<f64> {
        let mut found = self.found.borrow_mut();
        self.leg_grid.near(&Extent { low: point, high: point }, 0.0, &mut found);
        let mut deepest: Option<f64> = None;
        // Leg by leg, and of every run only the leg that is nearest.
        let mut of_run: Option<ChannelAt> = None;
        let mut close = |of_run: &Option<ChannelAt>| {
            if let Some(place) = of_run.filter(|place| place.inside) {
                deepest = Some(deepest.map_or(place.depth_mm, |depth_mm| depth_mm.max(place.depth_mm)));
            }
        };
        for &index in found.iter() {
            let place = self.legs[index].at(point);
            of_run = match of_run {
                Some(best) if best.run == place.run => {
                    let is_nearer = (!place.inside, beyond_mm(&place)) < (!best.inside, beyond_mm(&best));
                    Some(if is_nearer { place } else { best })
                }
                other => {
                    close(&other);
                    Some(place)
                }
            };
        }
        close(&of_run);
        deepest
    }

    /// Depth of the channel cut into `half` at `point`, mm; 0 outside the channel.
    pub(crate) fn depth_in_half_mm(&self, half: Half, point: DVec2) -> f64 {
        let share = match half {
            Half::Moving => self.project.part.moving_share,
            Half::Fixed => 1.0 - self.project.part.moving_share,
        };
        self.depth_at(point).map_or(0.0, |depth_mm| share * depth_mm)
    }

    /// Direction in which a vent runs from the channel into the plate; as [`super::vent_direction`].
    pub(crate) fn vent_direction(&self, vent: &Vent) -> DVec2 {
        vent_way(vent.at, self.channel_at(vent.at))
    }

    /// The run of a wall.
    pub(crate) const fn run_of(wall: Wall) -> Option<Id> {
        match wall {
            Wall::Side(id) | Wall::End(id) => Some(id),
            Wall::Unknown => None,
        }
    }
}
