//! What the window shows and how: nothing here belongs to the project or is undone.

use std::collections::BTreeSet;

use glam::DVec2;
use keepside_model::Id;
use keepside_session::Aid;

use crate::camera::Camera;
use crate::compare::Pinned;
use crate::panels::pull_off::CurveView;
use crate::section::KeptLaw;
use crate::shelves::Kept;
use crate::shots::ShotsView;
use crate::units::Unit;
use crate::work::Work;

/// What a click on the plan does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tool {
    /// Selects and moves.
    Select,
    /// Adds a keying pin.
    Pin,
    /// Adds a gate.
    Gate,
    /// Adds a vent.
    Vent,
    /// Adds an ejector pin.
    Ejector,
    /// Writes a note on the drawing.
    Note,
    /// Draws a channel run point by point.
    Run,
    /// Adds a closed rectangle of channel.
    Frame,
    /// Adds a closed circle of channel.
    Ring,
    /// Adds a bar with a stem.
    Tee,
    /// Adds two bars that cross.
    Cross,
    /// Measures from place to place.
    Measure,
}

impl Tool {
    /// Whether the plan's own drawing takes the pointer, over items as well.
    pub(crate) const fn draws(self) -> bool {
        matches!(self, Self::Run | Self::Frame | Self::Ring | Self::Tee | Self::Cross | Self::Measure)
    }
}

/// How heights are drawn in the side elevation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeightScale {
    /// So that the whole gap fits.
    Fit,
    /// As long as lengths.
    True,
    /// Five times as long as lengths.
    TimesFive,
}

/// What the strip under the plan shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Strip {
    /// The side elevation: the tug of war at one opening.
    Elevation,
    /// The section through the selected feature or ejector.
    Section,
    /// The filling: fronts at one time, and the pressure along a run.
    Filling,
}

/// How much of a section is shown; true to scale in both.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SectionScope {
    /// The channel and what is next to it.
    Near,
    /// Both plates whole.
    Whole,
}

/// What the lower right panel shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tab {
    /// Findings.
    Findings,
    /// The holds and what became of them.
    Holds,
    /// Total pull of both halves against the opening.
    Balance,
    /// The pull-off curve of a hold.
    PullOff,
    /// Pushing the part off the moving half.
    Stripping,
    /// The part out of straight, before, during and after the opening.
    Bending,
    /// Layouts side by side, and those kept in the project.
    Layouts,
    /// How the melt fills the mould, and what comes of it.
    Melt,
}

/// What is being dragged on the plan.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Drag {
    pub(crate) what: Dragged,
    /// Place of the thing grabbed before the drag, mm.
    pub(crate) anchor: DVec2,
    /// Where it was grabbed, mm.
    pub(crate) grab: DVec2,
}

/// The thing dragged.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Dragged {
    Items {
        ids: Vec<Id>,
        magnet: bool,
    },
    RunPoint {
        run: Id,
        index: usize,
    },
    /// The middle of a piece, which bends it.
    Bend {
        run: Id,
        piece: usize,
    },
}

/// What the window shows and how.
#[derive(Clone, Debug)]
pub struct ViewState {
    /// Where the plan is looked at; `None` = fitted on the next frame.
    pub camera: Option<Camera>,
    /// What a click on the plan does.
    pub tool: Tool,
    /// Opening shown in the side elevation, mm.
    pub opening_mm: f64,
    /// The time shown of the filling, as a share of the time until it ends.
    pub fill_share: f64,
    /// Whether the plan shows the filling while the strip under it does.
    pub show_filling: bool,
    /// Whether the opening or the filling is being played, and for how long already, s.
    pub playing_s: Option<f64>,
    /// The run that the side elevation shows; `None` = that of the selection, else the longest.
    pub elevation_run: Option<Id>,
    /// How heights are drawn.
    pub height_scale: HeightScale,
    /// Whether the side elevation shows the released part.
    pub show_released: bool,
    /// Whether the plan shows who keeps what at the opening shown, and not in the end.
    pub keeps_now: bool,
    /// Whether pulls are shown as arrows.
    pub show_forces: bool,
    /// The place of the plan that the pointer is at in another view, mm.
    pub linked: Option<DVec2>,
    /// The place of the plan that the section goes through, and what was selected when it was chosen:
    /// selecting a pin or ejector afterwards shows that one.
    pub section_at: Option<(DVec2, BTreeSet<Id>)>,
    /// The layout A that the open one is compared with.
    pub pinned: Option<Pinned>,
    /// Whether its outline shows on the plan.
    pub show_pinned: bool,
    /// Whether it shows the part after ejection, where that is known.
    pub show_ejected: bool,
    /// What the strip under the plan shows.
    pub strip: Strip,
    /// How much of a section is shown.
    pub section_scope: SectionScope,
    /// What the lower right panel shows.
    pub tab: Tab,
    /// What the panel about shots shows.
    pub shots: ShotsView,
    /// Unit that lengths are shown in.
    pub unit: Unit,
    /// Grid step for snapping and nudging, mm.
    pub grid_mm: f64,
    /// Whether points snap.
    pub snapping: bool,
    /// Distance from gates at which a dragged pin snaps, mm along the channel; `None` = at none.
    pub from_gate_mm: Option<f64>,
    /// Place of the plan under the pointer, mm.
    pub pointer: Option<DVec2>,
    /// Size of the view that the camera was fitted to; `None` once the user has moved it.
    pub(crate) fitted_to: Option<egui::Vec2>,
    /// Where the plan is on the screen.
    pub plan_rect: Option<egui::Rect>,
    /// A place that a finding speaks of, mm.
    pub spotlight: Option<DVec2>,
    /// Whether something on the plan has the keyboard.
    pub(crate) item_focused: bool,
    pub(crate) drag: Option<Drag>,
    /// Where the thing being dragged or placed snapped, and why.
    pub(crate) snapped: Option<Aid>,
    /// Whose pull-off curve is looked at, and what is being done to it.
    pub(crate) curve: CurveView,
    /// The hold law that the section shows.
    pub(crate) law: KeptLaw,
    /// What is kept for all projects.
    pub(crate) kept: Kept,
    /// What is being drawn, measured, picked and asked for.
    pub(crate) work: Work,
}

impl Default for ViewState {
    fn default() -> Self {
        Self {
            camera: None,
            tool: Tool::Select,
            opening_mm: 10.0,
            fill_share: 1.0,
            show_filling: true,
            playing_s: None,
            elevation_run: None,
            height_scale: HeightScale::Fit,
            show_released: false,
            show_ejected: false,
            keeps_now: false,
            show_forces: true,
            pinned: None,
            show_pinned: true,
            linked: None,
            section_at: None,
            strip: Strip::Elevation,
            section_scope: SectionScope::Near,
            tab: Tab::Findings,
            shots: ShotsView::default(),
            unit: Unit::Millimetre,
            grid_mm: 1.0,
            snapping: true,
            from_gate_mm: None,
            pointer: None,
            fitted_to: None,
            plan_rect: None,
            spotlight: None,
            item_focused: false,
            drag: None,
            snapped: None,
            curve: CurveView::default(),
            law: KeptLaw::default(),
            kept: Kept::default(),
            work: Work::default(),
        }
    }
}

impl ViewState {
    /// Whether the plan shows the filling, and not who keeps what.
    pub(crate) fn fills(&self) -> bool {
        self.strip == Strip::Filling && self.show_filling
    }
}
