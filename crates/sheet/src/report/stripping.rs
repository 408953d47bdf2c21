//! How the ejectors push the part off the moving half.

use keepside_engine::Analysis;
use keepside_engine::opening::Stripping;
use keepside_model::Project;

use super::results::bump_table;
use crate::document::{Column, Curve, Flow, Plot, Scale, Table, decimals, mm};
use crate::page::Pen;

pub(super) fn write(flow: &mut Flow<'_>, project: &Project, analysis: &Analysis) {
    flow.heading("Pushing the part off the moving half");
    let Some(of) = &analysis.stripping else {
        flow.words(&match &analysis.stripping_failed {
            Some(reason) => format!("It could not be computed: {reason}."),
            None if analysis.is_good() => "It had not been computed when this was printed.".to_owned(),
            None => "It was not computed: the part is not left whole on the moving half.".to_owned(),
        });
        return;
    };
    flow.words(&format!("{}.", of.words));
    features(flow, project, of);
    ejectors(flow, project, of);
    if of.force.len() > 2 {
        flow.caption(&format!("At most {} N on all ejectors together.", decimals(of.peak_n, 1)), 48.0);
        let plot = Plot {
            x: Scale::even("ejector travel, mm", of.force.iter().map(|point| point.0)),
            y: Scale::even("force, N", of.force.iter().map(|point| point.1)),
            curves: vec![Curve { words: String::new(), points: of.force.clone(), pen: Pen::HOLE }],
            dots: Vec::new(),
        };
        let area = flow.take(48.0);
        let lettering = flow.lettering;
        plot.draw(flow.page(), lettering, &area);
    }
    if !of.bumps.is_empty() {
        flow.subheading("What stays bent after ejection", 20.0);
        flow.words(&format!("Out of flat over all: {} mm.", decimals(of.flatness_mm, 2)));
        bump_table(flow, project, &of.bumps);
    }
}

fn features(flow: &mut Flow<'_>, project: &Project, of: &Stripping) {
    const COLUMNS: [Column; 5] = [
        Column::wide("Pushed off, in this order", 1.0),
        Column::number("Force, N", 22.0),
        Column::number("Stretched, %", 24.0),
        Column::number("Bears, %", 22.0),
        Column::fixed("Lets go", 32.0),
    ];
    let mut table = Table::new(&COLUMNS);
    for at in &of.features {
        let released = at
            .released_at_mm
            .map_or_else(|| "stays on".to_owned(), |at_mm| format!("after {} mm", decimals(at_mm, 2)));
        let broke = if at.broke { "; a piece breaks off" } else { "" };
        table.row([
            project.title(at.item),
            decimals(at.force_n, 1),
            decimals(100.0 * at.strain, 1),
            decimals(100.0 * at.allowed, 1),
            format!("{released}{broke}"),
        ]);
    }
    table.write(flow);
}

fn ejectors(flow: &mut Flow<'_>, project: &Project, of: &Stripping) {
    const COLUMNS: [Column; 6] = [
        Column::wide("Ejector", 1.0),
        Column::number("Force, N", 22.0),
        Column::number("Presses, MPa", 24.0),
        Column::number("Marks from, MPa", 24.0),
        Column::number("Pin Ø", 18.0),
        Column::number("Buckles below Ø", 24.0),
    ];
    let mut table = Table::new(&COLUMNS);
    for load in &of.ejectors {
        table.row([
            project.title(load.item),
            decimals(load.force_n, 1),
            decimals(load.pressure_mpa, 1),
            decimals(load.mark_mpa, 1),
            project.ejectors.get(&load.item).map_or_else(String::new, |ejector| mm(ejector.diameter_mm)),
            decimals(load.buckling_mm, 2),
        ]);
    }
    table.write(flow);
}
