//! A drawing from another program, looked at before it becomes channel runs: what its lines are, how wide
//! and deep the channel is, where it goes, and what was left out.

mod picture;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use egui::{Context, Id, Label, Modal, RichText, ScrollArea, Ui, vec2};
use glam::DVec2;
use keepside_model::{Bounds, Edit, Item, Project, bounds};
use keepside_sheet::import::{self, Choice, Imported, ReadAs, Runs};

use crate::files::sentence_of;
use crate::look::Palette;
use crate::panels::fields::Fields;
use crate::panels::item_fields::ENDS;
use picture::Picture;

/// Room left about the window, points.
const MARGIN_PX: f32 = 28.0;

/// Width of what stands beside the picture, points: a share of the window within these bounds.
const SIDE_SHARE: f32 = 0.42;
const SIDE_PX: (f32, f32) = (230.0, 370.0);

/// Range of the factor on the drawing, percent.
const SCALE_PERCENT: Bounds = Bounds { what: "the scale of the drawing", unit: "%", min: 0.1, max: 1e5 };

/// Most that is named of what was left out.
const NAMED: usize = 12;

/// Where a drawing goes.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Place {
    /// Its middle on the middle of the plate.
    Middle,
    /// Its own origin on the lower left corner of the plate.
    AsDrawn,
}

/// The runs that a choice makes, and their picture.
type Made = (Runs, Picture);

/// A drawing that is being looked at.
pub(crate) struct Import {
    name: String,
    drawing: Arc<Imported>,
    choice: Choice,
    place: Place,
    /// Of each layer whether it is used.
    layers: Vec<(String, usize, bool)>,
    /// What comes of a choice for plates of a size, and its picture.
    made: Option<(Choice, Result<Made, String>)>,
    has_focus: bool,
}

/// What the user wants next.
pub(crate) enum Next {
    Close,
    /// Adds the runs, as one undo step.
    Add(Edit),
}

/// Reads a drawing from a file; the reason if it cannot be used.
pub(crate) fn read(path: &Path) -> Result<Imported, String> {
    use std::io::Read as _;
    let told = |error: std::io::Error| format!("could not read: {error}: {}", path.display());
    let mut bytes = Vec::new();
    // One byte more than is allowed, so that the reader refuses it and says how much is.
    let most = import::MAX_BYTES as u64 + 1;
    std::fs::File::open(path).and_then(|file| file.take(most).read_to_end(&mut bytes)).map_err(told)?;
    let name = path.to_string_lossy();
    match catch_unwind(AssertUnwindSafe(|| import::by_name(&name, &bytes))) {
        Ok(read) => read.map_err(|error| format!("{}: {name}", sentence_of(error))),
        Err(_) => Err(format!("internal error in reading a drawing; please report this: {name}")),
    }
}

impl Import {
    /// A drawing as read from a file, at first with the channel as wide and deep as the project's first run.
    pub(crate) fn new(path: PathBuf, drawing: Imported, project: &Project) -> Self {
        let mut choice = Choice::default();
        if let Some(point) = project.part.runs.values().find_map(|run| run.points.first()) {
            (choice.width_mm, choice.depth_mm) = (point.width_mm, point.depth_mm);
        }
        let layers = drawing.layers().into_iter().map(|(name, count)| (name.to_owned(), count, true));
        Self {
            name: path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned(),
            layers: layers.collect(),
            drawing: Arc::new(drawing),
            choice,
            place: Place::Middle,
            made: None,
            has_focus: false,
        }
    }

    /// The choice with layers and place.
    fn whole_choice(&self, project: &Project) -> Choice {
        let used = || self.layers.iter().filter(|(_, _, used)| *used);
        let all = used().count() == self.layers.len();
        let layers = if all { Vec::new() } else { used().map(|(name, _, _)| name.clone()).collect() };
        let mut choice = Choice { layers, move_mm: DVec2::ZERO, ..self.choice.clone() };
        if self.place == Place::Middle {
            let plate_mm = DVec2::new(project.plates.width_mm, project.plates.height_mm);
            choice.move_mm = self.drawing.move_to_middle(&choice, plate_mm / 2.0);
        }
        choice
    }

    /// Makes the runs anew if anything was chosen otherwise.
    fn make(&mut self, project: &Project) {
        let choice = self.whole_choice(project);
        if self.made.as_ref().is_some_and(|(of, _)| *of == choice) {
            return;
        }
        let made = if self.layers.iter().any(|(_, _, used)| *used) {
            self.drawing.runs(&choice).map_err(sentence_of).map(|runs| {
                let picture = Picture::of(&self.drawing, &choice, &runs, project);
                (runs, picture)
            })
        } else {
            Err("No layer is ticked".to_owned())
        };
        self.made = Some((choice, made));
    }

    /// The runs as one change of the project.
    fn edit(&self, project: &Project) -> Option<Edit> {
        let (_, Ok((made, _))) = self.made.as_ref()? else { return None };
        let first = project.free_id();
        let ids = (first.0..).map(keepside_model::Id);
        let edits: Vec<Edit> =
            made.runs.iter().zip(ids).map(|(run, id)| Edit::Add(id, Item::Run(run.clone()))).collect();
        (!edits.is_empty()).then_some(Edit::Several { label: "import a drawing", edits })
    }
}

/// Shows the drawing; what the user wants next.
pub(crate) fn import_ui(ctx: &Context, import: &mut Import, project: &Project) -> Option<Next> {
    let frame = egui::Frame::popup(&ctx.global_style()).inner_margin(14.0);
    let size = ctx.content_rect().size() - vec2(2.0 * MARGIN_PX, 2.0 * MARGIN_PX);
    import.make(project);
    let response = Modal::new(Id::unique("import")).frame(frame).show(ctx, |ui| {
        ui.set_width(size.x);
        ui.set_height(size.y);
        let side = (size.x * SIDE_SHARE).clamp(SIDE_PX.0, SIDE_PX.1);
        ui.horizontal_top(|ui| {
            let layout = egui::Layout::top_down(egui::Align::Min);
            let next = ui.allocate_ui_with_layout(vec2(side, size.y), layout, |ui| {
                ui.set_width(side);
                side_ui(ui, import, project)
            });
            ui.separator();
            ui.allocate_ui_with_layout(vec2(ui.available_width(), size.y), layout, |ui| {
                if let Some((_, Ok((runs, picture)))) = &import.made {
                    picture.show(ui, &picture_words(import, runs));
                }
            });
            next.inner
        })
        .inner
    });
    let is_left = response.should_close();
    response.inner.or(is_left.then_some(Next::Close))
}

fn picture_words(import: &Import, made: &Runs) -> String {
    format!("{} on the plate: {}", import.name, count(made.runs.len(), "channel run", "channel runs"))
}

fn side_ui(ui: &mut Ui, import: &mut Import, project: &Project) -> Option<Next> {
    let mut next = None;
    ui.add(Label::new(RichText::new(format!("Import {}", import.name)).strong().size(15.0)).wrap());
    ui.add_space(6.0);
    egui::Panel::bottom("import's buttons").frame(egui::Frame::NONE).show_separator_line(false).show(
        ui,
        |ui| {
            ui.add_space(8.0);
            ui.horizontal_wrapped(|ui| {
                let edit = import.edit(project);
                let add = ui.add_enabled(edit.is_some(), egui::Button::new("Add to the plan"));
                if !std::mem::replace(&mut import.has_focus, true) {
                    add.request_focus();
                }
                if add.clicked() {
                    next = edit.map(Next::Add);
                }
                if ui.button("Cancel").clicked() {
                    next = Some(Next::Close);
                }
            });
        },
    );
    ScrollArea::both().auto_shrink([false, false]).show(ui, |ui| {
        choice_ui(ui, import);
        ui.add_space(8.0);
        report_ui(ui, import);
    });
    next
}

fn choice_ui(ui: &mut Ui, import: &mut Import) {
    let choice = &mut import.choice;
    Fields::show(ui, "import", |fields| {
        let kinds = [(ReadAs::CentreLines, "the channel's middle"), (ReadAs::Outlines, "its edge all round")];
        fields.choice("Its lines are", &mut choice.read_as, &kinds);
        if choice.read_as == ReadAs::CentreLines {
            fields.number("Channel width", &mut choice.width_mm, bounds::CHANNEL_WIDTH);
        }
        fields.number("Channel depth", &mut choice.depth_mm, bounds::CHANNEL_DEPTH);
        if choice.read_as == ReadAs::CentreLines {
            fields.choice("Free ends", &mut choice.end, &ENDS);
        }
        let mut percent = 100.0 * choice.scale;
        let response = fields.number("Scale", &mut percent, SCALE_PERCENT);
        response.on_hover_text("Enlarges the drawing, not the width and depth above");
        choice.scale = percent / 100.0;
        let places = [(Place::Middle, "middle on the plate's"), (Place::AsDrawn, "origin on the lower left")];
        fields.choice("Where it goes", &mut import.place, &places);
    });
    if import.layers.len() > 1 {
        ui.add_space(4.0);
        ui.label("Layers");
        for (name, chains, used) in &mut import.layers {
            let shown = if name.is_empty() { "without a name" } else { name };
            ui.checkbox(used, format!("{shown} ({})", count(*chains, "line", "lines")));
        }
    }
}

/// What came of it, and what was left out.
fn report_ui(ui: &mut Ui, import: &Import) {
    let palette = Palette::of(ui);
    let say = |ui: &mut Ui, words: String, ink: Option<egui::Color32>| {
        let text = RichText::new(words);
        ui.add(Label::new(ink.map_or(text.clone(), |ink| text.color(ink))).wrap());
    };
    match import.made.as_ref().map(|(_, made)| made) {
        Some(Err(why)) => say(ui, why.clone(), Some(palette.fault)),
        Some(Ok((made, _))) => {
            let ink = made.runs.is_empty().then_some(palette.fault);
            let words = if made.runs.is_empty() {
                "Nothing of this drawing makes a channel run".to_owned()
            } else {
                format!("Makes {}", count(made.runs.len(), "channel run", "channel runs"))
            };
            say(ui, words, ink);
            for refused in made.refused.iter().take(NAMED) {
                let at = format!("Left out at x {:.1}, y {:.1}: ", refused.at.x, refused.at.y);
                say(ui, at + &refused.why, Some(palette.warning));
            }
            more(ui, made.refused.len());
        }
        None => {}
    }
    for remark in &import.drawing.remarks {
        say(ui, remark.clone(), None);
    }
    for skipped in import.drawing.skipped.iter().take(NAMED) {
        say(ui, format!("Not read: {skipped}"), Some(palette.ink_soft));
    }
    more(ui, import.drawing.skipped.len());
}

fn more(ui: &mut Ui, count: usize) {
    if count > NAMED {
        ui.weak(format!("and {} more", count - NAMED));
    }
}

fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}
