//! The panels round the drawing. Each reads the session and returns what the user did.

pub(crate) mod arrange_menu;
pub(crate) mod bending;
pub(crate) mod charts;
mod cooling_facts;
mod display;
mod drawer;
mod energy;
pub(crate) mod everything;
mod feature_fields;
pub(crate) mod fields;
pub(crate) mod filling;
pub(crate) mod findings;
pub(crate) mod holds;
pub(crate) mod inspector;
pub(crate) mod item_fields;
mod kept;
pub(crate) mod layouts;
mod limits_fields;
mod material_fields;
pub(crate) mod note_fields;
mod press_fields;
mod project_fields;
pub(crate) mod pull_off;
mod several_fields;
pub(crate) mod status;
pub(crate) mod strip;
pub(crate) mod toolbar;
mod vent_facts;
pub(crate) mod verdict;
pub(crate) mod windows;

pub(crate) use feature_fields::PROTRUSION_STEP_MM;
pub(crate) use fields::length_ui;
