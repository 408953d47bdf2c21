//! The editor without a window: history, selection, gestures, snapping, background analysis.
//!
//! The path of one edit: [`Edit`](keepside_model::Edit) → [`Session::apply`] (one undo step, a new
//! `Arc<Project>`, revision + 1) → background analysis (newest wins, results carry the revision) →
//! [`Results`], which every view reads. Nothing here knows the window or opens a file.

mod aids;
mod background;
mod centre_line;
mod history;
mod results;
mod session;
mod snap;

pub use aids::{Aid, Round, places};
pub use background::{Background, Haste, Report};
pub use centre_line::{OnRun, nearest_on_run, place_along, run_length_mm};
pub use history::HISTORY_CAP;
pub use results::{Progress, Results};
pub use session::Session;
pub use snap::{Snap, SnapTo, Snapped};
