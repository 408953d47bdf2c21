//! A layout pinned as A, to compare what is being drawn with it; and the layouts kept in the project.

use std::sync::Arc;

use egui::Context;
use keepside_engine::outline::{self, Outline};
use keepside_model::{Edit, Project, Variant};
use keepside_session::{Background, Haste, Progress, Session};

use crate::digest::Digest;

/// The layout A.
#[derive(Clone, Debug)]
pub struct Pinned {
    /// What it is called.
    pub name: String,
    /// The layout, without the others kept in its project.
    pub project: Arc<Project>,
    pub(crate) outline: Outline,
    pub(crate) digest: Digest,
    /// What went wrong in its analysis, if anything did.
    pub(crate) problem: Option<String>,
}

/// What analyses A, apart from what analyses the open layout, so that neither waits for the other.
#[derive(Debug, Default)]
pub(crate) struct Compare {
    background: Option<Background>,
    /// Number of the layout pinned last.
    pinned: u64,
}

impl Compare {
    /// Pins the layout that is open.
    pub(crate) fn pin_present(&mut self, session: &Session, ctx: &Context) -> std::io::Result<Pinned> {
        let project = Arc::new(bare(session.document()));
        let name = known_as(session.document(), &project).unwrap_or("as it was pinned").to_owned();
        let mut pinned = pinned(name, project, Digest::of_session(session));
        if session.progress() == Progress::Done {
            // It is known already; a report for an older one must not come in its place.
            self.pinned += 1;
        } else {
            self.analyse(&mut pinned, ctx)?;
        }
        Ok(pinned)
    }

    /// Pins a layout kept in the project.
    pub(crate) fn pin_variant(&mut self, variant: &Variant, ctx: &Context) -> std::io::Result<Pinned> {
        let project = Arc::clone(&variant.layout);
        let digest = Digest::of_project(&project);
        let mut pinned = pinned(variant.name.clone(), project, digest);
        self.analyse(&mut pinned, ctx)?;
        Ok(pinned)
    }

    fn analyse(&mut self, pinned: &mut Pinned, ctx: &Context) -> std::io::Result<()> {
        self.pinned += 1;
        let background = match &mut self.background {
            Some(background) => background,
            none => {
                let waker = ctx.clone();
                none.insert(Background::spawn(move || waker.request_repaint())?)
            }
        };
        background.request(self.pinned, &pinned.project, Haste::StopRunning);
        Ok(())
    }

    /// Takes in what has been found out about A.
    pub(crate) fn poll(&self, pinned: Option<&mut Pinned>) {
        let Some(background) = &self.background else { return };
        let reports: Vec<_> = background.poll().filter(|report| report.revision == self.pinned).collect();
        let Some(pinned) = pinned else { return };
        for report in reports {
            match report.outcome {
                Ok(analysis) => pinned.digest = Digest::of_analysis(&pinned.project, &analysis),
                Err(words) => pinned.problem = Some(words),
            }
        }
    }

    /// Stops what is being computed for A.
    pub(crate) fn unpin(&mut self) {
        self.pinned += 1;
        self.background = None;
    }
}

fn pinned(name: String, project: Arc<Project>, digest: Digest) -> Pinned {
    Pinned { name, outline: outline::of(&project), project, digest, problem: None }
}

/// A layout by itself, without the others kept beside it and the trial log of all.
pub(crate) fn bare(project: &Project) -> Project {
    Project { variants: Vec::new(), trials: Vec::new(), ..project.clone() }
}

/// The name of the kept layout that is just like this one.
pub(crate) fn known_as<'a>(project: &'a Project, layout: &Project) -> Option<&'a str> {
    let same = project.variants.iter().find(|variant| is_same(&variant.layout, layout));
    same.map(|variant| variant.name.as_str())
}

/// Whether two layouts are the same, whatever is kept beside them.
pub(crate) fn is_same(a: &Project, b: &Project) -> bool {
    a.computes_like(b)
        && a.name == b.name
        && a.notes == b.notes
        && a.remarks == b.remarks
        && a.locked == b.locked
        && a.scatter == b.scatter
}

/// Keeps the open layout under a name.
pub(crate) fn keep(project: &Project, name: String) -> Edit {
    let mut variants = project.variants.clone();
    variants.push(Variant { name, layout: Arc::new(bare(project)) });
    Edit::SetVariants(variants)
}

/// Opens a kept layout. The open one is kept first, unless it is one of those that are.
pub(crate) fn switch(project: &Project, index: usize) -> Option<Edit> {
    let chosen = project.variants.get(index)?;
    let mut variants = project.variants.clone();
    let present = bare(project);
    if known_as(project, &present).is_none() {
        let name = free_name(project, &format!("Before {}", chosen.name));
        variants.push(Variant { name, layout: Arc::new(present) });
    }
    Some(Edit::SetLayout(Box::new(Project { variants, ..(*chosen.layout).clone() })))
}

/// `wanted`, or with a number behind it where that name is taken.
pub(crate) fn free_name(project: &Project, wanted: &str) -> String {
    let taken = |name: &str| project.variants.iter().any(|variant| variant.name == name);
    let numbered = (2..).map(|number: u32| format!("{wanted} {number}"));
    let mut names = std::iter::once(wanted.to_owned()).chain(numbered);
    names.find(|name| !taken(name)).unwrap_or_else(|| wanted.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use keepside_model::{Id, Item, Note};

    fn with_two() -> Project {
        let mut project = Project::blank();
        project.apply(&keep(&project, "Straight".to_owned())).unwrap();
        project.plates.width_mm = 250.0;
        project.apply(&keep(&project, "Wide".to_owned())).unwrap();
        project
    }

    #[test]
    fn a_kept_layout_is_shared_by_the_states_that_keep_it() {
        let before = with_two();
        let mut after = before.clone();
        after.plates.width_mm = 260.0;
        after.apply(&keep(&after, "Wider".to_owned())).unwrap();
        for (old, new) in before.variants.iter().zip(&after.variants) {
            assert!(Arc::ptr_eq(&old.layout, &new.layout), "{} was copied", new.name);
        }
    }

    #[test]
    fn a_layout_that_is_kept_already_is_not_kept_twice() {
        let mut project = with_two();
        assert_eq!(known_as(&project, &bare(&project)), Some("Wide"));
        let edit = switch(&project, 0).unwrap();
        project.apply(&edit).unwrap();
        assert_eq!(project.plates.width_mm, 200.0);
        let names: Vec<&str> = project.variants.iter().map(|variant| variant.name.as_str()).collect();
        assert_eq!(names, ["Straight", "Wide"]);
    }

    #[test]
    fn what_is_open_is_kept_before_another_layout_is_opened() {
        let mut project = with_two();
        project.plates.width_mm = 300.0;
        for (index, width_mm) in [(0, 200.0), (2, 300.0)] {
            let edit = switch(&project, index).unwrap();
            project.apply(&edit).unwrap();
            assert_eq!(project.plates.width_mm, width_mm);
        }
        let names: Vec<&str> = project.variants.iter().map(|variant| variant.name.as_str()).collect();
        assert_eq!(names, ["Straight", "Wide", "Before Straight"]);
        assert!(switch(&project, 3).is_none());
    }

    #[test]
    fn a_layout_with_another_note_is_another_layout() {
        let mut project = with_two();
        assert!(is_same(&project, &bare(&project)));
        let note = Item::Note(Note { text: "here".to_owned(), at: glam::DVec2::new(10.0, 10.0) });
        project.apply(&Edit::Add(Id(9), note)).unwrap();
        assert_eq!(known_as(&project, &project), None);
    }

    #[test]
    fn a_name_that_is_taken_gets_a_number() {
        let project = with_two();
        assert_eq!(free_name(&project, "Wide"), "Wide 2");
        assert_eq!(free_name(&project, "Narrow"), "Narrow");
    }
}
