//! Parts of several runs: what is kept where, and the run that is seen from the side.

use egui::Modifiers;
use egui::accesskit::Role;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use keepside_engine::opening::Keeper;
use keepside_model::{Edit, Id};

use crate::harness::{Gui, branched, click, click_at, computed, marker, settle, to_screen};

/// What the side elevation shows, in words.
fn seen(gui: &Gui) -> String {
    gui.get_by_role_and_label(Role::Canvas, "Side elevation").accesskit_node().value().unwrap_or_default()
}

#[test]
fn the_longest_run_is_seen_from_the_side_until_another_is_selected() {
    let mut gui = computed(branched());
    let words = seen(&gui);
    assert!(words.starts_with("R1, opening 10.00 mm") && words.ends_with(", meets R8"), "{words}");
    assert!(!words.contains("unrolled"), "{words}");
    let on_arm = to_screen(&gui, 100.0, 90.0);
    click_at(&mut gui, on_arm, Modifiers::NONE);
    let words = seen(&gui);
    // The arm leads away along y: it is laid down along x.
    assert!(words.starts_with("R8, ") && words.contains("unrolled along the run, meets R1"), "{words}");
    click(&mut gui, "Keying pin K5");
    assert!(seen(&gui).starts_with("R1, "));
}

#[test]
fn the_run_seen_from_the_side_can_be_chosen_and_given_back() {
    let mut gui = computed(branched());
    let choose = |gui: &mut Gui, name: &str| {
        gui.get_by_role_and_label(Role::ComboBox, "Run").click();
        gui.run();
        gui.get_by_role_and_label(Role::Button, name).click();
        gui.run();
    };
    choose(&mut gui, "R8");
    click(&mut gui, "Keying pin K5");
    assert!(seen(&gui).starts_with("R8, "), "a chosen run stays");
    choose(&mut gui, "as selected, else the longest");
    assert!(seen(&gui).starts_with("R1, "));
}

#[test]
fn a_run_that_is_gone_is_no_longer_seen() {
    let mut gui = computed(branched());
    gui.state_mut().view.elevation_run = Some(Id(8));
    gui.run();
    assert!(seen(&gui).starts_with("R8, "));
    gui.state_mut().session.apply(&Edit::Delete(vec![Id(8)])).unwrap();
    settle(&mut gui);
    // One run needs no name and no list.
    assert!(seen(&gui).starts_with("opening 10.00 mm"), "{}", seen(&gui));
    assert!(gui.query_by_role_and_label(Role::ComboBox, "Run").is_none());
}

#[test]
fn every_run_has_its_stretches() {
    let gui = computed(branched());
    let Some(Ok(opening)) = gui.state().session.results().opening() else { panic!("no opening") };
    for run in [Id(1), Id(8)] {
        assert!(opening.stretches.iter().any(|stretch| stretch.run == run), "{run}");
    }
    assert!(opening.stretches.iter().all(|stretch| stretch.keeper != Keeper::Bridging));
}

#[test]
fn a_released_branch_lies_on_the_table() {
    let mut gui = computed(branched());
    click(&mut gui, "Released part");
    let words = seen(&gui);
    assert!(words.starts_with("R1, released part, out of flat by "), "{words}");
    assert!(
        gui.query_by_label("Ejected part").is_none() || gui.state().session.results().stripping().is_some()
    );
}

#[test]
fn a_run_alone_has_no_list_of_runs() {
    let gui = computed(marker());
    assert!(gui.query_by_role_and_label(Role::ComboBox, "Run").is_none());
}
