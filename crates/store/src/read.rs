//! From text to a project: format versions, and errors that say where.

use std::fmt;

use keepside_model::{EditError, Project};
use ron::error::{Error as RonError, Position, SpannedError};
use serde::de::{DeserializeSeed, Deserializer, Error as _, MapAccess, Visitor};

use crate::error::{Problem, ReadError};
use crate::formats::{self, NEWEST_FORMAT, is_known};
use crate::ids;
use crate::write::WRITER;

/// Brackets within brackets that are followed: a project needs 8.
const MAX_NESTING: usize = 32;

/// Most characters of the file itself that a message repeats.
const MOST_CHARACTERS: usize = 200;

/// The fields of a file, in order. The format comes first, so that what follows can be read as that
/// format says. Which program wrote the file is for people to read, and may be left out.
const FIELDS: &[&str] = &["format", "written_by", "project"];

/// Reads a project of any format ever written, and checks it.
///
/// # Errors
///
/// [`ReadError`] with line and column, what is wrong and the way out.
pub fn read_text(text: &str) -> Result<Project, ReadError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.trim().is_empty() {
        return Err(ReadError { line: None, column: None, problem: Problem::Empty });
    }
    let mut header = Header::default();
    let options = ron::Options::default().with_recursion_limit(MAX_NESTING);
    let project =
        options.from_str_seed(text, File(&mut header)).map_err(|error| explain(text, &header, error))?;
    project.check().map_err(|error| of_check(text, error))?;
    Ok(project)
}

/// What has been understood of a file so far.
#[derive(Debug, Default)]
struct Header {
    begins_with_format: bool,
    format: Option<u64>,
    writer: Option<String>,
}

/// Reads the whole file, noting the header on the way.
struct File<'a>(&'a mut Header);

impl<'de> DeserializeSeed<'de> for File<'_> {
    type Value = Project;

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<Project, D::Error> {
        from.deserialize_struct("", FIELDS, self)
    }
}

impl<'de> Visitor<'de> for File<'_> {
    type Value = Project;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a project file")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut fields: A) -> Result<Project, A::Error> {
        if fields.next_key::<String>()?.as_deref() != Some(FIELDS[0]) {
            return Err(A::Error::missing_field(FIELDS[0]));
        }
        self.0.begins_with_format = true;
        let format = fields.next_value()?;
        self.0.format = Some(format);
        if !is_known(format) {
            return Err(A::Error::custom("format"));
        }
        let mut name = fields.next_key::<String>()?;
        if name.as_deref() == Some(FIELDS[1]) {
            self.0.writer = Some(fields.next_value()?);
            name = fields.next_key()?;
        }
        let project = match name {
            Some(name) if name == FIELDS[2] => formats::project(format, &mut fields)?,
            Some(name) if name == FIELDS[1] => return Err(A::Error::duplicate_field(FIELDS[1])),
            Some(name) => return Err(A::Error::unknown_field(&name, &FIELDS[1..])),
            None => return Err(A::Error::missing_field(FIELDS[2])),
        };
        match fields.next_key::<String>()? {
            Some(name) if name == FIELDS[2] => Err(A::Error::duplicate_field(FIELDS[2])),
            Some(name) => Err(A::Error::unknown_field(&name, &[])),
            None => Ok(project),
        }
    }
}

/// Puts the parser's error into words, at its place.
fn explain(text: &str, header: &Header, error: SpannedError) -> ReadError {
    let start = error.span.start;
    let (line, column) = match header.format {
        Some(1..=NEWEST_FORMAT) | None => next_word(text, start),
        // The number itself is wrong, and has just been read.
        Some(_) => (start.line, start.col),
    };
    let (last_line, last_column) = end_of(text.trim_end());
    let is_at_end = (error.span.end.line, error.span.end.col) >= (last_line, last_column);
    let problem = match (header.format, error.code) {
        (Some(found), _) if found > NEWEST_FORMAT => Problem::NewerFormat { found },
        (Some(found), _) if found < 1 => Problem::NoSuchFormat { found },
        (_, RonError::Eof | RonError::ExpectedStringEnd | RonError::UnclosedBlockComment) => {
            Problem::EndsEarly
        }
        (None, _) if !header.begins_with_format => Problem::NotAProject,
        (_, RonError::TrailingCharacters) => Problem::GoesOn,
        // A name or number cut in two by the end of the text is no matter of names and numbers.
        (_, _) if is_at_end => Problem::EndsEarly,
        (_, RonError::ExpectedOption) if is_cut_word(text, line, column, ["None", "Some"]) => {
            Problem::EndsEarly
        }
        (_, RonError::ExpectedBoolean) if is_cut_word(text, line, column, ["true", "false"]) => {
            Problem::EndsEarly
        }
        (None, _) => Problem::FormatNotANumber,
        (Some(_), code) => match (words(code), &header.writer) {
            // Within a format fields and choices are added.
            (Problem::Unknown { what, found, .. }, Some(writer)) if is_newer(writer) => {
                Problem::NewerProgram { writer: short(writer), what, found }
            }
            (problem, _) => problem,
        },
    };
    ReadError { line: Some(line), column: Some(column), problem }
}

/// Whether a file was written by a later version than this.
fn is_newer(writer: &str) -> bool {
    let version = |writer: &str| -> Option<Vec<u64>> {
        writer.strip_prefix("Keepside ")?.split('.').map(|part| part.parse().ok()).collect()
    };
    version(writer) > version(WRITER)
}

/// The beginning of what a file holds: a message is to be read.
fn short(text: &str) -> String {
    match text.char_indices().nth(MOST_CHARACTERS) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

/// Line and column of the first character at or after a place that is not white space: the parser may
/// still stand at the end of the line before.
fn next_word(text: &str, from: Position) -> (usize, usize) {
    let (mut line, mut column) = (from.line, from.col);
    let above: usize = text.split_inclusive('\n').take(line - 1).map(str::len).sum();
    for c in text[above..].chars().skip(column - 1) {
        match c {
            '\n' => (line, column) = (line + 1, 1),
            c if c.is_whitespace() => column += 1,
            _ => return (line, column),
        }
    }
    (from.line, from.col)
}

/// Whether the text breaks off within one of these words at a place.
fn is_cut_word(text: &str, line: usize, column: usize, words: [&str; 2]) -> bool {
    let above: usize = text.split_inclusive('\n').take(line - 1).map(str::len).sum();
    let rest: String = text[above..].chars().skip(column - 1).collect();
    words.iter().any(|word| word.starts_with(rest.trim_end()))
}

/// Line and column just behind the text, from 1.
fn end_of(text: &str) -> (usize, usize) {
    let (above, last) = text.rsplit_once('\n').unwrap_or(("", text));
    let lines = if above.len() + last.len() == text.len() { 1 } else { 2 + above.matches('\n').count() };
    (lines, 1 + last.chars().count())
}

fn words(code: RonError) -> Problem {
    match code {
        RonError::Message(detail) => Problem::Value { detail: short(&detail) },
        RonError::NoSuchStructField { expected, found, .. } => {
            Problem::Unknown { what: "field", found: short(&found), known: expected.to_vec() }
        }
        RonError::NoSuchEnumVariant { expected, found, .. } => {
            Problem::Unknown { what: "choice", found: short(&found), known: expected.to_vec() }
        }
        RonError::MissingStructField { field, .. } => Problem::Missing { field },
        RonError::DuplicateStructField { field, .. } => Problem::GivenTwice { field },
        RonError::ExceededRecursionLimit => Problem::TooDeep,
        RonError::InvalidValueForType { expected, found } => {
            Problem::Value { detail: format!("{} belongs here, not {}", short(&expected), short(&found)) }
        }
        RonError::ExpectedBoolean => Problem::Value { detail: "true or false belongs here".to_owned() },
        RonError::ExpectedFloat => Problem::Value { detail: "a number belongs here".to_owned() },
        RonError::IntegerOutOfBounds => {
            Problem::Value { detail: format!("a whole number from 0 to {} belongs here", u32::MAX) }
        }
        other => Problem::Syntax { detail: short(&lower_case(&other.to_string())) },
    }
}

fn lower_case(sentence: &str) -> String {
    let mut rest = sentence.chars();
    rest.next().map_or_else(String::new, |first| first.to_lowercase().chain(rest).collect())
}

/// Finds the place of what the project's own check found.
fn of_check(text: &str, error: EditError) -> ReadError {
    let EditError::IdUsedTwice { id } = error else {
        return ReadError { line: None, column: None, problem: Problem::Check(error) };
    };
    let places = ids::places(text, id.0);
    let problem = Problem::IdUsedTwice { id: id.0, first_line: places.first().map(|place| place.0) };
    let second = places.get(1).copied();
    ReadError { line: second.map(|place| place.0), column: second.map(|place| place.1), problem }
}
