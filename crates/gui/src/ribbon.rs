//! A run as a ribbon: cross-lines along its centre line, from tip to tip, for drawing.
//!
//! Only for the screen: clearances come from the engine's outline.

use glam::DVec2;
use keepside_engine::opening::Axis;
use keepside_model::{EndShape, Run, RunPoint};

/// A cross-line of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Rib {
    /// Place along the run, mm from the tip of its start.
    pub(crate) along_mm: f64,
    /// Middle, in the plan, mm.
    pub(crate) at: DVec2,
    /// Unit vector to the left of the run.
    pub(crate) left: DVec2,
    /// Half the channel's width, mm.
    pub(crate) half_mm: f64,
    /// Channel depth, mm.
    pub(crate) depth_mm: f64,
}

impl Rib {
    /// The ends of the cross-line, left and right.
    pub(crate) fn ends(&self) -> [DVec2; 2] {
        [self.at + self.left * self.half_mm, self.at - self.left * self.half_mm]
    }

    fn between(&self, other: &Self, share: f64) -> Self {
        let mix = |a: f64, b: f64| a + (b - a) * share;
        Self {
            along_mm: mix(self.along_mm, other.along_mm),
            at: self.at.lerp(other.at, share),
            left: self.left.lerp(other.left, share).normalize_or(self.left),
            half_mm: mix(self.half_mm, other.half_mm),
            depth_mm: mix(self.depth_mm, other.depth_mm),
        }
    }
}

/// Steps of a rounded end.
const CAP_STEPS: u8 = 10;

/// The ribs of a run from tip to tip; empty if it has no length.
pub(crate) fn ribs(run: &Run) -> Vec<Rib> {
    let mut all = core(run);
    capped(&mut all, run.start == EndShape::Round, run.end == EndShape::Round);
    let tip = all.first().map_or(0.0, |rib| rib.along_mm);
    all.iter_mut().for_each(|rib| rib.along_mm -= tip);
    all
}

/// The centre line of a run, from its first point to its last; arcs in small steps.
pub(crate) fn centre_line(run: &Run) -> Vec<DVec2> {
    core(run).into_iter().map(|rib| rib.at).collect()
}

/// The ribs of a run as an opening run measures it. Round ends are there only where the axis has them: one
/// that joins another run is none.
pub(crate) fn ribs_on(run: &Run, axis: &Axis) -> Vec<Rib> {
    let mut all = core(run);
    let (Some(first), Some(last)) = (all.first().copied(), all.last().copied()) else { return all };
    let (Some(start), Some(end)) = (axis.points.first(), axis.points.last()) else { return all };
    // How far the axis goes on beyond the first and the last point of the run.
    let before_mm = (first.at - start.at).dot(forward(&first));
    let beyond_mm = (end.at - last.at).dot(forward(&last));
    let is_free = |shape, out_mm: f64, root: &Rib| shape == EndShape::Round && out_mm > 0.5 * root.half_mm;
    capped(&mut all, is_free(run.start, before_mm, &first), is_free(run.end, beyond_mm, &last));
    all.iter_mut().for_each(|rib| rib.along_mm += before_mm);
    all
}

/// The ribs between the first and the last point of a run, which is at 0.
fn core(run: &Run) -> Vec<Rib> {
    let mut all: Vec<Rib> = Vec::new();
    let mut along = 0.0;
    for pair in run.points.windows(2) {
        piece(pair[0], pair[1], &mut along, &mut all);
    }
    all
}

/// Adds rounded ends.
fn capped(all: &mut Vec<Rib>, start: bool, end: bool) {
    let (Some(first), Some(last)) = (all.first().copied(), all.last().copied()) else { return };
    if start {
        let cap = (0..CAP_STEPS).map(|step| cap_rib(&first, -1.0, step));
        all.splice(0..0, cap);
    }
    if end {
        all.extend((0..CAP_STEPS).rev().map(|step| cap_rib(&last, 1.0, step)));
    }
}

/// Unit vector along the run.
fn forward(rib: &Rib) -> DVec2 {
    -rib.left.perp()
}

/// A rib of a rounded end; step 0 is the tip.
fn cap_rib(root: &Rib, sign: f64, step: u8) -> Rib {
    let angle = std::f64::consts::FRAC_PI_2 * f64::from(step) / f64::from(CAP_STEPS);
    let forward = forward(root) * sign;
    let out_mm = root.half_mm * angle.cos();
    Rib {
        along_mm: root.along_mm + sign * out_mm,
        at: root.at + forward * out_mm,
        half_mm: root.half_mm * angle.sin(),
        ..*root
    }
}

/// Adds the ribs of one piece of a run.
fn piece(a: RunPoint, b: RunPoint, along: &mut f64, all: &mut Vec<Rib>) {
    let chord = b.at - a.at;
    let length = chord.length();
    if length == 0.0 {
        return;
    }
    // The bulge is the tangent of a quarter of the arc's angle.
    let sweep_rad = 4.0 * a.bulge.atan();
    let steps = (sweep_rad.abs() / 0.1).ceil().max(1.0);
    let arc_mm = if a.bulge == 0.0 { length } else { length * (sweep_rad / 2.0) / (sweep_rad / 2.0).sin() };
    let mut step = 0.0;
    while step <= steps {
        let share = step / steps;
        // The direction turns evenly along an arc, from half the sweep before the chord's to half after.
        let forward = DVec2::from_angle(sweep_rad * (share - 0.5)).rotate(chord / length);
        let at = if a.bulge == 0.0 {
            a.at.lerp(b.at, share)
        } else {
            // A chord from the start of the arc: half its angle, so half its direction.
            let part = DVec2::from_angle(sweep_rad * (share - 1.0) / 2.0).rotate(chord / length);
            let chord_mm = length * (sweep_rad * share / 2.0).sin() / (sweep_rad / 2.0).sin();
            a.at + part * chord_mm
        };
        all.push(Rib {
            along_mm: *along + arc_mm * share,
            at,
            left: forward.perp(),
            half_mm: (a.width_mm + (b.width_mm - a.width_mm) * share) / 2.0,
            depth_mm: a.depth_mm + (b.depth_mm - a.depth_mm) * share,
        });
        step += 1.0;
    }
    *along += arc_mm;
}

/// The part of a ribbon between two places along it.
pub(crate) fn between(ribs: &[Rib], from_mm: f64, to_mm: f64) -> Vec<Rib> {
    let mut cut = Vec::new();
    for pair in ribs.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let length = b.along_mm - a.along_mm;
        if b.along_mm < from_mm || a.along_mm > to_mm {
            continue;
        }
        if length <= 0.0 {
            // A corner has two ribs: what goes on from it starts with the second.
            cut.extend((!cut.is_empty()).then_some(b));
            continue;
        }
        let start = ((from_mm - a.along_mm) / length).clamp(0.0, 1.0);
        let end = ((to_mm - a.along_mm) / length).clamp(0.0, 1.0);
        if cut.is_empty() || start > 0.0 {
            cut.push(a.between(&b, start));
        }
        cut.push(a.between(&b, end));
    }
    cut
}

/// The four corners of what the channel fills on the outside of a corner between its two ribs; `None` if
/// they are not those of one corner.
pub(crate) fn wedge(before: &Rib, after: &Rib) -> Option<[DVec2; 4]> {
    let turn = before.left.perp_dot(after.left);
    if after.along_mm > before.along_mm || turn.abs() < 1e-9 {
        return None;
    }
    let out = if turn > 0.0 { -before.half_mm } else { before.half_mm };
    let middle = (before.left + after.left).normalize_or(before.left);
    let at = before.at;
    Some([at, at + before.left * out, at + middle * out, at + after.left * out])
}

/// The rib at a place along a ribbon, the nearest end's beyond it.
pub(crate) fn at(ribs: &[Rib], along_mm: f64) -> Option<Rib> {
    let after = ribs.partition_point(|rib| rib.along_mm < along_mm);
    let (Some(a), Some(b)) = (ribs.get(after.saturating_sub(1)), ribs.get(after)) else {
        return ribs.last().copied();
    };
    let length = b.along_mm - a.along_mm;
    Some(if length <= 0.0 { *b } else { a.between(b, (along_mm - a.along_mm) / length) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use keepside_model::Project;

    fn straight() -> Run {
        // From (40, 60) to (160, 60), 6 mm wide, round ends.
        Project::blank().part.runs.into_values().next().unwrap()
    }

    #[test]
    fn a_round_end_adds_its_radius_to_the_length() {
        let ribs = ribs(&straight());
        let (first, last) = (ribs[0], ribs[ribs.len() - 1]);
        assert!((first.along_mm, last.along_mm) == (0.0, 126.0), "{first:?} {last:?}");
        assert!(first.at.distance(DVec2::new(37.0, 60.0)) < 1e-12 && first.half_mm < 1e-12);
        assert!(ribs.windows(2).all(|pair| pair[0].along_mm <= pair[1].along_mm));
        let middle = at(&ribs, 63.0).unwrap();
        assert!(middle.at.distance(DVec2::new(100.0, 60.0)) < 1e-9 && middle.half_mm == 3.0);
        // In the round end the width follows the circle: half of it at 3 − √(9 − 1) from the tip.
        let near_tip = at(&ribs, 3.0 - 8.0_f64.sqrt()).unwrap();
        assert!((near_tip.half_mm - 1.0).abs() < 0.1, "{near_tip:?}");
    }

    #[test]
    fn an_end_that_joins_another_run_is_not_rounded() {
        use keepside_engine::opening::PlanPoint;
        let axis = |from: f64, to: f64| Axis {
            run: keepside_model::Id(1),
            length_mm: to - from,
            points: [from, to]
                .map(|x| PlanPoint { along_mm: x - from, at: DVec2::new(x, 60.0), direction: DVec2::X })
                .to_vec(),
        };
        let ends = |ribs: &[Rib]| {
            let (first, last) = (ribs[0], ribs[ribs.len() - 1]);
            [(first.along_mm, first.at.x, first.half_mm), (last.along_mm, last.at.x, last.half_mm)]
        };
        // Both ends free: from tip to tip, as it is drawn.
        let free = ribs_on(&straight(), &axis(37.0, 163.0));
        assert_eq!(free, ribs(&straight()));
        // The start joins another run at its first point.
        let [start, end] = ends(&ribs_on(&straight(), &axis(40.0, 163.0)));
        assert_eq!(start, (0.0, 40.0, 3.0));
        assert!((end.0, end.1) == (123.0, 163.0) && end.2 < 1e-12, "{end:?}");
    }

    #[test]
    fn a_stretch_begins_and_ends_where_it_says() {
        let cut = between(&ribs(&straight()), 20.0, 50.5);
        assert_eq!((cut[0].along_mm, cut[cut.len() - 1].along_mm), (20.0, 50.5));
    }

    #[test]
    fn a_stretch_over_a_corner_has_both_its_ribs() {
        let mut run = straight();
        let corner = RunPoint { at: DVec2::new(160.0, 100.0), ..run.points[1] };
        run.points.push(corner);
        let cut = between(&ribs(&run), 100.0, 140.0);
        let at_corner: Vec<DVec2> = cut
            .iter()
            .filter(|rib| rib.at.distance(corner.at - 40.0 * DVec2::Y) < 1e-9)
            .map(|rib| rib.left)
            .collect();
        assert_eq!(at_corner, [DVec2::Y, -DVec2::X]);
        let wedge = wedge(&cut[1], &cut[2]).unwrap();
        // To the right of a left turn, as far out as the channel is wide.
        let out = DVec2::new(160.0, 60.0) + 3.0 * DVec2::new(0.5_f64.sqrt(), -(0.5_f64.sqrt()));
        assert!(wedge[2].distance(out) < 1e-9, "{wedge:?}");
        assert!(wedge_of_straight(&cut).is_none());
    }

    fn wedge_of_straight(ribs: &[Rib]) -> Option<[DVec2; 4]> {
        wedge(&ribs[0], &ribs[1])
    }

    #[test]
    fn an_arc_keeps_its_radius() {
        let mut run = straight();
        run.points[0].bulge = 0.5;
        let ribs = ribs(&run);
        // Bulge 0.5 over a chord of 120 mm: sagitta 30 mm, radius (60² + 30²) / (2 · 30) = 75 mm.
        let centre = DVec2::new(100.0, 60.0 + 45.0);
        let on_arc = ribs.iter().filter(|rib| rib.half_mm == 3.0);
        for rib in on_arc {
            assert!((rib.at.distance(centre) - 75.0).abs() < 1e-9, "{rib:?}");
            assert!((rib.left.dot(centre - rib.at) - 75.0).abs() < 1e-9, "left is towards the centre");
        }
    }

    #[test]
    fn a_run_without_length_has_no_ribs() {
        let mut run = straight();
        run.points.truncate(1);
        assert!(ribs(&run).is_empty());
    }
}
