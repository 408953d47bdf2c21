//! For everyone: names, the keyboard, small windows and large letters, signs that a font has.

use std::collections::BTreeSet;

use egui::accesskit::Role;
use egui::{Key, Modifiers, Rect, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use keepside_app::{App, Start, Tab};
use keepside_model::Id;

use crate::harness::{
    FakeDialogs, Gui, branched, click, computed, marker, menu, on, opened, press, selected, start, texts,
};

/// Roles of what the user can act on.
const CONTROLS: [Role; 13] = [
    Role::Button,
    Role::CheckBox,
    Role::RadioButton,
    Role::Slider,
    Role::SpinButton,
    Role::TextInput,
    Role::MultilineTextInput,
    Role::ComboBox,
    Role::Link,
    Role::MenuItem,
    Role::Tab,
    Role::DisclosureTriangle,
    Role::Canvas,
];

/// The pages about shots, and their keys.
const PAGES: [(&str, Key); 4] =
    [("Chances", Key::Num1), ("Trial log", Key::Num2), ("Learning", Key::Num3), ("Suggestions", Key::Num4)];

#[track_caller]
fn all_named(gui: &Gui, state: &str) {
    let nameless = |node: &egui_kittest::Node<'_>| {
        let node = node.accesskit_node();
        let named = node.label().is_some_and(|name| !name.trim().is_empty());
        CONTROLS.contains(&node.role()) && !named
    };
    let all: Vec<String> =
        gui.get_all_by(|_| true).filter(nameless).map(|node| format!("{node:?}")).collect();
    assert!(all.is_empty(), "{state}: {} controls have no name: {all:#?}", all.len());
}

#[test]
fn every_control_has_a_name_in_every_state() {
    let mut gui = computed(marker());
    all_named(&gui, "nothing selected");
    for id in 1..=7 {
        gui.state_mut().session.select([Id(id)]);
        gui.run();
        all_named(&gui, &format!("item {id} selected"));
    }
    click(&mut gui, "Section");
    all_named(&gui, "section");
    for (name, _) in [
        ("Holds", Tab::Holds),
        ("Balance", Tab::Balance),
        ("Pull-off", Tab::PullOff),
        ("Stripping", Tab::Stripping),
        ("Melt", Tab::Melt),
        ("Filling", Tab::Melt),
    ] {
        click(&mut gui, name);
        all_named(&gui, name);
    }
    for (page, key) in PAGES {
        press(&mut gui, Modifiers::COMMAND, key);
        all_named(&gui, page);
        if page == "Trial log" {
            click(&mut gui, "New trial");
            for title in ["Who kept which stretch", "What broke (nobody looked)", "Bumps measured"] {
                gui.get_by_label(title).click_accesskit();
                gui.run();
            }
            all_named(&gui, "a trial");
        }
    }
    click(&mut gui, "Close shots");
    press(&mut gui, Modifiers::COMMAND, Key::A);
    all_named(&gui, "everything selected");
    for name in ["File", "Edit", "View", "Help"] {
        click(&mut gui, name);
        all_named(&gui, name);
        press(&mut gui, Modifiers::NONE, Key::Escape);
    }
    for entry in ["Open…", "Save as…", "Earlier states…", "Export"] {
        menu(&mut gui, "File", entry);
        opened(&mut gui);
        all_named(&gui, entry);
        press(&mut gui, Modifiers::NONE, Key::Escape);
    }
    menu(&mut gui, "Help", "What it is about…");
    all_named(&gui, "first page");
    press(&mut gui, Modifiers::NONE, Key::Escape);
    menu(&mut gui, "Help", "Version and licences…");
    all_named(&gui, "version and licences");
}

/// What has the keyboard.
fn focused(gui: &Gui) -> Option<(String, Rect)> {
    let node = gui.query_by(|node| node.is_focused() && node.role() != Role::Window)?;
    let named = node.accesskit_node();
    Some((named.label().or(named.value()).unwrap_or_default(), node.rect()))
}

#[test]
fn tab_reaches_every_part_of_the_window_and_comes_round_again() {
    let mut gui = computed(marker());
    let mut visited: Vec<String> = Vec::new();
    for _ in 0..200 {
        press(&mut gui, Modifiers::NONE, Key::Tab);
        let Some((name, _)) = focused(&gui) else { continue };
        if visited.first() == Some(&name) && visited.len() > 10 {
            break;
        }
        visited.push(name);
    }
    let place = |name: &str| {
        visited.iter().position(|other| other.starts_with(name)).unwrap_or_else(|| {
            panic!("{name} is not reached by Tab: {visited:?}");
        })
    };
    // From the top to the bottom of what is read first.
    assert!(place("File") < place("Select"), "{visited:?}");
    assert!(place("Select") < place("Plan"), "{visited:?}");
    for name in ["Edit", "View", "Help", "Findings", "Holds", "Snap", "Fit", "Opening"] {
        place(name);
    }
    assert!(visited.len() < 200, "Tab does not come round: {visited:?}");
    let on_plan = |name: &&String| name.starts_with("Keying pin K") || name.starts_with("Run R");
    assert_eq!(visited.iter().find(on_plan), None, "the plan is one stop");
}

/// The name of what has the keyboard.
fn focused_name(gui: &Gui) -> String {
    focused(gui).map(|(name, _)| name).unwrap_or_default()
}

#[test]
fn the_plan_is_one_stop_and_brackets_lead_through_it() {
    let mut gui = on(marker());
    for _ in 0..100 {
        press(&mut gui, Modifiers::NONE, Key::Tab);
        if focused_name(&gui) == "Plan" {
            break;
        }
    }
    assert_eq!(focused_name(&gui), "Plan");
    // Through the items, and the handles of a run, which is selected when it is reached.
    let mut seen = Vec::new();
    for _ in 0..6 {
        press(&mut gui, Modifiers::NONE, Key::CloseBracket);
        seen.push(focused_name(&gui));
    }
    let expected = ["Run R1", "Run R1 point 1", "Run R1 bend 1", "Run R1 point 2", "Sprue S2", "Sprue S3"];
    assert_eq!(seen, expected);
    assert_eq!(selected(&gui), [3]);
    press(&mut gui, Modifiers::NONE, Key::OpenBracket);
    assert_eq!(focused_name(&gui), "Sprue S2");
    // The arrow keys move what has the keyboard; Tab leaves the plan, and both ways there is nothing between.
    press(&mut gui, Modifiers::NONE, Key::ArrowUp);
    assert_eq!(crate::harness::at(&gui, 2).y, 61.0);
    press(&mut gui, Modifiers::NONE, Key::Tab);
    let after = focused_name(&gui);
    assert!(!expected.contains(&after.as_str()) && after != "Plan", "{after}");
    press(&mut gui, Modifiers::SHIFT, Key::Tab);
    assert_eq!(focused_name(&gui), "Plan", "after {after}");
    press(&mut gui, Modifiers::NONE, Key::CloseBracket);
    press(&mut gui, Modifiers::SHIFT, Key::Tab);
    let before = focused_name(&gui);
    assert!(!before.starts_with("Keying pin") && before != "Plan", "{before}");
}

#[test]
fn every_item_on_the_plan_can_be_given_the_keyboard() {
    let mut gui = on(marker());
    press(&mut gui, Modifiers::NONE, Key::Tab);
    for name in ["Run R1", "Sprue S2", "Vent V4", "Keying pin K5", "Bolt H7"] {
        // As assistive technology asks for it.
        gui.get_by_label(name).focus();
        gui.run();
        assert_eq!(focused_name(&gui), name);
    }
}

#[test]
fn brackets_step_through_everything_on_the_plan() {
    let mut gui = on(marker());
    let mut seen = Vec::new();
    for _ in 0..7 {
        press(&mut gui, Modifiers::NONE, Key::CloseBracket);
        seen.extend(selected(&gui));
    }
    assert_eq!(seen, [1, 2, 3, 4, 5, 6, 7]);
    press(&mut gui, Modifiers::NONE, Key::CloseBracket);
    assert_eq!(selected(&gui), [1], "round again");
    press(&mut gui, Modifiers::NONE, Key::OpenBracket);
    assert_eq!(selected(&gui), [7], "and backwards");
}

/// The editor in a window of this size in points, on the marker.
fn sized(width: f32, height: f32, first_page: bool) -> Gui {
    let begin = Start { first_page, ..Start::default() };
    let dialogs = Box::new(FakeDialogs::default());
    let mut gui: Gui = Harness::builder()
        .with_size(Vec2::new(width, height))
        .with_max_steps(64)
        .build_eframe(move |cc| App::new(&cc.egui_ctx, begin, dialogs).unwrap());
    gui.run();
    gui.state_mut().session.replace(marker(), None);
    gui.state_mut().view.camera = None;
    gui.run();
    gui
}

/// 1280 × 720 as it is, a screen of 1920 × 1080 at 200 %, and 1280 × 720 at 200 %.
const WINDOWS: [(f32, f32); 3] = [(1280.0, 720.0), (960.0, 540.0), (640.0, 360.0)];

#[test]
fn nothing_is_cut_off_in_a_small_window_or_at_twice_the_size() {
    for (width, height) in WINDOWS {
        let gui = sized(width, height, false);
        let window = Rect::from_min_size(egui::Pos2::ZERO, Vec2::new(width, height)).expand(0.5);
        let mut bar: Vec<(String, Rect)> = Vec::new();
        for name in [
            "File",
            "Edit",
            "View",
            "Shots",
            "Help",
            "Undo",
            "Redo",
            "Select",
            "Keying pin",
            "Gate",
            "Vent",
            "Ejector",
            "Draw run",
            "Shapes",
            "Note",
            "Measure",
        ] {
            let rect = gui.get_by_label(name).rect();
            assert!(window.contains_rect(rect), "{name} at {rect:?} in a window of {width} × {height}");
            for (other, taken) in &bar {
                assert!(!taken.shrink(0.5).intersects(rect), "{name} covers {other} at {width} × {height}");
            }
            bar.push((name.to_owned(), rect));
        }
        for name in ["Plan", "Side elevation", "Play opening", "Snap", "Fit", "Zoom in", "Holds", "Stripping"]
        {
            let rect = gui.get_by_label(name).rect();
            assert!(window.contains_rect(rect), "{name} at {rect:?} in a window of {width} × {height}");
        }
        let plan = gui.get_by_label("Plan").rect();
        for name in ["Play opening", "Step on", "Forces", "Released part", "fitted"] {
            let rect = gui.get_by_label(name).rect();
            assert!(
                rect.right() <= plan.right() + 0.5,
                "{name} at {rect:?} under the side at {width} × {height}"
            );
        }
        let slider = gui.get_by_role_and_label(Role::Slider, "Opening").rect();
        assert!(slider.right() <= plan.right() + 0.5, "the slider at {slider:?} at {width} × {height}");
        assert!(
            plan.width() >= 250.0 && plan.height() >= 80.0,
            "the plan has {plan:?} at {width} × {height}"
        );
    }
}

#[test]
fn a_window_made_smaller_and_larger_again_covers_and_cuts_off_nothing() {
    let mut gui = on(branched());
    gui.state_mut().session.stop_computing();
    for (width, height) in
        [(1600.0, 1000.0), (1280.0, 720.0), (640.0, 360.0), (960.0, 540.0), (1600.0, 1000.0), (640.0, 360.0)]
    {
        gui.set_size(Vec2::new(width, height));
        gui.run();
        nothing_covered(&gui, width, height);
    }
    // Whatever the small window shows at the side.
    for tab in ["Holds", "Balance", "Pull-off", "Stripping", "Bending", "Layouts", "Melt", "Findings"] {
        gui.get_by_label_contains(tab).click();
        gui.run();
        nothing_covered(&gui, 640.0, 360.0);
    }
    for id in 1..=8 {
        gui.state_mut().session.select([Id(id)]);
        gui.run();
        nothing_covered(&gui, 640.0, 360.0);
    }
}

#[test]
fn the_filling_is_not_cut_off_in_a_small_window() {
    for (width, height) in WINDOWS {
        let mut gui = sized(width, height, false);
        click(&mut gui, "Filling");
        click(&mut gui, "Melt");
        let plan = gui.get_by_label("Plan").rect();
        for name in ["Elevation", "Section", "Filling", "Play filling", "Step on", "On the plan"] {
            let rect = gui.get_by_label(name).rect();
            assert!(rect.right() <= plan.right() + 0.5, "{name} at {rect:?} in {width} × {height}");
            assert!(rect.bottom() <= height, "{name} at {rect:?} in {width} × {height}");
        }
        let slider = gui.get_by_role_and_label(Role::Slider, "Time").rect();
        assert!(slider.right() <= plan.right() + 0.5, "the slider at {slider:?} at {width} × {height}");
        assert!(plan.width() >= 250.0 && plan.height() >= 80.0, "{plan:?} at {width} × {height}");
    }
}

#[test]
fn every_field_of_material_press_and_cooling_has_a_name() {
    let mut gui = computed(marker());
    for group in ["Shot settings", "Cooling and gates", "Press", "Own grades", "Show where numbers come from"]
    {
        gui.get_by_label(group).click_accesskit();
        gui.run();
        all_named(&gui, group);
    }
    for group in
        ["Flow of the melt", "Temperatures and heat", "Density and shrinkage", "Vents", "Cold strength"]
    {
        gui.get_by_label(group).click_accesskit();
        gui.run();
        all_named(&gui, group);
    }
    gui.set_size(Vec2::new(640.0, 360.0));
    gui.run();
    let right = gui.get_by_label("Plan").rect().right();
    for name in ["Clamp force", "Packing time", "Power-law index"] {
        let rect = gui.get_by_role_and_label(Role::SpinButton, name).rect();
        assert!(rect.left() >= right && rect.right() <= 640.5, "{name} at {rect:?}");
    }
}

#[track_caller]
fn nothing_covered(gui: &Gui, width: f32, height: f32) {
    let window = Rect::from_min_size(egui::Pos2::ZERO, Vec2::new(width, height)).expand(0.5);
    let at = |name: &str| gui.get_by_label(name).rect();
    let (plan, elevation) = (at("Plan"), at("Side elevation"));
    for name in ["Holds", "Balance", "Pull-off", "Stripping", "Bending", "Layouts", "Melt"] {
        let rect = at(name);
        assert!(window.contains_rect(rect), "{name} at {rect:?} in a window of {width} × {height}");
        for drawing in [plan, elevation] {
            assert!(
                drawing.right() <= rect.left() + 0.5,
                "{drawing:?} covers {name} at {rect:?} in a window of {width} × {height}"
            );
        }
    }
    for name in ["Play opening", "Forces", "Snap", "Fit", "Zoom in"] {
        let rect = at(name);
        assert!(window.contains_rect(rect), "{name} at {rect:?} in a window of {width} × {height}");
    }
    // What is selected keeps room over the panel with the tabs, and that panel keeps some as well.
    let tabs = at("Holds");
    assert!(tabs.top() - plan.top() >= 0.3 * plan.height(), "{tabs:?} at {width} × {height}");
    assert!(tabs.bottom() + 40.0 <= height, "{tabs:?} at {width} × {height}");
    assert!(plan.height() >= 80.0, "{plan:?} at {width} × {height}");
}

#[test]
fn the_pages_about_shots_fit_a_small_window() {
    let mut gui = on(branched());
    gui.state_mut().session.stop_computing();
    for (width, height) in WINDOWS.into_iter().chain([(1600.0, 1000.0), (640.0, 360.0)]) {
        gui.set_size(Vec2::new(width, height));
        gui.run();
        let window = Rect::from_min_size(egui::Pos2::ZERO, Vec2::new(width, height)).expand(0.5);
        for (page, key) in PAGES {
            press(&mut gui, Modifiers::COMMAND, key);
            if page == "Trial log" && gui.state().session.document().trials.is_empty() {
                click(&mut gui, "New trial");
            }
            let plan = gui.get_by_label("Plan").rect();
            assert!(plan.width() >= 200.0 && plan.height() >= 80.0, "{plan:?} at {width} × {height}");
            for name in ["Chances", "Trial log", "Learning", "Suggestions", "Close shots"] {
                let rect = gui.get_by_label(name).rect();
                assert!(window.contains_rect(rect), "{name} at {rect:?} on {page} at {width} × {height}");
                assert!(!plan.shrink(0.5).intersects(rect), "the plan covers {name} at {width} × {height}");
            }
        }
        click(&mut gui, "Close shots");
    }
}

#[test]
fn the_first_page_fits_a_small_window() {
    for (width, height) in WINDOWS {
        let gui = sized(width, height, true);
        let window = Rect::from_min_size(egui::Pos2::ZERO, Vec2::new(width, height));
        for name in ["Look at the demo", "Start a blank project", "Open a file…", "Close this page"] {
            let rect = gui.get_by_label(name).rect();
            assert!(window.contains_rect(rect), "{name} at {rect:?} in a window of {width} × {height}");
        }
    }
}

fn first() -> Gui {
    start(Start { first_page: true, ..Start::default() }, FakeDialogs::default())
}

#[test]
fn the_first_page_explains_itself_in_four_pictures_and_leads_to_the_demo() {
    let mut gui = first();
    let pictures = gui.get_all_by_role(Role::Image).count();
    assert_eq!(pictures, 4);
    let demo = gui.state().session.document().clone();
    // Its first button has the keyboard.
    press(&mut gui, Modifiers::NONE, Key::Enter);
    assert!(gui.query_by_label("Look at the demo").is_none(), "{:?}", texts(&gui));
    assert_eq!(gui.state().session.document(), &demo);
    assert!(!demo.features.is_empty());
}

#[test]
fn the_first_page_starts_a_blank_project_or_steps_aside() {
    let mut gui = first();
    click(&mut gui, "Start a blank project");
    assert_eq!(**gui.state().session.document(), keepside_model::Project::blank());
    let mut gui = first();
    press(&mut gui, Modifiers::NONE, Key::Escape);
    assert!(gui.query_by_label("Look at the demo").is_none());
    // From the help menu it comes back; the demo does not take the place of work unasked.
    press(&mut gui, Modifiers::COMMAND, Key::A);
    press(&mut gui, Modifiers::NONE, Key::Delete);
    menu(&mut gui, "Help", "What it is about…");
    click(&mut gui, "Look at the demo");
    gui.get_by_label("The project has unsaved changes");
}

#[test]
fn keys_do_nothing_to_the_plan_under_the_first_page() {
    let mut gui = first();
    let before = gui.state().session.document().clone();
    press(&mut gui, Modifiers::COMMAND, Key::A);
    press(&mut gui, Modifiers::NONE, Key::Delete);
    assert_eq!(gui.state().session.document(), &before);
}

#[test]
fn the_help_menu_tells_the_version_and_shows_every_licence() {
    for (width, height) in WINDOWS {
        let mut gui = sized(width, height, false);
        menu(&mut gui, "Help", "Version and licences…");
        gui.get_by_label(concat!("Keepside ", env!("CARGO_PKG_VERSION")));
        for (name, within) in [
            ("Apache licence 2.0", "Version 2.0, January 2004"),
            ("Font", "Bitstream"),
            ("Crates", "Licences of what Keepside is built from"),
            ("MIT licence", "Permission is hereby granted"),
        ] {
            click(&mut gui, name);
            gui.run();
            assert!(texts(&gui).iter().any(|text| text.contains(within)), "{name}: {:?}", texts(&gui));
        }
        let window = Rect::from_min_size(egui::Pos2::ZERO, Vec2::new(width, height));
        let close = gui.get_by_label("Close").rect();
        assert!(window.contains_rect(close), "{close:?} in a window of {width} × {height}");
        press(&mut gui, Modifiers::NONE, Key::Escape);
        assert!(gui.query_by_label("Close").is_none());
    }
}

/// The characters of the program's own texts, and of the demo projects.
fn written() -> BTreeSet<char> {
    fn files(folder: &std::path::Path, kind: &str, into: &mut Vec<std::path::PathBuf>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                files(&path, kind, into);
            } else if path.extension().is_some_and(|extension| extension == kind) {
                into.push(path);
            }
        }
    }
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut all = Vec::new();
    for krate in ["gui", "engine", "model", "session", "store"] {
        files(&root.join("crates").join(krate).join("src"), "rs", &mut all);
    }
    files(&root.join("demo-projects"), "keepside", &mut all);
    assert!(all.len() > 100, "{} files", all.len());
    let mut written = BTreeSet::new();
    for path in all {
        let text = std::fs::read_to_string(&path).unwrap();
        // Tests and comments are not shown.
        let text = text.split("#[cfg(test)]").next().unwrap_or_default();
        for line in text.lines().filter(|line| !line.trim_start().starts_with("//")) {
            written.extend(line.chars().filter(|letter| !letter.is_control()));
        }
    }
    written
}

#[test]
fn no_glyph_is_missing_in_what_the_program_writes() {
    let gui = on(marker());
    let font = egui::FontId::proportional(12.0);
    let missing: Vec<char> = written()
        .into_iter()
        .filter(|letter| !gui.ctx.fonts_mut(|fonts| fonts.has_glyph(&font, *letter)))
        .collect();
    assert!(missing.is_empty(), "no glyph for {missing:?}");
}

#[test]
fn letters_that_no_font_has_show_as_boxes_and_are_told_of_once() {
    let mut gui = on(marker());
    gui.ctx.set_missing_glyph_policy(egui::MissingGlyphPolicy::Tofu);
    let mut project = marker();
    project.name = "\u{5370}\u{8a18} marker".to_owned();
    gui.state_mut().session.replace(project, None);
    gui.run();
    let whole = "No glyph here for U+5370, U+8A18: a box stands for each; the file keeps what you wrote";
    let told = |gui: &Gui| texts(gui).iter().filter(|text| *text == whole).count();
    assert_eq!(told(&gui), 1, "{:?}", texts(&gui));
    click(&mut gui, "Keying pin K5");
    press(&mut gui, Modifiers::NONE, Key::ArrowUp);
    assert_eq!(told(&gui), 1);
    assert_eq!(gui.state().session.document().name, "\u{5370}\u{8a18} marker");
}
