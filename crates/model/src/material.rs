//! The moulding material, and where each of its numbers comes from.

use std::collections::BTreeSet;

use serde::{Deserialize, Deserializer, Serialize};

use crate::bounds::{self, OutOfRange};
use crate::melt::Melt;

mod table;
mod value;

pub use value::{MaterialValue, ValueInfo};

/// The plastic: as it is when the mould opens, warm, and on its way there.
///
/// A project holds a copy: what a table or a saved grade says later changes no project.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(from = "Written")]
pub struct Material {
    /// Name as the user says it, for example "PP".
    pub name: String,
    /// The generic plastic it was started from, by which the sources of its numbers are told.
    pub based_on: String,
    /// Modulus at the ejection temperature, MPa.
    pub modulus_hot_mpa: f64,
    /// Yield stress at the ejection temperature, MPa.
    pub yield_hot_mpa: f64,
    /// Slope of the stress–strain line after yield over the modulus; 0.02 to 0.05 is usual.
    pub hardening_ratio: f64,
    /// Strain at which the warm plastic tears.
    pub break_strain: f64,
    /// Strain at yield in the short-term tensile test; sets the strain allowed while stripping.
    pub yield_strain: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Friction on steel.
    pub friction: f64,
    /// Shrinkage that the mould has kept the part from when it opens, as a strain: what pulls on the
    /// features that lock its length. Computed instead if [`crate::Moulding::held_back`] says so.
    pub restrained_shrinkage: f64,
    /// How it flows, cools, stiffens and shrinks.
    pub melt: Melt,
    /// The numbers that the user has set, whatever their values.
    pub own: BTreeSet<MaterialValue>,
}

/// A material as files have it: those of before the melt was described do not say it.
#[derive(Deserialize)]
#[serde(rename = "Material", deny_unknown_fields)]
struct Written {
    name: String,
    #[serde(default, deserialize_with = "present")]
    based_on: Option<String>,
    #[serde(deserialize_with = "bounds::modulus")]
    modulus_hot_mpa: f64,
    #[serde(deserialize_with = "bounds::strength")]
    yield_hot_mpa: f64,
    #[serde(deserialize_with = "bounds::hardening")]
    hardening_ratio: f64,
    #[serde(deserialize_with = "bounds::strain")]
    break_strain: f64,
    #[serde(deserialize_with = "bounds::strain")]
    yield_strain: f64,
    #[serde(deserialize_with = "bounds::poisson")]
    poisson: f64,
    #[serde(deserialize_with = "bounds::friction")]
    friction: f64,
    #[serde(default, deserialize_with = "bounds::shrinkage")]
    restrained_shrinkage: f64,
    #[serde(default, deserialize_with = "present")]
    melt: Option<Melt>,
    #[serde(default)]
    own: BTreeSet<MaterialValue>,
}

/// Reads what is there as such; only what is missing is `None`.
fn present<'de, D: Deserializer<'de>, T: Deserialize<'de>>(from: D) -> Result<Option<T>, D::Error> {
    T::deserialize(from).map(Some)
}

impl From<Written> for Material {
    fn from(written: Written) -> Self {
        let generic = written.based_on.as_ref().and_then(|name| Self::generic_named(name));
        let generic = generic.or_else(|| Self::generic_named(&written.name)).unwrap_or_else(Self::first);
        let is_of_before = written.melt.is_none();
        let mut material = Self {
            name: written.name,
            based_on: written.based_on.unwrap_or_else(|| generic.based_on.clone()),
            modulus_hot_mpa: written.modulus_hot_mpa,
            yield_hot_mpa: written.yield_hot_mpa,
            hardening_ratio: written.hardening_ratio,
            break_strain: written.break_strain,
            yield_strain: written.yield_strain,
            poisson: written.poisson,
            friction: written.friction,
            restrained_shrinkage: written.restrained_shrinkage,
            melt: written.melt.unwrap_or_else(|| generic.melt.clone()),
            own: written.own,
        };
        if is_of_before {
            material.own_what_differs(&generic);
        }
        material
    }
}

/// Where a number of a material comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Provenance {
    /// Published: where.
    Source(&'static str),
    /// Remembered and not read again: what.
    Memory(&'static str),
    /// Nobody said so; what was assumed.
    Assumed(&'static str),
    /// The user's own.
    Own,
}

impl Provenance {
    fn of_table(source: &'static str) -> Self {
        if source.starts_with("assumed") {
            Self::Assumed(source)
        } else if source.starts_with("from memory") {
            Self::Memory(source)
        } else {
            Self::Source(source)
        }
    }

    /// It in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Source(words) | Self::Memory(words) | Self::Assumed(words) => words,
            Self::Own => "set by you",
        }
    }
}

/// What is said of the warm values where they are not the user's own.
const FROM_COLD: &str = "assumed: straight line from 23 °C, at the temperature when pushed off";

impl Material {
    /// Generic starting points; where each number comes from is told by [`Self::provenance`].
    pub fn generic() -> Vec<Self> {
        (0..table::NAMES.len()).map(Self::of_table).collect()
    }

    /// The generic plastic of this name, whatever its case.
    pub fn generic_named(name: &str) -> Option<Self> {
        plastic(name).map(Self::of_table)
    }

    fn first() -> Self {
        Self::of_table(0)
    }

    fn of_table(plastic: usize) -> Self {
        let mut material = value::unset(table::NAMES[plastic]);
        for info in MaterialValue::LIST {
            if let Some(cell) = info.cell {
                *(info.of_mut)(&mut material) = cell.of(plastic);
            }
        }
        material.warm_to(material.melt.ejection_temperature_c);
        material
    }

    /// Where one of its numbers comes from. A number that differs from the generic plastic's is the user's
    /// own even if nothing says so.
    pub fn provenance(&self, value: MaterialValue) -> Provenance {
        let info = value.info();
        if self.own.contains(&value) {
            return Provenance::Own;
        }
        let Some(cell) = info.cell else { return Provenance::Assumed(FROM_COLD) };
        match plastic(&self.based_on) {
            Some(plastic) if cell.of(plastic) == (info.of)(self) => {
                Provenance::of_table(cell.source(plastic))
            }
            _ => Provenance::Own,
        }
    }

    /// The usual range of one of its numbers for the generic plastic that it was started from; `None` where
    /// there is none.
    pub fn usual_range(&self, value: MaterialValue) -> Option<(f64, f64)> {
        let row = value.info().cell?.row(plastic(&self.based_on)?);
        Some((row.low, row.high))
    }

    /// Sets one of its numbers and marks it as the user's own.
    pub fn set_own(&mut self, value: MaterialValue, number: f64) {
        *(value.info().of_mut)(self) = number;
        self.own.insert(value);
    }

    /// Takes a number of the generic plastic back; the warm values follow with [`Self::warm_to`].
    pub fn take_back(&mut self, value: MaterialValue) {
        self.own.remove(&value);
        let generic = Self::generic_named(&self.based_on).unwrap_or_else(Self::first);
        *(value.info().of_mut)(self) = (value.info().of)(&generic);
    }

    /// Marks what differs from `before` as the user's own.
    pub fn own_what_differs(&mut self, before: &Self) {
        for info in MaterialValue::LIST {
            if (info.of)(self) != (info.of)(before) {
                self.own.insert(info.value);
            }
        }
    }

    /// Sets the warm modulus and yield stress for a temperature, °C, unless they are the user's own: to two
    /// figures, as no more of them is known.
    pub fn warm_to(&mut self, temperature_c: f64) {
        if !self.own.contains(&MaterialValue::ModulusHot) {
            self.modulus_hot_mpa = two_figures(self.melt.modulus_mpa(temperature_c));
        }
        if !self.own.contains(&MaterialValue::YieldHot) {
            self.yield_hot_mpa = two_figures(self.melt.yield_mpa(temperature_c));
        }
    }

    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        MaterialValue::LIST.iter().try_for_each(|info| info.bounds.check((info.of)(self)).map(drop))
    }
}

/// The place of a generic plastic in the table.
fn plastic(name: &str) -> Option<usize> {
    table::NAMES.iter().position(|known| known.eq_ignore_ascii_case(name.trim()))
}

/// A positive number rounded to two figures.
fn two_figures(number: f64) -> f64 {
    // Through text, which rounds decimals exactly.
    format!("{number:.1e}").parse().unwrap_or(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_number_of_a_generic_plastic_is_permitted_and_has_a_source() {
        for material in Material::generic() {
            assert_eq!(material.check(), Ok(()), "{}", material.name);
            for info in MaterialValue::LIST {
                assert_ne!(
                    material.provenance(info.value),
                    Provenance::Own,
                    "{} {}",
                    material.name,
                    info.name
                );
                assert!(!material.provenance(info.value).words().is_empty());
            }
        }
    }

    #[test]
    fn the_ends_of_a_published_range_are_told_as_published_and_the_value_within_as_assumed() {
        let material = Material::first();
        let within = material.provenance(MaterialValue::MeltTemperature);
        assert!(
            matches!(within, Provenance::Assumed(words) if words.starts_with("assumed within the range of "))
        );
        for end in [MaterialValue::MeltTemperatureLow, MaterialValue::VentDepthMax] {
            let told = material.provenance(end);
            assert!(matches!(told, Provenance::Source(words) if words.contains(".co")), "{told:?}");
        }
    }

    #[test]
    fn temperatures_of_a_generic_plastic_are_in_order() {
        for Material { name, melt, .. } in Material::generic() {
            assert!(melt.mould_temperature_high_c < melt.no_flow_temperature_c, "{name}");
            assert!(melt.mould_temperature_c < melt.ejection_temperature_c, "{name}");
            assert!(melt.ejection_temperature_c < melt.no_flow_temperature_c, "{name}");
            assert!(melt.no_flow_temperature_c < melt.melt_temperature_low_c, "{name}");
        }
    }

    #[test]
    fn warm_values_are_those_at_the_ejection_temperature() {
        let warm = |name| {
            let material = Material::generic_named(name).unwrap();
            (material.modulus_hot_mpa, material.yield_hot_mpa)
        };
        // 1300·(170 − 80)/(170 − 23) = 796 and 30·90/147 = 18.4, and so on, to two figures.
        assert_eq!(warm("PP"), (800.0, 18.0));
        assert_eq!(warm("HDPE"), (500.0, 13.0));
        assert_eq!(warm("abs "), (1700.0, 28.0));
        assert_eq!(warm("PS"), (2300.0, 30.0));
        assert_eq!(warm("TPE"), (25.0, 5.0));
    }

    #[test]
    fn pp_keeps_of_its_modulus_at_125_degrees_what_is_published() {
        // Journal of Applied Polymer Science 65 (1997) 625: a straight line to zero near 170 °C leaves 31 %;
        // the same journal, 137 (2020) 48581: it falls by about 90 % from 25 to 125 °C.
        let melt = Material::first().melt;
        let share = melt.modulus_mpa(125.0) / melt.modulus_mpa(25.0);
        assert!((0.08..=0.33).contains(&share), "{share}");
    }

    #[test]
    fn what_the_user_sets_is_told_as_such_even_if_it_is_the_same_number() {
        let mut material = Material::first();
        let value = MaterialValue::DensitySolid;
        assert!(matches!(material.provenance(value), Provenance::Source(_)));
        material.set_own(value, material.melt.density_solid_g_cm3);
        assert_eq!(material, Material { own: BTreeSet::from([value]), ..Material::first() });
        assert_eq!(material.provenance(value), Provenance::Own);
        material.take_back(value);
        assert_eq!(material, Material::first());
    }
}
