//! Files that are no projects: each is refused with its place and the way out, and nothing panics.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use std::fs;

use glam::DVec2;
use keepside_model::{Id, Run};
use keepside_store::{MAX_BYTES, load, read_text, write_text};
use keepside_tests::projects::{demo, demo_path};
use proptest::prelude::*;

fn text() -> String {
    fs::read_to_string(demo_path("row-marker")).unwrap()
}

/// Puts `wrong` in the place of the first `right` of the demo project: reading must fail in that very
/// line, with these words.
#[track_caller]
fn check(right: &str, wrong: &str, words: &str) {
    let text = text();
    let start = text.find(right).unwrap_or_else(|| panic!("no {right} in the demo project"));
    let line = 1 + text[..start].matches('\n').count();
    let error = read_text(&text.replacen(right, wrong, 1)).unwrap_err();
    assert_eq!(error.line, Some(line), "{error}");
    let error = error.to_string();
    assert!(error.starts_with(&format!("line {line}, column ")), "{error}");
    assert!(error.contains(words), "{error}");
}

#[test]
fn a_number_out_of_range_is_named_with_its_range() {
    let width = "the channel width is -7.6 mm; it must be from 0.2 to 200 mm";
    check("width_mm: 7.6", "width_mm: -7.6", width);
    check("depth_mm: 3.0", "depth_mm: NaN", "the channel depth is NaN mm; it must be from 0.1 to 100 mm");
    check("depth_mm: 3.0", "depth_mm: inf", "the channel depth is inf mm");
    check("depth_mm: 3.0", "depth_mm: -inf", "the channel depth is -inf mm");
    check("depth_mm: 3.0", "depth_mm: 1e999", "the channel depth is inf mm");
    check("at: (28.8, 50.0)", "at: (28.8, 5e9)", "a coordinate is 5000000000 mm");
    check("at: (28.8, 50.0)", "at: (NaN, 50.0)", "a coordinate is NaN mm");
    check("stroke_mm: 130.0", "stroke_mm: 0.0", "the opening stroke is 0 mm");
    check("moving_share: 0.5", "moving_share: 1.5", "a share is 1.5; it must be from 0 to 1");
    check("protrusion_mm: 2.0", "protrusion_mm: -2.0", "the protrusion is -2 mm");
    check("underside_deg: 70.0", "underside_deg: 90.0", "the underside angle to the parting plane is 90 °");
}

/// Gives the first of these curves of a demo project these points, one a line: reading must fail in the line
/// of the point with this number, from 1, with these words.
#[track_caller]
fn check_curve(field: &str, points: &[&str], number: usize, words: &str) {
    let mut text = write_text(&demo("row-marker"));
    let computed = format!("{field}: None");
    let start = text.find(&computed).unwrap_or_else(|| panic!("no {computed} in the demo project"));
    let line = 1 + text[..start].matches('\n').count() + number;
    let wanted = format!("{field}: Some([\n{},\n])", points.join(",\n"));
    text.replace_range(start..start + computed.len(), &wanted);
    let error = read_text(&text).unwrap_err().to_string();
    assert!(error.starts_with(&format!("line {line}, column ")) && error.contains(words), "{line}: {error}");
}

#[test]
fn a_measured_curve_that_is_none_is_refused_at_the_point_that_is_wrong() {
    for field in ["measured", "tack_curve", "wall_curve", "edge_curve"] {
        let check = |points: &[&str], number: usize, words: &str| check_curve(field, points, number, words);
        let (start, end) = ("(0.0, 0.0)", "(0.3, 0.0)");
        check(&["(0.1, 0.0)", "(0.2, 4.0)", end], 1, "must begin with no pull at no travel");
        check(&[start, "(0.2, 0.0)", "(0.25, 4.0)", end], 2, "point 2 of a pull-off curve has no pull");
        check(
            &[start, "(0.2, -3.0)", end],
            2,
            "point 2 of a pull-off curve is out of range; travel is 0 to 500",
        );
        check(&[start, "(0.2, NaN)", end], 2, "point 2 of a pull-off curve is out of range");
        check(&[start, "(0.2, 4.0)", "(0.1, 2.0)", end], 3, "the travel of point 3 of a pull-off curve");
        check(&[start, "(0.2, \"4\")", end], 2, "a number belongs here");
        check(&[start, "(0.2)", end], 2, "a tuple of size 2");
        check(&["0.0", "0.2"], 1, "expected opening `(`");
        // What only the end shows is told there.
        check(&[start, "(0.2, 4.0)", "(0.3, 1.0)"], 4, "must end with no pull, where the hold has let go");
        check(&[start, "(0.3, 0.5)"], 3, "a pull-off curve has 2 points; it needs 3 to 200");
    }
}

#[test]
fn a_value_of_another_type_is_named() {
    check("depth_mm: 3.0", "depth_mm: \"3.0\"", "a number belongs here");
    check("depth_mm: 3.0", "depth_mm: thick", "a number belongs here");
    check("name: \"blade\"", "name: 3", "string");
    check("start: Round", "start: Oval", "there is no choice `Oval` here; use `Square` or `Round`");
    check(
        "face: Plain",
        "face: Smooth",
        "there is no choice `Smooth` here; use `Plain`, `Grooved` or `Crossed`",
    );
    check("kind: TurnedHead", "kind: Nail", "there is no choice `Nail` here; use `SetScrew`, `CapHead`");
    check("at: (28.8, 50.0)", "at: (28.8, 50.0, 1.0)", "expected closing `)`");
    check("at: (28.8, 50.0)", "at: 28.8", "expected");
    check("2: (", "-2: (", "a whole number from 0 to 4294967295 belongs here");
    check("2: (", "\"two\": (", "expected integer");
}

#[test]
fn a_field_that_does_not_belong_is_named_with_those_that_do() {
    check("depth_mm: 3.0", "depht_mm: 3.0", "there is no field `depht_mm` here; use `at`, `width_mm`");
    check("format: 1,", "format: 1, colour: 3,", "there is no field `colour` here; use `written_by`");
    check("written_by: ", "written_by: \"\", written_by: ", "`written_by` is given twice");
    check("stroke_mm: 130.0", "stroke_mm: 130.0, force_n: 3.0", "there is no field `force_n` here");
    check("stroke_mm: 130.0", "stroke_mm: 130.0, stroke_mm: 3.0", "`stroke_mm` is given twice");
}

#[test]
fn a_field_that_is_missing_is_named() {
    let error = read_text(&text().replacen("stroke_mm: 130.0,", "", 1)).unwrap_err().to_string();
    assert!(error.contains("`stroke_mm` is missing before this place; add it"), "{error}");
}

#[test]
fn another_version_says_which_and_what_to_do() {
    check("format: 1", "format: 7", "this file is format 7; this program reads up to 1: update it");
    check("format: 1", "format: 0", "there is no format 0");
    check("format: 1", "format: -1", "the format is not a whole number");
    check("format: 1", "format: \"one\"", "the format is not a whole number");
    // What a later version may have changed besides is not complained of.
    let later = "(format: 7, colours: [1, 2], project: Other {{{";
    let error = read_text(later).unwrap_err().to_string();
    assert!(error.contains("format 7"), "{error}");
}

#[test]
fn an_id_used_twice_is_shown_where_it_comes_again() {
    // 12 is a keying feature; 8 is a sprue, 2 a bolt.
    check("12: (", "8: (", "item number 8 is used twice, first in line ");
    check("12: (", "1: (", "item number 1 is used twice, first in line ");
    check("3: (", "2: (", "item number 2 is used twice; give one of them another number");
}

#[test]
fn a_text_that_is_something_else_is_refused_at_once() {
    for other in ["hello", "{\"format\": 1}", "%PDF-1.7", "()", "(project: ())", "[1, 2]", "\u{0}\u{1}"] {
        let error = read_text(other).unwrap_err().to_string();
        assert!(error.contains("a project file begins with"), "{other}: {error}");
    }
    for empty in ["", " \n\n", "\u{feff}"] {
        assert!(read_text(empty).unwrap_err().to_string().contains("the file is empty"));
    }
    let more = read_text(&format!("{}x", text())).unwrap_err().to_string();
    assert!(more.contains("delete what follows"), "{more}");
}

#[test]
fn a_file_cut_off_at_any_byte_is_an_error_that_says_so() {
    let text = text();
    let whole = text.trim_end().len();
    for end in 0..whole {
        let Err(error) = read_text(&text[..end]) else { panic!("the first {end} bytes are a project") };
        // Before the format has been read it may be any file.
        if end > "(\n    format: 1".len() {
            let error = error.to_string();
            assert!(error.contains("the text ends too early"), "{end}: {error}");
        }
    }
    assert!(read_text(&text[..whole]).is_ok());
}

#[test]
fn brackets_without_end_neither_overflow_nor_hang() {
    let deep = "(".repeat(1_000_000);
    assert!(read_text(&deep).is_err());
    assert!(read_text(&format!("(format: 1, project: {deep}")).is_err());
    for open in ["[", "(", "{", "Some(", "/*"] {
        let error = read_text(&text().replacen("points: [", &open.repeat(500_000), 1)).unwrap_err();
        assert!(error.to_string().len() < 1000);
    }
}

#[test]
fn what_is_no_readable_file_is_named_with_its_path() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::write(at("bytes"), b"(\n  format: 1,\n  project: \xff").unwrap();
    // Sparse: takes no room on the disk.
    fs::File::create(at("huge")).unwrap().set_len(MAX_BYTES + 1).unwrap();
    fs::write(at("wrong"), text().replace("width_mm: 7.6", "width_mm: -7.6")).unwrap();
    for (name, words) in [
        ("missing", "there is no such file"),
        ("", "this is a folder"),
        ("bytes", "line 3: the file holds bytes that are not UTF-8 text"),
        ("huge", "the file has 16777217 bytes, more than the 16777216 a project may have"),
        ("wrong", "line 14, column 39: the channel width is -7.6 mm"),
    ] {
        let error = load(&at(name)).unwrap_err().to_string();
        assert!(error.contains(words), "{error}");
        assert!(error.ends_with(&at(name).display().to_string()), "{error}");
    }
}

#[test]
fn an_unwise_layout_opens_so_that_it_can_be_put_right() {
    let mut project = demo("row-marker");
    let here = DVec2::new(100.0, 50.0);
    project.part.runs.insert(Id(1), Run::straight("", here, here, 6.0, 3.0));
    project.part.runs.insert(Id(90), Run { points: Vec::new(), ..Run::straight("", here, here, 6.0, 3.0) });
    project.features.values_mut().next().unwrap().at = DVec2::new(-300.0, 900.0);
    assert_eq!(read_text(&write_text(&project)).unwrap(), project);
}

proptest! {
    /// Some bytes of a project exchanged for others: never a panic, and what is read passes its check.
    #[test]
    fn a_damaged_file_never_panics(
        damage in proptest::collection::vec((0.0..1.0, 0u8..128), 1..6),
    ) {
        let mut bytes = text().into_bytes();
        for (place, byte) in damage {
            let index = (place * bytes.len() as f64) as usize;
            bytes[index] = byte;
        }
        if let Ok(project) = read_text(&String::from_utf8(bytes).unwrap()) {
            prop_assert_eq!(project.check(), Ok(()));
        }
    }
}
