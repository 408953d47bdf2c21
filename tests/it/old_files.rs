//! Files of before: each in `oracle/old-files` opens, for ever. What each must mean is checked in `files`.

use std::fs;
use std::path::PathBuf;

use keepside_store::{NEWEST_FORMAT, load, read_text, save, write_text};
use keepside_tests::projects::demo_path;

/// The files, each with fields that there were none of yet; the format they were written in.
const OLD_FILES: &[(&str, u64, &[&str])] = &[
    ("before-drill-cycles", 1, &["drill_cycles"]),
    ("before-ejectors", 1, &["ejectors", "measured", "rib", "vacuum_mpa"]),
    ("before-ejectors-written-anew", 1, &["sheet:", "trials", "moulding:"]),
    ("before-moulding", 1, &["melt:", "own:", "based_on", "moulding:", "clamp_n"]),
    ("before-notes", 1, &["remarks", "locked", "variants"]),
    ("before-screw-ends", 1, &["grooves", "lock", "drawer"]),
    ("before-sheet-choices", 1, &["sheet:"]),
    ("before-trials", 1, &["scatter:", "trials:"]),
    ("before-written-by", 1, &["written_by"]),
];

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("oracle/old-files")
}

#[test]
fn every_old_file_is_known_here_and_opens() {
    let mut there: Vec<String> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path().file_stem().unwrap().to_str().unwrap().to_owned())
        .collect();
    there.sort();
    let known: Vec<&str> = OLD_FILES.iter().map(|file| file.0).collect();
    assert_eq!(there, known, "a file without a test, or a test without a file");
    for (name, format, lacks) in OLD_FILES {
        let path = folder().join(name).with_extension("keepside");
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.starts_with(&format!("(\n    format: {format},")), "{name}");
        for word in *lacks {
            assert!(!text.contains(word), "{name}: {word}");
        }
        let project = load(&path).unwrap_or_else(|error| panic!("{name}: {error}"));
        // Saved anew it is of today, and the same.
        let anew = write_text(&project);
        assert!(anew.starts_with(&format!("(\n    format: {NEWEST_FORMAT},\n    written_by: \"Keepside ")));
        assert_eq!(read_text(&anew).unwrap(), project, "{name}");
        // Here, and on the bench as well, the old file is still beside the new one.
        let folder = tempfile::tempdir().unwrap();
        let copy = folder.path().join("old.keepside");
        fs::copy(&path, &copy).unwrap();
        save(&copy, &project).unwrap();
        assert_eq!(fs::read_to_string(keepside_store::backup_path(&copy)).unwrap(), text, "{name}");
    }
}

/// Files of programs that are not written yet.
#[test]
fn a_newer_file_is_refused_with_words_and_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("newer.keepside");
    let text = fs::read_to_string(demo_path("row-marker")).unwrap();
    let check = |newer: String, words: &str| {
        fs::write(&path, &newer).unwrap();
        let error = load(&path).unwrap_err().to_string();
        assert!(error.contains(words) && error.contains(": update it"), "{error}");
        assert_eq!(fs::read_to_string(&path).unwrap(), newer, "the file is left as it is");
    };
    let format = NEWEST_FORMAT + 1;
    let words = format!("this file is format {format}; this program reads up to {NEWEST_FORMAT}");
    check(text.replacen("format: 1", &format!("format: {format}"), 1), &words);
    // Within a format, a later version may have added a field or a choice.
    let own = concat!("Keepside ", env!("CARGO_PKG_VERSION"));
    assert!(text.contains(own));
    for writer in ["Keepside 0.10.0", "Keepside 1.0.0", "Keepside 99.0.0"] {
        let later = text.replacen(own, writer, 1);
        let words = format!("written by {writer}, which is newer than this program and knows the ");
        check(
            later.replacen("stroke_mm:", "tilt_deg: 1.0, stroke_mm:", 1),
            &(words.clone() + "field `tilt_deg`"),
        );
        check(later.replacen("start: Round", "start: Pointed", 1), &(words + "choice `Pointed`"));
        // Without any it is read.
        assert!(read_text(&later).is_ok());
    }
    // A slip in a file of one's own is a slip.
    let slip = read_text(&text.replacen("stroke_mm:", "strok_mm:", 1)).unwrap_err().to_string();
    assert!(slip.contains("there is no field `strok_mm` here"), "{slip}");
}
