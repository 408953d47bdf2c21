//! Rules of the house that the compiler does not keep: who may depend on whom, and on what.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What makes a window.
const WINDOW: [&str; 6] = ["egui", "eframe", "winit", "glow", "rfd", "keepside-gui"];

/// Crates that must not appear, even indirectly, under a given crate, besides those of a window.
const FORBIDDEN: [(&str, &[&str]); 6] = [
    ("keepside-model", &["ron", "serde_json", "tempfile", "keepside-engine", "keepside-store"]),
    ("keepside-engine", &["ron", "serde_json", "tempfile", "rand", "keepside-store", "keepside-sheet"]),
    ("keepside-store", &["keepside-engine", "keepside-sheet", "keepside-session"]),
    ("keepside-sheet", &["ron", "tempfile", "keepside-store", "keepside-session"]),
    ("keepside-session", &["ron", "keepside-store", "keepside-sheet", "keepside-cli"]),
    ("keepside-cli", &["keepside-session"]),
];

#[test]
fn lower_crates_do_not_know_the_upper_ones() {
    for (package, forbidden) in FORBIDDEN {
        let args = ["tree", "--offline", "--edges=normal", "--prefix=none", "--package", package];
        let tree = Command::new(env!("CARGO")).args(args).current_dir(root()).output().unwrap();
        assert!(tree.status.success(), "{}", String::from_utf8_lossy(&tree.stderr));
        let tree = String::from_utf8(tree.stdout).unwrap();
        assert!(tree.starts_with(package), "{tree}");
        for name in WINDOW.iter().chain(forbidden) {
            let found = tree.lines().any(|line| line.split(' ').next() == Some(name));
            assert!(!found, "{package} must not depend on {name}:\n{tree}");
        }
    }
}

/// What must not be used in the sources of a crate, and why.
const UNUSED: [(&str, &[&str]); 3] = [
    // The same project must give the same bytes: no files, no clock, no surroundings, no random order.
    (
        "engine",
        &["std::fs", "std::env", "std::time", "std::net", "std::process", "HashMap", "HashSet", "SystemTime"],
    ),
    ("model", &["std::fs", "std::env", "std::time", "std::net", "std::process", "HashMap", "HashSet"]),
    ("sheet", &["std::fs", "std::env", "std::time", "std::net", "std::process", "HashMap", "HashSet"]),
];

#[test]
fn pure_crates_look_at_nothing_but_their_arguments() {
    for (package, unused) in UNUSED {
        let sources = sources_under(&root().join("crates").join(package).join("src"));
        assert!(!sources.is_empty(), "{package}");
        for path in sources {
            let text = fs::read_to_string(&path).unwrap();
            for word in unused {
                assert!(!text.contains(word), "{} must not use {word}", path.display());
            }
        }
    }
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn sources_under(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(sources_under(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
    found
}
