//! End-to-end tests, one subject a file.

mod hardware;
mod hold_formulas;
mod opening;
mod sheet;
mod trade;
