//! The choices about the sheets that the project keeps: paper, datum, title block, tolerances.

use egui::{CollapsingHeader, Ui};
use keepside_model::{
    Bounds, Datum, Edit, GeneralTolerance, HoleUse, Paper, Project, Projection, SheetChoices, ToleranceClass,
    bounds,
};

use crate::action::Action;
use crate::panels::fields::Fields;

/// Which kind of general tolerance is chosen; the user's own words have a field of their own.
#[derive(Clone, Copy, PartialEq)]
enum Tolerance {
    Class(ToleranceClass),
    Own,
}

/// All choices.
pub(super) fn choices_ui(ui: &mut Ui, project: &Project) -> Vec<Action> {
    let mut sheet = project.sheet.clone();
    let mut actions = Vec::new();
    let mut group = |ui: &mut Ui, name: &str, open, add: &dyn Fn(&mut Fields<'_>, &mut SheetChoices)| {
        CollapsingHeader::new(name).default_open(open).show(ui, |ui| {
            let change = Fields::show(ui, name, |fields| add(fields, &mut sheet));
            actions.extend(change.actions(|| Edit::SetSheet(Box::new(sheet.clone()))));
        });
    };
    group(ui, "Paper and datum", true, &|fields, sheet| paper(fields, sheet, project));
    group(ui, "Title block", false, &title_block);
    group(ui, "Tolerances", false, &tolerances);
    group(ui, "Drill cycles", project.sheet.drill_cycles.wanted, &drill_cycles);
    actions
}

/// The change that has drill cycles written, or no more.
pub(super) fn want_cycles(project: &Project, wanted: bool) -> Action {
    let mut sheet = project.sheet.clone();
    sheet.drill_cycles.wanted = wanted;
    Action::Edit(Edit::SetSheet(Box::new(sheet)))
}

fn paper(fields: &mut Fields<'_>, sheet: &mut SheetChoices, project: &Project) {
    fields.choice("Paper", &mut sheet.paper, &Paper::ALL.map(|paper| (paper, paper.word())));
    let pins = project.holes.iter().filter(|(_, hole)| hole.purpose == HoleUse::GuidePin);
    let named: Vec<(Datum, String)> = [
        (Datum::LowerLeft, "Lower left corner".to_owned()),
        (Datum::Centre, "Centre of the plate".to_owned()),
    ]
    .into_iter()
    .chain(pins.map(|(id, _)| (Datum::GuidePin(*id), format!("Middle of guide pin {}", project.tag(*id)))))
    .chain(project.lost_datum().map(|id| (Datum::GuidePin(id), "A guide pin that is gone".to_owned())))
    .collect();
    let options: Vec<(Datum, &str)> = named.iter().map(|(datum, words)| (*datum, words.as_str())).collect();
    fields.choice("x, y from", &mut sheet.datum, &options);
    fields.yes_or_no("Views from behind", &mut sheet.back_views);
    fields.choice(
        "Projection",
        &mut sheet.projection,
        &[(Projection::FirstAngle, "First angle"), (Projection::ThirdAngle, "Third angle")],
    );
}

fn title_block(fields: &mut Fields<'_>, sheet: &mut SheetChoices) {
    fields.text("Drawing number", &mut sheet.drawing_number);
    fields.text("Revision", &mut sheet.revision);
    fields.text("Date of issue", &mut sheet.date_of_issue);
    fields.text("Drawn by", &mut sheet.creator);
    fields.text("Approved by", &mut sheet.approved_by);
    fields.text("Owner", &mut sheet.legal_owner);
}

fn tolerances(fields: &mut Fields<'_>, sheet: &mut SheetChoices) {
    let words = ToleranceClass::ALL
        .map(|class| (Tolerance::Class(class), format!("ISO 2768-{}, {}", class.letter(), class.word())));
    let mut options: Vec<(Tolerance, &str)> =
        words.iter().map(|(one, words)| (*one, words.as_str())).collect();
    options.push((Tolerance::Own, "In own words"));
    let before = match &sheet.general_tolerance {
        GeneralTolerance::Iso2768(class) => Tolerance::Class(*class),
        GeneralTolerance::Own(_) => Tolerance::Own,
    };
    let mut kind = before;
    fields.choice("Where none is given", &mut kind, &options);
    if kind != before {
        sheet.general_tolerance = match kind {
            Tolerance::Class(class) => GeneralTolerance::Iso2768(class),
            Tolerance::Own => GeneralTolerance::Own(String::new()),
        };
    }
    if let GeneralTolerance::Own(words) = &mut sheet.general_tolerance {
        fields.text("Own words", words);
    }
    let off_mm = &mut sheet.position_tolerance_mm;
    optional(fields, "Holes have their own", "Place of a hole, ±", off_mm, 0.1, bounds::POSITION_TOLERANCE);
}

fn drill_cycles(fields: &mut Fields<'_>, sheet: &mut SheetChoices) {
    let cycles = &mut sheet.drill_cycles;
    fields.yes_or_no("Write drill cycles", &mut cycles.wanted);
    if !cycles.wanted {
        return;
    }
    fields.remark(
        "A drill that moves by itself does harm. Run it above the work first, with the spindle off; clamp the \
         plate, stand clear, and keep to the machine's manual.",
    );
    let from_face = "Above the parting face";
    fields.number("Safe height", &mut cycles.safe_height_mm, bounds::SAFE_HEIGHT).on_hover_text(from_face);
    fields.number("Drilling begins", &mut cycles.retract_mm, bounds::RETRACT).on_hover_text(from_face);
    fields
        .number("Clears chips every", &mut cycles.peck_mm, bounds::PECK)
        .on_hover_text("In holes deeper than three diameters");
    optional(fields, "Feed in the file", "Feed", &mut cycles.feed_mm_min, 60.0, bounds::FEED);
    optional(
        fields,
        "Spindle in the file",
        "Spindle speed",
        &mut cycles.spindle_rpm,
        1500.0,
        bounds::SPINDLE,
    );
}

/// A number that may be left out; `first` is what it begins with.
fn optional(
    fields: &mut Fields<'_>,
    whether: &str,
    name: &str,
    value: &mut Option<f64>,
    first: f64,
    bounds: Bounds,
) {
    let mut is_given = value.is_some();
    fields.yes_or_no(whether, &mut is_given);
    *value = is_given.then(|| {
        let mut number = value.unwrap_or(first);
        fields.number(name, &mut number, bounds);
        number
    });
}
