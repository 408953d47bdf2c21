//! Drawings from other programs become channel runs.

use std::path::Path;

use egui::accesskit::Role;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use keepside_model::Run;

use crate::harness::{Gui, click, marker, menu, on, press, texts, type_into, wait_for};

/// A tee of two lines that touch, 40 and 20 mm long, in a file in mm.
const TEE: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
  <path d="M10 30 L50 30"/>
  <path d="M30 30 L30 10"/>
  <text x="1" y="5">left alone</text>
</svg>"#;

/// The import of a file with this content, open.
fn import(gui: &mut Gui, folder: &Path, name: &str, content: &str) {
    let path = folder.join(name);
    std::fs::write(&path, content).unwrap();
    menu(gui, "File", "Import a drawing…");
    type_into(gui, Role::TextInput, "File", path.to_str().unwrap());
}

fn runs(gui: &Gui) -> Vec<Run> {
    gui.state().session.document().part.runs.values().cloned().collect()
}

#[test]
fn lines_of_a_drawing_become_runs_in_one_undo_step() {
    let folder = tempfile::tempdir().unwrap();
    let mut gui = on(marker());
    let before = runs(&gui);
    import(&mut gui, folder.path(), "tee.svg", TEE);
    wait_for(&mut gui, "the drawing", |gui| gui.query_by_label("Add to the plan").is_some());
    gui.run();
    assert!(texts(&gui).iter().any(|text| text.contains("Not read: 1 × text")), "{:?}", texts(&gui));
    assert!(gui.query_by_label_contains("tee.svg on the plate: ").is_some());
    click(&mut gui, "Add to the plan");
    let after = runs(&gui);
    assert!(after.len() > before.len());
    // As wide as the channel that there is, and its middle on the middle of the plate.
    let added = &after[before.len()..];
    let points = || added.iter().flat_map(|run| &run.points);
    assert!(points().all(|point| point.width_mm == before[0].points[0].width_mm));
    let low = points().map(|point| point.at).reduce(glam::DVec2::min).unwrap();
    let high = points().map(|point| point.at).reduce(glam::DVec2::max).unwrap();
    assert!((low.midpoint(high) - glam::DVec2::new(100.0, 60.0)).length() < 1e-9, "{low} {high}");
    assert!((high - low - glam::DVec2::new(40.0, 20.0)).length() < 1e-9, "{low} {high}");

    press(&mut gui, egui::Modifiers::COMMAND, egui::Key::Z);
    assert_eq!(runs(&gui), before);
}

#[test]
fn a_broken_drawing_says_why_and_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut gui = on(marker());
    let before = runs(&gui);
    import(&mut gui, folder.path(), "broken.dxf", "0\nSECTION\n2\nENT");
    wait_for(&mut gui, "the message", |gui| gui.query_by_label_contains("broken.dxf").is_some());
    assert!(gui.query_by_label("Add to the plan").is_none());
    assert_eq!(runs(&gui), before);
}

#[test]
fn a_drawing_that_makes_no_run_cannot_be_added() {
    let folder = tempfile::tempdir().unwrap();
    let mut gui = on(marker());
    import(&mut gui, folder.path(), "tee.svg", TEE);
    wait_for(&mut gui, "the drawing", |gui| gui.query_by_label("Add to the plan").is_some());
    // Open lines bound nothing.
    gui.get_by_role_and_label(Role::ComboBox, "Its lines are").click();
    gui.run();
    click(&mut gui, "its edge all round");
    assert!(gui.get_by_label("Add to the plan").accesskit_node().is_disabled());
    click(&mut gui, "Cancel");
    assert_eq!(runs(&gui).len(), marker().part.runs.len());
}
