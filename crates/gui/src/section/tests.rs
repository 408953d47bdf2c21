//! Sections of every kind against kept pictures, and their sizes against numbers worked out by hand.

use std::path::PathBuf;

use glam::DVec2;
use keepside_engine::outline;
use keepside_model::{
    Edit, Ejector, EjectorFace, FeatureKind, Half, Id, Item, KeyingFeature, Project, Run, ScrewEnd,
    ThreadSize,
};

use super::measure::Measure;
use super::scene::{Scene, scene};
use super::svg::svg;

/// The blank project's run R1 goes along y = 60 from 40 to 160, 6 mm wide and 3 mm deep, half in each half.
fn with(item: Item) -> Project {
    let mut project = Project::blank();
    project.apply(&Edit::Add(Id(2), item)).unwrap();
    project
}

fn pin(half: Half, kind: FeatureKind, protrusion_mm: f64) -> Item {
    Item::Feature(KeyingFeature::new(DVec2::new(100.0, 60.0), half, kind, protrusion_mm))
}

fn ejector(face: EjectorFace) -> Item {
    Item::Ejector(Ejector::new(DVec2::new(100.0, 60.0), 5.0, 100.0, 10.0, face))
}

fn cut(project: &Project) -> Scene {
    scene(project, &outline::of(project), Id(2)).unwrap()
}

fn size<'a>(scene: &'a Scene, what: &str) -> &'a Measure {
    scene.measures.iter().find(|measure| measure.what == what).unwrap_or_else(|| panic!("no {what}"))
}

/// Every kind, every end and both ways of changing a head.
fn kinds() -> Vec<(&'static str, Item)> {
    let screw = |end| FeatureKind::SetScrew { thread: ThreadSize::M4, end };
    let cap = |turned_mm, chamfer_mm| FeatureKind::CapHead { thread: ThreadSize::M2, turned_mm, chamfer_mm };
    let head = |underside_deg| FeatureKind::TurnedHead {
        head_diameter_mm: 4.0,
        neck_diameter_mm: 3.0,
        head_height_mm: 0.9,
        underside_deg,
    };
    let ringed = FeatureKind::RingedPost {
        diameter_mm: 3.6,
        ring_depth_mm: 0.3,
        ring_width_mm: 0.6,
        land_mm: 0.6,
        flank_deg: 45.0,
    };
    vec![
        ("set-screw-socket", pin(Half::Moving, screw(ScrewEnd::Socket), 1.8)),
        ("set-screw-flat", pin(Half::Moving, screw(ScrewEnd::Flat), 1.8)),
        ("set-screw-cup", pin(Half::Fixed, screw(ScrewEnd::Cup), 1.8)),
        ("set-screw-cone", pin(Half::Moving, screw(ScrewEnd::Cone), 2.2)),
        ("set-screw-dog", pin(Half::Moving, screw(ScrewEnd::Dog), 2.6)),
        ("cap-head-bought", pin(Half::Moving, cap(None, 0.0), 2.4)),
        ("cap-head-turned", pin(Half::Fixed, cap(Some(3.2), 0.0), 2.4)),
        ("cap-head-chamfered", pin(Half::Moving, cap(None, 0.4), 2.4)),
        ("turned-head-flat", pin(Half::Moving, head(0.0), 2.0)),
        ("turned-head-cone", pin(Half::Fixed, head(45.0), 2.0)),
        ("plain-post", pin(Half::Moving, FeatureKind::PlainPost { diameter_mm: 3.0 }, 2.0)),
        ("ringed-post", pin(Half::Moving, ringed, 2.1)),
        ("ejector-plain", ejector(EjectorFace::Plain)),
        ("ejector-grooved", ejector(EjectorFace::Grooved)),
        ("ejector-crossed", ejector(EjectorFace::Crossed)),
    ]
}

#[test]
fn sections_of_every_kind_are_as_they_were_looked_at() {
    let folder = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/section"));
    for (name, item) in kinds() {
        let picture = svg(&cut(&with(item)));
        let file = folder.join(format!("{name}.svg"));
        if std::env::var_os("UPDATE_GOLDEN").is_some() {
            std::fs::create_dir_all(&folder).unwrap();
            std::fs::write(&file, &picture).unwrap();
        }
        let kept = std::fs::read_to_string(&file).unwrap_or_default();
        let differs = kept.lines().zip(picture.lines()).find(|(kept, now)| kept != now);
        assert!(
            kept == picture,
            "{name}: {differs:?}; look at the picture and run with UPDATE_GOLDEN=1 if it is right"
        );
    }
}

#[test]
fn heights_and_gaps_of_a_screw_are_told() {
    let scene = cut(&with(pin(Half::Moving, FeatureKind::set_screw(ThreadSize::M4), 1.8)));
    for (what, value_mm, needed_mm) in [
        ("channel depth", 3.0, None),
        ("channel width", 6.0, None),
        ("protrusion", 1.8, None),
        ("roof", 1.2, Some(0.8)),
        // 4 mm in the middle of 6 mm.
        ("gap left", 1.0, Some(1.0)),
        ("gap right", 1.0, Some(1.0)),
        ("plate", 20.0, None),
    ] {
        let measure = size(&scene, what);
        assert!((measure.value_mm - value_mm).abs() < 1e-9, "{what}: {measure:?}");
        assert_eq!(measure.needed_mm, needed_mm, "{what}");
        assert!(!measure.is_tight(), "{what}");
    }
    // The moving half is above, so its screw points down: 1.5 mm of channel less 1.8 mm.
    assert!((scene.top.y + 0.3).abs() < 1e-9, "{}", scene.top);
    assert_eq!(size(&scene, "roof").words(), "roof 1.20 mm, needs 0.8 mm");
}

#[test]
fn off_the_middle_the_gaps_differ_and_the_tight_one_is_told() {
    let kind = FeatureKind::set_screw(ThreadSize::M4);
    let mut off = KeyingFeature::new(DVec2::new(100.0, 60.4), Half::Fixed, kind, 2.5);
    off.screw_length_mm = Some(8.0);
    let scene = cut(&with(Item::Feature(off)));
    // The run leads along x: its left is up in the plan, and the screw is 0.4 mm nearer to it.
    let (left, right) = (size(&scene, "gap left"), size(&scene, "gap right"));
    assert!((left.value_mm - 0.6).abs() < 1e-6 && left.is_tight(), "{left:?}");
    assert!((right.value_mm - 1.4).abs() < 1e-6 && !right.is_tight(), "{right:?}");
    assert!(size(&scene, "roof").is_tight());
    assert_eq!(size(&scene, "screw length").value_mm, 8.0);
    assert!((scene.top.y - 1.0).abs() < 1e-9, "1.5 mm below the parting plane, 2.5 mm up: {}", scene.top);
}

#[test]
fn where_another_run_opens_there_is_no_wall() {
    let mut project = with(pin(Half::Moving, FeatureKind::set_screw(ThreadSize::M3), 1.8));
    let arm = Run::straight("", DVec2::new(100.0, 60.0), DVec2::new(100.0, 100.0), 6.0, 3.0);
    project.apply(&Edit::Add(Id(3), Item::Run(arm))).unwrap();
    let scene = cut(&project);
    let gaps = scene.measures.iter().filter(|measure| measure.what.starts_with("gap")).count();
    assert_eq!(gaps, 1, "the arm opens on one side");
}

#[test]
fn what_is_neither_feature_nor_ejector_nor_in_a_channel_has_no_section() {
    let mut project = with(pin(Half::Moving, FeatureKind::set_screw(ThreadSize::M3), 1.8));
    let outline = outline::of(&project);
    assert!(scene(&project, &outline, Id(1)).is_none(), "a run");
    project.features.get_mut(&Id(2)).unwrap().at = DVec2::new(100.0, 20.0);
    assert!(scene(&project, &outline, Id(2)).is_none(), "far from the channel");
}
