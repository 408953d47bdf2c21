//! Many shots of one layout: sets of medians, and shots of each.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;
use std::thread;

use keepside_model::Project;

use crate::chances::draw::{Draw, Series};
use crate::chances::inputs::Axes;
use crate::opening::lean::{Care, Lean, Shot, is_fault};
use crate::opening::{Cancel, NotComputed, Outcome};

/// How many shots, and by what chance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plan {
    /// Names the numbers drawn by chance: the same seed gives the same answer.
    pub seed: u64,
    /// Sets of medians, 1 or more: what is not known.
    pub medians: usize,
    /// Shots of each set, 1 or more: what scatters.
    pub shots_each: usize,
    /// Threads to use, 1 or more; they make no difference to the answer.
    pub threads: usize,
}

impl Default for Plan {
    /// 250 sets of medians, eight shots of each, on one thread.
    fn default() -> Self {
        Self { seed: 1, medians: 250, shots_each: 8, threads: 1 }
    }
}

impl Plan {
    /// All shots.
    pub const fn shots(&self) -> usize {
        self.medians * self.shots_each
    }

    /// Which set of medians a shot belongs to. First comes one shot of each set, then a second, and so on.
    pub(crate) const fn medians_of(&self, shot: usize) -> usize {
        shot % self.medians
    }
}

/// How a shot ends, the worst that befell it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ShotEnd {
    /// Whole on the moving half, nothing broken there, no bump over the limit.
    Good,
    /// Good but for a bump at a gate that is taller than the limit.
    Bump,
    /// On the moving half, but plastic has broken off in one of its features.
    BrokenPlug,
    /// Whole on the fixed half.
    Fixed,
    /// Fallen free.
    Free,
    /// Torn, with pieces on both halves or loose.
    Split,
    /// Between both halves at full stroke.
    Jam,
    /// The run could not be computed.
    NotComputed,
}

impl ShotEnd {
    /// All of them, best first.
    pub const ALL: [Self; 8] = [
        Self::Good,
        Self::Bump,
        Self::BrokenPlug,
        Self::Fixed,
        Self::Free,
        Self::Split,
        Self::Jam,
        Self::NotComputed,
    ];

    /// The end in the user's words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Good => "ends well",
            Self::Bump => "bump over the limit",
            Self::BrokenPlug => "plug broken off in the moving half",
            Self::Fixed => "stays on the fixed half",
            Self::Free => "falls free",
            Self::Split => "split",
            Self::Jam => "jam",
            Self::NotComputed => "not computed",
        }
    }

    /// How a shot of this project ended.
    pub(crate) fn of(project: &Project, shot: &Shot) -> Self {
        match shot.outcome {
            Outcome::Torn => Self::Split,
            Outcome::Bridges => Self::Jam,
            Outcome::StaysOnFixed => Self::Fixed,
            Outcome::FallsFree => Self::Free,
            Outcome::StaysOnMoving if shot.broke.iter().any(|id| is_fault(project, *id)) => Self::BrokenPlug,
            Outcome::StaysOnMoving if bump_mm(project, shot) > project.limits.bump_mm => Self::Bump,
            Outcome::StaysOnMoving => Self::Good,
        }
    }
}

/// The tallest bump at a gate, mm.
pub(crate) fn bump_mm(project: &Project, shot: &Shot) -> f64 {
    let gates = shot.bumps.iter().filter(|bump| project.sprues.contains_key(&bump.item));
    gates.map(|bump| bump.height_mm.abs()).fold(0.0, f64::max)
}

/// A shot that was computed.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Fired {
    pub(crate) end: ShotEnd,
    pub(crate) bump_mm: f64,
    /// What came of it; `None` if it could not be computed.
    pub(crate) shot: Option<Shot>,
}

/// A layout made ready to be shot many times.
#[derive(Clone, Debug)]
pub(crate) struct Range {
    pub(crate) project: Project,
    pub(crate) axes: Axes,
    lean: Lean,
    draw: Draw,
    plan: Plan,
}

impl Range {
    /// # Errors
    ///
    /// As [`crate::opening::run`].
    pub(crate) fn new(project: &Project, plan: Plan, care: Care) -> Result<Self, NotComputed> {
        // What no run asks for need not be copied for every shot.
        let (trials, variants, remarks) = Default::default();
        let project = Project { trials, variants, remarks, ..project.clone() };
        let lean = Lean::new(&project, care)?;
        Ok(Self { axes: Axes::of(&project), lean, draw: Draw::new(plan.seed), plan, project })
    }

    /// Whether the plastic bears being pushed over every undercut of the moving half once, as assumed.
    pub(crate) fn strips(&self) -> bool {
        self.lean.strips()
    }

    /// The numbers of a shot: those of its medians and its own.
    pub(crate) fn numbers(&self, shot: usize) -> (Vec<f64>, Vec<f64>) {
        (self.medians(self.plan.medians_of(shot)), self.own(shot))
    }

    /// The numbers of a set of medians.
    pub(crate) fn medians(&self, set: usize) -> Vec<f64> {
        self.axes.draw_medians(&self.draw, set)
    }

    /// The numbers by which a shot differs from its medians.
    pub(crate) fn own(&self, shot: usize) -> Vec<f64> {
        self.axes.draw_shot(&self.draw, shot)
    }

    /// A standard normal number for something else about a shot.
    pub(crate) fn chance(&self, shot: usize, key: u64) -> f64 {
        // Beyond the classes of inputs.
        self.draw.normal(Series::Shots, shot, (1 << 40) | key)
    }

    /// Computes one shot; `None` if cancelled.
    pub(crate) fn fire(&self, shot: usize, cancel: &Cancel) -> Option<Fired> {
        let (medians, own) = self.numbers(shot);
        self.fire_with(&medians, &own, cancel)
    }

    /// Computes a shot of these numbers; `None` if cancelled.
    pub(crate) fn fire_with(&self, medians: &[f64], own: &[f64], cancel: &Cancel) -> Option<Fired> {
        let mut strengths = self.axes.strengths(&self.project, medians, own);
        match self.lean.shoot(&mut strengths, cancel) {
            Ok(shot) => {
                let end = ShotEnd::of(&self.project, &shot);
                Some(Fired { end, bump_mm: bump_mm(&self.project, &shot), shot: Some(shot) })
            }
            Err(NotComputed::Cancelled) => None,
            Err(_) => Some(Fired { end: ShotEnd::NotComputed, bump_mm: 0.0, shot: None }),
        }
    }

    /// Computes all shots of the plan on its threads, and hands those that are complete from the first on to
    /// `so_far` whenever there are enough more of them. Stops early when `cancel` is set.
    pub(crate) fn fire_all(&self, cancel: &Cancel, so_far: &mut dyn FnMut(&[Fired])) -> Vec<Fired> {
        let count = self.plan.shots();
        let next = AtomicUsize::new(0);
        let (report, reports) = mpsc::channel();
        let mut waiting: Vec<Option<Fired>> = vec![None; count];
        let mut fired: Vec<Fired> = Vec::with_capacity(count);
        let mut due = FIRST_TOLD;
        thread::scope(|scope| {
            for _ in 0..self.plan.threads.clamp(1, count.max(1)) {
                let report = report.clone();
                let next = &next;
                scope.spawn(move || {
                    loop {
                        let shot = next.fetch_add(1, Ordering::Relaxed);
                        if shot >= count || cancel.is_cancelled() {
                            return;
                        }
                        let Some(one) = self.fire(shot, cancel) else { return };
                        if report.send((shot, one)).is_err() {
                            return;
                        }
                    }
                });
            }
            drop(report);
            for (shot, one) in reports {
                waiting[shot] = Some(one);
                while let Some(one) = waiting.get_mut(fired.len()).and_then(Option::take) {
                    fired.push(one);
                    // Told at fixed counts, so that what is told is the same on any number of threads.
                    if fired.len() == due && due < count {
                        so_far(&fired);
                        due = due + due / 8 + 1;
                    }
                }
            }
        });
        fired
    }
}

/// Shots after which a first figure is told.
const FIRST_TOLD: usize = 8;
