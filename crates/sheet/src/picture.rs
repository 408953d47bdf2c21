//! Draws a laid-out page to pixels, for looking at it before it is printed: the same marks as in the PDF,
//! letters by the outlines of the same font.

use glam::DVec2;
use tiny_skia::{
    Color, FillRule, Mask, Paint, Path, PathBuilder, Pixmap, Rect, Stroke, StrokeDash, Transform,
};
use ttf_parser::{Face, GlyphId, OutlineBuilder};

use crate::lettering::FONT;
use crate::page::{Mark, Page, Pen, Step, rectangle};

/// Part of a page in pixels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Width and height, pixels.
    pub size_px: [u32; 2],
    /// Red, green, blue and alpha of each pixel, row by row from the top; opaque.
    pub rgba: Vec<u8>,
}

/// The part of `page` that begins at `from_mm` (upper left corner, paper coordinates) at `px_per_mm`,
/// `size_px` wide and high, on white paper. What lies outside the paper is white too.
///
/// `None` if a size is 0 or so large that it cannot be held (a side over 16,384 pixels), if `px_per_mm` is
/// not a positive number, or if the program was built with a broken font file.
pub fn picture(page: &Page, px_per_mm: f64, from_mm: DVec2, size_px: [u32; 2]) -> Option<Picture> {
    let is_size = |px: &u32| (1..=16_384).contains(px);
    if !(px_per_mm.is_finite() && px_per_mm > 0.0 && from_mm.is_finite() && size_px.iter().all(is_size)) {
        return None;
    }
    let mut pixels = Pixmap::new(size_px[0], size_px[1])?;
    pixels.fill(Color::WHITE);
    let face = Face::parse(FONT, 0).ok()?;
    let mut brush = Brush { pixels, face, px_per_mm, from_mm, clips: Vec::new() };
    for mark in &page.marks {
        brush.draw(mark);
    }
    // Everything on white is opaque, so that there is nothing to divide by alpha.
    Some(Picture { size_px, rgba: brush.pixels.take() })
}

struct Brush {
    pixels: Pixmap,
    face: Face<'static>,
    px_per_mm: f64,
    from_mm: DVec2,
    /// What may be drawn on, innermost last.
    clips: Vec<Mask>,
}

impl Brush {
    fn draw(&mut self, mark: &Mark) {
        match mark {
            Mark::Path { steps, pen, fill } => {
                let Some(path) = self.path(steps) else { return };
                if let Some(grey) = fill {
                    self.fill(&path, *grey, FillRule::EvenOdd);
                }
                if let Some(pen) = pen {
                    self.stroke(&path, *pen);
                }
            }
            Mark::Text { at_mm, size_mm, text, grey, turned } => {
                if let Some(path) = self.letters(*at_mm, *size_mm, text, *turned) {
                    self.fill(&path, *grey, FillRule::Winding);
                }
            }
            Mark::BeginClip { low_mm, high_mm } => self.begin_clip(*low_mm, *high_mm),
            Mark::EndClip => drop(self.clips.pop()),
        }
    }

    fn fill(&mut self, path: &Path, grey: u8, rule: FillRule) {
        let clip = self.clips.last();
        self.pixels.fill_path(path, &paint(grey), rule, Transform::identity(), clip);
    }

    fn stroke(&mut self, path: &Path, pen: Pen) {
        let dashes: Vec<f32> = pen.dash_mm.iter().map(|mm| single(mm * self.px_per_mm)).collect();
        // A hairline that is thinner than a pixel still shows, fainter.
        let stroke = Stroke {
            width: single(pen.width_mm * self.px_per_mm),
            dash: StrokeDash::new(dashes, 0.0),
            ..Stroke::default()
        };
        let clip = self.clips.last();
        self.pixels.stroke_path(path, &paint(pen.grey), &stroke, Transform::identity(), clip);
    }

    fn begin_clip(&mut self, low_mm: DVec2, high_mm: DVec2) {
        let Some(mut mask) = Mask::new(self.pixels.width(), self.pixels.height()) else { return };
        if let Some(path) = self.path(&rectangle(low_mm, high_mm)) {
            match self.clips.last() {
                Some(outer) => {
                    mask.clone_from(outer);
                    mask.intersect_path(&path, FillRule::Winding, true, Transform::identity());
                }
                None => mask.fill_path(&path, FillRule::Winding, true, Transform::identity()),
            }
        }
        self.clips.push(mask);
    }

    fn on_picture(&self, paper_mm: DVec2) -> (f32, f32) {
        let px = (paper_mm - self.from_mm) * self.px_per_mm;
        (single(px.x), single(px.y))
    }

    fn path(&self, steps: &[Step]) -> Option<Path> {
        let mut builder = PathBuilder::new();
        for step in steps {
            match *step {
                Step::Move(to) => {
                    let (x, y) = self.on_picture(to);
                    builder.move_to(x, y);
                }
                Step::Line(to) => {
                    let (x, y) = self.on_picture(to);
                    builder.line_to(x, y);
                }
                Step::Curve(first, second, to) => {
                    let [(x1, y1), (x2, y2), (x, y)] = [first, second, to].map(|at| self.on_picture(at));
                    builder.cubic_to(x1, y1, x2, y2, x, y);
                }
                Step::Close => builder.close(),
            }
        }
        builder.finish()
    }

    /// The outlines of a line of text; `None` if there is nothing to see of it.
    fn letters(&self, at_mm: DVec2, size_mm: f64, text: &str, turned: bool) -> Option<Path> {
        let mm_per_unit = size_mm / f64::from(self.face.units_per_em());
        let mut builder = PathBuilder::new();
        let mut along_mm = 0.0;
        for c in text.chars() {
            let glyph = self.face.glyph_index(c).unwrap_or(GlyphId(0));
            let place = |x: f32, y: f32| {
                let from_pen = DVec2::new(along_mm + f64::from(x) * mm_per_unit, -f64::from(y) * mm_per_unit);
                // Upwards on the paper is a quarter turn to the left.
                let from_start = if turned { DVec2::new(from_pen.y, -from_pen.x) } else { from_pen };
                self.on_picture(at_mm + from_start)
            };
            self.face.outline_glyph(glyph, &mut Glyph { builder: &mut builder, place });
            along_mm += f64::from(self.face.glyph_hor_advance(glyph).unwrap_or(0)) * mm_per_unit;
        }
        let path = builder.finish()?;
        let seen = Rect::from_xywh(
            0.0,
            0.0,
            single(self.pixels.width().into()),
            single(self.pixels.height().into()),
        )?;
        path.bounds().intersect(&seen).is_some().then_some(path)
    }
}

/// Takes the outline of one glyph, placed.
struct Glyph<'a, P> {
    builder: &'a mut PathBuilder,
    place: P,
}

impl<P: Fn(f32, f32) -> (f32, f32)> OutlineBuilder for Glyph<'_, P> {
    fn move_to(&mut self, x: f32, y: f32) {
        let (x, y) = (self.place)(x, y);
        self.builder.move_to(x, y);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        let (x, y) = (self.place)(x, y);
        self.builder.line_to(x, y);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let ((x1, y1), (x, y)) = ((self.place)(x1, y1), (self.place)(x, y));
        self.builder.quad_to(x1, y1, x, y);
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let ((x1, y1), (x2, y2), (x, y)) = ((self.place)(x1, y1), (self.place)(x2, y2), (self.place)(x, y));
        self.builder.cubic_to(x1, y1, x2, y2, x, y);
    }

    fn close(&mut self) {
        self.builder.close();
    }
}

fn paint(grey: u8) -> Paint<'static> {
    let mut paint = Paint::default();
    paint.set_color_rgba8(grey, grey, grey, 255);
    paint
}

#[expect(clippy::cast_possible_truncation, reason = "places on a picture: a thousandth of a pixel is enough")]
fn single(px: f64) -> f32 {
    px as f32
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Grey of the pixel in the middle of a place of the paper, at 10 pixels a millimetre.
    fn grey(picture: &Picture, at_mm: DVec2) -> u8 {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "places on a small picture"
        )]
        let [x, y] = [at_mm.x, at_mm.y].map(|mm| (mm * 10.0) as usize);
        picture.rgba[(y * picture.size_px[0] as usize + x) * 4]
    }

    fn drawn(page: &Page) -> Picture {
        picture(page, 10.0, DVec2::ZERO, [300, 200]).unwrap()
    }

    #[test]
    fn marks_are_where_the_paper_has_them() {
        let mut page = Page::new(DVec2::new(30.0, 20.0));
        page.fill(rectangle(DVec2::new(2.0, 3.0), DVec2::new(7.0, 5.0)), 40);
        page.stroke(crate::page::circle(DVec2::new(20.0, 10.0), 8.0), Pen::EDGE);
        let picture = drawn(&page);
        for (at, expected) in [
            ((1.9, 4.0), 255),
            ((2.1, 3.1), 40),
            ((6.9, 4.9), 40),
            ((7.1, 5.1), 255),
            ((24.0, 10.0), 0),
            ((20.0, 6.0), 0),
            ((20.0, 10.0), 255),
            ((23.0, 10.0), 255),
        ] {
            assert_eq!(grey(&picture, DVec2::new(at.0, at.1)), expected, "{at:?}");
        }
    }

    #[test]
    fn what_is_clipped_does_not_show_and_clips_within_clips_narrow() {
        let mut page = Page::new(DVec2::new(30.0, 20.0));
        let clip = |x: f64| Mark::BeginClip { low_mm: DVec2::new(x, 0.0), high_mm: DVec2::new(20.0, 20.0) };
        page.marks.push(clip(5.0));
        page.marks.push(clip(10.0));
        page.fill(rectangle(DVec2::ZERO, DVec2::new(30.0, 4.0)), 0);
        page.marks.push(Mark::EndClip);
        page.fill(rectangle(DVec2::new(0.0, 5.0), DVec2::new(30.0, 9.0)), 0);
        page.marks.push(Mark::EndClip);
        page.fill(rectangle(DVec2::new(0.0, 10.0), DVec2::new(30.0, 14.0)), 0);
        let picture = drawn(&page);
        for (y, first_black) in [(2.0, 10.0), (7.0, 5.0), (12.0, 0.0)] {
            for x in [0.5, 4.5, 5.5, 9.5, 10.5, 19.5, 20.5, 29.5] {
                let is_black = x > first_black && (first_black == 0.0 || x < 20.0);
                assert_eq!(grey(&picture, DVec2::new(x, y)) == 0, is_black, "{x} {y}");
            }
        }
    }

    /// The letter l of the font is one upright bar: its height and place tell size, origin and turn.
    #[test]
    fn letters_stand_on_their_baseline_and_turned_ones_read_upwards() {
        let mut page = Page::new(DVec2::new(30.0, 20.0));
        page.text(DVec2::new(2.0, 18.0), 10.0, 0, "l".to_owned());
        page.marks.push(Mark::Text {
            at_mm: DVec2::new(28.0, 18.0),
            size_mm: 10.0,
            text: "l".to_owned(),
            grey: 0,
            turned: true,
        });
        let picture = drawn(&page);
        let black = |low: DVec2, high: DVec2| {
            let (mut least, mut most) = (DVec2::INFINITY, DVec2::NEG_INFINITY);
            let steps = |from: f64, to: f64| {
                (0..).map(move |i| from + 0.05 + 0.1 * f64::from(i)).take_while(move |at| *at < to)
            };
            for x in steps(low.x, high.x) {
                for y in steps(low.y, high.y) {
                    if grey(&picture, DVec2::new(x, y)) < 128 {
                        (least, most) = (least.min(DVec2::new(x, y)), most.max(DVec2::new(x, y)));
                    }
                }
            }
            (least, most)
        };
        let face = Face::parse(FONT, 0).unwrap();
        let bounds = face.glyph_bounding_box(face.glyph_index('l').unwrap()).unwrap();
        let mm = |units: i16| f64::from(units) * 10.0 / f64::from(face.units_per_em());
        let (least, most) = black(DVec2::ZERO, DVec2::new(15.0, 20.0));
        let near = |a: f64, b: f64| assert!((a - b).abs() < 0.11, "{a} {b}");
        near(most.y, 18.0);
        near(least.y, 18.0 - mm(bounds.y_max));
        near(least.x, 2.0 + mm(bounds.x_min));
        let (least, most) = black(DVec2::new(15.0, 0.0), DVec2::new(30.0, 20.0));
        near(most.x, 28.0);
        near(least.x, 28.0 - mm(bounds.y_max));
        near(most.y, 18.0 - mm(bounds.x_min));
    }

    #[test]
    fn a_part_of_a_page_is_that_part_of_its_picture() {
        let mut page = Page::new(DVec2::new(30.0, 20.0));
        // Edges on whole pixels, so that no pixel is half covered.
        for (i, x) in [2.0, 5.5, 8.1, 13.3, 14.8].into_iter().enumerate() {
            let low = DVec2::new(x, [2.1, 4.0, 9.9][i % 3]);
            page.fill(rectangle(low, low + DVec2::new(1.2, 3.4)), 30);
        }
        let (whole, part) = (drawn(&page), picture(&page, 10.0, DVec2::new(5.0, 3.0), [100, 80]).unwrap());
        for y in 0..80_usize {
            let row = ((y + 30) * 300 + 50) * 4;
            assert_eq!(part.rgba[y * 400..(y + 1) * 400], whole.rgba[row..row + 400], "row {y}");
        }
        assert!(part.rgba.contains(&30));
    }

    #[test]
    fn impossible_pictures_are_refused() {
        let page = Page::new(DVec2::new(30.0, 20.0));
        for (scale, from, size) in [
            (0.0, DVec2::ZERO, [10, 10]),
            (f64::NAN, DVec2::ZERO, [10, 10]),
            (1.0, DVec2::NAN, [10, 10]),
            (1.0, DVec2::ZERO, [0, 10]),
            (1.0, DVec2::ZERO, [20_000, 10]),
        ] {
            assert_eq!(picture(&page, scale, from, size), None);
        }
    }
}
