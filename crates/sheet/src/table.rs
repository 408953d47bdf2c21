//! The hole table as CSV (RFC 4180): a header row with units, a decimal point, three decimals.

use keepside_model::Half;

use crate::SheetError;
use crate::holes::{AfterDrilling, Depth, HoleRow};

/// Column headings, each with its unit.
const HEADINGS: [&str; 11] = [
    "tag",
    "name",
    "hole for",
    "x (mm)",
    "y (mm)",
    "drill diameter (mm)",
    "depth (mm)",
    "tap",
    "ream diameter (mm)",
    "taper a side (deg)",
    "note",
];

/// The rows of one plate as the bytes of a CSV file.
pub(crate) fn csv(half: Half, rows: &[HoleRow]) -> Result<Vec<u8>, SheetError> {
    let refused = |detail: String| SheetError::Csv { half: half.word(), detail };
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    writer.write_record(HEADINGS).map_err(|error| refused(error.to_string()))?;
    for row in rows {
        let (tap, ream, taper) = match row.after {
            AfterDrilling::Nothing => (String::new(), String::new(), String::new()),
            AfterDrilling::Tap(thread) => (thread.designation().to_owned(), String::new(), String::new()),
            AfterDrilling::Ream { diameter_mm } => (String::new(), number(diameter_mm), String::new()),
            AfterDrilling::TaperReam { diameter_mm, draft_deg } => {
                (String::new(), number(diameter_mm), number(draft_deg))
            }
        };
        let depth = match row.depth {
            Depth::Through => "THROUGH".to_owned(),
            Depth::Blind { depth_mm } => number(depth_mm),
        };
        let record = [
            row.tag.clone(),
            row.name.clone(),
            row.what.clone(),
            number(row.from_datum_mm.x),
            number(row.from_datum_mm.y),
            row.drill_mm.map_or_else(String::new, number),
            depth,
            tap,
            ream,
            taper,
            row.note.clone(),
        ];
        writer.write_record(&record).map_err(|error| refused(error.to_string()))?;
    }
    writer.into_inner().map_err(|error| refused(error.to_string()))
}

/// A number with three decimals and a point, never "-0.000".
fn number(value: f64) -> String {
    let text = format!("{value:.3}");
    if text == "-0.000" { "0.000".to_owned() } else { text }
}
