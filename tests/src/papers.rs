//! Papers for the bench, read back from their bytes.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use std::sync::{Arc, LazyLock};

use glam::DVec2;
use keepside_engine::opening::NotComputed;
use keepside_engine::{Analysis, Cancel, analyse, layout};
use keepside_model::Project;
use keepside_sheet::{Output, export};

use crate::pdf::{PdfPage, PdfText, read_pdf};
use crate::projects::demo;

const DEMOS: [&str; 3] = ["row-marker", "drip-peg", "two-sprues-no-keys"];

/// The demo projects with all that is computed of them.
pub static COMPUTED: LazyLock<Vec<(Project, Analysis)>> = LazyLock::new(|| {
    DEMOS
        .map(|name| {
            let project = demo(name);
            let analysis = analyse(&project, &Cancel::default(), &mut |_| {});
            (project, analysis)
        })
        .into()
});

/// An analysis of which the opening run failed.
pub fn failed(project: &Project, reason: NotComputed) -> Analysis {
    let layout = Arc::new(layout(project));
    Analysis {
        findings: layout.findings.clone(),
        layout,
        opening: Some(Err(reason)),
        settling: false,
        stripping: None,
        stripping_failed: None,
        margin: None,
        finished: true,
    }
}

/// The pages of an output, read back.
pub fn pages(output: Output, project: &Project, analysis: Option<&Analysis>) -> Vec<PdfPage> {
    let exports = export(project, &[output], analysis).unwrap();
    read_pdf(&exports[0].bytes)
}

/// Everything that is written, in order, without spaces: lines of a cell follow one another.
pub fn written(pages: &[PdfPage]) -> String {
    let texts = pages.iter().flat_map(|page| &page.texts);
    texts.flat_map(|text| text.text.chars()).filter(|c| !c.is_whitespace()).collect()
}

/// Fails if these words are not among what is [`written`].
#[track_caller]
pub fn assert_written(written: &str, wanted: &str) {
    let squeezed: String = wanted.chars().filter(|c| !c.is_whitespace()).collect();
    assert!(written.contains(&squeezed), "not on the paper: {wanted}");
}

/// The rectangle about a text, mm, y up: from a fifth under the baseline to the height of capitals.
fn bounds(text: &PdfText) -> (DVec2, DVec2) {
    let along = (text.end - text.at).normalize_or(DVec2::X);
    let up = along.perp() * text.size_mm;
    let corners = [text.at - 0.15 * up, text.at + 0.7 * up, text.end - 0.15 * up, text.end + 0.7 * up];
    let low = corners.into_iter().reduce(DVec2::min).unwrap();
    (low, corners.into_iter().reduce(DVec2::max).unwrap())
}

/// Whether every text lies on the paper, off its edge, and none over another; else which does not.
pub fn tidy(pages: &[PdfPage]) -> Result<(), String> {
    for (number, page) in pages.iter().enumerate() {
        let boxes: Vec<_> = page.texts.iter().map(|text| (bounds(text), &text.text)).collect();
        for (index, ((low, high), text)) in boxes.iter().enumerate() {
            // What a printer cannot reach at the edge: 5 mm, common practice, no source.
            let is_on = low.cmpge(DVec2::splat(5.0)).all() && high.cmple(page.size_mm - 5.0).all();
            if !is_on {
                return Err(format!("page {}: off the paper: {text}", number + 1));
            }
            for ((other_low, other_high), other) in &boxes[..index] {
                let common = high.min(*other_high) - low.max(*other_low);
                if common.cmpgt(DVec2::splat(0.05)).all() {
                    return Err(format!("page {}: {text} lies over {other}", number + 1));
                }
            }
        }
    }
    Ok(())
}

/// Fails if the tag of any item, but for notes, is missing.
#[track_caller]
pub fn every_tag_is_on(project: &Project, pages: &[PdfPage]) {
    let texts: Vec<&str> = pages.iter().flat_map(|page| &page.texts).map(|text| text.text.as_str()).collect();
    let words: Vec<&str> =
        texts.iter().flat_map(|text| text.split(|c: char| !c.is_ascii_alphanumeric())).collect();
    for id in project.ids().into_iter().filter(|id| !project.remarks.contains_key(id)) {
        let tag = project.tag(id);
        assert!(words.contains(&tag.as_str()), "{tag} is not on the paper");
    }
}
