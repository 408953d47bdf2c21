//! The run as a chain of beam elements: where the nodes stand and what section each element has.

use glam::DVec2;
use keepside_model::{EndShape, Id, Project, Run};

use crate::beam::{Chain, ChannelShape, PlaneElement, PlasticLaw, Section};
use crate::opening::NotComputed;

/// A straight run, measured along its centre line from one tip of the part to the other.
#[derive(Clone, Debug)]
pub(crate) struct StraightRun {
    pub(crate) run: Id,
    /// The tip of the part at the run's start, in the plan, mm.
    pub(crate) start: DVec2,
    /// Unit vector along the run.
    pub(crate) direction: DVec2,
    /// Tip to tip, round ends included, mm.
    pub(crate) length_mm: f64,
    /// Radius of the round end at the start, mm; 0 for a square end.
    round_start_mm: f64,
    /// Radius of the round end at the end, mm.
    round_end_mm: f64,
    /// Place along, width and depth at every point of the run, mm.
    profile: Vec<(f64, f64, f64)>,
}

/// Angle between two pieces of a run up to which it still counts as straight, rad.
const STRAIGHT_RAD: f64 = 1e-6;

impl StraightRun {
    /// The project's one straight run.
    ///
    /// # Errors
    ///
    /// [`NotComputed`] if there is no run, more than one, one without length, or one that bends.
    pub(crate) fn of(project: &Project) -> Result<Self, NotComputed> {
        let mut runs = project.part.runs.iter();
        let (&id, run) = runs.next().ok_or(NotComputed::NoRun)?;
        if let Some((&second, _)) = runs.next() {
            return Err(NotComputed::NotSupported {
                run: second,
                what: "a part of several runs (a branch or a second moulding)",
                instead: "the drawing is still checked for gaps and walls; try each run in a project of its own",
            });
        }
        Self::new(id, run)
    }

    fn new(id: Id, run: &Run) -> Result<Self, NotComputed> {
        let no_length = NotComputed::NoLength { run: id };
        let (Some(first), Some(last)) = (run.points.first(), run.points.last()) else {
            return Err(no_length);
        };
        let across = last.at - first.at;
        let core_mm = across.length();
        let bends = NotComputed::NotSupported {
            run: id,
            what: "a run that bends",
            instead: "straighten it, or look at one straight piece in a project of its own",
        };
        let is_polyline_long = run.points.windows(2).any(|pair| pair[0].at.distance(pair[1].at) > 1e-3);
        if core_mm < 1e-3 {
            return Err(if is_polyline_long { bends } else { no_length });
        }
        let direction = across / core_mm;
        let is_straight = run.points.windows(2).all(|pair| {
            let piece = pair[1].at - pair[0].at;
            let is_ahead = piece.dot(direction) >= 0.0;
            is_ahead && pair[0].bulge == 0.0 && piece.perp_dot(direction).abs() <= STRAIGHT_RAD * core_mm
        });
        if !is_straight {
            return Err(bends);
        }
        let radius = |shape, width_mm: f64| match shape {
            EndShape::Round => 0.5 * width_mm,
            EndShape::Square => 0.0,
        };
        let round_start_mm = radius(run.start, first.width_mm);
        let round_end_mm = radius(run.end, last.width_mm);
        let profile = run
            .points
            .iter()
            .map(|p| (round_start_mm + (p.at - first.at).dot(direction), p.width_mm, p.depth_mm))
            .collect();
        Ok(Self {
            run: id,
            start: first.at - direction * round_start_mm,
            direction,
            length_mm: core_mm + round_start_mm + round_end_mm,
            round_start_mm,
            round_end_mm,
            profile,
        })
    }

    /// Place along the run of a point of the plan, and how far it lies beside the centre line, mm.
    pub(crate) fn along(&self, plan: DVec2) -> (f64, f64) {
        let from = plan - self.start;
        (from.dot(self.direction), from.perp_dot(self.direction).abs())
    }

    /// Width and depth of the channel at a place along, mm, as drawn: a round end is taken at its
    /// full width.
    pub(crate) fn channel_at(&self, along_mm: f64) -> (f64, f64) {
        let after = self.profile.partition_point(|p| p.0 <= along_mm);
        let low = self.profile[after.saturating_sub(1)];
        let high = self.profile[after.min(self.profile.len() - 1)];
        let span = high.0 - low.0;
        let t = if span > 0.0 { ((along_mm - low.0) / span).clamp(0.0, 1.0) } else { 0.0 };
        (low.1 + t * (high.1 - low.1), low.2 + t * (high.2 - low.2))
    }

    /// Width of the part at a place along, mm: less in a round end, but never under a fifth, so that
    /// the tip stays a beam.
    pub(crate) fn width_mm(&self, along_mm: f64) -> f64 {
        let (width, _) = self.channel_at(along_mm);
        let chord = |radius: f64, from_tip: f64| {
            let from_centre = (radius - from_tip).max(0.0);
            2.0 * (radius * radius - from_centre * from_centre).max(0.0).sqrt()
        };
        let mut part = width;
        if along_mm < self.round_start_mm {
            part = part.min(chord(self.round_start_mm, along_mm));
        }
        let from_end = self.length_mm - along_mm;
        if from_end < self.round_end_mm {
            part = part.min(chord(self.round_end_mm, from_end));
        }
        part.max(0.2 * width)
    }
}

/// Places of the nodes along a run: every mark has one, elements are finest at the marks.
///
/// `fine_mm` is the element length at a mark, `coarse_mm` the longest; the length grows by a fifth of
/// the distance from the nearest mark.
pub(crate) fn nodes(length_mm: f64, marks: &[f64], fine_mm: f64, coarse_mm: f64) -> Vec<f64> {
    let mut stops: Vec<f64> = marks.iter().copied().filter(|m| (0.0..=length_mm).contains(m)).collect();
    stops.extend([0.0, length_mm]);
    stops.sort_by(f64::total_cmp);
    stops.dedup_by(|b, a| *b - *a < 0.2 * fine_mm);
    // The ends stay whatever mark stands next to them.
    stops.retain(|stop| *stop > 0.0 && length_mm - stop > 0.2 * fine_mm.min(length_mm));
    stops.insert(0, 0.0);
    stops.push(length_mm);
    let size = |along: f64| {
        let nearest = marks.iter().map(|m| (m - along).abs()).fold(f64::INFINITY, f64::min);
        (fine_mm + 0.2 * nearest).min(coarse_mm)
    };
    let mut along_mm = vec![0.0];
    for pair in stops.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        // Elements between the stops = integral of ds/size; nodes at equal parts of that integral.
        let pieces = (((to - from) / fine_mm * 4.0).ceil() as usize).clamp(8, 100_000);
        let step = (to - from) / pieces as f64;
        let density: Vec<f64> = (0..pieces).map(|i| step / size(from + (i as f64 + 0.5) * step)).collect();
        let total: f64 = density.iter().sum();
        let count = (total.ceil() as usize).max(1);
        let (mut sum, mut next) = (0.0, 1);
        for (i, part) in density.iter().enumerate() {
            while next < count && sum + part >= next as f64 / count as f64 * total {
                let t = (next as f64 / count as f64 * total - sum) / part;
                along_mm.push(from + (i as f64 + t) * step);
                next += 1;
            }
            sum += part;
        }
        along_mm.push(to);
    }
    along_mm
}

/// The chain of a run with nodes at `along_mm`.
pub(crate) fn chain(project: &Project, run: &StraightRun, along_mm: Vec<f64>) -> Chain {
    let law = PlasticLaw::new(&project.material);
    let elements = along_mm
        .windows(2)
        .map(|pair| PlaneElement::new(pair[1] - pair[0], Section::new(&shape(project, run, pair)), law))
        .collect();
    Chain { along_mm, elements }
}

/// The cross-section of an element, taken at its middle.
pub(crate) fn shape(project: &Project, run: &StraightRun, pair: &[f64]) -> ChannelShape {
    let middle = 0.5 * (pair[0] + pair[1]);
    let (_, depth_mm) = run.channel_at(middle);
    ChannelShape::new(&project.part, run.width_mm(middle), depth_mm)
}
