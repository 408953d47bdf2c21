//! Fronts that reach a node, an end, or one another.

use glam::DVec2;

use super::{Ending, FULL, Front, March, Reached, border_of, from_side};

impl March<'_> {
    /// Takes note of fronts that have reached a node, an end, or one another.
    pub(super) fn arrive(&mut self) {
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
}
