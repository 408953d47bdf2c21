//! What an analysis tells, in words for the person at the bench.

use keepside_engine::Analysis;
use keepside_engine::opening::{
    BumpAt, EjectorLoad, HoldOutcome, HoldState, Keeper, Margin, Opening, Outcome, StripAt, What,
};
use keepside_model::{Half, Id, Project};

use crate::document::{decimals, signed};

/// The opening run, or why there is none, in a sentence.
pub(crate) fn opening(analysis: Option<&Analysis>) -> Result<&Opening, String> {
    match analysis.map(|analysis| &analysis.opening) {
        Some(Some(Ok(opening))) => Ok(opening.as_ref()),
        Some(Some(Err(reason))) => Err(format!("The opening run was not computed: {reason}.")),
        Some(None) => Err("The opening run is still being computed.".to_owned()),
        None => Err("The opening run was not asked for.".to_owned()),
    }
}

/// What is not final about an analysis, in a sentence; empty if it is.
pub(crate) fn unfinished(analysis: &Analysis) -> &'static str {
    if analysis.settling {
        "These are the numbers of a first, coarse run: a finer one will replace them."
    } else if !analysis.finished {
        "Not everything had been computed when this was printed."
    } else {
        ""
    }
}

/// How far the verdict is from flipping.
pub(crate) fn margin(margin: &Margin, outcome: Outcome) -> String {
    let Some(factor) = margin.factor else {
        let (low, high) = margin.searched;
        return format!("the verdict stays for every strength of the fixed half from {low} to {high} times");
    };
    let only = if outcome == Outcome::StaysOnMoving { "" } else { "only " };
    let then = margin.flips_to.map_or_else(String::new, |outcome| format!("; the part then {outcome}"));
    format!("{factor:.2}: the verdict flips if the fixed half holds {only}{factor:.2} times as hard{then}")
}

/// What became of a hold.
pub(crate) fn state(hold: &HoldOutcome) -> String {
    match hold.state {
        HoldState::Holding => "holds".to_owned(),
        HoldState::PartlyHolding { share } => format!("holds over {:.0} %", 100.0 * share),
        HoldState::LetGo { opening_mm } => format!("lets go at {} mm", decimals(opening_mm, 2)),
        HoldState::Broke { opening_mm } => format!("breaks at {} mm", decimals(opening_mm, 2)),
    }
}

/// Where what broke off a hold stays; `None` if nothing did, or if the channel tore beside it.
pub(crate) fn left_behind(hold: &HoldOutcome) -> Option<&'static str> {
    let broke = matches!(hold.state, HoldState::Broke { .. }) && hold.name.what.item().is_some();
    if !broke || hold.governed_by.ends_with("tear") {
        return None;
    }
    Some(match (hold.name.half, hold.name.what) {
        (_, What::Sprue(_)) => "the plug stays in its bore until the next shot pushes it out",
        (_, What::Ejector(_)) => "what broke off stays in its grooves: it no longer keys",
        (Half::Fixed, _) => "what broke off stays in the fixed half and must be picked out",
        (Half::Moving, _) => "what broke off stays in the moving half: it no longer keys",
    })
}

/// The hold that an item makes.
pub(crate) fn hold_of(opening: &Opening, id: Id) -> Option<&HoldOutcome> {
    opening.holds.iter().find(|hold| hold.name.what.item() == Some(id))
}

/// A bump.
pub(crate) fn bump(bump: &BumpAt) -> String {
    format!("bump {} mm, kink {}°", signed(bump.height_mm, 2), signed(bump.kink_deg, 1))
}

/// Who keeps a stretch.
pub(crate) const fn keeper(keeper: Keeper) -> &'static str {
    match keeper {
        Keeper::Moving => "kept by the moving half",
        Keeper::Fixed => "kept by the fixed half",
        Keeper::Bridging => "hangs between the halves",
        Keeper::Free => "has fallen free",
    }
}

/// A feature as the part is pushed off it.
pub(crate) fn pushed_off(at: &StripAt) -> String {
    let off = match at.released_at_mm {
        Some(at_mm) => format!("pushed off at {} mm", decimals(at_mm, 2)),
        None => "not pushed off".to_owned(),
    };
    let broke = if at.broke { ", a piece breaks off" } else { "" };
    format!(
        "{off} with {} N, stretched {} of {} %{broke}",
        decimals(at.force_n, 1),
        decimals(100.0 * at.strain, 1),
        decimals(100.0 * at.allowed, 1)
    )
}

/// An ejector as it pushes.
pub(crate) fn pushes(load: &EjectorLoad) -> String {
    format!(
        "pushes with {} N, {} MPa; marks from {} MPa",
        decimals(load.force_n, 1),
        decimals(load.pressure_mpa, 1),
        decimals(load.mark_mpa, 1)
    )
}

/// What release agent leaves of the tack of a half, as the project assumes.
pub(crate) fn release_agent(project: &Project, half: Half) -> String {
    let factor = match half {
        Half::Moving => project.holds.release_factor_moving,
        Half::Fixed => project.holds.release_factor_fixed,
    };
    if factor == 1.0 {
        "none".to_owned()
    } else {
        format!("leaves {} % of the tack", decimals(100.0 * factor, 0))
    }
}
