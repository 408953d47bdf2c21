//! A network of beam elements in space: nodes with six freedoms each, displacement and rotation.
//!
//! A node's rotation in the freedoms is the rotation vector since the last accepted step; what came
//! before is kept as a rotation matrix, so that a part may turn as far as it likes.

use glam::{DMat3, DVec2, DVec3};

use crate::beam::blocks::{Blocks, SIX};
use crate::beam::space_element::{Block, Natural, Seen, SpaceElement, rotation, rotation_vector};

/// Which nodes an element joins, and its axes at rest.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Link {
    pub(crate) from: usize,
    pub(crate) to: usize,
    /// Along, to the left, and up (the opening direction), at rest.
    pub(crate) axes: DMat3,
}

/// Nodes and the elements between them.
#[derive(Clone, Debug)]
pub(crate) struct Space {
    /// Undeformed places of the nodes in the plan, mm.
    pub(crate) places: Vec<DVec2>,
    pub(crate) links: Vec<Link>,
    pub(crate) elements: Vec<SpaceElement>,
    /// Rotation of every node at the last accepted step.
    pub(super) turned: Vec<DMat3>,
}

/// Rotation of every node now.
pub(crate) type Turned = Vec<DMat3>;

/// The stiffness of an elastic element as it was when last computed: most elements are stuck or move
/// along with their half, and have hardly changed since.
#[derive(Clone, Debug)]
pub(crate) struct Kept {
    frame: DMat3,
    natural: Natural,
    convex: bool,
    block: Block,
}

/// Change of direction or of a local rotation, rad, and of stretch over length, up to which a kept
/// stiffness serves: the forces are exact in any case, only the next update is off by as much.
const KEPT_CHANGE: f64 = 1e-4;

impl Kept {
    #[inline]
    fn serves(&self, seen: &Seen, convex: bool, element: &SpaceElement) -> bool {
        let axis = |a: DVec3, b: DVec3| (a - b).abs().max_element();
        let turned =
            axis(self.frame.x_axis, seen.frame.x_axis).max(axis(self.frame.y_axis, seen.frame.y_axis));
        let stretched = (self.natural[0] - seen.natural[0]).abs() / element.length_mm;
        let bent = (1..6).map(|i| (self.natural[i] - seen.natural[i]).abs()).fold(stretched, f64::max);
        self.convex == convex && turned.max(bent) <= KEPT_CHANGE
    }
}

impl Space {
    /// A network at rest. Nodes of a link must not stand in the same place.
    pub(crate) fn new(places: Vec<DVec2>, elements: Vec<(usize, usize, SpaceElement)>) -> Self {
        let links = elements.iter().map(|&(from, to, _)| {
            let along = (places[to] - places[from]).normalize_or(DVec2::X);
            let left = along.perp();
            let axes = DMat3::from_cols(along.extend(0.0), left.extend(0.0), DVec3::Z);
            Link { from, to, axes }
        });
        let links = links.collect();
        let elements = elements.into_iter().map(|(_, _, element)| element).collect();
        let turned = vec![DMat3::IDENTITY; places.len()];
        Self { places, links, elements, turned }
    }

    /// A matrix of the right shape.
    pub(crate) fn matrix(&self) -> Blocks {
        let pairs: Vec<(usize, usize)> = self.links.iter().map(|link| (link.from, link.to)).collect();
        Blocks::new(self.places.len(), &pairs)
    }

    /// Rotation of every node at these freedoms.
    pub(crate) fn turns(&self, moved: &[f64], turns: &mut Turned) {
        turns.clear();
        turns.extend(
            moved
                .chunks_exact(SIX)
                .zip(&self.turned)
                .map(|(node, before)| rotation(DVec3::new(node[3], node[4], node[5])) * *before),
        );
    }

    /// Displacement of a node, mm.
    #[inline]
    pub(crate) fn shift(moved: &[f64], node: usize) -> DVec3 {
        DVec3::new(moved[SIX * node], moved[SIX * node + 1], moved[SIX * node + 2])
    }

    #[inline]
    fn seen(&self, element: usize, moved: &[f64], turns: &Turned) -> Seen {
        let Link { from, to, axes } = self.links[element];
        let rest = self.elements[element].length_mm;
        let (one, two) = (Self::shift(moved, from), Self::shift(moved, to));
        let by = two - one;
        let chord = rest * axes.x_axis + by;
        // (l² − l0²)/(l + l0) loses no digits where l − l0 would.
        let stretch = by.dot(2.0 * rest * axes.x_axis + by) / (chord.length() + rest);
        let ends = [turns[from] * axes, turns[to] * axes];
        Seen::new(rest, chord, stretch, [&ends[0], &ends[1]])
    }

    /// Deformation of an element seen from its own frame.
    pub(crate) fn deformation(&self, element: usize, moved: &[f64], turns: &Turned) -> Natural {
        self.seen(element, moved, turns).natural
    }

    /// Adds the internal forces at the displacements `moved` to `residual` and their derivative to
    /// `matrix`. With `convex` the part of the geometric stiffness that may be negative is left out.
    pub(crate) fn assemble(
        &self,
        moved: &[f64],
        turns: &Turned,
        residual: &mut [f64],
        matrix: &mut Blocks,
        convex: bool,
    ) {
        for (i, element) in self.elements.iter().enumerate() {
            if element.is_torn {
                continue;
            }
            let seen = self.seen(i, moved, turns);
            let local = element.respond(&seen.natural);
            let loads = seen.loads(&local.forces);
            let Link { from, to, .. } = self.links[i];
            for (freedom, force) in
                [SIX * from, SIX * from + 3, SIX * to, SIX * to + 3].into_iter().zip(loads.forces)
            {
                for (k, value) in (seen.frame * force).to_array().into_iter().enumerate() {
                    residual[freedom + k] += value;
                }
            }
            let is_elastic = element.is_elastic(&seen.natural);
            if let Some(kept) =
                matrix.kept(i).filter(|kept| is_elastic && kept.serves(&seen, convex, element))
            {
                let block = kept.block;
                matrix.add_element(i, &block);
                continue;
            }
            let block = seen.stiffness(&local, &loads, convex);
            matrix.add_element(i, &block);
            if is_elastic {
                matrix.keep(i, Kept { frame: seen.frame, natural: seen.natural, convex, block });
            }
        }
    }

    /// Makes the rotations of a step part of what came before.
    pub(crate) fn commit(&mut self, moved: &mut [f64], turns: &Turned) {
        self.turned.copy_from_slice(turns);
        for node in moved.chunks_exact_mut(SIX) {
            node[3..].fill(0.0);
        }
    }

    /// Takes `change` times `share` from the freedoms: displacements as they are, rotations as spins.
    pub(crate) fn step_back(moved: &mut [f64], change: &[f64], share: f64) {
        for (node, by) in moved.chunks_exact_mut(SIX).zip(change.chunks_exact(SIX)) {
            for k in 0..3 {
                node[k] -= share * by[k];
            }
            let spin = -share * DVec3::new(by[3], by[4], by[5]);
            if spin != DVec3::ZERO {
                let turn = DVec3::new(node[3], node[4], node[5]);
                let sum = rotation_vector(&(rotation(spin) * rotation(turn)));
                node[3..].copy_from_slice(&sum.to_array());
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::beam::{ChannelShape, PlasticLaw, Section};

    use crate::beam::Matrix;

    fn section(width_mm: f64, depth_mm: f64) -> Section {
        Section::new(&ChannelShape::rectangle(width_mm, depth_mm))
    }

    fn elastic() -> PlasticLaw {
        PlasticLaw { modulus_mpa: 800.0, yield_mpa: 1e9, kinematic_mpa: 1.0, break_strain: 1e9 }
    }

    fn energy(space: &Space, moved: &[f64]) -> f64 {
        let mut turns = Turned::new();
        space.turns(moved, &mut turns);
        (0..space.elements.len())
            .map(|i| space.elements[i].elastic_energy_mj(&space.deformation(i, moved, &turns)))
            .sum()
    }

    /// Two elements with a bend, far from where they were at rest.
    fn bent() -> (Space, Vec<f64>) {
        let places = vec![DVec2::new(0.0, 0.0), DVec2::new(5.0, 1.0), DVec2::new(8.0, 6.0)];
        let element = |length: f64| SpaceElement::new(length, section(6.0, 3.0), elastic(), 0.4);
        let lengths: Vec<f64> = places.windows(2).map(|pair| pair[0].distance(pair[1])).collect();
        let elements = vec![(0, 1, element(lengths[0])), (2, 1, element(lengths[1]))];
        let moved: Vec<f64> =
            (0..18).map(|i| ((i * i) as f64 * 0.37).sin() * if i % 6 < 3 { 0.8 } else { 0.35 }).collect();
        (Space::new(places, elements), moved)
    }

    #[test]
    fn forces_are_the_derivative_of_the_energy() {
        let (space, moved) = bent();
        let (mut turns, mut residual) = (Turned::new(), vec![0.0; 18]);
        space.turns(&moved, &mut turns);
        space.assemble(&moved, &turns, &mut residual, &mut space.matrix(), false);
        let step = 1e-5;
        for i in 0..18 {
            let at = |by: f64| {
                let mut moved = moved.clone();
                let mut change = vec![0.0; 18];
                change[i] = -by;
                Space::step_back(&mut moved, &change, 1.0);
                energy(&space, &moved)
            };
            let slope = (at(step) - at(-step)) / (2.0 * step);
            assert!((residual[i] - slope).abs() < 1e-5 * (1.0 + slope.abs()), "{i}: {} {slope}", residual[i]);
        }
    }

    #[test]
    fn the_tangent_is_the_derivative_of_the_forces_where_the_part_is_hardly_strained() {
        // Far turned but little strained: what the tangent leaves out is small there.
        let (mut space, mut moved) = bent();
        let all = rotation(DVec3::new(0.4, -0.7, 0.5));
        for node in 0..3 {
            let place = space.places[node].extend(0.0);
            let shift = all * place - place;
            for k in 0..3 {
                moved[6 * node + k] = shift[k] + 1e-3 * moved[6 * node + k];
                moved[6 * node + 3 + k] *= 1e-3;
            }
        }
        space.turned = vec![all; 3];
        let forces = |moved: &[f64]| {
            let (mut turns, mut residual) = (Turned::new(), vec![0.0; 18]);
            space.turns(moved, &mut turns);
            space.assemble(moved, &turns, &mut residual, &mut space.matrix(), false);
            residual
        };
        let mut turns = Turned::new();
        space.turns(&moved, &mut turns);
        for i in 0..18 {
            let step = 1e-6;
            let at = |by: f64| {
                let mut moved = moved.clone();
                let mut change = vec![0.0; 18];
                change[i] = -by;
                Space::step_back(&mut moved, &change, 1.0);
                forces(&moved)
            };
            let (plus, minus) = (at(step), at(-step));
            // One column of the matrix, by multiplying with a unit vector through its own factors.
            let mut matrix = space.matrix();
            space.assemble(&moved, &turns, &mut [0.0; 18], &mut matrix, false);
            (0..18).for_each(|k| matrix.add_diagonal(k, 1e6));
            matrix.factor().unwrap();
            let mut column: Vec<f64> = (0..18).map(|k| (plus[k] - minus[k]) / (2.0 * step)).collect();
            column[i] += 1e6;
            matrix.solve(&mut column);
            for (k, value) in column.iter().enumerate() {
                let wanted = if k == i { 1.0 } else { 0.0 };
                assert!((value - wanted).abs() < 2e-5, "{i} {k}: {value}");
            }
        }
    }

    #[test]
    fn a_turned_part_has_no_forces() {
        let (mut space, _) = bent();
        let all = rotation(DVec3::new(0.4, -1.7, 0.5));
        let mut moved = vec![0.0; 18];
        for node in 0..3 {
            let place = space.places[node].extend(0.0);
            moved[6 * node..6 * node + 3].copy_from_slice(&(all * place - place).to_array());
        }
        space.turned = vec![all; 3];
        let (mut turns, mut residual) = (Turned::new(), vec![0.0; 18]);
        space.turns(&moved, &mut turns);
        space.assemble(&moved, &turns, &mut residual, &mut space.matrix(), false);
        assert!(residual.iter().all(|force| force.abs() < 1e-9), "{residual:?}");
    }
}
