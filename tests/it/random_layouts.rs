//! Random layouts that a user might draw: every one is computed to the end, with numbers that are numbers
//! and an energy balance that closes.
//!
//! Sixty in every test run. `KEEPSIDE_LAYOUTS=10000` asks for more, `KEEPSIDE_FIRST_LAYOUT` for others.

use std::collections::BTreeMap;

use glam::DVec2;
use keepside_engine::opening::{self, Cancel, Opening, Outcome, StripOutcome, Stripping, run_and_strip};
use keepside_model::{
    Ejector, EjectorFace, EndShape, FeatureKind, Finish, Half, Id, KeyingFeature, Material, Project, Rib,
    Run, RunPoint, ScrewEnd, Sprue, ThreadSize,
};

/// Draws numbers from a seed (`SplitMix64`).
struct Draw(u64);

impl Draw {
    fn share(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    fn below(&mut self, count: usize) -> usize {
        (self.share() * count as f64) as usize
    }

    fn chance(&mut self, share: f64) -> bool {
        self.share() < share
    }
}

fn run(draw: &mut Draw, points: &[(f64, f64)], bulge: f64) -> Run {
    let (width_mm, depth_mm) = (draw.between(2.5, 8.0), draw.between(1.2, 4.0));
    let taper = if draw.chance(0.3) { draw.between(0.6, 1.0) } else { 1.0 };
    let points = points
        .iter()
        .enumerate()
        .map(|(i, (x, y))| {
            let share = if i % 2 == 1 { taper } else { 1.0 };
            let (width_mm, depth_mm) = (width_mm * share, depth_mm * share);
            RunPoint { at: DVec2::new(*x, *y), width_mm, depth_mm, bulge }
        })
        .collect();
    let ends = [EndShape::Round, EndShape::Square];
    Run { name: String::new(), points, start: ends[draw.below(2)], end: ends[draw.below(2)] }
}

/// The centre lines: a strip, a bend, an arc, a tee, a cross, a tree, a ring, or two mouldings.
fn runs(draw: &mut Draw) -> Vec<Run> {
    let (length, x, y) = (draw.between(30.0, 140.0), 30.0, 80.0);
    let reach = draw.between(15.0, 50.0);
    let at = x + length * draw.between(0.2, 0.8);
    match draw.below(8) {
        0 => vec![run(draw, &[(x, y), (x + length, y)], 0.0)],
        1 => vec![run(draw, &[(x, y), (at, y + reach), (x + length, y)], 0.0)],
        2 => {
            let bulge = draw.between(-0.9, 0.9);
            vec![run(draw, &[(x, y), (x + length, y)], bulge)]
        }
        3 => vec![
            run(draw, &[(x, y), (x + length, y)], 0.0),
            run(draw, &[(at, y), (at + reach * 0.3, y + reach)], 0.0),
        ],
        4 => vec![
            run(draw, &[(x, y), (x + length, y)], 0.0),
            run(draw, &[(at, y - reach), (at, y + reach)], 0.0),
        ],
        5 => vec![
            run(draw, &[(x, y), (at, y)], 0.0),
            run(draw, &[(at, y), (at + reach, y + reach)], 0.2),
            run(draw, &[(at, y), (at + reach, y - reach)], 0.0),
        ],
        6 => {
            let mut ring = run(draw, &[(x, y), (x + length * 0.5, y), (x, y)], 1.0);
            ring.points[2] = ring.points[0];
            vec![ring]
        }
        _ => vec![
            run(draw, &[(x, y), (x + length, y)], 0.0),
            run(draw, &[(x, y + 30.0), (x + length * 0.7, y + 30.0)], 0.0),
        ],
    }
}

pub(crate) fn layout(seed: u64) -> Project {
    let mut draw = Draw(seed);
    let draw = &mut draw;
    let mut project = Project::blank();
    let runs = runs(draw);
    let on_run = |draw: &mut Draw| {
        let run = &runs[draw.below(runs.len())];
        let i = draw.below(run.points.len() - 1);
        let (from, to, t) = (run.points[i], run.points[i + 1], draw.between(0.05, 0.95));
        let chord = to.at - from.at;
        // On an arc, its own point at that share of the angle.
        let sweep = 4.0 * from.bulge.atan();
        let place = if sweep.abs() < 1e-6 {
            from.at + chord * t
        } else {
            let centre = from.at.midpoint(to.at)
                + chord.perp() * ((1.0 - from.bulge * from.bulge) / (4.0 * from.bulge));
            centre + DVec2::from_angle(sweep * t).rotate(from.at - centre)
        };
        let aside = if draw.chance(0.2) { draw.between(-0.15, 0.15) * from.width_mm } else { 0.0 };
        (place + chord.normalize().perp() * aside, from.width_mm, from.depth_mm)
    };
    let mut id = 100;
    let mut next = || {
        id += 1;
        Id(id)
    };
    for _ in 0..draw.below(4) {
        let (at, width_mm, _) = on_run(draw);
        let sprue = Sprue {
            name: String::new(),
            at,
            half: if draw.chance(0.9) { Half::Fixed } else { Half::Moving },
            diameter_mm: width_mm * draw.between(0.3, 0.8),
            length_mm: draw.between(4.0, 25.0),
            draft_deg: if draw.chance(0.5) { 0.0 } else { draw.between(0.2, 3.0) },
            finish: if draw.chance(0.7) { Finish::AsTurned } else { Finish::Polished },
            measured: None,
        };
        project.sprues.insert(next(), sprue);
    }
    for _ in 0..draw.below(6) {
        let (at, width_mm, depth_mm) = on_run(draw);
        let head_mm = width_mm * draw.between(0.4, 0.8);
        let kind = match draw.below(5) {
            0 => FeatureKind::SetScrew {
                thread: ThreadSize::ALL[draw.below(4)],
                end: ScrewEnd::ALL[draw.below(ScrewEnd::ALL.len())],
            },
            1 => FeatureKind::CapHead {
                thread: ThreadSize::ALL[draw.below(3)],
                turned_mm: draw.chance(0.5).then(|| head_mm.max(0.8)),
                chamfer_mm: if draw.chance(0.5) { draw.between(0.1, 1.0) } else { 0.0 },
            },
            2 => FeatureKind::TurnedHead {
                head_diameter_mm: head_mm.max(0.8),
                neck_diameter_mm: (head_mm * draw.between(0.7, 0.97)).max(0.5),
                head_height_mm: (depth_mm * draw.between(0.2, 0.4)).max(0.3),
                underside_deg: draw.between(0.0, 70.0),
            },
            3 => FeatureKind::RingedPost {
                diameter_mm: head_mm.max(0.8),
                ring_depth_mm: (head_mm * draw.between(0.02, 0.15)).max(0.05),
                ring_width_mm: (depth_mm * draw.between(0.1, 0.4)).max(0.05),
                land_mm: (depth_mm * draw.between(0.05, 0.3)).max(0.05),
                flank_deg: draw.between(0.0, 70.0),
            },
            _ => FeatureKind::PlainPost { diameter_mm: head_mm.max(0.5) },
        };
        let half = if draw.chance(0.85) { Half::Moving } else { Half::Fixed };
        let protrusion_mm = depth_mm * draw.between(0.3, 0.9);
        let pin = KeyingFeature::new(at, half, kind, protrusion_mm);
        project.features.insert(next(), pin);
    }
    for _ in 0..draw.below(5) {
        let (at, width_mm, _) = on_run(draw);
        let diameter_mm = (width_mm * draw.between(0.3, 0.9)).max(0.5);
        let (length_mm, stroke_mm) = (draw.between(40.0, 150.0), draw.between(3.0, 15.0));
        let face = match draw.below(4) {
            0 => EjectorFace::Grooved,
            1 => EjectorFace::Crossed,
            _ => EjectorFace::Plain,
        };
        let mut pin = Ejector::new(at, diameter_mm, length_mm, stroke_mm, face);
        pin.grooves.pitch_mm = draw.between(0.4, 1.5);
        pin.grooves.mouth_mm = pin.grooves.pitch_mm * draw.between(0.3, 0.6);
        pin.grooves.depth_mm = draw.between(0.1, 0.8);
        pin.grooves.lean_deg = if draw.chance(0.3) { 0.0 } else { draw.between(2.0, 20.0) };
        project.ejectors.insert(next(), pin);
    }
    let part = &mut project.part;
    part.moving_share = draw.between(0.0, 1.0);
    (part.draft_moving_deg, part.draft_fixed_deg) = (draw.between(0.0, 5.0), draw.between(0.0, 5.0));
    if draw.chance(0.3) {
        (part.edge_moving_mm, part.edge_fixed_mm) = (draw.between(0.0, 1.5), draw.between(0.0, 1.5));
    }
    if draw.chance(0.1) {
        part.rib = Some(Rib { half: Half::Moving, width_mm: 1.0, height_mm: draw.between(0.5, 2.0) });
    }
    part.runs = (1..).map(Id).zip(runs).collect::<BTreeMap<_, _>>();
    project.material = Material::generic().swap_remove(draw.below(4));
    let holds = &mut project.holds;
    holds.tack_mpa = draw.between(0.02, 0.3);
    holds.release_factor_fixed = if draw.chance(0.3) { draw.between(0.2, 0.5) } else { 1.0 };
    holds.release_factor_moving = if draw.chance(0.3) { draw.between(0.2, 0.5) } else { 1.0 };
    holds.sprue_drag_turned_mpa = draw.between(0.3, 1.0);
    holds.vacuum_mpa = if draw.chance(0.1) { draw.between(0.0, 0.1) } else { 0.0 };
    project.press.stroke_mm = draw.between(20.0, 120.0);
    project
}

/// Whether every number of a result is one.
fn is_finite(opening: &Opening) -> bool {
    let holds = opening
        .holds
        .iter()
        .all(|h| [h.peak_n, h.travel_mm, h.work_mj, h.capacity_n].iter().all(|value| value.is_finite()));
    let points = opening.frames.iter().flat_map(|frame| frame.shapes.iter().flatten());
    let shapes = { points }.all(|p| p.x_mm.is_finite() && p.y_mm.is_finite() && p.z_mm.is_finite());
    let bumps = opening.bumps.iter().all(|bump| bump.height_mm.is_finite() && bump.kink_deg.is_finite());
    let e = opening.energy;
    let energy = [e.work_mj, e.elastic_mj, e.plastic_mj, e.holds_mj, e.viscous_mj, e.snap_mj];
    let energy = energy.iter().all(|value| value.is_finite());
    holds && shapes && bumps && energy && opening.flatness_mm.is_finite()
}

/// Whether every number of stripping is one.
fn is_finite_stripping(stripping: &Stripping) -> bool {
    let features = stripping.features.iter().flat_map(|at| [at.force_n, at.strain, at.allowed]);
    let ejectors = stripping.ejectors.iter().flat_map(|e| [e.force_n, e.pressure_mpa, e.buckling_mm]);
    let force = stripping.force.iter().flat_map(|point| [point.0, point.1]);
    let bumps = stripping.bumps.iter().flat_map(|bump| [bump.height_mm, bump.kink_deg]);
    let whole = [stripping.peak_n, stripping.flatness_mm];
    features.chain(ejectors).chain(force).chain(bumps).chain(whole).all(f64::is_finite)
}

#[test]
fn random_layouts_are_computed_to_the_end() {
    let from_env = |name: &str, default: u64| {
        std::env::var(name).ok().and_then(|value| value.parse().ok()).unwrap_or(default)
    };
    let (first, count) = (from_env("KEEPSIDE_FIRST_LAYOUT", 0), from_env("KEEPSIDE_LAYOUTS", 60));
    let (mut rescued, mut unbalanced, mut lossy, mut torn, mut stripped) = (0, 0, 0, 0, 0);
    let mut rescued_stripping = 0;
    let mut failed = Vec::new();
    // Told at once, so that a run that is broken off has not hidden it.
    let mut fails = |seed: u64, why: &str| {
        println!("{seed} FAILED: {why}");
        failed.push(format!("{seed}: {why}"));
    };
    for seed in first..first + count {
        let project = layout(seed);
        project.check().expect("a valid layout");
        let mut opening = None;
        match run_and_strip(&project, &Cancel::default(), &mut |opened| opening = Some(opened)) {
            Ok(Some(stripping)) => {
                stripped += 1;
                rescued_stripping += usize::from(stripping.effort.rescues > 0);
                if !is_finite_stripping(&stripping) {
                    fails(seed, "stripping is not finite");
                }
            }
            Ok(None) => {}
            Err(reason) => fails(seed, &reason.to_string()),
        }
        let Some(opening) = opening else { continue };
        if !is_finite(&opening) {
            fails(seed, "the opening run is not finite");
        }
        if (seed - first) % 50 == 49 {
            println!("{} computed", seed - first + 1);
        }
        rescued += usize::from(opening.effort.rescues > 0);
        let is_torn = opening.verdict.outcome == Outcome::Torn;
        torn += usize::from(is_torn);
        let e = opening.energy;
        let sum = e.elastic_mj + e.plastic_mj + e.holds_mj + e.viscous_mj + e.snap_mj;
        let whole = e.work_mj.max(e.holds_mj);
        if (e.work_mj - sum).abs() > 0.01 * whole {
            unbalanced += 1;
            println!("{seed}: torn {is_torn}, off by {:.3}: {e:?}", (e.work_mj - sum) / whole);
        } else if e.viscous_mj > 0.02 * whole {
            lossy += 1;
            println!("{seed}: viscous {:.3}: {e:?}", e.viscous_mj / whole);
        }
    }
    println!(
        "{count} layouts: {torn} torn, {stripped} stripped, {rescued} needed a rescue opening and \
         {rescued_stripping} stripping, {unbalanced} miss the energy \
         balance by more than 1 %, {lossy} lose more than 2 % in viscosity, {} failed",
        failed.len()
    );
    assert!(failed.is_empty(), "{failed:?}");
}

/// Layouts whose ejectors stand where the part tears: what pushes a torn piece of a part pushes neither of
/// its ends, else one would be levered away by the other for ever.
#[test]
fn layouts_torn_by_their_ejectors_are_stripped_to_the_end() {
    for seed in [301_013, 303_980, 304_838, 403_009, 404_595] {
        let stripping = run_and_strip(&layout(seed), &Cancel::default(), &mut |_| {});
        let stripping = stripping.unwrap_or_else(|reason| panic!("{seed}: {reason}"));
        let stripping = stripping.unwrap_or_else(|| panic!("{seed}: the moving half does not keep it"));
        assert_eq!(stripping.outcome, StripOutcome::Torn, "{seed}");
        assert!(is_finite_stripping(&stripping), "{seed}");
    }
}

/// The project with every place of the plan moved.
pub(crate) fn moved(project: &Project, place: impl Fn(DVec2) -> DVec2, bulge_sign: f64) -> Project {
    let mut moved = project.clone();
    for point in moved.part.runs.values_mut().flat_map(|run| &mut run.points) {
        point.at = place(point.at);
        point.bulge *= bulge_sign;
    }
    moved.sprues.values_mut().for_each(|sprue| sprue.at = place(sprue.at));
    moved.features.values_mut().for_each(|feature| feature.at = place(feature.at));
    moved.ejectors.values_mut().for_each(|ejector| ejector.at = place(ejector.at));
    moved
}

/// The project with every run drawn from its other end.
pub(crate) fn reversed(project: &Project) -> Project {
    let mut reversed = project.clone();
    for run in reversed.part.runs.values_mut() {
        run.points.reverse();
        std::mem::swap(&mut run.start, &mut run.end);
        // The bulge stands with the point before the piece, and turns the other way.
        let bulges: Vec<f64> = run.points.iter().map(|point| -point.bulge).collect();
        for (point, bulge) in run.points.iter_mut().zip(bulges.into_iter().skip(1).chain([0.0])) {
            point.bulge = bulge;
        }
    }
    reversed
}

#[test]
fn random_layouts_open_alike_mirrored_turned_and_reversed() {
    // Tearing runs away from a hair's difference, and so do ties; they are left out by their margin: a run
    // counts only if the fixed half may hold a tenth more or less without another outcome.
    let outcome =
        |project: &Project| opening::run(project, &Cancel::default()).map(|opening| opening.verdict.outcome);
    let mut compared = 0;
    for seed in 500..512 {
        let project = layout(seed);
        let Ok(base) = opening::run(&project, &Cancel::default()) else { continue };
        if base.verdict.outcome == Outcome::Torn {
            continue;
        }
        let is_clear = [0.9, 1.1].iter().all(|factor| {
            let mut other = project.clone();
            other.holds.release_factor_fixed *= factor;
            other.holds.sprue_drag_turned_mpa *= factor;
            outcome(&other) == Ok(base.verdict.outcome)
        });
        if !is_clear {
            continue;
        }
        compared += 1;
        let turn = DVec2::from_angle(0.9);
        let turned = moved(&project, |at| turn.rotate(at - DVec2::new(90.0, 60.0)), 1.0);
        let mirrored = moved(&project, |at| DVec2::new(at.x, 150.0 - at.y), -1.0);
        for (name, other) in [("turned", turned), ("mirrored", mirrored), ("reversed", reversed(&project))] {
            let other = opening::run(&other, &Cancel::default()).expect("it opens as the first does");
            assert_eq!(base.verdict.outcome, other.verdict.outcome, "{seed} {name}");
            for (a, b) in base.holds.iter().zip(&other.holds) {
                // Friction of a plug pressed sideways is that of the step before, so that its share of a
                // peak hangs on the steps.
                let permitted = 0.05 * a.capacity_n.max(a.peak_n) + 0.5;
                assert!((a.peak_n - b.peak_n).abs() <= permitted, "{seed} {name}: {a:?} against {b:?}");
            }
        }
    }
    assert!(compared >= 4, "only {compared} layouts are clear enough to compare");
}
