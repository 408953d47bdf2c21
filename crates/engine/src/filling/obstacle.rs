//! Keying features as they stand in the way of the melt.

use glam::DVec2;
use keepside_model::{Id, Project};

use crate::network::Path;
use crate::outline::plan_diameter_mm;

/// A keying feature in the channel.
#[derive(Clone, Copy, Debug)]
pub(super) struct Obstacle {
    pub(super) feature: Id,
    pub(super) path: usize,
    /// Place along the path, mm.
    pub(super) along_mm: f64,
    pub(super) diameter_mm: f64,
    /// What is left on the left and on the right of it over the whole depth, and over it, mm × mm; `None`
    /// for no way at all.
    pub(super) ways_mm: [Option<[f64; 2]>; 3],
    /// What it takes of the channel, mm³.
    pub(super) volume_mm3: f64,
    /// Share of the channel's depth that it stands through.
    pub(super) depth_share: f64,
    /// Share of a stretch's length that it stands beside.
    pub(super) share: f64,
}

/// A way narrower than this, mm, counts as closed: nothing flows through it in a shot.
const CLOSED_MM: f64 = 0.02;

impl Obstacle {
    /// How far it reaches along the path to either side, mm.
    pub(super) fn reach_mm(&self) -> f64 {
        0.5 * self.diameter_mm
    }
}

/// The features that stand in the channel, by path and place along it.
pub(super) fn standing(
    project: &Project,
    paths: &[Path],
    place_on: impl Fn(DVec2) -> Option<(usize, f64)>,
) -> Vec<Obstacle> {
    let of = |(&id, feature): (&Id, &keepside_model::KeyingFeature)| {
        let (path, along_mm) = place_on(feature.at)?;
        let diameter_mm = plan_diameter_mm(&feature.kind);
        let (width_mm, depth_mm) = paths[path].channel_at(along_mm);
        let (centre, direction) = paths[path].at(along_mm);
        let aside_mm = direction.perp_dot(feature.at - centre);
        let half_mm = 0.5 * width_mm;
        // It may stand partly in the wall.
        let left_mm = (half_mm - aside_mm - 0.5 * diameter_mm).max(0.0);
        let right_mm = (half_mm + aside_mm - 0.5 * diameter_mm).max(0.0);
        let stands_mm = feature.protrusion_mm.min(depth_mm);
        let across_mm = (width_mm - left_mm - right_mm).max(0.0);
        let way = |sides: [f64; 2]| (sides[0].min(sides[1]) > CLOSED_MM).then_some(sides);
        let ways_mm =
            [way([left_mm, depth_mm]), way([right_mm, depth_mm]), way([across_mm, depth_mm - stands_mm])];
        // A disc's area, less where it stands in the wall.
        let disc_mm2 = 0.25 * std::f64::consts::PI * diameter_mm * across_mm.min(diameter_mm);
        Some(Obstacle {
            feature: id,
            path,
            along_mm,
            diameter_mm,
            ways_mm,
            volume_mm3: disc_mm2 * stands_mm,
            depth_share: stands_mm / depth_mm,
            share: 0.0,
        })
    };
    let mut standing: Vec<Obstacle> = project.features.iter().filter_map(of).collect();
    standing.sort_by(|a, b| a.path.cmp(&b.path).then(a.along_mm.total_cmp(&b.along_mm)));
    standing
}
