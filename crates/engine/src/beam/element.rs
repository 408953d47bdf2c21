//! A co-rotational beam element in the x–z plane with elastic-plastic fibre sections.
//!
//! The chord carries the large rotation; the deformation seen from the chord is small in rotation
//! and arbitrary in stretch: M. A. Crisfield, Non-linear Finite Element Analysis of Solids and
//! Structures, vol. 1, ch. 7 (from memory). Two Gauss sections along the length.

use crate::beam::GAUSS_2;
use crate::beam::section::{FIBRES, PlasticLaw, Section};

/// One element: its geometry, and what it has suffered.
#[derive(Clone, Debug)]
pub(crate) struct PlaneElement {
    /// Undeformed length, mm.
    pub(crate) length_mm: f64,
    pub(crate) section: Section,
    pub(crate) law: PlasticLaw,
    /// Strain that its length is kept from: elastic strain when nothing has moved.
    pub(crate) kept_strain: f64,
    /// Plastic strain of every fibre of the two sections, as of the last accepted step.
    plastic: [[f64; FIBRES]; 2],
    /// No fibre has ever yielded: the closed elastic form is exact.
    is_virgin: bool,
    /// Torn apart: it carries nothing any more.
    pub(crate) is_torn: bool,
}

/// Forces that work on (stretch, end rotation 1, end rotation 2) seen from the chord, and their
/// derivatives: N, N mm, N mm.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Local {
    pub(crate) forces: [f64; 3],
    pub(crate) stiffness: [[f64; 3]; 3],
}

impl PlaneElement {
    pub(crate) fn new(length_mm: f64, section: Section, law: PlasticLaw) -> Self {
        Self {
            length_mm,
            section,
            law,
            kept_strain: 0.0,
            plastic: [[0.0; FIBRES]; 2],
            is_virgin: true,
            is_torn: false,
        }
    }

    /// Curvature at Gauss section `g` per unit of the two end rotations, 1/mm.
    #[inline]
    fn curvature_rows(&self, g: usize) -> (f64, f64) {
        let xi = GAUSS_2[g];
        ((6.0 * xi - 4.0) / self.length_mm, (6.0 * xi - 2.0) / self.length_mm)
    }

    /// Whether the closed elastic form holds at this deformation.
    #[inline]
    fn is_elastic(&self, stretch: f64, turn_1: f64, turn_2: f64) -> bool {
        // The curvature is linear along the element: its ends bound it.
        let curvature =
            (4.0 * turn_1 + 2.0 * turn_2).abs().max((2.0 * turn_1 + 4.0 * turn_2).abs()) / self.length_mm;
        let strain = stretch.abs() / self.length_mm + curvature * self.section.reach_mm;
        let is_sound = strain * self.law.modulus_mpa <= self.law.yield_mpa && strain <= self.law.break_strain;
        self.is_virgin && is_sound
    }

    /// The deformation with the stretch that the mould has kept the element from giving up.
    #[inline]
    fn held(&self, [stretch, turn_1, turn_2]: [f64; 3]) -> [f64; 3] {
        [stretch + self.kept_strain * self.length_mm, turn_1, turn_2]
    }

    /// Forces and stiffness at a deformation seen from the chord.
    #[inline]
    pub(crate) fn respond(&self, deformation: [f64; 3]) -> Local {
        if self.is_torn {
            return Local::default();
        }
        let [stretch, turn_1, turn_2] = self.held(deformation);
        let length = self.length_mm;
        if self.is_elastic(stretch, turn_1, turn_2) {
            let axial = self.law.modulus_mpa * self.section.total_mm2 / length;
            let bend = self.law.modulus_mpa * self.section.inertia_mm4 / length;
            return Local {
                forces: [
                    axial * stretch,
                    bend * (4.0 * turn_1 + 2.0 * turn_2),
                    bend * (2.0 * turn_1 + 4.0 * turn_2),
                ],
                stiffness: [[axial, 0.0, 0.0], [0.0, 4.0 * bend, 2.0 * bend], [0.0, 2.0 * bend, 4.0 * bend]],
            };
        }
        let mut local = Local::default();
        for g in 0..2 {
            let (row_1, row_2) = self.curvature_rows(g);
            let mean = stretch / length;
            let curvature = row_1 * turn_1 + row_2 * turn_2;
            let (mut force, mut moment) = (0.0, 0.0);
            let (mut k_nn, mut k_nm, mut k_mm) = (0.0, 0.0, 0.0);
            for f in 0..FIBRES {
                let (y, area) = (self.section.height_mm[f], self.section.area_mm2[f]);
                let (stress, tangent, _) = self.law.stress(mean - y * curvature, self.plastic[g][f]);
                force += stress * area;
                moment -= stress * area * y;
                k_nn += tangent * area;
                k_nm -= tangent * area * y;
                k_mm += tangent * area * y * y;
            }
            let weight = 0.5 * length;
            let axial_row = 1.0 / length;
            local.forces[0] += weight * axial_row * force;
            local.forces[1] += weight * row_1 * moment;
            local.forces[2] += weight * row_2 * moment;
            local.stiffness[0][0] += weight * axial_row * axial_row * k_nn;
            local.stiffness[0][1] += weight * axial_row * row_1 * k_nm;
            local.stiffness[0][2] += weight * axial_row * row_2 * k_nm;
            local.stiffness[1][1] += weight * row_1 * row_1 * k_mm;
            local.stiffness[1][2] += weight * row_1 * row_2 * k_mm;
            local.stiffness[2][2] += weight * row_2 * row_2 * k_mm;
        }
        local.stiffness[1][0] = local.stiffness[0][1];
        local.stiffness[2][0] = local.stiffness[0][2];
        local.stiffness[2][1] = local.stiffness[1][2];
        local
    }

    /// Makes the plastic flow of this deformation permanent, and tears the element if a fibre is
    /// stretched beyond its break strain. Returns the work lost in it, mJ: flow, and what a torn
    /// element had stored.
    pub(crate) fn accept(&mut self, deformation: [f64; 3]) -> f64 {
        let [stretch, turn_1, turn_2] = self.held(deformation);
        if self.is_torn || self.is_elastic(stretch, turn_1, turn_2) {
            return 0.0;
        }
        self.is_virgin = false;
        let mean = stretch / self.length_mm;
        let mut lost = 0.0;
        let mut tears = false;
        for g in 0..2 {
            let (row_1, row_2) = self.curvature_rows(g);
            let curvature = row_1 * turn_1 + row_2 * turn_2;
            for f in 0..FIBRES {
                let strain = mean - self.section.height_mm[f] * curvature;
                let plastic = self.law.stress(strain, self.plastic[g][f]).2;
                let volume = self.section.area_mm2[f] * 0.5 * self.length_mm;
                lost += self.law.flow_work(self.plastic[g][f], plastic) * volume;
                self.plastic[g][f] = plastic;
                tears |= strain > self.law.break_strain;
            }
        }
        if tears {
            lost += self.elastic_energy_mj(deformation);
            self.is_torn = true;
        }
        lost
    }

    /// Energy stored elastically at a deformation, mJ.
    pub(crate) fn elastic_energy_mj(&self, deformation: [f64; 3]) -> f64 {
        let [stretch, turn_1, turn_2] = self.held(deformation);
        if self.is_torn {
            return 0.0;
        }
        if self.is_elastic(stretch, turn_1, turn_2) {
            let local = self.respond(deformation);
            return 0.5
                * [stretch, turn_1, turn_2].iter().zip(&local.forces).map(|(d, f)| d * f).sum::<f64>();
        }
        let mut energy = 0.0;
        for g in 0..2 {
            let (row_1, row_2) = self.curvature_rows(g);
            let curvature = row_1 * turn_1 + row_2 * turn_2;
            for f in 0..FIBRES {
                let strain = stretch / self.length_mm - self.section.height_mm[f] * curvature;
                let (stress, _, _) = self.law.stress(strain, self.plastic[g][f]);
                let volume = self.section.area_mm2[f] * 0.5 * self.length_mm;
                energy += 0.5 * stress * stress / self.law.modulus_mpa * volume;
            }
        }
        energy
    }

    /// The deformation that remains when every force is taken away and the plastic strains stay:
    /// zero for a virgin element. Unloading may yield backwards; that is followed.
    pub(crate) fn residual(&self, from: [f64; 3]) -> [f64; 3] {
        if self.is_virgin || self.is_torn {
            return [-self.kept_strain * self.length_mm, 0.0, 0.0];
        }
        let axial = self.law.modulus_mpa * self.section.total_mm2 / self.length_mm;
        let bend = self.law.modulus_mpa * self.section.inertia_mm4 / self.length_mm;
        let mut deformation = from;
        // The elastic matrix is the stiffest possible, so these steps approach from one side.
        for _ in 0..200 {
            let [n, m_1, m_2] = self.respond(deformation).forces;
            let step =
                [n / axial, (4.0 * m_1 - 2.0 * m_2) / (12.0 * bend), (4.0 * m_2 - 2.0 * m_1) / (12.0 * bend)];
            for (d, s) in deformation.iter_mut().zip(step) {
                *d -= s;
            }
            if step.iter().all(|s| s.abs() < 1e-13) {
                break;
            }
        }
        deformation
    }
}
