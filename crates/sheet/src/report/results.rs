//! What the opening run tells, in tables: releases, holds, stretches, bumps, work.

use keepside_engine::Opening;
use keepside_engine::hold::measured;
use keepside_engine::opening::ReleaseHow;
use keepside_model::Project;

use crate::document::{Column, Flow, Table, decimals, signed};
use crate::words;

pub(super) fn write(flow: &mut Flow<'_>, project: &Project, opening: &Opening) {
    releases(flow, project, opening);
    holds(flow, project, opening);
    stretches(flow, project, opening);
    bumps(flow, project, opening);
    energy(flow, opening);
}

fn releases(flow: &mut Flow<'_>, project: &Project, opening: &Opening) {
    flow.heading("Order of release");
    if opening.releases.is_empty() {
        flow.words("Nothing is released.");
        return;
    }
    const COLUMNS: [Column; 4] = [
        Column::number("Opening", 20.0),
        Column::wide("Hold", 3.0),
        Column::fixed("How", 18.0),
        Column::wide("What stays", 3.0),
    ];
    let mut table = Table::new(&COLUMNS);
    for release in &opening.releases {
        let Some(hold) = opening.holds.get(release.hold) else { continue };
        let how = match release.how {
            ReleaseHow::LetGo => "lets go",
            ReleaseHow::Broke => "breaks",
        };
        let clear = hold.clear_gap_mm.map(|mm| format!("{} mm clear under the part", decimals(mm, 2)));
        let left = words::left_behind(hold).map(str::to_owned);
        let stays = left.into_iter().chain(clear).collect::<Vec<_>>().join("; ");
        table.row([decimals(release.opening_mm, 2), hold.name.words(project), how.to_owned(), stays]);
    }
    table.write(flow);
}

fn holds(flow: &mut Flow<'_>, project: &Project, opening: &Opening) {
    flow.heading("Holds");
    const COLUMNS: [Column; 8] = [
        Column::wide("Hold", 2.0),
        Column::number("At most, N", 17.0),
        Column::number("Pulled, N", 16.0),
        Column::number("Lets go after", 16.0),
        Column::number("Travelled", 17.5),
        Column::number("Work, mJ", 16.0),
        Column::fixed("Limited by", 19.0),
        Column::fixed("In the end", 30.0),
    ];
    let mut table = Table::new(&COLUMNS);
    for hold in &opening.holds {
        let measured = if measured(project, hold.name.what).is_some() { ", measured" } else { "" };
        table.row([
            format!("{}{measured}", hold.name.words(project)),
            decimals(hold.capacity_n, 1),
            decimals(hold.peak_n, 1),
            decimals(hold.let_go_travel_mm, 2),
            decimals(hold.travel_mm, 2),
            decimals(hold.work_mj, 1),
            hold.governed_by.to_owned(),
            words::state(hold),
        ]);
    }
    table.write(flow);
}

fn stretches(flow: &mut Flow<'_>, project: &Project, opening: &Opening) {
    flow.heading("Kept at full stroke");
    const COLUMNS: [Column; 4] = [
        Column::wide("Run", 2.0),
        Column::number("From", 22.0),
        Column::number("To", 22.0),
        Column::wide("Who keeps it", 2.0),
    ];
    let mut table = Table::new(&COLUMNS);
    for stretch in &opening.stretches {
        table.row([
            project.title(stretch.run),
            decimals(stretch.from_mm, 1),
            decimals(stretch.to_mm, 1),
            words::keeper(stretch.keeper).to_owned(),
        ]);
    }
    table.write(flow);
}

fn bumps(flow: &mut Flow<'_>, project: &Project, opening: &Opening) {
    flow.heading("What stays bent");
    flow.words(&format!("Out of flat over all: {} mm.", decimals(opening.flatness_mm, 2)));
    bump_table(flow, project, &opening.bumps);
}

/// Bumps and kinks.
pub(super) fn bump_table(flow: &mut Flow<'_>, project: &Project, bumps: &[keepside_engine::opening::BumpAt]) {
    const COLUMNS: [Column; 4] = [
        Column::wide("At", 1.0),
        Column::number("Along the run", 26.0),
        Column::number("Bump", 24.0),
        Column::number("Kink, °", 24.0),
    ];
    let mut table = Table::new(&COLUMNS);
    for bump in bumps {
        table.row([
            format!("{} on {}", project.title(bump.item), project.tag(bump.run)),
            decimals(bump.along_mm, 1),
            signed(bump.height_mm, 2),
            signed(bump.kink_deg, 1),
        ]);
    }
    table.write(flow);
}

fn energy(flow: &mut Flow<'_>, opening: &Opening) {
    flow.heading("Where the work of opening went");
    const COLUMNS: [Column; 3] =
        [Column::wide("", 1.0), Column::number("Work, mJ", 30.0), Column::number("Share, %", 30.0)];
    let energy = &opening.energy;
    let mut table = Table::new(&COLUMNS);
    let mut row = |words: &str, work_mj: f64| {
        let share = if energy.work_mj > 0.0 { 100.0 * work_mj / energy.work_mj } else { f64::NAN };
        table.row([words.to_owned(), decimals(work_mj, 1), decimals(share, 1)]);
    };
    row("Done by the moving half", energy.work_mj);
    row("Taken by the holds", energy.holds_mj);
    row("Lost in lasting bends and tears", energy.plastic_mj);
    row("Still stored in the part and its locks", energy.elastic_mj);
    row("Set free in sudden jumps", energy.snap_mj);
    row("Lost in the viscosity that steadies the computation", energy.viscous_mj);
    table.write(flow);
}
