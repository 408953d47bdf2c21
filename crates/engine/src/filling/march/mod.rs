//! The march: fronts advance step by step until nothing moves any more.

mod arrive;
mod carry;
mod drive;
#[cfg(test)]
mod tests;

use glam::DVec2;

use super::flow::{NOZZLE, Network};
use super::layer::Layers;
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
