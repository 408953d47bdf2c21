//! The look of the window: fonts, colours of both themes, painted icons, hatching.

pub(crate) mod hatch;
pub(crate) mod icons;
pub(crate) mod letters;
mod palette;

use std::sync::Arc;

use egui::{Color32, CornerRadius, FontData, FontDefinitions, FontFamily, Stroke, Theme, Visuals};

pub(crate) use palette::Palette;

/// The lettering of the window and of the sheets: it has the arrows and signs that the trade writes.
const FONT: &[u8] = include_bytes!("../../../../assets/fonts/DejaVuSansCondensed.ttf");

/// Sets fonts and both themes.
pub(crate) fn apply(ctx: &egui::Context) {
    let mut fonts = FontDefinitions::default();
    fonts.font_data.insert("lettering".to_owned(), Arc::new(FontData::from_static(FONT)));
    fonts.families.entry(FontFamily::Proportional).or_default().insert(0, "lettering".to_owned());
    ctx.set_fonts(fonts);
    // Where the system does not say which it likes.
    ctx.options_mut(|options| options.fallback_theme = Theme::Light);
    for theme in [Theme::Light, Theme::Dark] {
        let palette = Palette::of_theme(theme);
        ctx.style_mut_of(theme, |style| {
            style.visuals = visuals(theme, palette);
            style.spacing.item_spacing = egui::vec2(7.0, 5.0);
            style.spacing.button_padding = egui::vec2(8.0, 3.0);
            style.spacing.interact_size.y = 22.0;
            style.spacing.slider_width = 150.0;
            // What is said in small letters is meant to be read as well.
            style.text_styles.insert(egui::TextStyle::Small, egui::FontId::proportional(11.0));
            style.interaction.tooltip_delay = 0.4;
        });
    }
}

fn visuals(theme: Theme, palette: &Palette) -> Visuals {
    let mut visuals = theme.default_visuals();
    visuals.panel_fill = palette.panel;
    visuals.window_fill = palette.panel;
    visuals.extreme_bg_color = palette.field;
    visuals.faint_bg_color = palette.band;
    visuals.warn_fg_color = palette.warning;
    visuals.error_fg_color = palette.fault;
    visuals.hyperlink_color = palette.accent;
    visuals.selection.bg_fill = palette.accent_soft;
    visuals.selection.stroke = Stroke::new(1.0, palette.ink);
    visuals.window_stroke = Stroke::new(1.0, palette.rule);
    visuals.window_corner_radius = CornerRadius::same(5);
    visuals.menu_corner_radius = CornerRadius::same(4);
    visuals.weak_text_color = Some(palette.ink_soft);
    let states = &mut visuals.widgets;
    let each = [
        (&mut states.noninteractive, palette.panel, palette.rule, palette.ink),
        (&mut states.inactive, palette.button, Color32::TRANSPARENT, palette.ink),
        (&mut states.hovered, palette.button_over, palette.accent, palette.ink),
        (&mut states.active, palette.accent_soft, palette.accent, palette.ink),
        (&mut states.open, palette.button_over, palette.rule, palette.ink),
    ];
    for (state, fill, edge, ink) in each {
        state.bg_fill = fill;
        state.weak_bg_fill = fill;
        state.bg_stroke = Stroke::new(1.0, edge);
        state.fg_stroke = Stroke::new(1.0, ink);
        state.corner_radius = CornerRadius::same(3);
        state.expansion = 0.0;
    }
    visuals
}
