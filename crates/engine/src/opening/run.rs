//! One opening run from closed to full stroke, and what it tells.

use glam::DVec2;
use keepside_model::{Half, Project};

use crate::beam::{Beams, Chain, Space};
use crate::network::Network;
use crate::opening::lines::LineTotal;
use crate::opening::result::{
    Axis, BumpAt, Effort, Energy, Frame, HoldName, HoldOutcome, HoldState, Opening, PlanPoint, Release,
    ReleaseHow, Residual, ShapePoint, What,
};
use crate::opening::setup::{Build, Factors, Fineness, Layout, PointEntry, Setup};
use crate::opening::shape::Laid;
use crate::opening::shrink::Kept;
use crate::opening::spot::ExtraKind;
use crate::opening::stepper::{Pace, Stepper};
use crate::opening::tug::{FIXED, MOVING, Work};
use crate::opening::{Cancel, NotComputed, Stripping, strip, verdict};

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
    /// The line holds of the fixed half, then those of the moving half, then the point holds.
    pub(crate) holds: Vec<HoldOutcome>,
    /// Number of line holds among them.
    pub(crate) lines: usize,
    pub(crate) releases: Vec<Release>,
    frames: Vec<Frame>,
    /// Latest height of every node, mm, as of the last frame.
    heights: Vec<f64>,
}

/// Opens the mould once with a given fineness and factor on the fixed half's holds.
pub(crate) fn open(
    project: &Project,
    fineness: Fineness,
    fixed_factor: f64,
    cancel: &Cancel,
) -> Result<Opening, NotComputed> {
    let layout = Layout::new(project, fineness)?;
    if layout.is_plane {
        march::<Chain>(project, layout, fineness, fixed_factor, cancel).map(|run| run.opening)
    } else {
        march::<Space>(project, layout, fineness, fixed_factor, cancel).map(|run| run.opening)
    }
}

/// Opens the mould once, then pushes the part off the moving half if that keeps it.
pub(crate) fn open_and_strip(
    project: &Project,
    fineness: Fineness,
    cancel: &Cancel,
    opened: &mut dyn FnMut(Opening),
) -> Result<Option<Stripping>, NotComputed> {
    fn both<B: Build + Kept>(
        project: &Project,
        layout: Layout,
        fineness: Fineness,
        cancel: &Cancel,
        opened: &mut dyn FnMut(Opening),
    ) -> Result<Option<Stripping>, NotComputed> {
        let run = march::<B>(project, layout, fineness, 1.0, cancel)?;
        opened(run.opening.clone());
        strip::strip(project, &run, fineness, cancel)
    }
    let layout = Layout::new(project, fineness)?;
    if layout.is_plane {
        both::<Chain>(project, layout, fineness, cancel, opened)
    } else {
        both::<Space>(project, layout, fineness, cancel, opened)
    }
}

/// Opens the mould once, computed in space even where a plane would do: for checks.
#[cfg(test)]
pub(crate) fn open_in_space(project: &Project, fineness: Fineness) -> Result<Opening, NotComputed> {
    let layout = Layout::new(project, fineness)?;
    march::<Space>(project, layout, fineness, 1.0, &Cancel::default()).map(|run| run.opening)
}

/// A run at full stroke, with the state that the part is left in.
pub(crate) struct Opened<B: Beams> {
    pub(crate) opening: Opening,
    pub(crate) setup: Setup<B>,
    pub(crate) stepper: Stepper<B>,
}

/// How a march is paced.
pub(crate) fn pace<B: Beams>(setup: &Setup<B>, fineness: Fineness, stroke_mm: f64) -> Pace {
    let gone_mm = setup.tug.tack.gone_mm;
    Pace {
        first_mm: 1e-3 * fineness.step,
        longest_mm: stroke_mm / 40.0 * fineness.step,
        start_mm: START * gone_mm,
        fineness: fineness.step,
        error_mm: ERROR_MM * fineness.step * fineness.step,
        near_error_mm: NEAR_ERROR * gone_mm * fineness.step * fineness.step,
        near_motion_mm: NEAR_MOTION * gone_mm * fineness.step,
        curve_share: CURVE_SHARE * fineness.step,
        error_rad: ERROR_RAD * fineness.step * fineness.step,
        tolerance_n: TOLERANCE * setup.reference_n,
        hopeless: f64::INFINITY,
    }
}

pub(crate) fn march<B: Build + Kept>(
    project: &Project,
    layout: Layout,
    fineness: Fineness,
    fixed_factor: f64,
    cancel: &Cancel,
) -> Result<Opened<B>, NotComputed> {
    let setup = Setup::<B>::new(project, layout, fineness, &Factors::fixed(fixed_factor));
    let pace = pace(&setup, fineness, setup.stroke_mm);
    let mut stepper = Stepper::new(setup.tug.clone(), pace);
    stepper.begin();
    let stored_mj = stepper.stored_mj();
    let mut record = Record::new(&setup);
    record.frame(&setup, &stepper);
    while stepper.opening_mm < setup.stroke_mm {
        stepper.advance(setup.stroke_mm, cancel)?;
        record.step(&setup, &stepper);
    }
    record.frame_if_new(&setup, &stepper);
    let opening = finish(project, &setup, &stepper, record, stored_mj);
    Ok(Opened { opening, setup, stepper })
}

/// The holds as they stand before the run.
pub(crate) fn outcomes(
    lines: &[LineTotal],
    points: &[PointEntry],
    network: &Network,
    curves: &[Vec<(f64, f64)>],
) -> Vec<HoldOutcome> {
    let fresh = |name, capacity_n, let_go_travel_mm, curve, governed_by| HoldOutcome {
        name,
        on: None,
        capacity_n,
        let_go_travel_mm,
        peak_n: 0.0,
        travel_mm: 0.0,
        work_mj: 0.0,
        state: HoldState::Holding,
        curve,
        clear_gap_mm: None,
        governed_by,
    };
    let mut holds = Vec::with_capacity(lines.len() + points.len());
    for line in lines {
        let governed_by = match line.name.what {
            What::Tack => "tack",
            What::Edge => "undercut",
            What::Vacuum => "vacuum",
            _ => "drag",
        };
        holds.push(fresh(line.name, line.peak_n, line.gone_mm, line.curve.clone(), governed_by));
    }
    for (point, curve) in points.iter().zip(curves) {
        let peak_n = curve.iter().map(|point| point.1).fold(0.0, f64::max);
        let let_go_mm = curve.last().map_or(0.0, |point| point.0);
        let hold = fresh(point.name, peak_n, let_go_mm, curve.clone(), point.hold.governed_by);
        holds.push(HoldOutcome { on: Some((network.paths[point.path].run, point.along_mm)), ..hold });
    }
    holds
}

impl Record {
    pub(crate) fn new<B: Beams>(setup: &Setup<B>) -> Self {
        let Layout { network, points, .. } = &setup.layout;
        let curves: Vec<Vec<(f64, f64)>> =
            setup.tug.laws.iter().map(|law| law.curve.points().to_vec()).collect();
        let holds = outcomes(&setup.lines, points, network, &curves);
        let heights = vec![0.0; network.nodes.len()];
        Self { holds, lines: setup.lines.len(), releases: Vec::new(), frames: Vec::new(), heights }
    }

    pub(crate) fn step<B: Beams>(&mut self, setup: &Setup<B>, stepper: &Stepper<B>) {
        let opening_mm = stepper.opening_mm;
        let released_before = self.releases.len();
        let pulls = self.pulls(stepper);
        for (hold, pull) in self.holds.iter_mut().zip(&pulls) {
            hold.peak_n = hold.peak_n.max(*pull);
        }
        self.lines(stepper);
        self.points(setup, stepper);
        let last = self.frames.last();
        let is_far = last.is_none_or(|frame| {
            let by = opening_mm - frame.opening_mm;
            let due = by >= setup.stroke_mm / FRAMES || by >= FRAME_GROWTH * opening_mm;
            let moved = self.heights.iter().enumerate().any(|(node, height)| {
                let change = B::shift(&stepper.now, node).z - height;
                (change - by).abs() > 1.0 && change.abs() > 1.0
            });
            due || moved
        });
        if is_far || self.releases.len() > released_before {
            self.frame(setup, stepper);
        }
    }

    /// Which of the line holds each spot still has.
    fn lines<B: Beams>(&mut self, stepper: &Stepper<B>) {
        let tug = &stepper.tug;
        for index in 0..self.lines {
            let hold = &self.holds[index];
            if matches!(hold.state, HoldState::LetGo { .. }) || hold.capacity_n <= 0.0 {
                continue;
            }
            let half = crate::opening::tug::index(hold.name.half);
            let mut seen = Seen::default();
            let kind = match hold.name.what {
                What::Tack => {
                    for line in &tug.lines {
                        let face = &line.faces[half];
                        if face.tack_n_mm > 0.0 || face.tack_worst_mm.is_infinite() {
                            let holds = face.tack_worst_mm < tug.tack.gone_mm;
                            seen.add(line.length_mm, holds, face.tack_worst_mm, face.tack_gone_at_mm);
                        }
                    }
                    None
                }
                What::WallDrag if !tug.extras.iter().any(|e| e.kind == ExtraKind::Wall) => {
                    for line in &tug.lines {
                        let face = &line.faces[half];
                        if face.wall.peak_n > 0.0 || face.wall_slide.worst_mm.is_infinite() {
                            let worst_mm = face.wall_slide.worst_mm;
                            let holds = worst_mm < face.wall.gone_mm;
                            seen.add(line.length_mm, holds, worst_mm, face.wall_gone_at_mm);
                        }
                    }
                    None
                }
                What::WallDrag => Some(ExtraKind::Wall),
                What::Edge => Some(ExtraKind::Edge),
                _ => Some(ExtraKind::Air),
            };
            for extra in tug.extras.iter().filter(|extra| extra.half == half && Some(extra.kind) == kind) {
                let gone_mm = tug.curves[extra.curve].let_go_travel_mm();
                let holds = extra.slide.worst_mm < gone_mm;
                seen.add(extra.length_mm, holds, extra.slide.worst_mm, extra.gone_at_mm);
            }
            self.line(index, &seen);
        }
    }

    fn line(&mut self, index: usize, seen: &Seen) {
        let hold = &mut self.holds[index];
        hold.travel_mm = seen.worst_mm.min(hold.let_go_travel_mm);
        if seen.whole_mm <= 0.0 {
            return;
        }
        let share = seen.holding_mm / seen.whole_mm;
        if share <= 0.0 {
            let opening_mm = seen.gone_at_mm;
            hold.state = HoldState::LetGo { opening_mm };
            self.releases.push(Release { opening_mm, hold: index, how: ReleaseHow::LetGo });
        } else if share < 1.0 - 1e-9 {
            hold.state = HoldState::PartlyHolding { share };
        }
    }

    pub(crate) fn points<B: Beams>(&mut self, setup: &Setup<B>, stepper: &Stepper<B>) {
        for (law, entry) in setup.layout.points.iter().enumerate() {
            let index = self.lines + law;
            let hold = &mut self.holds[index];
            if hold.state != HoldState::Holding {
                continue;
            }
            let spots = stepper.tug.points.iter().filter(|p| p.law == law);
            let spots_are_dropped = spots.clone().all(|spot| spot.share == 0.0);
            let (mut travel_mm, mut is_over, mut opening_mm) = (0.0, true, 0.0_f64);
            let (mut height_mm, mut share) = (0.0, 0.0);
            for spot in spots {
                travel_mm += spot.share * spot.slide.worst_mm.min(hold.let_go_travel_mm);
                is_over &= spot.slide.worst_mm >= hold.let_go_travel_mm;
                opening_mm = opening_mm.max(spot.gone_at_mm);
                height_mm += spot.share * spot.z_before_mm;
                share += spot.share;
            }
            hold.travel_mm = travel_mm.min(hold.let_go_travel_mm);
            if is_over {
                let breaks = entry.breaks() || spots_are_dropped;
                hold.state =
                    if breaks { HoldState::Broke { opening_mm } } else { HoldState::LetGo { opening_mm } };
                if hold.name.half == Half::Fixed && share > 0.0 {
                    // It lets go at its full travel from the fixed half; below it the mould is that much
                    // farther open.
                    let height_mm = (height_mm / share).min(hold.let_go_travel_mm);
                    // Less than a hundredth of a millimetre is no gap.
                    let clear_mm = opening_mm - height_mm;
                    hold.clear_gap_mm = (clear_mm >= 0.01).then_some(clear_mm);
                }
                let how = if breaks { ReleaseHow::Broke } else { ReleaseHow::LetGo };
                self.releases.push(Release { opening_mm, hold: index, how });
            }
        }
    }

    pub(crate) fn frame_if_new<B: Beams>(&mut self, setup: &Setup<B>, stepper: &Stepper<B>) {
        if self.frames.last().is_none_or(|frame| frame.opening_mm < stepper.opening_mm) {
            self.frame(setup, stepper);
        }
    }

    #[expect(clippy::cast_possible_truncation, reason = "pictures need no more than f32")]
    pub(crate) fn frame<B: Beams>(&mut self, setup: &Setup<B>, stepper: &Stepper<B>) {
        let network = &setup.layout.network;
        let shape = |path: usize| {
            let point = |&(along_mm, node): &(f64, usize)| {
                let shift = B::shift(&stepper.now, node);
                // A plane's x leads along the run.
                let along = if B::TWISTS { network.paths[path].at(along_mm).1 } else { DVec2::X };
                ShapePoint {
                    along_mm: along_mm as f32,
                    x_mm: (along_mm + shift.truncate().dot(along)) as f32,
                    y_mm: shift.truncate().dot(along.perp()) as f32,
                    z_mm: shift.z as f32,
                }
            };
            network.stations[path].iter().map(point).collect()
        };
        let shapes = (0..network.paths.len()).map(shape).collect();
        let pulls = self.pulls(stepper);
        let of = |half: Half| {
            self.holds.iter().zip(&pulls).filter(|(hold, _)| hold.name.half == half).map(|(_, n)| n).sum()
        };
        self.frames.push(Frame {
            opening_mm: stepper.opening_mm,
            shapes,
            moving_n: of(Half::Moving),
            fixed_n: of(Half::Fixed),
            pulls_n: pulls.iter().map(|n| *n as f32).collect(),
        });
        for (node, height) in self.heights.iter_mut().enumerate() {
            *height = B::shift(&stepper.now, node).z;
        }
    }

    /// Pull of every hold at the last accepted step, N.
    fn pulls<B: Beams>(&self, stepper: &Stepper<B>) -> Vec<f64> {
        let tug = &stepper.tug;
        let mut pulls = vec![0.0; self.holds.len()];
        let place = |half: Half, what: What| {
            self.holds[..self.lines].iter().position(|hold| hold.name == HoldName { half, what })
        };
        for (half, index) in [(Half::Fixed, FIXED), (Half::Moving, MOVING)] {
            if let (Some(tack), Some(wall)) = (place(half, What::Tack), place(half, What::WallDrag)) {
                for line in &tug.lines {
                    pulls[tack] += line.faces[index].tack_pull_n;
                    pulls[wall] += line.faces[index].wall_slide.pull_before;
                }
            }
            for (kind, what) in [
                (ExtraKind::Wall, What::WallDrag),
                (ExtraKind::Edge, What::Edge),
                (ExtraKind::Air, What::Vacuum),
            ] {
                if let Some(at) = place(half, what) {
                    let of_kind = tug.extras.iter().filter(|e| e.half == index && e.kind == kind);
                    pulls[at] += of_kind.map(|extra| extra.slide.pull_before).sum::<f64>();
                }
            }
        }
        for point in &tug.points {
            pulls[self.lines + point.law] += point.pull_n();
        }
        pulls
    }

    /// Work that every hold took, mJ.
    fn works(&mut self, work: &Work) {
        let lines = self.lines;
        for (index, hold) in self.holds.iter_mut().enumerate() {
            let half = crate::opening::tug::index(hold.name.half);
            hold.work_mj = match hold.name.what {
                What::Tack => work.tack[half],
                What::WallDrag => work.wall[half] + work.extra[half][ExtraKind::Wall as usize],
                What::Edge => work.extra[half][ExtraKind::Edge as usize],
                What::Vacuum => work.extra[half][ExtraKind::Air as usize],
                What::Sprue(_) | What::Feature(_) | What::Ejector(_) => work.point[index - lines],
            };
        }
    }
}

/// What of a line hold is left.
#[derive(Default)]
struct Seen {
    whole_mm: f64,
    holding_mm: f64,
    worst_mm: f64,
    gone_at_mm: f64,
}

impl Seen {
    fn add(&mut self, length_mm: f64, holds: bool, worst_mm: f64, gone_at_mm: f64) {
        self.whole_mm += length_mm;
        if holds {
            self.holding_mm += length_mm;
        }
        self.worst_mm = self.worst_mm.max(worst_mm);
        self.gone_at_mm = self.gone_at_mm.max(gone_at_mm);
    }
}

fn finish<B: Beams>(
    project: &Project,
    setup: &Setup<B>,
    stepper: &Stepper<B>,
    mut record: Record,
    stored_before_mj: f64,
) -> Opening {
    let work = &stepper.work;
    record.works(work);
    let energy = Energy {
        work_mj: stepper.work_in_mj,
        elastic_mj: stepper.stored_mj() - stored_before_mj,
        plastic_mj: work.part,
        holds_mj: record.holds.iter().map(|hold| hold.work_mj).sum::<f64>() + work.guides,
        viscous_mj: work.viscous,
        snap_mj: work.jumps,
    };
    let stretches = verdict::stretches(setup, stepper);
    let verdict = verdict::of(setup, stepper, &record);
    record.releases.sort_by(|a, b| a.opening_mm.total_cmp(&b.opening_mm));
    let Left { residual, bumps, flatness_mm } = left(project, setup, stepper);
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
        effort: Effort { events: work.events, ..stepper.effort },
        axes: axes(&setup.layout.network),
    }
}

/// The shape that the part is left with.
pub(crate) struct Left {
    pub(crate) residual: Vec<Residual>,
    pub(crate) bumps: Vec<BumpAt>,
    pub(crate) flatness_mm: f64,
}

/// The released part, measured piece by piece.
pub(crate) fn left<B: Beams>(project: &Project, setup: &Setup<B>, stepper: &Stepper<B>) -> Left {
    let pieces = verdict::piece_nodes(stepper);
    let roots: Vec<usize> = pieces.iter().filter_map(|nodes| nodes.first().copied()).collect();
    let released = stepper.tug.beams.released(&stepper.now, &stepper.turns, &roots);
    let (mut residual, mut bumps, mut flatness_mm) = (Vec::new(), Vec::new(), 0.0_f64);
    for nodes in &pieces {
        let laid = Laid::new(&setup.layout.network, &released, nodes);
        residual.extend(laid.residuals(&setup.layout.network));
        bumps.extend(laid.bumps(project, &setup.layout));
        flatness_mm = flatness_mm.max(laid.flatness_mm);
    }
    let order = |bump: &BumpAt| {
        setup.layout.points.iter().position(|point| point.name.what.item() == Some(bump.item))
    };
    bumps.sort_by_key(order);
    Left { residual, bumps, flatness_mm }
}

/// The centre lines of the runs.
fn axes(network: &Network) -> Vec<Axis> {
    let axis = |(path, stations): (&crate::network::Path, &Vec<(f64, usize)>)| Axis {
        run: path.run,
        length_mm: path.length_mm,
        points: stations
            .iter()
            .map(|&(along_mm, _)| {
                let (at, direction) = path.at(along_mm);
                PlanPoint { along_mm, at, direction }
            })
            .collect(),
    };
    network.paths.iter().zip(&network.stations).map(axis).collect()
}
