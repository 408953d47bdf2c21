//! Ejector pins: setting, moving and looking at them, and what the editor says of stripping.

use egui::accesskit::Role;
use egui::{Key, Modifiers, vec2};
use egui_kittest::kittest::Queryable as _;
use glam::DVec2;
use keepside_app::{Tab, Tool};
use keepside_model::{EjectorFace, Id};

use crate::harness::{
    Gui, at, click, click_at, computed, drag, marker, on, place_of, press, px, selected, steps, to_screen,
};

/// Sets an ejector pin at a place of the plan.
fn set(gui: &mut Gui, x: f64, y: f64) {
    press(gui, Modifiers::NONE, Key::J);
    assert_eq!(gui.state().view.tool, Tool::Ejector);
    let place = to_screen(gui, x, y);
    click_at(gui, place, Modifiers::NONE);
}

#[test]
fn the_first_ejector_has_bench_sizes_and_the_next_is_like_it() {
    let mut gui = on(marker());
    set(&mut gui, 90.3, 61.2);
    let first = gui.state().session.document().ejectors[&Id(8)].clone();
    assert_eq!(first.at, DVec2::new(90.0, 60.0), "in mid-channel, on the grid");
    assert_eq!((first.diameter_mm, first.length_mm, first.stroke_mm), (4.0, 100.0, 10.0));
    assert_eq!(first.face, EjectorFace::Plain);
    assert_eq!((selected(&gui), gui.state().view.tool), (vec![8], Tool::Select));

    gui.get_by_role_and_label(Role::ComboBox, "Face").click();
    gui.run();
    click(&mut gui, "grooved");
    assert_eq!(gui.state().session.document().ejectors[&Id(8)].face, EjectorFace::Grooved);
    set(&mut gui, 110.0, 60.0);
    let second = &gui.state().session.document().ejectors[&Id(9)];
    assert_eq!((second.diameter_mm, second.face), (4.0, EjectorFace::Grooved));
    assert_eq!(steps(&gui), 3);
}

#[test]
fn an_ejector_is_set_by_its_button() {
    let mut gui = on(marker());
    click(&mut gui, "Ejector");
    let place = to_screen(&gui, 100.2, 60.9);
    click_at(&mut gui, place, Modifiers::NONE);
    gui.get_by_label("Ejector E8");
    assert_eq!(at(&gui, 8), DVec2::new(100.0, 60.0));
}

#[test]
fn an_ejector_is_dragged_onto_the_centre_line_and_nudged() {
    let mut gui = on(marker());
    set(&mut gui, 100.0, 60.0);
    let from = place_of(&gui, "Ejector E8");
    let to = from + vec2(px(&gui, 5.8), -px(&gui, 0.8));
    drag(&mut gui, from, to);
    assert_eq!(at(&gui, 8), DVec2::new(106.0, 60.0));
    press(&mut gui, Modifiers::NONE, Key::ArrowLeft);
    assert_eq!(at(&gui, 8), DVec2::new(105.0, 60.0));
    press(&mut gui, Modifiers::NONE, Key::Delete);
    assert!(gui.query_by_label("Ejector E8").is_none());
}

#[test]
fn the_stripping_tab_always_says_something() {
    let mut gui = computed(marker());
    click(&mut gui, "Stripping");
    assert_eq!(gui.state().view.tab, Tab::Stripping);
    let known = gui.state().session.results().stripping().is_some();
    let unknown = gui.query_by_label("Stripping could not be computed").is_some();
    assert_ne!(known, unknown);
}

#[test]
fn the_work_of_opening_is_accounted_for_below_the_holds() {
    let mut gui = computed(marker());
    click(&mut gui, "Holds");
    for words in ["Work of opening", "set free in sudden jumps", "not accounted for"] {
        assert!(gui.query_by_label(words).is_some(), "{words:?} is not shown");
    }
}
