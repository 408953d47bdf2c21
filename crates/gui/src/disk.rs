//! Project files and recent files, with errors as sentences that end with the path.

use std::path::{Path, PathBuf};

use keepside_model::Project;

/// Extension of a project file.
pub(crate) const EXTENSION: &str = "keepside";

/// Reads a project.
pub(crate) fn load(path: &Path) -> Result<Project, String> {
    let text = std::fs::read_to_string(path).map_err(|error| format!("{error}: {}", path.display()))?;
    ron::from_str(&text).map_err(|error| format!("{error}: {}", path.display()))
}

/// Writes a project.
pub(crate) fn save(path: &Path, project: &Project) -> Result<(), String> {
    let text = ron::ser::to_string_pretty(project, ron::ser::PrettyConfig::default())
        .map_err(|error| error.to_string())?;
    std::fs::write(path, text).map_err(|error| format!("{error}: {}", path.display()))
}

/// The files opened or saved last, newest first.
#[derive(Debug, Default)]
pub(crate) struct Recent {
    paths: Vec<PathBuf>,
}

impl Recent {
    pub(crate) fn load(_config: Option<&Path>) -> Self {
        Self::default()
    }

    pub(crate) fn paths(&self) -> &[PathBuf] {
        &self.paths
    }

    pub(crate) fn add(&mut self, path: &Path) {
        self.paths.retain(|other| other != path);
        self.paths.insert(0, path.to_owned());
    }

    pub(crate) fn forget(&mut self, path: &Path) {
        self.paths.retain(|other| other != path);
    }
}
