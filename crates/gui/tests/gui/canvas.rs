//! The plan: selecting, dragging, nudging, adding, deleting, looking.

use egui::accesskit::Role;
use egui::{Event, Key, Modifiers, MouseWheelSource, MouseWheelUnit, PointerButton, TouchPhase, Vec2, vec2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use glam::DVec2;
use keepside_app::Tool;
use keepside_model::{Id, Project};

use crate::harness::{
    at, click, click_at, computed, drag, marker, on, place_of, press, px, selected, steps, to_screen,
};

#[test]
fn dragging_a_pin_moves_it_by_as_much_as_the_pointer_in_one_undo_step() {
    let mut gui = computed(marker());
    let from = place_of(&gui, "Keying pin K5");
    let to = from - vec2(px(&gui, 8.0), 0.0);
    drag(&mut gui, from, to);
    assert_eq!(at(&gui, 5), DVec2::new(72.0, 60.0));
    assert_eq!((selected(&gui), steps(&gui)), (vec![5], 1));
    let now = place_of(&gui, "Keying pin K5");
    assert!((now - to).length() < 1.0, "the pin is at {now:?} and not at {to:?}");

    press(&mut gui, Modifiers::COMMAND, Key::Z);
    assert_eq!(at(&gui, 5), DVec2::new(80.0, 60.0));
    press(&mut gui, Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    assert_eq!(at(&gui, 5), DVec2::new(72.0, 60.0));
    click(&mut gui, "Undo");
    assert_eq!(at(&gui, 5), DVec2::new(80.0, 60.0));
    press(&mut gui, Modifiers::COMMAND, Key::Y);
    assert_eq!(at(&gui, 5), DVec2::new(72.0, 60.0));
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    click(&mut gui, "Redo");
    assert_eq!(at(&gui, 5), DVec2::new(72.0, 60.0));
}

#[test]
fn a_dragged_pin_jumps_onto_the_centre_line_and_the_grid() {
    let mut gui = on(marker());
    let from = place_of(&gui, "Keying pin K5");
    // 7.7 mm to the left and a little off the centre line.
    let to = from - vec2(px(&gui, 7.7), px(&gui, 0.9));
    drag(&mut gui, from, to);
    assert_eq!(at(&gui, 5), DVec2::new(72.0, 60.0));
    // Far off the channel only the grid remains.
    let from = place_of(&gui, "Keying pin K5");
    let to = from - vec2(0.0, px(&gui, 20.2));
    drag(&mut gui, from, to);
    assert_eq!(at(&gui, 5), DVec2::new(72.0, 80.0));
}

#[test]
fn without_snapping_a_pin_goes_where_the_pointer_goes() {
    let mut gui = on(marker());
    click(&mut gui, "Snap");
    let from = place_of(&gui, "Keying pin K5");
    let by = vec2(px(&gui, 3.3), -px(&gui, 0.7));
    drag(&mut gui, from, from + by);
    assert!(at(&gui, 5).distance(DVec2::new(83.3, 60.7)) < 0.02, "{}", at(&gui, 5));
}

#[test]
fn escape_in_the_middle_of_a_drag_puts_everything_back() {
    let mut gui = on(marker());
    let from = place_of(&gui, "Keying pin K5");
    gui.hover_at(from);
    gui.drag_at(from);
    for step in 1..=10_u8 {
        gui.hover_at(from + vec2(f32::from(step) * 4.0, 0.0));
    }
    gui.run();
    assert!(at(&gui, 5).x > 85.0, "the drag is under way");
    press(&mut gui, Modifiers::NONE, Key::Escape);
    assert_eq!(at(&gui, 5), DVec2::new(80.0, 60.0));
    gui.hover_at(from + vec2(60.0, 0.0));
    gui.drop_at(from + vec2(60.0, 0.0));
    gui.run();
    assert_eq!((at(&gui, 5), steps(&gui)), (DVec2::new(80.0, 60.0), 0));
}

#[test]
fn what_is_selected_together_is_dragged_together() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    let at_k6 = place_of(&gui, "Keying pin K6");
    gui.event(Event::ModifiersChanged(Modifiers::SHIFT));
    click_at(&mut gui, at_k6, Modifiers::SHIFT);
    gui.event(Event::ModifiersChanged(Modifiers::NONE));
    gui.run();
    assert_eq!(selected(&gui), [5, 6]);
    let from = place_of(&gui, "Keying pin K6");
    let to = from + vec2(px(&gui, 5.0), 0.0);
    drag(&mut gui, from, to);
    assert_eq!((at(&gui, 5).x, at(&gui, 6).x, steps(&gui)), (85.0, 125.0, 1));
}

#[test]
fn arrow_keys_nudge_by_a_grid_step_and_with_shift_by_a_tenth() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    press(&mut gui, Modifiers::NONE, Key::ArrowRight);
    assert_eq!(at(&gui, 5), DVec2::new(81.0, 60.0));
    press(&mut gui, Modifiers::NONE, Key::ArrowUp);
    press(&mut gui, Modifiers::SHIFT, Key::ArrowLeft);
    assert_eq!(at(&gui, 5), DVec2::new(80.9, 61.0));
    assert_eq!(steps(&gui), 3, "each press is a step");
    for _ in 0..10 {
        press(&mut gui, Modifiers::SHIFT, Key::ArrowDown);
    }
    assert_eq!(at(&gui, 5), DVec2::new(80.9, 60.0), "tenths add up without a rest");
}

#[test]
fn a_click_on_the_plan_takes_the_keyboard_from_a_text_field() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    gui.get_by_role_and_label(Role::TextInput, "Name").focus();
    gui.run();
    press(&mut gui, Modifiers::NONE, Key::ArrowRight);
    assert_eq!(at(&gui, 5).x, 80.0, "the arrow key moves the text cursor");
    let pin = place_of(&gui, "Keying pin K6");
    click_at(&mut gui, pin, Modifiers::NONE);
    press(&mut gui, Modifiers::NONE, Key::ArrowRight);
    assert_eq!((at(&gui, 5).x, at(&gui, 6).x), (80.0, 121.0));
}

#[test]
fn pins_are_reached_and_nudged_by_keys_alone() {
    let mut gui = on(marker());
    gui.get_by_label("Keying pin K6").focus();
    gui.run();
    press(&mut gui, Modifiers::NONE, Key::Enter);
    assert_eq!(selected(&gui), [6]);
    press(&mut gui, Modifiers::NONE, Key::ArrowLeft);
    assert_eq!(at(&gui, 6).x, 119.0);
    assert!(gui.get_by_label("Keying pin K6").is_focused(), "the arrow did not move the keyboard on");
}

#[test]
fn arrow_keys_belong_to_the_slider_that_has_the_keyboard() {
    let mut gui = computed(marker());
    click(&mut gui, "Keying pin K5");
    gui.get_by_role_and_label(Role::Slider, "Opening").focus();
    gui.run();
    press(&mut gui, Modifiers::NONE, Key::ArrowRight);
    assert_eq!(at(&gui, 5).x, 80.0);
    assert!(gui.state().view.opening_mm > 10.0);
}

#[test]
fn the_middle_button_pans_even_on_a_pin() {
    let mut gui = on(marker());
    let before = gui.state().view.camera.unwrap();
    let from = place_of(&gui, "Keying pin K5");
    let button = PointerButton::Middle;
    gui.hover_at(from);
    gui.event(Event::PointerButton { pos: from, button, pressed: true, modifiers: Modifiers::NONE });
    for step in 1..=10_u8 {
        gui.hover_at(from + vec2(f32::from(step) * 5.0, 0.0));
    }
    let to = from + vec2(50.0, 0.0);
    gui.event(Event::PointerButton { pos: to, button, pressed: false, modifiers: Modifiers::NONE });
    gui.run();
    let moved = before.centre.x - gui.state().view.camera.unwrap().centre.x;
    assert!(moved * before.px_per_mm > 40.0, "panned by {moved} mm");
    assert_eq!((at(&gui, 5).x, steps(&gui)), (80.0, 0));
}

#[test]
fn a_key_held_down_is_one_undo_step() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    for repeat in [false, true, true, true] {
        let key = Key::ArrowRight;
        gui.event(Event::Key { key, physical_key: None, pressed: true, repeat, modifiers: Modifiers::NONE });
        gui.run();
    }
    assert_eq!((at(&gui, 5).x, steps(&gui)), (84.0, 1));
}

#[test]
fn a_pin_a_gate_and_a_vent_are_added_by_tool_where_they_belong() {
    let mut gui = on(marker());
    for (tool, click_mm, name, id, at_mm) in [
        ("Keying pin", (100.2, 61.4), "Keying pin K8", 8, (100.0, 60.0)),
        ("Gate", (90.1, 58.9), "Sprue S9", 9, (90.0, 60.0)),
        ("Vent", (110.3, 62.5), "Vent V10", 10, (110.0, 63.0)),
    ] {
        click(&mut gui, tool);
        assert_ne!(gui.state().view.tool, Tool::Select);
        let place = to_screen(&gui, click_mm.0, click_mm.1);
        click_at(&mut gui, place, Modifiers::NONE);
        gui.get_by_label(name);
        assert_eq!(at(&gui, id), DVec2::from(at_mm), "{name}");
        assert_eq!((selected(&gui), gui.state().view.tool), (vec![id], Tool::Select));
    }
    assert_eq!(steps(&gui), 3);
}

#[test]
fn a_new_pin_is_like_the_newest_one() {
    let mut gui = on(marker());
    press(&mut gui, Modifiers::NONE, Key::K);
    let place = to_screen(&gui, 100.0, 60.0);
    click_at(&mut gui, place, Modifiers::NONE);
    let project = gui.state().session.document();
    let (old, new) = (&project.features[&Id(6)], &project.features[&Id(8)]);
    assert_eq!((new.kind, new.half, new.protrusion_mm), (old.kind, old.half, old.protrusion_mm));
}

#[test]
fn delete_removes_what_is_selected_and_undo_brings_it_back() {
    let mut gui = on(marker());
    click(&mut gui, "Vent V4");
    press(&mut gui, Modifiers::NONE, Key::Delete);
    assert!(gui.query_by_label("Vent V4").is_none());
    assert_eq!(selected(&gui), [0; 0]);
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    gui.get_by_label("Vent V4");
}

#[test]
fn clicking_the_channel_selects_the_run_and_the_ground_selects_nothing() {
    let mut gui = on(marker());
    let channel = to_screen(&gui, 100.0, 60.0);
    click_at(&mut gui, channel, Modifiers::NONE);
    assert_eq!(selected(&gui), [1]);
    let ground = to_screen(&gui, 100.0, 20.0);
    click_at(&mut gui, ground, Modifiers::NONE);
    assert_eq!(selected(&gui), [0; 0]);
}

#[test]
fn a_second_click_reaches_what_lies_under_a_pin() {
    let mut project = marker();
    project.features.get_mut(&Id(5)).unwrap().at.x = 65.0;
    let mut gui = on(project);
    let both = to_screen(&gui, 65.0, 60.0);
    click_at(&mut gui, both, Modifiers::NONE);
    assert_eq!(selected(&gui), [5]);
    gui.run_steps(60);
    click_at(&mut gui, both, Modifiers::NONE);
    assert_eq!(selected(&gui), [2], "the sprue opposite");
}

#[test]
fn the_end_of_a_run_is_dragged() {
    let mut gui = on(marker());
    click(&mut gui, "Run R1");
    let from = place_of(&gui, "Run R1 point 2");
    let to = from + vec2(px(&gui, 10.0), 0.0);
    drag(&mut gui, from, to);
    let run = &gui.state().session.document().part.runs[&Id(1)];
    assert_eq!(run.points.iter().map(|point| point.at.x).collect::<Vec<_>>(), [40.0, 170.0]);
    assert_eq!(steps(&gui), 1);
}

#[test]
fn dragging_the_ground_with_the_right_button_pans_and_changes_no_data() {
    let mut gui = on(marker());
    let before = gui.state().view.camera.unwrap();
    let document = gui.state().session.document().clone();
    let from = to_screen(&gui, 100.0, 20.0);
    let to = from + vec2(40.0, -20.0);
    let button = PointerButton::Secondary;
    gui.hover_at(from);
    gui.event(Event::PointerButton { pos: from, button, pressed: true, modifiers: Modifiers::NONE });
    for step in 1..=20_u8 {
        gui.hover_at(from + (to - from) * (f32::from(step) / 20.0));
    }
    gui.event(Event::PointerButton { pos: to, button, pressed: false, modifiers: Modifiers::NONE });
    gui.run();
    let moved = gui.state().view.camera.unwrap().centre - before.centre;
    let expected = DVec2::new(-40.0, -20.0) / before.px_per_mm;
    assert!(moved.distance(expected) < 0.01, "{moved} instead of {expected}");
    assert_eq!(gui.state().session.document(), &document);
}

#[test]
fn the_wheel_zooms_about_the_pointer_and_a_double_click_fits_again() {
    let mut gui = on(marker());
    let before = gui.state().view.camera.unwrap();
    let at = to_screen(&gui, 150.0, 30.0);
    gui.hover_at(at);
    gui.event(Event::MouseWheel {
        unit: MouseWheelUnit::Point,
        delta: Vec2::new(0.0, 100.0),
        phase: TouchPhase::Move,
        source: MouseWheelSource::Wheel,
        modifiers: Modifiers::NONE,
    });
    gui.run();
    let after = gui.state().view.camera.unwrap();
    assert!(after.px_per_mm > 1.1 * before.px_per_mm);
    assert!((to_screen(&gui, 150.0, 30.0) - at).length() < 0.1);
    let ground = to_screen(&gui, 150.0, 30.0);
    click_at(&mut gui, ground, Modifiers::NONE);
    click_at(&mut gui, ground, Modifiers::NONE);
    gui.run();
    assert_eq!(gui.state().view.camera.unwrap(), before);
}

#[test]
fn everything_on_the_plan_has_a_name() {
    let gui = on(marker());
    for name in
        ["Run R1", "Sprue S2", "Sprue S3", "Vent V4", "Keying pin K5", "Keying pin K6", "Bolt H7", "Plan"]
    {
        gui.get_by_label(name);
    }
}

#[test]
fn a_run_without_length_says_why_no_opening_is_computed() {
    let mut project = marker();
    project.part.runs.get_mut(&Id(1)).unwrap().points.truncate(1);
    let gui = computed(project);
    let Some(Err(reason)) = gui.state().session.results().opening() else {
        panic!("a run without length was computed");
    };
    let words = reason.to_string();
    let shown = |node: &egui_kittest::Node<'_>| {
        let node = node.accesskit_node();
        let text = node.value().or(node.label()).unwrap_or_default();
        text.to_lowercase() == words.to_lowercase()
    };
    assert!(gui.get_all_by(|_| true).any(|node| shown(&node)), "{words:?} is not shown");
}

#[test]
fn an_empty_project_is_no_trouble() {
    let mut project = Project::blank();
    project.part.runs.clear();
    let mut gui = on(project);
    press(&mut gui, Modifiers::NONE, Key::K);
    let place = to_screen(&gui, 50.0, 50.0);
    click_at(&mut gui, place, Modifiers::NONE);
    assert_eq!(at(&gui, 1), DVec2::new(50.0, 50.0));
}
