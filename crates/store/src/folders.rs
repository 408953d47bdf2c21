//! Where the program keeps what belongs to the user and not to a project.

use std::env;
use std::ffi::OsString;
use std::path::PathBuf;

/// Our folder among the user's settings: below `XDG_CONFIG_HOME` if that is an absolute path, else
/// below `.config` in the home folder; `None` if there is neither. The folder need not exist yet.
///
/// Source: XDG Base Directory Specification 0.8 (relative paths there are to be ignored).
pub fn config_dir() -> Option<PathBuf> {
    config_dir_of(env::var_os("XDG_CONFIG_HOME"), env::var_os("HOME"))
}

fn config_dir_of(settings: Option<OsString>, home: Option<OsString>) -> Option<PathBuf> {
    let absolute = |path: Option<OsString>| path.map(PathBuf::from).filter(|path| path.is_absolute());
    let settings = absolute(settings).or_else(|| Some(absolute(home)?.join(".config")))?;
    Some(settings.join("keepside"))
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    #[test]
    fn settings_go_where_the_user_says_else_below_home() {
        let of = |settings: Option<&str>, home: Option<&str>| {
            config_dir_of(settings.map(OsString::from), home.map(OsString::from))
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
