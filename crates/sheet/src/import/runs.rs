//! From the chains of a drawing to channel runs.

use glam::DVec2;
use keepside_model::bounds::{self, OutOfRange};
use keepside_model::{EndShape, Run, RunPoint};

use super::{Chain, ChainPoint, Imported, centre, strip};

/// What the lines of a drawing are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ReadAs {
    /// The middle of the channel.
    #[default]
    CentreLines,
    /// The edge of the channel all round.
    Outlines,
}

/// How a drawing is to be made into channel runs.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// What its lines are.
    pub read_as: ReadAs,
    /// Channel width, mm; for outlines it is found and this is not used.
    pub width_mm: f64,
    /// Channel depth, both halves together, mm.
    pub depth_mm: f64,
    /// Shape of free ends of centre lines; outlines show theirs.
    pub end: EndShape,
    /// Layers to use, by name; all if none is named.
    pub layers: Vec<String>,
    /// Factor on every length of the drawing, 0.001 to 1000; 1 keeps it. Not on width and depth above.
    pub scale: f64,
    /// How far the scaled drawing is moved, mm.
    pub move_mm: DVec2,
}

impl Default for Choice {
    fn default() -> Self {
        Self {
            read_as: ReadAs::CentreLines,
            width_mm: 6.0,
            depth_mm: 3.0,
            end: EndShape::Round,
            layers: Vec::new(),
            scale: 1.0,
            move_mm: DVec2::ZERO,
        }
    }
}

impl Choice {
    /// Whether a chain is on a layer that is used.
    fn uses(&self, chain: &Chain) -> bool {
        self.layers.is_empty() || self.layers.contains(&chain.layer)
    }
}

/// The channel runs of a drawing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Runs {
    /// Runs within the permitted ranges, in the order of the chains; may be empty.
    pub runs: Vec<Run>,
    /// Chains that no run could be made of.
    pub refused: Vec<Refused>,
}

/// A chain that no run could be made of.
#[derive(Clone, Debug, PartialEq)]
pub struct Refused {
    /// Its index in [`Imported::chains`].
    pub chain: usize,
    /// A place on it, mm, scaled and moved as the choice says.
    pub at: DVec2,
    /// Why, and what to do: a sentence without a full stop.
    pub why: String,
}

/// Why no runs could be made at all.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the messages document the variants")]
pub enum RunsError {
    #[error(transparent)]
    Range(#[from] OutOfRange),
    #[error("the drawing has no layer \"{name}\"; it has {has}")]
    NoSuchLayer { name: String, has: String },
    #[error(
        "the drawing makes {count} {what}, more than the {most} of a project; choose layers, or save only the lines needed"
    )]
    TooMany { what: &'static str, count: usize, most: usize },
}

/// Range of: the factor on every length of a drawing.
const SCALE: bounds::Bounds =
    bounds::Bounds { what: "the scale of the drawing", unit: "", min: 0.001, max: 1000.0 };

impl Imported {
    /// Makes channel runs. Centre lines become runs that meet where their ends do; of outlines, the closed
    /// chains of constant width become one run each. A chain out of the permitted range of coordinates is
    /// refused by itself.
    ///
    /// # Errors
    ///
    /// [`RunsError`] if width, depth, scale or move are out of range, a layer is not there, or there would be more
    /// runs or points than a project may have.
    pub fn runs(&self, choice: &Choice) -> Result<Runs, RunsError> {
        bounds::CHANNEL_DEPTH.check(choice.depth_mm)?;
        if choice.read_as == ReadAs::CentreLines {
            bounds::CHANNEL_WIDTH.check(choice.width_mm)?;
        }
        SCALE.check(choice.scale)?;
        let far =
            bounds::Bounds { what: "the move of the drawing", min: -1e7, max: 1e7, ..bounds::COORDINATE };
        far.check(choice.move_mm.x)?;
        far.check(choice.move_mm.y)?;
        for name in &choice.layers {
            if !self.chains.iter().any(|chain| chain.layer == *name) {
                let has: Vec<String> =
                    self.layers().iter().take(20).map(|(layer, _)| format!("\"{layer}\"")).collect();
                return Err(RunsError::NoSuchLayer { name: name.clone(), has: has.join(", ") });
            }
        }
        let placed: Vec<(usize, Chain)> = self
            .chains
            .iter()
            .enumerate()
            .filter(|(_, chain)| choice.uses(chain))
            .map(|(index, chain)| (index, placed(chain, choice)))
            .collect();
        let mut made = match choice.read_as {
            ReadAs::CentreLines => centre::runs(&placed, choice),
            ReadAs::Outlines => strip::runs(&placed, choice.depth_mm),
        };
        let points = made.runs.iter().map(|run| run.points.len()).sum();
        for (what, count, most) in
            [("channel runs", made.runs.len(), bounds::MOST_RUNS), ("points", points, bounds::MOST_POINTS)]
        {
            if count > most {
                return Err(RunsError::TooMany { what, count, most });
            }
        }
        made.refused.sort_by_key(|refused| refused.chain);
        Ok(made)
    }

    /// Lower left and upper right corner of the chosen layers' lines, scaled and moved as chosen, mm.
    pub fn extent_of(&self, choice: &Choice) -> (DVec2, DVec2) {
        let (low, high) = super::extent_mm(self.chains.iter().filter(|chain| choice.uses(chain)));
        (low * choice.scale + choice.move_mm, high * choice.scale + choice.move_mm)
    }

    /// The move that puts the middle of the chosen layers' lines, scaled as chosen, on a place, mm.
    pub fn move_to_middle(&self, choice: &Choice, of_plate_mm: DVec2) -> DVec2 {
        let (low, high) = self.extent_of(&Choice { move_mm: DVec2::ZERO, ..choice.clone() });
        of_plate_mm - low.midpoint(high)
    }
}

/// The chain scaled and moved.
fn placed(chain: &Chain, choice: &Choice) -> Chain {
    let points = chain.points.iter();
    let points =
        points.map(|p| ChainPoint { at: p.at * choice.scale + choice.move_mm, bulge: p.bulge }).collect();
    Chain { points, ..chain.clone() }
}

/// A run along points, or the first of them that is out of range.
pub(super) fn run(
    points: &[ChainPoint],
    width_mm: f64,
    depth_mm: f64,
    ends: [EndShape; 2],
) -> Result<Run, (DVec2, String)> {
    let check = |p: &ChainPoint| {
        bounds::COORDINATE
            .check(p.at.x)
            .and(bounds::COORDINATE.check(p.at.y))
            .map(drop)
            .map_err(|range| (p.at, format!("{range}; move the drawing onto the plate")))
    };
    points.iter().try_for_each(check)?;
    let [start, end] = ends;
    let points = points.iter().enumerate().map(|(index, p)| RunPoint {
        at: p.at,
        width_mm,
        depth_mm,
        bulge: if index + 1 < points.len() { p.bulge.clamp(-1.0, 1.0) } else { 0.0 },
    });
    Ok(Run { name: String::new(), points: points.collect(), start, end })
}
