//! The item that a section is cut through: the steel, its recesses, the hole behind it.

use glam::DVec2;
use keepside_engine::mount::{self, Depth, Mount};
use keepside_engine::silhouette::{self, ProfilePoint, Silhouette};
use keepside_engine::{hardware, outline as plan};
use keepside_model::{Ejector, FeatureKind, Half, Id, KeyingFeature, Project, ScrewEnd};

use super::scene::{Area, Cut, Line, LineKind, Stuff};
use super::strip::Strip;

/// The item as it is cut.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Steel {
    pub(crate) half: Half,
    /// Steel and recesses, in the order in which they are painted.
    pub(crate) areas: Vec<Area>,
    pub(crate) lines: Vec<Line>,
    /// Height of its top, mm over the parting plane.
    pub(crate) top: f64,
    /// Largest radius that stands in the channel, mm, and its height over the parting plane.
    pub(crate) widest: (f64, f64),
    /// The hole in its plate, from the channel floor to the back.
    hole: Strip,
    /// Depth of the grooves in its face, mm.
    pub(crate) groove_mm: f64,
    /// How far behind the channel floor it goes, mm.
    pub(crate) deep_mm: f64,
    pub(crate) uncertain: Vec<&'static str>,
    /// How a feature is mounted.
    pub(crate) mount: Option<Mount>,
}

impl Steel {
    /// No item: the channel is cut where nothing stands in it.
    pub(crate) fn none(cut: &Cut) -> Self {
        Self {
            half: Half::Moving,
            areas: Vec::new(),
            lines: Vec::new(),
            top: cut.floor(Half::Moving),
            widest: (0.0, cut.floor(Half::Moving)),
            hole: Strip::between([]),
            groove_mm: 0.0,
            deep_mm: 0.0,
            uncertain: Vec::new(),
            mount: None,
        }
    }

    /// The hole in the plate between two heights.
    pub(crate) fn hole_between(&self, low: f64, high: f64) -> Strip {
        let part = self.hole.part(low, high);
        let Some((first, last)) = part.0.first().zip(part.0.last()) else {
            return Strip::between([(low, 0.0, 0.0), (high, 0.0, 0.0)]);
        };
        // Where the hole ends inside the plate the plate is whole.
        let mut rungs = Vec::new();
        if first.z > low {
            rungs.extend([(low, 0.0, 0.0), (first.z, 0.0, 0.0)]);
        }
        rungs.extend(part.0.iter().map(|rung| (rung.z, rung.left, rung.right)));
        if last.z < high {
            rungs.extend([(last.z, 0.0, 0.0), (high, 0.0, 0.0)]);
        }
        Strip::between(rungs)
    }

    /// How much of the plate behind the channel floor is worth showing, mm.
    pub(crate) fn behind_mm(&self, cut: &Cut) -> f64 {
        self.deep_mm.min(1.6 * self.widest.0 + 0.5 * cut.channel.depth_mm)
    }
}

/// The feature or ejector with this id.
pub(crate) fn of(project: &Project, id: Id, cut: &Cut) -> Option<Steel> {
    if let Some(feature) = project.features.get(&id) {
        return Some(of_feature(project, feature, &mount::of(project, id)?, cut));
    }
    Some(of_ejector(project, project.ejectors.get(&id)?, cut))
}

/// Height over the parting plane of a height over the channel floor of a half.
fn up(cut: &Cut, half: Half) -> impl Fn(f64) -> f64 {
    let (floor, sign) = (cut.floor(half), if half == Half::Moving { -1.0 } else { 1.0 });
    move |height_mm| floor + sign * height_mm
}

fn of_feature(project: &Project, feature: &KeyingFeature, mount: &Mount, cut: &Cut) -> Steel {
    let half = feature.half;
    let up = up(cut, half);
    let behind_mm = (project.plates.thickness_mm(half) - up(0.0).abs()).max(0.0);
    let floor_mm = up(0.0).abs();
    let end_mm = match (mount.screw, mount.hole.depth, mount.hole.opening) {
        (Some(screw), ..) => screw.in_plate_mm,
        (None, Depth::Seat { full_mm, .. }, _) => full_mm - floor_mm,
        (None, _, Some(opening)) => opening.beyond_mm,
        (None, ..) => behind_mm,
    };
    let drawn =
        KeyingFeature { screw_length_mm: mount.screw.map(|screw| screw.length_mm), ..feature.clone() };
    let below_mm = if mount.screw.is_some() { behind_mm.max(end_mm) + 1.0 } else { end_mm };
    let outline = silhouette::of_feature(&drawn, below_mm);
    let mut areas = steel_areas(Stuff::Steel, &outline, &up);
    if let Some((thread, length_mm)) = mount.locking.back_screw {
        let second = KeyingFeature {
            screw_length_mm: Some(length_mm),
            ..KeyingFeature::new(
                feature.at,
                half,
                FeatureKind::SetScrew { thread, end: ScrewEnd::Flat },
                -end_mm,
            )
        };
        let second = silhouette::of_feature(&second, end_mm + length_mm + 1.0);
        areas.extend(steel_areas(Stuff::Lock, &second, &up));
    }
    let in_channel: Vec<ProfilePoint> =
        outline.profile.iter().filter(|point| point.1 > 1e-9).copied().collect();
    let radius = in_channel.iter().map(|point| point.0).fold(0.0, f64::max);
    // Of several places equally wide, the one nearest to the middle of what stands out.
    let middle = 0.5 * outline.top_mm;
    let widest = in_channel
        .iter()
        .filter(|point| radius - point.0 < 1e-6)
        .min_by(|a, b| (a.1 - middle).abs().total_cmp(&(b.1 - middle).abs()))
        .copied()
        .unwrap_or((0.5 * plan::plan_diameter_mm(&feature.kind), outline.top_mm));
    Steel {
        half,
        areas,
        lines: thread_lines(feature, mount, end_mm, behind_mm, &up),
        top: up(outline.top_mm),
        widest: (widest.0, up(widest.1)),
        hole: hole(&outline, mount, (end_mm, behind_mm, floor_mm), &up),
        groove_mm: 0.0,
        deep_mm: behind_mm,
        uncertain: outline.uncertain.into_iter().collect(),
        mount: Some(mount.clone()),
    }
}

/// The steel of something round, and its recesses.
fn steel_areas(stuff: Stuff, outline: &Silhouette, up: &impl Fn(f64) -> f64) -> Vec<Area> {
    let sides = sides(&outline.profile, &outline.far_profile, up);
    let mut areas = vec![Area { stuff, pieces: halves(outline, up), edges: vec![sides] }];
    for recess in &outline.recesses {
        let strip = Strip::about(0.0, recess.profile.iter().map(|&(r, height)| (r, up(height))));
        // Plastic fills a hollow that opens into the channel; the one at the other end is empty.
        let opens = recess.profile.iter().any(|&(_, height)| height >= outline.top_mm - 1e-9);
        let filled = if opens && stuff == Stuff::Steel { Stuff::Plastic } else { Stuff::Empty };
        let edges = vec![strip.left_edge(), strip.right_edge()];
        areas.push(Area { stuff: filled, pieces: strip.quads(), edges });
    }
    areas
}

/// The threads that the silhouette leaves out, as thin lines: of a cap screw, and of the hole behind a
/// screw.
fn thread_lines(
    feature: &KeyingFeature,
    mount: &Mount,
    end_mm: f64,
    behind_mm: f64,
    up: &impl Fn(f64) -> f64,
) -> Vec<Line> {
    let Some(thread) = mount.hole.thread else { return Vec::new() };
    let sizes = hardware::thread(thread.size);
    let deep_mm = thread.depth_mm.unwrap_or(behind_mm).min(behind_mm);
    let deep_mm = mount.hole.opening.map_or(deep_mm, |opening| opening.beyond_mm.min(deep_mm));
    let mut lines = Vec::new();
    let mut both = |radius: f64, from_mm: f64, to_mm: f64| {
        if to_mm > from_mm {
            for x in [-radius, radius] {
                let points = vec![DVec2::new(x, up(-from_mm)), DVec2::new(x, up(-to_mm))];
                lines.push(Line { kind: LineKind::Behind, points });
            }
        }
    };
    if matches!(feature.kind, FeatureKind::CapHead { .. }) {
        both(0.5 * sizes.root_diameter_mm, 0.0, end_mm.min(behind_mm));
    }
    both(0.5 * sizes.nominal_mm, end_mm.max(0.0), deep_mm);
    lines
}

/// The hole in the plate, from the channel floor to the back: as the item's own outside where it is filled,
/// of a thread as its root, whose crests stand in the plate; behind the item's end as it is drilled.
fn hole(
    outline: &Silhouette,
    mount: &Mount,
    (end_mm, behind_mm, floor_mm): (f64, f64, f64),
    up: &impl Fn(f64) -> f64,
) -> Strip {
    let is_set_screw = matches!(mount.kind, FeatureKind::SetScrew { .. });
    let thread = mount.hole.thread.map(|thread| hardware::thread(thread.size));
    let root = thread.filter(|_| is_set_screw).map(|thread| 0.5 * thread.root_diameter_mm);
    let bore = 0.5 * mount.hole.ream_mm.unwrap_or(mount.hole.drill_mm);
    // From the floor downwards: radius and height.
    let mut rungs: Vec<ProfilePoint> = Vec::new();
    let at_floor = outline.radius_mm(-1e-9).unwrap_or(bore);
    rungs.push((root.map_or(at_floor, |root| root.min(at_floor)), 0.0));
    let below = outline.profile.iter().rev().filter(|point| point.0 > 1e-9 && point.1 < 0.0);
    rungs.extend(below.map(|&(r, height)| (root.map_or(r, |root| root.max(bore)).min(r.max(bore)), height)));
    let end_mm = end_mm.clamp(0.0, behind_mm);
    let mut to = |radius: f64, deep_mm: f64| rungs.push((radius, -deep_mm.min(behind_mm)));
    to(bore, end_mm);
    match mount.hole.depth {
        Depth::Through => {
            let opening = mount.hole.opening.filter(|opening| opening.beyond_mm < behind_mm);
            if let Some(opening) = opening {
                let from_mm = opening.beyond_mm.max(end_mm);
                to(bore, from_mm);
                to(0.5 * opening.diameter_mm, from_mm);
                to(0.5 * opening.diameter_mm, behind_mm);
            } else {
                to(bore, behind_mm);
            }
        }
        Depth::Blind { full_mm, point_mm, .. } => {
            let full_mm = (full_mm - floor_mm).max(end_mm);
            to(bore, full_mm);
            to(0.0, full_mm + point_mm);
        }
        Depth::Seat { full_mm, behind_mm: through_mm } => {
            let full_mm = (full_mm - floor_mm).max(end_mm);
            to(bore, full_mm);
            to(0.5 * through_mm, full_mm);
            to(0.5 * through_mm, behind_mm);
        }
    }
    // What sticks out of the plate's back is not part of the hole.
    let inside = rungs.into_iter().filter(|point| point.1 >= -behind_mm - 1e-9);
    Strip::about(0.0, inside.map(|(radius, height)| (radius, up(height))))
}

/// The outline of the steel: up one side, down the other.
fn sides(near: &[ProfilePoint], far: &[ProfilePoint], up: &impl Fn(f64) -> f64) -> Vec<DVec2> {
    let mut points: Vec<DVec2> = near.iter().map(|&(r, height)| DVec2::new(r, up(height))).collect();
    points.extend(far.iter().rev().map(|&(r, height)| DVec2::new(-r, up(height))));
    points.dedup_by(|a, b| a.distance(*b) < 1e-9);
    points
}

/// Pieces that fill both sides of the axis.
fn halves(outline: &Silhouette, up: &impl Fn(f64) -> f64) -> Vec<[DVec2; 4]> {
    let side = |profile: &[ProfilePoint], sign: f64| {
        Strip::between(profile.iter().map(|&(r, height)| (up(height), 0.0, sign * r))).quads()
    };
    let mut pieces = side(&outline.profile, 1.0);
    pieces.extend(side(&outline.far_profile, -1.0));
    pieces
}

fn of_ejector(project: &Project, ejector: &Ejector, cut: &Cut) -> Steel {
    let half = Half::Moving;
    let up = up(cut, half);
    let behind_mm = (project.plates.thickness_mm(half) - up(0.0).abs()).max(0.0);
    let face = silhouette::of_ejector(ejector);
    let radius = 0.5 * ejector.diameter_mm;
    // Flush with the channel floor, grooves sunk into it and filled with plastic.
    let body = Strip::about(0.0, [(radius, up(0.0)), (radius, up(-behind_mm))]);
    let mut edges = vec![body.left_edge(), body.right_edge()];
    edges.push(face.across.iter().map(|&(x, height)| DVec2::new(x, up(height))).collect());
    let mut areas = vec![Area { stuff: Stuff::Steel, pieces: body.quads(), edges }];
    // Four corners a groove: mouth, bottom, bottom, mouth.
    let corners: Vec<DVec2> = face.across.iter().map(|&(x, height)| DVec2::new(x, up(height))).collect();
    let inner = corners.get(1..corners.len().saturating_sub(1)).unwrap_or_default();
    let grooves: Vec<[DVec2; 4]> =
        inner.chunks_exact(4).map(|groove| [groove[0], groove[1], groove[2], groove[3]]).collect();
    if !grooves.is_empty() {
        areas.push(Area { stuff: Stuff::Plastic, pieces: grooves, edges: Vec::new() });
    }
    Steel {
        half,
        areas,
        lines: Vec::new(),
        top: up(0.0),
        widest: (radius, up(0.0)),
        hole: body,
        groove_mm: face.across.iter().map(|point| -point.1).fold(0.0, f64::max),
        deep_mm: behind_mm,
        uncertain: face.uncertain.into_iter().collect(),
        mount: None,
    }
}
