//! Cooling against published formulas and a series worked out elsewhere.

use glam::DVec2;
use keepside_engine::cooling::heat::{Body, cylinder_centre, slab_centre, slab_mean};
use keepside_engine::{Layout, layout};
use keepside_model::{EndShape, HeldBack, Id, Material, Moulding, Project, Run};
use keepside_tests::add_sprue;
use keepside_tests::projects::random_project;

#[track_caller]
fn close(what: &str, got: f64, expected: f64, relative: f64) {
    assert!((got - expected).abs() <= relative * expected.abs(), "{what}: got {got}, expected {expected}");
}

#[test]
fn shares_left_agree_with_series_of_thirty_digits() {
    // tests/oracle/cooling/cooling.csv, made by the script beside it with mpmath; 15 digits printed.
    let text = include_str!("../oracle/cooling/cooling.csv");
    let rows: Vec<Vec<f64>> = text
        .lines()
        .filter(|line| line.starts_with(|c: char| c.is_ascii_digit()))
        .map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect())
        .collect();
    assert_eq!(rows.len(), 10);
    for row in rows {
        let [fourier, centre, mean, bar_centre, bar_mean, cylinder] = row[..] else { panic!("{row:?}") };
        let what = format!("Fourier number {fourier}");
        let near = |got: f64, expected: f64| {
            assert!((got - expected).abs() < 1e-10, "{what}: got {got}, expected {expected}");
        };
        near(slab_centre(fourier), centre);
        near(slab_mean(fourier), mean);
        near(cylinder_centre(fourier), cylinder);
        // Sides of 6 and 3 mm, 1 mm²/s.
        let bar = Body::Bar { width_mm: 6.0, depth_mm: 3.0 };
        near(bar.centre(1.0, 9.0 * fourier), bar_centre);
        near(slab_mean(fourier) * slab_mean(fourier / 4.0), bar_mean);
    }
}

#[test]
fn times_agree_with_the_usual_formulas() {
    // Ballman and Shusman's formula for the plate, from memory, worked out apart from the program for a plate of
    // 2 mm, 1e-7 m²/s, melt 220 °C, mould 40 °C: 7.0748 s until the centre has 80 °C, 5.2446 s until the mean
    // has; a cylinder of 4 mm with the usual rounded factors 23.133 and 1.602, 13.6625 s; a bar of 6 × 3 mm
    // 14.497 s, a plate of 3 mm 15.918 s.
    let (diffusivity, share) = (0.1, 40.0 / 180.0);
    close("plate", Body::Slab { thickness_mm: 2.0 }.time_s(diffusivity, share), 7.0748, 5e-4);
    close("cylinder", Body::Round { diameter_mm: 4.0 }.time_s(diffusivity, share), 13.6625, 5e-4);
    let bar = Body::Bar { width_mm: 6.0, depth_mm: 3.0 };
    close("bar", bar.one_term_s(diffusivity, share), 14.497, 5e-4);
    // Over its 6 mm the Fourier number is 0.04, where one term is not enough: the whole series is 0.7 % shorter.
    close("bar, whole series", bar.time_s(diffusivity, share), 14.497, 0.01);
    close("thicker plate", Body::Slab { thickness_mm: 3.0 }.time_s(diffusivity, share), 15.918, 5e-4);
    close("mean of a plate", slab_mean(diffusivity * 5.2446 / 4.0), share, 1e-3);
    // A gate of 0.8 mm, 0.8e-7 m²/s, no flow below 100 °C: 1.086 s.
    let gate = Body::Slab { thickness_mm: 0.8 }.time_s(0.08, 60.0 / 180.0);
    close("gate", gate, 1.086, 1e-3);
    // The centre of a plate, from the whole series (worked out apart from the program, six digits).
    for (fourier, left) in
        [(0.02, 0.975161), (0.05, 0.772312), (0.1, 0.474487), (0.2, 0.176867), (0.3, 0.06592)]
    {
        assert!((slab_centre(fourier) - left).abs() <= 5e-7, "{fourier}: {left}");
    }
}

#[test]
fn the_first_term_is_not_enough_soon_after_filling() {
    let plate = Body::Slab { thickness_mm: 2.0 };
    // At a Fourier number of 0.02 the series has left 0.975161 of the difference.
    let (whole_s, first_s) = (plate.time_s(0.1, 0.975161), plate.one_term_s(0.1, 0.975161));
    close("whole series", whole_s, 0.8, 1e-5);
    assert!(first_s > 1.3 * whole_s, "{first_s} s");
    // And where a tenth is left it is.
    close("first term", plate.one_term_s(0.1, 0.1), plate.time_s(0.1, 0.1), 1e-6);
}

/// Every number that is told of a shot.
fn numbers(layout: &Layout) -> Vec<f64> {
    let mut all = Vec::new();
    if let Ok(cooling) = &layout.cooling {
        all.extend([cooling.needed_s, cooling.opens_s, cooling.hottest_c, cooling.mean_c, cooling.held_back]);
        all.extend(cooling.gates.iter().flat_map(|gate| [gate.bore_s, gate.packs_s, gate.plug_cold_s]));
        all.extend(cooling.spans.iter().flat_map(|span| [span.length_mm, span.held_mm, span.pull_n]));
        all.extend(cooling.unpacked.iter().flat_map(|cut| [cut.until_s, cut.freezes_s]));
    }
    if let Some(venting) = &layout.venting {
        all.extend(
            venting.places.iter().flat_map(|place| [place.rate_mm3_s, place.area_mm2, place.needed_mm2]),
        );
        all.extend(venting.places.iter().filter_map(|place| place.pressure_mpa));
        all.extend(venting.places.iter().filter_map(|place| place.squeezed_c));
    }
    if let Some(press) = &layout.press {
        all.extend([press.melt_mm3, press.mass_g, press.projected_mm2, press.cavity_mpa, press.clamp_n]);
    }
    all.extend(layout.findings.iter().flat_map(|finding| [finding.measured, finding.needed]).flatten());
    all
}

#[test]
fn the_shot_of_any_project_is_told_in_finite_numbers_and_its_cures_can_be_applied() {
    let names = ["PP", "pom", ""].map(str::to_owned);
    let (mut cooled, mut filled) = (0, 0);
    for seed in 0..300_u64 {
        // Multiples of an odd number, their halves exchanged, are mixed enough.
        let word = |n: u64| (seed * 1000 + n).wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(32);
        let words: Vec<u64> = (1..200).map(word).collect();
        let mut project = random_project(&words, &names);
        // Random temperatures are seldom in order, random runs seldom long, random gates seldom on them.
        if seed % 3 > 0 {
            project.material = Material::generic().swap_remove(seed as usize % 11);
            project.moulding = Moulding { held_back: HeldBack::Computed, ..Moulding::default() };
            let Project { part, plates, .. } = Project::blank();
            (project.part.runs, project.plates) = (part.runs, plates);
            project.sprues.values_mut().for_each(|sprue| sprue.at = DVec2::new(100.0, 60.0));
        }
        let found = layout(&project);
        cooled += u32::from(found.cooling.is_ok());
        filled += u32::from(found.filling.is_ok());
        for number in numbers(&found) {
            assert!(number.is_finite(), "seed {seed}: {found:?}");
        }
        let of_shot = |rule: &str| {
            let heads = ["cooling", "temperature", "opens", "packing", "trapped", "vent-", "press"];
            heads.iter().any(|head| rule.starts_with(head))
        };
        let cures = found.findings.iter().filter(|finding| of_shot(finding.rule));
        for edit in cures.filter_map(|finding| finding.cure_edit.as_ref()) {
            let mut cured = project.clone();
            assert_eq!(cured.apply(edit), Ok(()), "seed {seed}: {edit:?}");
        }
    }
    assert!(cooled > 50 && filled > 50, "{cooled} cool, {filled} fill");
}

/// A square of 10 cm at 400 kgf/cm² asks for 40 tf: a worked example in a factory's diary (camp-fire.jp,
/// project 286967); the kilogram-force is 9.80665 N, so that it is 392.27 kN.
#[test]
fn clamp_force_is_that_of_a_published_example() {
    let mut project = Project::blank();
    project.plates.height_mm = 160.0;
    let square = Run {
        start: EndShape::Square,
        end: EndShape::Square,
        ..Run::straight("", DVec2::new(50.0, 80.0), DVec2::new(150.0, 80.0), 100.0, 3.0)
    };
    project.part.runs.insert(Id(1), square);
    add_sprue(&mut project, 100.0);
    project.sprues.values_mut().for_each(|sprue| sprue.at = DVec2::new(100.0, 80.0));
    project.moulding.packing_pressure_mpa = 400.0 * 9.80665 / 100.0;
    let used = layout(&project).press.expect("a part that fills");
    close("area, mm²", used.projected_mm2, 100.0 * 100.0, 1e-9);
    close("clamp force, N", used.clamp_n, 392_266.0, 1e-4);
}
