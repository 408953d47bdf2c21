//! Places that a dragged feature, gate or ejector may jump to, each with a word and a line to draw.
//!
//! Pure: the editor calls [`Snap::round`] for every move of the pointer and draws the guide of what comes
//! back.

use glam::DVec2;
use keepside_engine::outline::{Outline, plan_diameter_mm};
use keepside_model::{Half, Id, Project, Run};

use crate::centre_line::{nearest_on_run, place_along};
use crate::snap::{Snap, SnapTo};

/// Places that differ by less are one, mm.
const SAME_MM: f64 = 1e-6;

/// A round item that is dragged: a feature, a gate or an ejector.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Round {
    /// Which item; none of the places depends on where it is now.
    pub id: Id,
    /// The half it belongs to.
    pub half: Half,
    /// Its radius in the channel, mm.
    pub radius_mm: f64,
}

/// A place that an item may jump to, or has jumped to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aid {
    /// The place, mm.
    pub at: DVec2,
    /// Why; [`SnapTo::words`] says it.
    pub to: SnapTo,
    /// The two ends of a line that shows why, mm.
    pub guide: Option<(DVec2, DVec2)>,
}

impl Round {
    /// The item of this id; `None` if it is not round and in the channel.
    pub fn of(project: &Project, id: Id) -> Option<Self> {
        let of = |half, diameter_mm: f64| Self { id, half, radius_mm: 0.5 * diameter_mm };
        let feature = project.features.get(&id).map(|f| of(f.half, plan_diameter_mm(&f.kind)));
        let sprue = || project.sprues.get(&id).map(|sprue| of(sprue.half, sprue.diameter_mm));
        let ejector = || project.ejectors.get(&id).map(|pin| of(Half::Moving, pin.diameter_mm));
        feature.or_else(sprue).or_else(ejector)
    }
}

impl Snap {
    /// Where a dragged feature, gate or ejector comes to lie when the pointer wants it at `wanted`.
    ///
    /// Within the magnet's reach the nearest of the places that [`places`] tells wins, then the middle of
    /// the channel, then what [`Snap::point`] says. `outline` is that of the last layout, if there is one;
    /// `from_gate_mm` is the distance from gates that the user has stated, if any.
    pub fn round(
        &self,
        project: &Project,
        outline: Option<&Outline>,
        dragged: Round,
        from_gate_mm: Option<f64>,
        wanted: DVec2,
    ) -> Aid {
        let reaches = |aid: &Aid| self.magnet_mm > 0.0 && aid.at.distance(wanted) <= self.magnet_mm;
        let nearest = |aids: Vec<Aid>| {
            let near = aids.into_iter().filter(reaches);
            near.min_by(|a, b| a.at.distance(wanted).total_cmp(&b.at.distance(wanted)))
        };
        if let Some(aid) = nearest(places(project, dragged, from_gate_mm, wanted)) {
            return aid;
        }
        let snapped = self.point(project, wanted);
        let middle = outline.and_then(|outline| middle(project, outline, snapped.at, wanted));
        let middle = middle.filter(reaches);
        match middle {
            // The middle between the walls is that of the run, but where runs overlap.
            Some(middle) if middle.at.distance(snapped.at) > SAME_MM => middle,
            Some(middle) => Aid { at: snapped.at, to: snapped.to, guide: middle.guide },
            None => {
                let guide = across(project, snapped.to, snapped.at);
                Aid { at: snapped.at, to: snapped.to, guide }
            }
        }
    }
}

/// The places near `wanted` that a round item may jump to: behind a gate of the other half through the
/// plates, midway between its two neighbours along the channel with equal gaps to both, and at the stated
/// distance from a gate along the channel. In no order of preference.
pub fn places(project: &Project, dragged: Round, from_gate_mm: Option<f64>, wanted: DVec2) -> Vec<Aid> {
    let mut aids: Vec<Aid> = behind_gates(project, dragged).collect();
    let on = project.part.runs.iter().filter_map(|(&id, run)| {
        let on = nearest_on_run(run, wanted)?;
        (on.distance_mm <= 0.5 * on.width_mm).then_some((id, run, on))
    });
    if let Some((id, run, on)) = on.min_by(|a, b| a.2.distance_mm.total_cmp(&b.2.distance_mm)) {
        aids.extend(equal_gaps(project, dragged, run, on.along_mm));
        aids.extend(from_gate_mm.into_iter().flat_map(|mm| from_gates(project, dragged, (id, run), mm)));
    }
    aids
}

fn behind_gates(project: &Project, dragged: Round) -> impl Iterator<Item = Aid> {
    let opposite = project.sprues.iter().filter(move |(id, s)| s.half != dragged.half && **id != dragged.id);
    opposite.map(move |(&gate, sprue)| {
        let arm = DVec2::new(sprue.diameter_mm.max(2.0 * dragged.radius_mm), 0.0);
        let guide = Some((sprue.at - arm, sprue.at + arm));
        Aid { at: sprue.at, to: SnapTo::BehindGate(gate), guide }
    })
}

/// What a dragged item may stand between: the features and ejectors of its half, and gates of either.
fn neighbours(project: &Project, dragged: Round) -> impl Iterator<Item = (Round, DVec2)> {
    let ids = project.features.keys().chain(project.sprues.keys()).chain(project.ejectors.keys());
    ids.filter_map(move |&id| {
        let round = Round::of(project, id).filter(|round| round.id != dragged.id)?;
        let stands = round.half == dragged.half || project.sprues.contains_key(&id);
        stands.then_some(round).zip(project.place(id))
    })
}

/// The place between the two neighbours along a run at which the gaps to both are equal.
fn equal_gaps(project: &Project, dragged: Round, run: &Run, along_mm: f64) -> Option<Aid> {
    let on_run = neighbours(project, dragged).filter_map(|(round, at)| {
        let on = nearest_on_run(run, at)?;
        (on.distance_mm <= 0.5 * on.width_mm).then_some((on.along_mm, round, at))
    });
    let (before, after): (Vec<_>, Vec<_>) = on_run.partition(|(at_mm, ..)| *at_mm <= along_mm);
    let before = before.into_iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
    let after = after.into_iter().min_by(|a, b| a.0.total_cmp(&b.0))?;
    let gap_mm = |at: DVec2, of: &(f64, Round, DVec2)| at.distance(of.2) - of.1.radius_mm;
    // The gap behind grows and the gap ahead shrinks along the run: halving finds where they are equal.
    let (mut low_mm, mut high_mm) = (before.0, after.0);
    for _ in 0..60 {
        let middle_mm = 0.5 * (low_mm + high_mm);
        let at = place_along(run, middle_mm)?;
        if gap_mm(at, &before) < gap_mm(at, &after) { low_mm = middle_mm } else { high_mm = middle_mm }
    }
    let at = to_a_nanometre(place_along(run, high_mm)?);
    let to = SnapTo::EqualGaps(before.1.id, after.1.id);
    Some(Aid { at, to, guide: Some((before.2, after.2)) })
}

/// The two places at a distance from every gate on a run, from middle to middle along the channel.
fn from_gates(
    project: &Project,
    dragged: Round,
    (run_id, run): (Id, &Run),
    distance_mm: f64,
) -> impl Iterator<Item = Aid> {
    let gates = project.sprues.iter().filter(move |(id, _)| **id != dragged.id);
    let on_run = gates.filter_map(move |(&gate, sprue)| {
        let on = nearest_on_run(run, sprue.at)?;
        (on.distance_mm <= 0.5 * on.width_mm).then_some((gate, sprue.at, on.along_mm))
    });
    on_run.flat_map(move |(gate, from, along_mm)| {
        [-distance_mm, distance_mm].into_iter().filter_map(move |by_mm| {
            let at = to_a_nanometre(place_along(run, along_mm + by_mm)?);
            Some(Aid { at, to: SnapTo::FromGate { gate, run: run_id }, guide: Some((from, at)) })
        })
    })
}

/// The place with equal gaps to the walls on both sides, across the run that is nearest.
fn middle(project: &Project, outline: &Outline, near: DVec2, wanted: DVec2) -> Option<Aid> {
    let place = keepside_engine::outline::channel_at(project, wanted)?;
    let (left, right) = outline.chord(near, place.direction.perp())?;
    let at = to_a_nanometre(left.midpoint(right));
    outline.contains(at).then_some(Aid {
        at,
        to: SnapTo::BetweenEdges(place.run),
        guide: Some((left, right)),
    })
}

/// A line across the run whose centre line was snapped to.
fn across(project: &Project, to: SnapTo, at: DVec2) -> Option<(DVec2, DVec2)> {
    let SnapTo::CentreLine(id) = to else { return None };
    let place = keepside_engine::outline::channel_at(project, at).filter(|place| place.run == id)?;
    let half = place.direction.perp() * (0.5 * place.width_mm);
    Some((at - half, at + half))
}

/// Coordinates without the rounding of computing them.
fn to_a_nanometre(at: DVec2) -> DVec2 {
    (at * 1e6).round() / 1e6
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use keepside_model::{
        Ejector, EjectorFace, EndShape, FeatureKind, Finish, KeyingFeature, RunPoint, Sprue,
    };

    use super::*;

    const SNAP: Snap = Snap { grid_mm: Some(1.0), magnet_mm: 2.0 };

    fn pin(x: f64, y: f64, diameter_mm: f64, half: Half) -> KeyingFeature {
        KeyingFeature::new(DVec2::new(x, y), half, FeatureKind::PlainPost { diameter_mm }, 2.0)
    }

    fn gate(x: f64, y: f64) -> Sprue {
        Sprue {
            name: String::new(),
            at: DVec2::new(x, y),
            half: Half::Fixed,
            diameter_mm: 3.0,
            length_mm: 10.0,
            draft_deg: 1.0,
            finish: Finish::Polished,
            measured: None,
        }
    }

    /// The blank project's run R1 goes from (40, 60) to (160, 60), 6 mm wide. A pin to be dragged, one of
    /// 4 mm at 60, an ejector of 2 mm at 80, and a gate in the fixed half at 100.
    fn project() -> Project {
        let mut project = Project::blank();
        project.features = BTreeMap::from([
            (Id(10), pin(150.0, 60.0, 3.0, Half::Moving)),
            (Id(11), pin(60.0, 60.0, 4.0, Half::Moving)),
        ]);
        let ejector = Ejector::new(DVec2::new(80.0, 60.0), 2.0, 80.0, 6.0, EjectorFace::Plain);
        project.ejectors.insert(Id(12), ejector);
        project.sprues.insert(Id(13), gate(100.0, 60.0));
        project
    }

    #[track_caller]
    fn snapped(project: &Project, from_gate_mm: Option<f64>, wanted: (f64, f64)) -> Aid {
        let layout = keepside_engine::layout(project);
        let dragged = Round::of(project, Id(10)).expect("it is round");
        let aid = SNAP.round(project, Some(&layout.outline), dragged, from_gate_mm, wanted.into());
        let without = SNAP.round(project, None, dragged, from_gate_mm, wanted.into());
        if !matches!(aid.to, SnapTo::BetweenEdges(_)) {
            assert_eq!((aid.at, aid.to), (without.at, without.to), "the outline only adds");
        }
        aid
    }

    #[test]
    fn behind_a_gate_through_the_plates() {
        let aid = snapped(&project(), None, (101.3, 59.2));
        assert_eq!((aid.at, aid.to), (DVec2::new(100.0, 60.0), SnapTo::BehindGate(Id(13))));
        assert!(aid.guide.is_some());
        assert_eq!(aid.to.words(&project()), "behind gate S13");
        // Not of the item's own half: there the two would take the same place.
        let mut same = project();
        same.sprues.values_mut().for_each(|sprue| sprue.half = Half::Moving);
        assert!(!matches!(snapped(&same, None, (101.3, 59.2)).to, SnapTo::BehindGate(_)));
    }

    #[test]
    fn midway_between_neighbours_with_equal_gaps() {
        // From the rim of the pin at 62 to that of the ejector at 79.
        let aid = snapped(&project(), None, (71.4, 60.9));
        assert_eq!((aid.at, aid.to), (DVec2::new(70.5, 60.0), SnapTo::EqualGaps(Id(11), Id(12))));
        assert_eq!(aid.guide, Some((DVec2::new(60.0, 60.0), DVec2::new(80.0, 60.0))));
        // The next pair: the ejector and the gate, 81 to 98.5.
        let aid = snapped(&project(), None, (89.0, 60.0));
        assert_eq!((aid.at, aid.to), (DVec2::new(89.75, 60.0), SnapTo::EqualGaps(Id(12), Id(13))));
        // Beyond the last neighbour there is no such place, and the middle of the channel is left.
        let aid = snapped(&project(), None, (130.4, 60.9));
        assert_eq!((aid.at, aid.to), (DVec2::new(130.0, 60.0), SnapTo::CentreLine(Id(1))));
        let (one, other) = aid.guide.expect("a line across the channel");
        assert!(
            one.distance(DVec2::new(130.0, 63.0)) < 1e-9 && other.distance(DVec2::new(130.0, 57.0)) < 1e-9
        );
    }

    #[test]
    fn round_a_bend_the_gaps_are_equal_as_they_are_measured() {
        // A half circle of radius 30 about (100, 60) from the right to the left.
        let point = |x, bulge| RunPoint { at: DVec2::new(x, 60.0), width_mm: 6.0, depth_mm: 3.0, bulge };
        let mut project = project();
        let run = project.part.runs.get_mut(&Id(1)).expect("the run");
        (run.points, run.start) = (vec![point(130.0, 1.0), point(70.0, 0.0)], EndShape::Round);
        let on = |turn_deg: f64| DVec2::new(100.0, 60.0) + DVec2::from_angle(turn_deg.to_radians()) * 30.0;
        project.sprues.clear();
        project.features.get_mut(&Id(11)).expect("the pin").at = on(30.0);
        project.ejectors.get_mut(&Id(12)).expect("the ejector").at = on(110.0);
        let wanted = on(72.0);
        let aid = snapped(&project, None, (wanted.x, wanted.y));
        assert_eq!(aid.to, SnapTo::EqualGaps(Id(11), Id(12)));
        let gaps = [aid.at.distance(on(30.0)) - 2.0, aid.at.distance(on(110.0)) - 1.0];
        assert!((gaps[0] - gaps[1]).abs() < 1e-5, "{gaps:?}");
        assert!((aid.at.distance(DVec2::new(100.0, 60.0)) - 30.0).abs() < 1e-6);
    }

    #[test]
    fn at_the_stated_distance_from_a_gate() {
        let aid = snapped(&project(), Some(12.5), (113.1, 61.0));
        let to = SnapTo::FromGate { gate: Id(13), run: Id(1) };
        assert_eq!((aid.at, aid.to), (DVec2::new(112.5, 60.0), to));
        assert_eq!(aid.guide, Some((DVec2::new(100.0, 60.0), DVec2::new(112.5, 60.0))));
        assert_eq!(aid.to.words(&project()), "stated distance from gate S13");
        // On the other side the gate and the ejector are neighbours: the nearer place wins.
        assert_eq!(snapped(&project(), Some(12.5), (87.0, 60.0)).at, DVec2::new(87.5, 60.0));
        // A place beyond the end of the run is none.
        assert_eq!(snapped(&project(), Some(70.0), (159.5, 60.0)).to, SnapTo::CentreLine(Id(1)));
    }

    #[test]
    fn equal_gaps_to_both_edges_where_runs_overlap() {
        // A second run side by side with the first: together 10 mm wide, from 57 to 67.
        let mut project = project();
        let other = Run::straight("", DVec2::new(40.0, 64.0), DVec2::new(160.0, 64.0), 6.0, 3.0);
        project.part.runs.insert(Id(2), other);
        let aid = snapped(&project, None, (130.0, 61.5));
        assert_eq!(aid.at, DVec2::new(130.0, 62.0));
        assert!(matches!(aid.to, SnapTo::BetweenEdges(_)));
        assert_eq!(aid.to.words(&project), "equal gaps to both edges");
    }

    #[test]
    fn far_from_everything_or_with_snapping_off_nothing_pulls() {
        assert_eq!(snapped(&project(), Some(5.0), (30.4, 20.6)).to, SnapTo::Grid);
        let dragged = Round::of(&project(), Id(10)).expect("it is round");
        let wanted = DVec2::new(100.2, 60.1);
        let aid = Snap::OFF.round(&project(), None, dragged, Some(5.0), wanted);
        assert_eq!((aid.at, aid.to, aid.guide), (wanted, SnapTo::Nothing, None));
        assert_eq!(Round::of(&project(), Id(1)), None, "a run is not round");
    }
}
