//! Rules of the shot: what filling, cooling, venting and the press tell.

use super::{Drawn, Finding, cooling, press, venting};
use crate::cooling::{Cooling, NotCooled};
use crate::press::PressUse;
use crate::venting::Venting;

/// What the rules of the shot look at.
pub(crate) struct Shot<'a> {
    pub(crate) cooling: Result<&'a Cooling, &'a NotCooled>,
    pub(crate) venting: Option<&'a Venting>,
    pub(crate) press: Option<&'a PressUse>,
}

type Rule = fn(&Drawn<'_>, &Shot<'_>, &mut Vec<Finding>);

/// The rules of the shot, in the order in which their findings are listed.
const RULES: &[Rule] = &[
    cooling::never,
    cooling::unusual,
    cooling::too_soon,
    cooling::let_off,
    cooling::cut_off,
    venting::trapped,
    venting::flash,
    venting::small,
    venting::idle,
    press::shot,
    press::clamp,
    press::platen,
    press::settings,
];

/// Findings of the shot.
pub(crate) fn of_shot(drawn: &Drawn<'_>, shot: &Shot<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    RULES.iter().for_each(|rule| rule(drawn, shot, &mut findings));
    findings
}
