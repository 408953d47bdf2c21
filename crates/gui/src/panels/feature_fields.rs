//! The fields of a keying feature: what it is, how big, how far it stands out, how it is kept.

use keepside_engine::hardware::{Sold, Stock};
use keepside_engine::mount::{self, Depth};
use keepside_engine::{hardware, outline, silhouette};
use keepside_model::{FeatureKind, Id, KeyingFeature, Lock, Project, ScrewEnd, ThreadSize, bounds};

use super::fields::Fields;
use super::item_fields::{HALVES, place};
use crate::look::Palette;
use crate::units::Unit;

/// Step of the protrusion on its slider, mm: about a tenth of a turn of a small screw.
pub(crate) const PROTRUSION_STEP_MM: f64 = 0.05;

/// The fields of `feature`.
pub(super) fn feature(fields: &mut Fields<'_>, project: &Project, id: Id, feature: &mut KeyingFeature) {
    fields.text("Name", &mut feature.name);
    place(fields, &mut feature.at);
    fields.choice("Set into", &mut feature.half, &HALVES);
    let kinds = kinds(feature);
    fields.choice("Kind", &mut feature.kind, &kinds);
    sizes(fields, project, feature);
    fields.number("Protrusion", &mut feature.protrusion_mm, bounds::PROTRUSION);
    if let Some(thread) = feature.kind.thread() {
        let deepest_mm = outline::depth_at(project, feature.at).unwrap_or(3.0).max(feature.protrusion_mm);
        let pitch_mm = hardware::thread(thread).pitch_mm;
        let hint = format!("One turn of the screw is {pitch_mm} mm; the slider ends at the channel's depth");
        fields
            .slider("Adjust", &mut feature.protrusion_mm, deepest_mm, PROTRUSION_STEP_MM)
            .on_hover_text(hint);
        fields.fact("Turns out of the floor", &format!("{:.1}", feature.protrusion_mm / pitch_mm));
    }
    screw_length(fields, project, id, feature);
    fields.choice("Locked by", &mut feature.lock, &Lock::ALL.map(|lock| (lock, lock.word())));
}

/// What each kind would be like: the present one as it is, the others of its size.
fn kinds(feature: &KeyingFeature) -> [(FeatureKind, &'static str); 5] {
    let thread = feature.kind.thread().unwrap_or(ThreadSize::M3);
    let diameter_mm = outline::plan_diameter_mm(&feature.kind);
    let head = FeatureKind::TurnedHead {
        head_diameter_mm: diameter_mm,
        neck_diameter_mm: (diameter_mm * 0.75).max(bounds::FEATURE_SIZE.min),
        head_height_mm: (feature.protrusion_mm * 0.5).max(bounds::FEATURE_SIZE.min),
        underside_deg: 30.0,
    };
    // A ring as for a sprue puller: a quarter of a millimetre deep, half a millimetre wide.
    let ringed = FeatureKind::RingedPost {
        diameter_mm,
        ring_depth_mm: 0.25,
        ring_width_mm: 0.5,
        land_mm: (feature.protrusion_mm * 0.3).max(bounds::RING.min),
        flank_deg: 45.0,
    };
    [
        FeatureKind::set_screw(thread),
        FeatureKind::cap_head(thread),
        head,
        FeatureKind::PlainPost { diameter_mm },
        ringed,
    ]
    .map(|kind| {
        let same = std::mem::discriminant(&kind) == std::mem::discriminant(&feature.kind);
        (if same { feature.kind } else { kind }, kind.word())
    })
}

fn sizes(fields: &mut Fields<'_>, project: &Project, feature: &mut KeyingFeature) {
    match &mut feature.kind {
        FeatureKind::SetScrew { thread, end } => {
            self::thread(fields, project, thread);
            fields.choice("End in the channel", end, &ScrewEnd::ALL.map(|end| (end, end.word())));
        }
        FeatureKind::CapHead { thread, turned_mm, chamfer_mm } => {
            self::thread(fields, project, thread);
            let bought_mm = hardware::cap_head_diameter_mm(*thread);
            let heads = [(None, "as bought"), (turned_mm.or(Some(0.9 * bought_mm)), "turned down")];
            fields.choice("Head", turned_mm, &heads);
            if let Some(turned_mm) = turned_mm {
                fields
                    .number("Turned to", turned_mm, bounds::FEATURE_SIZE)
                    .on_hover_text(format!("{bought_mm} mm as bought"));
            } else {
                fields.fact("Head diameter", &format!("{bought_mm} mm as bought"));
            }
            fields.number("Chamfer under head", chamfer_mm, bounds::CHAMFER);
        }
        FeatureKind::TurnedHead { head_diameter_mm, neck_diameter_mm, head_height_mm, underside_deg } => {
            fields.number("Head diameter", head_diameter_mm, bounds::FEATURE_SIZE);
            fields.number("Neck diameter", neck_diameter_mm, bounds::FEATURE_SIZE);
            fields.number("Head height", head_height_mm, bounds::FEATURE_SIZE);
            fields.number("Underside angle", underside_deg, bounds::UNDERSIDE);
        }
        FeatureKind::PlainPost { diameter_mm } => {
            fields.number("Diameter", diameter_mm, bounds::FEATURE_SIZE);
        }
        FeatureKind::RingedPost { diameter_mm, ring_depth_mm, ring_width_mm, land_mm, flank_deg } => {
            fields.number("Diameter", diameter_mm, bounds::FEATURE_SIZE);
            fields.number("Ring depth", ring_depth_mm, bounds::RING);
            fields.number("Ring width", ring_width_mm, bounds::RING);
            fields.number("Ring below top", land_mm, bounds::RING);
            fields.number("Ring's upper flank", flank_deg, bounds::UNDERSIDE);
        }
    }
}

/// The thread sizes; where the user has said which screws are on hand, the others say that they are not.
fn thread(fields: &mut Fields<'_>, project: &Project, thread: &mut ThreadSize) {
    let words = ThreadSize::ALL.map(|size| match size.designation() {
        name if project.drawer.is_empty() || project.drawer.contains(&size) => name.to_owned(),
        name => format!("{name}, not on hand"),
    });
    let options: Vec<(ThreadSize, &str)> =
        ThreadSize::ALL.into_iter().zip(words.iter().map(String::as_str)).collect();
    fields.choice("Thread", thread, &options);
}

/// The length of the screw: found, or one that is sold.
fn screw_length(fields: &mut Fields<'_>, project: &Project, id: Id, feature: &mut KeyingFeature) {
    let Some((stock, size)) = Stock::of(&feature.kind) else { return };
    let screw = mount::of(project, id).and_then(|mount| mount.screw);
    let found = screw.filter(|screw| !screw.is_given);
    let found = found.map_or_else(String::new, |screw| format!(" ({} mm)", screw.length_mm));
    let mut options: Vec<(Option<f64>, String)> = vec![(None, format!("shortest that reaches{found}"))];
    options.extend(hardware::lengths(stock, size).map(|(length_mm, sold)| {
        let check = if sold == Sold::Yes { "" } else { ", check that it is sold" };
        (Some(length_mm), format!("{length_mm} mm{check}"))
    }));
    if let Some(length_mm) = feature.screw_length_mm
        && !options.iter().any(|(option, _)| *option == feature.screw_length_mm)
    {
        options.push((Some(length_mm), format!("{length_mm} mm, not sold")));
    }
    let options: Vec<(Option<f64>, &str)> =
        options.iter().map(|(length, words)| (*length, words.as_str())).collect();
    fields.choice("Screw length", &mut feature.screw_length_mm, &options);
}

/// How it is mounted: what is bought, turned, drilled and tapped, and what is not as it should be.
pub(super) fn mount_facts(fields: &mut Fields<'_>, palette: &Palette, project: &Project, id: Id) {
    let Some(mount) = mount::of(project, id) else { return };
    let unit = Unit::of(fields.ui);
    fields.long_fact("Made", &mount.made(), None);
    if let Some(screw) = &mount.screw {
        let ink = (screw.sold != Sold::Yes).then_some(palette.warning);
        fields.long_fact("Screw", &screw.words(), ink);
        let needed = project.limits.engagement_diameters;
        let (engaged, diameters) = (unit.length(screw.engagement_mm), screw.engagement_diameters);
        let words = format!("{engaged} in the plate, {diameters:.1} diameters (needs {needed})");
        let short = !screw.is_engaged(needed);
        fields.long_fact("Thread", &words, short.then_some(palette.fault));
        if screw.sticks_out() {
            let words = format!("sticks out of the plate's back by {}", unit.length(-screw.back_mm));
            fields.long_fact("Its end", &words, Some(palette.fault));
        }
    }
    fields.long_fact("Hole", &hole_words(&mount.hole), None);
    if let Some(key) = &mount.key {
        fields.long_fact("Key", &key.words(), key.arm.is_none().then_some(palette.fault));
    }
    fields.long_fact("Kept by", &mount.lock_words(), mount.locking.problem.map(|_| palette.warning));
    let uncertain = silhouette::of_feature(&project.features[&id], 0.0).uncertain;
    if let Some(uncertain) = uncertain {
        fields.long_fact("Not certain", uncertain, Some(palette.warning));
    }
}

/// The hole, from the parting face, for example "drill 3.3, 14 mm deep; tap M4 9 mm deep".
fn hole_words(hole: &mount::Hole) -> String {
    let mut words = format!("drill {} mm", two_decimals(hole.drill_mm));
    match hole.depth {
        Depth::Through => words += ", right through",
        Depth::Blind { full_mm, left_mm, .. } => {
            words += &format!(", {full_mm} mm from the face, {left_mm:.1} mm left under its point");
        }
        Depth::Seat { full_mm, behind_mm } => {
            words += &format!(", {full_mm} mm from the face, then {behind_mm} mm right through");
        }
    }
    if let Some(thread) = hole.thread {
        words += &format!("; tap {}", thread.size.designation());
        if let Some(depth_mm) = thread.depth_mm {
            words += &format!(" {depth_mm} mm deep from the channel floor");
        }
    }
    if let Some(ream_mm) = hole.ream_mm {
        words += &format!("; ream {} mm", two_decimals(ream_mm));
    }
    if let Some(opening) = hole.opening {
        words += &format!(
            "; from behind open to {} mm up to {:.1} mm from the channel floor",
            two_decimals(opening.diameter_mm),
            opening.beyond_mm
        );
    }
    words
}

fn two_decimals(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}
