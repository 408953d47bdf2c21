//! Pressures and temperatures, carried along the flows.

use super::{Duct, March, behind, border_of, from_side};
use crate::filling::flow::{Edge, NOZZLE};
use crate::filling::layer::Flow;

impl March<'_> {
    /// Carries pressures and temperatures along the flows, from the nozzle on.
    pub(super) fn warm(&mut self, pressure_mpa: f64, dt_s: f64) {
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
}
