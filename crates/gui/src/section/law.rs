//! What a hold gives way to: the competing ways as bars, which governs and why, and what only a trial can
//! tell.

use std::sync::Arc;

use egui::{Align2, Color32, FontId, Pos2, Rect, RichText, ScrollArea, Sense, Stroke, Ui, pos2, vec2};
use keepside_engine::hold::{self, HoldLaw, TrialInput, Way};
use keepside_engine::outline::Outline;
use keepside_model::{Id, Project};
use keepside_session::Session;

use crate::elevation::{sentence, to_px};
use crate::look::Palette;

/// Height of a bar and of its row, points.
const BAR_PX: f32 = 12.0;
const ROW_PX: f32 = 21.0;

/// Width kept for the names in front of the bars and for the forces behind them, points.
const NAME_PX: f32 = 70.0;
const FORCE_PX: f32 = 66.0;

/// A force this many times as large as the one that governs is not drawn to its full length.
const LONGEST: f64 = 4.0;

/// The hold law of an item, kept from frame to frame until something changes.
#[derive(Clone, Debug, Default)]
pub(crate) struct Kept {
    /// Revision of the project, that of its layout, and the item.
    of: Option<(u64, Option<u64>, Id)>,
    law: Option<Arc<HoldLaw>>,
}

impl Kept {
    /// The law of an item of the project as it is now.
    pub(super) fn law(&mut self, session: &Session, outline: &Outline, id: Id) -> Option<Arc<HoldLaw>> {
        let of = Some((session.revision(), session.results().layout_revision(), id));
        if self.of != of {
            self.of = of;
            self.law = hold::law_at(session.document(), outline, id).map(Arc::new);
        }
        self.law.clone()
    }
}

/// The hold law of what the section shows.
pub(super) fn law_ui(ui: &mut Ui, project: &Project, law: Option<&HoldLaw>) {
    let frame = egui::Frame::new().inner_margin(egui::Margin { left: 10, right: 14, top: 6, bottom: 4 });
    frame.show(ui, |ui| {
        ScrollArea::vertical().id_salt("hold law").auto_shrink([false, false]).show(ui, |ui| match law {
            Some(law) => all_ui(ui, project, law),
            None => {
                ui.weak("It keys nothing here: a plain face, or out of the channel");
            }
        });
    });
}

fn all_ui(ui: &mut Ui, project: &Project, law: &HoldLaw) {
    let palette = Palette::of(ui);
    ui.label(RichText::new("What it gives way to").strong());
    let why = law.why.trim_end_matches('.');
    ui.add(egui::Label::new(sentence(why)).wrap());
    if law.is_measured {
        ui.colored_label(palette.warning, "A measured curve counts instead of these numbers");
    }
    ui.add_space(2.0);
    let scale = Scale::of(law, ui.available_width());
    for (index, way) in law.ways.iter().enumerate() {
        let governs = law.governing == Some(index);
        let range_n = if governs { widest_range(&law.trials) } else { None };
        way_ui(ui, palette, palette.half(law.half), &scale, way, (governs, range_n));
    }
    strain_ui(ui, palette, law);
    if let Some(plug) = &law.plug {
        let ink = if plug.may_be_lost() { palette.fault } else { palette.ink };
        let words = format!(
            "Plug in the socket: drags {:.1} N of the {:.1} N at which it tears",
            plug.drag_n, plug.strength_n
        );
        ui.add(egui::Label::new(RichText::new(words).color(ink)).wrap());
        ui.add(egui::Label::new(RichText::new(plug.fatigue.trim_end_matches('.')).weak()).wrap());
    }
    if !law.trials.is_empty() {
        ui.add_space(4.0);
        ui.label(RichText::new("Only a trial can tell").strong());
        for trial in &law.trials {
            trial_ui(ui, palette, &scale, trial);
        }
    }
    ui.add_space(2.0);
    ui.collapsing("Numbers behind the forces", |ui| numbers_ui(ui, project, law));
}

/// Forces as lengths.
struct Scale {
    most_n: f64,
    px_per_n: f64,
}

impl Scale {
    fn of(law: &HoldLaw, width: f32) -> Self {
        let governing_n = law.governing.and_then(|index| law.ways.get(index)).map_or(0.0, |way| way.force_n);
        let finite = law.ways.iter().map(|way| way.force_n).filter(|force_n| force_n.is_finite());
        let ranges = law.trials.iter().map(|trial| trial.pull_n.0.max(trial.pull_n.1));
        let largest_n = finite.chain(ranges).fold(1e-3, f64::max);
        let most_n = if governing_n > 0.0 { largest_n.min(LONGEST * governing_n) } else { largest_n };
        let room = f64::from((width - NAME_PX - FORCE_PX).max(40.0));
        Self { most_n, px_per_n: room / most_n }
    }

    fn px(&self, force_n: f64) -> f32 {
        to_px(force_n.min(self.most_n) * self.px_per_n)
    }
}

/// One way: its bar, open at the end where it is longer than there is room for.
fn way_ui(
    ui: &mut Ui,
    palette: &Palette,
    ink: Color32,
    scale: &Scale,
    way: &Way,
    (governs, range_n): (bool, Option<(f64, f64)>),
) {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW_PX), Sense::hover());
    let force = if way.force_n.is_finite() { format!("{:.1} N", way.force_n) } else { "cannot".to_owned() };
    let role = match (governs, way.adds) {
        (true, _) => ", governs",
        (_, true) => ", adds",
        _ => "",
    };
    let name = format!("{}: {force}{role}", way.name);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, name.clone()));
    let painter = ui.painter();
    let middle = rect.center().y;
    let font = FontId::proportional(12.0);
    let text_ink = if governs { palette.ink } else { palette.ink_soft };
    if governs {
        // A pointer in front of the one that governs.
        let tip = pos2(rect.left() + 7.0, middle);
        let corners = vec![tip, tip + vec2(-7.0, -4.5), tip + vec2(-7.0, 4.5)];
        painter.add(egui::Shape::convex_polygon(corners, palette.accent, Stroke::NONE));
    }
    let plus = if way.adds { "+ " } else { "" };
    let name_at = pos2(rect.left() + 11.0, middle);
    painter.text(name_at, Align2::LEFT_CENTER, format!("{plus}{}", way.name), font.clone(), text_ink);
    let start = rect.left() + NAME_PX;
    let longer = way.force_n > scale.most_n * (1.0 + 1e-9);
    let bar = Rect::from_min_size(pos2(start, middle - BAR_PX / 2.0), vec2(scale.px(way.force_n), BAR_PX));
    let fill = if governs { ink } else { ink.gamma_multiply(if way.adds { 0.18 } else { 0.32 }) };
    painter.rect_filled(bar, 0.0, fill);
    let edge = Stroke::new(if governs { 1.6 } else { 1.0 }, if governs { palette.ink } else { ink });
    let corners = [bar.right_top(), bar.left_top(), bar.left_bottom(), bar.right_bottom()];
    painter.add(egui::Shape::line(corners.to_vec(), edge));
    if longer {
        // Cut off: a zigzag.
        let step = BAR_PX / 4.0;
        let zigzag = (0..=4_u8).map(|index| {
            let aside = if index % 2 == 0 { -2.5 } else { 2.5 };
            pos2(bar.right() + aside, bar.top() + step * f32::from(index))
        });
        painter.add(egui::Shape::line(zigzag.collect(), edge));
    } else {
        painter.line_segment([bar.right_top(), bar.right_bottom()], edge);
    }
    if let Some((low_n, high_n)) = range_n {
        let at = |force_n: f64| pos2(start + scale.px(force_n), middle);
        whisker(painter, at(low_n), at(high_n), 4.0, Stroke::new(4.0, palette.panel));
        whisker(painter, at(low_n), at(high_n), 4.0, Stroke::new(1.6, palette.ink));
    }
    let force_at = pos2(rect.right(), middle);
    painter.text(force_at, Align2::RIGHT_CENTER, force, font, text_ink);
    response.on_hover_ui(|ui| {
        ui.label(sentence(way.words));
        for number in &way.numbers {
            ui.weak(number_words(number));
        }
    });
}

/// The widest range of the pull that an input which only a trial can give leaves open.
fn widest_range(trials: &[TrialInput]) -> Option<(f64, f64)> {
    let range = |trial: &TrialInput| (trial.pull_n.0.min(trial.pull_n.1), trial.pull_n.0.max(trial.pull_n.1));
    trials.iter().map(range).max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))
}

/// A line between two crossbars.
fn whisker(painter: &egui::Painter, from: Pos2, to: Pos2, arm: f32, stroke: Stroke) {
    painter.line_segment([from, to], stroke);
    for end in [from, to] {
        painter.line_segment([end - vec2(0.0, arm), end + vec2(0.0, arm)], stroke);
    }
}

/// What the plastic is stretched by when it is stripped off, against what it bears.
fn strain_ui(ui: &mut Ui, palette: &Palette, law: &HoldLaw) {
    let hold = &law.hold;
    if hold.strip_strain <= 0.0 {
        return;
    }
    ui.add_space(4.0);
    let (strain, once, again) = (hold.strip_strain, hold.allowed_once, hold.allowed_repeated);
    let (ink, verdict) = if strain > once {
        (palette.fault, "more than it bears once")
    } else if strain > again {
        (palette.warning, "it bears that once, not again and again")
    } else {
        (palette.good, "it bears that again and again")
    };
    let words = format!("Stripping stretches the plastic by {:.1} %: {verdict}", 100.0 * strain);
    ui.add(egui::Label::new(RichText::new(words).color(ink)).wrap());
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 30.0), Sense::hover());
    let limits = format!("bears {:.1} % once, {:.1} % again and again", 100.0 * once, 100.0 * again);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, limits.clone()));
    let painter = ui.painter();
    let width = rect.width() - FORCE_PX;
    let most = 1.15 * strain.max(once);
    let x = |value: f64| rect.left() + width * to_px(value / most);
    let bar = Rect::from_min_max(pos2(rect.left(), rect.top() + 2.0), pos2(x(strain), rect.top() + 12.0));
    painter.rect_filled(bar, 0.0, ink.gamma_multiply(0.75));
    let base = rect.top() + 12.0;
    painter.line_segment(
        [pos2(rect.left(), base), pos2(rect.left() + width, base)],
        Stroke::new(1.0, palette.ink_soft),
    );
    let font = FontId::proportional(10.5);
    let mark = |value: f64, words: String, align: Align2| {
        let at = x(value);
        painter.line_segment([pos2(at, rect.top()), pos2(at, base + 4.0)], Stroke::new(1.8, palette.ink));
        painter.text(pos2(at, base + 4.0), align, words, font.clone(), palette.ink_soft);
    };
    mark(again, format!("again {:.1} %", 100.0 * again), Align2::RIGHT_TOP);
    mark(once, format!("once {:.1} %", 100.0 * once), Align2::LEFT_TOP);
}

/// One input that only a trial can give: the pull over its range as a whisker on the scale of the bars.
fn trial_ui(ui: &mut Ui, palette: &Palette, scale: &Scale, trial: &TrialInput) {
    let unit = if trial.unit.is_empty() { String::new() } else { format!(" {}", trial.unit) };
    let (low, high) = trial.range;
    let words = format!("{} {}{unit}, {low:.2} to {high:.2} ({})", trial.name, trial.value, trial.origin);
    ui.add(egui::Label::new(RichText::new(sentence(&words)).small()).wrap());
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 16.0), Sense::hover());
    let (least_n, most_n) = (trial.pull_n.0.min(trial.pull_n.1), trial.pull_n.0.max(trial.pull_n.1));
    let name = format!("pull {least_n:.1} to {most_n:.1} N over the range of {}", trial.name);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, name.clone()));
    let painter = ui.painter();
    let at = |force_n: f64| pos2(rect.left() + NAME_PX + scale.px(force_n), rect.center().y);
    let (from, to) = (at(least_n), at(most_n));
    whisker(painter, from, to, 5.0, Stroke::new(1.8, palette.ink));
    let font = FontId::proportional(11.0);
    let right: Pos2 = rect.right_center();
    let decimals = usize::from(most_n < 20.0);
    let forces = format!("{least_n:.decimals$}–{most_n:.decimals$} N");
    painter.text(right, Align2::RIGHT_CENTER, forces, font.clone(), palette.ink_soft);
    if trial.governed_by.0 != trial.governed_by.1 {
        let words = format!("{} / {}", trial.governed_by.0, trial.governed_by.1);
        painter.text(
            rect.left_center(),
            Align2::LEFT_CENTER,
            words,
            FontId::proportional(9.5),
            palette.ink_soft,
        );
    }
    response.on_hover_text(format!(
        "At the lowest value {} governs, at the highest {}",
        trial.governed_by.0, trial.governed_by.1
    ));
}

fn numbers_ui(ui: &mut Ui, project: &Project, law: &HoldLaw) {
    ui.weak(project.title(law.item));
    for way in &law.ways {
        ui.label(RichText::new(format!("{}: {}", way.name, way.words)).strong());
        for number in &way.numbers {
            ui.add(egui::Label::new(number_words(number)).wrap());
        }
    }
}

fn number_words(number: &hold::Number) -> String {
    let unit = if number.unit.is_empty() { String::new() } else { format!(" {}", number.unit) };
    let note = if number.note.is_empty() { String::new() } else { format!(", {}", number.note) };
    format!("{} {}{unit}{note}", number.name, short(number.value))
}

/// Three or four digits that say something.
fn short(value: f64) -> String {
    match value.abs() {
        size if size >= 100.0 => format!("{value:.0}"),
        size if size >= 10.0 => format!("{value:.1}"),
        size if size >= 0.1 => format!("{value:.2}"),
        _ => format!("{value:.4}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec2;
    use keepside_model::{Edit, FeatureKind, Half, Item, KeyingFeature, ThreadSize};

    #[test]
    fn a_law_is_worked_out_once_until_something_changes() {
        let mut project = Project::blank();
        let kind = FeatureKind::set_screw(ThreadSize::M3);
        let screw = KeyingFeature::new(DVec2::new(100.0, 60.0), Half::Moving, kind, 1.8);
        project.apply(&Edit::Add(Id(2), Item::Feature(screw))).unwrap();
        let mut session = Session::new(project, None, || ()).unwrap();
        session.stop_computing();
        let mut kept = Kept::default();
        let mut law = |session: &Session| {
            let outline = &keepside_engine::outline::of(session.document());
            kept.law(session, outline, Id(2)).unwrap()
        };
        let first = law(&session);
        assert!(Arc::ptr_eq(&first, &law(&session)), "worked out again");
        let lower = KeyingFeature::new(DVec2::new(100.0, 60.0), Half::Moving, kind, 1.2);
        session.apply(&Edit::Set(Id(2), Item::Feature(lower))).unwrap();
        assert_ne!(law(&session).ways, first.ways);
    }
}
