//! Single changes that may help.

use keepside_model::{Edit, FeatureKind, Finish, Half, HoldInputs, Id, Item, KeyingFeature, Project};

use crate::finding::{in_size, on_hand_sizes};
use crate::outline::channel_at;
use crate::suggest::score::movable;
use crate::suggest::{Pin, pins_on_hand, sites};

/// A change that is to be weighed.
#[derive(Clone, Debug)]
pub(crate) struct Change {
    pub(crate) words: String,
    pub(crate) edit: Edit,
    pub(crate) holes: i32,
}

/// By how far a pin is moved along its run, in channel widths; by how much it is screwed in or out, mm.
const MOVES: [f64; 4] = [-2.0, -1.0, 1.0, 2.0];
const SCREWED_MM: f64 = 0.5;
/// Draft that a sprue or the fixed half may get, degrees, and what a sprue is shortened to; assumed.
const DRAFTS_DEG: [f64; 2] = [1.0, 2.0];
const SHORTER: f64 = 0.7;
/// By how much the parting line is moved, as a share of the depth.
const OFFSET: f64 = 0.1;
/// What release agent on the fixed half is taken to leave of its tack: the middle of 0.2 to 0.5 by ratio.
const SPRAYED: f64 = 0.32;

/// Every single change that is worth weighing.
pub(crate) fn changes(project: &Project) -> Vec<Change> {
    let mut changes = Vec::new();
    pins(project, &mut changes);
    more_pins(project, &mut changes);
    sprues(project, &mut changes);
    channel(project, &mut changes);
    changes
}

fn pins(project: &Project, changes: &mut Vec<Change>) {
    for id in movable(project) {
        let (tag, feature) = (project.tag(id), &project.features[&id]);
        let mut set = |words: String, feature: KeyingFeature| {
            changes.push(Change { words, edit: Edit::Set(id, Item::Feature(feature)), holes: 0 });
        };
        if let Some(place) = channel_at(project, feature.at) {
            for share in MOVES {
                let by_mm = share * place.width_mm;
                let to = channel_at(project, feature.at + place.direction * by_mm);
                if let Some(to) = to.filter(|to| to.inside && to.at.distance(feature.at) > 0.5 * by_mm.abs())
                {
                    let words =
                        format!("move {tag} by {:.0} mm to ({:.1}, {:.1})", by_mm.abs(), to.at.x, to.at.y);
                    set(words, KeyingFeature { at: to.at, ..feature.clone() });
                }
            }
        }
        for by_mm in [-SCREWED_MM, SCREWED_MM] {
            let protrusion_mm = feature.protrusion_mm + by_mm;
            if protrusion_mm > 0.0 {
                let words = format!("let {tag} stand in by {protrusion_mm:.1} mm");
                set(words, KeyingFeature { protrusion_mm, ..feature.clone() });
            }
        }
        let sizes = on_hand_sizes(project);
        let place = feature.kind.thread().and_then(|thread| sizes.iter().position(|size| *size == thread));
        let near = place.into_iter().flat_map(|i| [i.checked_sub(1), Some(i + 1)]).flatten();
        for size in near.filter_map(|i| sizes.get(i)) {
            let kind: FeatureKind = in_size(&feature.kind, *size);
            let words = format!("make {tag} {}", size.designation());
            // The length that was chosen may not exist in the other size.
            set(words, KeyingFeature { kind, screw_length_mm: None, ..feature.clone() });
        }
        let edit = Edit::Delete(vec![id]);
        changes.push(Change { words: format!("leave {tag} out"), edit, holes: -1 });
    }
}

fn more_pins(project: &Project, changes: &mut Vec<Change>) {
    let Some(Pin { kind, protrusion_mm }) = pins_on_hand(project).first().copied() else { return };
    let free_id = project.free_id();
    for at in sites(project) {
        let width_mm = channel_at(project, at).map_or(0.0, |place| place.width_mm);
        if project.features.values().any(|feature| feature.at.distance(at) < width_mm) {
            continue;
        }
        let gate = project.sprues.iter().find(|(_, sprue)| sprue.at.distance(at) < 0.5 * width_mm);
        let place = gate.map_or_else(
            || format!("at ({:.1}, {:.1})", at.x, at.y),
            |(id, _)| format!("behind gate {}", project.tag(*id)),
        );
        let pin = KeyingFeature::new(at, Half::Moving, kind, protrusion_mm);
        changes.push(Change {
            words: format!("add a {} {place}", kind.word()),
            edit: Edit::Add(free_id, Item::Feature(pin)),
            holes: 1,
        });
    }
}

fn sprues(project: &Project, changes: &mut Vec<Change>) {
    let free: Vec<Id> = project.sprues.keys().copied().filter(|id| !project.locked.contains(id)).collect();
    for id in free {
        let (tag, sprue) = (project.tag(id), &project.sprues[&id]);
        // A measured curve tells of the bore as it is.
        if sprue.measured.is_some() {
            continue;
        }
        let mut set = |words: String, sprue: keepside_model::Sprue| {
            changes.push(Change { words, edit: Edit::Set(id, Item::Sprue(sprue)), holes: 0 });
        };
        for draft_deg in DRAFTS_DEG.into_iter().filter(|draft_deg| *draft_deg > sprue.draft_deg) {
            set(
                format!("draft sprue {tag} by {draft_deg:.0}°"),
                keepside_model::Sprue { draft_deg, ..sprue.clone() },
            );
        }
        let length_mm = SHORTER * sprue.length_mm;
        set(
            format!("shorten sprue {tag} to {length_mm:.1} mm"),
            keepside_model::Sprue { length_mm, ..sprue.clone() },
        );
        if sprue.finish == Finish::AsTurned {
            set(
                format!("polish sprue {tag}"),
                keepside_model::Sprue { finish: Finish::Polished, ..sprue.clone() },
            );
        }
    }
}

fn channel(project: &Project, changes: &mut Vec<Change>) {
    let part = &project.part;
    let split = |moving_share: f64, draft_fixed_deg: f64| Edit::SetSplit {
        moving_share,
        draft_moving_deg: part.draft_moving_deg,
        draft_fixed_deg,
        edge_moving_mm: part.edge_moving_mm,
        edge_fixed_mm: part.edge_fixed_mm,
        rib: part.rib,
    };
    for by in [-OFFSET, OFFSET] {
        let share = part.moving_share + by;
        if (0.0..=1.0).contains(&share) {
            let words = format!("cut {:.0} % of the depth into the moving half", 100.0 * share);
            changes.push(Change { words, edit: split(share, part.draft_fixed_deg), holes: 0 });
        }
    }
    let draft_deg = part.draft_fixed_deg + 1.0;
    let words = format!("draft the channel in the fixed half by {draft_deg:.1}°");
    changes.push(Change { words, edit: split(part.moving_share, draft_deg), holes: 0 });
    if project.holds.release_factor_fixed >= 1.0 {
        let holds = HoldInputs { release_factor_fixed: SPRAYED, ..project.holds.clone() };
        let words = "spray the fixed half with release agent".to_owned();
        changes.push(Change { words, edit: Edit::SetHolds(holds), holes: 0 });
    }
}
