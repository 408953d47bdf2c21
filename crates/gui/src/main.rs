//! The editor window.
fn main() {}
