//! A chain of plane elements: nodes in a row along x, three freedoms each (u, w, rotation).

use crate::beam::band::Band;
use crate::beam::element::PlaneElement;

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
    /// Freedoms of the whole chain.
    pub(crate) fn size(&self) -> usize {
        DOF * self.along_mm.len()
    }

    /// Sine and cosine of every node's rotation.
    pub(crate) fn turns(moved: &[f64], turns: &mut Vec<(f64, f64)>) {
        turns.clear();
        turns.extend(moved.chunks_exact(DOF).map(|node| node[2].sin_cos()));
    }

    #[inline]
    fn chord(&self, i: usize, moved: &[f64], turn_1: (f64, f64), turn_2: (f64, f64)) -> Chord {
        let d = &moved[DOF * i..DOF * (i + 2)];
        let across = self.along_mm[i + 1] - self.along_mm[i] + d[3] - d[0];
        let up = d[4] - d[1];
        let length = across.hypot(up);
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

    /// Adds the internal forces at the displacements `moved` to `residual` and their derivative to
    /// `matrix`. With `convex` the part of the geometric stiffness that may be negative is left out.
    pub(crate) fn assemble(
        &self,
        moved: &[f64],
        turns: &[(f64, f64)],
        residual: &mut [f64],
        matrix: &mut Band,
        convex: bool,
    ) {
        for (i, element) in self.elements.iter().enumerate() {
            if element.is_torn {
                continue;
            }
            let chord = self.chord(i, moved, turns[i], turns[i + 1]);
            let Chord { length, cos: c, sin: s, deformation } = chord;
            let local = element.respond(deformation);
            let [force, moment_1, moment_2] = local.forces;
            let r = [-c, -s, 0.0, c, s, 0.0];
            let z = [s, -c, 0.0, -s, c, 0.0];
            let mut rows = [r, [0.0; 6], [0.0; 6]];
            for k in 0..6 {
                rows[1][k] = -z[k] / length;
                rows[2][k] = -z[k] / length;
            }
            rows[1][2] += 1.0;
            rows[2][5] += 1.0;
            let out = &mut residual[DOF * i..DOF * (i + 2)];
            for k in 0..6 {
                out[k] += force * rows[0][k] + moment_1 * rows[1][k] + moment_2 * rows[2][k];
            }
            let pull = if convex { force.max(0.0) } else { force } / length;
            let twist = if convex { 0.0 } else { (moment_1 + moment_2) / (length * length) };
            let mut block = [[0.0; 6]; 6];
            for a in 0..6 {
                let mut scaled = [0.0; 3];
                for (q, value) in scaled.iter_mut().enumerate() {
                    *value = (0..3).map(|p| rows[p][a] * local.stiffness[p][q]).sum();
                }
                for b in 0..=a {
                    block[a][b] = scaled[0] * rows[0][b]
                        + scaled[1] * rows[1][b]
                        + scaled[2] * rows[2][b]
                        + pull * z[a] * z[b]
                        + twist * (r[a] * z[b] + z[a] * r[b]);
                }
            }
            matrix.add_block(DOF * i, &block);
        }
    }

    /// The shape that remains when every hold is gone and the plastic strains stay: along and out of
    /// flat of every node, mm, with the first node at the origin and the first chord along x.
    pub(crate) fn released_shape(&self, moved: &[f64]) -> Vec<(f64, f64)> {
        let mut shape = vec![(0.0, 0.0)];
        let (mut x, mut z, mut rotation) = (0.0, 0.0, 0.0);
        for (i, element) in self.elements.iter().enumerate() {
            let [stretch, turn_1, turn_2] = element.residual(self.deformation(i, moved));
            let chord: f64 = rotation - turn_1;
            let length = element.length_mm + stretch;
            x += length * chord.cos();
            z += length * chord.sin();
            rotation = chord + turn_2;
            shape.push((x, z));
        }
        shape
    }
}
