//! Steel between neighbouring channels.

use std::collections::BTreeMap;

use glam::DVec2;
use keepside_model::{Edit, Id};

use super::cure::{SLACK_MM, move_by};
use super::{Drawn, Finding, Severity};
use crate::outline::{Edge, Lookup};

/// Walls nearer to each other than this meet in a corner, mm.
const MEET_MM: f64 = 1e-5;

/// Where a wall of steel between two channels is thinnest.
#[derive(Clone, Copy)]
struct Thin {
    wall_mm: f64,
    /// On the one channel's wall and on the other's.
    points: [DVec2; 2],
}

/// Runs, or two stretches of one run, with too little steel between them. Where channels meet, the steel
/// between them always runs out; only a wall that grows thicker both ways counts.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let project = drawn.project;
    let needed_mm = project.limits.steel_wall_mm;
    for ((one, other), thin) in thinnest(drawn, needed_mm) {
        let (wall_mm, at) = (thin.wall_mm, thin.points[0].midpoint(thin.points[1]));
        let between = if one == other {
            format!("two stretches of run {}", project.tag(one))
        } else {
            format!("runs {} and {}", project.tag(one), project.tag(other))
        };
        let message =
            format!("{between} leave {wall_mm:.2} mm of steel between them; {needed_mm:.2} mm is needed");
        let mut items = vec![one, other];
        items.dedup();
        let finding = Finding::new("channel-wall", Severity::Warning, items, Some(at), message)
            .comparing_mm(wall_mm, needed_mm);
        let by_mm = needed_mm - wall_mm;
        let edit = moved_away(drawn, one, other, thin, by_mm);
        findings.push(match edit {
            Some(edit) => {
                let cure =
                    format!("Move run {} with what belongs to it {by_mm:.1} mm away", project.tag(other));
                finding.cured_by(cure, Some(edit))
            }
            None => finding
                .cured_by(format!("Draw them {by_mm:.1} mm farther apart, or make them narrower"), None),
        });
    }
}

/// The thinnest wall of every two runs that have one thinner than `needed_mm`.
fn thinnest(drawn: &Drawn<'_>, needed_mm: f64) -> BTreeMap<(Id, Id), Thin> {
    let lookup = &drawn.lookup;
    let mut found: BTreeMap<(Id, Id), Thin> = BTreeMap::new();
    let mut near = Vec::new();
    for (index, a) in lookup.edges().iter().enumerate() {
        let Some(one) = Lookup::run_of(a.wall) else { continue };
        lookup.edges_near(&a.extent(), needed_mm, &mut near);
        for b in near.iter().filter(|&&other| other > index).map(|&other| &lookup.edges()[other]) {
            let Some(other) = Lookup::run_of(b.wall) else { continue };
            let key = (one.min(other), one.max(other));
            let limit_mm = found.get(&key).map_or(needed_mm - SLACK_MM, |thin| thin.wall_mm);
            let Some(points) = closest(a, b) else { continue };
            let points = if one <= other { points } else { [points[1], points[0]] };
            let wall_mm = points[0].distance(points[1]);
            if wall_mm > MEET_MM && wall_mm < limit_mm && is_waist(lookup, points, wall_mm) {
                found.insert(key, Thin { wall_mm, points });
            }
        }
    }
    found
}

/// Whether steel fills the circle that just fits between two points: then the wall is thinnest there.
fn is_waist(lookup: &Lookup<'_>, points: [DVec2; 2], wall_mm: f64) -> bool {
    lookup.clear_mm(points[0].midpoint(points[1])) <= -0.5 * wall_mm + SLACK_MM
}

/// The points of two edges that are closest, the first on `a`; `None` if they touch.
fn closest(a: &Edge, b: &Edge) -> Option<[DVec2; 2]> {
    // From an end of one to the other, from the centre of an arc, or along the line of two centres.
    let far_mm = 1e6;
    let line = match (a.curve, b.curve) {
        (Some(one), Some(other)) => (other.centre - one.centre).try_normalize(),
        _ => None,
    };
    let centres = [a.curve, b.curve].map(|curve| curve.map(|arc| arc.centre));
    let along = line.map(|way| [way * far_mm, -way * far_mm]).unwrap_or([DVec2::ZERO; 2]);
    let from_b = [Some(b.from), Some(b.to), centres[1]].into_iter().flatten().chain(along).map(|start| {
        let on_a = a.nearest(start).1;
        [on_a, b.nearest(on_a).1]
    });
    let from_a = [Some(a.from), Some(a.to), centres[0]].into_iter().flatten().map(|start| {
        let on_b = b.nearest(start).1;
        [a.nearest(on_b).1, on_b]
    });
    let pairs = from_b.chain(from_a);
    let best = pairs.min_by(|p, q| p[0].distance_squared(p[1]).total_cmp(&q[0].distance_squared(q[1])))?;
    (best[0].distance(best[1]) > MEET_MM).then_some(best)
}

/// The edit that moves the second run away from the first with everything on it, if the two are mouldings
/// of their own: a run that others join would be torn off.
fn moved_away(drawn: &Drawn<'_>, one: Id, other: Id, thin: Thin, by_mm: f64) -> Option<Edit> {
    let project = drawn.project;
    let runs_of = |ring: &crate::outline::Ring| -> Vec<Id> {
        ring.walls.iter().filter_map(|&wall| Lookup::run_of(wall)).collect()
    };
    let ring = drawn.outline.rings.iter().map(runs_of).find(|runs| runs.contains(&other))?;
    if one == other || ring.iter().any(|&run| run != other) {
        return None;
    }
    let way = (thin.points[1] - thin.points[0]).try_normalize()?;
    let with_it = project.ids().into_iter().filter(|&id| {
        let place = project.place(id).and_then(|at| drawn.lookup.channel_at(at));
        let through = project.holes.contains_key(&id) || project.part.runs.contains_key(&id);
        !through && place.is_some_and(|place| place.run == other)
    });
    move_by(project, std::iter::once(other).chain(with_it).collect(), way * by_mm)
}
