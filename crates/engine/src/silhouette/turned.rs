//! Heads and posts: cap screw heads, turned heads, posts plain and with a ring.

use keepside_model::ThreadSize;

use super::{PlanLine, ProfilePoint, Recess, RecessKind, Silhouette, across_corners_mm};
use crate::hardware;

/// A cap screw head as it stands in the channel.
#[derive(Clone, Copy)]
pub(super) struct CapHead {
    pub(super) bought: &'static hardware::CapHead,
    /// Diameter, turned or as bought, mm.
    pub(super) head_mm: f64,
    /// Chamfer of 45° on the rim of the underside, mm.
    pub(super) chamfer_mm: f64,
}

/// A turned head.
#[derive(Clone, Copy)]
pub(super) struct Head {
    pub(super) head_mm: f64,
    pub(super) neck_mm: f64,
    pub(super) height_mm: f64,
    /// Fall of the underside towards the neck, per mm of radius.
    pub(super) slope: f64,
}

/// A ring turned into a post.
#[derive(Clone, Copy)]
pub(super) struct Ring {
    pub(super) depth_mm: f64,
    pub(super) width_mm: f64,
    pub(super) land_mm: f64,
    /// Fall of the upper flank towards the axis, per mm of radius.
    pub(super) slope: f64,
}

/// Starts a profile of radius `radius_mm` at `from_mm`, and goes on at what lies above it.
fn raise(points: &[ProfilePoint], from_mm: f64, top_mm: f64) -> Vec<ProfilePoint> {
    // What lies below the lowest drawn place is cut off there.
    let mut profile: Vec<ProfilePoint> = Vec::with_capacity(points.len() + 2);
    for pair in points.windows(2) {
        let ((r0, z0), (r1, z1)) = (pair[0], pair[1]);
        if z1 < from_mm || (z0 < from_mm && z1 == z0) {
            continue;
        }
        if profile.is_empty() {
            let share = if z0 < from_mm && z1 > z0 { (from_mm - z0) / (z1 - z0) } else { 0.0 };
            profile.push((r0 + share * (r1 - r0), z0.max(from_mm)));
        }
        profile.push((r1, z1));
    }
    profile.push((0.0, top_mm));
    profile
}

pub(super) fn cap_head(
    size: ThreadSize,
    head: CapHead,
    top_mm: f64,
    from_mm: f64,
    length_mm: Option<f64>,
) -> Silhouette {
    let CapHead { bought, head_mm, chamfer_mm } = head;
    // A head turned down to less than its screw is a stud of that diameter.
    let neck_mm = hardware::nominal_diameter_mm(size).min(head_mm);
    let (r, neck) = (0.5 * head_mm, 0.5 * neck_mm);
    let rim_mm = top_mm - bought.head_height_mm;
    let cut_mm = chamfer_mm.clamp(0.0, r - neck).min(bought.head_height_mm);
    // The length of a cap screw counts from under its head.
    let bottom_mm = length_mm.map(|length_mm| rim_mm - length_mm).filter(|bottom_mm| *bottom_mm > from_mm);
    let mut points = Vec::new();
    if let Some(bottom_mm) = bottom_mm {
        points.push((0.0, bottom_mm));
    }
    let foot_mm = bottom_mm.unwrap_or_else(|| from_mm.min(rim_mm - 1.0));
    points.extend([(neck, foot_mm), (neck, rim_mm), (r - cut_mm, rim_mm)]);
    if cut_mm > 0.0 {
        points.push((r, rim_mm + cut_mm));
    }
    points.push((r, top_mm));
    let socket = 0.5 * across_corners_mm(bought.socket_mm);
    let floor_mm = top_mm - bought.socket_depth_mm;
    let recess = Recess {
        kind: RecessKind::Hexagon { across_flats_mm: bought.socket_mm, depth_mm: bought.socket_depth_mm },
        profile: vec![(socket, top_mm), (socket, floor_mm), (0.0, floor_mm)],
    };
    let mut plan = vec![PlanLine::circle(head_mm)];
    if neck_mm < head_mm {
        plan.push(PlanLine::hidden(neck_mm));
    }
    plan.push(PlanLine::hexagon(bought.socket_mm));
    Silhouette { recesses: vec![recess], ..Silhouette::turned(raise(&points, from_mm, top_mm), plan, top_mm) }
}

pub(super) fn head(head: Head, top_mm: f64, from_mm: f64) -> Silhouette {
    let Head { head_mm, neck_mm, height_mm, slope } = head;
    let (r, neck) = (0.5 * head_mm, 0.5 * neck_mm);
    let rim_mm = top_mm - height_mm;
    // A neck thicker than the head leaves a plain step, and no underside.
    let foot_mm = rim_mm - slope.max(0.0) * (r - neck).max(0.0);
    let points = [(neck, from_mm.min(foot_mm - 1.0)), (neck, foot_mm), (r, rim_mm), (r, top_mm)];
    let mut plan = vec![PlanLine::circle(head_mm.max(neck_mm))];
    if neck_mm < head_mm {
        plan.push(PlanLine::hidden(neck_mm));
    } else if neck_mm > head_mm {
        plan.push(PlanLine::circle(head_mm));
    }
    Silhouette::turned(raise(&points, from_mm, top_mm), plan, top_mm)
}

pub(super) fn post(diameter_mm: f64, top_mm: f64, from_mm: f64) -> Silhouette {
    let r = 0.5 * diameter_mm;
    let points = [(r, from_mm.min(top_mm - 1.0)), (r, top_mm)];
    Silhouette::turned(raise(&points, from_mm, top_mm), vec![PlanLine::circle(diameter_mm)], top_mm)
}

/// Depth of a ring where its lower flank, which is square, leaves room for it, mm: a leaning upper flank may
/// reach the lower one before it reaches the full depth.
fn reached_mm(ring: Ring, radius_mm: f64) -> f64 {
    let full_mm = ring.depth_mm.min(radius_mm);
    if full_mm * ring.slope > ring.width_mm { ring.width_mm / ring.slope } else { full_mm }
}

pub(super) fn ringed_post(diameter_mm: f64, ring: Ring, top_mm: f64, from_mm: f64) -> Silhouette {
    let r = 0.5 * diameter_mm;
    let depth_mm = reached_mm(ring, r);
    let upper_mm = top_mm - ring.land_mm;
    let lower_mm = upper_mm - ring.width_mm;
    let points = [
        (r, from_mm.min(lower_mm - 1.0)),
        (r, lower_mm),
        (r - depth_mm, lower_mm),
        (r - depth_mm, upper_mm - ring.slope.max(0.0) * depth_mm),
        (r, upper_mm),
        (r, top_mm),
    ];
    let plan = vec![PlanLine::circle(diameter_mm), PlanLine::hidden(diameter_mm - 2.0 * depth_mm)];
    Silhouette::turned(raise(&points, from_mm, top_mm), plan, top_mm)
}
