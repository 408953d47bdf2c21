//! From a project to text: the same project always gives the same bytes, but for the program's version.

use keepside_model::Project;
use ron::ser::PrettyConfig;
use serde::Serialize;

use crate::formats::NEWEST_FORMAT;

/// The program that writes, with its version.
pub(crate) const WRITER: &str = concat!("Keepside ", env!("CARGO_PKG_VERSION"));

/// The form of a file, in the order in which it is read.
#[derive(Serialize)]
struct File<'a> {
    format: u64,
    written_by: &'a str,
    project: &'a Project,
}

/// The project as the text of a file, in the newest format. Lines end in a line feed on every system;
/// numbers are written with as many digits as it takes to read back the same number.
pub fn write_text(project: &Project) -> String {
    let pretty = PrettyConfig::new().new_line("\n").indentor("    ");
    let file = File { format: NEWEST_FORMAT, written_by: WRITER, project };
    let written = ron::ser::to_string_pretty(&file, pretty);
    // Writing to a string cannot run out of room, and a project is made of plain data only.
    let mut text = written.expect("plain data can always be written");
    text.push('\n');
    text
}
