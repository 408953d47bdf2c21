//! The colours of both themes, each named by what it is used for.

use egui::{Color32, Theme};
use keepside_engine::Severity;
use keepside_engine::opening::Keeper;
use keepside_model::Half;

/// The colours of one theme. The four keepers' hues stay apart for the common kinds of colour
/// blindness (blue, orange, purple, grey), and each has a hatching of its own besides.
pub(crate) struct Palette {
    pub(crate) panel: Color32,
    pub(crate) field: Color32,
    pub(crate) band: Color32,
    pub(crate) button: Color32,
    pub(crate) button_over: Color32,
    pub(crate) rule: Color32,
    pub(crate) ink: Color32,
    pub(crate) ink_soft: Color32,
    pub(crate) accent: Color32,
    pub(crate) accent_soft: Color32,
    pub(crate) canvas: Color32,
    pub(crate) plate: Color32,
    pub(crate) plate_edge: Color32,
    pub(crate) grid: Color32,
    pub(crate) grid_strong: Color32,
    pub(crate) plastic: Color32,
    pub(crate) plastic_edge: Color32,
    pub(crate) melt: Color32,
    pub(crate) hole: Color32,
    pub(crate) moving: Color32,
    pub(crate) fixed: Color32,
    pub(crate) bridging: Color32,
    pub(crate) free: Color32,
    pub(crate) good: Color32,
    pub(crate) warning: Color32,
    pub(crate) fault: Color32,
}

const fn rgb(hex: u32) -> Color32 {
    let [_, r, g, b] = hex.to_be_bytes();
    Color32::from_rgb(r, g, b)
}

static LIGHT: Palette = Palette {
    panel: rgb(0xF1_EFEA),
    field: rgb(0xFD_FCFA),
    band: rgb(0xE8_E5DE),
    button: rgb(0xE2_DED5),
    button_over: rgb(0xD8_D3C8),
    rule: rgb(0xC9_C4B8),
    ink: rgb(0x26_2B30),
    ink_soft: rgb(0x55_5B61),
    accent: rgb(0x17_6A62),
    accent_soft: rgb(0xC6_E4DF),
    canvas: rgb(0xE3_E1DB),
    plate: rgb(0xF8_F7F3),
    plate_edge: rgb(0x7C_7A72),
    grid: rgb(0xEB_E8E1),
    grid_strong: rgb(0xDA_D6CC),
    plastic: rgb(0xD9_D2BE),
    plastic_edge: rgb(0x3D_3A33),
    melt: rgb(0xD9_C063),
    hole: rgb(0xC2_BEB4),
    moving: rgb(0x0B_67A8),
    fixed: rgb(0xA6_480A),
    bridging: rgb(0x8E_4A9C),
    free: rgb(0x6E_7276),
    good: rgb(0x17_6B36),
    warning: rgb(0x82_5400),
    fault: rgb(0xB3_261E),
};

static DARK: Palette = Palette {
    panel: rgb(0x24_2729),
    field: rgb(0x18_1A1C),
    band: rgb(0x2C_3033),
    button: rgb(0x37_3C40),
    button_over: rgb(0x45_4B50),
    rule: rgb(0x4A_5055),
    ink: rgb(0xE6_E4DF),
    ink_soft: rgb(0xA7_AAAC),
    accent: rgb(0x5F_C2B6),
    accent_soft: rgb(0x12_3F3A),
    canvas: rgb(0x17_191B),
    plate: rgb(0x2A_2E31),
    plate_edge: rgb(0x8C_9297),
    grid: rgb(0x32_373A),
    grid_strong: rgb(0x40_464A),
    plastic: rgb(0x55_5249),
    plastic_edge: rgb(0xD8_D4C8),
    melt: rgb(0x5E_5120),
    hole: rgb(0x12_1416),
    moving: rgb(0x5A_AEE8),
    fixed: rgb(0xF0_8E42),
    bridging: rgb(0xC9_8AD6),
    free: rgb(0xA0_A4A8),
    good: rgb(0x6C_CB8B),
    warning: rgb(0xE8_B44A),
    fault: rgb(0xF2_8B82),
};

impl Palette {
    /// The colours of the theme that `ui` is drawn in.
    pub(crate) fn of(ui: &egui::Ui) -> &'static Self {
        Self::of_theme(if ui.visuals().dark_mode { Theme::Dark } else { Theme::Light })
    }

    pub(crate) const fn of_theme(theme: Theme) -> &'static Self {
        match theme {
            Theme::Light => &LIGHT,
            Theme::Dark => &DARK,
        }
    }

    pub(crate) const fn half(&self, half: Half) -> Color32 {
        match half {
            Half::Moving => self.moving,
            Half::Fixed => self.fixed,
        }
    }

    pub(crate) const fn keeper(&self, keeper: Keeper) -> Color32 {
        match keeper {
            Keeper::Moving => self.moving,
            Keeper::Fixed => self.fixed,
            Keeper::Bridging => self.bridging,
            Keeper::Free => self.free,
        }
    }

    pub(crate) const fn severity(&self, severity: Severity) -> Color32 {
        match severity {
            Severity::Fault => self.fault,
            Severity::Warning => self.warning,
            Severity::Note => self.ink_soft,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Contrast ratio of two colours.
    ///
    /// `(L1 + 0.05) / (L2 + 0.05)` of the relative luminances. Source: WCAG 2.1, "contrast ratio".
    fn contrast(a: Color32, b: Color32) -> f64 {
        let luminance = |colour: Color32| {
            let linear = |channel: u8| {
                let c = f64::from(channel) / 255.0;
                if c <= 0.03928 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
            };
            0.2126 * linear(colour.r()) + 0.7152 * linear(colour.g()) + 0.0722 * linear(colour.b())
        };
        let (a, b) = (luminance(a) + 0.05, luminance(b) + 0.05);
        a.max(b) / a.min(b)
    }

    #[test]
    fn black_on_white_has_the_contrast_that_the_definition_gives() {
        // WCAG 2.1: contrast ratios range from 1 to 21.
        assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
    }

    #[test]
    fn text_is_legible_in_both_themes() {
        // WCAG 2.1, success criterion 1.4.3: at least 4.5 for text.
        for palette in [&LIGHT, &DARK] {
            // Words of either half stand on panels and on the ground of the drawings.
            for back in [palette.panel, palette.field, palette.canvas, palette.plate, palette.band] {
                for ink in [palette.ink, palette.ink_soft, palette.good, palette.warning, palette.fault] {
                    assert!(contrast(ink, back) >= 4.5, "{ink:?} on {back:?}: {:.2}", contrast(ink, back));
                }
            }
            let on_buttons = [palette.button, palette.button_over, palette.accent_soft];
            for back in on_buttons {
                assert!(contrast(palette.ink, back) >= 4.5, "{back:?}");
            }
            // A finding that is selected, and its greyed words.
            for ink in [palette.ink_soft, palette.fault, palette.warning] {
                let back = palette.accent_soft;
                assert!(contrast(ink, back) >= 4.5, "{ink:?}: {:.2}", contrast(ink, back));
            }
            for ink in [palette.moving, palette.fixed, palette.accent] {
                for back in [palette.panel, palette.field, palette.canvas, palette.plate] {
                    assert!(contrast(ink, back) >= 4.5, "{ink:?} on {back:?}: {:.2}", contrast(ink, back));
                }
            }
        }
    }

    #[test]
    fn marks_on_the_canvas_stand_out_in_both_themes() {
        // WCAG 2.1, success criterion 1.4.11: at least 3 for parts of a graphic.
        for palette in [&LIGHT, &DARK] {
            for mark in [palette.moving, palette.fixed, palette.bridging, palette.free, palette.plate_edge] {
                assert!(contrast(mark, palette.plate) >= 3.0, "{mark:?}");
            }
            for mark in [palette.accent, palette.plastic_edge, palette.fault] {
                for back in [palette.panel, palette.canvas, palette.plate, palette.plastic, palette.melt] {
                    assert!(contrast(mark, back) >= 3.0, "{mark:?} on {back:?}: {:.2}", contrast(mark, back));
                }
            }
            // The edge of a focused button.
            assert!(contrast(palette.accent, palette.button) >= 3.0);
        }
    }
}
