//! The filling: strip, plan, list, and vents put where air is trapped.

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use keepside_app::{Strip, Tab};
use keepside_engine::Filling;
use keepside_model::{Edit, Id, Project};

use crate::harness::{FakeDialogs, Gui, click, computed, marker, on, press, start, steps, texts};

fn shows(gui: &Gui, words: &str) -> bool {
    texts(gui).iter().any(|text| text.contains(words))
}

fn filling(gui: &Gui) -> &Filling {
    gui.state().session.results().layout().unwrap().filling.as_ref().unwrap()
}

fn without_gates() -> Project {
    let mut project = marker();
    project.apply(&Edit::Delete(vec![Id(2), Id(3)])).unwrap();
    project
}

#[test]
fn the_slider_moves_the_fronts() {
    let mut gui = on(marker());
    gui.state_mut().session.stop_computing();
    click(&mut gui, "Filling");
    let whole_s = filling(&gui).fill_time_s;
    let mut seen = Vec::new();
    for share in [0.35, 0.5] {
        gui.get_by_role_and_label(Role::Slider, "Time").set_value_accesskit(share * whole_s);
        gui.run();
        assert!((gui.state().view.fill_share - share).abs() < 0.01);
        let fronts = filling(&gui).fronts_at(gui.state().view.fill_share * whole_s);
        assert!(!fronts.is_empty(), "nothing flows at {share}");
        // The run is 126 mm long and its gates lie evenly about its middle: so do the fronts.
        let mean_mm = fronts.iter().map(|front| front.along_mm).sum::<f64>() / fronts.len() as f64;
        assert!((mean_mm - 63.0).abs() < 0.5, "{fronts:?}");
        for front in &fronts {
            assert!(shows(&gui, &format!("{:.2} mm", front.along_mm)), "{front:?}: {:?}", texts(&gui));
        }
        seen.push(fronts[0].along_mm);
    }
    assert!(seen[0] != seen[1], "{seen:?}");
}

#[test]
fn keys_show_the_filling_and_go_through_it() {
    let mut gui = on(marker());
    gui.state_mut().session.stop_computing();
    press(&mut gui, Modifiers::NONE, Key::I);
    assert_eq!(gui.state().view.strip, Strip::Filling);
    press(&mut gui, Modifiers::NONE, Key::Comma);
    let share = gui.state().view.fill_share;
    assert!((share - 0.975).abs() < 1e-9, "{share}");
    press(&mut gui, Modifiers::NONE, Key::Period);
    assert_eq!(gui.state().view.fill_share, 1.0);
    // The event before the end is one of those that the filling tells.
    press(&mut gui, Modifiers::SHIFT, Key::Comma);
    let filling = filling(&gui);
    let at_s = gui.state().view.fill_share * filling.fill_time_s;
    let mut times = filling.welds.iter().map(|weld| weld.time_s);
    let ends = filling.trapped.iter().map(|place| place.time_s);
    let opens = filling.gates.iter().filter_map(|gate| gate.opens_s);
    assert!(at_s < filling.fill_time_s);
    assert!(times.any(|t| (t - at_s).abs() < 1e-6) || ends.chain(opens).any(|t| (t - at_s).abs() < 1e-6));
    press(&mut gui, Modifiers::NONE, Key::I);
    assert_eq!(gui.state().view.strip, Strip::Elevation);
}

#[test]
fn whether_the_filling_is_shown_is_remembered() {
    let folder = tempfile::tempdir().unwrap();
    let begin = || keepside_app::Start { config: Some(folder.path().to_owned()), ..Default::default() };
    let mut gui = start(begin(), FakeDialogs::default());
    assert_eq!(gui.state().view.strip, Strip::Elevation);
    click(&mut gui, "Filling");
    click(&mut gui, "On the plan");
    drop(gui);
    let gui = start(begin(), FakeDialogs::default());
    assert_eq!(gui.state().view.strip, Strip::Filling);
    assert!(!gui.state().view.show_filling);
}

#[test]
fn a_part_without_a_gate_is_told_in_a_plain_sentence() {
    let mut gui = on(without_gates());
    gui.state_mut().session.stop_computing();
    let words = "The part has no gate, so that nothing fills it";
    assert!(shows(&gui, words), "in the line at the bottom: {:?}", texts(&gui));
    click(&mut gui, "Filling");
    click(&mut gui, "Melt");
    assert!(texts(&gui).iter().filter(|text| text.starts_with(words)).count() >= 2, "{:?}", texts(&gui));
}

#[test]
fn a_click_on_trapped_air_puts_a_vent_there_as_one_step() {
    let mut gui = computed(marker());
    click(&mut gui, "Filling");
    let before = gui.state().session.document().vents.len();
    let trapped = |gui: &Gui| filling(gui).trapped.iter().filter(|place| place.way_out.is_none()).count();
    let count = trapped(&gui);
    assert!(count > 0, "nothing is trapped: {:?}", filling(&gui).trapped);
    let name = texts(&gui).into_iter().find(|text| text.starts_with("Trapped air at")).unwrap();
    gui.get_by_label(&name).click();
    gui.run();
    click(&mut gui, "Put a vent here");
    crate::harness::settle(&mut gui);
    assert_eq!(gui.state().session.document().vents.len(), before + 1);
    assert_eq!(steps(&gui), 1);
    assert_eq!(trapped(&gui), count - 1, "{:?}", filling(&gui).trapped);
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    assert_eq!(gui.state().session.document().vents.len(), before);

    // By the list as well, which the keyboard reaches.
    gui.state_mut().session.select([]);
    gui.state_mut().view.tab = Tab::Melt;
    gui.state_mut().view.strip = Strip::Elevation;
    crate::harness::settle(&mut gui);
    gui.get_all_by_label("Put a vent here").next().unwrap().click();
    gui.run();
    assert_eq!(gui.state().session.document().vents.len(), before + 1);
}
