//! The march against a general-purpose integrator.

use std::collections::BTreeMap;

use keepside_model::{Id, Project, Run};

use super::*;
use crate::filling::plan::{Bore, Chain, Stretch};
use crate::network::Path;

/// Ducts and gates.
type Layout = (Vec<(usize, usize, f64)>, Vec<(usize, f64)>);

/// Ducts of 6 × 3 mm between nodes, from-to and length in mm, and gates with bores that resist like so many mm
/// of duct.
fn plan(ducts: &[(usize, usize, f64)], gates: &[(usize, f64)], shot: &Shot) -> Plan {
    let nodes = 1 + ducts.iter().map(|duct| duct.0.max(duct.1)).max().expect("a duct");
    let mut plan = Plan {
        paths: Vec::new(),
        stretches: Vec::new(),
        obstacles: Vec::new(),
        standing: Vec::new(),
        chains: Vec::new(),
        degree: vec![0; nodes],
        bores: Vec::new(),
    };
    for (path, &(from, to, length_mm)) in ducts.iter().enumerate() {
        let run = Run::straight("", DVec2::ZERO, DVec2::new(length_mm, 0.0), 6.0, 3.0);
        plan.paths.push(Path::new(Id(path as u32), &run).expect("it has a length"));
        let start = plan.stretches.len();
        let count = (length_mm / 3.0).round();
        plan.stretches.extend((0..count as usize).map(|i| Stretch {
            from_mm: i as f64 * length_mm / count,
            to_mm: (i + 1) as f64 * length_mm / count,
            sides_mm: [6.0, 3.0],
            ln_rough: 0.0,
            perimeter_mm: 18.0,
            volume_mm3: 18.0 * length_mm / count,
            obstacles: 0..0,
            free_share: 1.0,
        }));
        let volume_mm3 = 18.0 * length_mm;
        plan.chains.push(Chain {
            path,
            nodes: [from, to],
            stretches: start..plan.stretches.len(),
            volume_mm3,
        });
        plan.degree[from] += 1;
        plan.degree[to] += 1;
    }
    for (gate, &(node, as_mm)) in gates.iter().enumerate() {
        // A bore of 4 mm as long as it takes, without a volume to speak of.
        let of_mm = (shot.ducts.ln_rectangle(6.0, 3.0) - shot.ducts.ln_cone(4.0, 4.0, 1.0)).exp();
        let (gate, length_mm) = (Id(100 + gate as u32), as_mm * of_mm);
        plan.bores.push(Bore { gate, node, narrow_mm: 4.0, wide_mm: 4.0, length_mm, volume_mm3: 1e-4 });
    }
    plan
}

#[test]
fn fronts_arrive_and_meet_as_a_general_purpose_integrator_finds() {
    // SciPy's solve_ivp; see the head of the file. Its layouts:
    let layouts: BTreeMap<&str, Layout> = BTreeMap::from([
        ("tee", (vec![(0, 1, 70.0), (1, 2, 50.0), (1, 3, 35.0)], vec![(0, 60.0)])),
        ("strip", (vec![(0, 1, 20.0), (1, 2, 90.0), (2, 3, 55.0)], vec![(1, 60.0), (2, 60.0)])),
        (
            "ring",
            (vec![(0, 1, 60.0), (1, 2, 80.0), (2, 3, 70.0), (3, 0, 110.0), (2, 4, 40.0)], vec![(0, 60.0)]),
        ),
        (
            "ladder",
            (
                vec![
                    (0, 1, 50.0),
                    (1, 2, 50.0),
                    (3, 4, 50.0),
                    (4, 5, 50.0),
                    (0, 3, 30.0),
                    (1, 4, 30.0),
                    (2, 5, 30.0),
                ],
                vec![(0, 60.0), (5, 60.0)],
            ),
        ),
    ]);
    let text = include_str!("../../../../../tests/oracle/filling/fronts.csv");
    let rows: Vec<Vec<&str>> = text
        .lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| line.split(',').collect())
        .collect();
    let mut checked = 0;
    for (name, (ducts, gates)) in layouts {
        for index in ["1.0", "0.5", "0.36"] {
            let mut project = Project::blank();
            project.moulding.own_melt_temperature_c = Some(230.0);
            project.moulding.own_mould_temperature_c = Some(230.0);
            project.moulding.injection_rate_mm3_s = 8000.0;
            project.material.melt.temperature_factor_per_c = 0.0;
            project.material.melt.power_law_index = index.parse().expect("a number");
            project.material.melt.consistency_mpa_s_n = 1e-4;
            project.press.pressure_limit_mpa = 500.0;
            let shot = Shot::of(&project).expect("it flows");
            let plan = plan(&ducts, &gates, &shot);
            let mut march = March::new(&plan, &shot);
            march.fill();
            for row in rows.iter().filter(|row| row[0] == name && row[1] == index) {
                let what = row.join(" ");
                let (number, value): (usize, f64) =
                    (row[3].parse().expect("a number"), row[4].parse().expect("a number"));
                checked += 1;
                if row[2] == "node" {
                    let time_s = march.nodes[number].expect("it is reached").time_s;
                    assert!((time_s - value).abs() <= 5e-4, "{what}: {time_s} s");
                } else {
                    let ending = march.endings.iter().find(|end| end.chain == number && end.met_c.is_some());
                    let place_mm = ending.expect("fronts meet there").place_mm3 / 18.0;
                    assert!((place_mm - value).abs() <= 0.25, "{what}: {place_mm} mm");
                }
            }
        }
    }
    assert_eq!(checked, rows.len());
}
