//! The fields of one item of each kind.

use keepside_engine::{hardware, outline};
use keepside_model::{
    Ejector, EjectorFace, EndShape, FeatureKind, Finish, Half, HoleUse, Item, KeyingFeature, Lock, PlateHole,
    Run, ScrewEnd, Sprue, ThreadSize, Vent, bounds,
};

use super::fields::Fields;

const HALVES: [(Half, &str); 2] = [(Half::Moving, "moving half"), (Half::Fixed, "fixed half")];
const ENDS: [(EndShape, &str); 2] = [(EndShape::Round, "round"), (EndShape::Square, "square")];

/// The fields of `item`.
pub(super) fn item(fields: &mut Fields<'_>, item: &mut Item) {
    match item {
        Item::Run(run) => self::run(fields, run),
        Item::Sprue(sprue) => self::sprue(fields, sprue),
        Item::Vent(vent) => self::vent(fields, vent),
        Item::Feature(feature) => self::feature(fields, feature),
        Item::Hole(hole) => self::hole(fields, hole),
        Item::Ejector(ejector) => self::ejector(fields, ejector),
    }
}

fn place(fields: &mut Fields<'_>, at: &mut glam::DVec2) {
    fields.number("x from plate edge", &mut at.x, bounds::COORDINATE);
    fields.number("y from plate edge", &mut at.y, bounds::COORDINATE);
}

fn feature(fields: &mut Fields<'_>, feature: &mut KeyingFeature) {
    fields.text("Name", &mut feature.name);
    place(fields, &mut feature.at);
    fields.choice("Set into", &mut feature.half, &HALVES);
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
    let kinds = [
        (FeatureKind::set_screw(thread), "set screw"),
        (FeatureKind::cap_head(thread), "cap screw head"),
        (head, "turned head"),
        (FeatureKind::PlainPost { diameter_mm }, "plain post"),
        (ringed, "ringed post"),
    ];
    let present = kinds.map(|(kind, words)| {
        let same = std::mem::discriminant(&kind) == std::mem::discriminant(&feature.kind);
        (if same { feature.kind } else { kind }, words)
    });
    fields.choice("Kind", &mut feature.kind, &present);
    let threads = ThreadSize::ALL.map(|thread| (thread, thread.designation()));
    match &mut feature.kind {
        FeatureKind::SetScrew { thread, end } => {
            fields.choice("Thread", thread, &threads);
            fields.choice("End in the channel", end, &ScrewEnd::ALL.map(|end| (end, end.word())));
        }
        FeatureKind::CapHead { thread, turned_mm, chamfer_mm } => {
            fields.choice("Thread", thread, &threads);
            let bought_mm = hardware::cap_head_diameter_mm(*thread);
            let heads = [(None, "as bought"), (turned_mm.or(Some(0.9 * bought_mm)), "turned down")];
            fields.choice("Head", turned_mm, &heads);
            if let Some(turned_mm) = turned_mm {
                fields.number("Turned to", turned_mm, bounds::FEATURE_SIZE);
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
    fields.number("Protrusion", &mut feature.protrusion_mm, bounds::PROTRUSION);
    fields.choice("Locked by", &mut feature.lock, &Lock::ALL.map(|lock| (lock, lock.word())));
}

fn sprue(fields: &mut Fields<'_>, sprue: &mut Sprue) {
    fields.text("Name", &mut sprue.name);
    place(fields, &mut sprue.at);
    fields.choice("Goes through", &mut sprue.half, &HALVES);
    fields.number("Diameter", &mut sprue.diameter_mm, bounds::SPRUE_DIAMETER);
    fields.number("Plug length", &mut sprue.length_mm, bounds::SPRUE_LENGTH);
    fields.number("Draft a side", &mut sprue.draft_deg, bounds::DRAFT);
    let finishes = [(Finish::AsTurned, "as turned"), (Finish::Polished, "polished")];
    fields.choice("Bore", &mut sprue.finish, &finishes);
}

fn vent(fields: &mut Fields<'_>, vent: &mut Vent) {
    fields.text("Name", &mut vent.name);
    place(fields, &mut vent.at);
    fields.choice("Cut into", &mut vent.half, &HALVES);
    fields.number("Width", &mut vent.width_mm, bounds::VENT_WIDTH);
    fields.number("Depth", &mut vent.depth_mm, bounds::VENT_DEPTH);
    fields.number("Length", &mut vent.length_mm, bounds::VENT_LENGTH);
}

fn hole(fields: &mut Fields<'_>, hole: &mut PlateHole) {
    fields.text("Name", &mut hole.name);
    place(fields, &mut hole.at);
    fields.choice("For", &mut hole.purpose, &[(HoleUse::Bolt, "bolt"), (HoleUse::GuidePin, "guide pin")]);
    fields.number("Diameter", &mut hole.diameter_mm, bounds::HOLE_DIAMETER);
}

fn ejector(fields: &mut Fields<'_>, ejector: &mut Ejector) {
    fields.text("Name", &mut ejector.name);
    place(fields, &mut ejector.at);
    fields.number("Diameter", &mut ejector.diameter_mm, bounds::EJECTOR_DIAMETER);
    fields.number("Free length", &mut ejector.length_mm, bounds::EJECTOR_LENGTH);
    fields.number("Stroke", &mut ejector.stroke_mm, bounds::EJECTOR_STROKE);
    let faces = [EjectorFace::Plain, EjectorFace::Grooved, EjectorFace::Crossed];
    fields.choice("Face", &mut ejector.face, &faces.map(|face| (face, face.word())));
    if ejector.face.keys() {
        fields.number("Groove pitch", &mut ejector.grooves.pitch_mm, bounds::GROOVE);
        fields.number("Groove mouth", &mut ejector.grooves.mouth_mm, bounds::GROOVE);
        fields.number("Groove depth", &mut ejector.grooves.depth_mm, bounds::GROOVE);
        fields.number("Sides lean by", &mut ejector.grooves.lean_deg, bounds::LEAN);
    }
}

fn run(fields: &mut Fields<'_>, run: &mut Run) {
    fields.text("Name", &mut run.name);
    fields.choice("Start", &mut run.start, &ENDS);
    fields.choice("End", &mut run.end, &ENDS);
    let last = run.points.len().saturating_sub(1);
    for (index, point) in run.points.iter_mut().enumerate() {
        let number = index + 1;
        fields.ui.strong(format!("Point {number}"));
        fields.ui.end_row();
        fields.number(&format!("{number}: x"), &mut point.at.x, bounds::COORDINATE);
        fields.number(&format!("{number}: y"), &mut point.at.y, bounds::COORDINATE);
        fields.number(&format!("{number}: width"), &mut point.width_mm, bounds::CHANNEL_WIDTH);
        fields.number(&format!("{number}: depth"), &mut point.depth_mm, bounds::CHANNEL_DEPTH);
        if index < last {
            fields.number(&format!("{number}: bulge to next"), &mut point.bulge, bounds::BULGE);
        }
    }
}
