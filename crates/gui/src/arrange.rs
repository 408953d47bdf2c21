//! Carrying out what arranges and edits the selection: copied, mirrored, lined up, locked, cut, joined.

use egui::{Context, ViewportCommand};
use glam::DVec2;
use keepside_model::{Edit, Id, Item, ItemKind, Project, Run};
use keepside_session::{
    MirrorLine, add_items, align, bent, distribute, extent_of_all, join, middle_of_piece, mirror,
    mirror_copy, moved, nearest_on_run, repeat, split, with_point, without_point,
};

use crate::app::App;
use crate::elevation::sentence;
use crate::panels::arrange_menu::wants_first_entry;
use crate::plan::open_menu;
use crate::work::{About, Arrange, Menu, MenuFor};

/// How far a copy lies from what it was copied from, in steps of the grid.
const BESIDE: DVec2 = DVec2::new(5.0, -5.0);

/// Data in the window's memory that asks a name field for the keyboard.
pub(crate) fn wants_name() -> egui::Id {
    egui::Id::unique("the name field is to have the keyboard")
}

impl App {
    /// What is selected and not locked.
    pub(crate) fn free_selection(&self) -> Vec<Id> {
        let locked = &self.session.document().locked;
        self.session.selection().iter().filter(|id| !locked.contains(id)).copied().collect()
    }

    fn selection(&self) -> Vec<Id> {
        self.session.selection().iter().copied().collect()
    }

    /// Deletes the run point that has the keyboard, else what is selected and not locked.
    pub(crate) fn delete(&mut self) {
        if let Some((run, index)) = self.view.work.point() {
            return self.delete_point(run, index);
        }
        if let Some((run, piece)) = self.view.work.bend() {
            return self.straighten(run, piece);
        }
        let ids = self.free_selection();
        let kept = self.session.selection().len() - ids.len();
        if !ids.is_empty() {
            self.edit(&Edit::Delete(ids));
        }
        self.say_locked(kept);
    }

    /// Says that so many of the selected items were left as they are.
    fn say_locked(&mut self, kept: usize) {
        match kept {
            0 => {}
            1 => self.toasts.good("One selected item is locked and was left as it is"),
            _ => self.toasts.good(format!("{kept} selected items are locked and were left as they are")),
        }
    }

    pub(crate) fn arrange(&mut self, ctx: &Context, arrange: Arrange) {
        let ids = self.selection();
        match arrange {
            Arrange::Copy => self.copy(ctx),
            Arrange::Cut => {
                self.copy(ctx);
                self.delete();
            }
            Arrange::AskPaste => ctx.send_viewport_cmd(ViewportCommand::RequestPaste),
            Arrange::Paste(text) => self.paste(&text),
            Arrange::Duplicate => {
                let by_mm = BESIDE * self.view.grid_mm;
                let items: Vec<Item> =
                    ids.iter().filter_map(|id| self.session.document().item(*id)).collect();
                self.add("duplicate", items.into_iter().map(|item| moved(item, by_mm)).collect());
            }
            Arrange::Align(how) => self.edit_if(align(self.session.document(), &ids, how)),
            Arrange::Distribute(across) => match distribute(self.session.document(), &ids, across) {
                Some(edit) => self.edit(&edit),
                None => self.toasts.good("Select three items or more to spread them evenly"),
            },
            Arrange::Mirror { about, is_copy } => self.mirror(about, is_copy),
            Arrange::OpenRepeat => self.view.work.repeat_open = !ids.is_empty(),
            Arrange::Repeat => self.repeat(),
            Arrange::Lock(locked) => self.edit(&Edit::SetLocked { ids, locked }),
            Arrange::ToggleLock => {
                let locked = !ids.iter().all(|id| self.session.document().locked.contains(id));
                self.edit(&Edit::SetLocked { ids, locked });
            }
            Arrange::Rename => {
                if ids.len() == 1 {
                    ctx.data_mut(|data| data.insert_temp(wants_name(), true));
                } else {
                    self.toasts.good("Select one item to rename it");
                }
            }
            Arrange::SelectKind(kind) => self.select_kinds(&[kind]),
            Arrange::SelectAlike => {
                let project = self.session.document();
                let kinds: Vec<ItemKind> = ids.iter().filter_map(|id| project.kind(*id)).collect();
                self.select_kinds(&kinds);
            }
            Arrange::InsertPoint { run, at } => self.insert_point(run, at),
            Arrange::DeletePoint { run, index } => self.delete_point(run, index),
            Arrange::SplitRun { run, index } => self.split_run(run, index),
            Arrange::Straighten { run, piece } => self.straighten(run, piece),
            Arrange::SplitHere => match self.view.work.point() {
                Some((run, index)) => self.split_run(run, index),
                None => {
                    self.toasts.good("Select a run and go to one of its points with Tab to split it there");
                }
            },
            Arrange::InsertHere => self.insert_here(&ids),
            Arrange::JoinRuns => self.join_runs(&ids),
            Arrange::OpenMenu => self.open_selection_menu(ctx, &ids),
            Arrange::ToggleList => {
                let work = &mut self.view.work;
                // Where it is open but without the keyboard, the key takes it there first.
                work.list_open = !work.list_open;
                work.list_wants_keys = work.list_open;
            }
            Arrange::ToggleKeys => self.view.work.keys_open = !self.view.work.keys_open,
        }
    }

    fn edit_if(&mut self, edit: Option<Edit>) {
        if let Some(edit) = edit {
            self.edit(&edit);
        }
    }

    fn select_kinds(&mut self, kinds: &[ItemKind]) {
        let project = self.session.document();
        let alike = |id: &Id| project.kind(*id).is_some_and(|kind| kinds.contains(&kind));
        let ids: Vec<Id> = project.ids().into_iter().filter(alike).collect();
        self.session.select(ids);
    }

    fn copy(&mut self, ctx: &Context) {
        let project = self.session.document();
        let items: Vec<Item> = self.session.selection().iter().filter_map(|id| project.item(*id)).collect();
        if !items.is_empty() {
            ctx.copy_text(keepside_store::write_items(items));
            self.view.work.pasted = 0;
        }
    }

    /// Pastes where the menu was opened, or at the pointer if it is on the plan, else beside where it was copied from.
    fn paste(&mut self, text: &str) {
        let items = match keepside_store::read_items(text) {
            Ok(items) if items.is_empty() => return,
            Ok(items) => items,
            Err(error) => return self.toasts.error(sentence(&error.to_string())),
        };
        let wanted = self.view.work.paste_at.take().or(self.view.work.pointer);
        let by_mm = match wanted {
            Some(pointer) => pointer_shift(&items, pointer, self.view.grid_mm),
            None => {
                let work = &mut self.view.work;
                work.pasted = work.pasted.saturating_add(1);
                BESIDE * self.view.grid_mm * f64::from(work.pasted)
            }
        };
        self.add("paste", items.into_iter().map(|item| moved(item, by_mm)).collect());
    }

    /// Adds items and selects them.
    fn add(&mut self, label: &'static str, items: Vec<Item>) {
        let session = &mut self.session;
        let (edit, ids) = add_items(label, items, &mut || session.fresh_id());
        self.edit(&edit);
        self.session.select(ids);
    }

    fn mirror(&mut self, about: About, is_copy: bool) {
        let project = self.session.document().clone();
        let ids = self.selection();
        let (line, ids) = match about {
            About::Upright => (MirrorLine::through_middle(&project, &ids, true), ids),
            About::Level => (MirrorLine::through_middle(&project, &ids, false), ids),
            About::Run(run) => {
                (MirrorLine::of_run(&project, run), ids.into_iter().filter(|id| *id != run).collect())
            }
        };
        let Some(line) = line else {
            return self.toasts.good("Select what to mirror, and one run to mirror it about");
        };
        if is_copy {
            let session = &mut self.session;
            let (edit, added) = mirror_copy(&project, &ids, line, &mut || session.fresh_id());
            self.edit(&edit);
            self.session.select(added);
        } else {
            let kept = ids.iter().filter(|id| project.locked.contains(id)).count();
            self.edit(&mirror(&project, &ids, line));
            self.say_locked(kept);
        }
    }

    fn repeat(&mut self) {
        let form = self.view.work.repeat;
        let project = self.session.document().clone();
        let ids = self.selection();
        let session = &mut self.session;
        let (edit, _) = repeat(&project, &ids, form.step_mm(), form.count, &mut || session.fresh_id());
        self.edit(&edit);
        self.view.work.repeat_open = false;
    }

    fn run(&self, id: Id) -> Option<&Run> {
        self.session.document().part.runs.get(&id)
    }

    /// Replaces a run, unless it is locked.
    fn set_run(&mut self, label: &'static str, id: Id, run: Option<Run>) -> bool {
        let Some(run) = run else { return false };
        if self.session.document().locked.contains(&id) {
            self.say_locked(1);
            return false;
        }
        self.edit(&Edit::Several { label, edits: vec![Edit::Set(id, Item::Run(run))] });
        true
    }

    fn straighten(&mut self, id: Id, piece: usize) {
        let at = self.run(id).and_then(|run| Some(run.points.get(piece)?.at));
        let straight = at.and_then(|at| bent(self.run(id)?, piece, at, f64::INFINITY));
        self.set_run("straighten", id, straight);
    }

    fn insert_point(&mut self, id: Id, at: DVec2) {
        let more = self.run(id).and_then(|run| {
            let on = nearest_on_run(run, at)?;
            with_point(run, on.piece, on.share)
        });
        self.set_run("insert point", id, more);
        self.session.select([id]);
    }

    fn insert_here(&mut self, ids: &[Id]) {
        let (id, piece) = match (self.view.work.point(), ids) {
            (Some(point), _) => point,
            (None, [id]) => (*id, 0),
            _ => return,
        };
        let more = self.run(id).and_then(|run| {
            let last = run.points.len().checked_sub(2)?;
            with_point(run, piece.min(last), 0.5)
        });
        self.set_run("insert point", id, more);
    }

    fn delete_point(&mut self, id: Id, index: usize) {
        let less = self.run(id).and_then(|run| without_point(run, index));
        if less.is_none() {
            return self.toasts.good("A run keeps two points; delete the run itself instead");
        }
        if self.set_run("delete point", id, less) {
            self.view.work.stop = None;
        }
    }

    fn split_run(&mut self, id: Id, index: usize) {
        let Some([first, second]) = self.run(id).and_then(|run| split(run, index)) else {
            return self.toasts.good("A run is split at a point between its ends; put one in first");
        };
        if self.session.document().locked.contains(&id) {
            return self.say_locked(1);
        }
        let new = self.session.fresh_id();
        let edits = vec![Edit::Set(id, Item::Run(first)), Edit::Add(new, Item::Run(second))];
        self.edit(&Edit::Several { label: "split run", edits });
        self.view.work.stop = None;
        self.session.select([id, new]);
    }

    fn join_runs(&mut self, ids: &[Id]) {
        let project = self.session.document();
        let runs: Vec<(Id, &Run)> =
            ids.iter().filter_map(|id| Some((*id, project.part.runs.get(id)?))).collect();
        let [(one, first), (other, second)] = runs[..] else {
            return self.toasts.good("Select two runs to join them");
        };
        if project.locked.contains(&one) || project.locked.contains(&other) {
            return self.say_locked(1);
        }
        let Some(joined) = join(first, second) else {
            return self
                .toasts
                .good("These two runs do not meet end to end; drag an end of one onto an end of the other");
        };
        let edits = vec![Edit::Delete(vec![other]), Edit::Set(one, Item::Run(joined))];
        self.edit(&Edit::Several { label: "join runs", edits });
        self.session.select([one]);
    }

    /// Moves a run point by keys.
    pub(crate) fn nudge_point(&mut self, id: Id, index: usize, by_mm: DVec2, repeated: bool) {
        if self.session.document().locked.contains(&id) {
            return;
        }
        let Some(mut run) = self.run(id).cloned() else { return };
        if let Some(point) = run.points.get_mut(index) {
            point.at = ((point.at + by_mm) * 1e6).round() / 1e6;
            self.nudged("move run point", &Edit::Set(id, Item::Run(run)), repeated);
        }
    }

    /// Bends a piece by keys: moves its middle.
    pub(crate) fn nudge_bend(&mut self, id: Id, piece: usize, by_mm: DVec2, repeated: bool) {
        let bent = self.run(id).and_then(|run| {
            let middle = middle_of_piece(run, piece)?;
            bent(run, piece, middle + by_mm, 1e-6)
        });
        if let Some(run) = bent {
            self.nudged("bend run", &Edit::Set(id, Item::Run(run)), repeated);
        }
    }

    /// Opens the menu by keys: at the item, or in the middle of the plan.
    fn open_selection_menu(&mut self, ctx: &Context, ids: &[Id]) {
        let (Some(camera), Some(rect)) = (self.view.camera, self.view.plan_rect) else { return };
        let project: &Project = self.session.document();
        let (on, at) = match (self.view.work.point(), ids) {
            (Some((run, index)), _) => {
                let at = self.run(run).and_then(|run| Some(run.points.get(index)?.at));
                (MenuFor::Point { run, index }, at)
            }
            (None, [id, ..]) => (MenuFor::Item(*id), project.place(*id)),
            (None, []) => (MenuFor::Ground, None),
        };
        let at = at.unwrap_or(camera.centre);
        let screen = rect.clamp(camera.to_screen(rect, at));
        open_menu(ctx, &mut self.view, Menu { on, at, screen });
        // Opened by keys, it goes on by keys.
        ctx.data_mut(|data| data.insert_temp(wants_first_entry(), true));
    }
}

/// How far to move items so that their middle lies on the grid point nearest to the pointer, mm.
fn pointer_shift(items: &[Item], pointer: DVec2, grid_mm: f64) -> DVec2 {
    let mut tray = Project::blank();
    tray.part.runs.clear();
    let (edit, ids) = {
        let mut next = 0;
        add_items("paste", items.iter().cloned(), &mut || {
            next += 1;
            Id(next)
        })
    };
    // They have been checked when they were read.
    if tray.apply(&edit).is_err() {
        return DVec2::ZERO;
    }
    let Some((low, high)) = extent_of_all(&tray, &ids) else { return DVec2::ZERO };
    // Moved by whole steps: what was on the grid stays on it.
    ((pointer - low.midpoint(high)) / grid_mm).round() * grid_mm
}
