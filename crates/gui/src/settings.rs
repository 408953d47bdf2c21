//! What the user likes, kept between one day and the next: theme, size of everything, unit, grid,
//! snapping, whether the filling is shown.

use std::path::{Path, PathBuf};

use egui::ThemePreference;
use serde::{Deserialize, Serialize};

use crate::saving::{Saver, Work};
use crate::units::Unit;
use crate::view::{Strip, ViewState};

/// How much larger or smaller than usual everything may be.
pub(crate) const SCALES: std::ops::RangeInclusive<f32> = 0.75..=2.5;

/// What the user likes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
struct Likes {
    theme: ThemePreference,
    /// Everything is this much larger than the system asks for.
    scale: f32,
    unit: Unit,
    grid_mm: f64,
    snapping: bool,
    /// Names the numbers drawn by chance for shots.
    seed: u64,
    /// Sets of medians for shots.
    sets: usize,
    /// Whether the strip under the plan shows the filling.
    filling: bool,
    /// Whether the plan shows it then.
    filling_on_plan: bool,
}

impl Default for Likes {
    fn default() -> Self {
        let view = ViewState::default();
        Self {
            theme: ThemePreference::System,
            scale: 1.0,
            unit: view.unit,
            grid_mm: view.grid_mm,
            snapping: view.snapping,
            seed: view.shots.seed,
            sets: view.shots.sets,
            filling: false,
            filling_on_plan: view.show_filling,
        }
    }
}

/// The file of what the user likes, and what stands in it.
#[derive(Debug)]
pub(crate) struct Settings {
    kept: Likes,
    kept_in: Option<PathBuf>,
}

impl Settings {
    /// Reads the file in the settings folder, if there is one, and arranges things accordingly.
    pub(crate) fn load(config: Option<&Path>, ctx: &egui::Context, view: &mut ViewState) -> Self {
        let kept_in = config.map(|folder| folder.join("settings.ron"));
        let read = |file: &PathBuf| ron::from_str(&std::fs::read_to_string(file).ok()?).ok();
        let kept: Likes = kept_in.as_ref().and_then(read).unwrap_or_default();
        ctx.set_theme(kept.theme);
        if SCALES.contains(&kept.scale) {
            ctx.set_zoom_factor(kept.scale);
        }
        view.unit = kept.unit;
        view.unit.show(ctx);
        if (0.01..=100.0).contains(&kept.grid_mm) {
            view.grid_mm = kept.grid_mm;
        }
        view.snapping = kept.snapping;
        view.shots.seed = kept.seed;
        view.shots.sets = kept.sets.clamp(1, 10_000);
        view.show_filling = kept.filling_on_plan;
        if kept.filling {
            view.strip = Strip::Filling;
        }
        Self { kept, kept_in }
    }

    /// Writes the file if something has changed.
    pub(crate) fn keep(&mut self, ctx: &egui::Context, view: &ViewState, saver: &Saver) {
        let theme = ctx.options(|options| options.theme_preference);
        let (scale, unit) = (ctx.zoom_factor(), view.unit);
        let shots = &view.shots;
        let now = Likes {
            theme,
            scale,
            unit,
            grid_mm: view.grid_mm,
            snapping: view.snapping,
            seed: shots.seed,
            sets: shots.sets,
            filling: view.strip == Strip::Filling,
            filling_on_plan: view.show_filling,
        };
        if now == self.kept {
            return;
        }
        self.kept = now;
        // Losing them is no reason to disturb anybody.
        if let (Some(path), Ok(text)) = (self.kept_in.clone(), ron::to_string(&now)) {
            saver.send(Work::Write { path, text });
        }
    }
}
