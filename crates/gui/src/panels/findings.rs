//! The findings: a click selects what one speaks of, and shows where; some can be cured by a click.

use egui::{RichText, ScrollArea, Ui};
use keepside_engine::{Finding, Severity};
use keepside_session::{Progress, Session};

use crate::action::Action;
use crate::look::Palette;
use crate::look::icons::{Icon, icon_ui};
use crate::units::Unit;

/// More than this are laid out only where they are scrolled into view.
const LAID_OUT: usize = 60;

/// Height of a finding that has not been in view yet, points.
const HEIGHT_PX: f32 = 78.0;

/// The list.
pub(crate) fn findings_ui(ui: &mut Ui, session: &Session) -> Vec<Action> {
    let mut actions = Vec::new();
    let findings = session.results().findings(session.revision());
    if let Some(words) = session.results().panic() {
        let palette = Palette::of(ui);
        ui.colored_label(
            palette.fault,
            format!("Internal error in the analysis: {words}. Please report this"),
        );
    }
    if findings.is_empty() {
        let done = session.progress() == Progress::Done;
        ui.weak(if done { "No findings" } else { "Nothing found so far" });
        return actions;
    }
    let key = ui.make_persistent_id("finding heights");
    let mut heights: Vec<f32> = ui.data_mut(|data| data.get_temp(key)).unwrap_or_default();
    heights.resize(findings.len(), HEIGHT_PX);
    let all = findings.len() <= LAID_OUT;
    ScrollArea::vertical().id_salt("findings").auto_shrink([false, false]).show_viewport(ui, |ui, seen| {
        let seen = seen.y_range().expand(seen.height());
        let (top, width) = (ui.min_rect().top(), ui.available_width());
        for (index, (finding, fresh)) in findings.into_iter().enumerate() {
            let from = ui.cursor().top() - top;
            let is_seen = seen.intersects(egui::Rangef::new(from, from + heights[index]));
            if !(all || is_seen) {
                ui.allocate_space(egui::vec2(width, heights[index]));
                continue;
            }
            let shown = ui.push_id((finding.rule, index), |ui| {
                actions.extend(finding_ui(ui, session, finding, fresh));
            });
            heights[index] = shown.response.rect.height();
        }
    });
    ui.data_mut(|data| data.insert_temp(key, heights));
    actions
}

fn finding_ui(ui: &mut Ui, session: &Session, finding: &Finding, fresh: bool) -> Vec<Action> {
    let mut actions = Vec::new();
    let palette = Palette::of(ui);
    let unit = Unit::of(ui);
    let ink = if fresh { palette.ink } else { palette.ink_soft };
    let here = !finding.items.is_empty() && finding.items.iter().all(|id| session.selection().contains(id));
    let frame = egui::Frame::new()
        .fill(if here { palette.accent_soft } else { palette.field })
        .inner_margin(6.0)
        .corner_radius(3.0);
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.horizontal_top(|ui| {
            icon_ui(ui, Icon::Alarm(finding.severity), palette.severity(finding.severity));
            ui.vertical(|ui| {
                let told =
                    |words: &str| unit.in_words(words, session.document(), finding.items.iter().copied());
                let words = crate::elevation::sentence(&told(&finding.message));
                let message = egui::Label::new(RichText::new(words).color(ink)).sense(egui::Sense::click());
                let response = ui
                    .add(message)
                    .on_hover_cursor(egui::CursorIcon::PointingHand)
                    .on_hover_text(severity_word(finding.severity));
                if response.clicked() {
                    actions.push(Action::Show(finding.items.clone(), finding.at));
                }
                if let (Some(measured), Some(needed)) = (finding.measured, finding.needed) {
                    let value = |value: f64| format!("{value:.2} {}", finding.unit);
                    let value =
                        |number: f64| if finding.unit == "mm" { unit.length(number) } else { value(number) };
                    ui.weak(format!("is {}, limit {}", value(measured), value(needed)));
                }
                if !finding.cure.is_empty() {
                    ui.horizontal_wrapped(|ui| {
                        ui.label(RichText::new(told(&finding.cure)).color(palette.ink_soft));
                        if let Some(edit) = &finding.cure_edit
                            && ui.add_enabled(fresh, egui::Button::new("Do it")).clicked()
                        {
                            actions.push(Action::Edit(edit.clone()));
                        }
                    });
                }
            });
        });
    });
    actions
}

const fn severity_word(severity: Severity) -> &'static str {
    match severity {
        Severity::Fault => "fault: click to show where",
        Severity::Warning => "warning: click to show where",
        Severity::Note => "note: click to show where",
    }
}
