//! Reads the table of generic plastics while the program is compiled: a slip in it is a build error, never a
//! surprise at run time.

/// The generic plastics, in the order of the table.
pub(super) const NAMES: [&str; 11] =
    ["PP", "HDPE", "ABS", "PS", "LDPE", "HIPS", "PA6", "POM", "PC", "PMMA", "TPE"];

/// What is told of each, in the order of the table.
const QUANTITIES: [&str; 28] = [
    "modulus_cold",
    "yield_cold",
    "modulus_gone",
    "yield_gone",
    "hardening_ratio",
    "break_strain",
    "yield_strain",
    "poisson",
    "friction",
    "restrained_shrinkage",
    "consistency",
    "reference_temperature",
    "power_law_index",
    "temperature_factor",
    "diffusivity",
    "conductivity",
    "heat_capacity",
    "density_solid",
    "density_melt",
    "no_flow_temperature",
    "ejection_temperature",
    "melt_temperature",
    "mould_temperature",
    "shrinkage_along",
    "shrinkage_across",
    "vent_depth",
    "shear_rate_limit",
    "residence_limit",
];

/// A row of the table.
#[derive(Clone, Copy, Debug)]
pub(super) struct Row {
    pub value: f64,
    pub low: f64,
    pub high: f64,
    pub source: &'static str,
}

/// Which number of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Column {
    Value,
    Low,
    High,
}

/// Where a number of a material stands in the table.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cell {
    quantity: usize,
    column: Column,
}

/// The usual value of a quantity.
pub(super) const fn usual(quantity: &str) -> Option<Cell> {
    Some(Cell { quantity: index(quantity), column: Column::Value })
}

/// The low end of a quantity's usual range.
pub(super) const fn low(quantity: &str) -> Option<Cell> {
    Some(Cell { quantity: index(quantity), column: Column::Low })
}

/// The high end of a quantity's usual range.
pub(super) const fn high(quantity: &str) -> Option<Cell> {
    Some(Cell { quantity: index(quantity), column: Column::High })
}

impl Cell {
    /// The row of a plastic that this stands in.
    pub(super) fn row(self, plastic: usize) -> &'static Row {
        &ROWS[plastic][self.quantity]
    }

    /// Where the number for a plastic comes from. The ends of a published range are published, even if the
    /// value within it is assumed.
    pub(super) fn source(self, plastic: usize) -> &'static str {
        let source = self.row(plastic).source;
        let is_end = self.column != Column::Value;
        let range = source.strip_prefix("assumed within the range of ").filter(|_| is_end);
        range.unwrap_or(source)
    }

    /// The number for a plastic.
    pub(super) fn of(self, plastic: usize) -> f64 {
        let row = self.row(plastic);
        match self.column {
            Column::Value => row.value,
            Column::Low => row.low,
            Column::High => row.high,
        }
    }
}

static ROWS: [[Row; QUANTITIES.len()]; NAMES.len()] =
    read(include_str!("../../../../assets/materials/generic.csv"));

const fn index(quantity: &str) -> usize {
    let mut at = 0;
    while !is_at(QUANTITIES[at].as_bytes(), 0, quantity) || QUANTITIES[at].len() != quantity.len() {
        at += 1;
    }
    at
}

/// Lines that start with `#` are remarks. Then comes the heading, then a row a plastic and quantity, each
/// ended by a line feed: names, three decimal numbers, and the source in quotation marks.
const fn read(table: &'static str) -> [[Row; QUANTITIES.len()]; NAMES.len()] {
    let text = table.as_bytes();
    let mut at = 0;
    while text[at] == b'#' {
        while text[at] != b'\n' {
            at += 1;
        }
        at += 1;
    }
    at = expect(text, at, "material,quantity,value,low,high,source\n");
    let mut rows = [[Row { value: 0.0, low: 0.0, high: 0.0, source: "" }; QUANTITIES.len()]; NAMES.len()];
    let mut plastic = 0;
    while plastic < NAMES.len() {
        let mut quantity = 0;
        while quantity < QUANTITIES.len() {
            at = expect(text, at, NAMES[plastic]);
            at = expect(text, at, ",");
            at = expect(text, at, QUANTITIES[quantity]);
            let mut numbers = [0.0; 3];
            let mut column = 0;
            while column < numbers.len() {
                at = expect(text, at, ",");
                (numbers[column], at) = number(text, at);
                column += 1;
            }
            at = expect(text, at, ",\"");
            let start = at;
            while text[at] != b'"' {
                at += 1;
            }
            let source = table.split_at(at).0.split_at(start).1;
            at = expect(text, at, "\"\n");
            let [value, low, high] = numbers;
            assert!(low <= value && value <= high, "the value lies outside its own range");
            assert!(!source.is_empty(), "a value without a source");
            rows[plastic][quantity] = Row { value, low, high, source };
            quantity += 1;
        }
        plastic += 1;
    }
    assert!(at == text.len(), "there is more in the table than expected");
    rows
}

const fn is_at(text: &[u8], at: usize, wanted: &str) -> bool {
    let wanted = wanted.as_bytes();
    let mut index = 0;
    while index < wanted.len() {
        if at + index >= text.len() || text[at + index] != wanted[index] {
            return false;
        }
        index += 1;
    }
    true
}

/// Steps over `wanted`, which must stand at `at`.
const fn expect(text: &[u8], at: usize, wanted: &str) -> usize {
    assert!(is_at(text, at, wanted), "the table does not hold what is expected here");
    at + wanted.len()
}

/// Reads a decimal number. Exactly the nearest `f64`: digits and power of ten are both exact.
const fn number(text: &[u8], mut at: usize) -> (f64, usize) {
    let start = at;
    let mut digits: u32 = 0;
    let mut scale: u32 = 1;
    let mut in_decimals = false;
    loop {
        match text[at] {
            digit @ b'0'..=b'9' => {
                digits = digits * 10 + (digit - b'0') as u32;
                if in_decimals {
                    scale *= 10;
                }
            }
            b'.' if !in_decimals => in_decimals = true,
            _ => break,
        }
        at += 1;
    }
    assert!(at > start, "a number is expected here");
    (digits as f64 / scale as f64, at)
}
