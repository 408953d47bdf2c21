//! Stripping, as JSON and as text for people.

use keepside_engine::opening::{EjectorLoad, StripAt, StripOutcome, Stripping};
use keepside_model::Project;

use crate::lines::{cell, wrapped};
use crate::text::{NAME, bump_lines};
use crate::{report, schema};

/// Stripping in the form of the JSON.
pub(crate) fn json(project: &Project, stripping: &Stripping) -> schema::Stripping {
    let feature = |at: &StripAt| schema::StripAt {
        item: at.item.0,
        tag: project.tag(at.item),
        force_n: at.force_n,
        strain: at.strain,
        allowed: at.allowed,
        released_at_mm: at.released_at_mm,
        broke: at.broke,
    };
    let ejector = |load: &EjectorLoad| schema::EjectorLoad {
        item: load.item.0,
        tag: project.tag(load.item),
        force_n: load.force_n,
        pressure_mpa: load.pressure_mpa,
        mark_mpa: load.mark_mpa,
        buckling_mm: load.buckling_mm,
    };
    let residual = |stretch: &keepside_engine::opening::Residual| schema::Residual {
        run: stretch.run.0,
        tag: project.tag(stretch.run),
        points: stretch
            .points
            .iter()
            .map(|&(along_mm, out_of_flat_mm)| schema::ResidualPoint { along_mm, out_of_flat_mm })
            .collect(),
    };
    let force = |&(travel_mm, force_n): &(f64, f64)| schema::ForcePoint { travel_mm, force_n };
    schema::Stripping {
        outcome: match stripping.outcome {
            StripOutcome::ComesOff => "comes-off",
            StripOutcome::Harmed => "harmed",
            StripOutcome::Torn => "torn",
            StripOutcome::StaysOn => "stays-on",
            StripOutcome::NoEjectors => "no-ejectors",
        },
        words: stripping.words.clone(),
        features: stripping.features.iter().map(feature).collect(),
        ejectors: stripping.ejectors.iter().map(ejector).collect(),
        peak_n: stripping.peak_n,
        force: stripping.force.iter().map(force).collect(),
        bumps: report::of_bumps(project, &stripping.bumps),
        flatness_mm: stripping.flatness_mm,
        residual: stripping.residual.iter().map(residual).collect(),
    }
}

/// Stripping as a section of the text.
pub(crate) fn text(project: &Project, stripping: &Stripping) -> String {
    let mut text = "\n".to_owned();
    text += &wrapped("Stripping ", &stripping.words);
    if stripping.outcome == StripOutcome::NoEjectors {
        return text;
    }
    text += &wrapped("          ", &format!("at most {:.1} N on all ejectors together", stripping.peak_n));
    if !stripping.features.is_empty() {
        text += &format!(
            "\n{:<NAME$} {:>9} {:>9} {:>9} {:>9}\n{:<NAME$} {:>9} {:>9} {:>9} {:>9}\n",
            "Pushed off, in this order", "force", "strain", "bears", "lets go", "", "N", "%", "%", "at mm"
        );
    }
    for at in &stripping.features {
        let kind = project.features.get(&at.item).map_or("feature", |feature| feature.kind.word());
        let name = cell(&format!("{kind} {}", project.title(at.item)), NAME);
        let (strain, allowed) = (100.0 * at.strain, 100.0 * at.allowed);
        let released = at.released_at_mm.map_or_else(|| "–".to_owned(), |at_mm| format!("{at_mm:.2}"));
        let broke = if at.broke { "  a piece breaks off" } else { "" };
        let numbers = format!("{:>9.1} {strain:>9.1} {allowed:>9.1} {released:>9}", at.force_n);
        text += &format!("{name} {numbers}{broke}\n");
    }
    if !stripping.ejectors.is_empty() {
        text += &format!(
            "\n{:<NAME$} {:>9} {:>9} {:>9} {:>9} {:>9}\n{:<NAME$} {:>9} {:>9} {:>9} {:>9} {:>9}\n",
            "Ejectors",
            "force",
            "pressure",
            "marks",
            "pin",
            "buckles",
            "",
            "N",
            "MPa",
            "from MPa",
            "mm",
            "below mm"
        );
    }
    for load in &stripping.ejectors {
        let EjectorLoad { item, force_n, pressure_mpa, mark_mpa, buckling_mm } = load;
        let name = cell(&format!("ejector {}", project.title(*item)), NAME);
        let pin_mm = project.ejectors.get(item).map_or(0.0, |ejector| ejector.diameter_mm);
        text += &format!(
            "{name} {force_n:>9.1} {pressure_mpa:>9.1} {mark_mpa:>9.1} {pin_mm:>9.2} {buckling_mm:>9.2}\n"
        );
    }
    text + &bump_lines(project, "What stays bent after ejection", &stripping.bumps, stripping.flatness_mm)
}
