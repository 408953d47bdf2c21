//! Undo and redo: of every step what it changed, with a label.

use std::collections::VecDeque;
use std::sync::Arc;

use keepside_model::Project;

use crate::difference::Difference;

/// Undo steps kept; the oldest is forgotten beyond that.
pub const HISTORY_CAP: usize = 10_000;

/// Memory that undo steps may hold, bytes, about; the oldest are forgotten beyond that. A step that moves one
/// pin holds less than a kilobyte, one that moves a thousand a quarter of a megabyte.
pub const HISTORY_BYTES: usize = 64 << 20;

/// What was done, and what leads back, or on again.
#[derive(Debug)]
struct Step {
    label: &'static str,
    way: Difference,
}

/// What can be undone and redone.
#[derive(Debug, Default)]
pub(crate) struct History {
    /// Each leads back from the state after it, the newest last.
    undo: VecDeque<Step>,
    /// Each leads on from the state before it, the next one last.
    redo: Vec<Step>,
    /// What the steps in `undo` hold, bytes.
    bytes: usize,
}

impl History {
    /// Remembers how to return from `after` to `before`; what was undone is forgotten.
    pub(crate) fn push(&mut self, label: &'static str, before: &Project, after: &Project) {
        self.redo.clear();
        self.remember(Step { label, way: Difference::between(after, before) });
        while self.undo.len() > HISTORY_CAP || (self.bytes > HISTORY_BYTES && self.undo.len() > 1) {
            self.forget(VecDeque::pop_front);
        }
    }

    /// Makes the change from `current` to `after` part of the last step; what was undone is forgotten.
    pub(crate) fn amend(&mut self, current: &Project, after: &Project) {
        if let Some(step) = self.forget(VecDeque::pop_back) {
            self.push(step.label, &step.way.applied_to(current), after);
        }
    }

    /// Swaps `current` for the state before the last step; the label of that step.
    pub(crate) fn undo(&mut self, current: &mut Arc<Project>) -> Option<&'static str> {
        let Step { label, way } = self.forget(VecDeque::pop_back)?;
        let before = way.applied_to(current);
        self.redo.push(Step { label, way: Difference::between(&before, current) });
        *current = Arc::new(before);
        Some(label)
    }

    /// Swaps `current` for the state after the step last undone; the label of that step.
    pub(crate) fn redo(&mut self, current: &mut Arc<Project>) -> Option<&'static str> {
        let Step { label, way } = self.redo.pop()?;
        let after = way.applied_to(current);
        self.remember(Step { label, way: Difference::between(&after, current) });
        *current = Arc::new(after);
        Some(label)
    }

    /// Label of the step that undo would take back.
    pub(crate) fn undo_label(&self) -> Option<&'static str> {
        self.undo.back().map(|step| step.label)
    }

    /// Label of the step that redo would repeat.
    pub(crate) fn redo_label(&self) -> Option<&'static str> {
        self.redo.last().map(|step| step.label)
    }

    /// Number of steps that can be undone.
    pub(crate) fn undo_len(&self) -> usize {
        self.undo.len()
    }

    /// Number of steps that can be redone.
    pub(crate) fn redo_len(&self) -> usize {
        self.redo.len()
    }

    fn remember(&mut self, step: Step) {
        self.bytes += step.way.bytes();
        self.undo.push_back(step);
    }

    fn forget(&mut self, take: impl Fn(&mut VecDeque<Step>) -> Option<Step>) -> Option<Step> {
        let step = take(&mut self.undo)?;
        self.bytes -= step.way.bytes();
        Some(step)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec2;
    use keepside_model::{Edit, Half, Id, KeyingFeature};

    fn moved(project: &Project, ids: Vec<Id>) -> Arc<Project> {
        let mut next = project.clone();
        next.apply(&Edit::Move { ids, by_mm: DVec2::new(0.0, 0.001) }).unwrap();
        Arc::new(next)
    }

    /// Moves `ids` so many times, then undoes what can be undone; the number of steps undone.
    fn undone(start: &Project, ids: &[Id], times: usize) -> usize {
        let (mut history, mut current) = (History::default(), Arc::new(start.clone()));
        let mut states = vec![Arc::clone(&current)];
        for _ in 0..times {
            let next = moved(&current, ids.to_vec());
            history.push("move", &current, &next);
            current = Arc::clone(&next);
            states.push(next);
        }
        let steps = history.undo_len();
        while history.undo(&mut current).is_some() {}
        assert_eq!(current, states[times - steps]);
        while history.redo(&mut current).is_some() {}
        assert_eq!(current, states[times]);
        assert_eq!(history.undo_len(), steps);
        steps
    }

    #[test]
    fn only_the_newest_steps_are_kept() {
        let start = Project::blank();
        assert_eq!(undone(&start, &start.ids(), HISTORY_CAP + 50), HISTORY_CAP);
    }

    #[test]
    fn steps_that_change_a_thousand_items_are_kept_while_memory_lasts() {
        let mut start = Project::blank();
        let kind = keepside_model::FeatureKind::PlainPost { diameter_mm: 3.0 };
        let pin = KeyingFeature::new(DVec2::new(20.0, 20.0), Half::Moving, kind, 1.5);
        start.features = (10..1010).map(|id| (Id(id), pin.clone())).collect();
        let steps = undone(&start, &start.ids(), 600);
        assert!((100..600).contains(&steps), "{steps}");
    }
}
