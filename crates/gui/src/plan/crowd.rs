//! What takes up room on the plan, found by place: thousands of tags find room within a frame.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use egui::{Pos2, Rect, Vec2, vec2};
use glam::DVec2;
use keepside_engine::opening::HoldState;
use keepside_engine::outline::plan_diameter_mm;
use keepside_model::{Id, Project};
use keepside_session::Session;

use crate::camera::Camera;
use crate::panels::strip::harmed;

/// Side of a square of the grid, points: about as large as what is asked for.
const CELL_PX: f32 = 32.0;

/// So far outside the view something still reaches into it with its tag and marks, points.
const REACH_PX: f32 = 60.0;

/// With more than this in sight, tags would only cover one another: all but those of what is selected are
/// left out until the view is enlarged.
const TAGS: usize = 300;

/// Of a selection larger than this not every tag and gap is of interest.
pub(crate) const FEW: usize = 100;

/// Boxes on the screen, found by place.
#[derive(Debug, Default)]
pub(crate) struct Boxes {
    cells: HashMap<(i32, i32), Vec<Rect>>,
    count: usize,
}

impl Boxes {
    pub(crate) fn add(&mut self, rect: Rect) {
        for cell in cells(rect) {
            self.cells.entry(cell).or_default().push(rect);
        }
        self.count += 1;
    }

    /// Whether a box that meets `area` passes the test.
    pub(crate) fn any(&self, area: Rect, test: impl Fn(&Rect) -> bool) -> bool {
        let near = cells(area).filter_map(|cell| self.cells.get(&cell)).flatten();
        near.into_iter().any(|other| other.intersects(area) && test(other))
    }

    /// Whether nothing meets `area`.
    pub(crate) fn is_free(&self, area: Rect) -> bool {
        !self.any(area, |_| true)
    }
}

/// The squares that a box meets; few, as nothing asked for is much larger than the window.
fn cells(rect: Rect) -> impl Iterator<Item = (i32, i32)> {
    #[expect(clippy::cast_possible_truncation, reason = "within some windows of the screen")]
    let cell = |px: f32| (px.clamp(-1e5, 1e5) / CELL_PX).floor() as i32;
    let (x, y) = (cell(rect.left())..=cell(rect.right()), cell(rect.top())..=cell(rect.bottom()));
    x.flat_map(move |x| y.clone().map(move |y| (x, y)))
}

/// What is known of everything on the plan for one frame.
#[derive(Debug, Default)]
pub(crate) struct Crowd {
    /// The discs of sprues, features and ejectors that are in sight.
    pub(crate) discs: Boxes,
    /// The middles of features and ejectors in sight.
    pub(crate) pins: Boxes,
    /// What became of the holds.
    states: BTreeMap<Id, HoldState>,
    /// What harms the part when it is stripped.
    harmed: BTreeSet<Id>,
}

impl Crowd {
    pub(crate) fn new(session: &Session, camera: Camera, rect: Rect) -> Self {
        let project = session.document();
        let mut crowd = Self::default();
        for (at, diameter_mm, is_pin) in round(project) {
            let at = camera.to_screen(rect, at);
            let size = camera.px(diameter_mm);
            if !reach(rect, size / 2.0).contains(at) {
                continue;
            }
            crowd.discs.add(Rect::from_center_size(at, Vec2::splat(size)));
            if is_pin {
                crowd.pins.add(Rect::from_center_size(at, Vec2::ZERO));
            }
        }
        if let Some(Ok(opening)) = session.results().opening() {
            for hold in opening.holds.iter().rev() {
                crowd.states.extend(hold.name.what.item().map(|id| (id, hold.state)));
            }
        }
        crowd.harmed =
            session.results().stripping().map(|stripping| harmed(project, stripping)).unwrap_or_default();
        crowd
    }

    /// Whether tags find room.
    pub(crate) fn has_tags(&self) -> bool {
        self.discs.count <= TAGS
    }

    /// Whether this item's tag is shown.
    pub(crate) fn has_tag(&self, session: &Session, id: Id) -> bool {
        let selected = session.selection();
        self.has_tags() || (selected.len() <= FEW && selected.contains(&id))
    }

    /// What became of the hold that an item makes.
    pub(crate) fn state(&self, id: Id) -> Option<HoldState> {
        self.states.get(&id).copied()
    }

    pub(crate) fn is_harmed(&self, id: Id) -> bool {
        self.harmed.contains(&id)
    }
}

/// The view, and round it as far as something of this radius reaches into it.
pub(crate) fn reach(rect: Rect, radius_px: f32) -> Rect {
    rect.expand2(vec2(radius_px + REACH_PX, radius_px + REACH_PX))
}

/// Place and diameter of sprues, features and ejectors; whether it is one of the last two.
fn round(project: &Project) -> impl Iterator<Item = (DVec2, f64, bool)> {
    let sprues = project.sprues.values().map(|sprue| (sprue.at, sprue.diameter_mm, false));
    let features = project.features.values();
    let features = features.map(|feature| (feature.at, plan_diameter_mm(&feature.kind), true));
    let ejectors = project.ejectors.values().map(|ejector| (ejector.at, ejector.diameter_mm, true));
    sprues.chain(features).chain(ejectors)
}

/// Whether a pin lies nearer to `at` than `distance`.
pub(crate) fn pin_within(crowd: &Crowd, at: Pos2, distance: f32) -> bool {
    let area = Rect::from_center_size(at, Vec2::splat(2.0 * distance.max(0.0)));
    crowd.pins.any(area, |pin| pin.center().distance(at) < distance)
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::pos2;

    #[test]
    fn boxes_are_found_as_by_looking_at_each() {
        // A fixed sequence, spread over and beyond a window.
        let mut seed = 7_u32;
        let mut next = || {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            #[expect(clippy::cast_precision_loss, reason = "a test")]
            let share = (seed >> 8) as f32 / (1 << 24) as f32;
            share
        };
        let mut rect = || {
            let at = pos2(1600.0 * next() - 200.0, 1200.0 * next() - 200.0);
            Rect::from_center_size(at, vec2(60.0 * next(), 60.0 * next()))
        };
        let all: Vec<Rect> = (0..400).map(|_| rect()).collect();
        let mut boxes = Boxes::default();
        all.iter().for_each(|rect| boxes.add(*rect));
        let mut free = 0;
        for _ in 0..400 {
            let area = rect();
            let expected = all.iter().all(|other| !other.intersects(area));
            assert_eq!(boxes.is_free(area), expected, "{area:?}");
            free += i32::from(expected);
        }
        assert!((40..360).contains(&free), "{free} of 400 free: the test tells nothing");
    }
}
