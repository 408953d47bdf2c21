//! The Keepside editor: draws the session, turns input into edits and commands.
//!
//! One frame: take in what the background has found, draw the panels and collect [`Action`]s, carry
//! them out. Panels are functions named `*_ui`: they read the session, change nothing, and return what
//! the user did. All edits go through [`keepside_session::Session`]; everything else is a [`Command`].

mod about;
mod act;
mod action;
mod app;
mod arrange;
mod camera;
mod compare;
mod demo;
mod dialogs;
mod digest;
mod disk;
mod draw;

mod elevation;
mod files;
mod filling;
mod first;
mod history_words;
mod import;
mod keeping;
mod keys;
mod lengths;
mod listing;
mod look;
mod measure;
mod panels;
mod plan;
mod questions;
mod reading;
mod recent;
mod ribbon;
mod safety;
mod saving;
mod section;
mod settings;
mod sheets;
mod shelves;
mod shots;
mod toasts;
mod units;
mod view;
mod window;
mod work;

pub use action::{Action, Command};
pub use app::{App, Start};
pub use camera::Camera;
pub use compare::Pinned;
pub use dialogs::{Dialogs, NativeDialogs, Purpose};
pub use disk::Disk;
pub use measure::{Wanted, crowd};
pub use shelves::{Shelve, Shelved};
pub use shots::{Page, ShotsView, Subject};
pub use toasts::Toasts;
pub use units::Unit;
pub use view::{HeightScale, SectionScope, Strip, Tab, Tool, ViewState};
pub use window::{StartError, has_display, open_window};
pub use work::{About, Arrange, DrawKey};
