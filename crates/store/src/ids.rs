//! Where in a text an item's number stands: only to point at a number that is used twice.

/// Lines and columns, from 1, at which `id` stands as the number of an item, that is, before a colon
/// and outside of texts and comments.
pub(crate) fn places(text: &str, id: u32) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    let mut state = State::Plain;
    // The number being read: its place and digits.
    let mut number: Option<((usize, usize), String)> = None;
    let (mut line, mut column) = (1, 0);
    let mut before = ' ';
    for c in text.chars() {
        if c == '\n' {
            (line, column) = (line + 1, 0);
        } else {
            column += 1;
        }
        let (next, is_plain) = state.after(before, c);
        state = next;
        if is_plain {
            match (&mut number, c) {
                (Some((_, digits)), '0'..='9' | '_') if !before.is_whitespace() => digits.push(c),
                (None, '0'..='9') if !(before.is_alphanumeric() || "._-+".contains(before)) => {
                    number = Some(((line, column), c.to_string()));
                }
                (Some((place, digits)), ':') => {
                    if digits.replace('_', "").parse() == Ok(id) {
                        found.push(*place);
                    }
                    number = None;
                }
                (Some(_), c) if c.is_whitespace() => {}
                _ => number = None,
            }
        }
        before = if matches!(state, State::Escaped) { ' ' } else { c };
    }
    found
}

#[derive(Clone, Copy, PartialEq)]
enum State {
    Plain,
    Text,
    Escaped,
    LineComment,
    BlockComment,
}

impl State {
    /// The state after `c`, and whether `c` is neither text nor comment.
    fn after(self, before: char, c: char) -> (Self, bool) {
        let next = match (self, c) {
            (Self::Plain, '"') => Self::Text,
            (Self::Plain, '/') if before == '/' => Self::LineComment,
            (Self::Plain, '*') if before == '/' => Self::BlockComment,
            (Self::Text, '\\') => Self::Escaped,
            (Self::Escaped, _) => Self::Text,
            (Self::Text, '"') | (Self::LineComment, '\n') => Self::Plain,
            (Self::BlockComment, '/') if before == '*' => Self::Plain,
            (same, _) => same,
        };
        (next, self == Self::Plain && next == Self::Plain)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_before_a_colon_are_found_outside_texts_and_comments() {
        let text = "(\n  a: { 7: (name: \"7: \\\" 7:\", x: 7.0), 77: () }, // 7: no\n  b: {7 : (/* 7: */)},\n  c17: 1.7,\n)";
        assert_eq!(places(text, 7), [(2, 8), (3, 7)]);
        assert_eq!(places(text, 77), [(2, 39)]);
        assert_eq!(places(text, 17), []);
    }
}
