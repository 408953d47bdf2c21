//! From the part's own coordinates to the side elevation on the screen.

use egui::{Pos2, Rect, pos2};
use glam::DVec2;
use keepside_engine::Opening;
use keepside_engine::opening::{Axis, HoldOutcome};
use keepside_model::Id;
use keepside_session::Session;

use super::left::Left;
use super::runs::{self, Meeting};
use super::screen_x;
use crate::camera::Camera;
use crate::ribbon::{self, Rib};
use crate::view::{HeightScale, ViewState};

/// Height kept for each plate, points.
const PLATE_PX: f32 = 26.0;

/// Steeper in the plan than this the run is unrolled along x instead of being projected.
const UNROLL_BELOW: f64 = 0.5;

/// The cosine of a change of direction up to which a run counts as straight.
const STRAIGHT: f64 = 1.0 - 1e-6;

/// The side elevation of one run at one opening.
pub(crate) struct Side {
    pub(crate) rect: Rect,
    camera: Camera,
    /// The run shown, as an index into the opening's axes.
    pub(crate) index: usize,
    /// Its axis, if there is any run.
    pub(crate) axis: Option<Axis>,
    /// x of the plan at which the run starts, mm.
    start_x_mm: f64,
    /// How far along x the drawing goes per millimetre along the run.
    per_mm: f64,
    /// Points per millimetre of length.
    px_per_mm: f64,
    /// Whether the run is unrolled along x, as it bends or does not lead that way in the plan.
    pub(crate) is_unrolled: bool,
    /// Points per millimetre of height.
    pub(crate) z_scale: f64,
    /// Place of the fixed half's face on the screen.
    pub(crate) face_y: f32,
    /// The opening shown, mm.
    pub(crate) opening_mm: f64,
    /// Share of the depth in the moving half.
    pub(crate) share: f64,
    /// The run's cross-lines, from the start of the opening run.
    pub(crate) ribs: Vec<Rib>,
    /// Where other runs meet it.
    pub(super) meetings: Vec<Meeting>,
}

impl Side {
    pub(crate) fn new(
        rect: Rect,
        camera: Camera,
        session: &Session,
        opening: &Opening,
        view: &ViewState,
    ) -> Self {
        let project = session.document();
        let index = runs::shown(session, opening, view);
        let axis = opening.axes.get(index);
        let drawn = axis.and_then(|axis| Some((project.part.runs.get(&axis.run)?, axis)));
        let ribs = drawn.map(|(run, axis)| ribbon::ribs_on(run, axis)).unwrap_or_default();
        let meetings = runs::meetings(project, &opening.axes, index, &ribs);
        let direction = axis.and_then(straight_direction).filter(|way| way.x.abs() >= UNROLL_BELOW);
        let (start_x_mm, per_mm) = match (axis, direction) {
            (Some(axis), Some(way)) => (axis.plan_point(0.0).map_or(0.0, |start| start.x), way.x),
            // In the middle of the plates, and no longer than they are.
            (Some(axis), None) => {
                let width_mm = project.plates.width_mm;
                let per_mm = (0.96 * width_mm / axis.length_mm.max(1e-6)).min(1.0);
                ((width_mm - per_mm * axis.length_mm) / 2.0, per_mm)
            }
            (None, _) => (0.0, 1.0),
        };
        let is_unrolled = axis.is_some() && direction.is_none();
        let px_per_mm = camera.px_per_mm * if is_unrolled { per_mm } else { 1.0 };
        let deepest_mm = ribs.iter().map(|rib| rib.depth_mm).fold(0.5, f64::max);
        let left = Left::of(session, opening, view);
        let opening_mm = if left.is_some() { 0.0 } else { view.opening_mm };
        let room = f64::from((rect.height() - 2.0 * PLATE_PX).max(20.0));
        let z_scale = match view.height_scale {
            HeightScale::True => px_per_mm,
            HeightScale::TimesFive => 5.0 * px_per_mm,
            HeightScale::Fit => {
                let tall_mm = match &left {
                    Some(left) => left.flatness_mm + 3.0 * deepest_mm,
                    None => opening_mm + 2.0 * deepest_mm,
                };
                (room / tall_mm).min(5.0 * px_per_mm)
            }
        };
        let plate_px = (PLATE_PX).max(to_px(deepest_mm * z_scale) + 8.0).min(rect.height() * 0.35);
        Self {
            rect,
            camera,
            index,
            axis: axis.cloned(),
            start_x_mm,
            per_mm,
            px_per_mm,
            is_unrolled,
            z_scale,
            face_y: rect.bottom() - plate_px,
            opening_mm,
            share: project.part.moving_share,
            ribs,
            meetings,
        }
    }

    /// Whether this is the run shown.
    pub(crate) fn shows(&self, run: Id) -> bool {
        self.axis.as_ref().is_some_and(|axis| axis.run == run)
    }

    /// The place along the run shown of a hold on it.
    pub(crate) fn along_of(&self, hold: &HoldOutcome) -> Option<f64> {
        hold.on.filter(|(run, _)| self.shows(*run)).map(|(_, along_mm)| along_mm)
    }

    /// Place on the screen: `x_mm` along the run, `z_mm` above the fixed half's face.
    pub(crate) fn at(&self, x_mm: f64, z_mm: f64) -> Pos2 {
        pos2(self.x(x_mm), self.y(z_mm))
    }

    /// Place on the screen of a place along the run, mm.
    pub(crate) fn x(&self, x_mm: f64) -> f32 {
        screen_x(self.rect, &self.camera, self.start_x_mm + x_mm * self.per_mm)
    }

    /// Place along the run, mm, of a place on the screen.
    pub(crate) fn along_at(&self, x: f32) -> f64 {
        let plan_mm = self.camera.to_plan(self.rect, pos2(x, self.rect.center().y)).x;
        (plan_mm - self.start_x_mm) / self.per_mm
    }

    /// Place on the screen of an x of the plan, mm.
    pub(crate) fn plan_x(&self, x_mm: f64) -> f32 {
        screen_x(self.rect, &self.camera, x_mm)
    }

    /// Place on the screen of a height above the fixed half's face, mm.
    pub(crate) fn y(&self, z_mm: f64) -> f32 {
        self.face_y - to_px(z_mm * self.z_scale)
    }

    /// Length on the screen of a length along x, points.
    pub(crate) fn px(&self, length_mm: f64) -> f32 {
        to_px(length_mm * self.px_per_mm)
    }

    /// Depth of the channel at a place along the run, mm.
    pub(crate) fn depth_mm(&self, along_mm: f64) -> f64 {
        ribbon::at(&self.ribs, along_mm).map_or(0.0, |rib| rib.depth_mm)
    }

    /// Height of the part's axis in the closed mould above the fixed half's face, mm.
    pub(crate) fn axis_mm(&self, along_mm: f64) -> f64 {
        self.depth_mm(along_mm) * (self.share - 0.5)
    }

    /// Heights over lengths, as drawn.
    pub(crate) fn exaggeration(&self) -> f64 {
        self.z_scale / self.px_per_mm
    }
}

/// Unit vector along a run that does not bend.
fn straight_direction(axis: &Axis) -> Option<DVec2> {
    let first = axis.points.first()?.direction;
    axis.points.iter().all(|point| point.direction.dot(first) >= STRAIGHT).then_some(first)
}

#[expect(clippy::cast_possible_truncation, reason = "screen points are f32")]
pub(crate) fn to_px(points: f64) -> f32 {
    points as f32
}
