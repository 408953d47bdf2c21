//! Reading items by their ids.

use std::collections::BTreeMap;
use std::fmt;
use std::marker::PhantomData;

use serde::de::{Deserialize, Deserializer, Error as _, MapAccess, Visitor};

use crate::EditError;
use crate::project::Id;

/// Reads items by id. An id that is used twice is an error, where a plain map would silently drop the
/// first of the two.
pub(crate) fn items<'de, D, T>(from: D) -> Result<BTreeMap<Id, T>, D::Error>
where
    D: Deserializer<'de>,
    T: Deserialize<'de>,
{
    from.deserialize_map(Items(PhantomData))
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
            items.insert(id, entries.next_value()?);
        }
        Ok(items)
    }
}
