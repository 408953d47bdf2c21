//! From the part's own coordinates to the side elevation on the screen.

use egui::{Pos2, Rect, pos2};
use glam::DVec2;
use keepside_engine::Opening;
use keepside_session::Session;

use super::screen_x;
use crate::camera::Camera;
use crate::ribbon::{self, Rib};
use crate::view::{HeightScale, ViewState};

/// Height kept for each plate, points.
const PLATE_PX: f32 = 26.0;

/// Steeper in the plan than this the run is unrolled along x instead of being projected.
const UNROLL_BELOW: f64 = 0.5;

/// The side elevation of one run at one opening.
pub(crate) struct Side {
    pub(crate) rect: Rect,
    camera: Camera,
    start: DVec2,
    /// How far along x the drawing goes per millimetre along the run.
    pub(crate) per_mm: f64,
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
        let axis = opening.axes.first();
        let run = axis.and_then(|axis| project.part.runs.get(&axis.run));
        let ribs = run.map(ribbon::ribs).unwrap_or_default();
        let deepest_mm = ribs.iter().map(|rib| rib.depth_mm).fold(0.5, f64::max);
        let opening_mm = if view.show_released { 0.0 } else { view.opening_mm };
        let room = f64::from((rect.height() - 2.0 * PLATE_PX).max(20.0));
        let z_scale = match view.height_scale {
            HeightScale::True => camera.px_per_mm,
            HeightScale::TimesFive => 5.0 * camera.px_per_mm,
            HeightScale::Fit => {
                let tall_mm = if view.show_released {
                    opening.flatness_mm + 3.0 * deepest_mm
                } else {
                    opening_mm + 2.0 * deepest_mm
                };
                (room / tall_mm).min(5.0 * camera.px_per_mm)
            }
        };
        let plate_px = (PLATE_PX).max(to_px(deepest_mm * z_scale) + 8.0).min(rect.height() * 0.35);
        let direction = Self::direction(opening);
        let per_mm = if direction.x.abs() < UNROLL_BELOW { 1.0 } else { direction.x };
        Self {
            rect,
            camera,
            start: axis.and_then(|axis| axis.plan_point(0.0)).unwrap_or(DVec2::ZERO),
            per_mm,
            z_scale,
            face_y: rect.bottom() - plate_px,
            opening_mm,
            share: project.part.moving_share,
            ribs,
        }
    }

    /// Whether the run is unrolled along x, as it does not lead that way in the plan.
    pub(crate) fn is_unrolled(&self, opening: &Opening) -> bool {
        Self::direction(opening).x.abs() < UNROLL_BELOW
    }

    /// Unit vector in which the run leads in the plan.
    fn direction(opening: &Opening) -> DVec2 {
        opening.axes.first().and_then(|axis| axis.points.first()).map_or(DVec2::X, |point| point.direction)
    }

    /// Place on the screen: `x_mm` along the run, `z_mm` above the fixed half's face.
    pub(crate) fn at(&self, x_mm: f64, z_mm: f64) -> Pos2 {
        pos2(self.x(x_mm), self.y(z_mm))
    }

    /// Place on the screen of a place along the run, mm.
    pub(crate) fn x(&self, x_mm: f64) -> f32 {
        screen_x(self.rect, &self.camera, self.start.x + x_mm * self.per_mm)
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
        self.camera.px(length_mm)
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
        self.z_scale / self.camera.px_per_mm
    }
}

#[expect(clippy::cast_possible_truncation, reason = "screen points are f32")]
pub(crate) fn to_px(points: f64) -> f32 {
    points as f32
}
