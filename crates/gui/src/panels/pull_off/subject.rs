//! Whose pull-off curve is looked at, in what it is measured, where it is kept.

use keepside_engine::hold;
pub(crate) use keepside_engine::hold::measured;
use keepside_engine::opening::{HoldName, HoldOutcome, What};
use keepside_model::{Edit, Half, HoldInputs, Id, Item, NotACurve, Project, PullOff};
use keepside_session::Session;

/// A curve that follows from the other numbers of the project.
pub(super) struct Computed {
    /// The half it belongs to; `None` if it is the same for both.
    pub(super) half: Option<Half>,
    /// (Travel mm, pull in the unit of the subject).
    pub(super) points: Vec<(f64, f64)>,
}

/// Every hold whose curve can be looked at: those along the part, then sprues, pins and grooved ejectors.
pub(crate) fn all(project: &Project) -> Vec<What> {
    let mut all = vec![What::Tack, What::WallDrag, What::Edge, What::Vacuum];
    all.extend(project.sprues.keys().map(|id| What::Sprue(*id)));
    all.extend(project.features.keys().map(|id| What::Feature(*id)));
    let keying = project.ejectors.iter().filter(|(_, ejector)| ejector.face.keys());
    all.extend(keying.map(|(id, _)| What::Ejector(*id)));
    all
}

/// The hold that an item makes.
pub(crate) fn of_item(project: &Project, id: Id) -> Option<What> {
    if project.sprues.contains_key(&id) {
        return Some(What::Sprue(id));
    }
    if project.features.contains_key(&id) {
        return Some(What::Feature(id));
    }
    project.ejectors.get(&id).filter(|ejector| ejector.face.keys()).map(|_| What::Ejector(id))
}

/// The half of a sprue, pin or ejector; `None` for what both halves have.
pub(super) fn half(project: &Project, what: What) -> Option<Half> {
    match what {
        What::Sprue(id) => project.sprues.get(&id).map(|sprue| sprue.half),
        What::Feature(id) => project.features.get(&id).map(|feature| feature.half),
        What::Ejector(id) => project.ejectors.contains_key(&id).then_some(Half::Moving),
        What::Tack | What::WallDrag | What::Edge | What::Vacuum => None,
    }
}

/// The hold in the user's words.
pub(crate) fn name(project: &Project, what: What) -> String {
    match (what, half(project, what)) {
        (What::Tack, _) => "face tack, both halves".to_owned(),
        (What::WallDrag, _) => "wall drag, both halves".to_owned(),
        (What::Edge, _) => "undercut edges, both halves".to_owned(),
        (What::Vacuum, _) => "vacuum under faces, both halves".to_owned(),
        (_, Some(half)) => HoldName { half, what }.words(project),
        (_, None) => "deleted".to_owned(),
    }
}

/// Unit of the pull.
pub(super) const fn unit(what: What) -> &'static str {
    match what {
        What::Tack | What::WallDrag | What::Vacuum => "MPa",
        What::Edge => "N/mm",
        What::Sprue(_) | What::Feature(_) | What::Ejector(_) => "N",
    }
}

/// What the curve is of, in words.
pub(super) const fn of_what(what: What) -> &'static str {
    match what {
        What::Tack => "Pull in MPa of bare face, before release agent",
        What::WallDrag => "Pull in MPa of bare wall, before release agent",
        What::Edge => "Pull in N per mm of run, both edges together",
        What::Vacuum => "Pull in MPa of sealed face, until air gets in",
        What::Sprue(_) | What::Feature(_) => "Pull in N of the whole hold",
        What::Ejector(_) => "Pull in N of all grooves of the face",
    }
}

/// The edit that puts a curve in the place of the one that there is; `None` = the computed one.
pub(super) fn with(project: &Project, what: What, curve: Option<PullOff>) -> Option<Edit> {
    let holds = || project.holds.clone();
    Some(match what {
        What::Tack => Edit::SetHolds(HoldInputs { tack_curve: curve, ..holds() }),
        What::WallDrag => Edit::SetHolds(HoldInputs { wall_curve: curve, ..holds() }),
        What::Edge => Edit::SetHolds(HoldInputs { edge_curve: curve, ..holds() }),
        What::Vacuum => return None,
        What::Sprue(id) => {
            let mut sprue = project.sprues.get(&id)?.clone();
            sprue.measured = curve;
            Edit::Set(id, Item::Sprue(sprue))
        }
        What::Feature(id) => {
            let mut feature = project.features.get(&id)?.clone();
            feature.measured = curve;
            Edit::Set(id, Item::Feature(feature))
        }
        What::Ejector(id) => {
            let mut ejector = project.ejectors.get(&id)?.clone();
            ejector.measured = curve;
            Edit::Set(id, Item::Ejector(ejector))
        }
    })
}

/// What became of the hold in the newest opening run, in each half that has it.
pub(super) fn outcomes(session: &Session, what: What) -> Vec<&HoldOutcome> {
    match session.results().opening() {
        Some(Ok(opening)) => opening.holds.iter().filter(|hold| hold.name.what == what).collect(),
        _ => Vec::new(),
    }
}

/// What is computed for the hold, or would be if nothing were measured. Empty if nothing is: of a pin
/// outside the channel, and of edges that trap nothing.
pub(super) fn computed(session: &Session, what: What) -> Vec<Computed> {
    let project = session.document();
    let holds = &project.holds;
    let same = |points| vec![Computed { half: None, points }];
    match what {
        What::Tack => same(hold::tack_curve(holds).points().to_vec()),
        What::Vacuum => {
            let (pull, gap) = (holds.vacuum_mpa, holds.air_gap_mm);
            same(vec![(0.0, 0.0), (0.1 * gap, pull), (gap, pull), (1.1 * gap, 0.0)])
        }
        What::WallDrag => walls(project),
        What::Edge => edges(project),
        What::Sprue(id) | What::Feature(id) | What::Ejector(id) => {
            let Some(layout) = session.results().layout() else { return Vec::new() };
            let hold = hold::computed_at(project, &layout.outline, id);
            let of = |hold: hold::PointHold| Computed {
                half: half(project, what),
                points: hold.curve.points().to_vec(),
            };
            hold.map(of).into_iter().collect()
        }
    }
}

/// The walls at the start of the first run: elsewhere they may be higher or lower.
fn walls(project: &Project) -> Vec<Computed> {
    let part = &project.part;
    let Some(start) = part.runs.values().find_map(|run| run.points.first()) else { return Vec::new() };
    let of = |half, share: f64, draft_deg| {
        let curve = hold::wall_curve(&project.holds, share * start.depth_mm, draft_deg);
        Computed { half: Some(half), points: curve.points().to_vec() }
    };
    let halves = [
        (Half::Moving, part.moving_share, part.draft_moving_deg),
        (Half::Fixed, 1.0 - part.moving_share, part.draft_fixed_deg),
    ];
    halves.into_iter().filter(|(_, share, _)| *share > 0.0).map(|(half, s, d)| of(half, s, d)).collect()
}

/// The edges at the first place of a run that traps the part: elsewhere they may hold more or less.
fn edges(project: &Project) -> Vec<Computed> {
    let mut project = Project::clone(project);
    project.holds.edge_curve = None;
    let of = |half| {
        let mut places = project.part.runs.values().flat_map(|run| &run.points);
        let hold = places.find_map(|at| hold::edge_at(&project, at.width_mm, at.depth_mm, half))?;
        Some(Computed { half: Some(half), points: hold.curve.points().to_vec() })
    };
    [Half::Moving, Half::Fixed].into_iter().filter_map(of).collect()
}

/// A computed curve as one to be edited: with few digits, and no points too near to each other to be told
/// apart.
///
/// # Errors
///
/// [`NotACurve`] if nothing pulls.
pub(super) fn editable(points: &[(f64, f64)]) -> Result<PullOff, NotACurve> {
    /// Least travel between points, mm.
    const APART_MM: f64 = PullOff::LEAST_STEP_MM;
    let round = |value: f64, unit: f64| (value / unit).round() * unit;
    let peak = points.iter().map(|point| point.1).fold(0.0, f64::max);
    // A thousandth of the peak, as a power of ten.
    let digit = 10.0_f64.powf((peak.max(1e-9) * 1e-3).log10().floor());
    let mut kept = vec![(0.0, 0.0)];
    let last = points.len().saturating_sub(1);
    for (index, &(travel, pull)) in points.iter().enumerate().skip(1) {
        let travel = tidy(round(travel, 1e-4));
        let pull = if index == last { 0.0 } else { tidy(round(pull, digit)) };
        let before = kept[kept.len() - 1];
        if travel - before.0 >= APART_MM - 1e-9 {
            kept.push((travel, pull));
        } else if index == last {
            kept.push((tidy(before.0 + APART_MM), 0.0));
        } else if pull > before.1 {
            // The higher of two that are too near to each other counts.
            match kept.len() {
                1 => kept.push((APART_MM, pull)),
                length => kept[length - 1].1 = pull,
            }
        }
    }
    // More points than a curve may have: every so many, and the last.
    let every = kept.len().div_ceil(PullOff::MOST_POINTS - 1).max(1);
    let end = kept.len() - 1;
    let mut index = 0;
    kept.retain(|_| {
        index += 1;
        (index - 1) % every == 0 || index - 1 == end
    });
    PullOff::new(kept)
}

/// Without the last digits, which rounding to a multiple leaves behind.
pub(super) fn tidy(value: f64) -> f64 {
    (value * 1e7).round() / 1e7
}

#[cfg(test)]
mod tests {
    use keepside_model::{Ejector, EjectorFace};

    use super::*;

    #[test]
    fn a_computed_curve_is_made_one_to_be_edited() {
        // A sprue's: the rise takes less than a micron.
        let sprue = [(0.0, 0.0), (0.000_025, 6.123_456), (0.000_1, 12.246_9), (1.146_72, 0.0)];
        let curve = editable(&sprue).unwrap();
        assert_eq!(curve.points(), [(0.0, 0.0), (0.001, 12.25), (1.1467, 0.0)]);
        let screw = [(0.0, 0.0), (0.012_345, 123.456), (1.8, 0.0)];
        assert_eq!(editable(&screw).unwrap().points(), [(0.0, 0.0), (0.0123, 123.5), (1.8, 0.0)]);
        let tack = hold::tack_curve(&HoldInputs::default());
        assert_eq!(editable(tack.points()).unwrap().points(), [(0.0, 0.0), (0.003, 0.1), (0.03, 0.0)]);
        // All of it within a micron.
        let tiny = editable(&[(0.0, 0.0), (1e-5, 3.0), (2e-5, 0.0)]).unwrap();
        assert_eq!(tiny.points(), [(0.0, 0.0), (0.001, 3.0), (0.002, 0.0)]);
        assert_eq!(editable(&[(0.0, 0.0), (0.1, 0.0), (1.0, 0.0)]), Err(NotACurve::Flat));
        assert!(editable(&[]).is_err());
    }

    #[test]
    fn an_ejector_whose_face_keys_has_a_curve_and_a_plain_one_has_none() {
        let mut project = Project::blank();
        let at = glam::DVec2::new(100.0, 60.0);
        for (id, face) in [(30, EjectorFace::Plain), (31, EjectorFace::Crossed)] {
            let pin = Ejector::new(at, 4.0, 80.0, 8.0, face);
            project.apply(&Edit::Add(Id(id), Item::Ejector(pin))).unwrap();
        }
        assert_eq!(of_item(&project, Id(30)), None);
        let what = of_item(&project, Id(31)).unwrap();
        assert_eq!((what, half(&project, what)), (What::Ejector(Id(31)), Some(Half::Moving)));
        assert!(all(&project).contains(&what) && unit(what) == "N");
        let curve = PullOff::new(vec![(0.0, 0.0), (0.1, 12.0), (0.4, 0.0)]).unwrap();
        project.apply(&with(&project, what, Some(curve.clone())).unwrap()).unwrap();
        assert_eq!(measured(&project, what), Some(&curve));
        project.apply(&with(&project, what, None).unwrap()).unwrap();
        assert_eq!(measured(&project, what), None);
    }

    #[test]
    fn a_curve_of_many_points_is_thinned() {
        let teeth = (1..1000_u16).map(|tooth| (0.01 * f64::from(tooth), 50.0));
        let long: Vec<_> = [(0.0, 0.0)].into_iter().chain(teeth).chain([(10.0, 0.0)]).collect();
        let curve = editable(&long).unwrap();
        assert!((150..=200).contains(&curve.points().len()), "{}", curve.points().len());
        assert_eq!(curve.points().last(), Some(&(10.0, 0.0)));
    }
}
