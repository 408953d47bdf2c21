//! The opening run against a general frame library on five parts, straight and branched.
//!
//! Models, the library's results and the script that made them stand in `tests/oracle/frames`:
//! displacement-based fibre beams in co-rotational chords, solved as a slow transient with the same
//! small viscosity. Tack, contact and holds act at the nodes, tack along the opening only.

mod model;
mod upright;

use crate::beam::{Beams, Chain, ChannelShape, PlaneElement, PlasticLaw, Section, Space, SpaceElement};
use crate::hold::Curve;
use crate::opening::law::TackLaw;
use crate::opening::spot::{Face, LineSpot, PointLaw, PointSpot};
use crate::opening::stepper::{Pace, Stepper};
use crate::opening::tug::{FIXED, MOVING, Tug};
use crate::opening::{Cancel, Effort};
use keepside_model::Half;
use model::{Model, Recorded};
use upright::Upright;

/// Differences to the library that are allowed, as a share: of a force its peak, of a height or travel
/// the largest height.
const ALLOWED: f64 = 0.02;

/// What can be built from a model file.
trait Build: Beams {
    const FORM: &str;
    fn build(model: &Model) -> Self;
}

fn law(model: &Model) -> PlasticLaw {
    PlasticLaw {
        modulus_mpa: model.modulus_mpa,
        yield_mpa: model.yield_mpa,
        kinematic_mpa: model.modulus_mpa * model.ratio / (1.0 - model.ratio),
        break_strain: f64::INFINITY,
    }
}

fn section(model: &Model, width_mm: f64, depth_mm: f64) -> Section {
    Section {
        torsion_mm4: model.torsion * width_mm.max(depth_mm) * width_mm.min(depth_mm).powi(3),
        // The models' torsion stays elastic.
        torsion_plastic_mm3: f64::INFINITY,
        ..Section::new(&ChannelShape::rectangle(width_mm, depth_mm))
    }
}

impl Build for Chain {
    const FORM: &str = "plane";

    fn build(model: &Model) -> Self {
        let along_mm: Vec<f64> = model.nodes.iter().map(|node| node.x).collect();
        let elements = model.beams.iter().map(|&(from, to, width_mm, depth_mm)| {
            assert_eq!(from + 1, to, "a chain joins neighbours");
            PlaneElement::new(along_mm[to] - along_mm[from], section(model, width_mm, depth_mm), law(model))
        });
        let elements = elements.collect();
        Self { along_mm, elements }
    }
}

impl Build for Space {
    const FORM: &str = "space";

    fn build(model: &Model) -> Self {
        let elements = model.beams.iter().map(|&(from, to, width_mm, depth_mm)| {
            let length_mm = model.nodes[from].distance(model.nodes[to]);
            let section = section(model, width_mm, depth_mm);
            (from, to, SpaceElement::new(length_mm, section, law(model), model.poisson))
        });
        Self::new(model.nodes.clone(), elements.collect())
    }
}

/// The model's equations: tack, contact and holds at its nodes.
fn tug<B: Build>(model: &Model) -> Tug<Upright<B>> {
    let beams = Upright(B::build(model));
    let spot = |node: usize| {
        let (element, place) = model.element_at(node);
        beams.spot(element, place, 0.0)
    };
    let mut lines: Vec<_> = (0..model.nodes.len())
        .map(|node| LineSpot {
            spot: spot(node),
            faces: [Face::default(); 2],
            contact_n_mm: 0.0,
            length_mm: 0.0,
        })
        .collect();
    for bed in &model.beds {
        lines[bed.node].faces[bed.half].tack_n_mm = bed.tack_n_mm;
        lines[bed.node].contact_n_mm = bed.contact_n_mm;
    }
    let (mut laws, mut points) = (Vec::new(), Vec::new());
    for hold in &model.holds {
        let curve = Curve::new(hold.curve.clone()).unwrap();
        points.push(PointSpot::new(spot(hold.node), laws.len(), 1.0));
        laws.push(PointLaw {
            half: if hold.half == FIXED { Half::Fixed } else { Half::Moving },
            stiffness_n_mm: curve.initial_stiffness_n_mm(),
            curve,
            lateral_n_mm: 0.0,
            lateral_limit_n: 0.0,
            friction: 0.0,
            rides: None,
        });
    }
    for &(node, stiffness_n_mm) in &model.sides {
        let mut spot = spot(node);
        spot.is_sideways = true;
        points.push(PointSpot::new(spot, laws.len(), 1.0));
        // A hold that never lets go and has no pull.
        laws.push(PointLaw {
            half: Half::Fixed,
            curve: Curve::triangle(0.0, 1e8, 1e9),
            stiffness_n_mm: 0.0,
            lateral_n_mm: stiffness_n_mm,
            lateral_limit_n: f64::INFINITY,
            friction: 0.0,
            rides: None,
        });
    }
    let drag = |(moves, turns): &(f64, f64)| {
        (0..B::FREEDOMS).map(|i| if i > B::Z { *turns } else { *moves }).collect::<Vec<_>>()
    };
    let viscosity: Vec<f64> = model.drags.iter().flat_map(drag).collect();
    let none = vec![0.0; viscosity.len()];
    Tug {
        beams,
        tack: TackLaw::bilinear(model.rise_mm, model.gone_mm),
        lines,
        extras: Vec::new(),
        curves: Vec::new(),
        guides: Vec::new(),
        laws,
        points,
        pushers: Vec::new(),
        sides: Vec::new(),
        viscosity,
        jumps: vec![false; none.len() / B::FREEDOMS],
        drag_before: none.clone(),
        load: none,
    }
}

/// The product's pace.
fn pace(model: &Model) -> Pace {
    let peak_n = model.holds.iter().flat_map(|hold| &hold.curve).map(|point| point.1).fold(0.0, f64::max);
    Pace {
        first_mm: 1e-3,
        longest_mm: model.stroke_mm / 40.0,
        start_mm: 0.5 * model.gone_mm,
        fineness: 1.0,
        error_mm: 0.02,
        near_error_mm: 0.1 * model.gone_mm,
        near_motion_mm: 0.1 * model.gone_mm,
        curve_share: 0.1,
        error_rad: 0.005,
        tolerance_n: 1e-6 * peak_n,
        hopeless: f64::INFINITY,
    }
}

/// Net pull of each half, then the pull of every hold.
fn forces<B: Build>(stepper: &Stepper<Upright<B>>, model: &Model) -> Vec<f64> {
    let tug = &stepper.tug;
    let mut forces = vec![0.0; 2];
    for line in &tug.lines {
        let z = tug.beams.place(&line.spot, &stepper.now, &stepper.turns).z;
        for (half, gap_mm) in [(FIXED, z), (MOVING, stepper.opening_mm - z)] {
            forces[half] += line.faces[half].tack_pull_n + line.contact_n_mm * gap_mm.min(0.0);
        }
    }
    for (point, hold) in tug.points.iter().zip(&model.holds) {
        forces[hold.half] += point.pull_n();
    }
    forces.extend(tug.points[..model.holds.len()].iter().map(PointSpot::pull_n));
    forces
}

/// A run: peaks of all forces, and forces and heights at the recorded openings.
struct Run {
    peaks: Vec<f64>,
    states: Vec<(Vec<f64>, Vec<f64>)>,
    effort: Effort,
}

fn run<B: Build>(model: &Model, recorded: &Recorded) -> Run {
    let mut stepper = Stepper::new(tug::<B>(model), pace(model));
    let (mut peaks, mut states) = (vec![0.0_f64; 2 + model.holds.len()], Vec::new());
    for row in &recorded.rows {
        while stepper.opening_mm < row[0] {
            stepper.advance(row[0], &Cancel::default()).unwrap();
            for (peak, force) in peaks.iter_mut().zip(forces(&stepper, model)) {
                *peak = peak.max(force);
            }
        }
        let heights = (0..model.nodes.len()).map(|node| B::shift(&stepper.now, node).z).collect();
        states.push((forces(&stepper, model), heights));
    }
    Run { peaks, states, effort: stepper.effort }
}

/// Runs a model and compares it with what the library makes of it. What it costs is measured by
/// `tests/oracle/frames/frames.py compare`, for both sides alike.
fn check<B: Build>(name: &str, text: &str) {
    let model = Model::read(text);
    let recorded = Recorded::read(include_str!("../../../../../tests/oracle/frames/results.csv"), name);
    let Run { peaks, states, effort } = run::<B>(&model, &recorded);
    println!(
        "frames: {name} in {} form: {} steps, {} solves, {} cuts; the library: {} solves, {} with steps that \
         serve for 1 %",
        B::FORM,
        effort.steps,
        effort.solves,
        effort.cuts,
        recorded.solves,
        recorded.quick_solves
    );

    let names: Vec<String> = ["pull fixed".to_owned(), "pull moving".to_owned()]
        .into_iter()
        .chain(model.holds.iter().map(|hold| format!("force {}", hold.name)))
        .collect();
    let top_mm = states.iter().flat_map(|state| &state.1).copied().fold(0.0, f64::max);
    let mut worst = (0.0, String::new());
    let mut compare = |what: String, got: f64, wanted: f64, scale: f64| {
        let off = (got - wanted).abs() / scale;
        if off > worst.0 {
            worst = (off, format!("{what}: {got:.5}, the library {wanted:.5}"));
        }
    };
    for (row, (forces, heights)) in recorded.rows.iter().zip(&states) {
        for (column, wanted) in recorded.columns.iter().zip(&row[1..]) {
            let what = format!("{column} at {} mm", row[0]);
            let (kind, which) = column.split_once(' ').unwrap();
            match kind {
                "z" => compare(what, heights[which.parse::<usize>().unwrap()], *wanted, top_mm),
                "travel" => {
                    let hold = model.holds.iter().find(|hold| hold.name == which).unwrap();
                    let z = heights[hold.node];
                    let travel = if hold.half == FIXED { z } else { row[0] - z };
                    compare(what, travel, *wanted, top_mm);
                }
                _ => {
                    let i = names.iter().position(|name| name == column).unwrap();
                    compare(what, forces[i], *wanted, recorded.peaks[column]);
                }
            }
        }
    }
    for (name, peak) in names.iter().zip(&peaks) {
        compare(format!("peak {name}"), *peak, recorded.peaks[name], recorded.peaks[name]);
    }
    let (off, what) = worst;
    println!("largest difference {:.2} %: {what}", 100.0 * off);
    assert!(off <= ALLOWED, "{name}, {} form: {what}", B::FORM);
    assert_eq!(model.is_straight(), name.starts_with("strip"));
}

macro_rules! model {
    ($name:literal) => {
        include_str!(concat!("../../../../../tests/oracle/frames/", $name, ".csv"))
    };
}

#[test]
fn a_strip_that_follows_two_sprues_and_is_flanked_by_pins() {
    check::<Chain>("strip_held", model!("strip_held"));
}

#[test]
fn an_elastic_strip_that_is_peeled_off_the_moving_half() {
    check::<Chain>("strip_peeled", model!("strip_peeled"));
}

#[test]
fn a_strip_that_lies_bent_between_both_halves() {
    check::<Chain>("strip_bridging", model!("strip_bridging"));
}

#[test]
fn the_same_strip_computed_in_space() {
    check::<Space>("strip_bridging", model!("strip_bridging"));
}

#[test]
fn a_bar_twisted_by_its_stems() {
    check::<Space>("two_stems", model!("two_stems"));
}

#[test]
fn three_arms_that_yield() {
    check::<Space>("three_arms", model!("three_arms"));
}
