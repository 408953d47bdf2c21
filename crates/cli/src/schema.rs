//! The form of the JSON, version 1: described in `SCHEMA.md`. Fields are only ever added; anything
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
