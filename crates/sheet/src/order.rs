//! The order in which holes are drilled: few changes of the drill, and short ways between.

use glam::DVec2;

use crate::holes::HoleRow;

/// Beyond this many holes of one drill the way is not shortened further: each round looks at every pair.
const MOST_PAIRS: usize = 400;

/// The rows of a hole table in the order of drilling, as indices: drill by drill, the thinnest first, each
/// along a short way that begins near the datum; what cannot be drilled comes last.
pub fn drilling_order(rows: &[HoleRow]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..rows.len()).collect();
    let drill_mm = |row: usize| rows[row].drill_mm.unwrap_or(f64::INFINITY);
    order.sort_by(|a, b| drill_mm(*a).total_cmp(&drill_mm(*b)));
    order
        .chunk_by_mut(|a, b| drill_mm(*a) == drill_mm(*b))
        .for_each(|same_drill| shorten(same_drill, |row| rows[row].from_datum_mm));
    order
}

/// Puts stops into the order of a short way from the origin: always on to the nearest, then pieces of the
/// way are turned round as long as that makes it shorter.
fn shorten(stops: &mut [usize], place: impl Fn(usize) -> DVec2) {
    let mut from = DVec2::ZERO;
    for done in 0..stops.len() {
        let to_mm2 = |stop: &usize| place(*stop).distance_squared(from);
        let nearest = (done..stops.len()).min_by(|a, b| to_mm2(&stops[*a]).total_cmp(&to_mm2(&stops[*b])));
        stops.swap(done, nearest.unwrap_or(done));
        from = place(stops[done]);
    }
    if stops.len() > MOST_PAIRS {
        return;
    }
    // Each turn shortens the way, so this ends; the count only bounds the time.
    for _ in 0..50 {
        let mut is_shorter = false;
        for first in 0..stops.len() {
            for last in first + 1..stops.len() {
                let before = first.checked_sub(1).map_or(DVec2::ZERO, |index| place(stops[index]));
                let after = stops.get(last + 1).map(|stop| place(*stop));
                let (low, high) = (place(stops[first]), place(stops[last]));
                let joined_mm =
                    |a: DVec2, b: DVec2| before.distance(a) + after.map_or(0.0, |after| b.distance(after));
                // A micrometre, so that ties do not turn for ever.
                if joined_mm(high, low) < joined_mm(low, high) - 1e-3 {
                    stops[first..=last].reverse();
                    is_shorter = true;
                }
            }
        }
        if !is_shorter {
            break;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_of_stops_is_gone_along_once_and_a_ring_without_crossings() {
        let places: Vec<DVec2> = [30.0, 10.0, 50.0, 20.0, 40.0].map(|x| DVec2::new(x, 5.0)).to_vec();
        let mut stops: Vec<usize> = (0..places.len()).collect();
        shorten(&mut stops, |stop| places[stop]);
        assert_eq!(stops, [1, 3, 0, 4, 2]);

        let ring: Vec<DVec2> = (0..12_u32)
            .map(|hour| 40.0 * DVec2::from_angle(f64::from(hour * 5 % 12) * std::f64::consts::FRAC_PI_6))
            .collect();
        let mut stops: Vec<usize> = (0..ring.len()).collect();
        shorten(&mut stops, |stop| ring[stop]);
        let way_mm: f64 = stops.windows(2).map(|pair| ring[pair[0]].distance(ring[pair[1]])).sum();
        // Eleven chords of 30°: 2 · 40 · sin 15° each.
        assert!(way_mm < 11.0 * 20.71, "{way_mm}");
    }
}
