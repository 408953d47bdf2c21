//! Volumes and sections of stretches against independent values.

use keepside_model::{Finish, Rib, Sprue};

use super::*;
use crate::filling::duct::Ducts;
use crate::outline;

/// The blank project's strip of 6 × 3 mm with a gate.
fn strip() -> Project {
    let mut project = Project::blank();
    let sprue = Sprue {
        name: String::new(),
        at: DVec2::new(100.0, 60.0),
        half: Half::Fixed,
        diameter_mm: 3.0,
        length_mm: 18.0,
        draft_deg: 1.0,
        finish: Finish::Polished,
        measured: None,
    };
    project.sprues.insert(Id(2), sprue);
    project
}

#[test]
fn drafted_and_rounded_sections_resist_about_as_finite_elements_say() {
    // The head of the file says how they were computed. What is compared: a rectangle of the same area, its
    // resistance times the ratio of wetted perimeters to the power of the index (for Newtonian melts after
    // Muzychka & Yovanovich, J. Fluids Eng. 131 (2009), who take the root of the area as the length that makes
    // sections alike; from memory).
    let text = include_str!("../../../../../tests/oracle/filling/duct_sections.csv");
    for line in text.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let row: Vec<f64> = line.split(',').map(|value| value.parse().expect("a number")).collect();
        let mut project = strip();
        let run = project.part.runs.values_mut().next().expect("the run");
        run.points.iter_mut().for_each(|point| (point.width_mm, point.depth_mm) = (row[0], row[1]));
        let part = &mut project.part;
        (part.draft_fixed_deg, part.draft_moving_deg) = (row[2], row[2]);
        (part.edge_fixed_mm, part.edge_moving_mm) = (row[3], row[3]);
        let plan = Plan::new(&project).expect("it has a gate");
        let stretch = &plan.stretches[plan.stretches.len() / 2];
        let [one_mm, other_mm] = stretch.sides_mm;
        let got = (Ducts::new(row[4]).ln_rectangle(one_mm, other_mm) + row[4] * stretch.ln_rough).exp();
        let off = got / row[5] - 1.0;
        // Draft of a degree or two, as it is usual, makes no difference; a bore is farthest from any rectangle.
        let is_bore = row[0] == row[1] && 2.0 * row[3] == row[0];
        let allowed = if row[3] == 0.0 {
            0.012
        } else if is_bore {
            0.045
        } else {
            0.035
        };
        assert!(off.abs() <= allowed, "{line}: {got}, {:.1} % off", 100.0 * off);
    }
}

#[test]
fn a_part_without_draft_has_the_volume_of_its_outline() {
    // The outline's area agrees with an independent geometry library to 1e-6; see its own tests.
    let mut project = strip();
    (project.part.draft_fixed_deg, project.part.draft_moving_deg) = (0.0, 0.0);
    let volume_mm3 = |project: &Project| Plan::new(project).expect("it has a gate").volume_mm3();
    let expected_mm3 = |project: &Project| 3.0 * outline::of(project).area_mm2;
    let share = volume_mm3(&project) / expected_mm3(&project) - 1.0;
    assert!(share.abs() < 5e-4, "round ends: {share}");
    // A tee and a crossing: what runs share counts once.
    let across = |from: (f64, f64), to: (f64, f64)| {
        keepside_model::Run::straight("", from.into(), to.into(), 6.0, 3.0)
    };
    project.part.runs.insert(Id(3), across((80.0, 60.0), (80.0, 100.0)));
    project.part.runs.insert(Id(4), across((120.0, 20.0), (130.0, 100.0)));
    let share = volume_mm3(&project) / expected_mm3(&project) - 1.0;
    assert!(share.abs() < 5e-3, "with a tee and a crossing: {share}");
}

#[test]
fn a_rib_adds_to_volume_and_perimeter() {
    let mut project = strip();
    (project.part.draft_fixed_deg, project.part.draft_moving_deg) = (0.0, 0.0);
    project.part.rib = Some(Rib { half: Half::Moving, width_mm: 1.0, height_mm: 0.8 });
    let plan = Plan::new(&project).expect("it has a gate");
    let stretch = &plan.stretches[plan.stretches.len() / 2];
    assert!((stretch.volume_mm3 / stretch.length_mm() - 18.8).abs() < 1e-9);
    assert!((stretch.perimeter_mm - 19.6).abs() < 1e-9);
    assert_eq!(stretch.sides_mm[1], 3.0);
}
