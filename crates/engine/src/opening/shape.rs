//! What stays bent after everything has been released: bumps, kinks, flatness.

use glam::{DMat3, DVec2, DVec3};
use keepside_model::Project;

use crate::network::Network;
use crate::opening::result::{BumpAt, Residual};
use crate::opening::setup::Layout;

/// A piece of the released part laid level.
#[derive(Clone, Debug)]
pub(crate) struct Laid {
    /// Whether each node of the network belongs to it.
    is_in: Vec<bool>,
    /// Place of every node, mm; z out of flat, positive towards the moving half.
    places: Vec<DVec3>,
    /// Distance between the two closest parallel planes that contain it, mm.
    pub(crate) flatness_mm: f64,
}

impl Laid {
    /// Lays a piece on the plane that fits it best. `released` is known up to a motion as a whole, but
    /// lies about as it did in the mould.
    pub(crate) fn new(network: &Network, released: &[DVec3], nodes: &[usize]) -> Self {
        let mut is_in = vec![false; released.len()];
        nodes.iter().for_each(|node| is_in[*node] = true);
        let points: Vec<DVec3> = nodes.iter().map(|node| released[*node]).collect();
        let count = points.len().max(1) as f64;
        let centre = points.iter().sum::<DVec3>() / count;
        let mut spread = DMat3::ZERO;
        for point in &points {
            let away = *point - centre;
            spread += DMat3::from_cols(away * away.x, away * away.y, away * away.z);
        }
        let turn = level(network, nodes, &axes(spread));
        let mut places: Vec<DVec3> = released.iter().map(|point| turn * (*point - centre)).collect();
        let of_piece: Vec<DVec3> = nodes.iter().map(|node| places[*node]).collect();
        let flatness_mm = zone_mm(&of_piece);
        let low = of_piece.iter().map(|point| point.z).fold(f64::INFINITY, f64::min);
        if low.is_finite() {
            places.iter_mut().for_each(|point| point.z -= low);
        }
        Self { is_in, places, flatness_mm }
    }

    /// The out-of-flat height along every run, of the stretches that belong to the piece.
    pub(crate) fn residuals(&self, network: &Network) -> Vec<Residual> {
        let mut residuals = Vec::new();
        for (path, stations) in network.paths.iter().zip(&network.stations) {
            let points: Vec<(f64, f64)> = stations
                .iter()
                .filter(|(_, node)| self.is_in[*node])
                .map(|&(along_mm, node)| (along_mm, self.places[node].z))
                .collect();
            if points.len() > 1 {
                residuals.push(Residual { run: path.run, points });
            }
        }
        residuals
    }

    /// Bump and kink at every sprue and feature on the piece: the height over a straightedge of the
    /// length set in the limits, laid along the run across the place, and the change of direction from
    /// one channel width before to one behind.
    pub(crate) fn bumps(&self, project: &Project, layout: &Layout) -> Vec<BumpAt> {
        let network = &layout.network;
        let reach_mm = 0.5 * project.limits.straightedge_mm;
        let mut bumps = Vec::new();
        for point in &layout.points {
            let Some(item) = point.name.what.item() else { continue };
            let stations: Vec<(f64, usize)> =
                network.stations[point.path].iter().copied().filter(|s| self.is_in[s.1]).collect();
            let (Some(first), Some(last)) = (stations.first(), stations.last()) else { continue };
            if stations.len() < 2 || !(first.0..=last.0).contains(&point.along_mm) {
                continue;
            }
            let at = |along_mm: f64| {
                let along_mm = along_mm.clamp(first.0, last.0);
                let i = stations.partition_point(|s| s.0 <= along_mm).clamp(1, stations.len() - 1);
                let (from, to) = (stations[i - 1], stations[i]);
                let t = ((along_mm - from.0) / (to.0 - from.0)).clamp(0.0, 1.0);
                self.places[from.1].lerp(self.places[to.1], t)
            };
            let here = at(point.along_mm);
            let (from, to) = (at(point.along_mm - reach_mm), at(point.along_mm + reach_mm));
            let edge = (to - from).normalize_or(DVec3::X);
            // Upwards across the straightedge.
            let up = (DVec3::Z - edge * edge.z).normalize_or(DVec3::Z);
            let width_mm = network.paths[point.path].channel_at(point.along_mm).0;
            let behind = here - at(point.along_mm - width_mm);
            let ahead = at(point.along_mm + width_mm) - here;
            let slope = |way: DVec3| way.z.atan2(way.truncate().length());
            let is_end = behind == DVec3::ZERO || ahead == DVec3::ZERO;
            let kink = if is_end { 0.0 } else { slope(ahead) - slope(behind) };
            bumps.push(BumpAt {
                item,
                run: network.paths[point.path].run,
                along_mm: point.along_mm,
                height_mm: -(here - from).dot(up),
                kink_deg: kink.to_degrees(),
            });
        }
        bumps
    }
}

/// Principal axes of a symmetric matrix as columns, those of the largest extent first (Jacobi rotations).
fn axes(mut matrix: DMat3) -> DMat3 {
    let mut axes = DMat3::IDENTITY;
    for _ in 0..24 {
        for (p, q) in [(0, 1), (0, 2), (1, 2)] {
            let off = matrix.col(q)[p];
            if off.abs() < 1e-300 {
                continue;
            }
            let angle = 0.5 * (2.0 * off).atan2(matrix.col(q)[q] - matrix.col(p)[p]);
            let (sine, cosine) = angle.sin_cos();
            let mut turn = DMat3::IDENTITY;
            turn.col_mut(p)[p] = cosine;
            turn.col_mut(q)[q] = cosine;
            turn.col_mut(q)[p] = sine;
            turn.col_mut(p)[q] = -sine;
            matrix = turn.transpose() * matrix * turn;
            axes *= turn;
        }
    }
    let mut order = [0, 1, 2];
    order.sort_by(|a, b| matrix.col(*b)[*b].total_cmp(&matrix.col(*a)[*a]));
    DMat3::from_cols(axes.col(order[0]), axes.col(order[1]), axes.col(order[2]))
}

/// The rotation that lays a piece level, its upper side still up and the runs leading about as before.
fn level(network: &Network, nodes: &[usize], axes: &DMat3) -> DMat3 {
    let long = axes.col(0);
    // A piece that was straight in the mould has no plane of its own: it is kept upright.
    let plan: Vec<DVec2> = nodes.iter().map(|node| network.nodes[*node]).collect();
    let Some(&first) = plan.first() else { return DMat3::IDENTITY };
    let far = plan.iter().map(|at| *at - first).max_by(|a, b| a.length().total_cmp(&b.length()));
    let far = far.unwrap_or(DVec2::X);
    let beside = plan.iter().map(|at| (*at - first).perp_dot(far.normalize_or(DVec2::X)).abs());
    let is_straight = beside.fold(0.0, f64::max) < 1e-3 * far.length();
    let up = if is_straight { (DVec3::Z - long * long.z).normalize_or(DVec3::Z) } else { axes.col(2) };
    let up = if up.z < 0.0 { -up } else { up };
    let ahead = (DVec3::X - up * up.x).normalize_or(DVec3::Y.cross(up).normalize_or(DVec3::X));
    DMat3::from_cols(ahead, up.cross(ahead), up).transpose()
}

/// Distance between the closest two parallel planes that contain points which lie about level, mm: the
/// minimum zone of ISO 1101 flatness. The zone's height is convex in both tilts.
fn zone_mm(points: &[DVec3]) -> f64 {
    if points.len() < 3 {
        return 0.0;
    }
    let height = |a: f64, b: f64| {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for point in points {
            let z = point.z - a * point.x - b * point.y;
            low = low.min(z);
            high = high.max(z);
        }
        (high - low) / (1.0 + a * a + b * b).sqrt()
    };
    let span = |of: fn(&DVec3) -> f64| {
        let values = points.iter().map(of);
        values.clone().fold(f64::NEG_INFINITY, f64::max) - values.fold(f64::INFINITY, f64::min)
    };
    let tall = span(|point| point.z);
    // A tilt beyond this lifts one end higher than the piece is tall.
    let most = |long: f64| if long > 1e-6 { (tall / long).min(1.0) } else { 0.0 };
    let (most_x, most_y) = (most(span(|point| point.x)), most(span(|point| point.y)));
    let inner = |a: f64| golden(-most_y, most_y, |b| height(a, b));
    golden(-most_x, most_x, inner)
}

/// Least value of a convex function on a range, by golden sections.
fn golden(mut low: f64, mut high: f64, of: impl Fn(f64) -> f64) -> f64 {
    if high <= low {
        return of(low);
    }
    let share = 0.5 * (5.0_f64.sqrt() - 1.0);
    let (mut a, mut b) = (high - share * (high - low), low + share * (high - low));
    let (mut at_a, mut at_b) = (of(a), of(b));
    for _ in 0..28 {
        if at_a < at_b {
            (high, b, at_b) = (b, a, at_a);
            a = high - share * (high - low);
            at_a = of(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = low + share * (high - low);
            at_b = of(b);
        }
    }
    at_a.min(at_b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn flatness_of_a_roof_is_its_height() {
        let roof = [(0.0, 0.0), (50.0, 4.0), (100.0, 0.0)].map(|(x, z)| DVec3::new(x, 0.0, z));
        assert!((zone_mm(&roof) - 4.0).abs() < 1e-4);
        let tilted = [(0.0, 0.0), (50.0, 2.0), (100.0, 4.0)].map(|(x, z)| DVec3::new(x, 0.0, z));
        assert!(zone_mm(&tilted) < 1e-4);
    }

    #[test]
    fn flatness_of_a_twisted_square_is_its_whole_height() {
        // Corners up, down, up, down by 1: no plane does better than the middle one.
        let corners = [(0.0, 0.0, 1.0), (10.0, 0.0, -1.0), (10.0, 10.0, 1.0), (0.0, 10.0, -1.0)];
        let twisted = corners.map(|(x, y, z)| DVec3::new(x, y, z));
        assert!((zone_mm(&twisted) - 2.0).abs() < 1e-4);
    }

    #[test]
    fn principal_axes_are_those_of_the_extents() {
        let turn = DMat3::from_rotation_z(0.3) * DMat3::from_rotation_x(0.7);
        let matrix = turn * DMat3::from_diagonal(DVec3::new(1.0, 9.0, 4.0)) * turn.transpose();
        let axes = axes(matrix);
        for (got, wanted) in [(0, 1), (1, 2), (2, 0)] {
            assert!((axes.col(got).dot(turn.col(wanted)).abs() - 1.0).abs() < 1e-9);
        }
    }
}
