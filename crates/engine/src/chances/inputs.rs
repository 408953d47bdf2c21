//! The uncertain inputs of a project, and what a shot makes of them.

use keepside_model::{Half, Id, Project, Spread};

use crate::chances::draw::{Draw, Series};
use crate::opening::Factors;
use crate::opening::lean::Strengths;

/// What release agent leaves of the tack where a trial was shot with it and the project, which was drawn
/// without, does not say: the middle of the assumed range 0.2 to 0.5 by ratio.
const SPRAYED: f64 = 0.32;

/// Kinds of keying feature with an undercut, each of which fills in its own way.
const KINDS: [&str; 4] = ["set screw", "cap screw head", "turned head", "ringed post"];

/// An input that nobody knows exactly.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Input {
    /// Face tack; of one half if it scatters by itself.
    Tack(Option<Half>),
    /// Drag on channel walls.
    WallDrag(Option<Half>),
    /// Drag in all sprue bores, or in one.
    SprueDrag(Option<Id>),
    /// How far the undercuts of a kind of feature fill.
    Filled(&'static str),
    /// The same of a single feature.
    FilledAt(Id),
    /// Hot strength and stiffness.
    HotStrength,
    /// What release agent leaves.
    ReleaseAgent(Option<Half>),
}

impl Input {
    /// The input in the user's words.
    pub fn words(self, project: &Project) -> String {
        let of = |half: Option<Half>| half.map_or(String::new(), |half| format!(", {} half", half.word()));
        match self {
            Self::Tack(half) => format!("face tack{}", of(half)),
            Self::WallDrag(half) => format!("wall drag{}", of(half)),
            Self::SprueDrag(None) => "drag in sprue bores".to_owned(),
            Self::SprueDrag(Some(id)) => format!("drag in the bore of {}", project.tag(id)),
            Self::Filled(kind) => format!("how far a {kind} is filled"),
            Self::FilledAt(id) => format!("how far {} is filled", project.tag(id)),
            Self::HotStrength => "hot strength".to_owned(),
            Self::ReleaseAgent(half) => format!("release agent{}", of(half)),
        }
    }

    /// What its numbers are found by: the same whatever else the project has.
    fn key(self) -> u64 {
        let half = |half: Option<Half>| match half {
            None => 0,
            Some(Half::Fixed) => 1,
            Some(Half::Moving) => 2,
        };
        let (class, number) = match self {
            Self::Tack(of) => (0, half(of)),
            Self::WallDrag(of) => (1, half(of)),
            Self::SprueDrag(None) => (2, 0),
            Self::SprueDrag(Some(Id(id))) => (3, u64::from(id)),
            Self::Filled(kind) => (4, KINDS.iter().position(|word| *word == kind).unwrap_or(0) as u64),
            Self::FilledAt(Id(id)) => (5, u64::from(id)),
            Self::HotStrength => (6, 0),
            Self::ReleaseAgent(of) => (7, half(of)),
        };
        (class << 32) | number
    }
}

/// An input and how much it is spread: one axis of what is not known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Axis {
    pub(crate) input: Input,
    /// Standard deviation of its logarithm (of a thread's filled share: of its log odds).
    pub(crate) log_sd: f64,
}

/// Every uncertain input of a project: what is not known about the medians, and what scatters from shot to
/// shot.
#[derive(Clone, Debug)]
pub(crate) struct Axes {
    pub(crate) medians: Vec<Axis>,
    pub(crate) shots: Vec<Axis>,
}

/// How a shot is made, where that differs from what the project says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sprayed {
    /// Whether the moving half is sprayed with release agent.
    pub moving: bool,
    /// Whether the fixed half is.
    pub fixed: bool,
}

impl Sprayed {
    /// What the project assumes.
    pub fn of(project: &Project) -> Self {
        let holds = &project.holds;
        Self { moving: holds.release_factor_moving < 1.0, fixed: holds.release_factor_fixed < 1.0 }
    }

    /// The project with these halves sprayed and no others.
    pub fn applied(self, project: &Project) -> Project {
        let mut project = project.clone();
        let factor = |is_sprayed: bool, assumed: f64| {
            if !is_sprayed {
                1.0
            } else if assumed < 1.0 {
                assumed
            } else {
                SPRAYED
            }
        };
        let holds = &mut project.holds;
        holds.release_factor_moving = factor(self.moving, holds.release_factor_moving);
        holds.release_factor_fixed = factor(self.fixed, holds.release_factor_fixed);
        project
    }
}

impl Axes {
    pub(crate) fn of(project: &Project) -> Self {
        let scatter = &project.scatter;
        let (mut medians, mut shots) = (Vec::new(), Vec::new());
        let axis = |input, log_sd| Axis { input, log_sd };
        let halves = [Half::Moving, Half::Fixed];
        let mut both = |input: fn(Option<Half>) -> Input, of: Spread| {
            medians.push(axis(input(None), of.median));
            shots.extend(halves.map(|half| axis(input(Some(half)), of.shot)));
        };
        both(Input::Tack, scatter.tack);
        both(Input::WallDrag, scatter.wall_drag);
        medians.push(axis(Input::SprueDrag(None), scatter.sprue_drag.median));
        medians.extend(project.sprues.keys().map(|id| axis(Input::SprueDrag(Some(*id)), scatter.bore)));
        let of_shot = |id: &Id| axis(Input::SprueDrag(Some(*id)), scatter.sprue_drag.shot);
        shots.extend(project.sprues.keys().map(of_shot));
        let kinds = KINDS.iter().filter(|kind| project.features.values().any(|f| f.kind.word() == **kind));
        medians.extend(kinds.map(|kind| axis(Input::Filled(kind), scatter.filled.median)));
        let undercut = project.features.iter().filter(|(_, feature)| KINDS.contains(&feature.kind.word()));
        shots.extend(undercut.map(|(id, _)| axis(Input::FilledAt(*id), scatter.filled.shot)));
        medians.push(axis(Input::HotStrength, scatter.hot_strength.median));
        shots.push(axis(Input::HotStrength, scatter.hot_strength.shot));
        let sprayed = Sprayed::of(project);
        if sprayed.moving || sprayed.fixed {
            medians.push(axis(Input::ReleaseAgent(None), scatter.release_agent.median));
        }
        for (half, is_sprayed) in [(Half::Moving, sprayed.moving), (Half::Fixed, sprayed.fixed)] {
            if is_sprayed {
                shots.push(axis(Input::ReleaseAgent(Some(half)), scatter.release_agent.shot));
            }
        }
        let spread = |axes: Vec<Axis>| axes.into_iter().filter(|axis| axis.log_sd > 0.0).collect();
        Self { medians: spread(medians), shots: spread(shots) }
    }

    /// Standard normal numbers of a set of medians, one for each axis.
    pub(crate) fn draw_medians(&self, draw: &Draw, number: usize) -> Vec<f64> {
        self.medians.iter().map(|axis| draw.normal(Series::Medians, number, axis.input.key())).collect()
    }

    /// Standard normal numbers of a shot, one for each axis.
    pub(crate) fn draw_shot(&self, draw: &Draw, number: usize) -> Vec<f64> {
        self.shots.iter().map(|axis| draw.normal(Series::Shots, number, axis.input.key())).collect()
    }

    /// What a shot with these numbers makes of the project.
    pub(crate) fn strengths(&self, project: &Project, medians: &[f64], shot: &[f64]) -> Strengths {
        let mut project = project.clone();
        let mut factors = Factors::fixed(1.0);
        let mut sprues = vec![0.0; project.sprues.len()];
        let mut features = vec![0.0; project.features.len()];
        let of_medians = self.medians.iter().zip(medians);
        for (Axis { input, log_sd }, number) in of_medians.chain(self.shots.iter().zip(shot)) {
            let log = log_sd * number;
            let scale = log.exp();
            let halves = |half: Option<Half>| {
                [Half::Fixed, Half::Moving].map(|one| half.is_none_or(|half| half == one))
            };
            match *input {
                Input::Tack(half) => times(&mut factors.tack, halves(half), scale),
                Input::WallDrag(half) => times(&mut factors.wall, halves(half), scale),
                Input::SprueDrag(id) => {
                    for (of, sum) in project.sprues.keys().zip(&mut sprues) {
                        if id.is_none_or(|id| id == *of) {
                            *sum += log;
                        }
                    }
                }
                Input::Filled(kind) => {
                    for (feature, sum) in project.features.values().zip(&mut features) {
                        if feature.kind.word() == kind {
                            *sum += log;
                        }
                    }
                }
                Input::FilledAt(id) => {
                    for (of, sum) in project.features.keys().zip(&mut features) {
                        if id == *of {
                            *sum += log;
                        }
                    }
                }
                Input::HotStrength => {
                    project.material.modulus_hot_mpa *= scale;
                    project.material.yield_hot_mpa *= scale;
                }
                Input::ReleaseAgent(half) => {
                    let [fixed, moving] = halves(half);
                    let holds = &mut project.holds;
                    // Agent never makes a face stick more.
                    if fixed && holds.release_factor_fixed < 1.0 {
                        holds.release_factor_fixed = (holds.release_factor_fixed * scale).min(1.0);
                    }
                    if moving && holds.release_factor_moving < 1.0 {
                        holds.release_factor_moving = (holds.release_factor_moving * scale).min(1.0);
                    }
                }
            }
        }
        Strengths { project, factors, sprues, features }
    }
}

fn times(factors: &mut [f64; 2], which: [bool; 2], scale: f64) {
    for (factor, is_meant) in factors.iter_mut().zip(which) {
        if is_meant {
            *factor *= scale;
        }
    }
}
