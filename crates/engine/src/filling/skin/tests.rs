//! Freezing against the series of heat conduction and the usual formulas.

use super::*;

#[track_caller]
fn assert_near(what: &str, got: f64, expected: f64, share: f64) {
    assert!((got / expected - 1.0).abs() <= share, "{what}: got {got}, not {expected}");
}

fn freezing(diffusivity_mm2_s: f64, no_flow_c: f64) -> Freezing {
    Freezing::new(diffusivity_mm2_s, 220.0, 40.0, no_flow_c).expect("the melt is hotter")
}

#[test]
fn the_middle_of_a_slab_cools_as_fouriers_series_says() {
    // Temperature of the middle at a t / s² (series summed with mpmath, 6 digits printed).
    for (fourier, expected) in
        [(0.02, 0.975_161), (0.05, 0.772_312), (0.1, 0.474_487), (0.2, 0.176_867), (0.3, 0.065_920)]
    {
        assert!((slab(0.5, fourier) - expected).abs() < 2e-6, "{fourier}: {}", slab(0.5, fourier));
    }
    // Half-spaces on one side of the change, the series on the other.
    for depth in [0.05, 0.2, 0.5] {
        let step = slab(depth, LATE - 1e-9) - slab(depth, LATE + 1e-9);
        assert!(step.abs() < 1e-6, "{depth}: {step}");
    }
}

#[test]
fn sections_freeze_through_when_the_usual_formulas_say() {
    // s²/(π² a) ln(4/π θ) for a slab, D²/(23.133 a) ln(1.602 θ) for a cylinder, ln((4/π)² θ) /
    // (π² a (1/w² + 1/h²)) for a bar (Menges & Mohren; from memory, computed against the full series). 220 °C
    // into 40 °C, cold at 80 °C, a 0.1 mm²/s.
    let at_80 = freezing(0.1, 80.0);
    assert_near("slab of 2 mm", at_80.bar_s(1e6, 2.0), 7.0748, 1e-3);
    assert_near("cylinder of 4 mm", at_80.bore_s(4.0), 13.6625, 1e-4);
    // One term of the series is 0.7 % late, as the wide side has hardly begun to cool (0.0122 of 0.858 in the
    // second term).
    assert_near("bar of 6 × 3 mm", at_80.bar_s(6.0, 3.0), 14.497, 8e-3);
    assert_near("slab of 3 mm", at_80.bar_s(1e6, 3.0), 15.918, 1e-3);
    // A gate of 0.8 mm, a 0.08 mm²/s, no flow below 100 °C: 1.086 s.
    assert_near("gate", freezing(0.08, 100.0).bar_s(1e6, 0.8), 1.086, 1e-3);
}

#[test]
fn a_thin_skin_grows_with_the_root_of_time() {
    // A half-space: T = T_w + (T_m − T_w) erf(x / √(4 a t)); erf(0.476936) = 1/2 (tables).
    let freezing = freezing(0.09, 130.0);
    let section = freezing.section(1e3, freezing.bar_s(1e6, 1e3));
    for time_s in [0.01_f64, 1.0, 50.0] {
        let expected_mm = 2.0 * 0.476_936 * (0.09 * time_s).sqrt();
        assert_near(&format!("{time_s} s"), freezing.skin_mm(&section, time_s), expected_mm, 2e-3);
        assert_near("and back", freezing.age_s(expected_mm), time_s, 1e-4);
    }
}

#[test]
fn the_skin_of_a_bar_is_near_that_of_the_product_of_two_slabs() {
    let freezing = freezing(0.09, 140.0);
    for width_mm in [3.0, 4.0, 6.0, 15.0] {
        let frozen_s = freezing.bar_s(width_mm, 3.0);
        let section = freezing.section(3.0, frozen_s);
        for share in [0.01, 0.1, 0.3, 0.6, 0.9] {
            let time_s = share * frozen_s;
            let across = slab(0.5, 0.09 * time_s / (width_mm * width_mm));
            let temperature = |depth_mm: f64| slab(depth_mm / 3.0, 0.09 * time_s / 9.0) * across;
            // In the middle of the wide side.
            let expected_mm = rooted(0.0, 1.5, |depth_mm| temperature(depth_mm) - 100.0 / 180.0);
            let off_mm = freezing.skin_mm(&section, time_s) - expected_mm;
            assert!(off_mm.abs() < 0.06, "{width_mm} mm, {share}: {off_mm} mm of {expected_mm}");
        }
        assert_eq!(freezing.skin_mm(&section, frozen_s), 1.5);
    }
}

#[test]
fn flow_keeps_a_skin_as_thin_as_leveque_says() {
    let freezing = freezing(0.09, 40.0 + 180.0 * 0.904_288);
    // ∫₀¹ exp(−s³) ds = 0.807511 (mpmath), over Γ(4/3) 0.904288: there the layer is 1 thick.
    assert_near("share", freezing.swept_mm(2.0, 220.0), 2.0, 5e-3);
    assert_near(
        "layer",
        freezing.layer_mm(80.0, 500.0, f64::INFINITY),
        (9.0 * 0.09 * 80.0 / 500.0_f64).cbrt(),
        1e-12,
    );
    let last_mm = freezing.layer_mm(80.0, 500.0, f64::INFINITY);
    assert_near("from the last", freezing.layer_mm(80.0, 400.0, last_mm), (0.162_f64).cbrt(), 1e-3);
    assert_eq!(freezing.swept_mm(2.0, 150.0), f64::INFINITY, "colder than it flows");
}

#[test]
fn nothing_freezes_in_a_hot_mould_and_cold_melt_does_not_flow() {
    let hot = Freezing::new(0.09, 220.0, 150.0, 140.0).expect("the melt is hotter");
    assert_eq!(hot.bar_s(6.0, 3.0), f64::INFINITY);
    assert_eq!(hot.skin_mm(&hot.section(3.0, f64::INFINITY), 1e6), 0.0);
    assert!(Freezing::new(0.09, 130.0, 40.0, 140.0).is_none());
}
