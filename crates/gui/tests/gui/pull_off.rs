//! Pull-off curves: looked at, edited point by point, replaced by measured ones, and taken back.

use egui::accesskit::Role;
use egui::{Key, Modifiers, Pos2, vec2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use keepside_app::Tab;
use keepside_model::{Id, PullOff};

use crate::harness::{Gui, click, computed, drag, marker, press, selected, settle, steps, type_into};

/// A project with a measured curve on the pin K5, looked at.
fn measured() -> Gui {
    let mut project = marker();
    let curve = PullOff::new(vec![(0.0, 0.0), (0.2, 60.0), (1.0, 30.0), (1.8, 0.0)]).unwrap();
    project.features.get_mut(&Id(5)).unwrap().measured = Some(curve);
    let mut gui = computed(project);
    click(&mut gui, "Keying pin K5");
    click(&mut gui, "Pull-off");
    gui
}

fn points(gui: &Gui) -> Vec<(f64, f64)> {
    let pin = &gui.state().session.document().features[&Id(5)];
    pin.measured.as_ref().map(|curve| curve.points().to_vec()).unwrap_or_default()
}

/// Whether a text that holds these words is on the screen.
fn shows(gui: &Gui, words: &str) -> bool {
    gui.get_all_by(|_| true).any(|node| {
        let node = node.accesskit_node();
        node.value().or(node.label()).unwrap_or_default().contains(words)
    })
}

/// Middle of a point of the curve on the screen.
fn handle(gui: &Gui, number: usize) -> Pos2 {
    gui.get_by_label_contains(&format!("Point {number} of the curve")).rect().center()
}

/// Clicks a button that may lie below what is scrolled into view.
fn press_button(gui: &mut Gui, name: &str) {
    gui.get_by_label(name).click_accesskit();
    gui.run();
}

fn undo(gui: &mut Gui) {
    press(gui, Modifiers::COMMAND, Key::Z);
}

/// The box that a text is pasted into.
fn text_box<'a>(gui: &'a Gui) -> Option<egui_kittest::Node<'a>> {
    gui.query_by(|node| {
        let words = node.label().unwrap_or_default();
        node.role() == Role::MultilineTextInput && words.starts_with("Travel in mm and pull in")
    })
}

/// Pastes a text as a measured curve.
fn paste(gui: &mut Gui, text: &str) {
    press_button(gui, "Paste measured…");
    text_box(gui).expect("the box has opened").focus();
    gui.run();
    gui.event(egui::Event::Paste(text.to_owned()));
    gui.run();
    press_button(gui, "Use these numbers");
}

#[test]
fn every_hold_can_be_picked_and_its_curve_looked_at() {
    let mut gui = computed(marker());
    click(&mut gui, "Pull-off");
    for (name, unit) in [
        ("Face tack, both halves", "Pull in MPa of bare face, before release agent, against travel in mm"),
        ("Wall drag, both halves", "Pull in MPa of bare wall, before release agent, against travel in mm"),
        ("Undercut edges, both halves", "Pull in N per mm of run, both edges together, against travel in mm"),
        (
            "Vacuum under faces, both halves",
            "Pull in MPa of sealed face, until air gets in, against travel in mm",
        ),
        ("Sprue S2 (fixed half)", "Pull in N of the whole hold, against travel in mm"),
        ("Set screw K6 (moving half)", "Pull in N of the whole hold, against travel in mm"),
    ] {
        gui.get_by_role_and_label(Role::ComboBox, "Hold").click();
        gui.run();
        gui.get_by_role_and_label(Role::Button, name).click_accesskit();
        gui.run();
        assert_eq!(gui.get_by_role_and_label(Role::ComboBox, "Hold").value().as_deref(), Some(name));
        assert!(shows(&gui, unit), "{name}: {unit:?} is not shown");
    }
    assert!(shows(&gui, "pulled at most"), "the working point of K6 is told");
    assert_eq!(steps(&gui), 0, "looking changes nothing");
}

#[test]
fn the_list_of_holds_and_the_inspector_lead_to_the_curve() {
    let mut gui = computed(marker());
    click(&mut gui, "Holds");
    // One of each half leads to the same curve.
    gui.get_all_by_label("Pull-off curve of face tack, both halves").next().unwrap().click_accesskit();
    gui.run();
    assert_eq!(gui.state().view.tab, Tab::PullOff);
    assert!(shows(&gui, "Pull in MPa of bare face"));
    click(&mut gui, "Holds");
    press_button(&mut gui, "Pull-off curve of set screw K6 (moving half)");
    assert_eq!((gui.state().view.tab, selected(&gui)), (Tab::PullOff, vec![6]));
    assert!(shows(&gui, "Pull in N of the whole hold"));
    // Selecting something else looks at its curve.
    click(&mut gui, "Sprue S2");
    assert_eq!(
        gui.get_by_role_and_label(Role::ComboBox, "Hold").value().as_deref(),
        Some("Sprue S2 (fixed half)")
    );
}

#[test]
fn a_measured_curve_is_marked_wherever_its_hold_is_listed() {
    let mut gui = measured();
    let marks = |gui: &Gui| {
        gui.get_all_by(|node| node.role() == Role::Label && node.value().as_deref() == Some(" measured "))
            .count()
    };
    assert_eq!(marks(&gui), 2, "in the inspector and beside the list of holds");
    click(&mut gui, "Holds");
    assert_eq!(marks(&gui), 2, "in the inspector and in its row");
}

#[test]
fn a_computed_curve_is_turned_into_one_to_be_edited_and_back() {
    let mut gui = computed(marker());
    click(&mut gui, "Keying pin K5");
    click(&mut gui, "Pull-off");
    assert!(points(&gui).is_empty() && !shows(&gui, " measured "));
    press_button(&mut gui, "Edit curve");
    settle(&mut gui);
    let started = points(&gui);
    assert_eq!(started.first(), Some(&(0.0, 0.0)));
    // The pin stands 1.8 mm into the channel and strips over that length; the plug then still drags in its
    // socket, which is 2 mm deep.
    assert_eq!(started.last(), Some(&(2.0, 0.0)));
    assert!(shows(&gui, " measured "));
    assert_eq!(gui.state().session.undo_label(), Some("edit pull-off curve"));
    // The curve that is edited changes next to nothing as yet.
    let Some(Ok(opening)) = gui.state().session.results().opening() else { panic!("no opening") };
    let hold = opening.holds.iter().find(|hold| hold.name.what.item() == Some(Id(5))).unwrap();
    assert_eq!((hold.governed_by, &hold.curve), ("measured", &started));

    press_button(&mut gui, "Back to computed");
    assert!(points(&gui).is_empty());
    assert_eq!(steps(&gui), 2);
    undo(&mut gui);
    assert_eq!(points(&gui), started);
    undo(&mut gui);
    assert!(points(&gui).is_empty());
}

#[test]
fn a_point_dragged_in_the_chart_is_one_undo_step() {
    let mut gui = measured();
    let before = points(&gui);
    let from = handle(&gui, 3);
    drag(&mut gui, from, from + vec2(20.0, -15.0));
    let after = points(&gui);
    assert!(after[2].0 > before[2].0 + 0.02 && after[2].1 > before[2].1 + 1.0, "{after:?}");
    assert_eq!((after[1], after[3]), (before[1], before[3]), "the others stay");
    assert_eq!((steps(&gui), gui.state().session.undo_label()), (1, Some("change pull-off curve")));
    // It went as far as the pointer did.
    assert!((handle(&gui, 3) - from - vec2(20.0, -15.0)).length() < 3.0);
    undo(&mut gui);
    assert_eq!(points(&gui), before);

    // Past its neighbour and below nothing it stops where the curve would be none.
    let from = handle(&gui, 3);
    drag(&mut gui, from, from + vec2(500.0, 400.0));
    let after = points(&gui);
    assert!(after[2].0 < after[3].0 && after[2].1 == 0.0, "{after:?}");
    assert_eq!(steps(&gui), 1);
}

#[test]
fn escape_gives_a_drag_up() {
    let mut gui = measured();
    let before = points(&gui);
    let from = handle(&gui, 3);
    gui.hover_at(from);
    gui.drag_at(from);
    for step in 1..=10_u8 {
        gui.hover_at(from + vec2(2.0, -2.0) * f32::from(step));
    }
    gui.run();
    assert_ne!(points(&gui), before);
    press(&mut gui, Modifiers::NONE, Key::Escape);
    assert_eq!(points(&gui), before);
    gui.drop_at(from + vec2(40.0, -40.0));
    gui.run();
    assert_eq!((points(&gui), steps(&gui)), (before, 0));
}

#[test]
fn a_point_is_moved_and_removed_by_keys() {
    let mut gui = measured();
    let before = points(&gui);
    let focus = |gui: &mut Gui| {
        gui.get_by_label_contains("Point 3 of the curve").focus();
        gui.run();
    };
    focus(&mut gui);
    press(&mut gui, Modifiers::NONE, Key::ArrowUp);
    press(&mut gui, Modifiers::NONE, Key::ArrowRight);
    // A peak of 60 N and a travel of 1.8 mm: steps of 1 N and 0.1 mm.
    assert_eq!(points(&gui)[2], (1.1, 31.0));
    press(&mut gui, Modifiers::SHIFT, Key::ArrowDown);
    assert_eq!(points(&gui)[2], (1.1, 30.9));
    assert_eq!(steps(&gui), 3);
    focus(&mut gui);
    press(&mut gui, Modifiers::NONE, Key::Delete);
    assert_eq!(points(&gui), [before[0], before[1], before[3]]);
    // Deleting a point deletes no pin.
    assert!(gui.state().session.document().features.contains_key(&Id(5)));
}

#[test]
fn points_are_typed_added_and_removed_in_the_table() {
    let mut gui = measured();
    type_into(&mut gui, Role::SpinButton, "Pull of point 2", "72,5");
    assert_eq!(points(&gui)[1], (0.2, 72.5));
    type_into(&mut gui, Role::SpinButton, "Travel of point 3", "1.25 mm");
    assert_eq!(points(&gui)[2], (1.25, 30.0));
    press_button(&mut gui, "Add a point after point 3");
    assert_eq!(points(&gui)[3], (1.525, 15.0));
    press_button(&mut gui, "Remove point 2");
    assert_eq!(points(&gui).len(), 4);
    assert_eq!(steps(&gui), 4);
    for _ in 0..4 {
        undo(&mut gui);
    }
    assert_eq!(points(&gui), [(0.0, 0.0), (0.2, 60.0), (1.0, 30.0), (1.8, 0.0)]);
}

#[test]
fn numbers_that_make_no_curve_are_refused_with_the_reason() {
    let mut gui = measured();
    let before = points(&gui);
    for (field, text, words) in [
        ("Travel of point 3", "0.1", "The travel of point 3 of a pull-off curve is not beyond"),
        ("Pull of point 3", "-4", "Point 3 of a pull-off curve is out of range"),
        ("Pull of point 2", "0", "Point 2 of a pull-off curve has no pull"),
    ] {
        type_into(&mut gui, Role::SpinButton, field, text);
        assert_eq!((points(&gui), steps(&gui)), (before.clone(), 0), "{field}");
        assert!(shows(&gui, words), "{words:?} is not shown");
    }
    press_button(&mut gui, "Remove point 2");
    press_button(&mut gui, "Remove point 2");
    assert_eq!(points(&gui).len(), 3);
    assert!(shows(&gui, "A pull-off curve has 2 points; it needs 3 to 200"));
    assert_eq!(steps(&gui), 1);
}

#[test]
fn a_measured_curve_is_pasted_as_one_undo_step() {
    let mut gui = computed(marker());
    click(&mut gui, "Keying pin K5");
    click(&mut gui, "Pull-off");
    paste(&mut gui, "Weg (mm);Kraft (N)\n0;0\n0,15;48,5\n1,2;20\n1,9;0\n");
    assert_eq!(points(&gui), [(0.0, 0.0), (0.15, 48.5), (1.2, 20.0), (1.9, 0.0)]);
    assert_eq!((steps(&gui), gui.state().session.undo_label()), (1, Some("paste pull-off curve")));
    assert!(text_box(&gui).is_none(), "the box has closed");
    undo(&mut gui);
    assert!(points(&gui).is_empty());
}

#[test]
fn a_pasted_text_that_is_no_curve_names_its_line_and_stays() {
    let mut gui = computed(marker());
    click(&mut gui, "Keying pin K5");
    click(&mut gui, "Pull-off");
    paste(&mut gui, "travel force\n0 0\n0.1 l2\n1 0\n");
    assert!(points(&gui).is_empty() && steps(&gui) == 0);
    assert!(shows(&gui, "Line 3: “l2” is no number"));
    let text = text_box(&gui).and_then(|text| text.value());
    assert!(text.is_some_and(|text| text.contains("l2")), "what was typed is still there to be put right");
    press_button(&mut gui, "Cancel");
    assert!(!shows(&gui, "is no number"));
}

#[test]
fn the_curves_along_the_part_are_measured_too() {
    let mut gui = computed(marker());
    click(&mut gui, "Pull-off");
    paste(&mut gui, "0 0\n0.004 0.21\n0.05 0");
    let tack = gui.state().session.document().holds.tack_curve.clone();
    assert_eq!(tack.unwrap().points(), [(0.0, 0.0), (0.004, 0.21), (0.05, 0.0)]);
    assert!(shows(&gui, " measured "));
    undo(&mut gui);
    assert_eq!(gui.state().session.document().holds.tack_curve, None);
}

#[test]
fn the_vacuum_has_a_corner_to_be_dragged() {
    let mut gui = computed(marker());
    gui.state_mut().session.select([]);
    gui.run();
    press_button(&mut gui, "Assumed holds");
    press_button(&mut gui, "Pull-off curve of vacuum under faces, both halves");
    assert_eq!(gui.state().view.tab, Tab::PullOff);
    assert!(gui.query_by_label("Edit curve").is_none());
    let from = handle(&gui, 3);
    drag(&mut gui, from, from + vec2(-10.0, -30.0));
    let holds = &gui.state().session.document().holds;
    assert!(holds.vacuum_mpa > 0.0 && holds.vacuum_mpa <= 0.101325, "{}", holds.vacuum_mpa);
    assert!(holds.air_gap_mm < 0.05, "{}", holds.air_gap_mm);
    assert_eq!(steps(&gui), 1);
}

#[test]
fn a_new_pin_like_a_measured_one_is_computed() {
    let mut gui = measured();
    press(&mut gui, Modifiers::NONE, Key::Escape);
    let project = gui.state().session.document().clone();
    let (last, _) = project.features.last_key_value().unwrap();
    gui.state_mut().session.select([*last]);
    gui.run();
    click(&mut gui, "Edit curve");
    click(&mut gui, "Keying pin");
    let at = crate::harness::to_screen(&gui, 100.0, 60.0);
    crate::harness::click_at(&mut gui, at, Modifiers::NONE);
    let project = gui.state().session.document();
    assert!(project.features[last].measured.is_some());
    assert_eq!(project.features.len(), 3);
    assert_eq!(project.features.last_key_value().unwrap().1.measured, None);
}
