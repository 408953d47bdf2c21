//! Helpers shared by the end-to-end tests.

pub mod fuzzed;
pub mod papers;
pub mod pdf;
pub mod projects;

use glam::DVec2;
use keepside_engine::opening::{Cancel, HoldOutcome, Opening, run};
use keepside_model::{FeatureKind, Finish, Half, Id, KeyingFeature, Project, Run, Sprue, ThreadSize};

/// Height of the strip's centre line in the plan, mm.
pub const CENTRE_Y_MM: f64 = 60.0;

/// A project with one straight channel along x: 180 mm long, 6 mm wide, 3 mm deep, two fifths of the
/// depth in the moving half, in PP, opened to 130 mm.
pub fn strip() -> Project {
    let mut project = Project::blank();
    let end = |x| DVec2::new(x, CENTRE_Y_MM);
    project.part.runs.insert(Id(1), Run::straight("", end(20.0), end(200.0), 6.0, 3.0));
    project.part.moving_share = 0.4;
    project.plates.width_mm = 220.0;
    project.press.stroke_mm = 130.0;
    project
}

/// Sets width and depth of every run, mm.
pub fn set_section(project: &mut Project, width_mm: f64, depth_mm: f64) {
    for point in project.part.runs.values_mut().flat_map(|run| &mut run.points) {
        point.width_mm = width_mm;
        point.depth_mm = depth_mm;
    }
}

/// Adds a sprue, 4 mm by 20 mm, parallel, as turned, in the fixed half.
pub fn add_sprue(project: &mut Project, x_mm: f64) -> Id {
    let id = project.free_id();
    let sprue = Sprue {
        name: String::new(),
        at: DVec2::new(x_mm, CENTRE_Y_MM),
        half: Half::Fixed,
        diameter_mm: 4.0,
        length_mm: 20.0,
        draft_deg: 0.0,
        finish: Finish::AsTurned,
        measured: None,
    };
    project.sprues.insert(id, sprue);
    id
}

/// Adds an M4 set screw that stands 2 mm into the channel.
pub fn add_screw(project: &mut Project, x_mm: f64, half: Half) -> Id {
    add_feature(project, x_mm, half, FeatureKind::set_screw(ThreadSize::M4), 2.0)
}

/// Adds a keying feature on the centre line.
pub fn add_feature(
    project: &mut Project,
    x_mm: f64,
    half: Half,
    kind: FeatureKind,
    protrusion_mm: f64,
) -> Id {
    let id = project.free_id();
    let at = DVec2::new(x_mm, CENTRE_Y_MM);
    project.features.insert(id, KeyingFeature::new(at, half, kind, protrusion_mm));
    id
}

/// Opens the mould; the layout must be one that can be computed.
#[track_caller]
pub fn open(project: &Project) -> Opening {
    run(project, &Cancel::default()).expect("the layout opens")
}

/// What became of the hold that an item makes.
#[track_caller]
pub fn hold_of(opening: &Opening, id: Id) -> &HoldOutcome {
    let is_it = |hold: &&HoldOutcome| hold.name.what.item() == Some(id);
    opening.holds.iter().find(is_it).expect("the item holds")
}
