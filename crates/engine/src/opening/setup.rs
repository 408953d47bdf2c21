//! From a project to the equations: mesh, holds and their places.

use glam::DVec2;
use keepside_model::{Half, Project};

use crate::beam::{Beams, Chain, Matrix as _, PlaneElement, PlasticLaw, Sections, Space, SpaceElement};
use crate::hold::{self, ChannelSection, Curve, Ending, PointHold};
use crate::network::{self, Meeting, Member, Network, Path, Sizes};
use crate::opening::law::TackLaw;
use crate::opening::lines::{LineMaker, LineTotal, line_totals};
use crate::opening::spot::{PointLaw, PointSpot};
use crate::opening::tug::{Balance, Moment, Tug};
use crate::opening::{HoldName, NotComputed, What, shrink};
use crate::outline;

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

impl Fineness {
    /// Half the elements and twice the steps: a first answer, right in most layouts but not in close ones.
    pub const QUICK: Self = Self { mesh: 0.5, step: 2.0, viscosity: 1.0 };
}

impl Default for Fineness {
    fn default() -> Self {
        Self { mesh: 1.0, step: 1.0, viscosity: 1.0 }
    }
}

/// Viscous line force per unit dw/dU as a share of the tack line force: far below tack, or the part
/// would be carried along by it.
const VISCOSITY_SHARE: f64 = 0.005;

/// Gauss–Legendre places (−1..1) and weights (sum 1) that spread a point hold over its footprint.
pub(crate) const FOOTPRINT: [(f64, f64); 3] =
    [(-0.774_596_669_241_483_4, 5.0 / 18.0), (0.0, 8.0 / 18.0), (0.774_596_669_241_483_4, 5.0 / 18.0)];

/// How many times as stiff as the channel a junction is, where the other arms keep it from bending.
pub(crate) const JUNCTION_STIFFNESS: f64 = 10.0;

/// What the strength of holds is multiplied with, besides what the project says; arrays by half, the fixed
/// one first.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Factors {
    /// Everything on the fixed half.
    pub(crate) fixed: f64,
    /// Face tack.
    pub(crate) tack: [f64; 2],
    /// Drag on channel walls.
    pub(crate) wall: [f64; 2],
}

impl Factors {
    /// Every hold as the project says, those of the fixed half times a factor.
    pub(crate) const fn fixed(fixed: f64) -> Self {
        Self { fixed, tack: [1.0; 2], wall: [1.0; 2] }
    }
}

/// Most elements of a part, about: beyond, they get longer.
const MOST_ELEMENTS: f64 = 4000.0;

/// A sprue, feature or grooved ejector as it enters a run.
#[derive(Clone, Debug)]
pub(crate) struct PointEntry {
    pub(crate) name: HoldName,
    /// The path it stands on and where along it, mm.
    pub(crate) path: usize,
    pub(crate) along_mm: f64,
    /// To the left of the centre line, mm.
    pub(crate) beside_mm: f64,
    pub(crate) hold: PointHold,
    /// The channel where it stands; of a sprue that does not count.
    pub(crate) section: ChannelSection,
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

/// A project cut into a network, with everything that acts on it, before the equations take a form.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    pub(crate) network: Network,
    pub(crate) points: Vec<PointEntry>,
    /// One straight run: a plane holds it.
    pub(crate) is_plane: bool,
}

impl Layout {
    pub(crate) fn new(project: &Project, fineness: Fineness) -> Result<Self, NotComputed> {
        let (paths, meetings) = network::paths(project)?;
        let points = entries(project, &paths);
        let is_plane = Network::is_straight(&paths, &meetings);
        let layout = Self::mesh(project, paths, &meetings, points, is_plane, fineness);
        // A ring, or runs joined on all sides, of which all nodes are one.
        match layout.network.members.is_empty() {
            true => Err(NotComputed::NoLength { run: layout.network.paths[0].run }),
            false => Ok(layout),
        }
    }

    fn mesh(
        project: &Project,
        paths: Vec<Path>,
        meetings: &[Meeting],
        points: Vec<PointEntry>,
        is_plane: bool,
        fineness: Fineness,
    ) -> Self {
        let marks: Vec<Vec<f64>> = (0..paths.len())
            .map(|path| points.iter().filter(|p| p.path == path).map(|p| p.along_mm).collect())
            .collect();
        let whole_mm: f64 = paths.iter().map(|path| path.length_mm).sum();
        let sizes: Vec<Sizes> =
            paths.iter().map(|path| element_sizes(project, path, whole_mm, fineness)).collect();
        let network = Network::new(paths, meetings, &marks, &sizes);
        Self { network, points, is_plane }
    }
}

/// A project made ready for a run.
#[derive(Clone)]
pub(crate) struct Setup<B: Beams> {
    pub(crate) layout: Layout,
    pub(crate) tug: Tug<B>,
    pub(crate) lines: Vec<LineTotal>,
    pub(crate) stroke_mm: f64,
    /// Force that residuals are compared with, N.
    pub(crate) reference_n: f64,
}

/// Beams that a network can be turned into.
pub(crate) trait Build: Beams {
    fn build(project: &Project, network: &Network) -> Self;
}

impl Build for Chain {
    fn build(project: &Project, network: &Network) -> Self {
        let law = PlasticLaw::new(&project.material);
        let mut sections = Sections::default();
        let element = |member: &Member| {
            let length_mm = member.to_mm - member.from_mm;
            PlaneElement::new(length_mm, sections.of(&network.shape(&project.part, member)), law)
        };
        let along_mm = network.stations[0].iter().map(|station| station.0).collect();
        Self { along_mm, elements: network.members.iter().map(element).collect() }
    }
}

impl Build for Space {
    fn build(project: &Project, network: &Network) -> Self {
        let law = PlasticLaw::new(&project.material);
        let poisson = project.material.poisson;
        let mut sections = Sections::default();
        let element = |member: &Member| {
            let length_mm = network.nodes[member.from].distance(network.nodes[member.to]);
            let section = sections.of(&network.shape(&project.part, member));
            let law = if member.is_stiff {
                let modulus_mpa = JUNCTION_STIFFNESS * law.modulus_mpa;
                PlasticLaw { modulus_mpa, yield_mpa: 1e9, break_strain: 1e9, ..law }
            } else {
                law
            };
            (member.from, member.to, SpaceElement::new(length_mm, section, law, poisson))
        };
        Self::new(network.nodes.clone(), network.members.iter().map(element).collect())
    }
}

impl<B: Build + shrink::Kept> Setup<B> {
    /// Builds the equations of a layout, with holds multiplied by factors.
    pub(crate) fn new(project: &Project, layout: Layout, fineness: Fineness, factors: &Factors) -> Self {
        let mut tug: Tug<B> = build(project, &layout, fineness, factors);
        let lines = line_totals(&tug);
        let of_points = tug.laws.iter().map(|law| law.curve.peak_n()).fold(0.0, f64::max);
        let of_lines = lines.iter().map(|line| line.peak_n).fold(0.0, f64::max);
        let reference_n = of_points.max(of_lines).max(1.0);
        shrink::keep(project, &layout, &mut tug);
        Self { layout, tug, lines, stroke_mm: project.press.stroke_mm, reference_n }
    }
}

/// The sprues, features and ejectors with a face that keys that stand in the part, in this order, each in that
/// of their ids. One that
/// misses the channel is passed over: it holds nothing, and a finding says so.
fn entries(project: &Project, paths: &[Path]) -> Vec<PointEntry> {
    let edge = outline::of(project);
    let in_channel = |at: DVec2| {
        let place = outline::channel_at(project, at).filter(|place| place.inside)?;
        let path = paths.iter().position(|path| path.run == place.run)?;
        // Beyond the last point of a round end the place is measured on along the run.
        let (centre, direction) = (place.at, place.direction);
        let beyond_mm = (at - centre).dot(direction);
        let along_mm = (paths[path].along_mm(place.along_mm) + beyond_mm).clamp(0.0, paths[path].length_mm);
        let beside_mm = direction.perp_dot(at - centre);
        let to_wall_mm = edge.nearest_edge(at).map_or(0.0, |(_, distance_mm)| distance_mm);
        Some((path, along_mm, beside_mm, place, to_wall_mm))
    };
    let section = |half: Half, place: &outline::ChannelAt, to_wall_mm: f64| {
        let share = match half {
            Half::Moving => project.part.moving_share,
            Half::Fixed => 1.0 - project.part.moving_share,
        };
        let (width_mm, depth_mm) = (place.width_mm, place.depth_mm);
        ChannelSection { width_mm, depth_mm, depth_in_half_mm: depth_mm * share, to_wall_mm }
    };
    let mut points = Vec::new();
    for (&id, sprue) in &project.sprues {
        if let Some((path, along_mm, beside_mm, place, to_wall_mm)) = in_channel(sprue.at) {
            points.push(PointEntry {
                name: HoldName { half: sprue.half, what: What::Sprue(id) },
                path,
                along_mm,
                beside_mm,
                hold: hold::sprue(project, sprue),
                section: section(sprue.half, &place, to_wall_mm),
                diameter_mm: sprue.diameter_mm,
                engaged_mm: sprue.diameter_mm.min(sprue.length_mm),
            });
        }
    }
    for (&id, feature) in &project.features {
        if let Some((path, along_mm, beside_mm, place, to_wall_mm)) = in_channel(feature.at) {
            let section = section(feature.half, &place, to_wall_mm);
            points.push(PointEntry {
                name: HoldName { half: feature.half, what: What::Feature(id) },
                path,
                along_mm,
                beside_mm,
                hold: hold::feature(project, feature, section),
                section,
                diameter_mm: outline::plan_diameter_mm(&feature.kind),
                engaged_mm: feature.protrusion_mm.min(place.depth_mm),
            });
        }
    }
    for (&id, ejector) in project.ejectors.iter().filter(|(_, ejector)| ejector.face.keys()) {
        if let Some((path, along_mm, beside_mm, place, to_wall_mm)) = in_channel(ejector.at) {
            let section = section(Half::Moving, &place, to_wall_mm);
            points.push(PointEntry {
                name: HoldName { half: Half::Moving, what: What::Ejector(id) },
                path,
                along_mm,
                beside_mm,
                hold: hold::ejector_face(project, ejector, section),
                section,
                diameter_mm: ejector.diameter_mm,
                engaged_mm: hold::grooves_mm(ejector),
            });
        }
    }
    points
}

/// The traction law of bare faces.
pub(crate) fn tack_law(project: &Project) -> TackLaw {
    let holds = &project.holds;
    match &holds.tack_curve {
        Some(curve) => TackLaw::measured(&Curve::measured(curve)),
        None => TackLaw::bilinear(hold::TACK_RISE_SHARE * holds.tack_travel_mm, holds.tack_travel_mm),
    }
}

/// Initial stiffness of a bare face, N/mm³.
pub(crate) fn tack_stiffness(project: &Project, tack: &TackLaw) -> f64 {
    match &project.holds.tack_curve {
        Some(curve) => Curve::measured(curve).initial_stiffness_n_mm(),
        None => project.holds.tack_mpa / tack.rise_mm,
    }
}

fn build<B: Build>(project: &Project, layout: &Layout, fineness: Fineness, factors: &Factors) -> Tug<B> {
    let Layout { network, points, .. } = layout;
    let beams = B::build(project, network);
    let mut maker = LineMaker::new(project, network, factors);
    for (element, member) in network.members.iter().enumerate() {
        maker.member(&beams, element, member);
    }
    let LineMaker { tack, curves, lines, extras, guides, .. } = maker;

    let mut laws = Vec::new();
    let mut spots = Vec::new();
    for (law, point) in points.iter().enumerate() {
        let factor = if point.name.half == Half::Fixed { factors.fixed } else { 1.0 };
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
            friction: project.material.friction * factor,
            rides: None,
        });
        let path = &network.paths[point.path];
        let length_mm = path.length_mm;
        // The second moment of a disc is that of two points at a quarter of its diameter.
        let across = 0.25 * point.diameter_mm;
        let beside: &[(f64, f64)] = if B::TWISTS { &[(-across, 0.5), (across, 0.5)] } else { &[(0.0, 1.0)] };
        for (place, share) in FOOTPRINT {
            let along = point.along_mm + 0.5 * point.diameter_mm * place;
            let along =
                if path.is_closed { along.rem_euclid(length_mm) } else { along.clamp(0.0, length_mm) };
            let (element, xi) = network.place(point.path, along);
            for (aside, part) in beside {
                let spot = beams.spot(element, xi, point.beside_mm + aside);
                spots.push(PointSpot::new(spot, law, share * part));
            }
        }
    }

    let none = vec![0.0; B::FREEDOMS * beams.nodes()];
    let (viscosity, drag_before, load) = (none.clone(), none.clone(), none);
    let points = spots;
    let mut tug = Tug {
        beams,
        tack,
        lines,
        extras,
        curves,
        guides,
        laws,
        points,
        sides: Vec::new(),
        pushers: Vec::new(),
        viscosity,
        jumps: vec![false; network.nodes.len()],
        drag_before,
        load,
    };
    set_viscosity(project, &mut tug, network, fineness);
    tug
}

/// Viscosity in proportion to the length of part at each node.
fn set_viscosity<B: Build>(project: &Project, tug: &mut Tug<B>, network: &Network, fineness: Fineness) {
    let tack_peak: f64 = tug.lines.iter().flat_map(|l| &l.faces).map(|f| tug.tack.peak(f.tack_n_mm)).sum();
    let point_peak = tug.laws.iter().map(|law| law.curve.peak_n()).fold(0.0, f64::max);
    // Without tack a tenth of a percent of the strongest hold does as well.
    let total = (VISCOSITY_SHARE * 0.5 * tack_peak).max(0.001 * point_peak).max(1e-3);
    let whole_mm: f64 = network.paths.iter().map(|path| path.length_mm).sum();
    let per_mm = fineness.viscosity * total / whole_mm;
    for member in &network.members {
        let length_mm = network.nodes[member.from].distance(network.nodes[member.to]);
        let depth_mm = network.shape(&project.part, member).depth_mm();
        for node in [member.from, member.to] {
            let share = 0.5 * per_mm * length_mm;
            let first = B::FREEDOMS * node;
            for i in 0..B::FREEDOMS {
                let lever = if i > B::Z { depth_mm * depth_mm / 12.0 } else { 1.0 };
                tug.viscosity[first + i] += share * lever;
            }
        }
    }
}

/// Longest element at a feature and elsewhere: a sixth and a quarter of the length over which a stuck
/// beam bends, (4EI/k)^(1/4) (Hetényi), or of the width where that is less.
fn element_sizes(project: &Project, path: &Path, whole_mm: f64, fineness: Fineness) -> Sizes {
    let (width_mm, depth_mm) = path.channel_at(0.5 * path.length_mm);
    let inertia = width_mm * depth_mm.powi(3) / 12.0;
    let tack = tack_law(project);
    let bed = (2.0 * tack_stiffness(project, &tack) * width_mm).max(1e-6);
    let decay_mm = (4.0 * project.material.modulus_hot_mpa * inertia / bed).powf(0.25);
    let fine = decay_mm.min(width_mm) / 6.0;
    // Never more than a few thousand elements, whatever the proportions of the part.
    let fine = fine.max(whole_mm / (0.5 * MOST_ELEMENTS));
    Sizes { fine_mm: fine / fineness.mesh, coarse_mm: 1.6 * fine / fineness.mesh }
}

/// Factors the matrix of the closed mould each time it is called; whether it is positive definite.
pub(crate) fn factoring(
    project: &Project,
    fineness: Fineness,
) -> Result<Box<dyn FnMut() -> bool>, NotComputed> {
    fn of<B: Build + shrink::Kept>(
        project: &Project,
        layout: Layout,
        fineness: Fineness,
    ) -> Box<dyn FnMut() -> bool>
    where
        B::Matrix: 'static,
    {
        let setup = Setup::<B>::new(project, layout, fineness, &Factors::fixed(1.0));
        let mut balance = Balance::new(&setup.tug.beams);
        let rest = vec![0.0; setup.tug.size()];
        let at = Moment { opening_mm: 1e-3, opened_by_mm: 1e-3, before: &rest, now: &rest };
        setup.tug.assemble(at, true, &mut balance);
        let assembled = balance.matrix;
        let mut matrix = assembled.clone();
        Box::new(move || {
            matrix.clone_from(&assembled);
            matrix.factor().is_ok()
        })
    }
    let layout = Layout::new(project, fineness)?;
    Ok(if layout.is_plane {
        of::<Chain>(project, layout, fineness)
    } else {
        of::<Space>(project, layout, fineness)
    })
}
