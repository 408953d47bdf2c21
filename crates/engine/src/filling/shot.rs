//! What the filling takes from the project, in the units that it computes with.

use keepside_model::Project;

use super::duct::Ducts;
use super::result::NotFilled;
use super::skin::Freezing;

/// Melt, mould and press of one shot.
#[derive(Clone, Debug)]
pub(super) struct Shot {
    /// Laws of ducts for the melt's power-law index.
    pub(super) ducts: Ducts,
    pub(super) freezing: Freezing,
    /// Logarithm of the consistency at the melt temperature, MPa sⁿ.
    ln_consistency: f64,
    /// How much it falls with temperature, 1/°C.
    per_c: f64,
    pub(super) melt_c: f64,
    pub(super) mould_c: f64,
    pub(super) diffusivity_mm2_s: f64,
    /// Heat that warms a volume, MPa/°C (= mJ/(mm³ °C)).
    pub(super) heat_mpa_c: f64,
    pub(super) rate_mm3_s: f64,
    pub(super) pressure_limit_mpa: f64,
    pub(super) shot_mm3: f64,
}

impl Shot {
    pub(super) fn of(project: &Project) -> Result<Self, NotFilled> {
        let (melt, press, moulding) = (&project.material.melt, &project.press, &project.moulding);
        let melt_c = moulding.melt_temperature_c(&project.material);
        let mould_c = moulding.mould_temperature_c(&project.material);
        let no_flow_c = melt.no_flow_temperature_c;
        let freezing = Freezing::new(melt.diffusivity_mm2_s, melt_c, mould_c, no_flow_c)
            .ok_or(NotFilled::TooCold { melt_c, no_flow_c })?;
        Ok(Self {
            ducts: Ducts::new(melt.power_law_index),
            freezing,
            ln_consistency: melt.consistency_at(melt_c).max(1e-300).ln(),
            per_c: melt.temperature_factor_per_c,
            melt_c,
            mould_c,
            diffusivity_mm2_s: melt.diffusivity_mm2_s,
            heat_mpa_c: melt.conductivity_w_m_k / melt.diffusivity_mm2_s,
            rate_mm3_s: moulding.injection_rate_mm3_s.min(press.rate_limit_mm3_s),
            pressure_limit_mpa: press.pressure_limit_mpa,
            shot_mm3: press.shot_volume_mm3,
        })
    }

    /// Power-law index.
    pub(super) fn index(&self) -> f64 {
        self.ducts.index
    }

    /// By how much the logarithm of the consistency falls for so many °C.
    #[inline]
    pub(super) fn ln_thinner(&self, warmer_c: f64) -> f64 {
        self.per_c * warmer_c
    }

    /// Logarithm of the consistency at a temperature, MPa sⁿ.
    #[inline]
    pub(super) fn ln_consistency(&self, temperature_c: f64) -> f64 {
        self.ln_consistency - self.per_c * (temperature_c - self.melt_c)
    }
}
