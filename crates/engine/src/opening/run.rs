//! One opening run from closed to full stroke, and what it tells.

use keepside_model::{Half, Project};

use crate::beam::DOF;
use crate::opening::result::{
    Axis, Energy, Frame, HoldName, HoldOutcome, HoldState, Opening, PlanPoint, Release, ReleaseHow, Residual,
    ShapePoint, What,
};
use crate::opening::setup::{Fineness, Setup};
use crate::opening::stepper::{Pace, Stepper};
use crate::opening::tug::{FIXED, MOVING};
use crate::opening::{Cancel, NotComputed, shape, verdict};

/// Permitted error of extrapolating a step, mm, for points in the open, and as a share of the tack
/// travel for points that are not clear of a face.
const ERROR_MM: f64 = 0.02;
const NEAR_ERROR: f64 = 0.1;
/// The same for rotations, rad.
const ERROR_RAD: f64 = 0.005;
/// Largest motion in a step of a point that comes off a face, as a share of the tack travel.
const NEAR_MOTION: f64 = 0.1;
/// Opening, in tack travels, up to which both halves' tack has passed its peak.
const START: f64 = 0.5;
/// Largest share of the travel of a wall or a point hold in one step.
const CURVE_SHARE: f64 = 0.1;
/// Out-of-balance force that counts as none, as a share of the strongest hold.
const TOLERANCE: f64 = 1e-6;
/// Frames are kept at least this many to a stroke, and more where things move fast.
const FRAMES: f64 = 150.0;
/// And one at least whenever the opening has grown by this share: tack is decided in hundredths of a
/// millimetre.
const FRAME_GROWTH: f64 = 0.1;

/// Everything a run records on the way.
pub(crate) struct Record {
    /// Tack fixed, wall fixed, tack moving, wall moving, then the point holds.
    pub(crate) holds: Vec<HoldOutcome>,
    pub(crate) releases: Vec<Release>,
    frames: Vec<Frame>,
}

/// Number of line holds in front of the point holds in [`Opening::holds`].
pub(crate) const LINE_HOLDS: usize = 4;

/// Opens the mould once with a given fineness and factor on the fixed half's holds.
pub(crate) fn open(
    project: &Project,
    fineness: Fineness,
    fixed_factor: f64,
    cancel: &Cancel,
) -> Result<Opening, NotComputed> {
    let setup = Setup::new(project, fineness, fixed_factor)?;
    let pace = Pace {
        first_mm: 1e-3 * fineness.step,
        longest_mm: setup.stroke_mm / 40.0 * fineness.step,
        start_mm: START * setup.tug.tack.gone_mm,
        fineness: fineness.step,
        error_mm: ERROR_MM * fineness.step * fineness.step,
        near_error_mm: NEAR_ERROR * setup.tug.tack.gone_mm * fineness.step * fineness.step,
        near_motion_mm: NEAR_MOTION * setup.tug.tack.gone_mm * fineness.step,
        curve_share: CURVE_SHARE * fineness.step,
        error_rad: ERROR_RAD * fineness.step * fineness.step,
        tolerance_n: TOLERANCE * setup.reference_n,
    };
    let mut stepper = Stepper::new(setup.tug.clone(), pace);
    let mut record = Record { holds: outcomes(&setup), releases: Vec::new(), frames: Vec::new() };
    record.frame(&stepper);
    while stepper.opening_mm < setup.stroke_mm {
        stepper.advance(setup.stroke_mm, cancel)?;
        record.step(&setup, &stepper);
    }
    record.frame_if_new(&stepper);
    Ok(finish(project, &setup, &stepper, record))
}

/// The holds as they stand before the run.
fn outcomes(setup: &Setup) -> Vec<HoldOutcome> {
    let line = |half, what, capacity_n, let_go_travel_mm, governed_by| HoldOutcome {
        name: HoldName { half, what },
        on: None,
        clear_gap_mm: None,
        capacity_n,
        let_go_travel_mm,
        peak_n: 0.0,
        travel_mm: 0.0,
        work_mj: 0.0,
        state: HoldState::Holding,
        curve: Vec::new(),
        governed_by,
    };
    let mut holds = Vec::with_capacity(LINE_HOLDS + setup.points.len());
    for (half, index) in [(Half::Fixed, FIXED), (Half::Moving, MOVING)] {
        holds.push(line(half, What::Tack, setup.tack_peak_n[index], setup.tug.tack.gone_mm, "tack"));
        let gone_mm = setup.wall_gone_mm[index];
        holds.push(line(half, What::WallDrag, setup.wall_peak_n[index], gone_mm, "drag"));
    }
    for (point, law) in setup.points.iter().zip(&setup.tug.laws) {
        holds.push(HoldOutcome {
            on: Some((setup.run.run, point.along_mm)),
            curve: law.curve.points().to_vec(),
            ..line(
                point.name.half,
                point.name.what,
                law.curve.peak_n(),
                law.curve.let_go_travel_mm(),
                point.hold.governed_by,
            )
        });
    }
    holds
}

impl Record {
    fn step(&mut self, setup: &Setup, stepper: &Stepper) {
        let opening_mm = stepper.opening_mm;
        let released_before = self.releases.len();
        let pulls = pulls(stepper, self.holds.len());
        for (hold, pull) in self.holds.iter_mut().zip(&pulls) {
            hold.peak_n = hold.peak_n.max(*pull);
        }
        self.lines(setup, stepper);
        self.points(setup, stepper);
        let last = self.frames.last();
        let is_far = last.is_none_or(|frame| {
            let by = opening_mm - frame.opening_mm;
            let due = by >= setup.stroke_mm / FRAMES || by >= FRAME_GROWTH * opening_mm;
            let moved = frame.shapes.iter().flatten().enumerate().any(|(i, point)| {
                let change = stepper.now[DOF * i + 1] - f64::from(point.z_mm);
                (change - (opening_mm - frame.opening_mm)).abs() > 1.0 && change.abs() > 1.0
            });
            due || moved
        });
        if is_far || self.releases.len() > released_before {
            self.frame(stepper);
        }
    }

    fn lines(&mut self, setup: &Setup, stepper: &Stepper) {
        for half in [FIXED, MOVING] {
            let (mut stuck, mut dragging, mut worst_tack, mut worst_wall) = (0.0, 0.0, 0.0_f64, 0.0_f64);
            let (mut tack_at, mut wall_at) = (0.0_f64, 0.0_f64);
            for (line, length) in stepper.tug.lines.iter().zip(&setup.line_mm) {
                let face = &line.faces[half];
                if face.tack_worst_mm < stepper.tug.tack.gone_mm {
                    stuck += length;
                }
                if face.wall_slide.worst_mm < face.wall.gone_mm {
                    dragging += length;
                }
                worst_tack = worst_tack.max(face.tack_worst_mm);
                worst_wall = worst_wall.max(face.wall_slide.worst_mm);
                tack_at = tack_at.max(face.tack_gone_at_mm);
                wall_at = wall_at.max(face.wall_gone_at_mm);
            }
            self.line(2 * half, stuck / setup.run.length_mm, worst_tack, tack_at);
            self.line(2 * half + 1, dragging / setup.run.length_mm, worst_wall, wall_at);
        }
    }

    fn line(&mut self, index: usize, share: f64, travel_mm: f64, gone_at_mm: f64) {
        let hold = &mut self.holds[index];
        if matches!(hold.state, HoldState::LetGo { .. }) || hold.capacity_n <= 0.0 {
            return;
        }
        hold.travel_mm = travel_mm.min(hold.let_go_travel_mm);
        if share <= 0.0 {
            hold.state = HoldState::LetGo { opening_mm: gone_at_mm };
            self.releases.push(Release { opening_mm: gone_at_mm, hold: index, how: ReleaseHow::LetGo });
        } else if share < 1.0 - 1e-9 {
            hold.state = HoldState::PartlyHolding { share };
        }
    }

    fn points(&mut self, setup: &Setup, stepper: &Stepper) {
        for (law, entry) in setup.points.iter().enumerate() {
            let index = LINE_HOLDS + law;
            let hold = &mut self.holds[index];
            if hold.state != HoldState::Holding {
                continue;
            }
            let spots = stepper.tug.points.iter().filter(|p| p.law == law);
            let spots_are_dropped = spots.clone().all(|spot| spot.share == 0.0);
            let (mut travel_mm, mut is_over, mut opening_mm) = (0.0, true, 0.0_f64);
            for spot in spots {
                travel_mm += spot.share * spot.slide.worst_mm.min(hold.let_go_travel_mm);
                is_over &= spot.slide.worst_mm >= hold.let_go_travel_mm;
                opening_mm = opening_mm.max(spot.gone_at_mm);
            }
            hold.travel_mm = travel_mm.min(hold.let_go_travel_mm);
            if is_over {
                let breaks = entry.breaks() || spots_are_dropped;
                hold.state =
                    if breaks { HoldState::Broke { opening_mm } } else { HoldState::LetGo { opening_mm } };
                let how = if breaks { ReleaseHow::Broke } else { ReleaseHow::LetGo };
                self.releases.push(Release { opening_mm, hold: index, how });
            }
        }
    }

    fn frame_if_new(&mut self, stepper: &Stepper) {
        if self.frames.last().is_none_or(|frame| frame.opening_mm < stepper.opening_mm) {
            self.frame(stepper);
        }
    }

    #[expect(clippy::cast_possible_truncation, reason = "pictures need no more than f32")]
    fn frame(&mut self, stepper: &Stepper) {
        let shape = stepper.tug.chain.along_mm.iter().enumerate().map(|(i, along)| ShapePoint {
            along_mm: *along as f32,
            x_mm: (along + stepper.now[DOF * i]) as f32,
            y_mm: 0.0,
            z_mm: stepper.now[DOF * i + 1] as f32,
        });
        let pulls = pulls(stepper, self.holds.len());
        let of = |half: Half| {
            self.holds.iter().zip(&pulls).filter(|(hold, _)| hold.name.half == half).map(|(_, n)| n).sum()
        };
        self.frames.push(Frame {
            opening_mm: stepper.opening_mm,
            shapes: vec![shape.collect()],
            moving_n: of(Half::Moving),
            fixed_n: of(Half::Fixed),
            pulls_n: pulls.iter().map(|n| *n as f32).collect(),
        });
    }
}

/// Pull of every hold at the last accepted step, N.
fn pulls(stepper: &Stepper, count: usize) -> Vec<f64> {
    let mut pulls = vec![0.0; count];
    for line in &stepper.tug.lines {
        for half in [FIXED, MOVING] {
            pulls[2 * half] += line.faces[half].tack_pull_n;
            pulls[2 * half + 1] += line.faces[half].wall_slide.pull_before;
        }
    }
    for point in &stepper.tug.points {
        pulls[LINE_HOLDS + point.law] += point.pull_n();
    }
    pulls
}

fn finish(project: &Project, setup: &Setup, stepper: &Stepper, mut record: Record) -> Opening {
    let work = &stepper.work;
    let by_hold = [work.tack[FIXED], work.wall[FIXED], work.tack[MOVING], work.wall[MOVING]];
    let by_hold = by_hold.iter().chain(&work.point);
    for (hold, taken) in record.holds.iter_mut().zip(by_hold) {
        hold.work_mj = *taken;
    }
    let energy = Energy {
        work_mj: stepper.work_in_mj,
        elastic_mj: stepper.stored_mj(),
        plastic_mj: work.part,
        holds_mj: record.holds.iter().map(|hold| hold.work_mj).sum(),
        viscous_mj: work.viscous,
        snap_mj: 0.0,
    };
    let stretches = verdict::stretches(setup, stepper);
    let verdict = verdict::of(setup, stepper, &record);
    record.releases.sort_by(|a, b| a.opening_mm.total_cmp(&b.opening_mm));
    let released = stepper.tug.chain.released_shape(&stepper.now);
    let places: Vec<_> =
        setup.points.iter().filter_map(|p| Some((p.name.what.item()?, p.along_mm))).collect();
    // A torn part is measured piece by piece.
    let (mut residual, mut bumps, mut flatness_mm) = (Vec::new(), Vec::new(), 0.0_f64);
    for (first, last) in verdict::piece_nodes(stepper) {
        let nodes_mm = &stepper.tug.chain.along_mm[first..=last];
        let shape = shape::level(&released[first..=last]);
        bumps.extend(shape::bumps(&shape, nodes_mm, &places, project, &setup.run));
        flatness_mm = flatness_mm.max(shape::flatness_mm(&shape));
        let start_mm = nodes_mm.first().copied().unwrap_or(0.0);
        let points = shape.iter().map(|(x, z)| (start_mm + x, *z)).collect();
        residual.push(Residual { run: setup.run.run, points });
    }
    bumps.sort_by_key(|bump| places.iter().position(|(item, _)| *item == bump.item));
    let direction = setup.run.direction;
    let axis = stepper.tug.chain.along_mm.iter().map(|&along_mm| {
        let at = setup.run.start + direction * along_mm;
        PlanPoint { along_mm, at, direction }
    });
    Opening {
        verdict,
        holds: record.holds,
        releases: record.releases,
        stretches,
        bumps,
        flatness_mm,
        residual,
        frames: record.frames,
        energy,
        effort: stepper.effort,
        axes: vec![Axis { run: setup.run.run, length_mm: setup.run.length_mm, points: axis.collect() }],
    }
}
