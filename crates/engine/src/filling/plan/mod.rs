//! The part as melt sees it: chains of short stretches between junctions, ends and gates.

#[cfg(test)]
mod tests;

use glam::DVec2;
use keepside_model::{Half, Id, Project};

use super::obstacle::{Obstacle, standing};
use super::result::NotFilled;
use crate::beam::ChannelShape;
use crate::network::{self, Network, Path, Sizes};

/// The length that stretches should have, mm.
const STRETCH_MM: f64 = 3.0;

/// How many stretches a part is cut into at most, but for those that corners and junctions ask for.
const MOST_STRETCHES: f64 = 400.0;

/// Rounded edges are measured in chords of this angle, rad: a section of 6 × 3 mm with edges of 1.5 mm is then
/// 0.01 % too small.
const ARC_STEP_RAD: f64 = std::f64::consts::PI / 90.0;

/// A short piece of a run.
#[derive(Clone, Debug)]
pub(super) struct Stretch {
    /// Places along the run of both ends, mm.
    pub(super) from_mm: f64,
    pub(super) to_mm: f64,
    /// Rectangle of the section's area, mm: mean width and depth.
    pub(super) sides_mm: [f64; 2],
    /// Logarithm of the section's wetted perimeter over that of the rectangle: times the power-law index, of
    /// what it resists more.
    pub(super) ln_rough: f64,
    /// Wetted perimeter, mm.
    pub(super) perimeter_mm: f64,
    /// Volume that fills, mm³: the stretch's share where runs overlap, less what stands in it.
    pub(super) volume_mm3: f64,
    /// What stands in it: a range of [`Plan::obstacles`].
    pub(super) obstacles: std::ops::Range<usize>,
    /// Share of its length beside which nothing stands.
    pub(super) free_share: f64,
}

impl Stretch {
    pub(super) fn length_mm(&self) -> f64 {
        self.to_mm - self.from_mm
    }
}

/// Stretches one after the other between two nodes.
#[derive(Clone, Debug)]
pub(super) struct Chain {
    /// Number of the path among [`Plan::paths`].
    pub(super) path: usize,
    pub(super) nodes: [usize; 2],
    /// Range of [`Plan::stretches`].
    pub(super) stretches: std::ops::Range<usize>,
    /// Volume of all of them, mm³.
    pub(super) volume_mm3: f64,
}

/// A gate that stands on the channel.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bore {
    pub(super) gate: Id,
    pub(super) node: usize,
    /// Diameter at the nozzle's end and at the channel, mm.
    pub(super) narrow_mm: f64,
    pub(super) wide_mm: f64,
    pub(super) length_mm: f64,
    pub(super) volume_mm3: f64,
}

/// The whole part.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    pub(super) paths: Vec<Path>,
    pub(super) stretches: Vec<Stretch>,
    /// What stands in the stretches: once for each that it reaches into.
    pub(super) obstacles: Vec<Obstacle>,
    /// What stands in the channel, by path and place along it.
    pub(super) standing: Vec<Obstacle>,
    pub(super) chains: Vec<Chain>,
    /// For each node how many chains end there.
    pub(super) degree: Vec<usize>,
    pub(super) bores: Vec<Bore>,
}

/// The least diameter of a bore at the nozzle, as a share of that at the channel: where draft leaves less,
/// the nozzle's own hole is that wide. Assumed.
const LEAST_NOZZLE: f64 = 0.3;

impl Plan {
    pub(super) fn new(project: &Project) -> Result<Self, NotFilled> {
        let (paths, meetings) = network::paths(project)?;
        if project.sprues.is_empty() {
            return Err(NotFilled::NoGate);
        }
        let boxes = boxes(&paths);
        let gates: Vec<(Id, usize, f64)> = project
            .sprues
            .iter()
            .filter_map(|(&id, sprue)| {
                let (path, along_mm) = place_on(&paths, &boxes, sprue.at)?;
                Some((id, path, along_mm))
            })
            .collect();
        if let (true, Some(&gate)) = (gates.is_empty(), project.sprues.keys().next()) {
            return Err(NotFilled::OffChannel { gate });
        }
        let whole_mm: f64 = paths.iter().map(|path| path.length_mm).sum();
        let coarse_mm = STRETCH_MM.max(whole_mm / MOST_STRETCHES);
        let marks: Vec<Vec<f64>> = (0..paths.len())
            .map(|path| gates.iter().filter(|gate| gate.1 == path).map(|gate| gate.2).collect())
            .collect();
        let sizes = vec![Sizes { fine_mm: coarse_mm, coarse_mm }; paths.len()];
        let network = Network::new(paths, &meetings, &marks, &sizes);
        let standing = standing(project, &network.paths, |at| place_on(&network.paths, &boxes, at));
        Ok(Self::of_network(project, network, &boxes, &gates, standing))
    }

    fn of_network(
        project: &Project,
        network: Network,
        boxes: &[Extent],
        gates: &[(Id, usize, f64)],
        standing: Vec<Obstacle>,
    ) -> Self {
        // Links between centre lines that meet without touching have neither length nor volume.
        let mut node_of: Vec<usize> = (0..network.nodes.len()).collect();
        for link in network.members.iter().filter(|member| member.path.is_none()) {
            let (keep, gone) = (node_of[link.from], node_of[link.to]);
            node_of.iter_mut().filter(|node| **node == gone).for_each(|node| *node = keep);
        }
        let mut ends = vec![0_usize; network.nodes.len()];
        let mut is_stop = vec![false; network.nodes.len()];
        for stations in &network.stations {
            for pair in stations.windows(2) {
                let (from, to) = (node_of[pair[0].1], node_of[pair[1].1]);
                if from != to {
                    ends[from] += 1;
                    ends[to] += 1;
                }
            }
            for end in [stations.first(), stations.last()].into_iter().flatten() {
                is_stop[node_of[end.1]] = true;
            }
        }
        let gate_node = |&(_, path, along_mm): &(Id, usize, f64)| {
            let away = |station: &&(f64, usize)| (station.0 - along_mm).abs();
            let nearest = network.stations[path].iter().min_by(|a, b| away(a).total_cmp(&away(b)));
            nearest.map(|station| node_of[station.1])
        };
        let gate_nodes: Vec<Option<usize>> = gates.iter().map(gate_node).collect();
        gate_nodes.iter().flatten().for_each(|&node| is_stop[node] = true);
        ends.iter().zip(&mut is_stop).for_each(|(ends, is_stop)| *is_stop |= *ends != 2);

        let mut plan = Self {
            paths: Vec::new(),
            stretches: Vec::new(),
            obstacles: Vec::new(),
            standing: Vec::new(),
            chains: Vec::new(),
            degree: vec![0; network.nodes.len()],
            bores: Vec::new(),
        };
        let mut cutter = Cutter { project, network: &network, boxes, standing: &standing, known: None };
        for (path, stations) in network.stations.iter().enumerate() {
            let mut start = plan.stretches.len();
            let mut from_node = stations.first().map_or(0, |station| node_of[station.1]);
            for pair in stations.windows(2) {
                let to_node = node_of[pair[1].1];
                let (stretch, obstacles) = cutter.stretch(path, pair[0].0, pair[1].0);
                let first = plan.obstacles.len();
                plan.obstacles.extend(obstacles);
                plan.stretches.push(Stretch { obstacles: first..plan.obstacles.len(), ..stretch });
                if is_stop[to_node] {
                    let stretches = start..plan.stretches.len();
                    let volume_mm3 = plan.stretches[stretches.clone()].iter().map(|s| s.volume_mm3).sum();
                    plan.chains.push(Chain { path, nodes: [from_node, to_node], stretches, volume_mm3 });
                    plan.degree[from_node] += 1;
                    plan.degree[to_node] += 1;
                    (start, from_node) = (plan.stretches.len(), to_node);
                }
            }
        }
        for (&(gate, ..), node) in gates.iter().zip(&gate_nodes) {
            let (Some(node), Some(sprue)) = (*node, project.sprues.get(&gate)) else { continue };
            let wide_mm = sprue.diameter_mm;
            let narrow_mm = (wide_mm - 2.0 * sprue.length_mm * sprue.draft_deg.to_radians().tan())
                .max(LEAST_NOZZLE * wide_mm);
            let (length_mm, squares) =
                (sprue.length_mm, wide_mm * wide_mm + wide_mm * narrow_mm + narrow_mm * narrow_mm);
            let volume_mm3 = std::f64::consts::PI / 12.0 * length_mm * squares;
            plan.bores.push(Bore { gate, node, narrow_mm, wide_mm, length_mm, volume_mm3 });
        }
        (plan.paths, plan.standing) = (network.paths, standing);
        plan
    }

    /// Whether what stands in a stretch leaves no way at all.
    pub(super) fn is_blocked(&self, stretch: usize) -> bool {
        let obstacles = &self.obstacles[self.stretches[stretch].obstacles.clone()];
        obstacles.iter().any(|obstacle| obstacle.ways_mm.iter().all(Option::is_none))
    }

    /// Place along its path of a share of a chain's volume counted from its first node, mm.
    pub(super) fn along_mm(&self, chain: usize, volume_mm3: f64) -> f64 {
        let stretches = &self.stretches[self.chains[chain].stretches.clone()];
        let mut left_mm3 = volume_mm3;
        for stretch in stretches {
            if left_mm3 <= stretch.volume_mm3 {
                return stretch.from_mm + (left_mm3 / stretch.volume_mm3).max(0.0) * stretch.length_mm();
            }
            left_mm3 -= stretch.volume_mm3;
        }
        stretches.last().map_or(0.0, |stretch| stretch.to_mm)
    }

    /// Direction in the plan of a flow through a chain that comes from one end, at its far end.
    pub(super) fn arriving(&self, chain: usize, side: usize) -> DVec2 {
        let of = &self.chains[chain];
        let stretches = &self.stretches[of.stretches.clone()];
        // Just before the end: at a corner the path has already turned.
        let along = |stretch: Option<&Stretch>| stretch.map_or(0.0, |s| 0.5 * (s.from_mm + s.to_mm));
        let path = &self.paths[of.path];
        if side == 0 { path.at(along(stretches.last())).1 } else { -path.at(along(stretches.first())).1 }
    }

    /// Volume of the part, mm³.
    pub(super) fn volume_mm3(&self) -> f64 {
        self.chains.iter().map(|chain| chain.volume_mm3).sum()
    }
}

/// Cuts stretches out of a network.
struct Cutter<'a> {
    project: &'a Project,
    network: &'a Network,
    boxes: &'a [Extent],
    /// In the order of their paths.
    standing: &'a [Obstacle],
    /// The last section measured: equal ones follow one another.
    known: Option<(ChannelShape, Measured)>,
}

/// Area and wetted perimeter of a section, and its depth without a rib.
#[derive(Clone, Copy, Debug)]
struct Measured {
    area_mm2: f64,
    perimeter_mm: f64,
    depth_mm: f64,
}

/// Abscissae and weights of Gauss's rule of three points on 0 to 1 (Abramowitz & Stegun, table 25.4; from
/// memory, checked by the volumes below).
const GAUSS_3: [(f64, f64); 3] =
    [(0.112_701_665_379_258_3, 5.0 / 18.0), (0.5, 8.0 / 18.0), (0.887_298_334_620_741_7, 5.0 / 18.0)];

impl Cutter<'_> {
    fn stretch(&mut self, path: usize, from_mm: f64, to_mm: f64) -> (Stretch, Vec<Obstacle>) {
        let length_mm = to_mm - from_mm;
        let (mut area_mm2, mut volume_mm3, mut perimeter_mm, mut depth_mm) = (0.0, 0.0, 0.0, 0.0);
        for (place, weight) in GAUSS_3 {
            let along_mm = from_mm + place * length_mm;
            let section = self.measure(path, along_mm);
            area_mm2 += weight * section.area_mm2;
            perimeter_mm += weight * section.perimeter_mm;
            depth_mm += weight * section.depth_mm;
            volume_mm3 += weight * length_mm * section.area_mm2 * self.own_share(path, along_mm);
        }
        let sides_mm = [area_mm2 / depth_mm, depth_mm];
        let rectangle_mm = 2.0 * (sides_mm[0] + sides_mm[1]);
        let mut obstacles = Vec::new();
        let mut free_share = 1.0;
        let first = self.standing.partition_point(|obstacle| obstacle.path < path);
        for obstacle in self.standing[first..].iter().take_while(|obstacle| obstacle.path == path) {
            let (low, high) =
                (obstacle.along_mm - obstacle.reach_mm(), obstacle.along_mm + obstacle.reach_mm());
            let beside_mm = high.min(to_mm) - low.max(from_mm);
            if beside_mm <= 0.0 {
                continue;
            }
            let share = beside_mm / length_mm;
            volume_mm3 -= obstacle.volume_mm3 * beside_mm / (high - low);
            free_share -= share;
            obstacles.push(Obstacle { share, ..*obstacle });
        }
        // What stands in a stretch never takes all of it: two features that overlap count twice.
        let least_mm3 = 0.02 * length_mm * area_mm2;
        let stretch = Stretch {
            from_mm,
            to_mm,
            sides_mm,
            ln_rough: (perimeter_mm / rectangle_mm).ln(),
            perimeter_mm,
            volume_mm3: volume_mm3.max(least_mm3),
            obstacles: 0..0,
            free_share: free_share.max(0.0),
        };
        (stretch, obstacles)
    }

    /// The section at a place along a path, narrower in a round end.
    fn measure(&mut self, path: usize, along_mm: f64) -> Measured {
        let of = &self.network.paths[path];
        let (_, depth_mm) = of.channel_at(along_mm);
        let shape = ChannelShape::new(&self.project.part, of.chord_mm(along_mm), depth_mm);
        match self.known {
            Some((known, measured)) if known == shape => measured,
            _ => {
                let measured = measured(&shape);
                self.known = Some((shape, measured));
                measured
            }
        }
    }

    /// The path's share of its section where others run through it.
    fn own_share(&self, path: usize, along_mm: f64) -> f64 {
        if self.network.paths.len() == 1 {
            return 1.0;
        }
        let of = &self.network.paths[path];
        let (at, direction) = of.at(along_mm);
        let half_mm = 0.5 * of.chord_mm(along_mm);
        let reach = DVec2::splat(half_mm);
        let near = |(other, extent): &(usize, &Extent)| {
            *other != path && extent.low.cmple(at + reach).all() && extent.high.cmpge(at - reach).all()
        };
        let others: Vec<&Path> =
            self.boxes.iter().enumerate().filter(near).map(|(other, _)| &self.network.paths[other]).collect();
        if others.is_empty() {
            return 1.0;
        }
        // Twelve strips on the middles of equal parts.
        let strips = (0..12).map(|strip| (f64::from(strip) + 0.5) / 6.0 - 1.0);
        let shares = strips.map(|strip| {
            let point = at + direction.perp() * (strip * half_mm);
            let holds = |other: &&&Path| other.holds(point);
            1.0 / (1 + others.iter().filter(holds).count()) as f64
        });
        shares.sum::<f64>() / 12.0
    }
}

fn measured(shape: &ChannelShape) -> Measured {
    let points = shape.flank_points(ARC_STEP_RAD);
    let (mut half_mm2, mut half_mm) = (0.0, 0.0);
    for pair in points.windows(2) {
        half_mm2 += 0.5 * (pair[0].x + pair[1].x) * (pair[1].y - pair[0].y);
        half_mm += pair[0].distance(pair[1]);
    }
    let floors_mm = points.first().map_or(0.0, |p| p.x) + points.last().map_or(0.0, |p| p.x);
    Measured {
        area_mm2: 2.0 * half_mm2,
        perimeter_mm: 2.0 * (half_mm + floors_mm),
        depth_mm: shape.depth_in_mm(Half::Fixed) + shape.depth_in_mm(Half::Moving),
    }
}

/// A box round a path's channel, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Extent {
    low: DVec2,
    high: DVec2,
}

fn boxes(paths: &[Path]) -> Vec<Extent> {
    let of = |path: &Path| {
        let chords = path.chords();
        let reach = DVec2::splat(0.5 * path.widest_mm() + 0.01);
        let low = chords.iter().map(|chord| chord.1).reduce(DVec2::min).unwrap_or_default();
        let high = chords.iter().map(|chord| chord.1).reduce(DVec2::max).unwrap_or_default();
        Extent { low: low - reach, high: high + reach }
    };
    paths.iter().map(of).collect()
}

/// The path in whose channel a point lies and the place along it, mm: of several, the one whose middle is
/// nearest.
pub(super) fn place_on(paths: &[Path], boxes: &[Extent], at: DVec2) -> Option<(usize, f64)> {
    let mut best: Option<(usize, f64, f64)> = None;
    for (index, path) in paths.iter().enumerate() {
        if !(boxes[index].low.cmple(at).all() && boxes[index].high.cmpge(at).all()) {
            continue;
        }
        let (along_mm, away_mm) = path.nearest(at);
        let is_in = away_mm <= 0.5 * path.channel_at(along_mm).0;
        if is_in && best.is_none_or(|best| away_mm < best.2) {
            best = Some((index, along_mm, away_mm));
        }
    }
    best.map(|(path, along_mm, _)| (path, along_mm))
}
