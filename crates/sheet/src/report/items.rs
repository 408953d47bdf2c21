//! Every item of the drawing with its numbers: what stands where, how big, and how it is mounted.

use keepside_engine::mount;
use keepside_model::{EjectorFace, Finish, HoleUse, Project};

use super::inputs::measured_words;
use crate::document::{Column, Flow, Table, mm};

pub(super) fn write(flow: &mut Flow<'_>, project: &Project) {
    flow.heading_over("Items as drawn", 38.0);
    flow.remark(
        "x and y in mm from the lower left corner of the moving half seen on its parting face. Where a hold is \
         not said to be measured, its pull-off curve is computed.",
    );
    runs(flow, project);
    sprues(flow, project);
    features(flow, project);
    ejectors(flow, project);
    rest(flow, project);
}

fn titled(flow: &mut Flow<'_>, words: &str, table: &Table<'_>) {
    if !table.is_empty() {
        flow.subheading(words, 14.0);
        table.write(flow);
    }
}

fn runs(flow: &mut Flow<'_>, project: &Project) {
    const COLUMNS: [Column; 7] = [
        Column::wide("Run", 1.0),
        Column::number("Point", 14.0),
        Column::number("x", 22.0),
        Column::number("y", 22.0),
        Column::number("Width", 20.0),
        Column::number("Depth", 20.0),
        Column::number("Bulge", 20.0),
    ];
    let mut table = Table::new(&COLUMNS);
    for (id, run) in &project.part.runs {
        if run.points.is_empty() {
            table.row([project.title(*id), "none".to_owned()]);
        }
        for (index, point) in run.points.iter().enumerate() {
            let name = if index == 0 { project.title(*id) } else { String::new() };
            let numbers = [point.at.x, point.at.y, point.width_mm, point.depth_mm, point.bulge];
            table.row([name, (index + 1).to_string()].into_iter().chain(numbers.map(mm)));
        }
    }
    titled(flow, "Runs", &table);
}

fn sprues(flow: &mut Flow<'_>, project: &Project) {
    const COLUMNS: [Column; 8] = [
        Column::wide("Gate", 1.0),
        Column::number("x", 18.0),
        Column::number("y", 18.0),
        Column::fixed("Half", 16.0),
        Column::number("Ø", 14.0),
        Column::number("Length", 16.0),
        Column::number("Draft, °", 16.0),
        Column::wide("Bore, hold", 0.8),
    ];
    let mut table = Table::new(&COLUMNS);
    for (id, sprue) in &project.sprues {
        let finish = match sprue.finish {
            Finish::AsTurned => "as turned",
            Finish::Polished => "polished",
        };
        let hold = sprue.measured.as_ref().map(|curve| format!(", {}", measured_words(curve)));
        table.row([
            project.title(*id),
            mm(sprue.at.x),
            mm(sprue.at.y),
            sprue.half.word().to_owned(),
            mm(sprue.diameter_mm),
            mm(sprue.length_mm),
            mm(sprue.draft_deg),
            format!("{finish}{}", hold.unwrap_or_default()),
        ]);
    }
    titled(flow, "Gates", &table);
}

fn features(flow: &mut Flow<'_>, project: &Project) {
    const COLUMNS: [Column; 6] = [
        Column::wide("Keying feature", 1.2),
        Column::number("x", 17.0),
        Column::number("y", 17.0),
        Column::fixed("Half", 16.0),
        Column::number("Stands", 16.0),
        Column::wide("What, how it is mounted and locked", 2.6),
    ];
    let mut table = Table::new(&COLUMNS);
    for (id, feature) in &project.features {
        let mut words = vec![feature.kind.word().to_owned()];
        if let Some(mount) = mount::of(project, *id) {
            if let Some(screw) = &mount.screw {
                words = vec![screw.words()];
                words.push(
                    if screw.is_given { "length set by the user" } else { "length from the table" }
                        .to_owned(),
                );
            }
            words.push(mount.made());
            words.push(format!("lock: {}", mount.lock_words()));
        }
        words.extend(feature.measured.as_ref().map(|curve| format!("hold {}", measured_words(curve))));
        table.row([
            project.title(*id),
            mm(feature.at.x),
            mm(feature.at.y),
            feature.half.word().to_owned(),
            mm(feature.protrusion_mm),
            words.join("; "),
        ]);
    }
    titled(flow, "Keying features", &table);
}

fn ejectors(flow: &mut Flow<'_>, project: &Project) {
    const COLUMNS: [Column; 7] = [
        Column::wide("Ejector", 1.0),
        Column::number("x", 18.0),
        Column::number("y", 18.0),
        Column::number("Ø", 14.0),
        Column::number("Length", 16.0),
        Column::number("Stroke", 16.0),
        Column::wide("Face, hold", 1.2),
    ];
    let mut table = Table::new(&COLUMNS);
    for (id, ejector) in &project.ejectors {
        let mut face = ejector.face.word().to_owned();
        if ejector.face != EjectorFace::Plain {
            let of = &ejector.grooves;
            let (pitch, mouth, depth, lean) =
                (mm(of.pitch_mm), mm(of.mouth_mm), mm(of.depth_mm), mm(of.lean_deg));
            face += &format!(", {pitch} apart, mouth {mouth}, {depth} deep, leaning {lean}°");
        }
        face.extend(ejector.measured.as_ref().map(|curve| format!(", {}", measured_words(curve))));
        table.row([
            project.title(*id),
            mm(ejector.at.x),
            mm(ejector.at.y),
            mm(ejector.diameter_mm),
            mm(ejector.length_mm),
            mm(ejector.stroke_mm),
            face,
        ]);
    }
    titled(flow, "Ejector pins", &table);
}

/// Vents, bolts and guide pins.
fn rest(flow: &mut Flow<'_>, project: &Project) {
    const COLUMNS: [Column; 4] = [
        Column::wide("Item", 1.0),
        Column::number("x", 20.0),
        Column::number("y", 20.0),
        Column::wide("What", 1.4),
    ];
    let mut table = Table::new(&COLUMNS);
    for (id, vent) in &project.vents {
        let mut what = format!(
            "vent in the {} half, {} wide, {} deep, {} long",
            vent.half.word(),
            mm(vent.width_mm),
            mm(vent.depth_mm),
            mm(vent.length_mm)
        );
        if let Some(relief) = vent.relief {
            what += &format!(", {} deep from {} on", mm(relief.depth_mm), mm(relief.land_mm));
        }
        table.row([project.title(*id), mm(vent.at.x), mm(vent.at.y), what]);
    }
    for (id, hole) in &project.holes {
        let what = match hole.purpose {
            HoleUse::Bolt => "bolt",
            HoleUse::GuidePin => "guide pin",
        };
        let what = format!("{what} Ø{}", mm(hole.diameter_mm));
        table.row([project.title(*id), mm(hole.at.x), mm(hole.at.y), what]);
    }
    titled(flow, "Vents, bolts, guide pins", &table);
}
