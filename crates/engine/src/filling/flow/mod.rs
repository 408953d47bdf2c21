//! How flow shares itself out over a network: the power law on every edge, a balance at every node.
//!
//! The pressures minimise a convex sum over the edges, `Σ c |Δp|^(1/n+1) / (1/n+1)`, whose slopes are the
//! flows `Q = c |Δp|^(1/n)`. As every edge has the same power `1/n`, one solution at a nozzle pressure of 1
//! is good for every pressure: flows go with its power `1/n`.

#[cfg(test)]
mod tests;

/// Number of the node at pressure 0: the air before the fronts.
pub(super) const AIR: usize = 0;

/// Number of the node at pressure 1: the nozzle.
pub(super) const NOZZLE: usize = 1;

/// Nodes of which the pressure is given.
const GIVEN: usize = 2;

/// A duct between two nodes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub(super) from: usize,
    pub(super) to: usize,
    /// Logarithm of `r` in `Δp = r Qⁿ`.
    pub(super) ln_r: f64,
}

/// The least share of the whole pressure that counts as a difference when the slope of the flow is asked for:
/// flows at it are below 1e-9 of all for any melt.
const LEAST_DROP: f64 = 1e-9;

/// Imbalance at a node over the flow of all at which a solution is good.
const BALANCED: f64 = 1e-8;

/// Imbalance between nozzle and fronts over the flow that is put down to the digits of pressures.
const RESOLVED: f64 = 1e-6;

/// Steps of the iteration from the last solution on; a handful is usual.
const FEW_STEPS: usize = 60;

/// Steps of the iteration at most for one power.
const MOST_STEPS: usize = 60;

/// By how much the power grows at a time where the last solution is too far off.
const POWER_GROWTH: f64 = 1.3;

/// A network and its solution; kept from one moment to the next, as the last one is the best guess.
#[derive(Clone, Debug, Default)]
pub(super) struct Network {
    /// The ducts; what is set before solving.
    pub(super) edges: Vec<Edge>,
    /// Pressures of the nodes over that of the nozzle, those given included.
    pub(super) pressure: Vec<f64>,
    /// Flow of each edge from `from` to `to`, at a nozzle pressure of 1 and with `r` over `exp(ln_scale)`.
    pub(super) flow: Vec<f64>,
    /// Logarithm of the resistance that resistances are compared with.
    pub(super) ln_scale: f64,
    power: f64,
    conductance: Vec<f64>,
    is_live: Vec<bool>,
    /// The ends of the ducts for which it is known which are live.
    known: Vec<(usize, usize)>,
    nodes: Vec<bool>,
    drop: Vec<f64>,
    step_drop: Vec<f64>,
    /// Flows after a share of the step.
    tried: Vec<f64>,
    step: Vec<f64>,
    star: Star,
}

impl Network {
    /// An empty network of so many nodes for a power-law index, [`AIR`] and [`NOZZLE`] included.
    pub(super) fn new(nodes: usize, index: f64) -> Self {
        let mut pressure = vec![0.0; nodes];
        pressure[NOZZLE] = 1.0;
        Self { pressure, power: 1.0 / index, step: vec![0.0; nodes], ..Self::default() }
    }

    /// Flow out of the nozzle, in the units of [`Self::flow`].
    pub(super) fn total(&self) -> f64 {
        self.through(NOZZLE)
    }

    /// Flow out of a given node, or into it.
    fn through(&self, node: usize) -> f64 {
        let out = |(edge, flow): (&Edge, &f64)| {
            if edge.from == node {
                *flow
            } else if edge.to == node {
                -flow
            } else {
                0.0
            }
        };
        self.edges.iter().zip(&self.flow).map(out).sum::<f64>().abs()
    }

    /// Where resistances differ by so much that pressure next to the nozzle cannot be told from the nozzle's,
    /// the flow there is what arrives at the fronts.
    fn settle(&mut self) {
        let (given, arrives) = (self.through(NOZZLE), self.through(AIR));
        if (given - arrives).abs() > RESOLVED * arrives && given > 0.0 {
            for (edge, flow) in self.edges.iter().zip(&mut self.flow) {
                if edge.from == NOZZLE || edge.to == NOZZLE {
                    *flow *= arrives / given;
                }
            }
        }
    }

    /// Finds pressures and flows; all flows are 0 if no way leads from the nozzle to the air.
    pub(super) fn solve(&mut self) {
        let ends = self.edges.iter().map(|edge| (edge.from, edge.to));
        let is_known = self.known.iter().copied().eq(ends.clone());
        if !is_known {
            self.known.clear();
            self.known.extend(ends);
            self.find_live();
            self.star.order(&self.edges, &self.is_live, self.pressure.len());
        }
        let live = self.edges.iter().zip(&self.is_live).filter(|(_, live)| **live);
        self.ln_scale = live.map(|(edge, _)| edge.ln_r).fold(f64::NEG_INFINITY, f64::max);
        if !self.is_live.contains(&true) {
            self.flow.clear();
            self.flow.resize(self.edges.len(), 0.0);
            return;
        }
        let power = self.power;
        if !self.iterate(FEW_STEPS) {
            // From a linear network on, whose solution is a good guess for a power a little higher.
            self.power = 1.0;
            while !self.iterate(MOST_STEPS) || self.power < power {
                if self.power == power {
                    break;
                }
                self.power = (POWER_GROWTH * self.power).min(power);
            }
        }
        self.settle();
        self.calm();
    }

    /// Iterates from the pressures as they are, and tells whether flows balance then.
    fn iterate(&mut self, steps: usize) -> bool {
        self.conductance.clear();
        for (edge, live) in self.edges.iter().zip(&self.is_live) {
            let ln = (self.power * (self.ln_scale - edge.ln_r)).min(600.0);
            self.conductance.push(if *live { ln.exp() } else { 0.0 });
        }
        self.drop.clear();
        self.drop.extend(self.edges.iter().map(|edge| self.pressure[edge.from] - self.pressure[edge.to]));
        let ducts = self.conductance.iter().zip(&self.drop);
        self.flow.clear();
        self.flow.extend(ducts.map(|(&conductance, &drop)| flow_of(conductance, drop, self.power)));
        for _ in 0..steps {
            if self.is_balanced() {
                return true;
            }
            self.newton();
        }
        self.is_balanced()
    }

    /// Gives nodes in which nothing flows the pressure of what they hang on.
    fn calm(&mut self) {
        self.star.count_ends(&self.edges, &self.is_live, self.pressure.len());
        let mut grows = true;
        while grows {
            grows = false;
            for edge in &self.edges {
                for (from, to) in [(edge.from, edge.to), (edge.to, edge.from)] {
                    let is_known = self.star.ends[from] > 0;
                    if to >= GIVEN && from != AIR && self.star.ends[to] == 0 && is_known {
                        self.pressure[to] = self.pressure[from];
                        self.star.ends[to] = 1;
                        grows = true;
                    }
                }
            }
        }
    }

    /// Which edges can carry flow: those on a way from the nozzle to the air. Dead ends carry none.
    fn find_live(&mut self) {
        self.is_live.clear();
        self.is_live.resize(self.edges.len(), true);
        // What hangs on neither the nozzle nor the air is not reached.
        for start in [NOZZLE, AIR] {
            self.nodes.clear();
            self.nodes.resize(self.pressure.len(), false);
            self.nodes[start] = true;
            let mut grows = true;
            while grows {
                grows = false;
                for (edge, live) in self.edges.iter().zip(&self.is_live) {
                    // No way leads on through the given nodes.
                    let through = |node: usize| self.nodes[node] && (node == start || node >= GIVEN);
                    if *live && through(edge.from) != through(edge.to) && edge.from.max(edge.to) >= GIVEN {
                        for node in [edge.from, edge.to] {
                            grows |= node >= GIVEN && !self.nodes[node];
                            self.nodes[node] |= node >= GIVEN;
                        }
                    }
                }
            }
            for (edge, live) in self.edges.iter().zip(&mut self.is_live) {
                let is_direct = edge.from.min(edge.to) == AIR && edge.from.max(edge.to) == NOZZLE;
                let hangs = [edge.from, edge.to].iter().any(|node| *node >= GIVEN && self.nodes[*node]);
                *live &= edge.from != edge.to && (is_direct || hangs);
            }
        }
        // Dead ends, one after the other.
        loop {
            let mut pruned = false;
            self.star.count_ends(&self.edges, &self.is_live, self.pressure.len());
            for (edge, live) in self.edges.iter().zip(&mut self.is_live) {
                let is_end = |node: usize| node >= GIVEN && self.star.ends[node] == 1;
                if *live && (is_end(edge.from) || is_end(edge.to)) {
                    *live = false;
                    pruned = true;
                }
            }
            if !pruned {
                break;
            }
        }
    }

    /// Whether what flows into every node flows out of it.
    fn is_balanced(&mut self) -> bool {
        self.star.excess.clear();
        self.star.excess.resize(self.pressure.len(), 0.0);
        let mut through = 0.0_f64;
        for (edge, flow) in self.edges.iter().zip(&self.flow) {
            self.star.excess[edge.from] -= flow;
            self.star.excess[edge.to] += flow;
            if edge.to == AIR || edge.from == AIR {
                through += flow.abs();
            }
        }
        let worst = self.star.excess[GIVEN..].iter().fold(0.0_f64, |worst, excess| worst.max(excess.abs()));
        worst <= BALANCED * through
    }

    /// One step of Newton's method, as far as the sum falls along it.
    fn newton(&mut self) {
        self.star.clear();
        let least = LEAST_DROP.powf(self.power - 1.0);
        for (index, edge) in self.edges.iter().enumerate() {
            if self.is_live[index] {
                let drop = self.drop[index].abs().max(LEAST_DROP);
                let slope = (self.flow[index].abs() / drop).max(self.conductance[index] * least);
                self.star.put(edge.from, edge.to, self.power * slope);
            }
        }
        self.star.solve(&mut self.step);
        self.step_drop.clear();
        self.step_drop.extend(self.edges.iter().map(|edge| self.step[edge.from] - self.step[edge.to]));
        let start: f64 = self.flow.iter().zip(&self.step_drop).map(|(flow, step)| flow * step).sum();
        // Along the step the sum first falls, then rises: at most half of the fall's slope may be left.
        let (mut low, mut high, mut share) = (0.0, f64::INFINITY, 1.0);
        for _ in 0..30 {
            let here = self.try_share(share);
            if here > 0.5 * start.abs() {
                high = share;
                share = 0.5 * (low + high);
            } else if here < 0.5 * start && high.is_infinite() && share < self.power {
                // Newton falls short by the power where drops are far too small.
                low = share;
                share = (2.0 * share).min(self.power);
            } else {
                break;
            }
        }
        for (pressure, step) in self.pressure.iter_mut().zip(&self.step).skip(GIVEN) {
            *pressure += share * step;
        }
        for (drop, step) in self.drop.iter_mut().zip(&self.step_drop) {
            *drop += share * step;
        }
        std::mem::swap(&mut self.flow, &mut self.tried);
    }

    /// Flows after a share of the step, and the slope of the sum there.
    fn try_share(&mut self, share: f64) -> f64 {
        self.tried.clear();
        let mut slope = 0.0;
        for (index, &conductance) in self.conductance.iter().enumerate() {
            let (drop, step) = (self.drop[index], self.step_drop[index]);
            let flow = flow_of(conductance, drop + share * step, self.power);
            self.tried.push(flow);
            slope += flow * step;
        }
        slope
    }
}

/// `c |Δp|^(1/n)` with the sign of `Δp`.
fn flow_of(conductance: f64, drop: f64, power: f64) -> f64 {
    if conductance == 0.0 { 0.0 } else { conductance * drop.abs().powf(power).copysign(drop) }
}

/// Linear networks, solved by taking out one node after the other: a star becomes a mesh of what its ends
/// feel of one another. Nothing is subtracted, so that no precision is lost however far conductances differ.
#[derive(Clone, Debug, Default)]
struct Star {
    /// What flows into each node too much.
    excess: Vec<f64>,
    /// Neighbours of each node that are still there, and the conductance to them.
    rows: Vec<Vec<(usize, f64)>>,
    order: Vec<usize>,
    ends: Vec<usize>,
    fixed: Vec<f64>,
    taken: Vec<(usize, f64)>,
}

impl Star {
    fn count_ends(&mut self, edges: &[Edge], is_live: &[bool], nodes: usize) {
        self.ends.clear();
        self.ends.resize(nodes, 0);
        for (edge, _) in edges.iter().zip(is_live).filter(|(_, live)| **live) {
            self.ends[edge.from] += 1;
            self.ends[edge.to] += 1;
        }
    }

    /// Finds an order of few new neighbours: fewest first, as the mesh grows.
    fn order(&mut self, edges: &[Edge], is_live: &[bool], nodes: usize) {
        self.rows.resize_with(nodes, Vec::new);
        self.fixed.resize(nodes, 0.0);
        self.clear();
        for (edge, _) in edges.iter().zip(is_live).filter(|(_, live)| **live) {
            self.put(edge.from, edge.to, 1.0);
        }
        self.order.clear();
        let mut left: Vec<usize> =
            (GIVEN..nodes).filter(|&node| !self.rows[node].is_empty() || self.fixed[node] > 0.0).collect();
        while let Some(place) = (0..left.len()).min_by_key(|&place| self.rows[left[place]].len()) {
            let node = left.swap_remove(place);
            self.take_out(node);
            self.order.push(node);
        }
    }

    fn clear(&mut self) {
        self.rows.iter_mut().for_each(Vec::clear);
        self.fixed.fill(0.0);
    }

    fn put(&mut self, from: usize, to: usize, conductance: f64) {
        match (from >= GIVEN, to >= GIVEN) {
            (true, true) => {
                add(&mut self.rows[from], to, conductance);
                add(&mut self.rows[to], from, conductance);
            }
            // The given pressures do not change.
            (true, false) => self.fixed[from] += conductance,
            (false, true) => self.fixed[to] += conductance,
            (false, false) => {}
        }
    }

    /// Takes a node out; its row stays for [`Self::solve`].
    fn take_out(&mut self, node: usize) {
        self.taken.clear();
        self.taken.extend_from_slice(&self.rows[node]);
        let sum = self.fixed[node] + self.taken.iter().map(|end| end.1).sum::<f64>();
        for (index, &(end, conductance)) in self.taken.iter().enumerate() {
            self.rows[end].retain(|row| row.0 != node);
            self.fixed[end] += conductance * (self.fixed[node] / sum);
            for &(other, to_other) in &self.taken[index + 1..] {
                let between = conductance * (to_other / sum);
                add(&mut self.rows[end], other, between);
                add(&mut self.rows[other], end, between);
            }
        }
    }

    /// Changes of the nodes that take up their excess.
    fn solve(&mut self, change: &mut [f64]) {
        change.fill(0.0);
        for index in 0..self.order.len() {
            let node = self.order[index];
            self.take_out(node);
            let sum = self.fixed[node] + self.rows[node].iter().map(|end| end.1).sum::<f64>();
            for row in 0..self.rows[node].len() {
                let (end, conductance) = self.rows[node][row];
                self.excess[end] += self.excess[node] * (conductance / sum);
            }
        }
        for &node in self.order.iter().rev() {
            let row = &self.rows[node];
            let sum = self.fixed[node] + row.iter().map(|end| end.1).sum::<f64>();
            let pulled: f64 = row.iter().map(|&(end, conductance)| conductance * change[end]).sum();
            change[node] = if sum > 0.0 { (self.excess[node] + pulled) / sum } else { 0.0 };
        }
    }
}

fn add(row: &mut Vec<(usize, f64)>, node: usize, conductance: f64) {
    match row.iter_mut().find(|end| end.0 == node) {
        Some(end) => end.1 += conductance,
        None => row.push((node, conductance)),
    }
}
