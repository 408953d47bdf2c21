//! The editor without a window: history, selection, gestures, snapping, background analysis.
//!
//! The path of one edit: [`Edit`](keepside_model::Edit) → [`Session::apply`] (one undo step, a new
//! `Arc<Project>`, revision + 1) → background analysis (newest wins, results carry the revision) →
//! [`Results`], which every view reads. Nothing here knows the window or opens a file.

mod aids;
mod arrange;
mod background;
mod centre_line;
mod difference;
mod drawing;
mod history;
mod measure;
mod results;
mod session;
mod shape;
mod snap;
mod starters;
mod study;

pub use aids::{Aid, Round, places};
pub use arrange::{
    Across, Align, MirrorLine, add_items, align, distribute, extent, extent_of_all, mirror, mirror_copy,
    mirrored, moved, repeat,
};
pub use background::{Background, Haste, Report};
pub use centre_line::{OnRun, nearest_on_run, place_along, run_length_mm};
pub use drawing::{Asked, Drawing, Next, Placed, on_ray};
pub use history::{HISTORY_BYTES, HISTORY_CAP};
pub use measure::measure_snap;
pub use results::{Progress, Results};
pub use session::{FIRST_REVISION, Session};
pub use shape::{
    MEET_MM, bent, bulge_through, join, middle_of_piece, split, turned_round, with_point, without_point,
};
pub use snap::{Snap, SnapTo, Snapped};
pub use starters::Channel;
pub use study::{Compute, Stage, Study, StudyState, study_threads};
