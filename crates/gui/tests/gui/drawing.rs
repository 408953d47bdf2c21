//! Drawing the part: runs point by point with pointer and numbers, shapes, points, splitting, joining, measuring.

use egui::accesskit::Role;
use egui::{Event, Key, Modifiers, PointerButton, Pos2, vec2};
use egui_kittest::kittest::Queryable as _;
use glam::DVec2;
use keepside_app::Tool;
use keepside_model::{EndShape, Id, Project, Run};
use keepside_session::run_length_mm;

use crate::harness::{
    Gui, click, click_at, drag, marker, menu, on, place_of, press, px, selected, steps, texts, to_screen,
    type_into,
};

/// A project without a part.
pub(crate) fn empty() -> Project {
    let mut project = Project::blank();
    project.part.runs.clear();
    project
}

/// A click at a place of the plan, far enough in time from the last not to be a double click.
fn click_mm(gui: &mut Gui, x: f64, y: f64) {
    gui.run_steps(25);
    let place = to_screen(gui, x, y);
    click_at(gui, place, Modifiers::NONE);
}

fn right_click(gui: &mut Gui, at: Pos2) {
    let (button, modifiers) = (PointerButton::Secondary, Modifiers::NONE);
    for pressed in [true, false] {
        gui.hover_at(at);
        gui.event(Event::PointerButton { pos: at, button, pressed, modifiers });
    }
    gui.run();
}

fn hover_mm(gui: &mut Gui, x: f64, y: f64) {
    let place = to_screen(gui, x, y);
    gui.hover_at(place);
    gui.run();
}

fn key(gui: &mut Gui, key: Key) {
    press(gui, Modifiers::NONE, key);
}

/// Types as a keyboard does, a character at a time.
fn type_text(gui: &mut Gui, text: &str) {
    for character in text.chars() {
        gui.event(Event::Text(character.to_string()));
        gui.run();
    }
}

fn run(gui: &Gui, id: u32) -> Run {
    gui.state().session.document().part.runs[&Id(id)].clone()
}

fn points(gui: &Gui, id: u32) -> Vec<(f64, f64)> {
    run(gui, id).points.iter().map(|point| point.at.into()).collect()
}

fn says(gui: &Gui, words: &str) -> bool {
    texts(gui).iter().any(|text| text.contains(words))
}

#[test]
fn a_run_is_clicked_out_and_ended_with_escape_in_one_undo_step() {
    let mut gui = on(empty());
    click(&mut gui, "Draw run");
    for (x, y) in [(40.0, 30.0), (100.3, 30.2), (100.0, 80.0)] {
        click_mm(&mut gui, x, y);
    }
    assert_eq!(steps(&gui), 0, "nothing is in the project before the run is done");
    key(&mut gui, Key::Escape);
    assert_eq!(points(&gui, 1), [(40.0, 30.0), (100.0, 30.0), (100.0, 80.0)]);
    let drawn = run(&gui, 1);
    assert_eq!(
        (drawn.points[0].width_mm, drawn.points[0].depth_mm, drawn.start),
        (6.0, 3.0, EndShape::Round)
    );
    assert_eq!((steps(&gui), selected(&gui), gui.state().view.tool), (1, vec![1], Tool::Select));
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    assert!(gui.state().session.document().part.runs.is_empty());
}

#[test]
fn a_double_click_or_a_right_click_ends_the_run_as_well() {
    for by_right_click in [false, true] {
        let mut gui = on(empty());
        key(&mut gui, Key::R);
        click_mm(&mut gui, 40.0, 30.0);
        click_mm(&mut gui, 90.0, 30.0);
        let at = to_screen(&gui, 90.0, 30.0);
        if by_right_click {
            right_click(&mut gui, at);
        } else {
            click_at(&mut gui, at, Modifiers::NONE);
        }
        assert_eq!(points(&gui, 1), [(40.0, 30.0), (90.0, 30.0)], "{by_right_click}");
        assert_eq!(gui.state().view.tool, Tool::Select);
    }
}

#[test]
fn typed_numbers_set_length_and_angle_without_the_pointer() {
    let mut gui = on(empty());
    key(&mut gui, Key::R);
    // The first point by its place, then lengths and angles; a decimal comma counts.
    type_text(&mut gui, "20");
    key(&mut gui, Key::Tab);
    type_text(&mut gui, "30,5");
    key(&mut gui, Key::Enter);
    type_text(&mut gui, "62,5");
    assert!(says(&gui, "Length 62,5| mm"), "{:?}", texts(&gui));
    key(&mut gui, Key::Tab);
    type_text(&mut gui, "0");
    key(&mut gui, Key::Enter);
    type_text(&mut gui, "40<90");
    key(&mut gui, Key::Enter);
    type_text(&mut gui, "10<45");
    key(&mut gui, Key::Enter);
    // The last one was wrong.
    key(&mut gui, Key::Backspace);
    key(&mut gui, Key::Escape);
    assert_eq!(points(&gui, 1), [(20.0, 30.5), (82.5, 30.5), (82.5, 70.5)]);
    assert_eq!(steps(&gui), 1);
}

#[test]
fn the_rubber_band_tells_length_and_angle_and_undo_takes_back_a_point() {
    let mut gui = on(empty());
    key(&mut gui, Key::R);
    click_mm(&mut gui, 40.0, 30.0);
    hover_mm(&mut gui, 40.0, 60.0);
    assert!(says(&gui, "Length 30.00 mm, angle 90.0°"), "{:?}", texts(&gui));
    click_mm(&mut gui, 40.0, 60.0);
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    hover_mm(&mut gui, 70.0, 30.0);
    assert!(says(&gui, "Length 30.00 mm, angle 0.0°"), "{:?}", texts(&gui));
    click(&mut gui, "Take back");
    click(&mut gui, "Select");
    assert!(gui.state().session.document().part.runs.is_empty(), "one point is no run");
}

#[test]
fn with_shift_a_run_goes_in_steps_of_fifteen_degrees() {
    let mut gui = on(empty());
    key(&mut gui, Key::R);
    click_mm(&mut gui, 40.0, 30.0);
    gui.run_steps(25);
    gui.event(Event::ModifiersChanged(Modifiers::SHIFT));
    let place = to_screen(&gui, 80.0, 33.0);
    click_at(&mut gui, place, Modifiers::SHIFT);
    gui.event(Event::ModifiersChanged(Modifiers::NONE));
    key(&mut gui, Key::Escape);
    assert_eq!(points(&gui, 1), [(40.0, 30.0), (80.0, 30.0)]);
}

#[test]
fn a_run_that_ends_on_another_makes_a_tee() {
    let mut gui = on(Project::blank());
    key(&mut gui, Key::R);
    click_mm(&mut gui, 100.0, 100.0);
    // A little beside the centre line of R1.
    click_mm(&mut gui, 100.3, 61.2);
    key(&mut gui, Key::Escape);
    assert_eq!(points(&gui, 2), [(100.0, 100.0), (100.0, 60.0)]);
    crate::harness::settle(&mut gui);
    assert!(matches!(gui.state().session.results().opening(), Some(Ok(_))), "one moulding");
}

#[test]
fn a_click_on_the_first_point_closes_the_run_to_a_ring() {
    let mut gui = on(empty());
    key(&mut gui, Key::R);
    for (x, y) in [(40.0, 30.0), (100.0, 30.0), (100.0, 80.0), (40.4, 30.6)] {
        click_mm(&mut gui, x, y);
    }
    assert_eq!(points(&gui, 1), [(40.0, 30.0), (100.0, 30.0), (100.0, 80.0), (40.0, 30.0)]);
    assert_eq!(gui.state().view.tool, Tool::Select);
}

#[test]
fn an_arc_takes_its_end_and_then_its_bend_or_its_radius() {
    let mut gui = on(empty());
    key(&mut gui, Key::R);
    click_mm(&mut gui, 40.0, 30.0);
    key(&mut gui, Key::A);
    click_mm(&mut gui, 80.0, 30.0);
    click_mm(&mut gui, 60.0, 40.0);
    // Another by its radius, on the side of the pointer.
    click_mm(&mut gui, 120.0, 30.0);
    hover_mm(&mut gui, 100.0, 20.0);
    type_text(&mut gui, "20");
    key(&mut gui, Key::Enter);
    key(&mut gui, Key::Escape);
    let bulges: Vec<f64> = run(&gui, 1).points.iter().map(|point| point.bulge).collect();
    assert!((bulges[0] + 0.5).abs() < 0.02, "pulled up by half of half the chord: {bulges:?}");
    assert!((bulges[1] - 1.0).abs() < 1e-9 && bulges[2] == 0.0, "{bulges:?}");
}

#[test]
fn the_channel_of_a_new_run_can_be_set_before_it_is_drawn() {
    let mut gui = on(empty());
    click(&mut gui, "Draw run");
    type_into(&mut gui, Role::SpinButton, "New channel width", "4,5");
    type_into(&mut gui, Role::SpinButton, "New channel depth", "2");
    click_mm(&mut gui, 60.0, 30.0);
    click_mm(&mut gui, 110.0, 30.0);
    click(&mut gui, "Finish");
    let point = run(&gui, 1).points[0];
    assert_eq!((point.width_mm, point.depth_mm), (4.5, 2.0));
}

#[test]
fn shapes_are_placed_by_one_click_in_the_size_asked_for() {
    let mut gui = on(empty());
    click(&mut gui, "Shapes");
    gui.get_by(|node| node.label().is_some_and(|label| label.starts_with("Frame"))).click();
    gui.run();
    type_into(&mut gui, Role::SpinButton, "Frame length", "60");
    type_into(&mut gui, Role::SpinButton, "Frame height", "40");
    click_mm(&mut gui, 120.0, 50.0);
    assert_eq!(points(&gui, 1), [(90.0, 30.0), (150.0, 30.0), (150.0, 70.0), (90.0, 70.0), (90.0, 30.0)]);
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    for (letter, runs, length_mm) in
        [(Key::O, 1, 60.0 * std::f64::consts::PI), (Key::T, 2, 120.0), (Key::X, 2, 130.0)]
    {
        key(&mut gui, letter);
        click_mm(&mut gui, 120.0, 55.0);
        let drawn = &gui.state().session.document().part.runs;
        let whole_mm: f64 = drawn.values().map(run_length_mm).sum();
        assert!(drawn.len() == runs && (whole_mm - length_mm).abs() < 1e-6, "{letter:?}: {whole_mm}");
        assert_eq!((steps(&gui), gui.state().view.tool), (1, Tool::Select));
        press(&mut gui, Modifiers::COMMAND, Key::Z);
    }
}

#[test]
fn a_shape_is_placed_by_keys_alone() {
    let mut gui = on(empty());
    key(&mut gui, Key::O);
    key(&mut gui, Key::Enter);
    assert_eq!(gui.state().session.document().part.runs.len(), 1);
}

#[test]
fn a_double_click_on_a_run_puts_a_point_in_and_delete_takes_it_out() {
    let mut gui = on(marker());
    let at = to_screen(&gui, 100.0, 60.8);
    click_at(&mut gui, at, Modifiers::NONE);
    // The round handle in the middle is not in the way beside it.
    gui.run_steps(25);
    let at = to_screen(&gui, 90.0, 61.5);
    click_at(&mut gui, at, Modifiers::NONE);
    click_at(&mut gui, at, Modifiers::NONE);
    let places = points(&gui, 1);
    assert!(places.len() == 3 && (places[1].0 - 90.0).abs() < 0.5 && places[1].1 == 60.0, "{places:?}");
    assert_eq!(steps(&gui), 1);
    gui.get_by_label("Run R1 point 2").focus();
    gui.run();
    key(&mut gui, Key::ArrowUp);
    assert!((points(&gui, 1)[1].1 - 61.0).abs() < 1e-9, "the arrow moves the point alone");
    key(&mut gui, Key::Delete);
    assert_eq!(points(&gui, 1), [(40.0, 60.0), (160.0, 60.0)]);
    // The last two stay.
    gui.get_by_label("Run R1 point 2").focus();
    gui.run();
    key(&mut gui, Key::Delete);
    assert_eq!(points(&gui, 1).len(), 2);
    assert!(says(&gui, "A run keeps two points"), "{:?}", texts(&gui));
}

#[test]
fn the_middle_handle_bends_a_piece_and_a_double_click_makes_it_straight() {
    let mut gui = on(Project::blank());
    click(&mut gui, "Run R1");
    let from = place_of(&gui, "Run R1 bend 1");
    let to = from - vec2(0.0, px(&gui, 12.0));
    drag(&mut gui, from, to);
    let bulge = run(&gui, 1).points[0].bulge;
    // 12 mm over a chord of 120 mm, to the left of the way: it turns to the right.
    assert!((bulge + 0.2).abs() < 1e-9, "{bulge}");
    assert_eq!(steps(&gui), 1);
    gui.run_steps(25);
    let at = place_of(&gui, "Run R1 bend 1");
    click_at(&mut gui, at, Modifiers::NONE);
    click_at(&mut gui, at, Modifiers::NONE);
    assert_eq!(run(&gui, 1).points[0].bulge, 0.0);
    // And by keys alone: 6 mm downwards.
    gui.get_by_label("Run R1 bend 1").focus();
    gui.run();
    for _ in 0..6 {
        key(&mut gui, Key::ArrowDown);
    }
    assert!((run(&gui, 1).points[0].bulge - 0.1).abs() < 1e-9, "{}", run(&gui, 1).points[0].bulge);
    key(&mut gui, Key::Delete);
    assert_eq!((run(&gui, 1).points[0].bulge, selected(&gui)), (0.0, vec![1]));
}

#[test]
fn a_run_is_split_at_a_point_by_its_menu_and_joined_again() {
    let mut gui = on(Project::blank());
    click(&mut gui, "Run R1");
    key(&mut gui, Key::Insert);
    let at = place_of(&gui, "Run R1 point 2");
    right_click(&mut gui, at);
    gui.get_by(|node| node.label().is_some_and(|label| label.starts_with("Split run here"))).click();
    gui.run();
    assert_eq!(
        (points(&gui, 1), points(&gui, 2)),
        (vec![(40.0, 60.0), (100.0, 60.0)], vec![(100.0, 60.0), (160.0, 60.0)])
    );
    assert_eq!(selected(&gui), [1, 2]);
    press(&mut gui, Modifiers::COMMAND, Key::J);
    assert_eq!(points(&gui, 1), [(40.0, 60.0), (100.0, 60.0), (160.0, 60.0)]);
    assert_eq!((selected(&gui), steps(&gui)), (vec![1], 3));
    press(&mut gui, Modifiers::COMMAND, Key::J);
    assert!(says(&gui, "Select two runs to join them"));
}

#[test]
fn a_dragged_end_jumps_onto_the_end_of_another_run() {
    let mut project = Project::blank();
    let other = Run::straight("", DVec2::new(60.3, 90.2), DVec2::new(120.0, 90.0), 6.0, 3.0);
    project.part.runs.insert(Id(2), other);
    let mut gui = on(project);
    click(&mut gui, "Run R1");
    let from = place_of(&gui, "Run R1 point 1");
    let to = to_screen(&gui, 60.9, 89.8);
    drag(&mut gui, from, to);
    assert_eq!(points(&gui, 1)[0], (60.3, 90.2));
}

#[test]
fn all_points_of_the_selected_runs_get_a_channel_in_one_step() {
    let mut project = Project::blank();
    let other = Run::straight("", DVec2::new(40.0, 90.0), DVec2::new(120.0, 90.0), 6.0, 3.0);
    project.part.runs.insert(Id(2), other);
    let mut gui = on(project);
    press(&mut gui, Modifiers::COMMAND, Key::A);
    type_into(&mut gui, Role::SpinButton, "Width of all points", "7,5");
    type_into(&mut gui, Role::SpinButton, "Depth of all points", "4");
    for id in [1, 2] {
        assert!(run(&gui, id).points.iter().all(|point| (point.width_mm, point.depth_mm) == (7.5, 4.0)));
    }
    assert_eq!(steps(&gui), 2);
    gui.get_by_role_and_label(Role::ComboBox, "All ends").click();
    gui.run();
    click(&mut gui, "square");
    assert!(
        [1, 2]
            .iter()
            .all(|id| (run(&gui, *id).start, run(&gui, *id).end) == (EndShape::Square, EndShape::Square))
    );
}

#[test]
fn measuring_snaps_to_middles_and_edges_and_changes_nothing() {
    let mut gui = on(marker());
    key(&mut gui, Key::M);
    // The middle of K5 at x = 80 to the edge of the channel above, at y = 63.
    click_mm(&mut gui, 80.3, 60.2);
    click_mm(&mut gui, 90.0, 63.3);
    assert!(says(&gui, "Distance 10.44 mm, dx 10.00 mm, dy 3.00 mm, angle 16.7°"), "{:?}", texts(&gui));
    assert_eq!((steps(&gui), selected(&gui)), (0, vec![]));
    key(&mut gui, Key::Escape);
    assert_eq!(gui.state().view.tool, Tool::Select);
}

#[test]
fn the_menu_of_a_run_puts_a_point_in_where_it_was_opened() {
    let mut gui = on(marker());
    let at = to_screen(&gui, 112.0, 58.5);
    right_click(&mut gui, at);
    assert_eq!(selected(&gui), [1]);
    gui.get_by(|node| node.label().is_some_and(|label| label.starts_with("Insert point here"))).click();
    gui.run();
    let place = points(&gui, 1)[1];
    assert!((place.0 - 112.0).abs() < 0.3 && place.1 == 60.0, "{place:?}");
}

#[test]
fn the_edit_menu_tells_the_keys() {
    let mut gui = on(marker());
    menu(&mut gui, "Edit", "Select all");
    assert_eq!(selected(&gui).len(), 7);
}
