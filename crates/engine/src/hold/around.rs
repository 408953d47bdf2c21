//! The plastic around a keying feature, and what every kind of feature asks of it.

use std::f64::consts::PI;

use keepside_model::{Half, Material, Project};

use crate::hold::law::{Number, Way, Weighed};
use crate::hold::{Case, ChannelSection, Curve, Ending, PointHold, formula};

/// The plastic around a feature.
pub(super) struct Around<'a> {
    pub(super) material: &'a Material,
    pub(super) channel: ChannelSection,
    /// Drag of the feature's sides, MPa: wall drag, less what release agent takes away.
    pub(super) drag_mpa: f64,
}

/// One way in which an undercut gives way, with what follows.
pub(super) struct Limit {
    pub(super) name: &'static str,
    /// What happens, in a few words.
    pub(super) words: &'static str,
    /// Force, N; infinite if it cannot happen.
    pub(super) force_n: f64,
    pub(super) curve: Curve,
    pub(super) ending: Ending,
    /// What made the force.
    pub(super) numbers: Vec<Number>,
}

impl<'a> Around<'a> {
    pub(super) fn new(project: &'a Project, half: Half, channel: ChannelSection) -> Self {
        let holds = &project.holds;
        let release = match half {
            Half::Moving => holds.release_factor_moving,
            Half::Fixed => holds.release_factor_fixed,
        };
        Self { material: &project.material, channel, drag_mpa: release * holds.wall_drag_mpa }
    }

    /// Pressure on the bore of the ring between the feature and the nearest wall when it is widened by
    /// `undercut_mm` on the radius, MPa: elastic, capped at full plasticity. None is left if the feature
    /// reaches the wall.
    ///
    /// The ring counts as free outside, although the channel wall backs it up until it has lifted out:
    /// on the low side.
    pub(super) fn ring_pressure_mpa(&self, bore_mm: f64, undercut_mm: f64) -> f64 {
        self.elastic_pressure_mpa(bore_mm, undercut_mm).min(self.plastic_pressure_mpa(bore_mm))
    }

    /// The pressure of [`Self::ring_pressure_mpa`] before the cap.
    pub(super) fn elastic_pressure_mpa(&self, bore_mm: f64, undercut_mm: f64) -> f64 {
        let Material { modulus_hot_mpa, poisson, .. } = *self.material;
        let outside_mm = 2.0 * self.channel.to_wall_mm;
        formula::thick_ring_pressure_mpa(modulus_hot_mpa, poisson, 2.0 * undercut_mm, bore_mm, outside_mm)
            .unwrap_or(0.0)
    }

    fn plastic_pressure_mpa(&self, bore_mm: f64) -> f64 {
        let outside_mm = 2.0 * self.channel.to_wall_mm;
        formula::plastic_ring_pressure_mpa(self.material.yield_hot_mpa, bore_mm, outside_mm).unwrap_or(0.0)
    }

    /// Net section of the channel beside a feature, mm²: what is left of the width on both sides of it,
    /// times the depth.
    fn net_section_mm2(&self, diameter_mm: f64) -> f64 {
        let ChannelSection { width_mm, depth_mm, to_wall_mm, .. } = self.channel;
        let radius_mm = 0.5 * diameter_mm;
        let near_mm = (to_wall_mm - radius_mm).max(0.0);
        let far_mm = (width_mm - to_wall_mm - radius_mm).max(0.0);
        (near_mm + far_mm) * depth_mm
    }

    /// The channel tears beside the feature, its net section at the hot strength.
    ///
    /// The two strips beside the feature stretch over its diameter until the break strain, or until the
    /// part has been drawn through its own depth; both assumed.
    pub(super) fn tear(&self, diameter_mm: f64, engaged_mm: f64) -> Limit {
        let force_n = self.material.yield_hot_mpa * self.net_section_mm2(diameter_mm);
        let rise_mm = self.rise_mm(force_n, diameter_mm, engaged_mm);
        let stretch_mm = (self.material.break_strain * diameter_mm).min(self.channel.depth_mm);
        let curve = Curve::triangle(force_n, rise_mm, rise_mm + stretch_mm);
        Limit {
            name: "tear",
            words: "the channel tears beside it",
            force_n,
            curve,
            ending: Ending::Tears,
            numbers: vec![
                Number::new("net section beside it", self.net_section_mm2(diameter_mm), "mm²"),
                Number::new("strength, warm", self.material.yield_hot_mpa, "MPa"),
            ],
        }
    }

    /// Elastic travel at a pull, mm: shear of the plastic between the feature and the nearest wall; see
    /// [`formula::ring_shear_stiffness_n_mm`].
    pub(super) fn rise_mm(&self, force_n: f64, diameter_mm: f64, engaged_mm: f64) -> f64 {
        let Material { modulus_hot_mpa, poisson, .. } = *self.material;
        let outside_mm = 2.0 * self.channel.to_wall_mm;
        let stiffness_n_mm =
            formula::ring_shear_stiffness_n_mm(modulus_hot_mpa, poisson, engaged_mm, diameter_mm, outside_mm);
        force_n / stiffness_n_mm
    }

    /// Nothing but drag on `side_mm2` of the feature's sides, over the engaged length.
    pub(super) fn drag_only(&self, diameter_mm: f64, side_mm2: f64, engaged_mm: f64) -> Weighed {
        let force_n = self.drag_mpa * side_mm2;
        let rise_mm = self.rise_mm(force_n, diameter_mm, engaged_mm);
        let curve = Curve::triangle(force_n, rise_mm, engaged_mm);
        let limit = Limit {
            name: "drag",
            words: "it slides off its plain sides",
            force_n,
            curve,
            ending: Ending::LetsGo,
            numbers: vec![
                Number::new("drag of the sides", self.drag_mpa, "MPa"),
                Number::new("sides", side_mm2, "mm²"),
            ],
        };
        self.hold(vec![limit], 0.0)
    }

    /// The numbers of a ring that is widened.
    pub(super) fn ring_numbers(&self, bore_mm: f64, undercut_mm: f64, flank_rad: f64) -> Vec<Number> {
        let is_capped = self.elastic_pressure_mpa(bore_mm, undercut_mm) > self.plastic_pressure_mpa(bore_mm);
        let pressure =
            Number::new("pressure of the ring", self.ring_pressure_mpa(bore_mm, undercut_mm), "MPa");
        let friction = self.material.friction;
        let factor = formula::flank_factor(friction, flank_rad);
        vec![
            Number::new("undercut", undercut_mm, "mm"),
            Number::new("ring inside", bore_mm, "mm"),
            Number::new("ring outside", 2.0 * self.channel.to_wall_mm, "mm"),
            pressure.noted(if is_capped { "capped: the ring flows through and through" } else { "elastic" }),
            Number::new("friction", friction, ""),
            Number::new("flank to the pull", flank_rad.to_degrees(), "°"),
            Number::new("lock angle", formula::lock_angle_rad(friction).to_degrees(), "°"),
            Number::new("flank factor", factor.unwrap_or(f64::INFINITY), "").noted(if factor.is_none() {
                "beyond the lock angle"
            } else {
                ""
            }),
        ]
    }

    /// The numbers of plastic that is sheared off.
    pub(super) fn shear_numbers(&self, area_mm2: f64) -> Vec<Number> {
        let strength_mpa = formula::shear_strength_mpa(self.material.yield_hot_mpa);
        vec![
            Number::new("shear area", area_mm2, "mm²"),
            Number::new("shear strength, warm", strength_mpa, "MPa"),
        ]
    }

    /// Drag of `side_mm2` of plain sides, as something that acts besides.
    pub(super) fn drag_way(&self, side_mm2: f64) -> Way {
        Way {
            name: "drag",
            words: "its plain sides drag besides",
            force_n: self.drag_mpa * side_mm2,
            adds: true,
            ending: Ending::LetsGo,
            numbers: vec![
                Number::new("drag of the sides", self.drag_mpa, "MPa"),
                Number::new("sides", side_mm2, "mm²"),
            ],
        }
    }

    /// The hold that gives way at the smallest of the limits; the first of equal ones.
    pub(super) fn hold(&self, limits: Vec<Limit>, strip_strain: f64) -> Weighed {
        let (allowed_once, allowed_repeated) = formula::allowed_strain(self.material);
        let cases = limits.iter().map(|limit| Case { name: limit.name, force_n: limit.force_n }).collect();
        let way = |limit: &Limit| Way {
            name: limit.name,
            words: limit.words,
            force_n: limit.force_n,
            adds: false,
            ending: limit.ending,
            numbers: limit.numbers.clone(),
        };
        let ways = limits.iter().map(way).collect();
        let weakest = limits.into_iter().min_by(|a, b| a.force_n.total_cmp(&b.force_n));
        let (curve, ending, governed_by) = weakest
            .map_or((Curve::triangle(0.0, 1e-3, 1e-2), Ending::LetsGo, "nothing to hold"), |limit| {
                (limit.curve, limit.ending, limit.name)
            });
        let hold =
            PointHold { curve, ending, governed_by, cases, strip_strain, allowed_once, allowed_repeated };
        Weighed { hold, ways, plug: None }
    }
}

/// Side of a cylinder, mm².
pub(super) fn side_mm2(diameter_mm: f64, length_mm: f64) -> f64 {
    PI * diameter_mm * length_mm.max(0.0)
}
