//! Where the plan is looked at, and how large. The side elevation shares its x.

use egui::{Pos2, Rect, Vec2};
use glam::DVec2;

/// Smallest and largest scale, points per millimetre.
const SCALE: std::ops::RangeInclusive<f64> = 0.2..=200.0;

/// Room left round what is fitted into the view, points on each side.
pub(crate) const FIT_MARGIN: f32 = 34.0;

/// The view of the plan: y up in the plan, down on the screen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    /// Place of the plan in the middle of the view, mm.
    pub centre: DVec2,
    /// Scale, points per millimetre.
    pub px_per_mm: f64,
}

impl Camera {
    /// Shows the box from `low` to `high` (mm) whole in a view of this size.
    pub fn fit(low: DVec2, high: DVec2, view: Vec2) -> Self {
        let room = (view - Vec2::splat(2.0 * FIT_MARGIN)).max(Vec2::splat(10.0));
        let size = (high - low).max(DVec2::splat(1.0));
        let px_per_mm = (f64::from(room.x) / size.x).min(f64::from(room.y) / size.y);
        Self { centre: low.midpoint(high), px_per_mm: px_per_mm.clamp(*SCALE.start(), *SCALE.end()) }
    }

    /// Place on the screen of a point of the plan.
    pub fn to_screen(&self, view: Rect, at: DVec2) -> Pos2 {
        let offset = (at - self.centre) * self.px_per_mm;
        #[expect(clippy::cast_possible_truncation, reason = "screen points are f32")]
        let offset = Vec2::new(offset.x as f32, -offset.y as f32);
        view.center() + offset
    }

    /// Point of the plan at a place on the screen, mm.
    pub fn to_plan(&self, view: Rect, at: Pos2) -> DVec2 {
        let offset = at - view.center();
        self.centre + DVec2::new(f64::from(offset.x), -f64::from(offset.y)) / self.px_per_mm
    }

    /// Length on the screen of a length in the plan, points.
    #[expect(clippy::cast_possible_truncation, reason = "screen points are f32")]
    pub fn px(&self, length_mm: f64) -> f32 {
        (length_mm * self.px_per_mm) as f32
    }

    /// Length in the plan of a length on the screen, mm.
    pub fn mm(&self, length_px: f32) -> f64 {
        f64::from(length_px) / self.px_per_mm
    }

    /// Moves the drawing by this much on the screen.
    pub fn pan(&mut self, by: Vec2) {
        self.centre -= DVec2::new(f64::from(by.x), -f64::from(by.y)) / self.px_per_mm;
    }

    /// Enlarges the drawing so that what lies under `at` stays there.
    pub fn zoom_about(&mut self, view: Rect, at: Pos2, factor: f64) {
        let under = self.to_plan(view, at);
        self.px_per_mm = (self.px_per_mm * factor).clamp(*SCALE.start(), *SCALE.end());
        self.centre += under - self.to_plan(view, at);
    }

    /// Grid step fit for the scale: 1, 2 or 5 times a power of ten, at least `least_px` apart on the
    /// screen, mm.
    pub fn grid_step_mm(&self, least_px: f64) -> f64 {
        let least = least_px / self.px_per_mm;
        let decade = 10.0_f64.powf(least.log10().floor());
        let steps = [1.0, 2.0, 5.0, 10.0].map(|times| times * decade);
        steps.into_iter().find(|step| *step >= least * 0.999_999).unwrap_or(10.0 * decade)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::pos2;

    const VIEW: Rect = Rect::from_min_max(pos2(100.0, 50.0), pos2(900.0, 450.0));

    #[test]
    fn screen_and_plan_are_inverse() {
        let camera = Camera { centre: DVec2::new(100.0, 60.0), px_per_mm: 4.0 };
        assert_eq!(camera.to_screen(VIEW, DVec2::new(100.0, 60.0)), pos2(500.0, 250.0));
        assert_eq!(camera.to_screen(VIEW, DVec2::new(110.0, 70.0)), pos2(540.0, 210.0), "y is up");
        assert_eq!(camera.to_plan(VIEW, pos2(540.0, 210.0)), DVec2::new(110.0, 70.0));
    }

    #[test]
    fn zoom_keeps_what_is_under_the_pointer() {
        let mut camera = Camera { centre: DVec2::new(100.0, 60.0), px_per_mm: 4.0 };
        let at = pos2(233.0, 401.0);
        let before = camera.to_plan(VIEW, at);
        camera.zoom_about(VIEW, at, 1.7);
        assert!(camera.to_plan(VIEW, at).distance(before) < 1e-9);
        camera.zoom_about(VIEW, at, 1e9);
        assert_eq!(camera.px_per_mm, 200.0);
    }

    #[test]
    fn what_is_fitted_lies_inside_the_margin() {
        let (low, high) = (DVec2::new(-10.0, 0.0), DVec2::new(190.0, 120.0));
        let camera = Camera::fit(low, high, VIEW.size());
        let room = VIEW.shrink(FIT_MARGIN - 0.01);
        assert!(room.contains(camera.to_screen(VIEW, low)) && room.contains(camera.to_screen(VIEW, high)));
    }

    #[test]
    fn the_grid_adapts_to_the_scale_in_steps_of_one_two_five() {
        let step = |px_per_mm| Camera { centre: DVec2::ZERO, px_per_mm }.grid_step_mm(10.0);
        assert_eq!([step(0.5), step(2.0), step(4.0), step(10.0)], [20.0, 5.0, 5.0, 1.0]);
        assert!((step(50.0) - 0.2).abs() < 1e-12);
    }
}
