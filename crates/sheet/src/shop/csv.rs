//! The shop list as CSV (RFC 4180).

use keepside_model::Project;

use super::groups;
use crate::SheetError;

/// Column headings.
const HEADINGS: [&str; 8] =
    ["group", "count", "what", "size (mm)", "for", "in the drawer", "uncertain", "remark"];

/// The list as the bytes of a CSV file.
pub(crate) fn csv(project: &Project) -> Result<Vec<u8>, SheetError> {
    let refused = |detail: String| SheetError::ShopListCsv { detail };
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    writer.write_record(HEADINGS).map_err(|error| refused(error.to_string()))?;
    let yes = |is: bool| if is { "yes" } else { "" }.to_owned();
    for group in groups(project) {
        for line in group.lines {
            let remark = line.remark_words();
            let record = [
                group.title.to_owned(),
                line.count.map_or_else(String::new, |count| count.to_string()),
                line.what,
                line.size,
                line.tags.join("; "),
                yes(line.in_drawer),
                yes(line.uncertain),
                remark,
            ];
            writer.write_record(&record).map_err(|error| refused(error.to_string()))?;
        }
    }
    writer.into_inner().map_err(|error| refused(error.to_string()))
}
