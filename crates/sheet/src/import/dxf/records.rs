//! The records of an ASCII DXF file: group codes and values, two lines each; a record begins at code 0.

use glam::DVec2;

use super::super::ImportError;

/// A record: what stands after a code 0 up to the next.
#[derive(Debug)]
pub(super) struct Record<'a> {
    /// The value of its code 0.
    pub(super) kind: &'a str,
    /// Code, value, line of the value.
    pub(super) pairs: Vec<(i32, &'a str, usize)>,
}

impl<'a> Record<'a> {
    /// The first value of a code.
    pub(super) fn text(&self, code: i32) -> Option<&'a str> {
        self.pairs.iter().find(|pair| pair.0 == code).map(|pair| pair.1)
    }

    /// The first number of a code, or what stands for it.
    pub(super) fn number(&self, code: i32, default: f64) -> Result<f64, ImportError> {
        let pair = self.pairs.iter().find(|pair| pair.0 == code);
        pair.map_or(Ok(default), |&(_, text, line)| number(text, line))
    }

    /// The first whole number of a code, or what stands for it.
    pub(super) fn whole(&self, code: i32, default: i64) -> Result<i64, ImportError> {
        let pair = self.pairs.iter().find(|pair| pair.0 == code);
        pair.map_or(Ok(default), |&(_, text, line)| whole(text, line))
    }

    /// All numbers of a code in order.
    pub(super) fn numbers(&self, code: i32) -> Result<Vec<f64>, ImportError> {
        let pairs = self.pairs.iter().filter(|pair| pair.0 == code);
        pairs.map(|&(_, text, line)| number(text, line)).collect()
    }

    /// The point whose x has this code, y ten more.
    pub(super) fn point(&self, code: i32) -> Result<DVec2, ImportError> {
        Ok(DVec2::new(self.number(code, 0.0)?, self.number(code + 10, 0.0)?))
    }

    /// The value of a header variable.
    pub(super) fn variable(&self, name: &str) -> Option<(&'a str, usize)> {
        let at = self.pairs.iter().position(|pair| pair.0 == 9 && pair.1.trim() == name)?;
        self.pairs.get(at + 1).map(|pair| (pair.1, pair.2))
    }
}

/// A number that is one.
pub(super) fn number(text: &str, line: usize) -> Result<f64, ImportError> {
    let value = text.trim().parse::<f64>().ok().filter(|value| value.is_finite());
    value.ok_or_else(|| not_a_number(text, line))
}

/// A whole number; some programs write it with a decimal point.
pub(super) fn whole(text: &str, line: usize) -> Result<i64, ImportError> {
    text.trim().parse::<i64>().or_else(|_| {
        let value = number(text, line)?;
        if value.abs() > 1e15 {
            return Err(not_a_number(text, line));
        }
        #[expect(clippy::cast_possible_truncation, reason = "the range is checked above")]
        Ok(value as i64)
    })
}

fn not_a_number(text: &str, line: usize) -> ImportError {
    let found = text.chars().filter(|c| !c.is_control()).take(30).collect();
    ImportError::DxfNumber { line, found }
}

/// Cuts the text of a file into records.
pub(super) struct Records<'a> {
    lines: std::str::Lines<'a>,
    line: usize,
    /// The kind of the next record, read already.
    next: Option<&'a str>,
}

impl<'a> Records<'a> {
    /// Goes to the first record; comments may stand before it.
    pub(super) fn new(text: &'a str) -> Result<Self, ImportError> {
        let mut records = Self { lines: text.trim_start_matches('\u{feff}').lines(), line: 0, next: None };
        let (code, value, line) = records.pair().map_err(|_unreadable| ImportError::NotDxf {
            line: 1,
            expected: "a group code, a whole number",
        })?;
        if code != 0 || value.trim() != "SECTION" {
            return Err(ImportError::NotDxf { line, expected: "SECTION after a 0" });
        }
        records.next = Some(value.trim());
        Ok(records)
    }

    /// The next record; `None` after the mark of the file's end.
    pub(super) fn next(&mut self) -> Result<Option<Record<'a>>, ImportError> {
        let Some(kind) = self.next.take() else { return Ok(None) };
        if kind == "EOF" {
            return Ok(None);
        }
        let mut pairs = Vec::new();
        loop {
            let (code, value, line) = self.pair()?;
            if code == 0 {
                self.next = Some(value.trim());
                return Ok(Some(Record { kind, pairs }));
            }
            pairs.push((code, value, line));
        }
    }

    /// The kind of the record to come.
    pub(super) const fn ahead(&self) -> Option<&'a str> {
        self.next
    }

    /// The next pair that is no comment.
    fn pair(&mut self) -> Result<(i32, &'a str, usize), ImportError> {
        loop {
            let cut_off = ImportError::DxfCutOff { line: self.line };
            let Some(code) = self.lines.next() else { return Err(cut_off) };
            self.line += 1;
            let not_a_code =
                || ImportError::NotDxf { line: self.line, expected: "a group code, a whole number" };
            let Ok(code) = code.trim().parse::<i32>() else {
                return Err(if self.lines.clone().next().is_none() { cut_off } else { not_a_code() });
            };
            let Some(value) = self.lines.next() else { return Err(cut_off) };
            self.line += 1;
            if code != 999 {
                return Ok((code, value, self.line));
            }
        }
    }
}
