//! Everything round in the plates, and what of it is close to what.

use glam::DVec2;
use keepside_model::{Half, HoleUse, Id, KeyingFeature, Project};

use crate::outline::{Extent, Grid, hole_diameter_mm, plan_diameter_mm};

/// Something round: a hole through both plates, or what stands in the channel or opens into it.
pub(super) struct Standing<'a> {
    pub(super) id: Id,
    /// `None` for a hole through both plates.
    pub(super) half: Option<Half>,
    pub(super) at: DVec2,
    /// Radius in the channel, mm.
    pub(super) radius_mm: f64,
    /// Radius of its hole in the plate, mm.
    pub(super) hole_mm: f64,
    pub(super) sort: Sort<'a>,
}

/// What it is.
#[derive(Clone, Copy)]
pub(super) enum Sort<'a> {
    Through(HoleUse),
    Feature(&'a KeyingFeature),
    Gate,
    Ejector,
}

impl Standing<'_> {
    /// It in the user's words, for example "set screw K4".
    pub(super) fn words(&self, project: &Project) -> String {
        let what = match self.sort {
            Sort::Through(HoleUse::Bolt) => "bolt hole",
            Sort::Through(HoleUse::GuidePin) => "guide pin hole",
            Sort::Feature(feature) => feature.kind.word(),
            Sort::Gate => "gate",
            Sort::Ejector => "ejector",
        };
        format!("{what} {}", project.tag(self.id))
    }

    /// Its hole in the user's words, for example "the hole of set screw K4".
    pub(super) fn hole_words(&self, project: &Project) -> String {
        let words = self.words(project);
        match self.sort {
            Sort::Through(_) => words,
            Sort::Gate => format!("the bore of {words}"),
            Sort::Feature(_) | Sort::Ejector => format!("the hole of {words}"),
        }
    }

    /// A box round it.
    fn extent(&self) -> Extent {
        let reach = DVec2::splat(self.radius_mm.max(self.hole_mm));
        Extent { low: self.at - reach, high: self.at + reach }
    }
}

/// All of them: holes through the plates, features, gates, ejectors, each in the order of the ids.
pub(super) struct Round<'a> {
    pub(super) all: Vec<Standing<'a>>,
    grid: Grid,
}

impl<'a> Round<'a> {
    pub(super) fn new(project: &'a Project) -> Self {
        let same = |id, half, at, diameter_mm: f64, sort| {
            let radius_mm = 0.5 * diameter_mm;
            Standing { id, half, at, radius_mm, hole_mm: radius_mm, sort }
        };
        let through = project.holes.iter();
        let through =
            through.map(|(&id, hole)| same(id, None, hole.at, hole.diameter_mm, Sort::Through(hole.purpose)));
        let features = project.features.iter().map(|(&id, feature)| {
            let (radius_mm, sort) = (0.5 * plan_diameter_mm(&feature.kind), Sort::Feature(feature));
            let hole_mm = 0.5 * hole_diameter_mm(&feature.kind);
            Standing { id, half: Some(feature.half), at: feature.at, radius_mm, hole_mm, sort }
        });
        let gates = project.sprues.iter();
        let gates =
            gates.map(|(&id, sprue)| same(id, Some(sprue.half), sprue.at, sprue.diameter_mm, Sort::Gate));
        let ejectors = project.ejectors.iter();
        let ejectors =
            ejectors.map(|(&id, pin)| same(id, Some(Half::Moving), pin.at, pin.diameter_mm, Sort::Ejector));
        let all: Vec<_> = through.chain(features).chain(gates).chain(ejectors).collect();
        let grid = Grid::new(all.iter().map(Standing::extent).collect());
        Self { all, grid }
    }

    /// Calls `found` for every two of them that may come within `reach_mm` of each other, each pair once,
    /// in the order of the first and then of the second.
    pub(super) fn pairs(&self, reach_mm: f64, mut found: impl FnMut(&Standing<'a>, &Standing<'a>)) {
        let mut near = Vec::new();
        for (index, one) in self.all.iter().enumerate() {
            self.grid.near(&one.extent(), reach_mm, &mut near);
            near.iter().filter(|&&other| other > index).for_each(|&other| found(one, &self.all[other]));
        }
    }

    /// Those that may come within `reach_mm` of a box.
    pub(super) fn near(&self, extent: &Extent, reach_mm: f64) -> Vec<&Standing<'a>> {
        let mut near = Vec::new();
        self.grid.near(extent, reach_mm, &mut near);
        near.into_iter().map(|index| &self.all[index]).collect()
    }
}
