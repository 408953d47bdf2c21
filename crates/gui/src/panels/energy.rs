//! Where the work of opening went.

use egui::{Grid, RichText, Ui};
use keepside_engine::opening::Energy;

/// The balance, item by item.
pub(super) fn energy_ui(ui: &mut Ui, energy: &Energy) {
    ui.label(RichText::new("Work of opening").strong());
    Grid::new(egui::Id::unique("energy")).num_columns(2).spacing([12.0, 2.0]).show(ui, |ui| {
        for (what, mj) in rows(energy) {
            ui.label(what);
            // Adding zero takes the sign off a negative zero.
            ui.label(format!("{:.2} mJ", (mj * 100.0).round() / 100.0 + 0.0));
            ui.end_row();
        }
    });
}

/// What was put in, where it went, and what is missing between them, mJ.
fn rows(energy: &Energy) -> [(&'static str, f64); 7] {
    let Energy { work_mj, elastic_mj, plastic_mj, holds_mj, viscous_mj, snap_mj } = *energy;
    let spent_mj = elastic_mj + plastic_mj + holds_mj + viscous_mj + snap_mj;
    [
        ("put in by the moving half", work_mj),
        ("taken by the holds", holds_mj),
        ("lost in bending for good", plastic_mj),
        ("stored in the part", elastic_mj),
        ("set free in sudden jumps", snap_mj),
        ("lost in the run's own damping", viscous_mj),
        ("not accounted for", work_mj - spent_mj),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_missing_is_what_was_put_in_less_what_is_accounted_for() {
        let energy = Energy {
            work_mj: 100.0,
            elastic_mj: 5.0,
            plastic_mj: 20.0,
            holds_mj: 60.0,
            viscous_mj: 1.0,
            snap_mj: 13.0,
        };
        let rows = rows(&energy);
        assert_eq!(rows[6], ("not accounted for", 1.0));
        assert_eq!(rows[1..6].iter().map(|row| row.1).sum::<f64>(), 99.0);
    }
}
