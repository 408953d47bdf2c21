//! Shots: chances that narrow while one works, the trial log, what it teaches, what would be better.

use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use keepside_app::Page;
use keepside_engine::chances::{Plan, chances};

use crate::harness::{Gui, click, computed, marker, menu, press, settle, steps, texts, wait_for};

/// The first text that contains this.
fn text_with(gui: &Gui, part: &str) -> Option<String> {
    texts(gui).into_iter().find(|text| text.contains(part))
}

/// Limits by which the share is counted, of a hundred.
fn counted(gui: &Gui) -> (f64, f64) {
    let words = text_with(gui, "Counted between ").expect("limits are told");
    let words = words.replace("less than 1", "0").replace("over 99", "100");
    let mut numbers = words.split(' ').filter_map(|word| word.parse::<f64>().ok());
    (numbers.next().unwrap(), numbers.next().unwrap())
}

#[test]
fn a_first_figure_appears_and_narrows_to_what_the_engine_says() {
    let mut gui = computed(marker());
    gui.state_mut().view.shots.sets = 30;
    menu(&mut gui, "Shots", "Chances");
    assert_eq!(gui.state().view.shots.page, Some(Page::Chances));
    wait_for(&mut gui, "a first figure", |gui| text_with(gui, "of 100 shots end well").is_some());
    let (low, high) = counted(&gui);
    settle(&mut gui);
    let (narrow_low, narrow_high) = counted(&gui);
    assert!(narrow_high - narrow_low <= high - low, "{narrow_low} to {narrow_high}, before {low} to {high}");
    // The same shots on one thread.
    let plan = Plan { seed: 1, medians: 30, shots_each: 8, threads: 1 };
    let told = chances(&marker(), plan, &keepside_engine::Cancel::default(), &mut |_| {}).unwrap();
    let (low, high) = told.good.counted;
    assert!((narrow_low - 100.0 * low).abs() <= 0.5 && (narrow_high - 100.0 * high).abs() <= 0.5, "{told:?}");
    assert!(text_with(&gui, "240 shots computed").is_some(), "{:?}", texts(&gui));
    assert_eq!(steps(&gui), 0, "counting changes nothing");
}

#[test]
fn shooting_can_be_stopped_and_begun_again() {
    let mut gui = computed(marker());
    gui.state_mut().view.shots.sets = 1000;
    press(&mut gui, Modifiers::COMMAND, Key::Num1);
    wait_for(&mut gui, "a first figure", |gui| text_with(gui, "of 100 shots end well").is_some());
    click(&mut gui, "Stop shooting");
    assert!(text_with(&gui, "Stopped after ").is_some() && gui.state().is_settled(), "{:?}", texts(&gui));
    // What was known by then stays, and another page of the window changes nothing about it.
    assert!(text_with(&gui, "of 100 shots end well").is_some());
    click(&mut gui, "Holds");
    assert!(text_with(&gui, "Stopped after ").is_some());
    click(&mut gui, "Shoot again");
    assert!(gui.query_by_label("Stop shooting").is_some());
    press(&mut gui, Modifiers::COMMAND, Key::Num1);
    assert_eq!(gui.state().view.shots.page, None);
}
