//! The formats that project files were ever written in, one function for each: what follows the header, as the
//! project of today.
//!
//! There has been one so far.
//! A file of it may lack fields that came later: each has a default, where it is declared in `keepside_model`,
//! that makes the project compute as it did before the field was there; `tests/oracle/old-files` holds a file
//! from before each.
//! That is all that may change within a format. Once a field goes, or comes to mean something else, there is a
//! new one: [`NEWEST_FORMAT`] is raised, the types that were are kept here under the name of their format, and
//! the function of each format hands on to that of the next.

use keepside_model::Project;
use serde::de::{Error as _, MapAccess};

/// The newest format this program reads, and the one it writes.
pub const NEWEST_FORMAT: u64 = 1;

/// Reads the value that comes next, the project, as a format says; an error for a format that there is not.
pub(crate) fn project<'de, A: MapAccess<'de>>(format: u64, fields: &mut A) -> Result<Project, A::Error> {
    match format {
        1 => format_1(fields),
        _ => Err(A::Error::custom("there is no such format")),
    }
}

/// Whether files of a format can be read.
pub(crate) const fn is_known(format: u64) -> bool {
    1 <= format && format <= NEWEST_FORMAT
}

/// Format 1, the newest: nothing is to be converted but what defaults do.
fn format_1<'de, A: MapAccess<'de>>(fields: &mut A) -> Result<Project, A::Error> {
    fields.next_value()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read::read_text;

    #[test]
    fn every_format_up_to_the_newest_is_read_and_no_other() {
        let written = crate::write_text(&Project::blank());
        for format in 0..NEWEST_FORMAT + 3 {
            let text = written.replacen("format: 1", &format!("format: {format}"), 1);
            assert_eq!(read_text(&text).is_ok(), is_known(format), "format {format}");
        }
    }
}
