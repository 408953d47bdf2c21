//! Icons drawn with lines and circles, so that no font needs to have them, and the buttons that show
//! them.

use egui::{Color32, Painter, Pos2, Rect, Response, Role, Sense, Shape, Stroke, Ui, Vec2, WidgetInfo, pos2};
use keepside_engine::Severity;

/// The pictures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Icon {
    Select,
    Pin,
    Gate,
    Vent,
    Ejector,
    Note,
    StepBack,
    StepOn,
    Run,
    Shapes,
    Measure,
    Lock,
    Undo,
    Redo,
    Play,
    Pause,
    Good,
    Alarm(Severity),
    Computing,
}

/// Size of an icon, points.
const SIZE: f32 = 16.0;

/// Draws an icon into a square.
pub(crate) fn paint(painter: &Painter, icon: Icon, square: Rect, ink: Color32) {
    let at = |x: f32, y: f32| pos2(square.left() + x * square.width(), square.top() + y * square.height());
    let unit = square.width() / SIZE;
    let stroke = Stroke::new(1.5 * unit, ink);
    let line = |points: &[Pos2]| {
        painter.add(Shape::line(points.to_vec(), stroke));
    };
    let fill = |points: Vec<Pos2>| {
        painter.add(Shape::convex_polygon(points, ink, Stroke::NONE));
    };
    let centre = square.center();
    match icon {
        Icon::Select => {
            fill(vec![at(0.25, 0.1), at(0.78, 0.6), at(0.5, 0.62), at(0.25, 0.82)]);
            line(&[at(0.48, 0.6), at(0.62, 0.9)]);
        }
        Icon::Pin => {
            painter.circle_stroke(centre, 5.5 * unit, stroke);
            let hexagon = (0..6u8).map(|corner| {
                centre + Vec2::angled(f32::from(corner) * std::f32::consts::FRAC_PI_3) * (3.2 * unit)
            });
            fill(hexagon.collect());
        }
        Icon::Gate => {
            line(&[at(0.2, 0.12), at(0.38, 0.7)]);
            line(&[at(0.8, 0.12), at(0.62, 0.7)]);
            line(&[at(0.05, 0.88), at(0.95, 0.88)]);
            fill(vec![at(0.36, 0.55), at(0.64, 0.55), at(0.5, 0.86)]);
        }
        Icon::Vent => {
            line(&[at(0.05, 0.75), at(0.95, 0.75)]);
            for x in [0.25, 0.5, 0.75] {
                line(&[at(x, 0.65), at(x, 0.25)]);
                line(&[at(x - 0.1, 0.38), at(x, 0.2), at(x + 0.1, 0.38)]);
            }
        }
        Icon::Ejector => {
            // A pin with its head, and the part it lifts.
            line(&[at(0.1, 0.18), at(0.9, 0.18)]);
            line(&[at(0.25, 0.92), at(0.75, 0.92)]);
            fill(vec![at(0.4, 0.3), at(0.6, 0.3), at(0.6, 0.92), at(0.4, 0.92)]);
        }
        Icon::Note => {
            // A flag with words on it.
            line(&[at(0.15, 0.95), at(0.15, 0.1), at(0.95, 0.1), at(0.95, 0.6), at(0.15, 0.6)]);
            line(&[at(0.32, 0.28), at(0.78, 0.28)]);
            line(&[at(0.32, 0.44), at(0.62, 0.44)]);
        }
        Icon::StepBack | Icon::StepOn => {
            let flip = |x: f32| if icon == Icon::StepOn { x } else { 1.0 - x };
            fill(vec![at(flip(0.2), 0.18), at(flip(0.68), 0.5), at(flip(0.2), 0.82)]);
            line(&[at(flip(0.8), 0.18), at(flip(0.8), 0.82)]);
        }
        Icon::Run => {
            // A bent path between two points.
            line(&[at(0.16, 0.84), at(0.44, 0.3), at(0.84, 0.24)]);
            for (x, y) in [(0.16, 0.84), (0.44, 0.3), (0.84, 0.24)] {
                painter.circle_filled(at(x, y), 2.2 * unit, ink);
            }
        }
        Icon::Shapes => {
            // A ring over a corner of a frame.
            painter.circle_stroke(at(0.64, 0.36), 4.4 * unit, stroke);
            line(&[at(0.3, 0.3), at(0.08, 0.3), at(0.08, 0.92), at(0.7, 0.92), at(0.7, 0.72)]);
        }
        Icon::Measure => {
            // A rule with its marks, between two ends.
            line(&[at(0.08, 0.2), at(0.08, 0.8)]);
            line(&[at(0.92, 0.2), at(0.92, 0.8)]);
            line(&[at(0.08, 0.5), at(0.92, 0.5)]);
            for x in [0.29, 0.5, 0.71] {
                line(&[at(x, 0.5), at(x, 0.34)]);
            }
        }
        Icon::Lock => {
            let bow = (0..=10u8).map(|step| {
                let angle = std::f32::consts::PI * f32::from(step) / 10.0;
                at(0.5 + 0.22 * angle.cos(), 0.38 - 0.26 * angle.sin())
            });
            let bow: Vec<Pos2> = std::iter::once(at(0.72, 0.5)).chain(bow).chain([at(0.28, 0.5)]).collect();
            line(&bow);
            fill(vec![at(0.16, 0.46), at(0.84, 0.46), at(0.84, 0.92), at(0.16, 0.92)]);
        }
        Icon::Undo | Icon::Redo => {
            let flip = |x: f32| if icon == Icon::Undo { x } else { 1.0 - x };
            let arc = (0..=10u8).map(|step| {
                let angle = std::f32::consts::PI * (0.9 - 1.25 * f32::from(step) / 10.0);
                at(flip(0.52 + 0.36 * angle.cos()), 0.58 - 0.36 * angle.sin())
            });
            painter.add(Shape::line(arc.collect(), stroke));
            fill(vec![at(flip(0.02), 0.36), at(flip(0.42), 0.5), at(flip(0.12), 0.74)]);
        }
        Icon::Play => fill(vec![at(0.25, 0.12), at(0.85, 0.5), at(0.25, 0.88)]),
        Icon::Pause => {
            fill(vec![at(0.22, 0.15), at(0.42, 0.15), at(0.42, 0.85), at(0.22, 0.85)]);
            fill(vec![at(0.58, 0.15), at(0.78, 0.15), at(0.78, 0.85), at(0.58, 0.85)]);
        }
        Icon::Good => {
            painter.circle_stroke(centre, 6.5 * unit, stroke);
            line(&[at(0.28, 0.52), at(0.45, 0.68), at(0.73, 0.34)]);
        }
        Icon::Alarm(Severity::Fault) => {
            painter.circle_stroke(centre, 6.5 * unit, stroke);
            line(&[at(0.33, 0.33), at(0.67, 0.67)]);
            line(&[at(0.67, 0.33), at(0.33, 0.67)]);
        }
        Icon::Alarm(Severity::Warning) => {
            line(&[at(0.5, 0.1), at(0.95, 0.88), at(0.05, 0.88), at(0.5, 0.1)]);
            line(&[at(0.5, 0.38), at(0.5, 0.62)]);
            painter.circle_filled(at(0.5, 0.75), 1.1 * unit, ink);
        }
        Icon::Alarm(Severity::Note) => {
            painter.circle_stroke(centre, 6.5 * unit, stroke);
            line(&[at(0.5, 0.45), at(0.5, 0.75)]);
            painter.circle_filled(at(0.5, 0.28), 1.1 * unit, ink);
        }
        Icon::Computing => {
            for x in [0.2, 0.5, 0.8] {
                painter.circle_filled(at(x, 0.5), 1.8 * unit, ink);
            }
        }
    }
}

/// Shows an icon that is no button.
pub(crate) fn icon_ui(ui: &mut Ui, icon: Icon, ink: Color32) {
    let (rect, _) = ui.allocate_exact_size(Vec2::splat(SIZE), Sense::hover());
    paint(ui.painter(), icon, rect, ink);
}

/// How a button with an icon looks.
#[derive(Clone, Copy)]
pub(crate) struct IconButton<'a> {
    pub(crate) icon: Icon,
    /// Its name, shown beside the icon if `with_text`, else told when the pointer rests on it.
    pub(crate) name: &'a str,
    pub(crate) with_text: bool,
    pub(crate) selected: bool,
    pub(crate) enabled: bool,
}

impl IconButton<'_> {
    /// Shows the button; what the user did with it is in the response.
    pub(crate) fn show(self, ui: &mut Ui, hint: &str) -> Response {
        let Self { icon, name, with_text, selected, enabled } = self;
        let padding = ui.spacing().button_padding;
        let height = ui.spacing().interact_size.y + 2.0;
        let font = egui::TextStyle::Button.resolve(ui.style());
        let galley =
            with_text.then(|| ui.painter().layout_no_wrap(name.to_owned(), font, Color32::PLACEHOLDER));
        let text_width = galley.as_ref().map_or(0.0, |galley| galley.size().x + 5.0);
        let size = Vec2::new(SIZE + text_width + 2.0 * padding.x.min(6.0), height);
        ui.add_enabled_ui(enabled, |ui| {
            let (rect, response) = ui.allocate_exact_size(size, Sense::click());
            response.widget_info(|| WidgetInfo::selected(Role::Button, enabled, selected, name));
            let style = ui.style().interact_selectable(&response, selected);
            ui.painter().rect(
                rect,
                style.corner_radius,
                style.weak_bg_fill,
                style.bg_stroke,
                egui::StrokeKind::Inside,
            );
            let middle = pos2(rect.left() + padding.x.min(6.0) + SIZE / 2.0, rect.center().y);
            paint(
                ui.painter(),
                icon,
                Rect::from_center_size(middle, Vec2::splat(SIZE)),
                style.fg_stroke.color,
            );
            if let Some(galley) = galley {
                let text_at = pos2(middle.x + SIZE / 2.0 + 5.0, rect.center().y - galley.size().y / 2.0);
                ui.painter().galley(text_at, galley, style.fg_stroke.color);
            }
            if response.has_focus() {
                ui.painter().rect_stroke(
                    rect.expand(1.0),
                    style.corner_radius,
                    Stroke::new(1.5, ui.visuals().hyperlink_color),
                    egui::StrokeKind::Outside,
                );
            }
            response.on_hover_text(if with_text { hint.to_owned() } else { format!("{name}. {hint}") })
        })
        .inner
    }
}
