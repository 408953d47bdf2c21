//! Letters that the window's font does not have: a box stands for each, and the user is told why.

use std::collections::BTreeSet;
use std::sync::Arc;

use egui::{Context, FontId};
use keepside_model::Project;

/// So many letters are named in one message.
const NAMED: usize = 5;

/// What has been looked through and told already.
#[derive(Debug, Default)]
pub(crate) struct Letters {
    seen: Option<Arc<Project>>,
    told: BTreeSet<char>,
}

impl Letters {
    /// A sentence about letters that have newly come in and cannot be drawn.
    pub(crate) fn news(&mut self, ctx: &Context, project: &Arc<Project>) -> Option<String> {
        if self.seen.as_ref().is_some_and(|seen| Arc::ptr_eq(seen, project)) {
            return None;
        }
        self.seen = Some(Arc::clone(project));
        let font = FontId::proportional(12.0);
        let written =
            texts(project).flat_map(str::chars).filter(|letter| !letter.is_ascii() && !letter.is_control());
        let written: BTreeSet<char> = written.filter(|letter| !self.told.contains(letter)).collect();
        if written.is_empty() {
            return None;
        }
        let missing: Vec<char> = ctx.fonts_mut(|fonts| {
            written.into_iter().filter(|letter| !fonts.has_glyph(&font, *letter)).collect()
        });
        self.told.extend(&missing);
        // The letters themselves could not be shown in the message either.
        let mut names: Vec<String> =
            missing.iter().take(NAMED).map(|letter| format!("U+{:04X}", u32::from(*letter))).collect();
        if missing.len() > NAMED {
            names.push(format!("{} more", missing.len() - NAMED));
        }
        (!names.is_empty()).then(|| {
            format!(
                "No glyph here for {}: a box stands for each; the file keeps what you wrote",
                names.join(", ")
            )
        })
    }
}

/// Everything that the user writes.
fn texts(project: &Project) -> impl Iterator<Item = &str> {
    let whole = [&project.name, &project.notes, &project.material.name, &project.press.name];
    let runs = project.part.runs.values().map(|run| &run.name);
    let sprues = project.sprues.values().map(|sprue| &sprue.name);
    let vents = project.vents.values().map(|vent| &vent.name);
    let features = project.features.values().map(|feature| &feature.name);
    let holes = project.holes.values().map(|hole| &hole.name);
    let ejectors = project.ejectors.values().map(|ejector| &ejector.name);
    let remarks = project.remarks.values().map(|note| &note.text);
    let items = runs.chain(sprues).chain(vents).chain(features).chain(holes).chain(ejectors).chain(remarks);
    whole.into_iter().chain(items).map(String::as_str)
}
