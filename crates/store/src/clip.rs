//! Items as text for the clipboard, so that they can be pasted into another window. What is read may be
//! anything: whatever is not such a text, or holds a number out of range, is refused with words.

use keepside_model::{
    Edit, EditError, Ejector, Id, Item, KeyingFeature, Note, PlateHole, Project, Run, Sprue, Vent,
};
use ron::ser::PrettyConfig;
use serde::{Deserialize, Serialize};

/// Most characters that are looked at: far more than 10 000 items take.
const MAX_BYTES: usize = 16 << 20;

/// Brackets within brackets that are followed: items need 6.
const MAX_NESTING: usize = 24;

/// What every such text begins with.
const BEGINS: &str = "(keepside_items:";

/// Why a text could not be pasted.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the messages document the variants")]
pub enum ClipError {
    #[error("the clipboard holds nothing that was copied from a Keepside plan; copy items there first")]
    NotItems,
    #[error("what was copied is too long to be items of a plan; copy fewer of them")]
    TooLong,
    #[error("what was copied is damaged (line {line}): {detail}; copy it again")]
    Damaged { line: usize, detail: String },
    #[error("what was copied is not possible: {0}; correct it where it came from")]
    Check(EditError),
}

/// The form of the text.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Clip {
    keepside_items: Vec<Piece>,
}

/// One item.
#[derive(Serialize, Deserialize)]
enum Piece {
    Run(Run),
    Sprue(Sprue),
    Vent(Vent),
    Feature(KeyingFeature),
    Hole(PlateHole),
    Ejector(Ejector),
    Note(Note),
}

impl From<Item> for Piece {
    fn from(item: Item) -> Self {
        match item {
            Item::Run(run) => Self::Run(run),
            Item::Sprue(sprue) => Self::Sprue(sprue),
            Item::Vent(vent) => Self::Vent(vent),
            Item::Feature(feature) => Self::Feature(feature),
            Item::Hole(hole) => Self::Hole(hole),
            Item::Ejector(ejector) => Self::Ejector(ejector),
            Item::Note(note) => Self::Note(note),
        }
    }
}

impl From<Piece> for Item {
    fn from(piece: Piece) -> Self {
        match piece {
            Piece::Run(run) => Self::Run(run),
            Piece::Sprue(sprue) => Self::Sprue(sprue),
            Piece::Vent(vent) => Self::Vent(vent),
            Piece::Feature(feature) => Self::Feature(feature),
            Piece::Hole(hole) => Self::Hole(hole),
            Piece::Ejector(ejector) => Self::Ejector(ejector),
            Piece::Note(note) => Self::Note(note),
        }
    }
}

/// Items as text.
pub fn write_items(items: impl IntoIterator<Item = Item>) -> String {
    let clip = Clip { keepside_items: items.into_iter().map(Piece::from).collect() };
    let pretty = PrettyConfig::new().new_line("\n").indentor("  ");
    // Writing to a string cannot run out of room, and items are made of plain data only.
    ron::ser::to_string_pretty(&clip, pretty).expect("plain data can always be written").replacen(
        "(\n  keepside_items:",
        BEGINS,
        1,
    )
}

/// The items that a text holds.
///
/// # Errors
///
/// [`ClipError`] in words for the user.
pub fn read_items(text: &str) -> Result<Vec<Item>, ClipError> {
    let text = text.trim_start_matches('\u{feff}').trim();
    if !text.starts_with(BEGINS) {
        return Err(ClipError::NotItems);
    }
    if text.len() > MAX_BYTES {
        return Err(ClipError::TooLong);
    }
    let options = ron::Options::default().with_recursion_limit(MAX_NESTING);
    let clip: Clip = options.from_str(text).map_err(|error| ClipError::Damaged {
        line: error.span.start.line,
        detail: error.code.to_string().chars().take(200).collect(),
    })?;
    let items: Vec<Item> = clip.keepside_items.into_iter().map(Item::from).collect();
    let mut tray = Project::blank();
    let edits = items.iter().zip(2..).map(|(item, id)| Edit::Add(Id(id), item.clone())).collect();
    tray.apply(&Edit::Several { label: "paste", edits }).map_err(ClipError::Check)?;
    Ok(items)
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec2;
    use proptest::prelude::*;

    fn some() -> Vec<Item> {
        let run = Run::straight("Brücke \"7\"", DVec2::new(1.25, 2.0), DVec2::new(30.0, 2.0), 6.0, 3.0);
        let note = Note { text: "mind\nthe gap".to_owned(), at: DVec2::new(5.0, 6.0) };
        vec![Item::Run(run), Item::Note(note)]
    }

    #[test]
    fn what_is_copied_is_pasted_to_the_last_digit() {
        let text = write_items(some());
        assert!(text.starts_with(BEGINS), "{text}");
        assert_eq!(read_items(&text), Ok(some()));
        assert_eq!(read_items(&format!("\u{feff}  {text}\r\n")), Ok(some()));
        assert_eq!(read_items(&write_items([])), Ok(Vec::new()));
    }

    #[test]
    fn anything_else_is_refused_with_words() {
        let check = |text: &str, words: &str| {
            let error = read_items(text).unwrap_err().to_string();
            assert!(error.contains(words), "{text:.60}: {error}");
        };
        check("", "nothing that was copied from a Keepside plan");
        check("rm -rf /", "nothing that was copied");
        check("(keepside_items: [Bomb(())])", "damaged (line 1)");
        check("(keepside_items: [", "damaged");
        check(&format!("{BEGINS}{}", "[".repeat(100_000)), "damaged");
        check(&format!("{BEGINS}{}", " ".repeat(MAX_BYTES)), "damaged");
        check(&format!("{BEGINS}{}[]", " ".repeat(MAX_BYTES)), "too long");
        let text = write_items(some());
        check(&text.replace("6.0", "-6.0"), "the channel width is -6 mm");
        check(&text.replace("30.0", "NaN"), "a coordinate is NaN");
        check(&text.replace("1.25", "1e300"), "a coordinate is 1");
        check(&text[..text.len() / 2], "damaged");
    }

    proptest! {
        #[test]
        fn no_text_makes_it_fail(junk in "\\PC{0,60}", cut in 0_usize..2000, put in "\\PC{0,4}") {
            drop(read_items(&junk));
            drop(read_items(&format!("{BEGINS}{junk}")));
            let mut text = write_items(some());
            let cut = cut % text.len();
            if text.is_char_boundary(cut) {
                text.insert_str(cut, &put);
            }
            drop(read_items(&text));
        }
    }
}
