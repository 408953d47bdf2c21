//! Where runs meet.

use glam::DVec2;

use crate::network::Path;

/// Two places that are one in the part: the index of a path and the place along it, mm.
pub(crate) type Meeting = [(usize, f64); 2];

/// Room that is left between a run's end and another's wall and still counts as touching, mm.
const TOUCH_MM: f64 = 1e-6;

/// Finds where paths meet: an end in another run's channel, or centre lines that cross. Ends that join
/// lose their round cap.
pub(crate) fn meetings(paths: &mut [Path]) -> Vec<Meeting> {
    let mut meetings: Vec<Meeting> = Vec::new();
    let mut joined: Vec<(usize, bool)> = Vec::new();
    let mut points: Vec<(usize, DVec2, usize, DVec2)> = Vec::new();
    for one in 0..paths.len() {
        for (which, (along_mm, at, cap_mm)) in paths[one].ends().into_iter().enumerate() {
            for other in 0..paths.len() {
                let place = if other == one {
                    own_channel(&paths[one], along_mm, at)
                } else {
                    let (place, distance_mm) = paths[other].nearest(at);
                    let reach_mm = 0.5 * paths[other].channel_at(place).0 + cap_mm + TOUCH_MM;
                    (distance_mm <= reach_mm).then_some(place)
                };
                if let Some(place) = place {
                    points.push((one, at, other, paths[other].at(place).0));
                    joined.push((one, which == 0));
                }
            }
        }
        for other in one..paths.len() {
            for (at_one, at_other) in crossings(paths, one, other) {
                points.push((one, paths[one].at(at_one).0, other, paths[other].at(at_other).0));
            }
        }
    }
    for (path, at_start) in joined {
        paths[path].join_end(at_start);
    }
    // Places along once the caps are gone.
    for (one, at_one, other, at_other) in points {
        let along = |path: usize, at: DVec2, avoid: Option<f64>| place_of(&paths[path], at, avoid);
        let first = along(one, at_one, None);
        let second = along(other, at_other, (one == other).then_some(first));
        let same = |a: (usize, f64), b: (usize, f64)| {
            a.0 == b.0 && (a.1 - b.1).abs() < 0.25 * paths[a.0].channel_at(a.1).0
        };
        let (a, b) = ((one, first), (other, second));
        let is_known = meetings.iter().any(|known| {
            (same(known[0], a) && same(known[1], b)) || (same(known[0], b) && same(known[1], a))
        });
        if !is_known {
            meetings.push([a, b]);
        }
    }
    meetings
}

/// Place along a path of a point on its centre line; of a path that comes by twice, the one away from
/// `avoid`.
fn place_of(path: &Path, at: DVec2, avoid: Option<f64>) -> f64 {
    let Some(avoid) = avoid else { return path.nearest(at).0 };
    let width_mm = path.channel_at(avoid).0;
    let far = |place: f64| (place - avoid).abs() > width_mm;
    nearest_where(path, at, far).map_or_else(|| path.nearest(at).0, |(place, _)| place)
}

/// Where an end of a path lies in the channel of the same path's other parts.
fn own_channel(path: &Path, along_mm: f64, at: DVec2) -> Option<f64> {
    let width_mm = path.channel_at(along_mm).0;
    // Farther along than it could be by a bend of the channel on its own.
    let far = |place: f64| (place - along_mm).abs() > 4.0 * width_mm;
    let (place, distance_mm) = nearest_where(path, at, far)?;
    (distance_mm <= 0.5 * path.channel_at(place).0).then_some(place)
}

fn nearest_where(path: &Path, at: DVec2, wanted: impl Fn(f64) -> bool) -> Option<(f64, f64)> {
    let chords = path.chords();
    let foot = |pair: &[(f64, DVec2)]| {
        let (from, to) = (pair[0], pair[1]);
        let along = to.1 - from.1;
        let t = ((at - from.1).dot(along) / along.length_squared()).clamp(0.0, 1.0);
        (from.0 + t * (to.0 - from.0), (from.1 + along * t).distance(at))
    };
    let places = chords.windows(2).map(foot).filter(|(place, _)| wanted(*place));
    places.min_by(|a, b| a.1.total_cmp(&b.1))
}

/// Places along two paths, which may be the same, where their centre lines cross.
fn crossings(paths: &[Path], one: usize, other: usize) -> Vec<(f64, f64)> {
    let (first, second) = (paths[one].chords(), paths[other].chords());
    let mut found = Vec::new();
    for (i, a) in first.windows(2).enumerate() {
        // A path may cross itself only between pieces that are not neighbours.
        let from = if one == other { i + 2 } else { 0 };
        for b in second.windows(2).skip(from) {
            let (along_a, along_b) = (a[1].1 - a[0].1, b[1].1 - b[0].1);
            let sine = along_a.perp_dot(along_b);
            if sine.abs() <= 1e-9 * along_a.length() * along_b.length() {
                continue;
            }
            let between = b[0].1 - a[0].1;
            let (t, s) = (between.perp_dot(along_b) / sine, between.perp_dot(along_a) / sine);
            if !(0.0..=1.0).contains(&t) || !(0.0..=1.0).contains(&s) {
                continue;
            }
            let (at_one, at_other) = (a[0].0 + t * (a[1].0 - a[0].0), b[0].0 + s * (b[1].0 - b[0].0));
            // Where a closed path's ends meet is told by its ends.
            let is_seam = one == other && {
                let apart = (at_one - at_other).abs();
                apart < 1e-3 || (paths[one].is_closed && paths[one].length_mm - apart < 1e-3)
            };
            if !is_seam {
                found.push((at_one, at_other));
            }
        }
    }
    found
}
