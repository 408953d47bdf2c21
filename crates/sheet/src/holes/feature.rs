//! The hole of a keying feature, as its mount says.

use keepside_engine::hardware::{self, Sold};
use keepside_engine::mount::{self, Depth as HoleDepth, Face, Hole, Key, Mount, Screw};
use keepside_engine::outline;
use keepside_model::{FeatureKind, KeyingFeature, Project, ScrewEnd};

use super::{AfterDrilling, Depth, FromBehind, HoleRow, Opening, length};

/// Fills in the row of a feature.
pub(super) fn fill(mut row: HoleRow, project: &Project, feature: &KeyingFeature) -> HoleRow {
    row.what = what(feature);
    let Some(mount) = mount::of(project, row.id) else { return row };
    let hole = &mount.hole;
    row.drill_mm = Some(hole.drill_mm);
    row.depth = match hole.depth {
        HoleDepth::Through => Depth::Through,
        HoleDepth::Blind { full_mm, .. } | HoleDepth::Seat { full_mm, .. } => {
            Depth::Blind { depth_mm: full_mm }
        }
    };
    row.after = match (hole.thread, hole.ream_mm) {
        (Some(thread), _) => AfterDrilling::Tap(thread.size),
        (None, Some(diameter_mm)) => AfterDrilling::Ream { diameter_mm },
        (None, None) => AfterDrilling::Nothing,
    };
    row.stands_mm = Some(feature.protrusion_mm);
    row.behind = behind(&mount);
    if let Some(screw) = &mount.screw {
        row.what = format!("{} × {}", row.what, screw.length_mm);
        row.note += &check(screw);
    }
    row.note += &hole_note(project, hole, &mount);
    row.note += &set_note(feature, &mount);
    row.note += &format!(" Lock: {}.", mount.lock_words());
    row
}

fn what(feature: &KeyingFeature) -> String {
    match feature.kind {
        FeatureKind::SetScrew { thread, .. } => format!("set screw {}", thread.designation()),
        FeatureKind::CapHead { thread, .. } => format!("cap screw {}", thread.designation()),
        FeatureKind::TurnedHead { .. } => "turned head".to_owned(),
        FeatureKind::PlainPost { .. } => "plain post".to_owned(),
        FeatureKind::RingedPost { .. } => "ringed post".to_owned(),
    }
}

/// What is done from the plate's back.
fn behind(mount: &Mount) -> Option<FromBehind> {
    let (screw, thread) = (mount.locking.back_screw, mount.hole.thread);
    let opening = mount.hole.opening.map(|opening| Opening {
        diameter_mm: opening.diameter_mm,
        depth_mm: mount.steel_mm - opening.beyond_mm,
        is_needed: thread.is_none(),
    });
    // Of a tapped hole the thread is there already; behind a post it is the opening that is tapped.
    let tap = screw.filter(|_| thread.is_none()).map(|(size, _)| size);
    let key_mm = mount.key.as_ref().filter(|key| key.from == Face::Back).map(|key| key.width_mm);
    let behind = FromBehind { opening, tap, screw, key_mm };
    (behind != FromBehind::default()).then_some(behind)
}

/// What is to be looked at before the screw is bought.
fn check(screw: &Screw) -> String {
    let name = format!("{} {} × {}", screw.stock.word(), screw.thread.designation(), screw.length_mm);
    let sold = match screw.sold {
        Sold::Yes => String::new(),
        Sold::Uncertain => format!("CHECK that {name} is sold. "),
        Sold::No => format!("CHECK: no {name} is sold; cut a longer one. "),
    };
    let out = if screw.sticks_out() {
        format!("CHECK: the screw sticks {} out of the plate's back. ", length(-screw.back_mm))
    } else {
        String::new()
    };
    sold + &out
}

/// How the hole is made, as far as the other columns do not tell it.
fn hole_note(project: &Project, hole: &Hole, mount: &Mount) -> String {
    let mut note = String::new();
    match hole.depth {
        HoleDepth::Through => {}
        HoleDepth::Blind { left_mm, .. } => {
            if left_mm < project.limits.drill_floor_mm - 1e-6 {
                note += &format!("CHECK: the drill's point leaves {} mm of plate. ", length(left_mm));
            }
        }
        HoleDepth::Seat { behind_mm, .. } => {
            note += &format!(
                "Then Ø{} right through: lets air out, takes a knock-out punch. ",
                length(behind_mm)
            );
        }
    }
    if let Some(depth_mm) = hole.thread.and_then(|thread| thread.depth_mm) {
        note += &format!("Full thread to {} mm below the channel floor. ", length(depth_mm));
    }
    note += &match (hole.opening, hole.thread, mount.locking.back_screw) {
        (Some(opening), Some(_), _) => format!(
            "Below {} mm of thread, counted from the channel floor, may be opened to Ø{} from behind. ",
            length(opening.beyond_mm),
            length(opening.diameter_mm)
        ),
        (Some(opening), None, Some((thread, _))) => format!(
            "From behind Ø{} up to {} mm below the channel floor, tapped {}. ",
            length(opening.diameter_mm),
            length(opening.beyond_mm),
            thread.designation()
        ),
        _ => String::new(),
    };
    note
}

/// How the feature is made and set.
fn set_note(feature: &KeyingFeature, mount: &Mount) -> String {
    let stands = format!("{} mm above the channel floor", length(feature.protrusion_mm));
    let with = mount.key.as_ref().map(key_note).unwrap_or_default();
    match feature.kind {
        FeatureKind::SetScrew { end: ScrewEnd::Socket, .. } => {
            format!("Socket up; turn it {with} until it stands {stands}. No countersink.")
        }
        FeatureKind::SetScrew { end, .. } => {
            format!("Turned over, {}; turn it {with} until it stands {stands}. No countersink.", end.word())
        }
        FeatureKind::CapHead { thread, chamfer_mm, .. } => {
            let height_mm = hardware::cap_head(thread).head_height_mm;
            let diameter_mm = outline::plan_diameter_mm(&feature.kind);
            let is_turned = diameter_mm < hardware::cap_head_diameter_mm(thread);
            let chamfer = if chamfer_mm > 0.0 {
                format!(" Chamfer the rim of its underside {} × 45°.", length(chamfer_mm))
            } else {
                String::new()
            };
            format!(
                "Screw in {with}; head {}Ø{} × {}, its top {stands}{}.{chamfer} No countersink.",
                if is_turned { "turned down to " } else { "" },
                length(diameter_mm),
                length(height_mm),
                under_head(feature.protrusion_mm - height_mm)
            )
        }
        FeatureKind::TurnedHead { head_diameter_mm, head_height_mm, underside_deg, .. } => format!(
            "Put in from the parting face; head Ø{} × {}, underside {underside_deg}°, its top {stands}{}.",
            length(head_diameter_mm),
            length(head_height_mm),
            under_head(feature.protrusion_mm - head_height_mm)
        ),
        FeatureKind::PlainPost { .. } => format!("The post stands {stands}."),
        FeatureKind::RingedPost { ring_depth_mm, ring_width_mm, land_mm, flank_deg, .. } => format!(
            "The post stands {stands}. Ring {} deep, {} wide, upper flank {flank_deg}°, {} below the top.",
            length(ring_depth_mm),
            length(ring_width_mm),
            length(land_mm)
        ),
    }
}

/// Which key from where, in words that follow "turn it".
fn key_note(key: &Key) -> String {
    let width_mm = key.width_mm;
    match (key.from, key.arm) {
        (Face::Parting, Some(_)) => format!("from the parting face with a {width_mm} mm key"),
        (Face::Back, Some(arm)) => format!(
            "from behind with a {width_mm} mm key, {}, {} deep,",
            arm.word(),
            length((10.0 * key.needed_mm).round() / 10.0)
        ),
        (_, None) => format!(
            "(CHECK: no {width_mm} mm key reaches {} deep)",
            length((10.0 * key.needed_mm).round() / 10.0)
        ),
    }
}

/// The clear height under a head, which is what locks the part; in words.
fn under_head(clear_mm: f64) -> String {
    if clear_mm > 0.0 {
        format!(", {} mm clear under it", length(clear_mm))
    } else {
        ". CHECK: nothing is clear under the head, it locks nothing".to_owned()
    }
}
