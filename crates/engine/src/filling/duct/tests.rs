//! Ducts against published and independently computed values.

use super::*;

/// Pressure gradient, MPa/mm, at a consistency of 1 MPa·sⁿ.
fn gradient(index: f64, flow_mm3_s: f64, width_mm: f64, height_mm: f64) -> f64 {
    (Ducts::new(index).ln_rectangle(width_mm, height_mm) + index * flow_mm3_s.ln()).exp()
}

/// Lines of a table of numbers, without its head.
fn rows(text: &str) -> impl Iterator<Item = Vec<f64>> {
    let lines = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    lines.map(|line| line.split(',').map(|value| value.parse().expect("a number")).collect())
}

#[track_caller]
fn assert_near(what: &str, got: f64, expected: f64, share: f64) {
    assert!((got / expected - 1.0).abs() <= share, "{what}: got {got:.6}, published {expected}");
}

/// Friction factor times Reynolds number, Fanning's on the hydraulic diameter, from a gradient.
fn friction(index: f64, width_mm: f64, height_mm: f64) -> f64 {
    let hydraulic_mm = 2.0 * width_mm * height_mm / (width_mm + height_mm);
    // A flow with a mean velocity of 1 mm/s.
    0.5 * hydraulic_mm.powf(1.0 + index) * gradient(index, width_mm * height_mm, width_mm, height_mm)
}

#[test]
fn newtonian_rectangles_agree_with_the_published_series() {
    // The heads of the files name the sources.
    for row in rows(include_str!("../../../../../tests/oracle/filling/rect_duct_newtonian.csv")) {
        let (ratio, factor, f_re) = (row[0], row[1], row[2]);
        if ratio > 0.0 {
            // Q = F W H³ Δp / (12 η L).
            let got = 12.0 / (gradient(1.0, 1.0, 1.0 / ratio, 1.0) / ratio);
            assert_near(&format!("F at H/W {ratio}"), got, factor, 5e-4);
            assert_near(&format!("f·Re at H/W {ratio}"), friction(1.0, 1.0 / ratio, 1.0), f_re, 5e-4);
        }
    }
}

#[test]
fn power_law_rectangles_agree_with_independent_finite_elements() {
    for row in rows(include_str!("../../../../../tests/oracle/filling/rect_duct_powerlaw.csv")) {
        let what = format!("f·Re' at H/W {}, n {}", row[0], row[1]);
        assert_near(&what, friction(row[1], 1.0 / row[0], 1.0), row[3], 5e-4);
    }
}

#[test]
fn the_table_holds_between_its_rows_and_columns() {
    for row in rows(include_str!("../../../../../tests/oracle/filling/duct_between.csv")) {
        let what = format!("{} × {} mm, n {}", row[0], row[1], row[2]);
        assert_near(&what, gradient(row[2], 1.0, row[0], row[1]), row[3], 5e-4);
    }
}

#[test]
fn a_long_runner_takes_the_pressure_of_the_textbook_formulas() {
    // 200 Pa s, 6 × 3 mm, 200 mm long, 10 cm³/s: slit 29.630, rectangle 43.189 MPa; a tube of 2 mm radius
    // 63.662 MPa. Formulas of slit and rectangle as in Additive Manufacturing Technologies, eq. 6.7 and 6.8,
    // and Shah & London's series; Hagen and Poiseuille's for the tube.
    let pressure = |ln: f64, index: f64, consistency: f64| consistency * (ln + index * 1e4_f64.ln()).exp();
    let newton = Ducts::new(1.0);
    let along = 200.0_f64.ln();
    assert_near("rectangle", pressure(along + newton.ln_rectangle(6.0, 3.0), 1.0, 2e-4), 43.189, 5e-4);
    let slit = newton.ln_rectangle(6.0, 3.0) - newton.excess(0.5);
    assert_near("slit", pressure(along + slit, 1.0, 2e-4), 29.630, 5e-4);
    assert_near("tube", pressure(newton.ln_cone(4.0, 4.0, 200.0), 1.0, 2e-4), 63.662, 5e-4);

    // The same with K = 10 000 Pa sⁿ and n = 0.35: slit 18.374, rectangle 25.10 (finite elements, 0.5 %),
    // tube 30.174 MPa, by the usual power-law formulas (Bird, Armstrong & Hassager; from memory).
    let thin = Ducts::new(0.35);
    assert_near("rectangle, n 0.35", pressure(along + thin.ln_rectangle(6.0, 3.0), 0.35, 0.01), 25.10, 5e-3);
    let slit = thin.ln_rectangle(6.0, 3.0) - thin.excess(0.5);
    assert_near("slit, n 0.35", pressure(along + slit, 0.35, 0.01), 18.374, 2e-3);
    assert_near("tube, n 0.35", pressure(thin.ln_cone(4.0, 4.0, 200.0), 0.35, 0.01), 30.174, 2e-3);
}

#[test]
fn a_cone_resists_like_many_short_tubes() {
    for index in [1.0, 0.5, 0.3] {
        let ducts = Ducts::new(index);
        let cone = ducts.ln_cone(2.0, 4.0, 30.0).exp();
        let pieces = 20_000;
        let of_piece = |piece: u32| {
            let diameter_mm = 2.0 + 2.0 * (f64::from(piece) + 0.5) / f64::from(pieces);
            ducts.ln_cone(diameter_mm, diameter_mm, 30.0 / f64::from(pieces)).exp()
        };
        let sum: f64 = (0..pieces).map(of_piece).sum();
        assert_near(&format!("n {index}"), cone, sum, 1e-6);
    }
}
