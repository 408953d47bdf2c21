//! Where a pin could stand, and which pins there are.

use glam::DVec2;
use keepside_model::{FeatureKind, Half, Project};

use crate::finding::on_hand_sizes;
use crate::outline::{channel_at, plan_diameter_mm};
use crate::suggest::Pin;

/// Distances from a gate at which a pin may flank it, in channel widths; assumed.
const FLANKS: [f64; 3] = [1.5, 3.0, 5.0];
/// From the end of a run, in channel widths; assumed.
const FROM_END: f64 = 2.0;
/// Two places closer than this many channel widths are one.
const APART: f64 = 0.5;

/// Places in the plan, mm, where a pin of the moving half could stand: behind every gate, flanking it, near the
/// ends of every run, and in the middle between those.
pub fn sites(project: &Project) -> Vec<DVec2> {
    let mut found: Vec<DVec2> = Vec::new();
    let mut add = |at: DVec2| {
        let Some(place) = channel_at(project, at).filter(|place| place.inside) else { return };
        if found.iter().all(|other| other.distance(place.at) >= APART * place.width_mm) {
            found.push(place.at);
        }
    };
    for sprue in project.sprues.values() {
        add(sprue.at);
        if let Some(place) = channel_at(project, sprue.at) {
            for share in FLANKS {
                for way in [-1.0, 1.0] {
                    add(place.at + place.direction * (way * share * place.width_mm));
                }
            }
        }
    }
    for run in project.part.runs.values() {
        for (end, next) in [(0, 1), (run.points.len().wrapping_sub(1), run.points.len().wrapping_sub(2))] {
            if let (Some(end), Some(next)) = (run.points.get(end), run.points.get(next)) {
                let way = (next.at - end.at).normalize_or(DVec2::ZERO);
                add(end.at + way * (FROM_END * end.width_mm));
            }
        }
        for pair in run.points.windows(2) {
            add(pair[0].at.midpoint(pair[1].at));
        }
    }
    found
}

/// Pins that the bench has: a set screw of every size on hand that leaves the plastic room to flow on both
/// sides, standing in by half of the channel's least depth; and every kind of pin that the layout has already.
pub fn pins_on_hand(project: &Project) -> Vec<Pin> {
    let points = || project.part.runs.values().flat_map(|run| &run.points);
    let width_mm = points().map(|point| point.width_mm).fold(f64::INFINITY, f64::min);
    let depth_mm = points().map(|point| point.depth_mm).fold(f64::INFINITY, f64::min);
    let mut pins: Vec<Pin> = Vec::new();
    let mut add = |pin: Pin| {
        if !pins.contains(&pin) {
            pins.push(pin);
        }
    };
    for feature in project.features.values().filter(|feature| feature.half == Half::Moving) {
        add(Pin { kind: feature.kind, protrusion_mm: feature.protrusion_mm });
    }
    for size in on_hand_sizes(project) {
        let kind = FeatureKind::set_screw(size);
        if plan_diameter_mm(&kind) + 2.0 * project.limits.flow_gap_mm <= width_mm && depth_mm.is_finite() {
            add(Pin { kind, protrusion_mm: 0.5 * depth_mm });
        }
    }
    pins
}
