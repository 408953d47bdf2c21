//! Project files: reading, versions, atomic saving, backups, and the list of recent files.
//!
//! A project file is RON text: `(format: 1, project: (…))`. Reading checks everything that the model
//! knows about permitted numbers; what is unwise but possible is left to the engine's findings.

mod error;
mod file;
mod folders;
mod ids;
mod read;
pub mod recent;
mod write;

pub use error::{LoadError, Problem, ReadError, SaveError};
pub use file::{MAX_BYTES, backup_path, load, save};
pub use folders::config_dir;
pub use read::{NEWEST_FORMAT, read_text};
pub use recent::RecentFiles;
pub use write::write_text;

/// File name extension of project files, without the dot.
pub const EXTENSION: &str = "keepside";
