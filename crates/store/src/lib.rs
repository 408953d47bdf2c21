//! Project files: reading, versions, atomic saving, backups, earlier states, recovery after a crash,
//! which windows are alive, the list of recent files, and the user's own grades and presses.
//!
//! A project file is RON text: `(format: 1, written_by: "…", project: (…))`. Reading checks everything that the model
//! knows about permitted numbers; what is unwise but possible is left to the engine's findings.

mod clip;
mod disk;
mod earlier;
mod error;
mod experience;
#[cfg(all(test, target_os = "linux"))]
mod faults;
mod file;
mod folders;
mod formats;
mod ids;
mod open;
mod presence;
mod read;
pub mod recent;
mod recovery;
mod replace;
mod shelf;
mod stamp;
mod write;

pub use clip::{ClipError, read_items, write_items};
pub use earlier::{Earlier, MAX_EARLIER, earlier_states};
pub use error::{LoadError, Problem, ReadError, SaveError, cause};
pub use experience::Experience;
pub use file::{Care, MAX_BYTES, backup_path, load, load_stamped, save, save_with_care};
pub use folders::{config_dir, state_dir};
pub use formats::NEWEST_FORMAT;
pub use open::OpenProject;
pub use presence::Holder;
pub use read::read_text;
pub use recent::RecentFiles;
pub use recovery::{About, Damaged, Left, Recovered, RecoveryFile, discard, left_behind};
pub use replace::write_whole;
pub use shelf::{Kept, Shelf, ShelfError};
pub use stamp::Stamp;
pub use write::write_text;

/// File name extension of project files, without the dot.
pub const EXTENSION: &str = "keepside";
