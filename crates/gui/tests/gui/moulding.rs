//! Material, press, settings of a shot, cooling and vents in the panels.

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use keepside_app::Start;
use keepside_model::{HeldBack, Id, MaterialValue, Provenance};

use crate::harness::{FakeDialogs, Gui, computed, marker, on, press, start, steps, texts, type_into};

fn shows(gui: &Gui, words: &str) -> bool {
    texts(gui).iter().any(|text| text.contains(words))
}

/// Opens a group of the panel, or presses a button in it, wherever it is scrolled to.
fn open(gui: &mut Gui, name: &str) {
    gui.get_by_label(name).click_accesskit();
    gui.run();
}

#[test]
fn a_material_value_that_is_edited_is_marked_and_goes_back() {
    let mut gui = on(marker());
    gui.state_mut().session.stop_computing();
    let before = gui.state().session.document().material.clone();
    assert!(!shows(&gui, "yours"));
    type_into(&mut gui, Role::SpinButton, "Friction on steel", "0.31");
    let material = |gui: &Gui| gui.state().session.document().material.clone();
    assert_eq!(material(&gui).friction, 0.31);
    assert_eq!(material(&gui).provenance(MaterialValue::Friction), Provenance::Own);
    assert!(shows(&gui, "yours"));
    assert_eq!(steps(&gui), 1);
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    assert_eq!(material(&gui), before);
    assert!(!shows(&gui, "yours"));

    press(&mut gui, Modifiers::COMMAND, Key::Y);
    open(&mut gui, "Back to the published value of Friction on steel");
    assert_eq!(material(&gui), before);
    assert_eq!(steps(&gui), 2);
}

#[test]
fn every_number_tells_its_source_and_range() {
    let mut gui = on(marker());
    gui.state_mut().session.stop_computing();
    open(&mut gui, "Show where numbers come from");
    let material = gui.state().session.document().material.clone();
    open(&mut gui, "Flow of the melt");
    for value in [MaterialValue::PowerLawIndex, MaterialValue::NoFlowTemperature] {
        let source = material.provenance(value).words();
        let (low, high) = material.usual_range(value).unwrap();
        let told = format!("{source}; usual for PP: {low} to {high}");
        assert!(shows(&gui, &told), "{told:?}: {:?}", texts(&gui));
    }
}

#[test]
fn a_press_is_kept_chosen_renamed_and_deleted() {
    let folder = tempfile::tempdir().unwrap();
    let begin = || Start { config: Some(folder.path().to_owned()), ..Start::default() };
    let mut gui = start(begin(), FakeDialogs::default());
    gui.state_mut().session.stop_computing();
    open(&mut gui, "Press");
    type_into(&mut gui, Role::TextInput, "Press", "Lever press");
    type_into(&mut gui, Role::SpinButton, "Clamp force", "41000");
    open(&mut gui, "Keep “Lever press”");
    type_into(&mut gui, Role::SpinButton, "Clamp force", "52000");
    let clamp_n = |gui: &Gui| gui.state().session.document().press.clamp_n;
    let before = steps(&gui);
    open(&mut gui, "Use press Lever press");
    assert_eq!((clamp_n(&gui), steps(&gui)), (41_000.0, before + 1));

    open(&mut gui, "Rename… press Lever press");
    type_into(&mut gui, Role::TextInput, "New name", "Old lever");
    assert!(gui.query_by_label("Use press Lever press").is_none());
    // Another window, another day.
    drop(gui);
    let mut gui = start(begin(), FakeDialogs::default());
    gui.state_mut().session.stop_computing();
    open(&mut gui, "Press");
    assert!(clamp_n(&gui) != 41_000.0);
    open(&mut gui, "Use press Old lever");
    let press = &gui.state().session.document().press;
    assert_eq!((press.name.as_str(), press.clamp_n), ("Old lever", 41_000.0));
    open(&mut gui, "Delete press Old lever");
    assert!(shows(&gui, "No press is kept yet"));
}

#[test]
fn an_own_grade_is_kept_and_offered() {
    let folder = tempfile::tempdir().unwrap();
    let mut gui =
        start(Start { config: Some(folder.path().to_owned()), ..Start::default() }, FakeDialogs::default());
    gui.state_mut().session.stop_computing();
    type_into(&mut gui, Role::TextInput, "Name", "PP, black");
    type_into(&mut gui, Role::SpinButton, "Friction on steel", "0.31");
    let own = gui.state().session.document().material.clone();
    open(&mut gui, "Own grades");
    open(&mut gui, "Keep “PP, black”");
    gui.get_by_role_and_label(Role::ComboBox, "Start from").click_accesskit();
    gui.run();
    gui.get_by_label("ABS, generic").click();
    gui.run();
    assert_eq!(gui.state().session.document().material.name, "ABS");
    gui.get_by_role_and_label(Role::ComboBox, "Start from").click_accesskit();
    gui.run();
    gui.get_by_label("PP, black, own grade").click();
    gui.run();
    assert_eq!(gui.state().session.document().material, own);
}

#[test]
fn the_settings_of_a_shot_follow_the_material_until_they_are_set() {
    let mut gui = on(marker());
    gui.state_mut().session.stop_computing();
    open(&mut gui, "Shot settings");
    let moulding = |gui: &Gui| gui.state().session.document().moulding.clone();
    assert_eq!(moulding(&gui).own_melt_temperature_c, None);
    type_into(&mut gui, Role::SpinButton, "Melt", "231");
    assert_eq!(moulding(&gui).own_melt_temperature_c, Some(231.0));
    assert_eq!(steps(&gui), 1);
    open(&mut gui, "Default for Melt");
    assert_eq!(moulding(&gui).own_melt_temperature_c, None);
    open(&mut gui, "Closed as needed");
    assert!(moulding(&gui).cooling_time_s.is_some());
    let words = HeldBack::Computed.word();
    gui.get_by_role_and_label(Role::ComboBox, "Shrinkage held back").click_accesskit();
    gui.run();
    open(&mut gui, words);
    assert_eq!(moulding(&gui).held_back, HeldBack::Computed);
}

#[test]
fn cooling_gates_and_press_tell_what_the_engine_computes() {
    let mut gui = computed(marker());
    open(&mut gui, "Cooling and gates");
    open(&mut gui, "Press");
    let layout = gui.state().session.results().layout().unwrap();
    let cooling = layout.cooling.as_ref().unwrap();
    let used = layout.press.unwrap();
    assert!(shows(&gui, &format!("{:.2} s", cooling.needed_s)) || cooling.needed_s >= 9.995);
    assert!(shows(&gui, "freezes after"));
    assert!(shows(&gui, &format!("{:.1} g, the part {:.1} g", used.mass_g, used.part_mass_g)));
    assert!(shows(&gui, "plates 200 × 120 mm on 300 × 200 mm"));
}

#[test]
fn a_vent_tells_its_area_and_depth_against_what_is_needed() {
    let mut gui = computed(marker());
    gui.state_mut().session.select([Id(4)]);
    gui.run();
    let venting = gui.state().session.results().layout().unwrap().venting.clone().unwrap();
    let place = venting.places.iter().find(|place| place.ways.contains(&Id(4))).unwrap();
    assert!(shows(&gui, &format!("{:.3} mm², {:.3} mm² needed", place.area_mm2, place.needed_mm2)));
    assert!(shows(&gui, "0.020 mm; PP takes"));
    open(&mut gui, "Relieved");
    let vent = gui.state().session.document().vents[&Id(4)].clone();
    assert!(vent.relief.is_some());
    assert_eq!(steps(&gui), 1);
}
