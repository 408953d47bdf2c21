//! What the part shrinks by before the mould opens, and what that pulls on.

use keepside_model::{Id, Project};

use super::{Stations, Temperatures};
use crate::beam::{ChannelShape, Sections};
use crate::hold;
use crate::outline::{self, Lookup};

/// Room temperature, °C, at which a part is measured.
const ROOM_C: f64 = 23.0;

/// A piece of run between two items that lock its length: sprues, keying features, grooved ejectors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LockedSpan {
    /// The run.
    pub run: Id,
    /// The item at its one end.
    pub from: Id,
    /// The item at its other end.
    pub to: Id,
    /// Distance along the run, mm.
    pub length_mm: f64,
    /// What it would get shorter by until the mould opens, if nothing locked it, mm.
    pub held_mm: f64,
    /// What it gets shorter by in all, once it is free and cold, mm.
    pub whole_mm: f64,
    /// What it pulls sideways on both items with when the mould opens, N: no more than the plastic yields at, in
    /// the run or around either item.
    pub pull_n: f64,
}

/// The share of the shrinkage that has happened when the part's mean temperature is `mean_c`.
///
/// Assumed: the length changes in a straight line with the mean temperature, from where the plastic stops
/// flowing to room temperature.
pub(super) fn before_opening(temperatures: &Temperatures, mean_c: f64) -> f64 {
    let whole_c = (temperatures.no_flow_c - ROOM_C).max(1.0);
    ((temperatures.no_flow_c - mean_c) / whole_c).clamp(0.0, 1.0)
}

/// What locks the length of a run at one place.
struct LockAt {
    item: Id,
    path: usize,
    along_mm: f64,
    /// What the plastic around it bears sideways, N.
    bears_n: f64,
}

/// The pieces of run between neighbouring locks, run by run.
pub(super) fn spans(
    project: &Project,
    stations: &Stations,
    held_back: f64,
    lookup: &Lookup<'_>,
) -> Vec<LockedSpan> {
    let paths = &stations.network.paths;
    let material = &project.material;
    let mut locks = locks(project, stations, lookup);
    let mut sections = Sections::default();
    locks.sort_by(|a, b| {
        a.path.cmp(&b.path).then(a.along_mm.total_cmp(&b.along_mm)).then(a.item.cmp(&b.item))
    });
    let mut of_pair = |pair: &[LockAt]| {
        let (one, other) = (&pair[0], &pair[1]);
        let length_mm = other.along_mm - one.along_mm;
        if one.path != other.path || length_mm <= 0.0 {
            return None;
        }
        let path = &paths[one.path];
        let middle_mm = 0.5 * (one.along_mm + other.along_mm);
        let (width_mm, depth_mm) = path.channel_at(middle_mm);
        let area_mm2 = sections.of(&ChannelShape::new(&project.part, width_mm, depth_mm)).total_mm2;
        let stress_mpa = (material.modulus_hot_mpa * held_back).min(material.yield_hot_mpa);
        Some(LockedSpan {
            run: path.run,
            from: one.item,
            to: other.item,
            length_mm,
            held_mm: held_back * length_mm,
            whole_mm: material.melt.shrinkage_along * length_mm,
            pull_n: (stress_mpa * area_mm2).min(one.bears_n).min(other.bears_n),
        })
    };
    locks.windows(2).filter_map(&mut of_pair).collect()
}

/// Everything in the channel that locks its length.
fn locks(project: &Project, stations: &Stations, lookup: &Lookup<'_>) -> Vec<LockAt> {
    let yield_mpa = project.material.yield_hot_mpa;
    let sprues = project
        .sprues
        .iter()
        .map(|(&id, sprue)| (id, sprue.at, sprue.diameter_mm, sprue.diameter_mm.min(sprue.length_mm)));
    let features = project.features.iter().map(|(&id, feature)| {
        (id, feature.at, outline::plan_diameter_mm(&feature.kind), feature.protrusion_mm)
    });
    let ejectors = project.ejectors.iter().filter(|(_, ejector)| ejector.face.keys());
    let ejectors =
        ejectors.map(|(&id, ejector)| (id, ejector.at, ejector.diameter_mm, hold::grooves_mm(ejector)));
    let place = |(item, at, diameter_mm, engaged_mm): (Id, glam::DVec2, f64, f64)| {
        let channel = lookup.channel_at(at).filter(|channel| channel.inside)?;
        let path = stations.network.paths.iter().position(|path| path.run == channel.run)?;
        let along_mm = stations.network.paths[path].along_mm(channel.along_mm);
        let bears_n = yield_mpa * diameter_mm * engaged_mm.min(channel.depth_mm);
        Some(LockAt { item, path, along_mm, bears_n })
    };
    sprues.chain(features).chain(ejectors).filter_map(place).collect()
}
