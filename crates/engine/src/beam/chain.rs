//! A chain of plane elements: nodes in a row along x, three freedoms each (u, w, rotation).

use glam::DVec3;

use crate::beam::band::{Band, HALF};
use crate::beam::element::PlaneElement;
use crate::beam::form::{Beams, SpotForce, cubic};

/// Freedoms of a node: displacement along x (mm), along z (mm), rotation (rad).
pub(crate) const DOF: usize = 3;

/// Nodes and the elements between neighbours.
#[derive(Clone, Debug)]
pub(crate) struct Chain {
    /// Undeformed place of each node along x, mm, ascending.
    pub(crate) along_mm: Vec<f64>,
    /// Element i joins node i and node i + 1.
    pub(crate) elements: Vec<PlaneElement>,
}

/// The chord of an element: its length and direction now, and the deformation seen from it.
#[derive(Clone, Copy, Debug)]
struct Chord {
    length: f64,
    cos: f64,
    sin: f64,
    deformation: [f64; 3],
}

/// Angle of a sine and cosine, rad: a short series where it is small, as it nearly always is.
#[inline]
fn angle(sin: f64, cos: f64) -> f64 {
    if cos > 0.0 && sin.abs() < 0.03 {
        // Arc sine to the seventh power: the next term is below 1e-15 here.
        let square = sin * sin;
        sin * (1.0 + square * (1.0 / 6.0 + square * (3.0 / 40.0 + square * (15.0 / 336.0))))
    } else {
        sin.atan2(cos)
    }
}

impl Chain {
    #[inline]
    fn chord(&self, i: usize, moved: &[f64], turn_1: (f64, f64), turn_2: (f64, f64)) -> Chord {
        let d = &moved[DOF * i..DOF * (i + 2)];
        let across = self.along_mm[i + 1] - self.along_mm[i] + d[3] - d[0];
        let up = d[4] - d[1];
        let length = (across * across + up * up).sqrt();
        let (cos, sin) = (across / length, up / length);
        // Rotation against the chord, wrapped so that many turns of the chord do no harm.
        let against = |(s, c): (f64, f64)| angle(s * cos - c * sin, c * cos + s * sin);
        let rest = self.elements[i].length_mm;
        // (l² − l0²)/(l + l0) loses no digits where l − l0 would.
        let stretch = ((across - rest) * (across + rest) + up * up) / (length + rest);
        Chord { length, cos, sin, deformation: [stretch, against(turn_1), against(turn_2)] }
    }

    /// Deformation of element `i` seen from its chord: stretch mm, end rotations rad.
    pub(crate) fn deformation(&self, i: usize, moved: &[f64]) -> [f64; 3] {
        let turn = |node: usize| moved[DOF * node + 2].sin_cos();
        self.chord(i, moved, turn(i), turn(i + 1)).deformation
    }
}

/// A place inside a chain's element, with the weights by which the element's freedoms move it.
///
/// z = Σ weight · (w1, sin θ1, w2, sin θ2): the cubic through both nodes with their slopes, written in
/// arc length so that it stays right at large rotations.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PlaneSpot {
    element: usize,
    weights: [f64; 4],
    /// Place in the element, 0..1.
    place: f64,
}

impl Beams for Chain {
    const FREEDOMS: usize = DOF;
    const Z: usize = 1;
    const TWISTS: bool = false;
    type Matrix = Band;
    /// Sine and cosine of every node's rotation.
    type Turns = Vec<(f64, f64)>;
    type Spot = PlaneSpot;

    fn nodes(&self) -> usize {
        self.along_mm.len()
    }

    fn elements(&self) -> usize {
        self.elements.len()
    }

    fn ends(&self, element: usize) -> (usize, usize) {
        (element, element + 1)
    }

    fn matrix(&self) -> Band {
        Band::new(DOF * self.along_mm.len())
    }

    fn turns(&self, moved: &[f64], turns: &mut Vec<(f64, f64)>) {
        turns.clear();
        turns.extend(moved.chunks_exact(DOF).map(|node| node[2].sin_cos()));
    }

    fn assemble(
        &self,
        moved: &[f64],
        turns: &Vec<(f64, f64)>,
        residual: &mut [f64],
        matrix: &mut Band,
        convex: bool,
    ) {
        for (i, element) in self.elements.iter().enumerate() {
            if element.is_torn {
                continue;
            }
            let chord = self.chord(i, moved, turns[i], turns[i + 1]);
            let Chord { length, cos, sin, deformation } = chord;
            let local = element.respond(deformation);
            let [force, moment_1, moment_2] = local.forces;
            let moments = (moment_1 + moment_2) / length;
            let (end_x, end_z) = (force * cos + moments * sin, force * sin - moments * cos);
            let out = &mut residual[DOF * i..DOF * (i + 2)];
            for (out, force) in out.iter_mut().zip([-end_x, -end_z, moment_1, end_x, end_z, moment_2]) {
                *out += force;
            }
            // Of the displacements only their difference counts, along the chord and across it.
            let [[k_00, k_01, k_02], [_, k_11, k_12], [_, _, k_22]] = local.stiffness;
            let pull = if convex { force.max(0.0) } else { force } / length;
            let twist = if convex { 0.0 } else { moments / length };
            let (turns_1, turns_2) = ((k_11 + k_12) / length, (k_12 + k_22) / length);
            let across = (turns_1 + turns_2) / length + pull;
            let mixed = twist - (k_01 + k_02) / length;
            let xx = k_00 * cos * cos + across * sin * sin - 2.0 * mixed * cos * sin;
            let zz = k_00 * sin * sin + across * cos * cos + 2.0 * mixed * cos * sin;
            let xz = (k_00 - across) * cos * sin + mixed * (cos * cos - sin * sin);
            let (x_1, z_1) = (k_01 * cos + turns_1 * sin, k_01 * sin - turns_1 * cos);
            let (x_2, z_2) = (k_02 * cos + turns_2 * sin, k_02 * sin - turns_2 * cos);
            // The lower triangle; what is above it is not read.
            let block = [
                [xx, 0.0, 0.0, 0.0, 0.0, 0.0],
                [xz, zz, 0.0, 0.0, 0.0, 0.0],
                [-x_1, -z_1, k_11, 0.0, 0.0, 0.0],
                [-xx, -xz, x_1, xx, 0.0, 0.0],
                [-xz, -zz, z_1, xz, zz, 0.0],
                [-x_2, -z_2, k_12, x_2, z_2, k_22],
            ];
            let rows = matrix.rows_of(DOF * i);
            for i in 0..2 * DOF {
                for j in 0..=i {
                    rows[i][HALF + j - i] += block[i][j];
                }
            }
        }
    }

    fn accept(&mut self, moved: &[f64], _: &Vec<(f64, f64)>) -> (f64, bool) {
        let (mut lost, mut tore) = (0.0, false);
        for i in 0..self.elements.len() {
            let deformation = self.deformation(i, moved);
            let element = &mut self.elements[i];
            let was_torn = element.is_torn;
            lost += element.accept(deformation);
            tore |= element.is_torn && !was_torn;
        }
        (lost, tore)
    }

    fn commit(&mut self, _: &mut [f64], _: &Vec<(f64, f64)>) {}

    #[inline]
    fn step_back(moved: &mut [f64], change: &[f64], share: f64) {
        for (value, change) in moved.iter_mut().zip(change) {
            *value -= share * change;
        }
    }

    fn is_torn(&self, element: usize) -> bool {
        self.elements[element].is_torn
    }

    fn stored_mj(&self, moved: &[f64], _: &Vec<(f64, f64)>) -> f64 {
        let of = |i: usize| self.elements[i].elastic_energy_mj(self.deformation(i, moved));
        (0..self.elements.len()).map(of).sum()
    }

    fn shift(moved: &[f64], node: usize) -> DVec3 {
        DVec3::new(moved[DOF * node], 0.0, moved[DOF * node + 1])
    }

    fn spot(&self, element: usize, place: f64, _: f64) -> PlaneSpot {
        let length_mm = self.along_mm[element + 1] - self.along_mm[element];
        PlaneSpot { element, weights: cubic(length_mm, place), place }
    }

    #[inline]
    fn element_of(spot: &PlaneSpot) -> usize {
        spot.element
    }

    #[inline]
    fn place(&self, spot: &PlaneSpot, moved: &[f64], turns: &Vec<(f64, f64)>) -> DVec3 {
        let d = &moved[DOF * spot.element..DOF * (spot.element + 2)];
        let [a, b, c, e] = spot.weights;
        let (sine_1, sine_2) = (turns[spot.element].0, turns[spot.element + 1].0);
        let z = a * d[1] + b * sine_1 + c * d[4] + e * sine_2;
        DVec3::new(d[0] + spot.place * (d[3] - d[0]), 0.0, z)
    }

    #[inline]
    fn spread(
        &self,
        spot: &PlaneSpot,
        turns: &Vec<(f64, f64)>,
        force: &SpotForce,
        convex: bool,
        residual: &mut [f64],
        matrix: &mut Band,
    ) {
        let first = DOF * spot.element;
        let (sin_1, cos_1) = turns[spot.element];
        let (sin_2, cos_2) = turns[spot.element + 1];
        let [a, b, c, e] = spot.weights;
        // Only w and rotation move the spot along z, only u along x.
        let along_z = [(1, a), (2, b * cos_1), (4, c), (5, e * cos_2)];
        let along_x = [(0, 1.0 - spot.place), (3, spot.place)];
        let rows = matrix.rows_of(first);
        for (i, (row, weight)) in along_z.iter().enumerate() {
            residual[first + row] += force.z * weight;
            let stiffness = force.zz * weight;
            for (column, other) in &along_z[..=i] {
                rows[*row][HALF + column - row] += stiffness * other;
            }
        }
        if force.side.x != 0.0 || force.xx != 0.0 {
            for (i, (row, weight)) in along_x.iter().enumerate() {
                residual[first + row] += force.side.x * weight;
                for (column, other) in &along_x[..=i] {
                    rows[*row][HALF + column - row] += force.xx * weight * other;
                }
            }
        }
        if force.zx != 0.0 {
            for (i, weight) in along_z {
                for (j, other) in along_x {
                    rows[i.max(j)][HALF + i.min(j) - i.max(j)] += force.zx * weight * other;
                }
            }
        }
        if !convex {
            rows[2][HALF] -= force.z * b * sin_1;
            rows[5][HALF] -= force.z * e * sin_2;
        }
    }

    fn push(&self, spot: &PlaneSpot, turns: &Vec<(f64, f64)>, force: DVec3, to: &mut [f64]) {
        let first = DOF * spot.element;
        let [a, b, c, e] = spot.weights;
        let (cos_1, cos_2) = (turns[spot.element].1, turns[spot.element + 1].1);
        for (row, weight) in [(1, a), (2, b * cos_1), (4, c), (5, e * cos_2)] {
            to[first + row] += force.z * weight;
        }
        to[first] += force.x * (1.0 - spot.place);
        to[first + 3] += force.x * spot.place;
    }

    /// The first node of the whole chain at the origin and the first chord along x.
    fn released(&self, moved: &[f64], _: &Vec<(f64, f64)>, _: &[usize]) -> Vec<DVec3> {
        let mut shape = vec![DVec3::ZERO];
        let (mut x, mut z, mut rotation) = (0.0, 0.0, 0.0);
        for (i, element) in self.elements.iter().enumerate() {
            let [stretch, turn_1, turn_2] = element.residual(self.deformation(i, moved));
            let chord: f64 = rotation - turn_1;
            let length = element.length_mm + stretch;
            x += length * chord.cos();
            z += length * chord.sin();
            rotation = chord + turn_2;
            shape.push(DVec3::new(x, 0.0, z));
        }
        shape
    }
}
