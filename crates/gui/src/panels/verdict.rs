//! The verdict in plain words: always in sight.

use egui::{RichText, Ui};
use keepside_engine::Severity;
use keepside_engine::opening::{Margin, Outcome};
use keepside_session::{Progress, Session};

use super::strip;
use crate::elevation::sentence;
use crate::look::Palette;
use crate::look::icons::{Icon, icon_ui};

/// The line under the menu.
pub(crate) fn verdict_ui(ui: &mut Ui, session: &Session) {
    let palette = Palette::of(ui);
    let progress = session.progress();
    let settling = progress == Progress::Settling;
    let stale = settling || progress == Progress::ComputingOpening;
    // One line always, as the plan below must not move under the pointer while a verdict comes in.
    ui.horizontal(|ui| {
        ui.set_min_height(26.0);
        match (progress, session.results().opening()) {
            (Progress::Failed, _) => {
                icon_ui(ui, Icon::Alarm(Severity::Fault), palette.fault);
                let words = session.results().panic().unwrap_or("no message");
                ui.colored_label(
                    palette.fault,
                    format!("Internal error in the analysis: {words}. Please report this"),
                );
                return;
            }
            (_, None) => {
                icon_ui(ui, Icon::Computing, palette.ink_soft);
            }
            (_, Some(Err(reason))) => {
                let (ink, icon) = (palette.warning, Icon::Alarm(Severity::Warning));
                icon_ui(ui, icon, if stale { palette.ink_soft } else { ink });
                let words = RichText::new(sentence(&reason.to_string())).size(15.0);
                ui.label(if stale { words.color(palette.ink_soft) } else { words });
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
                let (icon, ink) = match (settling, good && !harmed) {
                    (true, _) => (Icon::Computing, palette.ink_soft),
                    (_, true) => (Icon::Good, palette.good),
                    (_, false) => (Icon::Alarm(Severity::Fault), palette.fault),
                };
                icon_ui(ui, icon, if stale { palette.ink_soft } else { ink });
                let words = headline(settling, &opening.verdict.words);
                let ink = match (stale, good) {
                    (true, _) => palette.ink_soft,
                    (_, true) => palette.good,
                    (_, false) => palette.fault,
                };
                ui.label(RichText::new(words).size(15.0).strong().color(ink));
                if let Some((severity, words)) = stripping {
                    let ink = if stale { palette.ink_soft } else { palette.severity(severity) };
                    ui.label(RichText::new(words).size(15.0).strong().color(ink));
                }
                // Before what is still being computed, so that it keeps its place.
                if good {
                    drawing_faults_ui(ui, session, palette, stripping.is_some());
                }
                let ink = if stale { palette.ink_soft } else { palette.ink };
                if let Some(name) = session.results().deciding() {
                    detail_ui(ui, format!("decided by {}", name.words(session.document())), ink);
                }
                if let Some(margin) = session.results().margin() {
                    detail_ui(ui, format!("· {}", margin_words(margin, good)), ink);
                }
            }
        }
        let words = match progress {
            Progress::ComputingOpening => "computing…",
            Progress::Settling => "computing the full answer…",
            Progress::ComputingMargin if session.results().stripping().is_some() => "computing the margin…",
            Progress::ComputingMargin => "computing stripping and margin…",
            Progress::Done | Progress::Failed => return,
        };
        detail_ui(ui, words.to_owned(), palette.ink_soft);
    });
}

/// What is cut short where the window is narrow; the pointer over it shows it whole.
fn detail_ui(ui: &mut Ui, words: String, ink: egui::Color32) {
    ui.add(egui::Label::new(RichText::new(words).color(ink)).truncate());
}

/// The verdict as it is shown: what a quick run says is not the last word.
fn headline(settling: bool, words: &str) -> String {
    if settling { format!("Settling: {words}") } else { sentence(words) }
}

/// A layout that stays where it should may still be one that cannot be made.
fn drawing_faults_ui(ui: &mut Ui, session: &Session, palette: &Palette, another: bool) {
    let findings = session.results().findings(session.revision());
    let faults = findings.iter().filter(|(finding, _)| finding.severity == Severity::Fault).count();
    if faults > 0 {
        icon_ui(ui, Icon::Alarm(Severity::Fault), palette.fault);
        let word = if another { "with" } else { "but" };
        let count = if faults == 1 { "1 fault".to_owned() } else { format!("{faults} faults") };
        ui.colored_label(palette.fault, format!("{word} {count} below"));
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
        assert_eq!(headline(true, words), "Settling: the part stays whole on the moving half");
        assert_eq!(headline(false, words), "The part stays whole on the moving half");
    }
}
