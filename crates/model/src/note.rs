//! What the user writes on the drawing, and the other layouts kept beside the one that is open.

use std::sync::Arc;

use glam::DVec2;
use serde::{Deserialize, Serialize};

use crate::bounds::{self, OutOfRange};
use crate::project::Project;

/// A remark at a place of the plan. It changes no result.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Note {
    /// What it says.
    pub text: String,
    /// The place it points at, in the plan, mm.
    #[serde(deserialize_with = "bounds::point")]
    pub at: DVec2,
}

impl Note {
    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        bounds::check_point(self.at)
    }
}

/// Another layout of the same part, kept in the same project under a name.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Variant {
    /// Name given by the user.
    pub name: String,
    /// The whole layout; its own list of variants is empty. Shared by all states of the project that
    /// keep it, as undo makes many.
    pub layout: Arc<Project>,
}
