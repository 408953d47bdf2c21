//! Flow of air through vents against gas tables and numbers worked out elsewhere.

use keepside_engine::venting::air::{
    ROOM_PA, Way, kelvin, orifice_kg_s_m2, pressure_pa, slot_kg_s, squeezed_k, viscosity_pa_s,
};

#[track_caller]
fn close(what: &str, got: f64, expected: f64, relative: f64) {
    assert!((got - expected).abs() <= relative * expected.abs(), "{what}: got {got}, expected {expected}");
}

#[test]
fn choked_flow_agrees_with_gas_tables() {
    // White, Fluid Mechanics, 9.4: the largest mass flow of air is 0.6847·p₀·A/√(R·T₀), from memory; 4 digits.
    let (inside_pa, temperature_k) = (2e5, 300.0);
    let largest = orifice_kg_s_m2(inside_pa, 0.0, temperature_k);
    close("largest flow", largest, 0.6847 * inside_pa / (287.05_f64 * 300.0).sqrt(), 1e-4);
    // NACA Report 1135 (1953), table I, from memory: at M = 0.5 p/p₀ = 0.8430 and A/A* = 1.3398; at M = 0.8 0.6560
    // and 1.0382. Four digits of p/p₀ give three of the flow.
    for (ratio, area) in [(0.8430, 1.3398), (0.6560, 1.0382)] {
        close(
            "flow below choking",
            orifice_kg_s_m2(inside_pa, ratio * inside_pa, temperature_k),
            largest / area,
            1e-3,
        );
    }
    // Choked from 0.5283 on: less pressure outside draws no more.
    close("choked", orifice_kg_s_m2(inside_pa, 0.5282 * inside_pa, temperature_k), largest, 1e-6);
    assert!(orifice_kg_s_m2(inside_pa, 0.56 * inside_pa, temperature_k) < 0.999 * largest);
    assert_eq!(orifice_kg_s_m2(inside_pa, inside_pa, temperature_k), 0.0);
}

#[test]
fn viscosity_of_air_agrees_with_tables() {
    // White, Fluid Mechanics, table A.2, from memory: 1.80e-5 Pa s at 20 °C, 2.17e-5 at 100 °C, 2.57e-5 at 200 °C; the
    // last digit is rounded.
    for (c, published) in [(20.0, 1.80e-5), (100.0, 2.17e-5), (200.0, 2.57e-5)] {
        close("viscosity", viscosity_pa_s(kelvin(c)), published, 0.012);
    }
}

#[test]
fn a_slot_with_little_pressure_over_it_passes_as_an_incompressible_one() {
    // Slit: Q = W·H³·Δp/(12·μ·L) (Additive Manufacturing Technologies, p. 152, equations 6.7 and 6.8). Over 100 Pa the
    // density changes by a thousandth.
    let (width_m, depth_m, length_m, t) = (6e-3, 0.03e-3_f64, 5e-3, kelvin(40.0));
    let volume = width_m * depth_m.powi(3) * 100.0 / (12.0 * viscosity_pa_s(t) * length_m);
    let density = ROOM_PA / (287.05 * t);
    let mass = slot_kg_s((width_m, depth_m, length_m), ROOM_PA + 100.0, ROOM_PA, t);
    close("slit", mass, density * volume, 1e-3);
}

#[test]
fn squeezed_air_gets_as_hot_as_gas_tables_say() {
    // NACA Report 1135, table I, from memory: p/p₀ = 0.1278 goes with T/T₀ = 0.5556 (M = 2).
    close("temperature", squeezed_k(0.5556, 0.1278, 1.0), 1.0, 2e-4);
}

#[test]
fn pressures_agree_with_a_solver_that_knows_no_closed_form() {
    // tests/oracle/venting/venting.csv, made by the script beside it with SciPy; the integrals hold eight digits.
    let text = include_str!("../oracle/venting/venting.csv");
    let mut rows = 0;
    let mut choked = 0;
    for line in text.lines().filter(|line| line.starts_with(|c: char| c.is_ascii_digit())) {
        let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
        let [width_mm, depth_mm, length_mm, rate_mm3_s, air_c, pressure, friction, area] = cells[..] else {
            panic!("{line}")
        };
        let way = Way { width_m: width_mm * 1e-3, depth_m: depth_mm * 1e-3, length_m: length_mm * 1e-3 };
        let t = kelvin(air_c);
        close(line, pressure_pa(&[way], rate_mm3_s * 1e-9, t).unwrap(), pressure, 1e-6);
        close(line, way.by_friction_kg_s(pressure, t), friction, 1e-6);
        close(line, way.by_area_kg_s(pressure, t), area, 1e-6);
        rows += 1;
        choked += usize::from(area < friction);
    }
    assert!(rows == 7 && (1..7).contains(&choked), "both ways govern somewhere: {choked} of {rows}");
    assert_eq!(pressure_pa(&[], 1e-6, 300.0), None);
    // More than leaves at the speed of sound never gets out.
    let pinhole = Way { width_m: 1e-4, depth_m: 1e-5, length_m: 1e-6 };
    assert_eq!(pressure_pa(&[pinhole], 1e-5, 300.0), None);
}
