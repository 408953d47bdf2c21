//! An opening run that is done many times over: one layout and mesh, other strengths every time, stopped as
//! soon as it is decided who keeps the part.

use keepside_model::{FeatureKind, Half, HoldInputs, Id, Project};

use crate::beam::{Beams, Chain, Space};
use crate::hold::{self, PointHold};
use crate::opening::result::{BumpAt, HoldState, Outcome, Stretch};
use crate::opening::run::{self, Record};
use crate::opening::setup::{Build, Factors, Fineness, Layout, Setup};
use crate::opening::shrink::Kept;
use crate::opening::stepper::Stepper;
use crate::opening::tug::{FIXED, MOVING, index};
use crate::opening::{Cancel, HoldName, NotComputed, What, verdict};

/// How strong everything is in one shot.
#[derive(Clone, Debug)]
pub(crate) struct Strengths {
    /// The project with the material and the assumed holds of this shot.
    pub(crate) project: Project,
    /// What they do not say.
    pub(crate) factors: Factors,
    /// Logarithm of what the drag of each sprue is multiplied with, in the order of ids.
    pub(crate) sprues: Vec<f64>,
    /// By how much the log odds of the filled share of each feature's thread are moved, in the order of ids;
    /// of one without a thread, the logarithm of what its pull is multiplied with.
    pub(crate) features: Vec<f64>,
}

/// What is told of one shot.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Shot {
    pub(crate) outcome: Outcome,
    /// Sprues and features that broke, ascending.
    pub(crate) broke: Vec<Id>,
    pub(crate) bumps: Vec<BumpAt>,
    pub(crate) flatness_mm: f64,
    pub(crate) stretches: Vec<Stretch>,
}

/// How carefully a shot is computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Care {
    /// A fifth of the elements, an eighth of the steps and a coarser balance, up to where it is decided who
    /// keeps the part. Nearly all shots end as with full care: see the checks.
    Lean,
    /// As carefully as the product opens the mould once, to the full stroke.
    Full,
}

/// Of lean shots, how many times as far out of balance a node may be,
const TOLERANCE: f64 = 1000.0;
/// how many times as coarsely points are followed off a tacky face,
const NEAR: f64 = 3.0;
/// and how many times the permitted error a step is given up at before it is balanced.
const HOPELESS: f64 = 2.0;

impl Care {
    const fn fineness(self) -> Fineness {
        match self {
            Self::Lean => Fineness { mesh: 0.2, step: 8.0, viscosity: 1.0 },
            Self::Full => Fineness { mesh: 1.0, step: 1.0, viscosity: 1.0 },
        }
    }
}

/// A layout cut into its mesh once.
#[derive(Clone, Debug)]
pub(crate) struct Lean {
    layout: Layout,
    care: Care,
}

impl Lean {
    pub(crate) fn new(project: &Project, care: Care) -> Result<Self, NotComputed> {
        Ok(Self { layout: Layout::new(project, care.fineness())?, care })
    }

    /// Whether the plastic bears being pushed over every undercut of the moving half once. Off the grooves of
    /// an ejector the part is slid.
    pub(crate) fn strips(&self) -> bool {
        let is_stripped = |name: HoldName| name.half == Half::Moving && matches!(name.what, What::Feature(_));
        let moving = self.layout.points.iter().filter(|point| is_stripped(point.name));
        moving.map(|point| &point.hold).all(|hold| hold.strip_strain <= hold.allowed_once)
    }

    /// Opens the mould once.
    pub(crate) fn shoot(&self, strengths: &mut Strengths, cancel: &Cancel) -> Result<Shot, NotComputed> {
        let mut layout = self.layout.clone();
        for point in &mut layout.points {
            if let Some(hold) = hold_now(strengths, point.name.what, point.section) {
                point.hold = hold;
            }
        }
        if layout.is_plane {
            march::<Chain>(strengths, layout, self.care, cancel)
        } else {
            march::<Space>(strengths, layout, self.care, cancel)
        }
    }
}

/// The hold that an item makes in this shot; `None` for what no item makes.
fn hold_now(
    Strengths { project, sprues, features, .. }: &mut Strengths,
    what: What,
    section: hold::ChannelSection,
) -> Option<PointHold> {
    let scaled = |hold: PointHold, factor: f64| {
        let curve = if factor == 1.0 { hold.curve } else { hold.curve.scaled(factor) };
        PointHold { curve, ..hold }
    };
    match what {
        What::Sprue(id) => {
            let sprue = project.sprues.get(&id)?;
            let nth = project.sprues.range(..id).count();
            let factor = sprues.get(nth).copied().unwrap_or(0.0).exp();
            if sprue.measured.is_some() {
                return Some(scaled(hold::sprue(project, sprue), factor));
            }
            let HoldInputs { sprue_drag_turned_mpa: turned, sprue_drag_polished_mpa: polished, .. } =
                project.holds;
            let sprue = sprue.clone();
            project.holds.sprue_drag_turned_mpa = factor * turned;
            project.holds.sprue_drag_polished_mpa = factor * polished;
            let hold = hold::sprue(project, &sprue);
            project.holds.sprue_drag_turned_mpa = turned;
            project.holds.sprue_drag_polished_mpa = polished;
            Some(hold)
        }
        What::Feature(id) => {
            let feature = project.features.get(&id)?.clone();
            let nth = project.features.range(..id).count();
            let moved = features.get(nth).copied().unwrap_or(0.0);
            if !matches!(feature.kind, FeatureKind::SetScrew { .. }) {
                return Some(scaled(hold::feature(project, &feature, section), moved.exp()));
            }
            let share = project.holds.thread_filled_share;
            let now = moved_share(share, moved);
            // A measured curve was measured with the thread as it fills in the middle.
            let factor = if feature.measured.is_some() && share > 0.0 { now / share } else { 1.0 };
            project.holds.thread_filled_share = now;
            let hold = hold::feature(project, &feature, section);
            project.holds.thread_filled_share = share;
            Some(scaled(hold, factor))
        }
        What::Ejector(id) => Some(hold::ejector_face(project, project.ejectors.get(&id)?, section)),
        What::Tack | What::WallDrag | What::Edge | What::Vacuum => None,
    }
}

/// The share of a thread that is filled when its log odds are moved.
pub(crate) fn moved_share(share: f64, by_log_odds: f64) -> f64 {
    if share <= 0.0 || share >= 1.0 {
        return share;
    }
    let odds = share / (1.0 - share) * by_log_odds.exp();
    odds / (1.0 + odds)
}

fn march<B: Build + Kept>(
    Strengths { project, factors, .. }: &Strengths,
    layout: Layout,
    care: Care,
    cancel: &Cancel,
) -> Result<Shot, NotComputed> {
    let fineness = care.fineness();
    let setup = Setup::<B>::new(project, layout, fineness, factors);
    let mut pace = run::pace(&setup, fineness, setup.stroke_mm);
    if care == Care::Lean {
        pace.tolerance_n *= TOLERANCE;
        pace.near_error_mm *= NEAR;
        pace.near_motion_mm *= NEAR;
        pace.hopeless = HOPELESS;
    }
    let mut stepper = Stepper::new(setup.tug.clone(), pace);
    stepper.begin();
    while stepper.opening_mm < setup.stroke_mm {
        let tore = stepper.advance(setup.stroke_mm, cancel)?;
        if care == Care::Lean && ((tore && verdict::is_torn(&stepper)) || is_decided(&stepper)) {
            break;
        }
    }
    let mut record = Record::new(&setup);
    record.points(&setup, &stepper);
    let left = run::left(project, &setup, &stepper);
    let mut broke: Vec<Id> = record.holds[record.lines..]
        .iter()
        .filter(|hold| matches!(hold.state, HoldState::Broke { .. }))
        .filter_map(|hold| hold.name.what.item())
        .collect();
    broke.sort_unstable();
    Ok(Shot {
        outcome: verdict::outcome(&setup, &stepper, &record),
        broke,
        bumps: left.bumps,
        flatness_mm: left.flatness_mm,
        stretches: verdict::stretches(&setup, &stepper),
    })
}

/// Whether one half holds nothing of the part any more: damage is never undone, so the other half keeps it.
fn is_decided<B: Beams>(stepper: &Stepper<B>) -> bool {
    let tug = &stepper.tug;
    let holds = |half: usize| {
        tug.points.iter().any(|point| {
            let law = &tug.laws[point.law];
            let is_of_half = index(law.half) == half && law.curve.peak_n() > 0.0;
            is_of_half && point.slide.worst_mm < law.curve.let_go_travel_mm()
        }) || tug.lines.iter().any(|line| {
            let face = &line.faces[half];
            (face.tack_n_mm > 0.0 && face.tack_worst_mm < tug.tack.gone_mm)
                || (face.wall.peak_n > 0.0 && face.wall_slide.worst_mm < face.wall.gone_mm)
        }) || tug.extras.iter().any(|extra| {
            extra.half == half && extra.slide.worst_mm < tug.curves[extra.curve].let_go_travel_mm()
        })
    };
    !(holds(FIXED) && holds(MOVING))
}

/// Whether losing the hold of an item of this half is a fault: what breaks off there stays.
pub(crate) fn is_fault(project: &Project, id: Id) -> bool {
    let half = project.features.get(&id).map(|feature| feature.half);
    let half = half.or(project.ejectors.get(&id).map(|_| Half::Moving));
    half == Some(Half::Moving)
}
