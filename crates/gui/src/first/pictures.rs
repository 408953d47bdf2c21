//! The four moments of a shot, as cuts through the mould: the fixed half below, the moving half above, as
//! in the side elevation.

use egui::{
    Color32, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2,
};
use keepside_engine::opening::Keeper;

use crate::look::Palette;
use crate::look::hatch::hatch;

/// A moment of a shot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Moment {
    Closed,
    Opening,
    Kept,
    Ejected,
}

impl Moment {
    pub(super) const ALL: [Self; 4] = [Self::Closed, Self::Opening, Self::Kept, Self::Ejected];

    pub(super) const fn title(self) -> &'static str {
        match self {
            Self::Closed => "1  The mould is closed",
            Self::Opening => "2  It opens, and both halves pull",
            Self::Kept => "3  The part stays on the moving half",
            Self::Ejected => "4  Ejectors push it off, flat",
        }
    }

    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::Closed => "Plastic has filled the channel between the two halves, and the sprue.",
            Self::Opening => {
                "The sprue and the walls of the fixed half hold it back; a keying pin pulls it along. It bends."
            }
            Self::Kept => {
                "Where the pins hold harder and longer, the sprue lets go, and the part comes along."
            }
            Self::Ejected => "Set where they push evenly, they take it off its pins without bending it.",
        }
    }

    /// How far the halves are apart, as a share of the picture's height.
    const fn gap(self) -> f32 {
        match self {
            Self::Closed => 0.0,
            Self::Opening => 0.14,
            Self::Kept => 0.4,
            Self::Ejected => 0.52,
        }
    }
}

/// Height of a picture over its width.
const SHAPE: f32 = 0.66;

/// One picture, as wide as this.
pub(super) fn picture_ui(ui: &mut Ui, moment: Moment, wide: f32) {
    let (rect, response) = ui.allocate_exact_size(vec2(wide, wide * SHAPE), Sense::hover());
    response.widget_info(|| WidgetInfo {
        current_text_value: Some(moment.words().to_owned()),
        ..WidgetInfo::labeled(Role::Image, true, moment.title())
    });
    let palette = Palette::of(ui);
    let painter = ui.painter_at(rect.expand(1.0));
    painter.rect_filled(rect, 3.0, palette.canvas);
    Cut { painter: &painter, palette, rect, moment }.draw();
    painter.rect_stroke(rect, 3.0, Stroke::new(1.0, palette.rule), StrokeKind::Inside);
}

/// Half the height of the channel, as a share of the picture's height.
const DEEP: f32 = 0.055;

/// Length of the sprue, as a share of the picture's height.
const SPRUE_LONG: f32 = 0.3;

/// How far the ejectors have pushed the part.
const PUSHED: f32 = 0.14;

/// Where the channel begins and ends, the pins and the ejectors stand, as shares of the width.
const CHANNEL: (f32, f32) = (0.16, 0.84);
const SPRUE: f32 = 0.5;
const PINS: [f32; 2] = [0.3, 0.7];
const EJECTORS: [f32; 2] = [0.22, 0.78];

struct Cut<'a> {
    painter: &'a Painter,
    palette: &'static Palette,
    rect: Rect,
    moment: Moment,
}

impl Cut<'_> {
    /// A place by its shares of width and height, y upwards from the middle.
    fn at(&self, x: f32, y: f32) -> Pos2 {
        pos2(self.rect.left() + x * self.rect.width(), self.rect.center().y - y * self.rect.height())
    }

    fn block(&self, x: (f32, f32), y: (f32, f32)) -> Rect {
        Rect::from_two_pos(self.at(x.0, y.0), self.at(x.1, y.1))
    }

    fn draw(&self) {
        let half = self.moment.gap() / 2.0;
        self.steel(true, half);
        self.steel(false, half);
        self.ejectors(half);
        self.part(half);
        for x in PINS {
            // Over the part: it stands in it.
            let pin = self.block((x - 0.016, x + 0.016), (half - DEEP * 0.45, half + 0.2));
            self.painter.rect(
                pin,
                1.0,
                self.palette.moving,
                Stroke::new(1.0, self.palette.plate),
                StrokeKind::Outside,
            );
        }
        self.arrows(half);
        // Clear of pins, ejectors and arrows in every picture.
        self.name(self.at(0.5, 0.47), "moving half", egui::Align2::CENTER_TOP);
        self.name(self.at(0.03, -0.47), "fixed half", egui::Align2::LEFT_BOTTOM);
    }

    /// Words on a ground of their own, so that the hatching does not disturb.
    fn name(&self, at: Pos2, words: &str, align: egui::Align2) {
        let (font, ink) = (egui::FontId::proportional(10.5), self.palette.ink);
        let galley = self.painter.layout_no_wrap(words.to_owned(), font, ink);
        let rect = align.anchor_size(at, galley.size());
        self.painter.rect_filled(rect.expand(1.5), 2.0, self.palette.plate);
        self.painter.galley(rect.min, galley, ink);
    }

    /// A half, with its side of the channel cut out of it.
    fn steel(&self, moving: bool, half: f32) {
        let palette = self.palette;
        let (sign, ink, keeper) =
            if moving { (1.0, palette.moving, Keeper::Moving) } else { (-1.0, palette.fixed, Keeper::Fixed) };
        let (face, floor, far) = (sign * half, sign * (half + DEEP), sign * 0.5);
        let (left, right) = CHANNEL;
        for block in [
            self.block((0.0, left), (face, far)),
            self.block((right, 1.0), (face, far)),
            self.block((left, right), (floor, far)),
        ] {
            self.painter.rect_filled(block, 0.0, palette.plate);
            let corners = [block.left_top(), block.right_top(), block.right_bottom(), block.left_bottom()];
            let stroke = Stroke::new(0.8, ink.gamma_multiply(0.45));
            hatch(self.painter, &[corners], keeper, self.rect.min, stroke);
        }
        let edge = [(0.0, face), (left, face), (left, floor), (right, floor), (right, face), (1.0, face)];
        let edge = edge.map(|(x, y)| self.at(x, y)).to_vec();
        self.painter.add(Shape::line(edge, Stroke::new(1.4, ink)));
        if !moving {
            // The bore of the sprue.
            self.painter.add(Shape::convex_polygon(
                self.sprue(0.0, floor, floor - SPRUE_LONG),
                palette.canvas,
                Stroke::new(1.2, ink),
            ));
        }
    }

    /// The sprue from `top` down to `tip`, moved up by `lift`.
    fn sprue(&self, lift: f32, top: f32, tip: f32) -> Vec<Pos2> {
        let corner = |side: f32, y: f32, wide: f32| self.at(SPRUE + side * wide, y + lift);
        vec![
            corner(-1.0, top, 0.026),
            corner(1.0, top, 0.026),
            corner(1.0, tip, 0.016),
            corner(-1.0, tip, 0.016),
        ]
    }

    /// Height of the part's middle at `x`, over the middle of the picture.
    fn middle(&self, half: f32, x: f32) -> f32 {
        let seated = half;
        match self.moment {
            Moment::Closed => 0.0,
            Moment::Kept => seated,
            Moment::Ejected => seated - PUSHED,
            Moment::Opening => {
                // Held down at the sprue, pulled up at the pins.
                let away = ((x - SPRUE).abs() / (PINS[1] - SPRUE)).min(1.0);
                let rise = away * away * (3.0 - 2.0 * away);
                -half + (2.0 * half) * rise
            }
        }
    }

    fn part(&self, half: f32) {
        let palette = self.palette;
        let steps = 48_u8;
        let (left, right) = CHANNEL;
        let xs: Vec<f32> =
            (0..=steps).map(|k| left + (right - left) * f32::from(k) / f32::from(steps)).collect();
        let edge = |side: f32| xs.iter().map(move |&x| self.at(x, self.middle(half, x) + side * DEEP));
        let (upper, lower): (Vec<Pos2>, Vec<Pos2>) = (edge(1.0).collect(), edge(-1.0).collect());
        let mut mesh = egui::Mesh::default();
        for (a, b) in upper.iter().zip(&lower) {
            mesh.colored_vertex(*a, palette.plastic);
            mesh.colored_vertex(*b, palette.plastic);
        }
        for k in 0..u32::from(steps) {
            mesh.add_triangle(2 * k, 2 * k + 1, 2 * k + 2);
            mesh.add_triangle(2 * k + 1, 2 * k + 2, 2 * k + 3);
        }
        let outline = Stroke::new(1.5, palette.plastic_edge);
        let lift = match self.moment {
            Moment::Closed => 0.0,
            Moment::Opening => 0.012,
            Moment::Kept | Moment::Ejected => self.middle(half, SPRUE) + half,
        };
        let top = -half - DEEP;
        self.painter.add(Shape::convex_polygon(
            self.sprue(lift, top + 0.004, top - SPRUE_LONG),
            palette.plastic,
            outline,
        ));
        self.painter.add(Shape::mesh(mesh));
        self.painter
            .add(Shape::closed_line(upper.into_iter().chain(lower.into_iter().rev()).collect(), outline));
    }

    fn ejectors(&self, half: f32) {
        let palette = self.palette;
        for x in EJECTORS {
            let tip = match self.moment {
                Moment::Ejected => half - PUSHED + DEEP,
                _ => half + DEEP,
            };
            let pin = self.block((x - 0.02, x + 0.02), (tip, 0.5));
            self.painter.rect(
                pin,
                0.0,
                palette.plate,
                Stroke::new(1.4, palette.plastic_edge),
                StrokeKind::Inside,
            );
        }
    }

    fn arrows(&self, half: f32) {
        let palette = self.palette;
        match self.moment {
            Moment::Closed => {}
            Moment::Opening => {
                for x in PINS {
                    self.arrow(self.at(x, half + 0.06), self.at(x, half + 0.3), palette.moving);
                }
                self.arrow(self.at(SPRUE, -half - 0.1), self.at(SPRUE, -half - 0.33), palette.fixed);
            }
            Moment::Kept => {
                self.arrow(self.at(0.93, half + 0.04), self.at(0.93, half + 0.26), palette.moving);
            }
            Moment::Ejected => {
                for x in EJECTORS {
                    self.arrow(self.at(x, 0.46), self.at(x, half + 0.02), palette.ink);
                }
            }
        }
    }

    fn arrow(&self, from: Pos2, to: Pos2, ink: Color32) {
        let way = (to - from).normalized();
        let (head, side) = (to - way * 8.0, way.rot90() * 5.0);
        // Set off from what lies under it.
        let ground = Stroke::new(5.5, self.palette.plate);
        self.painter.line_segment([from, head], ground);
        self.painter.add(Shape::closed_line(vec![to, head + side, head - side], ground));
        self.painter.line_segment([from, head], Stroke::new(2.4, ink));
        self.painter.add(Shape::convex_polygon(vec![to, head + side, head - side], ink, Stroke::NONE));
    }
}
