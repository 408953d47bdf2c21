//! The march: fronts advance step by step until nothing moves any more.

#[cfg(test)]
mod tests;

use glam::DVec2;

use super::flow::{AIR, Edge, NOZZLE, Network};
use super::layer::{Flow, Layers};
use super::plan::Plan;
use super::result::{Moment, ShortWhy};
use super::shot::Shot;

/// Steps in which an undisturbed filling is done: each moves this share of the volume.
const STEPS: f64 = 100.0;

/// Stretches, and ways past features three times, from which on steps are longer, so that a crowded plate
/// keeps within a display frame; and the fewest steps then.
const CROWDED: f64 = 1500.0;
const FEWEST_STEPS: f64 = 40.0;

/// Time grows by this share in a step at most, so that skins grow gently.
const TIME_GROWTH: f64 = 0.05;

/// Steps after which the march is given up: many times what any filling takes.
const MOST_STEPS: usize = 4000;

/// A front that has only just set out is as far as this share of its first stretch.
const LEAST_SHARE: f64 = 1e-3;

/// A chain is full when less than this share of it is empty.
const FULL: f64 = 1e-9;

/// Flow under this share of the rate that is wanted is none.
const STILL: f64 = 1e-7;

/// A front in a chain, or what is behind it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Front {
    /// Volume behind it, mm³.
    pub(super) filled_mm3: f64,
    /// Stretches that it has passed.
    pub(super) passed: usize,
    /// Volume of those, mm³.
    passed_mm3: f64,
    /// Number of the gate among the bores that the melt came from.
    pub(super) gate: usize,
    /// Way from the gate to where it set out, mm.
    way_mm: f64,
    /// Flow, mm³/s.
    flow_mm3_s: f64,
    /// When it last moved, s.
    pub(super) moved_s: f64,
    /// Temperature of the melt at it, °C.
    pub(super) temperature_c: f64,
    /// Why it cannot go on.
    pub(super) stopped: Option<ShortWhy>,
}

/// A chain as it fills.
#[derive(Clone, Debug, Default)]
pub(super) struct ChainState {
    /// Fronts from its first and from its last node.
    pub(super) fronts: [Option<Front>; 2],
    /// No gap is left.
    pub(super) is_full: bool,
    /// It is full and nothing flows through it any more.
    is_closed: bool,
    /// Flow from its first to its last node once it is full, mm³/s.
    through_mm3_s: f64,
}

/// A node once melt has reached it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reached {
    pub(super) time_s: f64,
    pub(super) gate: usize,
    way_mm: f64,
    pub(super) temperature_c: f64,
    /// Direction of the flow that reached it first.
    pub(super) direction: DVec2,
}

/// A gate as it fills.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct BoreState {
    filled_mm3: f64,
    pub(super) opens_s: Option<f64>,
    skin_mm: f64,
    age_s: f64,
    pub(super) frozen_s: Option<f64>,
    flow_mm3_s: f64,
    pub(super) injected_mm3: f64,
    pub(super) peak_flow_mm3_s: f64,
    pub(super) peak_mpa: f64,
}

/// How a front came to an end.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ending {
    pub(super) chain: usize,
    /// Volume from the chain's first node, mm³.
    pub(super) place_mm3: f64,
    pub(super) time_s: f64,
    /// Temperatures from both sides, if two fronts met.
    pub(super) met_c: Option<[f64; 2]>,
}

/// At the border of two stretches, or at an end of a chain.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Border {
    pub(super) time_s: Option<f64>,
    pub(super) gate: usize,
    pub(super) temperature_c: f64,
    pub(super) pressure_mpa: f64,
    pub(super) peak_mpa: f64,
}

/// What an edge of the network stands for.
#[derive(Clone, Copy, Debug)]
enum Duct {
    Bore(usize),
    Front(usize, usize),
    Through(usize),
}

/// The march and what it has seen.
pub(crate) struct March<'a> {
    plan: &'a Plan,
    shot: &'a Shot,
    pub(super) layers: Layers,
    pub(super) chains: Vec<ChainState>,
    pub(super) nodes: Vec<Option<Reached>>,
    pub(super) bores: Vec<BoreState>,
    pub(super) endings: Vec<Ending>,
    /// The borders of the chains' stretches, chain after chain: one more than it has stretches.
    pub(super) borders: Vec<Border>,
    pub(super) record: Vec<Moment>,
    pub(super) time_s: f64,
    pub(super) limited_from_s: Option<f64>,
    /// Why fronts that could go on stopped.
    pub(super) stopped: ShortWhy,
    network: Network,
    ducts: Vec<Duct>,
    order: Vec<usize>,
    /// Heat and flow that come into each node.
    inflow: Vec<(f64, f64)>,
    injected_mm3: f64,
    whole_mm3: f64,
    /// Volume that a step moves at most, mm³.
    step_mm3: f64,
}

impl<'a> March<'a> {
    pub(super) fn new(plan: &'a Plan, shot: &'a Shot) -> Self {
        let whole_mm3 = plan.volume_mm3() + plan.bores.iter().map(|bore| bore.volume_mm3).sum::<f64>();
        let work = plan.stretches.len() as f64 + 3.0 * plan.obstacles.len() as f64;
        let steps = (STEPS * (CROWDED / work).min(1.0)).max(FEWEST_STEPS);
        Self {
            plan,
            shot,
            layers: Layers::new(plan, shot),
            chains: vec![ChainState::default(); plan.chains.len()],
            nodes: vec![None; plan.degree.len()],
            bores: vec![BoreState::default(); plan.bores.len()],
            endings: Vec::new(),
            borders: vec![Border::default(); plan.stretches.len() + plan.chains.len()],
            record: vec![Moment {
                time_s: 0.0,
                pressure_mpa: 0.0,
                rate_mm3_s: 0.0,
                injected_mm3: 0.0,
                filled_mm3: 0.0,
            }],
            time_s: 0.0,
            limited_from_s: None,
            stopped: ShortWhy::NoPressure,
            network: Network::new(plan.degree.len() + NOZZLE + 1, shot.index()),
            ducts: Vec::new(),
            order: Vec::new(),
            inflow: Vec::new(),
            injected_mm3: 0.0,
            whole_mm3,
            step_mm3: whole_mm3 / steps,
        }
    }

    /// Fills until nothing moves.
    pub(super) fn fill(&mut self) {
        for _ in 0..MOST_STEPS {
            self.build();
            self.network.solve();
            let Some((pressure_mpa, rate_mm3_s)) = self.drive() else { break };
            let dt_s = self.step_s(rate_mm3_s);
            if !(dt_s > 0.0 && dt_s.is_finite()) {
                break;
            }
            self.read_flows(pressure_mpa, rate_mm3_s);
            self.warm(pressure_mpa, dt_s);
            self.advance(dt_s);
            self.injected_mm3 += self.bores.iter().map(|bore| bore.flow_mm3_s).sum::<f64>() * dt_s;
            self.record.push(Moment {
                time_s: self.time_s,
                pressure_mpa,
                rate_mm3_s,
                injected_mm3: self.injected_mm3,
                filled_mm3: self.filled_mm3(),
            });
            self.arrive();
            self.grow_skins(dt_s);
            if self.injected_mm3 >= self.shot.shot_mm3 * (1.0 - 1e-9) {
                self.stopped = ShortWhy::ShotUsedUp;
                break;
            }
        }
    }

    fn filled_mm3(&self) -> f64 {
        let of_chains = self.chains.iter().flat_map(|chain| chain.fronts.iter().flatten());
        of_chains.map(|front| front.filled_mm3).sum::<f64>()
            + self.bores.iter().map(|bore| bore.filled_mm3).sum::<f64>()
    }

    /// The network as it stands: what is behind the fronts.
    fn build(&mut self) {
        self.network.edges.clear();
        self.ducts.clear();
        let number = |node: usize| node + NOZZLE + 1;
        for (index, (bore, state)) in self.plan.bores.iter().zip(&self.bores).enumerate() {
            if state.frozen_s.is_some() {
                continue;
            }
            let core = |diameter_mm: f64| (diameter_mm - 2.0 * state.skin_mm).max(0.02 * diameter_mm);
            let mut ln_r = self.shot.ln_consistency(self.shot.melt_c)
                + self.shot.ducts.ln_cone(core(bore.narrow_mm), core(bore.wide_mm), bore.length_mm);
            let mut to = number(bore.node);
            if state.opens_s.is_none() {
                ln_r += (state.filled_mm3 / bore.volume_mm3).max(LEAST_SHARE).ln();
                to = AIR;
            }
            self.network.edges.push(Edge { from: NOZZLE, to, ln_r });
            self.ducts.push(Duct::Bore(index));
        }
        for (index, (chain, state)) in self.plan.chains.iter().zip(&self.chains).enumerate() {
            if state.is_closed {
                continue;
            }
            if state.is_full {
                let [from, to] = chain.nodes.map(number);
                let ln_r = self.layers.now[chain.stretches.clone()]
                    .iter()
                    .map(|layer| layer.resistance)
                    .sum::<f64>()
                    .ln();
                if !ln_r.is_finite() {
                    continue;
                }
                self.network.edges.push(Edge { from, to, ln_r });
                self.ducts.push(Duct::Through(index));
                continue;
            }
            for side in [0, 1] {
                let Some(front) = state.fronts[side].as_ref().filter(|front| front.stopped.is_none()) else {
                    continue;
                };
                let mut resistance = 0.0;
                for (stretch, share) in behind(self.plan, index, side, front) {
                    let share = if resistance == 0.0 { share.max(LEAST_SHARE) } else { share };
                    let whole = self.layers.now[stretch].resistance;
                    resistance += if whole.is_finite() { share * whole } else { whole };
                }
                let ln_r = resistance.ln();
                if !ln_r.is_finite() {
                    continue;
                }
                self.network.edges.push(Edge { from: number(chain.nodes[side]), to: AIR, ln_r });
                self.ducts.push(Duct::Front(index, side));
            }
        }
    }

    /// Pressure and flow of the press, MPa and mm³/s; `None` if nothing moves.
    fn drive(&mut self) -> Option<(f64, f64)> {
        let (total, n) = (self.network.total(), self.shot.index());
        if total <= 0.0 || !total.is_finite() {
            return None;
        }
        let ln_pressure = n * (self.shot.rate_mm3_s / total).ln() + self.network.ln_scale;
        let ln_limit = self.shot.pressure_limit_mpa.ln();
        if ln_pressure <= ln_limit {
            return Some((ln_pressure.exp(), self.shot.rate_mm3_s));
        }
        let rate_mm3_s = total * ((ln_limit - self.network.ln_scale) / n).exp();
        self.limited_from_s.get_or_insert(self.time_s);
        (rate_mm3_s > STILL * self.shot.rate_mm3_s).then_some((self.shot.pressure_limit_mpa, rate_mm3_s))
    }

    /// Flows in mm³/s from those of the network.
    fn read_flows(&mut self, pressure_mpa: f64, rate_mm3_s: f64) {
        let scale = rate_mm3_s / self.network.total();
        self.bores.iter_mut().for_each(|bore| bore.flow_mm3_s = 0.0);
        for chain in &mut self.chains {
            chain.through_mm3_s = 0.0;
            chain.fronts.iter_mut().flatten().for_each(|front| front.flow_mm3_s = 0.0);
        }
        for (duct, flow) in self.ducts.iter().zip(&self.network.flow) {
            let flow_mm3_s = flow * scale;
            match *duct {
                Duct::Bore(bore) => {
                    let node = self.plan.bores[bore].node + NOZZLE + 1;
                    let state = &mut self.bores[bore];
                    state.flow_mm3_s = flow_mm3_s;
                    state.peak_flow_mm3_s = state.peak_flow_mm3_s.max(flow_mm3_s);
                    if state.opens_s.is_some() {
                        state.peak_mpa = state.peak_mpa.max(pressure_mpa * self.network.pressure[node]);
                    }
                }
                Duct::Front(chain, side) => {
                    if let Some(front) = &mut self.chains[chain].fronts[side] {
                        front.flow_mm3_s = flow_mm3_s;
                    }
                }
                Duct::Through(chain) => self.chains[chain].through_mm3_s = flow_mm3_s,
            }
        }
    }

    /// Length of the next step, s: no front goes past a node or through another.
    fn step_s(&self, rate_mm3_s: f64) -> f64 {
        let scale = rate_mm3_s / self.network.total();
        let mut dt_s = self.step_mm3 / rate_mm3_s;
        dt_s = dt_s.min((TIME_GROWTH * self.time_s).max(0.2 * dt_s));
        // The end gently, as pressure is highest there.
        let left_mm3 = self.whole_mm3 - self.filled_mm3();
        dt_s = dt_s.min((0.25 * left_mm3).max(0.001 * self.whole_mm3) / rate_mm3_s);
        dt_s = dt_s.min((self.shot.shot_mm3 - self.injected_mm3) / rate_mm3_s);
        for (index, (duct, flow)) in self.ducts.iter().zip(&self.network.flow).enumerate() {
            let mut towards_mm3_s = flow * scale;
            let left_mm3 = match *duct {
                Duct::Through(_) => continue,
                Duct::Bore(bore) if self.bores[bore].opens_s.is_some() => continue,
                Duct::Bore(bore) => self.plan.bores[bore].volume_mm3 - self.bores[bore].filled_mm3,
                Duct::Front(chain, side) => {
                    let state = &self.chains[chain];
                    let behind_mm3: f64 = state.fronts.iter().flatten().map(|front| front.filled_mm3).sum();
                    let left_mm3 = self.plan.chains[chain].volume_mm3 - behind_mm3;
                    // The other front of the chain, if it moves, is that of the edge before this one.
                    let is_pair =
                        index > 0 && matches!(self.ducts[index - 1], Duct::Front(c, 0) if c == chain);
                    if side == 1 && is_pair {
                        towards_mm3_s += self.network.flow[index - 1] * scale;
                    }
                    left_mm3
                }
            };
            if towards_mm3_s > 0.0 {
                dt_s = dt_s.min(left_mm3.max(0.0) / towards_mm3_s);
            }
        }
        // What is left by rounding is gone with the next step.
        dt_s.max(1e-12 * self.whole_mm3 / rate_mm3_s)
    }

    /// Moves the fronts.
    fn advance(&mut self, dt_s: f64) {
        let start_s = self.time_s;
        self.time_s += dt_s;
        for (bore, state) in self.plan.bores.iter().zip(&mut self.bores) {
            state.injected_mm3 += state.flow_mm3_s * dt_s;
            if state.opens_s.is_none() {
                state.filled_mm3 = (state.filled_mm3 + state.flow_mm3_s * dt_s).min(bore.volume_mm3);
            }
        }
        for index in 0..self.chains.len() {
            if self.chains[index].is_full {
                continue;
            }
            for side in [0, 1] {
                let Some(mut front) = self.chains[index].fronts[side] else { continue };
                if front.flow_mm3_s > 0.0 {
                    self.move_front(index, side, &mut front, start_s, dt_s);
                    self.chains[index].fronts[side] = Some(front);
                }
            }
        }
    }

    fn move_front(&mut self, index: usize, side: usize, front: &mut Front, start_s: f64, dt_s: f64) {
        let chain = &self.plan.chains[index];
        let before_mm3 = front.filled_mm3;
        front.filled_mm3 += front.flow_mm3_s * dt_s;
        front.moved_s = self.time_s;
        let count = chain.stretches.len();
        loop {
            let stretch = from_side(chain.stretches.start, count, side, front.passed);
            let layer = &mut self.layers.now[stretch];
            if layer.wet_s.is_infinite() {
                let enters_mm3 = (front.passed_mm3 - before_mm3).max(0.0);
                layer.wet_s = start_s + enters_mm3 / front.flow_mm3_s;
                layer.temperature_c = front.temperature_c;
                let first = &self.plan.stretches[from_side(chain.stretches.start, count, side, 0)];
                let here = &self.plan.stretches[stretch];
                let middle_mm = |stretch: &super::plan::Stretch| 0.5 * (stretch.from_mm + stretch.to_mm);
                layer.way_mm =
                    front.way_mm + (middle_mm(here) - middle_mm(first)).abs() + 0.5 * first.length_mm();
                self.layers.resist(self.shot, self.plan, stretch);
            }
            let border_mm3 = front.passed_mm3 + self.plan.stretches[stretch].volume_mm3;
            let is_last = front.passed + 1 == count;
            if is_last || front.filled_mm3 < border_mm3 {
                break;
            }
            let border = border_of(self.plan, index, side, front.passed + 1);
            let border = &mut self.borders[border];
            if border.time_s.is_none() {
                border.time_s = Some(start_s + (border_mm3 - before_mm3).max(0.0) / front.flow_mm3_s);
                (border.gate, border.temperature_c) = (front.gate, front.temperature_c);
            }
            front.passed += 1;
            front.passed_mm3 = border_mm3;
        }
    }

    /// Takes note of fronts that have reached a node, an end, or one another.
    fn arrive(&mut self) {
        for index in 0..self.bores.len() {
            let bore = &self.plan.bores[index];
            let state = &mut self.bores[index];
            if state.opens_s.is_none() && state.filled_mm3 >= bore.volume_mm3 * (1.0 - FULL) {
                state.opens_s = Some(self.time_s);
                let temperature_c = self.shot.melt_c;
                let reached = Reached {
                    time_s: self.time_s,
                    gate: index,
                    way_mm: 0.5 * bore.wide_mm,
                    temperature_c,
                    direction: DVec2::ZERO,
                };
                self.reach(bore.node, reached);
            }
        }
        for index in 0..self.chains.len() {
            let chain = &self.plan.chains[index];
            let state = &self.chains[index];
            if state.is_full {
                continue;
            }
            let fronts = state.fronts;
            let behind_mm3: f64 = fronts.iter().flatten().map(|front| front.filled_mm3).sum();
            if behind_mm3 < chain.volume_mm3 * (1.0 - FULL) {
                continue;
            }
            let time_s = self.time_s;
            match fronts {
                [Some(one), Some(other)] => {
                    let met_c = Some([one.temperature_c, other.temperature_c]);
                    self.endings.push(Ending { chain: index, place_mm3: one.filled_mm3, time_s, met_c });
                    self.chains[index].is_full = true;
                }
                [Some(front), None] | [None, Some(front)] => {
                    let side = usize::from(fronts[0].is_none());
                    let far = chain.nodes[1 - side];
                    let length_mm: f64 =
                        self.plan.stretches[chain.stretches.clone()].iter().map(|s| s.length_mm()).sum();
                    let reached = Reached {
                        time_s,
                        gate: front.gate,
                        way_mm: front.way_mm + length_mm,
                        temperature_c: front.temperature_c,
                        direction: self.plan.arriving(index, side),
                    };
                    let is_new = self.nodes[far].is_none();
                    self.chains[index].is_full = true;
                    if is_new {
                        self.reach(far, reached);
                        let is_end = self.plan.degree[far] == 1
                            && !self.plan.bores.iter().any(|bore| bore.node == far);
                        if is_end {
                            let place_mm3 = if side == 0 { chain.volume_mm3 } else { 0.0 };
                            self.endings.push(Ending { chain: index, place_mm3, time_s, met_c: None });
                        }
                    }
                }
                [None, None] => {}
            }
        }
    }

    /// Melt is at a node: fronts set out into every chain that begins there.
    fn reach(&mut self, node: usize, reached: Reached) {
        if self.nodes[node].is_some() {
            return;
        }
        self.nodes[node] = Some(reached);
        for index in 0..self.chains.len() {
            for side in [0, 1] {
                if self.plan.chains[index].nodes[side] != node {
                    continue;
                }
                let border = border_of(self.plan, index, side, 0);
                let border = &mut self.borders[border];
                border.time_s = Some(reached.time_s);
                (border.gate, border.temperature_c) = (reached.gate, reached.temperature_c);
                let state = &mut self.chains[index];
                if state.is_full || state.fronts[side].is_some() {
                    continue;
                }
                state.fronts[side] = Some(Front {
                    filled_mm3: 0.0,
                    passed: 0,
                    passed_mm3: 0.0,
                    gate: reached.gate,
                    way_mm: reached.way_mm,
                    flow_mm3_s: 0.0,
                    moved_s: reached.time_s,
                    temperature_c: reached.temperature_c,
                    stopped: None,
                });
                let chain = &self.plan.chains[index];
                let first = from_side(chain.stretches.start, chain.stretches.len(), side, 0);
                let layer = &mut self.layers.now[first];
                if layer.wet_s.is_infinite() {
                    layer.temperature_c = reached.temperature_c;
                    self.layers.resist(self.shot, self.plan, first);
                }
            }
        }
    }

    /// Carries pressures and temperatures along the flows, from the nozzle on.
    fn warm(&mut self, pressure_mpa: f64, dt_s: f64) {
        let n = self.shot.index();
        self.inflow.clear();
        self.inflow.resize(self.network.pressure.len(), (0.0, 0.0));
        let upstream = |edge: &Edge, flow: f64| if flow >= 0.0 { edge.from } else { edge.to };
        let network = &self.network;
        self.order.clear();
        self.order.extend(0..network.edges.len());
        let height = |&index: &usize| network.pressure[upstream(&network.edges[index], network.flow[index])];
        self.order.sort_by(|a, b| height(b).total_cmp(&height(a)));
        for place in 0..self.order.len() {
            let edge_index = self.order[place];
            let edge = self.network.edges[edge_index];
            let from = upstream(&edge, self.network.flow[edge_index]);
            let (heat, through) = self.inflow[from];
            match self.ducts[edge_index] {
                Duct::Bore(bore) => {
                    let state = self.bores[bore];
                    if state.opens_s.is_some() && state.flow_mm3_s > 0.0 {
                        let lost_mpa = pressure_mpa * (1.0 - self.network.pressure[edge.to]);
                        let temperature_c = self.shot.melt_c + lost_mpa / self.shot.heat_mpa_c;
                        self.inflow[edge.to].0 += temperature_c * state.flow_mm3_s;
                        self.inflow[edge.to].1 += state.flow_mm3_s;
                    }
                }
                Duct::Front(chain, side) => {
                    let Some(mut front) = self.chains[chain].fronts[side] else { continue };
                    if front.flow_mm3_s <= 0.0 {
                        continue;
                    }
                    let known_c = self.nodes[from - NOZZLE - 1].map_or(self.shot.melt_c, |n| n.temperature_c);
                    let mut at_c = if through > 0.0 { heat / through } else { known_c };
                    let flow = self.flow(front.flow_mm3_s, n, dt_s);
                    let mut at_mpa = pressure_mpa * self.network.pressure[from];
                    self.note(chain, side, 0, at_mpa);
                    for (step, (stretch, share)) in behind(self.plan, chain, side, &front).enumerate() {
                        at_c = self.layers.warm(self.shot, self.plan, stretch, &flow, at_c, share);
                        at_mpa -= self.layers.now[stretch].resistance * share * flow.to_index;
                        if share >= 1.0 {
                            self.note(chain, side, step + 1, at_mpa.max(0.0));
                        }
                    }
                    front.temperature_c = at_c;
                    self.chains[chain].fronts[side] = Some(front);
                }
                Duct::Through(chain) => {
                    let through_mm3_s = self.chains[chain].through_mm3_s;
                    let side = usize::from(through_mm3_s < 0.0);
                    let rate_mm3_s = through_mm3_s.abs();
                    let known_c = self.nodes[from - NOZZLE - 1].map_or(self.shot.melt_c, |n| n.temperature_c);
                    let mut at_c = if through > 0.0 { heat / through } else { known_c };
                    let flow = self.flow(rate_mm3_s, n, dt_s);
                    let mut at_mpa = pressure_mpa * self.network.pressure[from];
                    self.note(chain, side, 0, at_mpa);
                    let of_chain = self.plan.chains[chain].stretches.clone();
                    for step in 0..of_chain.len() {
                        let stretch = from_side(of_chain.start, of_chain.len(), side, step);
                        if rate_mm3_s > 0.0 {
                            at_c = self.layers.warm(self.shot, self.plan, stretch, &flow, at_c, 1.0);
                            at_mpa -= self.layers.now[stretch].resistance * flow.to_index;
                        }
                        self.note(chain, side, step + 1, at_mpa.max(0.0));
                    }
                    if rate_mm3_s > 0.0 {
                        let to = if from == edge.from { edge.to } else { edge.from };
                        self.inflow[to].0 += at_c * rate_mm3_s;
                        self.inflow[to].1 += rate_mm3_s;
                    }
                }
            }
        }
    }

    fn flow(&self, rate_mm3_s: f64, n: f64, dt_s: f64) -> Flow {
        Flow { rate_mm3_s, to_index: rate_mm3_s.powf(n), time_s: self.time_s, dt_s }
    }

    /// Takes note of a pressure at a border.
    fn note(&mut self, chain: usize, side: usize, step: usize, pressure_mpa: f64) {
        let border = border_of(self.plan, chain, side, step);
        let border = &mut self.borders[border];
        border.pressure_mpa = pressure_mpa;
        border.peak_mpa = border.peak_mpa.max(pressure_mpa);
    }

    /// Lets skins grow, and closes what is frozen through.
    fn grow_skins(&mut self, dt_s: f64) {
        for (bore, state) in self.plan.bores.iter().zip(&mut self.bores) {
            if state.frozen_s.is_some() || !self.shot.freezing.is_cold() || state.filled_mm3 <= 0.0 {
                continue;
            }
            let frozen_s = self.shot.freezing.bore_s(bore.narrow_mm);
            let section = self.shot.freezing.section(bore.narrow_mm, frozen_s);
            let shear_per_s = self.shot.ducts.tube_shear_rate_per_s(state.flow_mm3_s, bore.narrow_mm);
            state.age_s += dt_s;
            state.skin_mm = self.shot.freezing.skin_mm(&section, state.age_s);
            let layer_mm = self.shot.freezing.layer_mm(0.5 * bore.length_mm, shear_per_s, f64::INFINITY);
            let swept_mm = self.shot.freezing.swept_mm(layer_mm, self.shot.melt_c);
            if state.skin_mm > swept_mm {
                state.skin_mm = swept_mm;
                state.age_s = state.age_s.min(self.shot.freezing.age_s(swept_mm));
            }
            if state.skin_mm >= 0.49 * bore.narrow_mm {
                state.frozen_s = Some(self.time_s);
            }
        }
        for index in 0..self.chains.len() {
            let through_mm3_s = self.chains[index].through_mm3_s.abs();
            if self.chains[index].is_full {
                let mut is_closed = false;
                for stretch in self.plan.chains[index].stretches.clone() {
                    is_closed |= self.grow_skin(stretch, through_mm3_s, dt_s);
                }
                self.chains[index].is_closed |= is_closed;
                continue;
            }
            for side in [0, 1] {
                let Some(mut front) = self.chains[index].fronts[side] else { continue };
                for (stretch, share) in behind(self.plan, index, side, &front) {
                    // The melt in the stretch of the front has been there half as long on average.
                    let share = if share < 1.0 { 0.5 } else { 1.0 };
                    if self.grow_skin(stretch, front.flow_mm3_s, dt_s * share) {
                        let is_blocked = self.plan.is_blocked(stretch);
                        front.stopped.get_or_insert(if is_blocked {
                            ShortWhy::Blocked
                        } else {
                            ShortWhy::Froze
                        });
                    }
                }
                self.chains[index].fronts[side] = Some(front);
            }
        }
    }

    /// Lets the skin of a stretch grow and tells whether it is closed.
    fn grow_skin(&mut self, stretch: usize, flow_mm3_s: f64, dt_s: f64) -> bool {
        self.layers.age(self.shot, self.plan, stretch, flow_mm3_s, dt_s);
        self.layers.renew(self.shot, self.plan, stretch);
        self.layers.now[stretch].resistance.is_infinite()
    }
}

/// The stretches that a front has behind it, from where it set out, and how much of each is filled.
fn behind<'p>(
    plan: &'p Plan,
    chain: usize,
    side: usize,
    front: &Front,
) -> impl Iterator<Item = (usize, f64)> + use<'p> {
    let of = &plan.chains[chain];
    let (start, count, passed) = (of.stretches.start, of.stretches.len(), front.passed);
    let over_mm3 = front.filled_mm3 - front.passed_mm3;
    let partly = (passed < count).then(|| {
        let stretch = from_side(start, count, side, passed);
        let share = (over_mm3 / plan.stretches[stretch].volume_mm3).max(0.0);
        (stretch, if share > 1.0 - FULL { 1.0 } else { share })
    });
    (0..passed.min(count)).map(move |step| (from_side(start, count, side, step), 1.0)).chain(partly)
}

/// The stretch that is so many steps from one end of a chain.
fn from_side(start: usize, count: usize, side: usize, step: usize) -> usize {
    if side == 0 { start + step } else { start + count - 1 - step }
}

/// The border that is so many steps from one end of a chain.
fn border_of(plan: &Plan, chain: usize, side: usize, step: usize) -> usize {
    let of = &plan.chains[chain].stretches;
    // One border more than stretches for every chain before it.
    let first = of.start + chain;
    if side == 0 { first + step } else { first + of.len() - step }
}
