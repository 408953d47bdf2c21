//! The opening run: the mould opens, both halves pull, and one of them keeps each stretch.

mod result;

use std::sync::atomic::{AtomicBool, Ordering};

use keepside_model::Project;

pub use result::{
    BumpAt, Effort, Energy, Frame, HoldName, HoldOutcome, HoldState, Keeper, Margin, NotComputed, Opening,
    Outcome, Release, ReleaseHow, ShapePoint, Stretch, Verdict, What,
};

/// Tells a long computation to stop; shared with whoever may want to stop it.
#[derive(Debug, Default)]
pub struct Cancel(AtomicBool);

impl Cancel {
    /// Asks for a stop.
    pub fn cancel(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether a stop was asked for.
    pub fn is_cancelled(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// Opens the mould once, to the full stroke.
///
/// # Errors
///
/// [`NotComputed`] says what stands in the way: no run, a run without length, a layout that is not
/// supported yet, or that `cancel` was set.
pub fn run(_project: &Project, _cancel: &Cancel) -> Result<Opening, NotComputed> {
    Err(NotComputed::NoRun)
}

/// The factor on all fixed-half holds at which the verdict of `opening` flips.
///
/// # Errors
///
/// [`NotComputed::Cancelled`] if `cancel` was set.
pub fn margin(_project: &Project, _opening: &Opening, _cancel: &Cancel) -> Result<Margin, NotComputed> {
    Err(NotComputed::Cancelled)
}
