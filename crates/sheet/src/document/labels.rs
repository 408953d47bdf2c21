//! Small texts beside points of a picture, none over another; what finds no room is told under it.

use glam::DVec2;

use super::SMALL_MM;
use crate::lettering::Lettering;
use crate::page::{Page, Pen};
use crate::paper::Area;

/// Clear distances at which a place is tried, mm.
const RINGS_MM: [f64; 7] = [0.8, 2.5, 5.0, 8.0, 12.0, 17.0, 23.0];
/// Directions in which it is tried: upper right first, as one writes.
const WAYS: [(f64, f64); 8] =
    [(1.0, -1.0), (-1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (0.0, -1.0), (0.0, 1.0), (1.0, 0.0), (-1.0, 0.0)];

/// Where a label stands, and its leader.
type Found = (Area, Option<(DVec2, DVec2)>);

/// The labels of a picture.
pub(crate) struct Labels {
    /// Where labels may stand.
    within: Area,
    taken: Vec<Area>,
    /// Points of lines that a label should rather not interrupt; a leader may.
    spared: Vec<DVec2>,
    leaders: Vec<(DVec2, DVec2)>,
    left_out: Vec<String>,
}

impl Labels {
    /// None yet.
    pub(crate) const fn new(within: Area) -> Self {
        Self { within, taken: Vec::new(), spared: Vec::new(), leaders: Vec::new(), left_out: Vec::new() }
    }

    /// Keeps labels away from a rectangle.
    pub(crate) fn avoid(&mut self, area: Area) {
        self.taken.push(area);
    }

    /// Keeps labels off a line of straight pieces where there is room elsewhere.
    pub(crate) fn spare(&mut self, line: &[DVec2]) {
        for pair in line.windows(2) {
            // So close that no label slips through.
            let pieces = pair[0].distance(pair[1]).ceil().clamp(1.0, 1000.0);
            let mut piece = 0.0;
            while piece <= pieces {
                self.spared.push(pair[0].lerp(pair[1], piece / pieces));
                piece += 1.0;
            }
        }
    }

    fn interrupts(&self, area: &Area) -> bool {
        self.spared.iter().any(|point| area.holds(*point))
    }

    fn is_free(&self, area: &Area, leader: Option<(DVec2, DVec2)>) -> bool {
        self.within.holds(area.low)
            && self.within.holds(area.high)
            && !self.taken.iter().any(|other| area.overlaps(other))
            && !self.leaders.iter().any(|line| meets(*line, area))
            && leader.is_none_or(|line| {
                !self.leaders.iter().any(|other| crosses(line, *other))
                    && !self.taken.iter().any(|other| !other.holds(line.0) && meets(line, other))
            })
    }

    /// Writes a label beside a disc, with a leader if it stands away from it.
    pub(crate) fn place(
        &mut self,
        page: &mut Page,
        lettering: &Lettering,
        words: &str,
        at: DVec2,
        radius_mm: f64,
    ) {
        let words = lettering.printable(words);
        let size = DVec2::new(lettering.width_mm(&words, SMALL_MM) + 0.8, SMALL_MM + 0.6);
        let found = self.find(size, at, radius_mm, true).or_else(|| self.find(size, at, radius_mm, false));
        let Some((area, leader)) = found else {
            self.left_out.push(words);
            return;
        };
        if let Some((from, to)) = leader {
            page.line(from, to, Pen::THIN);
            self.leaders.push((from, to));
        }
        page.text(DVec2::new(area.low.x + 0.4, area.high.y - 0.9), SMALL_MM, 0, words);
        self.taken.push(area);
    }

    /// The nearest free place for a label of a size, and its leader if it needs one.
    fn find(&self, size: DVec2, at: DVec2, radius_mm: f64, spares: bool) -> Option<Found> {
        for (ring, clear_mm) in RINGS_MM.into_iter().enumerate() {
            for (x, y) in WAYS {
                let way = DVec2::new(x, y);
                let edge = at + way.normalize() * (radius_mm + clear_mm);
                let low = edge + size * (way - DVec2::ONE) / 2.0;
                let area = Area { low, high: low + size };
                let to = at.clamp(area.low, area.high);
                let leader = (ring > 0).then(|| (at + (to - at).normalize_or_zero() * radius_mm, to));
                if self.is_free(&area, leader) && !(spares && self.interrupts(&area)) {
                    return Some((area, leader));
                }
            }
        }
        None
    }
}

/// A sentence about the labels for which there was no room; empty if there was for all.
pub(crate) fn left_out(labels: &[&Labels]) -> String {
    let all: Vec<&str> = labels.iter().flat_map(|labels| &labels.left_out).map(String::as_str).collect();
    if all.is_empty() { String::new() } else { format!("No room in the picture for {}.", all.join(", ")) }
}

fn crosses(one: (DVec2, DVec2), other: (DVec2, DVec2)) -> bool {
    let parts = |line: (DVec2, DVec2), a: DVec2, b: DVec2| {
        let side = |point: DVec2| (line.1 - line.0).perp_dot(point - line.0);
        side(a) * side(b) < 0.0
    };
    parts(one, other.0, other.1) && parts(other, one.0, one.1)
}

/// Whether a line goes through a rectangle.
fn meets(line: (DVec2, DVec2), area: &Area) -> bool {
    let (a, b) = (DVec2::new(area.high.x, area.low.y), DVec2::new(area.low.x, area.high.y));
    area.holds(line.0) || area.holds(line.1) || crosses(line, (area.low, area.high)) || crosses(line, (a, b))
}
