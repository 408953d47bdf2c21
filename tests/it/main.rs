//! End-to-end tests, one subject a file.

mod sheet;
