//! Fibre sections: the channel's cross-section cut into layers through the depth.

mod layers;
mod profile;
#[cfg(test)]
mod tests;
mod torsion;

use keepside_model::Material;

use layers::{GAUSS_8, Slice, four_layers, halving_height_mm, slices};
use torsion::Torsion;

pub(crate) use profile::{ChannelShape, WallContact};

/// Fibres through the depth of a section.
pub(crate) const FIBRES: usize = 8;

/// Gauss–Legendre abscissae and weights on −1..1, four points (Abramowitz & Stegun, table 25.4; from
/// memory, checked by the unit tests below).
pub(super) const GAUSS_4: [(f64, f64); 4] = [
    (-0.861_136_311_594_052_6, 0.347_854_845_137_453_85),
    (-0.339_981_043_584_856_26, 0.652_145_154_862_546_1),
    (0.339_981_043_584_856_26, 0.652_145_154_862_546_1),
    (0.861_136_311_594_052_6, 0.347_854_845_137_453_85),
];

/// Elastic-plastic law of a fibre: linear kinematic hardening.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct PlasticLaw {
    /// Modulus, MPa.
    pub(crate) modulus_mpa: f64,
    /// Yield stress, MPa.
    pub(crate) yield_mpa: f64,
    /// Kinematic hardening modulus, MPa: the back stress is this times the plastic strain.
    pub(crate) kinematic_mpa: f64,
    /// Strain at which a fibre tears.
    pub(crate) break_strain: f64,
}

impl PlasticLaw {
    /// The law of a material at ejection temperature. After yield the slope is `hardening_ratio`
    /// times the modulus.
    pub(crate) fn new(material: &Material) -> Self {
        let ratio = material.hardening_ratio;
        Self {
            modulus_mpa: material.modulus_hot_mpa,
            yield_mpa: material.yield_hot_mpa,
            kinematic_mpa: material.modulus_hot_mpa * ratio / (1.0 - ratio),
            break_strain: material.break_strain,
        }
    }

    /// Stress, tangent modulus and new plastic strain at `strain`, from the plastic strain before.
    #[inline]
    pub(crate) fn stress(&self, strain: f64, plastic: f64) -> (f64, f64, f64) {
        let trial = self.modulus_mpa * (strain - plastic);
        let over = trial - self.kinematic_mpa * plastic;
        let excess = over.abs() - self.yield_mpa;
        if excess <= 0.0 {
            return (trial, self.modulus_mpa, plastic);
        }
        let both = self.modulus_mpa + self.kinematic_mpa;
        let flow = excess / both * over.signum();
        let tangent = self.modulus_mpa * self.kinematic_mpa / both;
        (trial - self.modulus_mpa * flow, tangent, plastic + flow)
    }
}

impl PlasticLaw {
    /// Work per volume lost in flowing from one plastic strain to another, mJ/mm³, back stress
    /// included: exact, since the stress stays on the yield line while a fibre flows.
    #[inline]
    pub(crate) fn flow_work(&self, from: f64, to: f64) -> f64 {
        self.yield_mpa * (to - from).abs() + 0.5 * self.kinematic_mpa * (to * to - from * from)
    }
}

/// A section cut into fibres, heights measured from its centroid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Section {
    /// Height of each fibre above the centroid, mm.
    pub(crate) height_mm: [f64; FIBRES],
    /// Area of each fibre, mm².
    pub(crate) area_mm2: [f64; FIBRES],
    /// Area, mm².
    pub(crate) total_mm2: f64,
    /// Second moment about the centroid, mm⁴.
    pub(crate) inertia_mm4: f64,
    /// Distance of the farthest point of the section from the centroid, mm.
    pub(crate) reach_mm: f64,
    /// Width of the section at each fibre, mm.
    pub(crate) breadth_mm: [f64; FIBRES],
    /// Second moment about the vertical axis, for bending in the parting plane, mm⁴.
    pub(crate) lateral_mm4: f64,
    /// Torsion constant, mm⁴.
    pub(crate) torsion_mm4: f64,
    /// Full plastic torque over the shear yield stress, mm³.
    pub(crate) torsion_plastic_mm3: f64,
    /// Height of the centroid over the fixed half's floor, mm.
    pub(crate) centroid_mm: f64,
}

/// The sections of one part: equal cross-sections are cut once.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sections {
    cut: Vec<(ChannelShape, Section)>,
}

impl Sections {
    /// How many of the last sections are looked through: as many as meet in a junction, and more.
    const LOOKED_THROUGH: usize = 16;

    /// The section of a shape.
    pub(crate) fn of(&mut self, shape: &ChannelShape) -> Section {
        let latest = self.cut.iter().rev().take(Self::LOOKED_THROUGH);
        if let Some((_, section)) = latest.into_iter().find(|(known, _)| known == shape) {
            return *section;
        }
        let section = Section::new(shape);
        self.cut.push((*shape, section));
        section
    }
}

impl Section {
    /// Cuts a channel's cross-section into fibres.
    ///
    /// The section is halved at the height that halves its area, and each block stands in four layers
    /// that have all its moments of area up to the seventh. So area, centroid, second moment and full
    /// plastic moment are exact, whatever the outline.
    pub(crate) fn new(shape: &ChannelShape) -> Self {
        let flank = shape.flank();
        let (low_mm, high_mm) = shape.range_mm();
        let halving_mm = halving_height_mm(shape, &flank);
        let below = slices(&flank, low_mm, halving_mm, &GAUSS_8);
        let above = slices(&flank, halving_mm, high_mm, &GAUSS_8);
        let mut layers = [(0.0, 0.0); FIBRES];
        layers[..4].copy_from_slice(&four_layers(&below, low_mm, halving_mm));
        layers[4..].copy_from_slice(&four_layers(&above, halving_mm, high_mm));

        let breadth_mm = layers.map(|(height_mm, _)| 2.0 * profile::half_width(&flank, height_mm).0);
        let area_mm2 = layers.map(|(_, area)| area);
        let total_mm2: f64 = area_mm2.iter().sum();
        let centroid_mm = layers.iter().map(|(y, a)| y * a).sum::<f64>() / total_mm2;
        let height_mm = layers.map(|(y, _)| y - centroid_mm);
        let inertia_mm4: f64 = height_mm.iter().zip(&area_mm2).map(|(y, a)| y * y * a).sum();
        let reach_mm = (centroid_mm - low_mm).max(high_mm - centroid_mm);
        let lateral = |slice: &Slice| slice.area_mm2() * slice.half_mm.powi(2) / 3.0;
        let lateral_mm4: f64 = below.iter().chain(&above).map(lateral).sum();
        let torsion = Torsion::new(shape, total_mm2, inertia_mm4 + lateral_mm4);
        Self {
            height_mm,
            area_mm2,
            total_mm2,
            inertia_mm4,
            reach_mm,
            breadth_mm,
            lateral_mm4,
            torsion_mm4: torsion.constant_mm4,
            torsion_plastic_mm3: torsion.plastic_mm3,
            centroid_mm,
        }
    }
}
