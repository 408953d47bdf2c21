//! The side elevation under the plan: the tug of war at one opening, aligned with the plan in x.

mod between;
mod draw;
mod ejectors;
mod forces;
mod frame;
mod keeps;
mod left;
mod linked;
pub(crate) mod runs;
pub(crate) mod steps;

use egui::{Align2, FontId, Rect, Role, Sense, Ui, WidgetInfo};
use keepside_engine::Opening;
use keepside_session::Session;

pub(crate) use between::frame_between;
pub(crate) use forces::{ForceScale, arrow};
pub(crate) use frame::to_px;
pub(crate) use keeps::kept_now;
pub(crate) use left::is_worth_saying;
pub(crate) use linked::{label as cursor_label, place_words};
pub(crate) use runs::{along, chooser_ui, shown as run_shown};

use crate::action::{Action, Command};
use crate::camera::Camera;
use crate::look::Palette;
use crate::look::icons::{Icon, IconButton};
use crate::units::{Unit, typed_length_mm};
use crate::view::{HeightScale, Strip, ViewState};

/// How long a whole opening is played, s.
const PLAY_S: f64 = 6.0;

/// Opening below which the slider is linear, mm.
const SLIDER_LINEAR_MM: f64 = 0.01;

/// Narrower than this the controls take two rows, points.
const ONE_ROW_PX: f32 = 985.0;

/// Narrower than this the opening has a row of its own, points.
const OPENING_PX: f32 = 630.0;

/// Width of a length with its unit beside a slider, points.
const NUMBER_PX: f32 = 95.0;

/// Width of the list of runs with its name, where there are several, points.
const CHOOSER_PX: f32 = 150.0;

/// Width of the box for the ejected part, points.
const EJECTED_PX: f32 = 115.0;

/// The strip under the plan: the side elevation, the section or the filling.
pub(crate) fn strip_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
    match view.strip {
        Strip::Elevation => elevation_ui(ui, session, view),
        Strip::Filling => {
            crate::filling::time::play(ui, session, view);
            let room = ui.max_rect().intersect(ui.clip_rect());
            let mut actions = Vec::new();
            bar_ui(ui, |ui| actions = crate::filling::controls_ui(ui, session, view, tabs_ui));
            let room = room.with_min_y(ui.next_widget_position().y.min(room.bottom()));
            crate::filling::filling_ui(ui, session, view, room);
            actions
        }
        Strip::Section => {
            let room = ui.max_rect().intersect(ui.clip_rect());
            bar_ui(ui, |ui| {
                if ui.available_width() < OPENING_PX {
                    ui.horizontal(|ui| tabs_ui(ui, view));
                    ui.horizontal(|ui| crate::section::controls_ui(ui, session, view));
                } else {
                    ui.horizontal(|ui| {
                        tabs_ui(ui, view);
                        crate::section::controls_ui(ui, session, view);
                    });
                }
            });
            let room = room.with_min_y(ui.next_widget_position().y.min(room.bottom()));
            ui.allocate_rect(room, Sense::hover());
            crate::section::section_ui(ui, session, view, room)
        }
    }
}

/// What the strip shows.
fn tabs_ui(ui: &mut Ui, view: &mut ViewState) {
    for (strip, name) in
        [(Strip::Elevation, "Elevation"), (Strip::Section, "Section"), (Strip::Filling, "Filling")]
    {
        if ui.selectable_value(&mut view.strip, strip, name).changed() {
            view.playing_s = None;
        }
    }
    ui.separator();
}

/// The controls and the drawing. `camera` is the plan's.
fn elevation_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
    let mut actions = Vec::new();
    let stroke_mm = session.document().press.stroke_mm;
    view.opening_mm = view.opening_mm.clamp(0.0, stroke_mm);
    let opening = session.results().opening().and_then(|result| result.as_ref().ok()).cloned();
    play(ui, opening.as_deref(), stroke_mm, view);
    // As wide as the plan above, whatever the controls take: x is shared with it.
    let room = ui.max_rect().intersect(ui.clip_rect());
    controls_ui(ui, session, opening.as_deref(), view, &mut actions);

    let room = room.with_min_y(ui.next_widget_position().y.min(room.bottom()));
    let response = ui.allocate_rect(room, Sense::click_and_drag());
    let rect = response.rect;
    let Some(mut camera) = view.camera else { return actions };
    // Heights have their own place on the screen: only x is shared with the plan.
    let y_in_plan = camera.centre.y;
    crate::plan::navigate(ui, &response, &mut camera, view, crate::plan::Ground::Pans);
    camera.centre.y = y_in_plan;
    view.camera = Some(camera);

    let painter = ui.painter_at(rect);
    let palette = Palette::of(ui);
    painter.rect_filled(rect, 0.0, palette.canvas);
    let mut seen = None;
    match session.results().opening() {
        Some(Ok(opening)) => {
            let fresh = session.progress().has_verdict();
            let side = frame::Side::new(rect, camera, session, opening, view);
            let opacity = if fresh { 1.0 } else { 0.45 };
            let words = draw::draw(&painter, palette, session, opening, view, &side, opacity);
            let linked = linked::linked_ui(ui, &response, palette, session, opening, view, &side);
            seen = Some(words + &linked);
        }
        Some(Err(reason)) => centred(ui, rect, &sentence(&reason.to_string())),
        None => centred(ui, rect, "Computing the opening…"),
    }
    response.widget_info(|| WidgetInfo {
        current_text_value: seen.clone(),
        ..WidgetInfo::labeled(Role::Canvas, true, "Side elevation")
    });
    actions
}

/// `words` with a capital letter.
pub(crate) fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A sentence in the middle of a drawing that has nothing to show.
pub(crate) fn centred(ui: &mut Ui, rect: Rect, words: &str) {
    let palette = Palette::of(ui);
    let room = rect.shrink(24.0);
    let mut inner = ui.new_child(egui::UiBuilder::new().max_rect(room));
    inner.centered_and_justified(|ui| {
        ui.add(egui::Label::new(egui::RichText::new(words).color(palette.ink_soft)).wrap());
    });
}

/// Goes on with the playing: through the computed openings, so that the quick beginning is seen.
fn play(ui: &Ui, opening: Option<&Opening>, stroke_mm: f64, view: &mut ViewState) {
    let (Some(played_s), Some(opening)) = (view.playing_s, opening) else {
        view.playing_s = None;
        return;
    };
    let played_s = played_s + f64::from(ui.input(|input| input.stable_dt).min(0.1));
    if played_s >= PLAY_S || opening.frames.is_empty() {
        view.opening_mm = stroke_mm;
        view.playing_s = None;
        return;
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "a share of a list's length"
    )]
    let index = (played_s / PLAY_S * opening.frames.len() as f64) as usize;
    if let Some(frame) = opening.frames.get(index) {
        view.opening_mm = frame.opening_mm;
    }
    view.playing_s = Some(played_s);
    ui.request_repaint();
}

fn controls_ui(
    ui: &mut Ui,
    session: &Session,
    opening: Option<&Opening>,
    view: &mut ViewState,
    actions: &mut Vec<Action>,
) {
    bar_ui(ui, |ui| rows_ui(ui, session, opening, view, actions));
}

fn bar_ui(ui: &mut Ui, add: impl FnOnce(&mut Ui)) {
    let bar = egui::Frame::new().fill(ui.visuals().panel_fill).inner_margin(egui::Margin::symmetric(8, 3));
    bar.show(ui, |ui| {
        ui.set_min_width(ui.available_width());
        add(ui);
    });
}

/// One row, or two where one would be wider than the area.
fn rows_ui(
    ui: &mut Ui,
    session: &Session,
    opening: Option<&Opening>,
    view: &mut ViewState,
    actions: &mut Vec<Action>,
) {
    let stroke_mm = session.document().press.stroke_mm;
    let chooser_px = if runs::has_choice(opening) { CHOOSER_PX } else { 0.0 };
    let ejected_px = if left::is_known(session) { EJECTED_PX } else { 0.0 };
    let chooser_ui = |ui: &mut Ui, view: &mut ViewState| {
        if let Some(opening) = opening {
            runs::chooser_ui(ui, session, opening, view);
        }
    };
    if ui.available_width() < ONE_ROW_PX + chooser_px + ejected_px {
        // Buttons and sliders do not wrap by themselves.
        if ui.available_width() < OPENING_PX {
            ui.horizontal(|ui| tabs_ui(ui, view));
            ui.horizontal(|ui| opening_ui(ui, stroke_mm, opening.is_some(), view, actions));
        } else {
            ui.horizontal(|ui| {
                tabs_ui(ui, view);
                opening_ui(ui, stroke_mm, opening.is_some(), view, actions);
            });
        }
        ui.horizontal_wrapped(|ui| {
            chooser_ui(ui, view);
            heights_ui(ui, session, view);
        });
    } else {
        ui.horizontal(|ui| {
            tabs_ui(ui, view);
            opening_ui(ui, stroke_mm, opening.is_some(), view, actions);
            ui.separator();
            chooser_ui(ui, view);
            heights_ui(ui, session, view);
        });
    }
}

/// How far the mould is open.
fn opening_ui(ui: &mut Ui, stroke_mm: f64, computed: bool, view: &mut ViewState, actions: &mut Vec<Action>) {
    play_ui(ui, computed, view, actions);
    slider_ui(ui, stroke_mm, view);
}

/// Playing and stepping.
fn play_ui(ui: &mut Ui, computed: bool, view: &ViewState, actions: &mut Vec<Action>) {
    let playing = view.playing_s.is_some();
    let (icon, name) = if playing { (Icon::Pause, "Pause") } else { (Icon::Play, "Play opening") };
    let button = IconButton { icon, name, with_text: false, selected: playing, enabled: computed };
    if button.show(ui, "Opens the mould slowly (P)").clicked() {
        actions.push(Action::Command(Command::PlayOpening));
    }
    for (icon, name, keys, forward) in [
        (
            Icon::StepBack,
            "Step back",
            "The computed opening before (,); with Shift the release before",
            false,
        ),
        (Icon::StepOn, "Step on", "The next computed opening (.); with Shift the next release", true),
    ] {
        let button = IconButton { icon, name, with_text: false, selected: false, enabled: computed };
        if button.show(ui, keys).clicked() {
            let release = ui.input(|input| input.modifiers.shift);
            actions.push(Action::Command(Command::StepOpening { forward, release }));
        }
    }
}

/// The opening as a slider and a number.
fn slider_ui(ui: &mut Ui, stroke_mm: f64, view: &mut ViewState) {
    let unit = Unit::of(ui);
    let label = ui.label("Opening");
    // The number beside it takes some room, too.
    let room = ui.available_width() - NUMBER_PX;
    let usual = ui.spacing().slider_width;
    ui.spacing_mut().slider_width = usual.min(room).max(40.0);
    let mut opening_mm = view.opening_mm;
    let slider = egui::Slider::new(&mut opening_mm, 0.0..=stroke_mm)
        .logarithmic(true)
        .smallest_positive(SLIDER_LINEAR_MM)
        // Shown to a hundredth, kept as it is: rounding would count as a change by the user.
        .custom_formatter(move |opening_mm, _| unit.number(opening_mm))
        .custom_parser(move |text| typed_length_mm(text, unit))
        .suffix(format!(" {}", unit.word()));
    let response = ui.add(slider).labelled_by(label.id);
    if response.changed() {
        view.opening_mm = opening_mm;
        view.playing_s = None;
    }
}

/// How heights are drawn, and in which state the part is.
fn heights_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) {
    ui.label("Heights");
    for (scale, name) in
        [(HeightScale::Fit, "fitted"), (HeightScale::True, "1:1"), (HeightScale::TimesFive, "×5")]
    {
        ui.selectable_value(&mut view.height_scale, scale, name);
    }
    ui.separator();
    ui.checkbox(&mut view.show_forces, "Forces")
        .on_hover_text("Pulls at this opening as arrows, in plan too");
    let released = ui.checkbox(&mut view.show_released, "Released part");
    if released.on_hover_text("What stays bent after everything has let go").changed() {
        view.show_ejected = false;
    }
    if left::is_known(session) {
        let ejected = ui.checkbox(&mut view.show_ejected, "Ejected part");
        if ejected.on_hover_text("What stays bent after the ejectors have pushed it off").changed() {
            view.show_released = false;
        }
    }
}

/// Text beside a drawing.
pub(crate) fn note(painter: &egui::Painter, at: egui::Pos2, align: Align2, words: &str, ink: egui::Color32) {
    painter.text(at, align, words, FontId::proportional(11.0), ink);
}

/// Place on the screen of a place along x, shared with the plan.
fn screen_x(rect: Rect, camera: &Camera, x_mm: f64) -> f32 {
    camera.to_screen(rect, glam::DVec2::new(x_mm, 0.0)).x
}
