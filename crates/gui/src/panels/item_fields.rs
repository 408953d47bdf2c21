//! The fields of one item of each kind.

use keepside_model::{
    Ejector, EjectorFace, EndShape, Finish, Half, HoleUse, Id, Item, PlateHole, Project, Run, Sprue, Vent,
    bounds,
};

use super::fields::Fields;
use super::{feature_fields, note_fields};

pub(super) const HALVES: [(Half, &str); 2] = [(Half::Moving, "moving half"), (Half::Fixed, "fixed half")];
pub(crate) const ENDS: [(EndShape, &str); 2] = [(EndShape::Round, "round"), (EndShape::Square, "square")];

/// The fields of `item`.
pub(super) fn item(fields: &mut Fields<'_>, project: &Project, id: Id, item: &mut Item) {
    match item {
        Item::Run(run) => self::run(fields, run),
        Item::Sprue(sprue) => self::sprue(fields, sprue),
        Item::Vent(vent) => self::vent(fields, vent),
        Item::Feature(feature) => feature_fields::feature(fields, project, id, feature),
        Item::Hole(hole) => self::hole(fields, hole),
        Item::Ejector(ejector) => self::ejector(fields, ejector),
        Item::Note(note) => note_fields::note(fields, note),
    }
}

pub(super) fn place(fields: &mut Fields<'_>, at: &mut glam::DVec2) {
    fields.number("x from plate edge", &mut at.x, bounds::COORDINATE);
    fields.number("y from plate edge", &mut at.y, bounds::COORDINATE);
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
    let mut is_relieved = vent.relief.is_some();
    fields.yes_or_no("Relieved", &mut is_relieved);
    if is_relieved {
        let relief = vent.relief.get_or_insert_default();
        fields.number("Land", &mut relief.land_mm, bounds::VENT_LENGTH);
        fields.number("Depth behind it", &mut relief.depth_mm, bounds::VENT_DEPTH);
    } else {
        vent.relief = None;
    }
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
