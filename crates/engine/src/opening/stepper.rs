//! The march: small steps of the opening, each an equilibrium of the tug of war.
//!
//! Every step minimises the energy of part and holds plus a small viscous distance from the step
//! before (implicit Euler). Newton with the true tangent where that is positive definite, else with
//! secants of the softening holds, which cannot overshoot. Steps grow while they converge easily and
//! are cut when they do not, so that a sudden release is followed through and not jumped over.

use crate::beam::{Beams, Matrix};
use crate::opening::tug::{Balance, FIXED, MOVING, Moment, Tug, Work, index};
use crate::opening::{Cancel, Effort, NotComputed};

/// Limits and tolerances of the march.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pace {
    /// First step, mm.
    pub(crate) first_mm: f64,
    /// Longest step, mm.
    pub(crate) longest_mm: f64,
    /// Opening up to which the tack of both halves builds up to its peak, mm; taken in small steps.
    pub(crate) start_mm: f64,
    /// Step size relative to the product's.
    pub(crate) fineness: f64,
    /// Error of extrapolating the last step, mm, that a point may have in the open.
    pub(crate) error_mm: f64,
    /// The same for a point that is not clear of a tacky face yet.
    pub(crate) near_error_mm: f64,
    /// The same for the rotation of a node, rad.
    pub(crate) error_rad: f64,
    /// Largest motion in one step of a point on its way off a tacky face, mm.
    pub(crate) near_motion_mm: f64,
    /// Largest share of a wall's or point hold's travel to let-go in one step.
    pub(crate) curve_share: f64,
    /// Out-of-balance force on a node that counts as none, N.
    pub(crate) tolerance_n: f64,
    /// Times the permitted error at which a step is cut without being iterated to balance.
    pub(crate) hopeless: f64,
}

/// Largest update in one iteration, mm and rad: keeps a bad tangent from throwing the part away.
const UPDATE_CAP_MM: f64 = 1.0;
const UPDATE_CAP_RAD: f64 = 0.3;
/// So many iterations are taken with whole updates.
const FULL_ITERATIONS: usize = 4;
/// Slope of the energy at the end of an update over that at its start from which it has gone too far.
const OVERSHOT: f64 = 0.2;
/// Times the tolerance that still counts as balanced after the last iteration: a twenty-thousandth of
/// the strongest hold. Between two sides of a kink the iteration may go round in a circle that small.
const LAST_SLACK: f64 = 50.0;
/// Share of the slope at the start of an update above which its end is still as steep.
const STEEP: f64 = 0.5;
/// Largest lengthening of an update by secants.
const MOST_BOOST: f64 = 32.0;
/// A step that needs more iterations is cut.
const MOST_ITERATIONS: usize = 25;
/// A run that needs more linear solves, times elements, is given up: a usual one needs a thousand with
/// two hundred elements, and only numbers far from any mould's come near.
const MOST_ELEMENT_SOLVES: usize = 20_000_000;
/// What is left of a step that was not balanced.
const CUT: f64 = 0.3;
/// Iterations before a step may be called hopeless.
const HOPELESS_AFTER: usize = 2;
/// Opening over which the viscosity acts while the part comes to rest in the closed mould, mm: so long that
/// it hardly resists.
const REST_MM: f64 = 1.0;
/// Shortest step that is still tried, mm.
const SHORTEST_MM: f64 = 1e-9;

/// The state of a march.
#[derive(Clone)]
pub(crate) struct Stepper<B: Beams> {
    pub(crate) tug: Tug<B>,
    pub(crate) opening_mm: f64,
    pub(crate) now: Vec<f64>,
    pub(crate) work: Work,
    /// Work done on the part by the moving half, mJ.
    pub(crate) work_in_mj: f64,
    pub(crate) effort: Effort,
    step_mm: f64,
    pace: Pace,
    /// Travels, mm, at which walls, edges and faces let go of each half, shortest first.
    let_go_mm: [Vec<f64>; 2],
    before: Vec<f64>,
    balance: Balance<B>,
    /// Rotations of the nodes at the last accepted step.
    pub(crate) turns: B::Turns,
    /// Change of `now` per mm in the last step.
    rate: Vec<f64>,
    /// What that foretells for this one.
    foretold: Vec<f64>,
    /// Latest update of the iteration.
    change: Vec<f64>,
    moving_pull_n: f64,
}

impl<B: Beams> Stepper<B> {
    pub(crate) fn new(tug: Tug<B>, pace: Pace) -> Self {
        let size = tug.size();
        let laws = tug.laws.len();
        let elements = tug.beams.elements();
        let let_go_mm = [FIXED, MOVING].map(|half| let_go_travels(&tug, half));
        let mut turns = B::Turns::default();
        tug.beams.turns(&vec![0.0; size], &mut turns);
        Self {
            opening_mm: 0.0,
            turns,
            now: vec![0.0; size],
            work: Work { point: vec![0.0; laws], ..Work::default() },
            work_in_mj: 0.0,
            effort: Effort { elements, ..Effort::default() },
            step_mm: pace.first_mm,
            pace,
            before: vec![0.0; size],
            balance: Balance::new(&tug.beams),
            rate: vec![0.0; size],
            foretold: vec![0.0; size],
            change: vec![0.0; size],
            moving_pull_n: 0.0,
            let_go_mm,
            tug,
        }
    }

    /// Goes on from where it is at another pace, from the smallest step and from rest.
    pub(crate) fn resume(&mut self, pace: Pace) {
        self.pace = pace;
        self.step_mm = pace.first_mm;
        self.effort = Effort { elements: self.effort.elements, ..Effort::default() };
        self.rate.fill(0.0);
    }

    /// Goes on by one accepted step, not beyond `end_mm`. Returns whether the part tore in it.
    ///
    /// The step follows from how well the last one foretells the next: where motion is smooth it
    /// grows, where something lets go it shrinks until the motion is followed.
    pub(crate) fn advance(&mut self, end_mm: f64, cancel: &Cancel) -> Result<bool, NotComputed> {
        loop {
            if cancel.is_cancelled() {
                return Err(NotComputed::Cancelled);
            }
            if self.effort.solves * self.effort.elements > MOST_ELEMENT_SOLVES {
                return Err(NotComputed::Stuck { opening_mm: self.opening_mm });
            }
            let mut step = self.step_mm.min(end_mm - self.opening_mm);
            if self.opening_mm < self.pace.start_mm {
                step = step.min(0.05 * self.pace.start_mm * self.pace.fineness);
            }
            self.before.copy_from_slice(&self.now);
            for (foretold, (now, rate)) in self.foretold.iter_mut().zip(self.now.iter().zip(&self.rate)) {
                *foretold = now + rate * step;
            }
            self.now.copy_from_slice(&self.foretold);
            let iterations = self.converge(step);
            let error = iterations.map_or(f64::INFINITY, |_| self.error(step));
            if error <= 1.0 || (iterations.is_some() && step <= SHORTEST_MM) {
                let tore = self.accept(step);
                // Rounding must not leave a rest that is too short to be stepped over.
                if end_mm - self.opening_mm < SHORTEST_MM {
                    self.opening_mm = end_mm;
                }
                let growth = (0.8 / error.max(1e-6).sqrt()).clamp(0.3, 2.0);
                let growth = if iterations.is_some_and(|n| n > 8) { growth.min(1.0) } else { growth };
                if !tore && (step >= self.step_mm || growth < 1.0) {
                    self.step_mm = (step * growth).min(self.pace.longest_mm);
                }
                return Ok(tore);
            }
            self.now.copy_from_slice(&self.before);
            self.effort.cuts += 1;
            let shrink = if error.is_finite() { (0.8 / error.sqrt()).clamp(0.05, 0.5) } else { CUT };
            self.step_mm = shrink * step;
            if iterations.is_none() && self.step_mm < SHORTEST_MM {
                return Err(NotComputed::Stuck { opening_mm: self.opening_mm });
            }
        }
    }

    /// How much too coarse a step is: 1 is just permitted. Counts the error of the extrapolation and,
    /// for points on their way off a tacky face, how much of its travel one step takes.
    fn error(&self, step: f64) -> f64 {
        let gone_mm = self.tug.tack.gone_mm;
        let opening_mm = self.opening_mm + step;
        let mut worst = 0.0_f64;
        let nodes = self.now.chunks_exact(B::FREEDOMS).zip(self.foretold.chunks_exact(B::FREEDOMS));
        for ((now, foretold), before) in nodes.zip(self.before.chunks_exact(B::FREEDOMS)) {
            let z = now[B::Z];
            let from_moving = opening_mm - z;
            let is_near = z.min(from_moving) < 2.0 * gone_mm;
            let permitted = if is_near { self.pace.near_error_mm } else { self.pace.error_mm };
            for (i, (now, foretold)) in now.iter().zip(foretold).enumerate() {
                let permitted = if i > B::Z { self.pace.error_rad } else { permitted };
                worst = worst.max((now - foretold).abs() / permitted);
            }
            let by = z - before[B::Z];
            for ((gap, by), let_go_mm) in [(z, by), (from_moving, step - by)].into_iter().zip(&self.let_go_mm)
            {
                let before_mm = gap - by;
                let next_mm = let_go_mm.iter().find(|&&travel_mm| before_mm < travel_mm);
                let of_lines = next_mm.map_or(f64::INFINITY, |travel_mm| self.pace.curve_share * travel_mm);
                let limit =
                    if before_mm < gone_mm { self.pace.near_motion_mm.min(of_lines) } else { of_lines };
                if limit.is_infinite() {
                    continue;
                }
                worst = worst.max((by / limit).powi(2));
            }
        }
        for point in &self.tug.points {
            let law = &self.tug.laws[point.law];
            if point.slide.worst_mm < law.curve.let_go_travel_mm() {
                let now = self.tug.beams.place(&point.spot, &self.now, &self.balance.turns).z;
                let rise = now - point.z_before_mm;
                let opened = law.opening_mm(self.opening_mm + step) - law.opening_mm(self.opening_mm);
                let by = if index(law.half) == FIXED { rise } else { opened - rise };
                let limit = self.pace.curve_share * law.curve.let_go_travel_mm();
                worst = worst.max((by / limit).powi(2));
            }
        }
        worst
    }

    /// Iterates to equilibrium; the number of iterations, or `None` if there was none in time.
    fn converge(&mut self, step: f64) -> Option<usize> {
        let mut convex_next = false;
        let mut rescued = false;
        // Slope of the energy along the latest update before it was taken; none where it is not known.
        let mut slope_before = 0.0;
        // How many times as far as secants say the next update goes: they are on the safe side, and while
        // the energy goes on falling as steeply, far too much so.
        let mut boost = 1.0;
        for iteration in 0..MOST_ITERATIONS {
            let opening_mm = self.opening_mm + step;
            let mut convex = convex_next;
            let mut stiffened = 0.0;
            loop {
                let at = Moment { opening_mm, opened_by_mm: step, before: &self.before, now: &self.now };
                self.tug.assemble(at, convex, &mut self.balance);
                // In the end what is nearly balanced must do.
                let slack = if iteration + 1 == MOST_ITERATIONS { LAST_SLACK } else { 1.0 };
                if iteration > 0 && self.is_balanced(slack) {
                    self.effort.rescues += usize::from(rescued || !self.is_balanced(1.0));
                    return Some(iteration);
                }
                if slope_before > 0.0 {
                    let slope = dot(&self.balance.residual, &self.change);
                    let whole = slope_before;
                    slope_before = 0.0;
                    let may_turn_back = iteration > FULL_ITERATIONS || boost > 1.0;
                    boost =
                        if convex_next && slope > STEEP * whole { MOST_BOOST.min(2.0 * boost) } else { 1.0 };
                    if may_turn_back && slope < -OVERSHOT * whole {
                        // Beyond a kink of the energy: back to where it is least along the update.
                        B::step_back(&mut self.now, &self.change, slope / (whole - slope));
                        self.effort.solves += 1;
                        continue;
                    }
                }
                self.effort.solves += 1;
                if stiffened > 0.0 {
                    self.balance.matrix.stiffen(stiffened);
                }
                if convex {
                    stiffened = if stiffened > 0.0 { 100.0 * stiffened } else { 1e-12 };
                }
                match self.balance.matrix.factor() {
                    Ok(()) => break,
                    Err(_) if !convex => convex = true,
                    // Positive definite but for rounding: a part that hardly anything holds.
                    Err(_) if stiffened < 1e-4 => rescued = true,
                    Err(_) => return None,
                }
            }
            // Once softening decides, stay with secants for a while: they only go downhill.
            convex_next = convex && iteration % 4 != 3;
            self.change.copy_from_slice(&self.balance.residual);
            self.balance.matrix.solve(&mut self.change);
            if convex && boost > 1.0 {
                self.change.iter_mut().for_each(|change| *change *= boost);
            }
            self.update()?;
            let hopeless = self.pace.hopeless;
            let may_be_cut = hopeless.is_finite() && CUT * step > SHORTEST_MM;
            if may_be_cut && iteration + 1 >= HOPELESS_AFTER && self.error(step) > hopeless {
                return None;
            }
            slope_before = dot(&self.balance.residual, &self.change);
        }
        None
    }

    fn is_balanced(&self, slack: f64) -> bool {
        self.balance.residual.iter().all(|r| r.abs() <= slack * self.pace.tolerance_n)
    }

    /// Applies the solved update, shortened to the cap; `None` if it is not a number.
    fn update(&mut self) -> Option<()> {
        let mut worst = 1.0_f64;
        for (i, change) in self.change.iter().enumerate() {
            let cap = if i % B::FREEDOMS > B::Z { UPDATE_CAP_RAD } else { UPDATE_CAP_MM };
            if !change.is_finite() {
                return None;
            }
            worst = worst.max(change.abs() / cap);
        }
        if worst > 1.0 {
            self.change.iter_mut().for_each(|change| *change /= worst);
        }
        B::step_back(&mut self.now, &self.change, 1.0);
        Some(())
    }

    fn accept(&mut self, step: f64) -> bool {
        self.opening_mm += step;
        for ((rate, now), before) in self.rate.iter_mut().zip(&self.now).zip(&self.before) {
            *rate = (now - before) / step;
        }
        let at =
            Moment { opening_mm: self.opening_mm, opened_by_mm: step, before: &self.before, now: &self.now };
        // The last balance was struck at these very displacements.
        let turns = &self.balance.turns;
        let tore = self.tug.accept(at, turns, &mut self.work);
        let pull = self.tug.moving_pull(&self.now, turns, self.opening_mm);
        self.work_in_mj += 0.5 * (pull + self.moving_pull_n) * step;
        let change = self.tug.follow(at, turns);
        let dropped = self.tug.drop_lost(at, turns, tore, &mut self.work);
        self.moving_pull_n =
            if dropped { self.tug.moving_pull(&self.now, turns, self.opening_mm) } else { pull + change };
        self.turns.clone_from(&self.balance.turns);
        self.tug.beams.commit(&mut self.now, &self.turns);
        if tore {
            self.step_mm = self.pace.first_mm;
        }
        if dropped {
            self.drag_takes_over();
        }
        self.effort.steps += 1;
        tore
    }

    /// Begins a march: the part comes to rest in the closed mould under what pulls and presses there. What
    /// is not at rest then is the viscosity's to carry.
    pub(crate) fn begin(&mut self) {
        self.before.copy_from_slice(&self.now);
        self.opening_mm = -REST_MM;
        if self.converge(REST_MM).is_some() {
            self.accept(REST_MM);
            self.work = Work { point: vec![0.0; self.tug.laws.len()], ..Work::default() };
            self.rate.fill(0.0);
            self.work_in_mj = 0.0;
        } else {
            self.now.copy_from_slice(&self.before);
        }
        self.opening_mm = 0.0;
        self.drag_takes_over();
    }

    /// At a tear or a release forces vanish at once; in that instant the viscosity carries what they carried.
    fn drag_takes_over(&mut self) {
        let at = Moment { opening_mm: self.opening_mm, opened_by_mm: 1.0, before: &self.now, now: &self.now };
        self.tug.assemble(at, true, &mut self.balance);
        self.balance.turns.clone_from(&self.turns);
        for i in 0..self.balance.residual.len() {
            self.tug.drag_before[i] = self.tug.viscous_force(i, at) - self.balance.residual[i];
        }
    }

    /// Energy stored now in the part, in contact and in the sideways locks, mJ.
    pub(crate) fn stored_mj(&self) -> f64 {
        self.tug.stored_mj(&self.now, &self.turns, self.opening_mm)
            + self.tug.beams.stored_mj(&self.now, &self.turns)
    }
}

/// Travels at which what holds a half along the part lets go, shortest first; of those that differ by less
/// than a tenth only one.
fn let_go_travels<B: Beams>(tug: &Tug<B>, half: usize) -> Vec<f64> {
    let walls = tug.lines.iter().map(|line| line.faces[half].wall).filter(|wall| wall.peak_n > 0.0);
    let extras = tug.extras.iter().filter(|extra| extra.half == half);
    let extras = extras.map(|extra| tug.curves[extra.curve].let_go_travel_mm());
    let mut travels: Vec<f64> = walls.map(|wall| wall.gone_mm).chain(extras).collect();
    travels.sort_unstable_by(f64::total_cmp);
    travels.dedup_by(|next, kept| *next < 1.1 * *kept);
    travels
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
