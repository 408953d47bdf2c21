//! The report against the analysis that it tells of.

use keepside_engine::opening::HoldState;
use keepside_engine::{Cancel, analyse};
use keepside_model::{FeatureKind, Half, ThreadSize};
use keepside_sheet::Output;
use keepside_tests::papers::{COMPUTED, assert_written, pages, written};
use keepside_tests::{add_feature, add_sprue, strip};

#[test]
fn the_report_tells_the_numbers_of_the_analysis() {
    for (project, analysis) in COMPUTED.iter() {
        let opening = analysis.opening.as_ref().unwrap().as_ref().unwrap();
        let report = written(&pages(Output::Report, project, Some(analysis)));
        let told = |wanted: &str| assert_written(&report, wanted);
        told(&format!("{}.", opening.verdict.words));
        told(&format!("Decided by {}.", analysis.deciding().unwrap().words(project)));
        let factor = analysis.margin.as_ref().unwrap().factor.unwrap();
        told(&format!("Margin {factor:.2}: the verdict flips if the fixed half holds"));
        for release in &opening.releases {
            let words = opening.holds[release.hold].name.words(project);
            told(&format!("{:.2} {words}", release.opening_mm));
        }
        for hold in &opening.holds {
            let end = match hold.state {
                HoldState::Holding => "holds".to_owned(),
                HoldState::PartlyHolding { share } => format!("holds over {:.0} %", 100.0 * share),
                HoldState::LetGo { opening_mm } => format!("lets go at {opening_mm:.2} mm"),
                HoldState::Broke { opening_mm } => format!("breaks at {opening_mm:.2} mm"),
            };
            told(&format!(
                "{} {:.1} {:.1} {:.2} {:.2} {:.1} {} {end}",
                hold.name.words(project),
                hold.capacity_n,
                hold.peak_n,
                hold.let_go_travel_mm,
                hold.travel_mm,
                hold.work_mj,
                hold.governed_by
            ));
        }
        for stretch in &opening.stretches {
            let title = project.title(stretch.run);
            told(&format!("{title} {:.1} {:.1} kept by the", stretch.from_mm, stretch.to_mm));
        }
        told(&format!("Out of flat over all: {:.2} mm.", opening.flatness_mm));
        let energy = opening.energy;
        for work_mj in [energy.work_mj, energy.holds_mj, energy.plastic_mj, energy.elastic_mj, energy.snap_mj]
        {
            told(&format!("{work_mj:.1} {:.1}", 100.0 * work_mj / energy.work_mj));
        }
        if let Some(stripping) = &analysis.stripping {
            told(&format!("{}.", stripping.words));
            for at in &stripping.features {
                let strain = format!("{:.1} {:.1}", 100.0 * at.strain, 100.0 * at.allowed);
                told(&format!("{} {:.1} {strain}", project.title(at.item), at.force_n));
            }
            for load in &stripping.ejectors {
                told(&format!("{:.1} {:.1} {:.1}", load.force_n, load.pressure_mpa, load.mark_mpa));
            }
        }
        for finding in &analysis.findings {
            told(&finding.message);
            told(&finding.cure);
        }
        told("Made with Keepside");
    }
}

#[test]
fn findings_come_worst_first_and_with_their_cures() {
    let mut project = strip();
    add_sprue(&mut project, 110.0);
    // A head wider than the channel, and nothing in the moving half: more than one fault.
    add_feature(&mut project, 60.0, Half::Fixed, FeatureKind::cap_head(ThreadSize::M8), 2.0);
    let analysis = analyse(&project, &Cancel::default(), &mut |_| {});
    let report = written(&pages(Output::Report, &project, Some(&analysis)));
    let places: Vec<usize> = analysis
        .findings
        .iter()
        .map(|finding| {
            let squeezed: String = finding.message.chars().filter(|c| !c.is_whitespace()).collect();
            report.rfind(&squeezed).unwrap_or_else(|| panic!("not told: {}", finding.message))
        })
        .collect();
    assert!(places.len() > 2 && places.is_sorted());
    assert!(report.contains("FAULT"));
}
