//! What the user keeps for all projects: own grades of plastic, and presses. A project takes a copy, so that
//! what is changed here changes no project.

use std::io;
use std::path::{Path, PathBuf};

use keepside_model::{Material, Press};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use crate::error::LoadError;
use crate::file;

/// Brackets within brackets that are followed: a grade needs 5.
const MAX_NESTING: usize = 16;

/// Something that is kept under a name.
pub trait Kept: Clone + Serialize + DeserializeOwned {
    /// What a list of it is, in the user's words.
    const WHAT: &'static str;
    /// Name of the file in the settings folder; see [`crate::config_dir`].
    const FILE: &'static str;
    /// The name it is kept under.
    fn name(&self) -> &str;
}

impl Kept for Material {
    const WHAT: &'static str = "grades";
    const FILE: &'static str = "grades.ron";

    fn name(&self) -> &str {
        &self.name
    }
}

impl Kept for Press {
    const WHAT: &'static str = "presses";
    const FILE: &'static str = "presses.ron";

    fn name(&self) -> &str {
        &self.name
    }
}

/// Why the list could not be read or kept. The file is then as it was.
#[derive(Debug, thiserror::Error)]
#[expect(missing_docs, reason = "the messages document the variants")]
pub enum ShelfError {
    #[error("the list of {what} cannot be read ({source}); check the permissions: {}", .path.display())]
    Unreadable { what: &'static str, path: PathBuf, source: io::Error },
    #[error("the list of {what} is damaged in line {line}: {detail}; correct it, or move it away: {}", .path.display())]
    Damaged { what: &'static str, path: PathBuf, line: usize, detail: String },
    #[error("the list of {what} is not kept ({source}); check the permissions and the free space: {}", .path.display())]
    NotKept { what: &'static str, path: PathBuf, source: io::Error },
    #[error("it has no name to be kept under; give it one")]
    NoName,
}

/// A list of things kept under their names, in the order of the names.
#[derive(Clone, Debug, PartialEq)]
pub struct Shelf<T> {
    kept: Vec<T>,
}

/// The form of the file.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct File<T> {
    kept: Vec<T>,
}

impl<T> Default for Shelf<T> {
    fn default() -> Self {
        Self { kept: Vec::new() }
    }
}

impl<T: Kept> Shelf<T> {
    /// Reads the list kept in a settings folder; no file is an empty list. Every number is held to its
    /// permitted range.
    ///
    /// # Errors
    ///
    /// [`ShelfError`] if there is a file that cannot be understood; nothing is then kept over it.
    pub fn load(folder: &Path) -> Result<Self, ShelfError> {
        let path = folder.join(T::FILE);
        let what = T::WHAT;
        let bytes = match file::read_bytes(&path) {
            Ok(bytes) => bytes,
            Err(LoadError::NotFound { .. }) => return Ok(Self::default()),
            Err(error) => {
                return Err(ShelfError::Unreadable { what, path, source: io::Error::other(error) });
            }
        };
        let options = ron::Options::default().with_recursion_limit(MAX_NESTING);
        let read: Result<File<T>, _> = options.from_bytes(&bytes);
        let file = read.map_err(|error| {
            let detail = error.code.to_string().chars().take(200).collect();
            ShelfError::Damaged { what, path, line: error.span.start.line, detail }
        })?;
        let mut shelf = Self::default();
        file.kept.into_iter().for_each(|one| shelf.insert(one));
        Ok(shelf)
    }

    /// What is kept, in the order of the names.
    pub fn kept(&self) -> &[T] {
        &self.kept
    }

    /// Keeps one under its name, in the place of what bore that name. The list is read anew before, so
    /// that what another window keeps stays.
    ///
    /// # Errors
    ///
    /// [`ShelfError`]; the file is then as it was.
    pub fn keep(folder: &Path, one: T) -> Result<Self, ShelfError> {
        if one.name().trim().is_empty() {
            return Err(ShelfError::NoName);
        }
        Self::change(folder, |shelf| shelf.insert(one))
    }

    /// Forgets what is kept under a name.
    ///
    /// # Errors
    ///
    /// [`ShelfError`]; the file is then as it was.
    pub fn forget(folder: &Path, name: &str) -> Result<Self, ShelfError> {
        Self::change(folder, |shelf| shelf.kept.retain(|known| known.name() != name))
    }

    fn insert(&mut self, one: T) {
        self.kept.retain(|known| known.name() != one.name());
        let place = self.kept.partition_point(|known| known.name() < one.name());
        self.kept.insert(place, one);
    }

    fn change(folder: &Path, change: impl FnOnce(&mut Self)) -> Result<Self, ShelfError> {
        let mut shelf = Self::load(folder)?;
        change(&mut shelf);
        let path = folder.join(T::FILE);
        let write = || {
            let pretty = ron::ser::PrettyConfig::new().new_line("\n").indentor("    ");
            let file = File { kept: shelf.kept.clone() };
            let text = ron::ser::to_string_pretty(&file, pretty).map_err(io::Error::other)?;
            crate::write_whole(&path, text)
        };
        match write() {
            Ok(()) => Ok(shelf),
            Err(source) => Err(ShelfError::NotKept { what: T::WHAT, path, source }),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;
    use keepside_model::MaterialValue;

    #[test]
    fn grades_are_kept_to_the_last_digit_and_in_order() {
        let folder = tempfile::tempdir().unwrap();
        let folder = folder.path().join("settings");
        assert!(Shelf::<Material>::load(&folder).unwrap().kept().is_empty());
        let mut grade = Material::generic_named("ABS").unwrap();
        grade.name = "ABS, black, bag 3".to_owned();
        grade.set_own(MaterialValue::MeltTemperature, 238.0 + 1.0 / 3.0);
        let first = Material { name: "A".to_owned(), ..grade.clone() };
        Shelf::keep(&folder, grade.clone()).unwrap();
        Shelf::keep(&folder, first.clone()).unwrap();
        assert_eq!(Shelf::<Material>::load(&folder).unwrap().kept(), [first.clone(), grade.clone()]);
        // The same name takes the place of the one before.
        grade.set_own(MaterialValue::Friction, 0.5);
        Shelf::keep(&folder, grade.clone()).unwrap();
        let left = Shelf::<Material>::forget(&folder, "A").unwrap();
        assert_eq!(left.kept(), std::slice::from_ref(&grade));
        assert_eq!(Shelf::load(&folder).unwrap(), left);
        assert!(matches!(
            Shelf::keep(&folder, Material { name: " ".to_owned(), ..first }),
            Err(ShelfError::NoName)
        ));
    }

    #[test]
    fn a_damaged_list_is_told_and_not_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let slow = Press { name: "Lever".to_owned(), rate_limit_mm3_s: 5000.0, ..Press::default() };
        Shelf::keep(folder.path(), slow).unwrap();
        let path = folder.path().join(Press::FILE);
        let text = fs::read_to_string(&path).unwrap();
        for (right, wrong) in [("5000.0", "-1.0"), ("kept", "kapt"), ("(", "((")] {
            let damaged = text.replacen(right, wrong, 1);
            fs::write(&path, &damaged).unwrap();
            let told = Shelf::keep(folder.path(), Press::default()).unwrap_err().to_string();
            assert!(told.starts_with("the list of presses is damaged in line "), "{told}");
            assert_eq!(fs::read_to_string(&path).unwrap(), damaged);
        }
    }
}
