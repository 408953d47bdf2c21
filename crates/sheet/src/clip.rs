//! The hole table as text for the clipboard: what a spreadsheet takes as cells.

use keepside_model::{Half, Project};

use crate::holes::hole_table;
use crate::{SheetError, table};

/// The hole table of one plate with its headings, the columns of the CSV file: a line a hole, cells apart by
/// tabs, no quotes. Tabs and line breaks within a cell become spaces.
///
/// # Errors
///
/// [`SheetError::Csv`] if the table cannot be written; no project is known to cause it.
pub fn hole_table_text(project: &Project, half: Half) -> Result<String, SheetError> {
    let bytes = table::csv(half, &hole_table(project, half))?;
    let refused = |error: csv::Error| SheetError::Csv { half: half.word(), detail: error.to_string() };
    let mut text = String::new();
    for record in csv::ReaderBuilder::new().has_headers(false).from_reader(bytes.as_slice()).records() {
        let plain = |cell: &str| cell.replace(|c: char| c.is_control(), " ");
        let cells: Vec<String> = record.map_err(refused)?.iter().map(plain).collect();
        text += &(cells.join("\t") + "\n");
    }
    Ok(text)
}

#[cfg(test)]
mod tests {
    use glam::DVec2;
    use keepside_model::{FeatureKind, Id, KeyingFeature, ThreadSize};

    use super::*;

    #[test]
    fn a_line_a_hole_and_the_same_cells_in_each() {
        let mut project = Project::blank();
        let kind = FeatureKind::set_screw(ThreadSize::M4);
        let mut feature = KeyingFeature::new(DVec2::new(60.0, 60.0), Half::Moving, kind, 2.0);
        feature.name = "with \"quotes\",\ta tab\nand a line".to_owned();
        project.features.insert(Id(2), feature);
        let text = hole_table_text(&project, Half::Moving).unwrap();
        let lines: Vec<Vec<&str>> = text.lines().map(|line| line.split('\t').collect()).collect();
        assert_eq!(lines.len(), 2);
        assert_eq!(lines[0].len(), lines[1].len());
        assert!(lines[1].contains(&"K2") && lines[1].contains(&"60.000"), "{text}");
        assert!(lines[1].contains(&"with \"quotes\", a tab and a line"), "{text}");
    }
}
