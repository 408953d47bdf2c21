//! The sizes written into a section.

use glam::DVec2;
use keepside_engine::hardware;
use keepside_engine::mount::Depth;
use keepside_model::{EjectorFace, Half, Id, Project};

use super::scene::Cut;
use super::steel::Steel;

/// Where the line of a measure runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Run {
    /// Straight from one end to the other.
    Between,
    /// Upright, at this distance across.
    Upright(f64),
    /// Level, at this height.
    Level(f64),
}

/// Where a measure is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Shown {
    /// Near the channel.
    Near,
    /// Where both plates are seen whole.
    Whole,
}

/// A size with its arrows.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Measure {
    /// What it is, for example "roof".
    pub(crate) what: &'static str,
    pub(crate) value_mm: f64,
    /// What the limits ask for, mm.
    pub(crate) needed_mm: Option<f64>,
    pub(crate) from: DVec2,
    pub(crate) to: DVec2,
    pub(crate) run: Run,
    pub(crate) shown: Shown,
}

/// Limits are compared with this much slack, mm, as the findings do.
const SLACK_MM: f64 = 1e-6;

/// From the channel to a size beside it, mm.
const ASIDE_MM: f64 = 1.1;

/// From what is worth looking at to the thickness of the plate, mm: beyond the words of the other sizes.
const PLATE_ASIDE_MM: f64 = 24.0;

impl Measure {
    /// Whether it is less than the limits ask for.
    pub(crate) fn is_tight(&self) -> bool {
        self.needed_mm.is_some_and(|needed_mm| self.value_mm < needed_mm - SLACK_MM)
    }

    /// In words, for example "roof 1.20 mm, needs 0.8 mm".
    pub(crate) fn words(&self) -> String {
        let needs = |needed_mm: f64| format!(", needs {} mm", (needed_mm * 100.0).round() / 100.0);
        let needs = self.needed_mm.map_or_else(String::new, needs);
        format!("{} {:.2} mm{needs}", self.what, self.value_mm + 0.0)
    }
}

/// The sizes worth telling of the item in its channel.
pub(super) fn of(project: &Project, id: Id, cut: &Cut, steel: &Steel) -> Vec<Measure> {
    let limits = &project.limits;
    let mut all = Vec::new();
    let (own, opposite) = (cut.floor(steel.half), cut.floor(steel.half.other()));
    let [left, right] = [cut.walls[0].unwrap_or(cut.beside.0), cut.walls[1].unwrap_or(cut.beside.1)];
    let depth_mm = cut.channel.depth_mm;
    let outer = right.max(steel.widest.0) + ASIDE_MM;
    all.push(Measure {
        what: "channel depth",
        value_mm: depth_mm,
        needed_mm: None,
        from: DVec2::new(right, cut.floor_fixed),
        to: DVec2::new(right, cut.floor_moving),
        run: Run::Upright(outer),
        shown: Shown::Near,
    });
    if cut.walls.iter().all(Option::is_some) {
        let beyond = if steel.half == Half::Moving { -0.7 } else { 0.7 };
        all.push(channel_width(left, right, opposite + beyond));
    }
    if project.features.contains_key(&id) {
        let protrusion_mm = (steel.top - own).abs();
        all.push(Measure {
            what: "protrusion",
            value_mm: protrusion_mm,
            needed_mm: None,
            from: DVec2::new(left, own),
            to: DVec2::new(-0.4 * steel.widest.0, steel.top),
            run: Run::Upright(left.min(-steel.widest.0) - ASIDE_MM),
            shown: Shown::Near,
        });
        all.push(Measure {
            what: "roof",
            value_mm: depth_mm - protrusion_mm,
            needed_mm: Some(limits.roof_mm),
            from: DVec2::new(0.0, steel.top),
            to: DVec2::new(0.0, opposite),
            run: Run::Upright(0.5 * steel.widest.0),
            shown: Shown::Near,
        });
        for (what, wall, side) in [("gap left", cut.walls[0], -1.0), ("gap right", cut.walls[1], 1.0)] {
            let Some(wall) = wall else { continue };
            let edge = side * steel.widest.0;
            all.push(Measure {
                what,
                value_mm: side * (wall - edge),
                needed_mm: Some(limits.flow_gap_mm),
                from: DVec2::new(edge, steel.widest.1),
                to: DVec2::new(wall, steel.widest.1),
                run: Run::Between,
                shown: Shown::Near,
            });
        }
    }
    if let Some(ejector) = project.ejectors.get(&id) {
        let radius = 0.5 * ejector.diameter_mm;
        let behind = own + 2.2;
        all.push(Measure {
            what: "diameter",
            value_mm: ejector.diameter_mm,
            needed_mm: None,
            from: DVec2::new(-radius, behind),
            to: DVec2::new(radius, behind),
            run: Run::Between,
            shown: Shown::Near,
        });
        if ejector.face != EjectorFace::Plain {
            all.push(Measure {
                what: "groove depth",
                value_mm: steel.groove_mm,
                needed_mm: None,
                from: DVec2::new(-radius, own),
                to: DVec2::new(0.0, own + steel.groove_mm),
                run: Run::Upright(left.min(-radius) - ASIDE_MM),
                shown: Shown::Near,
            });
        }
    }
    all.extend(mounting(project, cut, steel));
    all
}

/// The sizes of a channel in which nothing stands.
pub(super) fn of_channel(project: &Project, cut: &Cut) -> Vec<Measure> {
    let [left, right] = [cut.walls[0].unwrap_or(cut.beside.0), cut.walls[1].unwrap_or(cut.beside.1)];
    let upright = |what, x: f64, from: f64, to: f64, shown| Measure {
        what,
        value_mm: (to - from).abs(),
        needed_mm: None,
        from: DVec2::new(right, from),
        to: DVec2::new(right, to),
        run: Run::Upright(x),
        shown,
    };
    let (low, high) = (-project.plates.fixed_thickness_mm, project.plates.moving_thickness_mm);
    let mut all = vec![
        upright("channel depth", right + ASIDE_MM, cut.floor_fixed, cut.floor_moving, Shown::Near),
        upright("moving plate", right + PLATE_ASIDE_MM, 0.0, high, Shown::Whole),
        upright("fixed plate", right + PLATE_ASIDE_MM, low, 0.0, Shown::Whole),
    ];
    let share = |what, to: f64| Measure {
        from: DVec2::new(left, 0.0),
        to: DVec2::new(left, to),
        ..upright(what, left - ASIDE_MM, 0.0, to, Shown::Near)
    };
    let shares =
        [share("depth in moving half", cut.floor_moving), share("depth in fixed half", cut.floor_fixed)];
    all.extend(shares.into_iter().filter(|share| share.value_mm > SLACK_MM));
    if cut.walls.iter().all(Option::is_some) {
        all.push(channel_width(left, right, cut.floor_fixed - 0.7));
    }
    all
}

/// The sizes of the screw, its thread and its hole, and of the plate.
fn mounting(project: &Project, cut: &Cut, steel: &Steel) -> Vec<Measure> {
    let floor = cut.floor(steel.half);
    let up = if steel.half == Half::Moving { 1.0 } else { -1.0 };
    let left = cut.beside.0;
    let right = cut.beside.1;
    let size = |what, value_mm, needed_mm, ends: (f64, f64), x: f64| Measure {
        what,
        value_mm,
        needed_mm,
        from: DVec2::new(0.0, ends.0),
        to: DVec2::new(0.0, ends.1),
        run: Run::Upright(x),
        shown: Shown::Whole,
    };
    let thick_mm = project.plates.thickness_mm(steel.half);
    let mut all = vec![size("plate", thick_mm, None, (0.0, up * thick_mm), right + PLATE_ASIDE_MM)];
    let Some(mount) = &steel.mount else { return all };
    if let Some(screw) = mount.screw {
        let end = floor + up * screw.in_plate_mm;
        let top = end - up * screw.length_mm;
        all.push(size("screw length", screw.length_mm, None, (end, top), left));
        if screw.engagement_mm > 0.0 {
            let needed_mm = project.limits.engagement_diameters * hardware::nominal_diameter_mm(screw.thread);
            let ends = (floor, floor + up * screw.engagement_mm);
            all.push(size("thread in the plate", screw.engagement_mm, Some(needed_mm), ends, right));
        }
    }
    if let Depth::Blind { full_mm, point_mm, left_mm } = mount.hole.depth {
        let tip = up * (full_mm + point_mm);
        let needed = Some(project.limits.drill_floor_mm);
        all.push(size("left under the drill", left_mm, needed, (tip, up * thick_mm), left - 5.0 * ASIDE_MM));
    }
    all
}

/// The width of the channel, its line at height `at`.
fn channel_width(left: f64, right: f64, at: f64) -> Measure {
    Measure {
        what: "channel width",
        value_mm: right - left,
        needed_mm: None,
        from: DVec2::new(left, 0.0),
        to: DVec2::new(right, 0.0),
        run: Run::Level(at),
        shown: Shown::Near,
    }
}
