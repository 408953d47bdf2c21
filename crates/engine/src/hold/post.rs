//! A plain post: drag only.

use crate::hold::around::{Around, side_mm2};
use crate::hold::law::Weighed;

/// The hold of a plain post: the drag of its side, which falls as the part slides off.
///
/// A part that shrinks on the post grips it besides; until shrinkage is an input, the wall drag has to
/// stand for that too.
pub(super) fn hold(around: &Around<'_>, diameter_mm: f64, engaged_mm: f64) -> Weighed {
    around.drag_only(diameter_mm, side_mm2(diameter_mm, engaged_mm), engaged_mm)
}
