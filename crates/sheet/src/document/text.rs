//! Numbers as printed, and text broken into lines without losing a letter.

use crate::lettering::Lettering;

/// A number with so many decimals, never "-0.0"; a dash for what is no number.
pub(crate) fn decimals(value: f64, count: usize) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let text = format!("{value:.count$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => text,
    }
}

/// The same with a sign before it, unless it is nought.
pub(crate) fn signed(value: f64, count: usize) -> String {
    let text = decimals(value, count);
    let is_plus = value > 0.0 && text.chars().any(|c| ('1'..='9').contains(&c));
    if is_plus { format!("+{text}") } else { text }
}

/// A length or other number with up to three decimals and no needless zeros: "3.3", "2.05", "4".
pub(crate) fn mm(value: f64) -> String {
    let text = decimals(value, 3);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// A number of any size, as short as it goes with four figures that count at least.
pub(crate) fn figure(value: f64) -> String {
    if value != 0.0 && value.is_finite() && !(0.01..1e7).contains(&value.abs()) {
        // Small ones as far as four figures, very small ones by powers of ten.
        return if (1e-5..1.0).contains(&value.abs()) {
            let places = (4.0 - value.abs().log10().ceil()).clamp(3.0, 9.0);
            let text = (3..=9_usize).find(|count| f64::from(u8::try_from(*count).unwrap_or(9)) >= places);
            decimals(value, text.unwrap_or(9)).trim_end_matches('0').to_owned()
        } else {
            format!("{value:.3e}")
        };
    }
    mm(value)
}

/// The printable text in lines no wider than `room_mm`: broken at spaces and line ends, and within a word
/// that is too wide by itself. At least one line.
pub(crate) fn broken(lettering: &Lettering, text: &str, size_mm: f64, room_mm: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for paragraph in text.lines() {
        let mut line = String::new();
        let mut line_mm = 0.0;
        for word in lettering.printable(paragraph).split_whitespace() {
            let word_mm = lettering.width_mm(word, size_mm);
            let space_mm = if line.is_empty() { 0.0 } else { lettering.width_mm(" ", size_mm) };
            if line_mm + space_mm + word_mm <= room_mm {
                if !line.is_empty() {
                    line.push(' ');
                }
                line.push_str(word);
                line_mm += space_mm + word_mm;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
                line_mm = 0.0;
            }
            for letter in word.chars() {
                let letter_mm = lettering.width_mm(letter.encode_utf8(&mut [0; 4]), size_mm);
                if line_mm + letter_mm > room_mm && !line.is_empty() {
                    lines.push(std::mem::take(&mut line));
                    line_mm = 0.0;
                }
                line.push(letter);
                line_mm += letter_mm;
            }
        }
        lines.push(line);
    }
    if lines.is_empty() {
        lines.push(String::new());
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_no_needless_zeros_and_no_minus_before_a_nought() {
        assert_eq!((mm(3.30), mm(4.0), mm(0.0504)), ("3.3".into(), "4".into(), "0.05".into()));
        assert_eq!((decimals(-0.001, 2), decimals(f64::NAN, 2)), ("0.00".into(), "–".into()));
        assert_eq!(
            (figure(0.004), figure(0.001_234_56), figure(800.0)),
            ("0.004".into(), "0.001235".into(), "800".into())
        );
        assert_eq!((figure(1.5e-9), figure(0.0)), ("1.500e-9".into(), "0".into()));
        assert_eq!(
            (signed(0.004, 2), signed(0.04, 2), signed(-2.0, 1)),
            ("0.00".into(), "+0.04".into(), "-2.0".into())
        );
    }

    #[test]
    fn breaking_loses_no_letter_and_keeps_to_the_width() {
        let lettering = Lettering::new().unwrap();
        let text = format!("A short word, then {} and an end", "Ж".repeat(80));
        let lines = broken(&lettering, &text, 3.0, 40.0);
        assert!(lines.iter().all(|line| lettering.width_mm(line, 3.0) <= 40.0 + 1e-9));
        assert_eq!(lines.concat().replace(' ', ""), text.replace(' ', ""));
        assert_eq!(broken(&lettering, "", 3.0, 40.0), [""]);
        assert_eq!(broken(&lettering, "a\n\nb", 3.0, 40.0), ["a", "", "b"]);
    }
}
