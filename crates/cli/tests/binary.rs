//! The program itself, as a shell runs it.
#![expect(clippy::unwrap_used, reason = "a test may stop here")]

use std::path::PathBuf;
use std::process::{Command, Output};

fn keepside_cli(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_keepside-cli")).args(args).output().unwrap()
}

#[test]
fn the_program_speaks_on_the_right_stream_and_ends_with_the_right_code() {
    let demo = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../demo-projects/row-marker.keepside");
    let well = keepside_cli(&["check", demo.to_str().unwrap(), "--json"]);
    assert_eq!(well.status.code(), Some(0), "{}", String::from_utf8_lossy(&well.stderr));
    assert!(well.stderr.is_empty());
    let json: serde_json::Value = serde_json::from_slice(&well.stdout).unwrap();
    assert_eq!(json["verdict"]["outcome"], "stays-on-moving");

    let lost = keepside_cli(&["check", "no-such.keepside"]);
    assert_eq!(lost.status.code(), Some(2));
    assert!(lost.stdout.is_empty());
    let words = String::from_utf8(lost.stderr).unwrap();
    assert!(words.contains("there is no such file") && words.contains("no-such.keepside"), "{words}");
}

#[test]
fn what_is_wrong_with_a_file_is_told_once_with_its_place() {
    let file = std::env::temp_dir().join(format!("keepside-cli-{}.keepside", std::process::id()));
    std::fs::write(&file, "(format: 1, project: (name: 5").unwrap();
    let lost = keepside_cli(&["check", file.to_str().unwrap()]);
    std::fs::remove_file(&file).unwrap();
    assert_eq!(lost.status.code(), Some(2));
    let words = String::from_utf8(lost.stderr).unwrap();
    assert_eq!(words.matches("line 1").count(), 1, "{words}");
    assert_eq!(words.matches(".keepside").count(), 1, "{words}");
}
