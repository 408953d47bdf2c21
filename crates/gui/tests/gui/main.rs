//! The editor driven by what a screen reader reads and a pointer does: no window, no pixels.
#![expect(clippy::unwrap_used, reason = "a test may stop here")]

mod arranging;
mod canvas;
mod clearances;
mod drawing;
mod ejectors;
mod everyone;
mod faults;
mod features;
mod files;
mod filling;
mod harness;
mod importing;
mod layouts;
mod moulding;
mod panels;
mod pull_off;
mod runs;
mod safety;
mod section;
mod seeing;
mod sheets;
mod shots;
mod slow;
