//! Which version this is, and the licences of the program and of what it is built from.

use egui::{Button, Context, Id, Key, Label, Modal, RichText, ScrollArea, TextStyle, Ui, vec2};

/// Largest page, points.
const PAGE_PX: (f32, f32) = (760.0, 620.0);

/// The texts that can be read here; those of crates are written by a script from what they bring.
const TEXTS: [(&str, &str); 4] = [
    ("MIT licence", include_str!("../../../LICENSE-MIT")),
    ("Apache licence 2.0", include_str!("../../../LICENSE-APACHE")),
    ("Font", include_str!("../../../assets/fonts/DejaVu-LICENCE.txt")),
    ("Crates", include_str!("../../../assets/licences/crates.txt")),
];

/// The page while it is open.
#[derive(Clone, Debug)]
pub(crate) struct AboutPage {
    /// Which text is shown, an index into [`TEXTS`].
    shown: usize,
    /// Its lines.
    lines: Vec<&'static str>,
    /// Whether its last button has been given the keyboard.
    has_focus: bool,
}

impl Default for AboutPage {
    fn default() -> Self {
        Self { shown: 0, lines: TEXTS[0].1.lines().collect(), has_focus: false }
    }
}

/// Shows the page; `false` once the user has closed it.
pub(crate) fn about_ui(ctx: &Context, page: &mut AboutPage) -> bool {
    let frame = egui::Frame::popup(&ctx.global_style()).inner_margin(18.0);
    let room = ctx.content_rect().size() - vec2(60.0, 60.0);
    let wide = room.x.min(PAGE_PX.0);
    let response = Modal::new(Id::unique("about")).frame(frame).show(ctx, |ui| {
        ui.set_width(wide);
        ui.label(RichText::new(concat!("Keepside ", env!("CARGO_PKG_VERSION"))).strong().size(19.0));
        ui.add_space(2.0);
        let words = format!(
            "Reads project files up to format {}. Copyright 2026 the Keepside contributors; MIT or Apache-2.0, \
             at your choice. The font and the crates it is built from have their own licences. Comes without \
             warranty.",
            keepside_store::NEWEST_FORMAT
        );
        ui.add(Label::new(words).wrap());
        ui.add_space(8.0);
        tabs_ui(ui, page);
        ui.add_space(4.0);
        let high = (room.y - 190.0).clamp(60.0, PAGE_PX.1 - 190.0);
        ui.allocate_ui(vec2(wide, high), |ui| {
            // The page takes its full height at once, and does not grow into it.
            ui.set_min_size(vec2(wide, high));
            text_ui(ui, page);
        });
        ui.add_space(10.0);
        let button = ui.add(Button::new("Close").min_size(vec2(0.0, 28.0)));
        if !std::mem::replace(&mut page.has_focus, true) {
            button.request_focus();
        }
        button.clicked()
    });
    let left = response.should_close() || ctx.input(|input| input.key_pressed(Key::Escape));
    !(response.inner || left)
}

fn tabs_ui(ui: &mut Ui, page: &mut AboutPage) {
    ui.horizontal_wrapped(|ui| {
        ui.label("Licences");
        for (index, (name, text)) in TEXTS.iter().enumerate() {
            if ui.selectable_label(index == page.shown, *name).clicked() {
                (page.shown, page.lines) = (index, text.lines().collect());
            }
        }
    });
}

/// The text chosen; only the lines in sight are laid out.
fn text_ui(ui: &mut Ui, page: &AboutPage) {
    let row = ui.text_style_height(&TextStyle::Body);
    ScrollArea::both().id_salt(page.shown).auto_shrink([false, false]).show_rows(
        ui,
        row,
        page.lines.len(),
        |ui, rows| {
            for line in &page.lines[rows] {
                ui.add(Label::new(*line).extend());
            }
        },
    );
}
