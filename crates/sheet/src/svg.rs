//! A plate as SVG at true size: one unit is one mm, the picture is the plate.

use std::f64::consts::{FRAC_PI_2, PI};
use std::fmt::Write as _;

use glam::DVec2;
use keepside_engine::outline::Piece;
use keepside_model::{Half, Project};

use crate::drawing::{Drawn, Layer, Shape, decimal, plate};

/// The SVG file of one plate.
pub(crate) fn svg(project: &Project, half: Half) -> Vec<u8> {
    let plates = &project.plates;
    let (width, height) = (decimal(plates.width_mm), decimal(plates.height_mm));
    let title = format!("{}: {} half, seen on its parting face", project.name, half.word());
    let mut text = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {width} {height}\" overflow=\"visible\">\n<title>{}</title>\n\
         <desc>1 unit = 1 mm. Print at 100 %, no fitting to page, and measure the plate.</desc>\n",
        escaped(&title)
    );
    let drawn = plate(project, half);
    let page = Page { height_mm: plates.height_mm };
    for layer in Layer::ALL {
        let shapes: String =
            drawn.iter().filter(|drawn| drawn.layer == layer).map(|drawn| page.shape(drawn)).collect();
        if !shapes.is_empty() {
            let (name, look, meaning) = (layer.name(), look(layer), layer.meaning());
            // Writing to a string cannot fail.
            _ = write!(text, "<g id=\"{name}\" {look}>\n<desc>{meaning}</desc>\n{shapes}</g>\n");
        }
    }
    text += "</svg>\n";
    text.into_bytes()
}

/// How the lines of a layer look. Widths as on the printed sheet, mm.
const fn look(layer: Layer) -> &'static str {
    match layer {
        Layer::Plate => "fill=\"none\" stroke=\"#000000\" stroke-width=\"0.5\"",
        Layer::Channel => "fill=\"none\" stroke=\"#1f4e9c\" stroke-width=\"0.25\"",
        Layer::CentreLines => {
            "fill=\"none\" stroke=\"#1f7a3a\" stroke-width=\"0.13\" stroke-dasharray=\"3 0.7 0.5 0.7\""
        }
        Layer::Holes => "fill=\"none\" stroke=\"#000000\" stroke-width=\"0.35\"",
        Layer::Finished | Layer::Threads => "fill=\"none\" stroke=\"#000000\" stroke-width=\"0.18\"",
        Layer::Heads => {
            "fill=\"none\" stroke=\"#444444\" stroke-width=\"0.18\" stroke-dasharray=\"2 0.6 0.4 0.6\""
        }
        Layer::Vents => "fill=\"none\" stroke=\"#7a1f7a\" stroke-width=\"0.18\"",
        Layer::CentreMarks => "fill=\"none\" stroke=\"#000000\" stroke-width=\"0.13\"",
        Layer::OtherHalf => {
            "fill=\"none\" stroke=\"#808080\" stroke-width=\"0.18\" stroke-dasharray=\"1.2 0.8\""
        }
        Layer::CheckFirst => {
            "fill=\"none\" stroke=\"#b00020\" stroke-width=\"0.35\" stroke-dasharray=\"0.8 0.8\""
        }
        Layer::Text => "fill=\"#000000\" stroke=\"none\" font-family=\"sans-serif\"",
    }
}

/// The page: y goes down from the plate's upper edge.
struct Page {
    height_mm: f64,
}

impl Page {
    fn point(&self, at: DVec2) -> String {
        format!("{} {}", decimal(at.x), decimal(self.height_mm - at.y))
    }

    fn shape(&self, drawn: &Drawn) -> String {
        match &drawn.shape {
            Shape::Path { pieces, closed } => format!("<path d=\"{}\"/>\n", self.path(pieces, *closed)),
            Shape::Circle { centre, radius_mm } => {
                let (x, y) = (decimal(centre.x), decimal(self.height_mm - centre.y));
                format!("<circle cx=\"{x}\" cy=\"{y}\" r=\"{}\"/>\n", decimal(*radius_mm))
            }
            Shape::Text { at, size_mm, text } => {
                let (x, y, size) = (decimal(at.x), decimal(self.height_mm - at.y), decimal(*size_mm));
                format!("<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\">{}</text>\n", escaped(text))
            }
        }
    }

    fn path(&self, pieces: &[Piece], closed: bool) -> String {
        let mut data = String::new();
        for (index, piece) in pieces.iter().enumerate() {
            let is_last = closed && index + 1 == pieces.len();
            match *piece {
                Piece::Line { from, to } => {
                    if index == 0 {
                        data = format!("M{}", self.point(from));
                    }
                    // The line back to the start is drawn by closing.
                    if !is_last {
                        data += &format!(" L{}", self.point(to));
                    }
                }
                Piece::Arc { centre, radius_mm, from_rad, sweep_rad } => {
                    let at = |rad| centre + DVec2::from_angle(rad) * radius_mm;
                    if index == 0 {
                        data = format!("M{}", self.point(at(from_rad)));
                    }
                    // The two ends of half a circle tell its centre badly: quarters do it well.
                    let wide = sweep_rad.abs() > 2.0 / 3.0 * PI;
                    let parts = if wide { (sweep_rad.abs() / FRAC_PI_2 - 1e-9).ceil() } else { 1.0 };
                    let radius = decimal(radius_mm);
                    // y goes down, so what turns left turns with growing angles the other way.
                    let sweep = u8::from(sweep_rad < 0.0);
                    let mut part = 1.0;
                    while part <= parts {
                        let to = self.point(at(from_rad + sweep_rad * part / parts));
                        data += &format!(" A{radius} {radius} 0 0 {sweep} {to}");
                        part += 1.0;
                    }
                }
            }
        }
        if closed { data + " Z" } else { data }
    }
}

/// A text for XML: what marks up is escaped, what XML forbids is a space.
fn escaped(text: &str) -> String {
    let mut escaped = String::new();
    for character in text.chars() {
        match character {
            '&' => escaped += "&amp;",
            '<' => escaped += "&lt;",
            '>' => escaped += "&gt;",
            '\u{fffe}' | '\u{ffff}' => escaped.push(' '),
            character if character.is_control() => escaped.push(' '),
            character => escaped.push(character),
        }
    }
    escaped
}
