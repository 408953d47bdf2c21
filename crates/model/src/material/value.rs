//! Every number of a material in words: its unit and range, and where it is kept.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use crate::bounds::{self, Bounds};
use crate::material::Material;
use crate::material::table::{Cell, high, low, usual};
use crate::melt::Melt;

/// One number of a material as it is shown and edited.
#[derive(Clone, Copy, Debug)]
pub struct ValueInfo {
    /// Which number.
    pub value: MaterialValue,
    /// Its name as a label, short.
    pub name: &'static str,
    /// Its permitted range, with its unit.
    pub bounds: Bounds,
    /// Its value in a material.
    pub of: fn(&Material) -> f64,
    /// Its place in a material, to be changed.
    pub of_mut: fn(&mut Material) -> &mut f64,
    /// Its place in the table of generic plastics; the warm values follow from the cold ones instead.
    pub(super) cell: Option<Cell>,
}

/// Declares the numbers of a material: field, range, place in the table of generic plastics, label.
macro_rules! values {
    (
        material { $($value:ident: $field:ident, $bounds:ident, $cell:expr, $name:literal;)* }
        melt { $($melt_value:ident: $melt_field:ident, $melt_bounds:ident, $melt_cell:expr, $melt_name:literal;)* }
    ) => {
        /// Names one number of a material.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
        #[expect(missing_docs, reason = "the list has each in words")]
        pub enum MaterialValue { $($value,)* $($melt_value,)* }

        impl MaterialValue {
            /// All numbers of a material, in the order in which they are declared.
            pub const LIST: &[ValueInfo] = &[
                $(ValueInfo {
                    value: Self::$value,
                    name: $name,
                    bounds: bounds::$bounds,
                    of: |material| material.$field,
                    of_mut: |material| &mut material.$field,
                    cell: $cell,
                },)*
                $(ValueInfo {
                    value: Self::$melt_value,
                    name: $melt_name,
                    bounds: bounds::$melt_bounds,
                    of: |material| material.melt.$melt_field,
                    of_mut: |material| &mut material.melt.$melt_field,
                    cell: $melt_cell,
                },)*
            ];
        }

        /// A material whose numbers are all nothing yet.
        pub(super) fn unset(name: &str) -> Material {
            Material {
                name: name.to_owned(),
                based_on: name.to_owned(),
                $($field: 0.0,)*
                melt: Melt { $($melt_field: 0.0,)* },
                own: BTreeSet::new(),
            }
        }
    };
}

values! {
    material {
        ModulusHot: modulus_hot_mpa, MODULUS, None, "Modulus, warm";
        YieldHot: yield_hot_mpa, STRENGTH, None, "Yield stress, warm";
        Hardening: hardening_ratio, HARDENING, usual("hardening_ratio"), "Hardening ratio";
        BreakStrain: break_strain, STRAIN, usual("break_strain"), "Strain at break";
        YieldStrain: yield_strain, STRAIN, usual("yield_strain"), "Strain at yield";
        Poisson: poisson, POISSON, usual("poisson"), "Poisson's ratio";
        Friction: friction, FRICTION, usual("friction"), "Friction on steel";
        RestrainedShrinkage: restrained_shrinkage, SHRINKAGE, usual("restrained_shrinkage"), "Shrinkage held back";
    }
    melt {
        Consistency: consistency_mpa_s_n, CONSISTENCY, usual("consistency"), "Consistency of the melt";
        ReferenceTemperature: reference_temperature_c, TEMPERATURE, usual("reference_temperature"), "Consistency holds at";
        PowerLawIndex: power_law_index, POWER_LAW_INDEX, usual("power_law_index"), "Power-law index";
        TemperatureFactor: temperature_factor_per_c, TEMPERATURE_FACTOR, usual("temperature_factor"), "Thins by heat";
        Diffusivity: diffusivity_mm2_s, DIFFUSIVITY, usual("diffusivity"), "Thermal diffusivity";
        Conductivity: conductivity_w_m_k, CONDUCTIVITY, usual("conductivity"), "Thermal conductivity";
        HeatCapacity: heat_capacity_j_kg_k, HEAT_CAPACITY, usual("heat_capacity"), "Heat capacity";
        DensitySolid: density_solid_g_cm3, DENSITY, usual("density_solid"), "Density, solid";
        DensityMelt: density_melt_g_cm3, DENSITY, usual("density_melt"), "Density, melt";
        NoFlowTemperature: no_flow_temperature_c, TEMPERATURE, usual("no_flow_temperature"), "No flow below";
        EjectionTemperature: ejection_temperature_c, TEMPERATURE, usual("ejection_temperature"), "Usual temperature when pushed off";
        MeltTemperature: melt_temperature_c, TEMPERATURE, usual("melt_temperature"), "Usual melt temperature";
        MeltTemperatureLow: melt_temperature_low_c, TEMPERATURE, low("melt_temperature"), "Melt temperature, lowest";
        MeltTemperatureHigh: melt_temperature_high_c, TEMPERATURE, high("melt_temperature"), "Melt temperature, highest";
        MouldTemperature: mould_temperature_c, TEMPERATURE, usual("mould_temperature"), "Usual mould temperature";
        MouldTemperatureLow: mould_temperature_low_c, TEMPERATURE, low("mould_temperature"), "Mould temperature, lowest";
        MouldTemperatureHigh: mould_temperature_high_c, TEMPERATURE, high("mould_temperature"), "Mould temperature, highest";
        ShrinkageAlong: shrinkage_along, FREE_SHRINKAGE, usual("shrinkage_along"), "Shrinkage along the flow";
        ShrinkageAlongLow: shrinkage_along_low, FREE_SHRINKAGE, low("shrinkage_along"), "Shrinkage along, lowest";
        ShrinkageAlongHigh: shrinkage_along_high, FREE_SHRINKAGE, high("shrinkage_along"), "Shrinkage along, highest";
        ShrinkageAcross: shrinkage_across, FREE_SHRINKAGE, usual("shrinkage_across"), "Shrinkage across the flow";
        ShrinkageAcrossLow: shrinkage_across_low, FREE_SHRINKAGE, low("shrinkage_across"), "Shrinkage across, lowest";
        ShrinkageAcrossHigh: shrinkage_across_high, FREE_SHRINKAGE, high("shrinkage_across"), "Shrinkage across, highest";
        VentDepth: vent_depth_mm, VENT_DEPTH, usual("vent_depth"), "Vent depth to start from";
        VentDepthMin: vent_depth_min_mm, VENT_DEPTH, low("vent_depth"), "Vent depth, shallowest";
        VentDepthMax: vent_depth_max_mm, VENT_DEPTH, high("vent_depth"), "Vent depth, deepest";
        ShearRateLimit: shear_rate_limit_per_s, SHEAR_RATE, usual("shear_rate_limit"), "Highest shear rate";
        ResidenceLimit: residence_limit_s, RESIDENCE, usual("residence_limit"), "Longest time hot";
        ModulusCold: modulus_cold_mpa, MODULUS, usual("modulus_cold"), "Modulus at 23 °C";
        YieldCold: yield_cold_mpa, STRENGTH, usual("yield_cold"), "Yield stress at 23 °C";
        ModulusGone: modulus_gone_c, TEMPERATURE, usual("modulus_gone"), "Modulus meets zero at";
        YieldGone: yield_gone_c, TEMPERATURE, usual("yield_gone"), "Yield stress meets zero at";
    }
}

impl MaterialValue {
    /// The number in words.
    pub const fn info(self) -> &'static ValueInfo {
        &Self::LIST[self as usize]
    }
}
