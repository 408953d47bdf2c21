//! The part as places along its runs, each cooling like a bar of its width and thickness.

use glam::DVec2;
use keepside_model::{Id, Project};

use super::heat::Body;
use super::{Thickest, bar};
use crate::network::{self, Member, Network, Sizes};
use crate::opening::NotComputed;
use crate::outline::Lookup;

/// Distance between places along a run, mm; more on a part so large that there would be too many.
const APART_MM: f64 = 4.0;

/// Most places, about.
const MOST: f64 = 800.0;

/// A piece of the channel between two nodes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Station {
    pub(crate) member: Member,
    pub(crate) run: Id,
    pub(crate) at: DVec2,
    pub(crate) width_mm: f64,
    pub(crate) thickness_mm: f64,
    pub(crate) length_mm: f64,
}

impl Station {
    pub(crate) fn body(&self) -> Body {
        bar(self.width_mm, self.thickness_mm)
    }
}

/// The part cut into stations, and what joins them.
pub(crate) struct Stations {
    pub(crate) network: Network,
    pub(crate) all: Vec<Station>,
    /// For every member of the network its station; links have none.
    of_member: Vec<Option<usize>>,
}

impl Stations {
    pub(crate) fn new(project: &Project) -> Result<Self, NotComputed> {
        let (paths, meetings) = network::paths(project)?;
        let whole_mm: f64 = paths.iter().map(|path| path.length_mm).sum();
        let apart_mm = APART_MM.max(whole_mm / MOST);
        let marks = vec![Vec::new(); paths.len()];
        let sizes = vec![Sizes { fine_mm: apart_mm, coarse_mm: apart_mm }; paths.len()];
        let network = Network::new(paths, &meetings, &marks, &sizes);
        let mut all = Vec::new();
        let mut of_member = Vec::new();
        for member in &network.members {
            let Some(path) = member.path else {
                of_member.push(None);
                continue;
            };
            let path = &network.paths[path];
            let middle_mm = member.middle_mm();
            let (width_mm, depth_mm) = path.channel_at(middle_mm);
            of_member.push(Some(all.len()));
            all.push(Station {
                member: *member,
                run: path.run,
                at: path.at(middle_mm).0,
                width_mm,
                thickness_mm: thickness_mm(project, width_mm, depth_mm),
                length_mm: member.to_mm - member.from_mm,
            });
        }
        Ok(Self { network, all, of_member })
    }

    /// The station of a member; `None` for a link.
    pub(crate) fn of_member(&self, member: usize) -> Option<&Station> {
        self.all.get(self.of_member[member]?)
    }

    /// The place that stays hot the longest, and what it cools like. Where runs meet, the sides do not cool,
    /// as the other arms are as hot: it is a plate.
    pub(crate) fn thickest(&self, project: &Project) -> (Thickest, Body) {
        let candidate = |run, at, width_mm, thickness_mm, is_junction| {
            let body = if is_junction { Body::Slab { thickness_mm } } else { bar(width_mm, thickness_mm) };
            (Thickest { run, at, width_mm, thickness_mm, is_junction }, body)
        };
        let of_station = |station: &Station| {
            let Station { run, at, width_mm, thickness_mm, member, .. } = *station;
            candidate(run, at, width_mm, thickness_mm, member.is_stiff)
        };
        // Channels change in straight lines: the thickest place of a piece may be either of its points.
        let of_point = |(&id, run): (&Id, &keepside_model::Run)| -> Vec<_> {
            let at = |point: &keepside_model::RunPoint| {
                let thickness_mm = thickness_mm(project, point.width_mm, point.depth_mm);
                candidate(id, point.at, point.width_mm, thickness_mm, false)
            };
            run.points.iter().map(at).collect()
        };
        let runs =
            project.part.runs.iter().filter(|(id, _)| self.all.iter().any(|station| station.run == **id));
        let all = self.all.iter().map(of_station).chain(runs.flat_map(of_point));
        let slow = |body: &Body| body.one_term_s(1.0, 0.1);
        let nothing = candidate(Id(0), DVec2::ZERO, 1.0, 1.0, false);
        // Of equals the first.
        all.reduce(|a, b| if slow(&b.1) > slow(&a.1) * (1.0 + 1e-9) { b } else { a }).unwrap_or(nothing)
    }

    /// Mean over the part's volume of the share of the first temperature difference that is left.
    pub(crate) fn mean_share(&self, diffusivity_mm2_s: f64, time_s: f64) -> f64 {
        let mut sums = (0.0, 0.0);
        for station in &self.all {
            let fourier = |size_mm: f64| diffusivity_mm2_s * time_s / (size_mm * size_mm);
            let share = super::heat::slab_mean(fourier(station.width_mm))
                * super::heat::slab_mean(fourier(station.thickness_mm));
            let volume_mm3 = station.width_mm * station.thickness_mm * station.length_mm;
            sums = (sums.0 + share * volume_mm3, sums.1 + volume_mm3);
        }
        if sums.1 > 0.0 { sums.0 / sums.1 } else { 0.0 }
    }

    /// The station under a point of the plan; `None` beside the channel.
    pub(crate) fn under(&self, lookup: &Lookup<'_>, point: DVec2) -> Option<usize> {
        let place = lookup.channel_at(point).filter(|place| place.inside)?;
        let of_run = self.all.iter().enumerate().filter(|(_, station)| station.run == place.run);
        let away = |station: &Station| station.at.distance_squared(place.at);
        of_run.min_by(|a, b| away(a.1).total_cmp(&away(b.1))).map(|(index, _)| index)
    }
}

/// Thickness of a channel, mm: its depth, and at the root of a rib the circle that fits in there.
///
/// That circle touches the face behind the rib and the two corners in front of it: `h + w²/(4h)` for a depth
/// `h` and a rib `w` wide, no more than the rib is high (plain geometry).
fn thickness_mm(project: &Project, width_mm: f64, depth_mm: f64) -> f64 {
    let root_mm = project.part.rib.map_or(0.0, |rib| {
        let rib_mm = rib.width_mm.min(width_mm);
        (rib_mm * rib_mm / (4.0 * depth_mm)).min(rib.height_mm)
    });
    depth_mm + root_mm
}
