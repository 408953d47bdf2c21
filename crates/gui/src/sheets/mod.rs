//! The sheets for the bench before they are printed: what is to be written, and each page as it will be.
//!
//! Pages are laid out and drawn to pixels on threads of their own; until they are there the page before
//! stays, or a word says what is awaited.

mod choices;
mod list;
mod preview;

use std::collections::BTreeSet;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use egui::{Context, Id, Key, Modal, Modifiers, RichText, Ui, vec2};
use keepside_model::{Half, Project};
use keepside_session::{Progress, Session};
use keepside_sheet::page::Page;
use keepside_sheet::{Output, Picture, picture};

use crate::action::{Action, Command};
use crate::files::Done;
use crate::look::Palette;
use choices::{choices_ui, want_cycles};
use list::{Listed, list_ui};
use preview::{Ask, Preview};

/// Room left about the window of the sheets, points.
const MARGIN_PX: f32 = 28.0;

/// Width of what stands beside the page, points: a share of the window within these bounds.
const SIDE_SHARE: f32 = 0.36;
const SIDE_PX: (f32, f32) = (200.0, 360.0);

/// The sheets while they are looked at.
#[derive(Default)]
pub(crate) struct Sheets {
    shown: Option<Output>,
    page: usize,
    laid: Option<Laid>,
    /// What is being laid out.
    laying: Option<Of>,
    preview: Preview,
    has_focus: bool,
}

/// An output of one state of the project.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Of {
    output: Output,
    revision: u64,
}

/// Pages as laid out, or why not.
#[derive(Debug)]
pub(crate) struct Laid {
    of: Of,
    pages: Result<Arc<Vec<Page>>, String>,
}

/// What the threads of the sheets report.
#[derive(Debug)]
pub(crate) enum Ready {
    Laid(Laid),
    Drawn(Ask, Option<Picture>),
}

/// What the user wants next.
pub(crate) enum Next {
    Close,
    /// Asks for the folder and writes what is chosen.
    Export,
    /// Puts the hole table of a plate on the clipboard.
    CopyHoles(Half),
    Do(Action),
}

impl Sheets {
    /// Takes in what a thread reports.
    pub(crate) fn take(&mut self, ctx: &Context, ready: Ready) {
        match ready {
            Ready::Laid(laid) => {
                if self.laying == Some(laid.of) {
                    self.laying = None;
                }
                let same = self.laid.as_ref().is_some_and(|before| before.of.output == laid.of.output);
                self.page = if same { self.page } else { 0 };
                self.preview.renew();
                self.laid = Some(laid);
            }
            Ready::Drawn(ask, picture) => self.preview.take(ctx, ask, picture),
        }
    }

    /// The pages of what is shown, of the newest state that there is.
    fn pages(&self) -> Option<&Result<Arc<Vec<Page>>, String>> {
        self.laid.as_ref().filter(|laid| Some(laid.of.output) == self.shown).map(|laid| &laid.pages)
    }

    /// Whether nothing is being laid out or drawn.
    pub(crate) fn is_settled(&self) -> bool {
        self.laying.is_none() && self.preview.is_settled()
    }

    /// Work for a thread, if there is any to begin.
    pub(crate) fn job(&mut self, session: &Session) -> Option<Box<dyn FnOnce() -> Done + Send>> {
        let output = self.shown?;
        let of = Of { output, revision: session.revision() };
        let is_laid = self.laid.as_ref().is_some_and(|laid| laid.of == of);
        if !is_laid && self.laying.is_none() && awaited(session, output).is_none() {
            self.laying = Some(of);
            let project = Arc::clone(session.document());
            let analysis =
                output.needs_opening().then(|| session.results().analysis(of.revision).cloned()).flatten();
            return Some(Box::new(move || {
                let make = || keepside_sheet::pages(output, &project, analysis.as_ref());
                let pages = match catch_unwind(AssertUnwindSafe(make)) {
                    Ok(pages) => pages.map(Arc::new).map_err(|error| error.to_string()),
                    Err(_) => Err("internal error in the sheet; please report this".to_owned()),
                };
                Done::Sheets(Ready::Laid(Laid { of, pages }))
            }));
        }
        let pages = Arc::clone(self.pages()?.as_ref().ok()?);
        let ask = self.preview.ask()?;
        Some(Box::new(move || {
            let draw = || picture(pages.get(ask.page)?, ask.px_per_mm, ask.from_mm, ask.size_px);
            Done::Sheets(Ready::Drawn(ask, catch_unwind(AssertUnwindSafe(draw)).unwrap_or(None)))
        }))
    }
}

/// What is written: what is chosen, and drill cycles if the project wants them.
pub(crate) fn written(chosen: &BTreeSet<Output>, project: &Project) -> Vec<Output> {
    let is_written = |output: &Output| match output {
        Output::DrillCycles => project.sheet.drill_cycles.wanted,
        _ => chosen.contains(output),
    };
    Output::ALL.into_iter().filter(is_written).collect()
}

/// What an output waits for, if it cannot be laid out yet.
fn awaited(session: &Session, output: Output) -> Option<&'static str> {
    if !output.needs_opening() {
        return None;
    }
    match session.progress() {
        Progress::Done => None,
        Progress::Failed => Some("The opening could not be computed, so there is nothing to tell of it"),
        _ => Some("Waiting for the opening to be computed"),
    }
}

/// Shows the sheets; what the user wants next.
pub(crate) fn sheets_ui(
    ctx: &Context,
    sheets: &mut Sheets,
    chosen: &mut BTreeSet<Output>,
    session: &Session,
) -> Vec<Next> {
    let mut next = Vec::new();
    let frame = egui::Frame::popup(&ctx.global_style()).inner_margin(14.0);
    let size = ctx.content_rect().size() - vec2(2.0 * MARGIN_PX, 2.0 * MARGIN_PX);
    sheets.shown = sheets.shown.or(Output::ALL.into_iter().find(|output| output.is_paged()));
    let response = Modal::new(Id::unique("sheets")).frame(frame).show(ctx, |ui| {
        ui.set_width(size.x);
        ui.set_height(size.y);
        let side = (size.x * SIDE_SHARE).clamp(SIDE_PX.0, SIDE_PX.1);
        ui.horizontal_top(|ui| {
            ui.allocate_ui_with_layout(vec2(side, size.y), egui::Layout::top_down(egui::Align::Min), |ui| {
                ui.set_width(side);
                next.extend(side_ui(ui, sheets, chosen, session));
            });
            ui.separator();
            ui.allocate_ui_with_layout(
                vec2(ui.available_width(), size.y),
                egui::Layout::top_down(egui::Align::Min),
                |ui| page_ui(ui, sheets, session),
            );
        });
    });
    if !ctx.text_edit_focused() {
        next.extend(undoing(ctx));
    }
    if response.should_close() {
        next.push(Next::Close);
    }
    next
}

/// Undo and redo work here as everywhere.
fn undoing(ctx: &Context) -> Vec<Next> {
    let is_undoing = |command: &Command| matches!(command, Command::Undo | Command::Redo);
    let rows = crate::keys::ROWS.iter().filter(|row| is_undoing(&row.command));
    let pressed = rows.filter(|row| {
        row.keys.iter().any(|shortcut| ctx.input_mut(|input| input.consume_shortcut(shortcut)))
    });
    pressed.map(|row| Next::Do(Action::Command(row.command.clone()))).collect()
}

/// What is written, and the choices about it.
fn side_ui(ui: &mut Ui, sheets: &mut Sheets, chosen: &mut BTreeSet<Output>, session: &Session) -> Vec<Next> {
    let mut next = Vec::new();
    ui.label(RichText::new("Sheets for the bench").strong().size(15.0));
    ui.add_space(6.0);
    // Of what has not enough room the buttons are seen first.
    egui::Panel::bottom("sheets' buttons").frame(egui::Frame::NONE).show_separator_line(false).show(
        ui,
        |ui| {
            ui.add_space(8.0);
            ui.horizontal_wrapped(|ui| {
                let export = ui.add_enabled(
                    !written(chosen, session.document()).is_empty(),
                    egui::Button::new("Export to a folder…"),
                );
                if !std::mem::replace(&mut sheets.has_focus, true) {
                    export.request_focus();
                }
                if export.clicked() {
                    next.push(Next::Export);
                }
                if ui.button("Close sheets").clicked() {
                    next.push(Next::Close);
                }
            });
        },
    );
    egui::ScrollArea::both().auto_shrink([false, false]).show(ui, |ui| {
        let project = session.document();
        match list_ui(ui, sheets.shown, chosen, project.sheet.drill_cycles.wanted) {
            Some(Listed::Look(output)) => sheets.shown = Some(output),
            Some(Listed::Cycles(wanted)) => next.push(Next::Do(want_cycles(project, wanted))),
            None => {}
        }
        ui.add_space(4.0);
        ui.horizontal_wrapped(|ui| {
            for half in [Half::Moving, Half::Fixed] {
                let name = format!("Copy holes, {} half", half.word());
                let hint = "The hole table as text with tabs, for a spreadsheet";
                if ui.button(name).on_hover_text(hint).clicked() {
                    next.push(Next::CopyHoles(half));
                }
            }
        });
        ui.add_space(8.0);
        next.extend(choices_ui(ui, project).into_iter().map(Next::Do));
    });
    next
}

/// The page with what turns and enlarges it.
fn page_ui(ui: &mut Ui, sheets: &mut Sheets, session: &Session) {
    let Some(output) = sheets.shown else { return };
    let pages = match sheets.pages() {
        Some(Ok(pages)) => Arc::clone(pages),
        Some(Err(why)) => {
            ui.add(egui::Label::new(RichText::new(why).color(Palette::of(ui).fault)).wrap());
            return;
        }
        None => {
            ui.horizontal_wrapped(|ui| {
                ui.spinner();
                ui.label(awaited(session, output).unwrap_or("Laying the pages out"));
            });
            return;
        }
    };
    let last = pages.len().saturating_sub(1);
    sheets.page = sheets.page.min(last);
    ui.horizontal_wrapped(|ui| {
        let back = ui.add_enabled(sheets.page > 0, egui::Button::new("Page before"));
        ui.label(format!("Page {} of {}", sheets.page + 1, pages.len()));
        let on = ui.add_enabled(sheets.page < last, egui::Button::new("Next page"));
        let pressed = |key| {
            !ui.ctx().text_edit_focused() && ui.input_mut(|input| input.consume_key(Modifiers::NONE, key))
        };
        if back.clicked() || pressed(Key::PageUp) {
            sheets.page = sheets.page.saturating_sub(1);
        }
        if on.clicked() || pressed(Key::PageDown) {
            sheets.page = (sheets.page + 1).min(last);
        }
        ui.add_space(8.0);
        sheets.preview.zoom_ui(ui);
        if let Some(why) = awaited(session, output) {
            ui.weak(why);
        }
    });
    let Some(page) = pages.get(sheets.page) else { return };
    let name = format!("Page {} of {}, {}", sheets.page + 1, pages.len(), output.label());
    sheets.preview.show(ui, page, sheets.page, &name);
}
