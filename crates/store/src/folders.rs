//! Where the program keeps what belongs to the user and not to a project.

use std::env;
use std::ffi::OsString;
use std::path::PathBuf;

/// Our folder among the user's settings: below `XDG_CONFIG_HOME` if that is an absolute path, else
/// below `APPDATA` on Windows, else below `.config` in the home folder; `None` if there is none of them. The folder
/// need not exist yet.
///
/// Source: XDG Base Directory Specification 0.8 (relative paths there are to be ignored).
pub fn config_dir() -> Option<PathBuf> {
    let roaming = if cfg!(windows) { env::var_os("APPDATA") } else { None };
    dir_of(env::var_os("XDG_CONFIG_HOME").or(roaming), env::var_os("HOME"), ".config")
}

/// Our folder for what must outlive the program but is no setting, such as recovery files: below
/// `XDG_STATE_HOME` if that is an absolute path, else below `LOCALAPPDATA` on Windows, else below
/// `.local/state` in the home folder; `None` if there is none of them. It need not exist yet.
///
/// Source: XDG Base Directory Specification 0.8.
pub fn state_dir() -> Option<PathBuf> {
    let local = if cfg!(windows) { env::var_os("LOCALAPPDATA") } else { None };
    dir_of(env::var_os("XDG_STATE_HOME").or(local), env::var_os("HOME"), ".local/state")
}

fn dir_of(own: Option<OsString>, home: Option<OsString>, below_home: &str) -> Option<PathBuf> {
    let absolute = |path: Option<OsString>| path.map(PathBuf::from).filter(|path| path.is_absolute());
    let own = absolute(own).or_else(|| Some(absolute(home)?.join(below_home)))?;
    Some(own.join("keepside"))
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    #[test]
    fn settings_go_where_the_user_says_else_below_home() {
        let of = |settings: Option<&str>, home: Option<&str>| {
            dir_of(settings.map(OsString::from), home.map(OsString::from), ".config")
        };
        assert_eq!(of(Some("/set"), Some("/home/a")), Some("/set/keepside".into()));
        assert_eq!(of(None, Some("/home/a")), Some("/home/a/.config/keepside".into()));
        for ignored in ["", "set", "./set"] {
            assert_eq!(of(Some(ignored), Some("/home/a")), Some("/home/a/.config/keepside".into()));
        }
        assert_eq!(of(None, Some("")), None);
        assert_eq!(of(None, None), None);
    }
}
