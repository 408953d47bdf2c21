//! Cooling against published formulas and a series worked out elsewhere.

use keepside_engine::cooling::heat::{Body, cylinder_centre, slab_centre, slab_mean};

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
