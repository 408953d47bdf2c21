//! What leaves for the bench: drilling sheets and hole tables, as bytes.
//!
//! Pages are laid out once, in millimetres of paper, and then drawn. Nothing here opens a file or
//! asks for the date: the same project gives the same bytes.
//!
//! # Which way round
//!
//! Each plate is drawn as it lies on the drill press, seen on its own parting face. The moving half
//! is the plan as it is; the fixed half is its mirror image in x; seen from behind it is the other way
//! round. See [`View`]. Coordinates run from the datum that the user has chosen, x to the right and y up
//! as seen on the sheet, so x differs between the halves.

mod chart;
mod clip;
mod cycles;
mod document;
mod drawing;
mod dxf;
mod frame;
mod holes;
pub mod import;
mod lettering;
mod order;
mod ordinate;
mod output;
pub mod page;
mod paper;
mod pdf;
mod picture;
mod plate;
mod report;
mod sheets;
mod shop;
mod spread;
mod svg;
mod table;
mod tags;
mod template;
mod title;
mod tolerance;
mod trial;
mod view;
mod words;

pub use clip::hole_table_text;
pub use holes::{AfterDrilling, Depth, FromBehind, HoleRow, Opening, hole_table};
pub use order::drilling_order;
pub use output::{Output, export, pages};
pub use picture::{Picture, picture};
pub use tolerance::deviation_mm;
pub use view::{Side, View};

/// One file to be written by the caller.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Export {
    /// A name for the file, without folder, safe on every common file system.
    pub file_name: String,
    /// The whole content.
    pub bytes: Vec<u8>,
}

/// Why a sheet could not be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the messages document the variants")]
pub enum SheetError {
    #[error("the hole table of the {half} half could not be written as CSV: {detail}; please report this")]
    Csv { half: &'static str, detail: String },
    #[error("the drilling sheet could not be written as PDF: {detail}; please report this")]
    Pdf { detail: String },
    #[error("the shop list could not be written as CSV: {detail}; please report this")]
    ShopListCsv { detail: String },
    #[error("no drill cycles are made: {detail}")]
    Cycles { detail: String },
}

/// The project's name as the beginning of a file name: letters and digits of any script, all else a
/// hyphen, at most 40 characters.
fn file_stem(name: &str) -> String {
    let words: Vec<&str> =
        name.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let stem: String = words.join("-").to_lowercase().chars().take(40).collect();
    let stem = stem.trim_end_matches('-');
    if stem.is_empty() { "project".to_owned() } else { stem.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn file_names_keep_letters_of_any_script_and_nothing_dangerous() {
        assert_eq!(file_stem("Row marker, 160 mm"), "row-marker-160-mm");
        assert_eq!(file_stem("../..\\con:*?\u{0}"), "con");
        assert_eq!(file_stem("Größe Ω"), "größe-ω");
        assert_eq!(file_stem(" ."), "project");
        assert!(file_stem(&"long ".repeat(40)).chars().count() <= 40);
    }
}
