//! The project that the editor starts on.

use glam::DVec2;
use keepside_model::{
    Edit, FeatureKind, Finish, Half, Id, Item, KeyingFeature, Project, Sprue, ThreadSize, Vent,
};

/// A thin straight marker with two sprues and two keying pins.
pub(crate) fn project() -> Project {
    let mut project = Project::blank();
    let sprue = |x| {
        Item::Sprue(Sprue {
            name: String::new(),
            at: DVec2::new(x, 60.0),
            half: Half::Fixed,
            diameter_mm: 3.0,
            length_mm: 12.0,
            draft_deg: 1.0,
            finish: Finish::AsTurned,
        })
    };
    let pin = |x| {
        Item::Feature(KeyingFeature {
            name: String::new(),
            at: DVec2::new(x, 60.0),
            half: Half::Moving,
            kind: FeatureKind::SetScrew { thread: ThreadSize::M3 },
            protrusion_mm: 1.8,
        })
    };
    let vent = Item::Vent(Vent {
        name: String::new(),
        at: DVec2::new(163.0, 60.0),
        half: Half::Fixed,
        width_mm: 4.0,
        depth_mm: 0.02,
        length_mm: 20.0,
    });
    let items = [(2, sprue(65.0)), (3, sprue(135.0)), (4, vent), (5, pin(80.0)), (6, pin(120.0))];
    for (id, item) in items {
        // Each of these is in range; were it not, the start would lack it.
        if let Err(error) = project.apply(&Edit::Add(Id(id), item)) {
            log::error!("{error}");
        }
    }
    project
}
