//! Reads the tables of standard parts while the program is compiled: a slip in one of them is a build
//! error, never a surprise at run time.

use keepside_model::ThreadSize;

/// Number of thread sizes, which is the number of rows of most tables.
pub(super) const ROWS: usize = ThreadSize::ALL.len();

/// What the words of a table stand for where no number does.
pub(super) const NO: f64 = 0.0;
pub(super) const UNSURE: f64 = 1.0;
pub(super) const YES: f64 = 2.0;

/// The numbers of a table, one row a thread size in the order of [`ThreadSize::ALL`].
///
/// Lines that start with `#` are remarks. The first other line must be `heading`, then one row a size:
/// the designation and `COLUMNS` plain decimal numbers, parted by commas, each line ended by a line feed.
/// A heading that ends in a question mark says that the values under it are uncertain.
pub(super) const fn read<const COLUMNS: usize>(text: &str, heading: &str) -> [[f64; COLUMNS]; ROWS] {
    let text = text.as_bytes();
    let mut at = head(text, heading);
    let mut numbers = [[0.0; COLUMNS]; ROWS];
    let mut row = 0;
    while row < ROWS {
        at = expect(text, at, ThreadSize::ALL[row].designation());
        at = expect(text, at, ",");
        (numbers[row], at) = cells(text, at);
        row += 1;
    }
    assert!(at == text.len(), "there is more in the table than one row a thread size");
    numbers
}

/// The same for a table whose rows are not thread sizes and bear no name.
pub(super) const fn rows<const COUNT: usize, const COLUMNS: usize>(
    text: &str,
    heading: &str,
) -> [[f64; COLUMNS]; COUNT] {
    let text = text.as_bytes();
    let mut at = head(text, heading);
    let mut numbers = [[0.0; COLUMNS]; COUNT];
    let mut row = 0;
    while row < COUNT {
        (numbers[row], at) = cells(text, at);
        row += 1;
    }
    assert!(at == text.len(), "there are more rows in the table than expected");
    numbers
}

/// Steps over the remarks and the heading.
const fn head(text: &[u8], heading: &str) -> usize {
    let mut at = 0;
    while text[at] == b'#' {
        while text[at] != b'\n' {
            at += 1;
        }
        at += 1;
    }
    at = expect(text, at, heading);
    expect(text, at, "\n")
}

/// Reads the cells of a row and its line feed.
const fn cells<const COLUMNS: usize>(text: &[u8], mut at: usize) -> ([f64; COLUMNS], usize) {
    let mut numbers = [0.0; COLUMNS];
    let mut column = 0;
    while column < COLUMNS {
        if column > 0 {
            at = expect(text, at, ",");
        }
        (numbers[column], at) = match text[at] {
            b'y' => (YES, expect(text, at, "yes")),
            b'u' => (UNSURE, expect(text, at, "unsure")),
            b'n' => (NO, expect(text, at, "no")),
            _ => number(text, at),
        };
        column += 1;
    }
    (numbers, expect(text, at, "\n"))
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
