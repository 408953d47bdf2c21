//! Ordinate dimensions: distances from the datum, written along the edges of a plate, each once, with a
//! kinked leader where labels had to be spread.

use glam::DVec2;

use crate::lettering::{LETTERS_MM, Lettering};
use crate::page::{Mark, Page, Pen, Step};
use crate::paper::Area;
use crate::spread::spread;

/// From the plate's edge to where a leader kinks, how far it may slant on from there, how far it goes on then,
/// and from its end to the number, mm.
const TICK_MM: f64 = 1.6;
const SLANT_MM: f64 = 4.0;
const TAIL_MM: f64 = 1.4;
const GAP_MM: f64 = 0.8;
/// Farthest that a number may stand from its place along the edge, mm: beyond that leaders mislead. Assumed.
const FARTHEST_MM: f64 = 14.0;
/// Distance between numbers side by side, mm.
const PITCH_MM: f64 = 4.0;

/// What is to be dimensioned along one axis.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Stop {
    /// Place along the edge on the paper, mm.
    pub(crate) along_mm: f64,
    /// How far from the lower or left edge the hole is on the paper, mm, and how far it reaches round its
    /// centre; nought for the plate's own edges.
    pub(crate) across_mm: f64,
    /// Radius about the centre that the guide line stays out of, mm.
    pub(crate) clear_mm: f64,
    /// The distance from the datum.
    pub(crate) text: String,
}

/// Along which edge numbers stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Edge {
    Bottom,
    Top,
    Left,
    Right,
}

/// The numbers along one edge.
pub(crate) struct Ordinates {
    edge: Edge,
    stops: Vec<Stop>,
    places_mm: Vec<f64>,
    /// From the plate's edge to where the slanting part of the leaders ends, mm.
    kink_mm: f64,
}

/// A distance from the datum as written along an edge: two decimals at most, no needless noughts.
pub(crate) fn number(value_mm: f64) -> String {
    let text = format!("{value_mm:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// The numbers of one axis: all along the `near` edge; if they have no room there, those of the far half
/// along the far edge; if there is still none, only those of the plate's own edges, and `false`.
/// `length_mm` is the plate's size across, `room_mm` where numbers may stand along the edge.
pub(crate) fn along(
    [near, far]: [Edge; 2],
    stops: &[Stop],
    length_mm: f64,
    room_mm: (f64, f64),
) -> (Vec<Ordinates>, bool) {
    let on = |edge, stops: Vec<Stop>| Ordinates::new(edge, stops, room_mm);
    if let Some(all) = on(near, stops.to_vec()) {
        return (vec![all], true);
    }
    let (low, high): (Vec<Stop>, Vec<Stop>) =
        stops.iter().cloned().partition(|stop| stop.across_mm <= length_mm / 2.0);
    let high = high.into_iter().map(|stop| Stop { across_mm: length_mm - stop.across_mm, ..stop }).collect();
    if let (Some(low), Some(high)) = (on(near, low), on(far, high)) {
        return (vec![low, high], true);
    }
    let edges = stops.iter().filter(|stop| stop.across_mm == 0.0).cloned().collect();
    (on(near, edges).into_iter().collect(), false)
}

impl Ordinates {
    fn new(edge: Edge, mut stops: Vec<Stop>, (low_mm, high_mm): (f64, f64)) -> Option<Self> {
        stops.sort_by(|a, b| {
            a.along_mm
                .total_cmp(&b.along_mm)
                .then(a.text.cmp(&b.text))
                .then(b.across_mm.total_cmp(&a.across_mm))
        });
        // The same number once, its guide reaching the farthest of its holes.
        stops.dedup_by(|later, first| later.text == first.text);
        let wanted: Vec<f64> = stops.iter().map(|stop| stop.along_mm).collect();
        let places_mm = spread(&wanted, PITCH_MM, low_mm, high_mm)?;
        // Where nothing had to be spread the numbers stand close to the plate.
        let moved_mm = wanted.iter().zip(&places_mm).map(|(wanted, place)| (wanted - place).abs());
        let farthest_mm = moved_mm.fold(0.0, f64::max);
        if farthest_mm > FARTHEST_MM {
            return None;
        }
        let kink_mm = TICK_MM + farthest_mm.min(SLANT_MM);
        Some(Self { edge, stops, places_mm, kink_mm })
    }

    /// The same about a plate whose lower left corner is at `corner` instead of the origin.
    pub(crate) fn moved(mut self, corner: DVec2) -> Self {
        let by_mm = match self.edge {
            Edge::Bottom | Edge::Top => corner.x,
            Edge::Left | Edge::Right => corner.y,
        };
        self.stops.iter_mut().for_each(|stop| stop.along_mm += by_mm);
        self.places_mm.iter_mut().for_each(|place_mm| *place_mm += by_mm);
        self
    }

    /// How far the numbers reach from the plate's edge, mm.
    pub(crate) fn reach_mm(&self, lettering: &Lettering) -> f64 {
        let widths = self.stops.iter().map(|stop| lettering.width_mm(&stop.text, LETTERS_MM));
        self.number_mm() + widths.fold(0.0, f64::max) + 1.0
    }

    /// From the plate's edge to the numbers, mm.
    const fn number_mm(&self) -> f64 {
        self.kink_mm + TAIL_MM + GAP_MM
    }

    /// The edge they stand along.
    pub(crate) const fn edge(&self) -> Edge {
        self.edge
    }

    /// A place on the paper `along` the edge and `out` of it, mm.
    fn at(&self, plate: &Area, along_mm: f64, out_mm: f64) -> DVec2 {
        match self.edge {
            Edge::Bottom => DVec2::new(along_mm, plate.high.y + out_mm),
            Edge::Top => DVec2::new(along_mm, plate.low.y - out_mm),
            Edge::Left => DVec2::new(plate.low.x - out_mm, along_mm),
            Edge::Right => DVec2::new(plate.high.x + out_mm, along_mm),
        }
    }

    /// Draws the faint lines from the edge to the holes.
    pub(crate) fn guides(&self, page: &mut Page, plate: &Area) {
        for stop in &self.stops {
            let reach_mm = stop.across_mm - stop.clear_mm;
            if reach_mm > 0.0 {
                let (from, to) =
                    (self.at(plate, stop.along_mm, 0.0), self.at(plate, stop.along_mm, -reach_mm));
                page.line(from, to, Pen::GUIDE);
            }
        }
    }

    /// Draws leaders and numbers; the places they take.
    pub(crate) fn draw(&self, page: &mut Page, lettering: &Lettering, plate: &Area) -> Vec<Area> {
        let mut taken = Vec::new();
        for (stop, place_mm) in self.stops.iter().zip(&self.places_mm) {
            let leader = [
                (stop.along_mm, 0.6),
                (stop.along_mm, TICK_MM),
                (*place_mm, self.kink_mm),
                (*place_mm, self.kink_mm + TAIL_MM),
            ]
            .map(|(along_mm, out_mm)| self.at(plate, along_mm, out_mm));
            let mut steps = vec![Step::Move(leader[0])];
            steps.extend(leader[1..].iter().copied().map(Step::Line));
            page.stroke(steps, Pen::THIN);
            let width_mm = lettering.width_mm(&stop.text, LETTERS_MM);
            // Figures are 0.73 of their size high: half of that is beside the middle.
            let half_mm = 0.365 * LETTERS_MM;
            let near = self.at(plate, *place_mm, self.number_mm());
            let (start, area) = match self.edge {
                Edge::Bottom => (
                    near + DVec2::new(half_mm, width_mm),
                    Area { low: near - DVec2::X * half_mm, high: near + DVec2::new(half_mm, width_mm) },
                ),
                Edge::Top => (
                    near + DVec2::new(half_mm, 0.0),
                    Area { low: near - DVec2::new(half_mm, width_mm), high: near + DVec2::X * half_mm },
                ),
                Edge::Left => (
                    near + DVec2::new(-width_mm, half_mm),
                    Area { low: near - DVec2::new(width_mm, half_mm), high: near + DVec2::Y * half_mm },
                ),
                Edge::Right => (
                    near + DVec2::new(0.0, half_mm),
                    Area { low: near - DVec2::Y * half_mm, high: near + DVec2::new(width_mm, half_mm) },
                ),
            };
            page.marks.push(Mark::Text {
                at_mm: start,
                size_mm: LETTERS_MM,
                text: stop.text.clone(),
                grey: 0,
                turned: matches!(self.edge, Edge::Bottom | Edge::Top),
            });
            // Room for a descender on either side, so that tags keep their distance.
            taken.push(area.inset(-0.22 * LETTERS_MM));
        }
        taken
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stop(along_mm: f64, across_mm: f64) -> Stop {
        Stop { along_mm, across_mm, clear_mm: 1.0, text: number(along_mm) }
    }

    #[test]
    fn numbers_have_no_needless_noughts() {
        assert_eq!([23.5, 40.0, -0.001, 0.456, -12.25].map(number), ["23.5", "40", "0", "0.46", "-12.25"]);
    }

    #[test]
    fn numbers_go_to_the_far_edge_when_the_near_one_is_full_and_to_none_when_both_are() {
        let edges = [Edge::Bottom, Edge::Top];
        let stops = |count: u32| -> Vec<Stop> {
            let across_mm = |k| if k % 2 == 0 { 10.0 } else { 90.0 };
            (0..count).map(|k| stop(20.0 + f64::from(k) / 2.0, across_mm(k))).collect()
        };
        let counts = |count| {
            let (all, is_whole) = along(edges, &stops(count), 100.0, (0.0, 40.0));
            (all.iter().map(|one| one.stops.len()).collect::<Vec<_>>(), is_whole)
        };
        assert_eq!(counts(7), (vec![7], true));
        assert_eq!(counts(12), (vec![6, 6], true));
        assert_eq!(counts(23), (vec![0], false));
    }

    #[test]
    fn the_same_number_stands_once_and_leads_to_the_farthest_hole() {
        let (all, _) =
            along([Edge::Left, Edge::Right], &[stop(5.0, 20.0), stop(5.0, 70.0)], 100.0, (0.0, 40.0));
        assert_eq!(all[0].stops, [stop(5.0, 70.0)]);
    }
}
