//! The part as a network of centre lines: runs that bend, meet, cross and close, cut into members.

mod joint;
mod mesh;
mod path;

use glam::DVec2;
use keepside_model::{Half, Part, Project};

use crate::beam::ChannelShape;
use crate::opening::NotComputed;
use crate::outline;

pub(crate) use joint::Meeting;
pub(crate) use mesh::Sizes;
pub(crate) use path::Path;

/// The part cut into straight members between nodes.
#[derive(Clone, Debug)]
pub(crate) struct Network {
    pub(crate) paths: Vec<Path>,
    /// Places of the nodes in the plan, mm.
    pub(crate) nodes: Vec<DVec2>,
    /// For every path the places along it of its nodes, ascending, and which nodes they are.
    pub(crate) stations: Vec<Vec<(f64, usize)>>,
    pub(crate) members: Vec<Member>,
}

/// A straight piece of the part between two nodes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Member {
    pub(crate) from: usize,
    pub(crate) to: usize,
    /// The path it belongs to; `None` for the link between centre lines that meet without touching.
    pub(crate) path: Option<usize>,
    /// Places along the path of both ends, mm.
    pub(crate) from_mm: f64,
    pub(crate) to_mm: f64,
    /// Within a junction, where the other arms keep it from bending.
    pub(crate) is_stiff: bool,
}

impl Member {
    /// Its middle along the path, mm.
    pub(crate) fn middle_mm(&self) -> f64 {
        0.5 * (self.from_mm + self.to_mm)
    }
}

/// The runs that have a length, with ends that join another run cut to it, and where they meet.
pub(crate) fn paths(project: &Project) -> Result<(Vec<Path>, Vec<Meeting>), NotComputed> {
    let runs = &project.part.runs;
    let mut paths: Vec<Path> = runs.iter().filter_map(|(&id, run)| Path::new(id, run)).collect();
    if paths.is_empty() {
        return Err(runs.keys().next().map_or(NotComputed::NoRun, |&run| NotComputed::NoLength { run }));
    }
    let meetings = joint::meetings(&mut paths);
    Ok((paths, meetings))
}

impl Network {
    /// Whether one straight run is all there is, so that a plane holds it.
    pub(crate) fn is_straight(paths: &[Path], meetings: &[Meeting]) -> bool {
        paths.len() == 1 && meetings.is_empty() && paths[0].is_straight()
    }

    /// The cross-section of a member, taken at its middle.
    pub(crate) fn shape(&self, part: &Part, member: &Member) -> ChannelShape {
        let Some(path) = member.path.map(|path| &self.paths[path]) else {
            // A link is as thick as what it joins; it is stiff in any case.
            let end = self
                .members
                .iter()
                .find(|other| other.path.is_some() && [other.from, other.to].contains(&member.from));
            let of = end.and_then(|end| Some((&self.paths[end.path?], end.middle_mm())));
            let (width_mm, depth_mm) = of.map_or((1.0, 1.0), |(path, along)| path.channel_at(along));
            return ChannelShape::new(part, width_mm, depth_mm);
        };
        let along_mm = member.middle_mm();
        ChannelShape::new(part, path.width_mm(along_mm), path.channel_at(along_mm).1)
    }

    /// The member at a place along a path, and the place in it, 0 to 1.
    pub(crate) fn place(&self, path: usize, along_mm: f64) -> (usize, f64) {
        let of_path = self.members.iter().enumerate().filter(|(_, member)| member.path == Some(path));
        let away = |member: &Member| (member.from_mm - along_mm).max(along_mm - member.to_mm).max(0.0);
        let nearest = of_path.min_by(|a, b| away(a.1).total_cmp(&away(b.1)));
        nearest.map_or((0, 0.0), |(index, member)| {
            let place = (along_mm - member.from_mm) / (member.to_mm - member.from_mm);
            (index, place.clamp(0.0, 1.0))
        })
    }

    /// What of the faces and walls at a place along a path is this path's own, on one side of it (−1
    /// right, 1 left, 0 both): where runs overlap, each has its share of the floor, and no wall stands.
    pub(crate) fn cover(&self, project: &Project, path: usize, along_mm: f64, side: f64) -> Cover {
        let of = &self.paths[path];
        let (at, direction) = of.at(along_mm);
        let half_mm = 0.5 * of.width_mm(along_mm);
        let vented = |half: Half| {
            let near = |vent: &keepside_model::Vent| {
                vent.half == half && vent.at.distance(at) <= half_mm + VENT_REACH_MM
            };
            project.vents.values().any(near)
        };
        let is_vented = [vented(Half::Fixed), vented(Half::Moving)];
        if self.paths.len() == 1 {
            return Cover { floor: 1.0, wall: 1.0, is_vented };
        }
        let left = direction.perp();
        let others = |beside_mm: f64| {
            let point = at + left * beside_mm;
            let runs = outline::runs_at(project, point).filter(|place| place.inside && place.run != of.run);
            runs.count() as f64
        };
        let sides: &[f64] = if side == 0.0 { &[-1.0, 1.0] } else { &[side] };
        let (mut floor, mut wall) = (0.0, 0.0);
        for side in sides {
            let strips = [0.125, 0.375, 0.625, 0.875];
            let own = strips.iter().map(|share| 1.0 / (1.0 + others(side * share * half_mm)));
            floor += own.sum::<f64>() / 4.0 / sides.len() as f64;
            wall += if others(side * half_mm) == 0.0 { 1.0 } else { 0.0 } / sides.len() as f64;
        }
        Cover { floor, wall, is_vented }
    }
}

/// What of the faces and walls at a place belongs to it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cover {
    /// Share of the floors.
    pub(crate) floor: f64,
    /// Share of the walls.
    pub(crate) wall: f64,
    /// Whether a vent lets air under the faces, fixed half and moving half.
    pub(crate) is_vented: [bool; 2],
}

/// Air gets under a face within this distance of a vent, mm; assumed.
const VENT_REACH_MM: f64 = 10.0;
