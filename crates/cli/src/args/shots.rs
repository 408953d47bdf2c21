//! Arguments of the commands that shoot a layout many times.

use std::ffi::OsString;
use std::path::PathBuf;

use super::{ArgsError, begins_with_hyphen, option_and_value};

/// What is asked of many shots.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Shots {
    pub(crate) project: PathBuf,
    pub(crate) json: bool,
    pub(crate) seed: u64,
    /// Sets of medians, shots of each, threads; `None` for the usual number.
    pub(crate) sets: Option<usize>,
    pub(crate) each: Option<usize>,
    pub(crate) threads: Option<usize>,
    /// A new project to be written.
    pub(crate) out: Option<PathBuf>,
    /// Of `suggest`: the share of good shots to be reached, the flatness, mm, and the most pins.
    pub(crate) good: Option<f64>,
    pub(crate) flat_mm: Option<f64>,
    pub(crate) most: usize,
    /// Of `learn`: whether the next trial is advised, and the project to take values from.
    pub(crate) next: bool,
    pub(crate) from: Option<PathBuf>,
}

/// Most shots of one command: hours.
const MOST: f64 = 1e6;

/// The arguments after the command; `None` if help is asked for.
pub(super) fn parse(command: &str, args: &[OsString]) -> Result<Option<Shots>, ArgsError> {
    let mut projects = Vec::new();
    let mut shots = Shots {
        project: PathBuf::new(),
        json: false,
        seed: 1,
        sets: None,
        each: None,
        threads: None,
        out: None,
        good: None,
        flat_mm: None,
        most: 8,
        next: false,
        from: None,
    };
    let (suggests, learns) = (command == "suggest", command == "learn");
    let mut args = args.iter();
    while let Some(arg) = args.next() {
        let text = arg.to_string_lossy();
        let (option, given) = option_and_value(&text);
        let mut value = || given.clone().or_else(|| args.next().cloned()).unwrap_or_default();
        match option {
            "--help" | "-h" => return Ok(None),
            "--json" => shots.json = true,
            "--seed" => shots.seed = whole("--seed", &value(), 0.0)? as u64,
            "--sets" => shots.sets = Some(whole("--sets", &value(), 1.0)?),
            "--shots" => shots.each = Some(whole("--shots", &value(), 1.0)?),
            "--threads" => shots.threads = Some(whole("--threads", &value(), 1.0)?),
            "--out" if suggests || learns => shots.out = Some(value().into()),
            "--good" if suggests => shots.good = Some(number("--good", &value(), 0.0, 100.0)? / 100.0),
            "--flat" if suggests => shots.flat_mm = Some(number("--flat", &value(), 0.0, 1000.0)?),
            "--most" if suggests => shots.most = whole("--most", &value(), 0.0)?,
            "--next" if learns => shots.next = true,
            "--from" if learns => shots.from = Some(value().into()),
            "--" => projects.extend(args.by_ref().cloned()),
            _ if begins_with_hyphen(arg) => return Err(ArgsError::NoSuchOption(arg.clone())),
            _ => projects.push(arg.clone()),
        }
    }
    let mut projects = projects.into_iter();
    shots.project = projects.next().ok_or(ArgsError::NoProject)?.into();
    if let Some(more) = projects.next() {
        return Err(ArgsError::TooMany(more));
    }
    if shots.out.as_ref().is_some_and(|out| out.as_os_str().is_empty()) {
        return Err(ArgsError::NoNewFile);
    }
    if shots.from.is_some() && shots.out.is_none() {
        return Err(ArgsError::NoNewFile);
    }
    Ok(Some(shots))
}

fn number(option: &'static str, text: &OsString, least: f64, most: f64) -> Result<f64, ArgsError> {
    let text = text.to_string_lossy();
    let wrong = || ArgsError::NotInRange { option, text: text.clone().into_owned(), least, most };
    let value: Result<f64, _> = text.replace(',', ".").trim().parse();
    value.ok().filter(|value| (least..=most).contains(value)).ok_or_else(wrong)
}

fn whole(option: &'static str, text: &OsString, least: f64) -> Result<usize, ArgsError> {
    let value = number(option, text, least, MOST)?;
    if value.fract() != 0.0 {
        let text = text.to_string_lossy().into_owned();
        return Err(ArgsError::NotInRange { option, text, least, most: MOST });
    }
    Ok(value as usize)
}
