//! The hold law of one feature, laid open: the ways in which it may give, their numbers, and which governs.

mod trial;
mod why;

use keepside_model::{Half, Id, Project};

use crate::hold::feature::weigh_feature;
use crate::hold::grooves::weigh_ejector;
use crate::hold::{Ending, PointHold, measured};
use crate::outline::{self, Outline};
use crate::silhouette;

pub use trial::TrialInput;

/// Everything that made a keying feature's hold, or that of an ejector whose face keys.
#[derive(Clone, Debug, PartialEq)]
pub struct HoldLaw {
    /// The feature or ejector.
    pub item: Id,
    /// The half it stands in.
    pub half: Half,
    /// The hold as the opening run takes it: the measured curve if there is one. Strip strain and what is
    /// allowed once and repeatedly are in it.
    pub hold: PointHold,
    /// The competing ways, the first of equal ones governing, then what acts besides.
    pub ways: Vec<Way>,
    /// Index into [`Self::ways`] of the one that governs what is computed; `None` if there is nothing to hold.
    pub governing: Option<usize>,
    /// Whether a measured curve takes the place of the computed one.
    pub is_measured: bool,
    /// Which way governs and why, in a sentence with a full stop.
    pub why: String,
    /// The plug of plastic in a screw's socket, if the socket is up.
    pub plug: Option<Plug>,
    /// Inputs that only a trial can give, and what becomes of the pull at the ends of their ranges.
    pub trials: Vec<TrialInput>,
    /// What of the geometry is not certain.
    pub uncertain: Option<&'static str>,
}

/// One way in which a hold may give, or one thing that pulls besides.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// Its name: as in [`PointHold::governed_by`], or "plug" or "drag" if it acts besides.
    pub name: &'static str,
    /// What happens, in a few words.
    pub words: &'static str,
    /// Force, N; infinite if it cannot happen.
    pub force_n: f64,
    /// Whether it adds to the way that governs, instead of competing.
    pub adds: bool,
    /// What happens at the end of it.
    pub ending: Ending,
    /// The numbers that made the force, in the order in which they enter.
    pub numbers: Vec<Number>,
}

/// A number behind a force.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Number {
    /// What it is, in words.
    pub name: &'static str,
    /// Its value.
    pub value: f64,
    /// Its unit; empty if it has none.
    pub unit: &'static str,
    /// A remark, for example "capped at full plasticity"; mostly empty.
    pub note: &'static str,
}

impl Number {
    pub(super) const fn new(name: &'static str, value: f64, unit: &'static str) -> Self {
        Self { name, value, unit, note: "" }
    }

    pub(super) const fn noted(self, note: &'static str) -> Self {
        Self { note, ..self }
    }
}

/// The plug of plastic in a screw's socket.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plug {
    /// Drag of the socket's walls, N.
    pub drag_n: f64,
    /// Force at which the plug tears off at the rim of the socket, N.
    pub strength_n: f64,
    /// Share of the strength from which on it may stay behind, as its neck has sharp corners.
    pub safe_share: f64,
    /// What repeated use does to it, in a sentence.
    pub fatigue: &'static str,
}

impl Plug {
    /// Drag over strength.
    pub fn share(&self) -> f64 {
        if self.strength_n > 0.0 { self.drag_n / self.strength_n } else { f64::INFINITY }
    }

    /// Whether the drag is so large a share of the strength that the plug may stay in the socket.
    pub fn may_be_lost(&self) -> bool {
        self.share() > self.safe_share
    }
}

/// A hold with all that made it.
#[derive(Clone, Debug)]
pub(crate) struct Weighed {
    pub(crate) hold: PointHold,
    pub(crate) ways: Vec<Way>,
    pub(crate) plug: Option<Plug>,
}

/// The hold law of a keying feature, or of an ejector whose face keys; `None` for anything else and for what
/// stands outside the channel.
pub fn law(project: &Project, id: Id) -> Option<HoldLaw> {
    law_at(project, &outline::of(project), id)
}

/// [`law`] with the outline at hand, from which the walls round the feature are taken.
pub fn law_at(project: &Project, outline: &Outline, id: Id) -> Option<HoldLaw> {
    let (half, is_measured, uncertain) = match (project.features.get(&id), project.ejectors.get(&id)) {
        (Some(feature), _) => {
            let uncertain = silhouette::of_feature(feature, 0.0).uncertain;
            (feature.half, feature.measured.is_some(), uncertain)
        }
        (None, Some(ejector)) => {
            (Half::Moving, ejector.measured.is_some(), silhouette::of_ejector(ejector).uncertain)
        }
        (None, None) => return None,
    };
    let weighed = weigh(project, outline, id)?;
    let Weighed { hold, ways, plug } = weighed;
    let competing = ways.iter().enumerate().filter(|(_, way)| !way.adds);
    let governing = competing.min_by(|a, b| a.1.force_n.total_cmp(&b.1.force_n)).map(|(index, _)| index);
    let why = why::why(&ways, governing, is_measured);
    let trials = trial::inputs(project, outline, id, &ways);
    Some(HoldLaw { item: id, half, hold, ways, governing, is_measured, why, plug, trials, uncertain })
}

/// The hold of a feature or ejector with all that made it; `None` for anything else and outside the channel.
pub(super) fn weigh(project: &Project, outline: &Outline, id: Id) -> Option<Weighed> {
    if let Some(feature) = project.features.get(&id) {
        let section = measured::section_at(project, outline, feature.at, feature.half)?;
        return Some(weigh_feature(project, feature, section));
    }
    let ejector = project.ejectors.get(&id).filter(|ejector| ejector.face.keys())?;
    let section = measured::section_at(project, outline, ejector.at, Half::Moving)?;
    Some(weigh_ejector(project, ejector, section))
}

#[cfg(test)]
mod tests;
