//! Draws laid-out pages to PDF. No date and no random number goes in: same pages, same bytes.

use glam::DVec2;
use krilla::color::luma;
use krilla::geom::{PathBuilder, Point, Transform};
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, TextDirection};

use crate::SheetError;
use crate::lettering::{FONT, Lettering};
use crate::page::{Mark, Page, Pen, Step, rectangle};

/// PDF points in a millimetre.
const POINTS_PER_MM: f64 = 72.0 / 25.4;

/// The pages as the bytes of one PDF file.
pub(crate) fn pdf(title: &str, pages: &[Page]) -> Result<Vec<u8>, SheetError> {
    let refused = |detail: String| SheetError::Pdf { detail };
    let letters = Font::new(FONT.into(), 0)
        .zip(Lettering::new())
        .map(|(font, measures)| Letters { font, measures })
        .ok_or_else(|| refused("the font cannot be read".to_owned()))?;
    let mut document = krilla::Document::new();
    document.set_metadata(
        Metadata::new()
            .title(title.chars().map(plain).collect())
            .creator(format!("Keepside {}", env!("CARGO_PKG_VERSION")))
            .language("en".to_owned()),
    );
    for page in pages {
        let settings = PageSettings::from_wh(points(page.size_mm.x), points(page.size_mm.y))
            .ok_or_else(|| refused(format!("a page of {} mm is not possible", page.size_mm)))?;
        let mut sheet = document.start_page_with(settings);
        let mut surface = sheet.surface();
        for mark in &page.marks {
            draw(&mut surface, &letters, mark);
        }
        surface.finish();
        sheet.finish();
    }
    document.finish().map_err(|error| refused(format!("{error:?}")))
}

/// A character that the document's properties, which are XML, may hold.
fn plain(c: char) -> char {
    if c.is_control() || c as u32 & 0xfffe == 0xfffe { ' ' } else { c }
}

#[expect(clippy::cast_possible_truncation, reason = "PDF coordinates are single precision: 0.0001 mm on A3")]
fn points(mm: f64) -> f32 {
    (mm * POINTS_PER_MM) as f32
}

fn point(mm: DVec2) -> Point {
    Point::from_xy(points(mm.x), points(mm.y))
}

/// The font, to be drawn with and to be measured.
struct Letters {
    font: Font,
    measures: Lettering,
}

fn draw(surface: &mut Surface<'_>, letters: &Letters, mark: &Mark) {
    match mark {
        Mark::Path { steps, pen, fill } => {
            let Some(path) = path(steps) else { return };
            surface.set_fill(fill.map(|grey| Fill {
                paint: luma::Color::new(grey).into(),
                rule: FillRule::EvenOdd,
                ..Fill::default()
            }));
            surface.set_stroke(pen.map(stroke));
            surface.draw_path(&path);
        }
        Mark::Text { at_mm, size_mm, text, grey, turned } => {
            surface.set_fill(Some(Fill { paint: luma::Color::new(*grey).into(), ..Fill::default() }));
            surface.set_stroke(None);
            let at = point(*at_mm);
            if *turned {
                surface.push_transform(&Transform::from_rotate_at(-90.0, at.x, at.y));
            }
            for (along_mm, piece) in letters.measures.runs(text, *size_mm) {
                let at = Point::from_xy(at.x + points(along_mm), at.y);
                surface.draw_text(
                    at,
                    letters.font.clone(),
                    points(*size_mm),
                    piece,
                    false,
                    TextDirection::Auto,
                );
            }
            if *turned {
                surface.pop();
            }
        }
        Mark::BeginClip { low_mm, high_mm } => {
            if let Some(path) = path(&rectangle(*low_mm, *high_mm)) {
                surface.push_clip_path(&path, &FillRule::NonZero);
            }
        }
        Mark::EndClip => surface.pop(),
    }
}

/// The path in points; `None` if it has no extent.
fn path(steps: &[Step]) -> Option<krilla::geom::Path> {
    let mut builder = PathBuilder::new();
    for step in steps {
        match *step {
            Step::Move(to) => builder.move_to(points(to.x), points(to.y)),
            Step::Line(to) => builder.line_to(points(to.x), points(to.y)),
            Step::Curve(first, second, to) => {
                let (first, second, to) = (point(first), point(second), point(to));
                builder.cubic_to(first.x, first.y, second.x, second.y, to.x, to.y);
            }
            Step::Close => builder.close(),
        }
    }
    builder.finish()
}

fn stroke(pen: Pen) -> Stroke {
    let dash = (!pen.dash_mm.is_empty())
        .then(|| StrokeDash { array: pen.dash_mm.iter().map(|mm| points(*mm)).collect(), offset: 0.0 });
    Stroke {
        paint: luma::Color::new(pen.grey).into(),
        width: points(pen.width_mm),
        dash,
        ..Stroke::default()
    }
}
