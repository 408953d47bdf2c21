//! Shots: chances that narrow while one works, the trial log, what it teaches, what would be better.

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use keepside_app::{Page, Start};
use keepside_engine::Cancel;
use keepside_engine::chances::{Plan, chances, clopper_pearson, good_shots_needed};
use keepside_engine::learning::learn;
use keepside_engine::suggest::suggest;
use keepside_model::{Ended, Id, KeptBy, Project, Trial};
use keepside_store::{Experience, Shelf};

use crate::harness::{
    FakeDialogs, Gui, at, click, click_at, computed, drag, marker, menu, on, place_of, press, selected,
    settle, start, steps, texts, to_screen, type_into, wait_for,
};

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
    let told = chances(&marker(), plan, &Cancel::default(), &mut |_| {}).unwrap();
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

/// What is noted of the stretches: from and to in whole mm, and who kept it.
fn kept(gui: &Gui) -> Vec<(f64, f64, KeptBy)> {
    let trial = gui.state().session.document().trials.last().unwrap();
    trial.kept.iter().map(|of| (of.from_mm.round(), of.to_mm.round(), of.by)).collect()
}

/// Clicks on a place of the plan, mm.
fn click_on_plan(gui: &mut Gui, x: f64, y: f64) {
    let at = to_screen(gui, x, y);
    click_at(gui, at, Modifiers::NONE);
}

#[test]
fn a_trial_entered_by_clicks_on_the_plan_is_in_the_project_and_undone_in_one_step() {
    let mut gui = computed(marker());
    let before = gui.state().session.document().clone();
    press(&mut gui, Modifiers::COMMAND, Key::Num2);
    click(&mut gui, "New trial");
    click(&mut gui, "fixed");
    // From the tip at x = 37 to sprue S2 at 65, and from there to pin K5 at 80: once and twice.
    click_on_plan(&mut gui, 50.0, 61.5);
    click_on_plan(&mut gui, 72.0, 58.5);
    click_on_plan(&mut gui, 72.0, 58.5);
    click(&mut gui, "Sprue S2");
    click(&mut gui, "Keying pin K6");
    click(&mut gui, "Keying pin K6");
    type_into(&mut gui, Role::SpinButton, "Shots alike", "3");
    type_into(&mut gui, Role::TextInput, "Settings", "230 °C");
    let trial = gui.state().session.document().trials[0].clone();
    assert_eq!(trial.ended, Some(Ended::Fixed));
    assert_eq!(kept(&gui), [(0.0, 28.0, KeptBy::Moving), (28.0, 43.0, KeptBy::Fixed)]);
    assert_eq!(trial.broke, Some([Id(2)].into()));
    assert_eq!((trial.shots, trial.settings.as_str()), (3, "230 °C"));
    assert!(selected(&gui).is_empty(), "clicks note, they select nothing");
    // The layout is kept as it was shot.
    let document = gui.state().session.document();
    let shot = document.variants.iter().find(|variant| Some(&variant.name) == trial.layout.as_ref()).unwrap();
    assert_eq!((&shot.layout.part, &shot.layout.features), (&before.part, &before.features));
    assert_eq!(steps(&gui), 1);
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    assert_eq!(gui.state().session.document(), &before);
    press(&mut gui, Modifiers::COMMAND, Key::Y);
    assert_eq!(gui.state().session.document().trials, [trial]);
    // Once it has been left it is changed by single steps.
    click(&mut gui, "Trial 1 · 3 shots · fixed");
    click(&mut gui, "torn");
    click_on_plan(&mut gui, 50.0, 60.0);
    assert_eq!(steps(&gui), 3);
    assert_eq!(kept(&gui)[0].2, KeptBy::Fixed);
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    click(&mut gui, "Delete trial");
    assert_eq!((steps(&gui), gui.state().session.document().trials.len()), (2, 0));
}

#[test]
fn nothing_is_moved_while_a_trial_is_noted_and_escape_ends_it() {
    let mut gui = on(marker());
    press(&mut gui, Modifiers::COMMAND, Key::Num2);
    click(&mut gui, "New trial");
    let from = place_of(&gui, "Keying pin K5");
    drag(&mut gui, from, from + egui::vec2(0.0, 40.0));
    assert_eq!(at(&gui, 5).y, 60.0);
    press(&mut gui, Modifiers::NONE, Key::Escape);
    assert_eq!(gui.state().view.shots.trial, None);
    let from = place_of(&gui, "Keying pin K5");
    drag(&mut gui, from, from + egui::vec2(0.0, 40.0));
    assert!(at(&gui, 5).y < 60.0);
    // The trial is of the layout before; its places are not those on the plan.
    click(&mut gui, "Trial 1 · not noted how it ended · another layout");
    assert!(text_with(&gui, "open that to note on the plan").is_some(), "{:?}", texts(&gui));
    click(&mut gui, "Open that layout");
    assert_eq!(at(&gui, 5).y, 60.0);
    click_on_plan(&mut gui, 50.0, 60.0);
    assert_eq!(kept(&gui).len(), 1);
}

#[test]
fn the_counts_are_those_of_the_engine() {
    let mut project = marker();
    for (shots, ended) in [(5, Ended::Moving), (1, Ended::Fixed), (9, Ended::ShortShot), (14, Ended::Moving)]
    {
        project.trials.push(Trial { shots, ended: Some(ended), ..Trial::default() });
    }
    let mut gui = on(project);
    press(&mut gui, Modifiers::COMMAND, Key::Num2);
    // 19 of 20: 0.7513 to 0.9987, SciPy; see tests/oracle/binomial_intervals_95.csv.
    let (low, high) = clopper_pearson(19.0, 20.0, 0.95);
    assert_eq!(((100.0 * low).round(), high > 0.995), (75.0, true));
    let told = "Moving: 19 of 20 shots; so 75 to over 99 of 100 (95 % sure)";
    assert!(text_with(&gui, told).is_some(), "{:?}", texts(&gui));
    let needed = good_shots_needed(0.95, 0.95).unwrap();
    let told = format!("takes {needed} good shots in a row; 14 are there, {} more", needed - 14);
    assert!(text_with(&gui, &told).is_some(), "{:?}", texts(&gui));
}

/// The marker with three trials: in two of them it stayed on the half that nobody expected.
fn tried() -> Project {
    let mut project = marker();
    for (name, shots, ended) in
        [("First", 4, Ended::Fixed), ("Second", 3, Ended::Fixed), ("Third", 2, Ended::Moving)]
    {
        project.trials.push(Trial { name: name.to_owned(), shots, ended: Some(ended), ..Trial::default() });
    }
    project.trials.push(Trial { name: "Not looked at".to_owned(), ..Trial::default() });
    project
}

#[test]
fn what_the_log_teaches_is_shown_before_it_is_used_in_one_step() {
    let mut gui = computed(tried());
    gui.state_mut().view.shots.sets = 5;
    press(&mut gui, Modifiers::COMMAND, Key::Num3);
    settle(&mut gui);
    let plan = Plan { seed: 1, medians: 5, shots_each: 8, threads: 1 };
    let learned = learn(&tried(), plan, &Cancel::default(), &mut |_| {}).unwrap();
    for (when, chances) in [("Before", &learned.chances.0), ("After", &learned.chances.1)] {
        let told = text_with(&gui, &format!("{when}: ")).unwrap();
        let share = format!("{:.0} of 100", 100.0 * chances.good.share);
        assert!(told.contains(&share) || told.contains("less than 1") || told.contains("over 99"), "{told}");
    }
    // Every trial is there, those that were expected wrongly marked, and why one is not counted.
    for (replay, name) in learned.replays.iter().zip(["First, 4", "Second, 3", "Third, 2"]) {
        let sign = if replay.as_ref().unwrap().was_wrong == Some(true) { "✗" } else { "✓" };
        assert!(text_with(&gui, &format!("{sign} {name} shots: saw ")).is_some(), "{:?}", texts(&gui));
    }
    assert!(text_with(&gui, "Not looked at: not counted; nothing was noted").is_some());
    assert!(text_with(&gui, "1. ").is_some(), "what to shoot next is told: {:?}", texts(&gui));
    gui.get_by_label("Use what was learned").click_accesskit();
    gui.run();
    let mut expected = tried();
    expected.apply(&learned.edit(&tried())).unwrap();
    assert_eq!(**gui.state().session.document(), expected);
    assert_eq!(steps(&gui), 1);
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    assert_eq!(**gui.state().session.document(), tried());
}

#[test]
fn what_was_learned_is_kept_and_used_in_another_project() {
    let folder = tempfile::tempdir().unwrap();
    let begin = || Start { config: Some(folder.path().to_owned()), ..Start::default() };
    let mut gui = start(begin(), FakeDialogs::default());
    gui.state_mut().session.replace(tried(), None);
    gui.state_mut().view.shots.sets = 2;
    press(&mut gui, Modifiers::COMMAND, Key::Num3);
    settle(&mut gui);
    gui.get_by_label("Keep as this press, this material").click_accesskit();
    gui.run();
    drop(gui);
    let mut gui = start(begin(), FakeDialogs::default());
    gui.state_mut().session.replace(Project { press: tried().press, ..marker() }, None);
    press(&mut gui, Modifiers::COMMAND, Key::Num3);
    let kept = Shelf::<Experience>::load(folder.path()).unwrap().kept()[0].clone();
    assert_eq!(kept.learned.shots, 9);
    click(&mut gui, &format!("Use {} here", kept.name));
    let project = gui.state().session.document();
    assert_eq!((&project.holds, project.scatter), (&kept.learned.holds, kept.learned.scatter));
    assert_eq!(steps(&gui), 1);
    click(&mut gui, &format!("Forget {}", kept.name));
    assert!(Shelf::<Experience>::load(folder.path()).unwrap().kept().is_empty());
}

#[test]
fn a_suggestion_is_looked_at_on_the_plan_and_taken_in_one_step() {
    let mut gui = computed(marker());
    gui.state_mut().view.shots.sets = 1;
    press(&mut gui, Modifiers::COMMAND, Key::Num4);
    settle(&mut gui);
    let plan = Plan { seed: 1, medians: 8, shots_each: 1, threads: 1 };
    let found = suggest(&marker(), plan, &Cancel::default(), &mut |_| {}).unwrap();
    let first = &found.changes[0];
    let mut letters = first.words.chars();
    let words: String = letters.next().unwrap().to_uppercase().chain(letters).collect();
    click(&mut gui, &words);
    assert!(text_with(&gui, &format!("On the plan: {words}")).is_some());
    assert_eq!((steps(&gui), &**gui.state().session.document()), (0, &marker()), "looking changes nothing");
    click(&mut gui, "Leave it");
    assert!(gui.query_by_label("Take it").is_none());
    click(&mut gui, &words);
    click(&mut gui, "Take it");
    let mut expected = marker();
    expected.apply(&first.edit).unwrap();
    assert_eq!(**gui.state().session.document(), expected);
    assert_eq!((steps(&gui), gui.state().session.undo_label()), (1, Some("take suggestion")));
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    assert_eq!(**gui.state().session.document(), marker());
}

#[test]
fn points_of_the_trade_off_show_their_layout_on_the_plan() {
    let mut gui = computed(marker());
    gui.state_mut().view.shots.sets = 1;
    press(&mut gui, Modifiers::COMMAND, Key::Num4);
    click(&mut gui, "Stop weighing");
    type_into(&mut gui, Role::SpinButton, "Pins, at most", "1");
    gui.get_by_label("Look for layouts").click_accesskit();
    gui.run();
    settle(&mut gui);
    let point = gui.get_by(|node| {
        node.role() == Role::Button
            && node.label().is_some_and(|label| label.starts_with("No pin: good of 100 "))
    });
    point.click_accesskit();
    gui.run();
    assert!(text_with(&gui, "On the plan: No pin").is_some(), "{:?}", texts(&gui));
    click(&mut gui, "Take it");
    assert!(gui.state().session.document().features.is_empty());
    assert_eq!(steps(&gui), 1);
}
