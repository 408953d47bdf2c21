//! Keying features as numbers: kinds, ends, heads, the slider, the drawer, the limits.

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use keepside_model::{Edit, FeatureKind, Id, Limits, Lock, ScrewEnd, ThreadSize};

use crate::harness::{Gui, click, marker, on, press, steps, type_into};

/// Chooses an entry of a list.
fn choose(gui: &mut Gui, list: &str, entry: &str) {
    gui.get_by_role_and_label(Role::ComboBox, list).click_accesskit();
    gui.run();
    gui.get_by_role_and_label(Role::Button, entry).click();
    gui.run();
}

fn kind(gui: &Gui) -> FeatureKind {
    gui.state().session.document().features[&Id(5)].kind
}

#[test]
fn a_set_screw_is_turned_over_and_becomes_every_other_kind() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    for end in ScrewEnd::ALL.into_iter().skip(1).chain([ScrewEnd::Socket]) {
        choose(&mut gui, "End in the channel", end.word());
        assert_eq!(kind(&gui), FeatureKind::SetScrew { thread: ThreadSize::M3, end });
    }
    choose(&mut gui, "Thread", "M4");
    choose(&mut gui, "Kind", "cap screw head");
    assert_eq!(kind(&gui), FeatureKind::cap_head(ThreadSize::M4), "the thread is kept");
    choose(&mut gui, "Head", "turned down");
    type_into(&mut gui, Role::SpinButton, "Turned to", "5.2");
    type_into(&mut gui, Role::SpinButton, "Chamfer under head", "0.3");
    let turned = FeatureKind::CapHead { thread: ThreadSize::M4, turned_mm: Some(5.2), chamfer_mm: 0.3 };
    assert_eq!(kind(&gui), turned);
    choose(&mut gui, "Head", "as bought");
    choose(&mut gui, "Kind", "turned head");
    type_into(&mut gui, Role::SpinButton, "Underside angle", "45");
    assert!(matches!(kind(&gui), FeatureKind::TurnedHead { underside_deg: 45.0, .. }), "{:?}", kind(&gui));
    choose(&mut gui, "Kind", "ringed post");
    type_into(&mut gui, Role::SpinButton, "Ring depth", "0.4");
    assert!(matches!(kind(&gui), FeatureKind::RingedPost { ring_depth_mm: 0.4, .. }), "{:?}", kind(&gui));
    choose(&mut gui, "Kind", "plain post");
    assert!(matches!(kind(&gui), FeatureKind::PlainPost { .. }));
    choose(&mut gui, "Locked by", Lock::PressFit.word());
    assert_eq!(gui.state().session.document().features[&Id(5)].lock, Lock::PressFit);
}

#[test]
fn the_protrusion_of_a_screw_is_set_by_eye_in_twentieths_of_a_millimetre() {
    let mut gui = on(marker());
    click(&mut gui, "Keying pin K5");
    gui.get_by_role_and_label(Role::Slider, "Adjust").set_value_accesskit(1.23);
    gui.run();
    let protrusion_mm = |gui: &Gui| gui.state().session.document().features[&Id(5)].protrusion_mm;
    assert_eq!(protrusion_mm(&gui), 1.25);
    assert_eq!(steps(&gui), 1);
    press(&mut gui, Modifiers::COMMAND, Key::Z);
    assert_eq!(protrusion_mm(&gui), 1.8);
    // Numbers between the steps stay as they are until the slider is touched.
    for untouched_mm in ["2.8", "1.234"] {
        type_into(&mut gui, Role::SpinButton, "Protrusion", untouched_mm);
        gui.run();
        assert_eq!(protrusion_mm(&gui).to_string(), untouched_mm);
    }
    // A post is no screw: it is as long as it was turned.
    choose(&mut gui, "Kind", "plain post");
    assert!(gui.query_by_role_and_label(Role::Slider, "Adjust").is_none());
}

#[test]
fn screws_on_hand_are_ticked_and_the_others_say_that_they_are_not() {
    let mut gui = on(marker());
    gui.get_by_label("Screws on hand").click_accesskit();
    gui.run();
    for name in ["M3", "M4"] {
        gui.get_by_role_and_label(Role::CheckBox, name).click_accesskit();
        gui.run();
    }
    let drawer = |gui: &Gui| gui.state().session.document().drawer.iter().copied().collect::<Vec<_>>();
    assert_eq!(drawer(&gui), [ThreadSize::M3, ThreadSize::M4]);
    assert_eq!(steps(&gui), 2);
    gui.get_by_role_and_label(Role::CheckBox, "M3").click_accesskit();
    gui.run();
    assert_eq!(drawer(&gui), [ThreadSize::M4]);
    click(&mut gui, "Keying pin K5");
    choose(&mut gui, "Thread", "M5, not on hand");
    assert_eq!(kind(&gui), FeatureKind::set_screw(ThreadSize::M5));
    choose(&mut gui, "Thread", "M4");
    assert_eq!(kind(&gui), FeatureKind::set_screw(ThreadSize::M4));
}

#[test]
fn every_limit_is_changed_and_goes_back_to_its_default() {
    let mut project = marker();
    let mut limits = Limits::default();
    for limit in [
        &mut limits.flow_gap_mm,
        &mut limits.roof_mm,
        &mut limits.end_gap_mm,
        &mut limits.feature_gap_mm,
        &mut limits.gate_gap_mm,
        &mut limits.steel_wall_mm,
        &mut limits.drill_floor_mm,
        &mut limits.engagement_diameters,
        &mut limits.bump_mm,
        &mut limits.straightedge_mm,
    ] {
        *limit += 0.5;
    }
    project.apply(&Edit::SetLimits(limits)).unwrap();
    let mut gui = on(project);
    gui.get_by_label("Limits").click_accesskit();
    gui.run();
    type_into(&mut gui, Role::SpinButton, "Roof over a pin", "0.65");
    assert_eq!(gui.state().session.document().limits.roof_mm, 0.65);
    let back = |node: &egui_kittest::Node<'_>| {
        let node = node.accesskit_node();
        node.label().is_some_and(|label| label.starts_with("Default for ")) && !node.is_disabled()
    };
    for left in (0..10).rev() {
        gui.get_all_by(|_| true).find(back).expect("a limit that is not the default").click_accesskit();
        gui.run();
        assert_eq!(gui.get_all_by(|_| true).filter(back).count(), left);
    }
    assert_eq!(gui.state().session.document().limits, Limits::default());
    gui.get_by_label("default 1.5, common practice, no source");
}
