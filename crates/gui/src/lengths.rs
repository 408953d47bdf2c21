//! Lengths in sentences of the engine, told in the unit that is shown.
//!
//! The engine tells every length as a number, a space and `mm`; pairs as `1 × 2 mm`, `1 to 2 mm` and
//! `by 1, 2 mm`; places of the plan as `(1.0, 2.0)`. Those are the marks by which lengths are found here, so
//! that there is one copy of each sentence. What the user wrote stays as it is.

use std::ops::Range;

use keepside_model::{Id, Project};

use crate::units::Unit;

/// What stands behind a length.
const MM: &str = " mm";

impl Unit {
    /// A sentence about `items` with its lengths in this unit.
    pub(crate) fn in_words(
        self,
        words: &str,
        project: &Project,
        items: impl IntoIterator<Item = Id>,
    ) -> String {
        if self == Self::Millimetre {
            return words.to_owned();
        }
        let names = items.into_iter().map(|id| name_of(project, id)).filter(|name| !name.is_empty());
        let kept: Vec<Range<usize>> = names
            .flat_map(|name| {
                words.match_indices(&name).map(|(at, _)| at..at + name.len()).collect::<Vec<_>>()
            })
            .collect();
        let is_kept = |number: &Range<usize>| kept.iter().any(|name| name.contains(&number.start));
        let mut changes: Vec<(Range<usize>, String)> = Vec::new();
        for (sign, _) in words.match_indices(MM) {
            let numbers = numbers_before(words, sign);
            let is_unit =
                !words[sign + MM.len()..].starts_with(|c: char| c.is_alphanumeric() || "²³/".contains(c));
            if !is_unit || numbers.is_empty() || numbers.iter().any(is_kept) {
                continue;
            }
            changes.extend(numbers.into_iter().map(|number| (number.clone(), self.retold(&words[number]))));
            changes.push((sign + 1..sign + MM.len(), self.word().to_owned()));
        }
        for (sign, _) in words.match_indices(')') {
            let place = place_before(words, sign).filter(|place| !place.iter().any(is_kept));
            let numbers = place.into_iter().flatten();
            changes.extend(numbers.map(|number| (number.clone(), self.retold(&words[number]))));
        }
        changes.sort_by_key(|(range, _)| range.start);
        let mut told = String::new();
        let mut done = 0;
        for (range, text) in changes {
            told += &words[done..range.start];
            told += &text;
            done = range.end;
        }
        told + &words[done..]
    }

    /// A number of millimetres as the engine wrote it: rounded ones keep their decimals.
    fn retold(self, number: &str) -> String {
        match number.parse() {
            Ok(mm) if number.contains('.') => self.number(mm),
            Ok(mm) => self.plain(mm),
            Err(_) => number.to_owned(),
        }
    }
}

/// The name that the user gave to an item.
fn name_of(project: &Project, id: Id) -> String {
    let (title, tag) = (project.title(id), project.tag(id));
    title.strip_prefix(&tag).unwrap_or_default().trim_start().to_owned()
}

/// The numbers that end just before `end`, from left to right: one, or the pair of an area or a range.
fn numbers_before(words: &str, end: usize) -> Vec<Range<usize>> {
    let Some(last) = number_before(words, end) else { return Vec::new() };
    let before = &words[..last.start];
    let first = [" × ", " to ", ", "].into_iter().find_map(|link| {
        let first = number_before(words, before.strip_suffix(link)?.len())?;
        // A comma parts words as well.
        (link != ", " || words[..first.start].ends_with("by ")).then_some(first)
    });
    first.into_iter().chain([last]).collect()
}

/// The two numbers of a place of the plan that ends with the bracket at `end`.
fn place_before(words: &str, end: usize) -> Option<[Range<usize>; 2]> {
    let y = number_before(words, end)?;
    let x = number_before(words, words[..y.start].strip_suffix(", ")?.len())?;
    let is_place =
        words[..x.start].ends_with('(') && [&x, &y].iter().all(|n| words[(*n).clone()].contains('.'));
    is_place.then_some([x, y])
}

/// The number that ends just before `end`, unless it is part of a word.
fn number_before(words: &str, end: usize) -> Option<Range<usize>> {
    let before = &words[..end];
    let digits = before.trim_end_matches(|c: char| c.is_ascii_digit() || c == '.');
    let start = digits.strip_suffix('-').unwrap_or(digits).len();
    let is_number = before[start..].parse::<f64>().is_ok();
    (is_number && !words[..start].ends_with(char::is_alphanumeric)).then_some(start..end)
}

#[cfg(test)]
mod tests {
    use super::*;
    use keepside_model::Edit;

    fn told(words: &str) -> String {
        Unit::Inch.in_words(words, &Project::blank(), [])
    }

    #[test]
    fn every_length_of_a_sentence_is_told_in_inches() {
        // An inch is 25.4 mm by definition (international yard and pound agreement, 1959).
        for (words, inches) in [
            (
                "K5 leaves 1.27 mm to the edge; 2.54 mm is needed",
                "K5 leaves 0.0500 in to the edge; 0.1000 in is needed",
            ),
            ("Use a screw of 8 mm", "Use a screw of 0.315 in"),
            ("Use plates of at least 254 × 127 mm", "Use plates of at least 10 × 5 in"),
            ("needs 25.40 to 50.80 mm, has 4 mm", "needs 1.0000 to 2.0000 in, has 0.1575 in"),
            ("Move the part by -2.5, 5.0 mm", "Move the part by -0.0984, 0.1969 in"),
            ("set screw K11, 2.54 mm deep", "set screw K11, 0.1000 in deep"),
            ("Add a set screw at (25.4, -50.8)", "Add a set screw at (1.0000, -2.0000)"),
            ("air is trapped at (2.54, 5.0), 2.54 mm on", "air is trapped at (0.1000, 0.1969), 0.1000 in on"),
            ("it was seen (1, 2)", "it was seen (1, 2)"),
            ("an M3, 25.4 mm long, of 1 diameter", "an M3, 1.0000 in long, of 1 diameter"),
        ] {
            assert_eq!(told(words), inches);
        }
    }

    #[test]
    fn what_is_no_length_stays() {
        for words in ["take 2.50 N a mm of run", "12 mm² of steel", "K5 mm", "R1.5mm", " mm", "3 mmol"] {
            assert_eq!(told(words), words);
        }
        let words = "K5 leaves 1.27 mm";
        assert_eq!(Unit::Millimetre.in_words(words, &Project::blank(), []), words);
    }

    #[test]
    fn what_the_user_wrote_stays() {
        let mut project = Project::blank();
        let Some(keepside_model::Item::Run(mut run)) = project.item(Id(1)) else { panic!("no run") };
        run.name = "strip of 6 mm".to_owned();
        project.apply(&Edit::Set(Id(1), keepside_model::Item::Run(run))).unwrap();
        let words = "run R1 strip of 6 mm is 25.40 mm long";
        assert_eq!(Unit::Inch.in_words(words, &project, [Id(1)]), "run R1 strip of 6 mm is 1.0000 in long");
    }
}
