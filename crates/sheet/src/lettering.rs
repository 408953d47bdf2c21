//! The one font of the sheets: which characters it has, how wide a text is, cutting and wrapping.

use ttf_parser::Face;

/// `DejaVuSansCondensed`: Latin, Greek, Cyrillic and more; figures of equal width. Its licence lies
/// beside it.
pub(crate) const FONT: &[u8] = include_bytes!("../../../assets/fonts/DejaVuSansCondensed.ttf");

/// Size of the em square of ordinary letters, mm: capitals and figures are 0.729 of it, 2.5 mm, the least
/// height for drawings of these sizes (ISO 3098-1, from memory).
pub(crate) const LETTERS_MM: f64 = 3.45;

/// Measures texts in the font.
pub(crate) struct Lettering {
    face: Face<'static>,
}

impl Lettering {
    /// Reads the font; `None` only if the program was built with a broken font file.
    pub(crate) fn new() -> Option<Self> {
        Face::parse(FONT, 0).ok().map(|face| Self { face })
    }

    /// The text with every character that would not show (no glyph, control, invisible) replaced by a
    /// question mark, and white space by a plain space.
    pub(crate) fn printable(&self, text: &str) -> String {
        let shown = |c: char| match c {
            c if c.is_whitespace() => ' ',
            // Zero-width and text-direction characters, and the soft hyphen.
            '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' => '?',
            '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' => '?',
            c if c.is_control() || self.face.glyph_index(c).is_none() => '?',
            c => c,
        };
        text.chars().map(shown).collect()
    }

    /// Whether a text has letters that would not show, other than white space and invisible ones.
    pub(crate) fn lacks(&self, text: &str) -> bool {
        text.chars()
            .any(|c| c != '?' && !c.is_control() && !c.is_whitespace() && self.face.glyph_index(c).is_none())
    }

    /// The text in pieces that are each read one way, with the distance from the text's start to each, mm:
    /// words of scripts that run from right to left stand together, in a text that runs from left to right.
    pub(crate) fn runs<'t>(&self, text: &'t str, size_mm: f64) -> Vec<(f64, &'t str)> {
        let mut cuts = vec![0];
        let mut is_leftwards = false;
        // Where the white space and signs begin that follow the last letter.
        let mut after = 0;
        for (at, c) in text.char_indices().filter(|(_, c)| c.is_alphanumeric()) {
            if runs_leftwards(c) != is_leftwards {
                is_leftwards = !is_leftwards;
                cuts.push(if is_leftwards { at } else { after });
            }
            after = at + c.len_utf8();
        }
        cuts.push(text.len());
        let pieces =
            cuts.windows(2).map(|ends| (self.width_mm(&text[..ends[0]], size_mm), &text[ends[0]..ends[1]]));
        pieces.filter(|(_, piece)| !piece.is_empty()).collect()
    }

    /// Width of a text in mm at a letter size of `size_mm`, without kerning.
    pub(crate) fn width_mm(&self, text: &str, size_mm: f64) -> f64 {
        let advance = |c| self.face.glyph_index(c).and_then(|glyph| self.face.glyph_hor_advance(glyph));
        let units: u32 = text.chars().filter_map(advance).map(u32::from).sum();
        f64::from(units) * size_mm / f64::from(self.face.units_per_em())
    }

    /// The printable text, cut with an ellipsis if it is wider than `room_mm`.
    pub(crate) fn fitted(&self, text: &str, size_mm: f64, room_mm: f64) -> String {
        let mut text = self.printable(text.trim());
        if self.width_mm(&text, size_mm) <= room_mm {
            return text;
        }
        while text.pop().is_some() {
            let cut = format!("{}…", text.trim_end());
            if self.width_mm(&cut, size_mm) <= room_mm {
                return cut;
            }
        }
        String::new()
    }

    /// The printable text in lines no wider than `room_mm`, broken at spaces; a single word that is
    /// too wide is cut.
    pub(crate) fn wrapped(&self, text: &str, size_mm: f64, room_mm: f64) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for word in self.printable(text).split_whitespace() {
            if let Some(line) = lines.last_mut() {
                let longer = format!("{line} {word}");
                if self.width_mm(&longer, size_mm) <= room_mm {
                    *line = longer;
                    continue;
                }
            }
            lines.push(self.fitted(word, size_mm, room_mm));
        }
        lines
    }
}

/// Whether a letter belongs to a script that runs from right to left: Hebrew, Arabic and their neighbours in
/// Unicode, and their presentation forms.
const fn runs_leftwards(c: char) -> bool {
    matches!(c, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{fefc}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_that_run_leftwards_stand_together_between_those_that_do_not() {
        let lettering = Lettering::new().unwrap();
        let pieces = |text| lettering.runs(text, 3.0).into_iter().map(|(_, piece)| piece).collect::<Vec<_>>();
        assert_eq!(pieces("left 2.5 mm"), ["left 2.5 mm"]);
        assert_eq!(pieces("pin: المرساة اليسرى · 3"), ["pin: ", "المرساة اليسرى", " · 3"]);
        assert_eq!(pieces("المرساة"), ["المرساة"]);
        assert_eq!(pieces("").len(), 0);
    }

    #[test]
    fn characters_without_a_glyph_show_as_question_marks() {
        let lettering = Lettering::new().unwrap();
        assert_eq!(lettering.printable("Größe Ω Я ø"), "Größe Ω Я ø");
        assert_eq!(lettering.printable("a中b\u{7}c\u{202e}d\ne"), "a?b?c?d e");
    }

    #[test]
    fn figures_have_equal_widths() {
        let lettering = Lettering::new().unwrap();
        for figure in '0'..='9' {
            assert_eq!(lettering.width_mm(&figure.to_string(), 3.0), lettering.width_mm("0", 3.0));
        }
    }

    #[test]
    fn a_long_text_is_cut_with_an_ellipsis_to_the_room_there_is() {
        let lettering = Lettering::new().unwrap();
        let long = "Ж".repeat(60);
        let cut = lettering.fitted(&long, 3.0, 40.0);
        assert!(cut.ends_with('…') && cut.chars().count() > 5);
        assert!(lettering.width_mm(&cut, 3.0) <= 40.0);
        assert_eq!(lettering.fitted("short", 3.0, 40.0), "short");
    }

    #[test]
    fn wrapping_keeps_every_word_and_the_width() {
        let lettering = Lettering::new().unwrap();
        let text = "Screw in from behind until it stands 2.0 mm above the channel floor.";
        let lines = lettering.wrapped(text, 2.4, 30.0);
        assert!(lines.len() > 1 && lines.iter().all(|line| lettering.width_mm(line, 2.4) <= 30.0));
        assert_eq!(lines.join(" "), text);
    }
}
