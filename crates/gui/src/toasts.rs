//! Short messages in the corner: good news goes by itself, errors stay until closed.

use egui::{Align2, Area, Context, Frame, Id, vec2};

use crate::look::Palette;
use crate::look::icons::{Icon, icon_ui};
use keepside_engine::Severity;

/// How long good news stays, s.
const STAYS_S: f64 = 6.0;

#[derive(Debug)]
struct Toast {
    text: String,
    is_error: bool,
    /// When it goes, in the window's time, s; set when first shown.
    until_s: Option<f64>,
}

/// The messages shown now.
#[derive(Debug, Default)]
pub struct Toasts {
    shown: Vec<Toast>,
    /// How many there were in the frame before.
    before: usize,
}

impl Toasts {
    /// Says that something went well.
    pub fn good(&mut self, text: impl Into<String>) {
        self.shown.push(Toast { text: text.into(), is_error: false, until_s: None });
    }

    /// Says that something went wrong.
    pub fn error(&mut self, text: impl Into<String>) {
        let text = text.into();
        log::warn!("{text}");
        // Said once is enough, however often it happens.
        self.shown.retain(|toast| toast.text != text);
        self.shown.push(Toast { text, is_error: true, until_s: None });
    }

    /// Takes an error back that is none any more.
    pub(crate) fn withdraw(&mut self, text: &str) {
        self.shown.retain(|toast| toast.text != text);
    }

    /// Shows them; those that have had their time go. Work under way is told as well, each with the name of the
    /// button that stops it: which one the user stops comes back.
    pub(crate) fn show(&mut self, ctx: &Context, works: &[(String, &str)]) -> Option<usize> {
        let now_s = ctx.input(|input| input.time);
        for toast in self.shown.iter_mut().filter(|toast| !toast.is_error) {
            let until_s = *toast.until_s.get_or_insert(now_s + STAYS_S);
            ctx.request_repaint_after_secs((until_s - now_s).max(0.0) as f32);
        }
        self.shown.retain(|toast| toast.until_s.is_none_or(|until_s| now_s < until_s));
        // Where they stand follows from how high they were in the frame before.
        let count = self.shown.len() + works.len();
        if std::mem::replace(&mut self.before, count) != count {
            ctx.request_repaint();
        }
        if count == 0 {
            return None;
        }
        let mut stopped = None;
        let area = Area::new(Id::unique("messages")).anchor(Align2::LEFT_BOTTOM, vec2(14.0, -42.0));
        area.order(egui::Order::Foreground).show(ctx, |ui| {
            let palette = Palette::of(ui);
            let mut closed = None;
            for (index, toast) in self.shown.iter().enumerate() {
                let colour = if toast.is_error { palette.fault } else { palette.good };
                let frame = Frame::popup(ui.style()).stroke(egui::Stroke::new(1.5, colour)).inner_margin(9.0);
                frame.show(ui, |ui| {
                    ui.set_max_width(520.0);
                    ui.horizontal(|ui| {
                        let icon = if toast.is_error { Icon::Alarm(Severity::Fault) } else { Icon::Good };
                        icon_ui(ui, icon, colour);
                        ui.add(egui::Label::new(&toast.text).wrap());
                        if ui.small_button("Close").clicked() {
                            closed = Some(index);
                        }
                    });
                });
            }
            if let Some(index) = closed {
                self.shown.remove(index);
            }
            for (index, (work, stop)) in works.iter().enumerate() {
                Frame::popup(ui.style()).inner_margin(9.0).show(ui, |ui| {
                    ui.horizontal(|ui| {
                        icon_ui(ui, Icon::Computing, palette.ink_soft);
                        ui.label(work);
                        if ui.small_button(*stop).clicked() {
                            stopped = Some(index);
                        }
                    });
                });
            }
        });
        stopped
    }
}
