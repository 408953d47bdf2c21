//! Set screws: the thread, and both ends.

use keepside_model::{ScrewEnd, ThreadSize};

use super::{PlanLine, ProfilePoint, Recess, RecessKind, Silhouette, across_corners_mm};
use crate::hardware::{self, Thread};

/// Half of the flank angle of an ISO metric thread, as a slope: tan 30° (ISO 68-1).
const HALF_ANGLE_TAN: f64 = 0.577_350_269_189_625_8;

/// Included angle of a cup point's hollow, degrees. ISO 4029, from memory.
const CUP_DEG: f64 = 120.0;

/// Length over nominal diameter up to which a screw counts as short: shallow socket, short dog. The standards
/// draw the line size by size; from memory.
const SHORT_SCREW: f64 = 1.5;

/// The end of a set screw without socket.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Diameter at the tip, mm; 0 = sharp.
    pub tip_mm: f64,
    /// Length of the plain cylinder at the tip, mm: of a dog point.
    pub dog_mm: f64,
    /// Height of the cone of 45° from the tip or dog to the full thread, mm. No thread is counted on it.
    pub cone_mm: f64,
    /// Hollow in the tip: diameter and depth, mm.
    pub cup: Option<(f64, f64)>,
    /// What of this is not certain.
    pub uncertain: Option<&'static str>,
}

impl Point {
    /// Length at the end of the screw that carries no full thread, mm.
    pub const fn length_mm(&self) -> f64 {
        self.dog_mm + self.cone_mm
    }
}

/// The point of a set screw; `None` if the socket is up. `length_mm` is the screw's, if it is known.
///
/// Diameters and dog lengths are those of the hardware tables, largest diameter and least length. Flat, cup
/// and dog points have a cone of 45° up to the thread (ISO 4026, 4028 and 4029, from memory). The tables of
/// the cone point's blunt tip (ISO 4027) disagree: it is taken as a sharp cone of 90°.
pub fn point(size: ThreadSize, end: ScrewEnd, length_mm: Option<f64>) -> Option<Point> {
    let screw = hardware::set_screw(size);
    let nominal_mm = hardware::nominal_diameter_mm(size);
    let plain = |tip_mm: f64| Point {
        tip_mm,
        dog_mm: 0.0,
        cone_mm: 0.5 * (nominal_mm - tip_mm),
        cup: None,
        uncertain: None,
    };
    match end {
        ScrewEnd::Socket => None,
        ScrewEnd::Flat => Some(plain(screw.flat_point_mm)),
        ScrewEnd::Cup => {
            let diameter_mm = screw.cup_point_mm;
            let depth_mm = 0.5 * diameter_mm / (0.5 * CUP_DEG).to_radians().tan();
            Some(Point {
                cup: Some((diameter_mm, depth_mm)),
                uncertain: Some("the cup's hollow is taken as a cone of 120°, from memory"),
                ..plain(diameter_mm)
            })
        }
        ScrewEnd::Cone => Some(Point {
            uncertain: Some(
                "the cone point is taken as sharp, 90° (ISO 4027 for long screws, from memory); the \
                 published tables of its blunt tip disagree",
            ),
            ..plain(0.0)
        }),
        ScrewEnd::Dog => {
            let dog_mm = if is_short(size, length_mm) { screw.dog_short_mm } else { screw.dog_long_mm };
            Some(Point { dog_mm, ..plain(screw.dog_point_mm) })
        }
    }
}

/// Socket of a set screw: (width across flats, least depth), mm. `length_mm` is the screw's, if it is known.
pub fn socket(size: ThreadSize, length_mm: Option<f64>) -> (f64, f64) {
    let screw = hardware::set_screw(size);
    let short = is_short(size, length_mm);
    (screw.socket_mm, if short { screw.socket_depth_short_mm } else { screw.socket_depth_long_mm })
}

fn is_short(size: ThreadSize, length_mm: Option<f64>) -> bool {
    length_mm.is_some_and(|length_mm| length_mm <= SHORT_SCREW * hardware::nominal_diameter_mm(size))
}

/// A set screw from `from_mm` or its lower end up to `top_mm`.
pub(super) fn set_screw(
    size: ThreadSize,
    end: ScrewEnd,
    top_mm: f64,
    from_mm: f64,
    length_mm: Option<f64>,
) -> Silhouette {
    let thread = hardware::thread(size);
    let nominal_mm = thread.nominal_mm;
    let up = point(size, end, length_mm);
    // The other end: a socket screw's is drawn as a flat point.
    let down = if up.is_some() { None } else { point(size, ScrewEnd::Flat, length_mm) };
    let (socket_mm, socket_depth_mm) = socket(size, length_mm);
    let bottom_mm = length_mm.map(|length_mm| top_mm - length_mm).filter(|bottom_mm| *bottom_mm > from_mm);

    let side = |phase_mm: f64| {
        let (low, high) = (bottom_mm.unwrap_or(from_mm), top_mm);
        let low_thread = if bottom_mm.is_some() { low + down.map_or(0.0, |p| p.dog_mm) } else { low };
        let high_thread = high - up.map_or(0.0, |p| p.dog_mm);
        let mut line = flanks(thread, low_thread, high_thread, top_mm + phase_mm);
        if let Some(up) = up {
            line = under_cone(&line, |z| 0.5 * up.tip_mm + (high_thread - z));
        }
        if let Some(down) = down.filter(|_| bottom_mm.is_some()) {
            line = under_cone(&line, |z| 0.5 * down.tip_mm + (z - low_thread));
        }
        let mut profile = Vec::with_capacity(line.len() + 4);
        if bottom_mm.is_some() {
            profile.push((0.0, low));
        }
        profile.extend(line);
        if let Some(up) = up.filter(|up| up.dog_mm > 0.0) {
            profile.push((0.5 * up.tip_mm, top_mm));
        }
        profile.push((0.0, top_mm));
        profile
    };

    let hexagon = |rim_mm: f64, bottom_mm: f64| {
        let radius_mm = 0.5 * across_corners_mm(socket_mm);
        Recess {
            kind: RecessKind::Hexagon { across_flats_mm: socket_mm, depth_mm: socket_depth_mm },
            profile: vec![(radius_mm, rim_mm), (radius_mm, bottom_mm), (0.0, bottom_mm)],
        }
    };
    let mut recesses = Vec::new();
    let mut plan = vec![PlanLine::circle(nominal_mm)];
    match up {
        None => {
            recesses.push(hexagon(top_mm, top_mm - socket_depth_mm));
            plan.push(PlanLine::circle(thread.root_diameter_mm));
            plan.push(PlanLine::hexagon(socket_mm));
        }
        Some(up) => {
            if up.tip_mm > 0.0 {
                plan.push(PlanLine::circle(up.tip_mm));
            }
            if let Some((diameter_mm, depth_mm)) = up.cup {
                let kind = RecessKind::Cup { diameter_mm, depth_mm };
                let profile = vec![(0.5 * diameter_mm, top_mm), (0.0, top_mm - depth_mm)];
                recesses.push(Recess { kind, profile });
            }
            recesses.extend(bottom_mm.map(|bottom_mm| hexagon(bottom_mm, bottom_mm + socket_depth_mm)));
        }
    }
    Silhouette {
        profile: side(0.0),
        far_profile: side(0.5 * thread.pitch_mm),
        recesses,
        plan,
        top_mm,
        uncertain: up.and_then(|up| up.uncertain),
    }
}

/// The flanks of a thread between two heights: crests P/8 wide at the nominal diameter, flanks of 60°, roots
/// at the root diameter d₃, P/6 wide (their rounding is left out). A crest begins at `crest_mm` and goes down.
pub(super) fn flanks(thread: &Thread, from_mm: f64, to_mm: f64, crest_mm: f64) -> Vec<ProfilePoint> {
    let pitch = thread.pitch_mm;
    let (crest, root) = (0.5 * thread.nominal_mm, 0.5 * thread.root_diameter_mm);
    let flank_mm = thread.thread_depth_mm * HALF_ANGLE_TAN;
    let crest_width_mm = pitch / 8.0;
    // The corners of one turn, downwards from the beginning of a crest.
    let corners = [
        (0.0, crest),
        (crest_width_mm, crest),
        (crest_width_mm + flank_mm, root),
        (pitch - flank_mm, root),
        (pitch, crest),
    ];
    let radius = |z: f64| {
        let down = (crest_mm - z).rem_euclid(pitch);
        let pair = corners.windows(2).find(|pair| down <= pair[1].0).unwrap_or(&corners[3..]);
        let ((from, from_r), (to, to_r)) = (pair[0], pair[1]);
        from_r + (to_r - from_r) * (down - from) / (to - from)
    };
    if to_mm <= from_mm {
        return vec![(radius(from_mm), from_mm)];
    }
    let mut line = vec![(radius(from_mm), from_mm)];
    // Turns from the lowest upwards; the last corner of a turn is the first of the next.
    let turns = ((to_mm - from_mm) / pitch).ceil() + 1.0;
    let lowest = ((crest_mm - from_mm) / pitch).ceil();
    let mut turn = lowest;
    while turn >= lowest - turns {
        for &(down, r) in corners[..4].iter().rev() {
            let z = crest_mm - turn * pitch - down;
            if z > from_mm + 1e-9 && z < to_mm - 1e-9 {
                line.push((r, z));
            }
        }
        turn -= 1.0;
    }
    line.push((radius(to_mm), to_mm));
    line
}

/// The smaller of a profile and a cone, with the places where they cross.
fn under_cone(line: &[ProfilePoint], cone: impl Fn(f64) -> f64) -> Vec<ProfilePoint> {
    let mut under: Vec<ProfilePoint> = Vec::with_capacity(line.len() + 4);
    for (i, &(r, z)) in line.iter().enumerate() {
        if let Some(&(r_before, z_before)) = i.checked_sub(1).and_then(|before| line.get(before)) {
            let (a, b) = (r_before - cone(z_before), r - cone(z));
            if a * b < 0.0 {
                let share = a / (a - b);
                let z_at = z_before + share * (z - z_before);
                under.push((cone(z_at), z_at));
            }
        }
        under.push((r.min(cone(z)), z));
    }
    under
}
