//! What can go wrong with a project file, each with where and the way out.

use std::fmt;
use std::io;
use std::path::PathBuf;

use keepside_model::EditError;

use crate::file::MAX_BYTES;
use crate::formats::NEWEST_FORMAT;

/// Why a text is not a project, and where.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadError {
    /// Line, from 1; `None` if the problem has no single place.
    pub line: Option<usize>,
    /// Column in characters, from 1.
    pub column: Option<usize>,
    /// What is wrong.
    pub problem: Problem,
}

/// What is wrong with a text that should be a project.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the messages document the variants")]
pub enum Problem {
    #[error(
        "the file is empty; if it was saved more than once, the state before is beside it, with .bak after its name"
    )]
    Empty,
    #[error("a project file begins with `(format: 1,`, this text does not; open a .keepside file")]
    NotAProject,
    #[error("this file is format {found}; this program reads up to {}: update it", NEWEST_FORMAT)]
    NewerFormat { found: u64 },
    #[error(
        "this file was written by {writer}, which is newer than this program and knows the {what} `{found}`: update it"
    )]
    NewerProgram { writer: String, what: &'static str, found: String },
    #[error("there is no format {found}; the first is 1: correct the number")]
    NoSuchFormat { found: u64 },
    #[error("the format is not a whole number from 1 up; this program writes {}", NEWEST_FORMAT)]
    FormatNotANumber,
    #[error(
        "the text ends too early: the file is damaged or cut off; if it was saved more than once, the state before is beside it, with .bak after its name"
    )]
    EndsEarly,
    #[error("the project has ended before this place; delete what follows")]
    GoesOn,
    #[error("{detail}")]
    Value { detail: String },
    #[error("there is no {what} `{found}` here; use {}", one_of(.known))]
    Unknown { what: &'static str, found: String, known: Vec<&'static str> },
    #[error("`{field}` is missing before this place; add it")]
    Missing { field: &'static str },
    #[error("`{field}` is given twice; delete one")]
    GivenTwice { field: &'static str },
    #[error("item number {id} is used twice{}; give one of them a number that is free", first(.first_line))]
    IdUsedTwice { id: u32, first_line: Option<usize> },
    #[error("brackets are nested too deeply for a project; correct the brackets")]
    TooDeep,
    #[error("{detail}; correct the text")]
    Syntax { detail: String },
    #[error("{0}")]
    Check(EditError),
}

fn one_of(known: &[&'static str]) -> String {
    match known {
        [] => "nothing: delete it".to_owned(),
        [only] => format!("`{only}`"),
        [rest @ .., last] => {
            let rest: Vec<String> = rest.iter().map(|name| format!("`{name}`")).collect();
            format!("{} or `{last}`", rest.join(", "))
        }
    }
}

fn first(line: &Option<usize>) -> String {
    line.map_or_else(String::new, |line| format!(", first in line {line}"))
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(line) = self.line {
            write!(f, "line {line}, ")?;
            if let Some(column) = self.column {
                write!(f, "column {column}: ")?;
            }
        }
        self.problem.fmt(f)
    }
}

impl std::error::Error for ReadError {}

/// Why a project file could not be opened.
#[derive(Debug, thiserror::Error)]
#[expect(missing_docs, reason = "the messages document the variants")]
pub enum LoadError {
    #[error("there is no such file; check the name: {}", .path.display())]
    NotFound { path: PathBuf },
    #[error("this is a folder, not a project file; name a file in it: {}", .path.display())]
    IsFolder { path: PathBuf },
    #[error("this is not an ordinary file; copy it to one first: {}", .path.display())]
    NotAFile { path: PathBuf },
    #[error(
        "the file has {size_bytes} bytes, more than the {} a project may have; open another: {}",
        MAX_BYTES, .path.display()
    )]
    TooLarge { path: PathBuf, size_bytes: u64 },
    #[error(
        "line {line}: the file holds bytes that are not UTF-8 text; \
         open another, or its backup: {}", .path.display()
    )]
    NotText { path: PathBuf, line: usize },
    #[error("the file cannot be read, {}; {}: {}", cause(.source), cure(.source), .path.display())]
    Io { path: PathBuf, source: io::Error },
    #[error("{source}: {}", .path.display())]
    Read { path: PathBuf, source: Box<ReadError> },
}

/// Why a project was not saved. Whatever stood in the file before is still there.
#[derive(Debug, thiserror::Error)]
#[expect(missing_docs, reason = "the messages document the variants")]
pub enum SaveError {
    #[error("the project holds a number that could not be read back: {source}; correct it, then save")]
    Invalid { source: EditError },
    #[error("the path names no file; add a file name: {}", .path.display())]
    NoFileName { path: PathBuf },
    #[error(
        "not saved, as the folder does not exist; make it or plug the drive in, or save elsewhere: {}",
        .folder.display()
    )]
    NoFolder { folder: PathBuf },
    #[error("this is a folder; save under another name: {}", .path.display())]
    IsFolder { path: PathBuf },
    #[error("this is not an ordinary file; save under another name: {}", .path.display())]
    NotAFile { path: PathBuf },
    #[error("the file is write-protected; save under another name: {}", .path.display())]
    WriteProtected { path: PathBuf },
    #[error("the file has been changed by somebody else since it was opened: {}", .path.display())]
    ChangedOnDisk { path: PathBuf },
    #[error("this save was given up; save again")]
    GivenUp,
    #[error(
        "the project comes to {size_bytes} bytes, more than the {} that can be opened again; \
         take kept layouts or long notes out of it",
        MAX_BYTES
    )]
    TooLarge { size_bytes: u64 },
    #[error(
        "the file there has {size_bytes} bytes, so it is no project; save under another name: {}",
        .path.display()
    )]
    NoProjectThere { path: PathBuf, size_bytes: u64 },
    #[error(
        "not saved, {}, what stood in the file is untouched; {}, or save elsewhere: {}",
        cause(.source), cure(.source), .path.display()
    )]
    Io { path: PathBuf, source: io::Error },
    #[error(
        "not saved, as the previous state could not be kept, {}, what stood in the file is untouched; \
         {}, or save elsewhere: {}", cause(.source), cure(.source), .backup.display()
    )]
    Backup { backup: PathBuf, source: io::Error },
}

impl SaveError {
    /// Whether saving there is not allowed at all, so that only another place helps.
    pub fn is_refused(&self) -> bool {
        let refused = |source: &io::Error| {
            matches!(source.kind(), io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem)
        };
        match self {
            Self::WriteProtected { .. } => true,
            Self::Io { source, .. } | Self::Backup { source, .. } => refused(source),
            _ => false,
        }
    }
}

/// What stands behind an error of the system, in plain words, with the system's own after them.
pub fn cause(error: &io::Error) -> String {
    use io::ErrorKind::*;
    let plain = match error.kind() {
        StorageFull => "the disk is full",
        QuotaExceeded => "your share of the disk is full",
        PermissionDenied => "it is not permitted",
        ReadOnlyFilesystem => "the disk is write-protected",
        NotFound | NotADirectory => "the folder is gone",
        kind if is_of_network(kind) => "the network drive does not answer",
        InvalidFilename => "the disk does not take this name",
        _ if is_defect(error) => "the disk reports a fault",
        _ => return error.to_string(),
    };
    format!("{plain} ({error})")
}

/// What to do about an error of the system.
pub(crate) fn cure(error: &io::Error) -> &'static str {
    use io::ErrorKind::*;
    match error.kind() {
        StorageFull | QuotaExceeded => "make room on it",
        PermissionDenied | ReadOnlyFilesystem => "have the permissions changed",
        NotFound | NotADirectory => "bring the drive or folder back",
        kind if is_of_network(kind) => "connect it again",
        InvalidFilename => "choose a shorter name",
        _ if is_defect(error) => "check the drive and its plug",
        _ => "check the permissions and the disk",
    }
}

/// Whether a drive on a network has not answered.
fn is_of_network(kind: io::ErrorKind) -> bool {
    use io::ErrorKind::*;
    matches!(
        kind,
        StaleNetworkFileHandle
            | HostUnreachable
            | NetworkUnreachable
            | NetworkDown
            | TimedOut
            | NotConnected
            | ConnectionAborted
            | ConnectionReset
    )
}

/// Whether the device itself has failed, or gone: EIO, ENXIO and ENODEV of POSIX, the same numbers on Linux,
/// macOS and the BSDs.
fn is_defect(error: &io::Error) -> bool {
    cfg!(unix) && matches!(error.raw_os_error(), Some(5 | 6 | 19))
}
