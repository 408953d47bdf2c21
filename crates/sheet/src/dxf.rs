//! A plate as DXF R12 (AC1009), in mm: the form that every reader knows.
//!
//! Group codes after the DXF Reference of the format's publisher (from memory). R12 has no unit of its own;
//! `$INSUNITS` is written all the same, as readers look for it. Text is ASCII; other characters are written
//! as `\U+XXXX`.

use std::fmt::Write as _;

use glam::DVec2;
use keepside_engine::outline::Piece;
use keepside_model::{Half, Project};

use crate::drawing::{Drawn, Layer, Shape, decimal, plate};

/// Size of the title, mm.
const TITLE_MM: f64 = 4.0;
/// Longest text that R12 takes, bytes.
const MAX_TEXT: usize = 250;

/// The DXF file of one plate.
pub(crate) fn dxf(project: &Project, half: Half) -> Vec<u8> {
    let plates = &project.plates;
    let title = format!("{}: {} half, seen on its parting face", project.name, half.word());
    let at = DVec2::new(0.0, plates.height_mm + TITLE_MM);
    let title = Drawn { layer: Layer::Text, shape: Shape::Text { at, size_mm: TITLE_MM, text: title } };
    let mut file = File { text: String::new() };
    file.header(DVec2::new(plates.width_mm, plates.height_mm + 2.0 * TITLE_MM));
    file.tables();
    file.words(&[(0, "SECTION"), (2, "ENTITIES")]);
    for Drawn { layer, shape } in plate(project, half).iter().chain([&title]) {
        file.shape(layer.name(), shape);
    }
    file.words(&[(0, "ENDSEC"), (0, "EOF")]);
    file.text.into_bytes()
}

struct File {
    text: String,
}

impl File {
    fn word(&mut self, code: i32, value: &str) {
        // Writing to a string cannot fail.
        _ = writeln!(self.text, "{code}\n{value}");
    }

    fn words(&mut self, pairs: &[(i32, &str)]) {
        pairs.iter().for_each(|(code, value)| self.word(*code, value));
    }

    fn number(&mut self, code: i32, value: f64) {
        self.word(code, &decimal(value));
    }

    fn point(&mut self, code: i32, at: DVec2) {
        self.number(code, at.x);
        self.number(code + 10, at.y);
        self.number(code + 20, 0.0);
    }

    fn header(&mut self, high: DVec2) {
        self.words(&[(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009")]);
        self.words(&[(9, "$DWGCODEPAGE"), (3, "ANSI_1252"), (9, "$INSUNITS"), (70, "4")]);
        self.words(&[(9, "$MEASUREMENT"), (70, "1"), (9, "$EXTMIN")]);
        self.point(10, DVec2::ZERO);
        self.word(9, "$EXTMAX");
        self.point(10, high);
        self.word(0, "ENDSEC");
    }

    fn tables(&mut self) {
        self.words(&[(0, "SECTION"), (2, "TABLES")]);
        self.words(&[(0, "TABLE"), (2, "LTYPE"), (70, "1"), (0, "LTYPE"), (2, "CONTINUOUS"), (70, "0")]);
        self.words(&[(3, "Solid line"), (72, "65"), (73, "0"), (40, "0"), (0, "ENDTAB")]);
        self.words(&[(0, "TABLE"), (2, "LAYER"), (70, &(Layer::ALL.len() + 1).to_string())]);
        let layers = Layer::ALL.map(|layer| (layer.name(), colour(layer)));
        for (name, colour) in [("0", "7")].into_iter().chain(layers) {
            self.words(&[(0, "LAYER"), (2, name), (70, "0"), (62, colour), (6, "CONTINUOUS")]);
        }
        self.words(&[(0, "ENDTAB"), (0, "TABLE"), (2, "STYLE"), (70, "1"), (0, "STYLE")]);
        self.words(&[(2, "STANDARD"), (70, "0"), (40, "0"), (41, "1"), (50, "0"), (71, "0")]);
        self.words(&[(42, "2.5"), (3, "txt"), (4, ""), (0, "ENDTAB"), (0, "ENDSEC")]);
    }

    fn shape(&mut self, layer: &str, shape: &Shape) {
        match shape {
            Shape::Path { pieces, .. } => pieces.iter().for_each(|piece| self.piece(layer, piece)),
            Shape::Circle { centre, radius_mm } => {
                self.words(&[(0, "CIRCLE"), (8, layer)]);
                self.point(10, *centre);
                self.number(40, *radius_mm);
            }
            Shape::Text { at, size_mm, text } => {
                self.words(&[(0, "TEXT"), (8, layer)]);
                self.point(10, *at);
                self.number(40, *size_mm);
                self.word(1, &escaped(text));
            }
        }
    }

    fn piece(&mut self, layer: &str, piece: &Piece) {
        match *piece {
            Piece::Line { from, to } => {
                self.words(&[(0, "LINE"), (8, layer)]);
                self.point(10, from);
                self.point(11, to);
            }
            Piece::Arc { centre, radius_mm, from_rad, sweep_rad } => {
                // Always anticlockwise here.
                let low_rad = if sweep_rad < 0.0 { from_rad + sweep_rad } else { from_rad };
                self.words(&[(0, "ARC"), (8, layer)]);
                self.point(10, centre);
                self.number(40, radius_mm);
                self.number(50, low_rad.to_degrees().rem_euclid(360.0));
                self.number(51, (low_rad + sweep_rad.abs()).to_degrees().rem_euclid(360.0));
            }
        }
    }
}

/// Colour number of a layer, of the seven that have names: 1 red, 2 yellow, 3 green, 4 cyan, 5 blue,
/// 6 magenta, 7 black or white, 8 grey.
const fn colour(layer: Layer) -> &'static str {
    match layer {
        Layer::Plate | Layer::Holes | Layer::Text => "7",
        Layer::Channel => "5",
        Layer::CentreLines | Layer::CentreMarks => "3",
        Layer::Finished | Layer::Threads => "4",
        Layer::Heads | Layer::Vents => "6",
        Layer::OtherHalf => "8",
        Layer::CheckFirst => "1",
    }
}

/// A text as R12 takes it: one line of ASCII. Signs that readers would take for commands are kept from it.
fn escaped(text: &str) -> String {
    let mut line = String::new();
    let mut last = ' ';
    for character in text.chars() {
        let piece = match character {
            // Two of them begin a special sign.
            '%' if last == '%' => " %".to_owned(),
            '^' => "^ ".to_owned(),
            ' '..='~' => character.to_string(),
            character if character.is_control() => " ".to_owned(),
            character => match u32::from(character) {
                code @ 0..=0xffff => format!("\\U+{code:04X}"),
                _ => "?".to_owned(),
            },
        };
        if line.len() + piece.len() > MAX_TEXT {
            break;
        }
        line += &piece;
        last = character;
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_one_line_of_ascii_that_commands_nothing() {
        assert_eq!(escaped("Größe Ω 中"), "Gr\\U+00F6\\U+00DFe \\U+03A9 \\U+4E2D");
        assert_eq!(escaped("50%%d\n0\nEOF ^J"), "50% %d 0 EOF ^ J");
        assert_eq!(escaped("\u{1f600}"), "?");
        assert!(escaped(&"中".repeat(100)).len() <= MAX_TEXT);
    }
}
