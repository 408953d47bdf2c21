//! What the fuzzers have found worth keeping, and every fault they have found, once more.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use std::fs;
use std::panic::catch_unwind;
use std::path::PathBuf;

use keepside_tests::fuzzed;

/// Does the same as the fuzz target of this name with each file that is kept for it.
#[track_caller]
fn replay(target: &str, check: fn(&[u8])) {
    for kept in ["corpus", "found"] {
        let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fuzz").join(kept).join(target);
        let mut paths: Vec<PathBuf> =
            fs::read_dir(folder).into_iter().flatten().map(|entry| entry.unwrap().path()).collect();
        paths.sort();
        assert!(kept == "found" || !paths.is_empty(), "nothing is kept for {target}");
        for path in paths {
            let bytes = fs::read(&path).unwrap();
            assert!(catch_unwind(|| check(&bytes)).is_ok(), "{}", path.display());
        }
    }
}

#[test]
fn texts_of_projects() {
    replay("project", |bytes| drop(fuzzed::project(bytes)));
}

#[test]
fn projects_that_are_computed() {
    replay("engine", |bytes| {
        if let Some(project) = fuzzed::project(bytes).filter(fuzzed::is_small) {
            fuzzed::engine(&project);
        }
    });
}

#[test]
fn any_permitted_numbers() {
    replay("numbers", fuzzed::numbers);
}

#[test]
fn drawings() {
    replay("drawing", fuzzed::drawing);
}
