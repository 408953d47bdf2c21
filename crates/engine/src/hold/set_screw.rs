//! A set screw that stands in the channel: its thread is the undercut, and a plug of plastic fills its socket.

use std::f64::consts::FRAC_PI_2;

use keepside_model::{Material, Project, ScrewEnd, ThreadSize};

use crate::hardware;
use crate::hold::around::{Around, Limit, side_mm2};
use crate::hold::law::{Number, Plug, Way, Weighed};
use crate::hold::{BRITTLE_STRAIN, Curve, Ending, formula};
use crate::silhouette;

/// Flank of an ISO metric thread to its axis, rad: 90° less the half angle of 30° (ISO 68-1).
const FLANK_RAD: f64 = 2.0 / 3.0 * FRAC_PI_2;

/// Share of a plug's strength that its drag may take before it may stay behind: the neck of a hexagon has
/// sharp corners. For a tough and for a brittle plastic; assumed.
const SAFE_SHARE: (f64, f64) = (0.5, 0.3);

/// A set screw as it stands in the channel.
#[derive(Clone, Copy, Debug)]
pub(super) struct Screw {
    pub(super) size: ThreadSize,
    pub(super) end: ScrewEnd,
    /// Length of the screw, mm, if it is known.
    pub(super) length_mm: Option<f64>,
    /// Share of its thread that the plastic fills.
    pub(super) filled_share: f64,
    /// Drag in a bore as turned, MPa: that of the socket's walls.
    pub(super) socket_drag_mpa: f64,
}

/// The hold of a set screw whose end stands `engaged_mm` above the channel floor.
///
/// - **expand**: the ring out to the nearest wall is widened by the filled depth of the thread and slides
///   over the flanks, along the whole engaged length;
/// - **shear**: the plastic in the filled share of the thread shears off at the crests;
/// - **tear**: see [`Around::tear`].
///
/// A flank never sinks into the plastic before it shears it: the punch pressure on it exceeds twice the
/// shear. Thread stripping and sliding both fall linearly to nothing over the engaged length, as the thread left
/// in the plastic does. The turns that the plastic has not filled drag.
///
/// A point carries no thread: the engaged length is shorter by its length
/// ([`silhouette::Point::length_mm`]). Cones and the hollow of a cup open the way the part goes and hold
/// nothing; a dog drags. The screw's length is not the plastic's: the plastic is free when the thread has
/// let go of it.
///
/// With the socket up, a plug of plastic fills it and drags on its walls besides, at the drag of a bore as
/// turned, over the least depth of the socket; that it fills to the bottom, where air is caught, is assumed.
/// If the walls hold it more than its neck bears, it tears off at the rim and stays.
pub(super) fn hold(around: &Around<'_>, screw: Screw, engaged_mm: f64) -> Weighed {
    let material = around.material;
    let thread = hardware::thread(screw.size);
    let nominal_mm = thread.nominal_mm;
    let point = silhouette::point(screw.size, screw.end, screw.length_mm);
    let threaded_mm = (engaged_mm - point.map_or(0.0, |point| point.length_mm())).max(0.0);
    let dog_mm2 = point.map_or(0.0, |point| side_mm2(point.tip_mm, point.dog_mm.min(engaged_mm)));
    let plug = point.is_none().then(|| of_plug(material, screw.socket_drag_mpa, screw.size, screw.length_mm));
    let undercut_mm = screw.filled_share * thread.thread_depth_mm;

    let side = side_mm2(nominal_mm, threaded_mm);
    let mut weighed = if undercut_mm <= 0.0 || threaded_mm <= 0.0 {
        let sides_mm2 = side + dog_mm2;
        if sides_mm2 <= 0.0 {
            return around.hold(Vec::new(), 0.0);
        }
        around.drag_only(nominal_mm, sides_mm2, engaged_mm)
    } else {
        let plain_mm2 = side * (1.0 - screw.filled_share) + dog_mm2;
        let drag_n = around.drag_mpa * plain_mm2;
        let expand_n = formula::flank_factor(material.friction, FLANK_RAD).map_or(f64::INFINITY, |factor| {
            around.ring_pressure_mpa(nominal_mm, undercut_mm) * side * factor
        });
        let area_mm2 = screw.filled_share * formula::moulded_thread_area_mm2(thread, threaded_mm);
        let shear_n = formula::shear_strength_mpa(material.yield_hot_mpa) * area_mm2;
        let along = |name, words, force_n: f64, numbers: Vec<Number>| {
            // A limit that cannot be reached never governs; its curve is not used.
            let pull_n = if force_n.is_finite() { force_n + drag_n } else { 0.0 };
            let curve = Curve::triangle(pull_n, around.rise_mm(pull_n, nominal_mm, threaded_mm), threaded_mm);
            Limit { name, words, force_n, curve, ending: Ending::LetsGo, numbers }
        };
        let length = Number::new("engaged thread", threaded_mm, "mm");
        let filled = Number::new("share of the thread filled", screw.filled_share, "");
        let mut ring = around.ring_numbers(nominal_mm, undercut_mm, FLANK_RAD);
        ring.extend([Number::new("side of the thread", side, "mm²"), length, filled]);
        let mut sheared = around.shear_numbers(area_mm2);
        sheared.extend([length, filled]);
        let strain = formula::strip_strain(undercut_mm, nominal_mm - 2.0 * undercut_mm);
        let limits = vec![
            along("expand", "the ring of plastic around it is stretched over the thread", expand_n, ring),
            along("shear", "the plastic in the thread shears off at the crests", shear_n, sheared),
            around.tear(nominal_mm, engaged_mm),
        ];
        let mut weighed = around.hold(limits, strain);
        weighed.ways.push(around.drag_way(plain_mm2));
        weighed
    };
    if let Some(plug) = plug {
        besides(&mut weighed, plug, screw);
    }
    weighed
}

/// The plug in the socket of a screw of this size, whose length is given if it is known.
pub(crate) fn plug(project: &Project, size: ThreadSize, length_mm: Option<f64>) -> Plug {
    of_plug(&project.material, project.holds.sprue_drag_turned_mpa, size, length_mm)
}

fn of_plug(material: &Material, drag_mpa: f64, size: ThreadSize, length_mm: Option<f64>) -> Plug {
    let (flats_mm, depth_mm) = silhouette::socket(size, length_mm);
    let drag_n = drag_mpa * walls_mm2(flats_mm, depth_mm);
    let strength_n = material.yield_hot_mpa * neck_mm2(flats_mm);
    let is_brittle = material.break_strain < BRITTLE_STRAIN;
    Plug {
        drag_n,
        strength_n,
        safe_share: if is_brittle { SAFE_SHARE.1 } else { SAFE_SHARE.0 },
        fatigue: "Every shot makes a new plug, so it does not tire; once one stays behind, the socket is full \
                  and the parts after it have no plug. A part that is put back on and taken off again \
                  loads the same neck again.",
    }
}

/// Walls of a hexagon socket, mm²: `2√3 s t`, with s its width across flats and t its depth.
fn walls_mm2(flats_mm: f64, depth_mm: f64) -> f64 {
    2.0 * 3.0_f64.sqrt() * flats_mm * depth_mm
}

/// Section of a hexagon, mm²: `√3/2 s²`.
fn neck_mm2(flats_mm: f64) -> f64 {
    0.5 * 3.0_f64.sqrt() * flats_mm * flats_mm
}

/// Adds the plug to the pull. A torn part leaves with its plug's neck broken or not: the channel governs.
fn besides(weighed: &mut Weighed, plug: Plug, screw: Screw) {
    let (flats_mm, depth_mm) = silhouette::socket(screw.size, screw.length_mm);
    let breaks = plug.drag_n > plug.strength_n;
    weighed.ways.push(Way {
        name: "plug",
        words: if breaks {
            "the plug in the socket tears off besides"
        } else {
            "the plug slides out besides"
        },
        force_n: plug.drag_n.min(plug.strength_n),
        adds: true,
        ending: if breaks { Ending::Breaks } else { Ending::LetsGo },
        numbers: vec![
            Number::new("drag in the socket", screw.socket_drag_mpa, "MPa"),
            Number::new("walls of the socket", walls_mm2(flats_mm, depth_mm), "mm²"),
            Number::new("depth of the socket", depth_mm, "mm"),
            Number::new("neck of the plug", neck_mm2(flats_mm), "mm²"),
            Number::new("strength of the neck", plug.strength_n, "N"),
        ],
    });
    weighed.plug = Some(plug);
    let hold = &mut weighed.hold;
    if hold.ending == Ending::Tears {
        return;
    }
    let pull_n = plug.drag_n.min(plug.strength_n);
    let rise_mm = hold.curve.points().get(1).map_or(1e-3, |point| point.0);
    // Torn off, it is gone as soon as its neck has given; sliding, when it has left the socket.
    let gone_mm = if breaks { 0.5 * flats_mm } else { depth_mm };
    hold.curve = hold.curve.plus(&Curve::triangle(pull_n, rise_mm, gone_mm));
    if breaks {
        hold.ending = Ending::Breaks;
    }
}
