//! Cross-sections against closed forms, printed tables and a fine numerical solution.

use std::f64::consts::PI;

use keepside_model::{Half, Part, Project, Rib};
use proptest::prelude::*;

use super::layers::rectangle_torsion_mm4;
use super::*;

/// A part with no draft, parted at a share of its depth.
fn part(moving_share: f64, edge_fixed_mm: f64, edge_moving_mm: f64) -> Part {
    let mut part = Project::blank().part;
    (part.moving_share, part.draft_fixed_deg, part.draft_moving_deg) = (moving_share, 0.0, 0.0);
    (part.edge_fixed_mm, part.edge_moving_mm) = (edge_fixed_mm, edge_moving_mm);
    part
}

#[track_caller]
fn near(got: f64, expected: f64, share: f64) {
    assert!((got - expected).abs() <= share * expected.abs(), "got {got}, expected {expected}");
}

/// Plastic modulus for bending out of the plane, mm³.
fn plastic_mm3(section: &Section) -> f64 {
    // The axis that halves the area lies between the fourth and the fifth layer.
    let moment = |range: std::ops::Range<usize>| -> f64 {
        range.map(|i| section.height_mm[i] * section.area_mm2[i]).sum()
    };
    moment(4..8) - moment(0..4)
}

#[test]
fn a_rectangle_has_its_handbook_section_values() {
    // b h, b h³/12 and the plastic modulus b h²/4: any strength-of-materials handbook.
    let section = Section::new(&ChannelShape::rectangle(6.0, 3.0));
    assert!((section.total_mm2 - 18.0).abs() < 1e-12);
    assert!((section.inertia_mm4 - 13.5).abs() < 1e-12);
    let plastic: f64 = section.height_mm.iter().zip(&section.area_mm2).map(|(y, a)| y.abs() * a).sum();
    assert!((plastic - 13.5).abs() < 1e-12, "{plastic}");
}

#[test]
fn a_trapezium_has_its_handbook_section_values() {
    // Trapezium with parallel sides a (top) and b, height h: I = h³(a² + 4ab + b²)/(36(a + b)),
    // e.g. Young & Budynas, Roark's Formulas, table A.1 (from memory).
    let (top, bottom, depth) = (4.0, 6.0, 3.0_f64);
    let mut part = Project::blank().part;
    part.moving_share = 1.0;
    part.draft_moving_deg = ((bottom - top) / 2.0 / depth).atan().to_degrees();
    let shape = ChannelShape::new(&part, bottom, depth);
    let section = Section::new(&shape);
    let inertia =
        depth.powi(3) * (top * top + 4.0 * top * bottom + bottom * bottom) / (36.0 * (top + bottom));
    assert!((section.total_mm2 - 15.0).abs() < 1e-12);
    assert!((section.inertia_mm4 - inertia).abs() < 1e-12, "{} {inertia}", section.inertia_mm4);
}

#[test]
fn a_fibre_hardens_with_the_stated_slope_and_unloads_elastically() {
    let law = PlasticLaw {
        modulus_mpa: 1000.0,
        yield_mpa: 20.0,
        kinematic_mpa: 1000.0 * 0.03 / 0.97,
        break_strain: 1.0,
    };
    let (at_6, tangent, plastic) = law.stress(0.06, 0.0);
    assert!((at_6 - (20.0 + 0.04 * 30.0)).abs() < 1e-9, "{at_6}");
    assert!((tangent - 30.0).abs() < 1e-9);
    let (back, _, _) = law.stress(0.05, plastic);
    assert!((back - (at_6 - 10.0)).abs() < 1e-9);
}

#[test]
fn a_full_round_has_the_values_of_a_circle() {
    // π r², π r⁴/4, 4 r³/3 (plastic), π r⁴/2 (torsion), 2 π r³/3 (plastic torque): any handbook.
    let r = 1.5_f64;
    for share in [0.5, 0.3, 0.0] {
        let section = Section::new(&ChannelShape::new(&part(share, r, r), 2.0 * r, 2.0 * r));
        near(section.total_mm2, PI * r * r, 1e-10);
        near(section.centroid_mm, r, 1e-10);
        near(section.inertia_mm4, PI * r.powi(4) / 4.0, 1e-10);
        near(section.lateral_mm4, PI * r.powi(4) / 4.0, 1e-10);
        near(plastic_mm3(&section), 4.0 / 3.0 * r.powi(3), 1e-10);
        near(section.torsion_mm4, PI * r.powi(4) / 2.0, 1e-3);
        near(section.torsion_plastic_mm3, 2.0 / 3.0 * PI * r.powi(3), 2e-3);
    }
}

#[test]
fn a_half_round_has_the_values_of_a_semicircle() {
    // Semicircle: centroid 4 r/(3 π) from the flat, I = (π/8 − 8/(9 π)) r⁴, torsion 0.296 r⁴ (0.2976 by
    // series): Timoshenko & Goodier and Roark's Formulas, table 10.7 (from memory).
    let r = 2.0_f64;
    let section = Section::new(&ChannelShape::new(&part(0.0, r, 0.0), 2.0 * r, r));
    near(section.total_mm2, 0.5 * PI * r * r, 1e-10);
    near(section.centroid_mm, r - 4.0 * r / (3.0 * PI), 1e-10);
    near(section.inertia_mm4, (PI / 8.0 - 8.0 / (9.0 * PI)) * r.powi(4), 1e-9);
    near(section.torsion_mm4, 0.2976 * r.powi(4), 6e-3);
}

#[test]
fn a_rectangle_with_rounded_edges_has_the_values_of_its_pieces() {
    // Strips and four quarter circles, area (π/4) r², own second moment (π/16 − 4/(9 π)) r⁴, centroid
    // 4 r/(3 π) from the centre: any handbook.
    let (width, depth, r) = (6.0, 4.0, 0.8_f64);
    let section = Section::new(&ChannelShape::new(&part(0.5, r, r), width, depth));
    let inner = depth - 2.0 * r;
    let area = width * inner + (width - 2.0 * r) * 2.0 * r + PI * r * r;
    // Strips above and below, and four quarter circles about centres inner/2 from the middle.
    let quarter_area = PI * r * r / 4.0;
    let quarter_own = (PI / 16.0 - 4.0 / (9.0 * PI)) * r.powi(4);
    let quarter_arm = inner / 2.0 + 4.0 * r / (3.0 * PI);
    let inertia = width * inner.powi(3) / 12.0
        + 2.0 * ((width - 2.0 * r) * r.powi(3) / 12.0 + (width - 2.0 * r) * r * ((inner + r) / 2.0).powi(2))
        + 4.0 * (quarter_own + quarter_area * quarter_arm * quarter_arm);
    near(section.total_mm2, area, 1e-10);
    near(section.inertia_mm4, inertia, 1e-10);
}

#[test]
fn a_rib_adds_its_area_at_its_place() {
    for half in [Half::Fixed, Half::Moving] {
        let mut part = part(0.5, 0.0, 0.0);
        part.rib = Some(Rib { half, width_mm: 2.0, height_mm: 1.5 });
        let section = Section::new(&ChannelShape::new(&part, 6.0, 3.0));
        // Two rectangles, 6 by 3 and 2 by 1.5, their middles 2.25 apart: the parallel-axis theorem.
        let (a, b) = (18.0, 3.0);
        near(section.total_mm2, a + b, 1e-10);
        near(section.inertia_mm4, 13.5 + 2.0 * 1.5_f64.powi(3) / 12.0 + a * b / (a + b) * 2.25 * 2.25, 1e-10);
        near(section.lateral_mm4, 3.0 * 216.0 / 12.0 + 1.5 * 8.0 / 12.0, 1e-10);
        let offset = 2.25 * b / (a + b);
        near(section.centroid_mm, if half == Half::Fixed { 1.5 - offset } else { 1.5 + offset }, 1e-10);
        near(section.reach_mm, 3.0 - offset, 1e-10);
    }
}

#[test]
fn a_rectangle_resists_torsion_as_the_printed_table_says() {
    // Timoshenko & Goodier, Theory of Elasticity, article 109, table of k1: J = k1 a b³, printed to three
    // or four digits (from memory; equal to the series).
    let table = [
        (1.0, 0.1406),
        (1.2, 0.166),
        (1.5, 0.196),
        (2.0, 0.229),
        (2.5, 0.249),
        (3.0, 0.263),
        (4.0, 0.281),
        (5.0, 0.291),
        (10.0, 0.312),
    ];
    for (ratio, k1) in table {
        for (width, depth) in [(ratio, 1.0), (1.0, ratio)] {
            let got = Section::new(&ChannelShape::rectangle(2.0 * width, 2.0 * depth)).torsion_mm4;
            // Half of the last printed digit.
            let half_digit = if k1 == 0.1406 { 0.000_05 } else { 0.000_51 };
            assert!((got / (16.0 * ratio) - k1).abs() <= half_digit, "{ratio}: {got}");
        }
    }
    near(rectangle_torsion_mm4(1.0, 1e-6), 1e-18 / 3.0, 1e-5);
}

/// Torsion constant by finite elements: bilinear quadrilaterals over half of the section, mapped to a
/// square, at two fineness levels, extrapolated. Independent of the trial functions.
fn by_elements_mm4(shape: &ChannelShape) -> f64 {
    let coarse = elements_mm4(shape, 16);
    let fine = elements_mm4(shape, 32);
    fine + (fine - coarse) / 3.0
}

fn elements_mm4(shape: &ChannelShape, count: usize) -> f64 {
    let depth = shape.depth_mm();
    let place = |i: usize, j: usize| {
        // Denser towards the faces, so that the round ends of an outline are followed.
        let height = 0.5 * depth * (1.0 - (PI * j as f64 / count as f64).cos());
        let across = (0.5 * PI * i as f64 / count as f64).sin();
        (0.5 * shape.width_at(height) * across, height)
    };
    // Unknown at (i, j): flank i = count and floors j = 0, count have none.
    let inner = count - 1;
    let index = |i: usize, j: usize| (i < count && (1..count).contains(&j)).then(|| i * inner + j - 1);
    let size = count * inner;
    let band = inner + 2;
    let mut matrix = vec![vec![0.0; band + 1]; size];
    let mut load = vec![0.0; size];
    for i in 0..count {
        for j in 0..count {
            let corners = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)];
            let points = corners.map(|(i, j)| place(i, j));
            for (s, t) in [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)] {
                let (s, t) = (s / 3.0_f64.sqrt(), t / 3.0_f64.sqrt());
                let signs = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
                let value = signs.map(|(a, b)| 0.25 * (1.0 + a * s) * (1.0 + b * t));
                let ds = signs.map(|(a, b)| 0.25 * a * (1.0 + b * t));
                let dt = signs.map(|(a, b)| 0.25 * b * (1.0 + a * s));
                let sum = |d: [f64; 4]| {
                    (0..4).fold((0.0, 0.0), |sum, k| (sum.0 + d[k] * points[k].0, sum.1 + d[k] * points[k].1))
                };
                let ((xs, ys), (xt, yt)) = (sum(ds), sum(dt));
                let area = xs * yt - ys * xt;
                if area <= 0.0 {
                    continue;
                }
                let gradient: [(f64, f64); 4] = std::array::from_fn(|k| {
                    ((yt * ds[k] - ys * dt[k]) / area, (xs * dt[k] - xt * ds[k]) / area)
                });
                for k in 0..4 {
                    let Some(row) = index(corners[k].0, corners[k].1) else { continue };
                    load[row] += 2.0 * value[k] * area;
                    for l in 0..4 {
                        let Some(column) = index(corners[l].0, corners[l].1) else { continue };
                        if column <= row {
                            let dot = gradient[k].0 * gradient[l].0 + gradient[k].1 * gradient[l].1;
                            matrix[row][row - column] += dot * area;
                        }
                    }
                }
            }
        }
    }
    let right = load.clone();
    // Banded Cholesky: matrix[row][d] is the entry in column row − d.
    for row in 0..size {
        for d in (0..=band.min(row)).rev() {
            let column = row - d;
            let mut sum = matrix[row][d];
            for e in d + 1..=band.min(row) {
                if e - d <= band {
                    sum -= matrix[row][e] * matrix[column][e - d];
                }
            }
            matrix[row][d] = if d == 0 { sum.sqrt() } else { sum / matrix[column][0] };
        }
    }
    for row in 0..size {
        let dot: f64 = (1..=band.min(row)).map(|d| matrix[row][d] * load[row - d]).sum();
        load[row] = (load[row] - dot) / matrix[row][0];
    }
    // The load alone gives the volume: J = 2 ∫φ = load · φ; twice for both halves of the section.
    for row in (0..size).rev() {
        let dot: f64 = (1..=band.min(size - 1 - row)).map(|d| matrix[row + d][d] * load[row + d]).sum();
        load[row] = (load[row] - dot) / matrix[row][0];
    }
    2.0 * right.iter().zip(&load).map(|(f, phi)| f * phi).sum::<f64>()
}

#[test]
fn torsion_agrees_with_finite_elements() {
    near(by_elements_mm4(&ChannelShape::rectangle(6.0, 3.0)), rectangle_torsion_mm4(6.0, 3.0), 1e-3);
    // (moving share, draft, edge in the fixed half, edge in the moving half, how far off it may be)
    let cases = [
        (0.5, 5.0, 0.0, 0.0, 0.003),
        (0.0, 15.0, 0.0, 0.0, 0.015),
        (0.5, 30.0, 0.0, 0.0, 0.03),
        (0.5, 2.0, 0.5, 0.5, 0.01),
        (0.3, 2.0, 1.0, 0.4, 0.01),
        (0.8, 2.0, 1.0, 0.4, 0.01),
        (0.0, 3.0, 1.4, 0.0, 0.01),
        (0.5, 3.0, 1.0, 1.0, 0.01),
        (0.5, 3.0, 10.0, 0.0, 0.01),
    ];
    for (width, depth) in [(6.0, 3.0), (8.0, 2.0), (3.0, 4.0), (3.0, 3.0), (20.0, 2.0), (2.0, 6.0)] {
        for (share, draft, edge_fixed, edge_moving, off) in cases {
            let mut part = part(share, edge_fixed, edge_moving);
            (part.draft_fixed_deg, part.draft_moving_deg) = (draft, draft);
            let shape = ChannelShape::new(&part, width, depth);
            near(Section::new(&shape).torsion_mm4, by_elements_mm4(&shape), off);
        }
    }
}

/// Torsion constant of a rectangle with a rib in the middle of its top, by finite differences: ∇²φ = −2 on
/// a square grid over half of it, solved by over-relaxation.
fn ribbed_mm4(width: f64, depth: f64, rib: (f64, f64), per_mm: usize) -> f64 {
    let count = |length: f64| (length * per_mm as f64).round() as usize;
    let (columns, rows) = (count(0.5 * width), count(depth + rib.1));
    let (rib_columns, floor) = (count(0.5 * rib.0), count(depth));
    let is_inside =
        |i: usize, j: usize| j > 0 && j < rows && i < if j < floor { columns } else { rib_columns };
    let step = 1.0 / per_mm as f64;
    let mut phi = vec![vec![0.0_f64; rows + 1]; columns + 1];
    for _ in 0..2_000 {
        let mut moved = 0.0_f64;
        for i in 0..columns {
            for j in 1..rows {
                if !is_inside(i, j) {
                    continue;
                }
                // The middle plane is a mirror.
                let left = if i == 0 { phi[1][j] } else { phi[i - 1][j] };
                let mean = 0.25 * (left + phi[i + 1][j] + phi[i][j - 1] + phi[i][j + 1]);
                let change = 1.85 * (mean + 0.5 * step * step - phi[i][j]);
                phi[i][j] += change;
                moved = moved.max(change.abs());
            }
        }
        if moved < 1e-9 {
            break;
        }
    }
    let half = |i: usize| if i == 0 { 0.5 } else { 1.0 };
    let volume: f64 = (0..columns).map(|i| half(i) * phi[i].iter().sum::<f64>()).sum();
    // Both halves, and J = 2 ∫φ.
    4.0 * volume * step * step
}

#[test]
fn the_torsion_of_a_ribbed_section_agrees_with_finite_differences() {
    near(ribbed_mm4(6.0, 3.0, (2.0, 0.0), 10), rectangle_torsion_mm4(6.0, 3.0), 5e-3);
    let cases = [
        (6.0, 3.0, 1.0, 1.0, 0.02),
        (6.0, 3.0, 2.0, 1.0, 0.05),
        (6.0, 3.0, 1.0, 3.0, 0.02),
        (6.0, 3.0, 2.0, 3.0, 0.05),
        (10.0, 2.0, 2.0, 1.0, 0.05),
        (10.0, 2.0, 2.0, 2.0, 0.05),
        (4.0, 4.0, 2.0, 2.0, 0.1),
        (3.0, 6.0, 1.0, 1.0, 0.1),
    ];
    for (width, depth, rib_width, rib_height, off) in cases {
        let mut part = part(0.5, 0.0, 0.0);
        part.rib = Some(Rib { half: Half::Moving, width_mm: rib_width, height_mm: rib_height });
        let got = Section::new(&ChannelShape::new(&part, width, depth)).torsion_mm4;
        near(got, ribbed_mm4(width, depth, (rib_width, rib_height), 10), off);
    }
}

#[test]
fn equal_sections_are_cut_once() {
    let mut sections = Sections::default();
    let shapes = [6.0, 5.0, 6.0].map(|width| ChannelShape::new(&Project::blank().part, width, 3.0));
    let cut = shapes.map(|shape| sections.of(&shape));
    assert_eq!(cut, shapes.map(|shape| Section::new(&shape)));
    assert_eq!(sections.cut.len(), 2);
}

#[test]
fn a_full_plastic_torque_is_the_heap_of_sand_on_the_section() {
    // Nadai's analogy: twice the volume under slopes of 1 in 1. Rectangle b²(3a − b)/6; a square frustum
    // of a trapezium by slicing: the outline moved inwards, step by step (own reckoning).
    near(Section::new(&ChannelShape::rectangle(6.0, 3.0)).torsion_plastic_mm3, 9.0 * 15.0 / 6.0, 1e-12);
    let mut drafted = part(0.0, 0.0, 0.0);
    drafted.draft_fixed_deg = 20.0;
    let shape = ChannelShape::new(&drafted, 8.0, 3.0);
    let (slope, secant) = (shape.slope_fixed, shape.slope_fixed.hypot(1.0));
    let steps = 20_000;
    let thick = 1.5 / f64::from(steps);
    let volume: f64 = (0..steps)
        .map(|i| {
            // At t above the ground the outline is a trapezium between heights t and 3 − t, its walls
            // moved inwards by t.
            let t = (f64::from(i) + 0.5) * thick;
            let middle = 8.0 - 2.0 * 1.5 * slope - 2.0 * t * secant;
            middle * (3.0 - 2.0 * t) * thick
        })
        .sum();
    near(Section::new(&shape).torsion_plastic_mm3, 2.0 * volume, 0.01);
}

#[test]
fn an_edge_larger_than_its_half_is_deep_is_an_undercut_of_the_other() {
    // Radius 2 in a half 1.2 deep: the widest place is 0.8 above the parting plane, where the arc stands
    // at asin(0.8/2) and is 2 (1 − cos) = 2 − √(4 − 0.64) narrower.
    let shape = ChannelShape::new(&part(0.6, 2.0, 0.0), 8.0, 3.0);
    let undercut = shape.undercut(Half::Moving).expect("the moving half traps it");
    near(undercut.height_mm, 0.8, 1e-12);
    near(undercut.depth_mm, 2.0 - 3.36_f64.sqrt(), 1e-12);
    near(undercut.flank_deg, 0.5 * 0.4_f64.asin().to_degrees(), 1e-12);
    near(undercut.flank_deg.to_radians().tan(), undercut.depth_mm / undercut.height_mm, 1e-12);
    assert_eq!(shape.undercut(Half::Fixed), None);
    near(shape.width_at(1.2), 8.0 - 2.0 * undercut.depth_mm, 1e-12);
    near(shape.width_at(2.0), 8.0, 1e-12);
    near(shape.width_at(2.5), 8.0, 1e-12);
    near(shape.floor_mm(Half::Fixed), 4.0, 1e-12);
    near(shape.floor_mm(Half::Moving), 8.0, 1e-12);
    // A radius that just fits its half is none.
    for radius in [1.2, 1.2 + 1e-9, 0.5] {
        let shape = ChannelShape::new(&part(0.6, radius, 0.0), 8.0, 3.0);
        assert_eq!((shape.undercut(Half::Moving), shape.undercut(Half::Fixed)), (None, None));
        near(shape.width_at(1.2), 8.0, 1e-9);
    }
    let (squeeze, flank) = undercut.squeeze_at(undercut.height_mm);
    near(squeeze, undercut.depth_mm, 1e-12);
    assert!(flank.abs() < 1e-12 && undercut.squeeze_at(0.0).0 == 0.0);
}

#[test]
fn walls_and_faces_share_the_outline() {
    let shape = ChannelShape::new(&part(0.5, 0.0, 0.5), 6.0, 3.0);
    let [wall, groove] = shape.walls(Half::Fixed);
    assert_eq!((wall.area_mm, wall.height_mm, wall.slope), (3.0, 1.5, 0.0));
    assert_eq!(groove, WallContact::default());
    near(shape.walls(Half::Moving)[0].area_mm, 3.0, 1e-12);
    near(shape.floor_mm(Half::Moving), 5.0, 1e-12);
    near(shape.face_mm(Half::Moving), 6.0, 1e-12);
    let mut drafted = part(0.5, 0.0, 0.0);
    drafted.draft_fixed_deg = 45.0;
    drafted.rib = Some(Rib { half: Half::Fixed, width_mm: 1.0, height_mm: 2.0 });
    let shape = ChannelShape::new(&drafted, 6.0, 3.0);
    let [wall, groove] = shape.walls(Half::Fixed);
    near(wall.area_mm, 2.0 * 1.5 * 2.0_f64.sqrt(), 1e-12);
    near(wall.slope, 1.0, 1e-12);
    assert_eq!((groove.area_mm, groove.height_mm, groove.slope), (4.0, 2.0, 0.0));
    // The wall of a half with nothing but an arc opens with the arc; what lies in an undercut is left out.
    let shape = ChannelShape::new(&part(0.5, 2.0, 0.0), 8.0, 3.0);
    let wall = shape.walls(Half::Fixed)[0];
    near(wall.area_mm, 3.0, 1e-12);
    near(wall.slope, (2.0 * (1.0 - 0.0625_f64).sqrt()) / 1.5, 1e-12);
    near(shape.walls(Half::Moving)[0].area_mm, 2.0, 1e-12);
}

#[test]
fn what_does_not_fit_is_made_smaller() {
    // Both radii 3 in a depth of 4: half of it each. One of 5 in a channel 6 wide and 8 deep: 3.
    let shape = ChannelShape::new(&part(0.5, 3.0, 3.0), 10.0, 4.0);
    assert_eq!((shape.edge_mm(Half::Fixed), shape.edge_mm(Half::Moving)), (2.0, 2.0));
    assert_eq!(ChannelShape::new(&part(0.0, 5.0, 0.0), 6.0, 8.0).edge_mm(Half::Fixed), 3.0);
    let mut wide = part(0.5, 0.0, 0.0);
    wide.rib = Some(Rib { half: Half::Moving, width_mm: 9.0, height_mm: 1.0 });
    let rib = ChannelShape::new(&wide, 6.0, 3.0).rib();
    assert_eq!(rib.map(|rib| rib.width_mm), Some(6.0));
    // A draft that would close the channel leaves a twentieth of the width.
    let mut steep = part(1.0, 0.0, 0.0);
    steep.draft_moving_deg = 45.0;
    near(ChannelShape::new(&steep, 6.0, 5.0).floor_mm(Half::Moving), 0.3, 1e-9);
}

/// Any section that a project may hold, within reason.
fn any_part() -> impl Strategy<Value = (Part, f64, f64)> {
    let rib = proptest::option::of((proptest::bool::ANY, 0.1..20.0, 0.1..8.0));
    (0.0..=1.0, 0.0..=45.0, 0.0..=45.0, 0.0..=8.0, 0.0..=8.0, rib, 0.2..=40.0, 0.1..=20.0).prop_map(
        |(share, draft_fixed, draft_moving, edge_fixed, edge_moving, rib, width_mm, depth_mm)| {
            let mut part = part(share, edge_fixed, edge_moving);
            (part.draft_fixed_deg, part.draft_moving_deg) = (draft_fixed, draft_moving);
            part.rib = rib.map(|(is_fixed, width_mm, height_mm)| Rib {
                half: if is_fixed { Half::Fixed } else { Half::Moving },
                width_mm,
                height_mm,
            });
            (part, width_mm, depth_mm)
        },
    )
}

fn mirrored(part: &Part) -> Part {
    Part {
        moving_share: 1.0 - part.moving_share,
        draft_moving_deg: part.draft_fixed_deg,
        draft_fixed_deg: part.draft_moving_deg,
        edge_moving_mm: part.edge_fixed_mm,
        edge_fixed_mm: part.edge_moving_mm,
        rib: part.rib.map(|rib| Rib { half: rib.half.other(), ..rib }),
        ..part.clone()
    }
}

fn all_values(section: &Section) -> [f64; 6] {
    let Section { total_mm2, inertia_mm4, lateral_mm4, torsion_mm4, torsion_plastic_mm3, reach_mm, .. } =
        *section;
    [total_mm2, inertia_mm4, lateral_mm4, torsion_mm4, torsion_plastic_mm3, reach_mm]
}

proptest! {
    /// Whatever a project may hold gives a sound section: no NaN, layers with area inside the outline,
    /// and the area and second moment of a thousand thin strips.
    #[test]
    fn any_section_is_sound((part, width_mm, depth_mm) in any_part()) {
        let shape = ChannelShape::new(&part, width_mm, depth_mm);
        let section = Section::new(&shape);
        let (low, high) = shape.range_mm();
        for i in 0..FIBRES {
            let height = section.height_mm[i] + section.centroid_mm;
            prop_assert!(low <= height && height <= high, "{:?}", section);
            prop_assert!(section.area_mm2[i] > 0.0 && section.breadth_mm[i] >= 0.0);
            prop_assert!(section.breadth_mm[i] <= width_mm * (1.0 + 1e-9));
        }
        let (mut area, mut moment, mut square) = (0.0, 0.0, 0.0);
        // The body and a rib on either side of it, each in strips of its own.
        for (from, to) in [(low, 0.0), (0.0, depth_mm), (depth_mm, high)] {
            let thick = (to - from) / 4000.0;
            for i in 0..4000 {
                let height = from + thick * (f64::from(i) + 0.5);
                let strip = shape.width_at(height) * thick;
                (area, moment, square) = (area + strip, moment + strip * height, square + strip * height * height);
            }
        }
        prop_assert!((section.total_mm2 / area - 1.0).abs() < 2e-3, "{} {area}", section.total_mm2);
        prop_assert!((section.centroid_mm - moment / area).abs() < 1e-3 * (high - low));
        let inertia = square - moment * moment / area;
        prop_assert!((section.inertia_mm4 / inertia - 1.0).abs() < 5e-3, "{} {inertia}", section.inertia_mm4);
        prop_assert!(all_values(&section).iter().all(|value| value.is_finite() && *value > 0.0), "{:?}", section);
        // Never above the polar moment: warping only softens.
        prop_assert!(section.torsion_mm4 <= (section.inertia_mm4 + section.lateral_mm4) * (1.0 + 1e-6), "{:?} {:?}", shape, section);
        for half in [Half::Fixed, Half::Moving] {
            let floor = shape.floor_mm(half);
            prop_assert!(floor >= -1e-9 && floor <= shape.face_mm(half) + 1e-9, "{:?}", shape);
            prop_assert!(shape.face_mm(half) <= width_mm * (1.0 + 1e-9));
            for wall in shape.walls(half) {
                prop_assert!(wall.area_mm >= 0.0 && wall.slope >= 0.0 && wall.height_mm >= 0.0, "{:?}", wall);
            }
        }
        prop_assert!(shape.undercut(Half::Fixed).is_none() || shape.undercut(Half::Moving).is_none());
    }

    /// Exchanging the halves mirrors the section and leaves its values as they are.
    #[test]
    fn exchanging_the_halves_mirrors_the_section((part, width_mm, depth_mm) in any_part()) {
        let shape = ChannelShape::new(&part, width_mm, depth_mm);
        let other = ChannelShape::new(&mirrored(&part), width_mm, depth_mm);
        let (section, turned) = (Section::new(&shape), Section::new(&other));
        // The heap of sand is summed over strips that a rounding may shift: its stated error is 1 %.
        let exact = [1e-7, 1e-7, 1e-7, 1e-7, 1e-2, 1e-7];
        for ((a, b), share) in all_values(&section).into_iter().zip(all_values(&turned)).zip(exact) {
            prop_assert!((a / b - 1.0).abs() < share, "{:?} {:?} {a} {b}", shape, other);
        }
        prop_assert!((section.centroid_mm + turned.centroid_mm - depth_mm).abs() < 1e-7 * depth_mm.max(1.0));
        for half in [Half::Fixed, Half::Moving] {
            prop_assert!((shape.floor_mm(half) - other.floor_mm(half.other())).abs() < 1e-7 * width_mm);
            let (a, b) = (shape.undercut(half), other.undercut(half.other()));
            prop_assert_eq!(a.is_some(), b.is_some());
            if let (Some(a), Some(b)) = (a, b) {
                prop_assert!((a.depth_mm - b.depth_mm).abs() < 1e-9 && (a.height_mm - b.height_mm).abs() < 1e-9);
            }
            let (a, b) = (shape.walls(half)[0], other.walls(half.other())[0]);
            prop_assert!((a.area_mm - b.area_mm).abs() < 1e-7 * (1.0 + a.area_mm), "{:?} {:?}", a, b);
        }
    }

    /// Doubling every length multiplies each value by its power of two.
    #[test]
    fn a_section_scales((part, width_mm, depth_mm) in any_part()) {
        let once = Section::new(&ChannelShape::new(&part, width_mm, depth_mm));
        let mut large = part.clone();
        large.edge_fixed_mm *= 2.0;
        large.edge_moving_mm *= 2.0;
        if let Some(rib) = &mut large.rib {
            (rib.width_mm, rib.height_mm) = (2.0 * rib.width_mm, 2.0 * rib.height_mm);
        }
        let twice = Section::new(&ChannelShape::new(&large, 2.0 * width_mm, 2.0 * depth_mm));
        let powers = [4.0, 16.0, 16.0, 16.0, 8.0, 2.0];
        for ((a, b), power) in all_values(&once).into_iter().zip(all_values(&twice)).zip(powers) {
            prop_assert!((b / a / power - 1.0).abs() < 1e-7, "{a} {b} {power}");
        }
    }
}
