//! One page on the screen: as large as fits or enlarged, dragged about, drawn anew for what is in sight.

use egui::{
    ColorImage, Context, Key, Modifiers, Rect, Response, Role, Sense, Stroke, StrokeKind, TextureHandle,
    TextureOptions, Ui, WidgetInfo, pos2, vec2,
};
use glam::DVec2;
use keepside_sheet::Picture;
use keepside_sheet::page::Page;

use crate::look::Palette;

/// Room about a page that fits, points.
const ROOM_PX: f32 = 8.0;

/// Largest enlargement, points a millimetre.
const LARGEST: f64 = 40.0;

/// A step of the zoom buttons and keys.
const STEP: f64 = 1.4;

/// Which part of which page is wanted in pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Ask {
    /// Counts the times that pages were laid out.
    edition: u64,
    pub(super) page: usize,
    pub(super) px_per_mm: f64,
    pub(super) from_mm: DVec2,
    pub(super) size_px: [u32; 2],
}

/// How a page is shown.
#[derive(Default)]
pub(super) struct Preview {
    edition: u64,
    /// Points a millimetre; `None` = the whole page fits.
    scale: Option<f64>,
    /// What lies in the middle of the view, paper mm; `None` = the middle of the page.
    middle_mm: Option<DVec2>,
    /// The size that fitted in the frame before, points a millimetre.
    fitted: f64,
    wanted: Option<Ask>,
    /// What a thread is drawing.
    drawing: Option<Ask>,
    drawn: Option<(Ask, TextureHandle)>,
}

impl Preview {
    /// The pages are others: what is drawn of them is shown until it is drawn anew.
    pub(super) fn renew(&mut self) {
        self.edition += 1;
    }

    /// Takes in what a thread has drawn.
    pub(super) fn take(&mut self, ctx: &Context, ask: Ask, picture: Option<Picture>) {
        self.drawing = None;
        let Some(Picture { size_px, rgba }) = picture else { return };
        let image = ColorImage::from_rgba_unmultiplied(size_px.map(|px| px as usize), &rgba);
        // At the size of the screen's pixels nothing is to be smoothed.
        let texture = ctx.load_texture("page", image, TextureOptions::LINEAR);
        self.drawn = Some((ask, texture));
    }

    /// Whether what is drawn is what is wanted.
    pub(super) fn is_settled(&self) -> bool {
        self.drawing.is_none() && self.wanted == self.drawn.as_ref().map(|(ask, _)| *ask)
    }

    /// What a thread is to draw now; it then counts as being drawn.
    pub(super) fn ask(&mut self) -> Option<Ask> {
        let wanted = self.wanted?;
        let is_drawn = self.drawn.as_ref().is_some_and(|(ask, _)| *ask == wanted);
        if is_drawn || self.drawing.is_some() {
            return None;
        }
        self.drawing = Some(wanted);
        self.drawing
    }

    fn zoom(&mut self, factor: f64) {
        let now = self.scale.unwrap_or(self.fitted);
        let next = (now * factor).clamp(self.fitted, LARGEST);
        self.scale = (next > self.fitted * 1.001).then_some(next);
        if self.scale.is_none() {
            self.middle_mm = None;
        }
    }

    /// The buttons for the size, and its keys.
    pub(super) fn zoom_ui(&mut self, ui: &mut Ui) {
        let smaller = ui.add_enabled(self.scale.is_some(), egui::Button::new("Smaller"));
        let larger = ui.button("Larger");
        let whole = ui.add_enabled(self.scale.is_some(), egui::Button::new("Whole page"));
        let pressed = |key| {
            !ui.ctx().text_edit_focused() && ui.input_mut(|input| input.consume_key(Modifiers::NONE, key))
        };
        if smaller.clicked() || pressed(Key::Minus) {
            self.zoom(1.0 / STEP);
        }
        if larger.clicked() || pressed(Key::Plus) || pressed(Key::Equals) {
            self.zoom(STEP);
        }
        if whole.clicked() || pressed(Key::Num0) {
            (self.scale, self.middle_mm) = (None, None);
        }
    }

    /// Shows `page`, which is the one with this index, in the room that is left.
    pub(super) fn show(&mut self, ui: &mut Ui, page: &Page, index: usize, name: &str) {
        let room = ui.available_size().max(vec2(40.0, 40.0));
        let (view, response) = ui.allocate_exact_size(room, Sense::click_and_drag());
        let words = format!("{name}: {}", page.words());
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &words));
        let fit = |px: f32, mm: f64| f64::from((px - 2.0 * ROOM_PX).max(20.0)) / mm;
        self.fitted = fit(view.width(), page.size_mm.x).min(fit(view.height(), page.size_mm.y));
        self.move_about(ui, &response, view, page.size_mm);

        let scale = self.scale.unwrap_or(self.fitted);
        let middle_mm = self.middle_mm.unwrap_or(page.size_mm / 2.0);
        // On whole pixels, so that the letters are as sharp as they can be.
        let pixels = f64::from(ui.ctx().pixels_per_point());
        let corner = (view_centre(view) - middle_mm * scale) * pixels;
        let corner = corner.round() / pixels;
        let on_screen = |mm: DVec2| screen(corner + mm * scale);
        let paper = Rect::from_min_max(on_screen(DVec2::ZERO), on_screen(page.size_mm));
        let palette = Palette::of(ui);
        let painter = ui.painter().with_clip_rect(view);
        painter.rect_filled(view, 0.0, palette.canvas);
        painter.rect_filled(paper, 0.0, egui::Color32::WHITE);
        if let Some((ask, texture)) = &self.drawn
            && ask.page == index
        {
            let size_mm = DVec2::new(ask.size_px[0].into(), ask.size_px[1].into()) / ask.px_per_mm;
            let at = Rect::from_min_max(on_screen(ask.from_mm), on_screen(ask.from_mm + size_mm));
            let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
            painter.with_clip_rect(view.intersect(paper)).image(
                texture.id(),
                at,
                whole,
                egui::Color32::WHITE,
            );
        }
        painter.rect_stroke(paper, 0.0, Stroke::new(1.0, palette.plate_edge), StrokeKind::Outside);
        if response.has_focus() {
            painter.rect_stroke(view, 0.0, Stroke::new(2.0, palette.accent), StrokeKind::Inside);
        }
        self.want(view.intersect(paper), corner, scale, pixels, index);
    }

    /// Asks for the part of the page that is in sight.
    fn want(&mut self, seen: Rect, corner: DVec2, scale: f64, pixels: f64, page: usize) {
        if !seen.is_positive() {
            self.wanted = None;
            return;
        }
        let low = ((plan(seen.min) - corner) * pixels).floor();
        let high = ((plan(seen.max) - corner) * pixels).ceil();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "pixels of a window")]
        let size_px = [(high.x - low.x) as u32, (high.y - low.y) as u32];
        let px_per_mm = scale * pixels;
        self.wanted = Some(Ask { edition: self.edition, page, px_per_mm, from_mm: low / px_per_mm, size_px });
    }

    /// Wheel, drag and arrow keys.
    fn move_about(&mut self, ui: &Ui, response: &Response, view: Rect, size_mm: DVec2) {
        let before = self.scale.unwrap_or(self.fitted);
        let mut middle_mm = self.middle_mm.unwrap_or(size_mm / 2.0);
        if let Some(pointer) = response.hover_pos() {
            let (pinch, wheel) = ui.input(|input| (input.zoom_delta(), input.smooth_scroll_delta().y));
            let factor = f64::from(pinch) * (f64::from(wheel) / 240.0).exp();
            if factor != 1.0 {
                let off_middle = plan(pointer) - view_centre(view);
                self.zoom(factor);
                // What is under the pointer stays there.
                let after = self.scale.unwrap_or(self.fitted);
                middle_mm += off_middle / before - off_middle / after;
            }
        }
        let after = self.scale.unwrap_or(self.fitted);
        middle_mm -= DVec2::new(response.drag_delta().x.into(), response.drag_delta().y.into()) / after;
        if response.has_focus() {
            for (key, way) in [
                (Key::ArrowLeft, DVec2::NEG_X),
                (Key::ArrowRight, DVec2::X),
                (Key::ArrowUp, DVec2::NEG_Y),
                (Key::ArrowDown, DVec2::Y),
            ] {
                if ui.input_mut(|input| input.consume_key(Modifiers::NONE, key)) {
                    middle_mm += way * 60.0 / after;
                }
            }
        }
        self.middle_mm = self.scale.map(|_| middle_mm.clamp(DVec2::ZERO, size_mm));
    }
}

fn view_centre(view: Rect) -> DVec2 {
    plan(view.center())
}

fn plan(at: egui::Pos2) -> DVec2 {
    DVec2::new(at.x.into(), at.y.into())
}

#[expect(clippy::cast_possible_truncation, reason = "places on the screen")]
fn screen(at: DVec2) -> egui::Pos2 {
    pos2(at.x as f32, at.y as f32)
}
