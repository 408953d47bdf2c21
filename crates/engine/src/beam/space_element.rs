//! A co-rotational beam element in space with elastic-plastic fibre sections.
//!
//! An element frame follows the chord and the mean of both nodes' lateral axes; what the nodes are turned
//! by against it is small, whatever the part does as a whole. Frame and forces after J.-M. Battini and
//! C. Pacoste, Computer Methods in Applied Mechanics and Engineering 191 (2002) 1755-1789 (from memory;
//! the tests take the derivatives numerically). The tangent leaves out the second derivative of the local
//! rotation vectors and is made symmetric; both vanish as the elements get short.

use glam::{DMat3, DVec3};

use crate::beam::section::{FIBRES, GAUSS_4, PlasticLaw, Section};
use crate::beam::{GAUSS_2, sinc};

/// Columns of fibres across the width.
const COLUMNS: usize = 4;

/// Plastic strains of an element that has yielded.
#[derive(Clone, Debug)]
struct Plastic {
    /// Of every fibre of the two sections.
    fibres: [[[f64; COLUMNS]; FIBRES]; 2],
    /// Twist a mm.
    twist: f64,
}

/// One element: its geometry, and what it has suffered.
#[derive(Clone, Debug)]
pub(crate) struct SpaceElement {
    /// Undeformed length, mm.
    pub(crate) length_mm: f64,
    pub(crate) section: Section,
    pub(crate) law: PlasticLaw,
    /// Shear modulus, MPa.
    shear_mpa: f64,
    /// Strain that its length is kept from: elastic strain when nothing has moved.
    pub(crate) kept_strain: f64,
    plastic: Option<Box<Plastic>>,
    /// Torn apart: it carries nothing any more.
    pub(crate) is_torn: bool,
}

/// Deformation seen from the element frame: stretch mm, twist rad, and the rotations of both ends about
/// the lateral (y) and the vertical (z) axis, rad.
pub(crate) type Natural = [f64; 6];

/// Names of the entries of a [`Natural`].
pub(crate) const STRETCH: usize = 0;
const TWIST: usize = 1;
const Y_1: usize = 2;
const Y_2: usize = 3;
const Z_1: usize = 4;
const Z_2: usize = 5;

/// Forces that work on a [`Natural`], and their derivatives.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct NaturalForces {
    pub(crate) forces: Natural,
    pub(crate) stiffness: [[f64; 6]; 6],
}

/// What a fibre section answers: force, moments about y and z, and their derivatives.
#[derive(Clone, Copy, Debug, Default)]
struct Answer {
    force: [f64; 3],
    stiffness: [[f64; 3]; 3],
}

impl SpaceElement {
    pub(crate) fn new(length_mm: f64, section: Section, law: PlasticLaw, poisson: f64) -> Self {
        let shear_mpa = law.modulus_mpa / (2.0 * (1.0 + poisson));
        // The fibres bend about the vertical axis exactly as the whole section does: what has yielded must
        // follow on from what has not.
        let mut section = section;
        let of_layers: f64 = section
            .area_mm2
            .iter()
            .zip(&section.breadth_mm)
            .map(|(area, breadth)| area * breadth * breadth)
            .sum();
        let share = (12.0 * section.lateral_mm4 / of_layers).sqrt();
        section.breadth_mm.iter_mut().for_each(|breadth| *breadth *= share);
        Self { length_mm, section, law, shear_mpa, kept_strain: 0.0, plastic: None, is_torn: false }
    }

    /// The law of the twist a mm: torque in place of stress, capped at the full plastic torque.
    fn torsion(&self) -> PlasticLaw {
        let modulus_mpa = self.shear_mpa * self.section.torsion_mm4;
        let ratio = self.law.kinematic_mpa / (self.law.modulus_mpa + self.law.kinematic_mpa);
        PlasticLaw {
            modulus_mpa,
            yield_mpa: self.law.yield_mpa / 3.0_f64.sqrt() * self.section.torsion_plastic_mm3,
            kinematic_mpa: modulus_mpa * ratio / (1.0 - ratio),
            break_strain: f64::INFINITY,
        }
    }

    /// Mean strain and the two curvatures at Gauss section `g`.
    #[inline]
    fn strains(&self, g: usize, d: &Natural) -> [f64; 3] {
        let (row_1, row_2) = self.rows(g);
        [
            d[STRETCH] / self.length_mm + self.kept_strain,
            row_1 * d[Y_1] + row_2 * d[Y_2],
            row_1 * d[Z_1] + row_2 * d[Z_2],
        ]
    }

    #[inline]
    fn rows(&self, g: usize) -> (f64, f64) {
        let xi = GAUSS_2[g];
        ((6.0 * xi - 4.0) / self.length_mm, (6.0 * xi - 2.0) / self.length_mm)
    }

    /// Half the greatest width, mm.
    fn half_width_mm(&self) -> f64 {
        0.5 * self.section.breadth_mm.iter().copied().fold(0.0, f64::max)
    }

    /// Whether the closed elastic form holds at this deformation.
    #[inline]
    pub(crate) fn is_elastic(&self, d: &Natural) -> bool {
        if self.plastic.is_some() {
            return false;
        }
        let bend = |a: f64, b: f64| (4.0 * a + 2.0 * b).abs().max((2.0 * a + 4.0 * b).abs()) / self.length_mm;
        let strain = (d[STRETCH] / self.length_mm + self.kept_strain).abs()
            + bend(d[Y_1], d[Y_2]) * self.section.reach_mm
            + bend(d[Z_1], d[Z_2]) * self.half_width_mm();
        let torsion = self.torsion();
        let torque = torsion.modulus_mpa * (d[TWIST] / self.length_mm).abs();
        strain * self.law.modulus_mpa <= self.law.yield_mpa
            && strain <= self.law.break_strain
            && torque <= torsion.yield_mpa
    }

    /// Forces and stiffness at a deformation seen from the element frame.
    #[inline]
    pub(crate) fn respond(&self, d: &Natural) -> NaturalForces {
        if self.is_torn {
            return NaturalForces::default();
        }
        let length = self.length_mm;
        let mut out = NaturalForces::default();
        if self.is_elastic(d) {
            let axial = self.law.modulus_mpa * self.section.total_mm2 / length;
            let twist = self.shear_mpa * self.section.torsion_mm4 / length;
            out.forces[STRETCH] = axial * (d[STRETCH] + self.kept_strain * length);
            out.forces[TWIST] = twist * d[TWIST];
            out.stiffness[STRETCH][STRETCH] = axial;
            out.stiffness[TWIST][TWIST] = twist;
            for (one, two, inertia) in
                [(Y_1, Y_2, self.section.inertia_mm4), (Z_1, Z_2, self.section.lateral_mm4)]
            {
                let bend = self.law.modulus_mpa * inertia / length;
                out.forces[one] = bend * (4.0 * d[one] + 2.0 * d[two]);
                out.forces[two] = bend * (2.0 * d[one] + 4.0 * d[two]);
                out.stiffness[one][one] = 4.0 * bend;
                out.stiffness[two][two] = 4.0 * bend;
                out.stiffness[one][two] = 2.0 * bend;
                out.stiffness[two][one] = 2.0 * bend;
            }
            return out;
        }
        let twist_before = self.plastic.as_ref().map_or(0.0, |plastic| plastic.twist);
        let (torque, tangent, _) = self.torsion().stress(d[TWIST] / length, twist_before);
        out.forces[TWIST] = torque;
        out.stiffness[TWIST][TWIST] = tangent / length;
        for g in 0..2 {
            let answer = self.section_answer(g, d);
            let (row_1, row_2) = self.rows(g);
            let weight = 0.5 * length;
            // Each entry of the deformation moves one of mean strain, y and z curvature.
            let entries = [
                (STRETCH, 0, 1.0 / length),
                (Y_1, 1, row_1),
                (Y_2, 1, row_2),
                (Z_1, 2, row_1),
                (Z_2, 2, row_2),
            ];
            for (i, part, row) in entries {
                out.forces[i] += weight * row * answer.force[part];
                for (j, other, column) in entries {
                    out.stiffness[i][j] += weight * row * column * answer.stiffness[part][other];
                }
            }
        }
        out
    }

    /// Calls `visit` with section, layer, column, strain and area of every fibre.
    #[inline]
    fn fibres(&self, g: usize, d: &Natural, mut visit: impl FnMut(usize, usize, f64, f64, f64, f64)) {
        let [mean, about_y, about_z] = self.strains(g, d);
        for layer in 0..FIBRES {
            let z = self.section.height_mm[layer];
            for (column, (abscissa, weight)) in GAUSS_4.iter().enumerate() {
                let y = 0.5 * self.section.breadth_mm[layer] * abscissa;
                let area = 0.5 * weight * self.section.area_mm2[layer];
                visit(layer, column, mean + z * about_y - y * about_z, area, y, z);
            }
        }
    }

    fn section_answer(&self, g: usize, d: &Natural) -> Answer {
        let mut out = Answer::default();
        self.fibres(g, d, |layer, column, strain, area, y, z| {
            let before = self.plastic.as_ref().map_or(0.0, |plastic| plastic.fibres[g][layer][column]);
            let (stress, tangent, _) = self.law.stress(strain, before);
            let rows = [1.0, z, -y];
            for (i, row) in rows.iter().enumerate() {
                out.force[i] += stress * area * row;
                for (j, other) in rows.iter().enumerate() {
                    out.stiffness[i][j] += tangent * area * row * other;
                }
            }
        });
        out
    }

    /// Makes the plastic flow of this deformation permanent, and tears the element if a fibre is
    /// stretched beyond its break strain. Returns the work lost in it, mJ.
    pub(crate) fn accept(&mut self, d: &Natural) -> f64 {
        if self.is_torn || self.is_elastic(d) {
            return 0.0;
        }
        let mut plastic = self
            .plastic
            .take()
            .unwrap_or_else(|| Box::new(Plastic { fibres: [[[0.0; COLUMNS]; FIBRES]; 2], twist: 0.0 }));
        let (mut lost, mut tears) = (0.0, false);
        for (g, fibres) in plastic.fibres.iter_mut().enumerate() {
            self.fibres(g, d, |layer, column, strain, area, _, _| {
                let before = &mut fibres[layer][column];
                let now = self.law.stress(strain, *before).2;
                lost += self.law.flow_work(*before, now) * area * 0.5 * self.length_mm;
                *before = now;
                tears |= strain > self.law.break_strain;
            });
        }
        let torsion = self.torsion();
        let twist = torsion.stress(d[TWIST] / self.length_mm, plastic.twist).2;
        lost += torsion.flow_work(plastic.twist, twist) * self.length_mm;
        plastic.twist = twist;
        self.plastic = Some(plastic);
        if tears {
            lost += self.elastic_energy_mj(d);
            self.is_torn = true;
        }
        lost
    }

    /// Energy stored elastically at a deformation, mJ.
    pub(crate) fn elastic_energy_mj(&self, d: &Natural) -> f64 {
        if self.is_torn {
            return 0.0;
        }
        if self.is_elastic(d) {
            let mut stretched = *d;
            stretched[STRETCH] += self.kept_strain * self.length_mm;
            let forces = self.respond(d).forces;
            return 0.5 * stretched.iter().zip(&forces).map(|(d, f)| d * f).sum::<f64>();
        }
        let mut energy = 0.0;
        for g in 0..2 {
            self.fibres(g, d, |layer, column, strain, area, _, _| {
                let before = self.plastic.as_ref().map_or(0.0, |plastic| plastic.fibres[g][layer][column]);
                let (stress, _, _) = self.law.stress(strain, before);
                energy += 0.5 * stress * stress / self.law.modulus_mpa * area * 0.5 * self.length_mm;
            });
        }
        let torsion = self.torsion();
        let before = self.plastic.as_ref().map_or(0.0, |plastic| plastic.twist);
        let (torque, _, _) = torsion.stress(d[TWIST] / self.length_mm, before);
        energy + 0.5 * torque * torque / torsion.modulus_mpa * self.length_mm
    }

    /// The deformation that remains when every force is taken away and the plastic strains stay.
    pub(crate) fn residual(&self, from: &Natural) -> Natural {
        if self.plastic.is_none() || self.is_torn {
            return [-self.kept_strain * self.length_mm, 0.0, 0.0, 0.0, 0.0, 0.0];
        }
        let axial = self.law.modulus_mpa * self.section.total_mm2 / self.length_mm;
        let twist = self.shear_mpa * self.section.torsion_mm4 / self.length_mm;
        let mut d = *from;
        // The elastic matrix is the stiffest possible, so these steps approach from one side.
        for _ in 0..300 {
            let f = self.respond(&d).forces;
            let bend = |inertia: f64| 12.0 * self.law.modulus_mpa * inertia / self.length_mm;
            let (y, z) = (bend(self.section.inertia_mm4), bend(self.section.lateral_mm4));
            let step = [
                f[STRETCH] / axial,
                f[TWIST] / twist,
                (4.0 * f[Y_1] - 2.0 * f[Y_2]) / y,
                (4.0 * f[Y_2] - 2.0 * f[Y_1]) / y,
                (4.0 * f[Z_1] - 2.0 * f[Z_2]) / z,
                (4.0 * f[Z_2] - 2.0 * f[Z_1]) / z,
            ];
            d.iter_mut().zip(step).for_each(|(d, s)| *d -= s);
            if step.iter().all(|s| s.abs() < 1e-12) {
                break;
            }
        }
        d
    }
}

/// A matrix of the twelve freedoms of an element.
pub(crate) type Block = [[f64; 12]; 12];

/// Forces of an element in its own frame, and what its stiffness needs besides.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Loads {
    /// Force and moment on the first end, force and moment on the second.
    pub(crate) forces: [DVec3; 4],
    shear: DVec3,
    /// Spin of the frame by each of the four.
    spin: [DMat3; 4],
    /// Change of the local rotation vectors by the spins against the frame.
    maps: [DMat3; 2],
}

/// An element seen from its own frame.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Seen {
    pub(crate) natural: Natural,
    /// Axes of the frame: along the chord, lateral, vertical.
    pub(crate) frame: DMat3,
    /// Length of the chord now, mm.
    length: f64,
    /// Local rotation vector of both ends.
    turns: [DVec3; 2],
    /// Lateral axes of both ends in the frame, and their sum halved.
    lateral: [DVec3; 3],
}

impl Seen {
    /// From where the ends are and their axes (along, lateral, vertical).
    #[inline]
    pub(crate) fn new(rest_mm: f64, chord: DVec3, stretch_mm: f64, axes: [&DMat3; 2]) -> Self {
        let length = rest_mm + stretch_mm;
        let along = chord / length;
        let mean = 0.5 * (axes[0].y_axis + axes[1].y_axis);
        let vertical = along.cross(mean).normalize_or(axes[0].z_axis);
        let lateral = vertical.cross(along);
        let frame = DMat3::from_cols(along, lateral, vertical);
        let back = frame.transpose();
        let turns = axes.map(|axes| rotation_vector(&(back * *axes)));
        let [one, two] = turns;
        let natural = [stretch_mm, two.x - one.x, one.y, two.y, one.z, two.z];
        let lateral = [back * axes[0].y_axis, back * axes[1].y_axis, back * mean];
        Self { natural, frame, length, turns, lateral }
    }

    /// Columns of the spin of the frame (its own axes) by the displacement of the first end; the second
    /// end's has the other sign. Then by the spins of both ends.
    #[inline]
    fn spin(&self) -> (DMat3, [DMat3; 2]) {
        let [one, two, mean] = self.lateral;
        let turn = mean.x / mean.y;
        let rows = DMat3::from_cols(
            DVec3::ZERO,
            DVec3::new(0.0, 0.0, -1.0 / self.length),
            DVec3::new(turn / self.length, 1.0 / self.length, 0.0),
        );
        let of_end = |end: DVec3| {
            DMat3::from_cols(
                DVec3::new(0.5 * end.y / mean.y, 0.0, 0.0),
                DVec3::new(-0.5 * end.x / mean.y, 0.0, 0.0),
                DVec3::ZERO,
            )
        };
        (rows, [of_end(one), of_end(two)])
    }

    /// Forces on the twelve freedoms (displacement and spin of both ends), in the element frame.
    #[inline]
    pub(crate) fn loads(&self, f: &Natural) -> Loads {
        let (by_shift, by_spin) = self.spin();
        let maps = self.turns.map(turn_map);
        let ends = [DVec3::new(-f[TWIST], f[Y_1], f[Z_1]), DVec3::new(f[TWIST], f[Y_2], f[Z_2])];
        let moments = [maps[0].transpose() * ends[0], maps[1].transpose() * ends[1]];
        let both = moments[0] + moments[1];
        let axial = DVec3::new(f[STRETCH], 0.0, 0.0);
        let shear = by_shift.transpose() * both;
        let forces = [
            -axial - shear,
            moments[0] - by_spin[0].transpose() * both,
            axial + shear,
            moments[1] - by_spin[1].transpose() * both,
        ];
        Loads { forces, shear, spin: [by_shift, by_spin[0], -by_shift, by_spin[1]], maps }
    }

    /// Derivative of the loads by the twelve freedoms, in the plan's axes, lower triangle. With `convex`
    /// what may be negative is left out.
    #[inline]
    pub(crate) fn stiffness(&self, local: &NaturalForces, loads: &Loads, convex: bool) -> Block {
        let Loads { forces, shear, spin: blocks, maps } = loads;
        // Rows of the natural deformation over the twelve freedoms, in the element frame.
        let mut rows = [[0.0; 12]; 6];
        rows[STRETCH][0] = -1.0;
        rows[STRETCH][6] = 1.0;
        let mut of_ends = [[[0.0; 12]; 3]; 2];
        for (end, rows) in of_ends.iter_mut().enumerate() {
            for (b, block) in blocks.iter().enumerate() {
                let mut seen = -*block;
                if b == 1 + 2 * end {
                    seen += DMat3::IDENTITY;
                }
                let seen = maps[end] * seen;
                for column in 0..3 {
                    let values = seen.col(column).to_array();
                    for (row, value) in rows.iter_mut().zip(values) {
                        row[3 * b + column] = value;
                    }
                }
            }
        }
        for k in 0..12 {
            rows[TWIST][k] = of_ends[1][0][k] - of_ends[0][0][k];
            rows[Y_1][k] = of_ends[0][1][k];
            rows[Y_2][k] = of_ends[1][1][k];
            rows[Z_1][k] = of_ends[0][2][k];
            rows[Z_2][k] = of_ends[1][2][k];
        }
        let mut matrix = [[0.0; 12]; 12];
        // Natural stiffness times rows, then rows transposed times that; most entries are zero.
        for p in 0..6 {
            let mut scaled = [0.0; 12];
            for (row, &k) in rows.iter().zip(&local.stiffness[p]) {
                if k != 0.0 {
                    scaled.iter_mut().zip(row).for_each(|(s, r)| *s += k * r);
                }
            }
            for i in 0..12 {
                let row = rows[p][i];
                if row != 0.0 {
                    for j in 0..=i {
                        matrix[i][j] += row * scaled[j];
                    }
                }
            }
        }
        self.geometric(forces, local.forces[STRETCH], shear, blocks, convex, &mut matrix);
        self.turned(&matrix)
    }

    /// Adds the stiffness that comes from the turning of the frame under load.
    #[inline]
    fn geometric(
        &self,
        forces: &[DVec3; 4],
        axial: f64,
        shear: &DVec3,
        spin: &[DMat3; 4],
        convex: bool,
        matrix: &mut Block,
    ) {
        if convex {
            let pull = axial.max(0.0) / self.length;
            for axis in 1..3 {
                matrix[axis][axis] += pull;
                matrix[6 + axis][6 + axis] += pull;
                matrix[6 + axis][axis] -= pull;
            }
            return;
        }
        // −(force)× spin, and the change of the lever with the length; the symmetric part of both.
        for (row, force) in forces.iter().enumerate() {
            for (column, spin) in spin.iter().enumerate() {
                for k in 0..3 {
                    let by = -force.cross(spin.col(k));
                    for (i, value) in by.to_array().into_iter().enumerate() {
                        half(matrix, 3 * row + i, 3 * column + k, value);
                    }
                }
            }
        }
        let by_length = *shear / self.length;
        for (i, value) in by_length.to_array().into_iter().enumerate() {
            for (row, sign) in [(i, -1.0), (6 + i, 1.0)] {
                // The length grows with the second end's motion along the chord.
                half(matrix, row, 0, sign * value);
                half(matrix, row, 6, -sign * value);
            }
        }
    }

    /// From the element frame to the plan's axes.
    #[inline]
    fn turned(&self, local: &Block) -> Block {
        let frame = self.frame;
        let back = frame.transpose();
        let mut matrix = [[0.0; 12]; 12];
        for row in 0..4 {
            for column in 0..=row {
                let entry = |i: usize, j: usize| {
                    let (i, j) = (3 * row + i, 3 * column + j);
                    if i >= j { local[i][j] } else { local[j][i] }
                };
                let block = DMat3::from_cols(
                    DVec3::new(entry(0, 0), entry(1, 0), entry(2, 0)),
                    DVec3::new(entry(0, 1), entry(1, 1), entry(2, 1)),
                    DVec3::new(entry(0, 2), entry(1, 2), entry(2, 2)),
                );
                let block = frame * block * back;
                for j in 0..3 {
                    for (i, value) in block.col(j).to_array().into_iter().enumerate() {
                        matrix[3 * row + i][3 * column + j] = value;
                    }
                }
            }
        }
        matrix
    }
}

/// Adds a value to the symmetric part: half of it at its own place and half at the mirrored one.
#[inline]
fn half(matrix: &mut [[f64; 12]; 12], row: usize, column: usize, value: f64) {
    let (i, j) = (row.max(column), row.min(column));
    matrix[i][j] += if i == j { value } else { 0.5 * value };
}

/// The rotation vector of a rotation matrix.
#[inline]
pub(crate) fn rotation_vector(of: &DMat3) -> DVec3 {
    // Twice the sine of the angle, along the axis.
    let axis = DVec3::new(of.y_axis.z - of.z_axis.y, of.z_axis.x - of.x_axis.z, of.x_axis.y - of.y_axis.x);
    let sine = 0.5 * axis.length();
    let cosine = 0.5 * (of.x_axis.x + of.y_axis.y + of.z_axis.z - 1.0);
    if sine < 0.02 && cosine > 0.0 {
        // Arc sine over sine to the sixth power: the next term is below 1e-14 here.
        let square = sine * sine;
        return 0.5 * axis * (1.0 + square * (1.0 / 6.0 + square * (3.0 / 40.0 + square * (15.0 / 336.0))));
    }
    let (vector, angle) = glam::DQuat::from_mat3(of).to_axis_angle();
    let angle = if angle > std::f64::consts::PI { angle - std::f64::consts::TAU } else { angle };
    vector * angle
}

/// Change of a rotation vector by a small spin: the inverse of the tangent map of rotations.
#[inline]
fn turn_map(turn: DVec3) -> DMat3 {
    let skew = DMat3::from_cols(
        DVec3::new(0.0, turn.z, -turn.y),
        DVec3::new(-turn.z, 0.0, turn.x),
        DVec3::new(turn.y, -turn.x, 0.0),
    );
    let square = turn.length_squared();
    // (1 − (a/2)/tan(a/2))/a², by its series where a is small.
    let rest = if square < 1e-4 {
        1.0 / 12.0 + square / 720.0
    } else {
        let angle = square.sqrt();
        (1.0 - 0.5 * angle / (0.5 * angle).tan()) / square
    };
    DMat3::IDENTITY - 0.5 * skew + rest * (skew * skew)
}

/// The rotation matrix of a rotation vector.
#[inline]
pub(crate) fn rotation(vector: DVec3) -> DMat3 {
    let square = vector.length_squared();
    let (first, second) = sinc(square);
    let skew = DMat3::from_cols(
        DVec3::new(0.0, vector.z, -vector.y),
        DVec3::new(-vector.z, 0.0, vector.x),
        DVec3::new(vector.y, -vector.x, 0.0),
    );
    DMat3::IDENTITY + first * skew + second * (skew * skew)
}
