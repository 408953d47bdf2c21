//! Made-up workshops whose truth is known: does what is learned there hold it as often as it says?

use keepside_model::{Id, Project, Trial};

use crate::chances::{Axis, Input, Plan, Range, Sprayed};
use crate::learning::posterior::{self, Setting};
use crate::learning::{Progress, Way, axes, seen};
use crate::opening::lean::{Care, Shot};
use crate::opening::{Cancel, NotComputed};

/// How often the 90 % range of an input held the truth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coverage {
    /// The input.
    pub input: Input,
    /// Workshops in which the range held the truth, and workshops in all.
    pub held: (usize, usize),
    /// By how much the range had narrowed, 0 to 1, on average.
    pub learned: f64,
}

/// Makes up so many workshops, each with its own truth drawn as the project believes, lets each shoot a
/// project `shots` times, half of them as the project says and half with release agent on both halves, has
/// what a card would say of every shot written down, bumps with an error of measuring, and learns from that.
///
/// Simulation-based calibration: S. Talts and others, arXiv 1804.06788 (2018), from memory.
///
/// # Errors
///
/// As [`crate::learning::learn`].
pub fn workshops(
    project: &Project,
    plan: Plan,
    count: usize,
    shots: usize,
    cancel: &Cancel,
    progress: &mut dyn FnMut(Progress),
) -> Result<Vec<Coverage>, NotComputed> {
    let sprayed = Sprayed { moving: true, fixed: true }.applied(project);
    let mut ways = Vec::new();
    let whole = 2 * plan.shots() + count;
    for (index, project) in [project.clone(), sprayed].into_iter().enumerate() {
        let range = Range::new(&project, plan, Care::Lean)?;
        let done = index * plan.shots();
        let fired = range.fire_all(cancel, &mut |fired| progress((done + fired.len(), whole)));
        ways.push(Way { project, range, fired });
    }
    let (axes, numbers) = axes(&plan, &ways);
    let mut coverage: Vec<Coverage> =
        axes.iter().map(|axis| Coverage { input: axis.input, held: (0, 0), learned: 0.0 }).collect();
    for workshop in 0..count {
        let Some(log) = log_of(&plan, &ways, workshop, shots, cancel) else {
            return Err(NotComputed::Cancelled);
        };
        let (weights, _) = posterior::weights(&log);
        for (index, (axis, coverage)) in axes.iter().zip(&mut coverage).enumerate() {
            let of: Vec<f64> = numbers.iter().map(|set| set[index]).collect();
            let ends =
                |weights: &[f64]| [0.05, 0.95].map(|part| posterior::weighted_quantile(&of, weights, part));
            let (after, before) = (ends(&weights), ends(&vec![1.0; plan.medians]));
            let truth = truth(&plan, &ways, workshop, axis);
            coverage.held.0 += usize::from((after[0]..=after[1]).contains(&truth));
            coverage.held.1 += 1;
            coverage.learned += (1.0 - (after[1] - after[0]) / (before[1] - before[0])) / count as f64;
        }
        progress((2 * plan.shots() + workshop + 1, whole));
    }
    Ok(coverage)
}

/// The true number of an axis: drawn like those of the sets, under a number beyond theirs.
fn truth(plan: &Plan, ways: &[Way], workshop: usize, axis: &Axis) -> f64 {
    let of = |way: &Way| {
        let place = way.range.axes.medians.iter().position(|known| known.input == axis.input)?;
        Some(way.range.medians(plan.medians + workshop)[place])
    };
    ways.iter().find_map(of).unwrap_or(0.0)
}

/// Shoots a workshop's log and tells how likely it is for every set of medians; `None` if cancelled.
fn log_of(plan: &Plan, ways: &[Way], workshop: usize, shots: usize, cancel: &Cancel) -> Option<Vec<f64>> {
    let mut trials: [Vec<Trial>; 2] = [Vec::new(), Vec::new()];
    for shot in 0..shots {
        let way = shot % ways.len();
        let range = &ways[way].range;
        let number = plan.shots() + workshop * shots + shot;
        let fired = range.fire_with(&range.medians(plan.medians + workshop), &range.own(number), cancel)?;
        if let Some(shot) = fired.shot {
            let error = |item: Id| range.chance(number, u64::from(item.0));
            trials[way].push(card(&ways[way].project, &shot, error));
        }
    }
    let mut log = vec![0.0; plan.medians];
    for (way, trials) in ways.iter().zip(&trials) {
        let setting = Setting { project: &way.project, trials: trials.iter().collect(), fired: &way.fired };
        let of = posterior::log_likelihood(plan, &setting);
        log.iter_mut().zip(of).for_each(|(sum, log)| *sum += log);
    }
    Some(log)
}

/// What a card would say of a shot; `error` is a standard normal number for every bump.
fn card(project: &Project, shot: &Shot, error: impl Fn(Id) -> f64) -> Trial {
    let gates = shot.bumps.iter().filter(|bump| project.sprues.contains_key(&bump.item));
    let bumps_mm = gates.map(|bump| {
        let height_mm = bump.height_mm + seen::bump_error_mm(bump.height_mm) * error(bump.item);
        (bump.item, height_mm)
    });
    Trial {
        ended: Some(seen::ended(shot.outcome)),
        broke: Some(shot.broke.iter().copied().collect()),
        bumps_mm: bumps_mm.collect(),
        ..Trial::default()
    }
}
