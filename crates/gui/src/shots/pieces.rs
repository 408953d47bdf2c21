//! The stretches of the part that somebody with a shot in hand can tell apart: between gates, pins and
//! junctions.

use glam::DVec2;
use keepside_engine::outline::plan_diameter_mm;
use keepside_model::{Id, Project, Run};
use keepside_session::Session;

use crate::ribbon::{self, Rib};

/// A shorter stretch is none of its own, mm.
const LEAST_MM: f64 = 3.0;

/// A stretch of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Piece {
    pub(crate) run: Id,
    /// From here along the run, mm from its tip.
    pub(crate) from_mm: f64,
    /// To here, mm.
    pub(crate) to_mm: f64,
}

impl Piece {
    /// Its middle along the run, mm.
    pub(crate) fn middle_mm(&self) -> f64 {
        0.5 * (self.from_mm + self.to_mm)
    }
}

/// The ribs of a run, measured as the opening run does where that is known.
pub(crate) fn ribs_of(session: &Session, id: Id, run: &Run) -> Vec<Rib> {
    let opening = session.results().opening().and_then(|opening| opening.as_deref().ok());
    match opening.and_then(|opening| opening.axis(id)) {
        Some(axis) => ribbon::ribs_on(run, axis),
        None => ribbon::ribs(run),
    }
}

/// All stretches, run by run.
pub(crate) fn pieces(session: &Session) -> Vec<Piece> {
    let project = session.document();
    let runs = project.part.runs.iter();
    runs.flat_map(|(id, run)| pieces_of(project, *id, &ribs_of(session, *id, run))).collect()
}

/// The stretches of one run.
fn pieces_of(project: &Project, id: Id, ribs: &[Rib]) -> Vec<Piece> {
    let (Some(first), Some(last)) = (ribs.first(), ribs.last()) else { return Vec::new() };
    let mut low = DVec2::INFINITY;
    let mut high = DVec2::NEG_INFINITY;
    for end in ribs.iter().flat_map(Rib::ends) {
        low = low.min(end);
        high = high.max(end);
    }
    let features = project.features.values().map(|pin| (pin.at, 0.5 * plan_diameter_mm(&pin.kind)));
    let sprues = project.sprues.values().map(|sprue| (sprue.at, 0.5 * sprue.diameter_mm));
    let others = project.part.runs.iter().filter(|(other, _)| **other != id);
    let ends = others.flat_map(|(_, run)| [run.points.first(), run.points.last()]).flatten();
    let places = features.chain(sprues).chain(ends.map(|point| (point.at, 0.0)));
    let near = |at: DVec2| at.cmpge(low).all() && at.cmple(high).all();
    let mut cuts: Vec<f64> = places
        .filter(|(at, _)| near(*at))
        .filter_map(|(at, _)| on_ribs(ribs, at))
        .map(|(along_mm, _)| along_mm)
        .collect();
    cuts.sort_by(f64::total_cmp);
    let mut places = vec![first.along_mm];
    for cut in cuts {
        if cut - places[places.len() - 1] >= LEAST_MM && last.along_mm - cut >= LEAST_MM {
            places.push(cut);
        }
    }
    places.push(last.along_mm);
    places.windows(2).map(|pair| Piece { run: id, from_mm: pair[0], to_mm: pair[1] }).collect()
}

/// Where a place lies along a ribbon, and how far from its middle line; `None` beside the ribbon.
fn on_ribs(ribs: &[Rib], at: DVec2) -> Option<(f64, f64)> {
    let on_pair = |pair: &[Rib]| {
        let (a, b) = (pair[0], pair[1]);
        let along = b.at - a.at;
        let share =
            if along.length_squared() > 0.0 { (at - a.at).dot(along) / along.length_squared() } else { 0.0 };
        let share = share.clamp(0.0, 1.0);
        let distance_mm = at.distance(a.at.lerp(b.at, share));
        let half_mm = a.half_mm + (b.half_mm - a.half_mm) * share;
        (distance_mm <= half_mm + 1e-9)
            .then_some((a.along_mm + (b.along_mm - a.along_mm) * share, distance_mm))
    };
    ribs.windows(2).filter_map(on_pair).min_by(|a, b| a.1.total_cmp(&b.1))
}

/// The run and the place along it that covers a place of the plan.
pub(crate) fn along_at(session: &Session, at: DVec2) -> Option<(Id, f64)> {
    let runs = session.document().part.runs.iter();
    let on = runs.filter_map(|(id, run)| {
        let (along_mm, distance_mm) = on_ribs(&ribs_of(session, *id, run), at)?;
        Some((*id, along_mm, distance_mm))
    });
    on.min_by(|a, b| a.2.total_cmp(&b.2)).map(|(id, along_mm, _)| (id, along_mm))
}

#[cfg(test)]
mod tests {
    use super::*;
    use keepside_model::{Edit, FeatureKind, Half, Item, KeyingFeature, ThreadSize};

    #[test]
    fn a_run_is_cut_where_pins_and_other_runs_stand() {
        // From (40, 60) to (160, 60), 6 mm wide, round ends: 126 mm from tip to tip.
        let mut project = Project::blank();
        let arm = Run::straight("", DVec2::new(100.0, 60.0), DVec2::new(100.0, 100.0), 6.0, 3.0);
        project.apply(&Edit::Add(Id(8), Item::Run(arm))).unwrap();
        for (id, x) in [(5, 80.0), (6, 81.0), (7, 159.5)] {
            let pin = KeyingFeature::new(
                DVec2::new(x, 60.5),
                Half::Moving,
                FeatureKind::set_screw(ThreadSize::M3),
                1.8,
            );
            project.apply(&Edit::Add(Id(id), Item::Feature(pin))).unwrap();
        }
        let ribs = ribbon::ribs(&project.part.runs[&Id(1)]);
        let places: Vec<(f64, f64)> =
            pieces_of(&project, Id(1), &ribs).iter().map(|piece| (piece.from_mm, piece.to_mm)).collect();
        assert_eq!(places.len(), 4, "{places:?}");
        for (piece, expected) in places.iter().zip([(0.0, 43.0), (43.0, 63.0), (63.0, 122.5), (122.5, 126.0)])
        {
            assert!((piece.0 - expected.0).abs() < 1e-9 && (piece.1 - expected.1).abs() < 1e-9, "{places:?}");
        }
        assert_eq!(on_ribs(&ribs, DVec2::new(100.0, 64.0)), None);
    }
}
