//! Permitted ranges of every number in a project, in one place.
//!
//! A range is wide: it keeps out what cannot be meant (a negative width, NaN), not what is unwise;
//! the unwise is a finding. Reading a file, editing and the editor's number fields use the same
//! ranges.

use serde::{Deserialize, Deserializer, de::Error as _};

/// The permitted range of one kind of number, ends included.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// What the number is, in the user's words.
    pub what: &'static str,
    /// Unit as shown to the user; empty for a plain ratio.
    pub unit: &'static str,
    /// Smallest permitted value.
    pub min: f64,
    /// Largest permitted value.
    pub max: f64,
}

/// A number outside its permitted range.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{} is {value}{}{}; it must be {}", .bounds.what, space(.bounds), .bounds.unit, range(.bounds))]
pub struct OutOfRange {
    /// The range that was left.
    pub bounds: Bounds,
    /// The number given.
    pub value: f64,
}

fn space(bounds: &Bounds) -> &'static str {
    if bounds.unit.is_empty() { "" } else { " " }
}

fn range(bounds: &Bounds) -> String {
    let Bounds { min, max, unit, .. } = bounds;
    format!("from {min} to {max}{}{unit}", space(bounds))
}

impl Bounds {
    /// `value` if it lies in the range; NaN and infinities never do.
    ///
    /// # Errors
    ///
    /// [`OutOfRange`] with the value and the range.
    pub fn check(&self, value: f64) -> Result<f64, OutOfRange> {
        if self.contains(value) { Ok(value) } else { Err(OutOfRange { bounds: *self, value }) }
    }

    /// Whether `value` lies in the range; false for NaN.
    pub fn contains(&self, value: f64) -> bool {
        (self.min..=self.max).contains(&value)
    }
}

/// Most channel runs of a project.
pub const MOST_RUNS: usize = 1000;

/// Most points of all runs together.
pub const MOST_POINTS: usize = 10_000;

/// Most items of any other kind. More than all of these cannot be computed while somebody waits, and no bench
/// press has room for a tenth of them.
pub const MOST_ITEMS: usize = 5000;

/// Most trials of a log.
pub const MOST_TRIALS: usize = 10_000;

/// Most layouts that a project keeps.
pub const MOST_LAYOUTS: usize = 1000;

/// Most characters of a title, a remark or a name.
pub const MOST_CHARACTERS: usize = 100_000;

/// Range of: a coordinate of the plan.
pub const COORDINATE: Bounds = Bounds { what: "a coordinate", unit: "mm", min: -5000.0, max: 5000.0 };

/// Range of: the length of a screw.
pub const SCREW_LENGTH: Bounds = Bounds { what: "the screw length", unit: "mm", min: 1.0, max: 500.0 };

/// Range of: how far a hole may be off its place.
pub const POSITION_TOLERANCE: Bounds =
    Bounds { what: "the position tolerance", unit: "mm", min: 0.001, max: 5.0 };

/// Range of: the feed of a drill.
pub const FEED: Bounds = Bounds { what: "the feed of the drill", unit: "mm/min", min: 1.0, max: 5000.0 };

/// Range of: how long the mould stays closed after packing.
pub const COOLING_TIME: Bounds = Bounds { what: "the cooling time", unit: "s", min: 0.0, max: 36_000.0 };

/// Range of: the speed of the spindle that drills.
pub const SPINDLE: Bounds = Bounds { what: "the spindle speed", unit: "turns/min", min: 10.0, max: 60_000.0 };

/// Range of: the number of shots of a batch.
pub const SHOTS: Bounds = Bounds { what: "the number of shots", unit: "", min: 1.0, max: 100_000.0 };

/// Range of: the height of a bump that was measured.
pub const BUMP: Bounds = Bounds { what: "the height of a bump", unit: "mm", min: -100.0, max: 100.0 };

/// Declares ranges and, for each, the function that serde calls to read a number within it.
macro_rules! ranges {
    ($($name:ident / $reader:ident = $what:literal, $min:literal ..= $max:literal, $unit:literal;)*) => {
        $(
            #[doc = concat!("Range of: ", $what, ".")]
            pub const $name: Bounds = Bounds { what: $what, unit: $unit, min: $min, max: $max };

            pub(crate) fn $reader<'de, D: Deserializer<'de>>(from: D) -> Result<f64, D::Error> {
                $name.check(f64::deserialize(from)?).map_err(D::Error::custom)
            }
        )*

        /// Every range, for tests and documentation.
        pub const ALL: &[Bounds] = &[COORDINATE, SCREW_LENGTH, POSITION_TOLERANCE, FEED, SPINDLE, SHOTS, BUMP, COOLING_TIME, $($name),*];
    };
}

ranges! {
    CHANNEL_WIDTH / channel_width = "the channel width", 0.2 ..= 200.0, "mm";
    CHANNEL_DEPTH / channel_depth = "the channel depth", 0.1 ..= 100.0, "mm";
    EDGE / edge = "an edge radius", 0.0 ..= 100.0, "mm";
    RIB / rib = "a rib's size", 0.1 ..= 100.0, "mm";
    BULGE / bulge = "the bulge of an arc", -1.0 ..= 1.0, "";
    DRAFT / draft = "a draft angle", 0.0 ..= 45.0, "°";
    SHARE / share = "a share", 0.0 ..= 1.0, "";
    PLATE_SIZE / plate_size = "the plate size", 10.0 ..= 2000.0, "mm";
    PLATE_THICKNESS / plate_thickness = "the plate thickness", 2.0 ..= 500.0, "mm";
    HOLE_DIAMETER / hole_diameter = "the hole diameter", 0.5 ..= 100.0, "mm";
    STROKE / stroke = "the opening stroke", 1.0 ..= 1000.0, "mm";
    SPRUE_DIAMETER / sprue_diameter = "the sprue diameter", 0.3 ..= 30.0, "mm";
    SPRUE_LENGTH / sprue_length = "the sprue length", 0.2 ..= 200.0, "mm";
    EJECTOR_DIAMETER / ejector_diameter = "the ejector diameter", 0.3 ..= 50.0, "mm";
    EJECTOR_LENGTH / ejector_length = "the ejector length", 5.0 ..= 1000.0, "mm";
    EJECTOR_STROKE / ejector_stroke = "the ejector stroke", 0.1 ..= 500.0, "mm";
    VENT_WIDTH / vent_width = "the vent width", 0.2 ..= 50.0, "mm";
    VENT_DEPTH / vent_depth = "the vent depth", 0.001 ..= 1.0, "mm";
    VENT_LENGTH / vent_length = "the vent length", 0.1 ..= 500.0, "mm";
    FEATURE_SIZE / feature_size = "a keying feature's size", 0.3 ..= 50.0, "mm";
    RING / ring = "a size of the undercut ring", 0.05 ..= 50.0, "mm";
    CHAMFER / chamfer = "the chamfer", 0.0 ..= 10.0, "mm";
    GROOVE / groove = "a size of the grooves", 0.05 ..= 20.0, "mm";
    LEAN / lean = "the lean of a groove's sides", 0.0 ..= 60.0, "°";
    ENGAGEMENT / engagement = "the thread engagement in diameters", 0.0 ..= 10.0, "";
    PROTRUSION / protrusion = "the protrusion", 0.0 ..= 50.0, "mm";
    UNDERSIDE / underside = "the underside angle to the parting plane", 0.0 ..= 80.0, "°";
    MODULUS / modulus = "the modulus", 1.0 ..= 100_000.0, "MPa";
    STRENGTH / strength = "a strength", 0.05 ..= 1000.0, "MPa";
    HARDENING / hardening = "the hardening ratio", 0.001 ..= 0.5, "";
    STRAIN / strain = "a strain", 0.001 ..= 10.0, "";
    POISSON / poisson = "Poisson's ratio", 0.0 ..= 0.499, "";
    FRICTION / friction = "the coefficient of friction", 0.0 ..= 2.0, "";
    SHRINKAGE / shrinkage = "the restrained shrinkage", 0.0 ..= 0.1, "";
    VACUUM / vacuum = "the vacuum under a sealed face", 0.0 ..= 0.101325, "MPa";
    TACK / tack = "a tack or drag stress", 0.0 ..= 20.0, "MPa";
    TRAVEL / travel = "a let-go travel", 0.001 ..= 5.0, "mm";
    FACTOR / factor = "a factor", 0.0 ..= 10.0, "";
    LIMIT_LENGTH / limit_length = "a limit", 0.0 ..= 500.0, "mm";
    AIR_PRESSURE / air_pressure = "the pressure of the air", 0.11 ..= 100.0, "MPa";
    SAFE_HEIGHT / safe_height = "the safe height of the drill cycles", 1.0 ..= 300.0, "mm";
    RETRACT / retract = "the height at which drilling begins", 0.2 ..= 100.0, "mm";
    PECK / peck = "the depth drilled before chips are cleared", 0.1 ..= 100.0, "mm";
    LOG_SPREAD / log_spread = "a spread (standard deviation of the logarithm)", 0.0 ..= 2.0, "";
    ALONG / along = "a place along a run", 0.0 ..= 20_000.0, "mm";
    CONSISTENCY / consistency = "the consistency of the melt", 0.000_001 ..= 10.0, "MPa sⁿ";
    POWER_LAW_INDEX / power_law_index = "the power-law index", 0.05 ..= 1.0, "";
    TEMPERATURE_FACTOR / temperature_factor = "the temperature factor of the melt", 0.0 ..= 0.2, "per °C";
    DIFFUSIVITY / diffusivity = "the thermal diffusivity", 0.01 ..= 1.0, "mm²/s";
    CONDUCTIVITY / conductivity = "the thermal conductivity", 0.02 ..= 10.0, "W/(m K)";
    HEAT_CAPACITY / heat_capacity = "the heat capacity", 200.0 ..= 6000.0, "J/(kg K)";
    DENSITY / density = "a density", 0.3 ..= 5.0, "g/cm³";
    TEMPERATURE / temperature = "a temperature", -50.0 ..= 500.0, "°C";
    FREE_SHRINKAGE / free_shrinkage = "a shrinkage", 0.0 ..= 0.2, "";
    SHEAR_RATE / shear_rate = "a shear rate", 100.0 ..= 10_000_000.0, "1/s";
    RESIDENCE / residence = "a residence time", 1.0 ..= 100_000.0, "s";
    PRESSURE / pressure = "a pressure", 0.1 ..= 500.0, "MPa";
    FLOW_RATE / flow_rate = "an injection rate", 10.0 ..= 10_000_000.0, "mm³/s";
    CLAMP / clamp = "the clamp force", 10.0 ..= 100_000_000.0, "N";
    SHOT / shot = "the shot volume", 10.0 ..= 1_000_000_000.0, "mm³";
    PLATEN / platen = "the platen size", 10.0 ..= 5000.0, "mm";
    PACKING_PRESSURE / packing_pressure = "the packing pressure", 0.0 ..= 500.0, "MPa";
    PACKING_TIME / packing_time = "the packing time", 0.0 ..= 3600.0, "s";
    STRAIGHTEDGE / straightedge = "the straightedge length", 5.0 ..= 500.0, "mm";
}

/// Reads the diameter a head is turned down to, if it is.
pub(crate) fn turned<'de, D: Deserializer<'de>>(from: D) -> Result<Option<f64>, D::Error> {
    optional(FEATURE_SIZE, from)
}

/// Reads the length of a screw, if one is given.
pub(crate) fn screw_length<'de, D: Deserializer<'de>>(from: D) -> Result<Option<f64>, D::Error> {
    optional(SCREW_LENGTH, from)
}

/// Reads a number that may be missing.
pub(crate) fn optional<'de, D: Deserializer<'de>>(bounds: Bounds, from: D) -> Result<Option<f64>, D::Error> {
    let value = Option::<f64>::deserialize(from)?;
    value.map(|value| bounds.check(value).map_err(D::Error::custom)).transpose()
}

/// Reads a point of the plan, each coordinate in range.
pub(crate) fn point<'de, D: Deserializer<'de>>(from: D) -> Result<glam::DVec2, D::Error> {
    let (x, y) = <(f64, f64)>::deserialize(from)?;
    let read = |value| COORDINATE.check(value).map_err(D::Error::custom);
    Ok(glam::DVec2::new(read(x)?, read(y)?))
}

/// Checks the two coordinates of a point of the plan.
pub(crate) fn check_point(at: glam::DVec2) -> Result<(), OutOfRange> {
    COORDINATE.check(at.x)?;
    COORDINATE.check(at.y)?;
    Ok(())
}

/// Checks several numbers, each against its range; stops at the first that is outside.
pub(crate) fn check_all(numbers: &[(Bounds, f64)]) -> Result<(), OutOfRange> {
    numbers.iter().try_for_each(|(bounds, value)| bounds.check(*value).map(drop))
}
