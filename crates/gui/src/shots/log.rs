//! What is done to the trial log: every change is an edit.

use std::collections::BTreeSet;

use keepside_engine::chances::Sprayed;
use keepside_engine::opening::Keeper;
use keepside_model::{Edit, Id, KeptBy, KeptStretch, Project, Trial, Variant};
use keepside_session::Session;

use super::ShotsView;
use super::pieces::Piece;
use crate::action::Action;
use crate::compare::{bare, free_name, known_as};

/// What the step is called that adds a trial. What is noted of it right after is part of it.
pub(crate) const ADD: &str = "add trial";

/// What can be noted of a stretch, in the order in which clicks go through it.
pub(crate) const KEPT: [(KeptBy, &str); 4] = [
    (KeptBy::Moving, "moving half"),
    (KeptBy::Fixed, "fixed half"),
    (KeptBy::Between, "hung between"),
    (KeptBy::Neither, "neither, it fell"),
];

/// The keeper whose colour and hatching stand for it.
pub(crate) const fn keeper(by: KeptBy) -> Keeper {
    match by {
        KeptBy::Moving => Keeper::Moving,
        KeptBy::Fixed => Keeper::Fixed,
        KeptBy::Between => Keeper::Bridging,
        KeptBy::Neither => Keeper::Free,
    }
}

/// A new trial of the open layout. The layout is kept with it, so that it can be changed afterwards.
pub(crate) fn added(project: &Project) -> Edit {
    let sprayed = Sprayed::of(project);
    let settings = project.trials.last().map(|last| last.settings.clone()).unwrap_or_default();
    let trial = Trial {
        name: format!("Trial {}", project.trials.len() + 1),
        settings,
        sprayed_moving: sprayed.moving,
        sprayed_fixed: sprayed.fixed,
        ..Trial::default()
    };
    with(project, trial)
}

/// The same again: settings and what is sprayed are taken over, what was seen is not.
pub(crate) fn again(project: &Project, index: usize) -> Option<Edit> {
    let of = project.trials.get(index)?;
    let trial = Trial {
        name: format!("Trial {}", project.trials.len() + 1),
        kept: Vec::new(),
        ended: None,
        broke: None,
        bumps_mm: std::collections::BTreeMap::new(),
        photo: String::new(),
        remarks: String::new(),
        is_taken_in: false,
        ..of.clone()
    };
    let trials = project.trials.iter().cloned().chain([trial]).collect();
    Some(Edit::Several { label: ADD, edits: vec![Edit::SetTrials(trials)] })
}

fn with(project: &Project, mut trial: Trial) -> Edit {
    let mut edits = Vec::new();
    let present = bare(project);
    let name = match known_as(project, &present) {
        Some(name) => name.to_owned(),
        None => {
            let name = free_name(project, "As shot");
            let mut variants = project.variants.clone();
            variants.push(Variant { name: name.clone(), layout: std::sync::Arc::new(present) });
            edits.push(Edit::SetVariants(variants));
            name
        }
    };
    trial.layout = Some(name);
    edits.push(Edit::SetTrials(project.trials.iter().cloned().chain([trial]).collect()));
    Edit::Several { label: ADD, edits }
}

/// Takes a trial out of the log.
pub(crate) fn without(project: &Project, index: usize) -> Edit {
    let mut trials = project.trials.clone();
    if index < trials.len() {
        trials.remove(index);
    }
    Edit::Several { label: "delete trial", edits: vec![Edit::SetTrials(trials)] }
}

/// The log with one trial changed.
pub(crate) fn changed(project: &Project, index: usize, change: impl FnOnce(&mut Trial)) -> Edit {
    let mut trials = project.trials.clone();
    if let Some(trial) = trials.get_mut(index) {
        change(trial);
    }
    Edit::SetTrials(trials)
}

/// Whether the trial chosen was added by the last step: what is noted of it belongs to that step.
pub(crate) fn is_fresh(session: &Session, shots: &ShotsView) -> bool {
    shots.fresh == Some(session.undo_len()) && session.undo_label() == Some(ADD)
}

/// Makes changes of a trial that was just added part of the step that added it.
pub(crate) fn as_step(session: &Session, shots: &ShotsView, actions: Vec<Action>) -> Vec<Action> {
    if !is_fresh(session, shots) {
        return actions;
    }
    let amended = |action| match action {
        Action::Edit(edit) | Action::Preview(_, edit) => Some(Action::Amend(edit)),
        Action::Commit => None,
        other => Some(other),
    };
    actions.into_iter().filter_map(amended).collect()
}

/// Whether a trial was shot with the layout that is open, as far as places on the plan go.
pub(crate) fn is_of_open(project: &Project, trial: &Trial) -> bool {
    let Some(name) = &trial.layout else { return true };
    project.variants.iter().find(|variant| variant.name == *name).is_some_and(|variant| {
        let layout = &variant.layout;
        layout.part.runs == project.part.runs
            && layout.sprues == project.sprues
            && layout.features == project.features
    })
}

/// Who kept the middle of a stretch, as noted.
pub(crate) fn kept_by(trial: &Trial, piece: &Piece) -> Option<KeptBy> {
    noted(trial, piece).map(|index| trial.kept[index].by)
}

/// What is noted of the middle of a stretch.
fn noted(trial: &Trial, piece: &Piece) -> Option<usize> {
    let middle_mm = piece.middle_mm();
    let covers =
        |kept: &KeptStretch| kept.run == piece.run && (kept.from_mm..=kept.to_mm).contains(&middle_mm);
    trial.kept.iter().position(covers)
}

/// Notes who kept a stretch, or that nobody looked.
pub(crate) fn note_kept(trial: &mut Trial, piece: &Piece, by: Option<KeptBy>) {
    match (noted(trial, piece), by) {
        (Some(index), Some(by)) => trial.kept[index].by = by,
        (Some(index), None) => drop(trial.kept.remove(index)),
        (None, Some(by)) => {
            let Piece { run, from_mm, to_mm } = *piece;
            trial.kept.push(KeptStretch { run, from_mm, to_mm, by });
        }
        (None, None) => {}
    }
}

/// What comes after, click by click: the moving half, the fixed half, between, neither, nobody looked.
pub(crate) fn next(by: Option<KeptBy>) -> Option<KeptBy> {
    match by {
        None => Some(KEPT[0].0),
        Some(by) => {
            let index = KEPT.iter().position(|(one, _)| *one == by).unwrap_or(0);
            KEPT.get(index + 1).map(|(next, _)| *next)
        }
    }
}

/// Notes that something broke, or that it did not.
pub(crate) fn note_broke(trial: &mut Trial, id: Id, is_broken: bool) {
    let broke = trial.broke.get_or_insert_with(BTreeSet::new);
    if is_broken {
        broke.insert(id);
    } else {
        broke.remove(&id);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clicks_go_through_all_that_can_be_noted_and_back_to_nothing() {
        let mut trial = Trial::default();
        let piece = Piece { run: Id(1), from_mm: 10.0, to_mm: 30.0 };
        for (by, _) in KEPT {
            let next = next(kept_by(&trial, &piece));
            note_kept(&mut trial, &piece, next);
            assert_eq!(kept_by(&trial, &piece), Some(by));
        }
        let next = next(kept_by(&trial, &piece));
        note_kept(&mut trial, &piece, next);
        assert!(trial.kept.is_empty());
    }

    #[test]
    fn what_was_noted_over_other_bounds_is_changed_in_its_place() {
        let mut trial = Trial::default();
        note_kept(&mut trial, &Piece { run: Id(1), from_mm: 0.0, to_mm: 50.0 }, Some(KeptBy::Fixed));
        note_kept(&mut trial, &Piece { run: Id(1), from_mm: 20.0, to_mm: 60.0 }, Some(KeptBy::Moving));
        let kept = KeptStretch { run: Id(1), from_mm: 0.0, to_mm: 50.0, by: KeptBy::Moving };
        assert_eq!(trial.kept, [kept]);
    }

    #[test]
    fn the_layout_is_kept_with_its_first_trial_only() {
        let mut project = Project::blank();
        project.apply(&added(&project)).unwrap();
        project.apply(&added(&project)).unwrap();
        assert_eq!((project.trials.len(), project.variants.len()), (2, 1));
        assert!(project.trials.iter().all(|trial| trial.layout.as_deref() == Some("As shot")));
        project.plates.width_mm += 10.0;
        project.apply(&added(&project)).unwrap();
        assert_eq!(project.trials[2].layout.as_deref(), Some("As shot 2"));
        assert!(is_of_open(&project, &project.trials[0]), "the plates make no difference on the part");
    }
}
