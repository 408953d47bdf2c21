//! The plastic on its way from melt to a part that can be pushed off.

use serde::{Deserialize, Serialize};

use crate::bounds;

/// How a plastic flows, cools, stiffens and shrinks. Every number is a material's, not a machine's; where
/// each comes from is told by [`crate::Material::provenance`].
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Melt {
    /// Consistency `K` of the power law `τ = K·γ̇ⁿ` at [`Self::reference_temperature_c`], MPa·sⁿ.
    #[serde(deserialize_with = "bounds::consistency")]
    pub consistency_mpa_s_n: f64,
    /// Temperature at which the consistency holds, °C.
    #[serde(deserialize_with = "bounds::temperature")]
    pub reference_temperature_c: f64,
    /// Exponent `n` of the power law: 1 for a Newtonian melt, less for one that thins with shear.
    #[serde(deserialize_with = "bounds::power_law_index")]
    pub power_law_index: f64,
    /// Factor `β` in `K(T) = K·exp(−β·(T − T_ref))`, 1/°C.
    #[serde(deserialize_with = "bounds::temperature_factor")]
    pub temperature_factor_per_c: f64,
    /// Thermal diffusivity between melt and ejection, mm²/s.
    #[serde(deserialize_with = "bounds::diffusivity")]
    pub diffusivity_mm2_s: f64,
    /// Thermal conductivity, W/(m K).
    #[serde(deserialize_with = "bounds::conductivity")]
    pub conductivity_w_m_k: f64,
    /// Specific heat capacity, J/(kg K).
    #[serde(deserialize_with = "bounds::heat_capacity")]
    pub heat_capacity_j_kg_k: f64,
    /// Density of the solid at room temperature, g/cm³.
    #[serde(deserialize_with = "bounds::density")]
    pub density_solid_g_cm3: f64,
    /// Density of the melt, g/cm³.
    #[serde(deserialize_with = "bounds::density")]
    pub density_melt_g_cm3: f64,
    /// Temperature below which it does not flow under any pressure of a press, °C.
    #[serde(deserialize_with = "bounds::temperature")]
    pub no_flow_temperature_c: f64,
    /// Usual temperature of the hottest place when the part is pushed off, °C.
    #[serde(deserialize_with = "bounds::temperature")]
    pub ejection_temperature_c: f64,
    /// Usual melt temperature, °C.
    #[serde(deserialize_with = "bounds::temperature")]
    pub melt_temperature_c: f64,
    /// Lowest usual melt temperature, °C.
    #[serde(deserialize_with = "bounds::temperature")]
    pub melt_temperature_low_c: f64,
    /// Highest usual melt temperature, °C.
    #[serde(deserialize_with = "bounds::temperature")]
    pub melt_temperature_high_c: f64,
    /// Usual mould temperature, °C.
    #[serde(deserialize_with = "bounds::temperature")]
    pub mould_temperature_c: f64,
    /// Lowest usual mould temperature, °C.
    #[serde(deserialize_with = "bounds::temperature")]
    pub mould_temperature_low_c: f64,
    /// Highest usual mould temperature, °C.
    #[serde(deserialize_with = "bounds::temperature")]
    pub mould_temperature_high_c: f64,
    /// Shrinkage along the flow, of a part that is free to shrink, from mould size to a day later.
    #[serde(deserialize_with = "bounds::free_shrinkage")]
    pub shrinkage_along: f64,
    /// Lowest usual shrinkage along the flow.
    #[serde(deserialize_with = "bounds::free_shrinkage")]
    pub shrinkage_along_low: f64,
    /// Highest usual shrinkage along the flow.
    #[serde(deserialize_with = "bounds::free_shrinkage")]
    pub shrinkage_along_high: f64,
    /// Shrinkage across the flow.
    #[serde(deserialize_with = "bounds::free_shrinkage")]
    pub shrinkage_across: f64,
    /// Lowest usual shrinkage across the flow.
    #[serde(deserialize_with = "bounds::free_shrinkage")]
    pub shrinkage_across_low: f64,
    /// Highest usual shrinkage across the flow.
    #[serde(deserialize_with = "bounds::free_shrinkage")]
    pub shrinkage_across_high: f64,
    /// Depth of vent to start from, mm.
    #[serde(deserialize_with = "bounds::vent_depth")]
    pub vent_depth_mm: f64,
    /// Shallowest usual vent, mm.
    #[serde(deserialize_with = "bounds::vent_depth")]
    pub vent_depth_min_mm: f64,
    /// Deepest usual vent, mm: melt flashes into a deeper one.
    #[serde(deserialize_with = "bounds::vent_depth")]
    pub vent_depth_max_mm: f64,
    /// Highest shear rate that does it no harm, 1/s.
    #[serde(deserialize_with = "bounds::shear_rate")]
    pub shear_rate_limit_per_s: f64,
    /// Longest time that it may stay hot before it decomposes, s.
    #[serde(deserialize_with = "bounds::residence")]
    pub residence_limit_s: f64,
    /// Modulus at 23 °C, MPa.
    #[serde(deserialize_with = "bounds::modulus")]
    pub modulus_cold_mpa: f64,
    /// Yield stress at 23 °C, MPa.
    #[serde(deserialize_with = "bounds::strength")]
    pub yield_cold_mpa: f64,
    /// Temperature at which the straight line of the modulus meets zero, °C; see [`Self::modulus_mpa`].
    #[serde(deserialize_with = "bounds::temperature")]
    pub modulus_gone_c: f64,
    /// Temperature at which the straight line of the yield stress meets zero, °C.
    #[serde(deserialize_with = "bounds::temperature")]
    pub yield_gone_c: f64,
}

/// Temperature of the cold values, °C: the usual one of published tensile tests.
const COLD_C: f64 = 23.0;

/// The least that is left of the cold value: the straight lines end where the plastic is hardly solid.
const LEAST_SHARE: f64 = 0.02;

impl Melt {
    /// Modulus at a temperature, MPa: a straight line from the value at 23 °C to zero at
    /// [`Self::modulus_gone_c`], never below 2 % of the cold value, and within the permitted range.
    ///
    /// That modulus and yield stress fall in a straight line with temperature is published for PP (Journal of
    /// Applied Polymer Science 65 (1997) 625); for the other plastics it is assumed, and for glassy ones only
    /// below the softening point.
    pub fn modulus_mpa(&self, temperature_c: f64) -> f64 {
        let share = straight(temperature_c, self.modulus_gone_c);
        (self.modulus_cold_mpa * share).clamp(bounds::MODULUS.min, bounds::MODULUS.max)
    }

    /// Yield stress at a temperature, MPa; a straight line like that of [`Self::modulus_mpa`].
    pub fn yield_mpa(&self, temperature_c: f64) -> f64 {
        let share = straight(temperature_c, self.yield_gone_c);
        (self.yield_cold_mpa * share).clamp(bounds::STRENGTH.min, bounds::STRENGTH.max)
    }

    /// Consistency of the power law at a temperature, MPa·sⁿ: `K·exp(−β·(T − T_ref))`.
    pub fn consistency_at(&self, temperature_c: f64) -> f64 {
        let above_c = temperature_c - self.reference_temperature_c;
        self.consistency_mpa_s_n * (-self.temperature_factor_per_c * above_c).exp()
    }
}

/// What is left at a temperature of a value that falls from 23 °C in a straight line to zero at `gone_c`.
fn straight(temperature_c: f64, gone_c: f64) -> f64 {
    let span_c = (gone_c - COLD_C).max(1.0);
    ((gone_c - temperature_c) / span_c).max(LEAST_SHARE)
}
