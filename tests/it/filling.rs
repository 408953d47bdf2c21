//! Filling of whole projects: the demo projects, and projects made of random numbers.

use glam::DVec2;
use keepside_engine::filling::{self, Filling, Weld, WeldKind};
use keepside_model::Project;
use keepside_model::bounds::{self, Bounds};
use keepside_tests::projects::{demo, random_project};

use crate::random_layouts;

/// Every number that is told, and what must hold between them.
fn check(project: &Project, filling: &Filling) -> Result<(), String> {
    let is = |holds: bool, what: &str| if holds { Ok(()) } else { Err(what.to_owned()) };
    for moment in &filling.record {
        let numbers =
            [moment.time_s, moment.pressure_mpa, moment.rate_mm3_s, moment.injected_mm3, moment.filled_mm3];
        is(numbers.iter().all(|number| number.is_finite() && *number >= 0.0), &format!("{moment:?}"))?;
        is(moment.pressure_mpa <= project.press.pressure_limit_mpa * 1.000_001, "over the pressure limit")?;
        is(moment.rate_mm3_s <= project.press.rate_limit_mm3_s * 1.000_001, "over the rate limit")?;
        let off = (moment.injected_mm3 - moment.filled_mm3).abs();
        is(off <= 1e-3 * moment.filled_mm3.max(1e-9), &format!("melt is lost or made: {moment:?}"))?;
    }
    for station in filling.runs.iter().flat_map(|fill| &fill.stations) {
        let numbers = [
            station.along_mm,
            station.end_pressure_mpa,
            station.peak_pressure_mpa,
            station.shear_rate_per_s,
            station.skin_mm,
            station.time_s.unwrap_or(0.0),
        ];
        is(numbers.iter().all(|number| number.is_finite() && *number >= 0.0), &format!("{station:?}"))?;
        is(station.temperature_c.is_finite() && station.at.is_finite(), &format!("{station:?}"))?;
    }
    for fill in &filling.runs {
        let is_in_order = fill.stations.windows(2).all(|pair| pair[0].along_mm < pair[1].along_mm);
        is(is_in_order, &format!("stations of run {} are out of order", fill.run))?;
    }
    for weld in &filling.welds {
        let numbers = [weld.along_mm, weld.time_s, weld.angle_deg, weld.thickness_mm];
        is(numbers.iter().all(|number| number.is_finite()), &format!("{weld:?}"))?;
        is(weld.temperatures_c.iter().all(|number| number.is_finite()), &format!("{weld:?}"))?;
    }
    is(filling.trapped.iter().all(|end| end.air_mm3.is_finite() && end.air_mm3 >= 0.0), "air")?;
    is(filling.short.iter().all(|short| short.volume_mm3.is_finite()), "short")?;
    is(filling.is_full == filling.short.is_empty(), "full or short")?;
    for share in [0.0, 0.3, 0.7, 1.0] {
        let time_s = share * filling.fill_time_s;
        is(filling.fronts_at(time_s).iter().all(|front| front.at.is_finite()), "fronts")?;
        is(filling.filled_at(time_s).iter().all(|filled| filled.from_mm < filled.to_mm), "filled stretches")?;
    }
    Ok(())
}

#[test]
fn the_demo_projects_fill() {
    for name in ["row-marker", "drip-peg", "two-sprues-no-keys"] {
        let project = demo(name);
        let filling = filling::fill(&project).expect(name);
        check(&project, &filling).expect(name);
        assert!(filling.is_full, "{name}: {:?}", filling.short);
    }
}

#[test]
fn random_layouts_fill_and_every_number_is_finite() {
    let mut full = 0;
    for seed in 0..600 {
        let project = random_layouts::layout(seed);
        let Ok(filling) = filling::fill(&project) else { continue };
        check(&project, &filling).unwrap_or_else(|why| panic!("layout {seed}: {why}"));
        full += u32::from(filling.is_full);
    }
    assert!(full > 300, "{full} of 600 layouts are full");
}

#[test]
fn random_projects_never_panic_and_every_number_is_finite() {
    let mut filled = 0;
    for seed in 0..4000_u64 {
        let mut project = random_project(&[seed, 11, seed * 13], &[String::new()]);
        // Random numbers hardly ever put a gate or a feature on a channel.
        let runs = project.part.runs.values();
        let middles: Vec<_> =
            runs.flat_map(|run| run.points.windows(2)).map(|pair| pair[0].at.midpoint(pair[1].at)).collect();
        if seed % 2 == 0 {
            let places = || middles.iter().cycle();
            project.sprues.values_mut().zip(places()).for_each(|(sprue, at)| sprue.at = *at);
            project.features.values_mut().zip(places()).for_each(|(feature, at)| feature.at = *at);
        }
        let Ok(filling) = filling::fill(&project) else { continue };
        check(&project, &filling).unwrap_or_else(|why| panic!("project {seed}: {why}"));
        filled += 1;
    }
    // Most have no run of a length.
    assert!(filled > 20, "{filled} of 4000 projects have a gate on a channel");
}

#[test]
fn melts_and_presses_at_the_ends_of_their_ranges_do_no_harm() {
    let at_ends = |range: Bounds, usual: f64| [range.min, usual, range.max];
    let mut seed = 1000;
    for index in [bounds::POWER_LAW_INDEX.min, 0.12, 0.36, bounds::POWER_LAW_INDEX.max] {
        for consistency in at_ends(bounds::CONSISTENCY, 0.01) {
            for rate_mm3_s in at_ends(bounds::FLOW_RATE, 4000.0) {
                for limit_mpa in at_ends(bounds::PRESSURE, 60.0) {
                    for melt_c in [150.0, 230.0, bounds::TEMPERATURE.max] {
                        seed += 1;
                        let mut project = random_layouts::layout(seed % 97);
                        let melt = &mut project.material.melt;
                        (melt.power_law_index, melt.consistency_mpa_s_n) = (index, consistency);
                        melt.temperature_factor_per_c =
                            [0.0, 0.01, bounds::TEMPERATURE_FACTOR.max][seed as usize % 3];
                        project.moulding.own_melt_temperature_c = Some(melt_c);
                        project.moulding.own_mould_temperature_c =
                            Some([-50.0, 40.0, 230.0][seed as usize / 3 % 3]);
                        project.moulding.injection_rate_mm3_s = rate_mm3_s;
                        project.press.rate_limit_mm3_s = rate_mm3_s;
                        project.press.pressure_limit_mpa = limit_mpa;
                        let Ok(filling) = filling::fill(&project) else { continue };
                        check(&project, &filling).unwrap_or_else(|why| {
                            panic!("layout {}, n {index}, K {consistency}, {rate_mm3_s} mm³/s, {melt_c} °C: {why}", seed % 97)
                        });
                    }
                }
            }
        }
    }
}

#[test]
fn random_layouts_fill_alike_turned_mirrored_and_reversed() {
    let turn = |at: DVec2| DVec2::new(120.0 - at.y, at.x);
    let mirror = |at: DVec2| DVec2::new(at.x, 160.0 - at.y);
    for seed in 700..780 {
        let project = random_layouts::layout(seed);
        let Ok(filling) = filling::fill(&project) else { continue };
        let alike = |other: &Project, place: &dyn Fn(DVec2) -> DVec2, what: &str| {
            let other = filling::fill(other).expect("as before");
            // Runs that are cut otherwise put the steps elsewhere, and pressure is told where steps begin.
            let is_near = |a: f64, b: f64| (a - b).abs() <= 0.015 * a.abs().max(b.abs()) + 1e-9;
            assert_eq!(filling.is_full, other.is_full, "layout {seed} {what}");
            assert!(is_near(filling.fill_time_s, other.fill_time_s), "layout {seed} {what}: time");
            assert!(
                is_near(filling.peak_pressure_mpa, other.peak_pressure_mpa),
                "layout {seed} {what}: {} and {} MPa",
                filling.peak_pressure_mpa,
                other.peak_pressure_mpa
            );
            for weld in filling.welds.iter().filter(|weld| !matches!(weld.kind, WeldKind::Behind(_))) {
                let away_mm = |other: &&Weld| place(weld.at).distance(other.at);
                let nearest = other.welds.iter().min_by(|a, b| away_mm(a).total_cmp(&away_mm(b)));
                let away_mm = nearest.as_ref().map_or(f64::INFINITY, away_mm);
                assert!(away_mm < 0.5, "layout {seed} {what}: a weld is {away_mm} mm off");
            }
        };
        alike(&random_layouts::moved(&project, turn, 1.0), &turn, "turned");
        alike(&random_layouts::moved(&project, mirror, -1.0), &mirror, "mirrored");
        alike(&random_layouts::reversed(&project), &|at| at, "reversed");
    }
}
