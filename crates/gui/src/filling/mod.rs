//! The filling of the mould in the strip under the plan: the time since the shot began, and the pressure along
//! a run.

mod pressure;
pub(crate) mod time;
pub(crate) mod words;

use egui::{Sense, Ui};
use keepside_engine::{Filling, NotFilled};
use keepside_model::Id;
use keepside_session::Session;

use crate::action::{Action, Command};
use crate::look::icons::{Icon, IconButton};
use crate::units::typed_number;
use crate::view::ViewState;

/// Narrower than this the controls take two rows, points.
const ONE_ROW_PX: f32 = 830.0;

/// Narrower than this what the strip shows has a row of its own, points.
const SLIDER_ROW_PX: f32 = 600.0;

/// Width of a time with its unit beside the slider, points.
const NUMBER_PX: f32 = 95.0;

/// The filling of the newest layout, or why there is none; `None` until the first layout is computed.
pub(crate) fn of(session: &Session) -> Option<Result<&Filling, &NotFilled>> {
    session.results().layout().map(|layout| layout.filling.as_ref())
}

/// The time shown, s.
pub(crate) fn time_s(filling: &Filling, view: &ViewState) -> f64 {
    view.fill_share.clamp(0.0, 1.0) * filling.fill_time_s
}

/// The rows of controls. `tabs_ui` chooses what the strip shows.
pub(crate) fn controls_ui(
    ui: &mut Ui,
    session: &Session,
    view: &mut ViewState,
    tabs_ui: impl FnOnce(&mut Ui, &mut ViewState),
) -> Vec<Action> {
    let mut actions = Vec::new();
    let filling = of(session).and_then(Result::ok);
    let room = ui.available_width();
    if room < SLIDER_ROW_PX {
        ui.horizontal(|ui| tabs_ui(ui, view));
        ui.horizontal(|ui| {
            play_ui(ui, filling.is_some(), view, &mut actions);
            slider_ui(ui, filling, view);
        });
    } else {
        ui.horizontal(|ui| {
            tabs_ui(ui, view);
            play_ui(ui, filling.is_some(), view, &mut actions);
            slider_ui(ui, filling, view);
            if room >= ONE_ROW_PX {
                rest_ui(ui, session, filling, view);
            }
        });
    }
    if room < ONE_ROW_PX {
        ui.horizontal_wrapped(|ui| rest_ui(ui, session, filling, view));
    }
    actions
}

/// The pressure along a run, in what is left of the strip.
pub(crate) fn filling_ui(ui: &mut Ui, session: &Session, view: &mut ViewState, room: egui::Rect) {
    match of(session) {
        Some(Ok(filling)) => pressure::pressure_ui(ui, session, filling, view, room),
        Some(Err(reason)) => {
            crate::elevation::centred(ui, room, &crate::elevation::sentence(&reason.to_string()));
        }
        None => crate::elevation::centred(ui, room, "Computing…"),
    }
    ui.allocate_rect(room, Sense::hover());
}

fn play_ui(ui: &mut Ui, computed: bool, view: &ViewState, actions: &mut Vec<Action>) {
    let playing = view.playing_s.is_some();
    let (icon, name) = if playing { (Icon::Pause, "Pause") } else { (Icon::Play, "Play filling") };
    let button = IconButton { icon, name, with_text: false, selected: playing, enabled: computed };
    if button.show(ui, "Fills the mould slowly (P)").clicked() {
        actions.push(Action::Command(Command::PlayOpening));
    }
    for (icon, name, keys, forward) in [
        (Icon::StepBack, "Step back", "Some time earlier (,); with Shift the event before", false),
        (Icon::StepOn, "Step on", "Some time later (.); with Shift the next event", true),
    ] {
        let button = IconButton { icon, name, with_text: false, selected: false, enabled: computed };
        if button.show(ui, keys).clicked() {
            let release = ui.input(|input| input.modifiers.shift);
            actions.push(Action::Command(Command::StepOpening { forward, release }));
        }
    }
}

/// The time as a slider and a number.
fn slider_ui(ui: &mut Ui, filling: Option<&Filling>, view: &mut ViewState) {
    let label = ui.label("Time");
    let room = ui.available_width() - NUMBER_PX;
    let usual = ui.spacing().slider_width;
    ui.spacing_mut().slider_width = usual.min(room).max(40.0);
    let whole_s = filling.map_or(0.0, |filling| filling.fill_time_s);
    let mut shown_s = view.fill_share * whole_s;
    let slider = egui::Slider::new(&mut shown_s, 0.0..=whole_s.max(1e-6))
        .custom_formatter(|time_s, _| words::seconds_number(time_s))
        .custom_parser(|text| typed_number(text, "s"))
        .suffix(" s");
    let response = ui.add_enabled(filling.is_some(), slider).labelled_by(label.id);
    if response.changed() && whole_s > 0.0 {
        view.fill_share = (shown_s / whole_s).clamp(0.0, 1.0);
        view.playing_s = None;
    }
}

/// Whether the plan shows it, and the run whose pressure is shown.
fn rest_ui(ui: &mut Ui, session: &Session, filling: Option<&Filling>, view: &mut ViewState) {
    ui.checkbox(&mut view.show_filling, "On the plan")
        .on_hover_text("Shows the fronts on the plan instead of who keeps what");
    if let Some(filling) = filling.filter(|filling| filling.runs.len() > 1) {
        chooser_ui(ui, session, filling, view);
    }
}

/// A list of the runs.
fn chooser_ui(ui: &mut Ui, session: &Session, filling: &Filling, view: &mut ViewState) {
    let Some(now) = pressure::shown(session, filling, view) else { return };
    let project = session.document();
    let label = ui.label("Run");
    let mut chosen: Id = now.run;
    egui::ComboBox::from_id_salt("run of the pressures")
        .selected_text(project.tag(now.run))
        .width(70.0)
        .show_ui(ui, |ui| {
            for fill in &filling.runs {
                ui.selectable_value(&mut chosen, fill.run, project.title(fill.run));
            }
        })
        .response
        .labelled_by(label.id);
    if chosen != now.run {
        view.elevation_run = Some(chosen);
    }
}
