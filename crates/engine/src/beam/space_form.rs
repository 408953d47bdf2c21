//! A network in space as the opening run sees it: spots and released shape.

use glam::{DMat3, DVec3};

use crate::beam::blocks::{Blocks, SIX};
use crate::beam::form::{Beams, Matrix, SpotForce, cubic};
use crate::beam::space::{Space, Turned};
use crate::beam::space_element::{Natural, STRETCH, rotation};

/// A place inside an element, and beside its axis.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SpaceSpot {
    element: usize,
    weights: [f64; 4],
    /// Place in the element, 0..1.
    place: f64,
    /// To the left of the axis, mm.
    beside_mm: f64,
}

/// Change of the height of a vector's tip by a spin about x and y.
#[inline]
fn lever(axis: DVec3) -> [f64; 2] {
    [axis.y, -axis.x]
}

impl Space {
    /// The axes of both ends of an element, along and to the left.
    #[inline]
    fn axes(&self, element: usize, turns: &Turned) -> [(DVec3, DVec3); 2] {
        let link = &self.links[element];
        [link.from, link.to].map(|node| (turns[node] * link.axes.x_axis, turns[node] * link.axes.y_axis))
    }

    /// How much the two ends' axes count in the height of a spot: slope and lateral axis of each.
    #[inline]
    fn shares(spot: &SpaceSpot) -> [(f64, f64); 2] {
        let [_, slope_1, _, slope_2] = spot.weights;
        [(slope_1, spot.beside_mm * (1.0 - spot.place)), (slope_2, spot.beside_mm * spot.place)]
    }

    /// Lets every piece come to rest without holds, its root kept where it is; `None` if it does not.
    fn relaxed(&self, mut moved: Vec<f64>, roots: &[usize]) -> Option<Vec<f64>> {
        let stiffest = self
            .elements
            .iter()
            .map(|element| element.law.modulus_mpa * element.section.total_mm2 / element.length_mm)
            .fold(1.0, f64::max);
        let (mut turns, mut matrix) = (Turned::new(), self.matrix());
        let mut residual = vec![0.0; moved.len()];
        for _ in 0..60 {
            self.turns(&moved, &mut turns);
            residual.fill(0.0);
            matrix.clear();
            self.assemble(&moved, &turns, &mut residual, &mut matrix, true);
            for root in roots {
                let own = SIX * root..SIX * (root + 1);
                residual[own.clone()].fill(0.0);
                own.for_each(|freedom| matrix.add_diagonal(freedom, 1e6 * stiffest));
            }
            if residual.iter().all(|force| force.abs() < 1e-9 * stiffest) {
                return Some(moved);
            }
            // A node that nothing holds any more has no stiffness.
            (0..moved.len()).for_each(|freedom| matrix.add_diagonal(freedom, 1e-9 * stiffest));
            matrix.factor().ok()?;
            matrix.solve(&mut residual);
            let worst = residual.iter().fold(1.0_f64, |worst, change| worst.max(change.abs()));
            Self::step_back(&mut moved, &residual, 1.0 / worst);
        }
        None
    }
}

impl Beams for Space {
    const FREEDOMS: usize = SIX;
    const Z: usize = 2;
    const TWISTS: bool = true;
    type Matrix = Blocks;
    type Turns = Turned;
    type Spot = SpaceSpot;

    fn nodes(&self) -> usize {
        self.places.len()
    }

    fn elements(&self) -> usize {
        self.elements.len()
    }

    fn ends(&self, element: usize) -> (usize, usize) {
        (self.links[element].from, self.links[element].to)
    }

    fn matrix(&self) -> Blocks {
        Self::matrix(self)
    }

    fn turns(&self, moved: &[f64], turns: &mut Turned) {
        Self::turns(self, moved, turns);
    }

    fn assemble(
        &self,
        moved: &[f64],
        turns: &Turned,
        residual: &mut [f64],
        matrix: &mut Blocks,
        convex: bool,
    ) {
        Self::assemble(self, moved, turns, residual, matrix, convex);
    }

    fn accept(&mut self, moved: &[f64], turns: &Turned) -> (f64, bool) {
        let (mut lost, mut tore) = (0.0, false);
        for i in 0..self.elements.len() {
            if self.elements[i].is_torn {
                continue;
            }
            let deformation = self.deformation(i, moved, turns);
            lost += self.elements[i].accept(&deformation);
            tore |= self.elements[i].is_torn;
        }
        (lost, tore)
    }

    fn commit(&mut self, moved: &mut [f64], turns: &Turned) {
        Self::commit(self, moved, turns);
    }

    fn step_back(moved: &mut [f64], change: &[f64], share: f64) {
        Self::step_back(moved, change, share);
    }

    fn is_torn(&self, element: usize) -> bool {
        self.elements[element].is_torn
    }

    fn stored_mj(&self, moved: &[f64], turns: &Turned) -> f64 {
        let of = |i: usize| self.elements[i].elastic_energy_mj(&self.deformation(i, moved, turns));
        (0..self.elements.len()).map(of).sum()
    }

    fn shift(moved: &[f64], node: usize) -> DVec3 {
        Self::shift(moved, node)
    }

    fn spot(&self, element: usize, place: f64, beside_mm: f64) -> SpaceSpot {
        let weights = cubic(self.elements[element].length_mm, place);
        SpaceSpot { element, weights, place, beside_mm }
    }

    #[inline]
    fn element_of(spot: &SpaceSpot) -> usize {
        spot.element
    }

    #[inline]
    fn place(&self, spot: &SpaceSpot, moved: &[f64], turns: &Turned) -> DVec3 {
        let (from, to) = self.ends(spot.element);
        let (one, two) = (Self::shift(moved, from), Self::shift(moved, to));
        let mut z = spot.weights[0] * one.z + spot.weights[2] * two.z;
        for ((along, left), (slope, beside)) in
            self.axes(spot.element, turns).into_iter().zip(Self::shares(spot))
        {
            z += slope * along.z + beside * left.z;
        }
        let side = one.lerp(two, spot.place);
        DVec3::new(side.x, side.y, z)
    }

    #[inline]
    fn spread(
        &self,
        spot: &SpaceSpot,
        turns: &Turned,
        force: &SpotForce,
        convex: bool,
        residual: &mut [f64],
        matrix: &mut Blocks,
    ) {
        let element = spot.element;
        let (from, to) = self.ends(element);
        let axes = self.axes(element, turns);
        let shares = Self::shares(spot);
        let spin = |end: usize| {
            let ((along, left), (slope, beside)) = (axes[end], shares[end]);
            lever(slope * along + beside * left)
        };
        let (one, two) = (spin(0), spin(1));
        // Freedoms of the element that move the spot along z, and how much.
        let along_z =
            [(2, spot.weights[0]), (3, one[0]), (4, one[1]), (8, spot.weights[2]), (9, two[0]), (10, two[1])];
        let freedom = |i: usize| if i < SIX { SIX * from + i } else { SIX * to + i - SIX };
        for (i, (row, weight)) in along_z.iter().enumerate() {
            residual[freedom(*row)] += force.z * weight;
            let stiffness = force.zz * weight;
            for (column, other) in &along_z[..=i] {
                matrix.add(element, *row, *column, stiffness * other);
            }
        }
        let ends = [(0, 1.0 - spot.place), (SIX, spot.place)];
        let has_side = force.side != glam::DVec2::ZERO || force.xx != 0.0 || force.yy != 0.0;
        if has_side {
            for (i, (first, weight)) in ends.iter().enumerate() {
                residual[freedom(*first)] += force.side.x * weight;
                residual[freedom(first + 1)] += force.side.y * weight;
                for (column, other) in &ends[..=i] {
                    let both = weight * other;
                    matrix.add(element, *first, *column, force.xx * both);
                    matrix.add(element, first + 1, *column, force.xy * both);
                    matrix.add(element, first + 1, column + 1, force.yy * both);
                    if first != column {
                        matrix.add(element, *first, column + 1, force.xy * both);
                    }
                }
            }
        }
        if force.zx != 0.0 || force.zy != 0.0 {
            for (i, weight) in along_z {
                for (first, other) in ends {
                    for (j, value) in [(first, force.zx), (first + 1, force.zy)] {
                        matrix.add(element, i.max(j), i.min(j), value * weight * other);
                    }
                }
            }
        }
        if !convex && force.z != 0.0 {
            for (end, first) in [3, 9].into_iter().enumerate() {
                let ((along, left), (slope, beside)) = (axes[end], shares[end]);
                let v = force.z * (slope * along + beside * left);
                // Half of (ez vᵀ + v ezᵀ), less v.z on the diagonal.
                matrix.add(element, first, first, -v.z);
                matrix.add(element, first + 1, first + 1, -v.z);
                matrix.add(element, first + 2, first, 0.5 * v.x);
                matrix.add(element, first + 2, first + 1, 0.5 * v.y);
            }
        }
    }

    fn push(&self, spot: &SpaceSpot, turns: &Turned, force: DVec3, to: &mut [f64]) {
        let (from, to_node) = self.ends(spot.element);
        let axes = self.axes(spot.element, turns);
        let shares = Self::shares(spot);
        let heights = [spot.weights[0], spot.weights[2]];
        let sides = [1.0 - spot.place, spot.place];
        for (end, node) in [from, to_node].into_iter().enumerate() {
            let ((along, left), (slope, beside)) = (axes[end], shares[end]);
            let [about_x, about_y] = lever(slope * along + beside * left);
            let own = &mut to[SIX * node..SIX * (node + 1)];
            own[0] += force.x * sides[end];
            own[1] += force.y * sides[end];
            own[2] += force.z * heights[end];
            own[3] += force.z * about_x;
            own[4] += force.z * about_y;
        }
    }

    fn released(&self, moved: &[f64], turns: &Turned, roots: &[usize]) -> Vec<DVec3> {
        let mut joined: Vec<Vec<usize>> = vec![Vec::new(); self.places.len()];
        for (i, link) in self.links.iter().enumerate().filter(|(i, _)| !self.elements[*i].is_torn) {
            joined[link.from].push(i);
            joined[link.to].push(i);
        }
        let mut places: Vec<DVec3> = self.places.iter().map(|place| place.extend(0.0)).collect();
        let mut turned = vec![DMat3::IDENTITY; places.len()];
        let mut is_done = vec![false; places.len()];
        let mut waiting: Vec<usize> = roots.to_vec();
        roots.iter().for_each(|root| is_done[*root] = true);
        while let Some(node) = waiting.pop() {
            for &i in &joined[node] {
                let link = &self.links[i];
                let other = if link.from == node { link.to } else { link.from };
                if is_done[other] {
                    continue;
                }
                let natural = self.elements[i].residual(&self.deformation(i, moved, turns));
                let [first, second] = ends_of(&natural);
                let (near, far, way) =
                    if link.from == node { (first, second, 1.0) } else { (second, first, -1.0) };
                let frame = turned[node] * link.axes * rotation(near).transpose();
                let chord = frame.x_axis * (self.elements[i].length_mm + natural[STRETCH]);
                places[other] = places[node] + way * chord;
                turned[other] = frame * rotation(far) * link.axes.transpose();
                is_done[other] = true;
                waiting.push(other);
            }
        }
        // A closed loop does not close of itself once it has yielded: let it come to rest.
        let mut free = self.clone();
        free.turned = turned;
        let mut shifts = vec![0.0; SIX * places.len()];
        for (node, (place, rest)) in places.iter().zip(&self.places).enumerate() {
            let shift = *place - rest.extend(0.0);
            shifts[SIX * node..SIX * node + 3].copy_from_slice(&shift.to_array());
        }
        match free.relaxed(shifts, roots) {
            Some(rest) => {
                (0..places.len()).map(|i| self.places[i].extend(0.0) + Self::shift(&rest, i)).collect()
            }
            None => places,
        }
    }
}

/// Local rotation vectors of both ends of an element.
fn ends_of(natural: &Natural) -> [DVec3; 2] {
    let [_, twist, y_1, y_2, z_1, z_2] = *natural;
    [DVec3::new(-0.5 * twist, y_1, z_1), DVec3::new(0.5 * twist, y_2, z_2)]
}
