//! Every limit of a project in words: its unit and range, its default, and where the default comes from.

use crate::bounds::{self, Bounds, OutOfRange};
use crate::project::Limits;

/// One of the numbers that findings compare with.
#[derive(Clone, Copy, Debug)]
pub struct Limit {
    /// Its name as a label, short.
    pub name: &'static str,
    /// What it asks for, one sentence without a full stop.
    pub meaning: &'static str,
    /// Its permitted range, with its unit.
    pub bounds: Bounds,
    /// Where its default comes from.
    pub origin: &'static str,
    /// Its value among the limits.
    pub of: fn(&Limits) -> f64,
    /// Its place among the limits, to be changed.
    pub of_mut: fn(&mut Limits) -> &mut f64,
}

/// Nobody said so; it is a number to start from.
const ASSUMED: &str = "assumed";

/// What benches do, as far as is known.
const PRACTICE: &str = "common practice, no source";

/// A limit of the field of this name.
macro_rules! limit {
    ($field:ident, $bounds:ident, $origin:ident, $name:literal, $meaning:literal) => {
        Limit {
            name: $name,
            meaning: $meaning,
            bounds: bounds::$bounds,
            origin: $origin,
            of: |limits| limits.$field,
            of_mut: |limits| &mut limits.$field,
        }
    };
}

impl Limit {
    /// Its default.
    pub fn default_value(&self) -> f64 {
        (self.of)(&Limits::default())
    }
}

impl Limits {
    /// All limits, those of the plastic first, then those of the metal, then those of the part.
    pub const LIST: [Limit; 11] = [
        limit!(
            flow_gap_mm,
            LIMIT_LENGTH,
            PRACTICE,
            "Gap to flow through",
            "least gap between a feature and the channel's edge through which plastic flows; a 4 mm screw in a \
             6 mm channel fills"
        ),
        limit!(roof_mm, LIMIT_LENGTH, ASSUMED, "Roof over a pin", "least plastic over a buried feature"),
        limit!(
            end_gap_mm,
            LIMIT_LENGTH,
            ASSUMED,
            "Pin to channel end",
            "least plastic between a feature and the end of the channel"
        ),
        limit!(
            feature_gap_mm,
            LIMIT_LENGTH,
            ASSUMED,
            "Pin to pin",
            "least gap between two features or ejectors of one half"
        ),
        limit!(
            gate_gap_mm,
            LIMIT_LENGTH,
            ASSUMED,
            "Pin to gate",
            "least gap between a gate and a feature or an ejector of its half"
        ),
        limit!(
            steel_wall_mm,
            LIMIT_LENGTH,
            ASSUMED,
            "Steel between holes",
            "least metal between a hole and another, the channel or the plate's edge, and between two channels"
        ),
        limit!(
            drill_floor_mm,
            LIMIT_LENGTH,
            ASSUMED,
            "Steel under a drill",
            "least metal between the point of a drill and the far face of the plate"
        ),
        limit!(
            engagement_diameters,
            ENGAGEMENT,
            PRACTICE,
            "Thread, diameters",
            "least length of thread in the plate, in diameters; one in steel, one and a half to two in aluminium"
        ),
        limit!(bump_mm, LIMIT_LENGTH, ASSUMED, "Bump allowed", "tallest bump that may stay at a gate"),
        limit!(
            straightedge_mm,
            STRAIGHTEDGE,
            ASSUMED,
            "Straightedge",
            "length of the straightedge laid on the part to measure a bump"
        ),
        limit!(
            air_pressure_mpa,
            AIR_PRESSURE,
            ASSUMED,
            "Air squeezed to",
            "highest pressure of the air in the channel while it fills; squeezed to 1 MPa without losing heat, it \
             gets hotter than 320 °C and may burn the plastic"
        ),
    ];

    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        Self::LIST.iter().try_for_each(|limit| limit.bounds.check((limit.of)(self)).map(drop))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_limit_is_listed_once_with_a_default_in_its_range() {
        let mut limits = Limits::default();
        for (index, limit) in Limits::LIST.iter().enumerate() {
            let default = limit.default_value();
            assert!(limit.bounds.contains(default), "{}", limit.name);
            assert!(!limit.meaning.ends_with('.') && !limit.origin.is_empty(), "{}", limit.name);
            // Every one leads to a number of its own.
            assert_eq!((limit.of)(&limits), default, "{}", limit.name);
            *(limit.of_mut)(&mut limits) = 7.0 + index as f64;
            assert_eq!((limit.of)(&limits), 7.0 + index as f64);
        }
        let whole = format!("{limits:?}");
        let fields = whole.matches(": ").count();
        assert_eq!(fields, Limits::LIST.len(), "a limit is missing from the list: {whole}");
    }

    #[test]
    fn a_limit_out_of_its_range_is_refused() {
        let limits = Limits { straightedge_mm: 1.0, ..Limits::default() };
        assert!(limits.check().is_err());
        assert!(Limits::default().check().is_ok());
        assert!(Limits { roof_mm: f64::NAN, ..Limits::default() }.check().is_err());
    }
}
