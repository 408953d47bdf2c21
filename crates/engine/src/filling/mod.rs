//! Filling: how melt runs through the channels from the gates, where fronts meet, and what stays empty.
//!
//! Every stretch is a duct with a power-law melt in it. The press pushes at an even rate until its pressure
//! limit, then with that. All gates are fed from one nozzle. Left out: what air before the fronts resists,
//! inertia, elasticity and compressibility of the melt, pressure lost in corners and junctions beyond that of
//! their length, and what passes through a weld after fronts have met besides fresh flow.

mod air;
mod duct;
mod flow;
mod layer;
mod march;
mod obstacle;
mod plan;
mod result;
mod shot;
mod skin;
mod tell;
#[cfg(test)]
mod tests;

use keepside_model::Project;

pub(crate) use air::REACH_MM;
pub use result::{
    Filled, Filling, Front, GateFill, Moment, NotFilled, RunFill, Short, ShortWhy, Station, Trapped, Weld,
    WeldKind,
};

/// Fills the part once.
///
/// # Errors
///
/// [`NotFilled`] says what stands in the way: no run, no gate on the channel, melt too cold to flow.
pub fn fill(project: &Project) -> Result<Filling, NotFilled> {
    let plan = plan::Plan::new(project)?;
    let shot = shot::Shot::of(project)?;
    let mut march = march::March::new(&plan, &shot);
    march.fill();
    Ok(tell::tell(project, &plan, &shot, march))
}
