//! Reads the tables of standard parts while the program is compiled: a slip in one of them is a build
//! error, never a surprise at run time.

use keepside_model::ThreadSize;

/// Number of thread sizes, which is the number of rows of every table.
pub(super) const ROWS: usize = ThreadSize::ALL.len();

/// The numbers of a table, one row a thread size in the order of [`ThreadSize::ALL`].
///
/// Lines that start with `#` are remarks. The first other line must be `heading`, then one row a size:
/// the designation and `COLUMNS` plain decimal numbers, parted by commas, each line ended by a line feed.
pub(super) const fn read<const COLUMNS: usize>(text: &str, heading: &str) -> [[f64; COLUMNS]; ROWS] {
    let text = text.as_bytes();
    let mut at = 0;
    while text[at] == b'#' {
        while text[at] != b'\n' {
            at += 1;
        }
        at += 1;
    }
    at = expect(text, at, heading);
    at = expect(text, at, "\n");

    let mut numbers = [[0.0; COLUMNS]; ROWS];
    let mut row = 0;
    while row < ROWS {
        at = expect(text, at, ThreadSize::ALL[row].designation());
        let mut column = 0;
        while column < COLUMNS {
            at = expect(text, at, ",");
            (numbers[row][column], at) = number(text, at);
            column += 1;
        }
        at = expect(text, at, "\n");
        row += 1;
    }
    assert!(at == text.len(), "there is more in the table than one row a thread size");
    numbers
}

/// Steps over `wanted`, which must stand at `at`.
const fn expect(text: &[u8], at: usize, wanted: &str) -> usize {
    let wanted = wanted.as_bytes();
    let mut index = 0;
    while index < wanted.len() {
        assert!(text[at + index] == wanted[index], "the table does not hold what is expected here");
        index += 1;
    }
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
    assert!(at > start && digits > 0, "a positive number is expected here");
    (digits as f64 / scale as f64, at)
}
