//! Places the tags on a drawing: none covers another, and where there is room none covers a hole or a line.

use glam::DVec2;

use crate::lettering::{LETTERS_MM, Lettering};
use crate::page::{Page, Pen, Step, rectangle};
use crate::paper::Area;

/// Height of a tag and how far it reaches under its baseline, in parts of the letter size: capitals, and a
/// descender.
const HEIGHT_EM: f64 = 0.95;
const UNDER_EM: f64 = 0.22;
/// Clear distances from the hole at which a place is tried, mm.
const RINGS_MM: [f64; 6] = [0.6, 3.0, 7.0, 12.0, 18.0, 25.0];
/// If none of those is free: this far and farther in steps, mm.
const FAR_STEP_MM: f64 = 4.0;
const FARTHEST_MM: f64 = 100.0;
/// A common area below which two rectangles count as side by side, mm².
const TOUCH_MM2: f64 = 1e-6;

/// The tags placed so far.
pub(crate) struct Tags {
    /// Where tags stand best.
    plate: Area,
    /// Where tags may stand.
    room: Area,
    /// Holes and the like, which a tag should rather not cover.
    taken: Vec<Area>,
    /// Texts, which no tag covers.
    texts: Vec<Area>,
    /// Points about a millimetre apart along lines that a tag should rather not interrupt.
    lines: Vec<DVec2>,
    /// From circle to tag.
    leaders: Vec<(DVec2, DVec2)>,
    /// How many found no place.
    left_out: usize,
}

/// The square about a circle.
pub(crate) fn boxed(centre: DVec2, diameter_mm: f64) -> Area {
    let half = DVec2::splat(diameter_mm / 2.0);
    Area { low: centre - half, high: centre + half }
}

/// Common area of two rectangles, mm².
fn overlap_mm2(a: &Area, b: &Area) -> f64 {
    let common = (a.high.min(b.high) - a.low.max(b.low)).max(DVec2::ZERO);
    common.x * common.y
}

/// Whether two lines cross.
fn cross(one: (DVec2, DVec2), other: (DVec2, DVec2)) -> bool {
    let parts = |line: (DVec2, DVec2), a: DVec2, b: DVec2| {
        let side = |point: DVec2| (line.1 - line.0).perp_dot(point - line.0);
        side(a) * side(b) < 0.0
    };
    parts(one, other.0, other.1) && parts(other, one.0, one.1)
}

/// The leader from a circle to a tag at `area`.
fn leader(circle_at: DVec2, diameter_mm: f64, area: &Area) -> (DVec2, DVec2) {
    let to = circle_at.clamp(area.low, area.high);
    (circle_at + (to - circle_at).normalize_or_zero() * diameter_mm / 2.0, to)
}

fn float(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

impl Tags {
    /// No tags yet on the plate that lies at `plate` on the paper; tags stay within `room`.
    pub(crate) fn new(plate: Area, room: Area) -> Self {
        let (taken, texts, lines, leaders) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        Self { plate, room, taken, texts, lines, leaders, left_out: 0 }
    }

    /// How many tags found no place and are not drawn.
    pub(crate) const fn left_out(&self) -> usize {
        self.left_out
    }

    /// Keeps tags off a path where there is room elsewhere.
    pub(crate) fn spare(&mut self, steps: &[Step]) {
        let (mut at, mut start) = (DVec2::ZERO, DVec2::ZERO);
        for step in steps {
            let to = match *step {
                Step::Move(to) => {
                    (at, start) = (to, to);
                    continue;
                }
                Step::Line(to) | Step::Curve(_, _, to) => to,
                Step::Close => start,
            };
            let pieces = at.distance(to).ceil().clamp(1.0, 2000.0);
            let mut piece = 0.0;
            while piece < pieces {
                // The chord of a curve is near enough for finding a place.
                self.lines.push(at.lerp(to, piece / pieces));
                piece += 1.0;
            }
            at = to;
        }
    }

    /// Keeps tags away from a rectangle where there is room elsewhere.
    pub(crate) fn avoid(&mut self, area: Area) {
        self.taken.push(area);
    }

    /// Keeps tags off a text.
    pub(crate) fn keep_off(&mut self, area: Area) {
        self.texts.push(area);
    }

    /// How many leaders, and rectangles that are not the circle's own, a leader would cross.
    fn misleading(&self, circle_at: DVec2, line: (DVec2, DVec2)) -> f64 {
        let leaders = self.leaders.iter().filter(|other| cross(**other, line)).count();
        let on_line =
            |area: &&Area| (1..10_u32).any(|tenth| area.holds(line.0.lerp(line.1, f64::from(tenth) / 10.0)));
        let others = self.taken.iter().filter(|area| !area.holds(circle_at)).filter(on_line).count();
        let texts = self.texts.iter().filter(on_line).count();
        float(leaders + others + texts)
    }

    /// Whether a tag may stand there at all.
    fn is_free(&self, area: &Area) -> bool {
        self.room.holds(area.low)
            && self.room.holds(area.high)
            && self.texts.iter().all(|other| overlap_mm2(area, other) < TOUCH_MM2)
    }

    /// How bad a place is: what is covered, and where a leader would run.
    fn cost(&self, area: &Area, circle_at: DVec2, diameter_mm: f64, has_leader: bool) -> f64 {
        let size = area.size_mm();
        let taken: f64 = self.taken.iter().map(|other| overlap_mm2(area, other)).sum();
        let beyond = size.x * size.y - overlap_mm2(area, &self.plate);
        let crossed = float(self.lines.iter().filter(|point| area.holds(**point)).count());
        // A leader across another, or over another hole, would lead to the wrong one.
        let line = leader(circle_at, diameter_mm, area);
        let misled = if has_leader { self.misleading(circle_at, line) } else { 0.0 };
        60.0 * taken + 8.0 * beyond + 0.6 * crossed + 5.0 * misled
    }

    /// The best of the places near the circle; `None` if none is free.
    fn near(&self, size: DVec2, circle_at: DVec2, diameter_mm: f64) -> Option<(f64, Area, bool)> {
        // Upper right first, as one writes; the axes last, for there the centre lines run.
        let directions = [(1.0, -1.0), (-1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (1.0, -0.3), (-1.0, -0.3)]
            .map(|(x, y)| DVec2::new(x, y));
        let mut best: Option<(f64, Area, bool)> = None;
        for (ring, clear_mm) in (0_u32..).zip(RINGS_MM) {
            for (turn, direction) in (0_u32..).zip(directions) {
                let edge = circle_at + direction.normalize() * (diameter_mm / 2.0 + clear_mm);
                // The corner or side of the text that faces the circle touches the edge point.
                let low = edge + size * (direction - DVec2::ONE) / 2.0;
                let area = Area { low, high: low + size };
                if !self.is_free(&area) {
                    continue;
                }
                let cost = self.cost(&area, circle_at, diameter_mm, ring > 0)
                    + f64::from(ring)
                    + 0.02 * f64::from(turn);
                if best.as_ref().is_none_or(|(least, ..)| cost < *least) {
                    best = Some((cost, area, ring > 0));
                }
            }
        }
        best
    }

    /// The first free place farther off.
    fn far(&self, size: DVec2, circle_at: DVec2, diameter_mm: f64) -> Option<Area> {
        let mut out_mm = FAR_STEP_MM;
        while out_mm <= FARTHEST_MM {
            for turn in 0..24_u32 {
                let direction = DVec2::from_angle(f64::from(turn) * std::f64::consts::TAU / 24.0 - 0.7);
                let low = circle_at + direction * (diameter_mm / 2.0 + out_mm) - size / 2.0;
                let area = Area { low, high: low + size };
                if self.is_free(&area) && self.taken.iter().all(|other| !area.overlaps(other)) {
                    return Some(area);
                }
            }
            out_mm += FAR_STEP_MM;
        }
        None
    }

    /// Writes a tag beside a circle, with a leader when it does not stand close to it; a tag for which
    /// there is no place is left out and counted.
    pub(crate) fn place(
        &mut self,
        page: &mut Page,
        lettering: &Lettering,
        tag: &str,
        circle_at: DVec2,
        diameter_mm: f64,
        grey: u8,
    ) {
        let text = lettering.printable(tag);
        let size = DVec2::new(lettering.width_mm(&text, LETTERS_MM) + 0.6, HEIGHT_EM * LETTERS_MM);
        let near = self.near(size, circle_at, diameter_mm);
        // Over a hole only if there is no place at all that is not.
        let covers = near.is_none_or(|(_, area, _)| self.taken.iter().any(|other| area.overlaps(other)));
        let far = if covers { self.far(size, circle_at, diameter_mm) } else { None };
        let (area, needs_leader) = match (far, near) {
            (Some(area), _) => (area, true),
            (None, Some((_, area, needs_leader))) => (area, needs_leader),
            (None, None) => {
                self.left_out += 1;
                return;
            }
        };
        if needs_leader {
            let (from, to) = leader(circle_at, diameter_mm, &area);
            page.line(from, to, Pen { grey, ..Pen::THIN });
            self.spare(&[Step::Move(from), Step::Line(to)]);
            self.leaders.push((from, to));
        }
        page.fill(rectangle(area.low, area.high), 255);
        page.text(DVec2::new(area.low.x + 0.3, area.high.y - UNDER_EM * LETTERS_MM), LETTERS_MM, grey, text);
        self.texts.push(area);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLATE: Area = Area { low: DVec2::ZERO, high: DVec2::splat(100.0) };

    #[test]
    fn leaders_cross_only_where_each_parts_the_other() {
        let line = |x0, y0, x1, y1| (DVec2::new(x0, y0), DVec2::new(x1, y1));
        assert!(cross(line(0.0, 0.0, 2.0, 2.0), line(0.0, 2.0, 2.0, 0.0)));
        assert!(!cross(line(0.0, 0.0, 2.0, 2.0), line(3.0, 0.0, 5.0, 2.0)));
        assert!(!cross(line(0.0, 0.0, 2.0, 2.0), line(0.0, 3.0, 2.0, 2.5)));
    }

    #[test]
    fn a_leader_over_another_hole_or_leader_is_counted() {
        let mut tags = Tags::new(PLATE, PLATE);
        let (own, other) = (DVec2::new(20.0, 50.0), DVec2::new(26.0, 50.0));
        tags.avoid(boxed(own, 3.0));
        tags.avoid(boxed(other, 4.0));
        let over = leader(own, 3.0, &Area { low: DVec2::new(32.0, 48.0), high: DVec2::new(40.0, 52.0) });
        assert_eq!(tags.misleading(own, over), 1.0);
        let clear = leader(own, 3.0, &Area { low: DVec2::new(10.0, 40.0), high: DVec2::new(16.0, 43.0) });
        assert_eq!(tags.misleading(own, clear), 0.0);
        tags.leaders.push((DVec2::new(14.0, 46.0), DVec2::new(22.0, 42.0)));
        assert_eq!(tags.misleading(own, clear), 1.0);
    }

    #[test]
    fn many_tags_of_one_place_keep_clear_of_one_another_until_there_is_no_room() {
        let lettering = Lettering::new().unwrap();
        let room = Area { low: DVec2::ZERO, high: DVec2::splat(30.0) };
        let mut tags = Tags::new(room, room);
        let mut page = Page::new(room.high);
        for index in 0..80 {
            tags.place(&mut page, &lettering, &format!("K{index}"), DVec2::splat(15.0), 2.0, 0);
        }
        assert!(tags.texts.len() > 10 && tags.left_out() > 0);
        assert_eq!(tags.texts.len() + tags.left_out(), 80);
        for (index, area) in tags.texts.iter().enumerate() {
            assert!(room.holds(area.low) && room.holds(area.high));
            assert!(tags.texts[index + 1..].iter().all(|other| overlap_mm2(area, other) < TOUCH_MM2));
        }
    }
}
