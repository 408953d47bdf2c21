//! Time of everything that the drawing alone tells: outline, gaps and findings, against one display frame.
//!
//! Run with `cargo bench -p keepside-engine --bench findings`. A plate of 100 runs, 1000 features, 100 gates
//! and 100 ejectors: sound, with every tenth feature off its place, and with every one.

#![expect(clippy::print_stdout, reason = "a benchmark prints its result")]

mod speed;

use glam::DVec2;
use keepside_engine::{layout, outline};
use keepside_model::{
    Ejector, EjectorFace, FeatureKind, Finish, Half, HoleUse, Id, KeyingFeature, PlateHole, Project, Run,
    Sprue, ThreadSize,
};

/// One display frame at 60 frames a second, ms.
const FRAME_MS: f64 = 1e3 / 60.0;

/// Ten columns of ten runs that a spine joins; ten features, a gate and an ejector on each.
fn plate(off: u32) -> Project {
    let mut project = Project::blank();
    (project.plates.width_mm, project.plates.height_mm) = (1900.0, 300.0);
    project.part.runs.clear();
    let mut next = 0;
    let mut id = || {
        next += 1;
        Id(next)
    };
    for column in 0..10_u32 {
        for row in 0..10_u32 {
            let from = DVec2::new(30.0 + 184.0 * f64::from(column), 30.0 + 25.0 * f64::from(row));
            // Each runs into the next of its row, so that the part is ten mouldings.
            let run = Run::straight("", from, from + DVec2::new(184.0, 0.0), 6.0, 3.0);
            project.part.runs.insert(id(), run);
            let along = |mm: f64| from + DVec2::new(mm, 0.0);
            for pin in 0..10_u32 {
                let is_off = pin < off;
                let at = along(8.0 + 16.0 * f64::from(pin)) + DVec2::new(0.0, if is_off { 0.6 } else { 0.0 });
                let kind = FeatureKind::set_screw(ThreadSize::M4);
                project.features.insert(id(), KeyingFeature::new(at, Half::Moving, kind, 2.0));
            }
            let sprue = Sprue {
                name: String::new(),
                at: along(80.0),
                half: Half::Fixed,
                diameter_mm: 3.0,
                length_mm: 18.0,
                draft_deg: 1.0,
                finish: Finish::Polished,
                measured: None,
            };
            project.sprues.insert(id(), sprue);
            let ejector = Ejector::new(along(96.0), 4.0, 80.0, 6.0, EjectorFace::Plain);
            project.ejectors.insert(id(), ejector);
        }
    }
    for x in [10.0, 1890.0] {
        for y in [10.0, 290.0] {
            let (name, purpose, at) = (String::new(), HoleUse::Bolt, DVec2::new(x, y));
            project.holes.insert(id(), PlateHole { name, purpose, at, diameter_mm: 8.0 });
        }
    }
    project
}

fn main() {
    speed::tell_yardstick();
    println!("layout                         findings    gaps   outline ms   gaps ms   all ms   frames");
    for (name, off) in
        [("1000 features, sound", 0), ("1000 features, 100 off", 1), ("1000 features, all off", 10)]
    {
        let project = plate(off);
        let found = layout(&project);
        let edge = &found.outline;
        let outline_ms = speed::least_ms(100, || drop(std::hint::black_box(outline::of(&project))));
        let gaps_ms = speed::least_ms(100, || drop(std::hint::black_box(outline::gaps(&project, edge))));
        let all_ms = speed::least_ms(100, || drop(std::hint::black_box(layout(&project))));
        let (findings, gaps) = (found.findings.len(), found.gaps.len());
        println!(
            "{name:<28} {findings:>10} {gaps:>7} {outline_ms:>12.2} {gaps_ms:>9.2} {all_ms:>8.2} {:>8.2}",
            all_ms / FRAME_MS
        );
        speed::tell(&format!("drawing, {name}"), all_ms);
    }
    let project = plate(0);
    let edge = outline::of(&project);
    let one = project.features.keys().copied().next().unwrap_or(Id(0));
    let one_ms = speed::least_ms(100, || drop(std::hint::black_box(outline::gaps_of(&project, &edge, one))));
    println!("gaps of one feature alone: {one_ms:.3} ms");
    speed::tell("drawing, gaps of one feature", one_ms);
    speed::tell_yardstick();
}
