//! Nodes along the paths, finest at the marks, and members between them.

use glam::DVec2;

use crate::network::joint::Meeting;
use crate::network::{Member, Network, Path};

/// Element lengths along a path, mm.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sizes {
    /// At a mark.
    pub(crate) fine_mm: f64,
    /// The longest.
    pub(crate) coarse_mm: f64,
}

/// Nodes closer than this are one, mm.
const SAME_MM: f64 = 1e-6;

impl Network {
    /// Cuts the paths into members: a node at every mark, corner and meeting.
    ///
    /// `marks` are places along each path where something acts; `sizes` belong to the paths.
    pub(crate) fn new(paths: Vec<Path>, meetings: &[Meeting], marks: &[Vec<f64>], sizes: &[Sizes]) -> Self {
        let mut nodes: Vec<DVec2> = Vec::new();
        let mut stations: Vec<Vec<(f64, usize)>> = Vec::new();
        for (index, path) in paths.iter().enumerate() {
            let mut marks = marks[index].clone();
            marks.extend(meetings.iter().flatten().filter(|place| place.0 == index).map(|place| place.1));
            let Sizes { fine_mm, coarse_mm } = sizes[index];
            // A chord of a quarter of the radius stays within a hundredth of it.
            let coarse_mm = coarse_mm.min((0.25 * path.tightest_mm()).max(0.1 * fine_mm));
            let places = along(path.length_mm, &marks, &path.corners(), fine_mm.min(coarse_mm), coarse_mm);
            let first = nodes.len();
            nodes.extend(places.iter().map(|place| path.at(*place).0));
            stations.push(places.into_iter().zip(first..).collect());
        }
        let mut same: Vec<usize> = (0..nodes.len()).collect();
        let mut links: Vec<(usize, usize)> = Vec::new();
        let node_at = |(path, along_mm): (usize, f64)| {
            let near = |station: &&(f64, usize)| (station.0 - along_mm).abs();
            stations[path].iter().min_by(|a, b| near(a).total_cmp(&near(b))).map(|station| station.1)
        };
        let closed = paths.iter().zip(&stations).filter(|(path, _)| path.is_closed);
        for (_, stations) in closed {
            if let (Some(first), Some(last)) = (stations.first(), stations.last()) {
                join(&mut same, first.1, last.1);
            }
        }
        let mut met: Vec<usize> = Vec::new();
        for &[one, other] in meetings {
            let (Some(a), Some(b)) = (node_at(one), node_at(other)) else { continue };
            met.extend([a, b]);
            // Where centre lines meet but for the spacing of nodes they are made to meet.
            let reach_mm = 0.5 * sizes[one.0].fine_mm.min(sizes[other.0].fine_mm);
            if nodes[a].distance(nodes[b]) <= reach_mm {
                join(&mut same, a, b);
            } else {
                links.push((a, b));
            }
        }
        let mut members = members(&stations, &nodes, &mut same);
        for (a, b) in links {
            let (from, to) = (root(&mut same, a), root(&mut same, b));
            if from != to {
                members.push(Member { from, to, path: None, from_mm: 0.0, to_mm: 0.0, is_stiff: true });
            }
        }
        let mut met: Vec<usize> = met.into_iter().map(|node| root(&mut same, node)).collect();
        met.sort_unstable();
        met.dedup();
        for station in stations.iter_mut().flatten() {
            station.1 = root(&mut same, station.1);
        }
        let mut network = Self { paths, nodes, stations, members };
        network.stiffen(&met);
        network.drop_unused();
        network
    }

    /// Marks the members that lie within a junction of three arms or more.
    fn stiffen(&mut self, met: &[usize]) {
        let mut zones: Vec<(usize, f64, f64)> = Vec::new();
        for &node in met {
            let mut arms: Vec<(usize, f64, f64)> = Vec::new();
            for (path, stations) in self.stations.iter().enumerate() {
                for (index, &(along_mm, at)) in stations.iter().enumerate() {
                    if at == node {
                        let is_end = index == 0 || index + 1 == stations.len();
                        let width_mm = self.paths[path].channel_at(along_mm).0;
                        arms.push((path, along_mm, width_mm));
                        if !is_end {
                            arms.push((path, along_mm, width_mm));
                        }
                    }
                }
            }
            if arms.len() < 3 {
                continue;
            }
            for (index, &(path, along_mm, width_mm)) in arms.iter().enumerate() {
                let others = arms.iter().enumerate().filter(|(i, arm)| *i != index && arm.0 != path);
                let widest = others.map(|(_, arm)| arm.2).fold(0.0, f64::max);
                let widest = if widest > 0.0 { widest } else { width_mm };
                zones.push((path, along_mm, 0.5 * widest));
            }
        }
        for member in &mut self.members {
            let middle_mm = member.middle_mm();
            let is_within = |zone: &(usize, f64, f64)| {
                member.path == Some(zone.0) && (middle_mm - zone.1).abs() <= zone.2
            };
            member.is_stiff |= zones.iter().any(is_within);
        }
    }

    /// Leaves out the nodes that were joined to others.
    fn drop_unused(&mut self) {
        let mut number = vec![usize::MAX; self.nodes.len()];
        let mut kept = Vec::new();
        let used = self.members.iter().flat_map(|member| [member.from, member.to]);
        let mut used: Vec<usize> = used.collect();
        used.sort_unstable();
        used.dedup();
        for node in used {
            number[node] = kept.len();
            kept.push(self.nodes[node]);
        }
        for member in &mut self.members {
            (member.from, member.to) = (number[member.from], number[member.to]);
        }
        for stations in &mut self.stations {
            stations.iter_mut().for_each(|station| station.1 = number[station.1]);
            stations.retain(|station| station.1 != usize::MAX);
        }
        self.nodes = kept;
    }
}

/// The members along the paths; a piece whose ends have become one node is left out.
fn members(stations: &[Vec<(f64, usize)>], nodes: &[DVec2], same: &mut [usize]) -> Vec<Member> {
    let mut members = Vec::new();
    for (path, stations) in stations.iter().enumerate() {
        for pair in stations.windows(2) {
            let (from, to) = (root(same, pair[0].1), root(same, pair[1].1));
            if from != to && nodes[from].distance(nodes[to]) > SAME_MM {
                let (from_mm, to_mm) = (pair[0].0, pair[1].0);
                members.push(Member { from, to, path: Some(path), from_mm, to_mm, is_stiff: false });
            } else if from != to {
                join(same, from, to);
            }
        }
    }
    // A join made on the way may have moved a node that an earlier member used.
    members.iter_mut().for_each(|member: &mut Member| {
        (member.from, member.to) = (root(same, member.from), root(same, member.to));
    });
    members.retain(|member| member.from != member.to);
    members
}

/// The node that stands for all that are the same as `node`: the lowest.
fn root(same: &mut [usize], node: usize) -> usize {
    let mut at = node;
    while same[at] != at {
        same[at] = same[same[at]];
        at = same[at];
    }
    at
}

fn join(same: &mut [usize], a: usize, b: usize) {
    let (a, b) = (root(same, a), root(same, b));
    same[a.max(b)] = a.min(b);
}

/// Places of the nodes along a path: every mark and corner has one, elements are finest at the marks.
///
/// `fine_mm` is the element length at a mark, `coarse_mm` the longest; the length grows by a fifth of
/// the distance from the nearest mark.
fn along(length_mm: f64, marks: &[f64], corners: &[f64], fine_mm: f64, coarse_mm: f64) -> Vec<f64> {
    let mut stops: Vec<f64> =
        marks.iter().chain(corners).copied().filter(|m| (0.0..=length_mm).contains(m)).collect();
    stops.extend([0.0, length_mm]);
    stops.sort_by(f64::total_cmp);
    stops.dedup_by(|b, a| *b - *a < 0.2 * fine_mm);
    // The ends stay whatever mark stands next to them.
    stops.retain(|stop| *stop > 0.0 && length_mm - stop > 0.2 * fine_mm.min(length_mm));
    stops.insert(0, 0.0);
    stops.push(length_mm);
    let size = |along: f64| {
        let nearest = marks.iter().map(|m| (m - along).abs()).fold(f64::INFINITY, f64::min);
        (fine_mm + 0.2 * nearest).min(coarse_mm)
    };
    let mut along_mm = vec![0.0];
    for pair in stops.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        // Elements between the stops = integral of ds/size; nodes at equal parts of that integral.
        let pieces = (((to - from) / fine_mm * 4.0).ceil() as usize).clamp(8, 100_000);
        let step = (to - from) / pieces as f64;
        let density: Vec<f64> = (0..pieces).map(|i| step / size(from + (i as f64 + 0.5) * step)).collect();
        let total: f64 = density.iter().sum();
        let count = (total.ceil() as usize).max(1);
        let (mut sum, mut next) = (0.0, 1);
        for (i, part) in density.iter().enumerate() {
            while next < count && sum + part >= next as f64 / count as f64 * total {
                let t = (next as f64 / count as f64 * total - sum) / part;
                along_mm.push(from + (i as f64 + t) * step);
                next += 1;
            }
            sum += part;
        }
        along_mm.push(to);
    }
    along_mm
}
