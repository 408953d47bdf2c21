//! What the channel is like at a place of the plan: enough for depths and for the way a vent runs.

use glam::DVec2;
use keepside_model::{Half, Project, Run};

/// Pieces an arc of the centre line is cut into for looking up; 32 on a half circle is off by 0.5 %
/// of its radius at most.
const ARC_PIECES: u32 = 32;

/// The place on the centre lines nearest to a point of the plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Nearest {
    /// The place, mm.
    pub(crate) at: DVec2,
    /// Direction of the run there, of length 1.
    pub(crate) along: DVec2,
    /// Channel width there, mm.
    pub(crate) width_mm: f64,
    /// Channel depth there, both halves together, mm.
    pub(crate) depth_mm: f64,
}

/// The nearest place on any run; `None` if no run has a length.
pub(crate) fn nearest(project: &Project, to: DVec2) -> Option<Nearest> {
    let candidates = project.part.runs.values().flat_map(|run| nearest_on(run, to));
    candidates.min_by(|a, b| a.at.distance(to).total_cmp(&b.at.distance(to)))
}

/// Depth of the channel cut into `half` at a place of the plan, mm; zero beside the channel.
pub(crate) fn depth_mm(project: &Project, half: Half, at: DVec2) -> f64 {
    let share = match half {
        Half::Moving => project.part.moving_share,
        Half::Fixed => 1.0 - project.part.moving_share,
    };
    nearest(project, at)
        .filter(|place| place.at.distance(at) <= place.width_mm / 2.0)
        .map_or(0.0, |place| share * place.depth_mm)
}

fn nearest_on(run: &Run, to: DVec2) -> impl Iterator<Item = Nearest> {
    run.points.windows(2).flat_map(move |pair| {
        let (start, end) = (pair[0], pair[1]);
        let pieces = if start.bulge == 0.0 { 1 } else { ARC_PIECES };
        let share = move |piece: u32| f64::from(piece) / f64::from(pieces);
        (0..pieces).filter_map(move |piece| {
            let (from, until) = (share(piece), share(piece + 1));
            let a = on_arc(start.at, end.at, start.bulge, from);
            let b = on_arc(start.at, end.at, start.bulge, until);
            let along = (b - a).try_normalize()?;
            let part = ((to - a).dot(along) / a.distance(b)).clamp(0.0, 1.0);
            let of_run = from + part * (until - from);
            Some(Nearest {
                at: a.lerp(b, part),
                along,
                width_mm: start.width_mm + of_run * (end.width_mm - start.width_mm),
                depth_mm: start.depth_mm + of_run * (end.depth_mm - start.depth_mm),
            })
        })
    })
}

/// The point at `share` of the way along the piece from `start` to `end` with the given bulge.
fn on_arc(start: DVec2, end: DVec2, bulge: f64, share: f64) -> DVec2 {
    let chord = end - start;
    if bulge == 0.0 {
        return start + share * chord;
    }
    // With θ the arc angle, bulge = tan(θ/4); the centre lies on the chord's left for a left turn.
    let angle_rad = 4.0 * bulge.atan();
    let centre = start + chord / 2.0 + chord.perp() * (1.0 - bulge * bulge) / (4.0 * bulge);
    centre + DVec2::from_angle(share * angle_rad).rotate(start - centre)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_left_turning_half_circle_bulges_to_the_right_of_its_chord() {
        let middle = on_arc(DVec2::ZERO, DVec2::new(10.0, 0.0), 1.0, 0.5);
        assert!(middle.distance(DVec2::new(5.0, -5.0)) < 1e-12, "{middle}");
        let end = on_arc(DVec2::ZERO, DVec2::new(10.0, 0.0), 0.4, 1.0);
        assert!(end.distance(DVec2::new(10.0, 0.0)) < 1e-12, "{end}");
    }

    #[test]
    fn the_depth_is_shared_between_the_halves_and_ends_at_the_wall() {
        let mut project = Project::blank();
        project.part.moving_share = 0.25;
        let inside = DVec2::new(100.0, 62.9);
        assert_eq!(depth_mm(&project, Half::Moving, inside), 0.75);
        assert_eq!(depth_mm(&project, Half::Fixed, inside), 2.25);
        assert_eq!(depth_mm(&project, Half::Fixed, DVec2::new(100.0, 63.1)), 0.0);
    }
}
