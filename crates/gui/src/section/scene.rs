//! What a section through a keying feature or an ejector pin shows, true to scale, before it is drawn.
//!
//! The cut goes across the channel, through the middle of the item. `x` runs across the channel, from the
//! item's axis to the right of the run's direction; `z` is the height over the parting plane, upwards into
//! the moving half. Pure geometry: the same project gives the same scene on every machine.

use glam::DVec2;
use keepside_engine::flank;
use keepside_engine::outline::{ChannelAt, Outline, channel_at, depth_in_half_mm};
use keepside_model::{Half, Id, Project};

use super::measure::{self, Measure};
use super::steel::{self, Steel};
use super::strip::Strip;

/// What fills an area.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stuff {
    /// The plate of a half.
    Plate(Half),
    /// The part.
    Plastic,
    /// Nothing: a hole that is drilled and stays empty.
    Empty,
    /// The feature or pin itself.
    Steel,
    /// A piece of hardware that belongs to it: the screw that locks it.
    Lock,
}

/// An area of one stuff, in pieces that are easy to fill, and its drawn edges.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Area {
    pub(crate) stuff: Stuff,
    pub(crate) pieces: Vec<[DVec2; 4]>,
    pub(crate) edges: Vec<Vec<DVec2>>,
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum LineKind {
    /// The axis of something round: long and short dashes.
    Axis,
    /// An edge behind the cut, thin.
    Behind,
}

/// A line that bounds nothing.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Line {
    pub(crate) kind: LineKind,
    pub(crate) points: Vec<DVec2>,
}

/// The whole drawing, in the order in which it is painted.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Scene {
    /// The feature or ejector that is cut through; `None` where there is only the channel.
    pub(crate) id: Option<Id>,
    pub(crate) half: Half,
    /// The place that the cut goes through, and the direction from there to the right of the drawing.
    pub(crate) origin: (DVec2, DVec2),
    /// What is cut, and where.
    pub(crate) title: String,
    pub(crate) areas: Vec<Area>,
    pub(crate) lines: Vec<Line>,
    pub(crate) measures: Vec<Measure>,
    /// What is worth looking at near the channel: lower left and upper right corner.
    pub(crate) near: (DVec2, DVec2),
    /// Everything: both plates whole.
    pub(crate) whole: (DVec2, DVec2),
    /// Height of the item's top, which can be dragged.
    pub(crate) top: DVec2,
    /// What is not certain about the drawing, in words.
    pub(crate) uncertain: Vec<&'static str>,
}

/// The cut through the channel where the item stands.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Cut {
    pub(crate) channel: ChannelAt,
    /// Walls left and right, as seen in plan, mm from the item's axis; `None` where another run opens.
    pub(crate) walls: [Option<f64>; 2],
    /// Heights of the two floors, without a rib, mm.
    pub(crate) floor_moving: f64,
    pub(crate) floor_fixed: f64,
    /// The channel: what the plastic fills.
    pub(crate) cavity: Strip,
    /// What is worth looking at, from left to right, mm.
    pub(crate) beside: (f64, f64),
    /// How far the drawing reaches to the left and to the right, mm.
    pub(crate) reach: (f64, f64),
}

/// This much beside the channel is worth looking at, in channel widths, and at least in mm.
const MARGIN: (f64, f64) = (0.6, 3.5);

/// Plates are drawn this far beyond that, in channel widths.
const BEYOND: f64 = 12.0;

/// Walls farther away than this many channel widths belong to another run.
const OPEN_BEYOND: f64 = 1.2;

/// Arcs of the outline are cut in chords within this, mm.
const CHORD_MM: f64 = 1e-4;

impl Cut {
    /// The cut across the channel at `at`; `None` if no channel is near.
    pub(crate) fn at(project: &Project, outline: &Outline, at: DVec2) -> Option<Self> {
        let channel =
            channel_at(project, at).filter(|channel| channel.offset_mm.abs() <= channel.width_mm)?;
        let right = -channel.direction.perp();
        let walls = walls(outline, at, right, OPEN_BEYOND * channel.width_mm);
        // Off the channel, or in a junction: the run's own width about its own centre line.
        let middle = channel.offset_mm;
        let own = [middle - 0.5 * channel.width_mm, middle + 0.5 * channel.width_mm];
        let inside = channel.inside;
        let walls = if inside { walls } else { own.map(Some) };
        let [left, right] = [walls[0].unwrap_or(own[0].min(0.0)), walls[1].unwrap_or(own[1].max(0.0))];
        let profile = flank(&project.part, right - left, channel.depth_mm);
        let centre = 0.5 * (left + right);
        let margin = (MARGIN.0 * channel.width_mm).max(MARGIN.1);
        let beside = (left.min(0.0) - margin, right.max(0.0) + margin);
        let beyond = BEYOND * channel.width_mm;
        let reach = (beside.0 - beyond, beside.1 + beyond);
        let edge = |half: f64, z: f64| {
            let left = if walls[0].is_some() { centre - half } else { reach.0 };
            let right = if walls[1].is_some() { centre + half } else { reach.1 };
            (z, left, right)
        };
        let cavity = Strip::between(profile.iter().map(|point| edge(point.x, point.y)));
        let share = project.part.moving_share;
        Some(Self {
            floor_moving: share * channel.depth_mm,
            floor_fixed: -(1.0 - share) * channel.depth_mm,
            walls: [walls[0], walls[1]],
            channel,
            cavity,
            beside,
            reach,
        })
    }

    /// Height of the channel floor of a half, mm.
    pub(crate) const fn floor(&self, half: Half) -> f64 {
        match half {
            Half::Moving => self.floor_moving,
            Half::Fixed => self.floor_fixed,
        }
    }
}

/// Distances to the walls on both sides of `at`, left negative; `None` where there is none within `far_mm`.
fn walls(outline: &Outline, at: DVec2, right: DVec2, far_mm: f64) -> [Option<f64>; 2] {
    let mut nearest: [Option<f64>; 2] = [None, None];
    for ring in &outline.rings {
        let corners = Outline::polyline(ring, CHORD_MM);
        for (index, &a) in corners.iter().enumerate() {
            let b = corners[(index + 1) % corners.len()];
            let (from, to) = ((a - at).dot(right.perp()), (b - at).dot(right.perp()));
            if (from < 0.0) == (to < 0.0) {
                continue;
            }
            let place = (a.lerp(b, from / (from - to)) - at).dot(right);
            let side = &mut nearest[usize::from(place > 0.0)];
            if place.abs() <= far_mm && side.is_none_or(|known| place.abs() < known.abs()) {
                *side = Some(place);
            }
        }
    }
    nearest
}

/// The section through a keying feature or an ejector; `None` for anything else, and far from any channel.
pub(crate) fn scene(project: &Project, outline: &Outline, id: Id) -> Option<Scene> {
    let at = project.place(id)?;
    let cut = Cut::at(project, outline, at)?;
    let steel = steel::of(project, id, &cut)?;
    let title = format!("{} in {}, cut across", project.tag(id), project.tag(cut.channel.run));
    let measures = measure::of(project, id, &cut, &steel);
    Some(drawn(project, at, &cut, &steel, title, measures, Some(id)))
}

/// The section through the bare channel nearest to a place; `None` far from any channel.
pub(crate) fn bare(project: &Project, outline: &Outline, at: DVec2) -> Option<Scene> {
    let cut = Cut::at(project, outline, at)?;
    let steel = Steel::none(&cut);
    let title = format!("{}, cut across", project.tag(cut.channel.run));
    let measures = measure::of_channel(project, &cut);
    Some(drawn(project, at, &cut, &steel, title, measures, None))
}

/// The drawing of a cut.
fn drawn(
    project: &Project,
    at: DVec2,
    cut: &Cut,
    steel: &Steel,
    title: String,
    measures: Vec<Measure>,
    id: Option<Id>,
) -> Scene {
    let half = steel.half;
    let mut areas = Vec::new();
    for plate in [Half::Fixed, Half::Moving] {
        areas.push(self::plate(project, cut, steel, plate));
    }
    areas.push(plastic(cut));
    areas.extend(gates(project, cut, at));
    areas.extend(steel.areas.iter().cloned());
    let (low, high) = (-project.plates.fixed_thickness_mm, project.plates.moving_thickness_mm);
    let behind = steel.behind_mm(cut).max(1.5);
    let beyond = 1.2_f64.max(0.35 * cut.channel.depth_mm);
    let (top, bottom) = match half {
        Half::Moving => ((cut.floor_moving + behind).min(high), (cut.floor_fixed - beyond).max(low)),
        Half::Fixed => ((cut.floor_moving + beyond).min(high), (cut.floor_fixed - behind).max(low)),
    };
    let mut lines = steel.lines.clone();
    lines.push(Line { kind: LineKind::Axis, points: vec![DVec2::new(0.0, low), DVec2::new(0.0, high)] });
    Scene {
        id,
        half,
        origin: (at, -cut.channel.direction.perp()),
        title,
        measures,
        near: (DVec2::new(cut.beside.0, bottom), DVec2::new(cut.beside.1, top)),
        whole: (DVec2::new(cut.beside.0, low), DVec2::new(cut.beside.1, high)),
        top: DVec2::new(0.0, steel.top),
        uncertain: steel.uncertain.clone(),
        areas,
        lines,
    }
}

/// A plate with what is cut into it: its share of the channel and, in the item's half, its hole.
fn plate(project: &Project, cut: &Cut, steel: &Steel, half: Half) -> Area {
    let (low, high) = match half {
        Half::Moving => (0.0, project.plates.moving_thickness_mm),
        Half::Fixed => (-project.plates.fixed_thickness_mm, 0.0),
    };
    let mut hollow = cut.cavity.part(low, high);
    let floor =
        hollow.0.iter().map(|rung| rung.z).fold(0.0, if half == Half::Moving { f64::max } else { f64::min });
    let (from, to) = if half == Half::Moving { (floor, high) } else { (low, floor) };
    let middle = [(from, 0.0, 0.0), (to, 0.0, 0.0)];
    let behind = if steel.half == half { steel.hole_between(from, to) } else { Strip::between(middle) };
    match half {
        Half::Moving => hollow.0.extend(behind.0),
        Half::Fixed => {
            let mut rungs = behind.0;
            rungs.append(&mut hollow.0);
            hollow.0 = rungs;
        }
    }
    let mut edges = vec![hollow.left_edge(), hollow.right_edge()];
    // The parting plane shows beside the channel, and the back of the plate.
    let (left, right) = cut.reach;
    let face = hollow.at(0.0).unwrap_or((0.0, 0.0));
    edges.push(vec![DVec2::new(left, 0.0), DVec2::new(face.0.max(left), 0.0)]);
    edges.push(vec![DVec2::new(face.1.min(right), 0.0), DVec2::new(right, 0.0)]);
    let back = if half == Half::Moving { high } else { low };
    edges.push(vec![DVec2::new(left, back), DVec2::new(right, back)]);
    // Where the plate is whole its two halves meet in the middle: no edge there.
    let whole = |edge: &Vec<DVec2>| !edge.iter().all(|point| point.x == 0.0);
    let edges = edges.into_iter().filter(whole).map(without_seam).collect();
    Area { stuff: Stuff::Plate(half), pieces: hollow.beside(left, right), edges }
}

/// An edge without the stretch in the middle, where nothing is cut.
fn without_seam(edge: Vec<DVec2>) -> Vec<DVec2> {
    let seam = |pair: &[DVec2]| pair[0].x == 0.0 && pair[1].x == 0.0;
    match edge.windows(2).position(seam) {
        Some(0) => {
            let from = edge.iter().position(|point| point.x != 0.0).unwrap_or(edge.len());
            edge[from.saturating_sub(1)..].to_vec()
        }
        Some(at) => edge[..=at].to_vec(),
        None => edge,
    }
}

fn plastic(cut: &Cut) -> Area {
    let (left, right) = (cut.cavity.left_edge(), cut.cavity.right_edge());
    let mut edges = Vec::new();
    for (edge, wall) in [(&left, cut.walls[0]), (&right, cut.walls[1])] {
        edges.extend(wall.map(|_| edge.clone()));
    }
    // Both floors.
    for (from, to) in [(left.first(), right.first()), (left.last(), right.last())] {
        edges.extend(from.zip(to).map(|(from, to)| vec![*from, *to]));
    }
    Area { stuff: Stuff::Plastic, pieces: cut.cavity.quads(), edges }
}

/// The bores of gates that the cut goes through, and the plugs in them.
fn gates(project: &Project, cut: &Cut, at: DVec2) -> Vec<Area> {
    let right = -cut.channel.direction.perp();
    let mut areas = Vec::new();
    for sprue in project.sprues.values() {
        let away = sprue.at - at;
        let (aside, along) = (away.dot(right), away.dot(cut.channel.direction));
        let floor = cut.floor(sprue.half);
        let up = if sprue.half == Half::Moving { 1.0 } else { -1.0 };
        let slope = sprue.draft_deg.to_radians().tan();
        let radius = |depth: f64| 0.5 * sprue.diameter_mm - depth * slope;
        let chord = |depth: f64| (radius(depth).max(0.0).powi(2) - along * along).max(0.0).sqrt();
        if chord(0.0) <= 0.0 || depth_in_half_mm(project, sprue.half, sprue.at) <= 0.0 {
            continue;
        }
        let rungs = [0.0, sprue.length_mm].map(|depth| (chord(depth), floor + up * depth));
        let strip = Strip::about(aside, rungs);
        areas.push(Area {
            stuff: Stuff::Plastic,
            pieces: strip.quads(),
            edges: vec![strip.left_edge(), strip.right_edge()],
        });
    }
    areas
}
