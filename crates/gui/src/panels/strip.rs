//! Stripping: what it takes to push the part off the moving half, and what that does to the part and to
//! the ejector pins.

use std::collections::BTreeSet;

use egui::{Label, RichText, ScrollArea, Sense, Ui};
use egui_plot::{AxisHints, Line, PlotPoints};
use keepside_engine::Severity;
use keepside_engine::hold::ejector::tilting_diameter_mm;
use keepside_engine::opening::{EjectorLoad, Outcome, StripAt, StripOutcome, Stripping};
use keepside_model::{Ejector, Id, Project};
use keepside_session::{Progress, Session};

use super::charts;
use super::inspector::hundredths;
use crate::action::Action;
use crate::elevation::{is_worth_saying, sentence};
use crate::look::Palette;
use crate::look::icons::{Icon, icon_ui};
use crate::units::Unit;

/// Height of the plot of force against travel, points.
const PLOT_PX: f32 = 150.0;

/// The panel.
pub(crate) fn strip_ui(ui: &mut Ui, session: &Session) -> Vec<Action> {
    match session.results().stripping() {
        Some(stripping) => {
            let stands = session.progress().has_verdict();
            let scroll = ScrollArea::vertical().id_salt("stripping").auto_shrink([false, false]);
            return scroll.show(ui, |ui| stripping_ui(ui, session.document(), stripping, stands)).inner;
        }
        None => ui.weak(why_none(session)),
    };
    Vec::new()
}

/// Why nothing is said about stripping.
fn why_none(session: &Session) -> &'static str {
    match (session.progress(), session.results().opening()) {
        (Progress::ComputingOpening | Progress::Settling, _) => "Computing…",
        (Progress::Stopped, _) => "Stopped: not computed for this layout",
        (_, Some(Ok(opening))) if opening.verdict.outcome != Outcome::StaysOnMoving => {
            "The part does not stay whole on the moving half, so there is nothing to strip"
        }
        (Progress::ComputingMargin, Some(Ok(_))) => "Computing…",
        (Progress::StoppedMargin, Some(Ok(_))) => "Stopped: stripping is not computed",
        _ => "Stripping could not be computed",
    }
}

/// What the verdict line says of stripping, and how bad it is; nothing while the part comes off unharmed.
pub(crate) const fn in_short(outcome: StripOutcome) -> Option<(Severity, &'static str)> {
    match outcome {
        StripOutcome::ComesOff => None,
        StripOutcome::Harmed => Some((Severity::Fault, "but cannot be stripped unharmed")),
        StripOutcome::Torn => Some((Severity::Fault, "but is torn when it is stripped")),
        StripOutcome::StaysOn => Some((Severity::Fault, "but the ejectors do not push it clear")),
        StripOutcome::NoEjectors => Some((Severity::Note, "and is taken off by hand")),
    }
}

/// Whether stripping harms the part at this feature, or with this ejector.
pub(crate) fn harms(project: &Project, stripping: &Stripping, id: Id) -> bool {
    let at_feature = stripping.features.iter().find(|at| at.item == id);
    let with_ejector = stripping.ejectors.iter().find(|load| load.item == id);
    at_feature.is_some_and(|at| at.broke || at.strain > at.allowed || at.released_at_mm.is_none())
        || with_ejector.is_some_and(|load| {
            let buckles = |pin: &Ejector| pin.diameter_mm < load.buckling_mm;
            load.pressure_mpa > load.mark_mpa || project.ejectors.get(&id).is_some_and(buckles)
        })
}

/// Everything that harms the part when it is stripped.
pub(crate) fn harmed(project: &Project, stripping: &Stripping) -> BTreeSet<Id> {
    let features = stripping.features.iter().map(|at| at.item);
    let ejectors = stripping.ejectors.iter().map(|load| load.item);
    features.chain(ejectors).filter(|id| harms(project, stripping, *id)).collect()
}

/// Everything about one stripping. Greyed while a newer one is being computed.
fn stripping_ui(ui: &mut Ui, project: &Project, stripping: &Stripping, stands: bool) -> Vec<Action> {
    let mut actions = Vec::new();
    let palette = Palette::of(ui);
    let (icon, ink) = match in_short(stripping.outcome) {
        None => (Icon::Good, palette.good),
        Some((severity, _)) => (Icon::Alarm(severity), palette.severity(severity)),
    };
    let ink = if stands { ink } else { palette.ink_soft };
    let words = Unit::of(ui).in_words(&stripping.words, project, project.ids());
    ui.horizontal_top(|ui| {
        icon_ui(ui, icon, ink);
        ui.add(Label::new(RichText::new(sentence(&words)).strong().color(ink)).wrap());
    });
    if !stripping.ejectors.is_empty() {
        ui.label(format!("All ejectors together push with at most {:.1} N", stripping.peak_n));
    }
    if !stripping.features.is_empty() {
        heading(ui, "Features, in the order in which they let go");
        for (index, feature) in stripping.features.iter().enumerate() {
            actions.extend(feature_ui(ui, project, palette, index + 1, feature));
        }
    }
    if !stripping.ejectors.is_empty() {
        heading(ui, "Ejectors");
        for ejector in &stripping.ejectors {
            actions.extend(ejector_ui(ui, project, palette, ejector));
        }
    }
    if stripping.force.len() > 1 {
        heading(ui, "Force of all ejectors against their travel");
        force_ui(ui, palette, stripping);
    }
    if stripping.outcome != StripOutcome::NoEjectors {
        heading(ui, "Left bent after ejection");
        bent_ui(ui, project, stripping);
    }
    actions
}

fn heading(ui: &mut Ui, words: &str) {
    ui.add_space(5.0);
    ui.label(RichText::new(words).strong());
}

/// A name that shows its item when it is clicked.
fn name_ui(ui: &mut Ui, id: Id, words: String, ink: egui::Color32) -> Option<Action> {
    let name = Label::new(RichText::new(words).color(ink).strong()).sense(Sense::click());
    let response = ui.add(name).on_hover_cursor(egui::CursorIcon::PointingHand);
    response.clicked().then(|| Action::Show(vec![id], None))
}

fn feature_ui(
    ui: &mut Ui,
    project: &Project,
    palette: &Palette,
    place: usize,
    feature: &StripAt,
) -> Option<Action> {
    let kind = project.features.get(&feature.item).map_or("ejector", |of| of.kind.word());
    let words = format!("{place}. {} {}", sentence(kind), project.tag(feature.item));
    let action = name_ui(ui, feature.item, words, palette.moving);
    let how = match feature.released_at_mm {
        Some(travel_mm) => format!("lets go after {} of ejector travel", Unit::of(ui).length(travel_mm)),
        None => "does not let go".to_owned(),
    };
    let ink = if feature.released_at_mm.is_some() { palette.ink } else { palette.fault };
    ui.colored_label(ink, format!("takes {:.1} N, {how}", feature.force_n));
    if feature.strain > 0.0 {
        let (strain, allowed) = (100.0 * feature.strain, 100.0 * feature.allowed);
        let over = feature.strain > feature.allowed;
        let words = format!("stretches the plastic by {strain:.1} %; it bears {allowed:.1} %");
        ui.colored_label(if over { palette.fault } else { palette.ink }, words);
    }
    if feature.broke {
        ui.colored_label(palette.fault, "a piece breaks off and stays: it keys no more");
    }
    ui.add_space(3.0);
    action
}

fn ejector_ui(ui: &mut Ui, project: &Project, palette: &Palette, load: &EjectorLoad) -> Option<Action> {
    let action = name_ui(ui, load.item, format!("Ejector {}", project.title(load.item)), palette.moving);
    ui.label(format!("pushes with at most {:.1} N", load.force_n));
    let marks = load.pressure_mpa > load.mark_mpa;
    let (pressure, mark) = (load.pressure_mpa, load.mark_mpa);
    let words = if marks {
        format!("presses with {pressure:.1} MPa and leaves a mark, as from {mark:.1} MPa")
    } else {
        format!("presses with {pressure:.1} MPa; a mark is left from {mark:.1} MPa")
    };
    ui.colored_label(if marks { palette.fault } else { palette.ink }, words);
    if let Some(ejector) = project.ejectors.get(&load.item) {
        let (own, straight) = (ejector.diameter_mm, load.buckling_mm);
        let tilting = tilting_diameter_mm(straight);
        let (ink, what) = match own {
            own if own < straight => (palette.fault, "buckles"),
            own if own < tilting => (palette.warning, "buckles unless its fit keeps it straight"),
            _ => (palette.ink, "does not buckle"),
        };
        let unit = Unit::of(ui);
        let (least, safe) = (unit.number(straight), unit.length(tilting));
        let words = format!("{what}: needs a diameter of {least} to {safe}, has {}", unit.short(own));
        ui.colored_label(ink, words);
    }
    ui.add_space(3.0);
    action
}

/// Total force against ejector travel, and where each feature lets go.
fn force_ui(ui: &mut Ui, palette: &Palette, stripping: &Stripping) {
    let unit = Unit::of(ui);
    let travel = AxisHints::new_x()
        .label(format!("ejector travel, {}", unit.word()))
        .formatter(|mark, _| charts::tick(mark));
    let force = AxisHints::new_y().label("force, N").formatter(|mark, _| charts::tick(mark));
    let force = force.label_spacing(egui::Rangef::new(10.0, 14.0));
    let plot = charts::plot("stripping force", travel).custom_y_axes(vec![force]).height(PLOT_PX);
    let words = move |at: &egui_plot::HoverPosition<'_>| {
        let (egui_plot::HoverPosition::NearDataPoint { position, .. }
        | egui_plot::HoverPosition::Elsewhere { position }) = at;
        Some(format!("{:.1} N after {}", position.y, unit.length(position.x * unit.mm())))
    };
    plot.x_grid_spacer(|input| charts::even(&input)).label_formatter(words).show(ui, |plot| {
        let points: PlotPoints<'_> =
            stripping.force.iter().map(|&(travel_mm, force)| [travel_mm / unit.mm(), force]).collect();
        plot.line(Line::new("force", points).color(palette.moving).width(2.0));
        for travel_mm in stripping.features.iter().filter_map(|feature| feature.released_at_mm) {
            let stroke = egui_plot::LineStyle::dashed_loose();
            plot.vline(
                egui_plot::VLine::new("lets go", travel_mm / unit.mm()).color(palette.ink_soft).style(stroke),
            );
        }
    });
}

fn bent_ui(ui: &mut Ui, project: &Project, stripping: &Stripping) {
    let unit = Unit::of(ui);
    ui.label(format!("Out of flat by {}", unit.length(stripping.flatness_mm)));
    for bump in stripping.bumps.iter().filter(|bump| is_worth_saying(bump)) {
        let (height_mm, kink_deg) = (hundredths(bump.height_mm), hundredths(bump.kink_deg));
        let height = unit.length(height_mm);
        ui.label(format!("{}: bump {height}, kink {kink_deg:.1}°", project.tag(bump.item)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable as _;
    use glam::DVec2;
    use keepside_engine::opening::BumpAt;
    use keepside_model::{Edit, EjectorFace, FeatureKind, Half, Item, KeyingFeature, ThreadSize};

    /// The blank project with set screw K2 and ejector E3.
    fn project() -> Project {
        let mut project = Project::blank();
        let screw = KeyingFeature::new(
            DVec2::new(80.0, 60.0),
            Half::Moving,
            FeatureKind::set_screw(ThreadSize::M3),
            1.8,
        );
        let ejector = Ejector::new(DVec2::new(120.0, 60.0), 4.0, 100.0, 10.0, EjectorFace::Plain);
        project.apply(&Edit::Add(Id(2), Item::Feature(screw))).unwrap();
        project.apply(&Edit::Add(Id(3), Item::Ejector(ejector))).unwrap();
        project
    }

    fn stripping(outcome: StripOutcome) -> Stripping {
        Stripping {
            outcome,
            words: outcome.to_string(),
            features: vec![StripAt {
                item: Id(2),
                force_n: 85.25,
                strain: 0.062,
                allowed: 0.034,
                released_at_mm: Some(1.25),
                broke: true,
            }],
            ejectors: vec![EjectorLoad {
                item: Id(3),
                force_n: 90.0,
                pressure_mpa: 7.2,
                mark_mpa: 18.0,
                buckling_mm: 1.1,
            }],
            peak_n: 91.5,
            force: vec![(0.0, 0.0), (0.5, 91.5), (1.25, 85.0), (1.26, 0.0)],
            bumps: vec![BumpAt { item: Id(2), run: Id(1), along_mm: 43.0, height_mm: 0.31, kink_deg: 1.2 }],
            flatness_mm: 0.42,
            residual: Vec::new(),
            effort: keepside_engine::opening::Effort::default(),
        }
    }

    type Shown = Harness<'static, Vec<Action>>;

    fn shown(stripping: Stripping) -> Shown {
        let mut harness = Harness::new_ui_state(
            move |ui, actions: &mut Vec<Action>| {
                actions.extend(stripping_ui(ui, &project(), &stripping, true));
            },
            Vec::new(),
        );
        harness.run();
        harness
    }

    #[test]
    fn a_harmful_stripping_tells_what_it_does_where() {
        let mut harness = shown(stripping(StripOutcome::Harmed));
        for words in [
            "Is harmed in coming off the moving half",
            "All ejectors together push with at most 91.5 N",
            "takes 85.2 N, lets go after 1.25 mm of ejector travel",
            "stretches the plastic by 6.2 %; it bears 3.4 %",
            "a piece breaks off and stays: it keys no more",
            "pushes with at most 90.0 N",
            "presses with 7.2 MPa; a mark is left from 18.0 MPa",
            "does not buckle: needs a diameter of 1.10 to 1.34 mm, has 4 mm",
            "Out of flat by 0.42 mm",
            "K2: bump 0.31 mm, kink 1.2°",
        ] {
            assert!(harness.query_by_label(words).is_some(), "{words:?} is not shown");
        }
        harness.get_by_label("1. Set screw K2").click();
        harness.run();
        assert_eq!(*harness.state(), [Action::Show(vec![Id(2)], None)]);
        harness.get_by_label("Ejector E3").click();
        harness.run();
        assert_eq!(harness.state()[1..], [Action::Show(vec![Id(3)], None)]);
    }

    #[test]
    fn travel_and_sizes_are_told_in_inches_where_inches_are_shown() {
        let mut harness = shown(stripping(StripOutcome::Harmed));
        Unit::Inch.show(&harness.ctx);
        harness.run();
        for words in [
            "takes 85.2 N, lets go after 0.0492 in of ejector travel",
            "does not buckle: needs a diameter of 0.0433 to 0.0527 in, has 0.1575 in",
            "Out of flat by 0.0165 in",
            "K2: bump 0.0122 in, kink 1.2°",
        ] {
            assert!(harness.query_by_label(words).is_some(), "{words:?} is not shown");
        }
    }

    #[test]
    fn a_mark_a_thin_pin_and_a_feature_that_holds_on_are_said() {
        let mut bad = stripping(StripOutcome::StaysOn);
        bad.features[0].released_at_mm = None;
        (bad.ejectors[0].pressure_mpa, bad.ejectors[0].buckling_mm) = (25.0, 5.5);
        assert!(harms(&project(), &bad, Id(2)) && harms(&project(), &bad, Id(3)));
        let harness = shown(bad);
        for words in [
            "takes 85.2 N, does not let go",
            "presses with 25.0 MPa and leaves a mark, as from 18.0 MPa",
            "buckles: needs a diameter of 5.50 to 6.69 mm, has 4 mm",
        ] {
            assert!(harness.query_by_label(words).is_some(), "{words:?} is not shown");
        }
    }

    #[test]
    fn a_pin_between_the_two_diameters_is_a_matter_of_its_fit() {
        let mut slender = stripping(StripOutcome::ComesOff);
        slender.ejectors[0].buckling_mm = 3.5;
        assert!(!harms(&project(), &slender, Id(3)));
        let words = "buckles unless its fit keeps it straight: needs a diameter of 3.50 to 4.26 mm, has 4 mm";
        assert!(shown(slender).query_by_label(words).is_some());
    }

    #[test]
    fn only_a_part_that_comes_off_unharmed_needs_no_words_in_the_verdict() {
        assert_eq!(in_short(StripOutcome::ComesOff), None);
        for outcome in [StripOutcome::Harmed, StripOutcome::Torn, StripOutcome::StaysOn] {
            assert_eq!(in_short(outcome).map(|(severity, _)| severity), Some(Severity::Fault));
        }
        let none = in_short(StripOutcome::NoEjectors);
        assert_eq!(none.map(|(severity, _)| severity), Some(Severity::Note));
    }
}
