//! Carrying out what is drawn: runs point by point, shapes by one click, measuring.

use egui::Context;
use glam::DVec2;
use keepside_model::{Edit, Id, Item, Run};
use keepside_session::{Drawing, Placed};

use crate::app::App;
use crate::plan::aim;
use crate::view::Tool;
use crate::work::DrawKey;

impl App {
    /// Takes a tool up. A run that is being drawn is finished first.
    pub(crate) fn use_tool(&mut self, tool: Tool) {
        if self.view.tool == Tool::Run {
            self.finish_run();
        }
        self.view.tool = tool;
        self.view.snapped = None;
        self.view.work.measured.clear();
        if tool == Tool::Run {
            self.view.work.drawing = Drawing::new(self.view.work.channel(self.session.document()));
            self.session.select([]);
        }
    }

    /// Places a point, a shape or an end of a measurement where the user points.
    pub(crate) fn draw_at(&mut self, ctx: &Context, tool: Tool, wanted: DVec2) {
        let Some(camera) = self.view.camera else { return };
        let modifiers = ctx.input(|input| input.modifiers);
        let at = aim(&self.session, &self.view, camera, modifiers, wanted).at;
        let channel = self.view.work.channel(self.session.document());
        let sizes = self.view.work.sizes;
        match tool {
            Tool::Run => {
                if self.view.work.drawing.place(at) == Placed::Closed {
                    self.use_tool(Tool::Select);
                }
            }
            Tool::Frame => self.add_runs("draw frame", [channel.frame(at, sizes.frame_mm)]),
            Tool::Ring => self.add_runs("draw ring", [channel.ring(at, sizes.ring_mm)]),
            Tool::Tee => self.add_runs("draw tee", channel.tee(at, sizes.tee_mm)),
            Tool::Cross => self.add_runs("draw cross", channel.cross(at, sizes.cross_mm)),
            Tool::Measure => self.measure_at(at),
            Tool::Select | Tool::Pin | Tool::Gate | Tool::Vent | Tool::Ejector | Tool::Note => {}
        }
    }

    /// A key while a run is drawn.
    pub(crate) fn draw_key(&mut self, ctx: &Context, key: DrawKey) {
        let drawing = &mut self.view.work.drawing;
        match key {
            DrawKey::Character(character) => drop(drawing.type_character(character)),
            DrawKey::Other => drawing.other_number(),
            DrawKey::TakeBack => drop(drawing.take_back()),
            DrawKey::Arc => drawing.toggle_arc(),
            DrawKey::Finish if drawing.is_typing() => drawing.clear_typed(),
            DrawKey::Finish => self.use_tool(Tool::Select),
            DrawKey::Place => {
                if let Some(wanted) = self.pointed() {
                    self.draw_at(ctx, Tool::Run, wanted);
                }
            }
        }
    }

    /// Where the pointer is on the plan, else the middle of what is seen, mm.
    fn pointed(&self) -> Option<DVec2> {
        self.view.work.pointer.or_else(|| self.view.camera.map(|camera| camera.centre))
    }

    /// Places what the tool adds without the pointer.
    pub(crate) fn place_here(&mut self, ctx: &Context) {
        let tool = self.view.tool;
        if let Some(wanted) = self.pointed().filter(|_| tool != Tool::Select) {
            self.act(ctx, crate::action::Action::Place(tool, wanted));
        }
    }

    /// Undoing while a run is drawn takes back its last point; whether there was one.
    pub(crate) fn take_back_drawn(&mut self) -> bool {
        self.view.tool == Tool::Run && self.view.work.drawing.take_back()
    }

    /// Puts what has been drawn into the project.
    fn finish_run(&mut self) {
        let channel = self.view.work.channel(self.session.document());
        let drawn = std::mem::replace(&mut self.view.work.drawing, Drawing::new(channel));
        if let Some(run) = drawn.run() {
            self.add_runs("draw run", [run]);
        }
    }

    fn add_runs<const COUNT: usize>(&mut self, label: &'static str, runs: [Run; COUNT]) {
        let added: Vec<(Id, Run)> = runs.into_iter().map(|run| (self.session.fresh_id(), run)).collect();
        let ids: Vec<Id> = added.iter().map(|(id, _)| *id).collect();
        let edits = added.into_iter().map(|(id, run)| Edit::Add(id, Item::Run(run))).collect();
        self.edit(&Edit::Several { label, edits });
        self.session.select(ids);
        self.view.tool = Tool::Select;
        self.view.snapped = None;
    }

    /// A third place begins anew.
    fn measure_at(&mut self, at: DVec2) {
        let measured = &mut self.view.work.measured;
        if measured.len() > 1 {
            measured.clear();
        }
        measured.push(at);
    }
}
