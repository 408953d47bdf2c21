//! The paper: its size and how it is divided.

use glam::DVec2;
use keepside_model::Paper as Choice;

/// Left margin (room for filing) and the other margins, mm; after ISO 5457, from memory.
pub(crate) const FILING_MARGIN_MM: f64 = 20.0;
pub(crate) const MARGIN_MM: f64 = 10.0;
/// Size of the title block: the width after ISO 7200, from memory; its height, mm.
pub(crate) const BLOCK_MM: DVec2 = DVec2::new(180.0, 40.0);
/// Height of the strip at the foot of a sheet that goes on from another, mm.
pub(crate) const FOOT_MM: f64 = 9.0;
/// Narrowest frame in which the title block has room for cautions beside it, and the heading for the bar,
/// mm.
const WIDE_MM: f64 = 240.0;

/// ISO 216 A4 and A3; US Letter, 8.5 × 11 in, after ANSI/ASME Y14.1 (from memory); upright, mm.
const A4: Paper = Paper { name: "A4", size_mm: DVec2::new(210.0, 297.0) };
const A3: Paper = Paper { name: "A3", size_mm: DVec2::new(297.0, 420.0) };
const LETTER: Paper = Paper { name: "Letter", size_mm: DVec2::new(215.9, 279.4) };

/// Reductions in the order they are tried: full size, then ISO 5455 (from memory).
const REDUCTIONS: [f64; 7] = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0];

/// A sheet of paper, lying or upright.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Paper {
    /// Name of the size.
    pub(crate) name: &'static str,
    /// Width and height, mm.
    pub(crate) size_mm: DVec2,
}

/// A rectangle on the paper, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Area {
    /// Upper left corner.
    pub(crate) low: DVec2,
    /// Lower right corner.
    pub(crate) high: DVec2,
}

impl Area {
    /// Whether a point lies in it, its edge included.
    pub(crate) fn holds(&self, point: DVec2) -> bool {
        point.cmpge(self.low).all() && point.cmple(self.high).all()
    }

    /// Width and height, mm.
    pub(crate) fn size_mm(&self) -> DVec2 {
        self.high - self.low
    }

    /// Whether the two have more than an edge in common.
    pub(crate) fn overlaps(&self, other: &Self) -> bool {
        (self.high.min(other.high) - self.low.max(other.low)).min_element() > 0.0
    }

    /// The area with so much less all round, mm.
    pub(crate) fn inset(&self, by_mm: f64) -> Self {
        Self { low: self.low + by_mm, high: self.high - by_mm }
    }
}

impl Paper {
    /// The papers that a choice allows, lying first, each in the order in which it is tried.
    pub(crate) fn allowed(choice: Choice) -> Vec<Self> {
        let sizes: &[Self] = match choice {
            Choice::Automatic => &[A4, A3],
            Choice::A4 => &[A4],
            Choice::A3 => &[A3],
            Choice::Letter => &[LETTER],
        };
        sizes.iter().flat_map(|paper| [paper.turned(), *paper]).collect()
    }

    /// The paper for tables: lying, of the size that is chosen, or A4.
    pub(crate) fn for_tables(choice: Choice) -> Self {
        match choice {
            Choice::Automatic | Choice::A4 => A4.turned(),
            Choice::A3 => A3.turned(),
            Choice::Letter => LETTER.turned(),
        }
    }

    /// The least reduction, then the first paper, for which `fits` is true of the room for drawing.
    pub(crate) fn and_reduction(choice: Choice, fits: impl Fn(&Self, f64) -> bool) -> (Self, f64) {
        let papers = Self::allowed(choice);
        let all =
            REDUCTIONS.iter().flat_map(|reduction| papers.iter().map(move |paper| (*paper, *reduction)));
        // The largest plate of a project, 2 m, is 20 mm long at the last reduction.
        all.into_iter().find(|(paper, reduction)| fits(paper, *reduction)).unwrap_or((papers[0], 100.0))
    }

    const fn turned(&self) -> Self {
        Self { name: self.name, size_mm: DVec2::new(self.size_mm.y, self.size_mm.x) }
    }

    /// Inside the frame.
    pub(crate) fn frame(&self) -> Area {
        Area { low: DVec2::new(FILING_MARGIN_MM, MARGIN_MM), high: self.size_mm - MARGIN_MM }
    }

    /// Whether cautions stand beside the title block, and the bar beside the heading; else above and under.
    pub(crate) fn is_wide(&self) -> bool {
        self.frame().size_mm().x >= WIDE_MM
    }

    /// Height of the heading, mm.
    pub(crate) fn head_mm(&self) -> f64 {
        if self.is_wide() { 12.0 } else { 24.0 }
    }

    /// The room for cautions on a sheet with a title block.
    pub(crate) fn cautions(&self) -> Area {
        let frame = self.frame();
        let block = self.title_block();
        if self.is_wide() {
            Area { low: DVec2::new(frame.low.x, block.low.y), high: DVec2::new(block.low.x, frame.high.y) }
        } else {
            let low = DVec2::new(frame.low.x, block.low.y - 16.0);
            Area { low, high: DVec2::new(frame.high.x, block.low.y) }
        }
    }

    /// The title block: in the lower right corner of the frame.
    pub(crate) fn title_block(&self) -> Area {
        let frame = self.frame();
        Area { low: frame.high - BLOCK_MM, high: frame.high }
    }

    /// The room for a drawing.
    pub(crate) fn drawing(&self) -> Area {
        let frame = self.frame();
        let low = frame.low + DVec2::new(0.0, self.head_mm());
        Area { low, high: DVec2::new(frame.high.x, self.cautions().low.y) }
    }

    /// The room on a sheet that goes on from another.
    pub(crate) fn table(&self) -> Area {
        let frame = self.frame();
        Area {
            low: frame.low + DVec2::new(3.0, self.head_mm() + 2.0),
            high: frame.high - DVec2::new(3.0, FOOT_MM + 2.0),
        }
    }
}

/// A scale as written on a drawing; ISO 5455.
pub(crate) fn scale(reduction: f64) -> String {
    format!("1:{reduction}")
}
