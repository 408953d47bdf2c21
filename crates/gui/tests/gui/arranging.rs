//! Selecting and arranging: boxes, kinds, lining up, mirroring, copying, locking, renaming, the list, menus.

use egui::accesskit::Role;
use egui::{Event, Key, Modifiers, OutputCommand, PointerButton, Pos2, vec2};
use egui_kittest::kittest::Queryable as _;
use glam::DVec2;
use keepside_model::{Edit, Ejector, EjectorFace, Id, Item, Project};

use crate::harness::{
    Gui, at, click, click_at, drag, marker, menu, on, place_of, press, px, selected, steps, texts, to_screen,
    type_into,
};

const CTRL: Modifiers = Modifiers::COMMAND;
const CTRL_SHIFT: Modifiers = Modifiers::COMMAND.plus(Modifiers::SHIFT);

/// Ejectors E2, E3 and E4 of one size at x = 30, 55 and 100, y = 25, 40 and 29.
fn three() -> Project {
    let mut project = Project::blank();
    for (id, x, y) in [(2, 30.0, 25.0), (3, 55.0, 40.0), (4, 100.0, 29.0)] {
        let pin = Ejector::new(DVec2::new(x, y), 4.0, 100.0, 10.0, EjectorFace::Plain);
        project.apply(&Edit::Add(Id(id), Item::Ejector(pin))).unwrap();
    }
    project
}

fn select(gui: &mut Gui, ids: &[u32]) {
    gui.state_mut().session.select(ids.iter().map(|id| Id(*id)));
    gui.run();
}

fn places(gui: &Gui, ids: &[u32]) -> Vec<(f64, f64)> {
    ids.iter().map(|id| at(gui, *id).into()).collect()
}

fn right_click(gui: &mut Gui, at: Pos2) {
    let (button, modifiers) = (PointerButton::Secondary, Modifiers::NONE);
    for pressed in [true, false] {
        gui.hover_at(at);
        gui.event(Event::PointerButton { pos: at, button, pressed, modifiers });
    }
    gui.run();
}

fn choose(gui: &mut Gui, entry: &str) {
    gui.get_by(|node| node.role() == Role::Button && node.label().is_some_and(|l| l.starts_with(entry)))
        .click();
    gui.run();
}

fn says(gui: &Gui, words: &str) -> bool {
    texts(gui).iter().any(|text| text.contains(words))
}

/// What the program put on the clipboard.
fn copied(gui: &mut Gui) -> String {
    gui.event(Event::Copy);
    gui.step();
    let commands = gui.output().platform_output.commands.clone();
    let text = commands.into_iter().find_map(|command| match command {
        OutputCommand::CopyText(text) => Some(text),
        _ => None,
    });
    gui.run();
    text.expect("something was copied")
}

#[test]
fn a_box_on_the_ground_selects_what_has_its_middle_in_it() {
    let mut gui = on(marker());
    let (from, to) = (to_screen(&gui, 70.0, 50.0), to_screen(&gui, 140.0, 70.0));
    drag(&mut gui, from, to);
    // The run goes on beyond the box.
    assert_eq!((selected(&gui), steps(&gui)), (vec![3, 5, 6], 0));
    let (from, to) = (to_screen(&gui, 60.0, 70.0), to_screen(&gui, 68.0, 50.0));
    gui.event(Event::ModifiersChanged(Modifiers::SHIFT));
    drag(&mut gui, from, to);
    gui.event(Event::ModifiersChanged(Modifiers::NONE));
    gui.run();
    assert_eq!(selected(&gui), [2, 3, 5, 6], "with Shift more");
    let (from, to) = (to_screen(&gui, 30.0, 50.0), to_screen(&gui, 170.0, 75.0));
    drag(&mut gui, from, to);
    assert_eq!(selected(&gui), [1, 2, 3, 4, 5, 6]);
}

#[test]
fn a_selected_run_is_dragged_by_its_channel() {
    let mut gui = on(marker());
    let on_run = to_screen(&gui, 110.0, 61.0);
    click_at(&mut gui, on_run, Modifiers::NONE);
    let to = on_run + vec2(0.0, px(&gui, 10.0));
    drag(&mut gui, on_run, to);
    let run = &gui.state().session.document().part.runs[&Id(1)];
    assert_eq!(run.points.iter().map(|point| point.at.y).collect::<Vec<_>>(), [50.0, 50.0]);
    assert_eq!(steps(&gui), 1);
}

#[test]
fn all_of_a_kind_are_selected_from_the_menu_and_by_key() {
    let mut gui = on(marker());
    click(&mut gui, "Edit");
    click_submenu(&mut gui, "Select by kind", "Keying features");
    assert_eq!(selected(&gui), [5, 6]);
    click(&mut gui, "Sprue S2");
    press(&mut gui, CTRL_SHIFT, Key::A);
    assert_eq!(selected(&gui), [2, 3]);
}

fn click_submenu(gui: &mut Gui, sub: &str, entry: &str) {
    choose(gui, sub);
    choose(gui, entry);
}

#[test]
fn items_are_lined_up_and_spread_by_keys_and_menu() {
    let ids = [2, 3, 4];
    let check = |by: &dyn Fn(&mut Gui), expected: [(f64, f64); 3]| {
        let mut gui = on(three());
        select(&mut gui, &ids);
        by(&mut gui);
        assert_eq!((places(&gui, &ids), steps(&gui)), (expected.to_vec(), 1));
    };
    let key = |key| move |gui: &mut Gui| press(gui, CTRL_SHIFT, key);
    check(&key(Key::ArrowLeft), [(30.0, 25.0), (30.0, 40.0), (30.0, 29.0)]);
    check(&key(Key::ArrowRight), [(100.0, 25.0), (100.0, 40.0), (100.0, 29.0)]);
    check(&key(Key::ArrowUp), [(30.0, 40.0), (55.0, 40.0), (100.0, 40.0)]);
    check(&key(Key::ArrowDown), [(30.0, 25.0), (55.0, 25.0), (100.0, 25.0)]);
    check(&key(Key::H), [(65.0, 25.0), (65.0, 40.0), (65.0, 29.0)]);
    check(&key(Key::K), [(30.0, 32.5), (55.0, 32.5), (100.0, 32.5)]);
    check(&key(Key::D), [(30.0, 25.0), (65.0, 40.0), (100.0, 29.0)]);
    check(&key(Key::B), [(30.0, 25.0), (55.0, 40.0), (100.0, 32.5)]);
    check(&key(Key::M), [(30.0, 40.0), (55.0, 25.0), (100.0, 36.0)]);
    let by_menu = |gui: &mut Gui| {
        click(gui, "Edit");
        click_submenu(gui, "Arrange", "Align left");
    };
    check(&by_menu, [(30.0, 25.0), (30.0, 40.0), (30.0, 29.0)]);
    check(&|gui| press(gui, CTRL, Key::M), [(100.0, 25.0), (75.0, 40.0), (30.0, 29.0)]);
}

#[test]
fn a_mirrored_copy_about_a_picked_run_lies_on_its_other_side() {
    let mut gui = on(three());
    select(&mut gui, &[1, 2]);
    click(&mut gui, "Edit");
    click_submenu(&mut gui, "Arrange", "Mirrored copy about R1");
    assert_eq!(selected(&gui), [5]);
    assert_eq!((at(&gui, 5), at(&gui, 2)), (DVec2::new(30.0, 95.0), DVec2::new(30.0, 25.0)));
}

#[test]
fn the_selection_is_repeated_along_a_line() {
    let mut gui = on(three());
    select(&mut gui, &[2]);
    press(&mut gui, CTRL, Key::R);
    type_into(&mut gui, Role::SpinButton, "Copies", "2");
    type_into(&mut gui, Role::SpinButton, "Distance", "7,5");
    type_into(&mut gui, Role::SpinButton, "Direction", "90");
    click(&mut gui, "Repeat");
    assert_eq!(places(&gui, &[5, 6]), [(30.0, 32.5), (30.0, 40.0)]);
    assert_eq!(steps(&gui), 1);
    assert!(gui.query_by_label("Copies").is_none(), "the form is gone");
}

#[test]
fn what_is_copied_is_pasted_into_another_window() {
    let mut one = on(three());
    select(&mut one, &[2, 3]);
    let text = copied(&mut one);
    let mut other = on(Project::blank());
    other.event(Event::Paste(text.clone()));
    other.run();
    assert_eq!(selected(&other), [2, 3]);
    // Beside where they were; at the pointer if there is one.
    assert_eq!(places(&other, &[2, 3]), [(35.0, 20.0), (60.0, 35.0)]);
    let place = to_screen(&other, 100.0, 90.0);
    other.hover_at(place);
    other.run();
    other.event(Event::Paste(text));
    other.run();
    let middle = (at(&other, 4) + at(&other, 5)) / 2.0;
    assert!((middle - DVec2::new(100.0, 90.0)).abs().max_element() <= 0.5, "{middle}");
    assert_eq!(steps(&other), 2);
}

#[test]
fn a_clipboard_with_anything_else_is_refused_with_a_message() {
    let mut gui = on(marker());
    let hostile = [
        "rm -rf /".to_owned(),
        "(keepside_items: [Run((name: \"\", points: [(at: (NaN, 1e999), width_mm: -4".to_owned(),
        format!("(keepside_items:{}", "[".repeat(50_000)),
        "\u{0}\u{202e}\u{feff}".to_owned(),
    ];
    for text in hostile {
        gui.event(Event::Paste(text));
        gui.run();
    }
    assert!(
        says(&gui, "The clipboard holds nothing that was copied from a Keepside plan"),
        "{:?}",
        texts(&gui)
    );
    assert!(says(&gui, "What was copied is damaged"), "{:?}", texts(&gui));
    assert_eq!(steps(&gui), 0);
}

#[test]
fn duplicating_and_cutting_are_one_step_each() {
    let mut gui = on(three());
    select(&mut gui, &[2]);
    press(&mut gui, CTRL, Key::D);
    assert_eq!((selected(&gui), at(&gui, 5), steps(&gui)), (vec![5], DVec2::new(35.0, 20.0), 1));
    gui.event(Event::Cut);
    gui.run();
    assert_eq!((gui.state().session.document().ejectors.len(), steps(&gui)), (3, 2));
}

#[test]
fn alt_and_shift_nudge_by_a_tenth() {
    let mut gui = on(three());
    select(&mut gui, &[2]);
    press(&mut gui, Modifiers::ALT, Key::ArrowRight);
    press(&mut gui, Modifiers::SHIFT, Key::ArrowUp);
    press(&mut gui, Modifiers::NONE, Key::ArrowLeft);
    assert_eq!(at(&gui, 2), DVec2::new(29.1, 25.1));
}

#[test]
fn what_is_locked_is_not_moved_or_deleted_by_pointer_or_keys() {
    let mut gui = on(three());
    click(&mut gui, "Ejector E2");
    press(&mut gui, CTRL, Key::L);
    let from = place_of(&gui, "Ejector E2, locked");
    drag(&mut gui, from, from + vec2(60.0, 0.0));
    press(&mut gui, Modifiers::NONE, Key::ArrowUp);
    press(&mut gui, Modifiers::NONE, Key::Delete);
    assert_eq!((at(&gui, 2), steps(&gui)), (DVec2::new(30.0, 25.0), 1));
    assert!(says(&gui, "locked and was left as it is"), "{:?}", texts(&gui));
    // With others the others go.
    select(&mut gui, &[2, 3]);
    press(&mut gui, Modifiers::NONE, Key::ArrowUp);
    assert_eq!(places(&gui, &[2, 3]), [(30.0, 25.0), (55.0, 41.0)]);
    let from = place_of(&gui, "Ejector E3");
    let to = from + vec2(px(&gui, 5.0), 0.0);
    drag(&mut gui, from, to);
    assert_eq!(at(&gui, 2), DVec2::new(30.0, 25.0));
    assert_ne!(at(&gui, 3), DVec2::new(55.0, 41.0));
    // Freed by the box in the inspector.
    click(&mut gui, "Ejector E2, locked");
    click(&mut gui, "Locked");
    press(&mut gui, Modifiers::NONE, Key::Delete);
    assert!(gui.query_by_label("Ejector E2").is_none());
}

#[test]
fn a_locked_run_keeps_its_points() {
    let mut gui = on(marker());
    click(&mut gui, "Run R1");
    press(&mut gui, CTRL, Key::L);
    let from = place_of(&gui, "Run R1 point 2");
    drag(&mut gui, from, from + vec2(50.0, 0.0));
    gui.get_by_label("Run R1 point 2").focus();
    gui.run();
    press(&mut gui, Modifiers::NONE, Key::ArrowUp);
    press(&mut gui, Modifiers::NONE, Key::Insert);
    let run = &gui.state().session.document().part.runs[&Id(1)];
    assert_eq!(run.points.iter().map(|point| point.at.x).collect::<Vec<_>>(), [40.0, 160.0]);
    assert_eq!(steps(&gui), 1);
}

#[test]
fn f2_renames_what_is_selected() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    press(&mut gui, Modifiers::NONE, Key::F2);
    assert!(gui.get_by_role_and_label(Role::TextInput, "Name").is_focused());
    gui.event(Event::Text("left anchor".to_owned()));
    gui.run();
    gui.key_press(Key::Enter);
    gui.run();
    assert_eq!(gui.state().session.document().features[&Id(5)].name, "left anchor");
    assert_eq!(steps(&gui), 1);
}

#[test]
fn everything_is_listed_searched_and_selected_from_the_list() {
    let mut gui = on(marker());
    press(&mut gui, CTRL, Key::F);
    assert!(says(&gui, "7 items"));
    let field = "Search tag, name, kind, half or place";
    assert!(gui.get_by_role_and_label(Role::TextInput, field).is_focused(), "it can be typed at once");
    gui.event(Event::Text("SCREW moving x 120".to_owned()));
    gui.run();
    assert!(says(&gui, "1 item"));
    gui.key_press(Key::Enter);
    gui.run();
    assert_eq!(selected(&gui), [6]);
    type_into(&mut gui, Role::TextInput, field, "gate");
    choose(&mut gui, "S3 · gate, fixed · x 135 y 60");
    assert_eq!(selected(&gui), [3]);
    click(&mut gui, "Close list");
    assert!(gui.query_by_label(field).is_none());
}

#[test]
fn a_right_click_opens_the_menu_of_an_item_and_of_the_ground() {
    let mut gui = on(marker());
    let pin = place_of(&gui, "Keying pin K6");
    right_click(&mut gui, pin);
    assert_eq!(selected(&gui), [6]);
    choose(&mut gui, "Delete Del");
    assert!(gui.query_by_label("Keying pin K6").is_none());
    let ground = to_screen(&gui, 100.0, 20.0);
    right_click(&mut gui, ground);
    choose(&mut gui, "Select all");
    assert_eq!(selected(&gui).len(), 6);
    // And by keys alone.
    click(&mut gui, "Vent V4");
    press(&mut gui, Modifiers::SHIFT, Key::F10);
    let starts = |node: &egui_kittest::kittest::AccessKitNode<'_>| {
        node.label().is_some_and(|label| label.starts_with("Rename"))
    };
    assert!(gui.get_by(starts).is_focused(), "it goes on by keys");
    choose(&mut gui, "Lock");
    assert!(gui.state().session.document().locked.contains(&Id(4)));
}

#[test]
fn a_right_click_on_one_of_several_keeps_them_selected() {
    let mut gui = on(three());
    select(&mut gui, &[2, 3]);
    let pin = place_of(&gui, "Ejector E3");
    right_click(&mut gui, pin);
    choose(&mut gui, "Duplicate");
    assert_eq!(selected(&gui), [5, 6]);
}

#[test]
fn the_help_lists_every_key() {
    let mut gui = on(marker());
    menu(&mut gui, "Help", "Keys and pointer");
    for words in
        ["Draw run", "Ctrl+Shift+Z", "Del", "Type a number", "Spread evenly from left to right", "F2"]
    {
        assert!(texts(&gui).iter().any(|text| text.contains(words)), "{words}: {:?}", texts(&gui));
    }
    press(&mut gui, Modifiers::NONE, Key::F1);
    assert!(!says(&gui, "Type a number"));
}
