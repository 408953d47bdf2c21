//! What a shot asks of the press: melt, clamp force, room.

use keepside_model::{Id, Project};

use crate::filling::Filling;
use crate::opening::{Opening, What};
use crate::outline::Outline;

/// What a shot asks of the press.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PressUse {
    /// Volume of the part's channels, mm³.
    pub part_mm3: f64,
    /// Volume of the bores of the gates, mm³.
    pub sprues_mm3: f64,
    /// Melt that the press pushes in, mm³ at the density of the melt: as much as fills the mould when it is
    /// solid, packing included.
    pub melt_mm3: f64,
    /// Mass of part and sprues, g.
    pub mass_g: f64,
    /// Mass of the part alone, g.
    pub part_mass_g: f64,
    /// Area of the part and its gates in plan, mm².
    pub projected_mm2: f64,
    /// Pressure in the channels that the mould is held closed against, MPa.
    pub cavity_mpa: f64,
    /// Force that pushes the halves apart, N: projected area times that pressure.
    pub clamp_n: f64,
}

/// What a shot asks of the press.
///
/// The pressure is the larger of packing, taken undiminished as if nothing were lost on the way, and the mean
/// along the channels at the end of filling. Mass: the cavity, less the shrinkage along once and across twice,
/// at the density of the solid.
pub fn of(project: &Project, outline: &Outline, filling: &Filling) -> PressUse {
    let melt = &project.material.melt;
    let left = (1.0 - melt.shrinkage_along) * (1.0 - melt.shrinkage_across).powi(2);
    let (part_mm3, sprues_mm3) = (filling.part_volume_mm3, filling.sprue_volume_mm3);
    let g_mm3 = left * melt.density_solid_g_cm3 * 1e-3;
    let mass_g = (part_mm3 + sprues_mm3) * g_mm3;
    let cavity_mpa = project.moulding.packing_pressure_mpa.max(mean_end_mpa(filling));
    PressUse {
        part_mm3,
        sprues_mm3,
        melt_mm3: mass_g / (melt.density_melt_g_cm3 * 1e-3),
        mass_g,
        part_mass_g: part_mm3 * g_mm3,
        projected_mm2: outline.area_mm2,
        cavity_mpa,
        clamp_n: outline.area_mm2 * cavity_mpa,
    }
}

/// Mean pressure along the channels at the end of filling, MPa.
fn mean_end_mpa(filling: &Filling) -> f64 {
    let mut sums = (0.0, 0.0);
    for run in &filling.runs {
        for pair in run.stations.windows(2) {
            let length_mm = pair[1].along_mm - pair[0].along_mm;
            sums.0 += 0.5 * (pair[0].end_pressure_mpa + pair[1].end_pressure_mpa) * length_mm;
            sums.1 += length_mm;
        }
    }
    if sums.1 > 0.0 { sums.0 / sums.1 } else { 0.0 }
}

/// The stroke that a layout needs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StrokeUse {
    /// The largest opening at which something still lets go, mm.
    pub last_mm: f64,
    /// The sprue, feature or ejector that lets go there, if it is one.
    pub last: Option<Id>,
    /// Height of the part with the longest plug that comes out with it, mm: what has to fall out between the
    /// halves.
    pub part_mm: f64,
    /// Both together, mm.
    pub needed_mm: f64,
}

/// The stroke that an opening run needs.
pub fn stroke(project: &Project, opening: &Opening) -> StrokeUse {
    let last = opening.releases.iter().max_by(|a, b| a.opening_mm.total_cmp(&b.opening_mm));
    let last_mm = last.map_or(0.0, |release| release.opening_mm);
    let name = last.and_then(|release| opening.holds.get(release.hold)).map(|hold| hold.name.what);
    let last = match name {
        Some(What::Sprue(id) | What::Feature(id) | What::Ejector(id)) => Some(id),
        _ => None,
    };
    let deepest_mm = project
        .part
        .runs
        .values()
        .flat_map(|run| &run.points)
        .map(|point| point.depth_mm)
        .fold(0.0, f64::max);
    let rib_mm = project.part.rib.map_or(0.0, |rib| rib.height_mm);
    let plug_mm = project.sprues.values().map(|sprue| sprue.length_mm).fold(0.0, f64::max);
    let part_mm = deepest_mm + rib_mm + plug_mm;
    StrokeUse { last_mm, last, part_mm, needed_mm: last_mm + part_mm }
}
