//! What the press drives: the network behind the fronts, its flows, and how long a step may be.

use super::{Duct, LEAST_SHARE, March, STILL, TIME_GROWTH, behind};
use crate::filling::flow::{AIR, Edge, NOZZLE};

impl March<'_> {
    /// The network as it stands: what is behind the fronts.
    pub(super) fn build(&mut self) {
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
    pub(super) fn drive(&mut self) -> Option<(f64, f64)> {
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
    pub(super) fn read_flows(&mut self, pressure_mpa: f64, rate_mm3_s: f64) {
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
    pub(super) fn step_s(&self, rate_mm3_s: f64) -> f64 {
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
}
