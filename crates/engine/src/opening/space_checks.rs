//! The equations in space against published solutions: each test names its source.

use glam::DVec2;

use crate::beam::{Beams, ChannelShape, Matrix, PlasticLaw, Section, Space, SpaceElement};
use crate::opening::checks::{bare, close, elastic};
use crate::opening::tug::{Balance, Moment, Tug};

/// Beams through the points, each cut into `count` elements, of one rectangular section.
fn through(points: &[DVec2], count: usize, section: Section, law: PlasticLaw, poisson: f64) -> Space {
    let mut places = vec![points[0]];
    let mut elements = Vec::new();
    for pair in points.windows(2) {
        for i in 1..=count {
            places.push(pair[0].lerp(pair[1], i as f64 / count as f64));
            let (from, to) = (places.len() - 2, places.len() - 1);
            let length = places[from].distance(places[to]);
            elements.push((from, to, SpaceElement::new(length, section, law, poisson)));
        }
    }
    Space::new(places, elements)
}

/// Equilibrium with the freedoms `held` kept where they are.
#[track_caller]
fn settle(tug: &Tug<Space>, now: &mut [f64], held: &[usize]) {
    let mut balance = Balance::new(&tug.beams);
    let before = now.to_vec();
    for iteration in 0..300 {
        let mut convex = false;
        loop {
            let at = Moment { opening_mm: 1e4, opened_by_mm: 1.0, before: &before, now };
            tug.assemble(at, convex, &mut balance);
            held.iter().for_each(|i| {
                balance.residual[*i] = 0.0;
                balance.matrix.add_diagonal(*i, 1e14);
            });
            if balance.matrix.factor().is_ok() {
                break;
            }
            assert!(!convex, "the convex matrix is positive definite");
            convex = true;
        }
        if iteration > 0 && balance.residual.iter().all(|r| r.abs() < 1e-7) {
            return;
        }
        balance.matrix.solve(&mut balance.residual);
        let worst = balance.residual.iter().fold(1.0_f64, |worst, change| worst.max(change.abs() / 5.0));
        Space::step_back(now, &balance.residual, 1.0 / worst);
    }
    panic!("no equilibrium");
}

#[test]
fn a_cantilever_twists_and_bends_by_the_handbook() {
    // Twist T L/(G J) with J = k1 a b³, k1 = 0.2287 for a rectangle of 2 : 1 (Timoshenko & Goodier's
    // table; from memory, and recomputed); tip deflection P L³/(3 E I) in both planes.
    let (modulus, poisson, length) = (800.0, 0.4, 40.0);
    let section = Section::new(&ChannelShape::rectangle(6.0, 3.0));
    let beams = through(&[DVec2::ZERO, DVec2::new(length, 0.0)], 10, section, elastic(modulus), poisson);
    let tip = 6 * 10;
    let held: Vec<usize> = (0..6).collect();
    let solve = |freedom: usize, load: f64| {
        let mut tug = bare(beams.clone());
        tug.load[tip + freedom] = load;
        let mut now = vec![0.0; tug.size()];
        settle(&tug, &mut now, &held);
        now[tip + freedom]
    };
    let shear = modulus / (2.0 * (1.0 + poisson));
    // Loads so small that second order does not count.
    close("twist", solve(3, 1.0), length / (shear * 0.2287 * 6.0 * 27.0), 1e-3);
    close("down", solve(2, 1e-3), 1e-3 * length.powi(3) / (3.0 * modulus * 13.5), 1e-3);
    close("aside", solve(1, 1e-3), 1e-3 * length.powi(3) / (3.0 * modulus * 54.0), 1e-3);
}

#[test]
fn a_bent_cantilever_under_load_out_of_its_plane_bends_and_twists() {
    // An L of two equal arms, clamped at one end, loaded across its plane at the other: w = P a³/(3EI)
    // twice, plus the twist of the first arm times the second: P a³/(GJ) (Castigliano; any strength
    // handbook, from memory).
    let (modulus, poisson, arm) = (800.0, 0.4, 30.0);
    let section = Section::new(&ChannelShape::rectangle(6.0, 3.0));
    let points = [DVec2::ZERO, DVec2::new(arm, 0.0), DVec2::new(arm, arm)];
    let mut tug = bare(through(&points, 12, section, elastic(modulus), poisson));
    let tip = 6 * 24;
    let load = 1e-3;
    tug.load[tip + 2] = load;
    let mut now = vec![0.0; tug.size()];
    settle(&tug, &mut now, &(0..6).collect::<Vec<_>>());
    let twisting = modulus / (2.0 * (1.0 + poisson)) * 0.2287 * 6.0 * 27.0;
    let wanted = load * arm.powi(3) * (2.0 / (3.0 * modulus * 13.5) + 1.0 / twisting);
    close("tip", now[tip + 2], wanted, 1e-3);
}

#[test]
fn a_cantilever_in_any_direction_bends_like_the_elastica() {
    // Bisshopp & Drucker 1945, PL²/EI = 5: w/L = 0.71379, u/L = 0.38763, as in the plane's own test.
    let (modulus, length) = (2000.0, 100.0);
    let section = Section::new(&ChannelShape::rectangle(6.0, 0.5));
    let along = DVec2::from_angle(0.6);
    let mut tug = bare(through(&[DVec2::ZERO, along * length], 20, section, elastic(modulus), 0.3));
    let bending = modulus * section.inertia_mm4;
    let tip = 6 * 20;
    let mut now = vec![0.0; tug.size()];
    // In parts, so that the first guess is near.
    for part in 1..=10 {
        tug.load[tip + 2] = 0.5 * f64::from(part) * bending / (length * length);
        settle(&tug, &mut now, &(0..6).collect::<Vec<_>>());
        let mut turns = Vec::new();
        tug.beams.turns(&now, &mut turns);
        tug.beams.commit(&mut now, &turns);
    }
    close("w/L", now[tip + 2] / length, 0.713_79, 5e-3);
    let back = -DVec2::new(now[tip], now[tip + 1]).dot(along);
    close("u/L", back / length, 0.387_63, 5e-3);
    let aside = DVec2::new(now[tip], now[tip + 1]).dot(along.perp());
    assert!(aside.abs() < 1e-6 * length, "{aside}");
}

#[test]
fn a_ring_pulled_apart_widens_by_the_handbook() {
    // Ring under two opposite forces in its plane: the diameter grows by 0.1488 P R³/(E I) along them
    // and shrinks by 0.1366 P R³/(E I) across (Roark's Formulas, circular ring, case 1; Timoshenko; from
    // memory), for a ring thin against its radius.
    let (modulus, radius, count) = (800.0, 60.0, 96);
    let section = Section::new(&ChannelShape::rectangle(2.0, 3.0));
    let at = |i: usize| DVec2::from_angle(std::f64::consts::TAU * i as f64 / count as f64) * radius;
    let places: Vec<DVec2> = (0..count).map(at).collect();
    let element = |i: usize| {
        let to = (i + 1) % count;
        let length = places[i].distance(places[to]);
        (i, to, SpaceElement::new(length, section, elastic(modulus), 0.4))
    };
    let mut tug = bare(Space::new(places.clone(), (0..count).map(element).collect()));
    let load = 1e-3;
    let (right, left, top, bottom) = (0, count / 2, count / 4, 3 * count / 4);
    tug.load[6 * right] = load;
    tug.load[6 * left] = -load;
    let mut now = vec![0.0; tug.size()];
    // One node held against moving as a whole, another against turning.
    let held: Vec<usize> =
        vec![6 * left, 6 * left + 1, 6 * left + 2, 6 * left + 3, 6 * left + 4, 6 * right + 1];
    settle(&tug, &mut now, &held);
    let whole = load * radius.powi(3) / (modulus * section.lateral_mm4);
    close("along", now[6 * right] - now[6 * left], 0.148_8 * whole, 0.01);
    close("across", now[6 * bottom + 1] - now[6 * top + 1], 0.136_6 * whole, 0.01);
}

#[test]
fn a_ring_on_springs_tilts_as_a_rigid_body() {
    // A stiff ring of radius R on a uniform elastic bed of k per length, loaded by P at one point: it sinks
    // by P/(2πRk) and tilts by P R/(πR³k), so that it sinks by 3 P/(2πRk) under the load and rises by
    // P/(2πRk) opposite (statics: the bed's second moment about a diameter is πR³k).
    let (radius, count, bed, load) = (30.0, 60, 0.5, 10.0);
    let section = Section::new(&ChannelShape::rectangle(6.0, 6.0));
    let at = |i: usize| DVec2::from_angle(std::f64::consts::TAU * i as f64 / count as f64) * radius;
    let places: Vec<DVec2> = (0..count).map(at).collect();
    let element = |i: usize| {
        let to = (i + 1) % count;
        let length = places[i].distance(places[to]);
        (i, to, SpaceElement::new(length, section, elastic(1e6), 0.3))
    };
    let mut tug = bare(Space::new(places.clone(), (0..count).map(element).collect()));
    for element in 0..count {
        for place in crate::beam::GAUSS_2 {
            let length = 0.5 * tug.beams.elements[element].length_mm;
            let mut faces = [crate::opening::spot::Face::default(); 2];
            faces[crate::opening::tug::FIXED].tack_n_mm = bed * length;
            let spot = tug.beams.spot(element, place, 0.0);
            let contact_n_mm = bed * length;
            tug.lines.push(crate::opening::spot::LineSpot { spot, faces, contact_n_mm, length_mm: length });
        }
    }
    tug.load[2] = load;
    let mut now = vec![0.0; tug.size()];
    settle(&tug, &mut now, &[]);
    let unit = load / (std::f64::consts::TAU * radius * bed);
    close("under the load", now[2], 3.0 * unit, 0.01);
    close("opposite", now[6 * (count / 2) + 2], -unit, 0.01);
}
