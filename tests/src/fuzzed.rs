//! What must hold of any input whatever: shared by the fuzz targets and the test that replays what they found.

use std::thread;
use std::time::Duration;

use keepside_engine::{Cancel, analyse};
use keepside_model::Project;
use keepside_sheet::import::{self, Choice, ReadAs};
use keepside_store::{read_text, write_text};

use crate::projects::random_project;

/// How long an opening run may go on before it is told to stop.
const PATIENCE: Duration = Duration::from_millis(150);

/// Most characters of a message that anybody reads.
const MOST_WORDS: usize = 2000;

/// A text that may be a project: either it is refused with words, or what it holds is permitted and comes back
/// the same when written and read.
pub fn project(bytes: &[u8]) -> Option<Project> {
    let text = std::str::from_utf8(bytes).ok()?;
    match read_text(text) {
        Err(error) => {
            let words = error.to_string();
            assert!(!words.is_empty() && words.chars().count() < MOST_WORDS, "{words}");
            let lines = 1 + text.matches('\n').count();
            assert!(error.line.is_none_or(|line| (1..=lines).contains(&line)), "{words}: {lines} lines");
            None
        }
        Ok(project) => {
            assert_comes_back(&project);
            Some(project)
        }
    }
}

/// A permitted project comes back the same when written and read.
fn assert_comes_back(project: &Project) {
    assert_eq!(project.check(), Ok(()));
    let text = write_text(project);
    let again = read_text(&text).unwrap_or_else(|error| panic!("{error}\n{text}"));
    assert!(again == *project && write_text(&again) == text, "another project comes back of\n{text}");
}

/// Whether a project can be computed a thousand times in a day.
pub fn is_small(project: &Project) -> bool {
    let points: usize = project.part.runs.values().map(|run| run.points.len()).sum();
    points <= 120 && project.ids().len() <= 120 && project.variants.len() <= 4
}

/// Computes a project, and stops soon: what is to be seen is that nothing fails.
pub fn engine(project: &Project) {
    let cancel = Cancel::default();
    thread::scope(|scope| {
        let watch = scope.spawn(|| {
            thread::park_timeout(PATIENCE);
            cancel.cancel();
        });
        let analysis = analyse(project, &cancel, &mut |_| {});
        watch.thread().unpark();
        // A cure is an edit that can be done.
        for finding in &analysis.findings {
            assert!(!finding.message.is_empty());
            if let Some(edit) = &finding.cure_edit {
                let cured = project.clone().apply(edit);
                assert_eq!(cured, Ok(()), "the cure of: {}", finding.message);
            }
        }
    });
}

/// A project of any permitted numbers, which the bytes choose.
pub fn numbers(bytes: &[u8]) {
    let words: Vec<u64> = bytes
        .chunks(8)
        .map(|chunk| chunk.iter().fold(0, |word, byte| word << 8 | u64::from(*byte)))
        .take(200)
        .collect();
    if words.is_empty() {
        return;
    }
    let names = ["", "a \"name\"\n\\", "größe 10 µm"].map(str::to_owned);
    let project = random_project(&words, &names);
    assert_comes_back(&project);
    engine(&project);
}

/// A file that may be a drawing: refused with words, or read and made into runs that are permitted.
pub fn drawing(bytes: &[u8]) {
    let begins = bytes.iter().find(|byte| !byte.is_ascii_whitespace());
    let read = if begins == Some(&b'<') { import::svg(bytes) } else { import::dxf(bytes) };
    let drawing = match read {
        Ok(drawing) => drawing,
        Err(error) => {
            assert!(!error.to_string().is_empty());
            return;
        }
    };
    for read_as in [ReadAs::CentreLines, ReadAs::Outlines] {
        let choice = Choice { read_as, ..Choice::default() };
        let Ok(made) = drawing.runs(&choice) else { continue };
        let mut project = Project::blank();
        project.part.runs = (1..).map(keepside_model::Id).zip(made.runs).collect();
        assert_eq!(project.check(), Ok(()));
    }
}

/// What is put in the place of a number or word of a project file: ends of ranges, and what is no number.
const WORDS: [&str; 40] = [
    "0.0",
    "-0.0",
    "1.0",
    "-1.0",
    "0.5",
    "1e-300",
    "5e-324",
    "1e308",
    "1e999",
    "NaN",
    "inf",
    "-inf",
    "0.1",
    "0.2",
    "0.3",
    "2.0",
    "5.0",
    "10.0",
    "45.0",
    "90.0",
    "100.0",
    "200.0",
    "500.0",
    "1000.0",
    "2000.0",
    "5000.0",
    "-5000.0",
    "5000.1",
    "4294967295",
    "4294967296",
    "1",
    "2",
    "7",
    "true",
    "None",
    "Some(1.0)",
    "\"\"",
    "Moving",
    "Fixed",
    "()",
];

/// Exchanges one number or word of a text in place for another, or a digit of it: most texts stay projects
/// by it. Every other time nothing is done, and something else may be.
pub fn exchange_word(data: &mut [u8], size: usize, max_size: usize, seed: u32) -> Option<usize> {
    let mut state = u64::from(seed);
    let mut below = |count: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % count.max(1)
    };
    if size == 0 || below(4) == 0 {
        return None;
    }
    let is_word = |byte: &u8| byte.is_ascii_alphanumeric() || b"._-+\"".contains(byte);
    // A value comes after a colon, a comma or a bracket; names of fields are passed over.
    let places: Vec<usize> = (1..size)
        .filter(|&at| is_word(&data[at]) && !is_word(&data[at - 1]))
        .filter(|&at| {
            let end =
                data[at..size].iter().position(|byte| !is_word(byte)).map_or(size, |length| at + length);
            data[at].is_ascii_digit() || b"-+\"".contains(&data[at]) || data.get(end) != Some(&b':')
        })
        .collect();
    if places.is_empty() {
        return None;
    }
    let at = places[below(places.len())];
    let end = data[at..size].iter().position(|byte| !is_word(byte)).map_or(size, |length| at + length);
    let old = data[at..end].to_vec();
    let new = match below(4) {
        0 | 1 => WORDS[below(WORDS.len())].as_bytes().to_vec(),
        // Another value of the same text.
        2 => {
            let from = places[below(places.len())];
            let length = data[from..size].iter().position(|byte| !is_word(byte)).unwrap_or(size - from);
            data[from..from + length].to_vec()
        }
        _ => {
            let mut new = old.clone();
            let digit = below(new.len());
            new[digit] = if new[digit].is_ascii_digit() { b"0123456789"[below(10)] } else { new[digit] };
            new
        }
    };
    let new_size = size - old.len() + new.len();
    if new_size > max_size.min(data.len()) {
        return None;
    }
    data.copy_within(end..size, at + new.len());
    data[at..at + new.len()].copy_from_slice(&new);
    Some(new_size)
}
