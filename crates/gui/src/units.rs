//! The unit that lengths are shown and typed in. Projects stay in millimetres whatever is shown.

use serde::{Deserialize, Serialize};

/// An inch, mm; exact by definition (international yard and pound agreement, 1959).
pub(crate) const INCH_MM: f64 = 25.4;

/// A unit for lengths.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Unit {
    /// Millimetres.
    #[default]
    Millimetre,
    /// Inches.
    Inch,
}

impl Unit {
    /// Both.
    pub(crate) const ALL: [Self; 2] = [Self::Millimetre, Self::Inch];

    /// The unit that is shown at present.
    pub(crate) fn of(ctx: &egui::Context) -> Self {
        ctx.data(|data| data.get_temp(Self::key())).unwrap_or_default()
    }

    /// Shows lengths in this unit from now on.
    pub(crate) fn show(self, ctx: &egui::Context) {
        ctx.data_mut(|data| data.insert_temp(Self::key(), self));
    }

    fn key() -> egui::Id {
        egui::Id::unique("unit of lengths")
    }

    /// Its sign.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Inch => "in",
        }
    }

    /// Its length, mm.
    pub(crate) const fn mm(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::Inch => INCH_MM,
        }
    }

    /// Decimals with which a hundredth of a millimetre can be told.
    const fn decimals(self) -> usize {
        match self {
            Self::Millimetre => 2,
            Self::Inch => 4,
        }
    }

    /// The least length of 1, 2 or 5 times a power of ten of this unit that is no shorter than this, mm.
    pub(crate) fn round_step_mm(self, least_mm: f64) -> f64 {
        let least = (least_mm / self.mm()).max(1e-6);
        let power = 10.0_f64.powf(least.log10().floor());
        // Logarithms of powers of ten are not always whole.
        let step =
            [1.0, 2.0, 5.0].map(|times| times * power).into_iter().find(|step| *step >= least * 0.999_999);
        step.unwrap_or(10.0 * power) * self.mm()
    }

    /// A length as a number in this unit, always with as many decimals.
    pub(crate) fn number(self, mm: f64) -> String {
        let decimals = self.decimals();
        let text = format!("{:.decimals$}", mm / self.mm());
        // A negative number so small that it reads as nought is nought.
        if text.trim_matches(['-', '0', '.']).is_empty() { format!("{:.decimals$}", 0.0) } else { text }
    }

    /// A length as a number in this unit, without needless noughts.
    pub(crate) fn plain(self, mm: f64) -> String {
        self.number(mm).trim_end_matches('0').trim_end_matches('.').to_owned()
    }

    /// A length with its unit.
    pub(crate) fn length(self, mm: f64) -> String {
        format!("{} {}", self.number(mm), self.word())
    }

    /// A length with its unit, without needless noughts.
    pub(crate) fn short(self, mm: f64) -> String {
        format!("{} {}", self.plain(mm), self.word())
    }
}

/// What may stand behind a length, longest first.
const SIGNS: [(&str, Unit); 7] = [
    ("inches", Unit::Inch),
    ("inch", Unit::Inch),
    ("in.", Unit::Inch),
    ("in", Unit::Inch),
    ("\"", Unit::Inch),
    ("″", Unit::Inch),
    ("mm", Unit::Millimetre),
];

/// A length as typed, mm: "3,5", "12.7 mm", "1/8 in", "1 1/2\"", "0.125in". Without a unit it is in `unit`.
pub(crate) fn typed_length_mm(text: &str, unit: Unit) -> Option<f64> {
    let text = text.trim().to_lowercase();
    let with_sign = SIGNS.iter().find_map(|(sign, unit)| Some((text.strip_suffix(sign)?, *unit)));
    let (number, unit) = with_sign.unwrap_or((&text, unit));
    // A billionth of a millimetre is nothing, but makes a long number of a short one.
    Some((typed(number)? * unit.mm() * 1e9).round() / 1e9)
}

/// A number as typed: with a decimal point or a decimal comma, or as a fraction, with or without the unit
/// shown behind it. A length may be given in another unit, and is in millimetres without one.
pub(crate) fn typed_number(text: &str, unit: &str) -> Option<f64> {
    if unit == Unit::Millimetre.word() {
        return typed_length_mm(text, Unit::Millimetre);
    }
    let text = text.trim();
    typed(text.strip_suffix(unit.trim()).unwrap_or(text))
}

/// A bare number or fraction; spaces within a number do not count.
fn typed(text: &str) -> Option<f64> {
    let text = text.trim().replace('−', "-").replace(',', ".");
    let decimal = |text: &str| {
        let digits: String = text.split_whitespace().collect();
        digits.parse::<f64>().ok().filter(|number| number.is_finite())
    };
    let Some((over, under)) = text.split_once('/') else { return decimal(&text) };
    let (sign, over) = match over.trim().strip_prefix('-') {
        Some(over) => (-1.0, over),
        None => (1.0, over.trim()),
    };
    let (whole, over) = over.split_once([' ', '-']).unwrap_or(("0", over));
    let (whole, over, under) = (decimal(whole)?, decimal(over)?, decimal(under)?);
    let is_fraction = over >= 0.0 && under > 0.0 && whole >= 0.0;
    is_fraction.then(|| sign * (whole + over / under))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_may_have_a_decimal_comma_and_its_unit() {
        assert_eq!(typed_number("190,5", "mm"), Some(190.5));
        assert_eq!(typed_number("191 mm", "mm"), Some(191.0));
        assert_eq!(typed_number("1 °", "°"), Some(1.0));
        assert_eq!(typed_number(" −0,25mm ", "mm"), Some(-0.25));
        assert_eq!(typed_number("1 200.5", "N"), Some(1200.5));
        assert_eq!(typed_number("2.5", ""), Some(2.5));
    }

    #[test]
    fn what_is_no_number_is_refused() {
        for text in ["", "mm", "1,000.5", "nan", "inf", "1 mm mm", "1/0", "1/", "/8", "1 in mm"] {
            assert_eq!(typed_number(text, "mm"), None, "{text}");
        }
        // Only a length may be given in another unit.
        assert_eq!(typed_number("1 in", "N"), None);
    }

    #[test]
    fn a_length_may_be_typed_in_inches_and_as_a_fraction() {
        for (text, mm) in [
            ("3,5", 3.5),
            ("1/8 in", 3.175),
            ("0.125in", 3.175),
            ("0,125 in", 3.175),
            ("1/8\"", 3.175),
            ("1 1/2 in", 38.1),
            ("1-1/2 in", 38.1),
            ("-1 1/2 inch", -38.1),
            ("0.1 IN", 2.54),
            ("2 Inches", 50.8),
            ("1/4", 0.25),
            ("7 mm", 7.0),
        ] {
            assert_eq!(typed_length_mm(text, Unit::Millimetre), Some(mm), "{text}");
        }
        assert_eq!(typed_length_mm("1/4", Unit::Inch), Some(6.35));
        assert_eq!(typed_length_mm("0,5", Unit::Inch), Some(12.7));
        // A unit that is written counts for more than the one that is shown.
        assert_eq!(typed_length_mm("6 mm", Unit::Inch), Some(6.0));
    }

    #[test]
    fn lengths_are_shown_to_a_hundredth_of_a_millimetre() {
        assert_eq!(Unit::Millimetre.length(3.175), "3.17 mm");
        assert_eq!(Unit::Inch.length(3.175), "0.1250 in");
        assert_eq!(Unit::Inch.short(3.175), "0.125 in");
        assert_eq!(Unit::Millimetre.short(200.0), "200 mm");
        assert_eq!(Unit::Millimetre.short(-0.001), "0 mm");
    }

    #[test]
    fn steps_are_round_in_their_unit() {
        assert!((Unit::Millimetre.round_step_mm(13.0) - 20.0).abs() < 1e-9);
        assert!((Unit::Millimetre.round_step_mm(10.0) - 10.0).abs() < 1e-9);
        assert!((Unit::Inch.round_step_mm(13.0) - INCH_MM).abs() < 1e-9);
        assert!((Unit::Inch.round_step_mm(3.0) - 0.2 * INCH_MM).abs() < 1e-9);
    }

    #[test]
    fn what_is_shown_in_inches_is_read_back_within_its_last_digit() {
        for mm in [0.01, 1.8, 3.0, 6.35, 163.0] {
            let read_mm = typed_length_mm(&Unit::Inch.short(mm), Unit::Inch).unwrap();
            // Half of the last of four decimals.
            assert!((read_mm - mm).abs() <= 0.000_05 * INCH_MM + 1e-9, "{mm}: {read_mm}");
        }
    }
}
