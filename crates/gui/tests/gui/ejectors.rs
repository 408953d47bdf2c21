//! Ejector pins: setting, moving and looking at them, and what the editor says of stripping.

use std::time::{Duration, Instant};

use egui::accesskit::Role;
use egui::{Key, Modifiers, vec2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use glam::DVec2;
use keepside_app::{Tab, Tool};
use keepside_engine::opening::StripOutcome;
use keepside_model::{Edit, Ejector, EjectorFace, FeatureKind, Finish, Id, Item, Project};
use keepside_session::Progress;

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
    click(&mut gui, "parallel grooves");
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
fn a_part_without_ejectors_is_taken_off_by_hand() {
    let mut gui = computed(marker());
    gui.get_by_label("and is taken off by hand");
    click(&mut gui, "Stripping");
    assert_eq!(gui.state().view.tab, Tab::Stripping);
    assert_eq!(outcome(&gui), Some(StripOutcome::NoEjectors));
    gui.get_by_label("The part has no ejector pin to push it off");
}

#[test]
fn a_part_that_stays_on_the_fixed_half_is_not_stripped() {
    let mut project = marker();
    project.apply(&Edit::Delete(vec![Id(5), Id(6)])).unwrap();
    let mut gui = computed(project);
    click(&mut gui, "Stripping");
    assert_eq!(outcome(&gui), None);
    gui.get_by_label("The part does not stay whole on the moving half, so there is nothing to strip");
}

/// The marker on two turned heads, with ejectors beside each.
fn on_heads(neck_diameter_mm: f64) -> Project {
    let mut project = marker();
    for id in [Id(5), Id(6)] {
        let head = FeatureKind::TurnedHead {
            head_diameter_mm: 3.0,
            neck_diameter_mm,
            head_height_mm: 0.8,
            underside_deg: 45.0,
        };
        project.features.get_mut(&id).unwrap().kind = head;
    }
    for (id, x) in [(8, 75.0), (9, 85.0), (10, 115.0), (11, 125.0)] {
        let ejector = Ejector::new(DVec2::new(x, 60.0), 4.0, 60.0, 10.0, EjectorFace::Plain);
        project.apply(&Edit::Add(Id(id), Item::Ejector(ejector))).unwrap();
    }
    project
}

fn outcome(gui: &Gui) -> Option<StripOutcome> {
    gui.state().session.results().stripping().map(|stripping| stripping.outcome)
}

#[test]
fn a_deep_undercut_holds_but_cannot_be_stripped_unharmed() {
    // A head of 3 mm over a neck of 2 mm would stretch the plastic by half its length, ten times what it
    // bears; the plastic under the head gives way before that.
    let mut gui = computed(on_heads(2.0));
    let words = match outcome(&gui) {
        Some(StripOutcome::Harmed) => "but cannot be stripped unharmed",
        Some(StripOutcome::Torn) => "but is torn when it is stripped",
        other => panic!("stripped as {other:?}"),
    };
    gui.get_by_label(words);
    gui.get_by_label("The part stays whole on the moving half");
    click(&mut gui, "Stripping");
    let stretched = gui.state().session.results().stripping().unwrap().features[0];
    assert!(stretched.allowed < stretched.strain && stretched.strain <= 0.5, "{stretched:?}");
    let words = format!("stretches the plastic by {:.1} %; it bears ", 100.0 * stretched.strain);
    assert_eq!(gui.get_all_by_label_contains(&words).count(), 2);
    // The one that lets go first is listed first, by a name that shows it.
    let first = gui.state().session.results().stripping().unwrap().features[0].item;
    click(&mut gui, &format!("1. Turned head K{first}"));
    assert_eq!(selected(&gui), [first.0]);
}

#[test]
fn a_shallow_undercut_comes_off_and_the_ejected_part_can_be_looked_at() {
    // Over a neck of 2.85 mm it is stretched by 5.3 %, and bears 70 % of its yield strain of 8 %.
    // So shallow a head keeps the part from a polished sprue only.
    let mut project = on_heads(2.85);
    project.sprues.values_mut().for_each(|sprue| sprue.finish = Finish::Polished);
    let mut gui = computed(project);
    assert_eq!(outcome(&gui), Some(StripOutcome::ComesOff));
    click(&mut gui, "Ejected part");
    let seen = |gui: &Gui| gui.get_by_label("Side elevation").accesskit_node().value().unwrap_or_default();
    assert!(seen(&gui).starts_with("ejected part, out of flat by "), "{}", seen(&gui));
    click(&mut gui, "Released part");
    assert!(seen(&gui).starts_with("released part, out of flat by "), "{}", seen(&gui));
    assert!(!gui.state().view.show_ejected);
}

#[test]
fn a_verdict_that_settles_is_called_so_in_every_frame() {
    let mut gui = on(on_heads(2.9));
    let deadline = Instant::now() + Duration::from_secs(120);
    while !gui.state().is_settled() {
        assert!(Instant::now() < deadline, "nothing settles");
        gui.step();
        let settling = gui.state().session.progress() == Progress::Settling;
        let said = gui.query_by_label_contains("Settling: ").is_some();
        assert_eq!(settling, said);
        std::thread::sleep(Duration::from_millis(2));
    }
    gui.run();
    assert!(gui.query_by_label_contains("Settling: ").is_none());
}

#[test]
fn the_work_of_opening_is_accounted_for_below_the_holds() {
    let mut gui = computed(marker());
    click(&mut gui, "Holds");
    for words in ["Work of opening", "set free in sudden jumps", "not accounted for"] {
        assert!(gui.query_by_label(words).is_some(), "{words:?} is not shown");
    }
}
