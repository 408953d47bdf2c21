//! Reading a measured pull-off curve from text: two columns, as a bench or a spreadsheet gives them.

use keepside_model::{NotACurve, PullOff};

/// A curve that was read.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Pasted {
    pub(super) curve: PullOff,
    /// Header and comment lines passed over.
    pub(super) skipped: usize,
}

/// Why a text is no curve.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub(super) enum PasteError {
    #[error("there are no numbers in it; give travel and pull, two numbers a line")]
    Nothing,
    #[error("line {line} has {count} column{}; give travel and pull, two numbers a line", if *count == 1 { "" } else { "s" })]
    Columns { line: usize, count: usize },
    #[error("line {line}: “{text}” is no number")]
    NoNumber { line: usize, text: String },
    #[error(
        "line {line}: its commas may be decimal commas or stand between columns; separate the columns by a semicolon or a tab"
    )]
    Commas { line: usize },
    #[error("line {line}: “{text}” has a comma where other numbers have a decimal point")]
    Mixed { line: usize, text: String },
    #[error("line {line}: “{text}” may be a decimal number or thousands; write it without a comma")]
    Thousands { line: usize, text: String },
    #[error("line {line}: {problem}")]
    AtLine { line: usize, problem: NotACurve },
    #[error("{0}")]
    Whole(NotACurve),
}

/// Two columns of a line, as they are written.
struct Row<'a> {
    line: usize,
    columns: [&'a str; 2],
}

/// Reads a curve: a line is a point, travel and pull, separated by a semicolon, a tab, blanks or a comma.
///
/// Numbers may have a decimal comma where it cannot be anything else. Lines before the first point that
/// begin with a letter or a quotation mark are headers, lines that begin with `#` or `%` are remarks.
pub(super) fn read(text: &str) -> Result<Pasted, PasteError> {
    let mut rows = Vec::new();
    let mut skipped = 0;
    let lines = text.strip_prefix('\u{feff}').unwrap_or(text).lines();
    for (line, words) in (1..).zip(lines.map(str::trim)) {
        if words.is_empty() {
            continue;
        }
        let is_remark = words.starts_with(['#', '%']);
        if is_remark || (rows.is_empty() && is_header(words)) {
            skipped += 1;
        } else {
            rows.push(Row { line, columns: columns(line, words)? });
        }
    }
    if rows.is_empty() {
        return Err(PasteError::Nothing);
    }
    let commas = Commas::of(&rows);
    let point = |row: &Row<'_>| -> Result<(f64, f64), PasteError> {
        let [travel, pull] = row.columns;
        Ok((commas.number(row.line, travel)?, commas.number(row.line, pull)?))
    };
    let points = rows.iter().map(point).collect::<Result<Vec<_>, _>>()?;
    let curve = PullOff::new(points).map_err(|problem| at_line(problem, &rows))?;
    Ok(Pasted { curve, skipped })
}

/// The problem at the line of the point that has it.
fn at_line(problem: NotACurve, rows: &[Row<'_>]) -> PasteError {
    let row = match problem {
        NotACurve::Count { .. } => None,
        NotACurve::Start => rows.first(),
        NotACurve::End => rows.last(),
        NotACurve::Flat => rows.get(1),
        NotACurve::Order { number } | NotACurve::Range { number } => rows.get(number.saturating_sub(1)),
    };
    row.map_or(PasteError::Whole(problem), |row| PasteError::AtLine { line: row.line, problem })
}

fn is_header(words: &str) -> bool {
    let first = words.trim_start_matches(['"', '\'']).chars().next();
    first.is_none_or(char::is_alphabetic)
}

/// Cuts a line into its two columns.
fn columns(line: usize, words: &str) -> Result<[&str; 2], PasteError> {
    let cut: Vec<&str> = if words.contains([';', '\t']) {
        // A separator at the end of the line begins no third column.
        let words = words.strip_suffix(';').unwrap_or(words);
        words.split([';', '\t']).collect()
    } else if words.contains(char::is_whitespace) {
        // "0.1, 5": the comma belongs to the blank behind it.
        let mut columns: Vec<&str> = words.split_whitespace().filter(|column| *column != ",").collect();
        if let [first, _, ..] = &mut columns[..] {
            *first = first.strip_suffix(',').unwrap_or(first);
        }
        columns
    } else {
        let cut: Vec<&str> = words.split(',').collect();
        // "0,1,5" may be 0.1 and 5 or 0 and 1.5, "0,1,5,2" two numbers or four.
        if cut.len() > 2 && !words.contains('.') {
            return Err(PasteError::Commas { line });
        }
        cut
    };
    match cut[..] {
        [travel, pull] => Ok([travel, pull].map(|column| column.trim().trim_matches(['"', '\'']).trim())),
        _ => Err(PasteError::Columns { line, count: cut.len() }),
    }
}

/// What commas in numbers stand for, in the whole text.
enum Commas {
    /// Nothing: other numbers have decimal points.
    Refused,
    /// They are decimal commas.
    Decimal,
    /// They may part thousands: every one is followed by three digits.
    Unclear,
}

impl Commas {
    fn of(rows: &[Row<'_>]) -> Self {
        let numbers = || rows.iter().flat_map(|row| row.columns);
        if numbers().any(|number| number.contains('.')) {
            return Self::Refused;
        }
        let may_part_thousands = |number: &str| {
            number.trim_start_matches(['+', '-', '−']).split_once(',').is_some_and(|(before, after)| {
                after.len() == 3 && (1..=3).contains(&before.len()) && !before.starts_with('0')
            })
        };
        let mut with_comma = numbers().filter(|number| number.contains(',')).peekable();
        if with_comma.peek().is_some() && with_comma.all(may_part_thousands) {
            Self::Unclear
        } else {
            Self::Decimal
        }
    }

    fn number(&self, line: usize, text: &str) -> Result<f64, PasteError> {
        let commas = text.matches(',').count();
        match self {
            Self::Refused if commas > 0 => return Err(PasteError::Mixed { line, text: text.to_owned() }),
            Self::Unclear if commas > 0 => return Err(PasteError::Thousands { line, text: text.to_owned() }),
            _ => {}
        }
        let digits = text.replace('−', "-").replacen(',', ".", 1);
        let number = digits.parse::<f64>().ok().filter(|number| number.is_finite());
        number.ok_or_else(|| PasteError::NoNumber { line, text: text.to_owned() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const POINTS: [(f64, f64); 3] = [(0.0, 0.0), (0.1, 12.5), (2.5, 0.0)];

    #[track_caller]
    fn check(text: &str, skipped: usize) {
        let read = read(text).unwrap_or_else(|error| panic!("{error}: {text}"));
        assert_eq!((read.curve.points(), read.skipped), (&POINTS[..], skipped), "{text}");
    }

    #[track_caller]
    fn refuse(text: &str, words: &str) {
        let error = read(text).map_err(|error| error.to_string());
        assert!(error.as_ref().is_err_and(|error| error.contains(words)), "{error:?}: {text}");
    }

    #[test]
    fn columns_may_be_separated_by_comma_semicolon_tab_or_blanks() {
        for text in [
            "0,0\n0.1,12.5\n2.5,0",
            "0, 0\n0.1, 12.5\n2.5, 0",
            "0 , 0\n0.1 , 12.5\n2.5 , 0",
            "0;0\n0.1;12.5\n2.5;0",
            "0.0; 0.0;\n0.1; 12.5;\n2.5; 0.0;",
            "0\t0\r\n0.1\t12.5\r\n2.5\t0\r\n",
            "\n  0   0\n\n  0.1 12.5\n  2.5 0  \n\n",
            "\u{feff}0 0\n1e-1 1.25e1\n+2.5 0",
            "\"0\";\"0\"\n\"0.1\";\"12.5\"\n\"2.5\";\"0\"",
        ] {
            check(text, 0);
        }
    }

    #[test]
    fn a_decimal_comma_is_read_where_it_can_be_nothing_else() {
        for text in [
            "0;0\n0,1;12,5\n2,5;0",
            "0\t0\n0,1\t12,5\n2,5\t0",
            "0 0\n0,1 12,5\n2,5 0",
            "0, 0\n0,1, 12,5\n2,5, 0",
        ] {
            check(text, 0);
        }
        for text in ["0,0\n0,1,12,5\n2,5,0", "0,0\n0,1,12\n2,0"] {
            refuse(text, "line 2: its commas may be decimal commas or stand between columns");
        }
        refuse("0;0\n0.1;12,5\n2.5;0", "line 2: “12,5” has a comma where other numbers have a decimal point");
        refuse("0;0\n1;1,250\n2;0", "line 2: “1,250” may be a decimal number or thousands");
        assert!(read("0;0\n0,125;1,250\n2;0").is_ok(), "0,125 parts no thousands");
    }

    #[test]
    fn headers_and_remarks_are_skipped() {
        check("Travel (mm);Force (N)\n0;0\n0,1;12,5\n2,5;0", 1);
        check("pin 3, second pull\n\"travel\",\"force\"\n# warm\n0,0\n0.1,12.5\n% slipped\n2.5,0", 4);
        refuse("0 0\n0.1 12.5\nslipped here\n2.5 0", "line 3: “slipped” is no number");
        refuse("travel force\n\n", "there are no numbers in it");
        refuse("", "there are no numbers in it");
    }

    #[test]
    fn the_line_that_is_wrong_is_named() {
        refuse("travel\tforce\n0\t0\n0.1\t12.5\t20\n", "line 3 has 3 columns");
        refuse("0 0\n0.1\n2.5 0", "line 2 has 1 column;");
        refuse("0 0\n0.1 l2\n2.5 0", "line 2: “l2” is no number");
        refuse("0.o 0\n0.1 12\n2.5 0", "line 1: “0.o” is no number");
        refuse("0 0\n0.1 nan\n2.5 0", "line 2: “nan” is no number");
        refuse("0 0\n0.1 1.2.5\n2.5 0", "line 2: “1.2.5” is no number");
        refuse(
            "x y\n\n0 0\n0.2 12\n0.1 5\n2.5 0",
            "line 5: the travel of point 3 of a pull-off curve is not",
        );
        refuse("0 0\n0.2 -1\n2.5 0", "line 2: point 2 of a pull-off curve is out of range");
        refuse("x\n0.1 2\n0.2 3\n2.5 0", "line 2: a pull-off curve must begin with no pull at no travel");
        refuse("0 0\n0.2 3\n2.5 1\n", "line 3: a pull-off curve must end with no pull");
        refuse("0 0\n0.2 0\n2.5 1\n3 0", "line 2: point 2 of a pull-off curve has no pull");
        refuse("0 0\n2.5 0", "a pull-off curve has 2 points; it needs 3 to 200");
    }
}
