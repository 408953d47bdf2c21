//! The handbook: links and pictures are there, and what it says of a project is what is computed.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use std::collections::BTreeSet;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};

use keepside_model::{Id, Project};
use serde_json::Value;

const BOOK: &str = "../assets/handbook";

/// Every page of the handbook, with its text.
fn pages() -> Vec<(PathBuf, String)> {
    let files = fs::read_dir(BOOK).unwrap().map(|entry| entry.unwrap().path());
    let pages = files.filter(|path| path.extension().is_some_and(|ending| ending == "md"));
    let pages: Vec<_> = pages.map(|path| (path.clone(), fs::read_to_string(path).unwrap())).collect();
    assert!(pages.len() > 5, "only {} pages", pages.len());
    pages
}

/// What a page links to, outside the net: the path, and what stands behind a # if anything does.
fn links(text: &str) -> Vec<(&str, Option<&str>)> {
    let targets = text.split("](").skip(1).filter_map(|rest| rest.split(')').next());
    let inside = targets.filter(|target| !target.starts_with("http"));
    inside
        .map(|target| target.split_once('#').map_or((target, None), |(path, part)| (path, Some(part))))
        .collect()
}

/// The names by which the headings of a page are linked to.
fn anchors(text: &str) -> BTreeSet<String> {
    let headings =
        text.lines().filter(|line| line.starts_with('#')).map(|line| line.trim_start_matches('#').trim());
    let anchor = |heading: &str| {
        let kept = heading.chars().filter(|c| c.is_alphanumeric() || " -_".contains(*c));
        kept.collect::<String>().to_lowercase().replace(' ', "-")
    };
    headings.map(anchor).collect()
}

#[test]
fn every_link_of_the_handbook_leads_somewhere() {
    for (page, text) in pages() {
        for (path, part) in links(&text) {
            // It goes into the package without what is around it.
            assert!(!path.contains(".."), "{}: {path} leads out of the handbook", page.display());
            let target = if path.is_empty() { page.clone() } else { Path::new(BOOK).join(path) };
            assert!(target.exists(), "{}: {path} is not there", page.display());
            if let Some(part) = part {
                let there = anchors(&fs::read_to_string(&target).unwrap());
                assert!(there.contains(part), "{}: {path} has no heading {part}: {there:?}", page.display());
            }
        }
    }
}

#[test]
fn every_page_is_in_the_list_of_pages() {
    let list = fs::read_to_string(Path::new(BOOK).join("README.md")).unwrap();
    let listed: BTreeSet<&str> = links(&list).into_iter().map(|(path, _)| path).collect();
    for (page, _) in pages() {
        let name = page.file_name().unwrap().to_str().unwrap();
        assert!(name == "README.md" || listed.contains(name), "{name} is not in the list of pages");
    }
}

#[test]
fn every_picture_is_used_and_small() {
    let used: BTreeSet<String> =
        pages().iter().flat_map(|(_, text)| links(text)).map(|(path, _)| path.to_owned()).collect();
    let mut total = 0;
    for entry in fs::read_dir(Path::new(BOOK).join("pictures")).unwrap() {
        let entry = entry.unwrap();
        let name = format!("pictures/{}", entry.file_name().to_str().unwrap());
        let bytes = entry.metadata().unwrap().len();
        assert!(used.contains(&name), "{name} is on no page");
        assert!(bytes < 150_000, "{name} has {bytes} bytes");
        total += bytes;
    }
    assert!((1..3_000_000).contains(&total), "the pictures have {total} bytes");
}

/// Rows of two columns of the table behind a heading.
fn rows<'a>(text: &'a str, heading: &str) -> Vec<(&'a str, &'a str)> {
    let (_, behind) = text.split_once(heading).unwrap();
    let table =
        behind.lines().skip_while(|line| !line.starts_with('|')).take_while(|line| line.starts_with('|'));
    let cells = table.skip(2).map(|line| line.trim_matches('|').split_once('|').unwrap());
    cells.map(|(name, value)| (name.trim(), value.trim())).collect()
}

fn checked(project: &Project) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("project.keepside");
    fs::write(&file, keepside_store::write_text(project)).unwrap();
    let arguments = [OsString::from("check"), file.into(), OsString::from("--json")];
    let (mut out, mut err) = (Vec::new(), Vec::new());
    keepside_cli::run(arguments, &mut out, &mut err);
    serde_json::from_slice(&out).unwrap()
}

#[test]
fn the_first_evening_ends_with_what_it_says() {
    let file = Path::new(BOOK).join("first-evening.keepside");
    let text = fs::read_to_string(&file).unwrap();
    let project = keepside_store::read_text(&text).unwrap();
    assert_eq!(keepside_store::write_text(&project), text, "it is kept as the program writes it");
    let found = checked(&project);
    let bare = Project {
        features: Default::default(),
        ejectors: Default::default(),
        vents: Default::default(),
        ..project.clone()
    };
    let number =
        |at: &str, digits: usize| format!("{:.digits$}", found.pointer(at).unwrap().as_f64().unwrap());
    let words = |found: &Value| found.pointer("/verdict/words").unwrap().as_str().unwrap().to_owned();
    let page = fs::read_to_string(Path::new(BOOK).join("first-evening.md")).unwrap();
    let said = rows(&page, "## The numbers of this project");
    let computed = [
        ("without pins, ejectors and vents", words(&checked(&bare))),
        ("as saved", words(&found)),
        ("margin", number("/margin/factor", 2)),
        ("findings", found["findings"].as_array().unwrap().len().to_string()),
        ("fills in, s", number("/shot/filling/fill_time_s", 2)),
        ("highest pressure, MPa", number("/shot/filling/peak_pressure_mpa", 1)),
        ("mass of a shot, g", number("/shot/press/mass_g", 2)),
    ];
    let computed: Vec<(&str, &str)> = computed.iter().map(|(name, value)| (*name, value.as_str())).collect();
    assert_eq!(said, computed);
    // The places that the text tells of.
    let places = |items: Vec<glam::DVec2>| items.into_iter().map(|at| (at.x, at.y)).collect::<Vec<_>>();
    let on_line = |xs: &[f64]| xs.iter().map(|x| (*x, 50.0)).collect::<Vec<_>>();
    assert_eq!(places(project.sprues.values().map(|item| item.at).collect()), on_line(&[70.0, 130.0]));
    assert_eq!(places(project.features.values().map(|item| item.at).collect()), on_line(&[58.0, 142.0]));
    assert_eq!(
        places(project.ejectors.values().map(|item| item.at).collect()),
        on_line(&[51.0, 64.5, 135.5, 149.0])
    );
    assert_eq!(project.vents.len(), 3);
    assert_eq!(project.kind(Id(1)), None, "the run of the blank project is gone");
}

#[test]
fn the_page_on_the_file_names_every_field() {
    let page = fs::read_to_string(Path::new(BOOK).join("file-format.md")).unwrap();
    let mut fields = 0;
    let mut folders = vec![PathBuf::from("../crates/model/src")];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            for (name, field) in written_fields(&fs::read_to_string(&path).unwrap()) {
                // What is kept beside projects is no part of a project.
                assert!(
                    name == "Calibration" || page.contains(&format!("`{field}`")),
                    "{name}: {field} is not told"
                );
                fields += 1;
            }
        }
    }
    assert!(fields > 150, "only {fields} fields were found");
}

/// The public fields of every struct that is written to files, with the name of the struct.
fn written_fields(source: &str) -> Vec<(String, String)> {
    let mut fields = Vec::new();
    let (mut derives, mut inside) = (false, None);
    for line in source.lines() {
        if line.starts_with("#[derive(") {
            derives = line.contains("Serialize");
        } else if let Some(name) = line.strip_prefix("pub struct ") {
            // One whose fields have no names ends on this line.
            inside = name.strip_suffix(" {").filter(|_| derives).map(str::to_owned);
        } else if line.starts_with('}') {
            (derives, inside) = (false, None);
        } else if let (Some(name), Some((field, _))) =
            (&inside, line.strip_prefix("    pub ").and_then(|rest| rest.split_once(':')))
        {
            fields.push((name.clone(), field.to_owned()));
        }
    }
    fields
}

#[test]
fn the_example_of_a_file_can_be_opened() {
    let page = fs::read_to_string(Path::new(BOOK).join("file-format.md")).unwrap();
    let (_, behind) = page.split_once("## An example").unwrap();
    let example = behind.split("```").nth(1).unwrap().trim_start_matches("ron\n");
    let project = keepside_store::read_text(example).unwrap();
    assert_eq!(project.check(), Ok(()));
    assert_eq!((project.sprues.len(), project.features.len()), (1, 1));
}
