//! End-to-end tests, one subject a file.

mod opening;
mod sheet;
mod trade;
