//! Where the program keeps what belongs to the user and not to a project.

use std::env;
use std::path::PathBuf;

/// Our folder among the user's settings: below `XDG_CONFIG_HOME` if that is an absolute path, else
/// below `.config` in the home folder; `None` if there is neither. The folder need not exist yet.
///
/// Source: XDG Base Directory Specification 0.8 (relative paths there are to be ignored).
pub fn config_dir() -> Option<PathBuf> {
    let absolute = |name: &str| env::var_os(name).map(PathBuf::from).filter(|path| path.is_absolute());
    let settings = absolute("XDG_CONFIG_HOME").or_else(|| Some(absolute("HOME")?.join(".config")))?;
    Some(settings.join("keepside"))
}
