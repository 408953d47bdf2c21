//! The datum of the sheets.

use keepside_model::{Datum, Edit, SheetChoices};

use super::{Drawn, Finding, Severity};

/// A guide pin that the sheets should count from, and that is not there any more.
pub(super) fn lost(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let project = drawn.project;
    let Some(id) = project.lost_datum() else { return };
    let (items, why) = match project.kind(id) {
        Some(_) => (vec![id], format!("{} is no guide pin", project.title(id))),
        None => (Vec::new(), format!("guide pin H{id} is gone")),
    };
    let message = format!(
        "{why}, from which the sheets should count x and y: they count from the lower left corner of each plate"
    );
    let sheet = SheetChoices { datum: Datum::LowerLeft, ..project.sheet.clone() };
    findings.push(
        Finding::new("datum-lost", Severity::Note, items, None, message)
            .cured_by("Choose the lower left corner as the datum", Some(Edit::SetSheet(Box::new(sheet)))),
    );
}

#[cfg(test)]
mod tests {
    use glam::DVec2;
    use keepside_model::{HoleUse, Id, PlateHole, Project};

    use super::*;
    use crate::finding::tests::layout;

    #[test]
    fn a_datum_pin_that_is_deleted_or_made_a_bolt_is_told_and_cured() {
        let mut project = Project::blank();
        let pin = PlateHole {
            name: String::new(),
            purpose: HoleUse::GuidePin,
            at: DVec2::new(20.0, 20.0),
            diameter_mm: 8.0,
        };
        project.holes.insert(Id(9), pin);
        project.sheet.datum = Datum::GuidePin(Id(9));
        project.sheet.revision = "B".to_owned();
        let told = |project: &Project| {
            let findings = layout(project).findings;
            findings.into_iter().find(|finding| finding.rule == "datum-lost")
        };
        assert_eq!(project.datum_pin(), Some((Id(9), DVec2::new(20.0, 20.0))));
        assert_eq!(told(&project), None);

        let mut bolted = project.clone();
        bolted.holes.get_mut(&Id(9)).unwrap().purpose = HoleUse::Bolt;
        assert_eq!(told(&bolted).unwrap().items, [Id(9)]);
        assert_eq!(bolted.datum_pin(), None);

        project.apply(&Edit::Delete(vec![Id(9)])).unwrap();
        let finding = told(&project).unwrap();
        assert!(finding.message.starts_with("guide pin H9 is gone"), "{}", finding.message);
        project.apply(&finding.cure_edit.unwrap()).unwrap();
        assert_eq!((told(&project), project.sheet.revision.as_str()), (None, "B"));
    }
}
