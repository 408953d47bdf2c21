//! A run being drawn: the points so far, the numbers typed, and where the next point comes to lie.

use std::f64::consts::TAU;

use glam::DVec2;
use keepside_model::{Run, RunPoint};

use crate::shape::{MEET_MM, bulge_through};
use crate::starters::Channel;

/// What a click would add now.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Next {
    /// Place of the next point, mm.
    pub at: DVec2,
    /// Bulge of the piece that leads to it.
    pub bulge: f64,
    /// Length of the straight piece or of the chord of the arc, mm.
    pub length_mm: f64,
    /// Its direction from x, counter-clockwise, degrees, 0 to 360.
    pub angle_deg: f64,
    /// Radius of the arc, mm; `None` for a straight piece.
    pub radius_mm: Option<f64>,
    /// Angle that the arc turns through, degrees, positive to the left.
    pub sweep_deg: f64,
}

/// What the two numbers that can be typed are now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asked {
    /// The first point: x and y.
    Place,
    /// A further point: length and angle.
    Polar,
    /// The bend of an arc whose end is given: radius and angle turned through.
    Bend,
}

/// What came of placing a point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Placed {
    /// Drawing goes on.
    GoesOn,
    /// The run has come back to its first point: it is a ring.
    Closed,
}

/// A run being drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// The channel that new points have.
    pub channel: Channel,
    /// Length of the unit that lengths are typed in, mm.
    pub unit_mm: f64,
    points: Vec<RunPoint>,
    /// Whether the next piece is an arc.
    is_arc: bool,
    /// End of an arc whose bend is still to be given.
    arc_end: Option<DVec2>,
    typed: [String; 2],
    /// Which of the two numbers is being typed.
    field: usize,
}

impl Drawing {
    /// Nothing drawn yet.
    pub const fn new(channel: Channel) -> Self {
        let typed = [String::new(), String::new()];
        Self { channel, unit_mm: 1.0, points: Vec::new(), is_arc: false, arc_end: None, typed, field: 0 }
    }

    /// The points so far.
    pub fn points(&self) -> &[RunPoint] {
        &self.points
    }

    /// Whether anything has been placed or typed.
    pub fn is_begun(&self) -> bool {
        !self.points.is_empty() || self.is_typing()
    }

    /// Whether a number has been typed.
    pub fn is_typing(&self) -> bool {
        self.typed.iter().any(|text| !text.is_empty())
    }

    /// Whether the next piece is an arc.
    pub const fn is_arc(&self) -> bool {
        self.is_arc
    }

    /// What is asked for now.
    pub fn asked(&self) -> Asked {
        match (self.points.is_empty(), self.arc_end) {
            (true, _) => Asked::Place,
            (false, None) => Asked::Polar,
            (false, Some(_)) => Asked::Bend,
        }
    }

    /// The two numbers as typed, and which of them is being typed.
    pub fn typed(&self) -> ([&str; 2], usize) {
        ([&self.typed[0], &self.typed[1]], self.field)
    }

    /// Takes a typed character; whether it belongs to a number.
    pub fn type_character(&mut self, character: char) -> bool {
        let text = &mut self.typed[self.field];
        let fits = match character {
            '0'..='9' => text.len() < 10,
            '.' | ',' => !text.contains(['.', ',']),
            '-' | '−' => text.is_empty(),
            _ => false,
        };
        if fits {
            text.push(if character == '−' { '-' } else { character });
        }
        fits
    }

    /// Goes on to the other number.
    pub const fn other_number(&mut self) {
        self.field = 1 - self.field;
    }

    /// Forgets the numbers typed.
    pub fn clear_typed(&mut self) {
        self.typed = [String::new(), String::new()];
        self.field = 0;
    }

    /// Makes the next piece an arc, or straight again.
    pub fn toggle_arc(&mut self) {
        self.is_arc = !self.is_arc;
        self.arc_end = None;
        self.clear_typed();
    }

    /// Takes back the last character typed, else the end of the arc, else the last point; whether there was
    /// anything to take back.
    pub fn take_back(&mut self) -> bool {
        if self.typed[self.field].pop().is_some() {
            return true;
        }
        if self.is_typing() {
            self.other_number();
            return true;
        }
        if self.arc_end.take().is_some() {
            return true;
        }
        let taken = self.points.pop().is_some();
        if let Some(last) = self.points.last_mut() {
            last.bulge = 0.0;
        }
        taken
    }

    /// A number typed: with a decimal point or comma.
    fn number(&self, field: usize) -> Option<f64> {
        self.typed[field].replace(',', ".").parse().ok().filter(|number: &f64| number.is_finite())
    }

    /// What a click would add, with the pointer at `pointer` and the numbers typed.
    pub fn next(&self, pointer: DVec2) -> Next {
        let Some(last) = self.points.last() else {
            let at =
                DVec2::new(self.length_mm(0).unwrap_or(pointer.x), self.length_mm(1).unwrap_or(pointer.y));
            return Next { at, bulge: 0.0, length_mm: 0.0, angle_deg: 0.0, radius_mm: None, sweep_deg: 0.0 };
        };
        let Some(end) = self.arc_end else {
            return self.with_facts(last.at, self.polar(last.at, pointer), 0.0);
        };
        let chord_mm = end.distance(last.at);
        let pointed = bulge_through(last.at, end, pointer);
        let bulge = if let Some(sweep_deg) = self.number(1) {
            (sweep_deg.to_radians() / 4.0).tan().clamp(-1.0, 1.0)
        } else if let Some(radius_mm) = self.length_mm(0) {
            // The shorter of the two arcs of this radius, on the side of the pointer.
            let quarter_rad = 0.5 * (0.5 * chord_mm / radius_mm.abs()).min(1.0).asin();
            quarter_rad.tan().copysign(if pointed == 0.0 { radius_mm } else { pointed })
        } else {
            pointed
        };
        self.with_facts(last.at, end, if bulge.is_finite() { bulge } else { 0.0 })
    }

    /// A length typed, mm.
    fn length_mm(&self, field: usize) -> Option<f64> {
        self.number(field).map(|number| number * self.unit_mm)
    }

    /// The end of a piece from `from` towards the pointer, of the length and in the direction typed.
    fn polar(&self, from: DVec2, pointer: DVec2) -> DVec2 {
        let towards = pointer - from;
        match (self.length_mm(0), self.number(1)) {
            (None, None) => pointer,
            (length_mm, angle_deg) => {
                let direction = match angle_deg {
                    Some(angle_deg) => unit(angle_deg),
                    None => towards.normalize_or(DVec2::X),
                };
                let length_mm = length_mm.unwrap_or_else(|| towards.dot(direction).max(0.0));
                // A micrometre is below what can be cut; the numbers stay short.
                ((from + direction * length_mm) * 1e6).round() / 1e6
            }
        }
    }

    fn with_facts(&self, from: DVec2, at: DVec2, bulge: f64) -> Next {
        let chord = at - from;
        let length_mm = chord.length();
        let sweep_rad = 4.0 * bulge.atan();
        let radius_mm = (bulge != 0.0).then(|| 0.5 * length_mm / (0.5 * sweep_rad).sin().abs());
        let angle_deg = if length_mm > 0.0 { chord.to_angle().rem_euclid(TAU).to_degrees() } else { 0.0 };
        Next { at, bulge, length_mm, angle_deg, radius_mm, sweep_deg: sweep_rad.to_degrees() }
    }

    /// Places the next point. A point on the last one is passed over; one on the first closes the run, if
    /// that leaves room within.
    pub fn place(&mut self, pointer: DVec2) -> Placed {
        let next = self.next(pointer);
        self.clear_typed();
        let Some(last) = self.points.last_mut() else {
            self.points.push(self.channel.point(next.at, 0.0));
            return Placed::GoesOn;
        };
        if next.at.distance(last.at) <= MEET_MM {
            return Placed::GoesOn;
        }
        if self.is_arc && self.arc_end.is_none() {
            self.arc_end = Some(next.at);
            return Placed::GoesOn;
        }
        self.arc_end = None;
        last.bulge = next.bulge;
        let closes = self.closes(next.at);
        let at = if closes { self.points[0].at } else { next.at };
        self.points.push(self.channel.point(at, 0.0));
        if closes { Placed::Closed } else { Placed::GoesOn }
    }

    /// Whether a point at this place would close the run.
    pub fn closes(&self, at: DVec2) -> bool {
        let bends =
            self.points.len() > 2 || (self.points.len() == 2 && (self.is_arc || self.points[0].bulge != 0.0));
        bends && self.points.first().is_some_and(|first| first.at.distance(at) <= MEET_MM)
    }

    /// The points so far and the next one, for showing.
    pub fn preview(&self, pointer: DVec2) -> Vec<RunPoint> {
        let next = self.next(pointer);
        let mut points = self.points.clone();
        if let Some(last) = points.last_mut() {
            last.bulge = next.bulge;
        }
        points.push(self.channel.point(next.at, 0.0));
        points
    }

    /// The run drawn so far; `None` before its second point.
    pub fn run(&self) -> Option<Run> {
        (self.points.len() > 1)
            .then(|| self.channel.run(self.points.iter().map(|point| (point.at, point.bulge))))
    }
}

/// The unit vector in a direction, exact along the axes.
fn unit(angle_deg: f64) -> DVec2 {
    let quarter = angle_deg / 90.0;
    if quarter == quarter.round() {
        return [DVec2::X, DVec2::Y, -DVec2::X, -DVec2::Y]
            .into_iter()
            .zip(0_u8..)
            .find(|(_, number)| f64::from(*number) == quarter.rem_euclid(4.0))
            .map_or(DVec2::X, |(direction, _)| direction);
    }
    DVec2::from_angle(angle_deg.to_radians())
}

/// `pointer` turned about `from` onto the nearest multiple of `step_deg`, as far away as it was, to the grid.
pub fn on_ray(from: DVec2, pointer: DVec2, step_deg: f64, grid_mm: Option<f64>) -> DVec2 {
    let towards = pointer - from;
    let angle_deg = (towards.to_angle().to_degrees() / step_deg).round() * step_deg;
    let direction = unit(angle_deg);
    let length_mm = towards.dot(direction);
    let length_mm = match grid_mm {
        Some(step) if step > 0.0 => (length_mm / step).round() * step,
        _ => length_mm,
    };
    ((from + direction * length_mm) * 1e6).round() / 1e6
}
