//! Fields for several items at once: whether they are locked, and the channel of all points of runs.

use egui::Ui;
use keepside_model::{Edit, EndShape, Id, Item, Project, Run, bounds};
use keepside_session::Session;

use super::fields::Fields;
use super::item_fields::ENDS;
use crate::action::{Action, Command};
use crate::work::Arrange;

/// Whether the selection is locked.
pub(super) fn locked_ui(ui: &mut Ui, session: &Session, actions: &mut Vec<Action>) {
    let locked = &session.document().locked;
    let mut is_locked = session.selection().iter().all(|id| locked.contains(id));
    let hint = "Pointer and keys leave locked items where they are";
    if ui.checkbox(&mut is_locked, "Locked").on_hover_text(hint).clicked() {
        actions.push(Action::Command(Command::Arrange(Arrange::Lock(is_locked))));
    }
}

/// The channel of the selected runs, all points at once, and the shape of their ends.
pub(super) fn channel_ui(ui: &mut Ui, session: &Session, ids: &[Id]) -> Vec<Action> {
    let project = session.document();
    let runs: Vec<(Id, &Run)> = ids.iter().filter_map(|id| Some((*id, project.part.runs.get(id)?))).collect();
    let first_point = runs.first().and_then(|(_, run)| run.points.first());
    let (Some(first), Some((_, first_run))) = (first_point, runs.first()) else { return Vec::new() };
    let points = || runs.iter().flat_map(|(_, run)| &run.points);
    let is_mixed = points().any(|p| (p.width_mm, p.depth_mm) != (first.width_mm, first.depth_mm));
    let (mut width_mm, mut depth_mm) = (first.width_mm, first.depth_mm);
    let mut ends = first_run.start;
    let before = (width_mm, depth_mm, ends);
    let change = Fields::show(ui, ("channel", ids), |fields| {
        fields.number("Width of all points", &mut width_mm, bounds::CHANNEL_WIDTH);
        fields.number("Depth of all points", &mut depth_mm, bounds::CHANNEL_DEPTH);
        if is_mixed {
            fields.remark("They differ now; another number here makes them alike");
        }
        if runs.len() > 1 {
            fields.choice("All ends", &mut ends, &ENDS);
        }
    });
    let after = (width_mm, depth_mm, ends);
    change.actions(|| set_channel(project, &runs, before, after))
}

/// Sets what has changed in every run; the rest stays as it is.
fn set_channel(
    project: &Project,
    runs: &[(Id, &Run)],
    before: (f64, f64, EndShape),
    after: (f64, f64, EndShape),
) -> Edit {
    let changed = runs.iter().filter(|(id, _)| !project.locked.contains(id)).map(|(id, run)| {
        let mut run = (*run).clone();
        for point in &mut run.points {
            if after.0 != before.0 {
                point.width_mm = after.0;
            }
            if after.1 != before.1 {
                point.depth_mm = after.1;
            }
        }
        if after.2 != before.2 {
            (run.start, run.end) = (after.2, after.2);
        }
        Edit::Set(*id, Item::Run(run))
    });
    Edit::Several { label: "change channel", edits: changed.collect() }
}
