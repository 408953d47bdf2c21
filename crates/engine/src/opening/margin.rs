//! How far the verdict is from flipping: opening runs with the fixed half made stronger or weaker.

use keepside_model::Project;

use crate::opening::result::{HoldName, Margin, Opening, Outcome, Release};
use crate::opening::setup::Fineness;
use crate::opening::{Cancel, NotComputed, run};

/// Farthest factor on the fixed half's holds that is searched for a good verdict, and for a bad one.
const STRONGEST: f64 = 20.0;
const WEAKEST: f64 = 0.02;
/// The flip is bracketed to this ratio.
const PRECISION: f64 = 1.02;

/// Bisects, on real runs, for the factor on all holds of the fixed half at which the part stops (or
/// starts) staying whole on the moving half.
pub(crate) fn search(project: &Project, base: &Opening, cancel: &Cancel) -> Result<Margin, NotComputed> {
    let open = |factor: f64| run::open(project, Fineness::default(), factor, cancel);
    let is_good = |opening: &Opening| opening.verdict.outcome == Outcome::StaysOnMoving;
    let base_is_good = is_good(base);
    let (mut near, mut near_run) = (1.0, base.clone());
    let searched = if base_is_good { (1.0, STRONGEST) } else { (WEAKEST, 1.0) };
    let growth: f64 = if base_is_good { 1.6 } else { 1.0 / 1.6 };
    let mut far: Option<(f64, Opening)> = None;
    let mut factor = 1.0;
    while far.is_none() {
        factor = (factor * growth).clamp(WEAKEST, STRONGEST);
        let tried = open(factor)?;
        if is_good(&tried) == base_is_good {
            (near, near_run) = (factor, tried);
            if factor <= WEAKEST || factor >= STRONGEST {
                return Ok(Margin { factor: None, searched, flips_to: None, deciding: None });
            }
        } else {
            far = Some((factor, tried));
        }
    }
    let Some((mut beyond, mut beyond_run)) = far else {
        return Ok(Margin { factor: None, searched, flips_to: None, deciding: None });
    };
    while (beyond / near).max(near / beyond) > PRECISION {
        let middle = (beyond * near).sqrt();
        let tried = open(middle)?;
        if is_good(&tried) == base_is_good {
            (near, near_run) = (middle, tried);
        } else {
            (beyond, beyond_run) = (middle, tried);
        }
    }
    Ok(Margin {
        // The good side of the bracket: what is said to be good has been seen to be.
        factor: Some(if base_is_good { near } else { beyond }),
        searched,
        flips_to: Some(beyond_run.verdict.outcome),
        deciding: first_difference(&near_run, &beyond_run),
    })
}

/// The first hold, in order of opening, that lets go on one side of the flip and not, or not in the
/// same way, on the other: a sprue or feature if there is one, since faces and walls follow them.
fn first_difference(one: &Opening, other: &Opening) -> Option<HoldName> {
    let only = |of: &Opening, against: &Opening| -> Vec<(f64, HoldName)> {
        let is_in = |release: &Release| {
            against.releases.iter().any(|r| r.hold == release.hold && r.how == release.how)
        };
        let alone = of.releases.iter().filter(|release| !is_in(release));
        alone.map(|release| (release.opening_mm, of.holds[release.hold].name)).collect()
    };
    let mut differences = only(one, other);
    differences.extend(only(other, one));
    differences.sort_by(|a, b| a.0.total_cmp(&b.0));
    let of_item = differences.iter().find(|(_, name)| name.what.item().is_some());
    of_item.or(differences.first()).map(|(_, name)| *name)
}
