//! Clear distances on the plan while things are dragged, what a dragged pin snaps to, and cures.

use egui::accesskit::Role;
use egui::{Event, Modifiers, PointerButton, Pos2, vec2};
use egui_kittest::kittest::Queryable as _;
use glam::DVec2;
use keepside_engine::Finding;
use keepside_model::{FeatureKind, Id, Project, ThreadSize};

use crate::harness::{
    Gui, at, click, click_at, computed, drag, marker, on, place_of, press, px, selected, settle, steps,
    texts, to_screen, type_into, wait_for,
};

/// The texts on the screen that begin like this.
fn gaps(gui: &Gui, start: &str) -> Vec<String> {
    texts(gui).into_iter().filter(|text| text.starts_with(start)).collect()
}

/// Presses on a pin and moves the pointer, without letting go.
fn hold(gui: &mut Gui, from: Pos2, to: Pos2) {
    gui.hover_at(from);
    gui.drag_at(from);
    for step in 1..=20_u8 {
        gui.hover_at(from + (to - from) * (f32::from(step) / 20.0));
    }
    gui.run();
}

/// Waits for the gaps of the project as it is now: on a busy machine they come from the background.
fn up_to_date(gui: &mut Gui) {
    wait_for(gui, "the gaps", |gui| {
        let session = &gui.state().session;
        session.results().layout_revision() == Some(session.revision())
    });
    gui.run();
}

/// The words of the status line.
fn status(gui: &Gui, start: &str) -> Option<String> {
    gaps(gui, start).into_iter().next()
}

#[test]
fn gaps_of_a_dragged_pin_follow_it() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    up_to_date(&mut gui);
    assert_eq!(
        gaps(&gui, "Keying pin K5 to channel edge"),
        ["Keying pin K5 to channel edge 1.50 mm, needs 1 mm"]
    );
    assert_eq!(gaps(&gui, "Keying pin K5 to far edge").len(), 1);
    click(&mut gui, "Snap");
    let from = place_of(&gui, "Keying pin K5");
    let by = vec2(px(&gui, 4.0), -px(&gui, 1.0));
    hold(&mut gui, from, from + by);
    up_to_date(&mut gui);
    assert!(gui.state().session.has_gesture(), "the drag is under way");
    let shown = gaps(&gui, "Keying pin K5 to channel edge");
    let gap_mm = 63.0 - at(&gui, 5).y - 1.5;
    assert!((gap_mm - 0.5).abs() < 0.05, "{gap_mm}");
    assert_eq!(shown, [format!("Keying pin K5 to channel edge {gap_mm:.2} mm, needs 1 mm")]);
    gui.drop_at(from + by);
    gui.run();
    assert_eq!(steps(&gui), 1);
}

#[test]
fn a_dragged_pin_snaps_behind_a_gate_and_says_so() {
    let mut gui = on(marker());
    let from = place_of(&gui, "Keying pin K5");
    // The gate S2 of the fixed half lies at x = 65.
    let to = to_screen(&gui, 65.4, 60.5);
    hold(&mut gui, from, to);
    assert_eq!(at(&gui, 5), DVec2::new(65.0, 60.0));
    let words = "Snaps to: behind gate S2. Hold Alt to place freely";
    assert_eq!(status(&gui, "Snaps to").as_deref(), Some(words));
    gui.drop_at(to);
    gui.run();
    assert_eq!((at(&gui, 5), steps(&gui)), (DVec2::new(65.0, 60.0), 1));
    assert_eq!(status(&gui, "Snaps to"), None);
}

#[test]
fn with_alt_a_dragged_pin_goes_where_the_pointer_goes() {
    let mut gui = on(marker());
    let from = place_of(&gui, "Keying pin K5");
    let to = to_screen(&gui, 65.4, 60.5);
    gui.event(Event::ModifiersChanged(Modifiers::ALT));
    hold(&mut gui, from, to);
    assert!(at(&gui, 5).distance(DVec2::new(65.4, 60.5)) < 0.02, "{}", at(&gui, 5));
    let modifiers = Modifiers::ALT;
    gui.event(Event::PointerButton { pos: to, button: PointerButton::Primary, pressed: false, modifiers });
    gui.event(Event::ModifiersChanged(Modifiers::NONE));
    gui.run();
    assert!(at(&gui, 5).distance(DVec2::new(65.4, 60.5)) < 0.02, "{}", at(&gui, 5));
}

#[test]
fn a_dragged_pin_snaps_to_equal_gaps_and_to_the_stated_distance_from_a_gate() {
    let mut gui = on(marker());
    let from = place_of(&gui, "Keying pin K5");
    // Between the gate S2 at 65 and the screw K6 at 120, both 3 mm wide.
    let to = to_screen(&gui, 92.9, 60.3);
    hold(&mut gui, from, to);
    assert_eq!(at(&gui, 5), DVec2::new(92.5, 60.0));
    assert!(status(&gui, "Snaps to: equal gaps to S2 and K6").is_some());
    gui.drop_at(to);
    gui.run();

    type_into(&mut gui, Role::SpinButton, "From gate", "7.3");
    assert_eq!(gui.state().view.from_gate_mm, Some(7.3));
    let from = place_of(&gui, "Keying pin K5");
    let to = to_screen(&gui, 72.6, 60.2);
    drag(&mut gui, from, to);
    assert!(at(&gui, 5).distance(DVec2::new(72.3, 60.0)) < 1e-9, "{}", at(&gui, 5));
    type_into(&mut gui, Role::SpinButton, "From gate", "0");
    assert_eq!(gui.state().view.from_gate_mm, None);
}

#[test]
fn a_new_pin_is_set_behind_a_gate() {
    let mut gui = on(marker());
    press(&mut gui, Modifiers::NONE, egui::Key::K);
    let place = to_screen(&gui, 135.5, 60.6);
    click_at(&mut gui, place, Modifiers::NONE);
    assert_eq!(at(&gui, 8), DVec2::new(135.0, 60.0));
}

/// A project with much that is wrong about its pins and holes.
fn faulty() -> Project {
    let mut project = marker();
    let wide = FeatureKind::set_screw(ThreadSize::M5);
    let first = project.features.get_mut(&Id(5)).unwrap();
    (first.kind, first.protrusion_mm, first.at) = (wide, 2.8, DVec2::new(78.0, 60.4));
    let second = project.features.get_mut(&Id(6)).unwrap();
    (second.screw_length_mm, second.at) = (Some(4.0), DVec2::new(158.5, 60.0));
    project.holes.get_mut(&Id(7)).unwrap().at = DVec2::new(82.0, 66.5);
    project
}

fn cures(gui: &Gui) -> Vec<Finding> {
    let revision = gui.state().session.revision();
    let findings = gui.state().session.results().findings(revision);
    findings
        .into_iter()
        .filter(|(finding, fresh)| *fresh && finding.cure_edit.is_some())
        .map(|(f, _)| f.clone())
        .collect()
}

#[test]
fn every_cure_offered_is_applied_by_one_click_and_its_finding_shows_its_place() {
    let mut gui = computed(faulty());
    let offered = cures(&gui);
    assert!(offered.len() >= 4, "{offered:?}");
    for finding in &offered {
        // Findings of the opening come later than the drawing's own and would stand above them.
        settle(&mut gui);
        let before = gui.state().session.document().clone();
        let message = capital(&finding.message);
        gui.get_by_label(&message).click_accesskit();
        gui.run();
        let mut ids: Vec<u32> = finding.items.iter().map(|id| id.0).collect();
        ids.sort_unstable();
        assert_eq!(selected(&gui), ids, "{}", finding.rule);
        assert_eq!(gui.state().view.spotlight, finding.at, "{}", finding.rule);

        let now = cures(&gui);
        let index = now.iter().position(|other| other.message == finding.message).unwrap();
        gui.get_all_by_label("Do it").nth(index).unwrap().click_accesskit();
        gui.run();
        let mut cured = Project::clone(&before);
        cured.apply(finding.cure_edit.as_ref().unwrap()).unwrap();
        assert_eq!(**gui.state().session.document(), cured, "{}", finding.rule);
        gui.state_mut().session.undo();
        gui.run();
        assert_eq!(gui.state().session.document(), &before);
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().unwrap().to_uppercase().chain(letters).collect()
}
