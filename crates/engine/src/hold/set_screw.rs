//! A set screw that stands in the channel: its thread is the undercut.

use crate::hardware::Thread;
use crate::hold::around::{Around, Limit, side_mm2};
use crate::hold::{Curve, Ending, PointHold, formula};

/// Flank of an ISO metric thread to its axis: 90° less the half angle of 30° (ISO 68-1).
const FLANK_DEG: f64 = 60.0;

/// The hold of a set screw over the engaged length.
///
/// - **expand**: the ring out to the nearest wall is widened by the filled depth of the thread and slides
///   over the flanks, along the whole engaged length;
/// - **shear**: the plastic in the filled share of the thread shears off at the crests;
/// - **tear**: see [`Around::tear`].
///
/// A flank never sinks into the plastic before it shears it: the punch pressure on it exceeds twice the
/// shear. Thread stripping and sliding both fall linearly to nothing over the engaged length, as the thread left
/// in the plastic does. The turns that the plastic has not filled drag.
pub(super) fn hold(around: &Around<'_>, thread: &Thread, filled_share: f64, engaged_mm: f64) -> PointHold {
    let material = around.material;
    let nominal_mm = thread.nominal_mm;
    let undercut_mm = filled_share * thread.thread_depth_mm;
    let drag_n = around.drag_mpa * side_mm2(nominal_mm, engaged_mm) * (1.0 - filled_share);
    if undercut_mm <= 0.0 {
        return around.drag_only(nominal_mm, side_mm2(nominal_mm, engaged_mm), engaged_mm);
    }

    let expand_n =
        formula::flank_factor(material.friction, FLANK_DEG.to_radians()).map_or(f64::INFINITY, |factor| {
            around.ring_pressure_mpa(nominal_mm, undercut_mm) * side_mm2(nominal_mm, engaged_mm) * factor
        });
    let area_mm2 = filled_share * formula::moulded_thread_area_mm2(thread, engaged_mm);
    let shear_n = formula::shear_strength_mpa(material.yield_hot_mpa) * area_mm2;
    let along = |name, force_n: f64| {
        // A limit that cannot be reached never governs; its curve is not used.
        let pull_n = if force_n.is_finite() { force_n + drag_n } else { 0.0 };
        let curve = Curve::triangle(pull_n, around.rise_mm(pull_n, nominal_mm, engaged_mm), engaged_mm);
        Limit { name, force_n, curve, ending: Ending::LetsGo }
    };
    let strain = formula::strip_strain(undercut_mm, nominal_mm - 2.0 * undercut_mm);
    around.hold(
        vec![along("expand", expand_n), along("shear", shear_n), around.tear(nominal_mm, engaged_mm)],
        strain,
    )
}
