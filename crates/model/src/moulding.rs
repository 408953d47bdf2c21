//! How a shot is made: what the user sets at the press.

use serde::{Deserialize, Deserializer, Serialize};

use crate::bounds::{self, OutOfRange, check_all};
use crate::material::Material;

/// The settings of a shot. Temperatures that are not given are the usual ones of the material, and follow
/// it when another is chosen; see [`Self::melt_temperature_c`] and its like.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Moulding {
    /// Temperature of the melt at the nozzle, °C; `None` for the material's usual one.
    #[serde(rename = "melt_temperature_c", deserialize_with = "temperature")]
    pub own_melt_temperature_c: Option<f64>,
    /// Temperature of the mould's faces, °C; `None` for the material's usual one.
    #[serde(rename = "mould_temperature_c", deserialize_with = "temperature")]
    pub own_mould_temperature_c: Option<f64>,
    /// Temperature of the hottest place at which the part is to be pushed off, °C; `None` for the material's
    /// usual one.
    #[serde(rename = "ejection_temperature_c", deserialize_with = "temperature")]
    pub own_ejection_temperature_c: Option<f64>,
    /// Melt pushed in per second while the pressure allows it, mm³/s.
    #[serde(deserialize_with = "bounds::flow_rate")]
    pub injection_rate_mm3_s: f64,
    /// Pressure kept on the nozzle after filling, MPa; 0 for none.
    #[serde(deserialize_with = "bounds::packing_pressure")]
    pub packing_pressure_mpa: f64,
    /// How long it is kept on, s.
    #[serde(deserialize_with = "bounds::packing_time")]
    pub packing_time_s: f64,
    /// How long the mould stays closed after filling and packing, s; `None` for as long as the thickest place
    /// needs.
    #[serde(deserialize_with = "cooling_time")]
    pub cooling_time_s: Option<f64>,
    /// Where the shrinkage held back by the mould comes from.
    pub held_back: HeldBack,
}

/// Where the shrinkage that the mould holds back until it opens comes from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum HeldBack {
    /// From [`Material::restrained_shrinkage`], as given by the user or assumed.
    #[default]
    Given,
    /// Computed from the material's shrinkage and how far the part has cooled when the mould opens.
    Computed,
}

impl HeldBack {
    /// All choices.
    pub const ALL: [Self; 2] = [Self::Given, Self::Computed];

    /// The choice in the user's words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Given => "as given",
            Self::Computed => "computed from cooling",
        }
    }
}

impl Default for Moulding {
    /// A small part by hand or with a small ram: rate, pressure and time are assumed.
    fn default() -> Self {
        Self {
            own_melt_temperature_c: None,
            own_mould_temperature_c: None,
            own_ejection_temperature_c: None,
            injection_rate_mm3_s: 4000.0,
            packing_pressure_mpa: 20.0,
            packing_time_s: 5.0,
            cooling_time_s: None,
            held_back: HeldBack::Given,
        }
    }
}

impl Moulding {
    /// Temperature of the melt at the nozzle, °C: the user's, else the usual one of `material`.
    pub fn melt_temperature_c(&self, material: &Material) -> f64 {
        self.own_melt_temperature_c.unwrap_or(material.melt.melt_temperature_c)
    }

    /// Temperature of the mould's faces, °C: the user's, else the usual one of `material`.
    pub fn mould_temperature_c(&self, material: &Material) -> f64 {
        self.own_mould_temperature_c.unwrap_or(material.melt.mould_temperature_c)
    }

    /// Temperature at which the part is to be pushed off, °C: the user's, else the usual one of `material`.
    pub fn ejection_temperature_c(&self, material: &Material) -> f64 {
        self.own_ejection_temperature_c.unwrap_or(material.melt.ejection_temperature_c)
    }

    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        let given = [
            (bounds::TEMPERATURE, self.own_melt_temperature_c),
            (bounds::TEMPERATURE, self.own_mould_temperature_c),
            (bounds::TEMPERATURE, self.own_ejection_temperature_c),
            (bounds::COOLING_TIME, self.cooling_time_s),
        ];
        given
            .iter()
            .filter_map(|(bounds, value)| Some((bounds, (*value)?)))
            .try_for_each(|(bounds, value)| bounds.check(value).map(drop))?;
        check_all(&[
            (bounds::FLOW_RATE, self.injection_rate_mm3_s),
            (bounds::PACKING_PRESSURE, self.packing_pressure_mpa),
            (bounds::PACKING_TIME, self.packing_time_s),
        ])
    }
}

fn temperature<'de, D: Deserializer<'de>>(from: D) -> Result<Option<f64>, D::Error> {
    bounds::optional(bounds::TEMPERATURE, from)
}

fn cooling_time<'de, D: Deserializer<'de>>(from: D) -> Result<Option<f64>, D::Error> {
    bounds::optional(bounds::COOLING_TIME, from)
}
