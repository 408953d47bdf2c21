//! From a project to the equations: mesh, holds and their places.

use keepside_model::{Half, Project};

use crate::beam::{ChannelShape, DOF};
use crate::hold::{self, ChannelSection, Ending, PointHold};
use crate::opening::law::{Slide, TackLaw, Wall};
use crate::opening::mesh::{self, StraightRun};
use crate::opening::spot::{Face, LineSpot, PointLaw, PointSpot, Spot};
use crate::opening::tug::{self, Tug};
use crate::opening::{HoldName, NotComputed, What};

/// How finely a run is computed. The defaults are what the product uses; tests halve them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fineness {
    /// Number of elements relative to the default mesh.
    pub mesh: f64,
    /// Largest motion of any point in one step relative to the default.
    pub step: f64,
    /// Viscosity relative to the default.
    pub viscosity: f64,
}

impl Default for Fineness {
    fn default() -> Self {
        Self { mesh: 1.0, step: 1.0, viscosity: 1.0 }
    }
}

/// Viscous line force per unit dw/dU as a share of the tack line force: far below tack, or the part
/// would be carried along by it.
const VISCOSITY_SHARE: f64 = 0.005;

/// Separation at peak traction as a share of the separation at which tack is gone.
const TACK_RISE_SHARE: f64 = 0.1;

/// Travel over which wall drag builds up, mm; assumed, of the order of the roughness of a milled wall.
const WALL_RISE_MM: f64 = 0.005;

/// Gauss–Legendre places (−1..1) and weights (sum 1) that spread a point hold over its footprint.
const FOOTPRINT: [(f64, f64); 3] =
    [(-0.774_596_669_241_483_4, 5.0 / 18.0), (0.0, 8.0 / 18.0), (0.774_596_669_241_483_4, 5.0 / 18.0)];

/// Two-point Gauss places of the line holds in an element, 0..1, each with half the length.
const LINE_PLACES: [f64; 2] = [0.211_324_865_405_187_1, 0.788_675_134_594_812_9];

/// A sprue or feature as it enters a run.
#[derive(Clone, Debug)]
pub(crate) struct PointEntry {
    pub(crate) name: HoldName,
    pub(crate) along_mm: f64,
    pub(crate) hold: PointHold,
    diameter_mm: f64,
    engaged_mm: f64,
}

impl PointEntry {
    /// Whether losing it means that something broke.
    pub(crate) fn breaks(&self) -> bool {
        self.hold.ending != Ending::LetsGo
    }

    /// Whether losing it means that the part tore.
    pub(crate) fn tears(&self) -> bool {
        self.hold.ending == Ending::Tears
    }
}

/// A project made ready for runs with different factors on the fixed half's holds.
#[derive(Clone, Debug)]
pub(crate) struct Setup {
    pub(crate) run: StraightRun,
    pub(crate) tug: Tug,
    pub(crate) points: Vec<PointEntry>,
    pub(crate) stroke_mm: f64,
    /// Length that each line spot stands for, mm, and the shape of the channel there.
    pub(crate) line_mm: Vec<f64>,
    /// Peak pull of tack and of wall drag, per half, N.
    pub(crate) tack_peak_n: [f64; 2],
    pub(crate) wall_peak_n: [f64; 2],
    pub(crate) wall_gone_mm: [f64; 2],
    /// Force that residuals are compared with, N.
    pub(crate) reference_n: f64,
}

impl Setup {
    /// Builds the equations of a project, every hold of the fixed half multiplied by `fixed_factor`.
    pub(crate) fn new(project: &Project, fineness: Fineness, fixed_factor: f64) -> Result<Self, NotComputed> {
        let run = StraightRun::of(project)?;
        let points = entries(project, &run);
        let tug = build(project, &run, &points, fineness, fixed_factor);
        let mut line_mm = Vec::with_capacity(tug.lines.len());
        for element in &tug.chain.elements {
            line_mm.extend([0.5 * element.length_mm; 2]);
        }
        let mut tack_peak_n = [0.0; 2];
        let mut wall_peak_n = [0.0; 2];
        let mut wall_gone_mm = [0.0_f64; 2];
        for line in &tug.lines {
            for (half, face) in line.faces.iter().enumerate() {
                tack_peak_n[half] += face.tack_n_mm * tug.tack.rise_mm;
                wall_peak_n[half] += face.wall.peak_n;
                wall_gone_mm[half] = wall_gone_mm[half].max(face.wall.gone_mm);
            }
        }
        let of_points = tug.laws.iter().map(|law| law.curve.peak_n()).fold(0.0, f64::max);
        let reference_n = of_points.max(tack_peak_n[0]).max(tack_peak_n[1]).max(1.0);
        let stroke_mm = project.press.stroke_mm;
        Ok(Self { run, tug, points, stroke_mm, line_mm, tack_peak_n, wall_peak_n, wall_gone_mm, reference_n })
    }
}

/// The sprues and features that stand in the run, in the order of their ids, sprues first. One that
/// misses the channel is passed over: it holds nothing, and a finding says so.
fn entries(project: &Project, run: &StraightRun) -> Vec<PointEntry> {
    let in_channel = |at| {
        let (along_mm, beside_mm) = run.along(at);
        let is_inside =
            (0.0..=run.length_mm).contains(&along_mm) && beside_mm <= 0.5 * run.channel_at(along_mm).0;
        is_inside.then_some((along_mm, beside_mm))
    };
    let mut points = Vec::new();
    for (&id, sprue) in &project.sprues {
        if let Some((along_mm, _)) = in_channel(sprue.at) {
            points.push(PointEntry {
                name: HoldName { half: sprue.half, what: What::Sprue(id) },
                along_mm,
                hold: hold::sprue(project, sprue),
                diameter_mm: sprue.diameter_mm,
                engaged_mm: sprue.diameter_mm.min(sprue.length_mm),
            });
        }
    }
    for (&id, feature) in &project.features {
        if let Some((along_mm, beside_mm)) = in_channel(feature.at) {
            let (width_mm, depth_mm) = run.channel_at(along_mm);
            let share = match feature.half {
                Half::Moving => project.part.moving_share,
                Half::Fixed => 1.0 - project.part.moving_share,
            };
            let section = ChannelSection {
                width_mm,
                depth_mm,
                depth_in_half_mm: depth_mm * share,
                // The ends of the channel are walls too.
                to_wall_mm: (0.5 * width_mm - beside_mm).min(along_mm).min(run.length_mm - along_mm),
            };
            points.push(PointEntry {
                name: HoldName { half: feature.half, what: What::Feature(id) },
                along_mm,
                hold: hold::feature(project, feature, section),
                diameter_mm: crate::outline::plan_diameter_mm(&feature.kind),
                engaged_mm: feature.protrusion_mm.min(depth_mm),
            });
        }
    }
    points
}

fn build(
    project: &Project,
    run: &StraightRun,
    points: &[PointEntry],
    fineness: Fineness,
    fixed_factor: f64,
) -> Tug {
    let holds = &project.holds;
    let tack = TackLaw { rise_mm: TACK_RISE_SHARE * holds.tack_travel_mm, gone_mm: holds.tack_travel_mm };
    let marks: Vec<f64> = points.iter().map(|p| p.along_mm).collect();
    let (fine_mm, coarse_mm) = element_sizes(project, run, tack, fineness);
    let chain = mesh::chain(project, run, mesh::nodes(run.length_mm, &marks, fine_mm, coarse_mm));

    let mut lines = Vec::with_capacity(2 * chain.elements.len());
    for (element, pair) in chain.along_mm.windows(2).enumerate() {
        let shape = mesh::shape(project, run, pair);
        for xi in LINE_PLACES {
            let spot = Spot::new(&chain, element, xi);
            lines.push(line_spot(project, &shape, spot, 0.5 * (pair[1] - pair[0]), tack, fixed_factor));
        }
    }

    let mut laws = Vec::new();
    let mut spots = Vec::new();
    for (law, point) in points.iter().enumerate() {
        let factor = if point.name.half == Half::Fixed { fixed_factor } else { 1.0 };
        let curve = point.hold.curve.scaled(factor);
        let stiffness_n_mm = curve.initial_stiffness_n_mm();
        // A plug in its bore resists sliding along the run like an elastic bed of modulus E per unit
        // length, and gives way at the yield stress over its projected area (bearing); assumed.
        laws.push(PointLaw {
            half: point.name.half,
            curve,
            stiffness_n_mm,
            lateral_n_mm: project.material.modulus_hot_mpa * point.engaged_mm,
            lateral_limit_n: project.material.yield_hot_mpa * point.engaged_mm * point.diameter_mm,
        });
        for (place, share) in FOOTPRINT {
            let along = (point.along_mm + 0.5 * point.diameter_mm * place).clamp(0.0, run.length_mm);
            spots.push(PointSpot::new(Spot::at(&chain, along), law, share));
        }
    }

    let size = chain.size();
    let none = vec![0.0; size];
    let (viscosity, drag_before, load) = (none.clone(), none.clone(), none);
    let mut tug = Tug { chain, tack, lines, laws, points: spots, viscosity, drag_before, load };
    set_viscosity(&mut tug, run, fineness);
    tug
}

/// Viscosity in proportion to the length of part at each node.
fn set_viscosity(tug: &mut Tug, run: &StraightRun, fineness: Fineness) {
    let tack_peak: f64 =
        tug.lines.iter().flat_map(|l| &l.faces).map(|f| f.tack_n_mm * tug.tack.rise_mm).sum();
    let point_peak = tug.laws.iter().map(|law| law.curve.peak_n()).fold(0.0, f64::max);
    // Without tack a tenth of a percent of the strongest hold does as well.
    let total = (VISCOSITY_SHARE * 0.5 * tack_peak).max(0.001 * point_peak).max(1e-3);
    let per_mm = fineness.viscosity * total / run.length_mm;
    for (i, element) in tug.chain.elements.iter().enumerate() {
        let depth_mm = 2.0 * element.section.reach_mm;
        for node in [i, i + 1] {
            let share = 0.5 * per_mm * element.length_mm;
            tug.viscosity[DOF * node] += share;
            tug.viscosity[DOF * node + 1] += share;
            tug.viscosity[DOF * node + 2] += share * depth_mm * depth_mm / 12.0;
        }
    }
}

/// Longest element at a feature and elsewhere: a sixth and a quarter of the length over which a stuck
/// beam bends, (4EI/k)^(1/4) (Hetényi), or of the width where that is less.
fn element_sizes(project: &Project, run: &StraightRun, tack: TackLaw, fineness: Fineness) -> (f64, f64) {
    let middle = 0.5 * run.length_mm;
    let (width_mm, depth_mm) = run.channel_at(middle);
    let inertia = width_mm * depth_mm.powi(3) / 12.0;
    let bed = (2.0 * project.holds.tack_mpa * width_mm / tack.rise_mm).max(1e-6);
    let decay_mm = (4.0 * project.material.modulus_hot_mpa * inertia / bed).powf(0.25);
    let fine = decay_mm.min(width_mm) / 6.0;
    // Never more than a few thousand elements, whatever the proportions of the part.
    let fine = fine.max(run.length_mm / 2000.0);
    (fine / fineness.mesh, 1.6 * fine / fineness.mesh)
}

fn line_spot(
    project: &Project,
    shape: &ChannelShape,
    spot: Spot,
    length_mm: f64,
    tack: TackLaw,
    fixed_factor: f64,
) -> LineSpot {
    let holds = &project.holds;
    let mut faces = [Face::default(); 2];
    for (half, face) in faces.iter_mut().enumerate() {
        let is_fixed = half == tug::FIXED;
        let factor = if is_fixed { fixed_factor } else { 1.0 };
        let release = if is_fixed { holds.release_factor_fixed } else { holds.release_factor_moving };
        let floor = if is_fixed { shape.floor_fixed_mm() } else { shape.floor_moving_mm() };
        let height = if is_fixed { shape.depth_fixed_mm } else { shape.depth_moving_mm };
        let slope = if is_fixed { shape.slope_fixed } else { shape.slope_moving };
        face.tack_n_mm = factor * release * holds.tack_mpa * floor * length_mm / tack.rise_mm;
        // Travel: until the wall is cleared, by height or because the draft has opened the relief.
        let gone_mm = if slope > 0.0 { height.min(holds.wall_relief_mm / slope) } else { height };
        if gone_mm > 1e-6 {
            let wall_mm2 = 2.0 * height * slope.hypot(1.0) * length_mm;
            face.wall = Wall {
                peak_n: factor * release * holds.wall_drag_mpa * wall_mm2,
                gone_mm,
                rise_mm: WALL_RISE_MM.min(0.1 * gone_mm),
            };
        }
        face.wall_slide = Slide::default();
    }
    // Pressed into a half, the part gives like half its depth of plastic.
    let contact = project.material.modulus_hot_mpa * shape.width_mm / (0.5 * shape.depth_mm());
    LineSpot { spot, faces, contact_n_mm: contact * length_mm }
}
