//! What follows from a project: its outline and clearances, its holds, the opening run, findings.
//!
//! Pure and deterministic: no window, no file, no clock, no global state; the same project gives the
//! same bytes on every machine. Nothing here panics on a project that loads: a layout that cannot be
//! computed yields [`NotComputed`] or a [`Finding`] that says what, where, and what to do.
//!
//! Units everywhere: mm, N, MPa (= N/mm²), mJ (= N mm), degrees where the name says `_deg`, else
//! radians.

mod analysis;
mod beam;
pub mod chances;
pub mod cooling;
mod cross_section;
pub mod filling;
pub mod finding;
pub mod hardware;
pub mod hold;
pub mod learning;
pub mod mount;
mod network;
pub mod opening;
pub mod outline;
pub mod press;
pub mod silhouette;
pub mod suggest;
pub mod venting;

pub use analysis::{Analysis, Layout, analyse, layout};
pub use cross_section::flank;
pub use filling::{Filling, NotFilled};
pub use finding::{Finding, Severity};
pub use opening::{Cancel, Margin, NotComputed, Opening};
