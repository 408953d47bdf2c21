//! The verdict in plain words: always in sight.

use egui::{Align, Layout, RichText, Ui};
use keepside_engine::Severity;
use keepside_engine::opening::{Margin, Outcome};
use keepside_session::{Progress, Session};

use super::strip;
use crate::action::{Action, Command};
use crate::elevation::sentence;
use crate::look::Palette;
use crate::look::icons::{Icon, icon_ui};
use crate::units::Unit;

/// The line under the menu. One line always, as the plan below must not move under the pointer while a
/// verdict comes in. Computing and its end stand at the right, where they are never pushed out.
pub(crate) fn verdict_ui(ui: &mut Ui, session: &Session) -> Option<Action> {
    let mut command = None;
    ui.horizontal(|ui| {
        ui.set_min_height(26.0);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            command = progress_ui(ui, session);
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| answer_ui(ui, session));
        });
    });
    command.map(Action::Command)
}

/// How far the computing is, and what can be done about it.
fn progress_ui(ui: &mut Ui, session: &Session) -> Option<Command> {
    let has_stripping = session.results().stripping().is_some();
    let words = match session.progress() {
        Progress::ComputingOpening => "computing…",
        Progress::Settling => "computing the full answer…",
        Progress::ComputingMargin if has_stripping => "computing the margin…",
        Progress::ComputingMargin => "computing stripping and margin…",
        Progress::Stopped => "Stopped: not computed for this layout",
        Progress::StoppedMargin if has_stripping => "Stopped: the margin is not computed",
        Progress::StoppedMargin => "Stopped: stripping and margin are not computed",
        Progress::Done | Progress::Failed => return None,
    };
    let (name, hint, command) = if session.progress().is_computing() {
        ("Stop", "Stop computing (Esc, when nothing is selected)", Command::StopComputing)
    } else {
        ("Compute", "Compute this layout; the next change does it as well", Command::Compute)
    };
    let is_clicked = ui.button(name).on_hover_text(hint).clicked();
    let palette = Palette::of(ui);
    let ink = if session.progress().is_computing() { palette.ink_soft } else { palette.warning };
    ui.label(RichText::new(words).color(ink));
    is_clicked.then_some(command)
}

/// What the newest opening run says, greyed while it does not stand.
fn answer_ui(ui: &mut Ui, session: &Session) {
    let palette = Palette::of(ui);
    let progress = session.progress();
    let quick = match progress {
        Progress::Settling => Some("Settling"),
        Progress::Stopped if session.results().is_quick() => Some("Quick answer"),
        _ => None,
    };
    let stale = !progress.has_verdict();
    let project = session.document();
    let unit = Unit::of(ui);
    let told = |words: &str| unit.in_words(words, project, project.ids());
    match (progress, session.results().opening()) {
        (Progress::Failed, _) => {
            icon_ui(ui, Icon::Alarm(Severity::Fault), palette.fault);
            let words = session.results().panic().unwrap_or("no message");
            let words = format!("Internal error in the analysis: {words}. Please report this");
            detail_ui(ui, RichText::new(words).color(palette.fault));
        }
        (Progress::Stopped, None) => icon_ui(ui, Icon::Alarm(Severity::Note), palette.ink_soft),
        (_, None) => icon_ui(ui, Icon::Computing, palette.ink_soft),
        (_, Some(Err(reason))) => {
            let (ink, icon) = (palette.warning, Icon::Alarm(Severity::Warning));
            icon_ui(ui, icon, if stale { palette.ink_soft } else { ink });
            let words = RichText::new(sentence(&told(&reason.to_string()))).size(15.0);
            detail_ui(ui, if stale { words.color(palette.ink_soft) } else { words });
        }
        (_, Some(Ok(opening))) => {
            let good = opening.verdict.outcome == Outcome::StaysOnMoving;
            let stripping = session.results().stripping().filter(|_| good);
            let stripping = match stripping {
                Some(stripping) => strip::in_short(stripping.outcome),
                None if good && progress == Progress::Done => {
                    Some((Severity::Warning, "but stripping could not be computed"))
                }
                None => None,
            };
            let harmed = matches!(stripping, Some((Severity::Fault, _)));
            let (icon, ink) = match (quick, good && !harmed) {
                (Some(_), _) => (Icon::Computing, palette.ink_soft),
                (_, true) => (Icon::Good, palette.good),
                (_, false) => (Icon::Alarm(Severity::Fault), palette.fault),
            };
            icon_ui(ui, icon, if stale { palette.ink_soft } else { ink });
            let words = headline(quick, &told(&opening.verdict.words));
            let ink = match (stale, good) {
                (true, _) => palette.ink_soft,
                (_, true) => palette.good,
                (_, false) => palette.fault,
            };
            detail_ui(ui, RichText::new(words).size(15.0).strong().color(ink));
            if let Some((severity, words)) = stripping {
                let ink = if stale { palette.ink_soft } else { palette.severity(severity) };
                detail_ui(ui, RichText::new(words).size(15.0).strong().color(ink));
            }
            if good {
                drawing_faults_ui(ui, session, palette, stripping.is_some());
            }
            let ink = if stale { palette.ink_soft } else { palette.ink };
            if let Some(name) = session.results().deciding() {
                let words = format!("decided by {}", name.words(session.document()));
                detail_ui(ui, RichText::new(words).color(ink));
            }
            if let Some(margin) = session.results().margin() {
                let words = format!("· {}", margin_words(margin, good));
                detail_ui(ui, RichText::new(words).color(ink));
            }
        }
    }
}

/// What is cut short where the window is narrow; the pointer over it shows it whole.
fn detail_ui(ui: &mut Ui, words: RichText) {
    ui.add(egui::Label::new(words).truncate());
}

/// The verdict as it is shown: what a quick run says is not the last word.
fn headline(quick: Option<&str>, words: &str) -> String {
    quick.map_or_else(|| sentence(words), |quick| format!("{quick}: {words}"))
}

/// A layout that stays where it should may still be one that cannot be made.
fn drawing_faults_ui(ui: &mut Ui, session: &Session, palette: &Palette, another: bool) {
    let findings = session.results().findings(session.revision());
    let faults = findings.iter().filter(|(finding, _)| finding.severity == Severity::Fault).count();
    if faults > 0 {
        icon_ui(ui, Icon::Alarm(Severity::Fault), palette.fault);
        let word = if another { "with" } else { "but" };
        let count = if faults == 1 { "1 fault".to_owned() } else { format!("{faults} faults") };
        detail_ui(ui, RichText::new(format!("{word} {count} below")).color(palette.fault));
    }
}

/// The margin in words.
fn margin_words(margin: &Margin, good: bool) -> String {
    let (low, high) = margin.searched;
    match (margin.factor, good) {
        // A factor that would read as 1.00 tells nothing.
        (Some(factor), _) if (factor - 1.0).abs() < 0.005 => "both halves hold about alike".to_owned(),
        (Some(factor), true) => {
            format!("margin {factor:.2}: it flips if the fixed half holds {factor:.2} times as hard")
        }
        (Some(factor), false) => {
            format!("it would flip if the fixed half held only {factor:.2} times as hard")
        }
        (None, _) => {
            format!("it does not flip while the fixed half holds from {low} to {high} times as hard")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::headline;

    #[test]
    fn a_quick_verdict_is_never_shown_as_the_last_word() {
        let words = "the part stays whole on the moving half";
        assert_eq!(headline(Some("Settling"), words), "Settling: the part stays whole on the moving half");
        assert_eq!(headline(None, words), "The part stays whole on the moving half");
    }
}
