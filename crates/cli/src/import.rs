//! `import`: makes a new project of a drawing.

use std::fmt::Write as _;
use std::fs::File;
use std::io::Read as _;
use std::path::Path;

use anyhow::{Context as _, Result, bail};
use glam::DVec2;
use keepside_model::{Id, Project, bounds};
use keepside_sheet::import::{self, Imported, MAX_BYTES, ReadAs, Refused};

use crate::args::Import;
use crate::lines::{plain, wrapped};
use crate::{Answer, FAULTY, WELL};

/// Plate round the drawing, mm.
const MARGIN_MM: f64 = 20.0;

pub(crate) fn import(Import { drawing, choice, out }: &Import) -> Result<Answer> {
    if out.exists() {
        bail!("{} is there already; name a new file after --out", out.display());
    }
    let name = drawing.file_name().unwrap_or_default().to_string_lossy();
    let imported = import::by_name(&name, &read(drawing)?).with_context(|| drawing.display().to_string())?;
    let mut project = Project::blank();
    project.name = drawing.file_stem().unwrap_or_default().to_string_lossy().into_owned();

    let mut choice = choice.clone();
    let (low, high) = imported.extent_of(&choice);
    let beside_mm = if choice.read_as == ReadAs::CentreLines { choice.width_mm / 2.0 } else { 0.0 };
    let beside = DVec2::splat(beside_mm);
    let (low, high) = (low - beside, high + beside);
    let plate = DVec2::new(project.plates.width_mm, project.plates.height_mm);
    let mut moved = String::new();
    if low.min_element() < 0.0 || high.cmpgt(plate).any() {
        let needed = ((high - low + 2.0 * MARGIN_MM) / 10.0).ceil() * 10.0;
        let plate = plate.max(needed);
        if !(bounds::PLATE_SIZE.contains(plate.x) && bounds::PLATE_SIZE.contains(plate.y)) {
            bail!(
                "the drawing is {:.0} by {:.0} mm, larger than the largest plate of {} mm; another unit may be \
                 meant: see --scale",
                high.x - low.x,
                high.y - low.y,
                bounds::PLATE_SIZE.max
            );
        }
        (project.plates.width_mm, project.plates.height_mm) = (plate.x, plate.y);
        choice.move_mm = plate / 2.0 - low.midpoint(high);
        moved = format!("Moved to the middle of plates of {} by {} mm", plate.x, plate.y);
    }
    let made = imported.runs(&choice)?;
    if made.runs.is_empty() {
        bail!("no run could be made\n{}", refusals(&made.refused));
    }
    let count = made.runs.len();
    let numbers = (1..).map(Id);
    project.part.runs = numbers.zip(made.runs).collect();
    keepside_store::save(out, &project)?;

    let mut text = format!("{}\n", out.display());
    let chains = imported.chains.len();
    text += &wrapped("", &format!("{count} of {chains} lines and outlines became runs"));
    for remark in imported.remarks.iter().chain([&moved]).filter(|remark| !remark.is_empty()) {
        text += &wrapped("", remark);
    }
    text += &layers(&imported)?;
    for skipped in &imported.skipped {
        text += &wrapped("  left out  ", &skipped.to_string());
    }
    let err = refusals(&made.refused);
    let code = if err.is_empty() { WELL } else { FAULTY };
    Ok(Answer { out: text, err, code })
}

/// The file, up to just beyond what is read at most.
fn read(path: &Path) -> Result<Vec<u8>> {
    let cannot = || format!("{} cannot be read; check its name and whether you may read it", path.display());
    let mut bytes = Vec::new();
    let limit = u64::try_from(MAX_BYTES)? + 1;
    File::open(path).and_then(|file| file.take(limit).read_to_end(&mut bytes)).with_context(cannot)?;
    Ok(bytes)
}

fn layers(imported: &Imported) -> Result<String> {
    let mut text = String::new();
    for (layer, chains) in imported.layers().into_iter().take(100) {
        let name = if layer.is_empty() { "(no name)".to_owned() } else { plain(layer) };
        writeln!(text, "  layer     {name}: {chains}")?;
    }
    Ok(text)
}

/// Each reason once, with where it was met first and how often.
fn refusals(refused: &[Refused]) -> String {
    let mut reasons: Vec<(&Refused, usize)> = Vec::new();
    for one in refused {
        match reasons.iter_mut().find(|(first, _)| first.why == one.why) {
            Some((_, count)) => *count += 1,
            None => reasons.push((one, 1)),
        }
    }
    let told = reasons.iter().take(20).map(|(Refused { at, why, .. }, count)| {
        let more = if *count > 1 { format!(", and {} more", count - 1) } else { String::new() };
        format!("at {:.1}, {:.1}{more}: {why}\n", at.x, at.y)
    });
    let rest = reasons.iter().skip(20).map(|(_, count)| count).sum::<usize>();
    told.collect::<String>() + &if rest > 0 { format!("and {rest} more\n") } else { String::new() }
}
