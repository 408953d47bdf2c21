//! Drawings from elsewhere, DXF or SVG, as channel runs.
//!
//! [`dxf`] and [`svg`] read a drawing into [`Imported`]: chains of straight and circular pieces in mm, y up,
//! joined where their ends meet, and a list of what was left out. [`Imported::runs`] then makes channel
//! runs of them, either taking the chains as centre lines or finding the centre line and width of closed
//! outlines.
//!
//! A file may be broken or made to do harm: whatever it holds, reading ends with an answer, and the limits
//! below bound the time and memory it takes.

mod centre;
mod collect;
mod curve;
mod dxf;
mod join;
mod runs;
mod strip;
mod svg;

use glam::DVec2;

pub use dxf::dxf;
pub use runs::{Choice, ReadAs, Refused, Runs, RunsError};
pub use strip::STRIP_MM;
pub use svg::svg;

/// Ends that lie no farther apart than this are taken as one point, mm.
pub const JOIN_MM: f64 = 0.01;
/// Largest distance between a curve of the file and the arcs and lines that stand for it, mm.
pub const CURVE_TOLERANCE_MM: f64 = 0.005;
/// Largest file that is read, bytes.
pub const MAX_BYTES: usize = 16 << 20;
/// Largest number of things drawn, those in repeated blocks counted each time.
pub const MAX_ENTITIES: usize = 100_000;
/// Largest number of straight and circular pieces that they come to.
pub const MAX_PIECES: usize = 200_000;
/// Deepest nesting of blocks, groups or references within one another.
pub const MAX_NESTING: usize = 32;
/// Largest coordinate, mm from the origin of the file.
pub const MAX_COORDINATE_MM: f64 = 1e6;

/// Why a drawing could not be read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the messages document the variants")]
pub enum ImportError {
    #[error(
        "the file has {bytes} bytes, more than the {MAX_BYTES} that are read; save only the lines needed"
    )]
    TooBig { bytes: usize },
    #[error("this is a binary DXF file; save it as ASCII DXF")]
    BinaryDxf,
    #[error("this is no DXF file: line {line} should hold {expected}; save it again as ASCII DXF")]
    NotDxf { line: usize, expected: &'static str },
    #[error("the DXF file ends in the middle, after line {line}; save it again")]
    DxfCutOff { line: usize },
    #[error("line {line} of the DXF file should hold a number, not \"{found}\"; save it again")]
    DxfNumber { line: usize, found: String },
    #[error(
        "the DXF file is drawn in a unit that is not a length in use at the bench (code {code} of $INSUNITS); save it in mm"
    )]
    DxfUnit { code: i64 },
    #[error("this is no SVG file: {detail}")]
    NotSvg { detail: String },
    #[error(
        "the drawing has more than {MAX_ENTITIES} lines, curves and repeated blocks; save only the lines needed"
    )]
    TooManyEntities,
    #[error(
        "the drawing comes to more than {MAX_PIECES} straight and round pieces; save only the lines needed"
    )]
    TooManyPieces,
    #[error("blocks or groups are nested more than {MAX_NESTING} deep, at \"{name}\"; explode them")]
    TooDeep { name: String },
    #[error(
        "a line lies beyond {MAX_COORDINATE_MM} mm from the origin, or nowhere; move the drawing to the origin"
    )]
    TooFar,
    #[error("the file holds no line or curve that can be used{}", left_out(.skipped))]
    Nothing { skipped: Vec<Skipped> },
}

/// What was left out, after a message that nothing is left.
fn left_out(skipped: &[Skipped]) -> String {
    let words: Vec<String> = skipped.iter().take(5).map(ToString::to_string).collect();
    if words.is_empty() { String::new() } else { format!("; left out: {}", words.join(", ")) }
}

/// A drawing as read.
#[derive(Clone, Debug, PartialEq)]
pub struct Imported {
    /// What is drawn, in the order of the file by the first piece of each chain.
    pub chains: Vec<Chain>,
    /// What was left out and why.
    pub skipped: Vec<Skipped>,
    /// What the user should know about how the file was read, one sentence each without a full stop.
    pub remarks: Vec<String>,
}

/// Pieces end to end, all of one layer.
#[derive(Clone, Debug, PartialEq)]
pub struct Chain {
    /// Layer of the DXF file, or the innermost named group of the SVG file; may be empty.
    pub layer: String,
    /// Its points in order; at least two, or one more than a piece if it is open.
    pub points: Vec<ChainPoint>,
    /// Whether the last point is joined to the first by a piece, of the last point's bulge.
    pub closed: bool,
}

/// A point of a chain and the piece from it to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChainPoint {
    /// Place, mm.
    pub at: DVec2,
    /// Tangent of a quarter of the arc angle of the piece that follows, as in [`keepside_model::RunPoint`]:
    /// positive counter-clockwise, 0 straight, −1 to 1. Without meaning at the end of an open chain.
    pub bulge: f64,
}

impl Chain {
    /// The pieces: from, bulge, to.
    pub fn pieces(&self) -> impl Iterator<Item = (DVec2, f64, DVec2)> + '_ {
        let last = if self.closed { self.points.first() } else { None };
        let next = self.points.iter().skip(1).chain(last);
        self.points.iter().zip(next).map(|(a, b)| (a.at, a.bulge, b.at))
    }

    /// Length of its pieces together, mm.
    pub fn length_mm(&self) -> f64 {
        self.pieces()
            .map(|(from, bulge, to)| {
                let quarter_rad = bulge.atan();
                let chord_mm = from.distance(to);
                if bulge == 0.0 { chord_mm } else { chord_mm * 2.0 * quarter_rad / (2.0 * quarter_rad).sin() }
            })
            .sum()
    }
}

/// Things of one kind that were left out for one reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Skipped {
    /// What they are, in plain words, for example "text".
    pub kind: String,
    /// Why they cannot be used, in plain words.
    pub why: &'static str,
    /// How many there are.
    pub count: usize,
}

impl std::fmt::Display for Skipped {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} × {} ({})", self.count, self.kind, self.why)
    }
}

impl Imported {
    /// The layers in the order in which they first occur, each with its number of chains.
    pub fn layers(&self) -> Vec<(&str, usize)> {
        let mut layers: Vec<(&str, usize)> = Vec::new();
        let mut places = std::collections::BTreeMap::new();
        for chain in &self.chains {
            let place = *places.entry(chain.layer.as_str()).or_insert_with(|| {
                layers.push((chain.layer.as_str(), 0));
                layers.len() - 1
            });
            layers[place].1 += 1;
        }
        layers
    }

    /// Lower left and upper right corner of the points of all chains, mm.
    pub fn extent_mm(&self) -> (DVec2, DVec2) {
        extent_mm(self.chains.iter())
    }
}

/// Lower left and upper right corner of the points of some chains, mm; of arcs their middles too.
fn extent_mm<'a>(chains: impl Iterator<Item = &'a Chain>) -> (DVec2, DVec2) {
    let mut extent: Option<(DVec2, DVec2)> = None;
    for (from, bulge, to) in chains.flat_map(Chain::pieces) {
        for at in [from, curve::middle(from, bulge, to), to] {
            let (low, high) = extent.unwrap_or((at, at));
            extent = Some((low.min(at), high.max(at)));
        }
    }
    extent.unwrap_or_default()
}

/// Reads a drawing by the ending of its file's name: `.svg`, else DXF.
///
/// # Errors
///
/// As [`dxf`] and [`svg`].
pub fn by_name(file_name: &str, bytes: &[u8]) -> Result<Imported, ImportError> {
    if file_name.to_lowercase().ends_with(".svg") { svg(bytes) } else { dxf(bytes) }
}

#[cfg(test)]
mod tests;
