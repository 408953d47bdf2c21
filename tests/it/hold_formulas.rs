//! The formulas behind the holds against published values.

use keepside_engine::hardware;
use keepside_engine::hold::{ejector, formula};
use keepside_model::{Ejector, EjectorFace, Material, ThreadSize};

#[track_caller]
fn close(what: &str, got: f64, published: f64, relative: f64) {
    assert!(
        (got - published).abs() <= relative * published.abs(),
        "{what}: got {got}, published {published}"
    );
}

#[test]
fn a_hub_pressed_on_a_shaft_matches_the_worked_example() {
    // Gravi-Tech Design Guide (2020), figures 16 to 19: shaft 0.375 in, hub 0.650 in, interference
    // 0.002 in, 450 000 psi, Poisson's ratio 0.4; W is printed as 1.998. The hoop stress is printed as
    // "200 psi", which fits an interference of 0.0002 in; with the printed 0.002 in it is 2000 psi
    // (13.79 MPa), and so the pressure is 6.90 MPa.
    let (bore_mm, outside_mm, interference_mm, modulus_mpa, poisson) = (9.525, 16.51, 0.0508, 3102.6, 0.4);
    let wall = formula::thick_ring_factor(bore_mm, outside_mm).unwrap();
    close("W", wall, 1.998, 5e-4);
    let pressure_mpa =
        formula::thick_ring_pressure_mpa(modulus_mpa, poisson, interference_mm, bore_mm, outside_mm).unwrap();
    close("pressure", pressure_mpa, 6.90, 2e-3);
    close("hoop stress", pressure_mpa * wall, 13.787, 2e-3);
    // Push-out of a hub 10 mm long at a friction of 0.3.
    let push_out_n = 0.3 * pressure_mpa * std::f64::consts::PI * bore_mm * 10.0;
    close("push-out", push_out_n, 619.5, 2e-3);
}

#[test]
fn a_ring_without_a_wall_has_no_pressure_to_give() {
    for (bore_mm, outside_mm) in [(5.0, 5.0), (6.0, 5.0), (0.0, 5.0), (5.0, f64::NAN)] {
        assert_eq!(formula::thick_ring_pressure_mpa(1000.0, 0.4, 0.1, bore_mm, outside_mm), None);
        assert_eq!(formula::plastic_ring_pressure_mpa(20.0, bore_mm, outside_mm), None);
    }
}

#[test]
fn a_thick_tube_flows_at_the_limit_pressure() {
    // Limit pressure of a thick tube, von Mises, plane strain: any plasticity text, from memory. For a
    // ratio of e it is 2/√3 of the yield stress; Tresca's, the yield stress itself, is less.
    let pressure_mpa = formula::plastic_ring_pressure_mpa(18.0, 4.0, 4.0 * std::f64::consts::E).unwrap();
    close("limit pressure", pressure_mpa, 20.785, 1e-4);
    // A thin ring: p = (2/√3) s_y t/r.
    let thin_mpa = formula::plastic_ring_pressure_mpa(18.0, 100.0, 102.0).unwrap();
    close("thin ring", thin_mpa, 1.154_70 * 18.0 * 1.0 / 50.5, 1e-3);
}

#[test]
fn flank_factors_follow_the_snap_fit_guide() {
    // Snap-Fit Joints for Plastics: A Design Guide, p. 14: (mu + tan a)/(1 - mu tan a), worked out by hand.
    for (friction, flank_deg, factor) in
        [(0.5, 45.0_f64, 3.0000), (0.6, 45.0, 4.0000), (0.3, 30.0, 1.0611), (0.4, 60.0, 6.9407)]
    {
        let got = formula::flank_factor(friction, flank_deg.to_radians()).unwrap();
        // Four decimals.
        assert!((got - factor).abs() <= 5.1e-5, "mu {friction}, {flank_deg} degrees: {got}");
    }
}

#[test]
fn nothing_slides_off_at_or_above_the_lock_angle() {
    // DSM, Snapfit Theory (2005): separable while a + rho < 90 degrees, rho = atan mu.
    let lock_deg = formula::lock_angle_rad(0.4).to_degrees();
    assert!((lock_deg - 68.20).abs() <= 0.005, "{lock_deg}");
    assert!(formula::flank_factor(0.4, (lock_deg - 0.01).to_radians()).unwrap() > 1000.0);
    for flank_deg in [lock_deg, lock_deg + 0.01, 90.0, 120.0] {
        assert_eq!(formula::flank_factor(0.4, flank_deg.to_radians()), None, "{flank_deg}");
    }
    assert_eq!(formula::flank_factor(0.0, 90.0_f64.to_radians()), None);
}

#[test]
fn plastic_moulded_over_a_thread_shears_as_worked_out_by_hand() {
    // FED-STD-H28/2B with no clearance (crest flat P/8): 0.875 pi D L. M6, 4 mm engaged, PP at 33 MPa.
    let thread = hardware::thread(ThreadSize::M6);
    let area_mm2 = formula::moulded_thread_area_mm2(thread, 4.0);
    close("area", area_mm2, 65.973, 1e-5);
    close("strength", formula::shear_strength_mpa(33.0), 19.053, 1e-4);
    close("pull-out", area_mm2 * formula::shear_strength_mpa(33.0), 1256.96, 1e-3);
    for size in ThreadSize::ALL {
        let expected = 0.875 * std::f64::consts::PI * hardware::nominal_diameter_mm(size);
        close(
            size.designation(),
            formula::moulded_thread_area_mm2(hardware::thread(size), 1.0),
            expected,
            1e-9,
        );
    }
}

#[test]
fn an_internal_m6_thread_has_its_handbook_shear_area() {
    // FED-STD-H28/2B, M6 6g/6H: least major diameter 5.794 (Mastik catalogue, p. 711), largest pitch
    // diameter of the nut 5.500 (ISO 965, from memory); worked out by hand: 12.191 mm2 a mm.
    close("area", formula::internal_thread_shear_area_mm2(1.0, 1.0, 5.794, 5.5), 12.191, 1e-3);
}

#[test]
fn a_punch_sinks_in_at_prandtls_pressure() {
    // Prandtl: (2 + pi) k, with k = s_y/sqrt 3 by von Mises: 2.97 s_y (any plasticity text, from memory).
    close("pressure", formula::indentation_pressure_mpa(1.0), 2.9685, 1e-4);
}

#[test]
fn allowed_strains_follow_the_yield_and_the_break_strain() {
    // DSM, Maximum allowable short-term strain: 70 % of the yield strain once, 60 % of that repeatedly;
    // 50 % of the break strain where there is no yield.
    let plastic = |yield_strain, break_strain| Material {
        yield_strain,
        break_strain,
        ..Material::generic().swap_remove(0)
    };
    let (once, repeated) = formula::allowed_strain(&plastic(0.06, 1.0));
    close("once", once, 0.042, 1e-12);
    close("repeated", repeated, 0.0252, 1e-12);
    let (once, _) = formula::allowed_strain(&plastic(0.018, 0.025));
    close("brittle", once, 0.0125, 1e-12);
}

#[test]
fn a_puller_groove_is_too_deep_to_strip() {
    // A usual puller groove is 0.25 mm deep (myplasticmold.com, cold slug well): on a plug of 5 mm that
    // is 10 % of the diameter, more than any of the generic plastics takes while warm but the soft ones, which are
    // known to be stripped off deep undercuts (LDPE 21 %: a common table, from memory).
    let strain = formula::strip_strain(0.25, 5.0);
    close("strain", strain, 0.10, 1e-12);
    for material in Material::generic() {
        let is_soft = ["LDPE", "TPE"].contains(&material.name.as_str());
        assert_eq!(strain > formula::allowed_strain(&material).0, !is_soft, "{}", material.name);
    }
}

#[test]
fn an_ejector_pin_buckles_as_in_the_worked_example() {
    // Kazmer, Injection Mold Design Engineering, p. 352: 290 N a pin, 0.2 m long, 200 GPa; printed as
    // "1.1 mm", which is 1.136 mm when the printed formula is worked out with the printed numbers.
    let radius_mm = ejector::buckling_radius_mm(290.0, 200.0, 200_000.0);
    close("radius", radius_mm, 1.136, 1e-3);
    assert_eq!(format!("{radius_mm:.1}"), "1.1", "as printed");
    close("diameter", ejector::buckling_diameter_mm(290.0, 200.0), 2.272, 1e-3);
    // A fourth root: sixteen times the force, or four times the length, double it.
    close("force", ejector::buckling_radius_mm(16.0 * 290.0, 200.0, 200_000.0), 2.272, 1e-3);
    close("length", ejector::buckling_radius_mm(290.0, 800.0, 200_000.0), 2.272, 1e-3);
    assert_eq!(ejector::buckling_diameter_mm(0.0, 200.0), 0.0);
}

#[test]
fn an_ejector_presses_with_its_whole_face() {
    let pin = |face| Ejector::new(glam::DVec2::ZERO, 4.0, 80.0, 8.0, face);
    // 100 N on 12.566 mm2, worked out by hand.
    for face in [EjectorFace::Plain, EjectorFace::Grooved] {
        close("pressure", ejector::face_pressure_mpa(&pin(face), 100.0), 7.9577, 1e-5);
    }
    for material in Material::generic() {
        let mark_mpa = ejector::mark_pressure_mpa(&material);
        assert!(mark_mpa < formula::indentation_pressure_mpa(material.yield_hot_mpa), "{}", material.name);
        assert!(mark_mpa > 0.0);
    }
}
