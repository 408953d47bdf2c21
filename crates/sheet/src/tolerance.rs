//! General tolerances: what holds for a size that has none of its own.

use keepside_model::{GeneralTolerance, Project, ToleranceClass};

use crate::holes::HoleRow;

/// Upper ends of the ranges of nominal sizes in ISO 2768-1:1989, table 1, mm; the first begins at 0.5.
const UP_TO_MM: [f64; 7] = [3.0, 6.0, 30.0, 120.0, 400.0, 1000.0, 2000.0];

/// Permissible deviations for linear sizes, ± mm, after ISO 2768-1:1989, table 1, read in copies of DIN ISO
/// 2768-1; the first two of class c, and that there are none of class f above 2000 mm, from memory.
const fn deviations_mm(class: ToleranceClass) -> [f64; 7] {
    match class {
        ToleranceClass::Fine => [0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5],
        ToleranceClass::Medium => [0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2],
        ToleranceClass::Coarse => [0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0],
    }
}

/// The permissible deviation of a size, ± mm; `None` beyond the table. A size below 0.5 mm, for which the
/// table has nothing, takes what holds from 0.5 mm: assumed.
pub fn deviation_mm(class: ToleranceClass, size_mm: f64) -> Option<f64> {
    let range = UP_TO_MM.iter().position(|up_to_mm| size_mm.abs() <= *up_to_mm)?;
    Some(deviations_mm(class)[range])
}

/// The note in the title block: the class in the standard's own words, and what it means for sizes up to
/// `largest_mm`; or the user's own words.
pub(crate) fn note(tolerance: &GeneralTolerance, largest_mm: f64) -> String {
    let class = match tolerance {
        GeneralTolerance::Own(words) => return words.clone(),
        GeneralTolerance::Iso2768(class) => *class,
    };
    let mut parts: Vec<(f64, f64)> = Vec::new();
    for (up_to_mm, deviation_mm) in UP_TO_MM.into_iter().zip(deviations_mm(class)) {
        match parts.last_mut() {
            Some(last) if last.1 == deviation_mm => last.0 = up_to_mm,
            Some(last) if last.0 >= largest_mm => break,
            _ => parts.push((up_to_mm, deviation_mm)),
        }
    }
    let parts: Vec<String> =
        parts.iter().map(|(up_to_mm, dev_mm)| format!("±{dev_mm} to {up_to_mm}")).collect();
    format!("ISO 2768-1, {} ({}): {}", class.letter(), class.word(), parts.join(", "))
}

/// How far x and y of a hole may be off, ± mm, as written in the chart.
pub(crate) fn of_place(project: &Project, row: &HoleRow) -> String {
    if project.holes.contains_key(&row.id) {
        // Drilled through both plates clamped together: what counts is that they are in line.
        return "in line".to_owned();
    }
    if let Some(tolerance_mm) = project.sheet.position_tolerance_mm {
        return tolerance_mm.to_string();
    }
    let GeneralTolerance::Iso2768(class) = project.sheet.general_tolerance else {
        return "general".to_owned();
    };
    match row.from_datum_mm.to_array().map(|size_mm| deviation_mm(class, size_mm)) {
        [Some(x_mm), Some(y_mm)] if x_mm == y_mm => x_mm.to_string(),
        [Some(x_mm), Some(y_mm)] => format!("{x_mm}; {y_mm}"),
        _ => "–".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn deviations_are_those_of_the_standard() {
        // DIN ISO 2768-1, table 1: printed to the digits given here.
        let table = [
            (2.0, 0.05, 0.1, 0.2),
            (6.0, 0.05, 0.1, 0.3),
            (6.01, 0.1, 0.2, 0.5),
            (120.0, 0.15, 0.3, 0.8),
            (400.0, 0.2, 0.5, 1.2),
            (-1000.0, 0.3, 0.8, 2.0),
            (2000.0, 0.5, 1.2, 3.0),
        ];
        for (size_mm, fine, medium, coarse) in table {
            let got = ToleranceClass::ALL.map(|class| deviation_mm(class, size_mm));
            assert_eq!(got, [Some(fine), Some(medium), Some(coarse)], "{size_mm} mm");
        }
        assert_eq!(deviation_mm(ToleranceClass::Medium, 2000.5), None);
    }

    #[test]
    fn the_note_has_the_ranges_that_the_plate_needs() {
        let medium = GeneralTolerance::default();
        assert_eq!(
            note(&medium, 240.0),
            "ISO 2768-1, m (medium): ±0.1 to 6, ±0.2 to 30, ±0.3 to 120, ±0.5 to 400"
        );
        assert_eq!(note(&GeneralTolerance::Own("as drilled".to_owned()), 240.0), "as drilled");
    }
}
