//! The section through a feature or ejector, and what its hold gives way to.

use egui::accesskit::Role;
use egui::{Key, Modifiers, vec2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use glam::DVec2;
use keepside_app::{SectionScope, Strip};
use keepside_model::{Edit, Ejector, EjectorFace, FeatureKind, Half, Id, Item, ScrewEnd, ThreadSize};

use crate::harness::{
    Gui, branched, click, click_at, drag, marker, on, place_of, press, steps, texts, type_into,
};

/// What the section says.
fn told(gui: &Gui) -> String {
    let section = gui.get_by_role_and_label(Role::Canvas, "Section");
    section.accesskit_node().value().unwrap_or_default()
}

/// Opens the section of keying pin K5.
fn opened() -> Gui {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    click(&mut gui, "Section");
    assert_eq!(gui.state().view.strip, Strip::Section);
    gui
}

fn protrusion_mm(gui: &Gui) -> f64 {
    gui.state().session.document().features[&Id(5)].protrusion_mm
}

#[test]
fn the_section_tells_heights_gaps_and_the_roof() {
    let mut gui = opened();
    // A 3 mm screw that stands 1.8 mm out in the middle of a channel 6 mm wide and 3 mm deep.
    for words in [
        "K5 in R1, cut across",
        "channel depth 3.00 mm",
        "channel width 6.00 mm",
        "protrusion 1.80 mm",
        "roof 1.20 mm, needs 0.8 mm",
        "gap left 1.50 mm, needs 1 mm",
        "gap right 1.50 mm, needs 1 mm",
        "plate 20.00 mm",
    ] {
        assert!(told(&gui).contains(words), "{words:?} is not in {:?}", told(&gui));
    }
    click(&mut gui, "Whole plates");
    assert_eq!(gui.state().view.section_scope, SectionScope::Whole);
    click(&mut gui, "Near the channel");
    click(&mut gui, "Elevation");
    assert!(gui.query_by_role_and_label(Role::Canvas, "Section").is_none());
    // It lies below what is scrolled into view.
    gui.get_by_label("Show section").click_accesskit();
    gui.run();
    assert!(told(&gui).starts_with("K5"));
}

#[test]
fn the_top_of_a_screw_is_dragged_in_twentieths_as_one_undo_step() {
    let mut gui = opened();
    let from = place_of(&gui, "Top of K5");
    // The moving half is above: downwards is out of it.
    drag(&mut gui, from, from + vec2(0.0, 13.0));
    let now_mm = protrusion_mm(&gui);
    assert!(now_mm > 1.9 && now_mm < 3.0, "{now_mm}");
    assert!((now_mm * 20.0 - (now_mm * 20.0).round()).abs() < 1e-9, "{now_mm} is no twentieth");
    assert_eq!(steps(&gui), 1);
    assert!(told(&gui).contains(&format!("protrusion {now_mm:.2} mm")));
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    assert_eq!(protrusion_mm(&gui), 1.8);
}

#[test]
fn the_ways_to_give_are_told_with_forces_and_the_one_that_governs() {
    let gui = opened();
    let names = texts(&gui);
    let starting = |start: &str| names.iter().filter(|name| name.starts_with(start)).collect::<Vec<_>>();
    for way in ["expand: ", "shear: ", "tear: "] {
        assert_eq!(starting(way).len(), 1, "{way} in {names:?}");
    }
    let governs: Vec<&String> = names.iter().filter(|name| name.ends_with(", governs")).collect();
    // A fine thread in a wide channel strips: common practice, no source.
    assert!(matches!(governs[..], [way] if way.starts_with("shear: ")), "{governs:?}");
    assert_eq!(starting("bears ").len(), 1, "what the plastic bears is told: {names:?}");
    assert!(
        names.iter().any(|name| name.starts_with("pull ") && name.contains("share of the thread filled"))
    );
    assert!(names.iter().any(|name| name.starts_with("pull ") && name.contains("friction on steel")));
}

#[test]
fn every_kind_of_feature_and_every_face_of_an_ejector_is_cut_through() {
    let screw = |end| FeatureKind::SetScrew { thread: ThreadSize::M3, end };
    let kinds = ScrewEnd::ALL.map(screw).into_iter().chain([
        FeatureKind::CapHead { thread: ThreadSize::M2, turned_mm: Some(3.4), chamfer_mm: 0.2 },
        FeatureKind::TurnedHead {
            head_diameter_mm: 4.0,
            neck_diameter_mm: 3.0,
            head_height_mm: 0.8,
            underside_deg: 30.0,
        },
        FeatureKind::PlainPost { diameter_mm: 3.0 },
        FeatureKind::RingedPost {
            diameter_mm: 3.0,
            ring_depth_mm: 0.3,
            ring_width_mm: 0.5,
            land_mm: 0.6,
            flank_deg: 45.0,
        },
    ]);
    let mut gui = opened();
    for kind in kinds {
        for half in [Half::Moving, Half::Fixed] {
            let mut feature = gui.state().session.document().features[&Id(5)].clone();
            (feature.kind, feature.half) = (kind, half);
            gui.state_mut().session.apply(&Edit::Set(Id(5), Item::Feature(feature))).unwrap();
            gui.run();
            assert!(told(&gui).contains("roof 1.20 mm"), "{kind:?}: {}", told(&gui));
        }
    }
    for (index, face) in
        [EjectorFace::Plain, EjectorFace::Grooved, EjectorFace::Crossed].into_iter().enumerate()
    {
        let id = Id(20 + u32::try_from(index).unwrap());
        let pin = Ejector::new(DVec2::new(90.0, 60.0), 4.0, 100.0, 10.0, face);
        gui.state_mut().session.apply(&Edit::Add(id, Item::Ejector(pin))).unwrap();
        gui.state_mut().session.select([id]);
        gui.run();
        assert!(told(&gui).contains("diameter 4.00 mm"), "{face:?}: {}", told(&gui));
        assert_eq!(told(&gui).contains("groove depth 0.50 mm"), face.keys(), "{face:?}: {}", told(&gui));
    }
}

#[test]
fn without_a_feature_the_bare_channel_is_cut() {
    let mut gui = on(marker());
    click(&mut gui, "Section");
    // The middle of the only run, 120 mm long.
    assert!(told(&gui).starts_with("R1, cut across"), "{}", told(&gui));
    for words in ["channel depth 3.00 mm", "channel width 6.00 mm", "depth in moving half 1.50 mm"] {
        assert!(told(&gui).contains(words), "{words:?} is not in {:?}", told(&gui));
    }
    type_into(&mut gui, Role::SpinButton, "Cut along R1", "25,4");
    let place = gui.state().view.section_at.clone().unwrap().0;
    assert!((place - DVec2::new(65.4, 60.0)).length() < 1e-9, "{place}");
    // Where a pin stands the cut goes through its middle.
    type_into(&mut gui, Role::SpinButton, "Cut along R1", "40,2");
    assert!(told(&gui).starts_with("K5 in R1, cut across"), "{}", told(&gui));
}

#[test]
fn the_line_of_the_section_is_dragged_along_the_run_on_the_plan() {
    let mut gui = on(branched());
    click(&mut gui, "Section");
    let from = place_of(&gui, "Section line");
    let by = crate::harness::px(&gui, 12.0);
    drag(&mut gui, from, from + vec2(by, 0.0));
    let place = gui.state().view.section_at.clone().unwrap().0;
    // It stays on the middle of the run.
    assert!((place.y - 60.0).abs() < 1e-6 && (place.x - 112.0).abs() < 0.6, "{place}");
    assert_eq!(steps(&gui), 0, "looking changes nothing");
    // A click on another run cuts that one; it follows the pointer to any run.
    let on_arm = crate::harness::to_screen(&gui, 100.0, 85.0);
    click_at(&mut gui, on_arm, Modifiers::NONE);
    assert!(told(&gui).starts_with("R8, cut across"), "{}", told(&gui));
    // By keyboard it goes by a step of the grid.
    let before = gui.state().view.section_at.clone().unwrap().0;
    gui.get_by_label("Section line").focus();
    gui.run();
    press(&mut gui, Modifiers::NONE, Key::ArrowRight);
    let after = gui.state().view.section_at.clone().unwrap().0;
    assert!((after - before - DVec2::new(0.0, 1.0)).length() < 1e-6, "{before} to {after}");
}

#[test]
fn a_pin_that_is_selected_again_is_cut_again() {
    let mut gui = opened();
    type_into(&mut gui, Role::SpinButton, "Cut along R1", "60");
    assert!(told(&gui).starts_with("R1, cut across"), "{}", told(&gui));
    click(&mut gui, "Keying pin K5");
    assert!(told(&gui).starts_with("K5 in R1"), "{}", told(&gui));
}
