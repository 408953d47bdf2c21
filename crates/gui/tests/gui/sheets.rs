//! The sheets for the bench, looked at before they are printed.

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use keepside_model::{Datum, Edit, Half, HoleUse, Id, Item, Paper, PlateHole};
use keepside_sheet::Output;

use crate::harness::{
    Gui, click, computed, marker, menu, place_of, press, settle, texts, type_into, wait_for,
};

/// The sheets open on the marker, everything drawn.
fn open() -> Gui {
    let mut gui = computed(marker());
    menu(&mut gui, "File", "Sheets for the bench…");
    settle(&mut gui);
    gui
}

/// What stands on the page shown, after its name.
fn page(gui: &Gui) -> String {
    let texts = texts(gui);
    let page = texts.iter().find(|text| text.starts_with("Page ") && text.contains("(PDF): "));
    page.unwrap_or_else(|| panic!("no page is shown: {texts:?}")).clone()
}

fn choose(gui: &mut Gui, field: &str, option: &str) {
    gui.get_by_role_and_label(Role::ComboBox, field).click();
    gui.run();
    click(gui, option);
    settle(gui);
}

#[test]
fn each_page_is_shown_as_it_will_be_printed() {
    let mut gui = open();
    let pages = keepside_sheet::pages(Output::DrillingSheet, &marker(), None).unwrap();
    assert!(pages.len() > 1);
    for (index, expected) in pages.iter().enumerate() {
        let name = format!("Page {} of {}, Drilling sheet (PDF)", index + 1, pages.len());
        assert_eq!(page(&gui), format!("{name}: {}", expected.words()));
        if index + 1 < pages.len() {
            click(&mut gui, "Next page");
            settle(&mut gui);
        }
    }
    // By keys as well, and not beyond the first.
    for _ in 0..pages.len() + 2 {
        press(&mut gui, Modifiers::NONE, Key::PageUp);
    }
    assert!(page(&gui).starts_with("Page 1 of"));
    press(&mut gui, Modifiers::NONE, Key::PageDown);
    assert!(page(&gui).starts_with("Page 2 of"));
}

#[test]
fn a_choice_about_the_paper_shows_at_once_and_is_one_undo_step() {
    let mut gui = open();
    let before = page(&gui);
    choose(&mut gui, "Paper", "Letter");
    assert_eq!(gui.state().session.document().sheet.paper, Paper::Letter);
    let after = page(&gui);
    assert_ne!(before, after);
    assert!(after.contains("Letter"), "{after}");

    type_title_block(&mut gui, "Drawing number", "KS-0417");
    assert!(page(&gui).contains("KS-0417"), "{}", page(&gui));
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    settle(&mut gui);
    assert_eq!(gui.state().session.document().sheet, marker().sheet);
    assert_eq!(page(&gui), before);
}

fn type_title_block(gui: &mut Gui, field: &str, text: &str) {
    click(gui, "Title block");
    type_into(gui, Role::TextInput, field, text);
    settle(gui);
}

#[test]
fn a_guide_pin_can_be_the_datum_and_its_loss_is_told() {
    let mut project = marker();
    let pin = |x| PlateHole {
        name: String::new(),
        purpose: HoleUse::GuidePin,
        at: glam::DVec2::new(x, 100.0),
        diameter_mm: 8.0,
    };
    project.apply(&Edit::Add(Id(20), Item::Hole(pin(20.0)))).unwrap();
    let mut gui = computed(project);
    menu(&mut gui, "File", "Sheets for the bench…");
    settle(&mut gui);
    choose(&mut gui, "x, y from", "Middle of guide pin H20");
    assert_eq!(gui.state().session.document().sheet.datum, Datum::GuidePin(Id(20)));
    click(&mut gui, "Close sheets");
    gui.state_mut().session.apply(&Edit::Delete(vec![Id(20)])).unwrap();
    settle(&mut gui);
    menu(&mut gui, "File", "Sheets for the bench…");
    settle(&mut gui);
    let datum = gui.get_by_role_and_label(Role::ComboBox, "x, y from");
    assert_eq!(datum.accesskit_node().value().as_deref(), Some("A guide pin that is gone"));
}

#[test]
fn a_page_is_enlarged_and_dragged_about() {
    let mut gui = open();
    let name = |gui: &Gui| page(gui);
    let whole = gui.get_by_label("Whole page");
    assert!(whole.accesskit_node().is_disabled());
    click(&mut gui, "Larger");
    settle(&mut gui);
    assert!(!gui.get_by_label("Whole page").accesskit_node().is_disabled());
    let label = name(&gui);
    let at = place_of(&gui, &label);
    crate::harness::drag(&mut gui, at, at + egui::vec2(60.0, 20.0));
    settle(&mut gui);
    press(&mut gui, Modifiers::NONE, Key::Num0);
    assert!(gui.get_by_label("Whole page").accesskit_node().is_disabled());
}

#[test]
fn only_what_is_ticked_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sheets");
    let mut gui = open();
    for output in Output::ALL {
        if output.is_usual() && output != Output::HoleTables {
            click(&mut gui, output.label());
        }
    }
    click(&mut gui, "Export to a folder…");
    assert!(gui.query_by_label_contains("Hole tables (CSV); files of the same name").is_some());
    type_into(&mut gui, Role::TextInput, "Folder", out.to_str().unwrap());
    wait_for(&mut gui, "the message", |gui| gui.query_by_label_contains("Exported").is_some());
    let expected = keepside_sheet::export(&marker(), &[Output::HoleTables], None).unwrap();
    let mut written: Vec<_> = std::fs::read_dir(&out)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    written.sort();
    let mut names: Vec<_> = expected.into_iter().map(|export| export.file_name).collect();
    names.sort();
    assert_eq!(written, names);
    // The sheets are still there to be looked at; Escape leaves them.
    assert!(page(&gui).starts_with("Page 1 of"));
    press(&mut gui, Modifiers::NONE, Key::Escape);
    assert!(gui.query_by_label("Close sheets").is_none());
}

#[test]
fn the_holes_of_a_plate_go_to_the_clipboard() {
    let mut gui = open();
    gui.get_by_label("Copy holes, moving half").click();
    // What goes to the clipboard is told in one frame only.
    let copied = (0..10).find_map(|_| {
        gui.step();
        let commands = gui.output().platform_output.commands.clone();
        commands.into_iter().find_map(|command| match command {
            egui::OutputCommand::CopyText(text) => Some(text),
            _ => None,
        })
    });
    assert_eq!(copied.unwrap(), keepside_sheet::hole_table_text(&marker(), Half::Moving).unwrap());
}

#[test]
fn drill_cycles_are_written_only_if_the_project_wants_them() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sheets");
    let mut gui = open();
    let caution = |gui: &Gui| gui.query_by_label_contains("A drill that moves by itself does harm").is_some();
    assert!(!caution(&gui));
    click(&mut gui, Output::DrillCycles.label());
    assert!(gui.state().session.document().sheet.drill_cycles.wanted);
    click(&mut gui, "Drill cycles");
    assert!(caution(&gui));
    type_into(&mut gui, Role::SpinButton, "Safe height", "45");
    assert_eq!(gui.state().session.document().sheet.drill_cycles.safe_height_mm, 45.0);
    click(&mut gui, "Export to a folder…");
    type_into(&mut gui, Role::TextInput, "Folder", out.to_str().unwrap());
    wait_for(&mut gui, "the message", |gui| gui.query_by_label_contains("Exported").is_some());
    let project = gui.state().session.document();
    for export in keepside_sheet::export(project, &[Output::DrillCycles], None).unwrap() {
        assert_eq!(std::fs::read(out.join(&export.file_name)).unwrap(), export.bytes);
    }
}
