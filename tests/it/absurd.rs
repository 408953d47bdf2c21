//! Files made to do harm, or by a program gone wrong: refused or opened, with a message that says what, where and
//! what to do, in bounded time and memory.
//!
//! Each case is read by a process of its own that may use 1 GiB of addresses. By themselves the files are a few MB
//! large; `KEEPSIDE_ABSURD=15` makes them so many MB, nearly as large as may be read.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use std::fs::{self, File};
use std::io::{BufWriter, Write as _};
use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::time::{Duration, Instant};

use keepside_model::{Edit, Id, Item, Note, Project, Variant};
use keepside_store::{MAX_BYTES, load, read_text, save, write_text};
use keepside_tests::projects::{demo, demo_path};

/// The file that this test program reads when started with it.
const READS: &str = "KEEPSIDE_TEST_READS";

/// Addresses that the reading process may use, KiB.
const MEMORY_KIB: u64 = 1 << 20;

/// What a reading process says: how long it took, its peak of memory, and what came of it.
struct Read {
    took: Duration,
    peak_mib: f64,
    said: String,
}

/// Is itself the process that reads, when told what.
#[test]
fn reading_process() {
    let Some(path) = std::env::var_os(READS) else { return };
    let start = Instant::now();
    let said = match load(Path::new(&path)) {
        Ok(project) => format!("opened {} items", project.ids().len()),
        Err(error) => error.to_string(),
    };
    let took_ms = start.elapsed().as_millis();
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap_or("0 kB");
    println!("\nREAD {took_ms} {} {said}", peak.trim_end_matches("kB").trim());
}

/// Reads a file in a process of its own.
#[track_caller]
fn read(path: &Path) -> Read {
    let own = std::env::current_exe().unwrap();
    let limited = format!("ulimit -v {MEMORY_KIB}; exec \"$0\" --exact absurd::reading_process --nocapture");
    let output = Command::new("sh").arg("-c").arg(limited).arg(own).env(READS, path).output().unwrap();
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let line = text.lines().find_map(|line| line.strip_prefix("READ "));
    let line = line.unwrap_or_else(|| {
        panic!("{}: the reader died: {}", path.display(), String::from_utf8_lossy(&output.stderr))
    });
    let mut words = line.splitn(3, ' ');
    let mut number = || words.next().unwrap().parse::<u64>().unwrap();
    let (took_ms, peak_kib) = (number(), number());
    Read {
        took: Duration::from_millis(took_ms),
        peak_mib: peak_kib as f64 / 1024.0,
        said: words.next().unwrap().to_owned(),
    }
}

/// A file of about `size` bytes: what stands before, what is repeated, what stands after.
fn write(path: &Path, size: usize, before: &str, again: impl Fn(usize) -> String, after: &str) {
    let mut file = BufWriter::new(File::create(path).unwrap());
    file.write_all(before.as_bytes()).unwrap();
    let (mut written, mut number) = (before.len() + after.len(), 0);
    loop {
        let piece = again(number);
        (written, number) = (written + piece.len(), number + 1);
        if written > size {
            break;
        }
        file.write_all(piece.as_bytes()).unwrap();
    }
    file.write_all(after.as_bytes()).unwrap();
    file.flush().unwrap();
}

/// A demo project cut in two at a place, without what stood there.
fn around(at: &str) -> (String, String) {
    let text = write_text(&Project { notes: String::new(), ..demo("two-sprues-no-keys") });
    let (before, after) = text.split_once(at).unwrap_or_else(|| panic!("no {at}"));
    (before.to_owned(), after.to_owned())
}

#[test]
fn a_huge_file_is_refused_or_opened_in_bounded_time_and_memory() {
    let mb = std::env::var("KEEPSIDE_ABSURD").ok().and_then(|mb| mb.parse().ok()).unwrap_or(1_usize);
    let size = (mb << 20).min(MAX_BYTES as usize);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("absurd.keepside");
    let check = |what: &str, at: &str, again: &dyn Fn(usize) -> String, words: &[&str]| {
        let (before, after) = around(at);
        let (begin, end) =
            again(usize::MAX).split_once('@').map(|(a, b)| (a.to_owned(), b.to_owned())).unwrap();
        write(&path, size, &(before + &begin), again, &(end + &after));
        let Read { took, peak_mib, said } = read(&path);
        println!("{what}: {mb} MB read in {took:?}, {peak_mib:.0} MiB: {said:.200}");
        assert!(words.iter().all(|word| said.contains(word)), "{what}: {said:.2000}");
        assert!(said.len() < 1500, "{what}: {} bytes of message", said.len());
        // Generous: the machine may be doing other work.
        assert!(took < Duration::from_secs(5 + 4 * mb as u64), "{what}: {took:?}");
        assert!(peak_mib < 60.0 + 12.0 * mb as f64, "{what}: {peak_mib} MiB");
    };
    // What is repeated, and for the number beyond all what stands around it: begin @ end.
    let plain = |begin: &'static str, again: &'static str, end: &'static str| {
        move |number: usize| if number == usize::MAX { format!("{begin}@{end}") } else { again.to_owned() }
    };
    let line = "line ";
    let place = &[line, "column "];
    check("round brackets", "points: [", &plain("points: ", "(", ""), place);
    check("square brackets", "points: [", &plain("points: ", "[", ""), place);
    check("curly brackets", "points: [", &plain("points: ", "{", ""), place);
    check("options", "rib: None", &plain("rib: ", "Some(", ""), place);
    check("kept layouts in one another", "variants: []", &kept_in_one_another, place);
    check("an endless comment", "points: [", &plain("points: ", "/*", ""), &[line, "ends too early"]);
    check("comments", "points: [", &plain("points: ", "/**/", "["), &["opened"]);
    check("spaces", "points: [", &plain("points: ", "      \n", "["), &["opened"]);
    check("noughts", "points: [", &plain("points: ", "\0", "["), place);
    check(
        "a long text",
        "notes: \"\"",
        &plain("notes: \"", "remarks ", "\""),
        &["longer than 100000 characters"],
    );
    check("a text that does not end", "notes: \"\"", &plain("notes: \"", "remarks ", ""), place);
    check("a long field", "notes: \"\"", &plain("", "name", ": \"\""), &[line, "there is no field `name"]);
    check(
        "a long choice",
        "start: Round",
        &plain("start: ", "Oval", ""),
        &[line, "there is no choice `Oval"],
    );
    check("a long number", "moving_share: 0.5", &plain("moving_share: ", "9", ""), place);
    check("a long fraction", "moving_share: 0.5", &plain("moving_share: 0.5", "0", ""), &["opened"]);
    let point = "(at: (1.0, 2.0), width_mm: 6.0, depth_mm: 3.0, bulge: 0.0),\n";
    let words = [line, "column ", "there are more than 10000 points of channel runs"];
    check("points", "points: [", &plain("points: [", point, ""), &words);
    let words = [line, "there are more than 10000 trials"];
    check("trials", "trials: []", &plain("trials: [", "(name: \"\", shots: 3),", "]"), &words);
    let hole = |number: usize| match number {
        usize::MAX => "holes: {@".to_owned(),
        number => format!("{}:(name:\"\",purpose:Bolt,at:(1.0,1.0),diameter_mm:8.0),\n", 1000 + number),
    };
    check("holes", "holes: {", &hole, &[line, "there are more than 5000 items of one kind"]);
    let layout = write_text(&demo("two-sprues-no-keys"));
    let layout = layout.split_once("project: ").unwrap().1.trim_end().trim_end_matches(')').trim_end();
    let layout = layout.trim_end_matches(',').to_owned();
    let kept = move |number: usize| match number {
        usize::MAX => "variants: [@]".to_owned(),
        number => format!("(name: \"{number}\", layout: {layout}),"),
    };
    check(
        "kept layouts",
        "variants: []",
        &kept,
        &[if mb < 8 { "opened" } else { "more than 1000 kept layouts" }],
    );
}

fn kept_in_one_another(number: usize) -> String {
    match number {
        usize::MAX => "variants: @".to_owned(),
        _ => "[(name: \"\", layout: (variants: ".to_owned(),
    }
}

#[test]
fn what_is_larger_than_may_be_is_refused_unread() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("absurd.keepside");
    for size in [MAX_BYTES + 1, 200 << 20, 1 << 40] {
        // Sparse: takes no room on the disk.
        File::create(&path).unwrap().set_len(size).unwrap();
        let Read { took, peak_mib, said } = read(&path);
        assert!(said.contains("more than the 16777216 a project may have"), "{said}");
        assert!(took < Duration::from_secs(2) && peak_mib < 60.0, "{took:?}, {peak_mib} MiB");
        // Nor is it saved over.
        let error = save(&path, &demo("row-marker")).unwrap_err().to_string();
        assert!(error.contains("it is no project; save under another name"), "{error}");
        assert_eq!(fs::metadata(&path).unwrap().len(), size);
    }
}

#[test]
fn a_project_that_could_not_be_opened_again_is_not_saved() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("large.keepside");
    let mut project = demo("row-marker");
    let layout = Arc::new(project.clone());
    project.variants =
        (0..1000).map(|number| Variant { name: number.to_string(), layout: Arc::clone(&layout) }).collect();
    // As many layouts as may be, each with a name: just too much.
    let name = "x".repeat(1000);
    project.variants.iter_mut().for_each(|variant| variant.name += &name);
    let long = write_text(&project).len() as u64;
    let saved = save(&path, &project);
    if long > MAX_BYTES {
        let error = saved.unwrap_err().to_string();
        assert!(error.contains("that can be opened again; take kept layouts"), "{error}");
        assert!(!path.exists());
    } else {
        assert_eq!(load(&path).unwrap(), project);
    }
    project.variants.push(Variant { name, layout });
    let error = save(&path, &project).unwrap_err().to_string();
    assert!(error.contains("there are more than 1000 kept layouts"), "{error}");
}

/// Places of the numbers in a project's text, outside of texts.
fn numbers(text: &str) -> Vec<std::ops::Range<usize>> {
    let bytes = text.as_bytes();
    let (mut places, mut at, mut is_text) = (Vec::new(), 0, false);
    while at < bytes.len() {
        match bytes[at] {
            b'"' => is_text = !is_text,
            b'0'..=b'9' | b'-'
                if !is_text && !bytes[at - 1].is_ascii_alphanumeric() && bytes[at - 1] != b'_' =>
            {
                let end = at + bytes[at..].iter().position(|byte| !b"0123456789.-e_".contains(byte)).unwrap();
                places.push(at..end);
                at = end - 1;
            }
            _ => {}
        }
        at += 1;
    }
    places
}

/// Every number of a demo project, one after the other, as something that is none or absurd.
#[test]
fn an_absurd_number_anywhere_is_refused_at_its_place_or_read_as_it_stands() {
    let text = fs::read_to_string(demo_path("row-marker")).unwrap();
    let text = text.as_str();
    let places = numbers(text);
    assert!(places.len() > 250, "{} numbers", places.len());
    let (mut refused, mut opened) = (0, 0);
    for place in &places {
        let line = 1 + text[..place.start].matches('\n').count();
        for absurd in
            ["NaN", "inf", "-inf", "1e308", "-1e308", "1e999", "18446744073709551615", "-0.0", "5e-324"]
        {
            let wrong = format!("{}{absurd}{}", &text[..place.start], &text[place.end..]);
            match read_text(&wrong) {
                Err(error) => {
                    refused += 1;
                    let words = error.to_string();
                    assert_eq!(error.line, Some(line), "{absurd} in line {line}: {words}");
                    assert!(words.len() < 500, "{words}");
                }
                Ok(project) => {
                    opened += 1;
                    let is_harmless = ["-0.0", "5e-324"].contains(&absurd);
                    // Numbers of shots and seeds may be as large as they like, and be read as they stand.
                    assert!(
                        is_harmless,
                        "{absurd} in line {line} is taken: {}",
                        text.lines().nth(line - 1).unwrap()
                    );
                    assert_eq!(read_text(&write_text(&project)).unwrap(), project);
                }
            }
        }
    }
    println!("{} numbers: {refused} absurd ones refused, {opened} read", places.len());
    assert!(refused > 6 * places.len() && opened > 20, "{refused} refused, {opened} opened");
}

/// One bit of one byte exchanged, at every place of a file.
#[test]
fn a_byte_changed_anywhere_is_refused_with_words_or_read_as_a_project() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("changed.keepside");
    let bytes = fs::read(demo_path("two-sprues-no-keys")).unwrap();
    let (mut refused, mut opened) = (0, 0);
    for at in 0..bytes.len() {
        let mut wrong = bytes.clone();
        wrong[at] ^= 1 << (at % 8);
        fs::write(&path, &wrong).unwrap();
        match load(&path) {
            Ok(project) => {
                assert_eq!(project.check(), Ok(()));
                opened += 1;
            }
            Err(error) => {
                let words = error.to_string();
                let has_place = words.starts_with("line ");
                let in_header = at < "(\n    format: 1".len();
                assert!(has_place || in_header || words.contains("used twice"), "byte {at}: {words}");
                refused += 1;
            }
        }
    }
    println!("{} bytes: {refused} changes refused, {opened} read", bytes.len());
    assert!(refused > opened && opened > 300);
}

#[test]
fn an_item_number_beyond_all_is_refused_and_the_largest_leaves_room() {
    let text = write_text(&demo("row-marker"));
    let with = |number: &str| read_text(&text.replacen("12: (", &format!("{number}: ("), 1));
    for number in ["18446744073709551615", "4294967296"] {
        let error = with(number).unwrap_err().to_string();
        assert!(error.contains("a whole number from 0 to 4294967295 belongs here"), "{error}");
    }
    for number in ["4294967295", "1000000001"] {
        let error = with(number).unwrap_err().to_string();
        assert!(
            error.starts_with("line ") && error.contains("is too large; give it one up to 1000000000"),
            "{error}"
        );
    }
    let mut project = with("1000000000").unwrap();
    assert_eq!(project.free_id(), Id(12), "the lowest that is free");
    let note = Item::Note(Note { text: String::new(), at: glam::DVec2::ZERO });
    project.apply(&Edit::Add(project.free_id(), note)).unwrap();
    let note = project.item(Id(12)).unwrap();
    let refused = project.apply(&Edit::Add(Id(1_000_000_001), note)).unwrap_err().to_string();
    assert!(refused.contains("is too large"), "{refused}");
}

#[test]
fn text_of_other_systems_is_told_apart_from_damage() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.keepside");
    let project = demo("drip-peg");
    let text = write_text(&project);
    for good in [text.replace('\n', "\r\n"), format!("\u{feff}{text}"), text.replace("    ", "\t")] {
        fs::write(&path, good).unwrap();
        assert_eq!(load(&path).unwrap(), project);
    }
    // UTF-16, Latin-1, and a text cut in a letter: the line is told.
    let utf_16: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    fs::write(&path, [&[0xff, 0xfe], utf_16.as_slice()].concat()).unwrap();
    let error = load(&path).unwrap_err().to_string();
    assert!(error.contains("line 1: the file holds bytes that are not UTF-8 text"), "{error}");
    for bytes in [&b"\xe4"[..], &b"\xc3"[..], &b"\xf0\x9f\x94"[..], &b"\xed\xa0\x80"[..]] {
        let place = text.find("notes: \"").unwrap() + "notes: \"".len();
        fs::write(&path, [&text.as_bytes()[..place], bytes, &text.as_bytes()[place..]].concat()).unwrap();
        let error = load(&path).unwrap_err().to_string();
        assert!(error.contains("line 6: the file holds bytes that are not UTF-8 text"), "{error}");
    }
}
