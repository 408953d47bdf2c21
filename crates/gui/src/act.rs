//! Carrying out what the user asked for: the one place where the session and the view change.

use egui::Context;
use glam::DVec2;
use keepside_model::{
    Edit, Ejector, EjectorFace, FeatureKind, Finish, Half, Id, Item, ItemKind, KeyingFeature, Note, Project,
    Relief, Sprue, ThreadSize, Vent,
};
use keepside_session::nearest_on_run;

use crate::action::{Action, Command};
use crate::app::App;
use crate::compare::Pinned;
use crate::dialogs::Purpose;
use crate::elevation::{sentence, steps};
use crate::filling::time;
use crate::panels::note_fields;
use crate::plan::{noting, where_to_place};
use crate::sheets::Sheets;
use crate::shots::{Page, log};
use crate::view::{Strip, Tool};
use crate::work::Stop;

/// A fine nudge, mm.
const FINE_MM: f64 = 0.1;

/// How near to the channel a click must be for a new item to go to it, points.
const PLACE_MAGNET: f32 = 8.0;

/// What a zoom key enlarges by.
const ZOOM: f64 = 1.25;

impl App {
    pub(crate) fn act(&mut self, ctx: &Context, action: Action) {
        match action {
            Action::Edit(edit) => self.edit(&edit),
            Action::Begin(label) => self.session.begin_gesture(label),
            Action::Preview(label, edit) => {
                if !self.session.has_gesture() {
                    self.session.begin_gesture(label);
                }
                if let Err(error) = self.session.preview(&edit) {
                    self.toasts.error(sentence(&error.to_string()));
                }
            }
            Action::Amend(edit) => {
                if let Err(error) = self.session.amend(&edit) {
                    self.toasts.error(sentence(&error.to_string()));
                }
            }
            Action::Commit => self.session.commit_gesture(),
            Action::Select(ids) => {
                let cuttable = [ItemKind::Feature, ItemKind::Ejector];
                let kind = |id: &Id| self.session.document().kind(*id);
                if ids.iter().filter_map(kind).any(|kind| cuttable.contains(&kind)) {
                    // The section goes through it again.
                    self.view.section_at = None;
                }
                self.session.select(ids);
            }
            Action::Toggle(id) => self.session.toggle_selected(id),
            Action::Show(ids, at) => self.show_place(ids, at),
            Action::Place(tool, at) if tool.draws() => self.draw_at(ctx, tool, at),
            Action::Place(tool, at) => {
                self.place(tool, at);
                if tool == Tool::Note {
                    note_fields::type_next(ctx);
                }
            }
            Action::Command(command) => self.command(ctx, command),
        }
    }

    pub(crate) fn edit(&mut self, edit: &Edit) {
        if let Err(error) = self.session.apply(edit) {
            self.toasts.error(sentence(&error.to_string()));
        }
    }

    fn command(&mut self, ctx: &Context, command: Command) {
        match command {
            Command::New
            | Command::Demo
            | Command::Open
            | Command::OpenPath(_)
            | Command::Recover
            | Command::Quit => {
                self.unless_unsaved(ctx, command);
            }
            Command::FirstPage => self.first_page = Some(crate::first::FirstPage::default()),
            Command::About => self.about = Some(crate::about::AboutPage::default()),
            Command::Save => self.save(ctx, None),
            Command::SaveAs => self.ask_path(Purpose::SaveAs, None),
            Command::Earlier => self.list_earlier(),
            Command::Import => self.ask_path(Purpose::Import, None),
            Command::Export => self.ask_path(Purpose::Export, None),
            Command::Sheets => self.sheets = Some(Sheets::default()),
            Command::Undo if self.take_back_drawn() => {}
            Command::Undo => {
                self.drop_drag(ctx);
                self.view.shots.fresh = None;
                self.session.undo();
            }
            Command::Redo => {
                self.view.shots.fresh = None;
                self.session.redo();
            }
            Command::Delete => self.delete(),
            Command::SelectAll => {
                let ids = self.session.document().ids();
                self.session.select(ids);
            }
            Command::Escape => self.escape(ctx),
            Command::StopComputing => self.session.stop_computing(),
            Command::Compute => self.session.compute(),
            Command::Nudge { by, fine, repeated } => self.nudge(by, fine, repeated),
            Command::Step { forwards } => self.step(forwards),
            Command::Fit => self.view.camera = None,
            Command::ZoomIn => self.zoom(ZOOM),
            Command::ZoomOut => self.zoom(1.0 / ZOOM),
            Command::StepOpening { forward, release } => {
                if self.view.strip == Strip::Filling {
                    time::step(&self.session, &mut self.view, forward, release);
                } else {
                    steps::step(&self.session, &mut self.view, forward, release);
                }
            }
            Command::PinPresent => {
                let pinned = self.compare.pin_present(&self.session, ctx);
                self.pinned(pinned);
            }
            Command::PinKept(index) => {
                if let Some(kept) = self.session.document().variants.get(index) {
                    let pinned = self.compare.pin_variant(kept, ctx);
                    self.pinned(pinned);
                }
            }
            Command::Unpin => {
                self.compare.unpin();
                self.view.pinned = None;
            }
            Command::Shots(page) => {
                let shots = &mut self.view.shots;
                shots.page = if shots.page == Some(page) { None } else { Some(page) };
            }
            Command::NewTrial => self.add_trial(&log::added(self.session.document())),
            Command::AddTrial(edit) => self.add_trial(&edit),
            Command::ChoosePhoto => self.ask_path(Purpose::Photo, None),
            Command::CloseShots => self.view.shots.page = None,
            Command::KeepLearned(learned) => match self.studies.keep(*learned) {
                Ok(name) => self.toasts.good(format!("Kept for other projects as {name}")),
                Err(error) => self.toasts.error(format!("Nothing is kept: {error}")),
            },
            Command::ForgetLearned(name) => {
                if let Err(error) = self.studies.forget_kept(&name) {
                    self.toasts.error(sentence(&error));
                }
            }
            Command::StopStudy(subject) => self.studies.stop(subject),
            Command::StartStudy(subject) => self.studies.start(subject),
            Command::PlayOpening if self.view.strip == Strip::Filling => {
                time::play_or_pause(&self.session, &mut self.view);
            }
            Command::PlayOpening => steps::play_or_pause(&self.session, &mut self.view),
            Command::Shelve(change) => self.shelve(&change),
            Command::ToggleFilling => {
                let is_shown = self.view.strip == Strip::Filling;
                self.view.strip = if is_shown { Strip::Elevation } else { Strip::Filling };
                self.view.playing_s = None;
            }
            Command::UseTool(tool) => self.use_tool(tool),
            Command::PlaceHere => self.place_here(ctx),
            Command::Draw(key) => self.draw_key(ctx, key),
            Command::Arrange(arrange) => self.arrange(ctx, arrange),
        }
    }

    /// Adds a trial and chooses it. What is noted of it right after belongs to the same undo step.
    fn add_trial(&mut self, edit: &Edit) {
        self.use_tool(Tool::Select);
        self.session.select([]);
        self.edit(edit);
        let shots = &mut self.view.shots;
        shots.page = Some(Page::Trials);
        shots.trial = self.session.document().trials.len().checked_sub(1);
        shots.fresh = Some(self.session.undo_len());
    }

    fn pinned(&mut self, pinned: std::io::Result<Pinned>) {
        match pinned {
            Ok(pinned) => self.view.pinned = Some(pinned),
            Err(error) => self.toasts.error(format!("nothing can be compared: {error}")),
        }
    }

    /// Selects the next thing on the plan by its number, or the one before, and brings it into view. If the
    /// keyboard is on the plan it goes along, over the handles of selected runs as well.
    fn step(&mut self, forwards: bool) {
        if let Some(stop) = self.view.work.next_stop(self.session.document(), forwards) {
            if let Stop::Item(id) = stop {
                self.show_place(vec![id], None);
            }
            self.view.work.go_to = Some(stop);
            return;
        }
        let ids = self.session.document().ids();
        let selected = self.session.selection();
        let next = if forwards {
            let after = selected.last().and_then(|last| ids.iter().find(|id| *id > last));
            after.or(ids.first())
        } else {
            let before = selected.first().and_then(|first| ids.iter().rfind(|id| *id < first));
            before.or(ids.last())
        };
        if let Some(&id) = next {
            if self.view.item_focused {
                self.view.work.go_to = Some(Stop::Item(id));
            }
            self.show_place(vec![id], None);
        }
    }

    /// Leaves the drag under way, else the tool, else the selection; else stops what is being computed.
    fn escape(&mut self, ctx: &Context) {
        if self.session.has_gesture() || self.view.drag.is_some() || self.view.work.box_from.is_some() {
            self.session.abort_gesture();
            self.drop_drag(ctx);
        } else if self.view.tool != Tool::Select {
            self.use_tool(Tool::Select);
        } else if noting(&self.session, &self.view).is_some() {
            self.view.shots.trial = None;
        } else if self.session.selection().is_empty() && self.view.spotlight.is_none() {
            self.session.stop_computing();
        } else {
            self.view.spotlight = None;
            self.session.select([]);
        }
    }

    /// Lets go of what the pointer drags.
    pub(crate) fn drop_drag(&mut self, ctx: &Context) {
        self.view.drag = None;
        self.view.work.box_from = None;
        self.view.snapped = None;
        ctx.stop_dragging();
    }

    fn zoom(&mut self, factor: f64) {
        if let (Some(camera), Some(rect)) = (&mut self.view.camera, self.view.plan_rect) {
            camera.zoom_about(rect, rect.center(), factor);
            self.view.fitted_to = None;
        }
    }

    fn nudge(&mut self, by: DVec2, fine: bool, repeated: bool) {
        let step_mm = if fine { FINE_MM } else { self.view.grid_mm };
        if let Some((run, index)) = self.view.work.point() {
            return self.nudge_point(run, index, by * step_mm, repeated);
        }
        if let Some((run, piece)) = self.view.work.bend() {
            return self.nudge_bend(run, piece, by * step_mm, repeated);
        }
        let ids = self.free_selection();
        let project = self.session.document();
        let Some(place) = ids.first().and_then(|id| project.place(*id)) else { return };
        // Ten thousand steps of a tenth are 1000 mm, not 1000.0000000001 mm.
        let to = ((place + by * step_mm) * 1e6).round() / 1e6;
        let edit = move_edit(project, &ids, place, to);
        self.nudged("move", &edit, repeated);
    }

    /// One press of a key is one step; a repeated key goes on with it.
    pub(crate) fn nudged(&mut self, label: &'static str, edit: &Edit, repeated: bool) {
        let result = if repeated {
            self.session.amend(edit)
        } else {
            self.session.begin_gesture(label);
            let result = self.session.preview(edit);
            self.session.commit_gesture();
            result
        };
        if let Err(error) = result {
            self.toasts.error(sentence(&error.to_string()));
        }
    }

    /// Selects what a finding speaks of, and brings its place into view.
    fn show_place(&mut self, ids: Vec<Id>, at: Option<DVec2>) {
        let project = self.session.document();
        let place = at.or_else(|| ids.first().and_then(|id| project.place(*id)));
        self.view.spotlight = at;
        if let (Some(place), Some(camera), Some(rect)) = (place, &mut self.view.camera, self.view.plan_rect)
            && !rect.shrink(20.0).contains(camera.to_screen(rect, place))
        {
            camera.centre = place;
            self.view.fitted_to = None;
        }
        self.session.select(ids);
    }

    /// Adds a new item like the newest of its kind.
    fn place(&mut self, tool: Tool, wanted: DVec2) {
        let magnet_mm = self.view.camera.map_or(0.0, |camera| camera.mm(PLACE_MAGNET));
        let at = where_to_place(self.session.document(), &self.view, wanted, magnet_mm).at;
        let Some(item) = new_item(self.session.document(), tool, at) else { return };
        let id = self.session.fresh_id();
        self.edit(&Edit::Add(id, item));
        self.session.select([id]);
        self.view.tool = Tool::Select;
        self.view.snapped = None;
    }
}

/// The edit that moves `ids` so that what was at `from` comes to lie exactly at `to`.
pub(crate) fn move_edit(project: &Project, ids: &[Id], from: DVec2, to: DVec2) -> Edit {
    let by_mm = to - from;
    if let [id] = *ids
        && project.kind(id) != Some(ItemKind::Run)
        && let Some(mut item) = project.item(id)
    {
        // Set, not added to: the number is then the one of the grid to the last digit.
        match &mut item {
            Item::Run(_) => {}
            Item::Sprue(sprue) => sprue.at = to,
            Item::Vent(vent) => vent.at = to,
            Item::Feature(feature) => feature.at = to,
            Item::Hole(hole) => hole.at = to,
            Item::Ejector(ejector) => ejector.at = to,
            Item::Note(note) => note.at = to,
        }
        return Edit::Set(id, item);
    }
    Edit::Move { ids: ids.to_vec(), by_mm }
}

/// What a tool adds at a place; nothing is added by selecting.
pub(crate) fn new_item(project: &Project, tool: Tool, at: DVec2) -> Option<Item> {
    match tool {
        Tool::Select | Tool::Run | Tool::Frame | Tool::Ring | Tool::Tee | Tool::Cross | Tool::Measure => None,
        Tool::Pin => Some(Item::Feature(new_pin(project, at))),
        Tool::Gate => Some(Item::Sprue(new_gate(project, at))),
        Tool::Vent => Some(Item::Vent(new_vent(project, at))),
        Tool::Ejector => Some(Item::Ejector(new_ejector(project, at))),
        Tool::Note => Some(Item::Note(Note { text: String::new(), at })),
    }
}

/// A pin like the newest that keys; a plain post only drags.
fn new_pin(project: &Project, at: DVec2) -> KeyingFeature {
    let keys = |feature: &&KeyingFeature| !matches!(feature.kind, FeatureKind::PlainPost { .. });
    if let Some(last) = project.features.values().rfind(keys) {
        // What was measured was measured on that pin.
        return KeyingFeature { name: String::new(), at, measured: None, ..last.clone() };
    }
    let depth_mm = depth_at(project, at);
    // Leaves two fifths of the depth over it as a roof.
    let protrusion_mm = (depth_mm * 6.0).round() / 10.0;
    KeyingFeature::new(at, Half::Moving, FeatureKind::set_screw(ThreadSize::M3), protrusion_mm)
}

/// Channel depth nearest to a place, mm.
fn depth_at(project: &Project, at: DVec2) -> f64 {
    let nearest = project.part.runs.values().filter_map(|run| nearest_on_run(run, at));
    let nearest = nearest.min_by(|left, right| left.distance_mm.total_cmp(&right.distance_mm));
    nearest.map_or(3.0, |on| on.depth_mm)
}

fn new_gate(project: &Project, at: DVec2) -> Sprue {
    match project.sprues.values().next_back() {
        Some(last) => Sprue { name: String::new(), at, measured: None, ..last.clone() },
        None => Sprue {
            name: String::new(),
            at,
            half: Half::Fixed,
            diameter_mm: 3.0,
            length_mm: 12.0,
            draft_deg: 1.0,
            finish: Finish::AsTurned,
            measured: None,
        },
    }
}

fn new_vent(project: &Project, at: DVec2) -> Vent {
    match project.vents.values().next_back() {
        Some(last) => Vent { name: String::new(), at, ..last.clone() },
        None => Vent {
            name: String::new(),
            at,
            half: Half::Fixed,
            width_mm: 4.0,
            depth_mm: 0.02,
            length_mm: 15.0,
            relief: Some(Relief::default()),
        },
    }
}

/// An ejector pin like the newest; the first one as bench moulds have them: common practice, no source.
fn new_ejector(project: &Project, at: DVec2) -> Ejector {
    match project.ejectors.values().next_back() {
        Some(last) => Ejector { name: String::new(), at, measured: None, ..last.clone() },
        None => Ejector::new(at, 4.0, 100.0, 10.0, EjectorFace::Plain),
    }
}
