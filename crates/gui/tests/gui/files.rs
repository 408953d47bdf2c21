//! Files: saving, opening, the question about unsaved changes, exporting.

use std::path::Path;

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use glam::DVec2;
use keepside_app::Start;
use keepside_engine::{Finding, Severity};
use keepside_model::{Id, Project};
use keepside_sheet::Output;

use crate::harness::{
    FakeDialogs, Gui, at, click, computed, marker, menu, on, opened, press, saved, start, steps, type_into,
    wait_for, with,
};

fn nudge(gui: &mut Gui) {
    click(gui, "Keying pin K5");
    press(gui, Modifiers::NONE, Key::ArrowRight);
}

fn save_as(gui: &mut Gui, path: &Path) {
    menu(gui, "File", "Save as…");
    type_into(gui, Role::TextInput, "File", path.to_str().unwrap());
    saved(gui);
}

#[test]
fn what_is_saved_is_what_is_opened_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("marker.keepside");
    let mut gui = on(marker());
    nudge(&mut gui);
    save_as(&mut gui, &path);
    assert!(!gui.state().session.is_dirty());
    let document = gui.state().session.document().clone();
    assert_eq!(keepside_store::load(&path).unwrap(), *document);

    // Saved again without a question.
    nudge(&mut gui);
    press(&mut gui, Modifiers::COMMAND, Key::S);
    saved(&mut gui);
    assert_eq!(keepside_store::load(&path).unwrap().place(Id(5)), Some(DVec2::new(82.0, 60.0)));

    let mut other = on(Project::blank());
    press(&mut other, Modifiers::COMMAND, Key::O);
    type_into(&mut other, Role::TextInput, "File", path.to_str().unwrap());
    opened(&mut other);
    assert_eq!(other.state().session.document(), gui.state().session.document());
    assert_eq!(steps(&other), 0);
}

#[test]
fn the_extension_is_added_where_none_is_typed() {
    let folder = tempfile::tempdir().unwrap();
    let mut gui = on(marker());
    save_as(&mut gui, &folder.path().join("marker"));
    assert!(folder.path().join("marker.keepside").is_file());
}

#[test]
fn a_path_that_cannot_be_written_says_so_and_nothing_is_lost() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("missing").join("marker.keepside");
    let mut gui = on(marker());
    nudge(&mut gui);
    save_as(&mut gui, &path);
    assert!(gui.state().session.is_dirty());
    assert!(!path.exists());
    // The dialog is still there, with the reason, which ends with the path.
    gui.get_by_role_and_label(Role::TextInput, "File");
    let reason = |text: Option<String>| text.is_some_and(|text| text.ends_with(path.to_str().unwrap()));
    assert!(
        gui.get_all_by(|_| true).any(|node| {
            use egui_kittest::kittest::NodeT as _;
            let node = node.accesskit_node();
            node.role() != Role::TextInput && reason(node.value().or(node.label()))
        }),
        "no reason shown"
    );
    click(&mut gui, "Cancel");
    assert_eq!(at(&gui, 5).x, 81.0);
}

#[test]
fn a_file_that_is_no_project_leaves_the_open_one_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bad.keepside");
    std::fs::write(&path, "(format: 1, project: (name: \"cut off").unwrap();
    let mut gui = on(marker());
    let before = gui.state().session.document().clone();
    menu(&mut gui, "File", "Open…");
    type_into(&mut gui, Role::TextInput, "File", path.to_str().unwrap());
    opened(&mut gui);
    assert_eq!(gui.state().session.document(), &before);
    gui.get_by_role_and_label(Role::TextInput, "File");
}

#[test]
fn the_chosen_file_of_the_systems_dialog_goes_into_the_field() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("marker.keepside");
    let mut gui = with(marker(), FakeDialogs { chosen: Some(path.clone()) });
    menu(&mut gui, "File", "Save as…");
    click(&mut gui, "Browse…");
    let text = path.to_str().unwrap().to_owned();
    wait_for(&mut gui, "the chosen path", |gui| {
        gui.get_by_role_and_label(Role::TextInput, "File").value().as_deref() == Some(text.as_str())
    });
    click(&mut gui, "Save");
    saved(&mut gui);
    assert!(path.is_file());
}

#[test]
fn without_a_system_dialog_the_field_remains() {
    let mut gui = on(marker());
    menu(&mut gui, "File", "Open…");
    click(&mut gui, "Browse…");
    wait_for(&mut gui, "the answer", |gui| {
        gui.query_by_label("Nothing was chosen; the path can be typed here").is_some()
    });
    gui.get_by_role_and_label(Role::TextInput, "File");
}

#[test]
fn unsaved_changes_are_asked_about_before_a_new_project() {
    let mut gui = on(marker());
    nudge(&mut gui);
    menu(&mut gui, "File", "New");
    gui.get_by_label("The project has unsaved changes");
    click(&mut gui, "Cancel");
    assert_eq!(at(&gui, 5).x, 81.0);
    press(&mut gui, Modifiers::COMMAND, Key::N);
    click(&mut gui, "Discard");
    assert_eq!(**gui.state().session.document(), Project::blank());
    assert!(gui.query_by_label("The project has unsaved changes").is_none());
}

#[test]
fn save_in_the_question_saves_and_then_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("marker.keepside");
    let mut gui = on(marker());
    nudge(&mut gui);
    press(&mut gui, Modifiers::COMMAND, Key::N);
    click(&mut gui, "Save");
    // It has no file yet, so it is asked for.
    type_into(&mut gui, Role::TextInput, "File", path.to_str().unwrap());
    saved(&mut gui);
    assert_eq!(keepside_store::load(&path).unwrap().place(Id(5)), Some(DVec2::new(81.0, 60.0)));
    assert_eq!(**gui.state().session.document(), Project::blank());
}

#[test]
fn enter_in_the_question_saves() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("marker.keepside");
    let mut gui = on(marker());
    save_as(&mut gui, &path);
    nudge(&mut gui);
    press(&mut gui, Modifiers::COMMAND, Key::N);
    press(&mut gui, Modifiers::NONE, Key::Enter);
    saved(&mut gui);
    assert_eq!(keepside_store::load(&path).unwrap().place(Id(5)), Some(DVec2::new(81.0, 60.0)));
    assert_eq!(**gui.state().session.document(), Project::blank());
}

#[test]
fn a_path_is_typed_at_once_and_put_right_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let text = |path: &Path| egui::Event::Text(path.to_str().unwrap().to_owned());
    let mut gui = on(marker());
    menu(&mut gui, "File", "Save as…");
    // What is suggested is selected, so the text takes its place.
    gui.event(text(&folder.path().join("missing")));
    gui.run();
    let field = |gui: &Gui| gui.get_by_role_and_label(Role::TextInput, "File").value();
    assert_eq!(field(&gui).as_deref(), folder.path().join("missing").to_str());
    gui.event(egui::Event::Text("/marker".to_owned()));
    press(&mut gui, Modifiers::NONE, Key::Enter);
    saved(&mut gui);
    // There is no such folder. The field has the keyboard still.
    press(&mut gui, Modifiers::COMMAND, Key::A);
    gui.event(text(&folder.path().join("marker")));
    press(&mut gui, Modifiers::NONE, Key::Enter);
    saved(&mut gui);
    assert!(folder.path().join("marker.keepside").is_file());
}

#[test]
fn a_clean_project_is_replaced_without_a_question() {
    let mut gui = on(marker());
    press(&mut gui, Modifiers::COMMAND, Key::N);
    assert_eq!(**gui.state().session.document(), Project::blank());
}

#[test]
fn closing_the_window_asks_about_unsaved_changes() {
    let mut gui = on(marker());
    nudge(&mut gui);
    let viewport = egui::ViewportId::ROOT;
    gui.input_mut().viewports.get_mut(&viewport).unwrap().events.push(egui::ViewportEvent::Close);
    gui.step();
    gui.input_mut().viewports.get_mut(&viewport).unwrap().events.clear();
    gui.run();
    gui.get_by_label("The project has unsaved changes");
    gui.get_by_label("Save them before Keepside is closed?");
    click(&mut gui, "Cancel");
    assert_eq!(at(&gui, 5).x, 81.0);
}

#[test]
fn the_drilling_sheet_is_exported_to_a_folder() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sheets");
    let mut gui = on(marker());
    menu(&mut gui, "File", "Export sheets…");
    type_into(&mut gui, Role::TextInput, "Folder", out.to_str().unwrap());
    // Those that tell of the opening are compared where that is computed.
    let of_layout = |output: &Output| output.is_usual() && !output.needs_opening();
    let outputs: Vec<Output> = Output::ALL.into_iter().filter(of_layout).collect();
    let expected = keepside_sheet::export(&marker(), &outputs, None).unwrap();
    let all_there = |_: &Gui| expected.iter().all(|export| out.join(&export.file_name).is_file());
    wait_for(&mut gui, "the sheets", all_there);
    wait_for(&mut gui, "the message", |gui| gui.query_by_label_contains("Exported").is_some());
    for export in &expected {
        assert_eq!(std::fs::read(out.join(&export.file_name)).unwrap(), export.bytes, "{}", export.file_name);
    }
}

#[test]
fn a_layout_with_faults_is_exported_with_a_word_about_them() {
    let words = |gui: &Gui| gui.query_by_label_contains("the sheet is printed all the same").is_some();
    let mut project = marker();
    // The channel ends at y = 63.
    project.features.get_mut(&Id(5)).unwrap().at.y = 70.0;
    let mut gui = computed(project);
    let session = &gui.state().session;
    let findings = session.results().findings(session.revision());
    let is_fault = |finding: &Finding| finding.severity == Severity::Fault;
    let faults = findings.iter().filter(|(finding, _)| is_fault(finding)).count();
    assert!(faults > 0, "a pin outside the channel is a fault");
    menu(&mut gui, "File", "Export sheets…");
    assert!(words(&gui));
    let count = if faults == 1 { "1 fault;".to_owned() } else { format!("{faults} faults;") };
    assert!(gui.query_by_label_contains(&count).is_some(), "{count}");

    // Saving is no place for it.
    click(&mut gui, "Cancel");
    menu(&mut gui, "File", "Save as…");
    assert!(!words(&gui));
}

#[test]
fn recent_files_are_remembered_and_opened() {
    let folder = tempfile::tempdir().unwrap();
    let (path, config) = (folder.path().join("marker.keepside"), folder.path().join("config"));
    let settings = Start { config: Some(config), ..Start::default() };
    keepside_store::save(&path, &marker()).unwrap();
    let first = Start { project: Some(path.clone()), ..settings.clone() };
    drop(start(first, FakeDialogs::default()));

    let mut gui = start(settings, FakeDialogs::default());
    assert_ne!(**gui.state().session.document(), marker());
    click(&mut gui, "File");
    click(&mut gui, "Recent files");
    click(&mut gui, "marker.keepside");
    opened(&mut gui);
    assert_eq!(**gui.state().session.document(), marker());
    assert_eq!(gui.state().session.path(), Some(path.as_path()));
}

#[test]
fn a_project_that_cannot_be_read_at_the_start_is_told_and_the_demo_shown() {
    let missing = Start { project: Some("/nowhere/at/all.keepside".into()), ..Start::default() };
    let gui = start(missing, FakeDialogs::default());
    let told = gui.query_by_label_contains("/nowhere/at/all.keepside was not opened: there is no such file");
    assert!(told.is_some());
    assert!(gui.query_by_label_contains("This is the demo project").is_some());
    assert!(!gui.state().session.document().features.is_empty());
}

#[test]
fn what_the_user_likes_is_remembered() {
    let folder = tempfile::tempdir().unwrap();
    let settings = Start { config: Some(folder.path().join("config")), ..Start::default() };
    let mut gui = start(settings.clone(), FakeDialogs::default());
    click(&mut gui, "Snap");
    gui.state_mut().view.grid_mm = 0.5;
    gui.run();
    let again = start(settings, FakeDialogs::default());
    assert_eq!((again.state().view.snapping, again.state().view.grid_mm), (false, 0.5));
}
