//! Time of one filling of parts of some 400 stretches, against a display frame.

#![expect(clippy::print_stdout, reason = "a benchmark tells what it measured")]

mod speed;

use glam::DVec2;
use keepside_engine::filling::fill;
use keepside_model::{FeatureKind, Finish, Half, Id, KeyingFeature, Project, Run, Sprue, ThreadSize};

/// One display frame at 60 frames a second, ms.
const FRAME_MS: f64 = 1e3 / 60.0;

/// Straight runs of 6 × 3 mm, gates, and screws of 4 mm that stand in the channel.
fn part(lines: &[[(f64, f64); 2]], gates: &[(f64, f64)], screws: &[(f64, f64)]) -> Project {
    let mut project = Project::blank();
    (project.plates.width_mm, project.plates.height_mm) = (2000.0, 2000.0);
    project.press.shot_volume_mm3 = 1e6;
    project.press.pressure_limit_mpa = 200.0;
    project.part.runs.clear();
    let mut next = 0;
    let mut id = || {
        next += 1;
        Id(next)
    };
    for &[from, to] in lines {
        project.part.runs.insert(id(), Run::straight("", from.into(), to.into(), 6.0, 3.0));
    }
    for &(x, y) in gates {
        let sprue = Sprue {
            name: String::new(),
            at: DVec2::new(x, y),
            half: Half::Fixed,
            diameter_mm: 3.0,
            length_mm: 18.0,
            draft_deg: 1.0,
            finish: Finish::Polished,
            measured: None,
        };
        project.sprues.insert(id(), sprue);
    }
    for &(x, y) in screws {
        let kind = FeatureKind::set_screw(ThreadSize::M4);
        project.features.insert(id(), KeyingFeature::new(DVec2::new(x, y), Half::Moving, kind, 2.0));
    }
    // As fast as the part is large: about half a second.
    let mm3: f64 = lines.iter().map(|[from, to]| 18.0 * DVec2::from(*from).distance((*to).into())).sum();
    project.moulding.injection_rate_mm3_s = 2.0 * mm3;
    project.press.rate_limit_mm3_s = 2.0 * mm3;
    project
}

fn along(from: (f64, f64), step: (f64, f64), count: u32) -> Vec<(f64, f64)> {
    (0..count).map(|i| (from.0 + f64::from(i) * step.0, from.1 + f64::from(i) * step.1)).collect()
}

fn main() {
    speed::tell_yardstick();
    let strip = [[(20.0, 60.0), (1220.0, 60.0)]];
    let comb: Vec<[(f64, f64); 2]> = std::iter::once([(20.0, 20.0), (620.0, 20.0)])
        .chain((0..12).map(|i| 45.0 + 50.0 * f64::from(i)).map(|x| [(x, 20.0), (x, 70.0)]))
        .collect();
    // Three rungs of 300 mm, seven of 42 mm across them: twelve meshes.
    let ladder: Vec<[(f64, f64); 2]> = (0..3)
        .map(|i| 20.0 + 21.0 * f64::from(i))
        .map(|y| [(20.0, y), (320.0, y)])
        .chain((0..7).map(|i| 20.0 + 50.0 * f64::from(i)).map(|x| [(x, 20.0), (x, 62.0)]))
        .collect();
    let plate: Vec<[(f64, f64); 2]> = (0..10)
        .flat_map(|column| {
            (0..10).map(move |row| (20.0 + 184.0 * f64::from(column), 30.0 + 25.0 * f64::from(row)))
        })
        .map(|(x, y)| [(x, y), (x + 184.0, y)])
        .collect();
    let at_rows = |x: f64, step: f64, count: u32| -> Vec<(f64, f64)> {
        (0..10).flat_map(|row| along((x, 30.0 + 25.0 * f64::from(row)), (step, 0.0), count)).collect()
    };
    let parts = [
        ("strip, one gate", part(&strip, &[(320.0, 60.0)], &[])),
        (
            "strip, ten gates, sixty screws",
            part(&strip, &along((60.0, 60.0), (120.0, 0.0), 10), &along((30.0, 60.0), (20.0, 0.0), 60)),
        ),
        (
            "comb of 13 runs, four gates",
            part(&comb, &along((100.0, 20.0), (150.0, 0.0), 4), &along((45.0, 50.0), (50.0, 0.0), 12)),
        ),
        ("ladder of 12 meshes, two gates", part(&ladder, &[(95.0, 41.0), (245.0, 41.0)], &[])),
        (
            "100 runs, 100 gates, 1000 screws",
            part(&plate, &at_rows(104.0, 184.0, 10), &at_rows(28.0, 18.4, 100)),
        ),
    ];
    println!("part                                full   steps   fill s    least ms   frames");
    for (name, project) in parts {
        let Ok(filling) = fill(&project) else { continue };
        let ms = speed::least_ms(50, || drop(std::hint::black_box(fill(&project))));
        println!(
            "{name:<34} {:>5} {:>7} {:>8.3} {ms:>11.2} {:>8.3}",
            filling.is_full,
            filling.record.len() - 1,
            filling.fill_time_s,
            ms / FRAME_MS
        );
        speed::tell(&format!("filling, {name}"), ms);
    }
    speed::tell_yardstick();
}
