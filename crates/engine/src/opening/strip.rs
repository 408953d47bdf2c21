//! Stripping: the ejector pins push the part off the moving half.

use std::fmt;

use keepside_model::{EjectorFace, Half, Id, Project};

use crate::beam::Beams;
use crate::hold::{Ending, ejector};
use crate::opening::result::{BumpAt, Outcome, Residual};
use crate::opening::run::{self, Opened};
use crate::opening::setup::{FOOTPRINT, PointEntry};
use crate::opening::spot::{Face, Pusher};
use crate::opening::stepper::Stepper;
use crate::opening::tug::FIXED;
use crate::opening::{Cancel, Effort, Fineness, NotComputed, What, verdict};
use crate::outline;

/// How stripping ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StripOutcome {
    /// The part comes off whole and unharmed.
    ComesOff,
    /// It comes off, but a feature strains it more than it bears, breaks a piece off, or an ejector
    /// dents it.
    Harmed,
    /// It is torn.
    Torn,
    /// The ejectors' stroke ends before every feature has let go.
    StaysOn,
    /// No ejector pin touches the part.
    NoEjectors,
}

impl fmt::Display for StripOutcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::ComesOff => "comes off the moving half unharmed",
            Self::Harmed => "is harmed in coming off the moving half",
            Self::Torn => "is torn in coming off the moving half",
            Self::StaysOn => "is not pushed clear of the moving half",
            Self::NoEjectors => "has no ejector pin to push it off",
        })
    }
}

/// What stripping does at one keying feature of the moving half.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StripAt {
    /// The feature.
    pub item: Id,
    /// Largest force over it, N.
    pub force_n: f64,
    /// Hoop strain of the plastic when it is pushed over the undercut; 0 without one.
    pub strain: f64,
    /// The strain it bears once.
    pub allowed: f64,
    /// Ejector travel at which it lets go, mm; `None` if it does not.
    pub released_at_mm: Option<f64>,
    /// Whether a piece breaks off there.
    pub broke: bool,
}

/// What one ejector pin has to bear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EjectorLoad {
    /// The ejector.
    pub item: Id,
    /// Largest force on it, N.
    pub force_n: f64,
    /// Largest pressure on the part, MPa.
    pub pressure_mpa: f64,
    /// Pressure at which it leaves a mark, MPa: the warm yield stress.
    pub mark_mpa: f64,
    /// Smallest diameter that does not buckle under the force, mm.
    pub buckling_mm: f64,
}

/// Taking the part off the moving half.
#[derive(Clone, Debug, PartialEq)]
pub struct Stripping {
    /// How it ends.
    pub outcome: StripOutcome,
    /// It as one plain sentence without a full stop.
    pub words: String,
    /// Every keying feature that the part still hangs on, in the order in which they let go.
    pub features: Vec<StripAt>,
    /// Every ejector that touches the part.
    pub ejectors: Vec<EjectorLoad>,
    /// Largest total force on the ejectors, N.
    pub peak_n: f64,
    /// Total force against ejector travel: (mm, N).
    pub force: Vec<(f64, f64)>,
    /// What stays bent at each gate and feature after ejection.
    pub bumps: Vec<BumpAt>,
    /// Distance between the two parallel planes that just contain the ejected part, mm.
    pub flatness_mm: f64,
    /// The ejected part.
    pub residual: Vec<Residual>,
    /// What it cost, the opening run not counted.
    pub effort: Effort,
}

/// An ejector that touches the part.
struct Placed {
    item: Id,
    diameter_mm: f64,
    stroke_mm: f64,
}

/// Pushes the part that an opening run has left on the moving half off it. The pins stay where they are
/// while the moving half goes on retreating from them, which is the same as the pins coming out of it.
///
/// `None` if the part is not left whole on the moving half.
pub(crate) fn strip<B: Beams>(
    project: &Project,
    opened: &Opened<B>,
    fineness: Fineness,
    cancel: &Cancel,
) -> Result<Option<Stripping>, NotComputed> {
    if opened.opening.verdict.outcome != Outcome::StaysOnMoving {
        return Ok(None);
    }
    let mut stepper = opened.stepper.clone();
    let placed = place(project, opened, &mut stepper);
    let still = opened
        .setup
        .layout
        .points
        .iter()
        .enumerate()
        .map(|(law, entry)| entry.name.half == Half::Moving && holds(&stepper, law))
        .collect::<Vec<bool>>();
    let mut run =
        Run { peaks_n: vec![0.0; still.len()], loads_n: vec![0.0; placed.len()], force: vec![(0.0, 0.0)] };
    let from_mm = stepper.opening_mm;
    let stroke_mm = placed.iter().map(|pin| pin.stroke_mm).fold(0.0, f64::max);
    if !placed.is_empty() {
        let setup = &opened.setup;
        stepper.resume(run::pace(setup, fineness, stroke_mm.max(1.0)));
        while stepper.opening_mm < from_mm + stroke_mm {
            stepper.advance(from_mm + stroke_mm, cancel)?;
            run.step(&stepper, stepper.opening_mm - from_mm);
        }
    }
    Ok(Some(finish(project, opened, &stepper, &placed, &still, run, from_mm)))
}

/// Whether any spot of a point hold still holds.
fn holds<B: Beams>(stepper: &Stepper<B>, law: usize) -> bool {
    let let_go_mm = stepper.tug.laws[law].curve.let_go_travel_mm();
    let peak_n = stepper.tug.laws[law].curve.peak_n();
    peak_n > 0.0 && stepper.tug.points.iter().any(|spot| spot.law == law && spot.slide.worst_mm < let_go_mm)
}

/// Takes the fixed half away and sets the pins against the part.
fn place<B: Beams>(project: &Project, opened: &Opened<B>, stepper: &mut Stepper<B>) -> Vec<Placed> {
    let network = &opened.setup.layout.network;
    let tug = &mut stepper.tug;
    for line in &mut tug.lines {
        line.faces[FIXED] = Face::default();
    }
    tug.extras.retain(|extra| extra.half != FIXED);
    let mut placed = Vec::new();
    for (&item, pin) in &project.ejectors {
        let Some(place) = outline::channel_at(project, pin.at).filter(|place| place.inside) else { continue };
        let Some(path) = network.paths.iter().position(|path| path.run == place.run) else { continue };
        let along_mm = network.paths[path].along_mm(place.along_mm);
        // What the part gives under the pin: half its depth of plastic.
        let area_mm2 = 0.25 * std::f64::consts::PI * pin.diameter_mm.powi(2);
        let stiffness = project.material.modulus_hot_mpa * area_mm2 / (0.5 * place.depth_mm);
        let across = 0.25 * pin.diameter_mm;
        let beside: &[(f64, f64)] = if B::TWISTS { &[(-across, 0.5), (across, 0.5)] } else { &[(0.0, 1.0)] };
        for (step, share) in FOOTPRINT {
            let along = along_mm + 0.5 * pin.diameter_mm * step;
            let along = along.clamp(0.0, network.paths[path].length_mm);
            let (element, xi) = network.place(path, along);
            for (aside, part) in beside {
                let spot = tug.beams.spot(element, xi, place.offset_mm + aside);
                let z = tug.beams.place(&spot, &stepper.now, &stepper.turns).z;
                tug.pushers.push(Pusher {
                    spot,
                    pin: placed.len(),
                    stiffness_n_mm: stiffness * share * part,
                    tip_mm: z,
                    until_mm: stepper.opening_mm + pin.stroke_mm,
                    force_n: 0.0,
                });
            }
        }
        // The grooves of its face go with it.
        let name = What::Ejector(item);
        if let Some(law) = opened.setup.layout.points.iter().position(|entry| entry.name.what == name) {
            tug.laws[law].rides = Some((stepper.opening_mm, pin.stroke_mm));
        }
        placed.push(Placed { item, diameter_mm: pin.diameter_mm, stroke_mm: pin.stroke_mm });
    }
    placed
}

/// What stripping records on the way.
struct Run {
    /// Largest pull of every point hold and largest force on every pin, N.
    peaks_n: Vec<f64>,
    loads_n: Vec<f64>,
    /// Force on all pins against travel.
    force: Vec<(f64, f64)>,
}

impl Run {
    fn step<B: Beams>(&mut self, stepper: &Stepper<B>, travel_mm: f64) {
        let mut pulls = vec![0.0; self.peaks_n.len()];
        stepper.tug.points.iter().for_each(|spot| pulls[spot.law] += spot.pull_n());
        let mut loads = vec![0.0; self.loads_n.len()];
        stepper.tug.pushers.iter().for_each(|pusher| loads[pusher.pin] += pusher.force_n);
        let worst = |peaks: &mut [f64], now: &[f64]| {
            peaks.iter_mut().zip(now).for_each(|(peak, now)| *peak = peak.max(*now));
        };
        worst(&mut self.peaks_n, &pulls);
        worst(&mut self.loads_n, &loads);
        self.force.push((travel_mm, loads.iter().sum()));
    }
}

fn finish<B: Beams>(
    project: &Project,
    opened: &Opened<B>,
    stepper: &Stepper<B>,
    placed: &[Placed],
    still: &[bool],
    run: Run,
    from_mm: f64,
) -> Stripping {
    let points = &opened.setup.layout.points;
    let mut features: Vec<StripAt> = (0..points.len())
        .filter(|law| still[*law] && stepper.tug.laws[*law].rides.is_none())
        .filter_map(|law| stripped(stepper, &points[law], law, run.peaks_n[law], from_mm))
        .collect();
    features.sort_by(|a, b| {
        let at = |strip: &StripAt| strip.released_at_mm.unwrap_or(f64::INFINITY);
        at(a).total_cmp(&at(b))
    });
    let load = |(pin, &force_n): (&Placed, &f64)| {
        let ejector = project.ejectors.get(&pin.item);
        EjectorLoad {
            item: pin.item,
            force_n,
            pressure_mpa: force_n / (0.25 * std::f64::consts::PI * pin.diameter_mm.powi(2)),
            mark_mpa: ejector::mark_pressure_mpa(&project.material),
            buckling_mm: ejector::buckling_diameter_mm(force_n, ejector.map_or(0.0, |pin| pin.length_mm)),
        }
    };
    let ejectors: Vec<EjectorLoad> = placed.iter().zip(&run.loads_n).map(load).collect();
    let tears = points
        .iter()
        .enumerate()
        .any(|(law, entry)| still[law] && entry.hold.ending == Ending::Tears && !holds(stepper, law));
    let is_harmed =
        features.iter().any(|at| at.broke || (at.strain > at.allowed && at.released_at_mm.is_some()))
            || ejectors.iter().any(|load| load.pressure_mpa > load.mark_mpa);
    let outcome = if placed.is_empty() {
        StripOutcome::NoEjectors
    } else if tears || verdict::is_torn(stepper) {
        StripOutcome::Torn
    } else if verdict::hangs_on_moving(stepper) {
        StripOutcome::StaysOn
    } else if is_harmed {
        StripOutcome::Harmed
    } else {
        StripOutcome::ComesOff
    };
    let left = run::left(project, &opened.setup, stepper);
    Stripping {
        outcome,
        words: format!("The part {outcome}{}", riding(project, stepper, points, outcome)),
        features,
        ejectors,
        peak_n: run.force.iter().map(|point| point.1).fold(0.0, f64::max),
        force: run.force,
        bumps: left.bumps,
        flatness_mm: left.flatness_mm,
        residual: left.residual,
        effort: if placed.is_empty() { Effort::default() } else { stepper.effort },
    }
}

/// What is left to do about a part that rides on the grooves of ejectors, as the rest of a sentence.
fn riding<B: Beams>(
    project: &Project,
    stepper: &Stepper<B>,
    points: &[PointEntry],
    outcome: StripOutcome,
) -> String {
    let rides = |law: &usize| stepper.tug.laws[*law].rides.is_some() && holds(stepper, *law);
    let ids = (0..points.len()).filter(rides).filter_map(|law| points[law].name.what.item());
    let pins: Vec<Id> = ids.collect();
    if pins.is_empty() || !matches!(outcome, StripOutcome::ComesOff | StripOutcome::Harmed) {
        return String::new();
    }
    let is_crossed = |id: &Id| project.ejectors.get(id).is_some_and(|pin| pin.face == EjectorFace::Crossed);
    let how = if pins.iter().any(is_crossed) { "lift it off" } else { "slide it off along the grooves" };
    let tags: Vec<String> = pins.iter().map(|id| project.tag(*id)).collect();
    format!("; it rides on {}: {how}", tags.join(", "))
}

fn stripped<B: Beams>(
    stepper: &Stepper<B>,
    entry: &PointEntry,
    law: usize,
    force_n: f64,
    from_mm: f64,
) -> Option<StripAt> {
    let is_off = !holds(stepper, law);
    let spots = stepper.tug.points.iter().filter(|spot| spot.law == law);
    let gone_at_mm = spots.map(|spot| spot.gone_at_mm).fold(0.0, f64::max);
    // Plastic that shears off in the thread before the ring is pushed over it stretches the ring less.
    let case = |name: &str| entry.hold.cases.iter().find(|case| case.name == name).map(|case| case.force_n);
    let expand = case("expand").or_else(|| case("shear and expand"));
    let reached = match (expand, case("shear")) {
        (Some(expand_n), Some(shear_n)) if shear_n < expand_n => shear_n / expand_n,
        _ => 1.0,
    };
    Some(StripAt {
        item: entry.name.what.item()?,
        force_n,
        strain: reached * entry.hold.strip_strain,
        allowed: entry.hold.allowed_once,
        released_at_mm: is_off.then(|| (gone_at_mm - from_mm).max(0.0)),
        broke: is_off && entry.hold.ending == Ending::Breaks,
    })
}
