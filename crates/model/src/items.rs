//! Reading items by their ids.

use std::collections::BTreeMap;
use std::fmt;
use std::marker::PhantomData;

use serde::de::{Deserialize, Deserializer, Error as _, MapAccess, SeqAccess, Visitor};

use crate::project::{Id, Project};
use crate::{EditError, bounds};

/// Reads items by id. An id that is used twice is an error, where a plain map would silently drop the
/// first of the two; so is one too many, before it takes room.
pub(crate) fn items<'de, D, T>(from: D) -> Result<BTreeMap<Id, T>, D::Error>
where
    D: Deserializer<'de>,
    T: Deserialize<'de>,
{
    from.deserialize_map(Items(PhantomData))
}

/// Reads the points of a run, no more than a project may have.
pub(crate) fn points<'de, D: Deserializer<'de>, T: Deserialize<'de>>(from: D) -> Result<Vec<T>, D::Error> {
    from.deserialize_seq(List { what: POINTS, most: bounds::MOST_POINTS, of: PhantomData })
}

/// Reads a trial log.
pub(crate) fn trials<'de, D: Deserializer<'de>, T: Deserialize<'de>>(from: D) -> Result<Vec<T>, D::Error> {
    from.deserialize_seq(List { what: TRIALS, most: bounds::MOST_TRIALS, of: PhantomData })
}

/// Reads the layouts that a project keeps.
pub(crate) fn layouts<'de, D: Deserializer<'de>, T: Deserialize<'de>>(from: D) -> Result<Vec<T>, D::Error> {
    from.deserialize_seq(List { what: LAYOUTS, most: bounds::MOST_LAYOUTS, of: PhantomData })
}

const ITEMS: &str = "items of one kind";
const RUNS: &str = "channel runs";
const POINTS: &str = "points of channel runs";
const TRIALS: &str = "trials";
const LAYOUTS: &str = "kept layouts";

/// Refuses what is there too often.
fn at_most(what: &'static str, most: usize, count: usize) -> Result<(), EditError> {
    if count > most { Err(EditError::TooMany { what, most }) } else { Ok(()) }
}

/// Checks how much of everything there is, kept layouts left aside.
pub(crate) fn check_amounts(project: &Project) -> Result<(), EditError> {
    let Project { part, holes, sprues, vents, features, ejectors, remarks, trials, variants, .. } = project;
    at_most(RUNS, bounds::MOST_RUNS, part.runs.len())?;
    at_most(POINTS, bounds::MOST_POINTS, part.runs.values().map(|run| run.points.len()).sum())?;
    for count in [holes.len(), sprues.len(), vents.len(), features.len(), ejectors.len(), remarks.len()] {
        at_most(ITEMS, bounds::MOST_ITEMS, count)?;
    }
    at_most(TRIALS, bounds::MOST_TRIALS, trials.len())?;
    at_most(LAYOUTS, bounds::MOST_LAYOUTS, variants.len())?;
    let texts = [&project.name, &project.notes].into_iter().chain(remarks.values().map(|note| &note.text));
    for text in texts {
        // A character takes four bytes at most.
        if text.len() > bounds::MOST_CHARACTERS && text.chars().count() > bounds::MOST_CHARACTERS {
            return Err(EditError::TooLong { begins: text.chars().take(30).collect() });
        }
    }
    Ok(())
}

struct List<T> {
    what: &'static str,
    most: usize,
    of: PhantomData<T>,
}

impl<'de, T: Deserialize<'de>> Visitor<'de> for List<T> {
    type Value = Vec<T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.what)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut entries: A) -> Result<Vec<T>, A::Error> {
        let mut list = Vec::new();
        while let Some(entry) = entries.next_element()? {
            list.push(entry);
            at_most(self.what, self.most, list.len()).map_err(A::Error::custom)?;
        }
        Ok(list)
    }
}

struct Items<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for Items<T> {
    type Value = BTreeMap<Id, T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("items by their numbers")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Self::Value, A::Error> {
        let mut items = BTreeMap::new();
        while let Some(id) = entries.next_key::<Id>()? {
            if items.contains_key(&id) {
                return Err(A::Error::custom(EditError::IdUsedTwice { id }));
            }
            if id > Id::MOST {
                return Err(A::Error::custom(EditError::IdTooLarge { id }));
            }
            items.insert(id, entries.next_value()?);
            at_most(ITEMS, bounds::MOST_ITEMS, items.len()).map_err(A::Error::custom)?;
        }
        Ok(items)
    }
}
