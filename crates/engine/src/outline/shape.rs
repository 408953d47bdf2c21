//! The shapes whose union is the part: a trapezium or annular sector a leg, a sector a corner or round end.

use std::f64::consts::PI;

use glam::DVec2;
use keepside_model::{EndShape, Id, Project, Run};

use super::Wall;
use super::edge::{Edge, Extent};
use super::leg::{Curve, Leg, MERGE_MM, Station, legs};

/// Largest distance between an arc of changing width and the straight lines that stand for it, mm.
pub const TAPERED_ARC_TOLERANCE_MM: f64 = 0.002;

/// One condition on the inside of a shape.
#[derive(Clone, Copy, Debug)]
enum Bound {
    /// On the side of a line that `inward`, of length 1, points to.
    Side { through: DVec2, inward: DVec2 },
    /// In a circle.
    Within { centre: DVec2, radius_mm: f64 },
    /// Outside a circle.
    Beyond { centre: DVec2, radius_mm: f64 },
}

impl Bound {
    /// How far inside a point is, mm, and the direction inwards there.
    fn depth(&self, point: DVec2) -> (f64, DVec2) {
        match *self {
            Self::Side { through, inward } => ((point - through).dot(inward), inward),
            Self::Within { centre, radius_mm } => {
                (radius_mm - point.distance(centre), (centre - point).normalize_or_zero())
            }
            Self::Beyond { centre, radius_mm } => {
                (point.distance(centre) - radius_mm, (point - centre).normalize_or_zero())
            }
        }
    }
}

/// A closed shape: its edges counter-clockwise, and the conditions that together describe its inside.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    pub(super) edges: Vec<Edge>,
    bounds: Vec<Bound>,
    pub(super) extent: Extent,
}

impl Shape {
    fn new(edges: impl IntoIterator<Item = Edge>, bounds: Vec<Bound>) -> Option<Self> {
        let edges: Vec<Edge> = edges.into_iter().filter(|edge| edge.length_mm() > 0.0).collect();
        let extent = edges.iter().map(Edge::extent).reduce(Extent::join)?;
        let finite = extent.low.is_finite() && extent.high.is_finite();
        finite.then_some(Self { edges, bounds, extent })
    }

    /// How far `point` lies inside, mm, negative outside, and the direction inwards from the nearest
    /// bound. Exact inside; outside a corner it is the distance to a bound, not to the corner.
    pub(super) fn depth(&self, point: DVec2) -> (f64, DVec2) {
        let depths = self.bounds.iter().map(|bound| bound.depth(point));
        depths.reduce(|a, b| if b.0 < a.0 { b } else { a }).unwrap_or((f64::NEG_INFINITY, DVec2::ZERO))
    }

    /// A convex polygon, counter-clockwise; each corner with the wall that the side after it is.
    fn polygon(corners: &[(DVec2, Wall)]) -> Option<Self> {
        let sides = || {
            let next = corners.iter().cycle().skip(1);
            corners.iter().zip(next).map(|(&(from, wall), &(to, _))| Edge::line(from, to, wall))
        };
        let bound = |side: Edge| {
            let inward = side.direction(0.0).perp();
            (inward != DVec2::ZERO).then_some(Bound::Side { through: side.from, inward })
        };
        Self::new(sides(), sides().filter_map(bound).collect())
    }

    /// A sector of a circle, of at most half a turn: from `from` counter-clockwise to `to`.
    fn sector(centre: DVec2, from: DVec2, to: DVec2, sweep_rad: f64, walls: [Wall; 3]) -> Option<Self> {
        let radius_mm = centre.distance(from);
        let curve = Curve { centre, radius_mm, from_rad: (from - centre).to_angle(), sweep_rad };
        let [first, round, last] = walls;
        let edges = [
            Edge::line(centre, from, first),
            Edge { from, to, curve: Some(curve), wall: round },
            Edge::line(to, centre, last),
        ];
        let bounds = vec![
            Bound::Within { centre, radius_mm },
            Bound::Side { through: centre, inward: (from - centre).normalize_or_zero().perp() },
            Bound::Side { through: centre, inward: -(to - centre).normalize_or_zero().perp() },
        ];
        Self::new(edges, bounds)
    }
}

/// The shapes of all runs of the project.
pub(super) fn shapes(project: &Project) -> Vec<Shape> {
    let mut shapes = Vec::new();
    for (&id, run) in &project.part.runs {
        of_run(id, run, &mut shapes);
    }
    shapes
}

fn of_run(id: Id, run: &Run, shapes: &mut Vec<Shape>) {
    let (side, end) = (Wall::Side(id), Wall::End(id));
    let legs = legs(run);
    let (Some(first), Some(last)) = (legs.first(), legs.last()) else { return };
    let closed = legs.len() > 1 && first.from.at.distance(last.to.at) <= MERGE_MM;
    for (index, leg) in legs.iter().enumerate() {
        let cap = |outermost: bool| if outermost && !closed { end } else { side };
        let caps = [cap(index == 0), cap(index + 1 == legs.len())];
        match leg.curve {
            None => shapes.extend(trapezium(leg, side, caps)),
            Some(arc) if leg.from.half_width_mm == leg.to.half_width_mm => {
                annular_sector(leg, &arc, side, caps, shapes);
            }
            Some(arc) => tapered_arc(leg, &arc, side, caps, shapes),
        }
        if let Some(next) = legs.get(index + 1) {
            shapes.extend(corner(leg, next, side));
        }
    }
    if closed {
        shapes.extend(corner(last, first, side));
    } else {
        if run.start == EndShape::Round {
            shapes.extend(round_end(first.from, -first.direction(0.0), end));
        }
        if run.end == EndShape::Round {
            shapes.extend(round_end(last.to, last.direction(1.0), end));
        }
    }
}

/// A straight leg. Its square caps are divided at the centre line, where corners and round ends divide
/// theirs, so that they match piece by piece.
fn trapezium(leg: &Leg, side: Wall, caps: [Wall; 2]) -> Option<Shape> {
    let left = leg.direction(0.0).perp();
    let (a, b) = (leg.from, leg.to);
    let (a_half, b_half) = (left * a.half_width_mm, left * b.half_width_mm);
    Shape::polygon(&[
        (a.at - a_half, side),
        (b.at - b_half, caps[1]),
        (b.at, caps[1]),
        (b.at + b_half, side),
        (a.at + a_half, caps[0]),
        (a.at, caps[0]),
    ])
}

/// An arc leg of constant width: exactly the strip between two concentric arcs. Where the channel is
/// wider than twice the radius, the inner wall has passed the centre and comes out opposite.
fn annular_sector(leg: &Leg, arc: &Curve, side: Wall, caps: [Wall; 2], shapes: &mut Vec<Shape>) {
    let half_mm = leg.from.half_width_mm;
    let (outer_mm, inner_mm) = (arc.radius_mm + half_mm, arc.radius_mm - half_mm);
    // Counter-clockwise, whichever way the leg runs.
    let (first, second, caps) = match arc.sweep_rad > 0.0 {
        true => (leg.from.at, leg.to.at, caps),
        false => (leg.to.at, leg.from.at, [caps[1], caps[0]]),
    };
    let centre = arc.centre;
    let ray = |point: DVec2| (point - centre).normalize_or_zero();
    let (first_ray, second_ray, sweep_rad) = (ray(first), ray(second), arc.sweep_rad.abs());
    let outer = [centre + first_ray * outer_mm, centre + second_ray * outer_mm];
    if inner_mm <= MERGE_MM {
        let walls = [caps[0], side, caps[1]];
        shapes.extend(Shape::sector(centre, outer[0], outer[1], sweep_rad, walls));
        if inner_mm < -MERGE_MM {
            let inner = [centre + first_ray * inner_mm, centre + second_ray * inner_mm];
            shapes.extend(Shape::sector(centre, inner[0], inner[1], sweep_rad, walls));
        }
        return;
    }
    let inner = [centre + first_ray * inner_mm, centre + second_ray * inner_mm];
    let curve = |radius_mm, from: DVec2, sweep_rad| {
        Some(Curve { centre, radius_mm, from_rad: (from - centre).to_angle(), sweep_rad })
    };
    let edges = [
        Edge { from: outer[0], to: outer[1], curve: curve(outer_mm, outer[0], sweep_rad), wall: side },
        Edge::line(outer[1], second, caps[1]),
        Edge::line(second, inner[1], caps[1]),
        Edge { from: inner[1], to: inner[0], curve: curve(inner_mm, inner[1], -sweep_rad), wall: side },
        Edge::line(inner[0], first, caps[0]),
        Edge::line(first, outer[0], caps[0]),
    ];
    let bounds = vec![
        Bound::Within { centre, radius_mm: outer_mm },
        Bound::Beyond { centre, radius_mm: inner_mm },
        Bound::Side { through: centre, inward: first_ray.perp() },
        Bound::Side { through: centre, inward: -second_ray.perp() },
    ];
    shapes.extend(Shape::new(edges, bounds));
}

/// An arc leg of changing width, in trapezia with radial caps whose corners lie on the true walls.
fn tapered_arc(leg: &Leg, arc: &Curve, side: Wall, caps: [Wall; 2], shapes: &mut Vec<Shape>) {
    let widest_mm = leg.from.half_width_mm.max(leg.to.half_width_mm);
    let sagitta = (TAPERED_ARC_TOLERANCE_MM / (arc.radius_mm + widest_mm)).min(0.5);
    let step_rad = 2.0 * (1.0 - sagitta).acos();
    let count = (arc.sweep_rad.abs() / step_rad).ceil().clamp(1.0, 2000.0);
    let ray = |point: DVec2| (point - arc.centre).normalize_or_zero();
    let cut = |index: f64| {
        let station = leg.station(index / count);
        (ray(station.at), station)
    };
    let mut index = 0.0;
    while index < count {
        let outermost = |is: bool, wall| if is { wall } else { side };
        let caps = [outermost(index == 0.0, caps[0]), outermost(index + 1.0 == count, caps[1])];
        let (cuts, caps) = match arc.sweep_rad > 0.0 {
            true => ([cut(index), cut(index + 1.0)], caps),
            false => ([cut(index + 1.0), cut(index)], [caps[1], caps[0]]),
        };
        slice(arc, cuts, side, caps, shapes);
        index += 1.0;
    }
}

/// A slice of an arc leg between two radial cuts, counter-clockwise.
fn slice(arc: &Curve, cuts: [(DVec2, Station); 2], side: Wall, caps: [Wall; 2], shapes: &mut Vec<Shape>) {
    let [(a_ray, a), (b_ray, b)] = cuts;
    let point = |ray: DVec2, radius_mm: f64| arc.centre + ray * radius_mm;
    let outer =
        [point(a_ray, arc.radius_mm + a.half_width_mm), point(b_ray, arc.radius_mm + b.half_width_mm)];
    // An inner wall within the tolerance of the centre lies in it: an edge too short to have a direction
    // would tell nothing of its inside.
    let inner_mm = [a, b].map(|cut| {
        let inner_mm = arc.radius_mm - cut.half_width_mm;
        if inner_mm.abs() < TAPERED_ARC_TOLERANCE_MM { 0.0 } else { inner_mm }
    });
    let inner = [point(a_ray, inner_mm[0].max(0.0)), point(b_ray, inner_mm[1].max(0.0))];
    shapes.extend(Shape::polygon(&[
        (outer[0], side),
        (outer[1], caps[1]),
        (b.at, caps[1]),
        (inner[1], side),
        (inner[0], caps[0]),
        (a.at, caps[0]),
    ]));
    if inner_mm.iter().all(|&radius_mm| radius_mm < 0.0) {
        let beyond = [point(a_ray, inner_mm[0]), point(b_ray, inner_mm[1])];
        shapes.extend(Shape::polygon(&[(arc.centre, caps[0]), (beyond[0], side), (beyond[1], caps[1])]));
    }
}

/// The round join on the outer side of a corner between two legs; `None` where there is no corner.
fn corner(leg: &Leg, next: &Leg, side: Wall) -> Option<Shape> {
    let (before, after) = (leg.direction(1.0), next.direction(0.0));
    let turn_rad = before.perp_dot(after).atan2(before.dot(after));
    let radius_mm = leg.to.half_width_mm.min(next.from.half_width_mm);
    // A turn that does not open a gap worth the name between the legs.
    if radius_mm * turn_rad.abs() < 1e-8 {
        return None;
    }
    let centre = leg.to.at;
    let (from, to) = match turn_rad > 0.0 {
        true => (-before.perp(), -after.perp()),
        false => (after.perp(), before.perp()),
    };
    Shape::sector(centre, centre + from * radius_mm, centre + to * radius_mm, turn_rad.abs(), [side; 3])
}

/// A half circle about an end, looking `outwards`.
fn round_end(station: Station, outwards: DVec2, end: Wall) -> Option<Shape> {
    let across = outwards.perp() * station.half_width_mm;
    Shape::sector(station.at, station.at - across, station.at + across, PI, [end; 3])
}
