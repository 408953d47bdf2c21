//! How the shot cools: when the part can be pushed off, when gates freeze, what packing reaches, what shrinks.

use egui::Ui;
use keepside_engine::cooling::{self, Cooling, GateFreeze, LockedSpan, Unpacked};
use keepside_model::{HeldBack, Project};
use keepside_session::Session;

use super::fields::Fields;
use crate::action::Action;
use crate::elevation::sentence;
use crate::filling::words::seconds;
use crate::look::Palette;
use crate::units::Unit;

/// More pieces between locks than this are not listed.
const LISTED: usize = 12;

/// The group.
pub(super) fn cooling_ui(ui: &mut Ui, session: &Session) -> Vec<Action> {
    let mut actions = Vec::new();
    let project = session.document();
    let cooling = match session.results().layout().map(|layout| &layout.cooling) {
        Some(Ok(cooling)) => cooling,
        Some(Err(reason)) => {
            ui.label(sentence(&reason.to_string()));
            return actions;
        }
        None => {
            ui.weak("Computing…");
            return actions;
        }
    };
    ui.weak(
        "Times count from when the mould is full; steel that warms up from shot to shot makes them longer",
    );
    part_ui(ui, project, cooling, &mut actions);
    for gate in &cooling.gates {
        let told = gate_words(gate, Unit::of(ui));
        line_ui(
            ui,
            &project.title(gate.sprue),
            &told,
            gate.is_let_off_early,
            || Action::Show(vec![gate.sprue], None),
            &mut actions,
        );
    }
    for stretch in &cooling.unpacked {
        let told = unpacked_words(stretch, Unit::of(ui));
        line_ui(
            ui,
            &project.title(stretch.run),
            &told,
            true,
            || Action::Show(vec![stretch.run], Some(stretch.at)),
            &mut actions,
        );
    }
    shrinkage_ui(ui, project, cooling);
    if !cooling.spans.is_empty() {
        ui.strong("What the computed shrinkage pulls on");
    }
    for span in cooling.spans.iter().take(LISTED) {
        let name = format!("{} to {}", project.tag(span.from), project.tag(span.to));
        let told = span_words(span, Unit::of(ui));
        line_ui(ui, &name, &told, false, || Action::Show(vec![span.from, span.to], None), &mut actions);
    }
    if cooling.spans.len() > LISTED {
        ui.weak(format!("and {} more", cooling.spans.len() - LISTED));
    }
    actions
}

fn part_ui(ui: &mut Ui, project: &Project, cooling: &Cooling, actions: &mut Vec<Action>) {
    let (unit, palette) = (Unit::of(ui), Palette::of(ui));
    let thickest = &cooling.thickest;
    let place = if thickest.is_junction { ", where runs meet" } else { "" };
    let size = format!("{} × {}", unit.plain(thickest.width_mm), unit.short(thickest.thickness_mm));
    let told = format!("{size}{place}: stays hot the longest");
    line_ui(
        ui,
        &project.title(thickest.run),
        &told,
        false,
        || Action::Show(vec![thickest.run], Some(thickest.at)),
        actions,
    );
    let is_early = cooling.opens_s + 1e-9 < cooling.needed_s;
    Fields::show(ui, "cooling of the part", |fields| {
        fields.fact("Cold enough after", &seconds(cooling.needed_s));
        let opens = format!(
            "{}; then {:.0} °C at the hottest place, {:.0} °C on average",
            seconds(cooling.opens_s),
            cooling.hottest_c,
            cooling.mean_c
        );
        fields.long_fact("Mould opens after", &opens, is_early.then_some(palette.fault));
    });
}

fn shrinkage_ui(ui: &mut Ui, project: &Project, cooling: &Cooling) {
    let per_cent = |strain: f64| format!("{:.2} %", 100.0 * strain);
    Fields::show(ui, "shrinkage", |fields| {
        let both = format!(
            "{} along, {} across",
            per_cent(cooling.shrinkage_along),
            per_cent(cooling.shrinkage_across)
        );
        fields.long_fact("Shrinkage", &both, None);
        let before = format!("{:.0} % of it", 100.0 * cooling.before_opening);
        fields.long_fact("Before it opens", &before, None);
        let used = per_cent(cooling::held_back(project));
        let words = match project.moulding.held_back {
            HeldBack::Given => {
                format!("{used}, as given with the material; computed {}", per_cent(cooling.held_back))
            }
            HeldBack::Computed => format!("{used}, computed; choose it under Shot settings"),
        };
        fields.long_fact("Held back", &words, None);
    });
}

/// When a gate freezes, and what packing does until then.
fn gate_words(gate: &GateFreeze, unit: Unit) -> String {
    let bore = unit.length(gate.narrowest_mm);
    let mut words = format!("bore of {bore} freezes after {}", seconds(gate.bore_s));
    match gate.channel_s {
        Some(channel_s) => words += &format!(", the channel under it after {}", seconds(channel_s)),
        None => return words + "; it is not on the channel, so that it packs nothing",
    }
    words += &match (gate.packs_s > 0.0, gate.is_let_off_early) {
        (false, _) => "; no packing is set".to_owned(),
        (true, true) => format!(
            "; packing acts for {}, then it is let off while melt can still flow back",
            seconds(gate.packs_s)
        ),
        (true, false) => format!("; packing acts for {}, until it freezes", seconds(gate.packs_s)),
    };
    words + &format!("; its plug is cold after {}", seconds(gate.plug_cold_s))
}

/// What packing does not reach.
fn unpacked_words(stretch: &Unpacked, unit: Unit) -> String {
    format!(
        "from {} to {} is cut off from packing after {}, though it freezes only after {}: expect sinks there",
        unit.number(stretch.from_mm),
        unit.length(stretch.to_mm),
        seconds(stretch.until_s),
        seconds(stretch.freezes_s)
    )
}

/// What the shrinkage does to what locks the length.
fn span_words(span: &LockedSpan, unit: Unit) -> String {
    format!(
        "{} that would be {} shorter when the mould opens, {} when cold: pulls both sideways with up to {:.0} N",
        unit.length(span.length_mm),
        unit.length(span.held_mm),
        unit.length(span.whole_mm),
        span.pull_n
    )
}

/// A name as a link that shows it, and what is told of it.
fn line_ui(
    ui: &mut Ui,
    name: &str,
    told: &str,
    is_wrong: bool,
    show: impl FnOnce() -> Action,
    actions: &mut Vec<Action>,
) {
    let palette = Palette::of(ui);
    ui.horizontal_wrapped(|ui| {
        if ui.link(name).on_hover_text("Shows where").clicked() {
            actions.push(show());
        }
        let ink = if is_wrong { palette.warning } else { palette.ink };
        ui.label(egui::RichText::new(told).color(ink));
    });
}
