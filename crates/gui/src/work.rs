//! What is being drawn, measured, picked and asked for on the plan. Nothing here belongs to the project.

use egui::Pos2;
use glam::DVec2;
use keepside_model::{Id, ItemKind, Project};
use keepside_session::{Across, Align, Channel, Drawing};

/// The channel of the first run of a part, as bench moulds have it: common practice, no source.
const FIRST_CHANNEL: Channel = Channel { width_mm: 6.0, depth_mm: 3.0 };

/// Something typed while a run is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DrawKey {
    /// A character of a number.
    Character(char),
    /// On to the other number.
    Other,
    /// Places the next point.
    Place,
    /// Takes back the last character, else the last point.
    TakeBack,
    /// Ends the run.
    Finish,
    /// The next piece is an arc, or straight again.
    Arc,
}

/// What is mirrored about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// The upright line through the middle of the selection.
    Upright,
    /// The level line through the middle of the selection.
    Level,
    /// This run, which stays where it is.
    Run(Id),
}

/// Arranging and editing what is selected.
#[derive(Clone, Debug, PartialEq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Arrange {
    Copy,
    Cut,
    /// Asks the system for what the clipboard holds.
    AskPaste,
    /// Pastes a text.
    Paste(String),
    Duplicate,
    Align(Align),
    Distribute(Across),
    Mirror {
        about: About,
        is_copy: bool,
    },
    /// Opens the form for repeating.
    OpenRepeat,
    /// Repeats as the form says.
    Repeat,
    Lock(bool),
    /// Locks, or frees if all are locked.
    ToggleLock,
    Rename,
    SelectKind(ItemKind),
    /// Selects everything of the kinds that are selected.
    SelectAlike,
    InsertPoint {
        run: Id,
        at: DVec2,
    },
    DeletePoint {
        run: Id,
        index: usize,
    },
    SplitRun {
        run: Id,
        index: usize,
    },
    Straighten {
        run: Id,
        piece: usize,
    },
    /// Splits at the point that has the keyboard.
    SplitHere,
    /// Puts a point into the piece after the one that has the keyboard, or into the first of the selected run.
    InsertHere,
    JoinRuns,
    /// Opens the menu of what is selected.
    OpenMenu,
    ToggleList,
    ToggleKeys,
}

/// Something on the plan that can have the keyboard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stop {
    Item(Id),
    /// A point of a run.
    Point(Id, usize),
    /// The handle in the middle of a piece of a run, which bends it.
    Bend(Id, usize),
}

/// What the menu on the plan is about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum MenuFor {
    Item(Id),
    Point { run: Id, index: usize },
    Ground,
}

/// The menu on the plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Menu {
    pub(crate) on: MenuFor,
    /// Place of the plan that was pointed at, mm.
    pub(crate) at: DVec2,
    /// Where it opens on the screen.
    pub(crate) screen: Pos2,
}

/// How the selection is to be repeated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Repeat {
    pub(crate) count: u32,
    pub(crate) distance_mm: f64,
    /// Direction from x, counter-clockwise, degrees.
    pub(crate) angle_deg: f64,
}

impl Repeat {
    /// From one copy to the next, mm.
    pub(crate) fn step_mm(&self) -> DVec2 {
        let step = DVec2::from_angle(self.angle_deg.to_radians()) * self.distance_mm;
        // Along the axes to the last digit.
        (step * 1e9).round() / 1e9
    }
}

/// Sizes of the shapes placed by one click, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Sizes {
    pub(crate) frame_mm: DVec2,
    pub(crate) ring_mm: f64,
    pub(crate) tee_mm: DVec2,
    pub(crate) cross_mm: DVec2,
}

/// What is being done on the plan.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Work {
    /// The channel that new runs get; `None` = that of the newest run.
    pub(crate) channel: Option<Channel>,
    pub(crate) drawing: Drawing,
    pub(crate) sizes: Sizes,
    /// The places measured from and to.
    pub(crate) measured: Vec<DVec2>,
    /// Where the pointer is on the plan, over an item as well, mm.
    pub(crate) pointer: Option<DVec2>,
    /// Where a box of selection was begun, mm.
    pub(crate) box_from: Option<DVec2>,
    pub(crate) menu: Option<Menu>,
    /// What on the plan has the keyboard.
    pub(crate) stop: Option<Stop>,
    /// What is to have it in the next frame.
    pub(crate) go_to: Option<Stop>,
    /// The handles shown of selected runs, in order along each run.
    pub(crate) handles: Vec<Stop>,
    /// Where the next thing pasted belongs, mm, if the menu was asked for it.
    pub(crate) paste_at: Option<DVec2>,
    pub(crate) repeat: Repeat,
    pub(crate) repeat_open: bool,
    pub(crate) list_open: bool,
    /// Whether the search field is to have the keyboard.
    pub(crate) list_wants_keys: bool,
    pub(crate) search: String,
    pub(crate) keys_open: bool,
    /// How often the same text has been pasted in a row, so that copies do not hide each other.
    pub(crate) pasted: u8,
}

impl Default for Work {
    fn default() -> Self {
        Self {
            channel: None,
            drawing: Drawing::new(FIRST_CHANNEL),
            sizes: Sizes {
                frame_mm: DVec2::new(80.0, 50.0),
                ring_mm: 60.0,
                tee_mm: DVec2::new(80.0, 40.0),
                cross_mm: DVec2::new(80.0, 50.0),
            },
            measured: Vec::new(),
            pointer: None,
            box_from: None,
            menu: None,
            stop: None,
            go_to: None,
            handles: Vec::new(),
            paste_at: None,
            repeat: Repeat { count: 3, distance_mm: 10.0, angle_deg: 0.0 },
            repeat_open: false,
            list_open: false,
            list_wants_keys: false,
            search: String::new(),
            keys_open: false,
            pasted: 0,
        }
    }
}

impl Work {
    /// The run point that has the keyboard.
    pub(crate) fn point(&self) -> Option<(Id, usize)> {
        if let Some(Stop::Point(run, index)) = self.stop { Some((run, index)) } else { None }
    }

    /// The piece of a run whose bend handle has the keyboard.
    pub(crate) fn bend(&self) -> Option<(Id, usize)> {
        if let Some(Stop::Bend(run, piece)) = self.stop { Some((run, piece)) } else { None }
    }

    /// What comes after the thing that has the keyboard, or before it: items by their numbers, of selected
    /// runs their handles as well. `None` if nothing on the plan has it.
    pub(crate) fn next_stop(&self, project: &Project, forwards: bool) -> Option<Stop> {
        let handles_of = |id: Id| {
            let is_of =
                move |stop: &&Stop| matches!(stop, Stop::Point(run, _) | Stop::Bend(run, _) if *run == id);
            self.handles.iter().filter(is_of).copied()
        };
        let ids = project.ids().into_iter();
        let stops: Vec<Stop> =
            ids.flat_map(|id| std::iter::once(Stop::Item(id)).chain(handles_of(id))).collect();
        let here = stops.iter().position(|stop| Some(*stop) == self.stop)?;
        let by = if forwards { 1 } else { stops.len() - 1 };
        stops.get((here + by) % stops.len()).copied()
    }

    /// The channel that the next new run gets.
    pub(crate) fn channel(&self, project: &Project) -> Channel {
        let newest = || {
            let point = project.part.runs.values().next_back()?.points.last()?;
            Some(Channel { width_mm: point.width_mm, depth_mm: point.depth_mm })
        };
        self.channel.or_else(newest).unwrap_or(FIRST_CHANNEL)
    }
}
