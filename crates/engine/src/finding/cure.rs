//! Places and sizes that cure a finding, tried out on the outline before they are offered.

use glam::DVec2;
use keepside_model::{Edit, FeatureKind, Id, Item, KeyingFeature, Project, ThreadSize};

use super::Drawn;
use super::mounting::{in_size, on_hand_sizes};
use crate::outline::plan_diameter_mm;

pub(super) use crate::outline::SLACK_MM;

/// The edit that moves items; `None` if one would leave the plan.
pub(super) fn move_by(project: &Project, ids: Vec<Id>, by_mm: DVec2) -> Option<Edit> {
    let stays = |&id: &Id| {
        project.item(id).is_some_and(|mut item| {
            item.shift(by_mm);
            item.check().is_ok()
        })
    };
    ids.iter().all(stays).then_some(Edit::Move { ids, by_mm })
}

impl Drawn<'_> {
    /// Distance from `at` to the nearest wall of any kind, mm, negative outside the channel.
    pub(super) fn clear_mm(&self, at: DVec2) -> f64 {
        self.lookup.clear_mm(at)
    }

    /// Distance from a place in the channel to the nearest end of it, mm, and the end's nearest point.
    pub(super) fn end_mm(&self, at: DVec2) -> Option<(DVec2, f64)> {
        let end = self.lookup.nearest_end(at)?;
        Some((end.at, end.distance_mm))
    }

    /// The place in mid-channel nearest to `at` at which something round keeps `gap_mm` from every wall
    /// and the end gap from every end; `None` if there is none.
    pub(super) fn mid_channel(&self, at: DVec2, radius_mm: f64, gap_mm: f64) -> Option<DVec2> {
        let place = self.lookup.channel_at(at)?;
        let wanted_mm = radius_mm + self.project.limits.end_gap_mm.max(gap_mm);
        let mut candidates = vec![place.at];
        if let Some((end, distance_mm)) = self.end_mm(place.at)
            && distance_mm < wanted_mm
        {
            // Away from the end, along the channel.
            let inwards = place.direction * (place.at - end).dot(place.direction).signum();
            candidates.extend([-1.0, 1.0].map(|way| place.at + inwards * (way * (wanted_mm - distance_mm))));
            candidates.push(place.at + place.direction * wanted_mm);
            candidates.push(place.at - place.direction * wanted_mm);
        }
        let fits = |&candidate: &DVec2| {
            let end_mm = self.end_mm(candidate).map_or(f64::INFINITY, |(_, distance_mm)| distance_mm);
            self.clear_mm(candidate) >= radius_mm + gap_mm - SLACK_MM && end_mm >= wanted_mm - SLACK_MM
        };
        let found: Vec<DVec2> = candidates.into_iter().filter(fits).collect();
        found.into_iter().min_by(|a, b| a.distance(at).total_cmp(&b.distance(at)))
    }
}

/// The widest ejector pin that is sold and not wider than `widest_mm`, mm: in steps of half a millimetre,
/// below 1 mm of a tenth (common practice, no source); `None` if it would be thinner than 0.5 mm.
pub(super) fn sold_diameter_mm(widest_mm: f64) -> Option<f64> {
    let steps = if widest_mm + SLACK_MM >= 1.0 { 2.0 } else { 10.0 };
    let diameter_mm = ((widest_mm + SLACK_MM) * steps).floor() / steps;
    (diameter_mm >= 0.5).then_some(diameter_mm)
}

/// Moves an item to a place.
pub(super) fn move_to(id: Id, from: DVec2, to: DVec2) -> Option<Edit> {
    Some(Edit::Move { ids: vec![id], by_mm: to - from })
}

/// Replaces a feature by a changed one.
pub(super) fn set(id: Id, feature: KeyingFeature) -> Option<Edit> {
    Some(Edit::Set(id, Item::Feature(feature)))
}

/// The largest kind that is not wider in plan than `widest_mm`, of a screw in a size that is on hand, and
/// its size in words; `None` if there is none.
pub(super) fn smaller(
    project: &Project,
    kind: &FeatureKind,
    widest_mm: f64,
) -> Option<(FeatureKind, String)> {
    let in_thread = || {
        let fits = |size: &&ThreadSize| plan_diameter_mm(&in_size(kind, **size)) <= widest_mm + SLACK_MM;
        let sizes = on_hand_sizes(project);
        let size = sizes.iter().rev().find(fits)?;
        Some((in_size(kind, *size), size.designation().to_owned()))
    };
    // Down to the next tenth, as one would turn it.
    let turned_mm = ((widest_mm + SLACK_MM) * 10.0).floor() / 10.0;
    match *kind {
        FeatureKind::SetScrew { .. } | FeatureKind::CapHead { .. } => in_thread(),
        FeatureKind::PlainPost { .. } => (turned_mm >= 0.5)
            .then(|| (FeatureKind::PlainPost { diameter_mm: turned_mm }, format!("{turned_mm:.1} mm"))),
        FeatureKind::RingedPost { diameter_mm, ring_depth_mm, ring_width_mm, land_mm, flank_deg } => {
            let neck_mm = diameter_mm - 2.0 * ring_depth_mm;
            let kind = FeatureKind::RingedPost {
                diameter_mm: turned_mm,
                ring_depth_mm,
                ring_width_mm,
                land_mm,
                flank_deg,
            };
            (turned_mm - (diameter_mm - neck_mm) >= 0.5)
                .then(|| (kind, format!("a post of {turned_mm:.1} mm")))
        }
        FeatureKind::TurnedHead { head_diameter_mm, neck_diameter_mm, head_height_mm, underside_deg } => {
            let neck_diameter_mm = turned_mm - (head_diameter_mm - neck_diameter_mm);
            let kind = FeatureKind::TurnedHead {
                head_diameter_mm: turned_mm,
                neck_diameter_mm,
                head_height_mm,
                underside_deg,
            };
            (neck_diameter_mm >= 0.5 && turned_mm > neck_diameter_mm)
                .then(|| (kind, format!("a head of {turned_mm:.1} mm")))
        }
    }
}
