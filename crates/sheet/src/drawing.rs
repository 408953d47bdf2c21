//! A plate as lines in mm, seen on its parting face, sorted by what they are for: what DXF and SVG hold.
//!
//! The origin is the plate's lower left corner as it is seen, x to the right, y up. Unlike a printed sheet
//! it is not cut to the paper: arcs are arcs and circles are circles.

use std::f64::consts::PI;

use glam::DVec2;
use keepside_engine::hardware;
use keepside_engine::outline::{self, Piece};
use keepside_model::{FeatureKind, Half, Project, Run, Vent};

use crate::holes::{AfterDrilling, HoleRow, hole_table};

/// Length of the arms of a centre mark, mm.
const ARM_MM: f64 = 1.5;
/// Size of tags, mm.
const TAG_MM: f64 = 2.5;

/// What lines are for; each kind is a layer or group of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Layer {
    Plate,
    Channel,
    CentreLines,
    Holes,
    Finished,
    Threads,
    Heads,
    Vents,
    CentreMarks,
    OtherHalf,
    CheckFirst,
    Text,
}

impl Layer {
    /// All layers, what is cut first.
    pub(crate) const ALL: [Self; 12] = [
        Self::Plate,
        Self::Channel,
        Self::CentreLines,
        Self::Holes,
        Self::Finished,
        Self::Threads,
        Self::Heads,
        Self::Vents,
        Self::CentreMarks,
        Self::OtherHalf,
        Self::CheckFirst,
        Self::Text,
    ];

    /// Its name in files: letters and hyphens only, as the oldest readers ask.
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::Plate => "PLATE",
            Self::Channel => "CHANNEL",
            Self::CentreLines => "CHANNEL-CENTRE",
            Self::Holes => "HOLES",
            Self::Finished => "FINISHED",
            Self::Threads => "THREADS",
            Self::Heads => "HEADS",
            Self::Vents => "VENTS",
            Self::CentreMarks => "CENTRE-MARKS",
            Self::OtherHalf => "OTHER-HALF",
            Self::CheckFirst => "CHECK-FIRST",
            Self::Text => "TEXT",
        }
    }

    /// What is on it, in plain words.
    pub(crate) const fn meaning(self) -> &'static str {
        match self {
            Self::Plate => "the plate's edge",
            Self::Channel => "the channel's edge at the parting face",
            Self::CentreLines => "the middle of the channel",
            Self::Holes => "circles of the drills",
            Self::Finished => "holes after reaming; of tapers the wide end",
            Self::Threads => "nominal diameter of threads to tap",
            Self::Heads => "heads that stand in the channel",
            Self::Vents => "vents in this half",
            Self::CentreMarks => "crosses to punch",
            Self::OtherHalf => "of the other half, for orientation only",
            Self::CheckFirst => "holes marked CHECK in the hole table: not to be drilled as they are",
            Self::Text => "tags",
        }
    }
}

/// Lines of one kind.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Drawn {
    pub(crate) layer: Layer,
    pub(crate) shape: Shape,
}

/// A shape, mm.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Shape {
    /// Pieces end to end, closed or not.
    Path {
        pieces: Vec<Piece>,
        closed: bool,
    },
    Circle {
        centre: DVec2,
        radius_mm: f64,
    },
    /// From the left end of the baseline.
    Text {
        at: DVec2,
        size_mm: f64,
        text: String,
    },
}

/// Whether the hole table says that this hole must be looked at before it is drilled.
pub(crate) fn is_to_check(row: &HoleRow) -> bool {
    row.drill_mm.is_none() || row.note.contains("CHECK") || row.note.contains("do not drill")
}

/// Everything of one plate, layer by layer.
pub(crate) fn plate(project: &Project, half: Half) -> Vec<Drawn> {
    let mut sketch = Sketch { project, half, drawn: Vec::new() };
    sketch.rectangle();
    for ring in outline::of(project).rings {
        let pieces = ring.pieces.iter().map(|piece| sketch.on_face(piece)).collect();
        sketch.add(Layer::Channel, Shape::Path { pieces, closed: true });
    }
    for run in project.part.runs.values() {
        let pieces: Vec<Piece> = centre_line(run).iter().map(|piece| sketch.on_face(piece)).collect();
        if !pieces.is_empty() {
            sketch.add(Layer::CentreLines, Shape::Path { pieces, closed: false });
        }
    }
    for vent in project.vents.values() {
        sketch.vent(vent);
    }
    for row in hole_table(project, half) {
        sketch.hole(&row);
    }
    sketch.other_half();
    sketch.drawn.sort_by_key(|drawn| drawn.layer);
    sketch.drawn
}

struct Sketch<'a> {
    project: &'a Project,
    half: Half,
    drawn: Vec<Drawn>,
}

impl Sketch<'_> {
    fn add(&mut self, layer: Layer, shape: Shape) {
        self.drawn.push(Drawn { layer, shape });
    }

    fn circle(&mut self, layer: Layer, centre: DVec2, diameter_mm: f64) {
        self.add(layer, Shape::Circle { centre, radius_mm: diameter_mm / 2.0 });
    }

    /// A piece of the plan as it is seen on the face.
    fn on_face(&self, piece: &Piece) -> Piece {
        let seen = |at| self.project.plates.seen_on_face(self.half, at);
        match (*piece, self.half) {
            (Piece::Line { from, to }, _) => Piece::Line { from: seen(from), to: seen(to) },
            (Piece::Arc { centre, radius_mm, from_rad, sweep_rad }, Half::Fixed) => {
                Piece::Arc { centre: seen(centre), radius_mm, from_rad: PI - from_rad, sweep_rad: -sweep_rad }
            }
            (arc @ Piece::Arc { .. }, Half::Moving) => arc,
        }
    }

    fn polygon(&mut self, layer: Layer, corners: &[DVec2]) {
        let next = corners.iter().cycle().skip(1);
        let pieces = corners.iter().zip(next).map(|(&from, &to)| Piece::Line { from, to }).collect();
        self.add(layer, Shape::Path { pieces, closed: true });
    }

    fn rectangle(&mut self) {
        let (x, y) = (self.project.plates.width_mm, self.project.plates.height_mm);
        let corners = [(0.0, 0.0), (x, 0.0), (x, y), (0.0, y)].map(DVec2::from);
        self.polygon(Layer::Plate, &corners);
    }

    fn vent(&mut self, vent: &Vent) {
        let out = outline::vent_direction(self.project, vent);
        let (side, end) = (out.perp() * vent.width_mm / 2.0, vent.at + out * vent.length_mm);
        let corners = [vent.at - side, end - side, end + side, vent.at + side]
            .map(|corner| self.project.plates.seen_on_face(self.half, corner));
        let layer = if vent.half == self.half { Layer::Vents } else { Layer::OtherHalf };
        self.polygon(layer, &corners);
    }

    fn hole(&mut self, row: &HoleRow) {
        let at = row.at_mm;
        let check = is_to_check(row);
        let on = |layer| if check { Layer::CheckFirst } else { layer };
        let mut widest_mm = 0.0_f64;
        if let Some(drill_mm) = row.drill_mm {
            self.circle(on(Layer::Holes), at, drill_mm);
            widest_mm = drill_mm;
        }
        match row.after {
            _ if check => {}
            AfterDrilling::Nothing => {}
            AfterDrilling::Tap(thread) => {
                let diameter_mm = hardware::nominal_diameter_mm(thread);
                self.circle(Layer::Threads, at, diameter_mm);
                widest_mm = widest_mm.max(diameter_mm);
            }
            AfterDrilling::Ream { diameter_mm } | AfterDrilling::TaperReam { diameter_mm, .. } => {
                self.circle(Layer::Finished, at, diameter_mm);
                widest_mm = widest_mm.max(diameter_mm);
            }
        }
        if let Some(feature) = self.project.features.get(&row.id)
            && matches!(feature.kind, FeatureKind::CapHead { .. } | FeatureKind::TurnedHead { .. })
        {
            let diameter_mm = outline::plan_diameter_mm(&feature.kind);
            self.circle(Layer::Heads, at, diameter_mm);
            widest_mm = widest_mm.max(diameter_mm);
        }
        for arm in [DVec2::new(ARM_MM, 0.0), DVec2::new(0.0, ARM_MM)] {
            let pieces = vec![Piece::Line { from: at - arm, to: at + arm }];
            self.add(on(Layer::CentreMarks), Shape::Path { pieces, closed: false });
        }
        let at = at + DVec2::splat(widest_mm / 2.0 * std::f64::consts::FRAC_1_SQRT_2 + 0.5);
        self.add(Layer::Text, Shape::Text { at, size_mm: TAG_MM, text: row.tag.clone() });
    }

    /// Circles of what stands in the other half, at its widest in the parting face.
    fn other_half(&mut self) {
        let other = self.half.other();
        let sprues = self.project.sprues.values().filter(|sprue| sprue.half == other);
        let mut circles: Vec<(DVec2, f64)> = sprues.map(|sprue| (sprue.at, sprue.diameter_mm)).collect();
        let features = self.project.features.values().filter(|feature| feature.half == other);
        circles.extend(features.map(|feature| (feature.at, outline::plan_diameter_mm(&feature.kind))));
        // Ejectors are all in the moving half.
        let ejectors = self.project.ejectors.values().filter(|_| other == Half::Moving);
        circles.extend(ejectors.map(|ejector| (ejector.at, ejector.diameter_mm)));
        for (at, diameter_mm) in circles {
            self.circle(Layer::OtherHalf, self.project.plates.seen_on_face(self.half, at), diameter_mm);
        }
    }
}

/// The centre line of a run in the plan.
fn centre_line(run: &Run) -> Vec<Piece> {
    let pairs = run.points.iter().zip(run.points.iter().skip(1));
    let pieces = pairs.filter(|(a, b)| a.at != b.at).map(|(a, b)| {
        let (from, to, bulge) = (a.at, b.at, a.bulge);
        // As in the outline: an arc whose middle is this near its chord is straight.
        if bulge.abs() * from.distance(to) / 2.0 < 1e-4 {
            return Piece::Line { from, to };
        }
        let centre = from.midpoint(to) + (to - from).perp() * ((1.0 - bulge * bulge) / (4.0 * bulge));
        Piece::Arc {
            centre,
            radius_mm: from.distance(centre),
            from_rad: (from - centre).to_angle(),
            sweep_rad: 4.0 * bulge.atan(),
        }
    });
    pieces.collect()
}

/// A number as both formats write it: nine decimals without needless zeros, never "-0".
pub(crate) fn decimal(value: f64) -> String {
    let text = format!("{value:.9}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
