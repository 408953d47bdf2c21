//! The lengths in which screws are sold.

use keepside_model::{FeatureKind, ScrewEnd, ThreadSize};

use super::table;

/// A kind of screw as it is bought.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stock {
    /// A hexagon socket set screw with the point that this end names; with a flat point for
    /// [`ScrewEnd::Socket`], where the point does not matter.
    SetScrew(ScrewEnd),
    /// A hexagon socket head cap screw; its length does not count the head.
    CapScrew,
}

impl Stock {
    /// What is bought for a feature, and in which size; `None` for what is turned.
    pub const fn of(kind: &FeatureKind) -> Option<(Self, ThreadSize)> {
        match *kind {
            FeatureKind::SetScrew { thread, end } => Some((Self::SetScrew(end), thread)),
            FeatureKind::CapHead { thread, .. } => Some((Self::CapScrew, thread)),
            FeatureKind::TurnedHead { .. }
            | FeatureKind::PlainPost { .. }
            | FeatureKind::RingedPost { .. } => None,
        }
    }

    /// The screw in the user's words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::SetScrew(ScrewEnd::Socket) => "set screw",
            Self::SetScrew(ScrewEnd::Flat) => "set screw with flat point",
            Self::SetScrew(ScrewEnd::Cup) => "set screw with cup point",
            Self::SetScrew(ScrewEnd::Cone) => "set screw with cone point",
            Self::SetScrew(ScrewEnd::Dog) => "set screw with dog point",
            Self::CapScrew => "cap screw",
        }
    }
}

/// Whether a screw of a length is sold as a standard part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sold {
    /// All sources say so.
    Yes,
    /// The sources disagree, or it is only remembered: to be looked up before it is relied on.
    Uncertain,
    /// No source says so.
    No,
}

/// Whether a screw of this length, mm, is sold.
pub fn sold(stock: Stock, size: ThreadSize, length_mm: f64) -> Sold {
    let column = if stock == Stock::CapScrew { 2 } else { 1 };
    let Some(row) = SERIES.iter().find(|row| (row[0] - length_mm).abs() < 1e-9) else { return Sold::No };
    let range = &RANGES[size as usize];
    let (sure, widest) = match stock {
        Stock::SetScrew(ScrewEnd::Socket | ScrewEnd::Flat) => (Some(range.flat), range.flat_widest),
        Stock::SetScrew(ScrewEnd::Dog) => (Some(range.dog), range.dog_widest),
        Stock::SetScrew(ScrewEnd::Cone) => (None, range.cone_widest),
        Stock::SetScrew(ScrewEnd::Cup) => (None, range.cup_widest),
        Stock::CapScrew => (Some(range.cap), range.cap_widest),
    };
    let within = |(least_mm, most_mm): (f64, f64)| (least_mm..=most_mm).contains(&row[0]);
    if row[column] == table::NO || !within(widest) {
        Sold::No
    } else if row[column] == table::YES && sure.is_some_and(within) {
        Sold::Yes
    } else {
        Sold::Uncertain
    }
}

/// The lengths, mm, shortest first, that are sold or may be, each with which of the two.
pub fn lengths(stock: Stock, size: ThreadSize) -> impl DoubleEndedIterator<Item = (f64, Sold)> {
    let all = SERIES.iter().map(move |row| (row[0], sold(stock, size, row[0])));
    all.filter(|(_, sold)| *sold != Sold::No)
}

/// Shortest and longest length, mm.
type Range = (f64, f64);

/// What is sold in a size: where the sources agree, and the widest that any of them gives.
#[derive(Clone, Copy)]
struct Ranges {
    flat: Range,
    flat_widest: Range,
    dog: Range,
    dog_widest: Range,
    cap: Range,
    cap_widest: Range,
    cone_widest: Range,
    cup_widest: Range,
}

/// Number of lengths in the series.
const LENGTHS: usize = 28;

/// Length, then whether set screws and cap screws come in it.
static SERIES: [[f64; 3]; LENGTHS] = table::rows(
    include_str!("../../../../assets/hardware/length_series.csv"),
    "length_mm,set_screw,cap_screw",
);

static RANGES: [Ranges; table::ROWS] = {
    let rows = table::read::<16>(
        include_str!("../../../../assets/hardware/screw_lengths.csv"),
        "size,flat_min_mm,flat_max_mm,flat_least_mm?,flat_most_mm?,dog_min_mm,dog_max_mm,dog_least_mm?,\
         dog_most_mm?,cap_min_mm,cap_max_mm,cap_least_mm?,cap_most_mm?,cone_least_mm?,cone_most_mm?,\
         cup_least_mm?,cup_most_mm?",
    );
    let mut ranges = [Ranges::of([1.0; 16]); table::ROWS];
    let mut row = 0;
    while row < table::ROWS {
        ranges[row] = Ranges::of(rows[row]);
        row += 1;
    }
    ranges
};

impl Ranges {
    const fn of(row: [f64; 16]) -> Self {
        Self {
            flat: (row[0], row[1]),
            flat_widest: (row[2], row[3]),
            dog: (row[4], row[5]),
            dog_widest: (row[6], row[7]),
            cap: (row[8], row[9]),
            cap_widest: (row[10], row[11]),
            cone_widest: (row[12], row[13]),
            cup_widest: (row[14], row[15]),
        }
    }
}
