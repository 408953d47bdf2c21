//! How often a shot ends well, as far as it is known.

use egui::{ComboBox, DragValue, RichText, Ui};
use keepside_engine::chances::{Chances, Driver, Share, ShotEnd};
use keepside_session::Session;

use super::bars::{bar_ui, scale_ui};
use super::spreads::spreads_ui;
use super::{Chancing, Named, SETS, SHOTS_EACH, Subject, heading_ui, of_100, progress_ui, sentence_ui};
use crate::action::Action;
use crate::elevation::sentence;
use crate::look::Palette;
use crate::units::Unit;
use crate::view::ViewState;

/// Inputs that are told, at most.
const TOLD: usize = 6;

/// An input that explains less than this is not told: chance alone makes as much.
const WORTH_TELLING: f64 = 0.005;

/// The page.
pub(super) fn chances_ui(
    ui: &mut Ui,
    session: &Session,
    study: &Chancing,
    view: &mut ViewState,
) -> Vec<Action> {
    let mut actions = Vec::new();
    let known = study.known();
    match known {
        Some((Ok(chances), project, is_fresh)) => {
            let is_running = study.is_running();
            answer_ui(ui, &chances.good, is_fresh);
            actions.extend(progress_ui(ui, session, study, Subject::Chances));
            ui.scope(|ui| {
                if !is_fresh {
                    ui.set_opacity(0.55);
                }
                told_ui(ui, project, chances, is_running);
            });
        }
        Some((Err(why), _, true)) => {
            sentence_ui(ui, sentence(&why.to_string()));
        }
        _ => {
            let words = "Shoots this layout many times over, with what scatters from shot to shot and with what \
                         nobody knows yet, and counts how the shots end";
            sentence_ui(ui, RichText::new(words).weak());
            actions.extend(progress_ui(ui, session, study, Subject::Chances));
        }
    }
    heading_ui(ui, "How it is counted");
    settings_ui(ui, view);
    ui.add_space(4.0);
    egui::CollapsingHeader::new("How uncertain the inputs are")
        .default_open(false)
        .show(ui, |ui| actions.extend(spreads_ui(ui, session.document())));
    actions
}

/// The share, large, with what it may be.
fn answer_ui(ui: &mut Ui, good: &Share, is_fresh: bool) {
    let palette = Palette::of(ui);
    let ink = match good.share {
        _ if !is_fresh => palette.ink_soft,
        share if share >= 0.95 => palette.good,
        share if share >= 0.7 => palette.warning,
        _ => palette.fault,
    };
    let words = format!("{} of 100 shots end well", of_100(good.share));
    sentence_ui(ui, RichText::new(words).size(18.0).strong().color(ink));
    let (low, high) = good.by_ignorance.unwrap_or(good.counted);
    let words = format!("between {} and {}", of_100(low), of_100(high));
    ui.label(RichText::new(words).size(14.0).color(ink));
    if !is_fresh {
        ui.weak("of the layout as it was before");
    }
    scale_ui(ui, good.share, good.counted, good.by_ignorance, ink);
    if good.by_ignorance.is_some() {
        let words = "Where in the wide band depends on what is not known yet of this mould; four chances in five \
                     that it lies there";
        sentence_ui(ui, words);
    }
    let (low, high) = good.counted;
    let words = format!(
        "Counted between {} and {} by the shots computed so far (95 % sure); more shots narrow this",
        of_100(low),
        of_100(high)
    );
    sentence_ui(ui, RichText::new(words).weak());
}

/// Everything but the share.
fn told_ui(ui: &mut Ui, project: Named<'_>, chances: &Chances, is_running: bool) {
    if let Some(ignorance) = chances.good.ignorance.filter(|_| (0.0..1.0).contains(&chances.good.share)) {
        heading_ui(ui, "Where the difference between good and bad shots comes from");
        let palette = Palette::of(ui);
        for (words, share, ink) in [
            ("not known yet; trial shots can tell", ignorance, palette.accent),
            ("scatter from shot to shot; it stays", 1.0 - ignorance, palette.bridging),
        ] {
            ui.label(format!("{} of 100: {words}", of_100(share)));
            bar_ui(ui, share, ink);
        }
    }
    heading_ui(ui, "How the shots end");
    ends_ui(ui, chances);
    more_ui(ui, project, chances);
    heading_ui(ui, "What decides");
    let drivers: Vec<&Driver> =
        chances.drivers.iter().filter(|driver| driver.share >= WORTH_TELLING).take(TOLD).collect();
    if drivers.is_empty() {
        let words = match (chances.good.share, is_running) {
            (_, true) => "More shots are needed to tell",
            (0.0, _) | (1.0, _) => "Nothing: all shots end alike in this",
            _ => "No single input; they do it together",
        };
        ui.weak(words);
    }
    for driver in drivers {
        driver_ui(ui, project, driver);
    }
}

/// The ways in which shots end, as bars.
fn ends_ui(ui: &mut Ui, chances: &Chances) {
    let palette = Palette::of(ui);
    for end in &chances.ends {
        let ink = match end.end {
            ShotEnd::Good => palette.good,
            ShotEnd::Bump | ShotEnd::BrokenPlug => palette.moving,
            ShotEnd::Fixed => palette.fixed,
            ShotEnd::Free => palette.free,
            ShotEnd::Split | ShotEnd::Jam => palette.bridging,
            ShotEnd::NotComputed => palette.ink_soft,
        };
        ui.label(format!("{}: {} of 100", sentence(end.end.word()), of_100(end.share)));
        bar_ui(ui, end.share, ink);
    }
}

/// Broken sprues, bumps and flatness.
fn more_ui(ui: &mut Ui, project: Named<'_>, chances: &Chances) {
    let unit = Unit::of(ui);
    if chances.sprue_breaks > 0.0 {
        let words = format!(
            "A sprue breaks off in {} of 100 shots; the next shot pushes it out",
            of_100(chances.sprue_breaks)
        );
        sentence_ui(ui, words);
    }
    let is_kept = chances.ends.iter().any(|end| matches!(end.end, ShotEnd::Good | ShotEnd::Bump));
    if is_kept && !project.sprues.is_empty() {
        let words = format!(
            "Tallest bump at a gate: {} in one shot of two, {} at most in nine of ten; the limit is {}",
            unit.length(chances.bump.median_mm),
            unit.length(chances.bump.nine_in_ten_mm),
            unit.short(project.limits.bump_mm)
        );
        sentence_ui(ui, words);
        let words = format!(
            "Out of flat by {} in one shot of two, {} at most in nine of ten",
            unit.length(chances.flatness.median_mm),
            unit.length(chances.flatness.nine_in_ten_mm)
        );
        sentence_ui(ui, words);
    }
}

/// An input and what it does.
fn driver_ui(ui: &mut Ui, project: Named<'_>, driver: &Driver) {
    let palette = Palette::of(ui);
    let why = if driver.is_scatter { "scatters from shot to shot" } else { "is not known yet" };
    sentence_ui(ui, format!("{} {why}", sentence(&driver.input.words(project))));
    bar_ui(ui, driver.share, if driver.is_scatter { palette.bridging } else { palette.accent });
    let (low, high) = driver.low_high;
    let words = format!(
        "explains {} of 100; where it is low {} of 100 shots end well, where it is high {}",
        of_100(driver.share),
        of_100(low),
        of_100(high)
    );
    sentence_ui(ui, RichText::new(words).weak());
}

/// Seed and number of shots.
fn settings_ui(ui: &mut Ui, view: &mut ViewState) {
    ui.horizontal_wrapped(|ui| {
        let label = ui.label("Shots");
        let words = |sets: usize| format!("{}", sets * SHOTS_EACH);
        ComboBox::from_id_salt("number of shots")
            .selected_text(words(view.shots.sets))
            .width(70.0)
            .show_ui(ui, |ui| {
                for sets in SETS {
                    ui.selectable_value(&mut view.shots.sets, sets, words(sets));
                }
            })
            .response
            .labelled_by(label.id);
        let label = ui.label("Seed");
        let hint = "Names the numbers drawn by chance: the same seed gives the same answer";
        let seed = DragValue::new(&mut view.shots.seed).speed(0.05).range(1..=999_999);
        ui.add(seed).labelled_by(label.id).on_hover_text(hint);
    });
}
