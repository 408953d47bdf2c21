//! Text for a terminal: clean, wrapped, cut to length.

/// Columns that the text for people keeps within.
pub(crate) const COLUMNS: usize = 100;

/// The text without characters that would command a terminal; line breaks become spaces.
pub(crate) fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// The text at exactly `columns` characters: filled with spaces, or cut and ended with "…".
pub(crate) fn cell(text: &str, columns: usize) -> String {
    let text = plain(text);
    if text.chars().count() <= columns {
        return format!("{text:<columns$}");
    }
    let kept: String = text.chars().take(columns.saturating_sub(1)).collect();
    format!("{kept}…")
}

/// The text broken at spaces to keep within [`COLUMNS`], the first line after `head`, the others
/// indented as far.
pub(crate) fn wrapped(head: &str, text: &str) -> String {
    let indent = head.chars().count();
    let room = COLUMNS.saturating_sub(indent).max(20);
    let text = plain(text);
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let length = word.chars().count();
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + length <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => {
                // A word longer than a line, as a path may be, is cut into lines.
                let letters: Vec<char> = word.chars().collect();
                lines.extend(letters.chunks(room).map(|piece| piece.iter().collect::<String>()));
            }
        }
    }
    let mut whole = String::new();
    for (i, line) in lines.iter().enumerate() {
        let lead = if i == 0 { head.to_owned() } else { " ".repeat(indent) };
        whole += &format!("{lead}{line}\n");
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_text_is_wrapped_under_its_own_beginning() {
        let text = "word ".repeat(40);
        let lines = wrapped("  fault  ", &text);
        assert!(lines.lines().count() > 1);
        assert!(lines.lines().all(|line| line.chars().count() <= COLUMNS));
        assert!(lines.lines().skip(1).all(|line| line.starts_with("         word")));
        assert_eq!(lines.matches("word").count(), 40);
    }

    #[test]
    fn a_word_longer_than_a_line_loses_nothing() {
        let word = "x".repeat(250);
        let lines = wrapped("at ", &word);
        assert_eq!(lines.matches('x').count(), 250);
        assert!(lines.lines().all(|line| line.chars().count() <= COLUMNS));
    }

    #[test]
    fn names_cannot_command_the_terminal() {
        assert_eq!(plain("a\u{1b}[2Jb\nc"), "a [2Jb c");
        assert_eq!(cell("Größe", 7), "Größe  ");
        assert_eq!(cell("a long name", 6), "a lon…");
    }
}
