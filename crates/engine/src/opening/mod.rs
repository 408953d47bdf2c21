//! The opening run: the mould opens, both halves pull, and one of them keeps each stretch.

#[cfg(test)]
mod alike;
#[cfg(test)]
mod checks;
#[cfg(test)]
mod frames;
mod law;
pub(crate) mod lean;
mod lines;
mod margin;

mod result;
mod run;
mod setup;
mod shape;
mod shrink;
#[cfg(test)]
mod space_checks;
mod spot;
mod stepper;
mod strip;
mod tug;
mod verdict;

use std::sync::atomic::{AtomicBool, Ordering};

use keepside_model::Project;

pub use result::{
    Axis, BumpAt, Effort, Energy, Frame, HoldName, HoldOutcome, HoldState, Keeper, Margin, NotComputed,
    Opening, Outcome, PlanPoint, Release, ReleaseHow, Residual, ShapePoint, Stretch, Verdict, What,
};

pub(crate) use setup::Factors;
pub use setup::Fineness;
pub use strip::{EjectorLoad, StripAt, StripOutcome, Stripping};

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
pub fn run(project: &Project, cancel: &Cancel) -> Result<Opening, NotComputed> {
    run::open(project, Fineness::default(), 1.0, cancel)
}

/// Opens the mould once, more or less finely than the product does: for checks that the answer does
/// not depend on it.
///
/// # Errors
///
/// As [`run`].
pub fn run_with(project: &Project, fineness: Fineness, cancel: &Cancel) -> Result<Opening, NotComputed> {
    run::open(project, fineness, 1.0, cancel)
}

/// Opens the mould once, hands the result to `opened`, and goes on to push the part off the moving half:
/// `None` if the part is not left whole on it.
///
/// # Errors
///
/// As [`run`]; of stripping after `opened` has been called.
pub fn run_and_strip(
    project: &Project,
    cancel: &Cancel,
    opened: &mut dyn FnMut(Opening),
) -> Result<Option<Stripping>, NotComputed> {
    run::open_and_strip(project, Fineness::default(), cancel, opened)
}

/// One factorisation of the equations of a project as they stand in the closed mould, to be repeated: the
/// measure that benchmarks compare a run with. It tells whether the matrix is positive definite.
///
/// # Errors
///
/// As [`run`].
pub fn factoring(project: &Project, fineness: Fineness) -> Result<impl FnMut() -> bool, NotComputed> {
    setup::factoring(project, fineness)
}

/// The factor on all fixed-half holds at which the verdict of `opening` flips.
///
/// # Errors
///
/// [`NotComputed::Cancelled`] if `cancel` was set.
pub fn margin(project: &Project, opening: &Opening, cancel: &Cancel) -> Result<Margin, NotComputed> {
    margin::search(project, opening, cancel)
}
