//! What the user keeps for all projects: own grades of plastic, and presses.

use std::path::Path;

use keepside_model::{Material, Press};
use keepside_store::{Shelf, ShelfError};

use crate::app::App;
use crate::elevation::sentence;

/// The sorts of what is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shelved {
    /// A grade of plastic.
    Grade,
    /// A press.
    Press,
}

impl Shelved {
    /// It in the user's words.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Grade => "grade",
            Self::Press => "press",
        }
    }
}

/// A change of what is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Shelve {
    /// Keeps the project's under its name.
    Keep(Shelved),
    /// Keeps no longer what is called so.
    Forget {
        /// Sort.
        what: Shelved,
        /// Name.
        name: String,
    },
    /// Keeps what is called so under another name.
    Rename {
        /// Sort.
        what: Shelved,
        /// Name.
        from: String,
        /// The other name.
        to: String,
    },
}

/// What is kept, as read last, and how it is shown.
#[derive(Clone, Debug, Default)]
pub(crate) struct Kept {
    pub(crate) grades: Vec<Material>,
    pub(crate) presses: Vec<Press>,
    /// Sort and name of what is being renamed, and the name typed.
    pub(crate) renaming: Option<(Shelved, String, String)>,
    /// Whether the numbers of the material are shown with where they come from.
    pub(crate) shows_sources: bool,
}

/// Something whose name can be changed.
trait Named: keepside_store::Kept {
    fn named(self, name: String) -> Self;
}

impl Named for Material {
    fn named(self, name: String) -> Self {
        Self { name, ..self }
    }
}

impl Named for Press {
    fn named(self, name: String) -> Self {
        Self { name, ..self }
    }
}

impl App {
    /// Reads what is kept.
    pub(crate) fn load_shelves(&mut self) {
        let Some(folder) = &self.config else { return };
        match Shelf::load(folder) {
            Ok(shelf) => self.view.kept.grades = shelf.kept().to_vec(),
            Err(error) => self.toasts.error(sentence(&error.to_string())),
        }
        match Shelf::load(folder) {
            Ok(shelf) => self.view.kept.presses = shelf.kept().to_vec(),
            Err(error) => self.toasts.error(sentence(&error.to_string())),
        }
    }

    /// Changes what is kept.
    pub(crate) fn shelve(&mut self, change: &Shelve) {
        let Some(folder) = self.config.clone() else {
            self.toasts.error("nothing can be kept: there is no settings folder".to_owned());
            return;
        };
        let project = self.session.document();
        let what = match change {
            Shelve::Keep(what) | Shelve::Forget { what, .. } | Shelve::Rename { what, .. } => *what,
        };
        let result = match what {
            Shelved::Grade => {
                changed(&folder, change, &project.material).map(|grades| self.view.kept.grades = grades)
            }
            Shelved::Press => {
                changed(&folder, change, &project.press).map(|presses| self.view.kept.presses = presses)
            }
        };
        match result {
            Ok(()) => self.view.kept.renaming = None,
            Err(words) => self.toasts.error(sentence(&words)),
        }
    }
}

/// Does it to the list of one sort; `present` is the project's.
fn changed<T: Named>(folder: &Path, change: &Shelve, present: &T) -> Result<Vec<T>, String> {
    let told = |error: ShelfError| error.to_string();
    let shelf = match change {
        Shelve::Keep(_) => {
            let name = present.name().trim().to_owned();
            Shelf::keep(folder, present.clone().named(name)).map_err(told)?
        }
        Shelve::Forget { name, .. } => Shelf::forget(folder, name).map_err(told)?,
        Shelve::Rename { from, to, .. } => {
            let shelf = Shelf::<T>::load(folder).map_err(told)?;
            let find = |name: &str| shelf.kept().iter().find(|one| one.name() == name);
            let Some(one) = find(from).filter(|_| from != to) else { return Ok(shelf.kept().to_vec()) };
            if find(to).is_some() {
                return Err(format!("one called “{to}” is kept already; choose another name"));
            }
            Shelf::keep(folder, one.clone().named(to.clone())).map_err(told)?;
            Shelf::forget(folder, from).map_err(told)?
        }
    };
    Ok(shelf.kept().to_vec())
}
