//! What stays bent after everything has been released: bumps, kinks, flatness.

use keepside_model::{Id, Project};

use crate::opening::mesh::StraightRun;
use crate::opening::result::BumpAt;

/// Turns a shape so that its ends lie level and moves its start to z = 0.
pub(crate) fn level(shape: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let (Some(first), Some(last)) = (shape.first(), shape.last()) else { return Vec::new() };
    let angle = (last.1 - first.1).atan2(last.0 - first.0);
    let (sin, cos) = angle.sin_cos();
    let turned = shape.iter().map(|(x, z)| {
        let (x, z) = (x - first.0, z - first.1);
        (cos * x + sin * z, cos * z - sin * x)
    });
    turned.collect()
}

/// Distance between the closest pair of parallel lines that contain the shape, mm: the smallest width
/// of its convex hull, which one edge of the hull always attains.
pub(crate) fn flatness_mm(shape: &[(f64, f64)]) -> f64 {
    let hull = hull(shape);
    if hull.len() < 3 {
        return 0.0;
    }
    let mut smallest = f64::INFINITY;
    for (i, from) in hull.iter().enumerate() {
        let to = hull[(i + 1) % hull.len()];
        let (ex, ez) = (to.0 - from.0, to.1 - from.1);
        let length = ex.hypot(ez);
        if length > 0.0 {
            let far = hull.iter().map(|p| (ex * (p.1 - from.1) - ez * (p.0 - from.0)).abs() / length);
            smallest = smallest.min(far.fold(0.0, f64::max));
        }
    }
    if smallest.is_finite() { smallest } else { 0.0 }
}

/// Convex hull, counter-clockwise (Andrew's monotone chain).
fn hull(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let chain = |points: &mut dyn Iterator<Item = (f64, f64)>| {
        let mut side: Vec<(f64, f64)> = Vec::new();
        for p in points {
            while let [.., a, b] = side[..] {
                if (b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0) > 0.0 {
                    break;
                }
                side.pop();
            }
            side.push(p);
        }
        side.pop();
        side
    };
    let mut lower = chain(&mut sorted.iter().copied());
    lower.extend(chain(&mut sorted.iter().rev().copied()));
    lower
}

/// The residual shape's place at a place along the undeformed run.
fn at(shape: &[(f64, f64)], nodes_mm: &[f64], along_mm: f64) -> (f64, f64) {
    let last = nodes_mm.len() - 2;
    let i = nodes_mm.partition_point(|x| *x <= along_mm).saturating_sub(1).min(last);
    let t = ((along_mm - nodes_mm[i]) / (nodes_mm[i + 1] - nodes_mm[i])).clamp(0.0, 1.0);
    (shape[i].0 + t * (shape[i + 1].0 - shape[i].0), shape[i].1 + t * (shape[i + 1].1 - shape[i].1))
}

/// Bump and kink at every place on a piece of the part with nodes at `nodes_mm`: the height over a straightedge of the length set in the limits, laid
/// across the place, and the change of direction from one channel width before to one behind.
pub(crate) fn bumps(
    shape: &[(f64, f64)],
    nodes_mm: &[f64],
    places: &[(Id, f64)],
    project: &Project,
    run: &StraightRun,
) -> Vec<BumpAt> {
    let reach = 0.5 * project.limits.straightedge_mm;
    let (Some(&start_mm), Some(&end_mm)) = (nodes_mm.first(), nodes_mm.last()) else { return Vec::new() };
    let one = |&(item, along_mm): &(Id, f64)| {
        let from = at(shape, nodes_mm, (along_mm - reach).max(start_mm));
        let to = at(shape, nodes_mm, (along_mm + reach).min(end_mm));
        let here = at(shape, nodes_mm, along_mm);
        let (ex, ez) = (to.0 - from.0, to.1 - from.1);
        let length = ex.hypot(ez);
        let over =
            if length > 0.0 { (ez * (here.0 - from.0) - ex * (here.1 - from.1)) / length } else { 0.0 };
        let (width_mm, _) = run.channel_at(along_mm);
        let behind = at(shape, nodes_mm, (along_mm - width_mm).max(start_mm));
        let ahead = at(shape, nodes_mm, (along_mm + width_mm).min(end_mm));
        let slope = |a: (f64, f64), b: (f64, f64)| (b.1 - a.1).atan2(b.0 - a.0);
        let kink =
            if behind == here || ahead == here { 0.0 } else { slope(here, ahead) - slope(behind, here) };
        BumpAt { item, run: run.run, along_mm, height_mm: over, kink_deg: kink.to_degrees() }
    };
    places.iter().filter(|(_, along_mm)| (start_mm..=end_mm).contains(along_mm)).map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn flatness_of_a_roof_is_its_height() {
        let roof = [(0.0, 0.0), (50.0, 4.0), (100.0, 0.0)];
        assert!((flatness_mm(&roof) - 4.0).abs() < 1e-12);
        assert_eq!(flatness_mm(&[(0.0, 0.0), (10.0, 0.0), (20.0, 0.0)]), 0.0);
    }

    #[test]
    fn levelling_keeps_distances() {
        let shape = [(1.0, 2.0), (4.0, 6.0), (7.0, 10.0)];
        let level = level(&shape);
        assert!((level[2].0 - 10.0).abs() < 1e-12 && level[2].1.abs() < 1e-12);
        assert!((level[1].0 - 5.0).abs() < 1e-12);
    }
}
