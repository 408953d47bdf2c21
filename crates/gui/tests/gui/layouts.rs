//! Two layouts side by side, layouts kept in one project, and the numbers of the charts.

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use keepside_app::Tab;
use keepside_model::{Edit, Id};

use crate::harness::{
    Gui, at, click, computed, marker, on, press, settle, steps, texts, type_into, wait_for,
};

/// Whether a text that starts like this is on the screen.
fn shows(gui: &Gui, start: &str) -> bool {
    texts(gui).iter().any(|text| text.starts_with(start))
}

/// What the row of the comparison tells: A, B and the difference.
fn row(gui: &Gui, name: &str) -> [String; 3] {
    // Where a screen reader goes letter by letter each text is there once more.
    let labels = gui.get_all_by(|node| node.role() == Role::Label);
    let text = |node: egui_kittest::Node<'_>| {
        let node = node.accesskit_node();
        node.label().or(node.value()).unwrap_or_default()
    };
    let texts: Vec<String> = labels.map(text).collect();
    let index =
        texts.iter().position(|text| text == name).unwrap_or_else(|| panic!("no row {name}: {texts:?}"));
    [1, 2, 3].map(|more| texts[index + more].clone())
}

#[test]
fn the_open_layout_is_compared_with_the_one_pinned_before() {
    let mut gui = computed(marker());
    click(&mut gui, "Layouts");
    click(&mut gui, "Pin as A");
    assert_eq!(row(&gui, "Keying pins"), ["2", "2", "same"]);
    // What is known of the layout is taken over, not computed again.
    assert!(!shows(&gui, "(more is being computed)"));
    gui.state_mut().session.apply(&Edit::Delete(vec![Id(6)])).unwrap();
    gui.run();
    assert_eq!(row(&gui, "Keying pins"), ["2", "1", "−1"]);
    assert_eq!(row(&gui, "Holes"), ["5", "4", "−1"]);
    settle(&mut gui);
    let pulls = row(&gui, "Peak, moving half");
    assert!(pulls[..2].iter().all(|words| words.ends_with(" N")), "{pulls:?}");
    assert!(shows(&gui, "A, as it was pinned:") && shows(&gui, "B, open now:"), "{:?}", texts(&gui));
    assert_eq!(gui.state().view.pinned.as_ref().unwrap().project.features.len(), 2);
    click(&mut gui, "Unpin");
    assert!(gui.state().view.pinned.is_none());
    assert_eq!(steps(&gui), 1, "comparing changes nothing");
}

#[test]
fn a_layout_pinned_before_it_is_computed_is_computed_in_the_background() {
    let mut gui = on(marker());
    click(&mut gui, "Layouts");
    click(&mut gui, "Pin as A");
    gui.state_mut().session.apply(&Edit::Delete(vec![Id(5), Id(6)])).unwrap();
    settle(&mut gui);
    wait_for(&mut gui, "the answer for A", |gui| !shows(gui, "(more is being computed)"));
    let [a, b, _] = row(&gui, "Peak, moving half");
    assert!(a.ends_with(" N") && b.ends_with(" N"), "{a}, {b}");
    assert!(gui.state().view.pinned.as_ref().unwrap().project.features.contains_key(&Id(5)));
}

#[test]
fn layouts_are_kept_renamed_opened_and_deleted_by_single_steps() {
    let mut gui = on(marker());
    click(&mut gui, "Layouts");
    click(&mut gui, "Keep this layout");
    type_into(&mut gui, Role::TextInput, "Name of kept layout 1", "Two pins");
    assert_eq!(steps(&gui), 2);
    gui.state_mut().session.apply(&Edit::Delete(vec![Id(6)])).unwrap();
    gui.run();
    // The open layout, with one pin, is kept before the other is opened: one step.
    click(&mut gui, "Open Two pins");
    assert_eq!(steps(&gui), 4);
    assert_eq!(at(&gui, 6).x, 120.0);
    let names = |gui: &Gui| -> Vec<String> {
        gui.state().session.document().variants.iter().map(|variant| variant.name.clone()).collect()
    };
    assert_eq!(names(&gui), ["Two pins", "Before Two pins"]);
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    assert_eq!(names(&gui), ["Two pins"]);
    assert!(!gui.state().session.document().features.contains_key(&Id(6)));
    press(&mut gui, Modifiers::COMMAND, Key::Y);
    click(&mut gui, "Open Before Two pins");
    assert_eq!(gui.state().session.document().features.len(), 1);
    assert_eq!(names(&gui), ["Two pins", "Before Two pins"], "neither is lost, none is kept twice");
    // A kept layout is compared without opening it.
    click(&mut gui, "Compare with Two pins");
    assert_eq!(gui.state().view.pinned.as_ref().unwrap().name, "Two pins");
    assert_eq!(row(&gui, "Keying pins"), ["2", "1", "−1"]);
    gui.get_by_label("Delete Two pins").click_accesskit();
    gui.run();
    assert_eq!(names(&gui), ["Before Two pins"]);
}

#[test]
fn the_charts_tell_the_numbers_at_the_opening_shown() {
    let mut gui = computed(marker());
    gui.state_mut().view.opening_mm = 0.2;
    click(&mut gui, "Bending");
    assert_eq!(gui.state().view.tab, Tab::Bending);
    assert!(shows(&gui, "at 0.20 mm") && shows(&gui, "released"), "{:?}", texts(&gui));
    click(&mut gui, "Balance");
    let pull_n = |gui: &Gui, half: &str| -> f64 {
        let words =
            texts(gui).into_iter().find(|text| text.starts_with(half) && text.ends_with(" N")).unwrap();
        words[half.len()..].trim().trim_end_matches(" N").parse().unwrap()
    };
    assert!(pull_n(&gui, "moving ") > 1.0);
    click(&mut gui, "Keying pin K5");
    click(&mut gui, "Pull-off");
    assert!(shows(&gui, "+ at 0.20 mm opening: travelled "), "{:?}", texts(&gui));
}
