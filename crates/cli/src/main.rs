//! `keepside-cli`: the command line.

use std::io::{stderr, stdout};
use std::process::ExitCode;

fn main() -> ExitCode {
    let args = std::env::args_os().skip(1);
    ExitCode::from(keepside_cli::run(args, &mut stdout().lock(), &mut stderr().lock()))
}
