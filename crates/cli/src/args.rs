//! Arguments: a few commands and a handful of options.

mod import;
mod shots;

use std::ffi::{OsStr, OsString};
use std::path::PathBuf;

use keepside_sheet::Output;

pub(crate) use import::Import;
pub(crate) use shots::Shots;

const HELP: &str = "\
keepside-cli checks a mould project and prints its drilling sheets, without a window.

Usage
  keepside-cli check PROJECT [--json]
      Opens the mould on paper: which half keeps the part, by what margin, what every hold did,
      what stays bent, how the ejectors push it off, and every finding. --json writes all of it
      as JSON, which the handbook describes (json.md).
  keepside-cli sheet PROJECT --out DIR [--only KIND,KIND]
      Writes what is needed at the bench into DIR, replacing what was written there before: the
      drilling sheet (PDF, exact scale) and a hole table (CSV) of each half. Faults of the drawing
      are listed. --only names what is wanted:
      {KINDS}.
  keepside-cli import DRAWING --depth MM [--width MM] [--as centre-lines|outlines]
               [--layer NAME]... [--scale FACTOR] --out NEW.keepside
      Makes a new project of a DXF or SVG drawing. Its lines are the middle of a channel of the
      given width; or, as outlines, the edge of a strip all round, whose middle and width are
      found. What is left out is listed.
  keepside-cli chances PROJECT [--json]
      Shoots the layout many times, with what scatters from shot to shot and what nobody knows:
      how many shots end well, how the others end, and which input decides.
  keepside-cli suggest PROJECT [--json] [--out NEW.keepside]
               [--good PERCENT [--flat MM] [--most PINS]]
      Single changes, that which gains most first. With --good: the layout with the fewest holes
      that reaches so many good shots and that flatness, of the screws on hand. --out writes the
      best as a new project.
  keepside-cli learn PROJECT [--json] [--next] [--out NEW.keepside]
      What the trial log of the project tells about what nobody knew, and every trial replayed.
      --next tells which trial would teach most. --out writes a project that has taken it in.
  keepside-cli learn PROJECT --from OTHER.keepside --out NEW.keepside
      Takes in what was learned in another project, with the same press and material.
  keepside-cli --help
  keepside-cli --version

Many shots: --sets N of medians that nobody knows, --shots N of each, --seed N, --threads N. The
same seed gives the same answer on any number of threads.

PROJECT is a .keepside file. A name that begins with a hyphen goes after a lone --.

Exit code
  0   computed, and all is well: the part stays whole on the moving half, comes off it unharmed,
      and no finding is a fault
      (for sheet: written, and the drawing has no fault; for import: every line became a run;
      for chances, suggest and learn: computed; for suggest --good: and the target is reached)
  1   computed, and something is wrong with the layout
  2   could not compute or write: bad arguments, unreadable file, unsupported layout
";

/// What `--help` prints.
pub(crate) fn help() -> String {
    HELP.replace("{KINDS}", &kinds())
}

/// The words that `--only` takes.
fn kinds() -> String {
    Output::ALL.map(Output::key).join(", ")
}

/// What to do.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Command {
    Help,
    Version,
    Check { project: PathBuf, json: bool },
    Sheet { project: PathBuf, folder: PathBuf, outputs: Vec<Output> },
    Import(Import),
    Chances(Shots),
    Suggest(Shots),
    Learn(Shots),
}

/// Arguments that make no command.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum ArgsError {
    NoCommand,
    NoSuchCommand(OsString),
    NoSuchOption(OsString),
    NoProject,
    NoFolder,
    NoSuchKind(String),
    NoDrawing,
    NoNewFile,
    NoNumber(&'static str, String),
    NotInRange { option: &'static str, text: String, least: f64, most: f64 },
    NoSuchReading(OsString),
    TooMany(OsString),
}

impl std::fmt::Display for ArgsError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoCommand => f.write_str("no command"),
            Self::NoSuchCommand(word) => {
                write!(
                    f,
                    "there is no command {}; use check, sheet, import, chances, suggest or learn",
                    word.display()
                )
            }
            Self::NoSuchOption(word) => write!(f, "there is no option {} here", word.display()),
            Self::NoProject => f.write_str("no project; name a .keepside file"),
            Self::NoFolder => f.write_str("no folder for the sheets; add --out DIR"),
            Self::NoSuchKind(word) => write!(f, "nothing is called {word:?}; --only takes {}", kinds()),
            Self::NoDrawing => f.write_str("no drawing; name a .dxf or .svg file"),
            Self::NoNewFile => f.write_str("no name for the project; add --out NEW.keepside"),
            Self::NoNumber(option, text) => {
                write!(f, "{option} needs a number, not {text:?}; a length is in mm")
            }
            Self::NotInRange { option, text, least, most } => {
                write!(f, "{option} needs a number from {least} to {most}, not {text:?}")
            }
            Self::NoSuchReading(word) => {
                write!(f, "--as takes centre-lines or outlines, not {}", word.display())
            }
            Self::TooMany(word) => {
                write!(f, "one file at a time; {} is one too many", word.display())
            }
        }?;
        f.write_str("\nsee keepside-cli --help")
    }
}

impl std::error::Error for ArgsError {}

pub(crate) fn parse(args: &[OsString]) -> Result<Command, ArgsError> {
    let command = args.first().ok_or(ArgsError::NoCommand)?;
    let rest = Rest::read(args.get(1..).unwrap_or_default(), command == "sheet");
    match command.to_str() {
        Some("--help" | "-h" | "help") => return Ok(Command::Help),
        Some("--version" | "-V") => return Ok(Command::Version),
        Some("import") => {
            let rest = args.get(1..).unwrap_or_default();
            return Ok(import::parse(rest)?.map_or(Command::Help, Command::Import));
        }
        Some(word @ ("chances" | "suggest" | "learn")) => {
            let Some(of) = shots::parse(word, args.get(1..).unwrap_or_default())? else {
                return Ok(Command::Help);
            };
            return Ok(match word {
                "chances" => Command::Chances(of),
                "suggest" => Command::Suggest(of),
                _ => Command::Learn(of),
            });
        }
        Some("check" | "sheet") => {}
        Some(word) if word.starts_with('-') => return Err(ArgsError::NoSuchOption(command.clone())),
        _ => return Err(ArgsError::NoSuchCommand(command.clone())),
    }
    let Rest { projects, json, folder, only, help, unknown } = rest;
    if help {
        return Ok(Command::Help);
    }
    if let Some(option) = unknown {
        return Err(ArgsError::NoSuchOption(option));
    }
    let mut projects = projects.into_iter();
    let project = PathBuf::from(projects.next().ok_or(ArgsError::NoProject)?);
    if let Some(more) = projects.next() {
        return Err(ArgsError::TooMany(more));
    }
    if command == "check" {
        return Ok(Command::Check { project, json });
    }
    let folder = folder.filter(|folder| !folder.is_empty()).ok_or(ArgsError::NoFolder)?;
    let outputs = only.map_or_else(
        || Ok(Output::ALL.into_iter().filter(|output| output.is_usual()).collect()),
        |only| outputs(&only.to_string_lossy()),
    )?;
    Ok(Command::Sheet { project, folder: folder.into(), outputs })
}

fn outputs(only: &str) -> Result<Vec<Output>, ArgsError> {
    let of = |word: &str| Output::of_key(word).ok_or_else(|| ArgsError::NoSuchKind(word.to_owned()));
    only.split(',').map(str::trim).map(of).collect()
}

/// What follows the command.
#[derive(Default)]
struct Rest {
    projects: Vec<OsString>,
    json: bool,
    folder: Option<OsString>,
    only: Option<OsString>,
    help: bool,
    unknown: Option<OsString>,
}

impl Rest {
    fn read(args: &[OsString], is_sheet: bool) -> Self {
        let mut rest = Self::default();
        let mut args = args.iter();
        while let Some(arg) = args.next() {
            match arg.to_str() {
                Some("--") => rest.projects.extend(args.by_ref().cloned()),
                Some("--help" | "-h") => rest.help = true,
                Some("--json") if !is_sheet => rest.json = true,
                Some("--out") if is_sheet => rest.folder = args.next().cloned(),
                Some(text) if is_sheet && text.starts_with("--out=") => {
                    rest.folder = text.strip_prefix("--out=").map(OsString::from);
                }
                Some("--only") if is_sheet => rest.only = Some(args.next().cloned().unwrap_or_default()),
                Some(text) if is_sheet && text.starts_with("--only=") => {
                    rest.only = text.strip_prefix("--only=").map(OsString::from);
                }
                _ if begins_with_hyphen(arg) => {
                    rest.unknown.get_or_insert_with(|| arg.clone());
                }
                _ => rest.projects.push(arg.clone()),
            }
        }
        rest
    }
}

/// An option and the value after its `=`, if it has one.
fn option_and_value(text: &str) -> (&str, Option<OsString>) {
    match text.split_once('=') {
        Some((option, value)) if option.starts_with("--") => (option, Some(OsString::from(value))),
        _ => (text, None),
    }
}

fn begins_with_hyphen(arg: &OsStr) -> bool {
    arg.as_encoded_bytes().starts_with(b"-")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(line: &str) -> Result<Command, ArgsError> {
        parse(&line.split_whitespace().map(OsString::from).collect::<Vec<_>>())
    }

    #[test]
    fn options_may_stand_before_and_after_the_project() {
        let check = |json| Ok(Command::Check { project: "a.keepside".into(), json });
        assert_eq!(of("check a.keepside"), check(false));
        assert_eq!(of("check a.keepside --json"), check(true));
        assert_eq!(of("check --json a.keepside"), check(true));
        let sheet = |outputs| Ok(Command::Sheet { project: "a".into(), folder: "b".into(), outputs });
        for line in ["sheet a --out b", "sheet --out b a", "sheet --out=b a"] {
            let usual = Output::ALL.into_iter().filter(|output| output.is_usual()).collect();
            assert_eq!(of(line), sheet(usual), "{line}");
        }
        for line in ["sheet a --out b --only holes,drilling", "sheet --only=holes,drilling --out b a"] {
            assert_eq!(of(line), sheet(vec![Output::HoleTables, Output::DrillingSheet]), "{line}");
        }
        let hyphen = Command::Check { project: "-a".into(), json: true };
        assert_eq!(of("check --json -- -a"), Ok(hyphen));
    }

    #[test]
    fn a_drawing_is_imported_with_its_width_depth_and_layers() {
        let Ok(Command::Import(import)) =
            of("import a.dxf --width=5,5 --depth 2 --layer A --layer B --out b")
        else {
            panic!("an import")
        };
        assert_eq!((import.drawing, import.out), ("a.dxf".into(), "b".into()));
        assert_eq!((import.choice.width_mm, import.choice.depth_mm), (5.5, 2.0));
        assert_eq!(import.choice.layers, ["A", "B"]);
        assert!(matches!(of("import a --depth 2 --as outlines --out b"), Ok(Command::Import(_))));
        assert_eq!(of("import --help"), Ok(Command::Help));
        for (line, error) in [
            ("import", ArgsError::NoDrawing),
            ("import a --width 5 --out b", ArgsError::NoNumber("--depth", String::new())),
            ("import a --depth 5 --out b", ArgsError::NoNumber("--width", String::new())),
            ("import a --depth deep", ArgsError::NoNumber("--depth", "deep".to_owned())),
            ("import a --width 5 --depth 5", ArgsError::NoNewFile),
            ("import a --as holes", ArgsError::NoSuchReading("holes".into())),
            ("import a c --width 5 --depth 5 --out b", ArgsError::TooMany("c".into())),
            ("import a --json", ArgsError::NoSuchOption("--json".into())),
        ] {
            assert_eq!(of(line), Err(error), "{line}");
        }
    }

    #[test]
    fn many_shots_take_numbers_in_their_range() {
        let Ok(Command::Suggest(shots)) =
            of("suggest a --good 95,5 --flat=0.4 --most 3 --seed 7 --out b --json")
        else {
            panic!("a search")
        };
        assert_eq!((shots.good, shots.flat_mm, shots.most, shots.seed), (Some(0.955), Some(0.4), 3, 7));
        assert_eq!((shots.out, shots.json), (Some("b".into()), true));
        let Ok(Command::Learn(shots)) = of("learn a --next --sets 20 --shots 3 --threads 2") else {
            panic!("learning")
        };
        assert_eq!((shots.sets, shots.each, shots.threads, shots.next), (Some(20), Some(3), Some(2), true));
        assert_eq!(of("chances a --help"), Ok(Command::Help));
        for (line, told) in [
            ("chances a --sets 0", "--sets needs a number from 1 to 1000000, not \"0\""),
            ("chances a --shots 1.5", "--shots needs a number from 1 to 1000000, not \"1.5\""),
            ("suggest a --good 101", "--good needs a number from 0 to 100, not \"101\""),
            ("chances a --good 5", "there is no option --good here"),
            ("learn a --from b", "no name for the project; add --out NEW.keepside"),
            ("learn", "no project; name a .keepside file"),
        ] {
            assert!(of(line).unwrap_err().to_string().starts_with(told), "{line}");
        }
    }

    #[test]
    fn help_is_given_wherever_it_is_asked_for() {
        for line in ["--help", "-h", "help", "check --help", "sheet a -h"] {
            assert_eq!(of(line), Ok(Command::Help), "{line}");
        }
        assert_eq!(of("--version"), Ok(Command::Version));
        assert!(help().lines().all(|line| line.chars().count() <= 100));
    }

    #[test]
    fn what_makes_no_command_says_why() {
        for (line, error) in [
            ("", ArgsError::NoCommand),
            ("weigh a", ArgsError::NoSuchCommand("weigh".into())),
            ("--loud", ArgsError::NoSuchOption("--loud".into())),
            ("check", ArgsError::NoProject),
            ("check a --out b", ArgsError::NoSuchOption("--out".into())),
            ("check a b", ArgsError::TooMany("b".into())),
            ("sheet a", ArgsError::NoFolder),
            ("sheet a --out", ArgsError::NoFolder),
            ("sheet a --out=", ArgsError::NoFolder),
            ("sheet a --out b --only plan", ArgsError::NoSuchKind("plan".into())),
            ("sheet a --out b --only", ArgsError::NoSuchKind(String::new())),
            ("sheet a --json --out b", ArgsError::NoSuchOption("--json".into())),
        ] {
            assert_eq!(of(line), Err(error), "{line}");
        }
    }
}
