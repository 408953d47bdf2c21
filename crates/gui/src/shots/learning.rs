//! What the trial log teaches: inputs before and after, past trials beside what was expected of them, and
//! what to shoot next.

use egui::{RichText, Ui};
use keepside_engine::NotComputed;
use keepside_engine::learning::{Advice, Belief, Learned, Replay};
use keepside_model::{Calibration, Project, Trial};
use keepside_session::Session;
use keepside_store::Experience;

use super::bars::{intervals_ui, scale_ui};
use super::{Learning, Subject, heading_ui, of_100, progress_ui, sentence_ui};
use crate::action::{Action, Command};
use crate::elevation::sentence;
use crate::look::Palette;

/// An input that grew narrower by less than this has not been learned about.
const WORTH_TELLING: f64 = 0.02;

/// The page.
pub(super) fn learning_ui(
    ui: &mut Ui,
    session: &Session,
    study: &Learning,
    kept: &[Experience],
) -> Vec<Action> {
    let mut actions = Vec::new();
    let project = session.document();
    if !has_lesson(project) {
        let words = if project.trials.is_empty() {
            "Nothing to learn from yet: note trial shots in the log first"
        } else {
            "Every trial of the log is in the assumed values already; nothing new to learn from"
        };
        sentence_ui(ui, RichText::new(words).weak());
    } else {
        actions.extend(progress_ui(ui, session, study, Subject::Learning));
        match study.known() {
            Some((Ok((learned, advice)), of, is_fresh)) => {
                ui.scope(|ui| {
                    if !is_fresh {
                        ui.set_opacity(0.55);
                    }
                    learned_ui(ui, of, learned);
                });
                actions.extend(keep_ui(ui, project, learned, is_fresh));
                actions.extend(advice_ui(ui, of, advice.as_deref(), is_fresh));
            }
            Some((Err(why), _, true)) if *why != NotComputed::Cancelled => {
                sentence_ui(ui, sentence(&why.to_string()));
            }
            _ => {}
        }
    }
    actions.extend(kept_ui(ui, project, kept));
    actions
}

/// Whether the log has a trial that has not been taken in yet.
pub(super) fn has_lesson(project: &Project) -> bool {
    project.trials.iter().any(|trial| !trial.is_taken_in)
}

/// Chances, inputs and replays.
fn learned_ui(ui: &mut Ui, project: &Project, learned: &Learned) {
    let palette = Palette::of(ui);
    let (before, after) = &learned.chances;
    for (when, chances, ink) in [("Before", before, palette.ink_soft), ("After", after, palette.accent)] {
        let words = format!("{when}: {} of 100 shots end well", of_100(chances.good.share));
        ui.label(RichText::new(words).strong().color(ink));
        scale_ui(ui, chances.good.share, chances.good.counted, chances.good.by_ignorance, ink);
    }
    if learned.evidence < 0.99 {
        let words = format!(
            "The log says more than so few shots computed can bear: {} of 100 of it is used. More shots under \
             Chances would teach more",
            of_100(learned.evidence)
        );
        sentence_ui(ui, RichText::new(words).color(palette.warning));
    }
    heading_ui(ui, "Inputs, before and after");
    let mut beliefs: Vec<&Belief> = learned.beliefs.iter().collect();
    beliefs.sort_by(|a, b| b.learned.total_cmp(&a.learned));
    for belief in beliefs {
        belief_ui(ui, project, belief);
    }
    heading_ui(ui, "Past trials, and what was expected of them");
    for (trial, replay) in project.trials.iter().zip(&learned.replays) {
        match replay {
            Ok(replay) => replay_ui(ui, trial, replay),
            Err(why) => {
                let words = format!("{}: not counted; {}", name_of(trial), why.words());
                sentence_ui(ui, RichText::new(words).weak());
            }
        }
    }
}

/// An input with its ranges, as two bars on one line and in numbers.
fn belief_ui(ui: &mut Ui, project: &Project, belief: &Belief) {
    let unit = if belief.unit.is_empty() { String::new() } else { format!(" {}", belief.unit) };
    let told = |believed: &keepside_engine::learning::Believed| {
        let (low, high) = believed.range;
        format!("{} ({} to {}){unit}", digits(believed.median), digits(low), digits(high))
    };
    sentence_ui(ui, sentence(&belief.input.words(project)));
    let (before, after) = (&belief.before, &belief.after);
    intervals_ui(ui, (before.range, before.median), (after.range, after.median));
    let what = if belief.learned < WORTH_TELLING { "nothing learned: " } else { "" };
    let words = format!("{what}{} before, {} after", told(before), told(after));
    sentence_ui(ui, RichText::new(words).weak());
}

/// A number to two digits.
fn digits(number: f64) -> String {
    if !number.is_finite() || number == 0.0 {
        return "0".to_owned();
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 6")]
    let decimals = (1.0 - number.abs().log10().floor()).clamp(0.0, 6.0) as usize;
    format!("{number:.decimals$}")
}

fn name_of(trial: &Trial) -> &str {
    if trial.name.trim().is_empty() { "Trial without a name" } else { trial.name.trim() }
}

/// A trial beside what the trials before it had made one expect.
fn replay_ui(ui: &mut Ui, trial: &Trial, replay: &Replay) {
    let palette = Palette::of(ui);
    let seen = trial.ended.map_or("ending not noted", keepside_model::Ended::word);
    let (sign, ink) = match replay.was_wrong {
        Some(true) => ("✗ ", palette.fault),
        Some(false) => ("✓ ", palette.good),
        None => ("", palette.ink),
    };
    let shots = if trial.shots == 1 { String::new() } else { format!(", {} shots", trial.shots) };
    let expected = replay.expected().map(|ended| (ended, replay.then.get(&ended).copied().unwrap_or(0.0)));
    let expected = expected.map_or(String::new(), |(ended, share)| {
        let verb = if replay.was_wrong == Some(true) { "but expected" } else { "expected" };
        format!("; {verb} {} in {} of 100", ended.word(), of_100(share))
    });
    let words = format!("{sign}{}{shots}: saw {seen}{expected}", name_of(trial));
    sentence_ui(ui, RichText::new(words).color(ink));
    let [before, then, after] = replay.as_seen.map(of_100);
    let words = format!(
        "Chance of just what was seen, of 100: {before} before any trial, {then} by the trials before this one, \
         {after} by all"
    );
    sentence_ui(ui, RichText::new(words).weak());
}

/// What can be done with it.
fn keep_ui(ui: &mut Ui, project: &Project, learned: &Learned, is_fresh: bool) -> Vec<Action> {
    let mut actions = Vec::new();
    ui.add_space(6.0);
    ui.horizontal_wrapped(|ui| {
        let hint = "The assumed values and their spreads become those learned, and the trials are marked as \
                    taken in; one undo step";
        let take = ui.add_enabled(is_fresh, egui::Button::new("Use what was learned"));
        if take.on_hover_text(hint).clicked() {
            actions.push(Action::Edit(learned.edit(project)));
        }
        let hint = "Keeps it for other projects with this press and this material";
        let keep = ui.add_enabled(is_fresh, egui::Button::new("Keep as this press, this material"));
        if keep.on_hover_text(hint).clicked() {
            actions.push(Action::Command(Command::KeepLearned(Box::new(learned.calibration.clone()))));
        }
    });
    actions
}

/// What is kept for all projects.
fn kept_ui(ui: &mut Ui, project: &Project, kept: &[Experience]) -> Vec<Action> {
    let mut actions = Vec::new();
    if kept.is_empty() {
        return actions;
    }
    heading_ui(ui, "Kept from other work");
    for Experience { name, learned } in kept {
        sentence_ui(ui, format!("{name}: {} shots", learned.shots));
        if !learned.fits(project) {
            let words = "Of another press or material than this project's; its material comes along";
            sentence_ui(ui, RichText::new(words).color(Palette::of(ui).warning));
        }
        ui.horizontal(|ui| {
            let is_same = Calibration { shots: learned.shots, ..Calibration::of(project) } == *learned;
            let take = ui.add_enabled(!is_same, egui::Button::new("Use here").small());
            take.widget_info(|| {
                egui::WidgetInfo::labeled(egui::Role::Button, !is_same, format!("Use {name} here"))
            });
            let hint = "Its values take the place of the assumed ones; one undo step";
            if take.on_hover_text(hint).clicked() {
                actions.push(Action::Edit(learned.edit(project, |_| false)));
            }
            let forget = ui.small_button("Forget").on_hover_text("No longer kept for all projects");
            forget.widget_info(|| {
                egui::WidgetInfo::labeled(egui::Role::Button, true, format!("Forget {name}"))
            });
            if forget.clicked() {
                actions.push(Action::Command(Command::ForgetLearned(name.clone())));
            }
        });
    }
    actions
}

/// A trial that would tell less than this is told as 0 of 100.
const NOTHING_BITS: f64 = 0.005;

/// What to shoot next.
fn advice_ui(ui: &mut Ui, project: &Project, advice: Option<&[Advice]>, is_fresh: bool) -> Vec<Action> {
    let mut actions = Vec::new();
    heading_ui(ui, "What to shoot next");
    let Some(advice) = advice else {
        ui.weak("Being weighed…");
        return actions;
    };
    let palette = Palette::of(ui);
    if !advice.is_empty() && advice.iter().all(|next| next.bits < NOTHING_BITS) {
        sentence_ui(ui, RichText::new("What would come of these is sure already: none would teach anything"));
    }
    for (place, next) in advice.iter().enumerate() {
        let words = format!("{}. {}", place + 1, sentence(&next.trial.words(project)));
        sentence_ui(ui, RichText::new(words).strong());
        super::bars::bar_ui(ui, next.bits, palette.accent);
        let (end, share) = next.likeliest;
        let words = format!(
            "would tell {} of 100 of what a plain yes or no tells; ends well in {} of 100, likeliest: {} ({})",
            of_100(next.bits.min(1.0)),
            of_100(next.good),
            end.word(),
            of_100(share)
        );
        sentence_ui(ui, RichText::new(words).weak());
        if let Some(edit) = next.trial.edit() {
            let button = ui.add_enabled(is_fresh, egui::Button::new("Change the layout so").small());
            if button.clicked() {
                actions.push(Action::Edit(edit));
            }
        }
    }
    actions
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_two_digits() {
        let told = [0.081_23, 0.001_666, 1.26, 14.4, 223.0, 0.0].map(digits);
        assert_eq!(told, ["0.081", "0.0017", "1.3", "14", "223", "0"]);
    }
}
