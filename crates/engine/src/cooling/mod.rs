//! How the part, the gates and the sprues cool, what packing can do until they freeze, and what the part
//! shrinks by.
//!
//! Conduction alone, at the mould's temperature on the whole surface, with one diffusivity: the heat of
//! melting, the air gap that opens as the part shrinks and steel that warms up from shot to shot are left
//! out; all of them make the true times longer. Times count from the end of filling, and every place is
//! taken to start then at the melt temperature.

pub mod heat;
mod packing;
mod part;
mod shrinkage;
#[cfg(test)]
mod tests;

use glam::DVec2;
use keepside_model::{HeldBack, Id, Project, bounds};

use crate::opening::NotComputed;
use crate::outline::{self, Lookup};
use heat::Body;

pub use packing::Unpacked;

pub(crate) use part::Stations;
pub use shrinkage::LockedSpan;

/// How a shot cools.
#[derive(Clone, Debug, PartialEq)]
pub struct Cooling {
    /// The place of the part that stays hot the longest.
    pub thickest: Thickest,
    /// Time from the end of filling until that place is cold enough to be pushed off, s.
    pub needed_s: f64,
    /// Time from the end of filling until the mould opens, s: what the user has set, or as long as the
    /// thickest place and packing need.
    pub opens_s: f64,
    /// Temperature of the hottest place of the part when the mould opens, °C.
    pub hottest_c: f64,
    /// Mean temperature of the part when the mould opens, °C.
    pub mean_c: f64,
    /// Gates in the order of their ids.
    pub gates: Vec<GateFreeze>,
    /// Stretches that a thinner place cuts off from packing before they freeze themselves.
    pub unpacked: Vec<Unpacked>,
    /// Shrinkage along the runs, of the length, from the mould to a day later.
    pub shrinkage_along: f64,
    /// Shrinkage across the runs.
    pub shrinkage_across: f64,
    /// The share of it that falls in the time before the mould opens.
    pub before_opening: f64,
    /// What the mould holds back of the shrinkage along the runs until it opens, as a strain; an upper end,
    /// as warm plastic gives way in time.
    pub held_back: f64,
    /// Pieces of run between what locks their length.
    pub spans: Vec<LockedSpan>,
}

/// The place of the part that stays hot the longest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thickest {
    /// The run.
    pub run: Id,
    /// The place in the plan, mm.
    pub at: DVec2,
    /// Channel width there, mm.
    pub width_mm: f64,
    /// Thickness there, mm: the channel's depth, and what a rib adds at its root.
    pub thickness_mm: f64,
    /// Whether runs meet there, where the sides do not cool.
    pub is_junction: bool,
}

/// When a gate freezes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GateFreeze {
    /// The sprue.
    pub sprue: Id,
    /// The place in the plan, mm.
    pub at: DVec2,
    /// Its smallest diameter, mm.
    pub narrowest_mm: f64,
    /// Time until no melt flows through the narrowest place of its bore any more, s.
    pub bore_s: f64,
    /// Time until the channel under it is frozen, s; `None` if it is not on the channel.
    pub channel_s: Option<f64>,
    /// How long packing acts through it, s: until it is let off, or the gate freezes.
    pub packs_s: f64,
    /// Whether packing is let off while melt can still flow back.
    pub is_let_off_early: bool,
    /// Time until its plug is as cold as the part is to be, at its thickest, s.
    pub plug_cold_s: f64,
}

/// Why cooling could not be computed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the messages document the variants")]
pub enum NotCooled {
    #[error("{0}")]
    NoPart(NotComputed),
    #[error(
        "the mould at {mould_c:.0} °C is not colder than the {ejection_c:.0} °C at which the part is to be pushed \
         off, so that it never gets there; make the mould colder, or push the part off hotter"
    )]
    MouldTooHot { mould_c: f64, ejection_c: f64 },
    #[error(
        "the mould at {mould_c:.0} °C is not colder than the {no_flow_c:.0} °C at which the plastic stops flowing, \
         so that no gate freezes; make the mould colder"
    )]
    NeverFreezes { mould_c: f64, no_flow_c: f64 },
    #[error(
        "the melt at {melt_c:.0} °C is not hotter than the {limit_c:.0} °C at which the plastic {what}; make it \
         hotter"
    )]
    MeltTooCold { melt_c: f64, limit_c: f64, what: &'static str },
}

/// Temperatures of a shot, °C.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Temperatures {
    pub(crate) melt_c: f64,
    pub(crate) mould_c: f64,
    pub(crate) ejection_c: f64,
    pub(crate) no_flow_c: f64,
}

impl Temperatures {
    /// Those of a project, if a part can be made with them.
    fn of(project: &Project) -> Result<Self, NotCooled> {
        let (moulding, material) = (&project.moulding, &project.material);
        let melt_c = moulding.melt_temperature_c(material);
        let mould_c = moulding.mould_temperature_c(material);
        let ejection_c = moulding.ejection_temperature_c(material);
        let no_flow_c = material.melt.no_flow_temperature_c;
        if mould_c >= ejection_c {
            return Err(NotCooled::MouldTooHot { mould_c, ejection_c });
        }
        if mould_c >= no_flow_c {
            return Err(NotCooled::NeverFreezes { mould_c, no_flow_c });
        }
        for (limit_c, what) in [(no_flow_c, "stops flowing"), (ejection_c, "is to be pushed off")] {
            if melt_c <= limit_c {
                return Err(NotCooled::MeltTooCold { melt_c, limit_c, what });
            }
        }
        Ok(Self { melt_c, mould_c, ejection_c, no_flow_c })
    }

    /// A temperature as the share of the first difference that is left.
    fn share(&self, temperature_c: f64) -> f64 {
        (temperature_c - self.mould_c) / (self.melt_c - self.mould_c)
    }

    /// The temperature, °C, of a share.
    fn at(&self, share: f64) -> f64 {
        self.mould_c + share * (self.melt_c - self.mould_c)
    }
}

/// How a shot of the project cools.
///
/// # Errors
///
/// [`NotCooled`] in words for the user: no part, or temperatures that cool nothing.
pub fn of(project: &Project) -> Result<Cooling, NotCooled> {
    let outline = outline::of(project);
    drawn(project, &Lookup::new(project, &outline))
}

/// The same where the drawing has been made ready for questions.
pub(crate) fn drawn(project: &Project, lookup: &Lookup<'_>) -> Result<Cooling, NotCooled> {
    let temperatures = Temperatures::of(project)?;
    let stations = Stations::new(project).map_err(NotCooled::NoPart)?;
    let Part { thickest, body, needed_s, opens_s, mean_c, before_opening, held_back } =
        Part::new(project, &temperatures, &stations);
    let gates = packing::gates(project, &temperatures, &stations, lookup);
    let unpacked = packing::unpacked(project, &temperatures, &stations, &gates, lookup);
    let melt = &project.material.melt;
    Ok(Cooling {
        thickest,
        needed_s,
        opens_s,
        hottest_c: temperatures.at(body.centre(melt.diffusivity_mm2_s, opens_s)),
        mean_c,
        gates,
        unpacked,
        shrinkage_along: melt.shrinkage_along,
        shrinkage_across: melt.shrinkage_across,
        before_opening,
        held_back,
        spans: shrinkage::spans(project, &stations, held_back, lookup),
    })
}

/// The part as a whole.
struct Part {
    thickest: Thickest,
    body: Body,
    needed_s: f64,
    opens_s: f64,
    mean_c: f64,
    before_opening: f64,
    held_back: f64,
}

impl Part {
    fn new(project: &Project, temperatures: &Temperatures, stations: &Stations) -> Self {
        let melt = &project.material.melt;
        let (thickest, body) = stations.thickest(project);
        let needed_s = body.time_s(melt.diffusivity_mm2_s, temperatures.share(temperatures.ejection_c));
        let moulding = &project.moulding;
        let opens_s = match moulding.cooling_time_s {
            Some(cooling_s) => moulding.packing_time_s + cooling_s,
            None => needed_s.max(moulding.packing_time_s),
        };
        let mean_c = temperatures.at(stations.mean_share(melt.diffusivity_mm2_s, opens_s));
        let before_opening = shrinkage::before_opening(temperatures, mean_c);
        let held_back = melt.shrinkage_along * before_opening;
        Self { thickest, body, needed_s, opens_s, mean_c, before_opening, held_back }
    }
}

/// The shrinkage that the mould holds back until it opens, as a strain, as the project wants it: given, or
/// computed; where it cannot be computed, the one given.
pub fn held_back(project: &Project) -> f64 {
    let given = project.material.restrained_shrinkage;
    let computed = || {
        let temperatures = Temperatures::of(project).ok()?;
        let part = Part::new(project, &temperatures, &Stations::new(project).ok()?);
        Some(part.held_back.clamp(bounds::SHRINKAGE.min, bounds::SHRINKAGE.max))
    };
    match project.moulding.held_back {
        HeldBack::Given => given,
        HeldBack::Computed => computed().unwrap_or(given),
    }
}

/// Body that a place of the channel cools like: a bar of its width and thickness.
pub(crate) const fn bar(width_mm: f64, thickness_mm: f64) -> Body {
    Body::Bar { width_mm, depth_mm: thickness_mm }
}
