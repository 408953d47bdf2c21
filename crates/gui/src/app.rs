//! The window: lays out the panels, collects what the user did, carries it out.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use egui::{CentralPanel, Frame, Panel, Ui};
use keepside_engine::Cancel;
use keepside_session::{FIRST_REVISION, Session};
use keepside_sheet::Output;

use crate::about::{AboutPage, about_ui};
use crate::action::{self, Action, Command};
use crate::compare::Compare;
use crate::dialogs::{Dialog, Dialogs, Purpose};
use crate::disk::{Disk, RealDisk};
use crate::files::{Jobs, not_opened};
use crate::first::{FirstPage, Next, first_page_ui};
use crate::import::{self, Import, import_ui};
use crate::listing::Listing;
use crate::look::{self, letters::Letters};
use crate::measure::{self, Measure};
use crate::panels::{
    bending, charts, everything, filling, findings, holds, inspector, layouts, pull_off, status, strip,
    toolbar, verdict, windows,
};
use crate::recent::Recent;
use crate::safety::Safety;
use crate::settings::Settings;
use crate::sheets::{self, Sheets, sheets_ui};
use crate::shots::{self, Studies, shots_ui};
use crate::toasts::Toasts;
use crate::view::{Tab, ViewState};
use crate::{demo, elevation, plan};

/// Width of the panel at the side: a share of the window within these bounds, points.
const SIDE_SHARE: f32 = 0.36;
const SIDE_PX: (f32, f32) = (230.0, 350.0);

/// Width that is left to the drawings, points.
const DRAWING_PX: f32 = 400.0;

/// Narrower than this the tabs of the lower panel are scrolled sideways, points.
const ROOMY_PX: f32 = 300.0;

/// What the editor is started with.
#[derive(Clone, Debug, Default)]
pub struct Start {
    /// Project to open; the demo if there is none.
    pub project: Option<PathBuf>,
    /// Folder for what is remembered from day to day; nothing is remembered without.
    pub config: Option<PathBuf>,
    /// Folder for recovery files and earlier states; nothing is kept against a crash without.
    pub state: Option<PathBuf>,
    /// Where project files are; the disks of this machine if there is none.
    pub disk: Option<Arc<dyn Disk>>,
    /// Whether the first page is shown.
    pub first_page: bool,
    /// File to which the places of everything on the plan are written, for tests that drive the real
    /// window by mouse.
    pub list_places: Option<PathBuf>,
    /// File to which every control and its place in the window are written, likewise.
    pub list_controls: Option<PathBuf>,
    /// A project made up with so many keying features, in place of the demo.
    pub crowd: Option<usize>,
    /// Frame times to be measured; the window is at rest after it.
    pub measure: Option<measure::Wanted>,
}

/// The editor.
pub struct App {
    /// The open project.
    pub session: Session,
    /// What is shown and how.
    pub view: ViewState,
    pub(crate) dialogs: Box<dyn Dialogs>,
    pub(crate) dialog: Option<Dialog>,
    pub(crate) toasts: Toasts,
    pub(crate) recent: Recent,
    pub(crate) jobs: Jobs,
    pub(crate) safety: Safety,
    /// Closing was agreed to.
    pub(crate) quitting: bool,
    pub(crate) compare: Compare,
    pub(crate) studies: Studies,
    settings: Settings,
    /// Folder for what is remembered from day to day.
    pub(crate) config: Option<PathBuf>,
    pub(crate) first_page: Option<FirstPage>,
    pub(crate) about: Option<AboutPage>,
    pub(crate) sheets: Option<Sheets>,
    /// A drawing that is being looked at before it is taken in.
    pub(crate) import: Option<Import>,
    /// What is written when the sheets are exported.
    pub(crate) outputs: BTreeSet<Output>,
    /// Stops the export under way.
    pub(crate) exporting: Option<Arc<Cancel>>,
    measure: Option<Measure>,
    letters: Letters,
    list_places: Option<PathBuf>,
    /// What was written there last.
    listed: String,
    title: String,
}

impl App {
    /// Starts the editor in a window's context.
    ///
    /// # Errors
    ///
    /// The operating system's, if it gives no thread for the analysis.
    pub fn new(ctx: &egui::Context, start: Start, dialogs: Box<dyn Dialogs>) -> std::io::Result<Self> {
        look::apply(ctx);
        if let Some(file) = start.list_controls {
            ctx.add_plugin(Listing::new(file));
        }
        let disk = start.disk.unwrap_or_else(|| Arc::new(RealDisk));
        let mut safety = Safety::new(start.state, disk, ctx)?;
        let mut toasts = Toasts::default();
        let (mut first, mut path, mut stamp) = (None, None, None);
        if let Some(wanted) = start.project.as_deref().filter(|_| start.crowd.is_none()) {
            safety.readings.open(wanted, FIRST_REVISION, None);
            match safety.readings.first() {
                Some((opened, Ok((project, held)))) => {
                    (first, path, stamp) = (Some(project), Some(opened), Some(held));
                }
                Some((opened, Err(error))) => toasts.error(not_opened(&opened, &error)),
                // A slow disk: it is shown as soon as it is there.
                None => {}
            }
        }
        let project = match start.crowd {
            Some(count) => measure::crowd(count),
            None => first.unwrap_or_else(demo::project),
        };
        let mut recent = Recent::load(start.config.as_deref());
        if let Some(path) = &path {
            recent.add(path, &safety.saver);
        }
        let mut view = ViewState::default();
        let settings = Settings::load(start.config.as_deref(), ctx, &mut view);
        let mut studies = Studies::new(ctx);
        if let Err(error) = studies.load(start.config.as_deref()) {
            toasts.error(error.to_string());
        }
        safety.belongs_to(path.as_deref(), stamp);
        safety.look_for_work(FIRST_REVISION, false);
        let waker = ctx.clone();
        let mut app = Self {
            session: Session::new(project, path, move || waker.request_repaint())?,
            view,
            dialogs,
            dialog: None,
            toasts,
            recent,
            jobs: Jobs::default(),
            safety,
            quitting: false,
            compare: Compare::default(),
            studies,
            settings,
            config: start.config,
            first_page: start.first_page.then(FirstPage::default),
            about: None,
            sheets: None,
            import: None,
            exporting: None,
            outputs: Output::ALL.into_iter().filter(|output| output.is_usual()).collect(),
            measure: start.measure.map(Measure::new),
            letters: Letters::default(),
            list_places: start.list_places,
            listed: String::new(),
            title: String::new(),
        };
        app.load_shelves();
        Ok(app)
    }

    /// Whether nothing is being computed, nor a sheet being drawn.
    pub fn is_settled(&self) -> bool {
        let is_computed = !self.session.progress().is_computing() && !self.studies.is_running();
        is_computed && self.sheets.as_ref().is_none_or(Sheets::is_settled)
    }

    fn panels(&mut self, ui: &mut Ui) -> Vec<Action> {
        let saving = self.saving_words();
        let Self { session, view, recent, studies, .. } = self;
        let plain = Frame::NONE.fill(ui.visuals().panel_fill);
        let mut actions = Vec::new();
        // Whichever view is pointed at says so again.
        view.linked = None;
        Panel::top("menu").show(ui, |ui| {
            ui.add_space(2.0);
            actions.extend(toolbar::toolbar_ui(ui, session, view, recent.paths(), &saving));
            ui.add_space(2.0);
        });
        Panel::top("verdict").show(ui, |ui| actions.extend(verdict::verdict_ui(ui, session)));
        Panel::bottom("status").show(ui, |ui| actions.extend(status::status_ui(ui, session, view)));
        let shots_open = view.shots.page.is_some();
        let shots_aside = shots_open && ui.available_width() >= shots::WIDE_PX;
        if shots_aside {
            let panel = Panel::left("shots").resizable(true).default_size(330.0).size_range(270.0..=460.0);
            panel.show(ui, |ui| actions.extend(shots_ui(ui, session, studies, view)));
        }
        // In a small window, or where everything is drawn large, the drawing keeps the greater share.
        let side = (ui.available_width() * SIDE_SHARE).clamp(SIDE_PX.0, SIDE_PX.1);
        let widest = (ui.available_width() - DRAWING_PX).clamp(SIDE_PX.0, 620.0);
        Panel::right("side").resizable(true).default_size(side).size_range(SIDE_PX.0..=widest).show(
            ui,
            |ui| {
                if shots_open && !shots_aside {
                    actions.extend(shots_ui(ui, session, studies, view));
                    return;
                }
                let height = ui.available_height();
                let lower = Panel::bottom("lower").resizable(true).default_size(height * 0.42).frame(plain);
                lower.size_range(share_of(height)).show(ui, |ui| actions.extend(lower_ui(ui, session, view)));
                CentralPanel::no_frame()
                    .show(ui, |ui| actions.extend(inspector::inspector_ui(ui, session, view)));
            },
        );
        if view.work.list_open {
            Panel::left("everything")
                .resizable(true)
                .default_size(265.0)
                .size_range(180.0..=420.0)
                .show(ui, |ui| actions.extend(everything::everything_ui(ui, session, view)));
        }
        CentralPanel::no_frame().show(ui, |ui| {
            let height = ui.available_height();
            let strip = Panel::bottom("elevation").resizable(true).default_size(height * 0.4).frame(plain);
            strip.size_range(share_of(height)).show(ui, |ui| {
                ui.set_min_height(ui.available_height());
                actions.extend(elevation::strip_ui(ui, session, view));
            });
            CentralPanel::no_frame().show(ui, |ui| actions.extend(plan::plan_ui(ui, session, view)));
        });
        actions.extend(windows::windows_ui(ui.ctx(), session, view));
        actions
    }

    fn update_title(&mut self, ctx: &egui::Context) {
        let dirty = if self.session.is_dirty() { "* " } else { "" };
        let words = match self.saving_words() {
            words if words.starts_with("not saved:") || self.is_saving() => format!(" ({words})"),
            _ => String::new(),
        };
        let title = format!("{dirty}{}{words} - Keepside", self.session.document().name);
        if title != self.title {
            ctx.send_viewport_cmd(egui::ViewportCommand::Title(title.clone()));
            self.title = title;
        }
    }

    /// The first page. Whoever is asked about unsaved work has been here before: it steps aside.
    fn first_page_ui(&mut self, ctx: &egui::Context) {
        if self.dialog.is_some() {
            self.first_page = None;
            return;
        }
        let Some(mut page) = self.first_page.take() else { return };
        match first_page_ui(ctx, &mut page, self.recent.paths()) {
            Some(Next::Do(command)) => self.act(ctx, Action::Command(command)),
            Some(Next::Close) => {}
            None => self.first_page = Some(page),
        }
    }

    /// A drawing that is being taken in.
    fn import_ui(&mut self, ctx: &egui::Context) {
        let Some(mut import) = self.import.take() else { return };
        match import_ui(ctx, &mut import, self.session.document()) {
            Some(import::Next::Close) => {}
            Some(import::Next::Add(edit)) => {
                self.act(ctx, Action::Edit(edit));
                self.act(ctx, Action::Command(Command::Fit));
            }
            None => self.import = Some(import),
        }
    }

    /// The sheets for the bench, with what their pages need done beside the window.
    fn sheets_ui(&mut self, ctx: &egui::Context) {
        let Some(mut sheets) = self.sheets.take() else { return };
        let next = sheets_ui(ctx, &mut sheets, &mut self.outputs, &self.session);
        if let Some(job) = sheets.job(&self.session)
            && let Err(error) = self.jobs.start(ctx, job)
        {
            self.toasts.error(format!("the sheets could not be drawn: {error}"));
        }
        self.sheets = Some(sheets);
        for next in next {
            match next {
                // Under a question Escape is the question's.
                sheets::Next::Close => self.sheets = self.sheets.take().filter(|_| self.dialog.is_some()),
                sheets::Next::Export => self.ask_path(Purpose::Export, None),
                sheets::Next::CopyHoles(half) => {
                    match keepside_sheet::hole_table_text(self.session.document(), half) {
                        Ok(text) => {
                            ctx.copy_text(text);
                            let half = half.word();
                            self.toasts.good(format!("The holes of the {half} half are on the clipboard"));
                        }
                        Err(error) => self.toasts.error(error.to_string()),
                    }
                }
                sheets::Next::Do(action) => self.act(ctx, action),
            }
        }
    }

    /// After the last frame that is measured the results are written, and the window is left at rest.
    fn end_measure(&mut self, ctx: &egui::Context) {
        if let Some((file, results)) = self.measure.as_mut().and_then(|measure| measure.end(ctx)) {
            self.measure = None;
            if let Err(error) = write_for_script(&file, &results) {
                self.toasts.error(format!("{error}: {}", file.display()));
            }
        }
    }

    /// What stands before the list of controls.
    fn listing_head(&self, pixels_per_point: f32) -> String {
        let state = if self.is_settled() { "settled" } else { "computing" };
        let mut head = format!("History\t{}\t{}\t{state}", self.session.undo_len(), self.session.redo_len());
        if let (Some(camera), Some(rect)) = (self.view.camera, self.view.plan_rect) {
            let corner = camera.to_screen(rect, glam::DVec2::ZERO) * pixels_per_point;
            let scale = camera.px_per_mm * f64::from(pixels_per_point);
            head += &format!("\nPlan\t{:.3}\t{:.3}\t{scale:.6}", corner.x, corner.y);
        }
        head
    }

    /// Writes where everything is, as soon as results are on the screen, and again whenever it is elsewhere.
    fn write_places(&mut self, ctx: &egui::Context) {
        // For the first time once everything is computed, so that who waits for it finds the window at rest.
        if self.listed.is_empty() && !self.is_settled() {
            return;
        }
        if let (Some(camera), Some(rect), Some(file)) =
            (self.view.camera, self.view.plan_rect, self.list_places.clone())
        {
            let text = plan::places(self.session.document(), camera, rect, ctx.pixels_per_point());
            if text == self.listed {
                return;
            }
            self.listed.clone_from(&text);
            if let Err(error) = write_for_script(&file, &text) {
                self.toasts.error(format!("{error}: {}", file.display()));
            }
        }
    }
}

/// The heights that a panel may have under something else: made in a large window it leaves room in a small
/// one, and the other way round, points.
fn share_of(height: f32) -> egui::Rangef {
    egui::Rangef::new(height * 0.2, height * 0.62)
}

/// A project dropped onto the window is opened.
fn dropped_files(ctx: &egui::Context) -> Option<Action> {
    let path = ctx.input(|input| Some(input.raw.dropped_files.first()?.path().to_owned()))?;
    Some(Action::Command(Command::OpenPath(path)))
}

/// Writes a file so that a script that waits for it sees all of it or nothing. A power cut may lose it, as it is
/// written with every frame.
pub(crate) fn write_for_script(file: &Path, text: &str) -> std::io::Result<()> {
    let part = file.with_extension("part");
    std::fs::write(&part, text)?;
    std::fs::rename(&part, file)
}

/// The lower right panel.
fn lower_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
    ui.set_min_height(ui.available_height());
    ui.add_space(6.0);
    ui.horizontal_wrapped(|ui| {
        // So that they stand in two rows at most.
        ui.spacing_mut().item_spacing.x = 1.0;
        ui.spacing_mut().button_padding.x = 6.0;
        let count = session.results().findings(session.revision()).len();
        for (tab, name) in [
            (Tab::Findings, format!("Findings ({count})")),
            (Tab::Holds, "Holds".to_owned()),
            (Tab::Balance, "Balance".to_owned()),
            (Tab::PullOff, "Pull-off".to_owned()),
            (Tab::Stripping, "Stripping".to_owned()),
            (Tab::Bending, "Bending".to_owned()),
            (Tab::Layouts, "Layouts".to_owned()),
            (Tab::Melt, "Melt".to_owned()),
        ] {
            ui.selectable_value(&mut view.tab, tab, name);
        }
    });
    ui.add_space(4.0);
    match view.tab {
        Tab::Findings => findings::findings_ui(ui, session),
        _ => roomy(ui, |ui| tab_ui(ui, session, view)),
    }
}

/// What needs some width, scrolled sideways where there is less.
fn roomy<R>(ui: &mut Ui, add: impl FnOnce(&mut Ui) -> R) -> R {
    if ui.available_width() >= ROOMY_PX {
        return add(ui);
    }
    let scroll = egui::ScrollArea::horizontal().id_salt("sideways").auto_shrink([false, false]);
    let wide = |ui: &mut Ui| {
        ui.set_width(ROOMY_PX);
        add(ui)
    };
    scroll.show(ui, wide).inner
}

/// The tabs other than the findings.
fn tab_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
    match view.tab {
        Tab::Findings => {}
        Tab::Holds => return holds::holds_ui(ui, session, view),
        Tab::Stripping => return strip::strip_ui(ui, session),
        Tab::Layouts => return layouts::layouts_ui(ui, session, view),
        Tab::Melt => return filling::filling_ui(ui, session),
        Tab::PullOff => return pull_off::pull_off_ui(ui, session, view),
        Tab::Bending => bending::bending_ui(ui, session, view),
        Tab::Balance => charts::balance_ui(ui, session, view),
    }
    Vec::new()
}

impl eframe::App for App {
    fn logic(&mut self, ctx: &egui::Context, _frame: &mut eframe::Frame) {
        self.session.poll();
        self.compare.poll(self.view.pinned.as_mut());
        self.studies.follow(&self.session, &self.view.shots);
        self.poll_jobs(ctx);
        self.look_after_work(ctx);
        self.guard_closing(ctx);
    }

    fn raw_input_hook(&mut self, _ctx: &egui::Context, raw: &mut egui::RawInput) {
        if let Some(measure) = &self.measure {
            measure.input(raw, measure::scene(self.session.document(), &self.view));
        }
    }

    fn on_exit(&mut self, _gl: Option<&eframe::glow::Context>) {
        self.end_work();
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        let ctx = ui.ctx().clone();
        self.view.unit.show(&ctx);
        if let Some(measure) = &mut self.measure {
            measure.begin();
        }
        let mut actions = Vec::new();
        if self.dialog.is_none()
            && self.first_page.is_none()
            && self.about.is_none()
            && self.sheets.is_none()
            && self.import.is_none()
        {
            actions.extend(dropped_files(&ctx));
            actions.extend(action::from_keys(&ctx, &self.view).into_iter().map(Action::Command));
        }
        actions.extend(self.panels(ui));
        let any = !actions.is_empty();
        for action in actions {
            self.act(&ctx, action);
        }
        self.sheets_ui(&ctx);
        self.import_ui(&ctx);
        self.dialog_ui(&ctx);
        self.first_page_ui(&ctx);
        self.about = self.about.take_if(|page| about_ui(&ctx, page));
        if let Some(words) = self.letters.news(&ctx, self.session.document()) {
            self.toasts.error(words);
        }
        let writing = self.exporting.as_ref().map(|_| ("Writing the sheets".to_owned(), "Stop writing"));
        let long = self.long_save(&ctx).map(|words| (words, "Save elsewhere…"));
        let is_long = long.is_some();
        let slow = self.safety.readings.slow();
        let works: Vec<_> =
            slow.iter().map(|(words, _)| (words.clone(), "Cancel")).chain(long).chain(writing).collect();
        if let Some(stopped) = self.toasts.show(&ctx, &works) {
            let (readings, reading) = (slow.len(), slow.into_iter().nth(stopped));
            if let Some((_, reading)) = reading {
                *reading = None;
            } else if is_long && stopped == readings {
                self.save_elsewhere();
            } else if let Some(cancel) = &self.exporting {
                cancel.cancel();
            }
        }
        self.update_title(&ctx);
        self.write_places(&ctx);
        ctx.with_plugin(|listing: &mut Listing| listing.head = self.listing_head(ctx.pixels_per_point()));
        self.settings.keep(&ctx, &self.view, &self.safety.saver);
        self.end_measure(&ctx);
        if any {
            // What was done shows in the panels that were drawn before it.
            ctx.request_repaint();
        }
    }
}
