//! The command line as a function: arguments in, text and exit code out.
//!
//! Exit codes: [`WELL`], [`FAULTY`], [`NOT_COMPUTED`]. What was asked for goes to `out`, all else to
//! `err`, so that the output can be piped on.

mod args;
mod check;
mod import;
mod lines;
mod report;
mod schema;
mod sheet;
mod shot;
mod shots;
mod stripping;
#[cfg(test)]
mod tests;
mod text;

use std::ffi::OsString;
use std::io::Write;

use args::Command;

/// Exit code: computed, and all is well.
pub const WELL: u8 = 0;
/// Exit code: computed, and something is wrong with the layout.
pub const FAULTY: u8 = 1;
/// Exit code: could not be computed.
pub const NOT_COMPUTED: u8 = 2;

/// Version of the JSON that `check --json` writes; see `assets/handbook/json.md`.
pub const SCHEMA: u32 = 1;

/// Version of the program.
const VERSION: &str = env!("CARGO_PKG_VERSION");

/// What a command has to say.
#[derive(Debug)]
struct Answer {
    out: String,
    err: String,
    code: u8,
}

/// Does what the arguments ask for (without the program's name) and returns the exit code.
pub fn run(
    args: impl IntoIterator<Item = impl Into<OsString>>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> u8 {
    run_told(args, out, err, false)
}

/// The same; with `is_watched` a long command tells on `err`, in one line that it wipes again, how far it has
/// come.
pub fn run_told(
    args: impl IntoIterator<Item = impl Into<OsString>>,
    out: &mut dyn Write,
    err: &mut dyn Write,
    is_watched: bool,
) -> u8 {
    let args: Vec<OsString> = args.into_iter().map(Into::into).collect();
    let mut told = shots::Told::new(if is_watched { Some(&mut *err) } else { None });
    let answer = match args::parse(&args) {
        Ok(Command::Help) => Ok(Answer { out: args::help(), err: String::new(), code: WELL }),
        Ok(Command::Version) => {
            let version = format!("keepside-cli {VERSION}\n");
            Ok(Answer { out: version, err: String::new(), code: WELL })
        }
        Ok(Command::Check { project, json }) => check::check(&project, json),
        Ok(Command::Sheet { project, folder, outputs }) => sheet::sheet(&project, &folder, &outputs),
        Ok(Command::Import(of)) => import::import(&of),
        Ok(Command::Chances(of)) => shots::chances(&of, &mut told),
        Ok(Command::Suggest(of)) => shots::suggest(&of, &mut told),
        Ok(Command::Learn(of)) => shots::learn(&of, &mut told),
        Err(error) => Err(error.into()),
    };
    let answer = answer.unwrap_or_else(|error| Answer {
        out: String::new(),
        err: format!("{}\n", whole(&error)),
        code: NOT_COMPUTED,
    });
    // Nothing is left to tell a reader that has gone away, so a failure here ends in the exit code.
    let told = say(out, &answer.out).and_then(|()| say(err, &prefixed(&answer.err)));
    if told.is_err() { NOT_COMPUTED } else { answer.code }
}

/// The error with its causes, but without those that it already tells.
fn whole(error: &anyhow::Error) -> String {
    let mut text = String::new();
    for cause in error.chain().map(ToString::to_string) {
        if text.is_empty() {
            text = cause;
        } else if !text.contains(&cause) {
            text = format!("{text}: {cause}");
        }
    }
    text
}

fn say(to: &mut dyn Write, text: &str) -> std::io::Result<()> {
    to.write_all(text.as_bytes())?;
    to.flush()
}

/// Every line with the program's name before it, as is usual on a terminal.
fn prefixed(text: &str) -> String {
    text.lines().map(|line| format!("keepside-cli: {}\n", lines::plain(line))).collect()
}
