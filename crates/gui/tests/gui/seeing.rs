//! One cursor for all views, the opening step by step, lengths in millimetres and inches, notes.

use egui::accesskit::Role;
use egui::{Key, Modifiers, Pos2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use glam::DVec2;
use keepside_app::{Strip, Tool, Unit};
use keepside_model::Id;

use crate::harness::{Gui, click, click_at, computed, marker, on, press, steps, texts, to_screen, type_into};

/// What the side elevation tells.
fn elevation(gui: &Gui) -> String {
    gui.get_by_role_and_label(Role::Canvas, "Side elevation").accesskit_node().value().unwrap_or_default()
}

/// The middle of the side elevation's drawing, at an x of the plan.
fn in_elevation(gui: &Gui, x_mm: f64) -> Pos2 {
    let rect = gui.get_by_role_and_label(Role::Canvas, "Side elevation").rect();
    Pos2::new(to_screen(gui, x_mm, 60.0).x, rect.center().y)
}

#[test]
fn pointing_at_the_plan_shows_the_place_in_the_elevation() {
    let mut gui = computed(marker());
    let at = to_screen(&gui, 95.0, 61.0);
    gui.hover_at(at);
    gui.run();
    // The run starts at x = 40.
    assert!(elevation(&gui).contains("at the cursor 55.0"), "{}", elevation(&gui));
    assert!(elevation(&gui).contains("off the fixed half"), "{}", elevation(&gui));
    // Away from the channel there is nothing to show.
    let away = to_screen(&gui, 95.0, 20.0);
    gui.hover_at(away);
    gui.run();
    assert!(!elevation(&gui).contains("at the cursor"), "{}", elevation(&gui));
}

#[test]
fn pointing_at_the_elevation_marks_the_place_on_the_plan() {
    let mut gui = computed(marker());
    let at = in_elevation(&gui, 110.0);
    gui.hover_at(at);
    gui.run();
    let linked = gui.state().view.linked.unwrap();
    assert!((linked - DVec2::new(110.0, 60.0)).length() < 0.5, "{linked}");
    // A click there chooses where the section is cut.
    click_at(&mut gui, at, Modifiers::NONE);
    click(&mut gui, "Section");
    assert_eq!(gui.state().view.strip, Strip::Section);
    let cut = gui.state().view.section_at.clone().unwrap().0;
    assert!((cut - DVec2::new(110.0, 60.0)).length() < 0.5, "{cut}");
    assert_eq!(steps(&gui), 0);
    // Pointing at the section shows the place across the channel.
    let section = gui.get_by_role_and_label(Role::Canvas, "Section").rect();
    gui.hover_at(section.center());
    gui.run();
    let linked = gui.state().view.linked.unwrap();
    assert!((linked.x - cut.x).abs() < 1e-6 && (linked.y - 60.0).abs() < 6.0, "{linked}");
}

#[test]
fn the_opening_goes_step_by_step_and_from_release_to_release() {
    let mut gui = computed(marker());
    let opening = gui.state().session.results().opening().unwrap().as_ref().unwrap().clone();
    let frames: Vec<f64> = opening.frames.iter().map(|frame| frame.opening_mm).collect();
    let now = |gui: &Gui| gui.state().view.opening_mm;
    gui.state_mut().view.opening_mm = frames[3];
    press(&mut gui, Modifiers::NONE, Key::Period);
    assert_eq!(now(&gui), frames[4]);
    press(&mut gui, Modifiers::NONE, Key::Comma);
    assert_eq!(now(&gui), frames[3]);
    click(&mut gui, "Step on");
    assert_eq!(now(&gui), frames[4]);
    click(&mut gui, "Step back");
    assert_eq!(now(&gui), frames[3]);
    gui.state_mut().view.opening_mm = 0.0;
    press(&mut gui, Modifiers::SHIFT, Key::Period);
    let first = opening.releases.iter().map(|release| release.opening_mm).fold(f64::INFINITY, f64::min);
    assert_eq!(now(&gui), first);
    // Back beyond the first there is none.
    press(&mut gui, Modifiers::SHIFT, Key::Comma);
    assert_eq!(now(&gui), first);
    // P plays and pauses; nothing is repainted for it afterwards.
    gui.key_press(Key::P);
    gui.step();
    gui.step();
    assert!(gui.state().view.playing_s.is_some());
    gui.key_press(Key::P);
    gui.run();
    assert!(gui.state().view.playing_s.is_none());
}

#[test]
fn lengths_are_shown_and_typed_in_inches_while_the_project_stays_in_millimetres() {
    let mut gui = on(marker());
    let before = gui.state().session.document().clone();
    click(&mut gui, "View");
    click(&mut gui, "Lengths in inches");
    press(&mut gui, Modifiers::NONE, Key::Escape);
    assert_eq!(gui.state().view.unit, Unit::Inch);
    click(&mut gui, "Keying pin K5");
    let protrusion = |gui: &Gui| gui.state().session.document().features[&Id(5)].protrusion_mm;
    // Looking at a number does not round it.
    gui.get_by_role_and_label(Role::SpinButton, "Protrusion").focus();
    gui.run();
    press(&mut gui, Modifiers::NONE, Key::Enter);
    assert_eq!(protrusion(&gui), 1.8);
    assert_eq!((steps(&gui), gui.state().session.document()), (0, &before));
    for (typed, mm) in [("1/16", 1.5875), ("0,05", 1.27), ("1.5 mm", 1.5), ("3/32\"", 2.38125)] {
        type_into(&mut gui, Role::SpinButton, "Protrusion", typed);
        assert!((protrusion(&gui) - mm).abs() < 1e-9, "{typed}: {}", protrusion(&gui));
    }
    click(&mut gui, "View");
    click(&mut gui, "Lengths in millimetres");
    assert_eq!(gui.state().view.unit, Unit::Millimetre);
}

#[test]
fn everything_is_shown_larger_when_asked_to() {
    let mut gui = on(marker());
    click(&mut gui, "View");
    click(&mut gui, "Size of everything (100 %)");
    click(&mut gui, "125 %");
    gui.run();
    assert_eq!(gui.ctx.zoom_factor(), 1.25);
}

#[test]
fn a_note_is_set_written_moved_and_taken_back() {
    let mut gui = on(marker());
    press(&mut gui, Modifiers::NONE, Key::N);
    assert_eq!(gui.state().view.tool, Tool::Note);
    let at = to_screen(&gui, 150.0, 30.0);
    click_at(&mut gui, at, Modifiers::NONE);
    let (&id, note) = gui.state().session.document().remarks.first_key_value().unwrap();
    assert!((note.at - DVec2::new(150.0, 30.0)).length() < 0.3, "{}", note.at);
    assert_eq!(steps(&gui), 1);
    // The words can be typed right away.
    gui.event(egui::Event::Text("Polish here".to_owned()));
    gui.run();
    assert_eq!(gui.state().session.document().remarks[&id].text, "Polish here");
    let tag = gui.state().session.document().tag(id);
    press(&mut gui, Modifiers::NONE, Key::Escape);
    click(&mut gui, "Bolt H7");
    click(&mut gui, &format!("Flag of note {tag}"));
    assert!(gui.state().session.selection().contains(&id));
    let name = format!("Note {tag}");
    let from = gui.get_by_label(&name).rect().center();
    crate::harness::drag(&mut gui, from, from + egui::vec2(-40.0, 0.0));
    assert!(gui.state().session.document().remarks[&id].at.x < 149.0);
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    assert!((gui.state().session.document().remarks[&id].at.x - 150.0).abs() < 0.3);
    assert!(texts(&gui).contains(&name));
}

#[test]
fn the_plan_shows_who_keeps_what_at_the_opening_shown_when_asked_to() {
    let mut gui = computed(marker());
    click(&mut gui, "View");
    click(&mut gui, "Who keeps it at the opening shown");
    press(&mut gui, Modifiers::NONE, Key::Escape);
    assert!(gui.state().view.keeps_now);
    click(&mut gui, "View");
    click(&mut gui, "Who keeps it in the end");
    assert!(!gui.state().view.keeps_now);
}
