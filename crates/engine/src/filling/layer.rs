//! Skin, temperature and resistance of every stretch that melt has reached.

use super::obstacle::Obstacle;
use super::plan::{Plan, Stretch};
use super::shot::Shot;
use super::skin::{GAMMA_4_3, Section};

/// The core that is left between the skins counts as no narrower than this share of the section: what is
/// thinner is frozen through.
const LEAST_CORE: f64 = 0.02;

/// Skins that differ by less than this share of the core, and temperatures by less than [`SAME_C`], °C, leave
/// the tangent good: to 1e-4 of the resistance.
const SAME_SKIN: f64 = 3e-3;
const SAME_C: f64 = 4.0;

/// What is constant of a stretch.
#[derive(Clone, Debug)]
struct Fixed {
    section: Section,
    /// Logarithm of the length beside which nothing stands and of what the section resists beside its rectangle.
    ln_free: f64,
    /// Ways past what stands in it.
    passes: std::ops::Range<usize>,
}

/// The ways past one feature, as far as they lie in one stretch.
#[derive(Clone, Debug)]
struct Pass {
    ways: [Option<Way>; 3],
    ln_length: f64,
}

#[derive(Clone, Copy, Debug)]
struct Way {
    sides_mm: [f64; 2],
    section: Section,
}

/// What changes with time.
#[derive(Clone, Copy, Debug)]
pub(super) struct Layer {
    /// When a front entered it, s; what lies ahead of the front counts half.
    pub(super) wet_s: f64,
    /// Age that a skin like this has without flow, s.
    age_s: f64,
    pub(super) skin_mm: f64,
    pub(super) temperature_c: f64,
    /// Way of the melt from the gate to its middle, mm.
    pub(super) way_mm: f64,
    /// Scale of the layer that cools beside flowing melt, mm.
    swept_mm: f64,
    /// The resistance as it was last worked out.
    known: Known,
    /// Resistance of the whole stretch, MPa over (mm³/s)ⁿ; infinite if it is closed.
    pub(super) resistance: f64,
    pub(super) peak_shear_per_s: f64,
}

/// A resistance that was worked out, and how it grows with the skin.
#[derive(Clone, Copy, Debug)]
struct Known {
    skin_mm: f64,
    temperature_c: f64,
    resistance: f64,
    per_mm: f64,
}

/// All stretches.
#[derive(Clone, Debug)]
pub(super) struct Layers {
    fixed: Vec<Fixed>,
    passes: Vec<Pass>,
    pub(super) now: Vec<Layer>,
}

impl Layers {
    pub(super) fn new(plan: &Plan, shot: &Shot) -> Self {
        let mut known: Option<([f64; 2], Section)> = None;
        let mut section = |sides_mm: [f64; 2]| match known {
            Some((same, section)) if same == sides_mm => section,
            _ => {
                let thin_mm = sides_mm[0].min(sides_mm[1]);
                let frozen_s = shot.freezing.bar_s(sides_mm[0], sides_mm[1]);
                let section = shot.freezing.section(thin_mm, frozen_s);
                known = Some((sides_mm, section));
                section
            }
        };
        let mut passes = Vec::new();
        let mut pass = |stretch: &Stretch, obstacle: &Obstacle| Pass {
            ways: obstacle
                .ways_mm
                .map(|way| way.map(|sides_mm| Way { sides_mm, section: section(sides_mm) })),
            ln_length: (obstacle.share * stretch.length_mm()).ln(),
        };
        let ranges: Vec<_> = plan
            .stretches
            .iter()
            .map(|stretch| {
                let first = passes.len();
                let obstacles = &plan.obstacles[stretch.obstacles.clone()];
                passes.extend(obstacles.iter().map(|obstacle| pass(stretch, obstacle)));
                first..passes.len()
            })
            .collect();
        let fixed = plan.stretches.iter().zip(ranges).map(|(stretch, passes)| Fixed {
            section: section(stretch.sides_mm),
            ln_free: (stretch.free_share * stretch.length_mm()).ln() + shot.index() * stretch.ln_rough,
            passes,
        });
        let fixed = fixed.collect();
        let dry = Layer {
            wet_s: f64::INFINITY,
            age_s: 0.0,
            skin_mm: 0.0,
            temperature_c: shot.melt_c,
            way_mm: 0.0,
            swept_mm: f64::INFINITY,
            known: Known { skin_mm: f64::INFINITY, temperature_c: 0.0, resistance: 0.0, per_mm: 0.0 },
            resistance: 0.0,
            peak_shear_per_s: 0.0,
        };
        Self { fixed, passes, now: vec![dry; plan.stretches.len()] }
    }

    /// Lets a stretch grow older by a time during which so much flows through it.
    pub(super) fn age(&mut self, shot: &Shot, plan: &Plan, index: usize, flow_mm3_s: f64, dt_s: f64) {
        let (fixed, layer) = (&self.fixed[index], &mut self.now[index]);
        let sides_mm = core_mm(plan.stretches[index].sides_mm, layer.skin_mm);
        let shear_per_s = shot.ducts.shear_rate_per_s(flow_mm3_s, sides_mm[0], sides_mm[1]);
        layer.peak_shear_per_s = layer.peak_shear_per_s.max(shear_per_s);
        layer.swept_mm = shot.freezing.layer_mm(layer.way_mm, shear_per_s, layer.swept_mm);
        if !shot.freezing.is_cold() {
            return;
        }
        layer.age_s += dt_s;
        layer.skin_mm = shot.freezing.skin_mm(&fixed.section, layer.age_s);
        let swept_mm = shot.freezing.swept_mm(layer.swept_mm, layer.temperature_c);
        if layer.skin_mm > swept_mm {
            layer.skin_mm = swept_mm;
            layer.age_s = layer.age_s.min(shot.freezing.age_s(swept_mm));
        }
    }

    /// Brings the resistance of a stretch up to date: along the tangent while skin and temperature are near
    /// those that it was worked out for.
    pub(super) fn renew(&mut self, shot: &Shot, plan: &Plan, index: usize) {
        let layer = &mut self.now[index];
        let [one_mm, other_mm] = plan.stretches[index].sides_mm;
        let thicker_mm = layer.skin_mm - layer.known.skin_mm;
        let warmer_c = layer.temperature_c - layer.known.temperature_c;
        let core_mm = one_mm.min(other_mm) - 2.0 * layer.skin_mm;
        if thicker_mm.abs() <= SAME_SKIN * core_mm && warmer_c.abs() <= SAME_C {
            let thinner = shot.ln_thinner(warmer_c);
            let of_temperature = 1.0 - thinner * (1.0 - 0.5 * thinner);
            layer.resistance = (layer.known.resistance + layer.known.per_mm * thicker_mm) * of_temperature;
        } else {
            self.resist(shot, plan, index);
        }
    }

    /// Works out the resistance of a stretch as it is now.
    pub(super) fn resist(&mut self, shot: &Shot, plan: &Plan, index: usize) {
        let (fixed, stretch) = (&self.fixed[index], &plan.stretches[index]);
        let layer = &mut self.now[index];
        let (ducts, n) = (&shot.ducts, shot.ducts.index);
        let thin_mm = stretch.sides_mm[0].min(stretch.sides_mm[1]);
        let is_closed = thin_mm - 2.0 * layer.skin_mm <= LEAST_CORE * thin_mm;
        if is_closed || shot.freezing.is_stiff(layer.temperature_c) {
            layer.resistance = f64::INFINITY;
            layer.known.skin_mm = f64::INFINITY;
            return;
        }
        // The logarithm grows by this with a skin on both sides: by the slit's powers.
        let growth = |sides_mm: [f64; 2]| {
            let (wide_mm, thin_mm) = (sides_mm[0].max(sides_mm[1]), sides_mm[0].min(sides_mm[1]));
            2.0 * ((1.0 + 2.0 * n) / thin_mm + n / wide_mm)
        };
        let (mut resistance, mut per_mm) = (0.0, 0.0);
        if stretch.free_share > 0.0 {
            let sides_mm = core_mm(stretch.sides_mm, layer.skin_mm);
            resistance = (fixed.ln_free + ducts.ln_rectangle(sides_mm[0], sides_mm[1])).exp();
            per_mm = resistance * growth(sides_mm);
        }
        for pass in &self.passes[fixed.passes.clone()] {
            let (mut conductance, mut lost) = (0.0, 0.0);
            for way in pass.ways.iter().flatten() {
                let skin_mm = shot.freezing.skin_mm(&way.section, layer.age_s).min(layer.skin_mm);
                let sides_mm = way.sides_mm.map(|side_mm| side_mm - 2.0 * skin_mm);
                let least_mm = LEAST_CORE * way.sides_mm[0].min(way.sides_mm[1]);
                if sides_mm[0].min(sides_mm[1]) > least_mm {
                    let ln = pass.ln_length + ducts.ln_rectangle(sides_mm[0], sides_mm[1]);
                    let of_way = (-ln / n).min(600.0).exp();
                    conductance += of_way;
                    lost += of_way * growth(sides_mm);
                }
            }
            let of_pass = conductance.powf(-n);
            resistance += of_pass;
            per_mm += if of_pass.is_finite() { of_pass * lost / conductance } else { 0.0 };
        }
        let consistency = shot.ln_consistency(layer.temperature_c).exp();
        layer.resistance = resistance * consistency;
        layer.known = Known {
            skin_mm: layer.skin_mm,
            temperature_c: layer.temperature_c,
            resistance: layer.resistance,
            per_mm: per_mm * consistency,
        };
    }

    /// Lets melt flow through a stretch for a time and tells with which mean temperature it leaves it.
    ///
    /// What leaves through the walls is what the cooled layer beside flowing melt takes (Lévêque), as far as
    /// that layer is there yet; pressure that is lost warms it. `share` of the stretch is filled.
    pub(super) fn warm(
        &mut self,
        shot: &Shot,
        plan: &Plan,
        index: usize,
        flow: &Flow,
        inflow_c: f64,
        share: f64,
    ) -> f64 {
        let (stretch, layer) = (&plan.stretches[index], &mut self.now[index]);
        let layer_mm = GAMMA_4_3 * layer.swept_mm;
        let contact_s = (flow.time_s - layer.wet_s).max(0.0);
        let ripe = (shot.freezing.cooled_mm(contact_s) / layer_mm.max(1e-9)).powi(3);
        let wall_mm2 = stretch.perimeter_mm * stretch.length_mm() * share;
        let lost = shot.diffusivity_mm2_s * wall_mm2 / layer_mm.max(1e-9) * ripe / (1.0 + ripe);
        let warmer_c = layer.resistance * share * flow.to_index / shot.heat_mpa_c;
        // It holds what was in it before.
        let (held, through) = (share * stretch.volume_mm3 / flow.dt_s, flow.rate_mm3_s);
        let temperature_c =
            (held * layer.temperature_c + through * (inflow_c + warmer_c) + lost * shot.mould_c)
                / (held + through + lost);
        if temperature_c.is_finite() {
            layer.temperature_c = temperature_c;
        }
        layer.temperature_c
    }
}

/// A flow during a step.
#[derive(Clone, Copy, Debug)]
pub(super) struct Flow {
    /// Flow, mm³/s.
    pub(super) rate_mm3_s: f64,
    /// Flow to the power of the index: times a resistance it is a pressure.
    pub(super) to_index: f64,
    pub(super) time_s: f64,
    pub(super) dt_s: f64,
}

/// What the skins leave of a section, mm.
fn core_mm(sides_mm: [f64; 2], skin_mm: f64) -> [f64; 2] {
    let least_mm = LEAST_CORE * sides_mm[0].min(sides_mm[1]);
    sides_mm.map(|side_mm| (side_mm - 2.0 * skin_mm).max(least_mm))
}
