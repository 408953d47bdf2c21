//! `keepside-cli`: the command line.
fn main() {}
