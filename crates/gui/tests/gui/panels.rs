//! The panels: numbers, verdict, findings, holds, the opening.

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use keepside_app::Tab;
use keepside_model::{Half, Id};

use crate::harness::{Gui, click, computed, marker, on, press, selected, settle, steps, type_into};

/// Whether a text that starts like this is on the screen.
fn shows(gui: &Gui, start: &str) -> bool {
    gui.get_all_by(|_| true).any(|node| {
        let node = node.accesskit_node();
        let text = node.value().or(node.label()).unwrap_or_default();
        text.starts_with(start)
    })
}

#[test]
fn a_number_is_edited_as_one_undo_step() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    type_into(&mut gui, Role::SpinButton, "Protrusion", "1.25");
    assert_eq!(gui.state().session.document().features[&Id(5)].protrusion_mm, 1.25);
    assert_eq!(steps(&gui), 1);
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    assert_eq!(gui.state().session.document().features[&Id(5)].protrusion_mm, 1.8);
}

#[test]
fn a_number_out_of_range_goes_to_the_end_of_its_range() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    type_into(&mut gui, Role::SpinButton, "Protrusion", "5000");
    assert_eq!(gui.state().session.document().features[&Id(5)].protrusion_mm, 50.0);
    type_into(&mut gui, Role::SpinButton, "Protrusion", "nan");
    assert_eq!(gui.state().session.document().features[&Id(5)].protrusion_mm, 50.0);
}

#[test]
fn a_number_is_read_with_a_decimal_comma_and_its_unit() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    for (typed, protrusion_mm) in
        [("1,25", 1.25), ("2 mm", 2.0), ("5000 mm", 50.0), ("1/8 in", 3.175), ("3 apples", 3.175)]
    {
        type_into(&mut gui, Role::SpinButton, "Protrusion", typed);
        let pin = &gui.state().session.document().features[&Id(5)];
        assert_eq!(pin.protrusion_mm, protrusion_mm, "{typed}");
    }
}

/// Opens the list of halves of the selected pin.
fn open_list(gui: &mut Gui) {
    gui.get_by_role_and_label(Role::ComboBox, "Set into").click();
    gui.run();
    gui.get_by_label("fixed half");
}

#[test]
fn keys_in_an_open_list_leave_the_plan_alone() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    let before = gui.state().session.document().clone();
    for key in [Key::ArrowDown, Key::Delete, Key::K] {
        open_list(&mut gui);
        press(&mut gui, Modifiers::NONE, key);
        assert_eq!(gui.state().session.document(), &before, "{key:?}");
        assert_eq!(gui.state().view.tool, keepside_app::Tool::Select);
        press(&mut gui, Modifiers::NONE, Key::Escape);
        // Escape closes the list, the pin stays selected.
        assert!(gui.query_by_label("fixed half").is_none());
        assert_eq!(selected(&gui), [5]);
    }
    click(&mut gui, "File");
    press(&mut gui, Modifiers::NONE, Key::Escape);
    assert!(gui.query_by_label_contains("Save as…").is_none());
    assert_eq!(selected(&gui), [5]);
}

#[test]
fn keys_in_a_number_field_leave_the_plan_alone() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    let before = gui.state().session.document().clone();
    for key in [Key::Delete, Key::Backspace, Key::K, Key::Escape] {
        gui.get_by_role_and_label(Role::SpinButton, "Protrusion").focus();
        gui.run();
        press(&mut gui, Modifiers::NONE, key);
        assert_eq!(gui.state().session.document(), &before, "{key:?}");
        assert_eq!(gui.state().view.tool, keepside_app::Tool::Select);
        assert_eq!(selected(&gui), [5], "{key:?}");
    }
    // The field has let go of the keyboard: now the keys are the plan's again.
    press(&mut gui, Modifiers::NONE, Key::Backspace);
    assert_eq!(gui.state().session.document(), &before);
    press(&mut gui, Modifiers::NONE, Key::Escape);
    assert_eq!(selected(&gui), [0; 0]);
}

#[test]
fn keys_on_a_button_with_the_keyboard_leave_the_plan_alone() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    gui.get_by_label("Holds").focus();
    gui.run();
    press(&mut gui, Modifiers::NONE, Key::Delete);
    press(&mut gui, Modifiers::NONE, Key::Escape);
    assert_eq!(selected(&gui), [5]);
    press(&mut gui, Modifiers::NONE, Key::Delete);
    assert!(gui.query_by_label("Keying pin K5").is_none());
}

#[test]
fn a_name_typed_letter_by_letter_is_one_undo_step() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    let field = gui.get_by_role_and_label(Role::TextInput, "Name");
    field.focus();
    gui.run();
    for letter in ["l", "e", "f", "t"] {
        gui.event(egui::Event::Text(letter.to_owned()));
        gui.run();
    }
    gui.key_press(Key::Enter);
    gui.run();
    assert_eq!(gui.state().session.document().title(Id(5)), "K5 left");
    assert_eq!(steps(&gui), 1);
    // Letters in a text field are no shortcuts, and deleting a letter deletes no pin.
    assert_eq!(selected(&gui), [5]);
}

#[test]
fn the_half_of_a_pin_is_chosen_from_a_list() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    gui.get_by_role_and_label(Role::ComboBox, "Set into").click();
    gui.run();
    click(&mut gui, "fixed half");
    assert_eq!(gui.state().session.document().features[&Id(5)].half, Half::Fixed);
    assert_eq!(steps(&gui), 1);
}

#[test]
fn with_nothing_selected_the_project_itself_is_edited() {
    let mut gui = on(marker());
    type_into(&mut gui, Role::SpinButton, "Depth in moving half", "75");
    assert_eq!(gui.state().session.document().part.moving_share, 0.75);
    // It lies below what is scrolled into view.
    gui.get_by_label("Press").click_accesskit();
    gui.run();
    type_into(&mut gui, Role::SpinButton, "Opening stroke", "130");
    assert_eq!(gui.state().session.document().press.stroke_mm, 130.0);
}

#[test]
fn the_verdict_is_in_sight_and_changes_with_the_layout() {
    let mut gui = computed(marker());
    let words = |gui: &Gui| match gui.state().session.results().opening() {
        Some(Ok(opening)) => opening.verdict.words.clone(),
        other => panic!("no opening: {other:?}"),
    };
    let with_pins = words(&gui);
    assert!(shows(&gui, &capital(&with_pins)), "{with_pins:?} is not shown");
    // Without the pins nothing keys the part to the moving half: it follows the sprues (common
    // practice, no source).
    gui.state_mut().session.select([Id(5), Id(6)]);
    press(&mut gui, Modifiers::NONE, Key::Delete);
    settle(&mut gui);
    let without_pins = words(&gui);
    assert_ne!(with_pins, without_pins);
    assert!(shows(&gui, &capital(&without_pins)), "{without_pins:?} is not shown");
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().unwrap().to_uppercase().chain(letters).collect()
}

#[test]
fn a_click_on_a_finding_selects_what_it_speaks_of() {
    let mut project = marker();
    // A screw as wide as the channel leaves no gap for the plastic.
    project.features.get_mut(&Id(5)).unwrap().kind =
        keepside_model::FeatureKind::PlainPost { diameter_mm: 5.8 };
    let mut gui = computed(project);
    let revision = gui.state().session.revision();
    let message = gui
        .state()
        .session
        .results()
        .findings(revision)
        .iter()
        .find(|(finding, _)| finding.items.first() == Some(&Id(5)))
        .map(|(finding, _)| finding.message.clone())
        .expect("a post that fills the channel is a finding");
    click(&mut gui, &capital(&message));
    assert!(selected(&gui).contains(&5), "{:?}", selected(&gui));
}

#[test]
fn a_cure_is_applied_by_one_click_as_one_undo_step() {
    let mut project = marker();
    // Off the middle of a 6 mm channel: 0.3 mm are left between a 3 mm screw and the wall.
    project.features.get_mut(&Id(5)).unwrap().at.y = 61.2;
    let mut gui = computed(project);
    let before = gui.state().session.document().clone();
    let revision = gui.state().session.revision();
    let cures: Vec<_> = gui
        .state()
        .session
        .results()
        .findings(revision)
        .iter()
        .filter_map(|(finding, _)| finding.cure_edit.clone())
        .collect();
    assert!(!cures.is_empty(), "a pin off the middle can be cured by moving it");
    gui.get_all_by_label("Do it").next().unwrap().click();
    gui.run();
    let mut cured = keepside_model::Project::clone(&before);
    cured.apply(&cures[0]).unwrap();
    assert_eq!(**gui.state().session.document(), cured);
    assert_eq!(steps(&gui), 1);
}

#[test]
fn a_click_on_a_hold_selects_its_item() {
    let mut gui = computed(marker());
    click(&mut gui, "Holds");
    // It lies below what is scrolled into view.
    gui.get_by_label("Set screw K6 (moving half)").click_accesskit();
    gui.run();
    assert_eq!(selected(&gui), [6]);
    assert!(shows(&gui, "holds"));
}

#[test]
fn the_slider_sets_the_opening_shown() {
    let mut gui = computed(marker());
    gui.get_by_role_and_label(Role::Slider, "Opening").set_value_accesskit(42.0);
    gui.run();
    assert!((gui.state().view.opening_mm - 42.0).abs() < 0.5, "{}", gui.state().view.opening_mm);
}

#[test]
fn playing_opens_the_mould_to_the_full_stroke_and_stops() {
    let mut gui = computed(marker());
    click_step(&mut gui, "Play opening");
    gui.run_steps(3);
    assert!(gui.state().view.playing_s.is_some());
    gui.run_steps(400);
    assert_eq!((gui.state().view.opening_mm, gui.state().view.playing_s), (100.0, None));
    gui.run();
}

/// Clicks without waiting for the window to come to rest.
fn click_step(gui: &mut Gui, name: &str) {
    gui.get_by_label(name).click();
    gui.step();
}

#[test]
fn every_tab_can_be_looked_at_in_both_themes() {
    let mut gui = computed(marker());
    for theme in [egui::Theme::Light, egui::Theme::Dark] {
        gui.ctx.set_theme(theme);
        for (name, tab) in [("Holds", Tab::Holds), ("Balance", Tab::Balance), ("Pull-off", Tab::PullOff)] {
            click(&mut gui, name);
            assert_eq!(gui.state().view.tab, tab);
        }
        click(&mut gui, "Keying pin K5");
        click(&mut gui, "Released part");
        click(&mut gui, "×5");
        click(&mut gui, "1:1");
        click(&mut gui, "fitted");
    }
}

#[test]
fn an_idle_window_asks_for_no_frames() {
    let mut gui = computed(marker());
    assert_eq!(gui.run(), 1, "one step and at rest");
}

#[test]
fn what_is_computed_can_be_stopped_and_goes_on_with_compute_or_the_next_change() {
    // So many pins that nothing of it is done before it is stopped.
    let mut gui = on(keepside_app::crowd(400));
    let pin = *gui.state().session.document().features.keys().next().unwrap();
    click(&mut gui, "Stop");
    assert!(shows(&gui, "Stopped: not computed for this layout"));
    assert!(gui.state().is_settled() && gui.query_by_label("Stop").is_none());
    click(&mut gui, "Compute");
    assert!(gui.query_by_label("Compute").is_none());

    // By key once nothing else wants it: the first takes the selection.
    gui.state_mut().session.select([pin]);
    press(&mut gui, Modifiers::NONE, Key::Escape);
    assert!(selected(&gui).is_empty() && gui.query_by_label("Stop").is_some());
    press(&mut gui, Modifiers::NONE, Key::Escape);
    assert!(shows(&gui, "Stopped: "));

    // Everything else works meanwhile, and a change computes as ever.
    gui.state_mut().session.select([pin]);
    gui.run();
    assert!(shows(&gui, "Stopped: "));
    press(&mut gui, Modifiers::NONE, Key::ArrowRight);
    assert!(gui.query_by_label("Stop").is_some() && !shows(&gui, "Stopped: "));
}
