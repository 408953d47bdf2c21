//! Undo and redo: snapshots of the whole project, shared behind `Arc`, each with a label.

use std::collections::VecDeque;
use std::sync::Arc;

use keepside_model::Project;

/// Undo steps kept; the oldest is forgotten beyond that. A snapshot is a few kilobytes.
pub const HISTORY_CAP: usize = 200;

/// A project as it was, and what was done to it next.
type Step = (&'static str, Arc<Project>);

/// What can be undone and redone.
#[derive(Debug, Default)]
pub(crate) struct History {
    undo: VecDeque<Step>,
    redo: Vec<Step>,
}

impl History {
    /// Remembers `before` as the state to return to; what was undone is forgotten.
    pub(crate) fn push(&mut self, label: &'static str, before: Arc<Project>) {
        self.undo.push_back((label, before));
        if self.undo.len() > HISTORY_CAP {
            self.undo.pop_front();
        }
        self.redo.clear();
    }

    /// Forgets what was undone: the project went another way.
    pub(crate) fn forget_undone(&mut self) {
        self.redo.clear();
    }

    /// Swaps `current` for the state before the last step; the label of that step.
    pub(crate) fn undo(&mut self, current: &mut Arc<Project>) -> Option<&'static str> {
        let (label, before) = self.undo.pop_back()?;
        self.redo.push((label, std::mem::replace(current, before)));
        Some(label)
    }

    /// Swaps `current` for the state after the step last undone; the label of that step.
    pub(crate) fn redo(&mut self, current: &mut Arc<Project>) -> Option<&'static str> {
        let (label, after) = self.redo.pop()?;
        self.undo.push_back((label, std::mem::replace(current, after)));
        Some(label)
    }

    /// Label of the step that undo would take back.
    pub(crate) fn undo_label(&self) -> Option<&'static str> {
        self.undo.back().map(|(label, _)| *label)
    }

    /// Label of the step that redo would repeat.
    pub(crate) fn redo_label(&self) -> Option<&'static str> {
        self.redo.last().map(|(label, _)| *label)
    }

    /// Number of steps that can be undone.
    pub(crate) fn undo_len(&self) -> usize {
        self.undo.len()
    }
}
