//! What can leave for the bench, each kind with its name.

use keepside_engine::Analysis;
use keepside_model::{Half, Project};

use crate::holes::hole_table;
use crate::lettering::Lettering;
use crate::page::Page;
use crate::{
    Export, SheetError, cycles, dxf, file_stem, pdf, report, sheets, shop, svg, table, template, trial,
};

/// A kind of file that is made of a project.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Output {
    /// Both plates to scale with their hole charts, PDF.
    DrillingSheet,
    /// The hole chart of each plate, CSV.
    HoleTables,
    /// Each plate's lines by layer, DXF.
    Dxf,
    /// Each plate's lines by group, SVG at true size.
    Svg,
    /// Drill cycles of each plate after ISO 6983, if the project wants them.
    DrillCycles,
    /// Both faces at true size to paste on, PDF.
    Template,
    /// What has to be bought and the tools that the holes ask for, PDF and CSV.
    ShopList,
    /// What to try at the press, what is expected, and boxes for what comes, PDF.
    TrialCard,
    /// Everything with which another person can judge the layout, PDF.
    Report,
}

impl Output {
    /// All kinds, in the order in which they are offered.
    pub const ALL: [Self; 9] = [
        Self::DrillingSheet,
        Self::HoleTables,
        Self::Template,
        Self::Dxf,
        Self::Svg,
        Self::DrillCycles,
        Self::ShopList,
        Self::TrialCard,
        Self::Report,
    ];

    /// What it is called on the screen.
    pub const fn label(self) -> &'static str {
        match self {
            Self::DrillingSheet => "Drilling sheet (PDF)",
            Self::HoleTables => "Hole tables (CSV)",
            Self::Dxf => "Drawing of each plate (DXF)",
            Self::Svg => "Drawing of each plate (SVG)",
            Self::DrillCycles => "Drill cycles (ISO 6983)",
            Self::Template => "Paste-on template, true size (PDF)",
            Self::ShopList => "Shop list (PDF, CSV)",
            Self::TrialCard => "Trial card (PDF)",
            Self::Report => "Report (PDF)",
        }
    }

    /// The word for it on the command line.
    pub const fn key(self) -> &'static str {
        match self {
            Self::DrillingSheet => "drilling",
            Self::HoleTables => "holes",
            Self::Dxf => "dxf",
            Self::Svg => "svg",
            Self::DrillCycles => "cycles",
            Self::Template => "template",
            Self::ShopList => "shopping",
            Self::TrialCard => "trial",
            Self::Report => "report",
        }
    }

    /// The kind that a word of the command line means.
    pub fn of_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|output| output.key() == key)
    }

    /// Whether it is made unless the user says otherwise.
    pub const fn is_usual(self) -> bool {
        match self {
            Self::DrillingSheet | Self::HoleTables | Self::ShopList => true,
            Self::Template | Self::Dxf | Self::Svg | Self::DrillCycles | Self::TrialCard | Self::Report => {
                false
            }
        }
    }

    /// Whether it tells what comes of the opening run, so that it needs an analysis.
    pub const fn needs_opening(self) -> bool {
        match self {
            Self::DrillingSheet
            | Self::HoleTables
            | Self::Template
            | Self::Dxf
            | Self::Svg
            | Self::DrillCycles
            | Self::ShopList => false,
            Self::TrialCard | Self::Report => true,
        }
    }

    /// Whether it is printed on pages, which can be looked at before.
    pub const fn is_paged(self) -> bool {
        match self {
            Self::DrillingSheet | Self::Template | Self::ShopList | Self::TrialCard | Self::Report => true,
            Self::HoleTables | Self::Dxf | Self::Svg | Self::DrillCycles => false,
        }
    }
}

/// The pages of an output that is printed; none for one that is not.
///
/// `analysis` is what the engine made of this very project, finished; it is looked at only by outputs
/// that need it.
///
/// # Errors
///
/// [`SheetError`] if the font cannot be read.
pub fn pages(
    output: Output,
    project: &Project,
    analysis: Option<&Analysis>,
) -> Result<Vec<Page>, SheetError> {
    let lettering =
        Lettering::new().ok_or_else(|| SheetError::Pdf { detail: "the font cannot be read".to_owned() })?;
    Ok(match output {
        Output::DrillingSheet => sheets::sheets(project, &lettering),
        Output::HoleTables | Output::Dxf | Output::Svg | Output::DrillCycles => Vec::new(),
        Output::ShopList => shop::pages(project, &lettering),
        Output::TrialCard => trial::pages(project, analysis, &lettering),
        Output::Report => report::pages(project, analysis, &lettering),
        Output::Template => template::template(project, &lettering),
    })
}

/// The files of some outputs, in the order asked for; of a plate each, moving half first.
///
/// `analysis` is what the engine made of this very project, finished; it is looked at only by outputs
/// that need it.
///
/// # Errors
///
/// [`SheetError::Cycles`] if drill cycles are asked for and the project does not want them, or their heights
/// do not go together; else if a writer refuses, which no project that passes its own check is known to cause.
pub fn export(
    project: &Project,
    outputs: &[Output],
    analysis: Option<&Analysis>,
) -> Result<Vec<Export>, SheetError> {
    let stem = file_stem(&project.name);
    let mut exports = Vec::new();
    for output in outputs {
        let printed = |what: &str| {
            let bytes = pdf::pdf(&project.name, &pages(*output, project, analysis)?)?;
            Ok(Export { file_name: format!("{stem}-{what}.pdf"), bytes })
        };
        match output {
            Output::DrillingSheet => exports.push(printed("drilling-sheet")?),
            Output::ShopList => {
                exports.push(printed("shop-list")?);
                let file_name = format!("{stem}-shop-list.csv");
                exports.push(Export { file_name, bytes: shop::csv(project)? });
            }
            Output::TrialCard => exports.push(printed("trial-card")?),
            Output::Report => exports.push(printed("report")?),
            Output::Template => exports.push(printed("template")?),
            Output::HoleTables => {
                for half in [Half::Moving, Half::Fixed] {
                    let file_name = format!("{stem}-holes-{}-half.csv", half.word());
                    exports.push(Export { file_name, bytes: table::csv(half, &hole_table(project, half))? });
                }
            }
            Output::Dxf => exports.extend(both(&stem, "dxf", |half| dxf::dxf(project, half))),
            Output::Svg => exports.extend(both(&stem, "svg", |half| svg::svg(project, half))),
            Output::DrillCycles => {
                for half in [Half::Moving, Half::Fixed] {
                    let file_name = format!("{stem}-drill-{}-half.nc", half.word());
                    exports.push(Export { file_name, bytes: cycles::cycles(project, half)? });
                }
            }
        }
    }
    Ok(exports)
}

/// A file of each plate, moving half first, with an ending.
fn both(stem: &str, ending: &str, bytes: impl Fn(Half) -> Vec<u8>) -> [Export; 2] {
    [Half::Moving, Half::Fixed].map(|half| {
        let file_name = format!("{stem}-{}-half.{ending}", half.word());
        Export { file_name, bytes: bytes(half) }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_has_its_own_word_and_pages_if_it_is_printed() {
        let project = Project::blank();
        for output in Output::ALL {
            assert_eq!(Output::of_key(output.key()), Some(output));
            if !output.needs_opening() {
                let pages = pages(output, &project, None).unwrap();
                assert_eq!(pages.is_empty(), !output.is_paged(), "{}", output.label());
            }
        }
        assert_eq!(Output::of_key("nothing"), None);
    }
}
