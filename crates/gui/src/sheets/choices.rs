//! The choices about the sheets that the project keeps: paper, datum, title block, tolerances.

use egui::{CollapsingHeader, Ui};
use keepside_model::{
    Datum, Edit, GeneralTolerance, HoleUse, Paper, Project, Projection, SheetChoices, ToleranceClass, bounds,
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
    actions
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
    let mut has_position = sheet.position_tolerance_mm.is_some();
    fields.yes_or_no("Holes have their own", &mut has_position);
    if !has_position {
        sheet.position_tolerance_mm = None;
    } else {
        let mut off_mm = sheet.position_tolerance_mm.unwrap_or(0.1);
        fields.number("Place of a hole, ±", &mut off_mm, bounds::POSITION_TOLERANCE);
        sheet.position_tolerance_mm = Some(off_mm);
    }
}
