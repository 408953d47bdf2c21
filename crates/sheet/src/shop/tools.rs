//! The tools that the holes ask for, each once.

use keepside_engine::hardware;
use keepside_engine::mount::Depth;
use keepside_model::{Half, Project};

use super::Line;
use super::screws::mounts;
use super::tally::Tally;
use crate::document::mm;
use crate::holes::{AfterDrilling, HoleRow, hole_table};

/// The holes of both plates, moving half first.
fn rows(project: &Project) -> impl Iterator<Item = HoleRow> {
    [Half::Moving, Half::Fixed].into_iter().flat_map(|half| hole_table(project, half))
}

/// The line of a tool of a diameter.
fn tool<'t>(tally: &'t mut Tally, what: &str, diameter_mm: f64) -> &'t mut Line {
    let size = format!("Ø{}", mm(diameter_mm));
    let new = || Line { what: what.to_owned(), size, ..Line::default() };
    tally.line(&[diameter_mm], new)
}

/// Every drill, with what it is for.
pub(super) fn drills(project: &Project) -> Vec<Line> {
    let mut tally = Tally::default();
    for row in rows(project) {
        if let Some(opening) = row.behind.and_then(|behind| behind.opening) {
            let line = tool(&mut tally, "drill", opening.diameter_mm);
            line.needed_for(row.tag.clone());
            line.remark(if opening.is_needed { "from behind" } else { "from behind, if wanted" });
        }
        let Some(drill_mm) = row.drill_mm else { continue };
        let line = tool(&mut tally, "drill", drill_mm);
        line.needed_for(row.tag);
        line.remark(match row.after {
            AfterDrilling::Nothing => String::new(),
            AfterDrilling::Tap(thread) => format!("before tapping {}", thread.designation()),
            AfterDrilling::Ream { diameter_mm } => format!("before reaming Ø{}", mm(diameter_mm)),
            AfterDrilling::TaperReam { .. } => "before the taper reamer".to_owned(),
        });
    }
    for (tag, mount) in mounts(project) {
        if let Depth::Seat { behind_mm, .. } = mount.hole.depth {
            let line = tool(&mut tally, "drill", behind_mm);
            line.needed_for(tag);
            line.remark("right through behind a seat");
        }
    }
    tally.lines()
}

/// Every tap.
pub(super) fn taps(project: &Project) -> Vec<Line> {
    let mut tally = Tally::default();
    let mut add = |thread, tag: String, remark: &str| {
        let of = hardware::thread(thread);
        let new = || Line {
            what: "tap, ISO metric coarse".to_owned(),
            size: format!("{} × {}", thread.designation(), mm(of.pitch_mm)),
            ..Line::default()
        };
        let line = tally.line(&[of.nominal_mm], new);
        line.needed_for(tag);
        line.remark(remark);
    };
    for row in rows(project) {
        if let Some(thread) = row.behind.and_then(|behind| behind.tap) {
            add(thread, row.tag.clone(), "from behind");
        }
        if let AfterDrilling::Tap(thread) = row.after {
            let is_blind = matches!(row.depth, crate::holes::Depth::Blind { .. });
            add(thread, row.tag, if is_blind { "with a short lead for the blind holes" } else { "" });
        }
    }
    tally.lines()
}

/// Every reamer with parallel flutes.
pub(super) fn reamers(project: &Project) -> Vec<Line> {
    let mut tally = Tally::default();
    for row in rows(project) {
        if let AfterDrilling::Ream { diameter_mm } = row.after {
            tool(&mut tally, "reamer", diameter_mm).needed_for(row.tag);
        }
    }
    tally.lines()
}

/// Every taper: the widest hole that each has to reach.
pub(super) fn taper_reamers(project: &Project) -> Vec<Line> {
    let mut tally = Tally::default();
    for row in rows(project) {
        let AfterDrilling::TaperReam { diameter_mm, draft_deg } = row.after else { continue };
        let size = format!("{}° a side, to Ø{}", mm(draft_deg), mm(diameter_mm));
        let new = || Line { what: "taper reamer".to_owned(), size, ..Line::default() };
        let line = tally.line(&[draft_deg, diameter_mm], new);
        line.needed_for(row.tag);
        if let Some(drill_mm) = row.drill_mm {
            line.remark(format!("from Ø{}", mm(drill_mm)));
        }
    }
    tally.lines()
}
