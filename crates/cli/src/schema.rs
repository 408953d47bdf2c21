//! The form of the JSON, version 1: described in `assets/handbook/json.md`. Fields are only ever added; anything
//! else needs a new version.

use serde::Serialize;

#[derive(Debug, Serialize)]
pub(crate) struct Report {
    pub(crate) schema: u32,
    pub(crate) program_version: &'static str,
    pub(crate) file: String,
    pub(crate) project: String,
    pub(crate) exit_code: u8,
    pub(crate) not_computed: Option<NotComputed>,
    pub(crate) verdict: Option<Verdict>,
    pub(crate) margin: Option<Margin>,
    pub(crate) holds: Vec<Hold>,
    pub(crate) releases: Vec<Release>,
    pub(crate) stretches: Vec<Stretch>,
    pub(crate) bumps: Vec<Bump>,
    pub(crate) flatness_mm: Option<f64>,
    pub(crate) energy: Option<Energy>,
    pub(crate) stripping: Option<Stripping>,
    pub(crate) effort: Option<Effort>,
    pub(crate) shot: Shot,
    pub(crate) findings: Vec<Finding>,
}

#[derive(Debug, Serialize)]
pub(crate) struct NotComputed {
    pub(crate) reason: &'static str,
    pub(crate) message: String,
    pub(crate) run: Option<u32>,
}

#[derive(Debug, Serialize)]
pub(crate) struct Verdict {
    pub(crate) outcome: &'static str,
    pub(crate) words: String,
    pub(crate) deciding_hold: Option<usize>,
    pub(crate) stroke_mm: f64,
    pub(crate) part_length_mm: f64,
}

#[derive(Debug, Serialize)]
pub(crate) struct Margin {
    pub(crate) factor: Option<f64>,
    pub(crate) searched_from: f64,
    pub(crate) searched_to: f64,
    pub(crate) flips_to: Option<&'static str>,
    pub(crate) deciding_hold: Option<usize>,
}

#[derive(Debug, Serialize)]
pub(crate) struct Hold {
    pub(crate) half: &'static str,
    pub(crate) kind: &'static str,
    pub(crate) item: Option<u32>,
    pub(crate) tag: Option<String>,
    pub(crate) name: String,
    pub(crate) run: Option<u32>,
    pub(crate) along_mm: Option<f64>,
    pub(crate) clear_gap_mm: Option<f64>,
    pub(crate) capacity_n: f64,
    pub(crate) let_go_travel_mm: f64,
    pub(crate) peak_n: f64,
    pub(crate) travel_mm: f64,
    pub(crate) work_mj: f64,
    pub(crate) state: &'static str,
    pub(crate) holding_share: f64,
    pub(crate) released_at_opening_mm: Option<f64>,
    pub(crate) remains: Option<&'static str>,
    pub(crate) governed_by: &'static str,
    pub(crate) pull_off_curve: Vec<CurvePoint>,
}

#[derive(Debug, Serialize)]
pub(crate) struct CurvePoint {
    pub(crate) travel_mm: f64,
    pub(crate) pull_n: f64,
}

#[derive(Debug, Serialize)]
pub(crate) struct Release {
    pub(crate) opening_mm: f64,
    pub(crate) hold: usize,
    pub(crate) how: &'static str,
}

#[derive(Debug, Serialize)]
pub(crate) struct Stretch {
    pub(crate) run: u32,
    pub(crate) tag: String,
    pub(crate) from_mm: f64,
    pub(crate) to_mm: f64,
    pub(crate) keeper: &'static str,
}

#[derive(Debug, Serialize)]
pub(crate) struct Bump {
    pub(crate) item: u32,
    pub(crate) tag: String,
    pub(crate) run: u32,
    pub(crate) along_mm: f64,
    pub(crate) height_mm: f64,
    pub(crate) kink_deg: f64,
}

#[derive(Debug, Serialize)]
pub(crate) struct Energy {
    pub(crate) work_mj: f64,
    pub(crate) elastic_mj: f64,
    pub(crate) plastic_mj: f64,
    pub(crate) holds_mj: f64,
    pub(crate) viscous_mj: f64,
    pub(crate) snap_mj: f64,
}

#[derive(Debug, Serialize)]
pub(crate) struct Stripping {
    pub(crate) outcome: &'static str,
    pub(crate) words: String,
    pub(crate) features: Vec<StripAt>,
    pub(crate) ejectors: Vec<EjectorLoad>,
    pub(crate) peak_n: f64,
    pub(crate) force: Vec<ForcePoint>,
    pub(crate) bumps: Vec<Bump>,
    pub(crate) flatness_mm: f64,
    pub(crate) residual: Vec<Residual>,
}

#[derive(Debug, Serialize)]
pub(crate) struct StripAt {
    pub(crate) item: u32,
    pub(crate) tag: String,
    pub(crate) force_n: f64,
    pub(crate) strain: f64,
    pub(crate) allowed: f64,
    pub(crate) released_at_mm: Option<f64>,
    pub(crate) broke: bool,
}

#[derive(Debug, Serialize)]
pub(crate) struct EjectorLoad {
    pub(crate) item: u32,
    pub(crate) tag: String,
    pub(crate) force_n: f64,
    pub(crate) pressure_mpa: f64,
    pub(crate) mark_mpa: f64,
    pub(crate) buckling_mm: f64,
}

#[derive(Debug, Serialize)]
pub(crate) struct ForcePoint {
    pub(crate) travel_mm: f64,
    pub(crate) force_n: f64,
}

#[derive(Debug, Serialize)]
pub(crate) struct Residual {
    pub(crate) run: u32,
    pub(crate) tag: String,
    pub(crate) points: Vec<ResidualPoint>,
}

#[derive(Debug, Serialize)]
pub(crate) struct ResidualPoint {
    pub(crate) along_mm: f64,
    pub(crate) out_of_flat_mm: f64,
}

#[derive(Debug, Serialize)]
pub(crate) struct Effort {
    pub(crate) elements: usize,
    pub(crate) steps: usize,
    pub(crate) solves: usize,
    pub(crate) cuts: usize,
    pub(crate) events: usize,
    pub(crate) rescues: usize,
}

#[derive(Debug, Serialize)]
pub(crate) struct Finding {
    pub(crate) rule: &'static str,
    pub(crate) severity: &'static str,
    pub(crate) items: Vec<u32>,
    pub(crate) tags: Vec<String>,
    pub(crate) x_mm: Option<f64>,
    pub(crate) y_mm: Option<f64>,
    pub(crate) message: String,
    pub(crate) measured: Option<f64>,
    pub(crate) needed: Option<f64>,
    pub(crate) unit: &'static str,
    pub(crate) cure: String,
}

#[derive(Debug, Serialize)]
pub(crate) struct Shot {
    pub(crate) filling: Option<Filling>,
    pub(crate) not_filled: Option<String>,
    pub(crate) cooling: Option<Cooling>,
    pub(crate) not_cooled: Option<String>,
    pub(crate) venting: Option<Venting>,
    pub(crate) press: Option<PressUse>,
}

#[derive(Debug, Serialize)]
pub(crate) struct Filling {
    pub(crate) fill_time_s: f64,
    pub(crate) is_full: bool,
    pub(crate) peak_pressure_mpa: f64,
    pub(crate) pressure_limited_from_s: Option<f64>,
    pub(crate) gates: Vec<GateFill>,
    pub(crate) welds: Vec<Weld>,
    pub(crate) short: Vec<Short>,
}

#[derive(Debug, Serialize)]
pub(crate) struct GateFill {
    pub(crate) item: u32,
    pub(crate) tag: String,
    pub(crate) opens_s: Option<f64>,
    pub(crate) share: f64,
    pub(crate) shear_rate_per_s: f64,
    pub(crate) peak_pressure_mpa: f64,
}

#[derive(Debug, Serialize)]
pub(crate) struct Weld {
    pub(crate) run: u32,
    pub(crate) tag: String,
    pub(crate) along_mm: f64,
    pub(crate) x_mm: f64,
    pub(crate) y_mm: f64,
    pub(crate) time_s: f64,
    pub(crate) kind: &'static str,
    pub(crate) angle_deg: f64,
    pub(crate) coldest_c: f64,
    pub(crate) near_feature: Option<u32>,
}

#[derive(Debug, Serialize)]
pub(crate) struct Short {
    pub(crate) run: u32,
    pub(crate) tag: String,
    pub(crate) from_mm: f64,
    pub(crate) to_mm: f64,
    pub(crate) volume_mm3: f64,
    pub(crate) why: &'static str,
}

#[derive(Debug, Serialize)]
pub(crate) struct Cooling {
    pub(crate) thickest_run: u32,
    pub(crate) thickness_mm: f64,
    pub(crate) needed_s: f64,
    pub(crate) opens_s: f64,
    pub(crate) hottest_c: f64,
    pub(crate) mean_c: f64,
    pub(crate) held_back: f64,
    pub(crate) freezing: Vec<GateFreeze>,
    pub(crate) spans: Vec<LockedSpan>,
}

#[derive(Debug, Serialize)]
pub(crate) struct GateFreeze {
    pub(crate) item: u32,
    pub(crate) tag: String,
    pub(crate) bore_s: f64,
    pub(crate) channel_s: Option<f64>,
    pub(crate) packs_s: f64,
    pub(crate) plug_cold_s: f64,
}

#[derive(Debug, Serialize)]
pub(crate) struct LockedSpan {
    pub(crate) run: u32,
    pub(crate) from_item: u32,
    pub(crate) to_item: u32,
    pub(crate) length_mm: f64,
    pub(crate) held_mm: f64,
    pub(crate) whole_mm: f64,
    pub(crate) pull_n: f64,
}

#[derive(Debug, Serialize)]
pub(crate) struct Venting {
    pub(crate) air_c: f64,
    pub(crate) places: Vec<VentedPlace>,
    pub(crate) idle: Vec<String>,
}

#[derive(Debug, Serialize)]
pub(crate) struct VentedPlace {
    pub(crate) run: u32,
    pub(crate) along_mm: f64,
    pub(crate) x_mm: f64,
    pub(crate) y_mm: f64,
    pub(crate) ways: Vec<String>,
    pub(crate) air_mm3: f64,
    pub(crate) rate_mm3_s: f64,
    pub(crate) area_mm2: f64,
    pub(crate) needed_mm2: f64,
    pub(crate) pressure_mpa: Option<f64>,
    pub(crate) squeezed_c: Option<f64>,
}

#[derive(Debug, Serialize)]
pub(crate) struct PressUse {
    pub(crate) part_mm3: f64,
    pub(crate) sprues_mm3: f64,
    pub(crate) melt_mm3: f64,
    pub(crate) mass_g: f64,
    pub(crate) part_mass_g: f64,
    pub(crate) projected_mm2: f64,
    pub(crate) cavity_mpa: f64,
    pub(crate) clamp_n: f64,
    pub(crate) stroke_needed_mm: Option<f64>,
}
