//! Fibre sections: the channel's cross-section cut into layers through the depth.

use keepside_model::{Material, Part};

/// Fibres through the depth of a section.
pub(crate) const FIBRES: usize = 8;

/// Gauss–Legendre abscissae and weights on −1..1, four points (Abramowitz & Stegun, table 25.4; from
/// memory, checked by the unit tests below).
const GAUSS_4: [(f64, f64); 4] = [
    (-0.861_136_311_594_052_6, 0.347_854_845_137_453_85),
    (-0.339_981_043_584_856_26, 0.652_145_154_862_546_1),
    (0.339_981_043_584_856_26, 0.652_145_154_862_546_1),
    (0.861_136_311_594_052_6, 0.347_854_845_137_453_85),
];

/// The channel's cross-section: a trapezium in each half, widest at the parting plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct ChannelShape {
    /// Width at the parting plane, mm.
    pub(crate) width_mm: f64,
    /// Depth in the fixed half, mm.
    pub(crate) depth_fixed_mm: f64,
    /// Depth in the moving half, mm.
    pub(crate) depth_moving_mm: f64,
    /// Tangent of the draft in the fixed half.
    pub(crate) slope_fixed: f64,
    /// Tangent of the draft in the moving half.
    pub(crate) slope_moving: f64,
}

impl ChannelShape {
    /// The cross-section of `part` where its channel is `width_mm` wide and `depth_mm` deep.
    pub(crate) fn new(part: &Part, width_mm: f64, depth_mm: f64) -> Self {
        Self {
            width_mm,
            depth_fixed_mm: depth_mm * (1.0 - part.moving_share),
            depth_moving_mm: depth_mm * part.moving_share,
            slope_fixed: part.draft_fixed_deg.to_radians().tan(),
            slope_moving: part.draft_moving_deg.to_radians().tan(),
        }
    }

    /// Depth of both halves together, mm.
    pub(crate) fn depth_mm(&self) -> f64 {
        self.depth_fixed_mm + self.depth_moving_mm
    }

    /// Width at a height above the fixed half's floor, mm; a drafted channel never narrows to
    /// less than a twentieth of its width.
    pub(crate) fn width_at(&self, height_mm: f64) -> f64 {
        let above_parting = height_mm - self.depth_fixed_mm;
        let narrowing = if above_parting < 0.0 {
            -above_parting * self.slope_fixed
        } else {
            above_parting * self.slope_moving
        };
        (self.width_mm - 2.0 * narrowing).max(0.05 * self.width_mm)
    }

    /// Width of the floor in the fixed half, mm.
    pub(crate) fn floor_fixed_mm(&self) -> f64 {
        self.width_at(0.0)
    }

    /// Width of the floor in the moving half, mm.
    pub(crate) fn floor_moving_mm(&self) -> f64 {
        self.width_at(self.depth_mm())
    }
}

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
}

/// Torsion constant of a rectangle, mm⁴, from its long and short sides, mm: the first terms of the
/// series of St Venant (Timoshenko & Goodier, Theory of Elasticity; from memory, tested against its
/// table).
fn rectangle_torsion_mm4(long_mm: f64, short_mm: f64) -> f64 {
    let term = |n: f64| (n * std::f64::consts::PI * long_mm / (2.0 * short_mm)).tanh() / n.powi(5);
    let series: f64 = (0..6).map(|i| term(f64::from(2 * i + 1))).sum();
    let ratio = short_mm / long_mm;
    long_mm * short_mm.powi(3) / 3.0 * (1.0 - 192.0 / std::f64::consts::PI.powi(5) * ratio * series)
}

impl Section {
    /// Cuts a channel's cross-section into fibres: four Gauss points in each half of the depth, so
    /// that area, second moment and full plastic moment of a rectangle are exact.
    pub(crate) fn new(shape: &ChannelShape) -> Self {
        let depth = shape.depth_mm();
        let mut height_mm = [0.0; FIBRES];
        let mut area_mm2 = [0.0; FIBRES];
        let mut breadth_mm = [0.0; FIBRES];
        for (i, (height, area)) in height_mm.iter_mut().zip(&mut area_mm2).enumerate() {
            let (abscissa, weight) = GAUSS_4[i % 4];
            let centre = if i < 4 { 0.25 * depth } else { 0.75 * depth };
            *height = centre + 0.25 * depth * abscissa;
            breadth_mm[i] = shape.width_at(*height);
            *area = 0.25 * depth * weight * breadth_mm[i];
        }
        let total_mm2: f64 = area_mm2.iter().sum();
        let moment: f64 = height_mm.iter().zip(&area_mm2).map(|(y, a)| y * a).sum();
        let centroid = moment / total_mm2;
        height_mm.iter_mut().for_each(|y| *y -= centroid);
        let inertia_mm4 = height_mm.iter().zip(&area_mm2).map(|(y, a)| y * y * a).sum();
        let reach_mm = centroid.max(depth - centroid);
        let lateral_mm4 = area_mm2.iter().zip(&breadth_mm).map(|(a, b)| a * b * b / 12.0).sum();
        let mean_mm = total_mm2 / depth;
        let (long_mm, short_mm) = (mean_mm.max(depth), mean_mm.min(depth));
        Self {
            height_mm,
            area_mm2,
            total_mm2,
            inertia_mm4,
            reach_mm,
            breadth_mm,
            lateral_mm4,
            torsion_mm4: rectangle_torsion_mm4(long_mm, short_mm),
            // The volume of the heap of sand on a rectangle is half of this.
            torsion_plastic_mm3: short_mm * short_mm * (3.0 * long_mm - short_mm) / 6.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle(width_mm: f64, depth_mm: f64) -> ChannelShape {
        ChannelShape {
            width_mm,
            depth_fixed_mm: 0.5 * depth_mm,
            depth_moving_mm: 0.5 * depth_mm,
            slope_fixed: 0.0,
            slope_moving: 0.0,
        }
    }

    #[test]
    fn a_rectangle_has_its_handbook_section_values() {
        // b h, b h³/12 and the plastic modulus b h²/4: any strength-of-materials handbook.
        let section = Section::new(&rectangle(6.0, 3.0));
        assert!((section.total_mm2 - 18.0).abs() < 1e-12);
        assert!((section.inertia_mm4 - 13.5).abs() < 1e-12);
        let plastic: f64 = section.height_mm.iter().zip(&section.area_mm2).map(|(y, a)| y.abs() * a).sum();
        assert!((plastic - 13.5).abs() < 1e-12, "{plastic}");
    }

    #[test]
    fn a_trapezium_has_its_handbook_section_values() {
        // Trapezium with parallel sides a (top) and b, height h: I = h³(a² + 4ab + b²)/(36(a + b)),
        // e.g. Young & Budynas, Roark's Formulas, table A.1 (from memory).
        let (top, bottom, depth) = (4.0, 6.0, 3.0_f64);
        let shape = ChannelShape {
            width_mm: bottom,
            depth_fixed_mm: 0.0,
            depth_moving_mm: depth,
            slope_fixed: 0.0,
            slope_moving: (bottom - top) / 2.0 / depth,
        };
        let section = Section::new(&shape);
        let inertia =
            depth.powi(3) * (top * top + 4.0 * top * bottom + bottom * bottom) / (36.0 * (top + bottom));
        assert!((section.total_mm2 - 15.0).abs() < 1e-12);
        assert!((section.inertia_mm4 - inertia).abs() < 1e-12, "{} {inertia}", section.inertia_mm4);
    }

    #[test]
    fn a_fibre_hardens_with_the_stated_slope_and_unloads_elastically() {
        let law = PlasticLaw {
            modulus_mpa: 1000.0,
            yield_mpa: 20.0,
            kinematic_mpa: 1000.0 * 0.03 / 0.97,
            break_strain: 1.0,
        };
        let (at_6, tangent, plastic) = law.stress(0.06, 0.0);
        assert!((at_6 - (20.0 + 0.04 * 30.0)).abs() < 1e-9, "{at_6}");
        assert!((tangent - 30.0).abs() < 1e-9);
        let (back, _, _) = law.stress(0.05, plastic);
        assert!((back - (at_6 - 10.0)).abs() < 1e-9);
    }
}
