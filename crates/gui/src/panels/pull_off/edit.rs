//! What becomes of what was done to a curve: edits of the project, or a complaint.

use keepside_engine::opening::What;
use keepside_model::{Edit, Project, PullOff, bounds};
use keepside_session::Session;

use super::CurveView;
use super::chart::Touch;
use super::subject::{self, tidy};
use super::table::Row;
use crate::action::{Action, Command};

/// Least travel between two points that are dragged, mm.
const APART_MM: f64 = PullOff::LEAST_STEP_MM;

/// Least pull of the first point behind the start.
const LEAST_PULL: f64 = 1e-4;

const CHANGE: &str = "change pull-off curve";

/// One whole change: one undo step. A curve that is none changes nothing and is complained of.
pub(super) fn put(
    project: &Project,
    view: &mut CurveView,
    what: What,
    label: &'static str,
    curve: Result<Option<PullOff>, String>,
) -> Vec<Action> {
    match curve {
        Ok(curve) => {
            view.problem = None;
            let edit = subject::with(project, what, curve);
            edit.map(|edit| vec![Action::Begin(label), Action::Preview(label, edit), Action::Commit])
                .unwrap_or_default()
        }
        Err(problem) => {
            view.problem = Some(problem);
            Vec::new()
        }
    }
}

/// The points with one of them elsewhere.
fn moved(points: &[(f64, f64)], number: usize, to: (f64, f64)) -> Vec<(f64, f64)> {
    let mut points = points.to_vec();
    if let Some(point) = number.checked_sub(1).and_then(|index| points.get_mut(index)) {
        *point = to;
    }
    points
}

/// The place nearest to `to` at which the curve is still one: between the neighbours, and without pull at
/// the end.
fn allowed(points: &[(f64, f64)], number: usize, to: (f64, f64)) -> (f64, f64) {
    let Some(index) = number.checked_sub(1).filter(|index| (1..points.len()).contains(index)) else {
        return (0.0, 0.0);
    };
    let low = points[index - 1].0 + APART_MM;
    let high = points.get(index + 1).map_or(500.0, |next| next.0 - APART_MM);
    let travel = if low <= high { tidy(to.0.clamp(low, high)) } else { points[index].0 };
    let pull = if index + 1 == points.len() {
        0.0
    } else {
        to.1.clamp(if index == 1 { LEAST_PULL } else { 0.0 }, 1e6)
    };
    (travel, pull)
}

/// What was done to a point in the chart.
pub(super) fn touched(session: &Session, view: &mut CurveView, what: What, touch: Touch) -> Vec<Action> {
    let project = session.document();
    let edit = |number, to| match subject::measured(project, what) {
        Some(curve) => {
            let to = allowed(curve.points(), number, to);
            let curve = PullOff::new(moved(curve.points(), number, to)).ok()?;
            subject::with(project, what, Some(curve))
        }
        None => vacuum_edit(project, to),
    };
    match touch {
        Touch::Dragged(number, to) => {
            view.problem = None;
            // A pointer at rest asks for nothing.
            let edit = edit(number, to).filter(|edit| changes(project, edit));
            edit.map(|edit| Action::Preview(CHANGE, edit)).into_iter().collect()
        }
        Touch::Moved(number, to) => {
            let whole = |edit| vec![Action::Begin(CHANGE), Action::Preview(CHANGE, edit), Action::Commit];
            edit(number, to).map(whole).unwrap_or_default()
        }
        Touch::Dropped => vec![Action::Commit],
        Touch::Escaped if session.has_gesture() => vec![Action::Command(Command::Escape)],
        Touch::Escaped => Vec::new(),
        Touch::Removed(number) => row_changed(session, view, what, Row::Remove(number)),
    }
}

/// Whether an edit of a curve is one.
fn changes(project: &Project, edit: &Edit) -> bool {
    match edit {
        Edit::SetHolds(holds) => *holds != project.holds,
        Edit::Set(id, item) => project.item(*id).as_ref() != Some(item),
        _ => true,
    }
}

/// The vacuum's own point.
fn vacuum_edit(project: &Project, to: (f64, f64)) -> Option<Edit> {
    let mut holds = project.holds.clone();
    holds.air_gap_mm = to.0.clamp(bounds::TRAVEL.min, bounds::TRAVEL.max);
    holds.vacuum_mpa = to.1.clamp(bounds::VACUUM.min, bounds::VACUUM.max);
    Some(Edit::SetHolds(holds))
}

/// What was done to a row of the table.
pub(super) fn row_changed(session: &Session, view: &mut CurveView, what: What, row: Row) -> Vec<Action> {
    let project = session.document();
    let Some(curve) = subject::measured(project, what) else { return Vec::new() };
    let points = curve.points();
    let tried = |points| PullOff::new(points).map(Some).map_err(|error| error.to_string());
    match row {
        Row::Typed(number, to) => put(project, view, what, CHANGE, tried(moved(points, number, to))),
        Row::Dragged(number, to) => touched(session, view, what, Touch::Dragged(number, to)),
        Row::Dropped => vec![Action::Commit],
        Row::Add(number) => {
            let mut points = points.to_vec();
            if let Some(pair) = number.checked_sub(1).and_then(|index| points.get(index..index + 2)) {
                let middle = tidy(0.5 * (pair[0].0 + pair[1].0));
                points.insert(number, (middle, tidy(0.5 * (pair[0].1 + pair[1].1))));
            }
            put(project, view, what, "add point to pull-off curve", tried(points))
        }
        Row::Remove(number) => {
            let mut points = points.to_vec();
            if (1..=points.len()).contains(&number) {
                points.remove(number - 1);
            }
            put(project, view, what, "remove point of pull-off curve", tried(points))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wherever_a_point_is_dragged_the_curve_stays_one() {
        let points = [(0.0, 0.0), (0.1, 10.0), (0.5, 4.0), (2.0, 0.0)];
        for number in 1..=4 {
            for to in [(-3.0, -5.0), (0.05, 1.0), (0.3, 0.0), (1.0, 1e9), (900.0, 3.0)] {
                let to = allowed(&points, number, to);
                assert!(PullOff::new(moved(&points, number, to)).is_ok(), "{number}: {to:?}");
            }
        }
        assert_eq!(allowed(&points, 2, (0.3, 7.0)), (0.3, 7.0));
        assert_eq!(allowed(&points, 4, (3.0, 7.0)), (3.0, 0.0));
    }
}
