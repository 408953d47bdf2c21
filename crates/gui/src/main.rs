//! The editor's program: reads its arguments and opens the window.

use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Instant;

use keepside_app::{Start, Wanted, open_window};

const HELP: &str = "\
Keepside: lays out what keeps a moulding on the moving half.

usage: keepside [PROJECT]

  PROJECT               project file to open; the demo project without one
  --list-places FILE    write where everything on the plan is on the screen, for tests
  --list-controls FILE  write every control and its place in the window, for tests
  --crowd N             a project made up with N keying features, for tests
  --measure FILE        measure frame times, write them there, for tests
  --help                this text
  --version             the version

Without a display use keepside-cli.";

/// What the arguments ask for.
enum Asked {
    Window(Start),
    Print(String),
    Wrong(String),
}

fn read(arguments: impl Iterator<Item = std::ffi::OsString>, since: Instant) -> Asked {
    let (config, state) = (keepside_store::config_dir(), keepside_store::state_dir());
    let mut start = Start { config, state, ..Start::default() };
    let mut arguments = arguments;
    while let Some(argument) = arguments.next() {
        match argument.to_str() {
            Some("--help" | "-h") => return Asked::Print(HELP.to_owned()),
            Some("--version") => return Asked::Print(format!("keepside {}", env!("CARGO_PKG_VERSION"))),
            Some("--list-places") => match arguments.next() {
                Some(file) => start.list_places = Some(PathBuf::from(file)),
                None => return Asked::Wrong("--list-places needs a file".to_owned()),
            },
            Some("--list-controls") => match arguments.next() {
                Some(file) => start.list_controls = Some(PathBuf::from(file)),
                None => return Asked::Wrong("--list-controls needs a file".to_owned()),
            },
            Some("--crowd") => match arguments.next().and_then(|count| count.to_str()?.parse().ok()) {
                Some(count) => start.crowd = Some(count),
                None => return Asked::Wrong("--crowd needs a number".to_owned()),
            },
            Some("--measure") => match arguments.next() {
                Some(file) => start.measure = Some(Wanted { file: PathBuf::from(file), since }),
                None => return Asked::Wrong("--measure needs a file".to_owned()),
            },
            Some(option) if option.starts_with("--") => {
                return Asked::Wrong(format!("unknown option {option}; see --help"));
            }
            _ if start.project.is_some() => {
                return Asked::Wrong("one project at a time; see --help".to_owned());
            }
            _ => start.project = Some(PathBuf::from(argument)),
        }
    }
    start.first_page = start.project.is_none() && start.crowd.is_none();
    Asked::Window(start)
}

#[expect(clippy::print_stdout, clippy::print_stderr, reason = "a program speaks on its streams")]
fn main() -> ExitCode {
    let since = Instant::now();
    env_logger::init();
    match read(std::env::args_os().skip(1), since) {
        Asked::Print(text) => {
            println!("{text}");
            ExitCode::SUCCESS
        }
        Asked::Wrong(why) => {
            eprintln!("keepside: {why}");
            ExitCode::from(2)
        }
        Asked::Window(start) => match open_window(start) {
            Ok(()) => ExitCode::SUCCESS,
            Err(error) => {
                eprintln!("keepside: {error}");
                ExitCode::from(2)
            }
        },
    }
}
