//! Which run the side elevation shows, and where other runs meet it.

use egui::{ComboBox, Ui};
use glam::DVec2;
use keepside_engine::Opening;
use keepside_engine::opening::{Axis, PlanPoint};
use keepside_model::{EndShape, Id, Project, RunPoint};
use keepside_session::Session;

use crate::plan::hold_of;
use crate::ribbon::{self, Rib};
use crate::view::ViewState;

/// Room between a run's end and another's wall that still counts as touching, mm: rounding.
const TOUCH_MM: f64 = 1e-6;

/// Two meetings with the same run nearer than this share of the channel's width are one.
const SAME_MEETING: f64 = 1.0;

/// The run shown, as an index into the axes: the one chosen, else that of the selection, else the longest.
pub(crate) fn shown(session: &Session, opening: &Opening, view: &ViewState) -> usize {
    let index_of = |run: Id| opening.axes.iter().position(|axis| axis.run == run);
    let of_selection = || session.selection().iter().find_map(|id| index_of(run_of(session, opening, *id)?));
    let longest = || {
        let by_length = |a: &(usize, &Axis), b: &(usize, &Axis)| {
            // Of several that are alike the first.
            a.1.length_mm.total_cmp(&b.1.length_mm).then(b.0.cmp(&a.0))
        };
        opening.axes.iter().enumerate().max_by(by_length).map_or(0, |(index, _)| index)
    };
    view.elevation_run.and_then(index_of).or_else(of_selection).unwrap_or_else(longest)
}

/// The run that an item is, acts on or stands nearest to.
fn run_of(session: &Session, opening: &Opening, id: Id) -> Option<Id> {
    let project = session.document();
    if project.part.runs.contains_key(&id) {
        return Some(id);
    }
    if let Some((run, _)) = hold_of(session, id).and_then(|hold| hold.on) {
        return Some(run);
    }
    let place = project.place(id)?;
    let distance = |axis: &Axis| along(axis, place).map_or(f64::INFINITY, |(_, distance)| distance);
    opening.axes.iter().min_by(|a, b| distance(a).total_cmp(&distance(b))).map(|axis| axis.run)
}

/// The place along an axis nearest to a place of the plan, and the distance between them, mm.
pub(crate) fn along(axis: &Axis, place: DVec2) -> Option<(f64, f64)> {
    let on_piece = |pair: &[PlanPoint]| {
        let (from, to) = (pair[0], pair[1]);
        let chord = to.at - from.at;
        let t = ((place - from.at).dot(chord) / chord.length_squared().max(1e-12)).clamp(0.0, 1.0);
        (from.along_mm + (to.along_mm - from.along_mm) * t, (from.at + chord * t).distance(place))
    };
    axis.points.windows(2).map(on_piece).min_by(|a, b| a.1.total_cmp(&b.1))
}

/// A place where another run meets the one shown.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Meeting {
    /// Place along the run shown, mm.
    pub(super) along_mm: f64,
    /// The other runs.
    pub(super) runs: Vec<Id>,
}

impl Meeting {
    /// The tags of the other runs.
    pub(super) fn words(&self, project: &Project) -> String {
        let tags: Vec<String> = self.runs.iter().map(|run| project.tag(*run)).collect();
        format!("meets {}", tags.join(", "))
    }
}

/// Where other runs meet the one shown, whose cross-lines are `ribs`.
pub(super) fn meetings(project: &Project, axes: &[Axis], shown: usize, ribs: &[Rib]) -> Vec<Meeting> {
    let Some(axis) = axes.get(shown) else { return Vec::new() };
    let half_mm = |along_mm: f64| ribbon::at(ribs, along_mm).map_or(0.0, |rib| rib.half_mm);
    let mut all: Vec<(f64, Id)> = Vec::new();
    for other in axes.iter().filter(|other| other.run != axis.run) {
        // An end of the other on this run, an end of this one on the other, or a crossing in mid-run.
        let here = ends(project, other).into_iter().filter_map(|(end, cap_mm)| {
            let (at, distance) = along(axis, end.at)?;
            Some((at, distance - cap_mm))
        });
        let there = ends(project, axis).into_iter().filter_map(|(end, cap_mm)| {
            let (_, distance) = along(other, end.at)?;
            Some((end.along_mm, distance - cap_mm))
        });
        let touching = here.chain(there).filter(|(at, apart)| *apart <= half_mm(*at) + TOUCH_MM);
        let mut places: Vec<f64> = touching.map(|(at, _)| at).chain(crossings(axis, other)).collect();
        places.sort_by(f64::total_cmp);
        places.dedup_by(|next, before| *next - *before <= SAME_MEETING * 2.0 * half_mm(*before));
        all.extend(places.into_iter().map(|along_mm| (along_mm, other.run)));
    }
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    // Runs that meet this one in the same place share a mark.
    let mut meetings: Vec<Meeting> = Vec::new();
    for (along_mm, run) in all {
        match meetings.last_mut() {
            Some(last) if along_mm - last.along_mm <= half_mm(along_mm) => last.runs.push(run),
            _ => meetings.push(Meeting { along_mm, runs: vec![run] }),
        }
    }
    meetings
}

/// The first and the last point of an axis, and how far the drawn run reaches on beyond them, mm: by a
/// round end that has joined another run.
fn ends(project: &Project, axis: &Axis) -> Vec<(PlanPoint, f64)> {
    let (Some(first), Some(last)) = (axis.points.first(), axis.points.last()) else { return Vec::new() };
    let run = project.part.runs.get(&axis.run);
    let cap_mm = |end: &PlanPoint, shape: EndShape, drawn: Option<&RunPoint>| {
        let joined = drawn.filter(|drawn| shape == EndShape::Round && drawn.at.distance(end.at) < 1e-3);
        joined.map_or(0.0, |drawn| drawn.width_mm / 2.0)
    };
    let start_mm = run.map_or(0.0, |run| cap_mm(first, run.start, run.points.first()));
    let end_mm = run.map_or(0.0, |run| cap_mm(last, run.end, run.points.last()));
    vec![(*first, start_mm), (*last, end_mm)]
}

/// Places along `axis` at which `other` crosses it.
fn crossings(axis: &Axis, other: &Axis) -> Vec<f64> {
    let mut all = Vec::new();
    for here in axis.points.windows(2) {
        for there in other.points.windows(2) {
            let (along, across) = (here[1].at - here[0].at, there[1].at - there[0].at);
            let turn = along.perp_dot(across);
            if turn.abs() < 1e-9 {
                continue;
            }
            let between = there[0].at - here[0].at;
            let (t, u) = (between.perp_dot(across) / turn, between.perp_dot(along) / turn);
            if (0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u) {
                all.push(here[0].along_mm + t * (here[1].along_mm - here[0].along_mm));
            }
        }
    }
    all
}

/// The list from which the run is chosen; nothing for a part of one run.
pub(crate) fn chooser_ui(ui: &mut Ui, session: &Session, opening: &Opening, view: &mut ViewState) {
    if opening.axes.len() < 2 {
        return;
    }
    let title = |run: Id| session.document().title(run);
    let label = ui.label("Run");
    let now =
        opening.axes.get(shown(session, opening, view)).map_or_else(String::new, |axis| title(axis.run));
    let list = ComboBox::from_id_salt("run shown").selected_text(now).width(96.0).truncate();
    let response = list.show_ui(ui, |ui| {
        ui.selectable_value(&mut view.elevation_run, None, "as selected, else the longest");
        for axis in &opening.axes {
            ui.selectable_value(&mut view.elevation_run, Some(axis.run), title(axis.run));
        }
    });
    response.response.labelled_by(label.id).on_hover_text("The run that is seen from the side");
}

/// Whether there is something to choose.
pub(super) fn has_choice(opening: Option<&Opening>) -> bool {
    opening.is_some_and(|opening| opening.axes.len() > 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use keepside_model::Run;

    fn axis(run: u32, points: &[(f64, f64)]) -> Axis {
        let mut along_mm = 0.0;
        let points: Vec<DVec2> = points.iter().map(|&point| point.into()).collect();
        let of = |index: usize| {
            let at = points[index];
            if index > 0 {
                along_mm += at.distance(points[index - 1]);
            }
            let next = points.get(index + 1).copied();
            let next = next.map_or_else(|| at - points[index - 1], |next| next - at);
            PlanPoint { along_mm, at, direction: next.normalize() }
        };
        let points: Vec<PlanPoint> = (0..points.len()).map(of).collect();
        Axis { run: Id(run), length_mm: points[points.len() - 1].along_mm, points }
    }

    /// Ribs of a straight run of 6 mm width, 120 mm long.
    fn ribs() -> Vec<Rib> {
        let run: Run = Project::blank().part.runs.into_values().next().unwrap();
        ribbon::ribs(&run)
    }

    fn places(axes: &[Axis], shown: usize) -> Vec<(f64, u32)> {
        let meetings = meetings(&Project::blank(), axes, shown, &ribs());
        let each = |meeting: Meeting| meeting.runs.into_iter().map(move |run| (meeting.along_mm, run.0));
        meetings.into_iter().flat_map(each).collect()
    }

    #[test]
    fn runs_that_meet_in_one_place_share_a_mark() {
        let axes = [
            axis(1, &[(0.0, 0.0), (120.0, 0.0)]),
            axis(2, &[(0.0, 0.0), (-30.0, 30.0)]),
            axis(3, &[(0.0, 0.0), (-30.0, -30.0)]),
        ];
        let meetings = meetings(&Project::blank(), &axes, 0, &ribs());
        assert_eq!(meetings, [Meeting { along_mm: 0.0, runs: vec![Id(2), Id(3)] }]);
    }

    #[test]
    fn an_arm_meets_the_run_that_it_leaves_and_the_run_meets_the_arm() {
        let axes = [axis(1, &[(0.0, 0.0), (120.0, 0.0)]), axis(2, &[(50.0, 0.0), (50.0, 40.0)])];
        assert_eq!(places(&axes, 0), [(50.0, 2)]);
        assert_eq!(places(&axes, 1), [(0.0, 1)]);
    }

    #[test]
    fn runs_that_cross_or_follow_one_another_meet_and_those_apart_do_not() {
        let axes = [
            axis(1, &[(0.0, 0.0), (120.0, 0.0)]),
            axis(2, &[(30.0, -20.0), (30.0, 20.0)]),
            axis(3, &[(120.0, 0.0), (120.0, 30.0)]),
            axis(4, &[(60.0, 8.0), (60.0, 40.0)]),
        ];
        assert_eq!(places(&axes, 0), [(30.0, 2), (120.0, 3)]);
        assert_eq!(places(&axes, 3), []);
    }

    #[test]
    fn a_round_end_that_reaches_the_wall_meets_the_run() {
        // The blank project's run R1 goes from (40, 60) to (160, 60), 6 mm wide with round ends. Its start
        // lies 5 mm from the centre line of a run across that is 6 mm wide too: the cap reaches into it.
        let axes = [axis(9, &[(35.0, 0.0), (35.0, 120.0)]), axis(1, &[(40.0, 60.0), (163.0, 60.0)])];
        assert_eq!(places(&axes, 0), [(60.0, 1)]);
        // A free end shows its cap in the axis already.
        let axes = [axis(9, &[(33.0, 0.0), (33.0, 120.0)]), axis(1, &[(37.0, 60.0), (163.0, 60.0)])];
        assert_eq!(places(&axes, 0), []);
    }

    #[test]
    fn a_bent_run_is_measured_along_its_centre_line() {
        let bent = axis(1, &[(0.0, 0.0), (30.0, 0.0), (30.0, 40.0)]);
        let (at, distance) = along(&bent, DVec2::new(33.0, 20.0)).unwrap();
        assert!((at - 50.0).abs() < 1e-9 && (distance - 3.0).abs() < 1e-9);
    }
}
