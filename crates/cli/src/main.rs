//! `keepside-cli`: the command line.

use std::io::{IsTerminal as _, stderr, stdout};
use std::process::ExitCode;

fn main() -> ExitCode {
    let args = std::env::args_os().skip(1);
    let is_watched = stderr().is_terminal();
    ExitCode::from(keepside_cli::run_told(args, &mut stdout().lock(), &mut stderr().lock(), is_watched))
}
