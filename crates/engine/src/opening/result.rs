//! What an opening run tells.

use std::fmt;

use glam::DVec2;
use keepside_model::{Half, Id, Project};

/// Why there is no opening run.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NotComputed {
    /// The part has no channel run.
    #[error("the part has no channel run; draw one")]
    NoRun,
    /// A run has no length.
    #[error("run R{run} has no length; drag its ends apart or delete it")]
    NoLength {
        /// The run.
        run: Id,
    },
    /// The equations could not be solved; never the user's fault.
    #[error(
        "the opening run got stuck at an opening of {opening_mm:.3} mm; check sizes, material and assumed holds for numbers far from any mould, or report this project"
    )]
    Stuck {
        /// How far it came, mm.
        opening_mm: f64,
    },
    /// The caller asked for a stop.
    #[error("cancelled")]
    Cancelled,
}

/// What kind of hold, and which item makes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    /// Tack of the channel's faces.
    Tack,
    /// Drag of the channel's walls.
    WallDrag,
    /// Edges that the channel traps because it is widest behind the parting line.
    Edge,
    /// Vacuum under a sealed face.
    Vacuum,
    /// A sprue.
    Sprue(Id),
    /// A keying feature.
    Feature(Id),
    /// The grooves in an ejector's face.
    Ejector(Id),
}

impl What {
    /// The item that makes the hold, if one does.
    pub const fn item(&self) -> Option<Id> {
        match self {
            Self::Tack | Self::WallDrag | Self::Edge | Self::Vacuum => None,
            Self::Sprue(id) | Self::Feature(id) | Self::Ejector(id) => Some(*id),
        }
    }
}

/// Names a hold: the half that pulls and what pulls there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct HoldName {
    /// The half it pulls towards.
    pub half: Half,
    /// What pulls.
    pub what: What,
}

impl HoldName {
    /// The hold in the user's words, for example "set screw K3 (moving half)".
    pub fn words(&self, project: &Project) -> String {
        let half = self.half.word();
        match self.what {
            What::Tack => format!("face tack of the {half} half"),
            What::WallDrag => format!("wall drag of the {half} half"),
            What::Edge => format!("undercut edges of the {half} half"),
            What::Vacuum => format!("vacuum in the {half} half"),
            What::Sprue(id) => format!("sprue {} ({half} half)", project.tag(id)),
            What::Feature(id) => {
                let kind = project.features.get(&id).map_or("feature", |f| f.kind.word());
                format!("{kind} {} ({half} half)", project.tag(id))
            }
            What::Ejector(id) => format!("grooved ejector {} ({half} half)", project.tag(id)),
        }
    }
}

/// How a hold ended up at full stroke.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HoldState {
    /// It still holds, all of it.
    Holding,
    /// A line hold (tack, wall drag) that still holds over this share of its length, 0 to 1.
    PartlyHolding {
        /// Share of its length that still holds.
        share: f64,
    },
    /// It let go by travel at this opening, mm.
    LetGo {
        /// Opening, mm.
        opening_mm: f64,
    },
    /// It broke at this opening, mm; what broke off stays in its half.
    Broke {
        /// Opening, mm.
        opening_mm: f64,
    },
}

/// What became of one hold.
#[derive(Clone, Debug, PartialEq)]
pub struct HoldOutcome {
    /// Which hold.
    pub name: HoldName,
    /// The run it acts on and the place along it, mm from its tip; `None` for holds all along the part.
    pub on: Option<(Id, f64)>,
    /// The most it could pull, N: the peak of its pull-off curve.
    pub capacity_n: f64,
    /// Travel at which it lets go completely, mm.
    pub let_go_travel_mm: f64,
    /// The most it did pull, N: friction of a plug or pin that the part is pressed on sideways comes on top
    /// of its curve.
    pub peak_n: f64,
    /// Its travel at full stroke (at let-go if it let go), mm; the furthest point's for a line hold.
    pub travel_mm: f64,
    /// Work it took, mJ.
    pub work_mj: f64,
    /// How it ended up.
    pub state: HoldState,
    /// Its pull-off curve, (travel mm, pull N); of a line hold, as if all of it were pulled at once.
    pub curve: Vec<(f64, f64)>,
    /// Of a fixed-half hold that was released while the moving half still held the part: the clear gap
    /// under the part at its place at that moment, mm.
    pub clear_gap_mm: Option<f64>,
    /// What limits it, in words: "shear", "drag", "neck breaks", …
    pub governed_by: &'static str,
}

/// How a hold was released.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReleaseHow {
    /// It slid or peeled until its travel was used up.
    LetGo,
    /// It broke.
    Broke,
}

/// One release, in the order of opening.
#[derive(Clone, Debug, PartialEq)]
pub struct Release {
    /// Opening at which it happened, mm.
    pub opening_mm: f64,
    /// Index into [`Opening::holds`].
    pub hold: usize,
    /// How.
    pub how: ReleaseHow,
}

/// Which half keeps a stretch at full stroke.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Keeper {
    /// The moving half.
    Moving,
    /// The fixed half.
    Fixed,
    /// It hangs between both halves.
    Bridging,
    /// Neither: it has fallen free.
    Free,
}

impl Keeper {
    /// One word for the user.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Moving => "moving",
            Self::Fixed => "fixed",
            Self::Bridging => "bridging",
            Self::Free => "free",
        }
    }
}

/// A piece of a run that one keeper keeps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// The run.
    pub run: Id,
    /// Start along the run's centre line, mm.
    pub from_mm: f64,
    /// End along the run's centre line, mm.
    pub to_mm: f64,
    /// Who keeps it.
    pub keeper: Keeper,
}

/// What stays bent at a gate or feature after everything has been released.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BumpAt {
    /// The gate or feature.
    pub item: Id,
    /// The run it stands on.
    pub run: Id,
    /// Place along the run, mm.
    pub along_mm: f64,
    /// Height over a straightedge laid along the part, mm; positive towards the fixed half.
    pub height_mm: f64,
    /// Change of direction across the place, degrees; positive when the sides point towards the moving half.
    pub kink_deg: f64,
}

/// A point of the part's axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShapePoint {
    /// Place along the undeformed run, mm.
    pub along_mm: f32,
    /// Where it is now along the run: its place along plus its displacement in the run's direction there, mm.
    pub x_mm: f32,
    /// Displacement to the left of the run, mm.
    pub y_mm: f32,
    /// Displacement in the opening direction from the closed position, mm; 0 = on the fixed half, the
    /// opening = on the moving half.
    pub z_mm: f32,
}

/// The part at one opening.
#[derive(Clone, Debug, PartialEq)]
pub struct Frame {
    /// Opening, mm.
    pub opening_mm: f64,
    /// The axis of every run from its start to its end, in the order of [`Opening::axes`].
    pub shapes: Vec<Vec<ShapePoint>>,
    /// Pull of each hold at this opening, N, in the order of [`Opening::holds`].
    pub pulls_n: Vec<f32>,
    /// Total pull of the moving half's holds, N.
    pub moving_n: f64,
    /// Total pull of the fixed half's holds, N.
    pub fixed_n: f64,
}

/// How it ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// The part stays whole on the moving half: what everybody wants.
    StaysOnMoving,
    /// The part stays whole on the fixed half.
    StaysOnFixed,
    /// The part hangs between both halves at full stroke: a jam, or it is torn.
    Bridges,
    /// The part is torn and pieces stay on both halves or fall.
    Torn,
    /// Neither half holds it: it drops between them.
    FallsFree,
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::StaysOnMoving => "stays whole on the moving half",
            Self::StaysOnFixed => "stays on the fixed half",
            Self::Bridges => "bridges between both halves at full stroke: a jam",
            Self::Torn => "is torn apart",
            Self::FallsFree => "falls free between the halves",
        })
    }
}

/// The verdict of one opening run.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// How it ends.
    pub outcome: Outcome,
    /// Index into [`Opening::holds`] of the hold that decides it.
    pub deciding: Option<usize>,
    /// The verdict as one plain sentence, without margin and deciding hold and without a full stop.
    pub words: String,
}

/// Where the work of opening went, mJ.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Energy {
    /// Work done by the moving half.
    pub work_mj: f64,
    /// Stored elastically in the part and in its locks at full stroke.
    pub elastic_mj: f64,
    /// Lost in plastic bending, stretching and tearing.
    pub plastic_mj: f64,
    /// Taken by the holds.
    pub holds_mj: f64,
    /// Lost in the small viscosity that regularises the run, while the part moves about as fast as the
    /// mould.
    pub viscous_mj: f64,
    /// Set free in sudden jumps, where the part moves many times as fast as the mould: on the bench it
    /// rings and clatters away.
    pub snap_mj: f64,
}

/// What the run cost.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Effort {
    /// Beam elements.
    pub elements: usize,
    /// Accepted steps.
    pub steps: usize,
    /// Linear solves.
    pub solves: usize,
    /// Steps that had to be cut.
    pub cuts: usize,
    /// Events: a face, wall, edge, sprue or feature letting go of a spot of the part.
    pub events: usize,
    /// Steps that no usual means would solve: a stiffened matrix had to, or a balance ten times as coarse
    /// as usual had to do.
    pub rescues: usize,
}

/// An opening run to the full stroke.
#[derive(Clone, Debug, PartialEq)]
pub struct Opening {
    /// How it ends.
    pub verdict: Verdict,
    /// Every hold and what became of it.
    pub holds: Vec<HoldOutcome>,
    /// Releases in order of opening.
    pub releases: Vec<Release>,
    /// Who keeps which stretch at full stroke.
    pub stretches: Vec<Stretch>,
    /// What stays bent at each gate and feature.
    pub bumps: Vec<BumpAt>,
    /// Distance between the two parallel lines that just contain the released part, mm.
    pub flatness_mm: f64,
    /// The released part, piece by piece and run by run.
    pub residual: Vec<Residual>,
    /// The part at chosen openings, in order, the first at 0 and the last at full stroke.
    pub frames: Vec<Frame>,
    /// Where the work went.
    pub energy: Energy,
    /// What it cost.
    pub effort: Effort,
    /// The centre lines of the runs, in the order of their ids.
    pub axes: Vec<Axis>,
}

/// A run's centre line as the opening run sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// The run.
    pub run: Id,
    /// Length of the part along the run, free round ends included, mm; `along_mm` runs from 0 to this.
    pub length_mm: f64,
    /// Places along it, ascending from 0 to the length.
    pub points: Vec<PlanPoint>,
}

/// A point of a run's centre line in the plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanPoint {
    /// Place along the run, mm.
    pub along_mm: f64,
    /// Place in the plan, mm.
    pub at: DVec2,
    /// Unit vector along the run there.
    pub direction: DVec2,
}

/// A stretch of a run as it stays bent after everything has been released.
#[derive(Clone, Debug, PartialEq)]
pub struct Residual {
    /// The run.
    pub run: Id,
    /// (Along the run mm, out of flat mm, positive towards the moving half).
    pub points: Vec<(f64, f64)>,
}

impl Axis {
    /// The place in the plan of a place along the run, mm.
    pub fn plan_point(&self, along_mm: f64) -> Option<DVec2> {
        let after = self.points.partition_point(|point| point.along_mm <= along_mm);
        let from = self.points.get(after.saturating_sub(1))?;
        let Some(to) = self.points.get(after) else { return Some(from.at) };
        let span = to.along_mm - from.along_mm;
        let t = if span > 0.0 { ((along_mm - from.along_mm) / span).clamp(0.0, 1.0) } else { 0.0 };
        Some(from.at.lerp(to.at, t))
    }
}

impl Opening {
    /// The axis of a run.
    pub fn axis(&self, run: Id) -> Option<&Axis> {
        self.axes.iter().find(|axis| axis.run == run)
    }

    /// Length of all runs together, mm.
    pub fn length_mm(&self) -> f64 {
        self.axes.iter().map(|axis| axis.length_mm).sum()
    }

    /// The latest frame at or before `opening_mm`; the first if there is none.
    pub fn frame_at(&self, opening_mm: f64) -> Option<&Frame> {
        let after = self.frames.partition_point(|frame| frame.opening_mm <= opening_mm);
        self.frames.get(after.saturating_sub(1))
    }
}

/// How far the verdict is from flipping.
#[derive(Clone, Debug, PartialEq)]
pub struct Margin {
    /// Factor on every hold of the fixed half at which the verdict flips; above 1 the verdict is good
    /// by that much, below 1 it is bad and the fixed half would have to weaken to that.
    pub factor: Option<f64>,
    /// Range of factors that was searched: upwards from 1 for a good verdict, downwards for a bad one.
    pub searched: (f64, f64),
    /// What the verdict flips to.
    pub flips_to: Option<Outcome>,
    /// The hold that decides: the first sprue or feature, in order of opening, that lets go on one side
    /// of the flip and not on the other; a face or wall if there is none.
    pub deciding: Option<HoldName>,
}
