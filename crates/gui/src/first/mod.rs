//! The first page: what Keepside is about, in four pictures, and ways to begin. It shows when the editor is
//! started without a file, and from the Help menu.

mod pictures;

use std::path::PathBuf;

use egui::{Align, Context, Id, Key, Label, Layout, Modal, RichText, ScrollArea, Ui, vec2};

use crate::action::Command;
use crate::look::Palette;
use pictures::{Moment, picture_ui};

/// The recent files offered, at most.
const RECENT: usize = 4;

/// Width of a picture with its words, points: a quarter of the room within these bounds.
const COLUMN_PX: (f32, f32) = (170.0, 240.0);

/// Widest page, points.
const PAGE_PX: f32 = 1010.0;

/// Room between two pictures, points.
const GAP_PX: f32 = 14.0;

/// The page while it is open.
#[derive(Clone, Debug, Default)]
pub(crate) struct FirstPage {
    /// Whether its first button has been given the keyboard.
    has_focus: bool,
}

/// What the user does next.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Next {
    /// Goes on with what is open already.
    Close,
    /// Does this.
    Do(Command),
}

/// Shows the page; what the user chose, once that is known.
pub(crate) fn first_page_ui(ctx: &Context, page: &mut FirstPage, recent: &[PathBuf]) -> Option<Next> {
    let frame = egui::Frame::popup(&ctx.global_style()).inner_margin(18.0);
    let room = ctx.content_rect().size() - vec2(60.0, 60.0);
    let wide = room.x.min(PAGE_PX);
    let response = Modal::new(Id::unique("first page")).frame(frame).show(ctx, |ui| {
        ui.set_width(wide);
        ui.with_layout(Layout::top_down(Align::Min), |ui| {
            ui.label(RichText::new("Keepside keeps the part on the moving half").strong().size(19.0));
            ui.add_space(2.0);
            let about = "You draw the channel and set gates and pins; it works out which half the part \
                         stays on, how close that is, and what to drill.";
            ui.add(Label::new(about).wrap());
            ui.add_space(10.0);
            let foot_px = 96.0 + if recent.is_empty() { 0.0 } else { 30.0 };
            ScrollArea::vertical().max_height((room.y - 70.0 - foot_px).max(80.0)).show(ui, |ui| {
                pictures_ui(ui, wide);
            });
            ui.add_space(10.0);
            let next = buttons_ui(ui, page);
            let recent = recent_ui(ui, recent);
            ui.add_space(8.0);
            let care = "A drawing aid, not a safety device: hot plastic burns, closing platens crush, a bent \
                        part may let go suddenly. Keep hands out from between the halves.";
            ui.add(Label::new(RichText::new(care).color(Palette::of(ui).ink_soft)).wrap());
            next.or(recent)
        })
        .inner
    });
    let left = response.should_close() || ctx.input(|input| input.key_pressed(Key::Escape));
    response.inner.or(left.then_some(Next::Close))
}

/// The four pictures, as many in a row as there is room for.
fn pictures_ui(ui: &mut Ui, wide: f32) {
    let in_row = [4_u8, 2, 1]
        .into_iter()
        .find(|count| (wide - f32::from(count - 1) * GAP_PX) / f32::from(*count) >= COLUMN_PX.0)
        .unwrap_or(1);
    let column = ((wide - f32::from(in_row - 1) * GAP_PX) / f32::from(in_row)).min(COLUMN_PX.1);
    for row in Moment::ALL.chunks(in_row.into()) {
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = GAP_PX;
            for &moment in row {
                ui.allocate_ui_with_layout(vec2(column, 0.0), Layout::top_down(Align::Min), |ui| {
                    ui.set_width(column);
                    picture_ui(ui, moment, column);
                    ui.add_space(2.0);
                    ui.add(Label::new(RichText::new(moment.title()).strong()).wrap());
                    ui.add(Label::new(moment.words()).wrap());
                    ui.add_space(6.0);
                });
            }
        });
    }
}

fn buttons_ui(ui: &mut Ui, page: &mut FirstPage) -> Option<Next> {
    let mut next = None;
    ui.horizontal_wrapped(|ui| {
        for (name, choice) in [
            ("Look at the demo", Next::Do(Command::Demo)),
            ("Start a blank project", Next::Do(Command::New)),
            ("Open a file…", Next::Do(Command::Open)),
        ] {
            let button = ui.add(egui::Button::new(name).min_size(vec2(0.0, 28.0)));
            if !std::mem::replace(&mut page.has_focus, true) {
                button.request_focus();
            }
            if button.clicked() {
                next = Some(choice);
            }
        }
        if ui.add(egui::Button::new("Close this page").min_size(vec2(0.0, 28.0))).clicked() {
            next = Some(Next::Close);
        }
    });
    next
}

fn recent_ui(ui: &mut Ui, recent: &[PathBuf]) -> Option<Next> {
    let mut next = None;
    if !recent.is_empty() {
        ui.add_space(4.0);
        ui.horizontal_wrapped(|ui| {
            ui.label("Recent");
            for path in recent.iter().take(RECENT) {
                let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy();
                if ui.link(name.as_ref()).on_hover_text(path.display().to_string()).clicked() {
                    next = Some(Next::Do(Command::OpenPath(path.clone())));
                }
            }
        });
    }
    next
}
