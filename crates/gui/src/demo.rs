//! The project that the editor starts on.

use keepside_model::Project;

/// The row marker for garden beds among the demo projects.
const ROW_MARKER: &str = include_str!("../../../demo-projects/row-marker.keepside");

/// The demo project; a blank one should it ever be unreadable.
pub(crate) fn project() -> Project {
    keepside_store::read_text(ROW_MARKER).unwrap_or_else(|error| {
        log::error!("the demo project: {error}");
        Project::blank()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_demo_project_can_be_read() {
        assert!(keepside_store::read_text(ROW_MARKER).is_ok());
        assert!(!project().features.is_empty() && !project().sprues.is_empty());
    }
}
