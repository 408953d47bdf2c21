//! What is neither a screw nor a tool: pins, turned parts, bolts, plates, plastic and compounds.

use keepside_engine::hardware;
use keepside_model::{EjectorFace, Half, HoleUse, Lock, Project, ThreadSize};

use super::Line;
use super::screws::mounts;
use super::tally::Tally;
use crate::document::mm;

/// Ejector pins by diameter, length and face.
pub(super) fn ejectors(project: &Project) -> Vec<Line> {
    let mut tally = Tally::default();
    for (id, ejector) in &project.ejectors {
        let (face, grooves) = (ejector.face, &ejector.grooves);
        let number = match face {
            EjectorFace::Plain => 0.0,
            EjectorFace::Grooved => 1.0,
            EjectorFace::Crossed => 2.0,
        };
        // Grooves that differ make another face.
        let cut = [grooves.pitch_mm, grooves.mouth_mm, grooves.depth_mm, grooves.lean_deg];
        let cut = cut.map(|number| if face.keys() { number } else { 0.0 });
        let key = [[ejector.diameter_mm, ejector.length_mm, number].as_slice(), &cut].concat();
        let line = tally.line(&key, || Line {
            what: format!("ejector pin, face: {}", face.word()),
            size: format!("Ø{} × {} free from head to face", mm(ejector.diameter_mm), mm(ejector.length_mm)),
            ..Line::default()
        });
        line.one_more(project.tag(*id));
        if face.keys() {
            line.remark(format!(
                "grooves {} apart, mouth {}, {} deep, sides leaning {}°",
                mm(grooves.pitch_mm),
                mm(grooves.mouth_mm),
                mm(grooves.depth_mm),
                mm(grooves.lean_deg)
            ));
        }
    }
    tally.lines()
}

/// Turned heads and posts, alike if they are made alike.
pub(super) fn turned(project: &Project) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    for (tag, mount) in mounts(project).filter(|(_, mount)| mount.screw.is_none()) {
        let size = mount.made();
        let what = mount.kind.word().to_owned();
        let found = lines.iter().position(|line| line.size == size && line.what == what);
        let index = found.unwrap_or_else(|| {
            lines.push(Line { what, size, ..Line::default() });
            lines.len() - 1
        });
        lines[index].one_more(tag);
    }
    lines
}

/// Bolts and guide pins as drawn: the project knows their holes.
pub(super) fn bolts(project: &Project) -> Vec<Line> {
    let mut tally = Tally::default();
    let through_mm = project.plates.moving_thickness_mm + project.plates.fixed_thickness_mm;
    for (id, hole) in &project.holes {
        let (what, number) = match hole.purpose {
            HoleUse::Bolt => ("bolt", 0.0),
            HoleUse::GuidePin => ("guide pin", 1.0),
        };
        let line = tally.line(&[number, hole.diameter_mm], || {
            let mut line = Line {
                what: what.to_owned(),
                size: format!("for holes Ø{}", mm(hole.diameter_mm)),
                ..Line::default()
            };
            if hole.purpose == HoleUse::Bolt
                && let Some((thread, fit)) = clears(hole.diameter_mm)
            {
                line.remark(format!("the {fit} clearance hole of {} after ISO 273", thread.designation()));
            }
            line.remark(format!("both plates together are {} mm thick", mm(through_mm)));
            line
        });
        line.one_more(project.tag(*id));
    }
    tally.lines()
}

/// The thread for which a hole is a clearance hole, and of which series; the largest, if it is for several.
fn clears(hole_mm: f64) -> Option<(ThreadSize, &'static str)> {
    let is = |mm: f64| (mm - hole_mm).abs() < 1e-6;
    ThreadSize::ALL.into_iter().rev().find_map(|size| {
        let thread = hardware::thread(size);
        let series = [
            (thread.clearance_fine_mm, "fine"),
            (thread.clearance_medium_mm, "medium"),
            (thread.clearance_coarse_mm, "coarse"),
        ];
        series.into_iter().find(|(mm, _)| is(*mm)).map(|(_, fit)| (size, fit))
    })
}

/// The two plates; one line if they are alike.
pub(super) fn plates(project: &Project) -> Vec<Line> {
    let plates = &project.plates;
    let mut tally = Tally::default();
    for (half, order) in [(Half::Moving, 0.0), (Half::Fixed, 1.0)] {
        let thickness_mm = plates.thickness_mm(half);
        let order = if plates.moving_thickness_mm == thickness_mm { 0.0 } else { order };
        let line = tally.line(&[order], || Line {
            what: "plate".to_owned(),
            size: format!("{} × {} × {}", mm(plates.width_mm), mm(plates.height_mm), mm(thickness_mm)),
            ..Line::default()
        });
        line.one_more(format!("{} half", half.word()));
    }
    tally.lines()
}

/// Plastic, compounds, release agent.
pub(super) fn compounds(project: &Project) -> Vec<Line> {
    let name = project.material.name.trim();
    let name = if name.is_empty() { "not named in the project" } else { name };
    let mut lines =
        vec![Line { what: "moulding material".to_owned(), size: name.to_owned(), ..Line::default() }];
    let mut compound = |what: &str, is_screw: bool| {
        let mut line = Line {
            what: what.to_owned(),
            remarks: vec![("one that stands the mould's heat".to_owned(), Vec::new())],
            ..Line::default()
        };
        let by_compound = mounts(project).filter(|(_, mount)| mount.locking.way == Lock::Compound);
        by_compound
            .filter(|(_, mount)| mount.screw.is_some() == is_screw)
            .for_each(|(tag, _)| line.needed_for(tag));
        if !line.tags.is_empty() {
            lines.push(line);
        }
    };
    compound("thread-locking compound", true);
    compound("retaining compound", false);
    let agent = [
        (Half::Moving, project.holds.release_factor_moving),
        (Half::Fixed, project.holds.release_factor_fixed),
    ];
    let sprayed: Vec<String> = agent
        .into_iter()
        .filter(|(_, factor)| *factor < 1.0)
        .map(|(half, _)| format!("{} half", half.word()))
        .collect();
    if !sprayed.is_empty() {
        lines.push(Line { what: "release agent".to_owned(), tags: sprayed, ..Line::default() });
    }
    lines
}
