//! Measured curves in the place of computed ones, and what would be computed in the place of measured ones.

use glam::DVec2;
use keepside_model::{Half, HoldInputs, Id, Project, PullOff};

use crate::hold::{ChannelSection, Curve, Ending, PointHold};
use crate::opening::What;
use crate::outline::{self, Outline};

/// Separation at peak traction as a share of the separation at which tack is gone. Assumed.
pub const TACK_RISE_SHARE: f64 = 0.1;

/// Travel over which wall drag builds up, mm; assumed, of the order of the roughness of a milled wall.
pub const WALL_RISE_MM: f64 = 0.005;

impl PointHold {
    /// With the measured curve, if there is one, in the place of the computed one.
    #[must_use]
    pub(super) fn or_measured(self, measured: Option<&PullOff>) -> Self {
        let Some(measured) = measured else { return self };
        let governed_by = if self.ending == Ending::Tears { "measured, tear" } else { "measured" };
        Self { curve: Curve::measured(measured), governed_by, ..self }
    }
}

/// The measured curve of a hold, if there is one: N of a sprue, feature or
/// grooved ejector, MPa of a bare face or wall, N a
/// mm of run of undercut edges.
pub fn measured(project: &Project, what: What) -> Option<&PullOff> {
    match what {
        What::Tack => project.holds.tack_curve.as_ref(),
        What::WallDrag => project.holds.wall_curve.as_ref(),
        What::Edge => project.holds.edge_curve.as_ref(),
        What::Vacuum => None,
        What::Sprue(id) => project.sprues.get(&id)?.measured.as_ref(),
        What::Feature(id) => project.features.get(&id)?.measured.as_ref(),
        What::Ejector(id) => project.ejectors.get(&id)?.measured.as_ref(),
    }
}

/// The channel where something stands in `half`; `None` outside it. The walls round it are taken from the
/// outline.
pub(super) fn section_at(
    project: &Project,
    outline: &Outline,
    at: DVec2,
    half: Half,
) -> Option<ChannelSection> {
    let channel = outline::channel_at(project, at).filter(|channel| channel.inside)?;
    let share = match half {
        Half::Moving => project.part.moving_share,
        Half::Fixed => 1.0 - project.part.moving_share,
    };
    Some(ChannelSection {
        width_mm: channel.width_mm,
        depth_mm: channel.depth_mm,
        depth_in_half_mm: share * channel.depth_mm,
        to_wall_mm: outline.nearest_edge(at)?.1,
    })
}

/// What would be computed for a sprue, a keying feature or an ejector whose face keys if nothing were
/// measured; `None` for anything else and for what stands outside the channel. The pull is in N.
pub fn computed_at(project: &Project, outline: &Outline, id: Id) -> Option<PointHold> {
    if let Some(sprue) = project.sprues.get(&id) {
        let sprue = keepside_model::Sprue { measured: None, ..sprue.clone() };
        return Some(super::sprue(project, &sprue));
    }
    if let Some(ejector) = project.ejectors.get(&id).filter(|ejector| ejector.face.keys()) {
        let section = section_at(project, outline, ejector.at, Half::Moving)?;
        let ejector = keepside_model::Ejector { measured: None, ..ejector.clone() };
        return Some(super::ejector_face(project, &ejector, section));
    }
    let feature = project.features.get(&id)?;
    let section = section_at(project, outline, feature.at, feature.half)?;
    let feature = keepside_model::KeyingFeature { measured: None, ..feature.clone() };
    Some(super::feature(project, &feature, section))
}

/// What would be computed for the tack of a bare face if nothing were measured: MPa against travel, mm.
pub fn tack_curve(holds: &HoldInputs) -> Curve {
    let gone_mm = holds.tack_travel_mm;
    Curve::triangle(holds.tack_mpa, TACK_RISE_SHARE * gone_mm, gone_mm)
}

/// What would be computed for the drag of a bare wall if nothing were measured: MPa against travel, mm.
///
/// It ends when the wall of this height is cleared, or earlier when the draft has opened the relief.
pub fn wall_curve(holds: &HoldInputs, height_mm: f64, draft_deg: f64) -> Curve {
    let slope = draft_deg.to_radians().tan();
    let gone_mm = if slope > 0.0 { height_mm.min(holds.wall_relief_mm / slope) } else { height_mm };
    Curve::triangle(holds.wall_drag_mpa, WALL_RISE_MM.min(0.1 * gone_mm), gone_mm)
}

#[cfg(test)]
mod tests {
    use glam::DVec2;
    use keepside_model::{Edit, FeatureKind, Finish, Item, KeyingFeature, Sprue, ThreadSize};

    use super::*;
    use crate::opening::{self, Cancel};

    /// The blank run with a gate in the fixed half, number 20, and two screws in the moving half, 21 and 22.
    fn keyed() -> Project {
        let mut project = Project::blank();
        let gate = Item::Sprue(Sprue {
            name: String::new(),
            at: DVec2::new(100.0, 60.0),
            half: Half::Fixed,
            diameter_mm: 3.0,
            length_mm: 12.0,
            draft_deg: 1.0,
            finish: Finish::AsTurned,
            measured: None,
        });
        let screw = |x| {
            Item::Feature(KeyingFeature::new(
                DVec2::new(x, 60.0),
                Half::Moving,
                FeatureKind::set_screw(ThreadSize::M3),
                1.8,
            ))
        };
        for (id, item) in [(20, gate), (21, screw(70.0)), (22, screw(130.5))] {
            project.apply(&Edit::Add(Id(id), item)).unwrap();
        }
        project
    }

    fn curve_in_run(project: &Project, id: Id) -> opening::HoldOutcome {
        let opening = opening::run(project, &Cancel::default()).unwrap();
        opening.holds.into_iter().find(|hold| hold.name.what.item() == Some(id)).unwrap()
    }

    #[test]
    fn what_would_be_computed_is_what_the_opening_run_computes() {
        let project = keyed();
        let outline = outline::of(&project);
        for id in [20, 21, 22].map(Id) {
            let hold = computed_at(&project, &outline, id).unwrap();
            let in_run = curve_in_run(&project, id).curve;
            assert_eq!(hold.curve.points().len(), in_run.len());
            for (a, b) in hold.curve.points().iter().zip(&in_run) {
                assert!((a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9, "{id:?}: {a:?} {b:?}");
            }
        }
        assert!(computed_at(&project, &outline, Id(1)).is_none(), "a run is no hold");
    }

    #[test]
    fn the_opening_run_pulls_along_a_measured_curve_even_if_it_starts_with_slack() {
        let mut project = keyed();
        let points = vec![(0.0, 0.0), (0.2, 1.0), (0.4, 30.0), (1.0, 12.0), (3.0, 0.0)];
        let measured = PullOff::new(points.clone()).unwrap();
        project.sprues.get_mut(&Id(20)).unwrap().measured = Some(measured);
        let hold = curve_in_run(&project, Id(20));
        assert_eq!((hold.curve, hold.governed_by), (points, "measured"));
        assert_eq!((hold.capacity_n, hold.let_go_travel_mm), (30.0, 3.0));
        // Its sides slide one after the other, and friction of a plug pressed sideways comes on top.
        assert!(hold.peak_n > 0.9 * 30.0 && hold.peak_n < 1.1 * 30.0, "{}", hold.peak_n);
        // Let go whole: the work taken is the area under the curve.
        assert!(matches!(hold.state, opening::HoldState::LetGo { .. }), "{:?}", hold.state);
        let area_mj = 0.5 * 0.2 + 0.5 * 31.0 * 0.2 + 0.5 * 42.0 * 0.6 + 0.5 * 12.0 * 2.0;
        assert!((hold.work_mj - area_mj).abs() < 0.05 * area_mj, "{} {area_mj}", hold.work_mj);
        // What would be computed is still known.
        let outline = outline::of(&project);
        let computed = computed_at(&project, &outline, Id(20)).unwrap();
        assert_eq!(computed.governed_by, "drag");
    }

    #[test]
    fn face_and_wall_have_the_travels_of_their_inputs() {
        let holds = HoldInputs::default();
        assert_eq!(tack_curve(&holds).points(), [(0.0, 0.0), (0.1 * 0.03, 0.1), (0.03, 0.0)]);
        let parallel = wall_curve(&holds, 1.5, 0.0);
        assert_eq!(parallel.points(), [(0.0, 0.0), (0.005, 0.05), (1.5, 0.0)]);
        // Relief 0.02 mm over tan 2°.
        let drafted = wall_curve(&holds, 1.5, 2.0).let_go_travel_mm();
        assert!((drafted - 0.02 / 2.0_f64.to_radians().tan()).abs() < 1e-12);
    }
}
